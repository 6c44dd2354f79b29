"""Recorded material: General MIDI banks through the fluidsynth library, one-shot samples, strummed chords, loops."""
import ctypes, ctypes.util, glob, os, re
import numpy as np
import soundfile as sf
from tools import *

SHARE = '/usr/share'
BANKS = dict(fluid=SHARE + '/sounds/sf2/FluidR3_GM.sf2', muse=SHARE + '/sounds/sf3/MuseScore_General_Full.sf3')
KITS = SHARE + '/hydrogen/data/drumkits/'
ONESHOTS = SHARE + '/sonic-pi/samples/'
if not os.path.isdir(ONESHOTS):
    ONESHOTS = os.path.dirname((glob.glob(SHARE + '/**/bd_haus.flac', recursive=True) or ['/nowhere/x'])[0]) + '/'


_lib = ctypes.CDLL(ctypes.util.find_library('fluidsynth') or 'libfluidsynth.so.3')
for _f, _r, _a in (('new_fluid_settings', 'p', ''), ('new_fluid_synth', 'p', 'p'), ('fluid_settings_setnum', 'i', 'psd'), ('fluid_settings_setint', 'i', 'psi'), ('fluid_synth_sfload', 'i', 'psi'), ('fluid_synth_write_float', 'i', 'pipiipii'), ('fluid_synth_system_reset', 'i', 'p'),
                   ('fluid_synth_program_change', 'i', 'pii'), ('fluid_synth_cc', 'i', 'piii'), ('fluid_synth_noteon', 'i', 'piii'), ('fluid_synth_noteoff', 'i', 'pii'), ('fluid_synth_all_sounds_off', 'i', 'pi'), ('fluid_synth_pitch_bend', 'i', 'pii')):
    _t = dict(p=ctypes.c_void_p, i=ctypes.c_int, s=ctypes.c_char_p, d=ctypes.c_double); getattr(_lib, _f).restype = _t[_r]; getattr(_lib, _f).argtypes = [_t[q] for q in _a]
_open = {}


def _player(bank, fs):
    """A synthesiser with the bank loaded once per process; no effects, samples read on demand."""
    if (bank, fs) not in _open:
        st = _lib.new_fluid_settings(); _lib.fluid_settings_setnum(st, b'synth.sample-rate', float(fs)); _lib.fluid_settings_setnum(st, b'synth.gain', .4)
        for k, v in ((b'synth.reverb.active', 0), (b'synth.chorus.active', 0), (b'synth.dynamic-sample-loading', 1), (b'synth.polyphony', 96)): _lib.fluid_settings_setint(st, k, v)
        y = _lib.new_fluid_synth(st)
        if not y or _lib.fluid_synth_sfload(y, BANKS[bank].encode(), 1) < 0: raise RuntimeError('cannot load ' + BANKS[bank])
        _open[bank, fs] = y
    return _open[bank, fs]


def gm(bank, prog, notes, fs, n, drums=False, cc=(), swell=0.0, bend=0.0, key=''):
    """One part of a bank, stereo and dry. swell: depth of expression arcs; bend: semitones of scoop into notes now and then."""
    ch = 9 if drums else 0; ev = [(0, 0, 'cc', c, v) for c, v in cc]; r = rng('gm', key)
    for t, d, m, v in notes:
        if not 0 <= m < 128 or t >= n / fs: continue
        a, z = max(0, t) * fs, (max(0, t) + max(.04, d)) * fs; ev += [(a, 2, 'on', int(m), int(np.clip(v, 1, 127))), (z, 0, 'off', int(m), 0)]
        if swell and d > .3: ev += [(a + (z - a) * q, 1, 'cc', 11, int(127 - swell * 127 * (1 - np.sin(np.pi * min(1, q + .15))))) for q in np.linspace(0, .9, 8)]
        if bend and r.random() < .3: ev += [(a + q * .1 * fs, 1, 'bend', int(8192 - bend * 4096 * (1 - q)), 0) for q in np.linspace(0, 1, 8)]
    y = _player(bank, fs); tail = np.ones((2, 8192), np.float32); _lib.fluid_synth_all_sounds_off(y, -1); _lib.fluid_synth_system_reset(y)
    while np.abs(tail).max() > 1e-6: _lib.fluid_synth_write_float(y, 8192, tail[0].ctypes.data, 0, 1, tail[1].ctypes.data, 0, 1)  # let the part before die away
    _lib.fluid_synth_program_change(y, ch, prog); out = np.zeros((2, n), np.float32); at = 0

    def run(to):
        k = min(to, n) - at
        if k > 0: _lib.fluid_synth_write_float(y, k, out[0].ctypes.data, at, 1, out[1].ctypes.data, at, 1)
        return max(at, min(to, n))
    for t, _, what, a, b in sorted(ev):
        at = run(int(t))
        if what == 'on': _lib.fluid_synth_noteon(y, ch, a, b)
        elif what == 'off': _lib.fluid_synth_noteoff(y, ch, a)
        elif what == 'cc': _lib.fluid_synth_cc(y, ch, a, int(np.clip(b, 0, 127)))
        else: _lib.fluid_synth_pitch_bend(y, ch, int(np.clip(a, 0, 16383)))
    run(n); return out.T.astype(float)


