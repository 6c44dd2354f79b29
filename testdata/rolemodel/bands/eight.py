"""Shared by e01..e08: own session class (amplifier, vocal channel, guitar body, rooms), kits, singers and sound makers, over the other files' makers."""
import os, sys, json
import dsp, sound, voice, tune
from dsp import *
from extra import *
import extra
from sound import Note, synth, Kit, SAMPLED, osc
from tune import Song, human, clip, voicing, root, tones
from session import Session

# bank select before the programme (controller 0 in cc)
_midi = sound.midi
def midi(notes, prog, path, channel=0, cc=()):
    bank = [c for c in cc if c[0] == 0]; _midi(notes, prog, path, channel, [c for c in cc if c[0]])
    if bank: f = sound.mido.MidiFile(path); f.tracks[0].insert(0, sound.mido.Message('control_change', channel=channel, control=0, value=bank[0][1])); f.save(path)
sound.midi = midi

_L = extra._lay
SAMPLED.update(
    col=('ColomboAcousticDrumkit', dict(kick=_L('bassdrum-4mics-br-stereo-%s', 'soft2', 'soft4', 'normal3'), snare=['snare-opaque-2mics_normal-shot1', 'snare-opaque-normal-mic-normal_shot2', 'snare-opaque-normal-mic-normal_shot3', 'snare-opaque-normal-mic-rimshot2'], rim=['stick-rim-9'], hhc=_L('hihat-closed-%d', 1, 4, 6), hho=_L('hihat-open-%d', 1, 4, 5), hhp=['hihat-semi-open-1', 'hihat-semi-open-2', 'hihat-semi-open-2'], tomh=['tom-hi-1'], tomm=['tom-mid-1'], toml=['tom-low-1'], crash=['crash20i__crash'], crash2=['crash16i__crash1'], ride=['crash16i__ride2', 'crash20i__ride4'], bell=['crash20i__ride-cup1'])),
    fz=('ForzeeStereo', dict(kick=_L('Kick-%d', 1, 2, 3, 4), snare=_L('SnareRim-%d', 0, 1, 2, 3, 4), rim=_L('SnareOffRim-%d', 1, 2, 3, 4), hhc=_L('HiHatSemiopen-%d', 0, 1, 2, 3), hho=_L('HiHatOpen-%d', 1, 2, 3), hhp=_L('HiHatFoot-%d', 1, 2, 3), tomh=_L('TomHigh-%d', 1, 2, 3, 4), tomm=_L('TomMid-%d', 1, 2, 3, 4), toml=_L('TomLow-%d', 1, 2, 3, 4), crash=_L('CrashRide18-%d', 1, 2, 3), crash2=_L('Splash10-%d', 1, 2, 3, 4), ride=_L('Ride-%d', 0, 1, 2), bell=_L('CrashRide18Bell-%d', 1, 2, 3), agoh=_L('AgogoHigh-%d', 1, 2, 3, 4), agol=_L('AgogoLow-%d', 1, 2, 3, 4), tamb=_L('Tambourine-%d', 1, 2, 3, 4))),
    pac=('BJA_Pacific', dict(kick=_L('BD_0%d', 1, 3, 5, 7), snare=_L('SN3_0%d', 1, 2, 3, 4), rim=_L('SN4_0%d', 1, 3, 5, 7), hhc=_L('HH_0%d', 1, 3, 5, 7), hho=_L('HH2_0%d', 1, 3, 5, 7), hhp=_L('HH3_0%d', 2, 4), tomh=_L('TM_0%d', 2, 4, 7), tomm=_L('TM_0%d', 1, 5, 7), toml=_L('TM2_0%d', 2, 5, 7), crash=_L('CB2_0%d', 1, 2, 3), crash2=_L('CB_0%d', 1, 2, 3), ride=_L('RD2_0%d', 1, 3, 5), bell=_L('BL_0%d', 2, 4))),
    var=('VariBreaks', dict(kick=['VP Kick 1'], kick2=['VP Kick 3'], snare=['VP Snare 2'], snare2=['VP Snare 3'], rim=['VP Drum'], hhc=['VP Hat 3 Cl'], hho=['VP Hat 1 Op'], hhp=['VP Hat 1 Cl'], tomh=['VP Tom Hi'], toml=['VP Tom Low'])),
    rmp=('rumpf_kit_z01_h2', dict(kick=['beats_06-32'], kick2=['beats_07-20'], snare=['beats_01-30'], snare2=['beats_06-41'], hhc=['beats_09-13'], hho=['beats_05-10'], tick=['beats_08-34'], tok=['beats_08-36'], ring=['beats_06-42'], clank=['beats_08-28'], boom=['beats_02-11'])),
    aud=('Audiophob', dict(tom=['99930__menegass__noise-tom0'], tomh=['101450__menegass__tomh'], snare=['25671__walter-odington__garage-city-snare-snappy'], hhc=['116973__cbeeching__hat-light'], fx=['156272__dayvonjersen__fxshake5'])),
    afr=('circAfrique v4', {k: [v] for k, v in dict(dj2b='Djembe2 Bass', dj2s='Djembe2 Slap', dj2t='Djembe2 Tone', dj4b='Djembe4 Bass', dj4s='Djembe4 Slap', dj4t='Djembe4 Tone', san='Sangban1 Head Hit', sanm='Sangban1 Head Mute', sanbell='Sangban1 Bell Hit', dun='Dununba1 Head Hit', dunbm='Dununba1 Bell Mute', kenb='Kenkeni1 Bell Hit').items()}))

