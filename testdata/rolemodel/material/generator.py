"""A random session from a seed: genre, song, players, microphones, processing, names.

Material comes in two pools without common sound banks, kits or voices: pool A for training, pool B for sessions held out.
"""
import numpy as np
from tools import *
import banks, compose, drums, names, physical, plucked, synths, voices
from compose import loosen, only
from session import Session

# genre: groove, tempo range, modes, sevenths, swing, then how many of: drums kind, perc, bass, electric, acoustic, keys, synth, strings, horns, lead, backing, fx
GENRES = dict(
    rock=('rock', (96, 148), ['ionian', 'mixolydian', 'aeolian'], .05, 0, 'full', (0, 3), 'pick', (3, 7), (0, 2), (0, 2), (0, 1), 0, 0, (1, 3), (1, 5), (1, 4)),
    heavy=('half', (84, 170), ['aeolian', 'phrygian'], 0, 0, 'full', (0, 1), 'pick', (5, 8), (0, 1), 0, (0, 3), (0, 1), 0, (1, 3), (0, 4), (1, 4)),
    punk=('punk', (150, 180), ['ionian', 'mixolydian'], 0, 0, 'full', (0, 2), 'pick', (3, 6), 0, (0, 1), (0, 1), 0, (0, 1), (1, 3), (2, 6), (0, 2)),
    funk=('funk', (92, 116), ['dorian', 'mixolydian'], .7, .04, 'full', (2, 5), 'slap', (2, 4), 0, (2, 4), (1, 3), 0, (2, 5), (1, 3), (2, 5), (1, 3)),
    soul=('rock', (68, 104), ['ionian', 'dorian'], .6, .1, 'small', (1, 4), 'finger', (1, 3), (0, 1), (2, 4), 0, (1, 4), (2, 5), (1, 3), (3, 8), (1, 3)),
    disco=('disco', (112, 128), ['dorian', 'aeolian'], .4, 0, 'full', (2, 5), 'finger', (1, 3), (0, 1), (1, 3), (2, 4), (1, 4), (1, 4), (1, 3), (3, 6), (1, 4)),
    edm=('disco', (118, 132), ['aeolian', 'dorian'], .1, 0, 'machine', (2, 5), 'synth', (0, 1), 0, (1, 2), (6, 11), (0, 1), 0, (1, 2), (2, 6), (3, 6)),
    hiphop=('boombap', (82, 98), ['dorian', 'aeolian'], .5, .14, 'machine', (1, 4), 'sub', (0, 2), (0, 1), (2, 4), (2, 5), (0, 2), (0, 3), (2, 5), (2, 6), (2, 5)),
    trap=('trap', (66, 78), ['aeolian', 'phrygian'], .1, 0, 'machine', (1, 4), 'sub', (0, 1), (0, 1), (1, 2), (4, 7), (0, 2), (0, 2), (2, 5), (2, 7), (2, 5)),
    jungle=('dnb', (165, 176), ['aeolian', 'dorian'], .4, 0, 'machine', (1, 4), 'synth', 0, 0, (1, 3), (5, 9), (0, 2), 0, (1, 2), (1, 4), (2, 5)),
    folk=('train', (88, 132), ['ionian', 'mixolydian', 'dorian'], .05, 0, 'small', (1, 4), 'upright', (0, 2), (3, 7), (1, 3), 0, (1, 4), (0, 3), (1, 3), (2, 6), (0, 2)),
    jazz=('jazz', (110, 180), ['ionian', 'dorian'], .9, .3, 'small', (0, 2), 'walk', (1, 2), (0, 1), (1, 3), 0, (0, 2), (3, 7), (1, 2), (0, 3), (0, 2)),
    latin=('latin', (88, 124), ['dorian', 'aeolian', 'ionian'], .5, 0, 'small', (4, 8), 'finger', (0, 2), (1, 3), (2, 3), (0, 1), (0, 2), (3, 6), (1, 3), (2, 6), (0, 3)),
    ballad=('ballad', (62, 84), ['ionian', 'aeolian', 'lydian'], .3, 0, 'full', (0, 3), 'finger', (1, 3), (1, 3), (2, 4), (1, 3), (2, 6), (0, 4), (1, 3), (3, 8), (2, 5)),
    country=('train', (96, 134), ['ionian', 'mixolydian'], .05, .06, 'full', (0, 2), 'finger', (2, 5), (3, 6), (1, 3), 0, (0, 2), (0, 1), (1, 3), (2, 5), (1, 3)),
    film=('half', (66, 100), ['aeolian', 'lydian', 'phrygian'], .1, 0, 'none', (2, 6), 'synth', (0, 2), (0, 1), (1, 3), (3, 6), (5, 10), (3, 7), (0, 1), (1, 5), (2, 5)),
    island=('reggae', (68, 92), ['aeolian', 'dorian', 'ionian'], .3, .1, 'small', (2, 5), 'finger', (2, 4), (0, 2), (2, 4), (0, 2), 0, (2, 4), (1, 3), (2, 5), (2, 4)),
    synthpop=('disco', (100, 126), ['aeolian', 'ionian'], .1, 0, 'machine', (1, 4), 'synth', (1, 3), (0, 1), (0, 2), (5, 9), (0, 2), (0, 1), (1, 3), (2, 6), (2, 4)))
