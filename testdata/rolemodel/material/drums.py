"""Drum kits: sampled, bank or synthesised pieces; microphones with direct sound, first reflections off the walls and a room tail."""
import numpy as np
from tools import *
import banks

PIECES = ('kick', 'snare', 'rim', 'hat', 'open', 'pedal', 'tom1', 'tom2', 'tom3', 'crash', 'crash2', 'ride', 'bell')
LOUD = dict(kick=2, snare=1, rim=-8, hat=-9, open=-6, pedal=-16, tom1=-1, tom2=-1, tom3=0, crash=-2, crash2=-4, ride=-6, bell=-8)
PLACE = dict(kick=(0, .35, .35), snare=(-.3, .7, .7), hat=(-.75, .6, 1.0), tom1=(-.2, .3, .95), tom2=(.18, .3, .95), tom3=(.6, .85, .65), crash=(-.75, .2, 1.45), crash2=(.7, .2, 1.5), ride=(.75, .5, 1.15))
SAME = dict(rim='snare', open='hat', pedal='hat', bell='ride')


def tone(piece, v, fs, q, r):
    """One electronic hit: swept sines, filtered noise, metallic squares. q holds the random settings of the kit."""
    n = int(fs * dict(kick=q['klen'], snare=.35, rim=.06, hat=.09, open=q['olen'], pedal=.06, crash=1.6, crash2=1.4, ride=.9, bell=.6).get(piece, .5)); t = np.arange(n) / fs; z = r.standard_normal(n)
    if piece == 'kick':
        f = q['kf'] * (1 + q['sweep'] * np.exp(-t / q['fall'])); x = np.sin(2 * np.pi * np.cumsum(f) / fs) * np.exp(-t / (q['klen'] / 4)) + q['click'] * lowcut(z, fs, 1500) * np.exp(-t / .004); return drive(x, 'tape', q['dist']) if q['dist'] > 0 else x
    if piece.startswith('tom'): f = q['tf'] * dict(tom1=1.8, tom2=1.35, tom3=1)[piece]; return np.sin(2 * np.pi * np.cumsum(f * (1 + .6 * np.exp(-t / .03))) / fs) * np.exp(-t / .13) + .06 * z * np.exp(-t / .02)
    if piece == 'snare': return q['body'] * (np.sin(2 * np.pi * q['sf'] * t) + .6 * np.sin(2 * np.pi * q['sf'] * 1.6 * t)) * np.exp(-t / .045) + band(z, fs, q['slo'], 9000) * np.exp(-t / q['sdec']) * 1.4
    if piece == 'rim': return np.sin(2 * np.pi * q['rf'] * t) * np.exp(-t / .006) + .7 * band(z, fs, 900, 4000) * np.exp(-t / .005)
    met = sum(np.sign(np.sin(2 * np.pi * f * q['metal'] * t + k)) for k, f in enumerate((205, 304, 369, 522, 540, 800))); met = .25 * met * q['mix'] + z * (1 - q['mix'])
    dec = dict(hat=q['hdec'], pedal=q['hdec'] * .7, open=q['olen'] / 3, crash=.45, crash2=.35, ride=.3, bell=.15)[piece]
    return lowcut(met, fs, q['hlo'] * (.75 if piece in ('crash', 'crash2', 'ride') else 1), 3) * np.exp(-t / dec)


