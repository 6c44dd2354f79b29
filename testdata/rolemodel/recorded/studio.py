"""Amplifiers, loudspeakers, effects and the ways of recording. Every function takes and gives float32 of 44.1 kHz, mono or n x 2."""
import numpy as np
from scipy import signal
from notes import FS


def filt(x, kind, hz, order=2):
    hz = np.clip(hz, 15, .48 * FS)
    return signal.sosfilt(signal.butter(order, hz, kind, fs=FS, output='sos'), x, axis=0).astype(np.float32)


def bell(x, hz, db, q=1.0):
    """Peaking equaliser (R. Bristow-Johnson's cookbook)."""
    a, w = 10 ** (db / 40), 2 * np.pi * min(hz, .45 * FS) / FS
    al = np.sin(w) / (2 * q)
    return signal.lfilter([1 + al * a, -2 * np.cos(w), 1 - al * a], [1 + al / a, -2 * np.cos(w), 1 - al / a], x,
                          axis=0).astype(np.float32)


def unit(x):
    return x / (np.abs(x).max() + 1e-9)


def rms(x):
    return float(np.sqrt(np.mean(np.square(x, dtype=np.float64))) + 1e-9)


def stages(x, r, gain):
    """One to three stages of an amplifier, each with its own low cut and its own kind of clipping."""
    for _ in range(int(r.integers(1, 4))):
        x = filt(x, 'high', r.uniform(30, 180), 1)
        kind, b, g = r.integers(4), r.uniform(0, .4), gain ** (1 / 2)
        x = x * g
        if kind == 0:
            x = np.tanh(x + b) - np.tanh(b)
        elif kind == 1:  # hard diodes
            x = np.clip(x, -r.uniform(.4, 1), r.uniform(.4, 1))
        elif kind == 2:  # one side softer than the other
            x = np.where(x > 0, x / (1 + x), np.tanh(x))
        else:  # a fuzz: almost square
            x = x / (.15 + np.abs(x)) if gain > 8 else np.arctan(x)
        x = filt(x, 'low', r.uniform(5000, 14000), 1)
    return x.astype(np.float32)


def tone_stack(x, r):
    x = bell(x, r.uniform(80, 200), r.uniform(-4, 6), .7)
    x = bell(x, r.uniform(350, 900), r.uniform(-9, 4), .7)
    return bell(x, r.uniform(1800, 4000), r.uniform(-3, 7), .8)


def cabinet(x, r, low=False):
    """A loudspeaker and its microphone: a resonance, a hilly middle, a steep fall between 3.5 and 7 kHz."""
    x = filt(x, 'high', r.uniform(35, 60) if low else r.uniform(60, 130), 2)
    x = bell(x, r.uniform(80, 160), r.uniform(0, 6), 1.2)
    for _ in range(5):
        x = bell(x, 300 * 2 ** r.uniform(0, 4), r.normal(0, 3.5), r.uniform(1, 4))
    x = bell(x, r.uniform(1800, 3600), r.uniform(0, 8), 1)
    return filt(x, 'low', r.uniform(2500, 5000) if low else r.uniform(3500, 7000), int(r.integers(3, 7)))


def guitar_amp(x, r, way=None):
    """Plugged straight in, clean, at the edge, driven, high gain, fuzz."""
    way = way or r.choice(['direct', 'clean', 'edge', 'drive', 'gain', 'fuzz'], p=[.1, .3, .18, .2, .16, .06])
    x = unit(x)
    if way == 'direct':
        return bell(x, r.uniform(2000, 5000), r.uniform(-3, 5), .7), way
    if r.random() < .3:
        x = squash(x, r)
    gain = dict(clean=r.uniform(.3, 1.2), edge=r.uniform(1.5, 4), drive=r.uniform(5, 15), gain=r.uniform(20, 80),
                fuzz=r.uniform(40, 200))[way]
    if way in ('gain', 'fuzz'):
        x = filt(x, 'high', r.uniform(60, 250), 1)
    noise = 10 ** (r.uniform(-95, -70) / 20) if way in ('drive', 'gain', 'fuzz') else 10 ** (r.uniform(-100, -80) / 20)
    x = x + noise * r.standard_normal(len(x)).astype(np.float32)
    return cabinet(tone_stack(stages(x, r, gain), r), r), way


