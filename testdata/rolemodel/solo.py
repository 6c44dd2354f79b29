#!/usr/bin/python3
"""Render single tracks of many instruments in random playing, to teach the role model more ways of playing than sessions hold.

  solo.py OUTDIR --bank a|b [--seed 1] [--rounds 2] [--held]

Bank a: timgm6mb, csound's GM bank and OPL3 (fluidsynth), voices from espeak-ng.
Bank b: Fluid R3 and MuseScore General (fluidsynth), voices from festival and flite.
Bank v: more voices of espeak-ng in other languages.
Bank s: a subtractive and frequency-modulating synthesiser with random settings.
With --held (banks a, b, s): slow sustained playing only, as in film music: long notes and chords that swell, deep brass and strings, pads,
drones, choirs, pianos with the pedal down, larger rooms.
Each track lasts about 14 s: a random phrase through random equalising, amplifier, room. Voices are spoken words whose resonances
(linear prediction, 16 kHz) are driven by pulses at sung pitches, vowels held. Layout as the sessions': labels.json and named/*.wav.
Needs Debian's fluidsynth, the sound banks, espeak-ng, festival with its voices, flite, and numpy, scipy, soundfile.
"""
import argparse, json, os, struct, subprocess, tempfile
import numpy as np, soundfile as sf
from scipy import signal

FS, LONG, SLOT = 44100, 14.0, 16.0
DIR = '/usr/share/sounds/sf2/'
BANKS = dict(a=['TimGM6mb.sf2', 'sf_GMbank.sf2', 'OPL-3_FM_128M.sf2'], b=['FluidR3_GM.sf2', 'MuseScore_General_Full.sf2'])
PROGRAMS = {'bass': list(range(32, 40)), 'electric guitar': [26, 27, 28, 29, 30, 27, 29, 30, 26, 28], 'acoustic guitar': [24, 25, 24, 25, 105, 25],
            'piano': [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13], 'organ': [16, 17, 18, 19, 20, 21], 'synth': [80, 81, 82, 84, 87, 88, 89, 90, 91, 93, 95],
            'strings': [40, 41, 42, 43, 45, 46, 48, 49, 44], 'horns': [56, 57, 58, 59, 60, 61, 64, 65, 66, 67, 68, 69, 70, 71, 73, 75], 'backing vocal': [52, 53]}
RANGE = {'bass': (28, 48), 'electric guitar': (40, 76), 'acoustic guitar': (40, 74), 'piano': (36, 88), 'organ': (40, 84), 'synth': (40, 88), 'strings': (40, 88), 'horns': (45, 82), 'backing vocal': (50, 76)}
HELD = {'strings': [40, 41, 42, 43, 44, 48, 49, 48, 49, 42, 43, 45, 46], 'horns': [56, 57, 58, 60, 61, 58, 57, 60, 68, 69, 70, 71, 73, 67, 66], 'synth': [88, 89, 90, 91, 92, 93, 94, 95, 50, 51, 62, 63],
        'piano': [0, 1, 0, 0, 4, 11], 'organ': [16, 18, 19, 20, 21], 'backing vocal': [52, 53, 52, 53], 'bass': [32, 33, 35, 38, 39, 33], 'acoustic guitar': [24, 25, 24]}
LOW, SINGLE = (43, 58, 67, 70), (40, 41, 42, 43, 56, 57, 58, 60, 66, 67, 68, 69, 70, 71, 73)  # deep instruments; those that play one note at a time
PERC = [[39], [54], [56], [60, 61], [62, 63, 64], [69], [70], [75], [76, 77], [65, 66], [67, 68], [73, 74], [82], [58]]
KIT = dict(kick=[36, 35], snare=[38, 40], tom=[41, 43, 45, 47, 48], hat=[42, 46, 44], cymbal=[49, 51, 57])
FAMILY = {'kick': 'dclose', 'snare': 'dclose', 'tom': 'dclose', 'drums': 'dclose', 'hat': 'dcym', 'cymbal': 'dcym', 'overhead': 'dcym', 'room': 'room', 'percussion': 'perc', 'bass': 'bass',
          'electric guitar': 'egtr', 'acoustic guitar': 'agtr', 'piano': 'keys', 'organ': 'keys', 'synth': 'synth', 'strings': 'strings', 'horns': 'horns', 'lead vocal': 'lead', 'backing vocal': 'bgv'}
