"""Phrases from notes: lines, chords, strums, riffs, off-beats, tremolo, bends, grooves. Times in seconds, pitches in semitones."""
import numpy as np
from scipy import signal
from notes import FS

SCALES = ([0, 2, 4, 5, 7, 9, 11], [0, 2, 3, 5, 7, 8, 10], [0, 3, 5, 7, 10], [0, 2, 4, 7, 9], [0, 2, 3, 5, 7, 9, 10])
TRIADS = ([0, 4, 7], [0, 3, 7], [0, 5, 7], [0, 4, 7, 10], [0, 3, 7, 10])


class Tape:
    """A track being filled with notes."""

    def __init__(self, seconds, r):
        self.x = np.zeros(int((seconds + 1) * FS), np.float32)
        self.length = seconds
        self.r = r

    def put(self, t, x, gain=1.0, length=None, release=.05, bend=None, shift=0.0):
        """Adds a note; it is let go after length. bend is a course of semitones over the note's own time."""
        if shift or bend is not None:
            x = resample(x, shift, bend)
        if length is not None and length * FS < len(x):
            n, m = int(length * FS), int(release * FS) + 8
            y = x[:n + m].copy()
            y[n:] *= np.exp(-5 * np.arange(len(y) - n) / m).astype(np.float32)
            x = y
        i = max(0, int(t * FS))
        x = x[:max(0, len(self.x) - i)]
        self.x[i:i + len(x)] += np.float32(gain) * x


def resample(x, shift, bend):
    course = np.full(len(x), shift, np.float32)
    if bend is not None:
        course = course + bend(np.arange(len(x), dtype=np.float32) / FS)
    at = np.cumsum(np.exp2(course / 12))
    at = at[at < len(x) - 1]
    return np.interp(at, np.arange(len(x)), x).astype(np.float32)


class Player:
    """Chooses takes of an instrument by pitch, never the same take twice running where there is another."""

    def __init__(self, ins, r):
        self.ins, self.r, self.last = ins, r, -1
        k = ins.keys[ins.tuned]
        self.lo, self.hi = (np.percentile(k, 3), np.percentile(k, 97)) if len(k) else (50, 62)
        self.tune = r.normal(0, .06)

    def take(self, key):
        """(samples, shift): the nearest note, moved by at most a few semitones."""
        c = self.ins.tuned
        if not len(c):
            i = int(self.r.integers(len(self.ins.notes)))
            return self.ins.notes[i], float(np.clip(self.r.normal(0, 1), -2, 2))
        d = np.abs(self.ins.keys[c] - key)
        near = c[d < d.min() + .6]
        if len(near) > 1:
            near = near[near != self.last]
        i = int(self.r.choice(near))
        self.last = i
        shift = key - self.ins.keys[i]
        while shift > 4:
            shift -= 12
        while shift < -4:
            shift += 12
        return self.ins.notes[i], shift + self.tune + self.r.normal(0, .03)

    def scale(self, low, width):
        root = self.r.integers(12)
        s = SCALES[self.r.integers(len(SCALES))]
        keys = [k for k in range(int(np.ceil(low)), int(low + width) + 1) if (k - root) % 12 in s]
        return keys or [int(low)]

    def low(self, width, top=None):
        return self.r.uniform(self.lo, max(self.lo + .1, (top or self.hi) - width))


def tempo(r):
    return 60 / r.uniform(70, 165)


def walk(r, keys, i):
    return int(np.clip(i + r.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3]), 0, len(keys) - 1))


def vibrato(r):
    rate, depth, wait = r.uniform(4.3, 6.8), r.uniform(.1, .5), r.uniform(0, .4)
    return lambda t: (depth * np.sin(2 * np.pi * rate * t) * np.clip((t - wait) * 4, 0, 1)).astype(np.float32)


def scoop(r):
    depth, time = r.choice([-2, -1, -.5, 1]), r.uniform(.03, .2)
    return lambda t: (depth * np.exp(-t / time)).astype(np.float32)


def line(tape, p, slow=1.0, legato=(.5, 1.05), bends=.15, wide=(7, 20), release=.06):
    """One note at a time."""
    r, beat, t = tape.r, tempo(tape.r) * slow, tape.r.uniform(0, .4)
    width = r.uniform(*wide)
    keys = p.scale(p.low(width), width)
    i, hold, swing = int(r.integers(len(keys))), r.uniform(*legato), r.uniform(.5, .64)
    rests = r.uniform(.02, .25)
    while t < tape.length - .5:
        d = beat * r.choice([.25, .5, .5, 1, 1, 2, 3])
        if d == beat * .5:
            d = beat * r.choice([swing, 1 - swing])
        if r.random() > rests:
            x, s = p.take(keys[i])
            bend = vibrato(r) if r.random() < bends and d > .4 else scoop(r) if r.random() < bends else None
            tape.put(t + r.normal(0, .006), x, 10 ** (r.normal(0, 2.5) / 20), d * hold, release, bend, s)
        i = walk(r, keys, i)
        t += d


