#!/usr/bin/python3
"""Play tracks of labelled sessions through the effects, rooms and media of studio.py: what a mix session holds of rendered instruments.

  process.py OUTDIR --root SNAPSHOTS --packages UNPACKED [--share 0.35] SESSION...

OUTDIR/proc-SESSION holds labels.json and named/*.wav. Voices are always taken, other pitched tracks by chance. A processed track belongs
to its session: leave both out together.
"""
import os
for v in ('OMP_NUM_THREADS', 'OPENBLAS_NUM_THREADS'):
    os.environ.setdefault(v, '1')
import argparse, json, zlib
import numpy as np
import soundfile as sf
import studio as st
from make import FAMILY, Session, impulse_responses
from notes import FS
from scipy import signal

KINDS = {'lead vocal': st.VOICES, 'backing vocal': st.VOICES, 'electric guitar': st.GUITAR}
LEFT = ('kick', 'snare', 'tom', 'overhead', 'room', 'drums', 'hat', 'cymbal')


def excerpt(x, r):
    """Up to 14 s of a track that hold a fair share of its energy."""
    n = min(len(x), int(r.uniform(9, 14) * FS))
    e = np.cumsum((x ** 2).sum(1))
    for _ in range(30):
        i = int(r.integers(len(x) - n + 1))
        if e[i + n - 1] - e[i] > .6 * e[-1] * n / len(x):
            break
    return x[i:i + n]


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('outdir')
    ap.add_argument('--root', required=True)
    ap.add_argument('--packages', required=True)
    ap.add_argument('--share', type=float, default=.35)
    ap.add_argument('sessions', nargs='+')
    a = ap.parse_args()
    responses = impulse_responses(a.root, a.packages)
    for d in a.sessions:
        name = os.path.basename(d.rstrip('/'))
        with open(d + '/labels.json') as f:
            labels = json.load(f)
        out, r = Session(a.outdir, 'proc-' + name), np.random.default_rng(zlib.crc32(name.encode()))
        for t in labels['tracks']:
            role = t['role']
            if role not in FAMILY or role in LEFT or t.get('silent') or not t.get('atom') or t['kind'] == 'return':
                continue
            if r.random() > (.7 if role in ('lead vocal', 'backing vocal') else a.share):
                continue
            x, rate = sf.read(d + '/named/' + t['file'], dtype='float32', always_2d=True)
            if rate != FS:
                g = np.gcd(rate, FS)
                x = signal.resample_poly(x, FS // g, rate // g, axis=0).astype(np.float32)
            x = excerpt(x, r)
            x = x if x.shape[1] == 2 else x[:, 0]
            x = st.record(st.effects(st.unit(x), r, KINDS.get(role, st.OTHER)), r, responses)
            out.add(role, x, r, what=t['file'])
        out.close()
        print(name, len(out.tracks), flush=True)


if __name__ == '__main__':
    main()