def bass_amp(x, r):
    x = stages(unit(x), r, np.exp(r.uniform(-.7, 2.5)))
    return cabinet(tone_stack(x, r), r, True)


def follow(x, attack, release):
    """A level detector in blocks of 32 samples."""
    a = np.abs(x) if x.ndim == 1 else np.abs(x).max(1)
    n = len(a) // 32
    a = a[:n * 32].reshape(n, 32).max(1)
    ka, kr, e, out = 1 - np.exp(-32 / FS / attack), 1 - np.exp(-32 / FS / release), 0.0, np.empty(n)
    for i, v in enumerate(a.tolist()):
        e += (ka if v > e else kr) * (v - e)
        out[i] = e
    return out, n


def shaped(x, gain):
    g = np.interp(np.arange(len(x)), np.arange(len(gain)) * 32 + 16, gain).astype(np.float32)
    return x * (g if x.ndim == 1 else g[:, None])


def squash(x, r, ratio=None):
    """A compressor with its threshold at the level of what sounds."""
    e, n = follow(x, r.uniform(.001, .03), r.uniform(.05, .3))
    loud = e[e > .05 * e.max()] if n else e
    th = np.sqrt(np.mean(loud ** 2)) * r.uniform(.5, 1)
    return shaped(x, np.maximum(e / (th + 1e-9), 1) ** (1 / (ratio or r.uniform(2, 8)) - 1))


def gate(x, r):
    e, _ = follow(x, .002, .12)
    return shaped(x, np.clip(e / (e.max() * 10 ** (r.uniform(-45, -25) / 20)), 0, 1) ** 2)


def stereo(x):
    return np.stack([x, x], 1) if x.ndim == 1 else x


def delayed(x, course):
    """x read at a moving distance in the past, in samples."""
    i = np.arange(len(x), dtype=np.float64) - course
    return np.interp(i, np.arange(len(x)), x).astype(np.float32)


def sine(n, hz, phase=0.0):
    return np.sin(2 * np.pi * hz * np.arange(n) / FS + phase).astype(np.float32)


def chorus(x, r):
    x, rate, depth = stereo(x), r.uniform(.2, 1.8), r.uniform(.0008, .004) * FS
    y = [delayed(x[:, c], (.012 * FS) + depth * (1 + sine(len(x), rate, c * np.pi / 2))) for c in range(2)]
    mix = r.uniform(.3, .7)
    return (1 - mix) * x + mix * np.stack(y, 1)


def phaser(x, r):
    """Swept notch: the sum with a short moving delay (flanging)."""
    mono = x if x.ndim == 1 else x.mean(1)
    y = delayed(mono, (.0003 + r.uniform(.0005, .004) * (.5 + .5 * sine(len(mono), r.uniform(.1, .8)))) * FS)
    return x + r.uniform(.4, .9) * r.choice([-1, 1]) * (y if x.ndim == 1 else y[:, None])


def tremolo(x, r):
    m = sine(len(x), r.uniform(2.5, 9))
    m = np.tanh(r.choice([1, 4]) * m) * r.uniform(.15, .5) + .5
    return x * (m if x.ndim == 1 else m[:, None])


def wah(x, r):
    """A band that moves with a pedal or with the playing: three fixed bands crossfaded."""
    mono = x if x.ndim == 1 else x.mean(1)
    bands = [bell(filt(mono, 'band', (f / 1.3, f * 1.3), 1), f, 10, 3) for f in (500, 1000, 1900)]
    if r.random() < .5:
        m = .5 + .5 * sine(len(mono), r.uniform(.5, 4))
    else:
        e, _ = follow(mono, .005, .15)
        m = np.interp(np.arange(len(mono)), np.arange(len(e)) * 32, e / (e.max() + 1e-9))
    a, b = np.clip(1 - 2 * m, 0, 1), np.clip(2 * m - 1, 0, 1)
    return (a * bands[0] + (1 - a - b) * bands[1] + b * bands[2]).astype(np.float32)