def chords(tape, p, size=(3, 6), cut=(.3, 1.0), spread=(.0, .02), release=.08, patterns=True):
    """Chords: held, in rhythm, or off the beat."""
    r, beat, t = tape.r, tempo(tape.r), tape.r.uniform(0, .3)
    n = int(r.integers(*size))
    base = p.low(14)
    roots = [base + k for k in r.choice([0, 2, 3, 5, 7, 9, 10], 4)]
    way = r.choice(['held', 'rhythm', 'off', 'rhythm'] if patterns else ['held'])
    c, gap, bar = r.uniform(*cut), r.uniform(*spread), 0
    pattern = r.random(8) < .55
    pattern[0] = True
    while t < tape.length - .5:
        root, tri = roots[bar % 4], TRIADS[r.integers(len(TRIADS))]
        keys = [root + q + 12 * o for o in range(3) for q in tri]
        keys = [k for k in keys if k <= p.hi + 3][:n] or [root]
        steps = [(0, 4.0)] if way == 'held' else [(q / 2, .5) for q in range(8) if
                                                 (pattern[q] if way == 'rhythm' else q % 2 == 1)]
        for at, d in steps:
            order = keys if int(at * 2) % 2 == 0 else keys[::-1]
            g = 10 ** (r.normal(0, 2) / 20)
            for j, k in enumerate(order):
                x, s = p.take(k)
                tape.put(t + at * beat + j * gap * r.uniform(.6, 1.4) + r.normal(0, .004), x, g, d * beat * c, release,
                         shift=s)
        t += 4 * beat
        bar += 1


