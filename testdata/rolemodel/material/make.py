#!/usr/bin/python3
"""Render random labelled sessions: make.py OUTDIR --seeds 1-16 [--hold 3]

OUTDIR/<session>/{named,mixed,anon}/*.wav and labels.json. Every third seed (--hold) is marked "split": "hold" and drawn from pool B,
the others "tune" from pool A. A session appears under its name only when it is complete.
"""
import os
for v in ('OMP_NUM_THREADS', 'OPENBLAS_NUM_THREADS', 'NUMBA_NUM_THREADS'): os.environ.setdefault(v, '1')
os.environ.setdefault('NUMBA_CACHE_DIR', os.path.join(os.path.expanduser('~'), '.cache', 'numba-material'))
import argparse, time


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('outdir'); ap.add_argument('--seeds', default='1-16'); ap.add_argument('--hold', type=int, default=3); a = ap.parse_args(); seeds = []
    for q in a.seeds.split(','): lo, _, hi = q.partition('-'); seeds += range(int(lo), int(hi or lo) + 1)
    import generator, session
    os.makedirs(a.outdir, exist_ok=True)
    for k in seeds:
        t, c = time.time(), time.process_time(); pool = 'B' if k % a.hold == 0 else 'A'; d, lab = generator.Builder(k, pool).build().finish(a.outdir); session.publish(d, lab, a.outdir, split='hold' if pool == 'B' else 'tune', pool=pool, seed=k)
        print('%-26s %s %2d tracks, %4.1f s, built in %3.0f s (%3.0f s of CPU)' % (lab['session'], pool, len(lab['tracks']), lab['seconds'], time.time() - t, time.process_time() - c), flush=True)


if __name__ == '__main__': main()
