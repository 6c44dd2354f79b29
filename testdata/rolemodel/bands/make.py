#!/usr/bin/python3
"""Render labelled sessions of the first kind.

  make.py OUTDIR [--only NAME,...] [--jobs 2] [--other WORD]

OUTDIR/<session>/{named,mixed,anon}/*.wav and labels.json: the same audio under an engineer's names, under half of them, and
under "Audio NN". Songs d01-d09 are in nine.py, b01-b10 and e01-e08 in a file each, t01-t16 in sixteen.py.
--other renders the same songs with other tunes, players and rooms, into <session>~WORD.
"""
import os
for v in ('OMP_NUM_THREADS', 'OPENBLAS_NUM_THREADS'): os.environ.setdefault(v, '1')
import argparse, glob, importlib, multiprocessing, time

HERE = os.path.dirname(os.path.abspath(__file__))


def songs():
    """{name: (module, function)}"""
    out = {}
    for m in ('nine', 'sixteen'): out.update({f: (m, f) for f in importlib.import_module(m).ORDER})
    out.update({os.path.basename(p)[:-3]: (os.path.basename(p)[:-3], 'make') for p in sorted(glob.glob(HERE + '/[be][0-9][0-9]_*.py'))})
    return out


def build(job):
    name, (module, function), out, other = job; t = time.time(); importlib.import_module('dsp').OTHER = other; s = getattr(importlib.import_module(module), function)(); s.name += '~' + other if other else ''; n = s.finish(out); return name, n, s.n / s.fs, time.time() - t


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('outdir'); ap.add_argument('--only', default=''); ap.add_argument('--jobs', type=int, default=2); ap.add_argument('--other', default=''); a = ap.parse_args()
    every = songs(); want = {f: v for f, v in every.items() if not a.only or any(o in f for o in a.only.split(','))}
    if not want: ap.error('no session matches %r; there are: %s' % (a.only, ' '.join(sorted(every))))
    with multiprocessing.Pool(a.jobs, maxtasksperchild=1) as p:
        for name, n, secs, took in p.imap_unordered(build, [(f, v, a.outdir, a.other) for f, v in want.items()], chunksize=1): print('%-20s %2d tracks, %4.1f s of audio, built in %5.1f s' % (name, n, secs, took), flush=True)


if __name__ == '__main__': main()
