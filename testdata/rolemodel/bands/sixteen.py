"""Sixteen parametric training sessions t01..t16: one builder, a genre template and seeded draws per session."""
import numpy as np
from dsp import *
import sound, voice, tune
from sound import Kit, Note, synth, AT
from tune import Song, human, clip
from session import Session

# ------------------------------------------------------------------ wider material for the toolkit
sound.SAMPLED.update(
    black=('The Black Pearl 1.0', dict(kick='PearlKick-Hard', snare='PearlSnare-Hard', snare2='PearlSnareRimshot-Hard', rim='PearlSideStick-Hard', hhc='SabianHatClosed-Hard', hho='SabianHatSemiOpen-Hard', hhp='SabianHatPedal-Hard', tomh='PearlTom1-Hard', tomm='PearlTom2-Hard', toml='PearlTomFloor-Hard', crash='SabianCrash-Hard', crash2='ZildjianSplash-Hard', ride='PaisteRide-Hard', bell='PaisteBell-Hard', cowbell='Cowbell-Hard', clap='HandClap')),
    forzee=('ForzeeStereo', dict(kick='Kick-3', snare='Snare-3', snare2='SnareRim-3', rim='RimClick-3', hhc='HiHatClosed-3', hho='HiHatOpen-3', hhp='HiHatFoot-3', tomh='TomHigh-3', tomm='TomMid-3', toml='TomLow-3', crash='Crash18-3', crash2='China-3', ride='RideBow-3', bell='RideBell-3', agoh='AgogoHigh-3', agol='AgogoLow-3', tambourine='Tambourine-3')),
    colombo=('ColomboAcousticDrumkit', dict(kick='bassdrum-4mics-br-stereo-normal3', snare='snare-opaque-normal-mic-normal_shot2', rim='stick-rim-9', hhc='hihat-closed-4', hho='hihat-open-4', hhp='hihat-closed-1', tomh='tom-hi-1', tomm='tom-mid-1', toml='tom-low-1', crash='crash20i__crash', crash2='crash16i__crash1', ride='crash20i__ride4', bell='crash20i__ride-cup1')),
    pacific=('BJA_Pacific', dict(kick='BD_07', snare='SN_07', snare2='SN4_07', rim='SN4_03', hhc='HH_06', hho='HH2_06', hhp='HH3_02', tomh='TM_06', tomm='TM_05', toml='TM2_06', crash='CB_03', crash2='CB2_03', ride='RD_05', bell='BL_04')),
    multi=('Millo_MultiLayered3', dict(kick='bd_03', snare='sd_05', rim='rs_02', hhc='hh_03', hho='ho_02', hhp='hh_p', tomh='t1_02', tomm='t2_02', toml='ft_02', crash='cc_02', crash2='cc_03', ride='rc_02', bell='rc_03', cowbell='mc_cb')),
    multi2=('Millo_MultiLayered2', dict(kick='bd_04', snare='jsnare_04', snare2='rsnare_04', rim='rim_03', hhc='hhclosed_04', hho='hhopen_02', hhp='hhpedal_01', tomh='tom_03', tomm='tom_02', toml='floortom_03', crash='crash_04', crash2='crash_05', ride='ride_04', bell='ride_05', clap='clap_03')),
    empire=('ElectricEmpireKit', {**sound.SAMPLED['empire'][1], **{'kick%d' % (3 + i): 'EE_Kick_' + k for i, k in enumerate(('Dist', 'Hard_1', 'Lite_1', 'Old', 'Power', 'Ring', 'Stomp'))}, 'snare3': 'EE_Snare_1', 'snare4': 'EE_Snare_Low', 'snare5': 'EE_Snare_2', 'hhc2': 'EE_Hat_Ring_1', 'hhc3': 'EE_Hat_Low', 'hhc4': 'EE_Hat_Cl_Bs', 'hho2': 'EE_Hat_Op_Phaser', 'clap2': 'EE_Clap_Hard', 'toml': 'EE_Drum_2', 'tomh': 'EE_Drum_1'}),
    house=('HardElectro1', {**sound.SAMPLED['house'][1], 'kick2': 'HardHse_K_02', 'kick3': 'HardHse_K_03_B', 'clap2': 'Amp_Clap_1', 'hhc2': 'Hard_CHH_01', 'hhc3': 'FX_Chh_01', 'hhc4': 'PowR_HH_1', 'hho2': 'PowR_HH_2'}),
    junk=('rumpf_kit_z01_h2', {**sound.SAMPLED['junk'][1], 'kick2': 'beats_06-38', 'kick3': 'beats_07-18', 'kick4': 'beats_07-20', 'snare2': 'beats_06-25', 'hho': 'beats_08-31', 'tomh': 'beats_08-19', 'tomm': 'beats_08-18', 'toml': 'beats_08-17', 'crash': 'beats_06-43', 'ride': 'beats_06-40'}),
    dusty=('VariBreaks', {**sound.SAMPLED['dusty'][1], 'kick2': 'VP Kick 1', 'kick3': 'VP Kick 3', 'snare2': 'VP Snare 2', 'snare3': 'VP Snare 3', 'hhc2': 'VP Hat 1 Cl', 'hhc3': 'VP Hat 3 Cl'}),
    noise=('Audiophob', dict(kick='86335__zgump__tom-0105', snare='25671__walter-odington__garage-city-snare-snappy', snare2='124382__cubix__8bit-snare', clap='29800__stomachache__3', hhc='116973__cbeeching__hat-light', hho='104227__minorr__hhat-paiste-302-14-open-p', toml='99930__menegass__noise-tom0', tomm='99931__menegass__noise-tom1', tomh='101450__menegass__tomh', crash='124101__connersaw8__crash')),
    hand=('Gimme A Hand 1.0', {k.lower(): k + '-Hard' for k in ('BongoHi', 'BongoLo', 'CajonSlaps', 'CajonThumps', 'Clave', 'Cowbell', 'Fingersnap', 'HandClap', 'Maraca', 'Tambourine', 'WaterglassHi', 'WaterglassLo', 'WoodBlock')}),
    djembe=('circAfrique v4', {'d%d%s' % (i, p[0].lower()): 'Djembe%d %s' % (i, p) for i in range(1, 6) for p in ('Bass', 'Slap', 'Tone')} | {'bell': 'Dununba1 Bell', 'dun': 'Dununba1 Head Hit', 'ken': 'Kenkeni1 Head Hit', 'san': 'Sangban1 Head Hit', 'kbell': 'Kenkeni1 Bell Hit'}))

_midi = sound.midi
def midi(notes, prog, path, channel=0, cc=()):
    """As the original, but a controller 0 (bank) goes before the programme."""
    bank = [c for c in cc if c[0] == 0]
    if not bank: return _midi(notes, prog, path, channel, cc)
    _midi(notes, prog, path, channel, [c for c in cc if c[0]]); f = sound.mido.MidiFile(path); f.tracks[0].insert(0, sound.mido.Message('control_change', channel=channel, control=0, value=bank[0][1])); f.save(path)
sound.midi = midi

PAT = {0, 1, 2, 4, 5, 6, 7, 8, 9, 13, 14, 15, 16, 19, 21, 23, 24, 25, 26, 27, 28, 29, 30, 32, 33, 34, 35, 36, 37, 38, 40, 42, 44, 45, 46, 47, 48, 56, 57, 58, 59, 60, 61, 64, 65, 66, 67, 68, 69, 70, 71, 72, 73, 74, 75, 76, 79, 80, 84, 88, 94, 95, 98, 101, 102, 104, 114}
# class: role, General MIDI programmes, (gmb bank, programme) extras, lowest note of chords, (low, high) of tunes, banks left out
CLS = dict(
    piano=('piano', (0, 1, 2, 3), ((127, 0), (127, 1), (127, 7)), 50, (48, 84)), ep=('piano', (4, 5), ((8, 4), (8, 5), (127, 3), (127, 5)), 52, (52, 79)), clav=('piano', (7, 6), ((8, 6), (127, 19), (127, 20), (127, 16)), 50, (48, 72)),
    organ=('organ', (16, 17, 18), ((8, 16), (8, 17), (127, 8), (127, 10)), 52, (55, 79)), church=('organ', (19, 20), ((8, 19), (127, 12), (127, 14)), 48, (55, 76)), squeeze=('organ', (21, 23), ((8, 21), (127, 15)), 55, (60, 82)),
    mallet=('piano', (11, 12, 13), ((127, 97), (127, 103), (127, 104)), 60, (60, 88)), bells=('piano', (8, 9, 10, 14), ((127, 22), (127, 101), (127, 102)), 72, (72, 93)), pan=('piano', (114,), (), 60, (62, 86)), kalimba=('piano', (108,), (), 60, (62, 84)),
    harmonica=('horns', (22,), ((127, 87),), 62, (62, 86)), violin=('strings', (40, 110), ((8, 40), (127, 52)), 62, (60, 88)), viola=('strings', (41,), (), 55, (53, 74)), cello=('strings', (42,), ((127, 54),), 43, (40, 62)), contrabass=('strings', (43,), ((127, 56),), 33, (30, 48)),
    section=('strings', (48, 49, 44), ((8, 48), (127, 48), (127, 49)), 55, (55, 84)), pizz=('strings', (45,), ((127, 51),), 55, (48, 82)), harp=('strings', (46,), ((127, 57),), 48, (48, 88)),
    trumpet=('horns', (56,), ((127, 88),), 60, (58, 80)), mute=('horns', (59,), (), 60, (60, 82)), trombone=('horns', (57,), ((127, 90),), 48, (44, 66)), tuba=('horns', (58,), ((127, 94),), 36, (32, 50)), horn=('horns', (60,), ((127, 92),), 48, (46, 70)), brass=('horns', (61,), ((8, 61), (127, 95), (127, 96)), 55, (53, 77)),
    sop=('horns', (64,), (), 58, (60, 84)), alto=('horns', (65,), ((127, 78),), 55, (55, 79)), tenor=('horns', (66,), ((127, 80),), 50, (48, 72)), bari=('horns', (67,), (), 43, (38, 60)), oboe=('horns', (68, 69), ((127, 84),), 60, (58, 81)), bassoon=('horns', (70,), ((127, 86),), 40, (36, 60)), clarinet=('horns', (71,), ((127, 82),), 52, (52, 80)),
    flute=('horns', (73, 72, 74), ((127, 72), (127, 74)), 65, (64, 91)), pipe=('horns', (75, 76, 77, 78, 79), ((127, 77), (127, 108)), 65, (65, 88)), drone=('horns', (109, 111), (), 60, (60, 79)),
    sylead=('synth', (80, 81, 82, 83, 84, 87), ((8, 80), (127, 47), (127, 44)), 60, (60, 86)), sypad=('synth', (88, 89, 90, 91, 92, 93, 94, 95, 97, 50, 51), ((127, 32), (127, 36)), 50, (55, 79)), sybrass=('synth', (62, 63), ((8, 62), (8, 63), (127, 24)), 53, (55, 76)), sybell=('synth', (96, 98, 99, 100, 102, 103), ((127, 38), (127, 41), (127, 126)), 62, (64, 90)), syvox=('synth', (54, 85), ((127, 39),), 57, (58, 79)),
    gmnylon=('acoustic guitar', (24,), ((127, 59),), 45, (48, 76)), gmsteel=('acoustic guitar', (25,), ((8, 25), (127, 60)), 45, (48, 76)), mandolin=('acoustic guitar', (), ((16, 25), (8, 24)), 57, (57, 84)), banjo=('acoustic guitar', (105,), (), 52, (52, 79)), sitar=('acoustic guitar', (104,), ((127, 63),), 48, (50, 74)), koto=('acoustic guitar', (107, 106, 15), ((8, 107), (127, 105)), 55, (55, 81)),
    gmclean=('electric guitar', (27, 26), ((8, 26), (8, 27), (127, 61)), 48, (50, 79)), gmmute=('electric guitar', (28,), ((8, 28),), 45, (45, 67)), gmdrive=('electric guitar', (29, 30), ((8, 30),), 40, (50, 79)))
BASSGM = dict(upright=((32,), ((127, 64),)), finger=((33,), ((127, 66),)), pick=((34,), ()), fretless=((35,), ((127, 70),)), slap=((36, 37), ((127, 68), (127, 69))), syn=((38, 39), ((8, 38), (8, 39), (127, 28), (127, 29))))


