"""A session under construction and its way to disk: named, mixed and anon folders with the same audio, and labels.json."""
import json, os, shutil, sys
import numpy as np
import soundfile as sf
from tools import *
sys.path.append(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import partitions

FAMILY = {'kick': 'drums', 'snare': 'drums', 'hat': 'drums', 'tom': 'drums', 'overhead': 'drums', 'room': 'drums', 'cymbal': 'drums', 'drums': 'drums', 'percussion': 'perc', 'bass': 'bass', 'electric guitar': 'egtr', 'acoustic guitar': 'agtr',
          'piano': 'keys', 'organ': 'keys', 'synth': 'synth', 'strings': 'strings', 'horns': 'horns', 'lead vocal': 'lead', 'backing vocal': 'bgv', 'fx': 'free', 'silent': 'free'}
LEVEL = {'kick': -18, 'snare': -19, 'hat': -32, 'tom': -24, 'overhead': -25, 'room': -28, 'cymbal': -30, 'drums': -22, 'percussion': -29, 'bass': -19, 'electric guitar': -24, 'acoustic guitar': -26, 'piano': -25, 'organ': -27, 'synth': -27, 'strings': -28, 'horns': -26, 'lead vocal': -18, 'backing vocal': -27, 'fx': -31}


class Session:
    def __init__(s, name, fs, song, levels, about, subtype, namer):
        s.name, s.fs, s.song, s.levels, s.about, s.subtype, s.namer = name, fs, song, levels, about, subtype, namer; s.n = int(fs * (song.secs + .7)); s.tr, s.pairs, s.tied, s.used = [], [], [], set()

    def add(s, what, x, role, src=(), kind='dry', fam=None, **flags):
        """Add a track; returns its file name. what: tuple for the namer. flags: silent, section_only, polarity_flipped, noise (dBFS), starts (s), ends (fraction)."""
        f = s.namer(what, s.used) + '.wav'; x = np.nan_to_num(fit(np.asarray(x, float), s.n)).astype(np.float32)
        if role != 'silent' and rms(x) < 1e-7: return None
        s.used.add(f[:-4]); s.tr.append(dict(file=f, x=x, role=role, fam=fam or FAMILY[role], src=[src] if isinstance(src, str) else [q for q in src if q], kind=kind, flags=flags)); return f

    def split(s, what, x, role, **k):
        """One stereo sound as two mono files with one gain."""
        a, b = s.add(what + ('L',), x[:, 0], role, **k), s.add(what + ('R',), x[:, 1], role, **k)
        if a and b: s.pairs.append([a, b]); s.tied.append((a, b))
        return a, b

    def get(s, f): return next(t['x'] for t in s.tr if t['file'] == f).astype(float)
    def total(s, files, key=''):
        r = rng(s.name, 'total', key); y = np.zeros((s.n, 2))
        for f in files:
            if f: x = s.get(f); x = x / rms(x) * .1; y += stereo(x) if x.ndim == 2 else pan(x, r.uniform(-.8, .8))
        return y

    def gain(s, group):
        r = rng(s.name, 'gain', group[0]['file']); pk = max(peak(t['x']) for t in group); e = sum(np.square(mono(t['x']).astype(float)) for t in group) / len(group); e = e[:len(e) // 2048 * 2048].reshape(-1, 2048).mean(1)
        if s.levels == 'print': return db(-r.uniform(1, 16)) / pk
        return min(db(-1) / pk, db(LEVEL[group[0]['role']] + 4 * (group[0]['kind'] == 'parallel') + r.normal(0, 3)) / np.sqrt(e[e > e.max() * 1e-3].mean()))

    def finish(s, out):
        d = os.path.join(out, '.' + s.name); shutil.rmtree(d, ignore_errors=True); [os.makedirs(d + '/' + v) for v in ('named', 'mixed', 'anon')]; by = {t['file']: t for t in s.tr}; names = list(by)
        for t in s.tr:
            if not t['flags'].get('silent'): t['x'] = lowcut(t['x'].astype(float), s.fs, 14).astype(np.float32)
        gains = {f: s.gain([t]) for f, t in by.items() if not t['flags'].get('silent')}
        for a, b in s.tied: gains[a] = gains[b] = s.gain([by[a], by[b]])
        for f, t in by.items():
            fl = t['flags']; cut, end, noise = int(fl.pop('starts', 0) * s.fs), int(fl.pop('ends', 1.0) * s.n), fl.pop('noise', None); x = t['x'].astype(float) * gains.get(f, 1)
            if noise is not None: x = x + rng(s.name, 'noise', f).standard_normal(x.shape) * db(noise)
            x = np.clip(x[cut:end], -.999, .999); sf.write(d + '/named/' + f, x, s.fs, subtype=s.subtype); t['ch'] = x.ndim; t['x'] = None
            if cut: fl['starts_at'] = cut
        anon = {names[i]: 'Audio %02d.wav' % (k + 1) for k, i in enumerate(rng(s.name, 'anon').permutation(len(names)))}; mixed = {f: f if z else anon[f] for f, z in zip(names, rng(s.name, 'mixed').random(len(names)) < .5)}
        for f in names: os.link(d + '/named/' + f, d + '/anon/' + anon[f]); os.link(d + '/named/' + f, d + '/mixed/' + mixed[f])
        tracks = [dict(file=f, anon=anon[f], mixed=mixed[f], role=t['role'], family=t['fam'], kind=t['kind'], source=t['src'], channels=t['ch'], **t['flags']) for f, t in by.items()]
        lab = dict(session=s.name, about=s.about, fs=s.fs, subtype=s.subtype, tempo=round(s.song.tempo, 1), seconds=round(s.n / s.fs, 2), lr_pairs=s.pairs, tracks=tracks, reference={str(k): partitions.reference(tracks, k) for k in (4, 8)})
        return d, lab


def publish(d, lab, out, **extra):
    """Write the labels and give the folder its final name in one step."""
    lab = dict({k: lab[k] for k in ('session', 'about')}, **extra, **{k: v for k, v in lab.items() if k not in ('session', 'about')}); J = lambda v: json.dumps(v, ensure_ascii=False)
    body = ['%s: %s' % (J(k), J(v)) for k, v in lab.items() if k not in ('tracks', 'reference')] + ['"tracks": [\n  ' + ',\n  '.join(map(J, lab['tracks'])) + ']']; ref = ',\n  '.join('"%s": {"primary": %s,\n   "alternatives": [\n    %s]}' % (k, J(v['primary']), ',\n    '.join(map(J, v['alternatives']))) for k, v in lab['reference'].items())
    open(d + '/labels.json', 'w').write('{' + ',\n '.join(body) + ',\n "reference": {\n  ' + ref + '}}\n'); final = os.path.join(out, lab['session']); shutil.rmtree(final, ignore_errors=True); os.rename(d, final)
