"""Plucked strings as digital waveguides with stiffness, two polarisations and pitch that may bend; pickups, pedals, amplifiers, bodies."""
import numpy as np
import scipy.signal as sg
from tools import *


@jit
def _string(exc, period, loss, bright, stiff, nst, fs, m2):
    """One string: exc is the excitation, period the loop length in samples (array), loss the loop gain (array)."""
    n = len(exc); size = 4096; out = np.zeros(n)
    for pol in range(2):
        buf = np.zeros(size); lp = 0.0; ax = np.zeros(nst); ay = np.zeros(nst); det = 1.0 if pol == 0 else m2
        for i in range(n):
            p = i - period[i] * det; q = int(np.floor(p)); f = p - q; v = 0.0
            if q >= 2:
                a, b, c, d = buf[(q - 1) % size], buf[q % size], buf[(q + 1) % size], buf[(q + 2) % size]
                v = b + .5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)))
            lp = v * (1 - bright) + lp * bright; w = lp
            for k in range(nst):
                y = stiff * w + ax[k] - stiff * ay[k]; ax[k] = w; ay[k] = y; w = y
            buf[i % size] = exc[i] * (.7 if pol == 0 else .3) + w * loss[i]
            out[i] += buf[i % size]
    return out


def make(kind, r):
    """Random instrument of a kind: tuning by string, decay, brightness, stiffness, pick."""
    q = dict(
        electric=dict(t60=r.uniform(4, 9), bright=r.uniform(.05, .25), stiff=r.uniform(.02, .12), pick=r.uniform(.06, .22), hard=r.uniform(3500, 9000), m2=r.uniform(1.0004, 1.0012), nst=2),
        steel=dict(t60=r.uniform(2.2, 4.5), bright=r.uniform(.08, .3), stiff=r.uniform(.05, .2), pick=r.uniform(.1, .25), hard=r.uniform(5000, 12000), m2=r.uniform(1.0004, 1.0015), nst=3),
        nylon=dict(t60=r.uniform(1.4, 2.6), bright=r.uniform(.35, .55), stiff=r.uniform(0, .05), pick=r.uniform(.15, .3), hard=r.uniform(1500, 3500), m2=r.uniform(1.0003, 1.001), nst=1),
        ukulele=dict(t60=r.uniform(.6, 1.1), bright=r.uniform(.3, .5), stiff=.02, pick=r.uniform(.2, .35), hard=r.uniform(2000, 4500), m2=1.0006, nst=1),
        banjo=dict(t60=r.uniform(.5, .9), bright=r.uniform(.05, .2), stiff=.06, pick=r.uniform(.05, .12), hard=r.uniform(6000, 11000), m2=1.001, nst=2),
        mandolin=dict(t60=r.uniform(.8, 1.6), bright=r.uniform(.1, .25), stiff=.05, pick=r.uniform(.1, .2), hard=r.uniform(6000, 11000), m2=r.uniform(1.001, 1.002), nst=2),
        bass=dict(t60=r.uniform(3, 7), bright=r.uniform(.3, .6), stiff=r.uniform(.05, .25), pick=r.uniform(.1, .3), hard=r.uniform(700, 2600), m2=1.0005, nst=3),
        upright=dict(t60=r.uniform(1, 2), bright=r.uniform(.55, .7), stiff=.1, pick=r.uniform(.3, .45), hard=r.uniform(350, 900), m2=1.0008, nst=3))[kind]
    return dict(q, kind=kind, pickup=r.uniform(.06, .3), damp=r.uniform(25, 80))


