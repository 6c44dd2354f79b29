#!/usr/bin/python3
"""Train the role model of plan/ears and say how it does on material it has not heard.

  train.py --origin NAME=vectors.csv,... [--origin NAME=...] [--common vectors.csv,...] [--write ../../plan/ears/role.csv] [--scores scores.md]

The CSV files come from the tool in dump/. An origin is a body of material that shares sound sources; common material helps every
fit. Scores are of whole sessions' tracks, never of single tracks made by solo.py: with the session left out of everything else, and
across origins (trained on the other origins and the common material).
Needs numpy and scipy (made with 1.24 and 1.10).
"""
import argparse, csv
import numpy as np
from scipy.optimize import minimize

ROLES = ['kick', 'snare', 'tom', 'drums', 'hat', 'cymbal', 'overhead', 'room', 'percussion', 'bass', 'electric guitar', 'acoustic guitar',
         'piano', 'organ', 'synth', 'strings', 'horns', 'lead vocal', 'backing vocal']
FAMILY = dict(zip(ROLES, 'dclose dclose dclose dclose dcym dcym dcym room perc bass egtr agtr keys keys synth strings horns lead bgv'.split()))
FAMILIES = list(dict.fromkeys(FAMILY.values()))
COARSE = dict(dclose=0, dcym=0, room=0, perc=0, bass=0, egtr=1, agtr=1, keys=2, synth=2, strings=2, horns=2, lead=3, bgv=3)
RETURN = dict(dclose='drums', perc='percussion', egtr='electric guitar', agtr='acoustic guitar', lead='lead vocal', bgv='backing vocal',
              horns='horns', strings='strings', keys='piano', synth='synth', bass='bass', room='room', dcym='overhead')
CLIP, SOLO = 3, 0.25  # weight of a single track of solo.py against one of a session
AWAY = 0.8, 1 / 1.2  # usual distance from the usual value, and the unit it is counted in: a larger one is shrunk harder


def load(path, origin):
    """Rows that have a place in the fold; an effect return counts as the role it returns."""
    rows = list(csv.reader(open(path))); names = rows[0][7:]; out = []
    for r in rows[1:]:
        session, file, role, family, atom, kind, variation = r[:7]
        if not atom: continue
        if role not in FAMILY: role = RETURN[atom]
        out.append(dict(origin=origin, session=session, file=file, role=role, atom=atom, kind=kind, variation=int(variation), x=np.array(r[7:], float)))
    return names, out


def standard(X):
    """Centre and spread of each element: median and half the distance of the 16th and 84th percentiles."""
    c = np.median(X, 0); q = (np.percentile(X, 84, axis=0) - np.percentile(X, 16, axis=0)) / 2
    return c, np.maximum(q, 0.3 * X.std(0) + 1e-3)


def z(X, cs): return np.clip((X - cs[0]) / cs[1], -CLIP, CLIP)


def features(rows, cs):
    """The standardised elements, then how far each is from its usual value, either way."""
    Z = z(np.array([r['x'] for r in rows]), cs); return np.c_[Z, (np.abs(Z) - AWAY[0]) / AWAY[1]]


def weights(rows):
    """Each track counts once, however many variations; rare roles count more (square root of the balance)."""
    n = {}
    for r in rows: n[r['session'], r['file']] = n.get((r['session'], r['file']), 0) + 1
    w = np.array([1 / n[r['session'], r['file']] for r in rows]); role = np.array([r['role'] for r in rows])
    for q in set(role): w[role == q] *= w[role == q].sum() ** -0.5
    return w * [SOLO if r['session'].startswith('solo') else 1 for r in rows]


class Linear:
    """Multinomial logistic regression over elements and their distances from the usual, whose weights are a sum of a part per coarse family, per family and per role, each shrunk.

    Roles of one family so share what they have in common and differ only where the data insist; the parts are added up
    for the table. The loss is the mean of the log losses of role, family and coarse family, because a fold is judged by the
    last two. Lead and backing vocals hardly differ by timbre (see scores): their difference is shrunk `alike` times more.
    """
    def __init__(self, coarse=15, family=15, role=15, alike=8, mix=(1 / 3, 1 / 3, 1 / 3)): self.shrink, self.alike, self.mix = (coarse, family, role), alike, mix

    def fit(self, rows):
        X = np.array([r['x'] for r in rows]); self.cs = standard(X); Z = np.c_[features(rows, self.cs), np.ones(len(X))]; w = weights(rows); w /= w.sum(); d, R = Z.shape[1], len(ROLES); tracks = len({(r['session'], r['file']) for r in rows})
        role = np.array([ROLES.index(r['role']) for r in rows]); fam = np.array([FAMILIES.index(FAMILY[q]) for q in ROLES]); co = np.array([COARSE[FAMILY[q]] for q in ROLES]); G = [np.eye(4)[:, co], np.eye(len(FAMILIES))[:, fam], np.eye(R)]
        n = [g.shape[0] for g in G]; own = [g[[co[role], fam[role], role][k]] for k, g in enumerate(G)]; pen = [np.full((m, d), float(s)) for m, s in zip(n, self.shrink)]
        for q in ('lead', 'bgv'): pen[1][FAMILIES.index(q)] *= self.alike; pen[2][[ROLES.index(q2) for q2 in ROLES if FAMILY[q2] == q]] *= self.alike
        for p in pen: p[:, -1] *= .02  # the bias is hardly shrunk
        cut = np.cumsum([0] + [m * d for m in n]); pen = np.concatenate([p.ravel() for p in pen]) / tracks

        def loss(v):
            W = sum(g.T @ v[a:b].reshape(-1, d) for g, a, b in zip(G, cut, cut[1:])); L = Z @ W.T; L -= L.max(1, keepdims=True); P = np.exp(L); P /= P.sum(1, keepdims=True); D = np.zeros_like(P); f = 0
            for m, o in zip(self.mix, own): s = (P * o).sum(1) + 1e-12; f -= m * (w * np.log(s)).sum(); D += m * (P - P * o / s[:, None])
            g = (D * w[:, None]).T @ Z; return f + .5 * (pen * v * v).sum(), np.concatenate([(q @ g).ravel() for q in G]) + pen * v
        v = minimize(loss, np.zeros(cut[-1]), jac=True, method='L-BFGS-B', options=dict(maxiter=300)).x; W = sum(g.T @ v[a:b].reshape(-1, d) for g, a, b in zip(G, cut, cut[1:]))
        W -= W.mean(0); self.W, self.b = W[:, :-1].T, W[:, -1]; return self

    def logits(self, rows): return features(rows, self.cs) @ self.W + self.b

    def probabilities(self, rows): L = self.logits(rows); P = np.exp(L - L.max(1, keepdims=True)); return P / P.sum(1, keepdims=True)


