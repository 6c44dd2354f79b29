#!/usr/bin/env python3
"""Adds what is not a track to rendered sessions.

  make.py SESSIONS OUT [--seed N] [--only NAME,...]

SESSIONS holds folders with labels.json (tracks[]{file, anon, kind, family, source}) and the audio in named/ and anon/. OUT gets the same
folders, audio as hard links, with intruders beside the tracks and intruders.json: {named|anon: {file: kind}}.

Kinds: mix (the sum, delayed, a touch of equaliser, limited), print (the sum through a soft channel, filtered, louder, later), stem (all
but the voices, or the voices), click (pips or ticks at a steady tempo), talkback (speech now and then, band-limited), reference (the
limited mix of another session), tone (1 kHz, or a sweep of steps), noise (pink, or a quiet room), duplicate (one track twice).
Named files get the names people give them; the names in anon say nothing. Needs numpy, scipy, soundfile, espeak-ng.
"""
import argparse
import json
import os
import subprocess
import tempfile
import zlib

import numpy as np
import soundfile as sf
from scipy import signal

NAMES = {
    'mix': ['Mix.wav', 'ROUGH MIX 3.wav', 'full_mix_v2.wav', 'Bounce.wav', '2mix ref.wav'],
    'print': ['Print.wav', 'MIX PRINT 01.wav', 'print_return.wav', 'Master print.wav', 'Old Print.wav'],
    'stem': ['Band stem.wav', 'INSTRUMENTAL.wav', 'Instrumental stem.wav', 'TV mix.wav', 'stem_music.wav'],
    'click': ['Click.wav', 'CLICK TRK.wav', 'Metronome.wav', 'click_120.wav', 'Klick.wav'],
    'talkback': ['Talkback.wav', 'TB mic.wav', 'slate.wav', 'Talk back 2.wav', 'tb.wav'],
    'reference': ['Reference.wav', 'REF SONG.wav', 'ref track.wav', 'reference_master.wav', 'Ref.wav'],
    'tone': ['1k tone.wav', 'Test tone.wav', 'tones.wav', 'LINEUP TONE.wav', 'sine 1k.wav'],
    'noise': ['Room tone.wav', 'Pink noise.wav', 'roomtone.wav', 'noise.wav', 'Atmo room tone.wav'],
    'duplicate': None,
}
TALK = ['take two, rolling', 'can I have more of me in the phones please', 'once more from the second verse', 'that was good, keep it',
        'stand by, here comes the count', 'sorry, my fault, again please']


def load(path, frames, fs):
    x, rate = sf.read(path, always_2d=True, dtype='float32')
    assert rate == fs, path
    if x.shape[1] == 1:
        x = np.repeat(x, 2, 1) * np.float32(np.sqrt(0.5))
    y = np.zeros((frames, 2), np.float32)
    y[:min(frames, len(x))] = x[:frames]
    return y


def limit(x, top, fs):
    """A look-ahead peak limiter: 2 ms of hold, 50 ms of release."""
    peak = np.abs(x).max(1)
    need = np.minimum(1, top / np.maximum(peak, 1e-9))
    width = int(0.002 * fs)
    need = np.minimum.reduceat(need, np.arange(0, len(need), width))
    out, g = np.empty_like(need), 1.0
    back = 1 - np.exp(-0.002 / 0.05)
    for n, v in enumerate(need):
        g = min(v, need[n + 1] if n + 1 < len(need) else v, g + (1 - g) * back)
        out[n] = g
    return x * np.repeat(out, width)[:len(x), None].astype(np.float32)


def tilt(x, fs, rng):
    """A broad equaliser: a shelf of up to 3 dB at either end."""
    for kind, f in (('low', 120), ('high', 6000)):
        b, a = signal.butter(1, f / (fs / 2), kind)
        x = x + (10 ** (rng.uniform(-3, 3) / 20) - 1) * signal.lfilter(b, a, x, axis=0)
    return x.astype(np.float32)