SCALES = [[0, 2, 4, 5, 7, 9, 11], [0, 2, 3, 5, 7, 8, 10], [0, 3, 5, 7, 10], [0, 2, 4, 7, 9]]
WORDS = ['hold the river in your hand tonight', 'over the hills we are sailing away', 'nobody knows where the morning will go', 'I was alone in the silver rain', 'running down the avenue of lights', 'say you will wait for me', 'all of the summer is falling slow', 'give me one more reason to stay here', 'la la la yeah yeah', 'burning like paper and matches']


# ---------------------------------------------------------------- phrases: lists of (start s, length s, key, velocity)
def beats(r):
    tempo = r.uniform(72, 150); return 60 / tempo, r.choice([1, 2, 2, 4])


def melody(r, lo, hi):
    beat, div = beats(r); scale = SCALES[r.integers(4)]; keys = [k for k in range(lo, hi + 1) if (k - r.integers(12)) % 12 in scale] or [lo]; keys = sorted({k for k in range(lo, hi + 1) if (k - lo) % 12 in scale}); i = int(r.integers(len(keys))); t, out = r.uniform(0, .3), []; legato = r.uniform(.4, 1.02)
    while t < LONG - 1:
        d = beat / div * r.choice([1, 1, 2, 3, 4], p=[.4, .2, .2, .1, .1])
        if r.random() < .85: out.append((t, d * legato, keys[i], int(np.clip(r.normal(90, 14), 40, 127))))
        i = int(np.clip(i + r.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3]), 0, len(keys) - 1)); t += d
    return out


def chords(r, lo, hi):
    beat, div = beats(r); style = r.choice(['held', 'comp', 'arp', 'strum']); root0 = r.integers(12); t, out = r.uniform(0, .3), []; size = r.integers(2, 6)
    while t < LONG - 1:
        root = lo + (root0 + r.choice([0, 5, 7, 9, 2])) % 12; minor = r.random() < .4; tones = [k for o in range(0, 60, 12) for k in (root + o, root + o + (3 if minor else 4), root + o + 7) if k <= hi][:size + 2][-size:]; bar = beat * 4
        if style == 'held': out += [(t + .012 * j * r.random(), bar * .97, k, 84) for j, k in enumerate(tones)]
        elif style == 'comp':
            n = 8; pattern = r.random(n) < .45; cut = r.uniform(.3, 1)
            for s in range(n):
                if pattern[s]: out += [(t + s * bar / n, bar / n * cut, k, int(r.uniform(70, 110))) for k in tones]
        elif style == 'arp':
            for s in range(8 if div < 4 else 16): n = 8 if div < 4 else 16; out.append((t + s * bar / n, bar / n * 1.5, tones[s % len(tones)], int(r.uniform(65, 105))))
        else:
            for s in range(8):
                if r.random() < .8: spread = r.uniform(.006, .022); order = tones if s % 2 == 0 else tones[::-1]; out += [(t + s * bar / 8 + j * spread, bar / 8 * .95, k, int(r.uniform(60, 110))) for j, k in enumerate(order)]
        t += bar
    return out


