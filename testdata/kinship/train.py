#!/usr/bin/python3
"""Train the kinship model and score it on sessions left out.

  train.py --pairs pairs.csv --labels FOLDER... --vectors vectors.npz    read what dump wrote, label it, keep it compact
  train.py --vectors vectors.npz [more.npz] [--middle] [--write features/kinship/model.csv [--beside table.csv]]
      fit; scores of sessions left out, in six folds; writes the table, or its mean with another
"""
import argparse, csv, glob, json, os
import numpy as np
from scipy.optimize import minimize

HYP = ['none', 'copy', 'sides', 'sum', 'return', 'double', 'bleed']; DIRECTED = (1, 3, 4); BINDS = (1, 2, 3, 4)
NONE, COPY, SIDES, SUM, RETURN, DOUBLE, BLEED = range(7)
SPLIT = .15   # coherence below which two files called L and R are two performances
MASK = -1


def ancestors(by, f):
    out, todo = set(), list(by[f]['source'])
    while todo:
        q = todo.pop()
        if q not in out and q in by: out.add(q); todo += by[q]['source']
    return out


def truth(lab):
    """function (a, b) -> hypothesis and the derived one of the two (None: either)"""
    by = {t['file']: t for t in lab['tracks']}; sides = {frozenset(p) for p in lab['lr_pairs']}; anc = {f: ancestors(by, f) for f in by}

    def ask(a, b):
        if frozenset((a, b)) in sides: return SIDES, None
        for d, s in ((a, b), (b, a)):
            t = by[d]
            if s in t['source'] and t['kind'] == 'return' and t['role'] == 'room': return MASK, None  # a room microphone
            if s in t['source']: return (RETURN if t['kind'] == 'return' else SUM if len(t['source']) > 1 else COPY), d
        A, B = by[a], by[b]; one = lambda t: t['source'][0] if len(t['source']) == 1 and t['kind'] in ('copy', 'parallel') else None
        if one(A) and one(A) == one(B): return COPY, None
        if (anc[a] | {a}) & (anc[b] | {b}): return MASK, None
        # what is made of one side is kin to the other
        for u, v in ((a, b), (b, a)):
            if any(frozenset((q, v)) in sides for q in anc[u]): return MASK, None
        return NONE, None
    return ask


def read(pairs, folders):
    import csv
    dirs = {os.path.basename(d.rstrip('/')): d for f in folders for d in glob.glob(f + '/*/')  for d in [d.rstrip('/')]}; rows = []; ask = {}
    with open(pairs) as fh:
        r = csv.reader(fh); head = next(r); names = [h[6:] for h in head if h.startswith('there.')]; m = len(names)
        for q in r:
            s, a, b = q[:3]
            if s not in ask:
                lab = json.load(open(dirs[s.split('#')[0]] + '/labels.json'))
                for t in lab['tracks']: t['file'] = t['file'].replace(',', ';'); t['source'] = [x.replace(',', ';') for x in t['source']]
                lab['lr_pairs'] = [[x.replace(',', ';') for x in p] for p in lab.get('lr_pairs', [])]; ask[s] = truth(lab), {t['file']: t for t in lab['tracks']}
            k, d = ask[s][0](a, b); v = np.array(q[3:], float); by = ask[s][1]; rows.append((s, a, b, k, 0 if d is None else 1 if d == b else 2, v[:m], v[m:], by[a]['family'], by[b]['family'], by[b if d == b else a].get('how', '')))
    X, Y = np.array([r[5] for r in rows]), np.array([r[6] for r in rows]); kind = np.array([r[3] for r in rows]); way = np.array([r[4] for r in rows]); col = lambda n: X[:, names.index(n)]
    kind[(kind == SIDES) & (col('coherence') < SPLIT)] = DOUBLE
    lag = 10 ** col('lag') - .01; free = kind == NONE
    kind[free & (col('prominence') > np.log(9)) & (col('coherence') > .03) & (lag < 60) & (col('repeats') < .5)] = BLEED
    kind[(kind == BLEED) & (col('coherence') > .985) & (col('steadiness') > .95)] = MASK  # two microphones at one drum that hear the same: called dry, but copies to any ear
    kind[np.char.startswith(np.array([r[0] for r in rows]), 'grid') & (kind == RETURN)] = MASK  # one-shots on a grid prove no return
    same, above = col('partials'), col('partials_above'); kind[(kind == NONE) & (same > .57) & (above > .3) & (same + above > .94) & (col('coherence') < .1)] = DOUBLE
    return dict(session=np.array([r[0] for r in rows]), a=np.array([r[1] for r in rows]), b=np.array([r[2] for r in rows]), kind=kind.astype(np.int8), way=way.astype(np.int8), there=X.astype(np.float32), back=Y.astype(np.float32), cross=np.array([r[7] != r[8] for r in rows]), how=np.array([r[9] for r in rows]), names=np.array(names))


