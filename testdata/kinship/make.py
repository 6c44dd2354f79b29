#!/usr/bin/python3
"""Make labelled sessions for the kinship model from labelled sessions that are there already.

  make.py OUT effects SESSION... [--seed 1]   per session fx_<name>: some of its dry tracks, and what studios make of them (effects.py)
  make.py OUT studio SESSION... [--seed 1]    per session st_<name>: rotating loudspeakers, triggered samples, microphones of the lows, rooms that hear few, choirs near and far
  make.py OUT grid --seeds 1-8                one-shots on identical steps of a grid: nothing in them is kin but what is labelled
  make.py OUT kit --repo DIR --seeds 1-4      a real kit on 16 microphones with its real bleed (the MuldjordKit of DrumGizmo, a git directory)

The layout is that of the other labelled sessions: OUT/<session>/named/*.wav and labels.json.
"""
import argparse, glob, io, json, os, subprocess, sys
import numpy as np, soundfile as sf
from scipy import signal
import effects as fx

SECONDS = 28


class Session:
    def __init__(s, out, name, fs): s.dir, s.name, s.fs, s.tracks, s.sides = os.path.join(out, name), name, fs, [], []; os.makedirs(s.dir + '/named', exist_ok=True)
    def add(s, name, x, role, family, kind='dry', source=(), how='', rate=None):
        x = np.atleast_2d(x); n = SECONDS * s.fs; x = np.pad(x, ((0, 0), (0, max(0, n - x.shape[1]))))[:, :n]; x = x * (.5 / fx.peak(x)); fs = s.fs
        if rate and rate != fs: x = signal.resample_poly(x, rate, fs, axis=1); fs = rate; x *= min(1, .9 / fx.peak(x))
        sf.write(f'{s.dir}/named/{name}.wav', x.T.astype(np.float32), fs, 'PCM_24'); s.tracks.append(dict(file=name + '.wav', role=role, family=family, kind=kind, source=[q + '.wav' for q in source], channels=len(x), how=how))
    def close(s): json.dump(dict(session=s.name, fs=s.fs, tracks=s.tracks, lr_pairs=[[a + '.wav', b + '.wav'] for a, b in s.sides]), open(s.dir + '/labels.json', 'w'), indent=0); print(s.name, len(s.tracks), flush=True)


def effects(out, folder, seed):
    lab = json.load(open(folder + '/labels.json')); name = 'fx_' + os.path.basename(folder.rstrip('/')); r = np.random.default_rng([seed, sum(map(ord, name))])
    fs = lab['fs'] if 'fs' in lab else sf.info(folder + '/named/' + lab['tracks'][0]['file']).samplerate; s = Session(out, name, fs)
    dry = [t for t in lab['tracks'] if t['kind'] == 'dry' and not t.get('silent') and t['role'] not in ('fx', 'silent')]; r.shuffle(dry); used = {}; data = {}; sided = {f for p in lab.get('lr_pairs', []) for f in p}
    for t in dry:
        if used.get(t['family'], 0) >= 3 or len(data) >= 14: continue
        x, _ = sf.read(folder + '/named/' + t['file'], always_2d=True); x = x.T[:, :SECONDS * fs]; x = np.pad(x, ((0, 0), (0, SECONDS * fs - x.shape[1])))
        if fx.rms(x) < 1e-4: continue
        used[t['family']] = used.get(t['family'], 0) + 1; f = t['file'][:-4]; data[f] = (x, t); s.add(f, x, t['role'], t['family'])
    for a, b in lab.get('lr_pairs', []):
        if a[:-4] in data and b[:-4] in data: s.sides.append((a[:-4], b[:-4]))
    names = list(data); n = 0
    for f in r.permutation(names)[:12]:
        x, t = data[f]; how = r.choice(fx.LINEAR) if r.random() < .3 else r.choice(fx.MOVED)
        y = how(x, fs, r)
        if r.random() < .25: y = r.choice([fx.equalised, fx.delayed, fx.flipped, fx.squash, fx.drive, fx.darker])(y, fs, r)
        n += 1; s.add(f'made {n:02d} {how.__name__}', y, t['role'], t['family'], 'copy', [f], how.__name__, rate=int(r.choice([fs, fs, fs, 44100, 48000, 96000])))
    for f in r.permutation(names)[:4]:
        x, t = data[f]; how = r.choice(fx.TAILS); n += 1; y = how(x, fs, r); s.add(f'made {n:02d} {how.__name__}', y, 'fx', t['family'], 'return', [f], how.__name__)
    families = {}
    for f in names: families.setdefault(data[f][1]['family'], []).append(f)
    many = [v for v in families.values() if len(v) > 1]
    for v in r.permutation(np.array(many, dtype=object))[:2] if many else []:
        v = list(v); g = r.uniform(.4, 1, len(v)); mix = sum(fx.level(fx.mono(data[f][0]) * k, np.ones((1, 1))) for f, k in zip(v, g) ); how = r.choice(fx.TAILS); n += 1
        s.add(f'made {n:02d} {how.__name__} of several', how(mix, fs, r), 'fx', data[v[0]][1]['family'], 'return', v, how.__name__)
        mix = sum(data[f][0].mean(0) * 10 ** (r.uniform(-3, 3) / 20) / fx.rms(data[f][0]) for f in v)[None]; how = r.choice([lambda x, fs, r: x, fx.squash, fx.drive, fx.equalised, fx.limited]); n += 1
        s.add(f'made {n:02d} bus', how(mix, fs, r), data[v[0]][1]['role'], data[v[0]][1]['family'], 'parallel', v, 'bus')
    s.close()


