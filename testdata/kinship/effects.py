"""What studios do to a track, each as a function of planes (channels x samples, float64), rate and a random generator."""
import numpy as np
from scipy import signal


def mono(x): return x.mean(0, keepdims=True)
def rms(x): return np.sqrt(np.mean(x * x)) + 1e-12
def peak(x): return np.abs(x).max() + 1e-12
def level(x, like): return x * (rms(like) / rms(x))


def butter(x, fs, f, kind, order=2): return signal.sosfilt(signal.butter(order, np.minimum(f, .45 * fs), kind, fs=fs, output='sos'), x)


def bell(x, fs, f, db, q):
    """Peaking filter after the cookbook formulae of R. Bristow-Johnson."""
    a, w = 10 ** (db / 40), 2 * np.pi * min(f, .45 * fs) / fs; al = np.sin(w) / 2 / q
    return signal.lfilter([1 + al * a, -2 * np.cos(w), 1 - al * a], [1 + al / a, -2 * np.cos(w), 1 - al / a], x)


def follower(x, fs, up, down):
    """Peak envelope of the loudest channel, in blocks of 16 samples."""
    a = np.abs(x).max(0); n = len(a) // 16; b = a[:n * 16].reshape(n, 16).max(1); e = np.empty(n); v = 0.
    ku, kd = np.exp(-16 / (up * fs)), np.exp(-16 / (down * fs))
    for i, q in enumerate(b): k = ku if q > v else kd; v = k * v + (1 - k) * q; e[i] = v
    return np.interp(np.arange(len(a)), np.arange(n) * 16 + 8, e) if n else a


def late(x, samples):
    y = np.zeros_like(x); d = int(samples)
    if d == 0: return x.copy()
    y[:, d:] = x[:, :-d]; return y


def read_at(x, pos):
    """x read at fractional positions, four-point Lagrange."""
    n = x.shape[1]; i = np.floor(pos).astype(int); f = pos - i; out = np.zeros((len(x), len(pos)))
    for k, c in ((-1, -f * (f - 1) * (f - 2) / 6), (0, (f + 1) * (f - 1) * (f - 2) / 2), (1, -(f + 1) * f * (f - 2) / 2), (2, (f + 1) * f * (f - 1) / 6)):
        j = i + k; ok = (j >= 0) & (j < n); out += np.where(ok, x[:, np.clip(j, 0, n - 1)], 0) * c
    return out


# ---- linear: a copy
def darker(x, fs, r): return butter(x, fs, r.uniform(600, 4000), 'low', int(r.integers(1, 4)))
def brighter(x, fs, r): return butter(x, fs, r.uniform(80, 600), 'high', int(r.integers(1, 3)))
def telephone(x, fs, r): return butter(butter(x, fs, r.uniform(200, 500), 'high'), fs, r.uniform(2000, 4000), 'low')
def equalised(x, fs, r):
    for _ in range(int(r.integers(1, 5))): x = bell(x, fs, 10 ** r.uniform(1.9, 3.9), r.uniform(-12, 12), r.uniform(.5, 3))
    return x
def flipped(x, fs, r): return -x
def delayed(x, fs, r): return late(x, r.uniform(.0005, .3) * fs)
def coarse(x, fs, r): q = peak(x) / 2 ** r.uniform(6, 11); return np.round(x / q + r.uniform(-.5, .5, x.shape)) * q
def microphone(x, fs, r):
    """A second microphone: late by its distance, coloured, with early reflections."""
    h = np.zeros(int(.03 * fs)); h[0] = 1
    for _ in range(6): h[int(r.uniform(.001, .029) * fs)] += r.normal() * .12
    return equalised(late(signal.fftconvolve(mono(x), h[None])[:, :x.shape[1]], r.uniform(.0002, .003) * fs), fs, r)


# ---- not linear, or moving: processed
def fuzz(x, fs, r):
    y = butter(mono(x), fs, r.uniform(60, 250), 'high', 1); y = y / rms(y) * 10 ** (r.uniform(10, 36) / 20); b = r.uniform(0, .5)
    y = np.clip(y + b, -1, r.uniform(.5, 1)); return butter(butter(y, fs, 30, 'high'), fs, r.uniform(3000, 8000), 'low')
def high_gain(x, fs, r):
    y = butter(mono(x), fs, r.uniform(80, 200), 'high', 1); y = y / rms(y)
    for g in (r.uniform(6, 20), r.uniform(4, 12)): y = np.tanh(g * y + r.uniform(0, .4)); y = butter(butter(y, fs, r.uniform(60, 150), 'high', 1), fs, r.uniform(4000, 8000), 'low', 1)
    return late(bell(butter(butter(y, fs, 90, 'high'), fs, r.uniform(3500, 5500), 'low', 4), fs, r.uniform(1500, 3000), r.uniform(2, 8), 1), r.uniform(0, .002) * fs)