def compact(d, seed=1):
    """All that is labelled kin, and of the rest a few from each session, which then count for all."""
    r = np.random.default_rng(seed); keep = np.zeros(len(d['kind']), bool); weight = np.ones(len(keep), np.float32)
    for s in np.unique(d['session']):
        rest = np.flatnonzero((d['session'] == s) & ((d['kind'] == NONE) | (d['kind'] == BLEED))); keep[(d['session'] == s) & (d['kind'] != NONE) & (d['kind'] != BLEED)] = True
        c = d['there'][:, 0] + d['there'][:, list(d['names']).index('rhythm')]; hard = rest[np.argsort(-c[rest])][:60]; easy = np.setdiff1d(rest, hard); pick = r.permutation(easy)[:40]; keep[hard] = True; keep[pick] = True
        if len(pick): weight[pick] = len(easy) / len(pick)
    weight[np.char.find(d['session'], '#') >= 0] *= .3
    return {k: (v[keep] if len(v) == len(keep) and k != 'names' else v) for k, v in d.items()} | dict(weight=weight[keep])


def studio(d, folders):
    """What made sessions of a studio (make.py) count for, before fit() halves their kin: a send one and a half times, other kin and what is no kin
    less than a track of a session, rooms far off little, since they sound as halls do. Two sides there are left out."""
    how = {(l['session'], t['file'].replace(',', ';')): t['how'] for f in folders for p in glob.glob(f + '/st_*/labels.json') for l in [json.load(open(p))] for t in l['tracks']}
    made, kin = np.char.startswith(d['session'], 'st_'), np.isin(d['kind'], BINDS); far = np.zeros(len(made), bool)
    for side in 'ab': far |= np.array([how.get((s.split('#')[0], f)) == 'distant' for s, f in zip(d['session'], d[side])])
    d['weight'] = d['weight'] * np.where(made, np.where(d['kind'] == RETURN, 3, np.where(kin, .5, np.where(far, .3, .4))), 1); d['kind'][made & (d['kind'] == SIDES)] = MASK
    return d


def table(d, fitted):
    """The rows of the table: those terms that weigh anything."""
    W, (c, s), terms = fitted
    return [['bias' if j == 'bias' else str(d['names'][j]), '' if k is None else f'{k:g}', f'{cc:.5g}', f'{ss:.5g}'] + [f'{x:.4g}' for x in w] for (j, k), cc, ss, w in zip(terms, c, s, W) if np.abs(w).max() > 1e-3]


def mean(*tables):
    """The table whose scores are the mean of those of the tables given: all their terms, each with its share of the weight."""
    return [r[:4] + [f'{float(x) / len(tables):.5g}' for x in r[4:]] for t in tables for r in t]


def coarse(v): h = v.astype(np.float16); u = h.view(np.uint16); u += 0x10; u &= 0xFFE0; return h  # rounded to five bits of fraction, which pack well


def keep(path, d):
    d = {k: (coarse(v) if v.dtype == np.float32 else v) for k, v in d.items()}; back = d.pop('back'); np.savez_compressed(path, **d); np.savez_compressed(path.replace('.npz', '-back.npz'), back=back)  # two files of a handy size


def joined(a, b):
    """Two sets of vectors as one; what both hold of a session is taken from the second."""
    if list(a['names']) != list(b['names']): raise SystemExit('the two sets of vectors hold other measures: measure one of them anew')
    stay = ~np.isin(a['session'], b['session']); return {k: b[k] if k == 'names' else np.concatenate([a[k][stay], b[k]]) for k in a}


def middle(v, most=20):
    """Values of vectors.npz were cut off at four bits of fraction, so that they lie 1.5 % low; this puts them at the middle of their step. Whole
    numbers, and values at an end of their range, stay."""
    v = v.copy()
    for x in v.T:
        values = np.unique(x)
        if len(values) > most: h = x.astype(np.float16); u = h.view(np.uint16); u[~np.isin(x, [0, 1, -1, values[0], values[-1]])] |= 0x20; x[:] = h
    return v


def load(path):
    d = {}
    for p in (path, path.replace('.npz', '-back.npz')): z = np.load(p); d.update({k: (z[k].astype(np.float32) if z[k].dtype == np.float16 else z[k]) for k in z.files})
    return d


