"""Signal tools: filters, equalisers, dynamics, saturation, reverberation, echoes and modulation.

Signals are float64 arrays, (n,) mono or (n, 2) stereo; fs is the sample rate in Hz. Sample-by-sample loops are compiled by numba.
"""
import zlib
import numba as nb
import numpy as np
import scipy.signal as sg

jit = nb.njit(cache=True, fastmath=True)


def rng(*words):
    """A generator that depends on the words alone."""
    return np.random.default_rng([zlib.crc32(repr(words).encode()), 0xA17E])


def db(x): return 10.0 ** (x / 20.0)
def peak(x): return float(np.abs(x).max()) + 1e-12 if len(x) else 1e-12
def rms(x): return float(np.sqrt(np.mean(np.square(x)))) + 1e-12
def unit(x): return x / peak(x)
def mono(x): return x if x.ndim == 1 else x.mean(1)
def stereo(x): return x if x.ndim == 2 else np.column_stack([x, x])


def fit(x, n):
    return x[:n] if len(x) >= n else np.concatenate([x, np.zeros((n - len(x),) + x.shape[1:])])


def shift(x, k):
    k = int(round(k))
    if k <= 0: return x.copy()
    return np.concatenate([np.zeros((min(k, len(x)),) + x.shape[1:]), x[:max(0, len(x) - k)]])


def add(y, x, i):
    """Add x into y from sample i on, clipped to y."""
    a, b = max(0, i), min(len(y), i + len(x))
    if b > a: y[a:b] += x[a - i:b - i]


def pan(x, p):
    """Equal-power pan, p from -1 to 1."""
    a = (np.clip(p, -1, 1) + 1) * np.pi / 4
    return np.outer(mono(x), [np.cos(a), np.sin(a)])


