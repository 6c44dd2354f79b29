"""More sound makers for sessions b01 to b10: layered kits, another kit geometry, reeds, bows, whistle, beatbox, drum machine, vocoder, FM, drawbars, slides, sections."""
import glob, os
import sound, voice
from sound import *
from dsp import *

BANKS.update(flu='/usr/share/sounds/sf2/FluidR3_GM.sf2', ms='/usr/share/sounds/sf2/MuseScore_General_Full.sf2')
def _lay(stem, *idx): return [stem % i for i in idx]
_V = ('Softest', 'Soft', 'Med', 'Hard', 'Hardest')
SAMPLED.update(
    pearl=('The Black Pearl 1.0', dict(kick=_lay('PearlKick-%s', *_V), snare=_lay('PearlSnare-%s', *_V), rim=_lay('PearlSideStick-%s', *_V), hhc=_lay('SabianHatClosed-%s', *_V), hho=_lay('SabianHatSwish-%s', *_V), hhp=_lay('SabianHatChoke-%s', *_V), tomh=_lay('PearlTom1-%s', *_V), tomm=_lay('PearlTom2-%s', *_V), toml=_lay('PearlTomFloor-%s', *_V), crash=_lay('SabianCrash-%s', *_V), crash2=_lay('ZildjianSplash-%s', *_V), ride=_lay('PaisteRide-%s', *_V), bell=_lay('PaisteBell-%s', *_V))),
    forzee=('ForzeeStereo', dict(kick=_lay('Kick-%d', 1, 2, 3, 4), snare=_lay('Snare-%d', 0, 1, 2, 3, 4), rim=_lay('RimClick-%d', 1, 2, 3, 4), hhc=_lay('HiHatClosed-%d', 0, 1, 2, 3, 4), hho=_lay('HiHatOpen-%d', 1, 2, 3), hhp=_lay('HiHatFoot-%d', 1, 2, 3), tomh=_lay('TomHigh-%d', 1, 2, 3, 4), tomm=_lay('TomMid-%d', 1, 2, 3, 4), toml=_lay('TomLow-%d', 1, 2, 3, 4), crash=_lay('Crash18-%d', 1, 2, 3), crash2=_lay('China-%d', 1, 2, 3), ride=_lay('RideBow-%d', 0, 1, 2, 3), bell=_lay('RideBell-%d', 1, 2, 3))),
    pacific=('BJA_Pacific', dict(kick=_lay('BD_0%d', 2, 4, 6, 8), snare=_lay('SN_0%d', 2, 4, 6, 8), rim=_lay('SN4_0%d', 2, 4, 6, 8), hhc=_lay('HH_0%d', 2, 4, 6, 8), hho=_lay('HH2_0%d', 2, 4, 6, 8), hhp=_lay('HH3_0%d', 1, 3), tomh=_lay('TM_0%d', 3, 6, 8), tomm=_lay('TM_0%d', 3, 6, 8), toml=_lay('TM2_0%d', 3, 6, 8), crash=_lay('CB_0%d', 1, 2, 3), crash2=_lay('CB2_0%d', 1, 2, 3), ride=_lay('RD_0%d', 1, 3, 5), bell=_lay('BL_0%d', 1, 3))),
    layers=('Millo_MultiLayered2', dict(kick=_lay('bd_0%d', 1, 2, 3, 4, 5), snare=_lay('rsnare_0%d', 1, 2, 3, 4, 5), rim=_lay('rim_0%d', 1, 2, 3, 4), hhc=_lay('hhclosed_0%d', 1, 2, 3, 4, 5), hho=_lay('hhopen_0%d', 1, 2, 3), hhp=_lay('hhpedal_0%d', 1, 2), tomh=_lay('tom_0%d', 1, 2, 3, 4), tomm=_lay('tom_0%d', 1, 2, 3, 4), toml=_lay('floortom_0%d', 1, 2, 3, 4), crash=_lay('crash_0%d', 2, 4), crash2=_lay('crash_0%d', 3, 5), ride=_lay('ride_0%d', 1, 3, 5), bell=_lay('ride_0%d', 5))),
    third=('Millo_MultiLayered3', dict(kick=_lay('bd_0%d', 1, 2, 3, 4), snare=_lay('sd_0%d', 1, 2, 3, 4, 5), rim=_lay('sr_0%d', 1, 2), hhc=_lay('hh_0%d', 1, 2, 3, 4), hho=_lay('ho_0%d', 1, 2, 3), hhp=['hh_p'], tomh=_lay('t1_0%d', 1, 2, 3), tomm=_lay('t2_0%d', 1, 2, 3), toml=_lay('ft_0%d', 1, 2, 3), crash=_lay('cc_0%d', 1, 2, 3), crash2=_lay('cc_0%d', 1, 2, 3), ride=_lay('rc_0%d', 1, 2, 3), bell=_lay('rs_0%d', 1, 2, 3))),
    hand=('Gimme A Hand 1.0', {k: _lay(n + '-%s', *_V) for k, n in dict(bongoh='BongoHi', bongol='BongoLo', slap='CajonSlaps', thump='CajonThumps', clave='Clave', cowbell='Cowbell', snap='Fingersnap', clap='HandClap', maraca='Maraca', tamb='Tambourine', glassh='WaterglassHi', glassl='WaterglassLo', block='WoodBlock').items()}),
    afrique=('circAfrique v4', {k: [v] for k, v in dict(dj1b='Djembe1 Bass', dj1s='Djembe1 Slap', dj1t='Djembe1 Tone', dj3b='Djembe3 Bass', dj3s='Djembe3 Slap', dj3t='Djembe3 Tone', dun='Dununba1 Head Hit', dunbell='Dununba1 Bell', kenk='Kenkeni1 Head Hit', kenkbell='Kenkeni1 Bell Hit').items()}),
    elec=('HardElectro1', dict(kick=['HardHse_K_02'], kick2=['PowR_BD_1'], hhc=['Hard_CHH_01'], hhc2=['PowR_HH_1'], hho=['Hard_Hse_OHH_1'], clap=['Amp_Clap_1'], snare=['PowR_SN_1'])),
    modern=('ElectricEmpireKit', dict(kick=['EE_Kick_Hard_1'], kick2=['EE_Kick_Stomp'], snare=['EE_Snare_1'], snare2=['EE_Snare_Low'], clap=['EE_Clap_Hard'], hhc=['EE_Hat_Cl_Bs'], hho=['EE_Hat_Op_Phaser'], ring=['EE_Hat_Ring_1'], drum=['EE_Drum_1'], whistle=['EE_Whistle'])))