# ---- the model
def knots(d): Z = np.concatenate([d['there'], d['back']]); return [sorted(set(np.round(np.quantile(z, [.25, .5, .7, .85, .95]), 4))) for z in Z.T]


def expand(X, kn, stats=None):
    cols, terms = [np.ones(len(X))], [('bias', None)]
    for j, ks in enumerate(kn):
        cols.append(X[:, j]); terms.append((j, None))
        for k in ks:
            if k > X[:, j].min() - 1e9: cols.append(np.maximum(X[:, j] - k, 0)); terms.append((j, k))
    F = np.array(cols).T.astype(np.float64)
    if stats is None:
        c, s = F.mean(0), F.std(0); c[0], s[0] = 0, 1; ok = s > 1e-6; s[~ok] = 1; stats = (c, s)
    return (F - stats[0]) / stats[1], stats, terms


def outcomes(W, A, B):
    """log probabilities: N x 10: none, copy, sides, sum, return, double, bleed, copy back, sum back, return back"""
    a, b = A @ W, B @ W; u = [a[:, k] if k in DIRECTED else (a[:, k] + b[:, k]) / 2 for k in range(7)] + [b[:, k] for k in DIRECTED]; L = np.array(u).T; L = L - L.max(1, keepdims=True); return L - np.log(np.exp(L).sum(1, keepdims=True))


def targets(kind, way):
    T = np.zeros((len(kind), 10)); back = {1: 7, 3: 8, 4: 9}
    for i, (k, w) in enumerate(zip(kind, way)):
        if k not in back or w in (0, 1): T[i, k] = 1
        if k in back and w in (0, 2): T[i, back[k]] = 1
    return T


def fit(d, use, shrink, kn):
    A, stats, terms = expand(d['there'][use], kn); B, _, _ = expand(d['back'][use], kn, stats); T = targets(d['kind'][use], d['way'][use]); w = d['weight'][use].astype(float) * np.where((np.char.startswith(d['session'][use], 'fx_') | np.char.startswith(d['session'][use], 'st_')) & (d['kind'][use] > 0) & (d['kind'][use] < 5), .5, 1); n = A.shape[1]
    pen = np.full(n, shrink); pen[0] = .01

    def loss(v):
        W = v.reshape(n, 7); L = outcomes(W, A, B); P = np.exp(L); q = (P * T).sum(1) + 1e-300; f = -(w * np.log(q)).sum() + .5 * (pen[:, None] * W * W).sum(); G = w[:, None] * (P - P * T / q[:, None]); ga, gb = np.zeros((len(w), 7)), np.zeros((len(w), 7))
        for k in range(7):
            if k in DIRECTED: ga[:, k] = G[:, k]; gb[:, k] = G[:, 7 + DIRECTED.index(k)]
            else: ga[:, k] = gb[:, k] = G[:, k] / 2
        return f, (A.T @ ga + B.T @ gb + pen[:, None] * W).ravel()
    r = minimize(loss, np.zeros(n * 7), jac=True, method='L-BFGS-B', options=dict(maxiter=400)); return r.x.reshape(n, 7), stats, terms


def predict(model, kn, d, use): W, stats, _ = model; A, _, _ = expand(d['there'][use], kn, stats); B, _, _ = expand(d['back'][use], kn, stats); return np.exp(outcomes(W, A, B))


def group(s): s = s[3:] if s.startswith(('fx_', 'st_')) else s; return s.split('#')[0].split('~')[0]  # a song, whoever plays it, what was made of it, and its parts stay together