def drive(x, fs, r): y = mono(x) / rms(x); return late(butter(np.tanh(r.uniform(.7, 3) * y + r.uniform(0, .3)), fs, r.uniform(3000, 6000), 'low'), r.uniform(0, .002) * fs)
def octave_down(x, fs, r):
    y = butter(butter(mono(x), fs, 60, 'high'), fs, r.uniform(200, 500), 'low', 3)[0]; e = follower(y[None], fs, .003, .05); s = np.sign(y + .0 * e); up = np.flatnonzero((s[1:] > 0) & (s[:-1] <= 0)); flip = np.zeros(len(y)); flip[up] = 1
    q = np.where(np.cumsum(flip) % 2 > 0, 1., -1.) * e; q = butter(q[None], fs, r.uniform(200, 600), 'low', 2); return q + mono(x) * (rms(q) / rms(x)) * r.choice([0, 0, .3, 1])
def octave_up(x, fs, r): y = np.abs(mono(x)); y = butter(y, fs, 80, 'high'); return y + mono(x) * (rms(y) / rms(x)) * r.choice([0, 0, .3, 1])
def shifted(x, fs, ratio, window=.06):
    """Pitch shift by two crossfading readers."""
    w = window * fs; n = x.shape[1]; t = np.arange(n); out = 0
    for k in (0, .5):
        ph = (t * (ratio - 1) / w + k) % 1; out = out + read_at(x, t - w * (1 - ph if ratio > 1 else ph) if ratio > 1 else t - w * ((t * (1 - ratio) / w + k) % 1)) * np.sin(np.pi * (ph if ratio > 1 else (t * (1 - ratio) / w + k) % 1)) ** 2
    return out
def detune(x, fs, r):
    c = r.uniform(5, 25); a = shifted(mono(x), fs, 2 ** (c / 1200)); b = shifted(mono(x), fs, 2 ** (-c / 1200)); return np.concatenate([a, b]) if r.random() < .5 else a
def wobble(x, fs, depth, rate, base, phase=0): t = np.arange(x.shape[1]); return read_at(x, t - fs * (base + depth * np.sin(2 * np.pi * rate * t / fs + phase)))
def chorus(x, fs, r):
    m = mono(x); d = r.choice([0, .5, 1]); out = []
    for ch in range(2): out.append(d * m + sum(wobble(m, fs, r.uniform(.0008, .003), r.uniform(.3, 2.5), r.uniform(.006, .02), r.uniform(0, 6)) for _ in range(int(r.integers(1, 4)))))
    return np.concatenate(out)
def vibrato(x, fs, r): return wobble(mono(x), fs, r.uniform(.0004, .0015), r.uniform(3, 7), .003)
def flanger(x, fs, r): return mono(x) + r.uniform(.5, .9) * wobble(mono(x), fs, r.uniform(.0005, .002), r.uniform(.1, .6), .003)
def tape(x, fs, r): y = x / rms(x); return wobble(butter(np.tanh(r.uniform(.3, 1) * y), fs, r.uniform(6000, 14000), 'low', 1), fs, r.uniform(.0001, .0006), r.uniform(.4, 1.2), .002) + r.normal(size=x.shape) * 3e-4
def gate(x, fs, r): e = follower(x, fs, .001, .08); g = signal.lfilter([1 - .997], [1, -.997], (e > np.quantile(e[e > .001 * e.max()], r.uniform(.4, .7))) * 1.); return x * g
def squash(x, fs, r):
    e = follower(x, fs, r.uniform(.001, .01), r.uniform(.05, .3)); th = np.quantile(e[e > .01 * e.max()], r.uniform(.1, .5)); y = x * (np.maximum(e, th) / th) ** -r.uniform(.6, .95)
    return np.tanh(y / peak(y) * r.uniform(.5, 3))
def limited(x, fs, r): return np.clip(x, -peak(x) * 10 ** (-r.uniform(6, 16) / 20), peak(x) * 10 ** (-r.uniform(6, 16) / 20))
def crushed(x, fs, r): k = int(r.integers(4, 16)); y = np.repeat(x[:, ::k], k, 1)[:, :x.shape[1]]; q = peak(x) / 2 ** r.uniform(3, 6); return np.round(y / q) * q
def tremolo(x, fs, r): t = np.arange(x.shape[1]) / fs; return x * (1 + r.uniform(.5, 1) * np.sin(2 * np.pi * r.uniform(2, 8) * t)) / 2
def wah(x, fs, r):
    lo, hi = butter(mono(x), fs, 700, 'low'), bell(butter(mono(x), fs, 500, 'high'), fs, 1200, 12, 2); e = follower(mono(x), fs, .01, .1); m = e / e.max() if r.random() < .5 else .5 + .5 * np.sin(2 * np.pi * r.uniform(.3, 2) * np.arange(x.shape[1]) / fs)
    return lo * (1 - m) + hi * m