def _load(kit, name, fs):
    k = (kit, '=' + name, fs)
    if k not in sound._raw:
        f = glob.glob(glob.escape('%s/%s/%s' % (KITDIR, SAMPLED[kit][0], name)) + '.*')[0]; x, r = sf.read(f, always_2d=True); x = resample(x.mean(1), r, fs); x = x[max(0, int(np.argmax(np.abs(x) > .02 * peak(x))) - 20):][:int(4 * fs)]; x[-200:] *= np.linspace(1, 0, 200); sound._raw[k] = unit(x)
    return sound._raw[k]


_old_hit = sound.hit


def hit(kit, piece, ev, fs, n, key=''):
    m = SAMPLED[kit][1].get(piece)
    if not isinstance(m, list): return _old_hit(kit, piece, ev, fs, n, key)
    y = np.zeros(n); r = rng('hit', kit, piece, key)
    for t, v in ev:
        x = _load(kit, m[int(np.clip((v - 25) / 95 * len(m), 0, len(m) - 1))], fs); q = np.arange(int(len(x) / 1.01) - 1) * 2 ** (r.normal(0, .06) / 12); s = np.interp(q, np.arange(len(x)), x)
        if len(m) < 3 and v < 75: s = lp(s, fs, 1800 * 2 ** (v / 22), 1)
        put(y, s * (max(v, 1) / 120) ** 1.4, int(t * fs))
    return y


sound.hit = hit