def rate(x, a, b):
    if a == b: return x
    g = int(np.gcd(int(a), int(b)))
    return sg.resample_poly(x, int(b) // g, int(a) // g, axis=0)


# ---------------------------------------------------------------- filters
def _sos(x, fs, f, order, kind):
    return sg.sosfilt(sg.butter(order, np.clip(f, 5, .46 * fs), kind, fs=fs, output='sos'), x, axis=0)


def lowcut(x, fs, f, order=2): return _sos(x, fs, f, order, 'highpass')
def highcut(x, fs, f, order=2): return _sos(x, fs, f, order, 'lowpass')
def band(x, fs, lo, hi, order=1): return _sos(x, fs, np.array([lo, hi], float), order, 'bandpass')


def bell(x, fs, f, gain, q=1.0):
    a, w = db(gain / 2), 2 * np.pi * min(f, .45 * fs) / fs
    s, c = np.sin(w) / (2 * q), -2 * np.cos(w)
    return sg.lfilter([1 + s * a, c, 1 - s * a], [1 + s / a, c, 1 - s / a], x, axis=0)


def shelf(x, fs, f, gain, high=True):
    a, w = db(gain / 2), 2 * np.pi * min(f, .45 * fs) / fs
    c, s, k = np.cos(w), np.sin(w) / 2 * np.sqrt(2), 1 if high else -1
    r = 2 * np.sqrt(a) * s
    b = [a * ((a + 1) + k * (a - 1) * c + r), -2 * k * a * ((a - 1) + k * (a + 1) * c), a * ((a + 1) + k * (a - 1) * c - r)]
    d = [(a + 1) - k * (a - 1) * c + r, 2 * k * ((a - 1) - k * (a + 1) * c), (a + 1) - k * (a - 1) * c - r]
    return sg.lfilter(b, d, x, axis=0)


def resonator(x, fs, f, q):
    """Two-pole low-pass with resonance (a pickup and its cable, a mouth cavity)."""
    w = 2 * np.pi * min(f, .45 * fs) / fs
    s, c = np.sin(w) / (2 * q), np.cos(w)
    return sg.lfilter([(1 - c) / 2, 1 - c, (1 - c) / 2], [1 + s, -2 * c, 1 - s], x, axis=0)


def fir(x, h): return sg.oaconvolve(x, h if x.ndim == 1 else h[:, None], axes=0)[:len(x)]


# ---------------------------------------------------------------- dynamics
@jit
def _comp(lev, thr, ratio, ka, kr, knee):
    g = np.empty(len(lev)); s = 0.0
    for i in range(len(lev)):
        o = 20 * np.log10(lev[i] + 1e-9) - thr
        w = 0.0
        if o > knee: w = o * (1 - 1 / ratio)
        elif o > -knee: w = (1 - 1 / ratio) * (o + knee) ** 2 / (4 * knee)
        s = w + (ka if w > s else kr) * (s - w)
        g[i] = 10 ** (-s / 20)
    return g


def compress(x, fs, depth=10, ratio=4, attack=8, release=140, knee=4):
    """Soft-knee compressor; the threshold lies `depth` dB under the loud passages. Times in ms. Loudness is kept."""
    m = np.abs(x) if x.ndim == 1 else np.abs(x).max(1)
    step = 16; k = -(-len(m) // step)
    lev = np.pad(m, (0, k * step - len(m))).reshape(k, step).max(1)
    live = lev[lev > lev.max() * 1e-3]
    if not len(live): return x
    thr = 20 * np.log10(np.percentile(live, 92)) - depth
    e = [np.exp(-step / fs / (t / 1000)) for t in (attack, release)]
    g = np.interp(np.arange(len(m)), np.arange(k) * step + step / 2, _comp(lev, thr, ratio, e[0], e[1], knee))
    y = x * (g if x.ndim == 1 else g[:, None])
    return y * (rms(x) / rms(y))


@jit
def _gate(lev, thr, floor, kr, hold):
    g = np.empty(len(lev)); s = floor; left = 0
    for i in range(len(lev)):
        if lev[i] > thr: left = hold
        left -= 1
        if left > 0: s += .35 * (1 - s)
        else: s = floor + (s - floor) * kr
        g[i] = s
    return g


def gate(x, fs, under=18, floor=-30, release=120):
    """Noise gate for close microphones: opens `under` dB below the loudest hits."""
    step = 16; k = -(-len(x) // step)
    lev = np.pad(np.abs(x), (0, k * step - len(x))).reshape(k, step).max(1)
    g = _gate(lev, np.percentile(lev[lev > lev.max() * .05], 75) * db(-under), db(floor), np.exp(-step / fs / (release / 1000)), int(.05 * fs / step))
    return x * np.interp(np.arange(len(x)), np.arange(k) * step, g)


def drive(x, kind, amount):
    """Saturation at a level given in dB over the loud passages; kinds: tape, tube, diode, clip, fold."""
    ref = np.percentile(np.abs(x)[::7], 97) + 1e-9; u = x / ref * db(amount)
    if kind == 'tape': y = u / np.sqrt(1 + u * u)
    elif kind == 'tube': y = np.where(u > 0, 1 - np.exp(-np.maximum(u, 0)), -.75 * (1 - np.exp(np.minimum(u, 0) * 1.5)))
    elif kind == 'diode': y = np.arcsinh(3 * u) / 3
    elif kind == 'clip': y = np.clip(u, -1, .9)
    else: y = np.sin(np.clip(u, -4, 4))
    return y - y.mean(0)


# ---------------------------------------------------------------- space
@jit
def _fdn(x, d, g, damp, mod, n, fs):
    k = len(d); size = d.max() + 64; buf = np.zeros((k, size)); lp = np.zeros(k); out = np.zeros((n, 2)); o = np.zeros(k); wob = np.zeros(k); w = 0
    for i in range(n):
        if i % 64 == 0 and mod > 0:
            for j in range(k): wob[j] = mod * (1 + np.sin(6.2832 * (.3 + .11 * j) * i / fs + j))
        s = 0.0
        for j in range(k):
            q = int(wob[j]); f = wob[j] - q; a = w - d[j] - q; b = a - 1
            if a < 0: a += size
            if b < 0: b += size
            lp[j] = (buf[j, a] * (1 - f) + buf[j, b] * f) * (1 - damp) + lp[j] * damp; o[j] = lp[j] * g[j]; s += o[j]
        for j in range(k):
            buf[j, w] = x[i, j & 1] + o[j] - 2.0 * s / k; out[i, j & 1] += o[j] if (j >> 1) & 1 else -o[j]
        w += 1
        if w == size: w = 0
    return out


SPACES = dict(hall=(2.2, 12, 71, .45, 8, 22), chamber=(1.3, 10, 37, .35, 3, 12), plate=(1.6, 12, 19, .12, 5, 2), room=(.5, 8, 17, .4, 0, 4), booth=(.22, 8, 6, .5, 0, 1), church=(3.4, 12, 97, .5, 10, 30), tiled=(.9, 10, 13, .1, 0, 3))
_rooms = {}


def reverb(x, fs, kind='hall', key='', t60=None):
    """Wet stereo return of a feedback delay network with a Householder mix; kind from SPACES. Rooms without modulation run as impulse responses."""
    t, k, longest, damp, mod, pre = SPACES[kind]; t = t60 or t; r = rng('fdn', kind, key)
    d = (np.sort(r.uniform(.35, 1, k)) * longest * fs / 1000).astype(np.int64) + 20; g = 10 ** (-3 * d / fs / t); cut = r.uniform(70, 250); taps = [(int(r.integers(2)), int(r.integers(2)), r.uniform(.002, .03 + longest / 2000) * fs, r.uniform(.15, .5) * r.choice([-1, 1])) for _ in range(6)]

    def run(w):
        e = w.copy()
        for a, b, at, am in taps: e[:, a] += shift(w[:, b], at) * am
        return lowcut(_fdn(np.ascontiguousarray(shift(e, pre * fs / 1000)), d, g, damp, mod * fs / 48000, len(w), fs), fs, cut, 1) * .25
    if mod: return run(stereo(x))
    q = (fs, kind, key, t)
    if q not in _rooms:
        n = int(fs * t * 1.1); w = np.zeros((n, 2)); w[0] = 1; _rooms[q] = run(w)
    h = _rooms[q]; m = x if x.ndim == 1 else x.mean(1); y = np.column_stack([sg.oaconvolve(m, h[:, c])[:len(x)] for c in (0, 1)])
    if x.ndim == 2: s = sg.oaconvolve((x[:, 0] - x[:, 1]) / 2, h[:, 1])[:len(x)]; y += np.column_stack([s, -s])
    return y


_springs = {}


def spring(x, fs, key=''):
    """Spring tank by its impulse response: repeated dispersive chirps, darker each time."""
    if (fs, key) not in _springs:
        r = rng('spring', key); n = int(1.6 * fs); h = np.zeros(n); t0, fc = r.uniform(.028, .045), r.uniform(3200, 4600)
        f = np.fft.rfftfreq(2 * n, 1 / fs); total = np.zeros(len(f), complex)
        for s in range(2):
            t = t0 * (1 + .23 * s)
            for k in range(1, 14):
                late = t * (2 * k - 1) * (1 + .9 * np.clip(f / fc, 0, 1) ** 2.2)
                ph = np.cumsum(late) * (f[1] - f[0]) * 2 * np.pi; total += (-1) ** k * .74 ** k * np.exp(-1j * ph) / (1 + (f / fc) ** 10) * (f / (f + 120))
        h = np.fft.irfft(total)[:n]; _springs[fs, key] = h / np.sqrt((h ** 2).sum())
    return sg.oaconvolve(mono(x), _springs[fs, key])[:len(x)]


@jit
def _echo(x, d, fb, damp, wow, cross, fs):
    n = len(x); size = int(d * 1.05) + 200; buf = np.zeros((2, size)); out = np.zeros((n, 2)); lp = np.zeros(2)
    for i in range(n):
        p = i - d - wow * np.sin(6.2832 * .7 * i / fs); q = int(np.floor(p)); f = p - q
        for c in range(2):
            v = 0.0
            if q >= 0: v = buf[c, q % size] * (1 - f) + buf[c, (q + 1) % size] * f
            lp[c] = v * (1 - damp) + lp[c] * damp; out[i, c] = lp[c]
        for c in range(2):
            a = x[i] if (c == 0 or not cross) else 0.0
            buf[c, i % size] = np.tanh(a + fb * lp[1 - c if cross else c])
    return out


def echo(x, fs, secs, feedback=.4, damp=.4, wow=0.0, cross=True):
    """Delay return with saturation, damping and wow in the loop."""
    return _echo(unit(mono(x)) * .7, secs * fs, feedback, damp, wow * fs / 1000, cross, fs)


# ---------------------------------------------------------------- modulation
def moving_delay(x, fs, ms):
    n = np.arange(len(x)); return np.interp(n - ms * fs / 1000, n, x)


def chorus(x, fs, r, mix=.6):
    t = np.arange(len(x)) / fs; m = mono(x); f, d, b = r.uniform(.25, 1.4), r.uniform(1, 3.5), r.uniform(7, 18)
    return np.column_stack([m + mix * moving_delay(m, fs, b + d * np.sin(2 * np.pi * f * t + p)) for p in (0, r.uniform(1, 2.6))])


def flanger(x, fs, r):
    t = np.arange(len(x)) / fs; m = mono(x); return m + .8 * moving_delay(m, fs, 1.2 + 1.1 * np.sin(2 * np.pi * r.uniform(.08, .4) * t))


@jit
def _phaser(x, a, stages):
    z = np.zeros(stages); y = np.empty(len(x)); fb = 0.0
    for i in range(len(x)):
        v = x[i] + .3 * fb
        for k in range(stages):
            o = a[i] * v + z[k]; z[k] = v - a[i] * o; v = o
        fb = v; y[i] = x[i] + v
    return y


def phaser(x, fs, r):
    t = np.arange(len(x)) / fs; f = 300 * 2 ** (2.2 + 2 * np.sin(2 * np.pi * r.uniform(.15, .7) * t)); w = np.tan(np.pi * f / fs)
    return _phaser(mono(x), (w - 1) / (w + 1), 6)


@jit
def _svf(x, f, q, kind):
    lo = 0.0; bp = 0.0; y = np.empty(len(x))
    for i in range(len(x)):
        g = f[i]; k = 1 / q; a1 = 1 / (1 + g * (g + k)); v1 = a1 * (bp + g * (x[i] - lo)); v2 = lo + g * v1
        bp = 2 * v1 - bp; lo = 2 * v2 - lo
        y[i] = v2 if kind == 0 else v1 if kind == 1 else x[i] - k * v1 - v2
    return y


def sweepable(x, fs, f, q=1.0, kind='low'):
    """State-variable filter whose frequency f (Hz) may be an array."""
    f = np.broadcast_to(np.asarray(f, float), (len(x),)); g = np.tan(np.pi * np.clip(f, 20, .45 * fs) / fs)
    return _svf(np.ascontiguousarray(x, float), g, q, dict(low=0, band=1, high=2)[kind])


def follower(x, fs, ms=60):
    b, a = sg.butter(1, 1000 / ms / np.pi, fs=fs); return np.maximum(sg.lfilter(b, a, np.abs(mono(x))), 0)


def wah(x, fs, r):
    """Envelope or foot sweep of a band-pass."""
    if r.random() < .5: e = follower(x, fs, 80); p = np.clip(e / (np.percentile(e, 97) + 1e-9), 0, 1)
    else: p = .5 - .5 * np.cos(2 * np.pi * r.uniform(.8, 3) * np.arange(len(x)) / fs)
    return sweepable(mono(x), fs, 380 * 2 ** (2.5 * p), r.uniform(2, 5), 'band') + .15 * mono(x)


def tremolo(x, fs, hz, depth, square=False):
    w = np.sin(2 * np.pi * hz * np.arange(len(x)) / fs); w = np.tanh(6 * w) if square else w
    g = 1 - depth * (.5 + .5 * w); return x * (g if x.ndim == 1 else g[:, None])


def rotary(x, fs, r, change=True):
    """Rotating horn and drum, two microphones, with a change of speed on the way."""
    m = drive(mono(x), 'tube', r.uniform(-8, 6)) if r.random() < .6 else mono(x); n = len(m); t = np.arange(n) / fs
    fast = (np.floor(t / r.uniform(3, 8)) % 2 == r.integers(2)).astype(float) if change else np.full(n, float(r.integers(2)))
    b, a = sg.butter(1, .35, fs=fs); fast = sg.lfilter(b, a, fast); hi = highcut(lowcut(m, fs, 800, 2), fs, 7500); lo = highcut(m, fs, 800, 2); out = []
    for part, s, f, dep, am in ((hi, .8, 6.6, .45, .5), (lo, .7, 5.7, .2, .3)):
        ph = 2 * np.pi * np.cumsum(s + (f - s) * fast) / fs
        out.append([moving_delay(part, fs, 1 + dep * np.cos(ph + o)) * (1 - am * (.5 - .5 * np.cos(ph + o))) for o in (0, r.uniform(1.6, 3))])
    return np.column_stack([out[0][0] * .9 + out[1][0], out[0][1] * .9 + out[1][1]])