ORDER = ['funk', 'rock', 'edm', 'folk', 'hiphop', 'ballad', 'heavy', 'latin', 'soul', 'synthpop', 'country', 'disco', 'jazz', 'trap', 'film', 'punk', 'island', 'jungle']
COLOURS = ['amber', 'cobalt', 'ochre', 'umber', 'russet', 'teal', 'indigo', 'saffron', 'sienna', 'fawn', 'lilac', 'moss', 'coral', 'slate', 'ivory', 'plum']
POOL = dict(
    A=dict(bank='fluid', kits=['forzee', 'bja', 'millo2', 'fluid:0', 'fluid:16', 'fluid:8'], machines=['synth', 'haus', 'tek', 'fat', 'synth', 'fluid:25', 'fluid:24'], engines=('espeak', 'flite', 'words'), tongues=('en', 'de', 'da', 'ca', 'wa', 'gl'), recorded=False, synth=('ladder', 'fm', 'saws', 'sub', 'wave'), hands=('bongos', 'cajon', 'clave', 'claps', 'maracas', 'djembe', 'agogo', 'tambourine2', 'tabla', 'cowbell2', 'snap2'), loops=('loop_breakbeat', 'loop_mika', 'loop_compus', 'loop_perc1', 'loop_tabla')),
    B=dict(bank='muse', kits=['pearl', 'millo3', 'colombo', 'pi', 'muse:0'], machines=['zome', 'klub', 'dist', 'boom', 'muse:24', 'synth'], engines=('festival', 'words'), tongues=('fr', 'uk', 'lt', 'sl', 'el'), recorded=True, synth=('pwm', 'additive', 'tri', 'wave', 'sub', 'saws'), hands=('cowbell', 'snaps', 'tambourine', 'woodblock', 'glasses', 'dunun', 'sangban', 'tambfoot', 'triangle', 'clap3', 'bell', 'wood'), loops=('loop_amen', 'loop_garzul', 'loop_industrial', 'loop_perc2', 'loop_safari')))