TONAL = ('organ', 'piano', 'electric guitar', 'synth', 'strings')
def studio(out, folder, seed):
    """What two and more microphones at one sound hear, and what a room hears that is no return of it. Tracks that a scene is made of are taken out of
    the others, as it is its microphones that a session holds."""
    lab = json.load(open(folder + '/labels.json')); name = 'st_' + os.path.basename(folder.rstrip('/')); r = np.random.default_rng([33, seed, sum(map(ord, name))])
    fs = lab['fs'] if 'fs' in lab else sf.info(folder + '/named/' + lab['tracks'][0]['file']).samplerate; s = Session(out, name, fs); n = SECONDS * fs
    free = [t for t in lab['tracks'] if t['kind'] == 'dry' and not t.get('silent') and t['role'] not in ('fx', 'silent', 'room', 'overhead', 'drums')]; r.shuffle(free); free.sort(key=lambda t: bool(t.get('section_only'))); sided = {f for p in lab.get('lr_pairs', []) for f in p}; free = [t for t in free if t['file'] not in sided]
    def load(t): x, _ = sf.read(folder + '/named/' + t['file'], always_2d=True); x = x.T[:, :n]; return np.pad(x, ((0, 0), (0, n - x.shape[1])))
    def sounds(t): return fx.rms(load(t)) > 1e-4
    def take(roles, most, families=False):
        got = []
        for t in list(free):
            if len(got) < most and (t['family'] if families else t['role']) in roles and sounds(t): got.append(t); free.remove(t)
        return got
    def stereo(title, y, role, family, **k):
        """One file with two channels, or two files, or one of the two."""
        q = r.random()
        if q < .4: s.add(title, y, role, family, **k); return [title]
        if q < .6: s.add(title, y[:1], role, family, **k); return [title]
        g = .5 / fx.peak(y); s.add(title + ' L', y[:1] * g, role, family, **k); s.add(title + ' R', y[1:] * g, role, family, **k); s.sides.append((title + ' L', title + ' R')); return [title + ' L', title + ' R']

    for i, t in enumerate(take(TONAL, 2)):
        x = load(t); horn, drum = fx.rotary(x, fs, r); src = []
        if r.random() < .3: s.add(f'{i} direct', x, t['role'], t['family']); src = [f'{i} direct']
        if len(horn) > 1 and r.random() < .6: files = [f'{i} horn L', f'{i} horn R']; [s.add(f, y, t['role'], t['family'], 'copy' if src else 'dry', src, 'rotary') for f, y in zip(files, horn)]; s.sides.append(tuple(files))
        else: files = [f'{i} horn']; s.add(files[0], horn, t['role'], t['family'], 'copy' if src else 'dry', src, 'rotary')
        s.add(f'{i} drum', drum, t['role'], t['family'], 'copy', src or files[:1], 'rotary')
    q = take(TONAL, 2)
    if len(q) == 2:  # one instrument, two microphones, each with a part of its own
        x, y = (fx.level(fx.mono(load(t)), np.ones((1, 1))) for t in q); g = r.uniform(.08, .3); s.add('side high', x, q[0]['role'], q[0]['family']); s.add('side low', y + g * fx.butter(fx.late(x, r.uniform(.0005, .003) * fs), fs, r.uniform(2500, 6000), 'low', 1), q[0]['role'], q[0]['family'])
    choir = take(('bgv', 'horns', 'strings', 'lead'), int(r.integers(3, 6)), True)
    if len(choir) > 2:
        fam, role = choir[0]['family'], choir[0]['role']; X = [fx.level(fx.mono(load(t)), np.ones((1, 1))) for t in choir]; near = []; t60 = r.uniform(.8, 2.5); many = []
        for i, x in enumerate(X): hears = x + sum(fx.butter(fx.late(z, r.uniform(.003, .01) * fs), fs, 4000, 'low', 1) * r.uniform(.02, .2) for k, z in enumerate(X) if k != i); m = np.concatenate([hears, fx.microphone(hears, fs, r)]); f = stereo(f'near {i}', m + r.uniform(.02, .2) * fx.tailed(x, fs, r, t60, .01), role, fam); near += f; many.append(m)
        stereo('far', sum(fx.distant(x, fs, r, t60, r.uniform(.3, 1.2), r.uniform(4, 9)) for x in X), role, fam, how='distant')
        if r.random() < .6: s.add('hall of the near', fx.hall(sum(fx.mono(m) for m in many), fs, r), 'fx', fam, 'return', near, 'hall')
    shots = oneshots(r); drums = take(('kick', 'snare', 'tom', 'percussion'), 4); data = {}
    for t in drums: f = t['file'][:-4]; data[f] = load(t); s.add(f, data[f], t['role'], t['family'])
    for t in [t for t in drums if t['role'] in shots and t['role'] != 'percussion'][:2]:
        f = t['file'][:-4]; y = fx.triggered(data[f], fs, r, signal.resample_poly(shots[t['role']], fs, 44100) if fs != 44100 else shots[t['role']])
        if fx.rms(y) > 1e-5: s.add(f'{t["role"]} sample {f}', y, t['role'], t['family'], 'copy', [f], 'triggered')
    bass = take(('bass',), 1)
    for t in bass: f = t['file'][:-4]; data[f] = load(t); s.add(f, data[f], t['role'], t['family'])
    for t in [t for t in drums if t['role'] in ('kick', 'tom')][:1] + [t for t in bass if r.random() < .7]:
        f = t['file'][:-4]; around = sum(fx.mono(data[k['file'][:-4]]) for k in drums if k is not t) if t in drums and len(drums) > 1 else None; s.add(f'lows of {f}', fx.lows(data[f], fs, r, around), t['role'], t['family'], 'copy', [f], 'lows')
    for t in free[:9]:
        if sounds(t): f = t['file'][:-4]; data[f] = load(t); s.add(f, data[f], t['role'], t['family'])
    kept = [t for t in lab['tracks'] if t['file'][:-4] in data]
    def some(most, alike):
        r.shuffle(kept); first = kept[0]['family']
        if r.random() < alike: kept.sort(key=lambda t: t['family'] != first)
        return kept[:int(r.integers(1, most + 1))]
    unit = lambda t: fx.level(fx.mono(data[t['file'][:-4]]), np.ones((1, 1))) * 10 ** (r.uniform(-4, 4) / 20)
    for k in range(2 if len(kept) > 3 else 0):  # a room that hears two to five, mostly of several families
        few = some(4, .3) + kept[-1:]; t60 = r.uniform(.25, 1.4); dry = r.uniform(.05, .4) if r.random() < .4 else r.uniform(.4, 1.5); y = sum(fx.distant(unit(t), fs, r, t60, dry, r.uniform(1.5, 9)) for t in few); stereo(f'room {k}', fx.squash(y, fs, r) if r.random() < .3 else y, 'room', 'drums', how='distant')
    for k in range(3 if kept else 0):  # and what is sent to one effect, mostly of one family
        few = some(4, .8) if r.random() < .5 else some(1, 1); how = r.choice(fx.TAILS); s.add(f'sent {k} {how.__name__}', how(sum(unit(t) for t in few), fs, r), 'fx', few[0]['family'], 'return', [t['file'][:-4] for t in few], how.__name__)
    s.close()


