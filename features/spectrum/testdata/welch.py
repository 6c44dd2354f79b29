#!/usr/bin/env python3
"""Reference figures for the Welch spectrum and its shape measures: writes welch.json beside itself.

The signals are made with integer arithmetic and sines, so the Go test makes the very same samples. welch.json records
the versions of numpy and scipy it was made with.
"""
import json
import os
import sys

import numpy as np
import scipy
from scipy.signal import get_window, welch


def noise(n, seed):
    """32-bit linear congruential generator (Numerical Recipes constants), upper 24 bits, -1..1."""
    out = np.empty(n)
    x = seed
    for i in range(n):
        x = (1664525 * x + 1013904223) & 0xFFFFFFFF
        out[i] = ((x >> 8) - (1 << 23)) / (1 << 23)
    return out


def sine(n, rate, hz, amplitude):
    return amplitude * np.sin(2 * np.pi * hz * np.arange(n) / rate)


def smooth(x, a):
    """One-pole low-pass, a coloured noise without steep filters."""
    y = np.empty_like(x)
    state = 0.0
    for i, v in enumerate(x):
        state += a * (v - state)
        y[i] = state
    return y


def frame_size(rate):
    return {8000: 1024, 22050: 2048, 44100: 4096, 48000: 4096, 96000: 8192, 384000: 32768}[rate]


def measure(planes, rate):
    size = frame_size(rate)
    n = len(planes[0])
    if n >= size:
        window, length = get_window("hann", size, fftbins=True), size
    else:
        window, length = np.sin(np.pi * (np.arange(n) + 0.5) / n) ** 2, n
    power = 0
    for x in planes:
        x = np.asarray(x, dtype=np.float32).astype(float)
        f, p = welch(x, rate, window=window, nperseg=length, noverlap=length // 2, nfft=size, detrend=False,
                     scaling="density")
        power = power + p * rate / size / len(planes)
    f2, p2 = f[2:], power[2:]
    total = p2.sum()
    share = p2 / total
    mean = (f2 * share).sum()
    k20 = (f2 >= 20) & (f2 <= 20000) & (f2 < rate / 2)
    q = p2[k20]
    flat = np.exp(np.mean(np.log(q / q.mean() + 1e-10)))
    width = rate / size
    low = (np.arange(len(power)) - 0.5) * width
    high = np.minimum(low + width, rate / 2)

    def between(a, b):
        part = np.clip(np.minimum(high, b) - np.maximum(low, a), 0, None) / (high - low)
        return float((part * power)[2:].sum() / total)

    edges = [1000 * 10 ** (0.3 * (i - 5.5)) for i in range(11)]
    registers = [0, 60, 250, 500, 2000, 4000, 8000, 1e9]
    picks = [int(k) for k in np.linspace(0, size // 2, 33)]
    return {
        "bins": picks,
        "power": [float(power[k]) for k in picks],
        "sum": float(power.sum()),
        "total": float(total),
        "centroid_hz": float(mean),
        "spread_hz": float(np.sqrt(((f2 - mean) ** 2 * share).sum())),
        "rolloff_85_hz": float(f2[np.searchsorted(np.cumsum(share), 0.85)]),
        "flatness": float(flat),
        "octave_share": [between(a, b) for a, b in zip(edges, edges[1:])],
        "register_share": [between(a, b) for a, b in zip(registers, registers[1:])],
    }


def cases():
    for rate in (8000, 22050, 44100, 48000, 96000, 384000):
        n = frame_size(rate) * 5 + 17
        yield f"noise {rate}", rate, [noise(n, 1) * 0.5]
    n = 4096 * 6
    yield "coloured noise", 48000, [smooth(noise(n, 2), 0.02)]
    yield "two channels", 48000, [smooth(noise(n, 3), 0.1), noise(n, 4) * 0.1]
    yield "three channels", 44100, [noise(n, 5) * 0.1, smooth(noise(n, 6), 0.3), sine(n, 44100, 440, 0.5)]
    yield "two lines", 48000, [sine(n, 48000, 1000, 0.5) + sine(n, 48000, 3000, 0.5)]
    yield "line and offset", 48000, [sine(n, 48000, 100, 0.25) + 0.125]
    yield "10 ms", 48000, [sine(480, 48000, 1000, 0.5) + noise(480, 7) * 0.01]
    yield "one sample", 48000, [np.array([0.5])]
    yield "one frame", 48000, [smooth(noise(4096, 8), 0.05)]


def main():
    out = {"numpy": np.__version__, "scipy": scipy.__version__, "python": sys.version.split()[0], "cases": []}
    for name, rate, planes in cases():
        out["cases"].append({"name": name, "rate": rate, **measure(planes, rate)})
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "welch.json"), "w") as f:
        json.dump(out, f, indent=1)
        f.write("\n")


if __name__ == "__main__":
    main()