sound.STRINGS.update(cavaco=(.8, .16, .18, 3800, 9000), seven=(2.6, .36, .2, 1700, 4500), flat=(1.1, .5, .28, 500, 1300), hollow=(2.4, .34, .24, 1500, 3600), bari=(5, .2, .1, 2200, 6000), gutb=(1.9, .5, .33, 420, 1150), zupf=(1.4, .25, .22, 2600, 7000), requinto=(1.6, .3, .16, 2000, 5500), tightbass=(2.6, .26, .24, 900, 3000))

voice.SINGERS.update(  # kind, tract scale, open quotient, breath, vibrato, Hz, scoop
    ned=('man', 1.12, .28, .08, .06, 5.6, 1.1), rae=('woman', 1.0, .9, .5, .04, 5.3, .2), abe=('man', .9, .42, .1, .26, 4.8, .4), vera=('woman', .9, .38, .08, .4, 6.1, .9), luz=('woman', .97, .36, .07, .18, 5.8, .7), tito=('man', 1.02, .3, .06, .14, 5.9, .8), nana=('woman', .95, .5, .12, .2, 5.2, .6), kofi=('man', .97, .38, .1, .12, 5.0, .9), wendel=('man', .95, .5, .16, .16, 5.5, .6), noor=('woman', 1.07, .55, .16, .16, 5.7, .4), seb=('man', 1.05, .5, .12, .18, 5.2, .3), uta=('woman', 1.02, .55, .12, .2, 5.4, .3), jana=('woman', .98, .6, .16, .12, 5.6, .2), lotte=('woman', .93, .5, .14, .16, 5.1, .3), rolf=('man', .93, .5, .1, .16, 5.0, .3), emil=('man', 1.07, .6, .16, .12, 5.4, .2), kai=('man', 1.0, .55, .14, .14, 5.5, .3), mia=('child', 1.02, .6, .2, .05, 5.7, .3))