_cache = {}


def load(path, fs, trim=True):
    """A sample as mono, from its onset, peak 1."""
    k = (path, fs)
    if k not in _cache:
        x, r = sf.read(path, always_2d=True); x = rate(x.mean(1), r, fs); x = x - x.mean()
        if trim: x = x[max(0, int(np.argmax(np.abs(x) > .03 * peak(x))) - 16):]
        _cache[k] = unit(x[:int(4 * fs)]) if trim else unit(x)
    return _cache[k]


def files(*patterns):
    out = []
    for p in patterns: out += sorted(glob.glob(p.replace('[', '[[]')))
    return out


# kit -> piece -> layers, soft to hard
def _five(kit, name): return [KITS + kit + '/%s-%s.wav' % (name, h) for h in ('Softest', 'Soft', 'Med', 'Hard', 'Hardest')]
def _num(kit, name, sep='_', ext='wav'): return files(KITS + kit + '/' + name + sep + '*.' + ext)
def _one(*names): return [ONESHOTS + n + '.flac' for n in names]


SAMPLED = dict(
    forzee={p: ('ForzeeStereo', n, '-', 'wav') for p, n in dict(kick='Kick', snare='Snare', rim='RimClick', hat='HiHatClosed', open='HiHatOpen', pedal='HiHatFoot', tom1='TomHigh', tom2='TomMid', tom3='TomLow', crash='Crash18', crash2='China', ride='RideBow', bell='RideBell', snare2='SnareRim').items()},
    pearl={p: n for p, n in dict(kick='PearlKick', snare='PearlSnare', rim='PearlSideStick', hat='SabianHatClosed', open='SabianHatOpen', pedal='SabianHatPedal', tom1='PearlTom1', tom2='PearlTom2', tom3='PearlTomFloor', crash='SabianCrash', crash2='ZildjianSplash', ride='PaisteRide', bell='PaisteBell', snare2='PearlSnareRimshot').items()},
    bja={p: ('BJA_Pacific', n, '_', 'aiff') for p, n in dict(kick='BD', snare='SN', snare2='SN4', hat='HH', open='HH3', pedal='HH2', tom1='TM', tom3='TM2', crash='RD2', ride='RD', rim='BL').items()},
    millo2={p: ('Millo_MultiLayered2', n, '_', 'flac') for p, n in dict(kick='bd', snare='jsnare', snare2='rsnare', rim='rim', hat='hhclosed', open='hhopen', pedal='hhpedal', tom1='tom', tom3='floortom', crash='crash', ride='ride').items()},
    millo3={p: ('Millo_MultiLayered3', n, '_', 'flac') for p, n in dict(kick='bd', snare='sd', snare2='sr', rim='rs', hat='hh', open='ho', tom1='t1', tom2='t2', tom3='ft', crash='cc', ride='rc').items()},
    colombo={p: ('ColomboAcousticDrumkit', n, '', 'flac') for p, n in dict(kick='bassdrum', snare='snare-opaque-normal-mic-normal', snare2='snare-opaque-normal-mic-rimshot', rim='stick-rim', hat='hihat-closed', open='hihat-open', pedal='hihat-semi', tom1='tom-hi', tom2='tom-mid', tom3='tom-low', crash='crash20i__crash', crash2='crash16i__crash', ride='crash20i__ride4').items()})