class Kit:
    """Mono sound of every piece, its place in the room, and the microphones of an engineer with habits drawn from the key."""
    def __init__(s, ev, fs, n, key, kits):
        s.fs, s.n, s.key = fs, n, key; r = s.r = rng('kit', key); s.kits = kits; s.x = {}; s.synthetic = kits[0] in ('synth',) or kits[0] in banks.SETS and kits[0] != 'pi'
        q = dict(klen=r.uniform(.25, 1.3), kf=r.uniform(42, 62), sweep=r.uniform(1, 6), fall=r.uniform(.006, .05), click=r.uniform(0, .6), dist=r.uniform(-6, 12), tf=r.uniform(75, 120), body=r.uniform(.2, 1), sf=r.uniform(160, 240), slo=r.uniform(500, 2200), sdec=r.uniform(.05, .16), rf=r.uniform(900, 2200), metal=r.uniform(.9, 2.6), mix=r.uniform(.2, 1), hdec=r.uniform(.012, .05), olen=r.uniform(.25, .7), hlo=r.uniform(5000, 8500))
        s.tune = {p: float(r.normal(0, 1.2)) for p in PIECES}; s.place = {p: np.array(v) + r.normal(0, .06, 3) for p, v in PLACE.items()}; s.size = r.uniform([4, 4.5, 2.4], [9, 12, 4.5]); s.wall = r.uniform(.35, .85)
        for p, e in ev.items():
            y = None
            for k in kits:
                if ':' in k: b, pr = k.split(':'); y = banks.gm(b, int(pr), [(t, .3, banks.GMDRUM[p], v) for t, v in e], fs, n, True).mean(1)
                elif k == 'synth':
                    y = np.zeros(n)
                    for t, v in e: x = tone(p, v, fs, q, r); add(y, x * (v / 110) ** 1.5 * r.uniform(.95, 1.05), int(t * fs))
                else:
                    lay = banks.layers(k, p) or banks.layers(k, dict(tom2='tom1', crash2='crash', tom3='tom1', bell='ride', pedal='hat', open='hat').get(p, 'none'))
                    if lay: y = banks.hits(lay, e, fs, n, key + p, s.tune[p])
                if y is not None and peak(y) > 1e-5: break
            if y is not None and peak(y) > 1e-5:
                g = db(LOUD[p] + r.normal(0, 1.5)); top = np.array(sorted(v for _, v in e))[-1]; s.x[p] = unit(y) * g * (top / 115) ** 1.5
        s.dull = {p: highcut(x, fs, 6000, 1) for p, x in s.x.items()}; c = r.uniform(1.2, 3); s.balance = dict(kick=r.uniform(.15, .5), tom3=.6, tom1=.8, tom2=.8, crash=c, crash2=c, ride=c, hat=c * r.uniform(.7, 1.3)); s.bleed = float(r.uniform(-14, -2)); s.gated = r.random() < .3

    def where(s, p): return s.place[SAME.get(p, p)]

    def mic(s, at, own=(), card=True, far=False):
        """Mono microphone at a point (metres): direct sound and three wall reflections of every piece; far ones hear less of the kick and more cymbals."""
        y = np.zeros(s.n); at = np.asarray(at, float)
        for p, x in s.x.items():
            src = s.where(p); d = max(.06, np.linalg.norm(at - src)); mine = p in own or not own; g = (1 / d) * (1 if mine else db(s.bleed))
            if far: g *= s.balance.get(SAME.get(p, p), 1)
            y += shift(x if mine else s.dull[p], d / 343 * s.fs) * g
            if mine and d < .5: continue
            for ax, sgn in ((2, 0), (0, 1), (1, 1)):
                im = src.copy(); im[ax] = -im[ax] if sgn == 0 else (s.size[ax] - im[ax]) * (1 if im[ax] > 0 else -1); e = np.linalg.norm(at - im); y += shift(s.dull[p], e / 343 * s.fs) * s.wall * g * d / max(e, .1) * (.5 if card else .9)
        return lowcut(y, s.fs, 28)

    def close(s, what):
        """Close microphone on kick, kickout, snare, under, hat, tom1-3, ride, with that drum's usual equaliser (or none) and gate."""
        r = rng('close', s.key, what); own = dict(kick=('kick',), kickout=('kick',), snare=('snare', 'rim'), under=('snare', 'rim'), hat=('hat', 'open', 'pedal'), ride=('ride', 'bell')).get(what, (what,)); at = s.where(own[0]) + (r.normal(0, .03, 3)) + dict(kick=(0, .05, 0), kickout=(0, -.45, 0), under=(0, 0, -.14), hat=(0, 0, .12), ride=(0, 0, .12)).get(what, (0, .03, .07)); y = s.mic(at, own); fs = s.fs
        if s.gated and what not in ('hat', 'ride', 'under'): y = gate(y, fs, r.uniform(14, 26), r.uniform(-50, -15), r.uniform(80, 260))
        if what == 'kick': y = bell(bell(y, fs, r.uniform(50, 75), r.uniform(0, 6)), fs, r.uniform(280, 480), -r.uniform(0, 10)); y = bell(y, fs, r.uniform(2500, 4500), r.uniform(-2, 8))
        elif what == 'kickout': y = highcut(bell(y, fs, r.uniform(45, 65), 5), fs, r.uniform(700, 4000), 1)
        elif what == 'under': y = -shelf(lowcut(y, fs, 180), fs, 2500, r.uniform(2, 9))
        elif what == 'snare': y = shelf(bell(y, fs, r.uniform(170, 240), r.uniform(0, 5)), fs, 5000, r.uniform(-1, 5))
        elif what in ('hat', 'ride'): y = lowcut(y, fs, r.uniform(150, 500))
        elif what.startswith('tom'): y = bell(bell(y, fs, r.uniform(80, 140), r.uniform(0, 5)), fs, r.uniform(350, 600), -r.uniform(0, 7))
        return compress(y, fs, r.uniform(3, 10), r.uniform(2, 6), r.uniform(4, 25), r.uniform(60, 200)) if r.random() < .35 else y

    def trigger(s, piece):
        """Sample layer without any bleed, another sample than the drum's own."""
        e = s.x.get(piece); return None if e is None else drive(highcut(e, s.fs, 9000, 1), 'tape', 4)

    def sub(s): return highcut(s.mic((0, -.15, .35), ('kick',)), s.fs, 90, 3)

    def over(s):
        r = rng('over', s.key); way = r.choice(['spaced', 'xy', 'recorder', 'jecklin']); h = r.uniform(1.7, 2.3)
        a, b = dict(spaced=((-.75, .5, h), (.75, .5, h)), xy=((-.05, .7, h), (.05, .7, h)), recorder=((-.3, .7, 1.75), (.95, 1.1, .9)), jecklin=((-.18, .9, h), (.18, .9, h)))[way]; L, R = s.mic(a, far=True), s.mic(b, far=True)
        if way == 'xy': L, R = L * .8 + .35 * s.side(-1), R * .8 + .35 * s.side(1)
        y = np.column_stack([L, R]); y = lowcut(y, s.fs, r.choice([40, 90, 250, 400]), 2); return shelf(y, s.fs, 7000, r.uniform(-2, 4))

    def side(s, sgn): return sum((x * s.balance.get(SAME.get(p, p), 1) * max(0, .5 + .7 * sgn * s.where(p)[0]) for p, x in s.x.items()), np.zeros(s.n))

    def room(s, kind=None, crush=False, mono_=False):
        r = rng('roommic', s.key, str(kind)); pts = [(-1.5, -r.uniform(1.5, 3.5), r.uniform(.8, 2)), (1.5, -r.uniform(1.5, 3.5), r.uniform(.8, 2))]; y = np.column_stack([s.mic(p, (), False, True) for p in pts]); y = y + r.uniform(.8, 2.5) * reverb(y, s.fs, kind or str(r.choice(['room', 'room', 'tiled', 'chamber'])), s.key, r.uniform(.4, 1.6)); y = highcut(y, s.fs, r.uniform(4000, 12000), 1)
        if crush: y = compress(y, s.fs, r.uniform(14, 28), 10, r.uniform(.5, 15), r.uniform(60, 250))
        return mono(y) if mono_ else y

    def front(s): return s.mic((.1, -1.1, 1.0))
    def bus(s):
        y = stereo(sum((s.x[p] for p in ('kick', 'snare') if p in s.x), np.zeros(s.n))) * .8 + s.over() * .5; return y
    def piece(s, *ps): return sum((s.x[p] for p in ps if p in s.x), np.zeros(s.n))