# ---------------------------------------------------------------- rooms and amplifiers of our own
_box = {}
def boxroom(x, fs, dims=(6, 4.5, 2.8), src=(2, 2, 1.3), mics=((4.2, 1.5, 1.6), (4.2, 3, 1.6)), absorb=.25, order=9, direct=True):
    """Shoebox by image sources, two microphones; each wall takes `absorb` and some treble."""
    k = (fs, dims, src, mics, absorb, order, direct)
    if k not in _box:
        r = rng('box', k); h = []
        for mx in mics:
            t = np.zeros((3, int(.9 * fs))); q = range(-order, order + 1)
            for i in q:
                for j in q:
                    for l in range(-order // 2, order // 2 + 1):
                        w = abs(i) + abs(j) + abs(l)
                        if w > order or (w == 0 and not direct): continue
                        p = [d * a + (s if a % 2 == 0 else d - s) for d, a, s in zip(dims, (i, j, l), src)]; dist = float(np.linalg.norm(np.subtract(p, mx))) + .02 * r.random(); n0 = int(dist / 343 * fs)
                        if n0 < t.shape[1]: t[min(2, w // 3), n0] += (1 - absorb) ** (w / 1.0) / max(.3, dist)
            h.append(t[0] + lp(t[1], fs, 7000, 1) + lp(t[2], fs, 3500, 1))
        _box[k] = np.column_stack(h)
    m = mono(x); return np.column_stack([sg.oaconvolve(m, _box[k][:, c])[:len(m)] for c in (0, 1)])


_pl = {}
def sheet(x, fs, t60=1.5, bright=1.0, pre=0, key='sheet'):
    """A dense return: gaussian noise whose bands decay apart, with a slow chirped onset; stereo."""
    k = (fs, t60, bright, pre, key)
    if k not in _pl:
        r = rng('sheet', key); n = int(fs * t60 * 1.2); t = np.arange(n) / fs; h = np.zeros((n, 2))
        for lo, hi, f, g in ((120, 400, .7, .7), (400, 1200, 1.0, 1), (1200, 3500, .95, 1), (3500, 8000, .6 * bright, .9), (8000, 15000, .35 * bright, .7)): h += g * bp(r.standard_normal((n, 2)), fs, lo, hi, 2) * (np.exp(-6.9 * t / (t60 * f)) * np.minimum(1, t / .004))[:, None]
        _pl[k] = np.concatenate([np.zeros((int(pre * fs / 1000) + 1, 2)), h / np.sqrt((h ** 2).sum(0).mean())])
    s = wide(x); return np.column_stack([sg.oaconvolve(s[:, c], _pl[k][:, c])[:len(x)] for c in (0, 1)])


CABS = dict(
    ten=[(70, -14), (105, 3), (200, 4), (450, -2), (900, -1), (1800, 3), (3300, 4), (4600, -2), (6300, -14), (9000, -34), (13000, -50)],
    stack=[(45, -18), (80, 3), (125, 6), (280, 1), (600, -3), (1300, 0), (2300, 4), (3600, 2), (4800, -8), (6200, -24), (10000, -48)],
    pawn=[(110, -22), (190, 1), (350, 5), (700, 3), (1500, 0), (2500, 5), (3400, -2), (4300, -13), (7000, -38)],
    fridge=[(35, -8), (60, 1), (95, 4), (200, 1), (450, -3), (900, 1), (1700, 3), (3000, -2), (4500, -16), (7000, -36)],
    fifteen=[(30, -9), (48, 3), (80, 4), (180, -1), (500, -5), (1000, -2), (1900, -7), (3200, -20), (5500, -42)])


def rig(x, fs, drive=15, cab='ten', key='', bass=0, treble=0, mic=.0006, sag=.4):
    """Another amplifier: bias that shifts with the level, cubic then diode stage at 4x, sag, speaker FIR, a floor reflection at the microphone."""
    m = mono(x); a = np.abs(m); on = a[a > a.max() * .03]; m = m / (np.percentile(on, 85) + 1e-9) if len(on) else m; r = rng('rig', cab, key)
    low = cab in ('fridge', 'fifteen'); bass = bass + (4 if low else 0); u = sg.resample_poly(bell(hp(m, fs, 25 if low else 70, 1), fs, 750 * r.uniform(.8, 1.2), 0 if low else 3, .8), 4, 1) * db(drive - 14); env = lp(np.abs(u), 4 * fs, 12, 1); u = u + .15 * env; u = np.clip(u, -1.5, 1.5); u = u - u ** 3 / 6.75
    u = tilt(u, 4 * fs, 600, bass, treble) * db(drive / 2.5); u = np.where(u > 0, 1 - np.exp(-u), -(1 - np.exp(1.4 * np.minimum(u, 0))) * .8); y = sg.resample_poly(u, 1, 4)[:len(m)]; y = y / (1 + sag * lp(np.abs(y), fs, 6, 1) / (rms(y) * 2)); y = hp(y, fs, 25 if low else 60)
    h = points(fs, [(f * r.uniform(.93, 1.08), g + r.normal(0, 1.3)) for f, g in CABS[cab]]); y = conv(y, h); return unit(y + .3 * lp(late(y, (mic + r.uniform(.0004, .0016)) * fs), fs, 3500, 1))


_bd = {}
def box(x, fs, f0=105, key='box', mic=0, damp=1.0, wet=.85):
    """A wooden body from its lowest resonance: random modes above it, weaker and shorter upward."""
    k = (fs, f0, key, mic, damp)
    if k not in _bd:
        r = rng('woodbox', key); t = np.arange(int(.3 * fs)) / fs; h = np.zeros(len(t)); rr = rng('boxmic', key, mic)
        for i in range(34): f = f0 * (1 + i * .62 * r.uniform(.7, 1.3)); h += np.exp(-np.pi * f / r.uniform(14, 38) * damp * t) * np.sin(2 * np.pi * f * t + rr.uniform(0, 6)) * rr.uniform(.2, 1) / (1 + i * .12)
        h = h / np.sqrt((h ** 2).sum()) * wet; h[int(mic * fs / 2500)] += 1.3; _bd[k] = h
    return conv(x, _bd[k])


class E(Session):
    """Our own defaults. chan: settings of the vocal channel (low cut, presence, air, ratio)."""
    chan = dict(cut=90, mud=-2, pres=2, air=2, over=12, ratio=3)
    def amp(s, x, gain, cab='ten', key='', **k): return rig(x, s.fs, gain, cab, s.name + key, **k)
    def chn(s, x, key):
        c = s.chan; r = rng('chn', s.name, key); x = bell(hp(x, s.fs, c['cut'] * r.uniform(.9, 1.1), 3), s.fs, 300 * r.uniform(.9, 1.2), c['mud'], .9); x = tilt(bell(x, s.fs, 3600 * r.uniform(.85, 1.15), c['pres'], .8), s.fs, 9000, 0, c['air']); return squeeze(x, s.fs, c['over'], c['ratio'], 8, 180)
    def sing(s, notes, who, key='', room=0, **k): x = s.chn(voice.sing(notes, who, s.fs, s.n, s.name + key, **k), key); return x + room * boxroom(x, s.fs, absorb=.45)[:, 0] / 1.0 if room else x
    def say(s, lines, **k): return s.chn(voice.say(lines, s.fs, s.n, **k), str(k))
    def wood(s, notes, kind='steel', f0=105, key='', mic=0, room=.05, damp=1.0, **k): return near(box(lp(s.string(kind, notes, key, **k), s.fs, 4200, 1), s.fs, f0, s.name + kind, mic, damp), s.fs, room)
    def gmd(s, bank, prog, *parts, room=.12): return near(s.gm(bank, prog, [Note(t, .25, m, v) for m, g in parts for t, v in s.song.beats_on(*((g,) if isinstance(g, str) else g), key=m)], drums=True), s.fs, room)
    def sk(s, kit, *parts, room=.12): return near(sum(s.hit(kit, p, *((g,) if isinstance(g, str) else g)) for p, g in parts), s.fs, room)
    def gain(s, group):
        if s.levels in ('low', 'hot'): r = rng(s.name, 'gain', group[0]['file']); return db(-r.uniform(*((14, 26) if s.levels == 'low' else (.3, 4)))) / max(peak(t['x']) for t in group)
        return super().gain(group)


# ---------------------------------------------------------------- more sound makers
def membrane(ev, fs, n, f=80, drop=.5, t60=.5, slap=.2, key='', bend=None, ring=1.0):
    """A struck skin: two lowest modes, pitch drop, stick noise. bend: semitones of glide per hit from the velocity."""
    y = np.zeros(n); r = rng('membrane', key)
    for t, v in ev:
        L = int(min(1.6, t60 * 1.6) * fs); a = np.arange(L) / fs; p = f * r.uniform(.985, 1.015) * (1 + drop * np.exp(-a / .025)); p = p * 2 ** (bend * (v - 60) / 50 * np.sin(np.pi * np.clip(a / (t60 * .8), 0, 1)) / 12) if bend else p; ph = 2 * np.pi * np.cumsum(p) / fs
        s = np.sin(ph) * np.exp(-a * 6.9 / t60) + .5 * ring * np.sin(1.59 * ph + 1) * np.exp(-a * 6.9 / (t60 * .45)) + .25 * np.sin(2.14 * ph) * np.exp(-a * 6.9 / (t60 * .3)) + slap * bp(r.standard_normal(L), fs, 500, 5000) * np.exp(-a / .008); s[-64:] *= np.linspace(1, 0, 64); put(y, s * (v / 110) ** 1.4, int((t + r.normal(0, .003)) * fs))
    return unit(y)


def scrape(ev, fs, n, key='', lo=2500, hi=9000, rate=75, long=.11):
    """Metal or gourd scraper: a train of small ticks."""
    y = np.zeros(n); r = rng('scrape', key)
    for t, v in ev:
        L = int((long if v > 85 else long * .5) * fs); a = np.arange(L) / fs; s = bp(r.standard_normal(L), fs, lo, hi, 2) * (.3 + np.abs(np.sin(np.pi * rate * a * (1 + a * 3))) ** 6) * np.hanning(L) ** .5; put(y, s * (v / 110) ** 1.3, int((t + r.normal(0, .003)) * fs))
    return unit(y)


def frame(thumb, slap, jing, fs, n, key=''):
    """Frame drum with jingles: thumb strokes, slaps, jingles (lists of hits)."""
    y = membrane(thumb, fs, n, 95, .3, .3, .1, key) if thumb else np.zeros(n); r = rng('frame', key)
    for ev, g, T in ((slap, .6, .025), (jing, .35, .05)):
        for t, v in ev:
            L = int(.25 * fs); a = np.arange(L) / fs; s = sum(np.sin(2 * np.pi * f * r.uniform(.99, 1.01) * a + r.uniform(0, 6)) * np.exp(-a / r.uniform(T, 2 * T)) for f in (3700, 4800, 6100, 7350, 8900, 9900)) * .25 + hp(r.standard_normal(L), fs, 4000) * np.exp(-a / T) + (bp(r.standard_normal(L), fs, 400, 3000) * np.exp(-a / .015) * 2 if g > .5 else 0); put(y, s * g * (v / 110) ** 1.3, int((t + r.normal(0, .003)) * fs))
    return unit(y)


def tapekeys(s, bank, prog, notes, key='', cc=(), wow=.0022):
    """Tape-replay keyboard: sampled sound, mono, limited note length, each pass with wow, flutter, narrow band and hiss."""
    x = s.gm(bank, prog, [Note(t, min(d, 7.5), m, v) for t, d, m, v in notes], cc=cc); r = rng('tape', s.name, key); n = np.arange(s.n); w = s.fs * (wow * np.sin(2 * np.pi * .7 * n / s.fs + r.uniform(0, 6)) + wow * .12 * np.sin(2 * np.pi * 9.3 * n / s.fs)); x = np.interp(n - s.fs * .01 - w, n, x)
    x = np.tanh(1.6 * unit(lp(hp(x, s.fs, 140), s.fs, 5200, 2))); e = lp(np.abs(x), s.fs, 8); return unit(x) + .004 * bp(r.standard_normal(s.n), s.fs, 800, 7000) * (e > .003)


def blown(notes, fs, n, key='', f1=(520, 1200, 2600), rasp=.5, vib=.15, dark=4200, air=.05):
    """A reed or lip instrument: saw whose treble follows the blowing, three formants, breath at the start."""
    y = np.zeros(n); r = rng('blown', key); prev = None
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int((d + .04) * fs), n - i0)
        if L < 400: continue
        a = np.arange(L) / fs; e = np.minimum(1, a / .035) * np.clip((a[-1] - a) / .05, 0, 1) * (.75 + .25 * np.exp(-a / .12)); p = m - .8 * np.exp(-a / .03) + vib * np.clip(2 * (a - .25), 0, 1) * np.sin(2 * np.pi * r.uniform(4.8, 5.6) * a) + r.normal(0, .04); f = 440 * 2 ** ((p - 69) / 12) / fs; x = osc(f, np.cumsum(f), 'saw') if r.random() < 2 else 0
        lo = lp(x, fs, min(dark, 900 + 250 * (m - 40)), 1); x = lo + rasp * (x - lo) * e ** 2 * (v / 100); x = x + air * bp(r.standard_normal(L), fs, 900, 5000) * (1 + 4 * np.exp(-a / .03)); put(y, x * e * (v / 110) ** 1.3, i0)
    for f, g in zip(f1, (6, 5, 4)): y = bell(y, fs, f, g, 1.6)
    return unit(lp(hp(y, fs, 60), fs, dark * 1.8, 1))


def surface(fs, n, key='', hiss=-46, pops=9):
    """Noise of an old record: rumble, hiss and pops."""
    r = rng('surface', key); y = lp(r.standard_normal(n), fs, 60) * .04 + bp(r.standard_normal(n), fs, 700, 6500) * db(hiss) * 3
    for t in np.cumsum(r.exponential(1 / pops, int(n / fs * pops * 1.3))):
        if t * fs < n - 200: L = int(r.uniform(12, 90)); put(y, r.standard_normal(L) * np.hanning(L) * r.choice([.1, .2, .9], p=[.6, .3, .1]), int(t * fs))
    return unit(y)


def crush(x, fs, rate=9000, bits=7):
    """Old sampler: held samples and few bits."""
    k = np.floor(np.arange(len(x)) * rate / fs).astype(int); i = np.minimum((k * fs / rate).astype(int), len(x) - 1); q = 2 ** (bits - 1); return np.round(unit(x)[i] * q) / q


def gap(notes, p, key=''): r = rng('gap', key); return [q for q in notes if r.random() > p]


def wavering(x, fs, depth=.0016, rate=.4, key=''): n = np.arange(len(x)); r = rng('waver', key); return np.interp(n - fs * (depth * 1.5 + depth * np.sin(2 * np.pi * rate * n / fs + r.uniform(0, 6))), n, mono(x))