def oneshots(r):
    """{role: sample} of one drum machine or kit, and two synthesised tones; what they are is read off the file names."""
    kits = sorted(glob.glob('/usr/share/hydrogen/data/drumkits/*')); r.shuffle(kits); out = {}
    words = dict(kick=('kick', 'bd', 'bass'), snare=('snare', 'sd', 'sn'), hat=('hat', 'hh', 'hihat'), rim=('rim', 'stick'), clap=('clap',), tom=('tom',), percussion=('shaker', 'cow', 'conga', 'tamb', 'cb'))
    for kit in kits:
        for f in sorted(glob.glob(kit + '/*')):
            for role, w in words.items():
                if role not in out and f.lower().rsplit('.', 1)[-1] in ('wav', 'flac', 'aiff') and any(os.path.basename(f).lower().startswith(q) or q in os.path.basename(f).lower() and len(q) > 3 for q in w):
                    try: x, rate = sf.read(f, always_2d=True)
                    except Exception: continue
                    out[role] = signal.resample_poly(x.mean(1), 44100, rate)[:44100]
        if len(out) >= 6: break
    return out


def grid(out, seed):
    r = np.random.default_rng([77, seed]); fs = 44100; s = Session(out, f'grid{seed:02d}', fs); shots = oneshots(r); step = int(fs * 60 / r.uniform(80, 150) / 4); n = SECONDS * fs; steps = n // step
    def tone(f, kind):
        t = np.arange(int(fs * r.uniform(.15, .6))) / fs; x = signal.sawtooth(2 * np.pi * f * t) if kind else np.sin(2 * np.pi * f * t); return x * np.exp(-t * r.uniform(3, 12)) * np.minimum(1, t / .003)
    shots.update(bass=tone(r.uniform(40, 80), 0), synth=tone(r.uniform(200, 800), 1)); patterns = [r.random(16) < d for d in (.2, .3, .4, .5, .6, .7)[:int(r.integers(1, 7))]]; made = {}
    for role, q in shots.items():
        p = patterns[int(r.integers(len(patterns)))]; x = np.zeros(n + fs * 2); loud = 1 if r.random() < .6 else 0
        for i in range(steps):
            if p[i % 16]: x[i * step:i * step + len(q)] += q * (1 if loud else r.uniform(.5, 1))
        fam = 'bass' if role == 'bass' else 'synth' if role == 'synth' else 'perc' if role in ('percussion', 'clap') else 'drums'; made[role] = x[None, :n]
        s.add(role, x[:n], {'rim': 'percussion', 'clap': 'percussion'}.get(role, role), fam)
    k = list(made); a, b = r.choice(k, 2, replace=False); how = r.choice(fx.LINEAR); s.add('made copy', how(made[a], fs, r), a, 'drums', 'copy', [a], how.__name__)
    how = r.choice(fx.MOVED); s.add('made processed', how(made[b], fs, r), b, 'drums', 'copy', [b], how.__name__)
    d = [q for q in k if q in ('kick', 'snare', 'hat', 'tom', 'rim')]; s.add('made bus', fx.squash(sum(made[q] / fx.rms(made[q]) for q in d), fs, r), 'drums', 'drums', 'parallel', d, 'bus')
    c = r.choice(k); how = r.choice(fx.TAILS); s.add('made return', how(made[c], fs, r), 'fx', 'drums', 'return', [c], how.__name__); s.close()