def report(P, d, title, binds=.9):
    k, way = d['kind'], d['way']; J = P[:, :7].copy(); J[:, 1] += P[:, 7]; J[:, 3] += P[:, 8]; J[:, 4] += P[:, 9]; best = J.argmax(1); top = J.max(1); ok = k != MASK
    bind = np.isin(best, BINDS) & (top >= binds) & ok; true = np.isin(k, BINDS); kin = bind & true; print(f'\n== {title}: {len(np.unique(d["session"]))} sessions; binding {bind.sum()}, true {kin.sum()} ({100 * kin.sum() / max(1, bind.sum()):.1f} %), of the kind itself {100 * (bind & (k == best)).sum() / max(1, bind.sum()):.1f} %, across families and false {(bind & ~true & d["cross"]).sum()}')
    for c in BINDS:
        m = k == c
        if m.any(): s = bind & m; print(f'   {HYP[c]:7s} {m.sum():4d}: bound {100 * s.sum() / m.sum():5.1f} %, as itself {100 * (s & (best == c)).sum() / m.sum():5.1f} %', end='')
        if m.any() and c in DIRECTED:
            b = {1: 7, 3: 8, 4: 9}[c]; q = m & bind & (best == c) & (way > 0); there = P[q, c] >= P[q, b]; sure = np.maximum(P[q, c], P[q, b]) / (P[q, c] + P[q, b]) >= .95; right = there == (way[q] == 1); print(f', direction {100 * right.mean() if q.any() else 0:.1f} %, sure {100 * sure.mean() if q.any() else 0:.0f} % of which right {100 * right[sure].mean() if sure.any() else 0:.1f} %', end='')
        if m.any(): print()
    for c in (COPY, SUM, RETURN):
        der = np.where(way == 2, d['a'], d['b']); key = np.array([x + '/' + y for x, y in zip(d['session'], der)]); m = (k == c) & (way > 0); n = set(key[m]); got = set(key[m & bind])
        if n: print(f'   tracks that are {HYP[c]}: {len(got)}/{len(n)} bound to a source; missed', ' '.join(sorted(n - got))[:600])
    return best, top, bind


if __name__ == '__main__':
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('--pairs'); ap.add_argument('--labels', nargs='*', default=[]); ap.add_argument('--vectors', nargs='+', required=True); ap.add_argument('--write'); ap.add_argument('--beside'); ap.add_argument('--shrink', type=float, default=10.); ap.add_argument('--wrong', action='store_true'); ap.add_argument('--middle', action='store_true'); ap.add_argument('--folds', type=int, default=6); a = ap.parse_args()
    if a.pairs: keep(a.vectors[0], studio(compact(read(a.pairs, a.labels)), a.labels))
    d = load(a.vectors[0])
    if a.middle: d['there'], d['back'] = middle(d['there']), middle(d['back'])
    for more in a.vectors[1:]: d = joined(d, load(more))
    kn = knots(d); use = d['kind'] != MASK; print(len(use), 'pairs;', {HYP[k]: int((d['kind'] == k).sum()) for k in range(7)})
    groups = np.array([group(s) for s in d['session']]); names = np.unique(groups); np.random.default_rng(5).shuffle(names); P = np.zeros((len(use), 10))
    for f in range(a.folds): out = np.isin(groups, names[f::a.folds]); P[out] = predict(fit(d, use & ~out, a.shrink, kn), kn, d, out)
    sub = lambda m: {k: (v[m] if k != 'names' else v) for k, v in d.items()}; print('log loss', -np.mean(np.log((P * targets(np.maximum(d['kind'], 0), d['way'])).sum(1)[use] + 1e-9)))
    kinds = [('parts', lambda s: '#' in s), ('bands', lambda s: s[0] in 'dbte' and s[1].isdigit()), ('random', lambda s: s[0] == 'x'), ('effects', lambda s: s.startswith('fx_')), ('studio', lambda s: s.startswith('st_')), ('grid', lambda s: s.startswith('grid')), ('kit', lambda s: s.startswith('kit'))]
    for t, f in kinds:
        m = np.array([f(s) and (t == 'parts' or '#' not in s) for s in d['session']])
        if m.any():
            best, top, bind = report(P[m], sub(m), t); q = sub(m)
            if t in ('effects', 'studio'):
                for h in np.unique(q['how']):
                    mm = (q['how'] == h) & np.isin(q['kind'], BINDS)
                    if mm.any() and h: print(f'      {h:14s} {(bind & mm).sum()}/{mm.sum()}', end='')
                print()
            if a.wrong:
                for i in np.flatnonzero((bind & ~np.isin(q['kind'], BINDS)) | (np.isin(q['kind'], BINDS) & ~bind)): print('  ', 'FALSE ' if bind[i] else 'missed', q['session'][i], q['a'][i], '|', q['b'][i], HYP[q['kind'][i]], '->', HYP[best[i]], round(float(top[i]), 2), dict(zip([str(n) for n in q['names'][[0, 1, 3, 5, 7, 8, 16, 20, 21, 24, 37]]], [round(float(v), 2) for v in q['there'][i][[0, 1, 3, 5, 7, 8, 16, 20, 21, 24, 37]]])))
    if a.write:
        tables = [table(d, fit(d, use, a.shrink, kn))] + ([list(csv.reader(open(a.beside)))[1:]] if a.beside else [])
        with open(a.write, 'w') as fh: fh.write('term,knot,centre,scale,' + ','.join(HYP) + '\n' + ''.join(','.join(r) + '\n' for r in mean(*tables)))
