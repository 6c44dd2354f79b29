"""Random songs: chords, grooves, bass lines, accompaniments, tunes. Times in seconds, pitches as MIDI numbers, velocities 1 to 127."""
import collections
import numpy as np
from tools import rng

Note = collections.namedtuple('Note', 't d m v')
QUALITY = dict(maj=(0, 4, 7), min=(0, 3, 7), dom=(0, 4, 7, 10), min7=(0, 3, 7, 10), maj7=(0, 4, 7, 11), sus=(0, 5, 7), add=(0, 4, 7, 14), dim=(0, 3, 6), nine=(0, 4, 10, 14), pow=(0, 7))
MODES = dict(ionian=(0, 2, 4, 5, 7, 9, 11), aeolian=(0, 2, 3, 5, 7, 8, 10), dorian=(0, 2, 3, 5, 7, 9, 10), mixolydian=(0, 2, 4, 5, 7, 9, 10), phrygian=(0, 1, 3, 5, 7, 8, 10), lydian=(0, 2, 4, 6, 7, 9, 11))
LOOPS = dict(  # scale degrees of four or eight bars
    ionian=('1546', '1645', '1415', '4156', '12541256', '16251625', '1345', '14561454'), aeolian=('1673', '1467', '1736', '1651', '1467', '16371637', '1147'), dorian=('1414', '1747', '1541', '1245'), mixolydian=('1741', '1747', '1547'), phrygian=('1211', '1276', '1721'), lydian=('1215', '1261'))
DRUMS = dict(  # sixteenth grids, 1-9 loudness; kick, snare, hat; several of each
    rock=(['9.......9.9.....', '9.....8.9.......', '9..8....9.8...7.'], ['....9.......9...'], ['8.6.8.6.8.6.8.6.', '8.7.8.7.8.7.8.7.', '9...9...9...9...']),
    punk=(['9.......9.......', '9...9...9...9...'], ['....9.......9...', '..9...9...9...9.'], ['9.8.9.8.9.8.9.8.']),
    funk=(['9..8..7...9..6..', '9.7....6..9.....', '9......8.69...7.'], ['....9..3.2..9..4', '....9..4....9.23'], ['8565856585658565', '7.5.756.7.5.7.56']),
    disco=(['9...9...9...9...'], ['....9.......9...', '....8.......8..5'], ['..8...8...8...8.', '6.8.6.8.6.8.6.8.', '5585558555855585']),
    half=(['9..........7....', '9.....7...8.....'], ['........9.......'], ['8...6...8...6...', '7.6.7.6.7.6.7.6.']),
    ballad=(['9.......7.......', '9.........8.....'], ['....7.......7...'], ['6...5...6...5...', '6.4.6.4.6.4.6.4.']),
    trap=(['9......8..8.....', '9.....9.....8...'], ['........9.......'], ['8.6.8.6.8.678686', '8666866686668666', '8.8.8.8.88888.8.']),
    boombap=(['9......7..9.....', '9.9.......8..7..'], ['....9.......9...', '....9.......9..4'], ['8.6.8.6.8.6.8.6.', '8..68..68..68..6']),
    dnb=(['9.........9.....', '9.9.......9.....'], ['....9.......9...', '....9..5.5..9...'], ['8.6.8.6.8.6.8.6.', '8686868686868686']),
    latin=(['9.....8.9.....8.', '9..8..9.9..8..9.'], ['...5..5....5..5.', '..6..6..6..6.6..'], ['7.6.7.6.7.6.7.6.', '8.68.68.68.68.6.']),
    jazz=(['7...............', '6.......5...6...'], ['......4......4..', '..............4.'], ['....8.......8...']),
    train=(['9.......9.......'], ['3.3693.33.3693.3', '4494449444944494'], ['....7.......7...']),
    reggae=(['........9.......', '9.......9.......'], ['........8.......'], ['7.5.7.5.7.565.7.', '..8...8...8...8.']))