def echo(x, r):
    d, fb, wet = r.uniform(.08, .55), r.uniform(.1, .6), r.uniform(.15, .6)
    x = stereo(x)
    y, tap, cut = x.copy(), x, r.uniform(1500, 6000)
    n = int(d * FS)
    for k in range(4):
        tap = filt(np.pad(tap, ((n, 0), (0, 0)))[:len(x)], 'low', cut, 1) * (fb if k else wet)
        if r.random() < .4:
            tap = tap[:, ::-1]
        y = y + tap
    return y


def reverb(x, r, responses, wet=None):
    """A real space or plate. wet re dry, in terms of power."""
    h = responses[int(r.integers(len(responses)))]
    h = h[:int(r.uniform(.4, 2.5) * FS)]
    x = stereo(x)
    y = signal.fftconvolve(x, h, axes=0)[:len(x)].astype(np.float32)
    pre = int(r.uniform(0, .04) * FS)
    y = np.pad(y, ((pre, 0), (0, 0)))[:len(x)]
    wet = 10 ** (r.uniform(-24, -4) / 20) if wet is None else wet
    return x + wet * rms(x) / rms(y) * y


def telephone(x, r):
    x = filt(x, 'band', (r.uniform(200, 500), r.uniform(2200, 4500)), 2)
    return np.tanh(r.uniform(1, 6) * unit(x)).astype(np.float32)


def saturate(x, r):
    b = r.uniform(0, .3)
    return (np.tanh(r.uniform(1, 5) * unit(x) + b) - np.tanh(b)).astype(np.float32)


def pump(x, r):
    """Ducked by a kick that is not heard here."""
    t = (np.arange(len(x)) / FS + r.uniform(0, .5)) % (60 / r.uniform(95, 135))
    g = (1 - r.uniform(.5, .95) * np.exp(-t / r.uniform(.05, .15))).astype(np.float32)
    return x * (g if x.ndim == 1 else g[:, None])