def held(role, prog, r):
    """Long notes and chords: a line, a line in octaves, chords, slowly broken chords with the pedal down, or short notes in steady pulses."""
    lo, hi = RANGE[role] if role == 'bass' or prog not in LOW else (26, 55)
    if prog in (40, 73, 68, 56): lo, hi = 57, 90
    if prog in (42, 57, 60, 66, 69): lo, hi = 40, 72
    beat = 60 / r.uniform(60, 104); scale = SCALES[r.integers(3)]; base = int(r.integers(lo, max(lo + 1, hi - 16))); keys = [k for k in range(base, min(hi, base + 17) + 1) if (k - base) % 12 in scale]; i = int(r.integers(len(keys))); t, out = r.uniform(0, .5), []
    struck = role in ('piano', 'acoustic guitar') or prog in (45, 46, 11); many = not (role == 'bass' or prog in SINGLE); way = r.choice(['line', 'octaves', 'chords', 'chords', 'pulse', 'broken']) if many else r.choice(['line', 'line', 'line', 'pulse'])
    if struck: way = r.choice(['broken', 'broken', 'chords', 'line'])
    while t < LONG - 1:
        d = beat * r.choice([2, 3, 4, 4, 6, 8]); k = keys[i]; vel = int(np.clip(r.normal(78, 16), 35, 120)); triad = [k, k + 7, k + 12, k + 16 - (r.random() < .5), k + 19][:int(r.integers(3, 6))]
        if way == 'line': out.append((t, d * .99, k, vel))
        elif way == 'octaves': out += [(t, d * .99, k, vel), (t + .01, d * .99, k + 12, vel)]
        elif way == 'chords': out += [(t + .02 * r.random(), d * .98, q, vel) for q in triad]
        elif way == 'pulse': out += [(t + q * beat / 2, beat * .3, k, int(np.clip(vel + r.normal(0, 6), 30, 125))) for q in range(int(2 * d / beat))]
        else: out += [(t + q * beat / 2, d - q * beat / 2 + beat, triad[q % len(triad)], int(np.clip(vel + r.normal(0, 6), 30, 125))) for q in range(int(2 * d / beat))]
        i = int(np.clip(i + r.choice([-3, -2, -1, 1, 2, 3]), 0, len(keys) - 1)); t += d
    return out


def swell(x, r):
    """The player's slow rise and fall, 6 to 20 dB."""
    t = np.linspace(0, 1, len(x)); return x * (10 ** (r.uniform(3, 10) / 20 * np.sin(2 * np.pi * (r.uniform(.5, 3) * t + r.random()))))[:, None]


def pitched(role, prog, r):
    lo, hi = RANGE[role]
    if prog in (8, 9, 11, 12, 13, 75): lo, hi = 60, 96
    if prog in (43, 58, 67, 42, 70, 57): lo, hi = lo - 4, hi - 22
    if prog in (40, 73, 56, 71, 68): lo, hi = 55, 86
    width = int(r.integers(12, 25)); base = int(r.integers(lo, max(lo + 1, hi - width + 1))); top = min(hi, base + width)
    if role == 'bass': return melody(r, base, min(top, base + 14))
    solo = role in ('horns',) or prog in (40, 41, 42, 43, 68, 80, 81, 84, 87) or (role in ('electric guitar', 'synth', 'piano', 'acoustic guitar') and r.random() < .35)
    return melody(r, base, top) if solo else chords(r, base, top)


def groove(r, steps=16):
    beat, _ = beats(r); s = beat / 4; out = dict(kick=[], snare=[], tom=[], hat=[], cymbal=[]); hat = r.choice([1, 2, 4]); k = r.random(16) < .25; k[0] = True; t0, bar = 0.1, 0; kick, snare = r.choice(KIT['kick']), r.choice(KIT['snare']); ride = r.random() < .3
    while t0 < LONG - 1:
        for i in range(16):
            t = t0 + i * s + r.normal(0, .003); v = lambda a: int(np.clip(r.normal(a, 9), 25, 127))
            if k[i]: out['kick'].append((t, .2, kick, v(105)))
            if i in (4, 12): out['snare'].append((t, .2, snare, v(108)))
            elif r.random() < .06: out['snare'].append((t, .2, snare, v(50)))
            if i % hat == 0: out['cymbal' if ride else 'hat'].append((t, .1, 51 if ride else 46 if r.random() < .08 else 42, v(88 if i % 4 == 0 else 64)))
            if bar % 2 == 1 and i >= 12 and r.random() < .7: out['tom'].append((t, .3, int(r.choice(KIT['tom'])), v(104)))
        if bar % 4 == 0: out['cymbal'].append((t0, 1, int(r.choice([49, 57])), 108))
        t0 += 16 * s; bar += 1
    return out


def percussion(keys, r):
    beat, _ = beats(r); s = beat / r.choice([2, 4]); p = r.random(16) < r.uniform(.3, .95); p[0] = True; out, t, i = [], .1, 0
    while t < LONG - 1:
        if p[i % 16]: out.append((t + r.normal(0, .004), .15, int(r.choice(keys)), int(np.clip(r.normal(92, 14), 30, 127))))
        t += s; i += 1
    return out