def phaser(x, fs, r):
    m = mono(x)[0]; t = np.arange(0, len(m), 64); a = np.repeat(.3 + .5 * np.sin(2 * np.pi * r.uniform(.1, 1) * t / fs), 64)[:len(m)]; y = m.copy()
    for _ in range(4):
        out = np.zeros_like(y); z = 0.
        for i in range(0, len(y), 64): k = a[i]; out[i:i + 64], zf = signal.lfilter([k, 1], [1, k], y[i:i + 64], zi=[z]); z = zf[0]
        y = out
    return (m + y)[None]


# ---- returns
def tailed(x, fs, r, t60, pre, density=1., low=6000):
    n = int(min(t60 * 1.2, 5) * fs); out = []
    for _ in range(2):
        h = r.normal(size=n) * 10 ** (-3 * np.arange(n) / fs / t60)
        if density < 1: h *= r.random(n) < density
        h[:int(.002 * fs)] *= .3; h = butter(butter(h[None], fs, low, 'low', 1), fs, 150, 'high')[0]; out.append(signal.fftconvolve(mono(x)[0], h)[:x.shape[1]])
    return late(np.array(out), pre * fs)
def hall(x, fs, r): return tailed(x, fs, r, r.uniform(1.5, 4), r.uniform(.01, .06), low=r.uniform(3000, 9000))
def plate(x, fs, r): return tailed(x, fs, r, r.uniform(.8, 2.2), r.uniform(0, .02), low=r.uniform(5000, 12000))
def chamber(x, fs, r): return tailed(x, fs, r, r.uniform(.4, 1), r.uniform(.002, .02), low=r.uniform(3000, 8000))
def gated_room(x, fs, r): return tailed(x, fs, r, 2, .005)[:, :x.shape[1]] * (follower(x, fs, .001, .15) > .1 * follower(x, fs, .001, .15).max())
def spring(x, fs, r):
    """Two springs, each a chain of all-passes that spreads a stroke to a chirp, over and over."""
    y = butter(butter(mono(x), fs, r.uniform(3200, 5000), 'low', 4), fs, r.uniform(80, 200), 'high', 1); out = 0; d0 = r.uniform(.026, .045); more = int(r.integers(8, 30))
    for k, d in enumerate((d0, d0 * r.uniform(1.15, 1.35))):
        a = r.uniform(.4, .68); z, g = y, (-1) ** k * r.uniform(.6, 1); fb = r.uniform(.5, .8)
        for echo in range(5):
            for _ in range(more): z = signal.lfilter([a, 1], [1, a], z)
            z = late(z, d * (1 if echo == 0 else 2) * fs) * (1 if echo == 0 else -fb); out = out + g * z
    return out if r.random() < .5 else level(tailed(out, fs, r, 1.5, 0, density=.02, low=4000)[:1], out) * .5 + out
def echo(x, fs, r):
    d = r.uniform(.08, .6); fb = r.uniform(.15, .6); y = butter(mono(x), fs, r.uniform(2500, 8000), 'low', 1); out = [0, 0]; g = 1.; two = r.random() < .4
    for k in range(1, 7):
        z = late(y, min(k * d * fs, x.shape[1] - 1)) * g
        if two: out[k % 2] = out[k % 2] + z
        else: out = [out[0] + z, out[1] + z]
        g *= fb; y = butter(y, fs, 5000, 'low', 1)
    return np.concatenate(out)
def tape_echo(x, fs, r): return tape(echo(x, fs, r), fs, r)

# ---- several microphones at one sound
def turning(n, fs, r, lag):
    """Phase of a rotor that changes between slow and fast; lag in seconds, of the motor."""
    t = np.arange(n) / fs; fast = (np.floor(t / r.uniform(4, 12) + r.random()) % 2 if r.random() < .7 else np.full(n, float(r.random() < .5))); k = np.exp(-1 / (lag * fs))
    return 2 * np.pi * np.cumsum(r.uniform(.6, 1.) + r.uniform(5, 6.2) * signal.lfilter([1 - k], [1, -k], fast)) / fs + r.uniform(0, 6)
