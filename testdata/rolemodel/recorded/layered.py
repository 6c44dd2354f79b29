#!/usr/bin/python3
"""Make tracks as songs hold them from the recordings of make.py: loops and parts of electronic kits, heavy guitars in layers.

  layered.py OUTDIR --root SNAPSHOTS --packages UNPACKED [--only WORD,...] [--rounds 3] [--seed 1]

Drums: beats on one track, beats without their kick, kick and snare, rolls of hats, hits cut up, claps in the snare's place, builds. Guitars: high gain, the
same part twice and apart, a line above; tuned down and fast. OUTDIR/real-loops-SOURCE, real-heavy-SOURCE and real-metal-SOURCE stay with the source they are
made of.
"""
import os
for v in ('OMP_NUM_THREADS', 'OPENBLAS_NUM_THREADS'):
    os.environ.setdefault(v, '1')
import argparse, re, time, zlib
import numpy as np
import playing as pl
import studio as st
from make import MACHINE, Session, impulse_responses
from notes import FS, Instrument, Store, sources

# What a machine calls a clap or a snap stands in the snare's place; what is shaken or struck by hand is percussion.
CLAP = re.compile(r'(?i)clap|/cp|snap')


def crush(x, r):
    """Fewer steps and a lower rate, as old samplers have."""
    n, hold = 2 ** r.uniform(4, 10), int(r.integers(1, 7))
    y = np.repeat(x[::hold], hold, axis=0)[:len(x)]
    return (np.round(st.unit(y) * n) / n).astype(np.float32)


def sweep(x, r):
    """A low cut or a high cut that moves over the whole track, in 24 steps crossfaded."""
    kind, n = r.choice(['low', 'high']), len(x) // 24 + 1
    f = np.geomspace(*(r.permutation([300, 9000]) if kind == 'low' else r.permutation([40, 3000])), 26)
    out, ramp = np.zeros_like(x), np.linspace(0, 1, n, dtype=np.float32)
    shape = (-1,) + (1,) * (x.ndim - 1)
    for k in range(25):
        a, b = max(0, (k - 1) * n), min(len(x), (k + 1) * n)
        if a >= b:
            break
        y = st.filt(x[max(0, a - 2000):b], kind, float(f[k]))[a - max(0, a - 2000):]
        g = np.r_[ramp, ramp[::-1]][(0 if k else n):][:b - a].reshape(shape)
        out[a:b] += y * g
    return out