# ---------------------------------------------------------------- rendering
def midi(events):
    """events: (start, length, channel, key, velocity) or (start, None, channel, program, 0); a type 0 file at 1000 ticks a second."""
    m = []
    for t, d, ch, k, v in events:
        if d is None: m.append((t, 0, bytes([0xC0 | ch, k])))
        else: m += [(t, 2, bytes([0x90 | ch, k, v])), (t + max(d, .03), 1, bytes([0x80 | ch, k, 0]))]
    m.sort(key=lambda e: (e[0], e[1])); body, last = b'', 0
    for t, _, b in m:
        n = int(round(t * 1000)); d = max(0, n - last); last = max(n, last); q = [d & 127]
        while d > 127: d >>= 7; q.append(d & 127 | 128)
        body += bytes(q[::-1]) + b
    body = b'\x00\xff\x51\x03' + (1000000).to_bytes(3, 'big') + body + b'\x00\xff\x2f\x00'; return b'MThd' + struct.pack('>IHHH', 6, 0, 1, 1000) + b'MTrk' + struct.pack('>I', len(body)) + body


def render(bank, slots):
    """One stereo array per slot; a slot is (program or None for the drum channel, notes)."""
    with tempfile.TemporaryDirectory() as d:
        ev = []
        for i, (prog, notes) in enumerate(slots):
            ch = 9 if prog is None else i % 9
            if prog is not None: ev.append((max(0, i * SLOT - .05), None, ch, int(prog), 0))
            ev += [(i * SLOT + max(0, t), dur, ch, int(k), int(v)) for t, dur, k, v in notes if t < LONG]
        open(d + '/x.mid', 'wb').write(midi(ev)); subprocess.run(['fluidsynth', '-ni', '-q', '-R', '0', '-C', '0', '-g', '0.4', '-r', str(FS), '-o', 'synth.dynamic-sample-loading=1', '-F', d + '/x.wav', DIR + bank, d + '/x.mid'], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        x, _ = sf.read(d + '/x.wav', dtype='float32', always_2d=True)
    x = np.pad(x, ((0, int(SLOT * len(slots) * FS) + FS), (0, 0))); return [x[int(i * SLOT * FS):int((i * SLOT + LONG + 1) * FS)] for i in range(len(slots))]


# ---------------------------------------------------------------- treatment
def eq(x, r, db=4):
    n = len(x); f = np.fft.rfftfreq(n, 1 / FS); o = np.log2(np.maximum(f, 20) / 1000); g = r.normal(0, db / 4) * o
    for _ in range(3): g += r.normal(0, db) * np.exp(-((o - r.uniform(-4, 4)) / r.uniform(.4, 1.2)) ** 2)
    return np.fft.irfft(np.fft.rfft(x, axis=0) * (10 ** (np.clip(g, -24, 24) / 20))[:, None], n, axis=0)


def room(x, r, seconds, wet):
    n = int(seconds * FS); t = np.arange(n) / FS; h = r.normal(size=(n, x.shape[1])) * (10 ** (-3 * t / seconds))[:, None]; h = signal.lfilter([.45], [1, -.55], h, axis=0); h /= np.sqrt((h ** 2).sum(0)) + 1e-9
    return x + wet * signal.fftconvolve(x, h, axes=0)[:len(x)]


def amp(x, r, drive):
    """Valve-like stage and a loudspeaker: low cut, resonance, presence peak, steep fall above 4 to 6 kHz."""
    x = x / (np.abs(x).max() + 1e-9); b = r.uniform(0, .3); x = np.tanh(drive * x + b) - np.tanh(b); x = signal.sosfilt(signal.butter(2, r.uniform(70, 130), 'high', fs=FS, output='sos'), x, axis=0); x = signal.sosfilt(signal.butter(int(r.integers(3, 6)), r.uniform(3800, 6500), fs=FS, output='sos'), x, axis=0); f = r.uniform(1800, 3500)
    bb, aa = signal.iirpeak(f, 1.2, fs=FS); return x + r.uniform(.2, 1.2) * signal.lfilter(bb, aa, x, axis=0)


def squash(x, r):
    e = np.abs(x).max(1); e = signal.lfilter([.002], [1, -.998], e); th = np.sqrt((e ** 2).mean()) + 1e-9; return x * (np.maximum(e / th, 1) ** -r.uniform(.3, .7))[:, None]


# ---------------------------------------------------------------- a subtractive synthesiser
def synthesise(notes, r, lo=False):
    """Pads, plucks, leads, stabs, drones: detuned saws and pulses or a frequency-modulated sine, a swept filter, a random envelope."""
    n = int((LONG + 1) * FS); y = np.zeros((n, 2)); fm, voices, pulse = r.random() < .25, int(r.integers(1, 6)), r.random() < .4; det = r.uniform(0, 14); at, de, su, re = 10 ** r.uniform(-2.7, -.3), 10 ** r.uniform(-1.3, .3), r.uniform(0, 1), 10 ** r.uniform(-1.3, .2); width, sub, nz = r.uniform(.1, .5), r.random() < .3, r.uniform(0, .03) * (r.random() < .4); ratio, index = r.choice([.5, 1, 2, 3, 3.5, 7]), r.uniform(.5, 6); lfo, ldep = r.uniform(.2, 6), r.uniform(0, 10) * (r.random() < .4)
    for t, d, k, v in notes:
        m = min(int((d + re) * FS), n - int(t * FS) - 1)
        if m < 50: continue
        x = np.arange(m) / FS; env = np.minimum(1, x / at) * (su + (1 - su) * np.exp(-np.maximum(0, x - at) / de)) * np.minimum(1, np.exp(-np.maximum(0, x - d) / re * 3)); f = 440 * 2 ** ((k - 69) / 12)
        for i in range(voices):
            c = det * (i - (voices - 1) / 2) + ldep * np.sin(2 * np.pi * lfo * (t + x)); ph = np.cumsum(f * 2 ** (c / 1200)) / FS + r.random()
            if fm: w = np.sin(2 * np.pi * ph + index * env * np.sin(2 * np.pi * ratio * ph))
            else:
                saw = lambda p: 2 * (p % 1) - 1
                w = saw(ph) - saw(ph + width) if pulse else saw(ph)
            p = .5 if voices == 1 else .2 + .6 * i / (voices - 1); y[int(t * FS):int(t * FS) + m] += (w * env * v / 127)[:, None] * [p, 1 - p]
        if sub: y[int(t * FS):int(t * FS) + m] += (.7 * np.sin(np.pi * f * np.arange(m) / FS * 2 / 2) * env)[:, None]
    y += nz * r.normal(size=y.shape) * np.abs(y).max(); base = 10 ** r.uniform(2.3, 4.0) * (.6 if lo else 1); sweep = np.clip(r.normal(0, 1.2), -2, 2.5); rate = r.uniform(.05, .5); out = np.zeros_like(y); blk = 2048; zi = np.zeros((2, 2, 2)); q = r.uniform(.6, 4)
    for b in range(0, n, blk):
        fc = np.clip(base * 2 ** (sweep * np.sin(2 * np.pi * rate * b / FS)), 80, 15000); w0 = 2 * np.pi * fc / FS; al = np.sin(w0) / 2 / q; c = np.cos(w0); sos = np.array([[(1 - c) / 2, 1 - c, (1 - c) / 2, 1 + al, -2 * c, 1 - al]]) / (1 + al); sos[0, 3] = 1; sos = np.r_[sos, [[1, 0, 0, 1, 0, 0]]]; out[b:b + blk], zi = signal.sosfilt(sos, y[b:b + blk], axis=0, zi=zi)
    if r.random() < .5: d = int(r.uniform(.005, .02) * FS); out[d:] += .5 * out[:-d, ::-1]
    return out


# ---------------------------------------------------------------- voices
def speech(text, voice, tmp):
    out = tmp + '/v.wav'; kind, name = voice.split(':')
    if kind == 'espeak': subprocess.run(['espeak-ng', '-v', name, '-s', '130', '-w', out, text], check=True)
    elif kind == 'flite': subprocess.run(['flite', '-voice', name, '-t', text, '-o', out], check=True)
    else: subprocess.run(['text2wave', '-eval', '(voice_%s)' % name, '-o', out], input=text.encode(), check=True, stderr=subprocess.DEVNULL)
    x, fs = sf.read(out); return signal.resample_poly(x, 16000, fs) if fs != 16000 else x


def lpc(x, order):
    a = np.correlate(x, x, 'full')[len(x) - 1:len(x) + order]; a[0] = a[0] * 1.0001 + 1e-9
    from scipy.linalg import solve_toeplitz
    c = solve_toeplitz(a[:order], a[1:order + 1]); return np.r_[1, -c], max(a[0] - (c * a[1:order + 1]).sum(), 1e-12)


def sing(x, notes, r, shift, breath, vib, flat=False):
    """Drive the resonances of speech x (16 kHz) along sung notes (start, length, key, velocity): consonants keep their pace, vowels are held."""
    fs, hop, win = 16000, 80, 400; nf = (len(x) - win) // hop; w = np.hanning(win); pre = signal.lfilter([1, -.94], [1], x); L, E, V = [], [], []
    for i in range(nf):
        s = pre[i * hop:i * hop + win] * w; a, e = lpc(s, 18); L.append(a); raw = x[i * hop:i * hop + win]; E.append(np.sqrt((s ** 2).mean())); ac = np.correlate(raw * w, raw * w, 'full')[win - 1:]; V.append(ac[50:230].max() / (ac[0] + 1e-9))
    E, V = np.array(E), np.array(V); loud = E > .15 * np.percentile(E, 95); voiced = (V > .35) & loud; use = np.nonzero(loud)[0]
    runs = [c for c in np.split(np.nonzero(voiced)[0], np.nonzero(np.diff(np.nonzero(voiced)[0]) > 1)[0] + 1) if len(c) > 8]
    if not runs: return np.zeros(int((LONG + 1) * fs))
    N = int((LONG + 1) * fs); y = np.zeros(N + 4 * win); ri = 0; ph = 0.0; scoop = r.uniform(0, 150); vr = r.uniform(4.6, 6.6); jit = r.uniform(.001, .006); drift = 0
    for t0, d, key, vel in notes:
        run = runs[ri % len(runs)]; ri += 1; on = run[0]; lead = [j for j in range(max(0, on - 14), on) if loud[j] and not voiced[j]]
        n = int(d * fs / hop); core = run[len(run) // 4:max(len(run) // 4 + 1, 3 * len(run) // 4)]
        if n <= len(run): path = list(run[:n])
        else: head = list(run[:len(run) // 2]); tail = list(run[len(run) // 2:]); path = head + list(np.linspace(head[-1], tail[0], max(0, n - len(run))).round().astype(int)) + tail
        path = [(j, False) for j in lead] + [(j, True) for j in path]; at = int(t0 * fs) - len(lead) * hop; zi = np.zeros(18); gl = r.uniform(.03, .12)
        for q, (j, von) in enumerate(path):
            p = at + q * hop
            if p < 0 or p + hop > N: continue
            tt = (q - len(lead)) * hop / fs; drift += r.normal(0, 1.5) - .05 * drift; cents = -scoop * np.exp(-max(tt, 0) / gl) + drift + (0 if flat else vib * min(1, max(0, (tt - .2) / .3)) * np.sin(2 * np.pi * vr * (p / fs)))
            f0 = 440 * 2 ** ((key - 69) / 12 + cents / 1200); ex = r.normal(size=hop) * (breath if von else 1) * .3
            if von:
                for k in range(hop):
                    ph += f0 / fs * (1 + r.normal() * jit)
                    if ph >= 1: ph -= 1; fr = ph / (f0 / fs); ex[k] += np.sqrt(fs / f0) * (1 - min(fr, 1)); ex[(k + 1) % hop] += np.sqrt(fs / f0) * min(fr, 1) if k + 1 < hop else 0
            o, zi = signal.lfilter([1], L[j], ex, zi=zi); g = E[j] * (vel / 90) * min(1, (len(path) - q) / 6); e = np.sqrt((o ** 2).mean()) + 1e-9; y[p:p + hop] += o * (.5 * g / e + .5 * g)
    y = signal.lfilter([1], [1, -.94], y[:N]); y = signal.sosfilt(signal.butter(2, 70, 'high', fs=fs, output='sos'), y); y = signal.resample_poly(y, 441, 160)
    if shift != 1: y = np.interp(np.arange(0, len(y) - 1, shift), np.arange(len(y)), y)
    return y


def air(y, r):
    """Add what 16 kHz speech lacks: breath above 7 kHz that follows the presence band."""
    hp = signal.sosfilt(signal.butter(2, [2500, 7000], 'band', fs=FS, output='sos'), y); e = np.sqrt(signal.lfilter([.01], [1, -.99], hp ** 2).clip(0)); n = signal.sosfilt(signal.butter(2, 6500, 'high', fs=FS, output='sos'), r.normal(size=len(y))); return y + r.uniform(.1, .6) * e * n


def sung(r, voice, tmp, lead, notes=None, text=None):
    male = voice[-1] == 'm' or any(s in voice for s in ('kal', 'ked', 'rms', 'awb', 'mv', 'pc_', 'en-us', 'm1', 'm3', 'de')); lo = 45 if male else 55; text = text or ' '.join(r.choice(WORDS, 3, replace=False)); base = int(r.integers(lo, lo + 6)); notes = notes or [(t, d, k, v) for t, d, k, v in melody(r, base, base + 12) if d > .12]
    shift = 2 ** (r.uniform(-2, 2) / 12); return air(sing(speech(text, voice, tmp), notes, r, shift, r.uniform(.02, .3), r.uniform(0, 60) if lead else r.uniform(0, 25), r.random() < .2), r), notes, text


VOICES = dict(v=['espeak:fr+f1', 'espeak:es+m1', 'espeak:en-us+klatt2', 'espeak:sv+f5', 'espeak:en-gb-scotland+m4', 'espeak:pt+f3', 'espeak:pl+m2', 'espeak:en-us+f1'],
              a=['espeak:en-us', 'espeak:en-us+f2', 'espeak:en-gb+f4', 'espeak:de+m3', 'espeak:it+f1', 'espeak:en-us+m7'],
              b=['festival:kal_diphone', 'flite:slt', 'flite:rms', 'flite:awb', 'festival:cmu_us_slt_arctic_hts', 'festival:hy_fi_mv_diphone', 'festival:suo_fi_lj_diphone', 'festival:lp_diphone', 'festival:pc_diphone', 'flite:kal'])


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('out'); ap.add_argument('--bank', required=True, choices='absv', help='s: the synthesiser only; v: further voices only'); ap.add_argument('--seed', type=int, default=1); ap.add_argument('--rounds', type=int, default=2); ap.add_argument('--held', action='store_true'); a = ap.parse_args()
    for bank in dict(s=['synth'], v=['voices']).get(a.bank) or BANKS[a.bank] + ['voices'] * (not a.held):
        r = np.random.default_rng([a.seed, ord(a.bank), len(bank), sum(map(ord, bank))] + [1] * a.held); out = '%s/solo_%s_%s%s' % (a.out, a.bank, bank.split('.')[0].split('_')[0].lower(), '_held' * a.held); os.makedirs(out + '/named', exist_ok=True); tracks = []

        def put(role, x):
            x = x if x.ndim == 2 else x[:, None]
            if np.abs(x).max() < 1e-4: return
            if x.shape[1] == 2 and r.random() < (.8 if role in ('kick', 'snare', 'bass', 'lead vocal', 'electric guitar', 'tom', 'hat') else .5): x = x.mean(1, keepdims=True)
            x = eq(x, r, 3)
            if r.random() < .35: x = squash(x, r)
            if a.held and r.random() < .6: x = room(x, r, r.uniform(.8, 3), 10 ** (-r.uniform(3, 18) / 20))
            elif r.random() < .4: x = room(x, r, r.uniform(.15, 1.2), 10 ** (-r.uniform(8, 22) / 20))
            x = x / (np.abs(x).max() + 1e-9) * r.uniform(.1, .9) + r.normal(size=x.shape) * 10 ** (-r.uniform(75, 100) / 20); name = '%03d %s.wav' % (len(tracks) + 1, role); sf.write(out + '/named/' + name, x.astype(np.float32), FS, 'PCM_24'); tracks.append(dict(file=name, role=role, family=FAMILY[role], atom=FAMILY[role], kind='dry', channels=x.shape[1]))
        if a.held and bank == 'synth':
            for i in range(10 * a.rounds): put('synth', synthesise(held('synth', 88, r), r))
            for i in range(3 * a.rounds): put('bass', synthesise(held('bass', 38, r), r, True))
        elif a.held:
            what = [(role, prog, held(role, prog, r)) for _ in range(a.rounds) for role, ps in HELD.items() for prog in ps]
            for (role, prog, _), x in zip(what, render(bank, [q[1:] for q in what])): put(role, x if role in ('piano', 'acoustic guitar') or r.random() < .4 else swell(x, r))
        elif bank == 'synth':
            for i in range(20 * a.rounds): lo = int(r.integers(36, 60)); put('synth', synthesise((melody if i % 3 == 0 else chords)(r, lo, lo + int(r.integers(14, 28))), r))
            for i in range(4 * a.rounds): put('bass', synthesise(melody(r, 26, 40), r, True))
        elif bank == 'voices':
            with tempfile.TemporaryDirectory() as tmp:
                for v in VOICES[a.bank]:
                    for _ in range(a.rounds):
                        try:
                            y, notes, text = sung(r, v, tmp, True); put('lead vocal', y)
                            layers = [sung(r, v if r.random() < .5 else VOICES[a.bank][r.integers(len(VOICES[a.bank]))], tmp, False, [(t + r.normal(0, .02), d, k + int(iv), ve) for t, d, k, ve in notes if t > 4], text)[0] for iv in r.choice([-12, -5, 3, 4, 7, 0], r.integers(1, 4))]
                        except subprocess.CalledProcessError as e: print('left out', v, e); break
                        n = min(map(len, layers)); pan = r.uniform(.2, .8, len(layers)); put('backing vocal', np.stack([sum(l[:n] * p for l, p in zip(layers, pan)), sum(l[:n] * (1 - p) for l, p in zip(layers, pan))], 1) if len(layers) > 1 else layers[0])
        else:
            slots, what = [], []
            for role, ps in PROGRAMS.items():
                for prog in ps * (1 if len(ps) > 7 else 2):
                    slots.append((prog, pitched(role, prog, r))); what.append(role)
            for keys in PERC: slots.append((None, percussion(keys, r))); what.append('percussion')
            for _ in range(2 * a.rounds):
                for piece, notes in groove(r).items(): slots.append((None, notes)); what.append('kit ' + piece)
            x = render(bank, slots); kit = {}
            for role, y in zip(what, x):
                if role.startswith('kit '):
                    kit[role[4:]] = y
                    if len(kit) < 5: continue
                    def mic(own):
                        z = np.zeros_like(y); far = signal.butter(1, r.uniform(2500, 9000), fs=FS, output='sos'); level = r.uniform(14, 34)
                        for p, q in kit.items(): z += q if p == own else 10 ** (-(level + r.normal(0, 3)) / 20) * signal.sosfilt(far, np.roll(q, int(r.integers(30, 300)), 0), axis=0)
                        return z
                    for p in kit: put(p, mic(p))
                    whole = lambda **g: sum(g.get(p, 1) * q for p, q in kit.items()); oh = room(whole(kick=r.uniform(.1, .5), cymbal=r.uniform(1.2, 2.5), hat=r.uniform(.7, 1.5)), r, r.uniform(.2, .6), r.uniform(.1, .4)); put('overhead', signal.sosfilt(signal.butter(1, r.uniform(60, 400), 'high', fs=FS, output='sos'), oh, axis=0))
                    put('room', squash(room(whole(hat=.6), r, r.uniform(.4, 1.4), r.uniform(.6, 1.6)), r) if r.random() < .6 else room(whole(hat=.6), r, r.uniform(.4, 1.4), r.uniform(.6, 1.6))); put('drums', squash(whole(), r)); kit = {}; continue
                if role == 'electric guitar': y = amp(y, r, np.exp(r.uniform(-.7, 3)))
                if role == 'bass' and r.random() < .4: y = amp(y, r, np.exp(r.uniform(-.7, 1.2)))
                put(role, y)
        json.dump(dict(session=os.path.basename(out), fs=FS, tracks=tracks), open(out + '/labels.json', 'w'), indent=0); print(out, len(tracks))


if __name__ == '__main__': main()