def kit(out, repo, seed):
    """Bars of a beat with fills. Hit N of a piece is one file per microphone."""
    r = np.random.default_rng([99, seed]); git = ['git', '--git-dir', repo]; tree = subprocess.run(git + ['ls-tree', '-r', 'HEAD', '--name-only'], capture_output=True, text=True, check=True).stdout.split('\n'); hits = {}
    for p in tree:
        if '/Samples/' in p and p.endswith('.flac'): piece, f = p.split('/')[-2:]; no, _, mic = f[:-5].split('-', 2); hits.setdefault(piece, {}).setdefault(int(no), {})[mic] = p
    cache = {}
    def hit(piece, no):
        if (piece, no) not in cache: cache[piece, no] = {m: sf.read(io.BytesIO(subprocess.run(git + ['show', 'HEAD:' + p], capture_output=True, check=True).stdout))[0] for m, p in hits[piece][no].items()}
        return cache[piece, no]
    fs = 44100; beat = 60 / r.uniform(85, 150); n = SECONDS * fs; mics = {m: np.zeros(n + 8 * fs) for m in next(iter(hits['Snare'].values()))}
    takes = {p: list(r.permutation(sorted(h))[:8]) for p, h in hits.items()}
    def play(piece, t, g=1.):
        at = int((t + r.normal() * .006) * fs)
        if at < 0 or at >= n: return
        for m, x in hit(piece, int(r.choice(takes[piece]))).items(): mics[m][at:at + len(x)] += x[:len(mics[m]) - at] * g
    cym = 'RideR' if r.random() < .3 else 'HihatClosed'; bar = 0.
    while bar < SECONDS:
        fill = r.random() < .25
        for k in range(8):
            t = bar + k * beat / 2
            if not (fill and k > 4): play(cym, t, r.uniform(.6, 1))
            if k in (0, 5) or r.random() < .12: play('KdrumL' if seed % 2 else 'KdrumR', t, r.uniform(.7, 1))
            if k in (2, 6): play('Snare', t, r.uniform(.7, 1))
            if fill and k > 4: play(f'Tom{int(r.integers(1, 5))}', t); play(f'Tom{int(r.integers(1, 5))}', t + beat / 4)
        if fill: play('CrashL' if r.random() < .5 else 'CrashR', bar + 4 * beat)
        bar += 4 * beat
    s = Session(out, f'kit{seed:02d}', fs); role = lambda m: next((v for k, v in dict(Kdrum='kick', Snare='snare', Hihat='hat', OH='overhead', Amb='room', Tom='tom', Ride='overhead').items() if m.startswith(k)), None)
    keep = [m for m in mics if role(m)]
    for m in keep: s.add(m, mics[m], role(m), 'drums')
    s.sides = [(a, b) for a, b in (('OHL', 'OHR'), ('AmbL', 'AmbR')) if a in keep and b in keep]; st = lambda v: np.array([sum(mics[m] * k for m, k in v), sum(mics[m] * k for m, k in v[::-1])])
    k = 'KdrumL' if seed % 2 else 'KdrumR'; v = [k, 'Snare_top', 'OHL', 'OHR']; s.add('made crush', fx.squash(sum(mics[m] / fx.rms(mics[m]) * r.uniform(.6, 1) for m in v)[None], fs, r), 'drums', 'drums', 'parallel', v, 'bus')
    for m, how in ((k, fx.squash), ('Snare_top', r.choice([fx.gate, fx.high_gain, fx.equalised]))): s.add(f'made {m}', how(mics[m][None], fs, r), role(m), 'drums', 'copy', [m], how.__name__)
    s.add('made plate', fx.plate(mics['Snare_top'][None], fs, r), 'fx', 'drums', 'return', ['Snare_top'], 'plate'); s.close()


def numbers(text): return [i for q in text.split(',') for lo, _, hi in [q.partition('-')] for i in range(int(lo), int(hi or lo) + 1)]


if __name__ == '__main__':
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument('out'); ap.add_argument('what', choices=('effects', 'studio', 'grid', 'kit')); ap.add_argument('sessions', nargs='*'); ap.add_argument('--seed', type=int, default=1); ap.add_argument('--seeds', default='1-4'); ap.add_argument('--repo'); a = ap.parse_args()
    if a.what == 'effects':
        for f in a.sessions: effects(a.out, f, a.seed)
    if a.what == 'studio':
        for f in a.sessions: studio(a.out, f, a.seed)
    for k in numbers(a.seeds):
        if a.what == 'grid': grid(a.out, k)
        if a.what == 'kit': kit(a.out, a.repo, k)