SETS = dict(  # lists of one-shot file names
    pi=dict(kick=('drum_bass_soft', 'drum_bass_hard'), snare=('drum_snare_soft', 'drum_snare_hard'), hat=('drum_cymbal_closed',), open=('drum_cymbal_open',), pedal=('drum_cymbal_pedal',), tom1=('drum_tom_hi_soft', 'drum_tom_hi_hard'), tom2=('drum_tom_mid_soft', 'drum_tom_mid_hard'), tom3=('drum_tom_lo_soft', 'drum_tom_lo_hard'), crash=('drum_cymbal_hard',), crash2=('drum_splash_hard',), ride=('drum_cymbal_soft',)),
    haus=dict(kick=('bd_haus',), snare=('sn_dub',), hat=('drum_cymbal_pedal',), open=('elec_cymbal',), tom1=('drum_tom_lo_soft',), crash=('elec_cymbal',), rim=('elec_pop',)),
    tek=dict(kick=('bd_tek',), snare=('elec_snare',), hat=('drum_cymbal_closed',), open=('drum_cymbal_open',), tom1=('drum_tom_hi_hard',), crash=('drum_splash_soft',), rim=('elec_wood',)),
    zome=dict(kick=('bd_zome',), snare=('sn_zome',), hat=('drum_cymbal_pedal',), open=('elec_cymbal',), tom1=('drum_tom_lo_soft',), crash=('drum_cymbal_soft',), rim=('elec_tick',)),
    klub=dict(kick=('bd_klub',), snare=('sn_dolf',), hat=('drum_cymbal_closed',), open=('drum_cymbal_open',), tom1=('drum_tom_hi_soft',), rim=('elec_plip',), crash=('drum_cymbal_hard',)),
    fat=dict(kick=('bd_fat',), snare=('sn_generic',), hat=('drum_cymbal_closed',), open=('drum_cymbal_open',), rim=('perc_snap',), crash=('drum_splash_hard',)),
    dist=dict(kick=('bd_gas',), snare=('elec_filt_snare',), open=('elec_cymbal',), rim=('elec_wood',), tom1=('drum_tom_lo_soft',)),
    boom=dict(kick=('bd_boom',), snare=('elec_hi_snare',), hat=('drum_cymbal_closed',), open=('elec_cymbal',), rim=('elec_wood',)))
HANDS = dict(  # hand percussion by one-shots
    bongos=[_five('Gimme A Hand 1.0', 'BongoHi'), _five('Gimme A Hand 1.0', 'BongoLo')], cajon=[_five('Gimme A Hand 1.0', 'CajonSlaps'), _five('Gimme A Hand 1.0', 'CajonThumps')], clave=[_five('Gimme A Hand 1.0', 'Clave')], cowbell=[_five('Gimme A Hand 1.0', 'Cowbell')],
    snaps=[_five('Gimme A Hand 1.0', 'Fingersnap')], claps=[_five('Gimme A Hand 1.0', 'HandClap')], maracas=[_five('Gimme A Hand 1.0', 'Maraca')], tambourine=[_five('Gimme A Hand 1.0', 'Tambourine')], woodblock=[_five('Gimme A Hand 1.0', 'WoodBlock')], glasses=[_five('Gimme A Hand 1.0', 'WaterglassHi'), _five('Gimme A Hand 1.0', 'WaterglassLo')],
    djembe=[[KITS + 'circAfrique v4/Djembe%d %s.wav' % (i, h)] for i in (1, 3) for h in ('Bass', 'Tone', 'Slap')], dunun=[[KITS + 'circAfrique v4/Dununba1 %s.wav' % h] for h in ('Head Hit', 'Bell', 'Head Mute')], sangban=[[KITS + 'circAfrique v4/Sangban1 %s.wav' % h] for h in ('Head Hit', 'Bell Hit', 'Head Mute')],
    agogo=[('ForzeeStereo', 'AgogoHigh', '-', 'wav'), ('ForzeeStereo', 'AgogoLow', '-', 'wav')], tambourine2=[('ForzeeStereo', 'Tambourine', '-', 'wav')], tambfoot=[('ForzeeStereo', 'TambourineFoot', '-', 'wav')],
    tabla=[_one('tabla_na'), _one('tabla_ghe3'), _one('tabla_te1'), _one('tabla_tun1'), _one('tabla_ke1')], snap2=[_one('perc_snap', 'perc_snap2')], triangle=[_one('elec_triangle')], clap3=[('Millo_MultiLayered2', 'clap', '_', 'flac')], cowbell2=[('BJA_Pacific', 'CB', '_', 'aiff')], bell=[_one('perc_bell2')], wood=[_one('elec_wood')])
