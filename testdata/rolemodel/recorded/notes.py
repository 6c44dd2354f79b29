"""Recordings of single notes and hits, read from the snapshots that sources.tsv lists."""
import csv, io, os, re, subprocess, tempfile
import numpy as np
import soundfile as sf
from scipy import signal

FS = 44100
AUDIO = re.compile(r'\.(wav|flac|ogg|mp3|aiff?|m4a)$', re.I)
HERE = os.path.dirname(os.path.abspath(__file__))


def sources():
    """The rows of the table, in order."""
    with open(HERE + '/sources.tsv', newline='') as f:
        return list(csv.DictReader(f, delimiter='\t'))


class Store:
    """Files of one source: a bare git directory ROOT/OWNER+NAME/repo, or an unpacked package PACKAGES/NAME."""

    def __init__(self, name, root, packages):
        self.git = None
        if '/' in name:
            g = os.path.join(root, name.replace('/', '+'), 'repo')
            g = g if os.path.isdir(g + '/objects') else g + '/.git'
            self.git = ['git', '-c', 'safe.directory=*', '--git-dir', g]
            out = subprocess.run(self.git + ['ls-tree', '-r', '-z', 'HEAD'], capture_output=True, check=True).stdout
            entries = [line.split('\t', 1) for line in out.decode('utf8', 'replace').split('\0') if '\t' in line]
            self.files = {p: m.split()[2] for m, p in entries if AUDIO.search(p)}
            self.pipe = subprocess.Popen(self.git + ['cat-file', '--batch'], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        else:
            top = os.path.join(packages, name)
            found = sorted(os.path.join(d, f) for d, _, fs in os.walk(top) for f in fs)
            self.files = {os.path.relpath(p, top): p for p in found if AUDIO.search(p)}

    def list(self, keep):
        return sorted(p for p in self.files if re.search(keep, p))

    def bytes(self, path):
        if self.git is None:
            with open(self.files[path], 'rb') as f:
                return f.read()
        self.pipe.stdin.write(self.files[path].encode() + b'\n')
        self.pipe.stdin.flush()
        head = self.pipe.stdout.readline().split()
        if len(head) < 3:
            return None  # listed but absent: larger than snapshots hold
        b = self.pipe.stdout.read(int(head[2]))
        self.pipe.stdout.read(1)
        return None if b.startswith(b'version https://git-lfs') else b

    def close(self):
        if self.git is not None:
            self.pipe.stdin.close()
            self.pipe.wait()

    def read(self, path, seconds=5.0, mono=True, trim=True):
        """Samples at 44.1 kHz from the onset on, or None."""
        b = self.bytes(path)
        if b is None:
            return None
        try:
            x, rate = sf.read(io.BytesIO(b), dtype='float32', always_2d=True)
        except sf.LibsndfileError:
            x, rate = decode(b, path)
        if mono:
            x = x.mean(1, keepdims=True)
        if trim and len(x):
            a = np.abs(x).max(1)
            x = x[max(0, int(np.argmax(a > .02 * a.max())) - int(.004 * rate)):]
        x = x[:int(seconds * rate)]
        if rate != FS and len(x):
            g = np.gcd(int(rate), FS)
            x = signal.resample_poly(x, FS // g, rate // g, axis=0).astype(np.float32)
        if len(x) < 300 or not np.abs(x).max() > 1e-5:
            return None
        fade = np.linspace(1, 0, min(len(x), FS // 50), dtype=np.float32)
        x[-len(fade):] *= fade[:, None]
        return x[:, 0] if mono else x


def decode(b, path):
    with tempfile.NamedTemporaryFile(suffix=os.path.splitext(path)[1]) as t:
        t.write(b)
        t.flush()
        command = ['ffmpeg', '-v', 'error', '-i', t.name, '-f', 'f32le', '-ac', '1', '-ar', str(FS), '-']
        out = subprocess.run(command, capture_output=True, check=True).stdout
    return np.frombuffer(out, np.float32).reshape(-1, 1).copy(), FS


def pitch(x):
    """Fundamental in semitones (MIDI), by the normalised difference of de Cheveigne and Kawahara (2002); 0 if unclear."""
    y = signal.resample_poly(x[:int(.7 * FS)], 1, 4)[300:300 + 5000].astype(float)
    fs = FS / 4
    n = len(y) // 2
    if n < 600:
        return 0.0
    n = min(n, int(fs / 25))
    f = np.fft.rfft(y, 2 * len(y))
    w = np.fft.rfft(y[:len(y) - n], 2 * len(y))
    cross = np.fft.irfft(f * np.conj(w))[:n]
    e = np.cumsum(np.r_[0, y * y])
    m = len(y) - n
    d = e[m] + (e[m:m + n] - e[:n]) - 2 * cross
    d = d * np.arange(n) / np.maximum(np.cumsum(d), 1e-12)
    d[:int(fs / 2500)] = 9
    low = np.flatnonzero(d < max(.15, d.min() * 1.3))
    if not len(low) or d.min() > .6:
        return 0.0
    k = low[0]
    while k + 1 < n and d[k + 1] < d[k]:
        k += 1
    return 69 + 12 * np.log2(fs / k / 440)


class Instrument:
    """Notes of one instrument: samples, relative level kept within 18 dB, and pitch."""

    def __init__(self, store, paths, r, limit=70, pitched=True):
        if len(paths) > limit:
            paths = [paths[i] for i in sorted(r.choice(len(paths), limit, False))]
        self.notes, self.keys, self.names = [], [], []
        for p in paths:
            x = store.read(p)
            if x is None:
                continue
            self.notes.append(x)
            self.keys.append(pitch(x) if pitched else 60.0)
            self.names.append(p)
        peaks = np.array([np.abs(x).max() for x in self.notes])
        top = np.percentile(peaks, 85) if len(peaks) else 1
        for i, x in enumerate(self.notes):
            self.notes[i] = x / peaks[i] * np.clip(peaks[i] / top, .125, 1.2)
        self.keys = np.array(self.keys)
        self.tuned = np.flatnonzero(self.keys > 20)
