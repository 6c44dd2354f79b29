#!/usr/bin/python3
"""Is the fold's confidence a probability? Expected calibration error over labelled sessions.

  score.py FOLDOUT SESSIONS [--split tune|hold|all] [--variants named,mixed,anon] [--bins 10]

FOLDOUT is the program; SESSIONS holds folders as testdata/rolemodel/README.md describes them (labels.json, and the audio in
named, mixed, anon). Every session is folded onto 4 and 8 pairs under each naming. A track is right when it lies on the pair
that answers to its group: of the accepted partitions (../rolemodel/partitions.py) the one that agrees best is taken, its
groups and the pairs are matched one to one so that most tracks agree (Kuhn 1955), and what is left over is wrong.
Silent tracks and pure effects are not counted.

ECE is the mean, over equal-width bins weighted by their tracks, of |share right - mean confidence| (Naeini, Cooper and
Hauskrecht 2015). The interval is of 1000 draws of sessions with replacement (Efron 1979): tracks of one session are no
independent witnesses. Needs numpy and scipy.
"""
import argparse, json, os, subprocess, sys
import numpy as np
from scipy.optimize import linear_sum_assignment

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'rolemodel'))
from partitions import reference

HOLD = ('d03_quayside', 'd06_bright_morning', 'd08_cornershop')


def fold(foldout, folder, pairs):
    run = subprocess.run([foldout, 'suggest', folder, '--pairs', str(pairs), '--format', 'json'], capture_output=True, text=True)
    if run.returncode: sys.exit('%s: %s' % (folder, run.stderr.strip()))
    return {t['file']: (n, t['confidence']) for n, p in enumerate(json.loads(run.stdout)['pairs']) for t in p['tracks']}


def matched(groups, pairs):
    """How many tracks agree, and for each whether it does, when groups and pairs are matched one to one."""
    count = np.zeros((max(groups) + 1, max(pairs) + 1))
    for g, p in zip(groups, pairs): count[g, p] += 1
    of = dict(zip(*linear_sum_assignment(-count)))
    right = [of.get(g) == p for g, p in zip(groups, pairs)]
    return sum(right), right


def judge(labels, pairs, answer, key):
    tracks = labels['tracks']
    ways = reference(tracks, pairs)
    use = [t for t in tracks if t['atom'] and t[key] in answer]
    got = [answer[t[key]] for t in use]
    best = max((matched([next(i for i, g in enumerate(way) if t['atom'] in g) for t in use], [p for p, _ in got])
                for way in [ways['primary']] + ways['alternatives']), key=lambda m: m[0])
    return [(c, r) for (_, c), r in zip(got, best[1])]


def ece(rows, bins):
    c, r = np.array([x for x, _ in rows]), np.array([float(y) for _, y in rows])
    which = np.minimum((c * bins).astype(int), bins - 1)
    table = [(b, (which == b).sum(), c[which == b].mean(), r[which == b].mean()) for b in range(bins) if (which == b).any()]
    return sum(n * abs(m - s) for _, n, m, s in table) / len(c), table


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('foldout'); ap.add_argument('sessions')
    ap.add_argument('--split', choices=('tune', 'hold', 'all'), default='tune')
    ap.add_argument('--variants', default='named,mixed,anon'); ap.add_argument('--bins', type=int, default=10)
    a = ap.parse_args()
    names = [s for s in sorted(os.listdir(a.sessions)) if os.path.exists(os.path.join(a.sessions, s, 'labels.json'))
             and (a.split == 'all' or (s in HOLD) == (a.split == 'hold'))]
    if not names: sys.exit('no labelled sessions in ' + a.sessions)
    variants = a.variants.split(',')
    rows = {v: {s: [] for s in names} for v in variants}
    for s in names:
        labels = json.load(open(os.path.join(a.sessions, s, 'labels.json')))
        for v in variants:
            for k in (4, 8):
                answer = fold(os.path.abspath(a.foldout), os.path.join(a.sessions, s, v), k)
                rows[v][s] += judge(labels, k, answer, {'named': 'file'}.get(v, v))
    rng = np.random.default_rng(1)
    for v in variants + ['all']:
        by = {s: sum((rows[w][s] for w in (variants if v == 'all' else [v])), []) for s in names}
        every = sum(by.values(), [])
        value, table = ece(every, a.bins)
        draws = [ece(sum((by[s] for s in rng.choice(names, len(names))), []), a.bins)[0] for _ in range(1000)]
        print('%-6s %4d tracks  right %.3f  mean confidence %.3f  ECE %.3f (%.3f to %.3f)' % (v, len(every), np.mean([r for _, r in every]),
              np.mean([c for c, _ in every]), value, *np.quantile(draws, [.025, .975])))
    print('\nconfidence  tracks  mean  right')
    for b, n, m, s in table: print('%.1f to %.1f  %6d  %.2f  %.2f' % (b / a.bins, (b + 1) / a.bins, n, m, s))


if __name__ == '__main__': main()
