"""Makes reference.json: figures of scipy for the coherence and the non-negative least squares of this folder.

Run: python3 reference.py > reference.json
"""
import json
import sys

import numpy as np
import scipy
from scipy.optimize import nnls
from scipy.signal import coherence


def noise(n, seed):
    """Uniform numbers in -1..1 from a linear congruential generator (Numerical Recipes constants), the same in Go."""
    out, s = np.empty(n), seed
    for i in range(n):
        s = (1664525 * s + 1013904223) % 2**32
        out[i] = s / 2**31 - 1
    return out


n, fs, size = 16384, 4000, 1024
x, e = noise(n, 1), noise(n, 2)
y = np.zeros(n)
for i in range(n):  # delayed, low-passed, with noise of its own
    y[i] = 0.3 * (y[i - 1] if i else 0) + (0.6 * x[i - 5] if i >= 5 else 0) + 0.4 * e[i]
f, c = coherence(x, y, fs=fs, window='hann', nperseg=size, noverlap=size // 2, detrend=False)

a = np.array([noise(12, 10 + k) for k in range(4)]).T + 0.3
b = noise(12, 20)
w, _ = nnls(a, b)

json.dump(dict(
    versions=dict(python=sys.version.split()[0], numpy=np.__version__, scipy=scipy.__version__),
    frequency_hz=[round(float(v), 4) for v in f[16:440:16]],
    coherence=[round(float(v), 7) for v in c[16:440:16]],
    nnls=[round(float(v), 9) for v in w],
), sys.stdout, indent=1)