def play(g, notes, fs, n, key='', mute=None, vibrato=0.0, bend=0.0, slide=False, feel=1.0):
    """Mono string part. mute: None or decay in s of palm-muted notes; notes with velocity < 50 are scratched when mute is set to 'scratch'."""
    y = np.zeros(n); r = rng('play', key, g['kind']); prev = None
    for t, d, m, v in notes:
        i0 = int(t * fs)
        if i0 >= n or m < 20: continue
        f = 440 * 2 ** ((m - 69 + r.normal(0, .03) * feel) / 12); dead = mute == 'scratch' and v < 50; t60 = .06 if dead else (mute if isinstance(mute, float) else g['t60'] * 2 ** ((50 - m) / 26))
        L = min(n - i0, int((min(d, t60 * 1.2) + .12) * fs))
        if L < 64: continue
        a = np.arange(L) / fs; st = np.zeros(L)
        if vibrato and d > .3: st += vibrato * np.clip(3 * (a - .2), 0, 1) * np.sin(2 * np.pi * r.uniform(4.6, 6.2) * a)
        if bend and r.random() < bend: st -= float(r.choice([1, 2])) * np.clip(1 - a / r.uniform(.08, .25), 0, 1)
        if slide and prev is not None and r.random() < .5: st += (prev - m) * np.clip(1 - a / .07, 0, 1)
        prev = m; base = fs / f; delay = g['bright'] / (1 - g['bright'] + 1e-9) + g['nst'] * (1 - g['stiff']) / (1 + g['stiff'])
        period = base * 2 ** (-st / 12) - delay; period = np.maximum(period, 3.0)
        loss = np.full(L, 10 ** (-3 / (f * t60))); rel = int(d * fs)
        if rel < L: loss[rel:] = 10 ** (-3 / (f * (g['damp'] / 1000)))
        e = r.standard_normal(int(base)); e = highcut(np.tile(e, 2), fs, g['hard'] * (.35 + .65 * v / 120) * (.5 if isinstance(mute, float) else 1), 2)[-len(e):]; k = int(g['pick'] * r.uniform(.8, 1.25) * base); e = e - np.roll(e, k); e -= e.mean()
        e = e / (rms(e) * 3); exc = np.zeros(L); exc[:len(e)] = e[:L]
        if dead: exc[:min(L, int(.02 * fs))] += .4 * r.standard_normal(min(L, int(.02 * fs)))
        s = _string(exc, period, loss, g['bright'], g['stiff'], g['nst'], fs, g['m2']); k = min(L, int(.01 * fs)); s[-k:] *= np.linspace(1, 0, k)
        pp = max(1, int(g['pickup'] * base)); s = s - .7 * shift(s, pp); add(y, s * (v / 105) ** 1.5, i0)
    return lowcut(y, fs, 30, 1)


def pickup(x, fs, r):
    """Magnetic pickup and cable: a resonant low-pass, single coil to humbucker; hum is left to the noise of the track."""
    return shelf(resonator(x, fs, r.uniform(2300, 5200), r.uniform(.9, 2.6)), fs, r.uniform(150, 300), r.uniform(-3, 2), False)


def _cab(fs, r, bass=False):
    """Loudspeaker and microphone: random resonances over a steep low-pass, as a minimum-phase FIR."""
    f = np.fft.rfftfreq(8192, 1 / fs); lo, hi = (r.uniform(45, 70), r.uniform(2200, 5200)) if bass else (r.uniform(75, 125), r.uniform(3600, 5800))
    H = 1 / (1 + (lo / (f + 1)) ** 4) / (1 + (f / hi) ** r.uniform(6, 11)); lg = np.log2(f + 20)
    for c, w, g in [(lo * 1.3, .35, r.uniform(1, 6)), (r.uniform(300, 600), .6, -r.uniform(0, 7)), (r.uniform(1100, 1900), .5, r.uniform(-4, 4)), (hi * r.uniform(.5, .8), .35, r.uniform(1, 8))] + [(r.uniform(500, 6000), r.uniform(.05, .15), r.normal(0, 3)) for _ in range(9)]: H = H * db(g * np.exp(-.5 * ((lg - np.log2(c)) / w) ** 2))
    c = np.fft.irfft(np.log(np.maximum(H, 1e-4))); c[1:4096] *= 2; c[4097:] = 0; h = np.fft.irfft(np.exp(np.fft.rfft(c)))[:1400]
    if r.random() < .4: k = int(r.uniform(.0004, .003) * fs); h = h + r.uniform(.15, .4) * shift(h, k)
    return h / np.sqrt((h ** 2).sum())