class Builder:
    def __init__(b, seed, pool):
        b.seed, b.pool, b.P = seed, pool, POOL[pool]; r = b.r = rng('session', seed); b.genre = ORDER[(seed - 1) % len(ORDER)]; g = b.g = GENRES[b.genre]; b.raw = r.random() < .4; fs = int(r.choice([44100, 48000])); b.fs = fs
        song = b.song = compose.Song((seed, b.genre), float(r.uniform(*g[1])), g[2], g[0], g[3], g[4], 3 if g[0] in ('ballad', 'jazz') and r.random() < .3 else 4, r.uniform(25.5, 33)); b.about = []
        b.s = Session('x%02d_%s_%s' % (seed, b.genre, COLOURS[seed % len(COLOURS)]), fs, song, str(r.choice(['print', 'mix'])), '', str(r.choice(['PCM_24', 'PCM_24', 'PCM_16', 'FLOAT'])), names.Namer(seed)); b.n = b.s.n
        b.hiss = float(r.uniform(-86, -66)); b.hum = r.random() < .3; b.words = 0; b.H = sorted(song.high); b.secondary = lambda: r.random() < .3

    def count(b, i): q = b.g[i]; return int(b.r.integers(q[0], q[1] + 1)) if isinstance(q, tuple) else int(q)

    def treat(b, x, role):
        """What happened to a take: nothing, tone, compression, saturation, narrow band, hum."""
        r, fs = b.r, b.fs; x = unit(x) if peak(x) > 1e-9 else x
        if b.hum and role in ('electric guitar', 'bass') and r.random() < .5: t = np.arange(len(x)) / fs; h = sum(np.sin(2 * np.pi * 50 * k * t) / k for k in (1, 2, 3, 5, 7)) * db(-r.uniform(48, 62)); x = x + (h if x.ndim == 1 else h[:, None])
        if r.random() < (.35 if b.raw else .85):
            x = shelf(shelf(x, fs, r.uniform(90, 350), r.normal(0, 2.2), False), fs, r.uniform(2500, 8000), r.normal(0, 2.5))
            if r.random() < .5: x = bell(x, fs, float(np.exp(r.uniform(np.log(150), np.log(6000)))), r.normal(0, 3), r.uniform(.5, 2.5))
            if role not in ('kick', 'bass', 'tom', 'room', 'drums') and r.random() < .5: x = lowcut(x, fs, r.uniform(50, 160))
        if r.random() < (.1 if b.raw else .4): x = compress(x, fs, r.uniform(3, 12), r.uniform(2, 6), r.uniform(1, 30), r.uniform(50, 250))
        if r.random() < (.05 if b.raw else .2): x = drive(x, str(r.choice(['tape', 'tube', 'diode'])), r.uniform(-6, 7))
        if r.random() < .06: x = highcut(x, fs, r.uniform(5000, 12000))
        return x

    def add(b, what, x, role, sec=False, mic=True, **k):
        if mic and 'noise' not in k and b.r.random() < .7: k['noise'] = b.hiss + b.r.normal(0, 4)
        if sec: k['section_only'] = True
        if b.r.random() < .025: k['polarity_flipped'] = True; x = -x
        if b.r.random() < .02 and not sec: k['ends'] = float(b.r.uniform(.7, .95))
        what = (what,) if isinstance(what, str) else what
        return b.s.add(what, b.treat(x, role), role, **k)

    def two(b, what, x, role, sec=False, split=.3, **k):
        """Stereo sound: one stereo file, two mono files, or mixed to mono."""
        q = b.r.random(); k['noise'] = k.get('noise', b.hiss + 4 * b.r.normal()) if b.r.random() < .6 else None; k = {a: v for a, v in k.items() if v is not None}
        if sec: k['section_only'] = True
        x = b.treat(stereo(x), role)
        if rms(x[:, 0] - x[:, 1]) < .02 * rms(x): return b.s.add((what,), x[:, 0], role, **k)
        if q < split: return b.s.split((what,), x, role, **k)[0]
        return b.s.add((what,), x if q < .85 else x.mean(1), role, **k)

    def gm(b, prog, notes, **k): return banks.gm(b.P['bank'], prog, notes, b.fs, b.n, key=(b.seed, prog, len(b.s.tr)), **k)
    def nearby(b, x): return x + reverb(mono(x), b.fs, str(b.r.choice(['booth', 'room', 'booth', 'chamber'])), int(b.r.integers(5)))[:, :1 if x.ndim == 1 else 2].reshape(x.shape) * b.r.uniform(.02, .3)

    # ------------------------------------------------------------ rhythm
    def drums(b):
        kind, r, s, song, fs, n = b.g[5], b.r, b.s, b.song, b.fs, b.n
        if kind == 'none': return
        pieces = list(drums.PIECES) if kind != 'machine' else ['kick', 'snare', 'rim', 'hat', 'open', 'tom3', 'crash']; ev = song.kit(pieces, 'k'); kit = str(r.choice(b.P['kits' if kind != 'machine' else 'machines'])); K = drums.Kit(ev, fs, n, '%d' % b.seed, [kit, b.P['bank'] + ':0']); b.K = K; b.about.append('kit ' + kit); got = []
        if kind == 'machine':
            for p, w, role in (('kick', 'kick', 'kick'), ('snare', 'snare', 'snare'), ('hat', 'hat', 'hat'), ('open', 'hat', 'hat'), ('tom3', 'toms', 'tom'), ('crash', 'crash', 'cymbal')):
                x = K.piece(p)
                if peak(x) > 1e-5: got.append(b.add((w, 'Open') if p == 'open' else w, stereo(x) + .3 * reverb(x, fs, 'room', 'm') if r.random() < .2 else x, role, mic=False))
            if r.random() < .6: K2 = drums.Kit({p: ev[p] for p in ('kick', 'snare') if p in ev}, fs, n, '%d layer' % b.seed, [str(r.choice(b.P['machines'])), b.P['bank'] + ':25']); got.append(b.add(('kick', 'Layer'), K2.piece('kick'), 'kick', mic=False)); got.append(b.add(('snare', 'Layer'), K2.piece('snare'), 'snare', mic=False))
            if r.random() < .7: b.two(('loop'), b.loop(str(r.choice(b.P['loops'][:3]))), 'drums', split=.1)
            b.kitfiles = [f for f in got if f]
        else:
            got.append(b.add('kickin' if r.random() < .5 else 'kick', K.close('kick'), 'kick'))
            if kind == 'full' or r.random() < .4: got.append(b.add('kickout', K.close('kickout'), 'kick'))
            if r.random() < .2: b.add('sub', K.sub(), 'kick', src=got[0], kind='copy')
            if r.random() < .25: b.add('ktrig', K.trigger('kick'), 'kick', mic=False, src=got[0], kind='copy')
            sn = b.add('snare', K.close('snare'), 'snare'); got.append(sn)
            if kind == 'full' or r.random() < .4: b.s.add(('under',), b.treat(K.close('under'), 'snare'), 'snare', noise=b.hiss, **(dict(polarity_flipped=True) if r.random() < .7 else {}))
            if r.random() < .2 and 'snare' in K.x: b.add('strig', K.trigger('snare'), 'snare', mic=False, src=sn, kind='copy')
            if kind == 'full' or r.random() < .7: b.add('hat', K.close('hat'), 'hat')
            toms = [t for t in ('tom1', 'tom2', 'tom3') if t in K.x]
            if toms and r.random() < .8: [b.add(t, K.close(t), 'tom') for t in toms]
            elif toms: b.two('toms', np.column_stack([K.close(toms[0]), K.close(toms[-1])]), 'tom')
            if 'ride' in K.x and r.random() < .5: b.add('ride', K.close('ride'), 'cymbal')
            oh = b.two('oh', K.over(), 'overhead', split=.55); got.append(oh)
            if oh and (p := next((p for p in s.pairs if oh in p), None)): got.append(p[1])
            if r.random() < .75: b.two('room', K.room(crush=r.random() < .4), 'room', split=.4)
            if r.random() < .4: b.add('mono', K.room('chamber', r.random() < .5, True), 'room')
            if r.random() < .2: b.add('front', K.front(), 'room')
            b.kitfiles = [f for f in got if f]
        if r.random() < .55 and b.kitfiles: x = s.total(b.kitfiles); b.s.add(('crush',), drive(compress(x, fs, 24, 10, r.uniform(.5, 10), r.uniform(40, 160)), str(r.choice(['tape', 'tube', 'diode'])), r.uniform(4, 14)), 'drums', src=b.kitfiles, kind='parallel')
        if r.random() < .25 and kind == 'full': b.two('loop', b.loop(str(r.choice(b.P['loops'][:3]))), 'drums', sec=True)

    def loop(b, name):
        """A recorded loop, cut into eighths and laid on the grid of the song."""
        x = banks.load(banks.ONESHOTS + name + '.flac', b.fs, False); song, r = b.song, b.r; slices = 8; L = len(x) // slices; y = np.zeros(b.n); per = song.bar / 8; fade = np.minimum(1, np.arange(L + 400)[::-1] / 400)
        for bar in (range(song.nbars) if r.random() < .5 else b.H):
            for i in range(8): k = i if r.random() < .9 else int(r.integers(8)); q = x[k * L:(k + 1) * L + 400]; q = q[:int(per * b.fs)]; add(y, q * fade[-len(q):], int((bar * song.bar + i * per) * b.fs))
        return sweepable(y, b.fs, r.uniform(2500, 9000), .8) if r.random() < .3 else y

    def percussion(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n; grids = ['7353735373537353', '..6.8.6...6.8.6.', '....8.......8...', '9..7..7.9..7..7.', '7.5.6.5.7.5.6.55', '..8...8...8...8.', '8.....7.......6.', '9.......7.......', '6464646464646464', '..7..7..7..7..7.']
        for i in range(b.count(6)):
            sec = r.random() < .35; bars = b.H if sec else None; q = r.random()
            if q < .1: b.two('loop', b.loop(str(r.choice(b.P['loops'][3:]))), 'percussion', sec=False); continue
            if q < .6: nm = str(r.choice(b.P['hands'])); y = sum((banks.hits(L, song.beats_on(str(r.choice(grids)), bars, nm + str(k)), fs, n, nm + str(k)) for k, L in enumerate(banks.HANDS[nm])), np.zeros(n))
            else:
                nm = str(r.choice(list(banks.GMPERC))); ns = [compose.Note(t, .3, m, v) for k, m in enumerate(banks.GMPERC[nm]) for t, v in song.beats_on(str(r.choice(grids)), bars, nm + str(k))]; y = b.gm(0, ns, drums=True)
                if r.random() < .8: y = y.mean(1)
            nm = nm.rstrip('0123456789').capitalize(); y = b.nearby(y)
            if y.ndim == 1: b.add(nm, y, 'percussion', sec)
            else: b.two(nm, y, 'percussion', sec)

    def bass(b):
        r, song, fs, n, kind = b.r, b.song, b.fs, b.n, b.g[7]; notes = loosen(song.walking(28) if kind == 'walk' else song.bassline(lo=int(r.integers(26, 33))), b.seed, .006)
        if kind in ('synth', 'sub'):
            p = synths.patch(r, 'bass'); p['arch'] = 'sub' if kind == 'sub' and r.random() < .6 else str(r.choice([a for a in b.P['synth'] if a in ('ladder', 'fm', 'tri', 'saws', 'sub')])); f = b.add('synbass', mono(synths.play(p, notes, fs, n, 'bass')), 'bass', mic=False)
            if r.random() < .5: b.add('basssub', highcut(mono(synths.play(dict(p, arch='sub', fx='none'), notes, fs, n, 's')), fs, 140, 3), 'bass', mic=False)
            if r.random() < .4: b.add('bassdist', drive(lowcut(b.s.get(f), fs, 120), 'fold' if r.random() < .3 else 'clip', 12), 'bass', mic=False, src=f, kind='copy')
            if r.random() < .6: return
        up = kind in ('upright', 'walk')
        if r.random() < .5: x = mono(b.gm(32 if up else int(dict(pick=34, slap=r.choice([36, 37]), finger=r.choice([33, 35, 33])).get(kind, 33)), [q._replace(m=q.m) for q in notes]))
        else:
            g = plucked.make('upright' if up else 'bass', r)
            if kind == 'pick': g.update(hard=3500, pick=.1, bright=.2)
            x = plucked.play(g, notes, fs, n, 'b', mute=None if kind != 'pick' or r.random() < .6 else .35)
            x = plucked.wood(x, fs, r, 'bass') if up else x if kind != 'slap' else drive(lowcut(x, fs, 40), 'tube', 3) + .3 * lowcut(drive(x, 'clip', 14), fs, 1800)
        di = plucked.weight(highcut(x, fs, r.uniform(1200, 5000), 1), fs, r.uniform(.3, .85)); f = b.add('upright' if up else 'bassdi', di, 'bass')
        if r.random() < .7: b.add('bassmic' if up else 'bassamp', b.nearby(shift(x, 60)) if up else plucked.weight(plucked.amplifier(di, fs, r.uniform(0, 20), 'bass%d' % b.seed, True), fs, r.uniform(.2, .8)), 'bass', src=f, kind='copy')
        if r.random() < .2: b.add('bassdist', plucked.amplifier(lowcut(di, fs, 150), fs, 35, 'bd%d' % b.seed), 'bass', src=f, kind='copy', mic=False)

    # ------------------------------------------------------------ guitars
    def electric(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n; left = b.count(8); heavy = b.genre in ('heavy', 'punk', 'rock'); first = True
        while left > 0:
            way = str(r.choice(['chug', 'power', 'strum', 'arp', 'solo', 'scratch', 'skank', 'octave', 'swell', 'riff'], p=[.2, .25, .1, .08, .15, 0, 0, .07, .05, .1] if heavy else [.02, .04, .16, .16, .14, .16 if b.genre in ('funk', 'disco', 'soul') else .04, .2 if b.genre == 'island' else .04, .08, .08, .12] / np.sum([.02, .04, .16, .16, .14, .16 if b.genre in ('funk', 'disco', 'soul') else .04, .2 if b.genre == 'island' else .04, .08, .08, .12])))
            sec = r.random() < .35; bars = b.H if sec else None; mute = None; vib = bend = 0.0; gain = r.uniform(0, 18); lo = int(r.integers(40, 46)); grid = str(r.choice(compose.COMPS)); nm = 'eg'
            if way == 'chug': notes = song.chordal(str(r.choice(['9.7777779.777777', '9.7.7.7.9.7.7.7.', '9.77..779.77..99', '99.99.99.99.99.9'])), lo - int(r.integers(0, 5)), 2, bars, power=True); mute = r.uniform(.15, .4); gain = r.uniform(24, 45); nm = 'heavy'
            elif way == 'power': notes = song.chordal(grid.replace('x', '.'), lo - 2, 3, bars, strum=.006, power=True); gain = r.uniform(16, 42); nm = 'heavy'
            elif way == 'strum': notes = song.chordal(grid, lo + 5, int(r.integers(4, 6)), bars, strum=r.uniform(.006, .02)); mute = 'scratch'; nm = 'rhythm'; gain = r.uniform(0, 24)
            elif way == 'arp': notes = song.broken(lo + 8, bars, way + str(left), int(r.choice([8, 16, 12])), 5, 3); nm = 'clean'; gain = r.uniform(0, 10)
            elif way in ('solo', 'riff'): notes = song.tune(way + str(left), 57 if way == 'riff' else 62, 72 if way == 'riff' else 86, bars, r.uniform(.7, 1.8)); vib, bend = r.uniform(.1, .4), r.uniform(0, .4); gain = r.uniform(4, 38); nm = 'solo'
            elif way == 'octave': ns = song.tune('o', 55, 70, bars); notes = ns + [q._replace(m=q.m + 12) for q in ns]; gain = r.uniform(0, 22); nm = 'eg'
            elif way == 'swell': notes = song.held(lo + 10, 3, bars); gain = r.uniform(4, 20); nm = 'eg'
            else: notes = song.chordal('9x7x9x.79x7x.9x7' if way == 'scratch' else '....9.......9...' if r.random() < .5 else '..9...9...9...9.', 60, 3 + int(r.integers(2)), bars, strum=.004, length=.12); mute = 'scratch'; nm = 'rhythm'; gain = r.uniform(0, 8)
            dbl = 2 if way in ('chug', 'power', 'strum') and r.random() < .65 and left > 1 else 1; sampled = r.random() < (.25 if b.pool == 'A' else .55) and way != 'chug'; g = plucked.make('electric', r); pr = plucked.rng('pk', b.seed, left); pd = str(r.choice(['none', 'none', 'none', 'compressor', 'chorus', 'phaser', 'flanger', 'overdrive', 'fuzz', 'wah', 'tremolo'])); fl = []
            for k in range(dbl):
                ns = loosen(notes, (b.seed, left, k), .009)
                if sampled: x = mono(b.gm(int(r.choice([26, 27, 27, 28 if way in ('scratch', 'skank', 'arp') else 27])), ns)) 
                else: x = plucked.pickup(plucked.play(g, ns, fs, n, (b.seed, left, k), mute, vib, bend), fs, r)
                if way == 'swell': x = x * np.clip(np.sin(np.pi * ((np.arange(n) / fs) % song.bar) / song.bar), 0, 1)
                di = x; amped = x if pd in ('none', 'tremolo') else mono(plucked.pedal(x, fs, pd, r)); y = plucked.amplifier(amped, fs, gain, '%d %d %s' % (b.seed, left if r.random() < .7 else k, 'a'))
                if pd == 'tremolo': y = tremolo(y, fs, r.uniform(3, 8), r.uniform(.3, 1), r.random() < .3)
                side = ('L', 'R')[k] if dbl == 2 else ''
                if r.random() < .12: f0 = b.add(('gdi',) + ((side,) if side else ()), di, 'electric guitar', sec); fl.append(b.add((nm,) + ((side,) if side else ()), y, 'electric guitar', sec, src=f0, kind='copy'))
                elif r.random() < .12 and dbl == 1: fl.append(b.two(nm, unit(y)[:, None] * .7 + unit(chorus(y, fs, r)) if r.random() < .5 else unit(y)[:, None] + .5 * echo(y, fs, r.uniform(.2, .5), .35), 'electric guitar', sec, split=.1))
                else: fl.append(b.add((nm,) + ((side,) if side else ()), b.nearby(y) if r.random() < .4 else y, 'electric guitar', sec))
                if r.random() < .15 and fl[-1]: b.add('gmic2', shift(fir(b.s.get(fl[-1]) if b.s.get(fl[-1]).ndim == 1 else mono(b.s.get(fl[-1])), plucked._cab(fs, r)), r.uniform(0, .003) * fs), 'electric guitar', sec, src=fl[-1], kind='copy')
            if dbl == 2 and all(fl): b.s.pairs.append(fl[:2])
            left -= dbl
            if r.random() < .15 and fl[0]: b.fxs.append(('spring' if r.random() < .5 else 'delay', [f for f in fl if f], 'egtr'))

    def acoustic(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n; folk = b.genre in ('folk', 'country', 'latin', 'island')
        for i in range(b.count(9)):
            kind = str(r.choice(['steel', 'steel', 'steel', 'nylon', 'twelve', 'ukulele', 'banjo', 'mandolin'] if folk else ['steel', 'steel', 'nylon', 'twelve'])); sec = r.random() < .3; bars = b.H if sec else None; strum = r.random() < .55; grid = str(r.choice(['9.7.8.779.7.8.77', '9...8...9...8...', '9.7.7.7.9.7.7.7.', '9.7..87.9.7..87.', '9x7x8x779x7x8x77', '9...............'])); lo = dict(ukulele=60, banjo=55, mandolin=60).get(kind, 43 + int(r.integers(0, 8)))
            notes = song.chordal(grid, lo, 5 if kind in ('steel', 'nylon', 'twelve') else 4, bars, 'a%d' % i, r.uniform(.008, .025)) if strum else song.broken(lo, bars, 'a%d' % i, int(r.choice([8, 16, 8])), 5, 3) if r.random() < .7 else song.tune('ac%d' % i, 55, 76, bars, 1.4); notes = loosen(notes, (b.seed, 'ac', i), .006); nm = dict(steel='ac', nylon='nylon', twelve='twelve', ukulele='uke').get(kind, kind)
            if b.P['recorded'] and kind == 'steel' and strum and r.random() < .8: x = banks.strummed(song, grid, fs, n, bars, (b.seed, i))
            elif b.pool == 'B' and kind == 'mandolin': x = b.nearby(physical.play('mandolin', notes, fs, n, (b.seed, i)))
            elif r.random() < .35 and kind != 'mandolin':
                x = b.gm(dict(nylon=24, banjo=105, ukulele=24).get(kind, 25), notes); x = x if r.random() < .4 else x.mean(1)
                if kind == 'twelve': x = mono(x) + .6 * mono(b.gm(25, [q._replace(m=q.m + (12 if q.m < 56 else 0), t=q.t + .012) for q in notes]))
            else:
                g = plucked.make(dict(twelve='steel').get(kind, kind), r); x = plucked.play(g, notes, fs, n, (b.seed, 'ac', i), 'scratch' if 'x' in grid and strum else None)
                if kind in ('twelve', 'mandolin'): x = x + .8 * plucked.play(dict(g, t60=g['t60'] * .8), [q._replace(m=q.m + (12 if kind == 'twelve' and q.m < 57 else .06), t=q.t + .008) for q in notes], fs, n, 'oct')
                if r.random() < .15: x = shelf(lowcut(x, fs, 90), fs, 2500, 4)
                else: x = b.nearby(plucked.wood(x, fs, r, dict(ukulele='small', mandolin='small', banjo='banjo').get(kind, 'guitar')))
            if x.ndim == 2: b.two(nm, x, 'acoustic guitar', sec); continue
            f = b.add(nm, x, 'acoustic guitar', sec)
            if r.random() < .2 and f: b.add((nm, 'DI' if r.random() < .5 else '2'), bell(shelf(highcut(shift(x, r.uniform(0, 60)), fs, 6000, 1), fs, 200, r.uniform(-8, 2), False), fs, 1800, r.uniform(-2, 6)), 'acoustic guitar', sec, src=f, kind='copy')

    # ------------------------------------------------------------ keys, synths, orchestra
    def keys(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n
        for i in range(b.count(10)):
            kind = str(r.choice(['piano', 'piano', 'piano', 'ep', 'ep', 'organ', 'organ', 'clav', 'vibes', 'mallet', 'glock', 'accordion', 'harpsi'], p=np.array([4, 3, 2, 3, 2, 3, 2, 2 if b.genre in ('funk', 'island') else .5, 1, .6, .8, 1.2 if b.genre in ('folk', 'latin') else .2, .4]) / sum([4, 3, 2, 3, 2, 3, 2, 2 if b.genre in ('funk', 'island') else .5, 1, .6, .8, 1.2 if b.genre in ('folk', 'latin') else .2, .4]))); sec = r.random() < .3; bars = b.H if sec else None; grid = str(r.choice(compose.COMPS)).replace('x', '.'); lo = int(r.integers(50, 62)); key = 'k%d' % i; q = r.random()
            notes = song.chordal(grid, lo, 4, bars, key) + song.bassline('9.......7.......', 36, bars, key) * (r.random() < .6) if q < .5 else song.broken(lo, bars, key, 8, 6, 2.5) if q < .75 else song.held(lo, 4, bars) + song.tune(key, 67, 84, bars) if q < .9 else song.tune(key, 60, 84, bars, 1.5)
            if kind in ('glock', 'vibes', 'mallet'): notes = song.broken(60 if kind != 'glock' else 76, bars, key, 8, 5, 2) if r.random() < .6 else song.tune(key, 65 if kind != 'glock' else 77, 90, bars)
            if kind in ('organ', 'accordion'): notes = song.held(lo, 4, bars) if r.random() < .6 else song.chordal(grid, lo, 4, bars, key)
            notes = loosen(notes, (b.seed, key), .008); B = b.pool == 'B'
            if B and kind in ('ep', 'organ', 'mallet') and r.random() < .6: x = physical.play(str(r.choice(['rhodey', 'wurley'])) if kind == 'ep' else dict(organ='organ', mallet='modalbar')[kind], notes, fs, n, (b.seed, key)); x = rotary(x, fs, r) if kind == 'organ' and r.random() < .6 else x
            elif kind == 'ep': x = synths.electric_piano(notes, fs, n, (b.seed, key)) if r.random() < .5 else b.gm(int(r.choice([4, 5])), notes); x = chorus(x, fs, r) if r.random() < .3 else tremolo(x, fs, r.uniform(3, 7), .4) if r.random() < .3 else plucked.amplifier(x, fs, r.uniform(2, 18), key) if r.random() < .3 else x
            elif kind == 'organ':
                x = synths.tonewheel(notes, fs, n, (b.seed, key)) if r.random() < .55 else b.gm(int(r.choice([16, 17, 18, 19])), notes)
                x = rotary(x, fs, r) if r.random() < .7 else x
            else: x = b.gm(dict(piano=int(r.choice([0, 0, 1, 3, 2])), clav=7, vibes=11, mallet=12, glock=int(r.choice([8, 9, 10])), accordion=int(r.choice([21, 23])), harpsi=6)[kind], notes)
            if kind == 'clav' and r.random() < .5: x = plucked.pedal(mono(x), fs, str(r.choice(['wah', 'phaser', 'compressor'])), r)
            x = b.nearby(x) if r.random() < .5 else x; role = 'organ' if kind in ('organ', 'accordion') else 'piano'
            b.two(kind, x, role, sec) if x.ndim == 2 else b.add(kind, x, role, sec, mic=kind != 'ep')

    def synth(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n
        for i in range(b.count(11)):
            use = str(r.choice(['pad', 'pad', 'lead', 'arp', 'arp', 'pluck', 'stab', 'drone'])); sec = r.random() < .4; bars = b.H if sec else None; key = 'y%d' % i; lo = int(r.integers(48, 62))
            notes = song.held(lo, 4, bars) if use == 'pad' else song.tune(key, 60, 84, bars, 1.2) if use == 'lead' else song.broken(lo, bars, key, 16, 5, 1.0) if use == 'arp' else song.broken(lo + 5, bars, key, 8, 4, 1.2) if use == 'pluck' else song.chordal(str(r.choice(compose.COMPS)).replace('x', '.'), lo, 4, bars, key, length=.25) if use == 'stab' else [q._replace(m=q.m - 12) for q in song.held(lo, 2, bars)]
            if r.random() < .2 and use in ('pad', 'lead', 'arp'): x = b.gm(int(r.choice([88, 89, 90, 92, 94, 95] if use == 'pad' else [80, 81, 83, 84, 87])), notes); nm = 'gms'
            else:
                p = synths.patch(r, use); ok = [a for a in b.P['synth'] if a != 'sub']; p['arch'] = p['arch'] if p['arch'] in ok else str(r.choice(ok)); x = synths.play(p, notes, fs, n, (b.seed, key)); nm = use
            if r.random() < .3: x = unit(x) + r.uniform(.1, .6) * reverb(x, fs, str(r.choice(['hall', 'plate', 'chamber'])), 'syn')
            if r.random() < .15: x = x * (1 - .7 * np.exp(-((np.arange(n) / fs) % song.beat) / (.3 * song.beat)))[:, None]
            b.two(nm, x, 'synth', sec, split=.12)

    def strings(b):
        r, song, fs, n, left = b.r, b.song, b.fs, b.n, b.count(12); i = 0
        while left > 0:
            sec = r.random() < .45; bars = b.H if sec else None; key = 's%d' % left; q = r.random(); sw = r.uniform(.1, .5)
            if q < .4:
                nm, pr, c = [('violin', 40, 72), ('violin', 40, 67), ('viola', 41, 60), ('cello', 42, 50), ('contra', 43, 38)][i % 5]; i += 1; notes = song.section(str(r.choice(['9.......8.......', '9...8...9...8...', '9...............', '9.....8...8.....'])), c, bars, key) if r.random() < .7 else song.tune(key, c - 3, c + 12, bars, .8); b.add(nm, b.nearby(mono(b.gm(pr, loosen(notes, key, .015), swell=sw, bend=.15))), 'strings', sec)
            elif q < .75: x = b.gm(int(r.choice([48, 49, 44])), loosen(song.held(int(r.integers(48, 64)), 4, bars) if r.random() < .6 else song.section('9...8...9...8...', 72, bars, key) + song.section('9.......8.......', 60, bars, key + 'b'), key, .012), swell=sw); x = x + .4 * reverb(x, fs, 'hall', 'str') if r.random() < .4 else x; b.two('strings', x, 'strings', sec)
            elif q < .9: b.two('pizz', b.nearby(b.gm(45, loosen(song.broken(55, bars, key, 8, 5, 1), key))), 'strings', sec)
            else: b.two('harp', b.gm(46, loosen(song.broken(48, bars, key, 16, 9, 4), key)), 'strings', sec)
            left -= 1

    def horns(b):
        r, song, fs, n = b.r, b.song, b.fs, b.n; orch = b.genre in ('film', 'ballad'); grid = str(r.choice(['8..9....8.7.....', '..9...9...9.....', '9...............', '9.8.7...........', '......9.8.......', '9.......8...8.8.'])); fl = []
        for i in range(b.count(13)):
            nm, pr, c = [(('horn', 60, 58), ('flute', 73, 78), ('clarinet', 71, 68), ('oboe', 68, 70), ('trombone', 57, 52), ('trumpet', 56, 69), ('tuba', 58, 36)) if orch else (('trumpet', 56, 72), ('sax', 66, 62), ('trombone', 57, 55), ('sax', 65, 66), ('sax', 67, 50), ('brass', 61, 64), ('trumpet', 59, 70), ('flute', 73, 79), ('clarinet', 71, 67), ('harmonica', 22, 70))][0][int(r.integers(7 if orch else 10)) if i > 2 or r.random() < .3 else i]; sec = r.random() < .55; bars = b.H if sec else None; key = 'h%d' % i
            notes = song.tune(key, c - 4, c + 12, bars, 1.3) if r.random() < .3 or b.genre == 'jazz' and i < 3 else song.section(grid, c, bars, key, r.choice([.2, .6, 9])); notes = loosen(notes, (b.seed, key), .012); pm = dict(sax='saxofony', flute='flute', clarinet='clarinet').get(nm)
            x = physical.play(pm, notes, fs, n, (b.seed, key)) if b.pool == 'B' and pm and r.random() < .5 else b.gm(pr, notes, swell=r.uniform(0, .5), bend=r.choice([0, .5, 1])); x = b.nearby(x)
            fl.append(b.two(nm, x, 'horns', sec, split=.1) if nm == 'brass' else b.add(nm, mono(x), 'horns', sec))
        if len(fl) > 1 and r.random() < .5: b.fxs.append((str(r.choice(['plate', 'verb'])), [f for f in fl if f], 'horns'))

    # ------------------------------------------------------------ voices
    def singer(b, sex=None):
        while True:
            w = voices.singer(b.r, sex)
            if w['voice'][0] in b.P['engines'] and (w['voice'][0] != 'words' or w['voice'][1] in b.P['tongues']): return w

    def flow(b, m):
        """Syllables of a rap on sixteenths: two-bar figures with a breath at the end."""
        r = b.r; figs = [''.join('9' if i % 4 == 0 else '7' if q < .62 else '.' for i, q in enumerate(r.random(16)))[:16 - int(r.choice([0, 2, 4]))].ljust(16, '.') for _ in range(4)]
        return [compose.Note(t, min(d, .45), m, v) for _, t, d, v, _ in b.song.hits(figs, [q for q in range(b.song.nbars) if q % 8 != 7], 'flow', .012)]

    def vocal(b, notes, w, what, role, sec=False, raw=None, **k):
        r = b.r; x = voices.sing(notes, w, b.fs, b.n, (b.seed, what, len(b.s.tr)), **k); x = voices.channel(x, b.fs, r, b.raw if raw is None else raw)
        return b.add(what, x, role, sec)

    def leads(b):
        r, song = b.r, b.song; b.w = b.singer(); b.vox = None; rap = b.genre in ('hiphop', 'trap') and r.random() < .8; nl = b.count(14); w = b.w
        if not nl: b.tune = song.tune('vox', w['lo'], w['hi']); return
        if rap:
            b.tune = song.tune('vox', w['lo'], w['lo'] + 12, b.H, 1.0); w['tract'] = False; ns = [q._replace(m=w['lo'] - 2 + int(r.integers(-1, 2)), d=q.d * .9) for q in b.flow(w['lo'])]; b.vox = b.vocal(ns, w, 'rap', 'lead vocal', text='r', talk=True); nl -= 1
            if nl: b.vocal(only(ns, range(1, song.nbars, 2), song.bar), w, 'adlib' if r.random() < .5 else 'dbl', 'lead vocal', text='r', talk=True, loose=1.5); nl -= 1
            if nl: w2 = b.singer('f'); b.tune = song.tune('hook', w2['lo'], w2['hi'], b.H, 1.0); b.w = w2; b.vocal(b.tune, w2, 'vox', 'lead vocal', True, text='h'); nl -= 1
        else:
            b.tune = song.tune('vox', w['lo'], w['hi'], [q for q in range(song.nbars) if q % 8 != 7 or r.random() < .5], r.uniform(.9, 2), r.uniform(.05, .18)); b.vox = b.vocal(b.tune, w, 'vox', 'lead vocal', text='v'); nl -= 1
        while nl > 0:
            q = r.random(); nl -= 1
            if q < .6: b.vocal(only(b.tune, b.H, song.bar), b.w, 'dbl', 'lead vocal', True, text='v', loose=1.5, tune=r.normal(0, .05))
            elif q < .8: w3 = b.singer(); b.vocal(song.tune('ad', w3['lo'] + 4, w3['hi'] + 3, b.H, 1.3, .5), w3, 'adlib', 'lead vocal', True, text='ad')
            else:
                x = np.zeros(b.n)
                for t in np.arange(r.uniform(0, 2), song.secs - 3, r.uniform(3, 6)): y, f = voices.spoken(b.w['voice'], str(r.choice(voices.TEXTS.get(b.w['voice'][2], ['']))), (b.seed, round(t))); add(x, rate(y, f, b.fs), int(t * b.fs))
                b.add('speech', voices.channel(x, b.fs, r, b.raw), 'lead vocal', True)

    def backing(b):
        r, song = b.r, b.song; left = b.count(15); fl = []; H = set(b.H) | ({0, 1, 2, 3} if r.random() < .3 else set())
        stack = only(b.tune, H, song.bar) or song.tune('bv', 60, 72, H); same = r.random() < .4
        while left > 0:
            q = r.random(); w = dict(b.w) if same and r.random() < .6 else b.singer(); st = int(r.choice([-2, -1, 1, 2, 0])); ns = song.harmony(stack, st) if st else stack; centre = np.mean([x.m for x in ns]); mid = (w['lo'] + w['hi']) / 2; ns = [x._replace(m=x.m + 12 * int(round((mid - centre) / 12))) for x in ns]; left -= 1
            if q < .5: fl.append(b.vocal(ns, w, 'bv', 'backing vocal', True, text='v', loose=r.uniform(1, 2), tune=r.normal(0, .06), scale=r.uniform(.95, 1.06)))
            elif q < .68: fl.append(b.vocal(song.section('9...............' if r.random() < .6 else '9.......8.......', int(mid), H, 'ooh%d' % left), w, 'ooh', 'backing vocal', True, text='o', vowel=True))
            elif q < .84:
                y = np.zeros((b.n, 2))
                for k in range(3): w = b.singer(); y += pan(voices.sing([x._replace(m=x.m + 12 * int(round(((w['lo'] + w['hi']) / 2 - np.mean([z.m for z in stack])) / 12))) for x in song.harmony(stack, k - 1)] if k != 1 else [x._replace(m=x.m + 12 * int(round(((w['lo'] + w['hi']) / 2 - np.mean([z.m for z in stack])) / 12))) for x in stack], w, b.fs, b.n, (b.seed, 'gang', left, k), text='v', loose=2, scale=r.uniform(.93, 1.08)), r.uniform(-.9, .9))
                fl.append(b.two('gang' if r.random() < .4 else 'bv', y + reverb(y, b.fs, 'room', 'gang') * r.uniform(.1, .5), 'backing vocal', True))
            else: fl.append(b.two('choir', b.nearby(b.gm(int(r.choice([52, 53])), loosen(song.held(int(r.integers(52, 66)), 3, H) if r.random() < .6 else stack + song.harmony(stack, 1), ('ch', left), .015), swell=.3)), 'backing vocal', True))
        fl = [f for f in fl if f]
        if len(fl) > 2 and r.random() < .5: b.fxs.append((str(r.choice(['plate', 'verb', 'delay'])), fl, 'bgv'))

    # ------------------------------------------------------------ returns, oddities
    def returns(b):
        r, song, fs, n, s = b.r, b.song, b.fs, b.n, b.s; want = b.count(16)
        if b.vox: b.fxs += [(q, [b.vox], 'lead') for q in ('plate', 'delay') if r.random() < .7]
        if getattr(b, 'kitfiles', None): sn = [f for f in b.kitfiles if any(t['file'] == f and t['role'] == 'snare' for t in s.tr)]; b.fxs += [('verb', sn[:1], 'drums')] if sn and r.random() < .5 else []
        others = [t['file'] for t in s.tr if t['role'] in ('piano', 'synth', 'strings') and t['kind'] == 'dry']
        if others and r.random() < .4: f = str(r.choice(others)); b.fxs.append(('verb', [f], next(t['fam'] for t in s.tr if t['file'] == f)))
        for i in (r.permutation(len(b.fxs))[:want] if b.fxs else []):
            nm, src, fam = b.fxs[i]; x = s.total(src, i); y = spring(x, fs, int(r.integers(4))) if nm == 'spring' else echo(x, fs, song.beat * float(r.choice([.5, .75, 1, .33])), r.uniform(.2, .6), r.uniform(.2, .7), r.choice([0, 2]), r.random() < .6) if nm == 'delay' else reverb(x, fs, 'plate' if nm == 'plate' else str(r.choice(['hall', 'chamber', 'church', 'room', 'tiled'])), (b.seed, int(i))); s.add((nm, {'lead': 'Vox', 'bgv': 'BV', 'egtr': 'Gtr', 'horns': 'Hrn', 'drums': 'Snr'}.get(fam, '')), y, 'fx', src=src, kind='return', fam=fam); want -= 1
        free = b.genre in ('edm', 'synthpop', 'film', 'trap', 'hiphop', 'jungle')
        if r.random() < (.7 if free else .1): s.add(('riser',), synths.riser(fs, n, [(max(0, q * song.bar - 3), q * song.bar) for q in (min(song.high), song.nbars)], r), 'fx', section_only=True)
        if r.random() < (.5 if free else .05):
            y = np.zeros((n, 2)); x = banks.load(banks.ONESHOTS + str(r.choice(['ambi_drone', 'ambi_glass_rub', 'ambi_lunar_land', 'ambi_dark_woosh', 'vinyl_hiss', 'misc_cineboom', 'ambi_swoosh'])) + '.flac', fs, False)
            for t in np.arange(0, song.secs, max(len(x) / fs, song.bar * 2)): add(y, pan(x, r.uniform(-.6, .6)), int(t * fs))
            s.add(('noise',), y, 'fx')
        if r.random() < .15: s.add(('click',), banks.hits(banks._one('elec_tick' if b.pool == 'A' else 'elec_blip'), song.beats_on('9...6...6...6...'), fs, n, 'click'), 'fx')
        if r.random() < .3: s.add(('empty',), np.zeros(n) if r.random() < .7 else np.zeros((n, 2)), 'silent', silent=True, **(dict(noise=-92.0) if r.random() < .4 else {}))

    def build(b):
        b.fxs = []; b.drums(); b.percussion(); b.bass(); b.electric(); b.acoustic(); b.keys(); b.synth(); b.strings(); b.horns(); b.leads(); b.backing(); b.returns()
        b.s.about = '%s, %s takes, names style %s/%d; %s; singer %s' % (b.genre, 'raw' if b.raw else 'processed', b.s.namer.style, b.s.namer.lang, ', '.join(b.about) or 'no kit', '/'.join(map(str, b.w['voice'][:2]))); return b.s
