"""Synthesisers of several architectures (subtractive ladder, pulse-width strings, wavetable, two-operator FM, additive pad, stack of saws),
electric piano and tonewheel organ, and a few shaped noises."""
import numpy as np
from tools import *


@jit
def _saws(f, ph, width, kind, fs):
    """Band-limited oscillator: 0 saw, 1 pulse of given width, 2 triangle."""
    n = len(f); y = np.empty(n); p = ph; tri = 0.0
    for i in range(n):
        d = f[i] / fs; p += d
        if p >= 1: p -= 1
        q = p; s = 2 * q - 1
        if q < d: t = q / d; s -= t + t - t * t - 1
        elif q > 1 - d: t = (q - 1) / d; s -= t * t + t + t + 1
        if kind > 0:
            w = width if kind == 1 else .5; q = p + w
            if q >= 1: q -= 1
            s2 = 2 * q - 1
            if q < d: t = q / d; s2 -= t + t - t * t - 1
            elif q > 1 - d: t = (q - 1) / d; s2 -= t * t + t + t + 1
            s = s - s2 + (2 * w - 1)
            if kind == 2: tri = tri * .9995 + s * d * 4; s = tri
        y[i] = s
    return y


@jit
def _ladder(x, g, res):
    y = np.empty(len(x)); a = 0.0; b = 0.0; c = 0.0; d = 0.0
    for i in range(len(x)):
        k = g[i]; u = np.tanh(x[i] - res * (d - .5 * x[i])); a += k * (u - np.tanh(a)); b += k * (np.tanh(a) - np.tanh(b)); c += k * (np.tanh(b) - np.tanh(c)); d += k * (np.tanh(c) - np.tanh(d)); y[i] = d
    return y


def patch(r, use):
    """Random settings for a use: pad, lead, arp, pluck, stab, bass, drone."""
    long = use in ('pad', 'drone'); arch = str(r.choice(dict(pad=['saws', 'pwm', 'additive', 'wave', 'fm'], drone=['additive', 'wave', 'saws'], lead=['ladder', 'saws', 'fm', 'wave', 'tri'], arp=['ladder', 'fm', 'wave', 'pwm', 'tri'], pluck=['ladder', 'fm', 'wave'], stab=['saws', 'ladder', 'pwm', 'fm'], bass=['ladder', 'fm', 'tri', 'sub', 'saws'])[use]))
    return dict(arch=arch, use=use, a=r.uniform(.2, 1.2) if long else r.uniform(.002, .03), d=r.uniform(.08, .6), s=dict(pad=.9, drone=1, lead=.8, arp=.15, pluck=.0, stab=.4, bass=.7)[use], rel=r.uniform(.4, 1.4) if long else r.uniform(.04, .3), cut=float(np.exp(r.uniform(np.log(dict(bass=180, pad=500, drone=300).get(use, 600)), np.log(dict(bass=1200, pad=3500, drone=1500).get(use, 6000))))), env=r.uniform(0, 3.5), res=r.choice([.1, .8, 2, 3.2]), voices=int(r.integers(1, 4)) if use != 'pad' else int(r.integers(2, 6)), det=r.uniform(.03, .2), width=r.uniform(.15, .5), ratio=float(r.choice([1, 2, 3, 1.41, .5, 7])), index=r.uniform(.6, 5), glide=r.random() < .35 and use in ('lead', 'bass'), lfo=r.uniform(.1, 6), lfod=r.choice([0, .1, .5, 1]), table=r.uniform(0, 1, 24) * np.arange(1, 25) ** -r.uniform(.6, 1.6), wide=r.uniform(0, 1), vib=r.choice([0, .1, .25]), fx=str(r.choice(['none', 'none', 'chorus', 'phaser', 'drive', 'echo'])))