def combos(cls):
    """All (bank, bank select, programme) of a class, shuffled once for all sessions."""
    gm_, ex = (CLS[cls][1], CLS[cls][2]) if cls in CLS else BASSGM[cls]; c = [(b, 0, p) for p in gm_ for b in ('tim', 'gmb', 'opl', 'pat') if b != 'pat' or p in PAT] + [('gmb', b, p) for b, p in ex]
    if cls in ('violin', 'viola', 'cello', 'sitar', 'harmonica') and len(c) > 3: c = [q for q in c if q[0] != 'opl'] + [q for q in c if q[0] == 'opl']
    return [c[i] for i in rng('combos', cls).permutation(len(c))]


GRIDS = ['9...8...9...8...', '9..7..8.....7...', '9.......7.......', '..9...8...9...8.', '9.7.8.7.9.7.8.7.', '9.....7...8.....', '....9.......8...', '9...............', '9..9..9..9..8.7.', '9.77..7.9..7..8.', '.7.8.7.8.7.8.7.8', '9..8..7.9..8..7.']
PICKS = ['0123012301230123', '0.2.1.3.0.2.4.3.', '02132132', '0.3.2.1.', '3...2...4...3...', '0..3..2.0..4..2.', '01234543', '0.1.2.3.4.3.2.1.']
PROG = [('C', 'major', 'C G Am F'), ('D', 'major', 'D A Bm G'), ('G', 'major', 'G D Em C'), ('A', 'major', 'A E F#m D'), ('E', 'major', 'E B C#m A'), ('F', 'major', 'F C Dm Bb'), ('A', 'minor', 'Am F C G'), ('E', 'minor', 'Em C G D'), ('D', 'minor', 'Dm Bb F C'), ('B', 'minor', 'Bm G D A'), ('C', 'minor', 'Cm Ab Eb Bb'), ('G', 'minor', 'Gm Eb Bb F')]
WORDS = 'river stone morning window paper silver winter walking nobody under water broken candle garden open yellow thunder market corner sailing winding engine button kettle lantern bridge mirror pocket feather signal cotton hollow orange summer leaving running calling burning turning'.split()
VOICES = ['en-us', 'en-us+m3', 'en-us+m7', 'en-gb', 'en-gb+f2', 'en-us+f3', 'en-gb-scotland', 'en-029', 'en-us+f5', 'en-us+m1', 'en-gb+f4', 'en-us+Andrea', 'en-us+max', 'en-us+linda', 'en-gb+john', 'en-us+grandpa', 'en-us-nyc', 'es+f2', 'pt-br+m2', 'fr+f4', 'it+m4']


def edrum(kind, fs, r):
    """A synthetic drum-machine sound with drawn settings."""
    L = int(dict(kick=r.uniform(.25, .9), snare=.3, clap=.4, hhc=.09, hho=.5, tom=.5, cowbell=.35, rim=.06, shaker=.1, conga=.25)[kind] * fs); a = np.arange(L) / fs; nz = r.standard_normal(L)
    if kind == 'kick': f = r.uniform(42, 58) * (1 + r.uniform(2, 9) * np.exp(-a / r.uniform(.008, .03))); y = np.tanh(r.uniform(1, 5) * np.sin(2 * np.pi * np.cumsum(f) / fs)) * np.exp(-a / r.uniform(.08, .3)) + r.uniform(0, .4) * hp(nz, fs, 2500) * np.exp(-a / .003)
    elif kind == 'snare': y = np.sin(2 * np.pi * r.uniform(160, 240) * a * (1 + .1 * np.exp(-a / .01))) * np.exp(-a / r.uniform(.03, .08)) * r.uniform(.4, 1) + bp(nz, fs, r.uniform(700, 1800), r.uniform(7000, 14000)) * np.exp(-a / r.uniform(.04, .12)) * r.uniform(.7, 1.4)
    elif kind == 'clap':
        b = bp(nz, fs, r.uniform(700, 1000), r.uniform(2000, 4500)); e = np.exp(-a / r.uniform(.05, .12)) * (a > .03)
        for t0 in (0, .011, .021, .03): e = e + np.where(a >= t0, np.exp(-(a - t0) / .005), 0)
        y = b * e
    elif kind in ('hhc', 'hho'): f0 = r.uniform(250, 480); y = hp(sum(np.sign(np.sin(2 * np.pi * f0 * q * a + r.uniform(0, 6))) for q in (1, 1.34, 1.53, 1.81, 2.22, 2.73)) * r.uniform(.1, .5) + nz * r.uniform(.1, 1), fs, r.uniform(5500, 8500), 3) * np.exp(-a / (r.uniform(.012, .035) if kind == 'hhc' else r.uniform(.12, .3)))
    elif kind == 'tom': f = r.uniform(75, 190) * (1 + .8 * np.exp(-a / .04)); y = np.sin(2 * np.pi * np.cumsum(f) / fs) * np.exp(-a / r.uniform(.1, .22)) + .05 * nz * np.exp(-a / .02)
    elif kind == 'conga': f = r.uniform(190, 340) * (1 + .1 * np.exp(-a / .01)); y = np.sin(2 * np.pi * np.cumsum(f) / fs) * np.exp(-a / r.uniform(.05, .12))
    elif kind == 'cowbell': f = r.uniform(480, 600); y = bp(np.sign(np.sin(2 * np.pi * f * a)) + np.sign(np.sin(2 * np.pi * f * 1.48 * a)), fs, 500, 4000) * (np.exp(-a / .02) + .4 * np.exp(-a / .12))
    elif kind == 'rim': f = r.uniform(1500, 1900); y = (np.sin(2 * np.pi * f * a) + np.sin(2 * np.pi * f * .31 * a)) * np.exp(-a / .008) + .2 * nz * np.exp(-a / .003)
    else: y = hp(nz, fs, r.uniform(4000, 7000)) * np.minimum(1, a / .015) * np.exp(-np.maximum(0, a - .015) / r.uniform(.012, .03))
    return unit(y)


def gate(x, fs, below=26):
    e = np.abs(x) if x.ndim == 1 else np.abs(x).max(1); k = int(.01 * fs); m = np.convolve(e, np.ones(k) / k, 'same') if False else lp(e, fs, 25, 1); g = np.clip((20 * np.log10(np.maximum(m, 1e-9)) - (20 * np.log10(m.max()) - below)) / 8 + 1, .02, 1); return x * (g if x.ndim == 1 else g[:, None])


def vocode(mod, car, fs, bands=18):
    """Band vocoder: the envelope of the voice on the carrier."""
    f = np.geomspace(110, 9000, bands + 1); y = np.zeros(len(mod)); m, c = tilt(mod, fs, 1500, 0, 8), car + .02 * rms(car) * rng('voc').standard_normal(len(car))
    for a, b in zip(f, f[1:]): y += bp(c, fs, a, b, 2) * np.maximum(0, lp(np.abs(bp(m, fs, a, b, 2)), fs, 28, 1))
    return unit(y)