def strum(tape, p, damp=.2):
    """A guitarist's strumming: down and up, some of it damped by the hand."""
    r, beat, t, bar = tape.r, tempo(tape.r), tape.r.uniform(0, .3), 0
    div = int(r.choice([2, 2, 4]))
    base = p.low(10, p.lo + 14)
    roots = [base + k for k in r.choice([0, 2, 3, 5, 7, 9, 10], 4)]
    pattern = r.random(4 * div) < r.uniform(.45, .9)
    pattern[0] = True
    gap, hold, skank = r.uniform(.006, .022), r.uniform(.5, 1.1), r.random() < .25
    short = r.uniform(.05, .16)
    size = int(r.integers(3, 6))
    while t < tape.length - .5:
        root, tri = roots[bar % 4], TRIADS[r.integers(2)]
        keys = [root, root + 7, root + 12, root + 12 + tri[1], root + 19, root + 24][:size + 1][-size:]
        for q in range(4 * div):
            if not (q % div == div // 2 if skank else pattern[q]):
                continue
            down = q % 2 == 0 or skank
            muted = r.random() < damp
            d = short if skank or muted else beat / div * hold * r.choice([1, 1, 2])
            g = 10 ** (r.normal(0 if down else -3, 1.5) / 20) * (.5 if muted else 1)
            for j, k in enumerate(keys if down else keys[::-1]):
                if not down and j > 3:
                    break
                x, s = p.take(k)
                tape.put(t + q * beat / div + j * gap + r.normal(0, .004), x, g, d, .03 if skank or muted else .08, shift=s)
        t += 4 * beat
        bar += 1


def riff(tape, p, fifths=True):
    """Low figures, repeated; some notes muted with the palm."""
    r, beat, t = tape.r, tempo(tape.r), tape.r.uniform(0, .3)
    base = p.low(6, p.lo + 9)
    keys = p.scale(base, 10)
    steps = int(r.choice([8, 16]))
    figure = [(keys[int(r.integers(min(6, len(keys))))], r.random() < .45, r.random() < .8) for _ in range(steps)]
    mute = r.uniform(.06, .14)
    div = steps / 4
    while t < tape.length - .5:
        for q, (k, palm, on) in enumerate(figure):
            if not on or t + q * beat / div > tape.length - .3:
                continue
            for j, iv in enumerate([0, 7, 12][:1 if not fifths else 2 + (k % 2)]):
                x, s = p.take(k + iv)
                tape.put(t + q * beat / div + .004 * j + r.normal(0, .004), palmed(x, mute) if palm else x,
                         10 ** (r.normal(0, 1.5) / 20), beat / div * (.8 if palm else 1.0), .03, shift=s)
        t += steps * beat / div


def palmed(x, seconds):
    """A string damped by the palm: quicker and duller."""
    y = signal.lfilter([.25], [1, -.75], x[:int(.6 * FS)])
    return (1.6 * y * np.exp(-np.arange(len(y)) / FS / seconds)).astype(np.float32)


def tremolo(tape, p):
    """A pitch picked or bowed again and again."""
    r, t = tape.r, .1
    keys = p.scale(p.low(12), 12)
    i, rate = int(r.integers(len(keys))), r.uniform(7, 14)
    while t < tape.length - .5:
        for _ in range(int(r.choice([4, 8, 16]))):
            x, s = p.take(keys[i])
            tape.put(t, x, 10 ** (r.normal(0, 2) / 20), 1.1 / rate, .03, shift=s)
            t += 1 / rate * r.uniform(.95, 1.05)
        i = walk(r, keys, i)


def arpeggio(tape, p, hold=(1.0, 4.0)):
    r, beat, t, bar = tape.r, tempo(tape.r), tape.r.uniform(0, .3), 0
    base = p.low(14)
    roots = [base + k for k in r.choice([0, 2, 3, 5, 7, 9, 10], 4)]
    order, div, h = r.permutation(6), int(r.choice([2, 2, 3, 4])), r.uniform(*hold)
    while t < tape.length - .5:
        tri = TRIADS[r.integers(2)]
        keys = [roots[bar % 4] + q for q in (0, 7, 12, 12 + tri[1], 19, 24)]
        for q in range(4 * div):
            x, s = p.take(keys[order[q % 6]])
            tape.put(t + q * beat / div + r.normal(0, .005), x, 10 ** (r.normal(0, 2) / 20), beat / div * h, .1, shift=s)
        t += 4 * beat
        bar += 1


def sustained(tape, p, many=True):
    """Long notes or chords that overlap a little."""
    r, t = tape.r, tape.r.uniform(0, .4)
    width = 14
    keys = p.scale(p.low(width), width)
    i = int(r.integers(len(keys)))
    while t < tape.length - .5:
        d = r.uniform(1.2, 4)
        for k in [0, 7, 12, 16][:int(r.integers(2, 5))] if many else [0]:
            x, s = p.take(keys[i] + k)
            loop(tape, t + r.uniform(0, .03), x, d, s, vibrato(r) if not many and r.random() < .4 else None)
        i = walk(r, keys, i)
        t += d * r.uniform(.9, 1.15)


def loop(tape, t, x, d, shift, bend):
    """A note held longer than it was recorded: its middle is repeated under crossfades."""
    n = int(d * FS)
    tail = len(x) // 3
    while len(x) < n and tail > 4000:
        piece = x[len(x) - 2 * tail:len(x) - tail // 2]
        f = min(len(piece) // 3, FS // 4)
        ramp = np.linspace(0, 1, f, dtype=np.float32)
        end = x[:len(x) - tail // 2]
        x = np.r_[end[:-f], end[-f:] * (1 - ramp) + piece[:f] * ramp, piece[f:]]
    tape.put(t, x, 1, d, .12, bend, shift)


def hits(tape, notes, density=None):
    """Hand percussion or one drum: a pattern of sixteen steps with accents, varied a little from bar to bar."""
    r, beat, t, bar = tape.r, tempo(tape.r), .1, 0
    n = min(len(notes), int(r.integers(2, 7)))
    use = [notes[i] for i in r.choice(len(notes), n, False)]
    p = r.random(16) < (density or r.uniform(.15, .9))
    p[int(r.integers(4))] = True
    accent, which = r.normal(0, 3, 16), r.integers(0, n, 16)
    while t < tape.length - .3:
        for q in range(16):
            if p[q] != (r.random() < .05):
                k = which[q] if r.random() < .8 else int(r.integers(n))
                tape.put(t + q * beat / 4 + r.normal(0, .005), use[k], 10 ** ((accent[q] + r.normal(0, 1.5)) / 20))
        t += 4 * beat
        bar += 1


def groove(r, length):
    """Times and strengths of the pieces of a kit: {piece: [(t, gain)]}."""
    beat, t, bar = tempo(r), .1, 0
    out = {k: [] for k in ('kick', 'snare', 'hat', 'open', 'ride', 'crash', 'tom', 'extra')}
    kick, ghost = r.random(16) < r.uniform(.1, .35), r.random(16) < .08
    kick[0] = True
    every, ride, fills = int(r.choice([1, 2, 2, 4])), r.random() < .3, r.uniform(.2, .8)
    extra = r.random(16) < .2
    back = (8,) if r.random() < .2 else (4, 12)
    swing = r.uniform(0, .25) if r.random() < .3 else 0
    while t < length - .3:
        fill = bar % 4 == 3 and r.random() < fills
        for q in range(16):
            at = t + (q + (swing if q % 2 else 0)) * beat / 4 + r.normal(0, .003)
            g = lambda db: 10 ** ((db + r.normal(0, 1.5)) / 20)
            if fill and q >= 8:
                if r.random() < .75:
                    out['tom'].append((at, g(0)))
                continue
            if kick[q]:
                out['kick'].append((at, g(0)))
            if q in back:
                out['snare'].append((at, g(0)))
            elif ghost[q]:
                out['snare'].append((at, g(-12)))
            if q % every == 0:
                out['ride' if ride else 'open' if r.random() < .06 else 'hat'].append((at, g(0 if q % 4 == 0 else -4)))
            if extra[q]:
                out['extra'].append((at, g(0)))
        if bar % 4 == 0:
            out['crash'].append((t, 1.0))
        t += 4 * beat
        bar += 1
    return out