def delayed(x, n):
    y = np.zeros_like(x)
    y[n:] = x[:len(x) - n]
    return y


def pips(frames, fs, tempo, rng):
    y = np.zeros((frames, 1), np.float32)
    n = int(rng.uniform(0.01, 0.06) * fs)
    t = np.arange(n) / fs
    high, low = rng.choice([(1600, 1200), (2000, 1000), (880, 440), (0, 0)])
    for k, at in enumerate(np.arange(0, frames - n, 60 / tempo * fs)):
        f = (high if k % 4 == 0 else low) or 2500
        hit = np.sin(2 * np.pi * f * t) if high else signal.lfilter(*signal.butter(2, [1500 / (fs / 2), 5000 / (fs / 2)], 'band'), np.random.default_rng(7).standard_normal(n))
        y[int(at):int(at) + n, 0] += (0.5 if k % 4 == 0 else 0.35) * hit * np.exp(-4 * t / t[-1])
    return y


def speech(frames, fs, rng):
    y = np.zeros((frames, 1), np.float32)
    b, a = signal.butter(2, [250 / (fs / 2), 4500 / (fs / 2)], 'band')
    for text in rng.choice(TALK, rng.integers(2, 4), replace=False):
        with tempfile.TemporaryDirectory() as d:
            voice = rng.choice(['en-us+m3', 'en-us+f2', 'en-gb+m1', 'en-gb+f4'])
            subprocess.run(['espeak-ng', '-v', voice, '-s', '165', '-w', d + '/s.wav', text], check=True)
            s, rate = sf.read(d + '/s.wav')
        s = signal.resample_poly(s, fs, rate)[:frames // 2]
        at = rng.integers(0, max(1, frames - len(s)))
        y[at:at + len(s), 0] += 0.3 * signal.lfilter(b, a, s)
    return y + rng.standard_normal(y.shape).astype(np.float32) * 10 ** (-66 / 20)


def tone(frames, fs, rng):
    t = np.arange(frames) / fs
    if rng.random() < 0.6:
        return (0.126 * np.sin(2 * np.pi * 1000 * t))[:, None]
    steps = [100, 1000, 10000]
    f = np.array(steps)[(t // 5).astype(int) % 3]
    return (0.126 * np.sin(2 * np.pi * np.cumsum(f) / fs))[:, None]


def noise(frames, fs, rng):
    white = rng.standard_normal((frames, 1))
    pink = signal.lfilter([0.049922035, -0.095993537, 0.050612699, -0.004408786], [1, -2.494956002, 2.017265875, -0.522189400], white, axis=0)
    if rng.random() < 0.5:
        return 0.1 * pink / pink.std()
    hum = sum(np.sin(2 * np.pi * 50 * k * np.arange(frames) / fs) / k for k in (1, 2, 3))[:, None]
    room = pink / pink.std() + 0.5 * hum
    return 10 ** (rng.uniform(-58, -46) / 20) * room


def session(source, out, other, seed):
    labels = json.load(open(source + '/labels.json'))
    rng = np.random.default_rng([seed, zlib.crc32(labels['session'].encode())])
    fs = labels['fs']
    infos = {t['file']: sf.info(f'{source}/named/' + t['file']) for t in labels['tracks']}
    frames = max(i.frames for i in infos.values())
    total, voices, loudest = np.zeros((frames, 2), np.float32), np.zeros((frames, 2), np.float32), None
    for t in labels['tracks']:
        x = load(f'{source}/named/' + t['file'], frames, fs)
        if t.get('starts_at'):
            x = delayed(x, t['starts_at'])
        total += x
        if t.get('family') in ('lead', 'bgv'):
            voices += x
    peak = np.abs(total).max()
    mix = limit(tilt(delayed(total, rng.integers(0, int(0.02 * fs))), fs, rng) / peak, rng.uniform(0.35, 0.7), fs)
    drive = rng.uniform(1.5, 3)
    soft = np.tanh(drive * total / peak)
    b, a = signal.butter(1, [25 / (fs / 2), 17000 / (fs / 2)], 'band')
    prints = delayed(signal.lfilter(b, a, tilt(soft, fs, rng), axis=0), rng.integers(100, int(0.05 * fs)))
    band = total - voices if np.abs(voices).max() > 0 else None
    x, rate = sf.read(other, always_2d=True)
    x = signal.resample_poly(x, fs, rate)[:frames] if rate != fs else x[:frames]
    reference = np.zeros((frames, 2))
    reference[:len(x)] = x
    dry = [t for t in labels['tracks'] if not t.get('silent')]
    twin = dry[rng.integers(len(dry))]
    made = {'mix': mix, 'print': 0.8 * prints / max(1e-9, np.abs(prints).max()), 'click': pips(frames, fs, labels.get('tempo') or 120, rng),
            'talkback': speech(frames, fs, rng), 'reference': reference, 'tone': tone(frames, fs, rng), 'noise': noise(frames, fs, rng),
            'duplicate': None}
    if band is not None:
        made['stem'] = 0.7 * band / np.abs(band).max()
    truth = {'named': {}, 'anon': {}}
    for variant in truth:
        target = f'{out}/{labels["session"]}/{variant}'
        os.makedirs(target, exist_ok=True)
        for t in labels['tracks']:
            name = t['file' if variant == 'named' else 'anon']
            if not os.path.exists(f'{target}/{name}'):
                os.link(f'{source}/{variant}/{name}', f'{target}/{name}')
    number = len(labels['tracks'])
    for kind, x in made.items():
        number += 1
        if kind == 'duplicate':
            stem = twin['file'].removesuffix('.wav')
            name = stem + rng.choice([' copy.wav', ' (1).wav', '-1.wav', '_dup.wav'])
        else:
            name = str(rng.choice(NAMES[kind]))
        for variant in truth:
            file = name if variant == 'named' else f'Audio {number:02d}.wav'
            path = f'{out}/{labels["session"]}/{variant}/{file}'
            if kind == 'duplicate':
                if not os.path.exists(path):
                    os.link(f'{source}/{variant}/' + twin['file' if variant == 'named' else 'anon'], path)
            else:
                sf.write(path, x, fs, 'PCM_24')
            truth[variant][file] = kind
    json.dump({'truth': truth, 'twin': {'named': twin['file'], 'anon': twin['anon']}}, open(f'{out}/{labels["session"]}/intruders.json', 'w'), indent=1)
    return mix, fs


def main():
    p = argparse.ArgumentParser()
    p.add_argument('sessions')
    p.add_argument('out')
    p.add_argument('--seed', type=int, default=1)
    p.add_argument('--only', default='')
    o = p.parse_args()
    names = sorted(d for d in os.listdir(o.sessions) if os.path.exists(f'{o.sessions}/{d}/labels.json'))
    os.makedirs(o.out, exist_ok=True)
    for n, name in enumerate(names):  # the reference song of each is the mix of the one before
        if not os.path.exists(f'{o.out}/{name}.song.wav'):
            labels = json.load(open(f'{o.sessions}/{name}/labels.json'))
            frames = max(sf.info(f'{o.sessions}/{name}/named/' + t['file']).frames for t in labels['tracks'])
            x = sum(load(f'{o.sessions}/{name}/named/' + t['file'], frames, labels['fs']) for t in labels['tracks'])
            sf.write(f'{o.out}/{name}.song.wav', limit(x / np.abs(x).max() * 2.5, 0.97, labels['fs']), labels['fs'], 'PCM_24')
    for n, name in enumerate(names):
        if not o.only or name in o.only.split(','):
            session(f'{o.sessions}/{name}', o.out, f'{o.out}/{names[n - 1]}.song.wav', o.seed)
            print(name, flush=True)


if __name__ == '__main__':
    main()