def play(p, notes, fs, n, key=''):
    y = np.zeros((n, 2)); r = rng('synth', key); prev = None
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(n - i0, int((d + p['rel']) * fs))
        if L < 32: continue
        a = np.arange(L) / fs; e = np.minimum(1, a / p['a']) * (p['s'] + (1 - p['s']) * np.exp(-np.maximum(0, a - p['a']) / p['d'])) * np.where(a > d, np.exp(-(a - d) / (p['rel'] / 4)), 1); st = np.full(L, float(m))
        if p['glide'] and prev is not None: st = m + (prev - m) * np.exp(-a / .04)
        prev = m; st = st + p['vib'] * np.clip(2 * a - .4, 0, 1) * np.sin(2 * np.pi * 5.5 * a); f = 440 * 2 ** ((st - 69) / 12); ar = p['arch']
        lf = p['lfod'] * np.sin(2 * np.pi * p['lfo'] * (t + a)); fc = p['cut'] * 2 ** (p['env'] * e * v / 127 + lf + (m - 60) / 36)
        s = np.zeros((L, 2)); k = p['voices'] if ar in ('saws', 'pwm', 'ladder') else 1
        for i in range(k):
            c = 0.0 if k == 1 else 2 * i / (k - 1) - 1; fi = f * 2 ** (c * p['det'] / 12)
            if ar in ('saws', 'ladder'): w = _saws(fi, r.random(), .5, 0 if ar == 'saws' or p['width'] > .25 else 1, fs)
            elif ar == 'pwm': w = sum(_saws(fi * q, r.random(), p['width'] + .12 * np.sin(2 * np.pi * (.4 + .2 * i) * t + i), 1, fs) for q in (1.0, 1.003))
            elif ar == 'tri': w = _saws(fi, r.random(), .5, 2, fs)
            elif ar == 'sub': w = np.sin(2 * np.pi * np.cumsum(fi * (1 + 1.5 * np.exp(-a / .02))) / fs)
            elif ar == 'fm': ph = 2 * np.pi * np.cumsum(fi) / fs; w = np.sin(ph + p['index'] * (e ** 1.5) * v / 110 * np.sin(p['ratio'] * ph + .3 * np.sin(ph * .5)))
            else:
                ph = 2 * np.pi * np.cumsum(fi) / fs; w = np.zeros(L)
                for h in range(1, 17):
                    if h * f[0] > min(12000, .45 * fs) or p['table'][h - 1] < .03: continue
                    mod = .5 + .5 * np.sin(2 * np.pi * (.13 * h % 1 + .05) * a + h) if ar == 'additive' else 1 if h < 3 else np.exp(-a * h * .6)
                    w = w + p['table'][h - 1] * mod * np.sin(h * ph + h * h)
            w = w / k ** .5; s += np.outer(w, [1 - p['wide'] * c * .8, 1 + p['wide'] * c * .8]) if k > 1 else np.outer(w, [1, 1])
        if ar in ('ladder', 'saws', 'pwm') or p['use'] == 'bass' and ar != 'sub':
            g = 1 - np.exp(-2 * np.pi * np.clip(fc, 30, 15000) / fs)
            if k == 1 or ar == 'ladder' and p['use'] != 'pad': s = stereo(_ladder(mono(s) * .7, g, p['res']))
            else: s = np.column_stack([_ladder(s[:, q] * .5, g, min(p['res'], 1.5)) for q in (0, 1)])
        add(y, s * (e * v / 110)[:, None], i0)
    if p['fx'] == 'chorus': y = y * .5 + chorus(y, fs, r)
    elif p['fx'] == 'phaser': y = np.column_stack([phaser(y[:, 0], fs, r), phaser(y[:, 1], fs, r)])
    elif p['fx'] == 'drive': y = drive(y, 'tube', 8)
    elif p['fx'] == 'echo': y = unit(y) + .35 * echo(y, fs, r.uniform(.18, .5), .35)
    return y


def electric_piano(notes, fs, n, key=''):
    """Tine or reed piano: struck bar with inharmonic tine, pickup by a shaping curve, bark with velocity."""
    y = np.zeros(n); r = rng('ep', key); tine, bark, asym, dec = r.uniform(3.8, 7.2), r.uniform(.5, 2.5), r.uniform(.1, .6), r.uniform(.8, 2.5)
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(n - i0, int((d + .15) * fs))
        if L < 32: continue
        a = np.arange(L) / fs; f = 440 * 2 ** ((m - 69) / 12); b = np.sin(2 * np.pi * f * a) * np.exp(-a / (dec * 2 ** ((60 - m) / 24))) + .25 * (v / 127) ** 2 * np.sin(2 * np.pi * f * tine * a) * np.exp(-a / .12); u = (b * bark * v / 100 + asym); add(y, (u / np.sqrt(1 + u * u) - asym / np.sqrt(1 + asym ** 2)) * np.where(a > d, np.exp(-(a - d) / .04), 1) * v / 110, i0)
    return y


def tonewheel(notes, fs, n, key=''):
    """Drawbar organ with key click, leakage and slight scanner vibrato."""
    y = np.zeros(n); r = rng('organ', key); bars = np.array([1, .8, 1, .4, .3, .3, .2, .2, .3]) * (r.random(9) < .65) * r.uniform(.3, 1, 9); bars[2] = max(bars[2], .5); perc = r.random() < .4
    for t, d, m, v in notes:
        i0 = int(t * fs); L = min(n - i0, int((d + .02) * fs))
        if L < 32: continue
        a = np.arange(L) / fs; f = 440 * 2 ** ((m - 69) / 12); e = np.minimum(1, a / .003) * np.clip((a[-1] - a) / .008, 0, 1); s = sum(b * np.sin(2 * np.pi * f * h * a + k) for k, (b, h) in enumerate(zip(bars, (.5, 1.5, 1, 2, 3, 4, 5, 6, 8))) if b > 0 and f * h < 6500)
        if perc: s = s + .7 * np.sin(2 * np.pi * f * 3 * a) * np.exp(-a / .15)
        add(y, s * e + .12 * band(r.standard_normal(L), fs, 800, 4000) * np.exp(-a / .004), i0)
    return moving_delay(y, fs, .6 + .25 * np.sin(2 * np.pi * 6.9 * np.arange(n) / fs)) if r.random() < .5 else y


def riser(fs, n, spans, r):
    """Noise and tone sweeps over (start, end) seconds; down instead of up now and then."""
    y = np.zeros((n, 2))
    for a, b in spans:
        L = int((b - a) * fs); t = np.linspace(0, 1, L); t = t[::-1] if r.random() < .3 else t; z = sweepable(r.standard_normal(L), fs, 250 * 2 ** (5 * t), 2, 'band') + .3 * np.sin(2 * np.pi * np.cumsum(150 * 2 ** (3 * t)) / fs); add(y, np.outer(z * t ** 1.5, [1, .8]), int(a * fs))
    return y + .4 * reverb(y, fs, 'hall', 'rise')
