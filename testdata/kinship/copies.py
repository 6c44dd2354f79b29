#!/usr/bin/python3
"""Fit what bleed counts for against a copy, in a drum kit and elsewhere (plan/fold/copies.go).

  copies.py --vectors vectors.npz vectors-more.npz --set pairs.csv beliefs.jsonl FOLDER [--set ...]

Each set is labelled sessions in FOLDER, what dump wrote of their pairs, and what beliefs wrote of their tracks. Tables are fitted as the committed one is, in four
folds by song, so that each pair is judged by one that has not met its song. Taken are the pairs of which a copy is the likeliest kin and has
5 % and more; two sides of one part, two cuts of one loop, and a synthesised bass beside its sub (one waveform, through two filters) are left out.
Printed are, for several weights of what is neither, the two ratios, with a normal prior of 1.5 on their logarithms, and the log loss without and with them.
"""
import argparse, json, zlib
import numpy as np, train
from scipy.optimize import minimize

FOLDS = 4; MIXED = .05; KIT = ('kick', 'snare', 'tom', 'drums', 'hat', 'cymbal', 'overhead', 'room')


def fold(s): return zlib.crc32(train.group(s).encode()) % FOLDS


def scores(model, kn, d, use): W, stats, _ = model; A, _, _ = train.expand(d['there'][use], kn, stats); B, _, _ = train.expand(d['back'][use], kn, stats); a, b = A @ W, B @ W; return np.array([a[:, k] if k in train.DIRECTED else (a[:, k] + b[:, k]) / 2 for k in range(7)] + [b[:, k] for k in train.DIRECTED]).T


def strangers(first, both, sets):
    """Probabilities of the ten outcomes for the pairs of all sets, by the mean of two fits that have not met the song."""
    out = [np.zeros((len(d['kind']), 10)) for d in sets]; k1, k2 = train.knots(first), train.knots(both)
    for f in range(FOLDS):
        apart = lambda d: (d['kind'] != train.MASK) & np.array([fold(s) != f for s in d['session']]); m1, m2 = train.fit(first, apart(first), 10., k1), train.fit(both, apart(both), 20., k2)
        for P, d in zip(out, sets):
            m = np.array([fold(s) == f for s in d['session']])
            if m.any(): L = (scores(m1, k1, d, m) + scores(m2, k2, d, m)) / 2; L = np.exp(L - L.max(1, keepdims=True)); P[m] = L / L.sum(1, keepdims=True)
    return out


def rows(d, P, beliefs, folder):
    """For each pair and variant: the probabilities of kin, bleed and neither, whether they are kin, and that both or none are of a kit."""
    own = {(q['session'], q['variant']): q for q in map(json.loads, open(beliefs))}; lab = {s: json.load(open(f'{folder}/{s}/labels.json')) for s in set(d['session'])}; plain = lambda f: f.replace(',', ';'); by = {s: {plain(t['file']): t for t in l['tracks']} for s, l in lab.items()}; sides = {(s, frozenset(map(plain, p))) for s, l in lab.items() for p in l.get('lr_pairs', [])}
    kin = P[:, [1, 2, 3, 4, 7, 8, 9]].sum(1); copy = np.stack([P[:, 1] + P[:, 7], P[:, 2], P[:, 3] + P[:, 8], P[:, 4] + P[:, 9]]).argmax(0) == 0; out = []
    for i in np.flatnonzero(copy & (kin > .05) & (d['kind'] != train.MASK)):
        s, a, b = d['session'][i], d['a'][i], d['b'][i]
        if (s, frozenset((a, b))) in sides and d['kind'][i] == train.DOUBLE or 'Loop' in a and 'Loop' in b or 'Bass' in a and 'Sub B' in b or 'Sub B' in a and 'Bass' in b: continue
        for variant, key in (('named', 'file'), ('anon', 'anon')):
            q = own[s, variant]; use = np.isin(q['roles'], KIT); ka, kb = (np.array(q['own'][by[s][t][key]])[use].sum() for t in (a, b)); out.append((kin[i], P[i, 6], max(0, 1 - kin[i] - P[i, 6]), d['kind'][i] in train.BINDS, ka * kb, (1 - ka) * (1 - kb)))
    return out


if __name__ == '__main__':
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('--vectors', nargs=2, required=True); ap.add_argument('--set', nargs=3, action='append', required=True); a = ap.parse_args(); first = train.load(a.vectors[0]); both = dict(first)
    for k in ('there', 'back'): both[k] = train.middle(both[k])
    both = train.joined(both, train.load(a.vectors[1])); sets = [train.read(p, [f]) for p, _, f in a.set]; q = [r for d, P, (_, b, f) in zip(sets, strangers(first, both, sets), a.set) for r in rows(d, P, b, f)]; kin, bleed, rest, true, kit, none = np.array(q, float).T; mixed = np.maximum(0, 1 - kit - none) * MIXED; print(len(q) // 2, 'pairs,', int(true.sum()) // 2, 'kin')
    for neither in (1, 2, 4, 8):
        def loss(v): p = np.clip(kin / (kin + rest * neither + bleed * (kit * np.exp(v[0]) + none * np.exp(v[1]) + mixed) / (kit + none + mixed)), 1e-9, 1 - 1e-9); return -np.where(true > 0, np.log(p), np.log(1 - p)).sum() / 2
        v = minimize(lambda v: loss(v) + v @ v / 2 / 1.5 ** 2, np.zeros(2), method='Nelder-Mead').x; print(f'neither counts {neither}: bleed counts {np.exp(v[0]):.1f} in a kit, {np.exp(v[1]):.3f} elsewhere; log loss {loss(v):.1f}, without {loss(np.zeros(2)):.1f}')