COMPS = ('9...8...9...8...', '9..7..7.9..7..7.', '..8...8...8...8.', '9.............7.', '9.7.8.779.7.8.77', '9.....9...9.....', '..9..9..9..9..9.', '9...............', '9x7x9x7x9x7x9x7x', '9..x9x.x..9.x9xx', '....9.......9...', '9.7.7.7.9.7.7.7.', '9.......8.......')
BASSES = ('9.......9.......', '9.7.7.7.9.7.7.7.', '9..9..7.9..9..7.', '9...............', '9.....9.9...7...', '9..x9..7.9x..7.7', '9...9...9...9...', '..9...9...9...9.', '9...7...8...7...', '9.9.....7.9.....')


class Song:
    """A chord per bar, a tempo, a swing, a key; every method returns Notes. `high` is the set of bars of the refrain."""
    def __init__(s, seed, tempo, modes, style, sevenths=.2, swing=0.0, beats=4, seconds=30):
        s.seed, s.tempo, s.style, s.beats, s.swing = seed, tempo, style, beats, swing; r = rng(seed, 'song')
        s.beat = 60 / tempo; s.bar = beats * s.beat; s.nbars = max(6, int(round(seconds / s.bar))); s.secs = s.nbars * s.bar
        s.key = int(r.integers(12)); s.mode = str(r.choice(modes)); s.scale = [(s.key + i) % 12 for i in MODES[s.mode]]
        a, b = (r.choice(LOOPS[s.mode]) for _ in range(2)); k = int(round(s.nbars * r.uniform(.25, .65)))
        s.high = set(range(k, s.nbars if r.random() < .6 else s.nbars - max(1, s.nbars // 6))); s.low = set(range(s.nbars)) - s.high; s.chords = []
        for i in range(s.nbars):
            loop = b if i in s.high else a; d = int(loop[i % len(loop)]) - 1; root, iii, v, vii = (s.scale[(d + o) % 7] for o in (0, 2, 4, 6)); t, f, n = ((q - root) % 12 for q in (iii, v, vii))
            q = 'dim' if f == 6 else 'min' if t == 3 else 'maj'
            if r.random() < sevenths: q = dict(min='min7', maj='dom' if n == 10 else 'maj7', dim='dim')[q]
            elif q == 'maj' and r.random() < .12: q = str(r.choice(['sus', 'add']))
            s.chords.append((root, q))
        s.grids = {p: [str(r.choice(g)), str(r.choice(g))] for p, g in zip(('kick', 'snare', 'hat'), DRUMS[style])}

    def tones(s, b): root, q = s.chords[b % s.nbars]; return [(root + i) % 12 for i in QUALITY[q]]
    def voicing(s, b, lo, size=4): t = s.tones(b); return [m for m in range(lo, lo + 40) if m % 12 in t][:size]

    def when(s, b, i, steps):
        """Time of step i of a bar in `steps` steps, off-beat eighths delayed by the swing."""
        q = i * s.beats / steps; f = q % 1
        return b * s.bar + s.beat * (q + (s.swing if .4 < f < .6 else .5 * s.swing if f > .2 and steps >= 16 else 0))

    def hits(s, grid, bars=None, key='', tight=.006):
        """[(bar, time, seconds to the next hit, velocity, symbol)]"""
        r = rng(s.seed, 'hits', grid, key); out = []; grids = [grid] if isinstance(grid, str) else list(grid)
        for b in sorted(range(s.nbars) if bars is None else bars):
            g = grids[b % len(grids)]; g = g[:len(g) * s.beats // 4] if s.beats < 4 else g; on = [i for i, c in enumerate(g) if c != '.'] + [len(g)]
            for i, j in zip(on, on[1:]):
                v = 42 if g[i] == 'x' else 22 + 11 * int(g[i]); out.append((b, max(0, s.when(b, i, len(g)) + r.normal(0, tight)), s.when(b, j, len(g)) - s.when(b, i, len(g)), float(np.clip(v + r.normal(0, 5), 10, 127)), g[i]))
        return out

    def beats_on(s, grid, bars=None, key=''): return [(t, v) for _, t, _, v, _ in s.hits(grid, bars, key)]

    def chordal(s, grid, lo=52, size=4, bars=None, key='', strum=0.0, length=9.0, power=False):
        out = []
        for k, (b, t, d, v, c) in enumerate(s.hits(grid, bars, key)):
            root = s.chords[b][0]; ms = [q + lo + (root - lo) % 12 for q in (0, 7, 12)][:size] if power else s.voicing(b, lo, size)
            ms = ms if k % 2 == 0 else ms[::-1]
            out += [Note(t + i * strum, .05 if c == 'x' else min(d * .95, length), m, v - 2 * i) for i, m in enumerate(ms)]
        return out

    def broken(s, lo=52, bars=None, key='', steps=8, span=5, ring=2.0):
        """Arpeggio from a random figure that repeats."""
        r = rng(s.seed, 'broken', key); fig = [int(q) for q in r.integers(0, span, steps)] if r.random() < .5 else ([q % (2 * span - 2) for q in range(steps)]); fig = [q if q < span else 2 * span - 2 - q for q in fig]; hole = r.random(steps) < r.choice([0, .12, .25]); out = []
        for b in sorted(range(s.nbars) if bars is None else bars):
            v = s.voicing(b, lo, span)
            out += [Note(max(0, s.when(b, i, steps) + r.normal(0, .004)), ring * s.bar / steps, v[q % len(v)], float(np.clip(84 + 8 * (i % 4 == 0) + r.normal(0, 6), 20, 120))) for i, q in enumerate(fig) if not hole[i]]
        return out

    def held(s, lo=52, size=3, bars=None, vel=82):
        out = []; ms = None
        for b in sorted(range(s.nbars) if bars is None else bars): out += [Note(b * s.bar, s.bar * 1.02, m, vel) for m in s.voicing(b, lo, size)]
        return out

    def bassline(s, grid=None, lo=28, bars=None, key=''):
        r = rng(s.seed, 'bass', key); grid = grid or str(r.choice(BASSES)); out = []; seen = None; moves = list(r.choice([0, 0, 0, 7, 12, 10, 5, 3], 6))
        for b, t, d, v, c in s.hits(grid, bars, 'b' + key):
            k = 0 if b != seen else int(r.choice(moves)); seen = b; m = lo + (s.chords[b][0] - lo) % 12 + k
            if k in (3, 10) and m % 12 not in s.scale: m -= k
            out.append(Note(t, .06 if c == 'x' else d * r.uniform(.6, .97), m - 12 if m > lo + 17 else m, v))
        return out

    def walking(s, lo=28, key=''):
        r = rng(s.seed, 'walk', key); out = []
        for b in range(s.nbars):
            t, nx = s.voicing(b, lo, 7), lo + (s.chords[(b + 1) % s.nbars][0] - lo) % 12; line = [lo + (s.chords[b][0] - lo) % 12] + [int(r.choice(t)) for _ in range(s.beats - 2)] + [nx + int(r.choice([-1, 1, 2, -2]))]
            out += [Note(s.when(b, i, s.beats) + abs(r.normal(0, .006)), s.beat * .9, m, 88 + r.normal(0, 8)) for i, m in enumerate(line)]
        return out

    def tune(s, key, lo, hi, bars=None, density=1.0, gap=.18, legato=.95):
        """A tune: two-bar rhythm cells that come back, leaps paid back by steps, chord tones on the beat, breath at the end of phrases."""
        r = rng(s.seed, 'tune', key); out = []; p = r.uniform(lo + 2, hi - 2); cells = []; mom = 0
        for _ in range(2):
            left, c = 2.0 * s.beats, []
            while left > .2:
                d = min(left, float(r.choice([.25, .5, .5, 1, 1, 1.5, 2, 3], p=np.array([.6 * density, 2 * density, 2 * density, 2, 1, 1, 1, .4]) / (4.6 * density + 5.4)))); c.append((d, r.random() < gap)); left -= d
            cells.append(c)
        bars = set(range(s.nbars)) if bars is None else set(bars)
        for b in range(0, s.nbars, 2):
            t = 0.0
            for d, rest in cells[(b // 2) % 3 == 2]:
                at = b + t / s.beats; now = int(at + 1e-6)
                if not rest and now in bars and now < s.nbars and not (t > 1.6 * s.beats and r.random() < .7):
                    want = p + mom + r.normal(0, 2); ok = [m for m in range(lo, hi + 1) if m % 12 in (s.tones(now) if t % 1 < .05 else s.scale)] or [int(p)]
                    m = min(ok, key=lambda q: abs(q - want) + .2 * abs(q - (lo + hi) / 2)); mom = -.4 * (m - p) + r.normal(0, 1); p = m
                    st = s.when(now, (t % s.beats) * 4, s.beats * 4); out.append(Note(max(0, st + r.normal(0, .008)), d * s.beat * legato, int(m), float(np.clip(90 + r.normal(0, 9), 40, 125))))
                t += d
        return out

    def harmony(s, notes, steps):
        """Parallel voice `steps` chord tones away."""
        out = []
        for t, d, m, v in notes:
            pc, k = s.tones(min(s.nbars - 1, int((t + .02) / s.bar))), abs(steps)
            while k: m += 1 if steps > 0 else -1; k -= m % 12 in pc
            out.append(Note(t, d, m, v))
        return out

    def section(s, grid, centre, bars=None, key='', length=9.0):
        """A section part: on each hit the chord tone nearest to the centre."""
        r = rng(s.seed, 'section', key); out = []
        for b, t, d, v, c in s.hits(grid, bars, key): g = centre + r.integers(-3, 4); m = min((q for q in range(int(g) - 8, int(g) + 9) if q % 12 in s.tones(b)), key=lambda q: abs(q - g)); out.append(Note(t, min(d * .92, length), int(m), v))
        return out

    def kit(s, pieces, key=''):
        """Events per drum piece: the groove, a cymbal for the hat in the refrain, fills, crashes."""
        r = rng(s.seed, 'kit', key); ev = {p: [] for p in pieces}; H = sorted(s.high); L = sorted(s.low); give = lambda p, e: ev[p].extend(e) if p in ev else None; dens = r.random()
        for bars, k in ((L, 0), (H, 1)):
            give('kick', s.beats_on(s.grids['kick'][k], bars, 'k')); give('snare' if not (k == 0 and s.style in ('ballad', 'reggae', 'latin') and r.random() < .6) else 'rim', s.beats_on(s.grids['snare'][k], bars, 's'))
        ride = 'ride' in ev and r.random() < .55
        give('hat', s.beats_on(s.grids['hat'][0], L, 'h')); give('ride' if ride else 'hat', s.beats_on(s.grids['hat'][1], H, 'h'))
        if s.style == 'jazz': give('ride', s.beats_on('8...8..78...8..7', None, 'r'))
        if ride or r.random() < .3: give('pedal', s.beats_on('....6.......6...', H, 'p'))
        if r.random() < .6: give('open', s.beats_on(str(r.choice(['......8.........', '..............7.', '..8...8...8...8.'])), H, 'o'))
        if r.random() < .5: give('snare', [(t, v * .8) for t, v in s.beats_on(str(r.choice(['.......3......2.', '..3....3.3......', '.........2.....3'])), None, 'ghost')])
        every = int(r.choice([4, 4, 8, 3]))
        for b in range(s.nbars):
            if b % every == every - 1 or b + 1 in s.high and b not in s.high:
                for p in ('snare', 'tom1', 'tom2', 'tom3'):
                    g = ''.join(str(int(q)) if z < .28 else '.' for q, z in zip(r.integers(5, 10, 16), r.random(16))); g = '........' + g[8:] if dens < .6 else g; give(p, s.beats_on(g, [b], p + 'fill'))
                if b + 1 < s.nbars: give(str(r.choice(['crash', 'crash2'])), [((b + 1) * s.bar, r.uniform(85, 120))])
        if s.style in ('latin', 'train', 'half') and r.random() < .6 or r.random() < .15:
            for p, g in (('tom3', '9.....7.....8...'), ('tom2', '...6....7.6.....')): give(p, s.beats_on(g, L, p))
        give('crash', [(.01, 105)])
        return {p: sorted(e) for p, e in ev.items() if e}


def loosen(notes, key, time=.01, vel=7, move=0):
    r = rng('loose', key); return [Note(max(0, t + r.normal(0, time)), d * r.uniform(.9, 1.05), m + move, float(np.clip(v + r.normal(0, vel), 12, 126))) for t, d, m, v in notes]


def only(notes, bars, bar): bars = set(bars); return [q for q in notes if int((q[0] + .02) / bar) in bars]