class B:
    """The builder: methods add tracks; every choice comes from the session's generator."""
    def __init__(b, i, genre, tempo, beats=4, swing=0.0, prog=None, mode=None, color=None):
        r = b.r = rng('train', i, genre); name = 't%02d' % i; b.i = i; k, md, ch = prog or PROG[int(r.integers(len(PROG)))]; alt = PROG_ALT(ch, r); bars = max(8, int(round(27 / (beats * 60 / tempo) / 4)) * 4); cyc = (ch.split() + alt) * 8
        if color: cyc = [c + color if c.lstrip('ABCDEFG#b') == '' and color not in ('m7',) else c + '7' if c.endswith('m') and color in ('7', '9', 'M7') else c for c in cyc]
        fs = int(r.choice([44100, 48000])); b.g = Song(name + genre, tempo, ' '.join(cyc[:bars]), beats=beats, swing=swing, key=k, mode=mode or md); b.s = Session(name, fs, b.g, 'print' if r.random() < .5 else 'mix', 'training: ' + genre, str(r.choice(['PCM_24', 'PCM_16', 'FLOAT'], p=[.6, .2, .2])))
        b.fs, b.n, b.bars = fs, b.s.n, bars; b.used, b.by, b.ctr, b.beats = set(), {}, {}, beats; b.room_t, b.hiss = r.uniform(.25, 1.6), r.random() < .6
        h = bars // 2; b.secs = [range(h, bars), range(h // 2, h + h // 2), range(0, h), range(bars - bars // 3, bars), [x for x in range(bars) if x % 4 in (2, 3)]]; b.people = []
        for j in range(9):
            kind = 'man' if j % 2 else 'woman' if j % 4 else str(r.choice(['woman', 'child'])); w = '%s_%d' % (name, j); voice.SINGERS[w] = (kind, r.uniform(.87, 1.13), r.uniform(.2, .9), r.uniform(.03, .45), r.uniform(0, .5), r.uniform(4.6, 6.6), r.uniform(0, .9)); b.people.append(w)
        b.men, b.women = [w for w in b.people if voice.SINGERS[w][0] == 'man'], [w for w in b.people if voice.SINGERS[w][0] != 'man']

    # ---- small things
    def u(b, lo, hi): return float(b.r.uniform(lo, hi))
    def p(b, x): return b.r.random() < x
    def one(b, *a): return a[int(b.r.integers(len(a)))]
    def G(b, grid): return '|'.join((q * 2)[:b.beats * (4 if len(q) > 8 else 2)] for q in grid.split('|'))
    def sec(b, p=.4): return (list(b.secs[int(b.r.integers(len(b.secs)))]), True) if b.p(p) else (None, False)
    def key(b, w): b.ctr[w] = b.ctr.get(w, 0) + 1; return '%s%d' % (w, b.ctr[w])

    def A(b, name, x, role, src=(), kind='dry', fam=None, only=False, proc=True, **fl):
        nm, j = name, 2
        while nm in b.used: nm = '%s %d' % (name, j); j += 1
        b.used.add(nm); x = np.nan_to_num(np.asarray(x, float))
        if proc and kind == 'dry': x = b.proc(x, role)
        if only: fl['section_only'] = True
        if b.hiss and role != 'silent': fl['noise'] = b.u(-84, -68)
        b.s.add(nm, x, role, src, kind, fam, **fl); b.by.setdefault(role if kind == 'dry' else kind, []).append(nm); return nm

    def split(b, name, x, role, only=False, **k):
        x = b.proc(wide(x), role); fl = dict(noise=b.u(-84, -68)) if b.hiss else {}
        if only: fl['section_only'] = True
        j, nm = 2, name
        while nm + ' L' in b.used: nm = '%s %d' % (name, j); j += 1
        b.used |= {nm + ' L', nm + ' R'}; b.s.split(nm + ' L', nm + ' R', x, role, **fl); b.by.setdefault(role, []).extend([nm + ' L', nm + ' R'])

    def proc(b, x, role):
        """Print-time processing: equaliser, dynamics, saturation, room or plate, telephone."""
        fs, r = b.fs, b.r; low = role in ('kick', 'bass'); top = role in ('hat', 'cymbal', 'overhead')
        if b.p(.55): x = tilt(x, fs, r.uniform(400, 2500), r.uniform(-4, 4), r.uniform(-5, 5))
        if b.p(.4): x = bell(x, fs, np.exp(r.uniform(np.log(120), np.log(7000))), r.uniform(-7, 6), r.uniform(.6, 2))
        if b.p(.35) and not low: x = hp(x, fs, r.uniform(40, 250 if role not in ('tom', 'drums', 'room') else 80))
        if b.p(.25) and not top: x = lp(x, fs, r.uniform(4500, 15000), 1)
        if b.p(.3): x = squeeze(x, fs, r.uniform(6, 22), r.uniform(2, 8), r.uniform(1, 25), r.uniform(60, 300))
        if b.p(.2): d = r.uniform(1.2, 5); x = np.tanh(d * unit(x))
        if b.p(.16) and not low:
            w = space(x, fs, r.uniform(.5, 2.4), r.uniform(3500, 9000), r.uniform(3, 35), 'print%d' % r.integers(4)) * r.uniform(.06, .3); x = x + (w[:, 0] if x.ndim == 1 else w)
        if b.p(.05) and role in ('lead vocal', 'backing vocal', 'piano', 'drums', 'electric guitar', 'synth', 'horns', 'strings'): x = np.tanh(r.uniform(2, 6) * unit(bp(x, fs, 320, 3300, 2)))
        return unit(x)

    # ---- notes for pitched parts
    def notes(b, lo, rng_, style, bars, key):
        g, r = b.g, b.r; gr = b.G(GRIDS[int(r.integers(len(GRIDS)))]); sz = int(r.integers(2, 5))
        if style == 'hold': q = g.hold(lo, sz, bars)
        elif style == 'comp': q = g.comp(gr, lo, sz, bars, key)
        elif style == 'stab': q = g.comp(gr, lo, sz, bars, key, length=r.uniform(.08, .25))
        elif style == 'pick': q = g.pick(PICKS[int(r.integers(len(PICKS)))], lo, bars, key, ring=r.uniform(.9, 2.5))
        elif style == 'tune': q = g.melody(key, rng_[0] + 3, rng_[1] - 3, bars, r.uniform(.6, 1.6), r.uniform(.05, .3))
        elif style == 'fills': q = [n for n in g.melody(key, rng_[0] + 3, rng_[1] - 2, bars, r.uniform(1, 1.7), .1) if int(n.t / g.bar) % 4 in (1, 3)] or g.melody(key, *rng_, bars)
        elif style == 'line': q = g.line(gr, sum(rng_) // 2 + int(r.integers(-4, 5)), bars, key)
        elif style == 'stabline': q = g.line(gr, sum(rng_) // 2, bars, key, r.uniform(.1, .3))
        elif style == 'long': q = g.line(b.G('9.......7.......') if b.p(.5) else '9', sum(rng_) // 2, bars, key)
        elif style == 'two': q = g.bass(b.G('8.......7.......'), lo - 14, bars, key) + g.comp(gr, lo, 3, bars, key)
        return human(q, b.s.name + key, r.uniform(.003, .015), r.uniform(3, 9))

    def combo(b, cls, k=0):
        c = combos(cls); return c[(b.i * 3 + b.ctr.setdefault('combo' + cls, 0) + k) % len(c)]

    def gmx(b, cls, notes, stereo, expr=True):
        for k in range(6):
            bank, sel, prog = b.combo(cls, k); cc = ([(0, sel)] if sel else []) + ([(1, int(b.u(0, 70)))] if expr and b.p(.5) else [])
            try: x = b.s.gm(bank, prog, notes, stereo, cc=cc)
            except RuntimeError: continue
            if np.isfinite(x).all() and rms(x) > 1e-5 and rms(x) > .002 * peak(x): b.ctr['combo' + cls] += k + 1; return x
        raise RuntimeError('no sound for ' + cls)

    STY = dict(piano='comp two pick stab hold two', ep='comp stab pick hold', clav='stab comp stab', organ='hold comp stab hold tune', church='hold comp tune', squeeze='tune comp stab hold', mallet='pick tune comp line', bells='pick tune line', pan='tune pick comp', kalimba='pick tune', harmonica='tune fills', section='hold long line tune', pizz='pick stabline comp', harp='pick pick comp', gmdrive='comp tune hold', gmmute='pick stabline', gmclean='comp pick tune stab', banjo='pick pick tune', sitar='tune pick', koto='pick tune', mandolin='comp pick tune', gmnylon='pick comp tune', gmsteel='comp pick', sypad='hold', sylead='tune line fills', sybrass='stab comp hold', sybell='pick tune hold', syvox='long hold tune', drone='tune long', brass='stab comp hold stabline')

    def inst(b, cls, name=None, style=None, only=None, stereo=None, amp=None):
        role, _, _, lo, rg = CLS[cls]; st = style or b.one(*B.STY.get(cls, 'tune line fills long stabline').split()); bars, o = b.sec(.4) if only is None else (list(b.secs[0]), True) if only else (None, False); key = b.key(cls); q = b.notes(lo, rg, st, bars, key)
        ste = stereo if stereo is not None else (b.p(.6) if role in ('piano', 'synth', 'organ') or cls in ('section', 'harp', 'brass') else b.p(.12)); x = b.gmx(cls, q, ste); fs = b.fs
        if cls == 'organ' and b.p(.65): x = rotary(x, fs, b.one(1.1, 5.8, 6.6)); x = x if ste or b.p(.4) else mono(x)
        if cls == 'organ' and b.p(.3): x = np.tanh(b.u(1, 4) * unit(x))
        if cls == 'ep' and b.p(.6): x = b.one(lambda: trem(x, fs, b.u(3, 7), b.u(.3, .8)), lambda: sweep(x, fs), lambda: b.s.amp(x, b.u(2, 12), 'open', key))()
        if cls == 'clav' and b.p(.6): x = b.one(lambda: wah(mono(x), fs, b.g.tempo / 120 * b.one(1, 2, 4)), lambda: b.s.amp(x, b.u(3, 9), 'small', key))()
        if cls in ('gmclean', 'gmmute', 'gmdrive'): x = b.s.amp(sound.pickup(mono(x), fs), b.u(2, 8) if cls != 'gmdrive' else b.u(8, 24), b.one('open', 'small', 'closed'), key)
        if cls == 'harmonica' and b.p(.5): x = b.s.amp(x, b.u(3, 10), 'small', key)
        if cls in ('sypad', 'sylead') and b.p(.3): x = sweep(x, fs)
        if role in ('strings', 'horns') and x.ndim == 1 and b.p(.8): x = near(x, fs, b.u(.05, .4), b.u(.3, 1.4), 'st%d' % b.r.integers(3))
        if role in ('strings', 'horns') and x.ndim == 2 and b.p(.7): x = near(x, fs, b.u(.05, .4), b.u(.5, 1.8), 'hall')
        if cls == 'piano' and x.ndim == 2 and b.p(.35): b.split(name or 'Piano', x, role, o); return
        return b.A(name or cls.capitalize(), x, role, only=o)

    # ---- drums
    def mic(b, K, at, target, off): return K.mic(at, target, off)
    def drums(b, kit, full=2, **gr):
        """Acoustic kit through microphones; full 1 small, 2 usual, 3 large."""
        g, fs, r = b.g, b.fs, b.r; fill = gr.pop('fill', b.beats == 4); ev = g.drums(fill=fill, **{k: (b.G(v) if isinstance(v, str) else (b.G(v[0]), v[1])) for k, v in gr.items()}); have = set(sound.SAMPLED[kit][1]) if kit in sound.SAMPLED else set(sound.GMK)
        if kit == 'pat:0': have -= {'x'}
        ev = {k: v for k, v in ev.items() if k in have and v}
        try: K = Kit(kit, ev, fs, b.n, b.s.name)
        except RuntimeError: K = Kit('tim:0', ev, fs, b.n, b.s.name)
        b.K = K; dead = b.p(.4); off = b.u(-16, -3); ga = (lambda x: gate(x, fs, b.u(18, 30))) if b.p(.35) else (lambda x: x)
        def close(what, *ps):
            at = np.add(AT[ps[0]], (r.normal(0, .03), r.normal(0, .03), b.u(.04, .14))); return b.mic(K, at, ps, off)
        if 'kick' in K.x:
            b.A('Kick In', ga(bell(bell(close('k', 'kick'), fs, b.u(50, 75), b.u(0, 6)), fs, b.u(300, 500), -b.u(0, 9))), 'kick')
            if full > 1: b.A('Kick Out', K.mic((0, -b.u(.1, .35), .3), ('kick',), b.u(-14, -6)), 'kick')
            if full > 2: b.A(b.one('Kick Sub', 'Kick Beater'), K.sub() if b.p(.6) else K.beater(), 'kick')
        if 'snare' in K.x or 'rim' in K.x:
            b.A('Snare Top', ga(bell(close('s', *[p for p in ('snare', 'rim') if p in K.x]), fs, b.u(170, 250), b.u(-2, 5))), 'snare')
            if full > 1 and 'snare' in K.x: b.A('Snare Bottom', K.under(), 'snare', polarity_flipped=True)
        if full > 2 and 'snare' in K.x and b.p(.7): k2 = b.one('black', 'forzee', 'junk', 'pacific', 'empire'); b.A('Snare Sample', sound.hit(k2, 'snare', ev['snare'], fs, b.n, 'lay'), 'snare')
        if full > 2 and 'kick' in K.x and b.p(.7): k2 = b.one('black', 'forzee', 'junk', 'multi', 'colombo'); b.A('Kick Sample', sound.hit(k2, 'kick', ev['kick'], fs, b.n, 'lay'), 'kick')
        hh = [p for p in ('hhc', 'hho', 'hhp') if p in K.x]
        if hh: b.A('Hat', hp(close('h', *hh), fs, b.u(150, 500)), 'hat')
        to = [p for p in ('tomh', 'tomm', 'toml') if p in K.x]
        if to and full > 1:
            for p, nm in (('tomh', 'Tom 1'), ('tomm', 'Tom 2'), ('toml', 'Floor Tom')):
                if p in K.x and len(K.x[p]) and peak(K.x[p]) > 1e-4: b.A(nm, gate(close('t', p), fs, b.u(20, 34)) if b.p(.6) else close('t', p), 'tom')
        elif to: b.A('Toms', np.column_stack([close('t', to[0]) + .4 * close('t', to[-1]), close('t', to[-1]) + .3 * close('t', to[0])]), 'tom')
        if 'ride' in K.x and full > 1: b.A('Ride', hp(close('r', 'ride', *[p for p in ('bell',) if p in K.x]), fs, b.u(200, 500)), 'cymbal')
        w, hgt = b.u(.15, 1.1), b.u(1.4, 2.3); oh = np.column_stack([K.mic((-w, .6, hgt), roomy=b.u(.03, .3), lowcut=b.u(40, 250)), K.mic((w, .6, hgt), roomy=b.u(.03, .3), lowcut=b.u(40, 250))])
        b.split('Overhead', oh, 'overhead') if b.p(.5) else b.A('Overheads', oh if b.p(.8) else oh[:, 0], 'overhead')
        if full > 1:
            x = K.room(b.room_t, b.p(.4)); b.A('Room', x if b.p(.6) else mono(x), 'room')
            if full > 2: x = K.room(b.room_t * 1.5, False); b.split('Room Far', x, 'room')
            if b.p(.35): b.A(b.one('Front of Kit', 'Crush Mic'), np.tanh(b.u(.5, 6) * unit(K.front())), 'room')

    def ehit(b, kind, grid, bars=None, choke=None):
        """Machine drum: synthetic or from a kit."""
        fs, r = b.fs, b.r; ev = b.g.beats_on(b.G(grid), bars, kind); pool = {'kick': [('empire', 'kick'), ('empire', 'kick2')] + [('empire', 'kick%d' % j) for j in range(3, 10)] + [('house', 'kick'), ('house', 'kick2'), ('house', 'kick3'), ('junk', 'kick'), ('junk', 'kick2'), ('junk', 'kick4'), ('dusty', 'kick2'), ('noise', 'kick')],
            'snare': [('empire', 'snare%s' % j) for j in ('', '2', '3', '4', '5')] + [('house', 'snare'), ('junk', 'snare'), ('junk', 'snare2'), ('dusty', 'snare2'), ('dusty', 'snare3'), ('noise', 'snare'), ('noise', 'snare2')], 'clap': [('empire', 'clap'), ('empire', 'clap2'), ('house', 'clap'), ('house', 'clap2'), ('junk', 'clap'), ('black', 'clap'), ('multi2', 'clap')],
            'hhc': [('empire', 'hhc'), ('empire', 'hhc2'), ('empire', 'hhc3'), ('house', 'hhc'), ('house', 'hhc2'), ('house', 'hhc4'), ('junk', 'hhc'), ('dusty', 'hhc2'), ('noise', 'hhc')], 'hho': [('empire', 'hho'), ('empire', 'hho2'), ('house', 'hho'), ('junk', 'hho'), ('dusty', 'hho'), ('noise', 'hho')], 'tom': [('junk', 'toml'), ('junk', 'tomh'), ('dusty', 'toml'), ('noise', 'toml')],
            'cowbell': [('junk', 'cowbell'), ('multi', 'cowbell'), ('hand', 'cowbell'), ('black', 'cowbell')], 'rim': [('empire', 'click'), ('dusty', 'rim'), ('club', 'rim'), ('forzee', 'rim')], 'conga': [('empire', 'conga'), ('empire', 'conga2')], 'shaker': [('hand', 'maraca')]}[kind]
        gmn = dict(kick=36, snare=38, clap=39, hhc=42, hho=46, tom=45, cowbell=56, rim=37, conga=63, shaker=70)[kind]; z = r.random()
        if z < .4: x = edrum(kind, fs, r)
        elif z < .6:
            bk, pr = b.one(('tim', 25), ('tim', 24), ('gmb', 25), ('gmb', 24), ('opl', 0)); x = sound.gm(bk, pr, [Note(t, .3, gmn, v) for t, v in ev], fs, b.n, drums=True).mean(1)
            if rms(x) > 1e-5: return x
            x = edrum(kind, fs, r)
        else: x = sound.sample(*pool[int(r.integers(len(pool)))], fs)
        x = x * np.minimum(1, np.arange(len(x), 0, -1) / (.01 * fs)); y = np.zeros(b.n); st = 2 ** (r.uniform(-3, 3) / 12) if b.p(.5) else 1.0; x = np.interp(np.arange(int(len(x) / st) - 1) * st, np.arange(len(x)), x)
        for t, v in ev: put(y, x * (max(v, 1) / 120) ** 1.4, int(t * fs))
        return y

    def machine(b, kick, snare='....9.......9...', hat='8686868686868686', oh='..............8.', clap=None, layers=1, extra=()):
        sec = list(b.secs[0]); b.A('Kick', b.ehit('kick', kick), 'kick')
        if layers > 1: b.A('Kick Layer', b.ehit('kick', kick), 'kick')
        if snare: b.A('Snare', b.ehit('snare', snare), 'snare')
        if snare and layers > 1: b.A('Snare Layer', unit(b.ehit('snare', snare)) + .6 * unit(b.ehit('clap', snare)), 'snare')
        if clap: b.A('Clap', near(b.ehit('clap', clap), b.fs, b.u(0, .35)), 'percussion')
        b.A('Hat Closed', b.ehit('hhc', hat), 'hat')
        if oh: b.A('Hat Open', b.ehit('hho', oh), 'hat')
        for e in extra:
            x, o = b.sec(.5); role = dict(tom='tom', rim='snare', cowbell='percussion', conga='percussion', shaker='percussion')[e]; gr = dict(tom='..........8..8.9', rim=b.one('...7..7...7..7..', '....8..8....8...'), cowbell=b.one('9..7..9..7..9.7.', '..8...8...8...8.'), conga='..7..7.8..7..7.8', shaker='7475747574757475')[e]; y = b.ehit(e, gr, x)
            b.A(e.capitalize(), pan(y, b.u(-.8, .8)) if b.p(.25) else y, role, only=o)

    def loop(b, kit=None, name='Drum Loop'):
        kit = kit or b.one('dusty', 'junk', 'gmb:24', 'tim:25', 'opl:0', 'noise', 'pat:0', 'tim:8', 'gmb:0', 'house'); have = set(sound.SAMPLED[kit][1]) if kit in sound.SAMPLED else set(sound.GMK); bars, o = b.sec(.3); gr = dict(kick=b.one('9..7..9...9.....', '9.9...7...9..7..', '9...9...9...9...'), snare=b.one('....9..5.5..9...', '....9.......9..5'), hhc=b.one('8.6.8.6.8.6.8.6.', '8686868686868686'), hho='..............7.')
        K = Kit(kit, {p: b.g.beats_on(b.G(q), bars, 'lp' + p) for p, q in gr.items() if p in have}, b.fs, b.n, b.s.name + 'loop'); x = K.over() if b.p(.5) else sum(K.x.values()); x = np.tanh(b.u(1, 5) * unit(x)); lo, hi = b.one((40, 15000), (120, 6500), (250, 9000), (60, 4000)); b.A(name, bp(x, b.fs, lo, hi), 'drums', only=o)

    # ---- percussion
    def perc(b, kind, p=.35):
        bars, o = b.sec(p); s, fs = b.s, b.fs; rm = b.u(.03, .4)
        def P(bk, *parts):
            x = s.gm(bk, 0, [Note(t, .3, m, v) for m, gr in parts for t, v in b.g.beats_on(b.G(gr), bars, m)], drums=True); return near(x, fs, rm)
        def H(kit, *parts): return near(sum(sound.hit(kit, pc, b.g.beats_on(b.G(gr), bars, pc), fs, b.n, b.s.name) for pc, gr in parts), fs, rm)
        bk = b.one('tim', 'gmb', 'pat'); x = {
            'shaker': lambda: b.one(lambda: s.shake('shaker', b.G(b.one('7353735373537353', '7.5.7.5.7.5.7.5.', '6464746464647464')), bars, rm), lambda: H('hand', ('maraca', '7575757575757575')), lambda: P(bk, (70, '7575757575757575')))(),
            'tamb': lambda: b.one(lambda: s.shake('tambourine', b.G(b.one('..6.9.6...6.9.6.', '....8.......8...', '8.6.8.6.8.6.8.6.')), bars, rm), lambda: H('hand', ('tambourine', '..6.9.6...6.9.6.')), lambda: H('forzee', ('tambourine', '....9..6....9...')), lambda: P(bk, (54, '..7.9.7...7.9.7.')))(),
            'claps': lambda: b.one(lambda: sum(pan(s.shake('clap', b.G('....9.......9...'), bars, rm, str(q)), q) for q in (-.7, .1, .7)), lambda: H('hand', ('handclap', '....9.......9...')), lambda: P(bk, (39, '....9.......9...')), lambda: s.shake('clap', b.G('9...9...9...9...'), bars, rm * 2))(),
            'snaps': lambda: b.one(lambda: s.shake('snap', b.G('....8.......8...'), bars, rm), lambda: H('hand', ('fingersnap', '....8.......8...')))(), 'cabasa': lambda: b.one(lambda: s.shake('cabasa', b.G('7353735373537353'), bars, rm), lambda: P(bk, (69, '7475747574757475')))(),
            'conga': lambda: P(bk, (63, '..7...7...7...77'), (64, '7.....6.7.......'), (62, '....6.......6...')), 'bongo': lambda: b.one(lambda: P(bk, (60, '8.66..6.8.66..6.'), (61, '....8.......8.6.')), lambda: H('hand', ('bongohi', '8.66..6.8.66..6.'), ('bongolo', '....8.......8.6.')))(), 'timbale': lambda: P(bk, (65, '8..6..8....6..87'), (66, '....7.....7.....')),
            'agogo': lambda: b.one(lambda: P(bk, (67, '8...8.8...8.8...'), (68, '..8.....8.....8.')), lambda: H('forzee', ('agoh', '8...8.8...8.8...'), ('agol', '..8.....8.....8.')))(), 'clave': lambda: b.one(lambda: P(bk, (75, '9..9..9...9.9...')), lambda: H('hand', ('clave', '9..9..9...9.9...')))(), 'cowbell': lambda: b.one(lambda: P(bk, (56, '9...7...9...7.7.')), lambda: H('hand', ('cowbell', '9.7.9.7.9.7.9.7.')), lambda: H('multi', ('cowbell', '9...9...9...9...')))(),
            'block': lambda: b.one(lambda: P(bk, (76, '..6..6....6.6...'), (77, '6.......6.......')), lambda: H('hand', ('woodblock', '..8..8....8.8...')))(), 'guiro': lambda: P(bk, (74, '7.......7.......'), (73, '....5.5.....5.5.')), 'triangle': lambda: P(bk, (81, '8.......8.......'), (80, '..6.6.6...6.6.6.')), 'cajon': lambda: H('hand', ('cajonthumps', '9.....7.9..7....'), ('cajonslaps', '....9..4....9..5')),
            'djembe': lambda: H('djembe', *[('d%d%s' % (j, q), gr) for j in (int(b.r.integers(1, 6)),) for q, gr in (('b', '9.....8.9.......'), ('s', '....8.......8..6'), ('t', '..67..67..67..67'))]), 'dunun': lambda: H('djembe', ('dun', '9.....9...9.....'), ('ken', '....7.......7.7.'), ('bell', '7.77.7.77.77.7.7')), 'glass': lambda: H('hand', ('waterglasshi', '7...7...7...7...'), ('waterglasslo', '..6...6...6...6.')),
            'vibraslap': lambda: P('tim', (58, '9...............'), (55, '........6.......')), 'cuica': lambda: P(bk, (78, '..8..8....8.....'), (79, '8.......8.....8.')), 'taiko': lambda: s.gm(b.one('tim', 'gmb', 'opl'), 116, [Note(t, .6, 48 + j, v) for j, gr in ((0, '9.....9.9.......'), (5, '....7.....7.7.7.')) for t, v in b.g.beats_on(b.G(gr), bars, 'tk%d' % j)]),
            'timpani': lambda: b.one(*[(lambda k=k: s.gm(k[0], k[2], b.g.bass(b.G(b.one('9.......7.......', '9.......8.8.8888')), 38, bars), cc=[(0, k[1])] if k[1] else ())) for k in (('tim', 0, 47), ('gmb', 0, 47), ('pat', 0, 47), ('gmb', 127, 112), ('opl', 0, 47))])(), 'bellbar': lambda: P(bk, (53, '9...7...9...7...'))}[kind]()
        b.A(kind.capitalize(), x if x.ndim == 2 or b.p(.8) else pan(x, b.u(-.9, .9)), 'percussion', only=o)

    # ---- basses
    def bass(b, kind, grid='9.7.7.7.9.7.7.7.', lo=28, amp=False, walk=False, only=False, name=None):
        s, g, fs, r = b.s, b.g, b.fs, b.r; bars = list(b.secs[0]) if only else None; key = b.key('bs'); q = human(g.walk(lo, bars) if walk else g.bass(b.G(grid), lo, bars, key, b.one((0, 0, 7, 12), (0, 7, 0, 12, 3), (0, 0, 0, 7), (0, 12, 10, 7, 0))), s.name + key, .006); top = b.u(500, 2600)
        if kind in ('ks', 'kspick', 'ksup', 'flat'):
            k = '%s_%s' % (s.name, key); base = dict(ks=(4.5, .34, .22, 700, 2200), kspick=(3.5, .2, .12, 1500, 4500), ksup=(1.5, .48, .3, 380, 1000), flat=(1.6, .45, .28, 450, 1200))[kind]; sound.STRINGS[k] = (base[0] * b.u(.6, 1.4), float(np.clip(base[1] * b.u(.8, 1.25), .08, .5)), base[2] * b.u(.6, 1.4), base[3] * b.u(.7, 1.5), base[4] * b.u(.7, 1.6)); x = s.bassdi(k, q, key, top)
        elif kind in BASSGM:
            x = b.gmx(kind, q, False); x = x if kind in ('upright', 'syn') else lp(x, fs, b.u(1500, 6000), 1)
        elif kind == 'sub':
            x = np.zeros(b.n); dec, dr, gl = b.u(.4, 2), b.u(.8, 4), b.u(0, 1)
            for n in q: L = int(n.d * fs); a = np.arange(L) / fs; f = 440 * 2 ** ((n.m - 69) / 12) * (1 + gl * np.exp(-a / .03)); put(x, np.tanh(dr * np.sin(2 * np.pi * np.cumsum(f) / fs)) * np.clip((n.d - a) / .05, 0, 1) * np.minimum(1, a / .004) * np.exp(-a / dec), int(n.t * fs))
            x = lp(x, fs, b.u(150, 900))
        else:
            x = mono(synth(q, fs, b.n, b.one('saw', 'pulse'), int(r.integers(1, 4)), b.u(.02, .2), cutoff=b.u(250, 1800), env=b.u(0, 1.2), decay=b.u(.1, .6), sustain=b.u(.2, .9), key=key))
            if kind == 'acid': x = np.tanh(3 * unit(wah(x, fs, b.u(.2, 2), 200, b.u(900, 2500))))
            x = x + .8 * rms(x) / .35 * 0; x = tilt(x, fs, 150, b.u(0, 5), 0)
        if b.p(.15) and kind not in ('sub',): x = np.tanh(b.u(2, 8) * unit(x))
        nm = b.A(name or dict(ks='Bass DI', kspick='Bass DI', slap='Slap Bass', upright='Upright Bass', ksup='Upright Pickup', sub='Sub Bass', fretless='Fretless', syn='Synth Bass', flat='Bass DI').get(kind, 'Bass'), x, 'bass', only=only)
        if amp:
            d = s.get(nm); b.A(b.one('Bass Amp', 'Bass Mic'), near(lp(late(d, 90), fs, b.u(1800, 3500)), fs, b.u(.1, .35)) if kind in ('upright', 'ksup') else s.amp(d, b.u(3, 14), 'bass', key), 'bass', nm, 'copy', only=only)
            if kind not in ('upright', 'ksup') and b.p(.4): b.A('Bass Dirt', hp(s.amp(d, b.u(22, 36), b.one('closed', 'bass'), key + 'f'), fs, b.u(80, 250)), 'bass', nm, 'copy', only=only)

    # ---- guitars
    def kstr(b, base, key):
        t60, sm, pos, a, c = sound.STRINGS[base]; k = '%s_%s' % (b.s.name, key); sound.STRINGS[k] = (t60 * b.u(.6, 1.5), float(np.clip(sm * b.u(.6, 1.4), .05, .5)), float(np.clip(pos * b.u(.5, 1.8), .05, .4)), a * b.u(.6, 1.6), c * b.u(.6, 1.7)); return k

    def slide(b, kind, notes, key):
        """Plucked string with a bottleneck: glides into each note, wide vibrato."""
        y = np.zeros(b.n); fs, r = b.fs, rng('slide', b.s.name, key)
        for t, d, m, v in notes:
            x = sound.pluck(kind, int(m), v > 90, int(r.integers(3)), fs); L = int(min((d + .15) * fs, len(x) * .7)); a = np.arange(L) / fs; c = 2 ** ((-r.choice([1, 2, 3, 0]) * np.exp(-a / r.uniform(.04, .12)) + .3 * np.clip(2 * a - .4, 0, 1) * np.sin(2 * np.pi * 5 * a)) / 12); sg_ = np.interp(np.cumsum(c), np.arange(len(x)), x) * (v / 110); k = min(L, int(.12 * fs))
            if L < 500: continue
            sg_[-k:] *= np.linspace(1, 0, k); put(y, sg_, int(t * fs))
        return y

    def gnotes(b, style, lo, key, bars):
        g, r = b.g, b.r
        return {'power': lambda: g.comp(b.G(b.one('9.7.7.779.7.7.77', '9.......8.......', '9777977797779777', '9.99..9.9.99..97')), min(lo, 43), bars=bars, key=key, power=True, strum=.005), 'strum': lambda: g.comp(b.G(b.one('9.7.8.779.7.8.77', '9...8..77.7.8.77', '9.x79.x79.x79.x7')), lo, int(r.integers(4, 7)), bars, key, strum=b.u(.008, .025)), 'hold': lambda: g.comp(b.G('9...............'), lo, 4, bars, key, strum=b.u(.01, .05)),
            'skank': lambda: g.comp(b.G('....9.......9...') if b.p(.5) else b.G('..9...9...9...9.'), lo + 8, 3, bars, key, length=.1), 'scratch': lambda: g.comp(b.G('9x7x9x.79x7x.9x7'), lo + 10, 3, bars, key, strum=.004), 'pick': lambda: g.pick(PICKS[int(r.integers(len(PICKS)))], lo + 4, bars, key, ring=b.u(1, 2.6)), 'lead': lambda: g.melody(key, lo + 14, lo + 36, bars, b.u(.8, 1.7), b.u(.05, .25)), 'riff': lambda: g.bass(b.G(b.one('9.7.9.7.7.9.7.5.', '9..9..7.9.7.5.7.', '9777977797779797')), lo, bars, key, (0, 0, 3, 5, 7, 10)),
            'trem': lambda: [Note(t + i * d / k, d / k * .9, m, v) for t, d, m, v in g.melody(key, lo + 12, lo + 32, bars) for k in [max(1, round(d / (g.beat / 4)))] for i in range(k)], 'single': lambda: g.pick('0.2.3.2.0.2.5.2.', lo + 8, bars, key, ring=1)}[style]()

    def eg(b, style, tone, double=False, di=False, only=None, name='Gtr', lo=None, fx=None):
        """Electric guitar; tone: clean, crunch, high, fuzz, di."""
        s, fs, r = b.s, b.fs, b.r; bars, o = b.sec(.35) if only is None else (list(b.secs[0]), True) if only else (None, False); lo = lo or int(r.integers(40, 53)); names = []; key0 = b.key('eg'); base = b.one('single', 'humbucker') if style not in ('single',) else 'muted'; cab = b.one('open', 'closed', 'small'); gn = dict(clean=(1, 6), crunch=(7, 14), high=(18, 30), fuzz=(30, 42), di=(0, 1))[tone]; gain = b.u(*gn); br = b.u(-1, 2); q0 = b.gnotes(style, lo, key0, bars)
        fxk = fx if fx is not None else b.one('', '', '', 'trem', 'chorus', 'wah', 'spring', 'echo') if tone in ('clean', 'crunch') else b.one('', '', '', '', 'echo', 'wah')
        for sd in (('L', 'R') if double else ('',)):
            key = key0 + sd; q = human(q0, s.name + key, .007); k = b.kstr(base, key); d = b.slide(k, q, key) if style == 'slide' else s.string(k, q, key, vibrato=b.u(.1, .4) if style == 'lead' else 0, chuck=style in ('scratch', 'strum')); d = sound.pickup(d, fs, br)
            x = d if tone == 'di' else s.amp(d, gain * b.u(.9, 1.1), cab, key, bass=b.u(-3, 3), treble=b.u(-4, 4))
            if fxk == 'trem': x = trem(x, fs, b.u(3.5, 8), b.u(.4, .9))
            elif fxk == 'chorus': x = sweep(x, fs, rate=b.u(.3, 1.5)); x = x if b.p(.6) and not double else mono(x)
            elif fxk == 'wah': x = wah(mono(x), fs, b.g.tempo / 120 * b.one(.5, 1, 2))
            elif fxk == 'spring': w = spring(x, fs); x = x + w * rms(x) / rms(w) * b.u(.15, .5)
            elif fxk == 'echo': e = echo(x, fs, b.g.beat * b.one(.75, .5, 1), .4); x = (wide(x) + .5 * e) if b.p(.5) and not double else x + .4 * mono(e)
            fl = {}
            if di and not double: dn = b.A(name + ' DI', d, 'electric guitar', only=o, proc=False); names.append(b.A(name + ' Amp', x, 'electric guitar', dn, 'copy', only=o))
            else: names.append(b.A((name + ' ' + sd).strip(), x, 'electric guitar', only=o))
        if double: b.s.pair(*names)
        return names

    def ag(b, style, kind='steel', copies='', only=None, name=None, double=False):
        """Acoustic guitar by plucked strings; kind steel, nylon, twelve, uke; copies: mic, pickup."""
        s, fs, r = b.s, b.fs, b.r; bars, o = b.sec(.3) if only is None else (list(b.secs[0]), True) if only else (None, False); lo = dict(uke=60).get(kind, int(r.integers(40, 49))); key0 = b.key('ag'); base = dict(twelve='steel').get(kind, kind); nm = name or dict(steel='Acoustic', nylon='Nylon', twelve='Twelve String', uke='Ukulele')[kind]; names = []; q0 = b.gnotes(style if style != 'percussive' else 'strum', lo, key0, bars)
        for sd in (('L', 'R') if double else ('',)):
            key = key0 + sd; q = human(q0, s.name + key, .008); top = 'uke' if kind == 'uke' else b.one('dread', 'parlour'); k = b.kstr(base, key); mk = lambda qq, kk: s.string(k, qq, kk, chuck=style in ('strum', 'percussive'))
            raw = b.slide(k, q, key) if style == 'slide' else mk(q, key)
            if kind == 'twelve': raw = raw + .6 * mk([n._replace(t=n.t + .004, m=n.m + 12) if n.m < 58 else n._replace(t=n.t + .004) for n in q], key + 'o')
            if style == 'percussive':
                for t, v in b.g.beats_on(b.G('9...6.7.9...6..7'), bars, key): L = int(.09 * fs); a = np.arange(L) / fs; put(raw, (np.sin(2 * np.pi * b.u(85, 130) * a) * np.exp(-a / .025) + .3 * r.standard_normal(L) * np.exp(-a / .004)) * v / 110 * peak(raw) * .16, int(t * fs))
            x = near(sound.body(lp(raw, fs, b.u(2800, 6500), 1), fs, top, int(r.integers(0, 3))), fs, b.u(.02, .25)); a_ = b.A((nm + ' ' + sd).strip(), x, 'acoustic guitar', only=o); names.append(a_)
            if copies == 'mic': b.A(nm + ' Mic 2', (-1 if b.p(.4) else 1) * lp(near(sound.body(lp(raw, fs, 3500, 1), fs, top, 5), fs, b.u(.1, .4)), fs, b.u(3000, 7000), 1), 'acoustic guitar', a_, 'copy', only=o)
            elif copies == 'pickup': b.A(nm + ' Pickup', bell(hp(tilt(raw, fs, 700, -3, 3), fs, 90), fs, b.u(900, 2200), b.u(3, 8), 1.2), 'acoustic guitar', a_, 'copy', only=o)
        if double: s.pair(*names)

    # ---- synthesiser
    def syn(b, kind, name=None, only=None):
        fs, n, g, r = b.fs, b.n, b.g, b.r; bars, o = b.sec(.4) if only is None else (list(b.secs[0]), True) if only else (None, False); key = b.key('sy'); sh = b.one('saw', 'pulse')
        x = dict(pad=lambda: synth(human(g.hold(int(b.u(45, 60)), int(r.integers(3, 5)), bars), key), fs, n, sh, int(r.integers(2, 6)), b.u(.05, .2), b.u(.2, 1), release=b.u(.3, 1), cutoff=b.u(700, 4000), sustain=1, key=key), lead=lambda: synth(g.melody(key, 62, 86, bars, b.u(.7, 1.6)), fs, n, sh, int(r.integers(1, 4)), b.u(.03, .15), cutoff=b.u(1800, 7000), release=b.u(.05, .3), env=b.u(0, .6), key=key), pluck=lambda: synth(g.pick(b.G(b.one(*PICKS[:3], PICKS[5])), int(b.u(55, 72)), bars, key), fs, n, sh, int(r.integers(1, 3)), decay=b.u(.05, .15), sustain=b.u(0, .1), cutoff=b.u(1500, 6000), env=b.u(0, 1), key=key),
            arp=lambda: synth(g.pick(b.G('0123012301230123'), int(b.u(52, 70)), bars, key, ring=.8), fs, n, sh, int(r.integers(1, 3)), decay=b.u(.08, .3), sustain=b.u(.1, .5), cutoff=b.u(1200, 5000), key=key), stab=lambda: synth(g.comp(b.G(GRIDS[int(r.integers(len(GRIDS)))]), int(b.u(50, 62)), 4, bars, key, length=b.u(.08, .3)), fs, n, 'saw', int(r.integers(2, 6)), b.u(.08, .25), decay=b.u(.1, .4), sustain=.3, cutoff=b.u(1500, 6000), env=.5, key=key), brass=lambda: synth(g.comp(b.G('9.....7.8.......'), 53, 4, bars, key), fs, n, 'saw', 3, .1, b.u(.03, .09), sustain=.9, cutoff=b.u(1500, 3500), env=.4, key=key))[kind]()
        if kind in ('pluck', 'arp', 'lead') and b.p(.4): x = x + .5 * echo(x, fs, g.beat * b.one(.75, .5), b.u(.3, .5))
        if b.p(.25): x = sweep(x, fs, rate=b.u(.2, 1.2))
        if kind in ('pad', 'stab', 'arp') and b.p(.25): x = x * (1 - .8 * np.exp(-((np.arange(n) / fs) % g.beat) / .09))[:, None]
        return b.A(name or 'Syn ' + kind.capitalize(), mono(x) if b.p(.3) else x, 'synth', only=o)

    # ---- voices
    def who(b, kind=None): return b.one(*(b.men if kind == 'man' else b.women if kind else b.people))
    def reach(b, w): k = voice.SINGERS[w][0]; return {'man': (int(b.u(43, 50)), int(b.u(60, 69))), 'woman': (int(b.u(54, 60)), int(b.u(71, 79))), 'child': (int(b.u(57, 62)), int(b.u(73, 81)))}[k]
    def lead(b, w=None, effort=None, bars=None, busy=None, name='Lead Vox', dirt=0.0, tuned=False, dbl=False, only=False, rest=.15):
        s = b.s; w = w or b.who(); b.star = w; lo, hi = b.reach(w); key = b.key('lv'); m = b.g.melody('v' + key, lo, hi, bars, busy or b.u(.7, 1.4), rest); b.tune = m; k = dict(loose=.05) if tuned else {}
        if tuned: v = voice.SINGERS[w]; voice.SINGERS[w] = (*v[:4], 0, v[5], 0)
        x = s.sing(m, w, key, text='w', effort=effort or b.u(.8, 1.6), **k); x = np.tanh(dirt * unit(x)) if dirt else x; nm = b.A(name, near(x, b.fs, b.u(0, .12)), 'lead vocal', only=only or bars is not None)
        if dbl:
            h = b.secs[0]; mm = clip(m, h, b.g.bar) or m; x = s.sing(mm, w, key + 'd', text='w', tune=b.r.normal(0, .06), loose=1.5, effort=b.u(.8, 1.4)); b.A(name + ' Double', x, 'lead vocal', only=True)
        return nm
    def stack(b, k=3, pans=False, vowel=None, only=True, bars=None, name='BGV', chordal=False):
        h = list(bars if bars is not None else b.secs[0]) if only else None; base = (clip(b.tune, h, b.g.bar) if h is not None else b.tune) if not chordal and vowel is None else b.g.line(b.G(b.one('9...7.8.', '9.......7.......', '9..7..9.')), 64, h, b.key('st'))
        if not base: base = b.g.line(b.G('9.......7.......'), 64, h, b.key('st'))
        for j in range(k):
            w = b.people[(j + int(b.r.integers(9))) % 9]; x = b.s.layer(b.g.harmonise(base, (1, -1, 2, -2, 3, 1)[j % 6]), w, b.key('bv'), text='w', vowel=vowel); x = pan(x, (-.7, .7, -.3, .3, 0, .9)[j % 6]) if pans else x; b.A('%s %d' % (name, j + 1), near(x, b.fs, b.u(0, .25)), 'backing vocal', only=only)
    def ooh(b, vowel=None, name=None, only=True):
        v = vowel or b.one('u', 'A', 'O', 'V', 'U'); h = list(b.one(*b.secs)) if only else None; L = b.g.hold; x = sum(pan(b.s.layer([n for k2, n in enumerate(L(60 + 3 * j, 1, h))], b.people[(j * 2 + int(b.r.integers(9))) % 9], b.key('oo'), vowel=v), q) for j, q in enumerate((-.7, .7, .1, -.2)[:int(b.r.integers(2, 5))])); b.A(name or ('Oohs' if v in 'uU' else 'Aahs'), near(x, b.fs, b.u(0, .4), b.u(.4, 1.6)), 'backing vocal', only=only)
    def choir(b, parts=(('Sopranos', 2, 'w'), ('Altos', 0, 'w'), ('Tenors', -1, 'm'), ('Basses', -3, 'm')), size=3, only=True, splits=False, vowel=None, far=True):
        h = list(b.secs[0]) if only else None; cm = b.g.line(b.G(b.one('9...7.8.', '9.......7.......', '9.7.8.7.')), 65, h, b.key('ch')); tot = np.zeros((b.n, 2)); t60 = b.u(.8, 2.4)
        for nm, st, sx in parts:
            who = b.women if sx == 'w' else b.men; x = sum(pan(b.s.layer(b.g.harmonise(cm, st) if st else cm, who[j % len(who)], b.key('cv'), text='c', vowel=vowel), q) for j, q in zip(range(size), (-.7, .6, 0, -.3))); x = near(x, b.fs, b.u(.1, .45), t60, 'nave'); tot += unit(x)
            b.split('Choir ' + nm, x, 'backing vocal', only) if splits and b.p(.7) else b.A('Choir ' + nm, x if b.p(.7) else mono(x), 'backing vocal', only=only)
        if far: b.A('Choir Distant', .15 * late(tot, .03 * b.fs) + space(tot, b.fs, t60 * 1.4, 5000, 25, 'nave'), 'backing vocal', only=only)
    def words(b, k): return ' '.join(b.one(*WORDS) for _ in range(k))
    def rap(b, name='Rap', bars=None, spd=None, double=True, only=False):
        bars = list(bars if bars is not None else range(b.bars)); v = VOICES[int(b.r.integers(len(VOICES)))]; sp = int(spd or np.clip(60 * 4.2 / (2 * b.g.beat), 190, 300)); pit = int(b.u(25, 60)); ln = [(x * b.g.bar + hh * 2 * b.g.beat + .02, b.words(4)) for x in bars for hh in (0, 1)]; x = b.s.say(ln, voice=v, pitch=pit, speed=sp); nm = b.A(name, voice.channel(x, b.fs, name + b.s.name), 'lead vocal', only=only)
        if double: b.A(name + ' Double', b.s.say([(t + .02, w) for i, (t, w) in enumerate(ln) if i % 3 == 1], voice=v, pitch=pit - 5, speed=sp - 6), 'lead vocal', only=True)
        return nm
    def speech(b, name='Spoken', whisper=False):
        v = b.one('en-us+whisper', 'en-us+whisperf', 'en-gb+whisper') if whisper else b.one(*VOICES); bars = list(b.one(*b.secs)); b.A('Whisper' if whisper else name, b.s.say([(x * b.g.bar + .1, b.words(5)) for x in bars[::2]], voice=v, pitch=int(b.u(25, 65)), speed=int(b.u(120, 180))), 'lead vocal', only=True)
    def gang(b, name='Gang'):
        bars = list(b.one(*b.secs)); w = [b.words(2) for _ in bars]; x = sum(pan(b.s.say([(q * b.g.bar + j * .013, w[k]) for k, q in enumerate(bars)], voice=v, pitch=int(b.u(30, 75)), speed=int(b.u(150, 200))), p_) for j, (v, p_) in enumerate(zip((b.one(*VOICES[:16]) for _ in range(5)), (-.8, .7, -.3, .3, 0)))); b.A(name, near(np.tanh(b.u(1, 3) * unit(x)), b.fs, b.u(.1, .4), b.u(.4, 1)), 'backing vocal', only=True)
    def adlib(b):
        x = b.s.sing(b.g.melody('ad' + b.key('ad'), *[q + 4 for q in b.reach(b.star)], [k for k in range(b.bars) if k % 4 == 3], 1.6), b.star, b.key('ad')) if b.p(.5) else b.s.say([(k * b.g.bar + b.g.beat * 2, b.one('yeah', 'come on', 'hey', 'uh huh', 'say it', 'oh no', 'let us go')) for k in range(1, b.bars, 2)], voice=b.one(*VOICES[:16]), pitch=int(b.u(35, 65)), speed=190); x = wide(x) * .8 + .5 * echo(x, b.fs, b.g.beat * .5) if b.p(.5) else x; b.A('Ad Libs', x, 'lead vocal', only=True)
    def robot(b, lead=True):
        bars, o = b.sec(.6); car = mono(synth(b.g.hold(45, 4, bars), b.fs, b.n, 'saw', 3, .1, sustain=1, cutoff=9000)); mod = b.s.sing(b.g.melody('vc', 52, 67, bars), b.who(), b.key('vc'), text='w') if b.p(.4) else b.s.say([(k * b.g.bar, b.words(4)) for k in (bars or range(b.bars))], voice=b.one(*VOICES[:12]), speed=150); x = vocode(mod, car, b.fs, int(b.u(12, 24))); b.A('Vocoder Lead' if lead else 'Vocoder Backing', x, 'lead vocal' if lead else 'backing vocal', only=o)
    def chops(b):
        src = b.s.sing([Note(.1, .5, 67, 100)], b.who('w'), b.key('cp'), vowel='A')[int(.1 * b.fs):int(.5 * b.fs)]; y = np.zeros(b.n); bars, o = b.sec(.6)
        for k, (t, v) in enumerate(b.g.beats_on(b.G('9..7..8...9.7...'), bars, 'chop')): st = 2 ** (b.one(0, 3, 5, 7, -2, 12) / 12); L = int(.16 * b.fs); z = np.interp(np.arange(L) * st, np.arange(len(src)), src) * np.minimum(1, np.arange(L, 0, -1) / (.01 * b.fs)); put(y, z, int(t * b.fs))
        b.A('Vox Chops', wide(y) + .5 * echo(y, b.fs, b.g.beat * .75), 'backing vocal', only=o)

    # ---- effects, returns, parallels
    def fx(b, kind):
        fs, n, r = b.fs, b.n, b.r; t = np.arange(n) / fs; y = np.zeros((n, 2)); bar = b.g.bar
        if kind == 'riser':
            for k in range(3, b.bars, 8): L = int(bar * fs); a = np.arange(L) / L; z = r.standard_normal(L); put(y, wide(sum(bp(z, fs, f, f * 1.6) * np.clip(1 - np.abs(a * 6 - i), 0, 1) for i, f in enumerate(np.geomspace(300, 8000, 7))) * a ** 1.5), int(k * bar * fs))
        elif kind == 'impact':
            for k in range(0, b.bars, 4): L = int(1.6 * fs); a = np.arange(L) / fs; z = np.sin(2 * np.pi * np.cumsum(40 + 60 * np.exp(-a / .1)) / fs) * np.exp(-a / .5) + .3 * lp(r.standard_normal(L), fs, 2500) * np.exp(-a / .4); put(y, wide(z), int(k * bar * fs))
        elif kind == 'crackle': y = hp(r.standard_normal((n, 2)) * db(-55) + (r.random((n, 2)) > .9998) * r.normal(0, .3, (n, 2)), fs, 300)
        elif kind == 'sweep': y = wide(np.sin(2 * np.pi * np.cumsum(200 + 1800 * ((t / bar) % 2 > 1) * ((t / bar) % 1)) / fs) * ((t / bar) % 4 > 3))
        elif kind == 'sea': y = wide(lp(r.standard_normal(n), fs, 2500)) * (.4 + .3 * np.sin(2 * np.pi * .15 * t))[:, None] + 0; y = y + .3 * lp(r.standard_normal((n, 2)), fs, 6000)
        elif kind == 'click': y = b.s.perc('tim', (33, b.G('9...6...6...6...')), room=0)
        else: y = b.s.gm('gmb', b.one(122, 119, 125, 97), [Note(k * bar, bar, 60, 90) for k in range(0, b.bars, 4)], True)
        b.A('FX ' + kind.capitalize(), y, 'fx', proc=False, only=kind in ('riser', 'sweep'))

    def rets(b, k=3):
        fam = {'lead vocal': 'lead', 'backing vocal': 'bgv', 'snare': 'drums', 'electric guitar': 'egtr', 'acoustic guitar': 'agtr', 'horns': 'horns', 'strings': 'strings', 'piano': 'keys', 'organ': 'keys', 'synth': 'synth', 'percussion': 'perc'}; have = [q for q in fam if b.by.get(q)]; order = ['lead vocal'] + [have[j] for j in b.r.permutation(len(have)) if have[j] != 'lead vocal']; done = 0
        for role in order:
            if role not in have or done >= k: continue
            many = role in ('backing vocal', 'horns', 'strings') and len(b.by[role]) > 1; q = b.by[role][:6] if many else [b.by[role][0]]; x = b.s.total(*q) if many else b.s.get(q[0]); kind = b.one('plate', 'hall', 'room', 'spring', 'delay') if role not in ('horns', 'strings', 'backing vocal') else b.one('plate', 'hall', 'room')
            y = {'plate': lambda: space(x, b.fs, b.u(1, 2.2), b.u(7000, 11000), b.u(5, 30), 'plate'), 'hall': lambda: space(x, b.fs, b.u(2, 3.6), b.u(3500, 7000), b.u(20, 50), 'hall'), 'room': lambda: space(x, b.fs, b.u(.3, .8), b.u(4000, 9000), 3, 'rm'), 'spring': lambda: spring(x, b.fs), 'delay': lambda: echo(x, b.fs, b.g.beat * b.one(.5, .75, 1), b.u(.3, .6))}[kind]()
            b.A('Ret %s %s' % (fam[role].capitalize(), kind.capitalize()), y, 'fx', q, 'return', fam[role], only=bool(next(t for t in b.s.tr if t['file'] == q[0] + '.wav')['flags'].get('section_only'))); done += 1
        return b

    def par(b, drums=True, vox=False):
        if drums:
            q = (b.by.get('kick', [])[:1] + b.by.get('snare', [])[:1] + b.by.get('overhead', b.by.get('hat', []))[:2])
            if len(q) > 1: b.A('Drum Crush', smash(b.s.total(*q), b.fs), 'drums', q, 'parallel')
        if vox: q = b.by['lead vocal'][:1]; b.A('Vox Crush', smash(b.s.get(q[0]), b.fs), 'lead vocal', q, 'parallel')


def PROG_ALT(ch, r): c = ch.split(); return [c[0], c[2], c[3], c[1]] if r.random() < .5 else [c[3], c[0], c[2], c[1]]


# ------------------------------------------------------------------ the sixteen
def t01_rock():
    b = B(1, 'rock', 118); b.drums('black', 3, kick='9...9.7.9...9...', snare='....9.......9...', hhc=('8.6.8.6.8.6.8.6.', range(8)), ride=('9.7.9.7.9.7.9.7.', range(8, 16))); b.perc('tamb', 1); b.perc('cowbell', 1); b.bass('kspick', amp=True)
    b.eg('power', 'crunch', True, only=False, name='Gtr Rhythm'); b.eg('strum', 'clean', name='Gtr Clean'); b.eg('power', 'high', True, only=True, name='Gtr Wall'); b.eg('lead', 'high', name='Gtr Solo', di=True); b.inst('gmdrive', 'Gtr Drive', 'hold', True); b.ag('strum', 'steel', double=True); b.inst('organ', 'Organ', 'hold'); b.inst('piano', 'Piano'); b.inst('section', 'Strings', 'hold', True)
    b.lead(b.men[0], 1.5, dbl=True); b.stack(4); b.ooh(); b.gang(); b.par(True, True); return b.rets(3).s
def t02_hiphop():
    b = B(2, 'hip-hop', 86, swing=.1, prog=('A', 'minor', 'Am F Dm E7'), color='7'); b.machine('9.....9..9......|9..7..9...9.....', hat='7575757777575777', clap='....9.......9...', layers=2, extra=('rim', 'cowbell', 'conga', 'tom')); b.loop('dusty', 'Break'); b.loop(name='Top Loop'); b.perc('shaker'); b.perc('snaps', 1); b.bass('sub', '9.....7..8......', 31); b.bass('upright', walk=True, only=True, name='Bass Sample'); b.fx('crackle')
    b.inst('ep', 'EP'); b.inst('piano', 'Piano Chop', 'stab'); b.inst('section', 'String Sample', 'hold'); b.inst('mute', 'Mute Trumpet', 'fills'); b.inst('flute', 'Flute Loop', 'fills'); b.inst('gmclean', 'Gtr Sample', 'pick'); b.syn('lead'); b.inst('sybell'); b.syn('pad')
    b.rap('Verse', range(0, b.bars)); b.lead(b.women[0], 1, list(b.secs[0]), name='Hook', tuned=True); b.stack(3, True, name='Hook Stack'); b.adlib(); b.speech(whisper=True); b.gang('Crowd'); b.par(); b.fx('riser'); return b.rets(3).s
def t03_reggae():
    b = B(3, 'reggae', 74, prog=('A', 'minor', 'Am Dm G Em')); b.drums('forzee', 2, kick='........9.......', snare='........6.......', rim='........9.....5.', hhc='7.565.657.565.65', hho='..............7.'); [b.perc(k) for k in ('bongo', 'shaker', 'guiro', 'cabasa', 'timbale')]; b.bass('flat', '9..7..8...7.8.5.', amp=True)
    b.eg('skank', 'clean', name='Skank', only=False); b.eg('skank', 'crunch', name='Skank Double', only=False, fx='spring'); b.eg('single', 'clean', name='Pick Line', only=False); b.inst('organ', 'Bubble', 'stab', False); b.inst('piano', 'Piano Skank', 'stab', False); b.inst('clav', 'Clav'); b.inst('squeeze', 'Melodica', 'tune'); b.inst('pan', 'Steel Pan'); b.inst('trumpet', style='stabline'); b.inst('trombone', style='stabline'); b.inst('tenor', style='line'); b.inst('alto', style='line'); b.syn('lead')
    b.lead(b.men[1], dbl=True); b.stack(3); b.speech('Toast'); b.ooh(); b.fx('sweep'); b.par(); return b.rets(4).s
def t04_house():
    b = B(4, 'house and techno', 125, prog=PROG[8]); b.machine('9...9...9...9...', None, '..8...8...8...8.', '..9...9...9...9.', '....9.......9...', 2, ('rim', 'cowbell', 'conga', 'tom', 'shaker')); b.loop('house'); b.loop(name='Perc Loop'); b.A('Hat Ride', b.ehit('hho', '9.9.9.9.9.9.9.9.', list(b.secs[0])), 'hat', only=True); b.perc('conga'); b.perc('glass'); b.perc('agogo'); b.bass('synth', '..9...9...9..99.', 30); b.bass('acid', '9.79.7.99.7.9.77', 36, name='Acid Bass', only=True); b.bass('sub', '..9...9...9...9.', 31)
    b.syn('stab'); b.syn('pluck'); b.syn('arp'); b.syn('pad'); b.syn('lead', only=True); b.inst('sypad', 'Pad GM'); b.inst('sylead', 'Lead GM'); b.inst('piano', 'House Piano', 'stab'); b.inst('organ', 'Organ Stab', 'stab'); b.inst('section', 'Disco Strings', 'line'); b.inst('syvox'); b.inst('mallet')
    b.lead(b.women[1], 1.2, list(b.secs[0]), rest=.3); b.chops(); b.robot(); b.speech(); b.ooh('A'); b.fx('riser'); b.fx('impact'); b.par(); return b.rets(4).s
def t05_country():
    b = B(5, 'country', 104, swing=.06, prog=PROG[2], mode='penta'); b.drums('colombo', 2, kick='9.....7.9.......', snare='..5.8.5...5.8.5.', hhc='7.5.7.5.7.5.7.5.', ride=('8.5.8.5.8.5.8.5.', range(8, 16))); b.perc('tamb'); b.perc('shaker'); b.bass('finger', '9.......7.......', amp=True)
    b.ag('strum', 'steel', 'pickup', only=False); b.ag('strum', 'twelve', double=True); b.ag('pick', 'steel', 'mic'); b.ag('slide', 'steel', name='Dobro') if False else None; b.inst('banjo', style='pick'); b.inst('mandolin', style='comp'); b.eg('lead', 'clean', name='Twang', fx='spring'); b.eg('slide', 'clean', name='Lap Steel') if False else b.inst('gmclean', 'Lap Steel', 'hold'); b.eg('strum', 'crunch', name='Tele'); b.inst('violin', 'Fiddle', 'tune'); b.inst('violin', 'Fiddle Two', 'fills'); b.inst('piano', 'Tack Piano'); b.inst('organ'); b.inst('harmonica'); b.inst('squeeze', 'Accordion')
    k = b.kstr('steel', 'dobro'); q = b.g.melody('dob', 55, 74); b.A('Dobro', near(sound.body(b.slide(k, q, 'd'), b.fs, 'banjo'), b.fs, .1), 'acoustic guitar'); k = b.kstr('single', 'lap'); b.A('Steel Slide', b.s.amp(sound.pickup(b.slide(k, b.g.hold(60, 2), 'l'), b.fs, 1), 4, 'open', 'lap'), 'electric guitar')
    b.lead(b.women[2], dbl=True); b.stack(3); b.speech('Intro Talk'); return b.rets(3).s
def t06_bigband():
    b = B(6, 'jazz and big band', 150, swing=.3, prog=('F', 'major', 'F Dm Gm C'), color='7'); b.drums('multi2', 2, kick='6...6...6...6...', snare='..4...5.....5.4.', hhp='....8.......8...', ride='8..68..68..68..6'); b.perc('conga'); b.bass('upright', walk=True, amp=True)
    for c in ('trumpet', 'trumpet', 'trumpet', 'mute', 'trombone', 'trombone', 'tuba', 'alto', 'alto', 'tenor', 'tenor', 'bari', 'clarinet', 'horn'): b.inst(c, style=b.one('stabline', 'line', 'tune', 'long'))
    b.inst('brass', 'Brass Section', 'stab'); b.inst('flute', style='fills'); b.inst('piano', style='comp'); b.inst('mallet', 'Vibes', 'tune'); b.inst('gmclean', 'Jazz Guitar', 'comp'); b.eg('pick', 'clean', name='Archtop', fx=''); b.ag('strum', 'steel', name='Rhythm Guitar')
    b.lead(b.women[0], 1.1, rest=.25); b.stack(4, chordal=True); b.ooh('u'); b.A('Room Pair', space(b.s.total(*b.by['horns'][:8]), b.fs, 1.0, 6000, 12, 'bb'), 'horns', only=False); return b.rets(2).s
def t07_synthpop():
    b = B(7, 'synth-pop', 116, prog=PROG[10]); b.machine('9...9...9...9...', '....9.......9...', '8686868686868686', '..............8.', '....8.......8...', 1, ('tom', 'cowbell', 'rim', 'tom')); b.loop('opl:0'); b.perc('tamb'); b.perc('claps'); b.bass('syn', '9.99.9.99.99.9.9'); b.bass('synth', '99.9.99.99.9.99.', only=True, name='Bass Octave')
    for k in ('arp', 'pad', 'lead', 'pluck', 'brass', 'stab'): b.syn(k)
    for c in ('sypad', 'sylead', 'sybrass', 'sybell', 'syvox', 'sypad', 'sybell'): b.inst(c)
    b.inst('ep'); b.inst('bells'); b.inst('section', 'Strings'); b.eg('single', 'clean', name='Mute Guitar', fx='chorus'); b.eg('pick', 'clean', name='Chorus Guitar', fx='chorus'); b.inst('gmmute'); b.inst('sop', style='tune')
    b.lead(b.men[2], .8, dbl=True); b.stack(4, True); b.robot(False); b.robot(True); b.ooh('O'); b.speech(whisper=True); b.fx('impact'); b.par(); return b.rets(3).s
def t08_metal():
    b = B(8, 'metal', 165, prog=('E', 'minor', 'Em C D Am')); b.drums('pacific', 3, kick='9999999999999999|9.99.99.9.99.99.', snare='....9.......9...', hho=('9...9...9...9...', range(0, 8)), ride=('9.9.9.9.9.9.9.9.', range(8, 20))); b.perc('taiko', 1); b.bass('kspick', '9999999999999999', amp=True); b.bass('synth', '9...............', only=True, name='Bass Drop')
    b.eg('power', 'high', True, only=False, name='Gtr Heavy'); b.eg('riff', 'high', True, only=False, name='Gtr Chug', lo=40); b.eg('power', 'fuzz', name='Gtr Fuzz', di=True); b.eg('lead', 'high', name='Gtr Solo'); b.eg('trem', 'high', name='Gtr Trem'); b.eg('pick', 'clean', name='Gtr Intro', fx='chorus'); b.eg('riff', 'di', name='Gtr DI', only=False); b.ag('pick', 'nylon', only=True); b.inst('section', 'Strings', 'hold'); b.inst('church', 'Church Organ', 'hold'); b.syn('pad'); b.inst('horn', 'Horns', 'long')
    b.lead(b.men[0], 1.9, dirt=5.0, dbl=True); b.A('Growl', np.tanh(9 * unit(b.s.say([(k * b.g.bar, b.words(3)) for k in range(1, b.bars, 2)], voice='en-us+croak', pitch=5, speed=150))), 'lead vocal', only=True); b.lead(b.women[1], 1.3, list(b.secs[0]), name='Clean Vox'); b.gang(); b.choir((('High', 1, 'w'), ('Low', -2, 'm')), 3, vowel='A', far=False); b.stack(2); b.fx('impact'); b.par(); return b.rets(3).s
def t09_rnb():
    b = B(9, 'R&B', 72, swing=.08, prog=PROG[5], color='M7'); b.machine('9.....7...9.....|9..9......9..7..', '....9.......9...', '7.757.757.757757', '.......7........', None, 2, ('rim', 'conga', 'tom')); b.loop('gmb:24'); b.perc('snaps', 0); b.perc('claps'); b.perc('triangle'); b.perc('vibraslap'); b.bass('fretless', '9.....7...8.....'); b.bass('sub', '9.....7...8.....', 31, only=True)
    b.inst('ep', only=False); b.inst('ep', 'EP Two', 'pick'); b.inst('piano', style='pick'); b.inst('organ'); b.inst('harp', style='pick'); b.inst('section', style='hold'); b.inst('pizz'); b.inst('flute'); b.inst('sop', 'Soprano Sax', 'fills'); b.ag('pick', 'nylon', 'mic'); b.eg('single', 'clean', name='Gtr Lick', fx='wah'); b.eg('pick', 'clean', name='Gtr Arp', fx='chorus'); b.syn('pad'); b.syn('lead'); b.inst('sybell'); b.inst('sypad')
    b.lead(b.women[0], .9, busy=1.6, dbl=True); b.adlib(); b.adlib(); b.stack(4, True); b.stack(3, vowel='u', name='Ooh'); b.ooh('A'); b.speech(whisper=True); b.rap('Feature', b.secs[3], double=False, only=True); b.par(False, True); return b.rets(3).s
def t10_latin():
    b = B(10, 'Latin', 100, prog=('D', 'minor', 'Dm Gm A7 Dm')); [b.perc(k, .15) for k in ('conga', 'timbale', 'bongo', 'clave', 'guiro', 'cowbell', 'shaker', 'agogo', 'cuica', 'bellbar')]; b.drums('gmb:8', 1, kick='9.....9...9.....', rim='9..9..9...9.9...', hhc='7.7.7.7.7.7.7.7.'); b.bass('ksup', '9..9..9...9...9.', 28, amp=True)
    b.inst('piano', 'Montuno', 'pick', False); b.ag('strum', 'nylon', 'pickup', only=False); b.ag('lead', 'nylon', name='Requinto'); b.ag('percussive', 'nylon', name='Flamenco'); b.inst('gmnylon'); b.inst('trumpet', style='stabline'); b.inst('trumpet', style='line'); b.inst('mute'); b.inst('trombone', style='stabline'); b.inst('flute', style='tune'); b.inst('squeeze', 'Bandoneon'); b.inst('pan'); b.inst('mallet', 'Marimba'); b.inst('violin', style='line'); b.inst('organ', style='stab')
    b.lead(b.men[1], 1.3, rest=.3); b.stack(3, only=False, name='Coro', chordal=True); b.gang('Coro Shouts'); b.adlib(); return b.rets(3).s
def t11_orch():
    b = B(11, 'orchestral pop', 84, prog=PROG[0]); b.drums('multi', 1, kick='9.......9.......', snare='....7.......7...', ride=('7.5.7.5.7.5.7.5.', range(4, 12))); [b.perc(k, .5) for k in ('timpani', 'timpani', 'taiko', 'triangle', 'tamb')]; b.bass('finger', '9.......7.......', name='Electric Bass', amp=True); b.bass('upright', '9.......7.......', 28, name='Upright', only=True)
    for c, st in (('violin', 'tune'), ('violin', 'line'), ('viola', 'long'), ('cello', 'long'), ('contrabass', 'long'), ('section', 'hold'), ('section', 'tune'), ('section', 'stabline'), ('pizz', 'pick'), ('harp', 'pick'), ('horn', 'long'), ('trumpet', 'long'), ('trombone', 'long'), ('tuba', 'long'), ('oboe', 'tune'), ('clarinet', 'line'), ('bassoon', 'line'), ('flute', 'tune'), ('flute', 'fills'), ('bells', 'pick'), ('mallet', 'pick'), ('piano', 'pick'), ('church', 'hold')): b.inst(c, style=st)
    b.A('String Room', space(b.s.total(*b.by['strings'][:6]), b.fs, 1.6, 7000, 18, 'orch'), 'strings'); b.ag('pick', 'steel'); b.inst('bells', 'Tubular'); b.syn('pad')
    b.lead(b.women[1], 1, dbl=True); b.choir(size=2, vowel='A', far=True); b.fx('impact'); return b.rets(3).s
def t12_choir():
    b = B(12, 'choir piece', 76, beats=3, prog=PROG[5]); b.inst('church', 'Organ', 'hold', False, True); b.inst('piano', style='pick', only=False); b.inst('cello', style='long'); b.inst('harp'); b.inst('oboe', style='tune'); b.inst('horn', style='long'); b.perc('timpani'); b.perc('triangle'); b.perc('claps'); b.bass('upright', '9.......7.......', name='Double Bass')
    b.choir(size=3, only=False, splits=True); b.choir((('Children', 1, 'w'), ('Men', -2, 'm')), 3, vowel='O', far=False); b.lead(b.women[0], 1.3, name='Soprano Solo', rest=.25); b.lead(b.men[0], 1.3, list(b.secs[2]), name='Tenor Solo'); b.stack(4, chordal=True, name='Quartet', only=False); b.ooh('u'); b.ooh('A', 'Hum'); b.speech('Reader'); b.gang('Responses'); b.par(False); q = b.by['backing vocal'][:6]; b.A('Choir Press', smash(b.s.total(*q), b.fs), 'backing vocal', q, 'parallel'); return b.rets(3).s
def t13_folk():
    b = B(13, 'folk circle', 112, beats=3, prog=PROG[1]); [b.perc(k, .2) for k in ('djembe', 'cajon', 'tamb', 'shaker', 'dunun', 'block', 'glass')]; b.bass('ksup', '9.......7...', amp=True)
    b.ag('strum', 'steel', 'mic', only=False); b.ag('pick', 'nylon', 'pickup'); b.ag('strum', 'uke'); b.ag('pick', 'twelve'); b.ag('percussive', 'steel', name='Perc Guitar'); b.inst('banjo'); b.inst('mandolin', style='tune'); b.inst('sitar'); b.inst('koto', 'Dulcimer'); b.inst('kalimba'); b.inst('violin', 'Fiddle', 'tune'); b.inst('cello', style='long'); b.inst('pipe', 'Whistle', 'tune'); b.inst('pipe', 'Pan Flute'); b.inst('flute', 'Recorder', 'fills'); b.inst('drone', 'Bagpipe'); b.inst('squeeze', 'Accordion'); b.inst('harmonica'); b.inst('church', 'Reed Organ', 'hold')
    k = b.kstr('steel', 'bj'); b.A('Banjo Fingers', near(sound.body(b.s.string(k, human(b.g.pick('01234210', 55), 'bj'), 'bj'), b.fs, 'banjo'), b.fs, .1), 'acoustic guitar')
    b.lead(b.men[3], .9); b.lead(b.women[1], .8, list(b.secs[1]), name='Second Lead'); b.stack(5, name='Circle'); b.gang('Circle Shouts'); b.ooh('V'); return b.rets(2).s
def t14_funk():
    b = B(14, 'funk', 106, prog=('E', 'minor', 'Em A D Em'), color='9', mode='mpenta'); b.drums('pat:0', 2, kick='9..9..7..6......|9..9.....76.....', snare='....9..4.4..9..5', hhc='8565856585658565', hho='......8.........'); [b.perc(k) for k in ('conga', 'cowbell', 'tamb', 'cabasa', 'vibraslap')]; b.bass('slap', '9.x9.x7.x.9.7x57', amp=True); b.bass('acid', '9..9..7.....9...', 30, only=True, name='Bass Envelope')
    b.eg('scratch', 'clean', name='Scratch', only=False); b.eg('single', 'crunch', name='Single Notes', only=False); b.eg('scratch', 'crunch', name='Wah', fx='wah'); b.inst('gmmute', 'Mutes'); b.eg('lead', 'fuzz', name='Fuzz Solo', only=True); b.inst('clav', only=False); b.inst('clav', 'Clav Two'); b.inst('ep'); b.inst('organ'); b.syn('lead'); b.syn('brass'); b.inst('sybrass')
    for c in ('trumpet', 'trumpet', 'alto', 'tenor', 'trombone', 'bari'): b.inst(c, style='stabline')
    b.inst('brass', 'Horn Section', 'stab'); b.inst('flute', style='fills'); b.lead(b.men[2], 1.5, busy=1.5, rest=.25); b.adlib(); b.stack(3, True); b.gang(); b.robot(False); b.par(); return b.rets(3).s
def t15_punk():
    b = B(15, 'punk', 182, prog=PROG[3]); b.drums('tim:16', 2, kick='9...9.9.9...9.9.', snare='....9.......9...', hho=('9.8.9.8.9.8.9.8.', range(12)), ride=('9.9.9.9.9.9.9.9.', range(12, 20))); b.perc('tamb'); b.perc('claps'); b.bass('kspick', '9999999999999999', amp=True); b.bass('finger', '9.9.9.9.9.9.9.9.', only=True, name='Bass Two')
    b.eg('power', 'crunch', True, only=False, name='Gtr'); b.eg('power', 'fuzz', name='Gtr Fuzz', only=False); b.eg('riff', 'crunch', name='Gtr Riff', lo=52); b.eg('lead', 'high', name='Gtr Lead', fx='echo'); b.eg('strum', 'crunch', name='Gtr Noise', fx='spring'); b.inst('gmdrive', 'Gtr Extra'); b.inst('organ', 'Combo Organ', 'comp'); b.inst('squeeze', 'Accordion'); b.inst('tenor', 'Sax', 'tune'); b.inst('piano', style='stab'); b.ag('strum', 'steel', only=True)
    b.lead(b.women[2], 1.9, dirt=2.5, dbl=True); b.lead(b.men[3], 1.7, list(b.secs[4]), name='Shout Vox', dirt=6.0); b.stack(3); b.gang(); b.gang('Gang Two'); b.ooh('ae', 'Whoas'); b.speech('Count In'); b.par(); return b.rets(2).s
def t16_songwriter():
    b = B(16, 'singer-songwriter', 78, prog=PROG[4], color='add9'); b.drums('tim:40', 1, kick='9.......6.......', snare='4.4.7.4.4.4.7.44', ride=('6.....4.6...4...', range(4, 10)), fill=False); [b.perc(k) for k in ('shaker', 'cajon', 'glass')]; b.machine('9.......9.......', None, '6.4.6.4.6.4.6.4.', None, None, 1, ('rim',)); b.bass('flat', '9.......7.....5.', amp=True)
    b.ag('pick', 'steel', 'pickup', only=False); b.ag('strum', 'nylon', double=True); b.ag('pick', 'twelve'); b.inst('gmsteel'); b.eg('hold', 'clean', name='Gtr Swells', fx='trem'); b.eg('pick', 'clean', name='Gtr Echo', fx='echo'); b.inst('gmclean', 'Gtr Warm'); b.inst('piano', style='pick', only=False); b.inst('bells', 'Celesta'); b.inst('bells', 'Glock'); b.inst('ep'); b.inst('church', 'Harmonium', 'hold'); b.inst('cello', style='long'); b.inst('viola', style='long'); b.inst('violin', style='line'); b.inst('clarinet', style='tune'); b.inst('horn', style='long'); b.inst('sypad'); b.syn('pad'); b.inst('harmonica'); b.inst('pipe', 'Ocarina')
    b.lead(b.men[1], .6, dbl=True); b.stack(2); b.stack(2, vowel='u', name='Ooh', only=True); b.ooh('u'); b.speech(whisper=True); return b.rets(3).s


_all = {k: v for k, v in globals().items() if k[:1] == 't' and k[1:3].isdigit()}
for _k, _v in _all.items(): globals()[_k[:3]] = _v
ORDER = ['t%02d' % i for i in range(1, 17)]
