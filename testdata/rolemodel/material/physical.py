"""Physical models of the Synthesis ToolKit, through a small program compiled once into the cache folder."""
import os, subprocess
import numpy as np
from tools import *

RAW = '/usr/share/stk/rawwaves/'
HERE = os.path.dirname(os.path.abspath(__file__))
POLY = dict(bowed=1, brass=1, clarinet=1, blowhole=1, saxofony=1, flute=1)


def program():
    d = os.environ.get('NUMBA_CACHE_DIR') or os.path.join(os.path.expanduser('~'), '.cache', 'numba-material'); exe = os.path.join(d, 'physical')
    if not os.path.exists(exe) or os.path.getmtime(exe) < os.path.getmtime(HERE + '/physical.cpp'):
        os.makedirs(d, exist_ok=True); subprocess.run(['g++', '-O2', '-o', exe + '.new', HERE + '/physical.cpp', '-lstk'], check=True); os.replace(exe + '.new', exe)
    return exe


def play(kind, notes, fs, n, key=''):
    """Mono part; controls (stick, reed, bow, lip, mix) drawn from the key. Silence or overflow of a model raises RuntimeError."""
    r = rng('physical', kind, key); L = ['c %d %.0f' % (c, r.uniform(*q)) for c, q in dict(modalbar=((2, (20, 100)), (4, (20, 100))), bowed=((2, (40, 90)), (4, (30, 90)), (1, (0, 20))), clarinet=((2, (40, 90)), (4, (2, 20)), (1, (0, 15))), saxofony=((2, (40, 90)), (4, (2, 20)), (11, (20, 60))), flute=((2, (50, 75)), (4, (5, 30))), rhodey=((2, (10, 90)), (4, (10, 90))), wurley=((2, (10, 60)), (4, (10, 60))), organ=((2, (30, 100)), (4, (20, 90)), (1, (0, 40))), mandolin=((2, (20, 100)), (4, (10, 100)))).get(kind, ())]
    if kind == 'modalbar': L.append('c 16 %d' % r.choice([0, 1, 3, 4]))
    for t, d, m, v in sorted(notes): L.append('n %.5f %.4f %.3f %.3f' % (t, max(.05, d), 440 * 2 ** ((m - 69 + r.normal(0, .03)) / 12), np.clip(v / 127, .1, 1)))
    y = np.frombuffer(subprocess.run([program(), kind, str(fs), str(n), str(POLY.get(kind, 7)), RAW], input='\n'.join(L).encode(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=True).stdout, np.float32).astype(float)
    if not np.isfinite(y).all() or peak(y) > 1e4 or rms(y) < 1e-6: raise RuntimeError('%s went wrong' % kind)
    return unit(lowcut(y, fs, 30))
