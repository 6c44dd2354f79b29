#!/usr/bin/python3
"""Does a session keep its relations when its files are quieter, at another rate, with silence around?

  same.py SESSION... --cmd 'foldout suggest {dir} --pairs 8 --format json' [--variants named,anon] [--scratch DIR]

SESSION is a folder with named/ and anon/. Every track is written anew in four ways: 12 dB down; at the other of 44.1 and 48 kHz; with 3.37 s
of silence before and 2 s after; and all three at once (16 bit stays 16 bit, the rest becomes 24 bit). Printed for each way: binding
relations before, after, and alike in tracks and kind, those that changed, and the adjusted Rand index between the folds.
"""
import argparse, glob, json, os, shlex, shutil, subprocess, sys, tempfile
import numpy as np, soundfile as sf
from scipy import signal

WAYS = [('12 dB down', 1, 0, 0), ('other rate', 0, 1, 0), ('silence around', 0, 0, 1), ('all three', 1, 1, 1)]
DERIVED = ('processed', 'sum', 'return')


def rewrite(src, dst, quiet, rate, pad):
    x, fs = sf.read(src, always_2d=True); sub = sf.info(src).subtype
    if rate:
        to = 44100 if fs == 48000 else 48000; g = np.gcd(to, fs); x = signal.resample_poly(x, to // g, fs // g, axis=0); fs = to
    if quiet: x = x * 10 ** (-12 / 20)
    if pad: x = np.concatenate([np.zeros((int(3.37 * fs), x.shape[1])), x, np.zeros((2 * fs, x.shape[1]))])
    sf.write(dst, np.clip(x, -1, 1 - 2 ** -15), fs, sub if sub == 'PCM_16' else 'PCM_24')


def ask(cmd, d):
    r = subprocess.run(shlex.split(cmd.format(dir=shlex.quote(d))), capture_output=True, text=True)
    if r.returncode: sys.exit(f'{d}: {r.stderr}')
    doc = json.loads(r.stdout); base = os.path.basename
    rel = {((base(q['a']), base(q['b'])) if q['kind'] in DERIVED else tuple(sorted((base(q['a']), base(q['b'])))), q['kind']): q for q in doc['relations']}
    return rel, {base(t['file']): k for k, p in enumerate(doc['pairs']) for t in p['tracks']}


def rand(a, b):
    """adjusted Rand index over the tracks of both"""
    keys = sorted(set(a) & set(b)); x = np.array([a[k] for k in keys]); y = np.array([b[k] for k in keys]); t = np.array([[np.sum((x == i) & (y == j)) for j in set(y)] for i in set(x)]); c = lambda v: (v * (v - 1) / 2).sum(); n = len(keys) * (len(keys) - 1) / 2
    s, p, q = c(t), c(t.sum(1)), c(t.sum(0)); e = p * q / n; return 1. if p == q == e else (s - e) / ((p + q) / 2 - e)


if __name__ == '__main__':
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('sessions', nargs='+'); ap.add_argument('--cmd', required=True); ap.add_argument('--variants', default='anon'); ap.add_argument('--scratch'); a = ap.parse_args(); total = {}
    for s in a.sessions:
        for v in a.variants.split(','):
            before, fold = ask(a.cmd, f'{s}/{v}'); bind = {k for k, q in before.items() if q['binding']}
            for way, quiet, rate, pad in WAYS:
                d = tempfile.mkdtemp(dir=a.scratch)
                try:
                    for f in sorted(glob.glob(glob.escape(f'{s}/{v}') + '/*.wav')): rewrite(f, os.path.join(d, os.path.basename(f)), quiet, rate, pad)
                    after, other = ask(a.cmd, d)
                finally: shutil.rmtree(d)
                now = {k for k, q in after.items() if q['binding']}; alike = bind & now; n = total.setdefault(way, [0, 0, 0]); n[0] += len(bind); n[1] += len(now); n[2] += len(alike)
                print(f'{os.path.basename(s.rstrip("/"))} {v}: {way}: before {len(bind)}, after {len(now)}, alike {len(alike)}, folds {rand(fold, other):.3f}', flush=True)
                for k in sorted(bind ^ now):
                    q = [x for x in (after if k in bind else before).items() if set(x[0][0]) == set(k[0])]; print('     ', 'lost' if k in bind else 'new ', k[0][0], k[1], k[0][1], (before if k in bind else after)[k]['certainty'], '; else', ', '.join(f'{x[0][1]} {x[1]["certainty"]}' for x in q) or 'nothing')
    for way, n in total.items(): print(f'all: {way}: before {n[0]}, after {n[1]}, alike {n[2]} ({100 * n[2] / max(1, n[0]):.1f} %)')