def amplifier(x, fs, gain, key='', bass=False, cab=True):
    """Preamplifier stages with shifting bias, tone stack between, sagging power stage, cabinet. gain in dB, 0 clean to 45 high gain."""
    r = rng('amp', key); m = mono(x); m = lowcut(m, fs, r.uniform(60, 130) + (gain > 25) * 80, 1) if not bass else m
    ref = np.percentile(np.abs(m)[np.abs(m) > .02 * peak(m)], 90) + 1e-9; u = sg.resample_poly(m / ref, 2, 1); F = 2 * fs; stages = 1 + int(gain > 12) + int(gain > 28)
    for k in range(stages):
        u = u * db(gain / stages - 8 + 4 * k); b = r.uniform(.05, .35); u = np.where(u + b > 0, np.tanh(u + b), .85 * np.tanh(1.2 * (u + b))) - np.tanh(b); u = lowcut(u, F, r.uniform(25, 90), 1); u = highcut(u, F, r.uniform(6000, 14000), 1)
        if k == 0: u = bell(shelf(shelf(u, F, 180, r.uniform(-4, 4), False), F, 2500, r.uniform(-3, 6)), F, r.uniform(450, 800), r.uniform(-8, 1), .8)
    u = drive(u, r.choice(['tube', 'tape']), gain / 6 - 4); y = sg.resample_poly(u, 1, 2)[:len(m)]
    if gain < 20: y = compress(y, fs, r.uniform(2, 6), 2, 15, 120)
    return unit(fir(y, _cab(fs, r, bass))) if cab else unit(highcut(y, fs, r.uniform(4500, 7000), 3))


def weight(x, fs, share):
    """Shelve a bass so that about `share` of its power lies under 150 Hz."""
    f, P = sg.welch(mono(x), fs, nperseg=8192); g = np.linspace(-6, 24, 31); lg = 1 / (1 + (f / 160) ** 2); c = [(P * db(2 * q * lg))[f < 150].sum() / (P * db(2 * q * lg)).sum() for q in g]
    return shelf(x, fs, 160, g[int(np.argmin(np.abs(np.array(c) - share)))], False)


def pedal(x, fs, kind, r):
    if kind == 'fuzz': return highcut(drive(lowcut(x, fs, 90), 'clip', r.uniform(18, 32)), fs, r.uniform(2500, 5000), 1)
    if kind == 'overdrive': return drive(bell(x, fs, 720, r.uniform(3, 8), .6), 'diode', r.uniform(6, 16))
    if kind == 'compressor': return compress(x, fs, 16, 6, 10, 180)
    return dict(wah=wah, phaser=phaser, flanger=flanger, chorus=chorus)[kind](x, fs, r)


def wood(x, fs, r, kind='guitar'):
    """Body and microphone of an acoustic instrument: few low air and plate modes, a dense tail of short ones, a near reflection."""
    f0 = dict(guitar=r.uniform(88, 118), small=r.uniform(190, 260), banjo=r.uniform(230, 320), bass=r.uniform(55, 70))[kind]; n = int(.12 * fs); t = np.arange(n) / fs; h = np.zeros(n)
    fr = [f0, f0 * r.uniform(1.8, 2.1), f0 * r.uniform(2.3, 2.7)] + list(f0 * np.exp(r.uniform(np.log(3), np.log(45), 40)))
    for k, f in enumerate(fr):
        if f < .45 * fs: h += (r.uniform(.5, 1) if k < 3 else r.uniform(.03, .2)) * np.exp(-t * np.pi * f / r.uniform(12, 45)) * np.sin(2 * np.pi * f * t + r.uniform(0, 6.3))
    h *= r.uniform(.4, .9) / np.sqrt((h ** 2).sum()); h[0] += 1; h[int(r.uniform(.0005, .004) * fs)] += r.uniform(-.4, .4)
    return shelf(fir(lowcut(x, fs, 70), h), fs, r.uniform(3000, 7000), r.uniform(-7, 3))