GMPERC = dict(congas=(63, 64, 62), bongos=(60, 61), timbales=(65, 66), agogo=(67, 68), cabasa=(69,), maracas=(70,), guiro=(73, 74), clave=(75,), woodblock=(76, 77), cuica=(78, 79), triangle=(81, 80), shaker=(82,), sleigh=(83,), cowbell=(56,), tambourine=(54,), vibraslap=(58,), castanets=(85,), surdo=(86, 87), claps=(39,))
GMDRUM = dict(kick=36, snare=38, snare2=40, rim=37, hat=42, open=46, pedal=44, tom1=50, tom2=47, tom3=43, crash=49, crash2=57, ride=51, bell=53)


def layers(kit, piece):
    """File names of a piece, soft to hard, or [] when the kit has none."""
    if kit in SETS: return _one(*SETS[kit].get(piece, ()))
    q = SAMPLED[kit].get(piece)
    return [] if q is None else _five('The Black Pearl 1.0', q) if isinstance(q, str) else _num(*q)


def hits(lay, ev, fs, n, key='', tune=0.0):
    """Mono track of one-shots at (time, velocity); level and layer follow the velocity."""
    y = np.zeros(n); r = rng('hits', key)
    if lay and isinstance(lay, tuple): lay = _num(*lay)
    for t, v in ev:
        i = int(np.clip(round((v / 127) * (len(lay) - 1) + r.normal(0, .4)), 0, len(lay) - 1)); x = load(lay[i], fs); c = 2 ** ((tune + r.normal(0, .06)) / 12)
        q = np.arange(int(len(x) / c) - 1) * c; x = np.interp(q, np.arange(len(x)), x)
        if v < 75: x = highcut(x, fs, 2500 * 2 ** (v / 25), 1)
        add(y, x * (v / 110) ** 1.6, int(t * fs))
    return y


_CH = {f: re.sub(r'_.*', '', os.path.basename(f)) for f in files(KITS + 'belofilms_GuitarStrums/*.flac')}
_PC = {n: i for i, names in enumerate((['C'], ['Csharp'], ['D'], ['Dsharp'], ['E'], ['F'], ['Fsharp'], ['G'], ['Gsharp'], ['A'], ['Asharp', 'Bflat'], ['B'])) for n in names}


def strummed(song, grid, fs, n, bars=None, key=''):
    """Recorded acoustic-guitar strums, by chord and direction; chords that are missing are made from a neighbour by resampling."""
    y = np.zeros(n); r = rng('strum', song.seed, key); have = {}
    for f, c in _CH.items():
        m = re.match(r'([A-G](?:sharp|flat)?) ?(major|minor)$', c)
        if m: have.setdefault((_PC[m.group(1)], m.group(2)), []).append(f)
    for b, t, d, v, c in song.hits(grid, bars, key):
        root, q = song.chords[b]; kind = 'minor' if q in ('min', 'min7', 'dim') else 'major'
        for st in (0, 1, -1, 2, -2):
            if ((root - st) % 12, kind) in have: break
        step = int(round(((t % song.bar) / song.beat) * 4)); up = step % 4 >= 2
        fl = [f for f in have[(root - st) % 12, kind] if ('_UP' in f) == up and ('_DOWN' in f) == (not up)] or have[(root - st) % 12, kind]
        x = load(fl[int(r.integers(len(fl)))], fs); w = 2 ** (st / 12); x = np.interp(np.arange(int(len(x) / w) - 1) * w, np.arange(len(x)), x)
        L = min(len(x), int((.07 if c == 'x' else d + .06) * fs)); x = x[:L].copy(); k = min(L, int(.05 * fs)); x[-k:] *= np.linspace(1, 0, k); add(y, x * (v / 110) ** 1.4, int(t * fs))
    return y
