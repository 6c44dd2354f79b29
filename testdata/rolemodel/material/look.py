#!/usr/bin/python3
"""Spectrogram sheet of the tracks of a session: look.py SESSIONDIR OUT.png [columns]. Log frequency, 70 dB range per track."""
import json, sys
import numpy as np
import scipy.signal as sg
import soundfile as sf
from PIL import Image, ImageDraw

W, H = 300, 110


def tile(path, text):
    x, fs = sf.read(path, always_2d=True); x = x.mean(1); f, t, S = sg.spectrogram(x, fs, 'hann', 2048, 1024); S = 10 * np.log10(S + 1e-14); g = np.geomspace(40, fs / 2 * .98, H)[::-1]; S = S[np.clip(np.searchsorted(f, g), 0, len(f) - 1)]
    S = S[:, np.linspace(0, S.shape[1] - 1, W).astype(int)]; v = np.clip((S - S.max() + 70) / 70, 0, 1); im = Image.fromarray((np.stack([v ** .7, v ** 1.5, .3 + .4 * v - .6 * v * v], -1).clip(0, 1) * 255).astype(np.uint8)); ImageDraw.Draw(im).text((3, 2), text, fill=(255, 255, 255)); return im


def main():
    if len(sys.argv) < 3: sys.exit(__doc__)
    d, out = sys.argv[1:3]; cols = int(sys.argv[3]) if len(sys.argv) > 3 else 5; T = json.load(open(d + '/labels.json'))['tracks']; sheet = Image.new('RGB', (cols * (W + 4), -(-len(T) // cols) * (H + 4)))
    for i, t in enumerate(T): sheet.paste(tile(d + '/named/' + t['file'], t['role'] + ': ' + t['file'][:-4] + (' *' if t['kind'] != 'dry' else '')), (i % cols * (W + 4), i // cols * (H + 4)))
    sheet.save(out)


if __name__ == '__main__': main()