class Kit2(Kit):
    """A kit with its own geometry: left-handed, tighter or wider, other overheads."""
    def __init__(s, kit, ev, fs, n, key, lefty=False, spread=1.0):
        super().__init__(kit, ev, fs, n, key); r = rng('geometry', key); s.at = {p: np.array(a) * (spread * (-1 if lefty else 1), spread, 1) + r.normal(0, .02, 3) for p, a in AT.items()}

    def mic(s, at, target=(), off_axis=-7, lowcut=30, roomy=0.0):
        y = np.zeros(s.n)
        for p, x in s.x.items():
            d = max(.05, float(np.linalg.norm(np.subtract(at, s.at[p])))); g = 1 / d; y += late(x * g if p in target or not target else lp(x, s.fs, 6500, 1) * g * db(off_axis), d / 343 * s.fs)
        y = hp(y, s.fs, lowcut); return y + roomy * space(y, s.fs, .4, 8000, 2, s.key)[:, 0] if roomy else y

    def spot(s, *p, off=-6, h=.08, low=30): return s.mic(np.add(s.at[p[0]], (0, 0, h)), p, off, low)
    def under(s): return -tilt(s.mic(np.add(s.at['snare'], (0, 0, -.15)), ('snare',), -6), s.fs, 2500, -9, 5)
    def xy(s, h=1.9, width=.9):
        y = np.zeros((s.n, 2))
        for p, x in s.x.items(): d = float(np.linalg.norm(np.subtract((0, .5, h), s.at[p]))); y += late(pan(x, np.clip(width * s.at[p][0] / .7, -1, 1)) / d, d / 343 * s.fs)
        y = hp(y, s.fs, 90); return y + .1 * space(y, s.fs, .4, 8000, 2, s.key)
    def three(s): return np.column_stack([s.mic((-.2, .5, 1.7), roomy=.1), s.mic((.95, .95, .9), roomy=.1)])  # one above, one beside the floor tom


# ---------------------------------------------------------------- drum machine
def machine(piece, ev, fs, n, key='', tune=1.0, length=1.0):
    y = np.zeros(n); r = rng('machine', piece, key)
    for t, v in ev:
        L = int({'kick': .7, 'snare': .3, 'hhc': .09, 'hho': .5, 'clap': .35, 'cowbell': .4, 'tomh': .45, 'toml': .6, 'rim': .06, 'crash': 1.6}[piece] * length * fs); a = np.arange(L) / fs; W = r.standard_normal(L)
        if piece == 'kick': s = np.tanh(1.5 * np.sin(2 * np.pi * np.cumsum(tune * (47 + 190 * np.exp(-a / .018) + 30 * np.exp(-a / .09))) / fs) * np.exp(-a / (.22 * length))) + .25 * hp(W, fs, 2500) * np.exp(-a / .003)
        elif piece == 'snare': s = (np.sin(2 * np.pi * 182 * tune * a) + .6 * np.sin(2 * np.pi * 331 * tune * a)) * np.exp(-a / .05) + .9 * hp(W, fs, 1400) * np.exp(-a / (.075 * length))
        elif piece in ('hhc', 'hho', 'crash'): q = sum(np.sign(np.sin(2 * np.pi * f * tune * a + r.uniform(0, 6))) for f in (263, 400, 421, 474, 587, 845)); s = hp(q + (2 * W if piece == 'crash' else .6 * W), fs, 6500, 4) * np.exp(-a / ({'hhc': .022, 'hho': .16, 'crash': .5}[piece] * length))
        elif piece == 'clap':
            b = bp(W, fs, 750, 2600); s = b * np.exp(-a / .09) * .4
            for k in range(4): s = s + b * np.where(a > .011 * k, np.exp(-(a - .011 * k).clip(0) / .0045), 0)
        elif piece == 'cowbell': s = bp(np.sign(np.sin(2 * np.pi * 540 * tune * a)) + np.sign(np.sin(2 * np.pi * 800 * tune * a)), fs, 500, 3000) * (np.exp(-a / .015) + .4 * np.exp(-a / .12))
        elif piece == 'rim': s = bp(W * .3 + np.sin(2 * np.pi * 1720 * a) + np.sin(2 * np.pi * 470 * a), fs, 300, 6000) * np.exp(-a / .008)
        else: f = dict(tomh=150, toml=92)[piece] * tune; s = np.sin(2 * np.pi * np.cumsum(f * (1 + .5 * np.exp(-a / .04))) / fs) * np.exp(-a / (.14 * length)) + .1 * bp(W, fs, 300, 3000) * np.exp(-a / .04)
        s[-64:] *= np.linspace(1, 0, 64); put(y, unit(s) * (v / 115) ** 1.5, int(t * fs))
    return unit(y)