def stutter(x, r):
    """Pieces repeated, turned round, left out."""
    step, y = int(FS * 60 / r.uniform(90, 150) / 4), x.copy()
    for i in range(0, len(x) - step, step):
        d = r.random()
        if d < .12:
            y[i:i + step] = y[i:i + step][::-1]
        elif d < .3 and i >= step:
            y[i:i + step] = y[i - step:i]
        elif d < .4:
            k = step // int(r.choice([2, 3, 4]))
            y[i:i + step] = np.concatenate([y[i:i + k]] * (step // k + 1))[:step]
    return y


LOOPS = dict(drive=(st.saturate, .25), crush=(crush, .2), sweep=(sweep, .12), stutter=(stutter, .12), echo=(st.echo, .15),
             pump=(st.pump, .12), phone=(st.telephone, .06), phaser=(st.phaser, .05))


def pattern(r, length, piece):
    """Times and strengths of a piece of a programmed kit: straight to the clock, with rolls."""
    beat, out = pl.tempo(r), []
    bars = [[(q, 0.0) for q in range(16) if r.random() < p] for p in r.uniform(.05, .25, 2)]
    four, every, rolls, offset = r.random() < .5, int(r.choice([1, 1, 2, 4])), r.uniform(0, .3), r.random() < .3
    t, bar = 0.0, 0
    while t < length - .3:
        for q in range(16):
            at, g = t + q * beat / 4, 10 ** (r.normal(0, 1) / 20)
            if piece == 'kick' and (q % 4 == 0 if four else q == 0 or (q, 0.0) in bars[bar % 2]):
                out.append((at, g))
            elif piece == 'snare' and (q in (4, 12) or (q, 0.0) in bars[bar % 2] and r.random() < .2):
                out.append((at, g))
            elif piece == 'hat' and (q + 2 * offset) % every == 0:
                if r.random() < rolls:
                    n = int(r.choice([2, 3, 4]))
                    out += [(at + k * beat / 4 / n, g * (.6 + .4 * k / n)) for k in range(n)]
                else:
                    out.append((at, g * (1 if q % 4 == 0 else .7)))
            elif piece in ('percussion', 'tom', 'cymbal') and (q, 0.0) in bars[bar % 2]:
                out.append((at, g))
        t += 4 * beat
        bar += 1
    return beat, out


def loops(session, s, root, packages, rounds, r, responses):
    store = Store(s['source'], root, packages)
    ins, kit = Instrument(store, store.list(s['keep']), r, 160, False), {}
    store.close()
    for i, name in enumerate(ins.names):
        piece = 'snare' if CLAP.search(name) else next((role for rule, role in MACHINE if re.search(rule, name)), None)
        if piece:
            kit.setdefault(piece, []).append(ins.notes[i])
    for _ in range(rounds):
        length, parts = r.uniform(9, 13), {}
        seed = int(r.integers(1 << 31))
        for piece in sorted(kit):
            _, events = pattern(np.random.default_rng(seed), length, piece)
            two = [kit[piece][i] for i in r.choice(len(kit[piece]), min(2, len(kit[piece])), False)]
            tape, shift, cut = pl.Tape(length, r), r.uniform(-5, 5), r.uniform(.05, .6)
            for t, g in events:
                x = two[int(r.random() < .15) % len(two)]
                tape.put(t, x, g, cut if piece in ('hat', 'percussion') else None, .03, shift=shift)
                if piece == 'snare' and len(two) > 1 and r.random() < .5:
                    tape.put(t + .004, two[1], .5 * g)
            if np.abs(tape.x).max() > 0:
                parts[piece] = tape.x / st.rms(tape.x[np.abs(tape.x) > 1e-3 * np.abs(tape.x).max()])
        level = dict(kick=0, snare=-2)
        mixed = lambda names: sum(parts[n] * np.float32(10 ** (r.normal(level.get(n, -7), 2.5) / 20)) for n in names)
        wanted = [(p, [p]) for p in parts] + [('drums', list(parts))]
        for names in (['snare', 'hat', 'percussion'], ['kick', 'snare'], ['kick', 'hat'], ['kick', 'snare', 'hat']):
            if all(n in parts for n in names) and r.random() < .6:
                wanted.append(('drums', names))
        if 'hat' in parts:
            wanted.append(('hat', ['hat']))
        for role, names in wanted:
            x = st.effects(mixed(names), r, LOOPS)
            x = st.record(x, r, responses, None, .45)
            session.add(role, x, r, what='loop of ' + ' '.join(names))


def heavy(session, s, root, packages, count, r, responses):
    store = Store(s['source'], root, packages)
    ins = Instrument(store, store.list(s['keep']), r, 70)
    store.close()
    for _ in range(count):
        length, seed, x = r.uniform(10, 15), int(r.integers(1 << 31)), 0
        amp = lambda y, k: st.guitar_amp(y, np.random.default_rng(seed + k), str(r.choice(['drive', 'gain', 'gain', 'fuzz'])))[0]
        rhythm = r.random()
        if rhythm < .75:
            sides = []
            for k in range(2):
                rr = np.random.default_rng(seed)
                tape, p = pl.Tape(length, rr), pl.Player(ins, rr)
                p.tune += .05 * k
                (pl.riff if rhythm < .45 else pl.chords if rhythm < .6 else pl.strum)(tape, p)
                sides.append(amp(tape.x[k * 500:], 0 if r.random() < .6 else 1))
            n, w = min(map(len, sides)), r.uniform(.2, 1)
            a, b = (y[:n] / st.rms(y) for y in sides)
            x = np.stack([a + (1 - w) * b, b + (1 - w) * a], 1)
        if rhythm > .3:
            tape = pl.Tape(length, r)
            p = pl.Player(ins, r)
            if r.random() < .6:
                pl.line(tape, p, 1.3, (.9, 1.1), .5)
            else:
                pl.sustained(tape, p, False)
            y = st.stereo(amp(tape.x, 2))
            n = min(len(y), len(x)) if np.ndim(x) else len(y)
            y = y[:n] / st.rms(y) * np.float32(10 ** (r.normal(0, 4) / 20))
            x = y if not np.ndim(x) else x[:n] + y
        x = st.effects(x.astype(np.float32), r, st.GUITAR)
        session.add('electric guitar', st.record(x, r, responses, None, .6, .3), r, what='layers')


def metal(session, s, root, packages, count, r, responses):
    """Strings tuned down by up to an octave, palm mutes and tremolo twice as fast as elsewhere, much gain, two players, hard limited."""
    store = Store(s['source'], root, packages)
    ins = Instrument(store, store.list(s['keep']), r, 70)
    store.close()
    for _ in range(count):
        down, fast, length, seed = r.uniform(1, 12), r.uniform(1, 2.2), r.uniform(10, 15), int(r.integers(1 << 31))
        way, how, sides = str(r.choice(['drive', 'gain', 'gain', 'gain', 'fuzz'])), r.random(), []
        for k in range(2 if r.random() < .6 else 1):
            rr = np.random.default_rng(seed)
            tape, p = pl.Tape(length * fast, rr), pl.Player(ins, rr)
            p.tune += .06 * k - down - 12 * np.log2(fast)
            if how < .55:
                pl.riff(tape, p, how < .35)
            elif how < .75:
                pl.tremolo(tape, p)
            elif how < .9:
                pl.chords(tape, p, (2, 4), (.1, .9), (0, .004), .03)
            else:
                pl.line(tape, p, .6, (.6, 1.1), .1)
            x = pl.resample(tape.x, 12 * np.log2(fast), None)[:int(length * FS)]  # faster, and at the pitch meant
            sides.append(st.guitar_amp(x, np.random.default_rng(seed + (k if r.random() < .5 else 0)), way)[0])
        n = min(map(len, sides))
        x = sides[0][:n] if len(sides) == 1 else np.stack([y[:n] / st.rms(y) for y in sides], 1)
        if r.random() < .4:
            x = np.tanh(r.uniform(.8, 3) * x / st.rms(x) / 3).astype(np.float32)
        session.add('electric guitar', st.record(x, r, responses, None, .4, .3), r, what='tuned down')


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('outdir')
    ap.add_argument('--root', required=True)
    ap.add_argument('--packages', required=True)
    ap.add_argument('--only', default='')
    ap.add_argument('--rounds', type=int, default=3)
    ap.add_argument('--seed', type=int, default=1)
    a = ap.parse_args()
    responses, done = impulse_responses(a.root, a.packages), {}
    for i, s in enumerate(sources()):
        for kind, way in dict(loops='machine', heavy='guitar', metal='guitar').items():
            if way != s['way'] or a.only and not any(o in kind + ' ' + s['source'] for o in a.only.split(',')):
                continue
            name, t = 'real-%s-%s' % (kind, s['source'].split('/')[-1]), time.time()
            if kind == 'heavy' and name in done:  # one instrument of each source
                continue
            session = done.setdefault(name, Session(a.outdir, name))
            r = np.random.default_rng([a.seed, i, zlib.crc32(name.encode())])
            if kind == 'loops':
                loops(session, s, a.root, a.packages, a.rounds, r, responses)
            else:
                make, count = dict(heavy=(heavy, 4 * a.rounds), metal=(metal, 4 * a.rounds + 4))[kind]
                make(session, s, a.root, a.packages, count, r, responses)
            session.close()
            print('%-44s %3d tracks, %3.0f s' % (name, len(session.tracks), time.time() - t), flush=True)


if __name__ == '__main__':
    main()
