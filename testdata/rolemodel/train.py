#!/usr/bin/python3
"""Train the role model of plan/ears and say how it does on material it has not heard.

  train.py --origin NAME=vectors.csv [--origin NAME=vectors.csv ...] [--write ../../plan/ears/role.csv] [--scores scores.md]

The CSV files come from the tool in dump/. An origin is a body of sessions that share sound sources; scores are given
with sessions left out in turn within each origin, and across origins (trained on the others, tried on the one).
Needs numpy and scikit-learn (made with 1.24 / 2.x and 1.2 / 1.x; the result does not depend on the version to 3 digits).
"""
import argparse, csv
import numpy as np
from sklearn.linear_model import LogisticRegression

ROLES = ['kick', 'snare', 'tom', 'drums', 'hat', 'cymbal', 'overhead', 'room', 'percussion', 'bass', 'electric guitar', 'acoustic guitar',
         'piano', 'organ', 'synth', 'strings', 'horns', 'lead vocal', 'backing vocal']
FAMILY = dict(zip(ROLES, 'dclose dclose dclose dclose dcym dcym dcym room perc bass egtr agtr keys keys synth strings horns lead bgv'.split()))
FAMILIES = list(dict.fromkeys(FAMILY.values()))
COARSE = dict(dclose=0, dcym=0, room=0, perc=0, bass=0, egtr=1, agtr=1, keys=2, synth=2, strings=2, horns=2, lead=3, bgv=3)
RETURN = dict(dclose='drums', perc='percussion', egtr='electric guitar', agtr='acoustic guitar', lead='lead vocal', bgv='backing vocal',
              horns='horns', strings='strings', keys='piano', synth='synth', bass='bass', room='room', dcym='overhead')
CLIP = 3


def load(path, origin):
    """Rows that have a place in the fold; an effect return counts as the role it returns."""
    rows = list(csv.reader(open(path))); names = rows[0][7:]; out = []
    for r in rows[1:]:
        session, file, role, family, atom, kind, variation = r[:7]
        if not atom: continue
        if role not in FAMILY: role = RETURN[atom]
        out.append(dict(origin=origin, session=session, file=file, role=role, atom=atom, kind=kind, variation=int(variation), x=np.array(r[7:], float)))
    return names, out


def standard(X, w):
    """Centre and spread of each element: medians within roles would be better known only with more material."""
    c = np.median(X, 0); q = (np.percentile(X, 84, axis=0) - np.percentile(X, 16, axis=0)) / 2
    return c, np.maximum(q, 0.3 * X.std(0) + 1e-3)


def z(X, cs): return np.clip((X - cs[0]) / cs[1], -CLIP, CLIP)


def weights(rows):
    """Each track counts once, however many variations; rare roles count more (square root of the balance)."""
    n = {}
    for r in rows: n[r['session'], r['file']] = n.get((r['session'], r['file']), 0) + 1
    w = np.array([1 / n[r['session'], r['file']] for r in rows]); role = np.array([r['role'] for r in rows])
    for q in set(role): w[role == q] *= w[role == q].sum() ** -0.5
    return w * (len(n) / w.sum())


class Linear:
    def __init__(self, C): self.C = C

    def fit(self, rows):
        X = np.array([r['x'] for r in rows]); w = weights(rows); self.cs = standard(X, w); y = np.array([ROLES.index(r['role']) for r in rows])
        m = LogisticRegression(C=self.C, max_iter=2000).fit(z(X, self.cs), y, sample_weight=w)
        self.W = np.zeros((X.shape[1], len(ROLES))); self.b = np.full(len(ROLES), -12.0); self.W[:, m.classes_] = m.coef_.T; self.b[m.classes_] = m.intercept_
        self.b[m.classes_] -= self.b[m.classes_].mean(); return self

    def logits(self, rows): return z(np.array([r['x'] for r in rows]), self.cs) @ self.W + self.b

    def probabilities(self, rows): L = self.logits(rows); P = np.exp(L - L.max(1, keepdims=True)); return P / P.sum(1, keepdims=True)


def fold(P, groups, of):
    """Sum role probabilities into groups."""
    return np.stack([P[:, [i for i, r in enumerate(ROLES) if of(r) == g]].sum(1) for g in groups], 1)


def score(rows, P):
    fam = fold(P, FAMILIES, FAMILY.get); co = fold(P, range(4), lambda r: COARSE[FAMILY[r]]); f = np.array([FAMILIES.index(r['atom']) for r in rows]); c = np.array([COARSE[r['atom']] for r in rows]); i = np.arange(len(rows))
    d = lambda p, y: -np.log(np.maximum(p[i, y], 1e-6)).mean()
    return dict(n=len(rows), family=(fam.argmax(1) == f).mean(), family_ll=d(fam, f), coarse=(co.argmax(1) == c).mean(), coarse_ll=d(co, c), parts=[(co.argmax(1) == c)[c == k].mean() if (c == k).any() else float('nan') for k in range(4)])


def show(s): return '%4d tracks  family %.3f (log loss %.3f)  coarse %.3f (%.3f)  rhythm %.2f guitars %.2f other %.2f voices %.2f' % (s['n'], s['family'], s['family_ll'], s['coarse'], s['coarse_ll'], *s['parts'])


def plain(rows): return [r for r in rows if r['variation'] == 0]


def within(rows, make):
    test, P = [], []
    for s in sorted({r['session'] for r in rows}):
        te = [r for r in plain(rows) if r['session'] == s]; P.append(make().fit([r for r in rows if r['session'] != s]).probabilities(te)); test += te
    return score(test, np.concatenate(P))


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('--origin', action='append', required=True); ap.add_argument('--write'); ap.add_argument('--scores'); ap.add_argument('--C', type=float, default=0.03); a = ap.parse_args()
    data = {}
    for o in a.origin: name, path = o.split('=', 1); names, rows = load(path, name); data.setdefault(name, []).extend(rows)
    make = lambda: Linear(a.C); lines = []
    for o, rows in data.items(): lines.append('within %-10s ' % o + show(within(rows, make)))
    if len(data) > 1:
        for o in data: lines.append('across to %-7s ' % o + show(score(plain(data[o]), make().fit([r for p, q in data.items() if p != o for r in q]).probabilities(plain(data[o])))))
    print('\n'.join(lines))
    if a.scores: open(a.scores, 'w').write('\n'.join(lines) + '\n')
    if a.write:
        m = make().fit([r for q in data.values() for r in q]); g = lambda v: '%.4g' % v
        with open(a.write, 'w', newline='\n') as f:
            out = csv.writer(f, lineterminator='\n'); out.writerow(['element', 'centre', 'spread'] + ROLES); out.writerow(['bias', 0, 1] + ['%.3f' % v for v in m.b])
            for i, n in enumerate(names): out.writerow([n, g(m.cs[0][i]), g(m.cs[1][i])] + ['%.3f' % v for v in m.W[i]])


if __name__ == '__main__': main()