def beatbox(what, ev, fs, n, key=''):
    """Mouth percussion: boom, pf (snare), ts (hat), with the lips' noise and a close microphone."""
    y = np.zeros(n); r = rng('beatbox', what, key)
    for t, v in ev:
        L = int(dict(boom=.22, pf=.16, ts=.07, tss=.2)[what] * fs); a = np.arange(L) / fs; W = r.standard_normal(L)
        if what == 'boom': f = r.uniform(62, 72) + 55 * np.exp(-a / .03); s = np.tanh(2 * np.sin(2 * np.pi * np.cumsum(f) / fs)) * np.exp(-a / .06) + bp(W, fs, 250, 1400) * np.exp(-a / .012) * .8
        elif what == 'pf': s = bp(W, fs, 900, 5200) * np.exp(-a / .045) + bell(bp(W, fs, 300, 2400), fs, 1200, 8) * np.exp(-a / .02) * 1.3
        else: s = bp(W, fs, 4200, 10500, 2) * np.minimum(1, a / .003) * np.exp(-a / (.018 if what == 'ts' else .07))
        put(y, unit(s) * (v / 115) ** 1.3 * {'boom': 1, 'pf': .7, 'ts': .3, 'tss': .3}[what], int((t + r.normal(0, .006)) * fs))
    return y


def thumps(ev, fs, n, key=''):
    """A hand on the soundboard of a guitar."""
    y = np.zeros(n); r = rng('thumps', key)
    for t, v in ev: L = int(.22 * fs); a = np.arange(L) / fs; s = sum(g * np.sin(2 * np.pi * f * r.uniform(.97, 1.03) * a) * np.exp(-a / d) for f, g, d in ((104, 1, .06), (205, .7, .04), (330, .4, .03), (610, .25, .02))) + .5 * bp(r.standard_normal(L), fs, 600, 4000) * np.exp(-a / .006); put(y, s * (v / 110) ** 1.3, int(t * fs))
    return y


# ---------------------------------------------------------------- sustained instruments
def _line(notes, fs, n, gap=.03):
    """Pitch (MIDI, NaN where silent), level and time since onset for a one-voice line."""
    p = np.full(n, np.nan); e = np.zeros(n); prev = None; last = -9
    return p, e