def fold(P, groups, of):
    """Sum role probabilities into groups."""
    return np.stack([P[:, [i for i, r in enumerate(ROLES) if of(r) == g]].sum(1) for g in groups], 1)


def score(rows, P):
    fam = fold(P, FAMILIES, FAMILY.get); co = fold(P, range(4), lambda r: COARSE[FAMILY[r]]); f = np.array([FAMILIES.index(r['atom']) for r in rows]); c = np.array([COARSE[r['atom']] for r in rows]); i = np.arange(len(rows))
    d = lambda p, y: -np.log(np.maximum(p[i, y], 1e-6)).mean()
    return dict(n=len(rows), family=(fam.argmax(1) == f).mean(), family_ll=d(fam, f), coarse=(co.argmax(1) == c).mean(), coarse_ll=d(co, c), parts=[(co.argmax(1) == c)[c == k].mean() if (c == k).any() else float('nan') for k in range(4)])


def show(s): return '%4d tracks  family %.3f (log loss %.3f)  coarse %.3f (%.3f)  rhythm %.2f guitars %.2f other %.2f voices %.2f' % (s['n'], s['family'], s['family_ll'], s['coarse'], s['coarse_ll'], *s['parts'])


def plain(rows): return [r for r in rows if r['variation'] == 0 and not r['session'].startswith('solo')]


def left_out(data, common, make):
    """Each session of every origin in turn, told by a model of all the others: {origin: (rows, probabilities)}."""
    out = {}
    for o, rows in data.items():
        test, P = [], []
        for s in sorted({r['session'] for r in plain(rows)}):
            te = [r for r in plain(rows) if r['session'] == s]; P.append(make().fit([r for q in data.values() for r in q if r['session'] != s] + common).probabilities(te)); test += te
        out[o] = test, np.concatenate(P)
    return out


def across(data, common, make):
    """Each origin told by a model of the other origins: {origin: (rows, probabilities)}."""
    return {o: (plain(data[o]), make().fit([r for p, q in data.items() if p != o for r in q] + common).probabilities(plain(data[o]))) for o in data}


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('--origin', action='append', required=True); ap.add_argument('--common', default=''); ap.add_argument('--write'); ap.add_argument('--scores'); a = ap.parse_args()
    data = {}
    for o in a.origin:
        name, paths = o.split('=', 1)
        for p in paths.split(','): names, rows = load(p, name); data.setdefault(name, []).extend(rows)
    common = [r for p in a.common.split(',') if p for r in load(p, 'common')[1]]; lines = ['trained on %d session tracks and %d single tracks' % (sum(len(plain(q)) for q in data.values()), sum(r['session'].startswith('solo') for q in [*data.values(), common] for r in q))]
    for title, way in (('session left out', left_out), ('origin left out', across)):
        for o, (rows, P) in way(data, common, Linear).items(): lines.append('%-16s %-8s ' % (title, o) + show(score(rows, P)))
    print('\n'.join(lines))
    if a.scores: open(a.scores, 'w').write('\n'.join(lines) + '\n')
    if a.write: table(Linear().fit([r for q in data.values() for r in q] + common), names, a.write)


def table(m, names, path):
    g = lambda v: '%.4g' % v
    with open(path, 'w', newline='\n') as f:
        out = csv.writer(f, lineterminator='\n'); out.writerow(['element', 'centre', 'spread'] + ROLES); out.writerow(['bias', 0, 1] + ['%.3f' % v for v in m.b])
        for i, n in enumerate(names):
            out.writerow([n, g(m.cs[0][i]), g(m.cs[1][i])] + ['%.3f' % v for v in m.W[i]])
            out.writerow(['|%s|' % n, g(AWAY[0]), g(AWAY[1])] + ['%.3f' % v for v in m.W[len(names) + i]])


if __name__ == '__main__': main()