def heard_turning(x, fs, ph, base, depth, swing): return read_at(x, np.arange(x.shape[1]) - fs * (base + depth * np.cos(ph))) * (1 - swing * (.5 - .5 * np.cos(ph)))
def rotary(x, fs, r):
    """Horn and drum of a rotating loudspeaker: a crossover near 800 Hz, Doppler shift and loudness of each half moving at its own speed, and what
    each microphone hears of the other half. Gives the planes of the horn (one or two microphones) and of the drum."""
    m = mono(x) / rms(x); m = np.tanh(r.uniform(.3, 1.5) * m) if r.random() < .7 else m; n = m.shape[1]; fc = r.uniform(550, 1000); order = int(r.integers(1, 5)); lo, hi = butter(m, fs, fc, 'low', order), butter(butter(m, fs, fc, 'high', order), fs, r.uniform(5000, 9000), 'low')
    h, d = turning(n, fs, r, r.uniform(.4, 1.2)), turning(n, fs, r, r.uniform(1.5, 4)); a, b = (r.uniform(.2, .65), r.uniform(.0002, .0007)), (r.uniform(.1, .45), r.uniform(.0001, .0003)); out = []
    for k, off in enumerate((0, r.uniform(1.2, 3.1))):
        y = sum(g * heard_turning(hi, fs, h + off + q, .001 + late, a[1], a[0]) for g, q, late in ((1, 0, 0), (r.uniform(0, .4), r.uniform(1, 5), r.uniform(.001, .004)))); out.append(y + r.uniform(0, .35) * heard_turning(lo, fs, d + off, .001, b[1], b[0]))
    drum = heard_turning(lo, fs, d + r.uniform(0, 6), .001, b[1], b[0]) + r.uniform(0, .25) * butter(heard_turning(hi, fs, h + r.uniform(0, 6), .0015, a[1], a[0]), fs, 3000, 'low')
    if r.random() < .3: both = out[0] + heard_turning(lo, fs, d, .001, b[1], b[0]); out, drum = [butter(both, fs, r.uniform(400, 700), 'high')] * 2, butter(both, fs, r.uniform(600, 900), 'low')  # one microphone, split afterwards
    return np.concatenate(out) if r.random() < .5 else out[0], drum
def strokes(x, fs, r):
    """Sample positions and strengths (0..1) of the strokes of a drum that stand out."""
    a = np.abs(butter(mono(x), fs, 30, 'high'))[0]; hop = fs // 500; e = a[:len(a) // hop * hop].reshape(-1, hop).max(1); e = np.maximum(e, 0); top = np.quantile(e, .999); out = []; last = -100; least = r.uniform(.2, .5) * top
    for i in range(1, len(e) - 4):
        if e[i] > least and e[i] > 1.6 * e[max(0, i - 6):max(1, i - 2)].max() and i - last > 40: out.append((i * hop, min(1, e[i:i + 4].max() / top))); last = i
    return out
def triggered(x, fs, r, shot):
    """A sample, at fs, at every stroke, as loud as the stroke or always the same, the trigger being late by a few ms at most."""
    y = np.zeros(x.shape[1] + len(shot)); by = r.choice([0, .5, 1]); late_by = int(r.uniform(0, .006) * fs)
    for i, v in strokes(x, fs, r): y[i + late_by:i + late_by + len(shot)] += (shot * v ** by)[:max(0, len(y) - i - late_by)]
    return y[None, :x.shape[1]]
def lows(x, fs, r, around=None):
    """A loudspeaker used as a microphone: the lowest octaves, with its resonance; around is what else it hears."""
    y = mono(x) if around is None else mono(x) + around * (10 ** (r.uniform(-26, -10) / 20) * rms(x) / rms(around))
    return r.choice([-1, 1]) * bell(butter(late(y, r.uniform(0, .004) * fs), fs, r.uniform(60, 130), 'low', int(r.integers(1, 4))), fs, r.uniform(38, 70), r.uniform(0, 14), r.uniform(1, 4))
def distant(x, fs, r, t60, dry, metres):
    """Two microphones some way off: the direct sound, first reflections, and a tail of which the direct sound is dry times."""
    out = []; tail = tailed(x, fs, r, t60, metres / 343 + .004, low=r.uniform(3000, 8000)); tail *= rms(x) / rms(tail)
    for ch in range(2):
        h = np.zeros(int(.07 * fs)); h[0] = 1
        for _ in range(8): h[int(r.uniform(.001, .06) * fs)] += r.normal() * .3
        out.append(late(signal.fftconvolve(mono(x), h[None])[:, :x.shape[1]], (metres + r.uniform(0, .8) + ch * r.uniform(-.8, .8)) / 343 * fs)[0])
    d = butter(np.array(out), fs, r.uniform(4000, 10000), 'low', 1); return dry * d * (rms(x) / rms(d)) + tail


LINEAR = [darker, brighter, telephone, equalised, flipped, delayed, coarse, microphone]
MOVED = [fuzz, high_gain, drive, octave_down, octave_up, detune, chorus, vibrato, flanger, tape, gate, squash, squash, limited, crushed, tremolo, wah, phaser]
TAILS = [hall, plate, chamber, gated_room, spring, echo, echo, tape_echo]