def bowed(notes, fs, n, key='', size=1.0, vib=.18, bite=.05, dark=6500):
    """Bowed string: saw with vibrato, slides and bow noise through a wooden body. size 1 fiddle, 1.5 viola, 2.6 cello."""
    y = np.zeros(n); r = rng('bow', key); prev = None
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int((d + .06) * fs), n - i0)
        if L < 300: continue
        a = np.arange(L) / fs; sl = (prev - m) * np.exp(-a / .025) * .7 if prev is not None and abs(prev - m) < 6 and r.random() < .6 else -.35 * np.exp(-a / .03); wob = np.convolve(r.normal(0, .05, L // 512 + 20), np.ones(9) / 9, 'valid')
        p = m + sl + vib * np.clip(3 * (a - .15), 0, 1) * np.sin(2 * np.pi * r.uniform(5.2, 6.3) * a + r.uniform(0, 6)) + np.interp(a * fs / 512, np.arange(len(wob)), wob); f = 440 * 2 ** ((p - 69) / 12) / fs; x = osc(f, np.cumsum(f), 'saw')
        x = x + .12 * hp(r.standard_normal(L), fs, 1500) * (.5 + np.exp(-a / bite)); e = np.minimum(1, a / bite) ** .7 * np.clip((a[-1] - a) / .07, 0, 1) * (.8 + .2 * np.sin(np.pi * np.clip(a / (d + .06), 0, 1))); put(y, x * e * (v / 110), i0); prev = m
    for f, g, q in ((285, 6, 3), (470, 5, 3), (560, 3, 4), (1050, -5, 1.5), (2600, 6, 1.2)): y = bell(y, fs, f / size, g, q)
    return unit(lp(hp(y, fs, 150 / size), fs, dark / size ** .4, 1))


def reeds(notes, fs, n, key='', ranks=((0, 1), (.14, .8), (-.13, .8)), cut=5200):
    """Accordion: free reeds in ranks (semitones off, level), bellows swell, box resonances."""
    y = np.zeros(n); r = rng('reeds', key)
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int((d + .05) * fs), n - i0)
        if L < 300: continue
        a = np.arange(L) / fs; x = np.zeros(L)
        for c, g in ranks: f = np.full(L, 440 * 2 ** ((m + c + r.normal(0, .01) - 69) / 12) / fs); x += g * osc(f, f[0] * np.arange(L) + r.random(), 'pulse')
        put(y, x * np.minimum(1, a / .025) * np.clip((a[-1] - a) / .04, 0, 1) * (v / 110), i0)
    w = np.interp(np.arange(n), np.arange(0, n + fs, fs // 2), r.uniform(.7, 1.05, len(np.arange(0, n + fs, fs // 2)))); y = y * w
    for f, g, q in ((520, 5, 1.5), (1300, 3, 2), (2500, 5, 2), (380, -3, 2)): y = bell(y, fs, f, g, q)
    return unit(lp(hp(y, fs, 110), fs, cut, 2) + .004 * peak(y) * bp(r.standard_normal(n), fs, 300, 3000) * w)


def drawbars(notes, fs, n, bars=(8, 8, 8, 0, 0, 0, 0, 0, 4), drive=1.0, key=''):
    """Tone-wheel organ by nine sines a key, with key clicks; mono, before the rotor."""
    y = np.zeros(n); r = rng('drawbars', key)
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int((d + .02) * fs), n - i0)
        if L < 300: continue
        a = np.arange(L) / fs; f0 = 440 * 2 ** ((m - 69) / 12); x = sum(10 ** ((b - 8) * .15) * np.sin(2 * np.pi * f0 * h * a + r.uniform(0, 6)) for b, h in zip(bars, (.5, 1.5, 1, 2, 3, 4, 5, 6, 8)) if b and f0 * h < 6000)
        put(y, x * np.minimum(1, a / .004) * np.clip((a[-1] - a) / .01, 0, 1) + .5 * bp(r.standard_normal(L), fs, 900, 4000) * np.exp(-a / .004), i0)
    y = y / (np.percentile(np.abs(y), 98) + 1e-9); return np.tanh(drive * y) / np.tanh(drive)


def rotor(x, fs, switch=(), slow=.8, fast=6.7):
    """Rotating horn and drum heard by three microphones: horn left, horn right, drum. switch: seconds where the speed changes."""
    m = mono(x); n = len(m); t = np.arange(n) / fs; tgt = np.full(n, slow)
    for k, s in enumerate(switch): tgt[int(s * fs):] = fast if k % 2 == 0 else slow
    tgt = sg.lfilter(*sg.butter(1, .35, fs=fs), tgt - slow) + slow; ph = 2 * np.pi * np.cumsum(tgt) / fs; lo = lp(m, fs, 800, 2); hi = m - lo; q = np.arange(n); out = []
    for o in (0, 2.2): w = np.sin(ph + o); h = np.interp(q - fs * (.0012 + .0005 * w), q, hi); out.append(h * (1 + .45 * w) + .25 * lo)
    return out[0], out[1], lo * (1 + .3 * np.sin(ph * .87))


def whistle(notes, fs, n, key=''):
    y = np.zeros(n); r = rng('whistle', key); prev = None
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int(d * fs), n - i0)
        if L < 300: continue
        a = np.arange(L) / fs; p = m + ((prev - m) if prev else -2) * np.exp(-a / .03) + .25 * np.clip(3 * (a - .2), 0, 1) * np.sin(2 * np.pi * 5.6 * a); w = np.sin(2 * np.pi * np.cumsum(440 * 2 ** ((p - 69) / 12)) / fs)
        put(y, (w + .5 * w * lp(r.standard_normal(L), fs, 250) * 3 + .04 * bp(r.standard_normal(L), fs, 1500, 6000)) * np.minimum(1, a / .04) * np.clip((a[-1] - a) / .06, 0, 1) * (v / 110), i0); prev = m
    return unit(y)


def slide(kind, notes, fs, n, key='', speed=.07, vib=.3, hold=1.0):
    """Lap steel: a plucked string whose pitch glides from the note before."""
    y = np.zeros(n); r = rng('slide', key); prev = None
    for t, d, m, v in notes:
        x = pluck(kind, int(m), v > 78, int(r.integers(3)), fs); i0 = int(t * fs); L = int(min(len(x) * .85, (d * hold + .08) * fs, n - i0))
        if L < 300: prev = m; continue
        a = np.arange(L) / fs; c = (np.clip(prev - m, -5, 5) if prev is not None else -2) * np.exp(-a / speed) + vib * np.clip(2 * (a - .2), 0, 1) * np.sin(2 * np.pi * 5.1 * a); s = np.interp(np.minimum(np.cumsum(2 ** (c / 12)), len(x) - 1), np.arange(len(x)), x)
        k = min(L, int(.08 * fs)); s[-k:] *= np.linspace(1, 0, k); put(y, s * (v / 110), i0); prev = m
    return y


sound.STRINGS.update(dulcimer=(3.0, .12, .1, 5000, 9500), banjo=(.75, .14, .07, 4500, 9500), mandolin=(1.0, .15, .1, 4000, 9500), steelbar=(7, .12, .12, 3000, 7500), twelve=(3.0, .16, .13, 4500, 9500), fretless=(3, .42, .3, 600, 1500), metal=(3.5, .15, .1, 2600, 7000))


def courses(s, kind, notes, key='', body='parlour', width=.045):
    """Doubled strings (mandolin, dulcimer, twelve-string)."""
    return sum(s.string(kind, [Note(q.t + k * .004, q.d, q.m, q.v) for q in notes], key + str(k)) if k == 0 else _bend(s.string(kind, [Note(q.t + .005, q.d, q.m, q.v * .95) for q in notes], key + 'b'), s.fs, width, key) for k in (0, 1))


def _bend(x, fs, cents, key): n = np.arange(len(x)); return np.interp(n - fs * (.004 + .0009 * np.sin(2 * np.pi * .9 * n / fs + len(key))), n, x)


def section(s, bank, prog, notes, players=4, key='', cc=(), width=.8):
    """Several players of one line, each with own time, level, pitch drift and place: stereo."""
    out = np.zeros((s.n, 2)); r = rng('section', s.name, key)
    from tune import human
    for k in range(players): x = s.gm(bank, prog, human(notes, key + str(k), .016, 7), cc=cc); n = np.arange(s.n); x = np.interp(n - s.fs * (.006 + .0011 * np.sin(2 * np.pi * r.uniform(.4, .9) * n / s.fs + r.uniform(0, 6))), n, x); out += pan(x, width * (2 * k / max(1, players - 1) - 1))
    return out


def fm(notes, fs, n, ratio=1.0, index=2.0, decay=.4, attack=.003, sustain=.3, bright=.15, release=.12, ratio2=0, key=''):
    """Two-operator FM with an optional second modulator; stereo by a little detuning."""
    y = np.zeros((n, 2)); r = rng('fm', key)
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(int((d + release) * fs), n - i0)
        if L < 64: continue
        a = np.arange(L) / fs; f = 440 * 2 ** ((m - 69) / 12); e = np.minimum(1, a / attack) * (sustain + (1 - sustain) * np.exp(-a / decay)) * np.clip((d + release - a) / release, 0, 1); I = index * (v / 100) ** 1.5 * (.15 + np.exp(-a / bright)); I = np.minimum(I, .4 * fs / f / max(1, ratio) - 1).clip(0)
        for c, q in ((0, .9985), (1, 1.0015)): mod = np.sin(2 * np.pi * f * q * ratio * a) + (.4 * np.sin(2 * np.pi * f * ratio2 * a) if ratio2 else 0); y[i0:i0 + L, c] += np.sin(2 * np.pi * f * q * a + I * mod) * e * (v / 110)
    return y


def vocode(mod, car, fs, bands=22):
    """Channel vocoder: the voice's band levels on a carrier, with its sibilants kept."""
    e = np.geomspace(110, 8500, bands + 1); out = np.zeros(len(mod)); c = unit(mono(car)) + .02 * rng('voc').standard_normal(len(mod))
    for lo, hi in zip(e, e[1:]): out += bp(c, fs, lo, hi, 2) * np.maximum(0, lp(np.abs(bp(mod, fs, lo, hi, 2)), fs, 35))
    return unit(out) + .15 * unit(hp(mod, fs, 6500))


def mute(x, fs, kind):
    """Brass mutes: harmon, cup, plunger, straight."""
    if kind == 'harmon': return bell(bell(hp(x, fs, 700), fs, 1750, 11, 2.5), fs, 3200, 6, 3)
    if kind == 'cup': return bell(lp(x, fs, 2300), fs, 850, 6, 1.5)
    if kind == 'plunger': return wah(x, fs, 1.1, 450, 1900)
    return bell(hp(x, fs, 400), fs, 1900, 8, 2)


def gate(x, fs, t60=.9, hold=.22, key='gated'):
    """Reverberation cut off by a gate."""
    w = space(x, fs, t60, 8000, 5, key); e = np.abs(mono(x)); B = 256; p = np.pad(e, (0, -len(e) % B)).reshape(-1, B).max(1); on = np.where((p > .3 * p.max()) & (p > 1.6 * np.roll(p, 3)))[0]; g = np.zeros(len(p))
    for i in on: g[i:i + int(hold * fs / B)] = 1
    g = np.convolve(g, np.ones(3) / 3, 'same'); return w * np.interp(np.arange(len(e)), np.arange(len(g)) * B, g)[:, None]


def riser(fs, n, spans, key=''):
    y = np.zeros((n, 2)); r = rng('riser', key)
    for a, b in spans:
        L = int((b - a) * fs); w = r.standard_normal((L, 2)); k = np.linspace(0, 1, L)[:, None]; f = [bp(w, fs, lo, lo * 2.2) for lo in (400, 900, 2000, 4300)]; put(y, sum(q * np.clip(1 - np.abs(k * 3 - i), 0, 1) for i, q in enumerate(f)) * k ** 1.5, int(a * fs))
    return y


def duck(x, fs, ev, depth=.85, rel=.22):
    """Side-chain pumping from a list of hits."""
    g = np.ones(len(x))
    for t, v in ev: i = int(t * fs); L = min(int(.5 * fs), len(x) - i); g[i:i + L] = np.minimum(g[i:i + L], 1 - depth * np.exp(-np.arange(L) / fs / rel)) if L > 0 else 0
    return x * (g if x.ndim == 1 else g[:, None])


def hum(x, fs, level=-52, f=50): t = np.arange(len(x)) / fs; return x + peak(x) * db(level) * sum(np.sin(2 * np.pi * f * k * t + k) / k for k in (1, 2, 3, 5, 7, 9))


STRUM = {'A': 'Amajor', 'Am': 'Aminor', 'Bb': 'Bflat major', 'B': 'Bmajor', 'Bm': 'Bminor', 'C': 'Cmajor', 'C#m': 'Csharp minor', 'D': 'Dmajor', 'Dm': 'Dminor', 'D#m': 'Dsharp minor', 'E': 'Emajor', 'Em': 'Eminor', 'F': 'Fmajor', 'F#': 'Fsharp major', 'F#m': 'Fsharp minor', 'G': 'Gmajor', 'Gm': 'Gminor', 'G#m': 'Gsharp minor'}


def strummed(s, grid, bars=None, key=''):
    """Recorded guitar strums on a grid: down on the beat, up between; stereo."""
    y = np.zeros((s.n, 2)); d = KITDIR + '/belofilms_GuitarStrums/'
    for k, (b, t, dur, v, c) in enumerate(s.song.steps(grid, bars, key)):
        ch = s.song.chords[b]; ch = ch[:-2] + ('m' if ch.endswith('m7') else '') if ch[-2:] in ('m7', 'M7') else ch.rstrip('79'); up = abs((t / s.song.beat) % 1 - .5) < .3; f = next(q for j in (int(np.clip((v - 30) / 25, 0, 3)), 2, 1, 0) for w in (('_UP',) if up else ('_DOWN', '_Down', '')) for q in [d + '%s%s_0%d.flac' % (STRUM[ch], w, j)] if os.path.exists(q)); kk = ('strum', f, s.fs)
        if kk not in sound._raw: x, r = sf.read(f, always_2d=True); sound._raw[kk] = resample(x, r, s.fs)
        x = sound._raw[kk]; x = x[:int((dur + .06) * s.fs)].copy(); k0 = min(len(x), int(.06 * s.fs)); x[-k0:] *= np.linspace(1, 0, k0)[:, None]; put(y, x * (v / 110), int(t * s.fs))
    return y


voice.SINGERS.update(mara=('woman', 1.02, .6, .18, .15, 5.4, .5), otto=('man', .92, .5, .12, .18, 4.9, .6), pia=('woman', 1.09, .7, .28, .08, 5.8, .2), rex=('man', 1.03, .22, .05, .3, 5.5, .9), sol=('woman', .94, .4, .1, .3, 5.2, .6), tess=('woman', .98, .8, .36, .07, 5.6, .25), ugo=('man', 1.08, .7, .26, .1, 5.1, .3), wim=('man', .96, .6, .16, .22, 5.2, .5), zoe=('woman', 1.04, .5, .15, .2, 6.0, .7),
    kida=('child', 1.0, .5, .15, .06, 5.5, .3), kidb=('child', 1.08, .6, .18, .05, 5.9, .5), kidc=('child', .94, .5, .14, .08, 5.3, .4), kidd=('child', 1.12, .45, .16, .06, 6.1, .6))