def chop(x, r):
    """Cut in rhythm, as a gate driven by a pattern does."""
    step, p = int(FS * 60 / r.uniform(90, 140) / 4), (r.random(16) < .6).astype(np.float32)
    m = np.repeat(np.tile(p, len(x) // (16 * step) + 1), step)[:len(x)]
    m = signal.lfilter([.01], [1, -.99], m).astype(np.float32)
    return x * (m if x.ndim == 1 else m[:, None])


def harmony(x, r):
    """A copy moved in pitch, grains of 60 ms (two crossfaded readers)."""
    mono = x if x.ndim == 1 else x.mean(1)
    ratio, n = 2 ** (r.choice([-12, -5, 3, 4, 7, 12]) / 12), int(.06 * FS)
    saw = (np.arange(len(mono)) * (1 - ratio)) % n
    two = (saw + n / 2) % n
    fade = (1 - np.abs(2 * saw / n - 1)).astype(np.float32)
    y = delayed(mono, saw) * fade + delayed(mono, two) * (1 - fade)
    return mono * r.choice([0, .6, 1]) + y


def vocoder(x, r):
    """The bands of x drive those of a synthesised chord."""
    mono = x if x.ndim == 1 else x.mean(1)
    n, base = len(mono), 55 * 2 ** r.uniform(0, 1.5)
    t = np.arange(n) / FS
    carrier = sum(signal.sawtooth(2 * np.pi * base * k * t) for k in (1, 1.004, 1.26, 1.5, 2)) + .5 * r.standard_normal(n)
    out = np.zeros(n, np.float32)
    for f in 150 * 2 ** np.arange(0, 5.6, .4):
        e, _ = follow(filt(mono, 'band', (f / 1.15, f * 1.15), 1), .005, .03)
        out += shaped(filt(carrier, 'band', (f / 1.15, f * 1.15), 1), e)
    return out


def swell(x, r):
    """The volume pedal: no attacks."""
    t = np.arange(len(x)) / FS
    g = (.5 - .5 * np.cos(2 * np.pi * t / r.uniform(1, 3))) ** 1.5
    return x * (g if x.ndim == 1 else g[:, None]).astype(np.float32)


def hum(x, r):
    f, t = r.choice([50, 60]), np.arange(len(x)) / FS
    h = sum(np.sin(2 * np.pi * f * k * t + k) / k ** r.uniform(.3, 1.2) for k in (1, 2, 3, 4, 5, 6, 8))
    h = (h * np.abs(x).max() * 10 ** (r.uniform(-70, -46) / 20)).astype(np.float32)
    return x + (h if x.ndim == 1 else h[:, None])


def equalise(x, r, db=3.0):
    for _ in range(int(r.integers(0, 4))):
        x = bell(x, 60 * 2 ** r.uniform(0, 7.3), r.normal(0, db), r.uniform(.4, 1.5))
    if r.random() < .4:
        x = filt(x, 'high', 30 * 2 ** r.uniform(0, 2), 1)
    return x


GUITAR = dict(chorus=(chorus, .16), phaser=(phaser, .06), tremolo=(tremolo, .08), wah=(wah, .08), echo=(echo, .25),
              swell=(swell, .05))
VOICES = dict(echo=(echo, .4), chorus=(chorus, .25), phone=(telephone, .18), chop=(chop, .12), harmony=(harmony, .2),
              vocoder=(vocoder, .12), drive=(saturate, .2), pump=(pump, .1))
OTHER = dict(chorus=(chorus, .12), echo=(echo, .2), drive=(saturate, .15), pump=(pump, .08), phaser=(phaser, .05),
             tremolo=(tremolo, .05))
DRUMS = dict(drive=(saturate, .2), echo=(echo, .07), phone=(telephone, .04), phaser=(phaser, .03))


def effects(x, r, kinds):
    for name, (f, chance) in kinds.items():
        if r.random() < chance:
            x = f(x, r)
    return x


def record(x, r, responses, spill=None, room=.55, mono=.5):
    """From the instrument to the file: equaliser, compressor, space, noise, hum, spill, editing, level."""
    x = unit(equalise(x, r))
    if r.random() < .4:
        x = squash(x, r)
    if r.random() < room:
        x = reverb(x, r, responses)
    if r.random() < .2:
        x = equalise(x, r, 5)
    if spill is not None and r.random() < .3:
        s = spill if spill.ndim == 1 else spill.mean(1)
        s = filt(s[:len(x)], 'low', r.uniform(1000, 8000), 1)
        s = np.pad(s, (0, len(x) - len(s))) * np.float32(rms(x) / rms(s) * 10 ** (r.uniform(-45, -22) / 20))
        x = x + (s if x.ndim == 1 else s[:, None])
    if r.random() < .5:
        x = x + (10 ** (r.uniform(-95, -55) / 20) * np.abs(x).max() * r.standard_normal(x.shape)).astype(np.float32)
    if r.random() < .15:
        x = hum(x, r)
    if r.random() < .15:
        x = gate(x, r)
    if r.random() < .12:
        x = filt(x, 'low', r.uniform(9000, 16000), 8)  # a lossy or dull medium
    if x.ndim == 2 and r.random() < mono:
        x = x[:, 0]
    return x


def edit(x, r):
    """Silence cut between phrases, before and after."""
    if r.random() < .25:
        n = int(r.uniform(.5, 3) * FS)
        for _ in range(int(r.integers(1, 3))):
            i = int(r.integers(max(1, len(x) - n)))
            x[i:i + n] = 0
    if r.random() < .2:
        pad = [(int(r.uniform(0, 6) * FS), int(r.uniform(0, 6) * FS))] + [(0, 0)] * (x.ndim - 1)
        x = np.pad(x, pad)
    return unit(x) * np.float32(10 ** (r.uniform(-24, -.5) / 20))
