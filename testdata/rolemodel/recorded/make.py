#!/usr/bin/python3
"""Make labelled tracks from openly licensed recordings of notes, hits and stems.

  make.py OUTDIR --root SNAPSHOTS --packages UNPACKED [--only WORD,...] [--rounds 1] [--seed 1]

sources.tsv lists every recording used, with its licence, the credit owed, the role and how it is played here. SNAPSHOTS holds bare
git directories OWNER+NAME/repo, UNPACKED the contents of the Debian and npm packages in a folder each. OUTDIR/real-SOURCE holds
labels.json and named/*.wav: a source is a body of material, to be left out as a whole. Needs numpy, scipy, soundfile, ffmpeg.
"""
import os
for v in ('OMP_NUM_THREADS', 'OPENBLAS_NUM_THREADS'):
    os.environ.setdefault(v, '1')
import argparse, json, re, time, zlib
import numpy as np
import soundfile as sf
import playing as pl
import studio as st
from notes import FS, Instrument, Store, sources

FAMILY = {'kick': 'dclose', 'snare': 'dclose', 'tom': 'dclose', 'drums': 'dclose', 'hat': 'dcym', 'cymbal': 'dcym',
          'overhead': 'dcym', 'room': 'room', 'percussion': 'perc', 'bass': 'bass', 'electric guitar': 'egtr',
          'acoustic guitar': 'agtr', 'piano': 'keys', 'organ': 'keys', 'synth': 'synth', 'strings': 'strings',
          'horns': 'horns', 'lead vocal': 'lead', 'backing vocal': 'bgv'}
MACHINE = [(r'(?i)kick|/bd|kdrum', 'kick'), (r'(?i)hat(closed|open)|hi-?t?hat|hh(open|closed)|openhat|closedhat|/(ch|oh)\d*\.|hat_', 'hat'),
           (r'(?i)snare|/sd\d|rim', 'snare'), (r'(?i)clap|/cp|conga|bongo|cow|tamb|cabasa|clav|guiro|mara|stick|block|timbal|'
            r'/[hml]c\d|/(cb|cl|ma|rs)\d*\.', 'percussion'), (r'(?i)cymb|crash|ride|/cy|china', 'cymbal'), (r'(?i)tom|/[hml]t\d', 'tom')]
MULDJORD = dict(piece=r'/Samples/(\w+)/\d+-', mic=r'-(\w+)\.flac$', hit=r'/(\d+-\w+)-\w+\.flac$',
                pieces=dict(kick='KdrumL|KdrumR', snare='Snare', hat='HihatClosed', open='HihatOpen|HihatSemi', ride='Ride',
                            crash='Crash|China', tom='Tom'),
                mics=dict(KdrumL='kick', KdrumR='kick', Snare_top='snare', Snare_bottom='snare', Tom1='tom', Tom2='tom',
                          Tom3='tom', Tom4='tom', Hihat='hat', RideL='cymbal', OHL='overhead', OHR='overhead', AmbL='room',
                          AmbR='room'))
GOGODZE = dict(piece=r'_mic/(\w\w)', mic=r'/(\w+)_mic/', hit=r'_mic/(.*)\.wav$',
               pieces=dict(kick='ks', snare='s[ces]', hat='h[cl]', open='ho', ride='r|c', crash='c|r', tom='t'),
               mics=dict(kick='kick', snare='snare', side='tom', oh='overhead', front='room', wndw='room', retro='room'))


class Session:
    """A folder of labelled tracks."""

    def __init__(self, out, name):
        self.name, self.dir, self.tracks = name, os.path.join(out, name), []
        os.makedirs(self.dir + '/named', exist_ok=True)

    def add(self, role, x, r, kind='dry', what=''):
        x = st.edit(np.array(x, np.float32), r)
        if not np.isfinite(x).all() or st.rms(x) < 1e-5:
            raise ValueError('%s: %s %s has no sound' % (self.name, role, what))
        file = '%03d %s.wav' % (len(self.tracks) + 1, role)
        sf.write(self.dir + '/named/' + file, x, FS, subtype='PCM_24')
        self.tracks.append(dict(file=file, role=role, family=FAMILY[role], atom=FAMILY[role], kind=kind, way=what))

    def close(self):
        with open(self.dir + '/labels.json', 'w') as f:
            json.dump(dict(session=self.name, fs=FS, tracks=self.tracks), f, indent=0)


def play(way, tape, p, r):
    """Fills the tape in one of the ways this kind of instrument is played; returns its name."""
    ways = dict(
        guitar=['strum', 'strum', 'chords', 'riff', 'riff', 'line', 'lead', 'arpeggio', 'tremolo', 'long'],
        plucked=['strum', 'strum', 'strum', 'arpeggio', 'arpeggio', 'line', 'chords'],
        bass=['line', 'line', 'single', 'line'], wind=['line', 'line', 'long', 'stabs', 'line'],
        bowed=['line', 'slow', 'long', 'long', 'pad', 'tremolo', 'stabs'], piano=['chords', 'chords', 'arpeggio', 'line', 'both'],
        epiano=['chords', 'chords', 'arpeggio', 'line'], organ=['pad', 'chords', 'line', 'pad'],
        voice=['slow', 'slow', 'line'], voices=['pad', 'slow', 'pad'])[way]
    how = str(r.choice(ways))
    if how == 'strum':
        pl.strum(tape, p, r.choice([0, .1, .35]))
    elif how == 'chords':
        pl.chords(tape, p, (2, 6), (.15, 1.0), (0, .015) if way in ('piano', 'epiano', 'organ') else (.003, .02),
                  .15 if way == 'piano' else .06)
    elif how == 'riff':
        pl.riff(tape, p, r.random() < .6)
    elif how == 'single':
        pl.riff(tape, p, False)
    elif how == 'lead':
        pl.line(tape, p, 1.4, (.8, 1.1), .6)
    elif how == 'arpeggio':
        pl.arpeggio(tape, p)
    elif how == 'tremolo':
        pl.tremolo(tape, p)
    elif how == 'long':
        pl.sustained(tape, p, False)
    elif how == 'pad':
        pl.sustained(tape, p, True)
    elif how == 'slow':
        pl.line(tape, p, 1.8, (.85, 1.08), .5, release=.15)
    elif how == 'stabs':
        pl.chords(tape, p, (1, 4), (.2, .7), (0, .02))
    elif how == 'both':
        pl.chords(tape, p, (2, 5), (.4, 1), (0, .01))
        pl.line(tape, p)
    else:
        pl.line(tape, p, bends=.3 if way in ('guitar', 'wind', 'voice') else .05 if way in ('bass', 'bowed') else 0)
    return how


KINDS = dict(guitar=st.GUITAR, voice=st.VOICES, voices=st.VOICES)


def pitched(session, ins, role, way, count, r, responses):
    spill = None
    for _ in range(count):
        length = r.uniform(10, 17)
        takes = 2 if way in ('guitar', 'plucked', 'wind', 'bowed', 'voices') and r.random() < .15 else 1
        seed, sides = int(r.integers(1 << 31)), []
        for k in range(takes):  # a double: the same part by the same seed but for the takes chosen
            rr = np.random.default_rng(seed)
            tape = pl.Tape(length, rr)
            p = pl.Player(ins, rr)
            if k:
                p.tune += .05
            what = play(way, tape, p, rr)
            x = tape.x[k * int(.011 * FS):]
            if way == 'guitar':
                x, amp = st.guitar_amp(x, np.random.default_rng(seed + 1))
                what += ' ' + amp
            elif way == 'bass' and r.random() < .45:
                x, what = st.bass_amp(x, r), what + ' amp'
            sides.append(x)
        n = min(map(len, sides))
        x = sides[0] if takes == 1 else np.stack([s[:n] for s in sides], 1)
        x = st.effects(x, r, KINDS.get(way, {} if way == 'bass' else st.OTHER))
        x = st.record(x, r, responses, spill, .25 if way == 'bass' else .6)
        session.add(role, x, r, what=what)
        spill = x


def strung(session, ins, role, count, r, responses):
    """Recordings that are phrases already, or notes without a clear pitch: played again at other pitches, cut, overlapped."""
    for _ in range(count):
        tape, t, use = pl.Tape(r.uniform(10, 16), r), .1, r.choice(len(ins.notes), min(3, len(ins.notes)), False)
        beat, fixed = pl.tempo(r), r.random() < .5
        keys = r.choice([-5, -2, 0, 0, 2, 3, 5], 8)
        while t < tape.length - .4:
            x = ins.notes[int(use[0] if fixed else r.choice(use))]
            d = beat * r.choice([.5, .5, 1, 2, 4])
            tape.put(t, x, 1, d * r.uniform(.5, 1.2), .1, shift=float(keys[int(t / beat) % 8]))
            t += d
        session.add(role, st.record(st.effects(tape.x, r, st.OTHER), r, responses), r, what='strung')


def performance(session, store, paths, role, count, r, responses):
    for k in range(count):
        x = store.read(paths[k % len(paths)], 600, mono=False, trim=False)
        n = int(r.uniform(12, 25) * FS)
        for _ in range(30):
            i = int(r.integers(max(1, len(x) - n)))
            y = x[i:i + n]
            if st.rms(y) > .5 * st.rms(x):
                break
        y = y.astype(np.float32)
        if r.random() < .5 or y.shape[1] == 1:
            y = y[:, int(r.integers(y.shape[1]))]
        y = y if r.random() < .5 else st.record(y, r, responses)
        session.add(role, y, r, what='performance')


def power(session, ins, role, count, r, responses):
    """Chords that were recorded whole, through their amplifier."""
    muted = [i for i, n in enumerate(ins.names) if 'mute' in n]
    open_ = [i for i in range(len(ins.notes)) if i not in muted]
    for _ in range(count):
        tape, t, beat = pl.Tape(r.uniform(10, 16), r), .1, pl.tempo(r)
        use, figure = r.choice(open_, 4), r.choice([.5, .5, 1, 2], 8)
        palm, hold = r.uniform(0, .8), r.uniform(.4, 1.05)
        bar = 0
        while t < tape.length - .4:
            for d in figure:
                i = int(r.choice(muted)) if r.random() < palm else int(use[bar % 4])
                tape.put(t + r.normal(0, .004), ins.notes[i], 10 ** (r.normal(0, 1) / 20), d * beat * hold, .03)
                t += d * beat
            bar += 1
        x = st.cabinet(tape.x, r) if r.random() < .3 else tape.x
        session.add(role, st.record(st.effects(x, r, st.GUITAR), r, responses), r, what='power chords')


def single(session, ins, role, count, r, responses):
    for _ in range(count):
        tape = pl.Tape(r.uniform(9, 14), r)
        pl.hits(tape, ins.notes, r.uniform(.1, .4) if role == 'snare' else None)
        session.add(role, st.record(st.effects(tape.x, r, st.DRUMS), r, responses), r, what='hits')


def machine(session, ins, count, r, responses):
    """A kit of single sounds: a track per piece, and the whole on one track."""
    kit = {}
    for i, name in enumerate(ins.names):
        piece = next((role for rule, role in MACHINE if re.search(rule, name)), None)
        if piece:
            kit.setdefault(piece, []).append(ins.notes[i])
    where = dict(open='hat', ride='cymbal', crash='cymbal', extra='percussion')
    for _ in range(count):
        length = r.uniform(9, 14)
        events, whole = pl.groove(r, length), np.zeros(int((length + 1) * FS), np.float32)
        chosen = {k: [v[i] for i in r.choice(len(v), min(2, len(v)), False)] for k, v in sorted(kit.items())}
        tapes = {}
        for piece, hits in events.items():
            role = where.get(piece, piece)
            if role not in chosen or not hits:
                continue
            tape = tapes.setdefault(role, pl.Tape(length, r))
            shift = r.uniform(-3, 3)
            for t, g in hits:
                x = chosen[role][int(r.integers(len(chosen[role]))) if r.random() < .2 else 0]
                tape.put(t, x, g, shift=shift)
        for role, tape in tapes.items():
            if np.abs(tape.x).max() == 0:
                continue
            whole += tape.x / rms_of(tape.x) * 10 ** (r.normal(dict(kick=0, snare=-2).get(role, -8), 2) / 20)
            if r.random() < .8:
                session.add(role, st.record(st.effects(tape.x, r, st.DRUMS), r, responses, None, .4), r, what='machine')
        session.add('drums', st.record(st.effects(whole, r, st.DRUMS), r, responses, None, .35), r, what='whole kit')


def rms_of(x):
    return st.rms(x[np.abs(x) > 1e-3 * np.abs(x).max()])


def microphones(session, store, form, count, r, responses):
    """A kit played through the microphones it was recorded with: every track holds the spill of all pieces."""
    hits = {}
    for p in store.list(form['mic']):
        piece, mic, hit = (re.search(form[k], p) for k in ('piece', 'mic', 'hit'))
        if piece and mic and hit and mic.group(1) in form['mics']:
            hits.setdefault((piece.group(1), hit.group(1)), {})[mic.group(1)] = p
    for _ in range(count):
        length = r.uniform(10, 14)
        events = pl.groove(r, length)
        tapes = {m: pl.Tape(length, r) for m in form['mics']}
        for piece, rule in form['pieces'].items():
            mine = [k for k in sorted(hits) if re.match(rule, k[0])]
            if not mine or not events[piece]:
                continue
            names = sorted({k[0] for k in mine})
            mine = [k for k in mine if piece == 'tom' or k[0] == names[int(r.integers(len(names)))]] or mine
            loaded = {}
            for t, g in events[piece]:
                k = mine[int(r.integers(min(len(mine), 12)))]
                if k not in loaded:
                    loaded[k] = {m: store.read(p, 3.0, trim=False) for m, p in hits[k].items()}
                for m, x in loaded[k].items():
                    if x is not None:
                        tapes[m].put(t, x, g)
        whole = 0
        for m, tape in tapes.items():
            if np.abs(tape.x).max() < 1e-5:
                continue
            role = form['mics'][m]
            whole = whole + tape.x / rms_of(tape.x) * 10 ** (r.normal(0, 4) / 20)
            x = tape.x
            if role in ('kick', 'snare', 'tom') and r.random() < .3:
                x = st.gate(x, r)
            session.add(role, st.record(x, r, responses, None, .15), r, what='microphone ' + m)
        session.add('drums', st.record(st.effects(whole, r, st.DRUMS), r, responses, None, .3), r, what='whole kit')


def impulse_responses(root, packages):
    out = []
    for s in sources():
        if s['way'] == 'response':
            store = Store(s['source'], root, packages)
            for p in store.list(s['keep']):
                h = store.read(p, 3.0, mono=False)
                if h is not None and st.rms(h) > 1e-6:
                    out.append(st.stereo(h[:, 0]) if h.shape[1] == 1 else h[:, :2])
            store.close()
    return out


def build(session, s, root, packages, rounds, r, responses):
    store = Store(s['source'], root, packages)
    paths, role, way, count = store.list(s['keep']), s['role'], s['way'], int(s['tracks']) * rounds
    if not paths:
        raise SystemExit('%s: nothing matches %r' % (s['source'], s['keep']))
    if way == 'performance':
        performance(session, store, paths, role, count, r, responses)
    elif way == 'microphones':
        microphones(session, store, MULDJORD if 'Muldjord' in s['source'] else GOGODZE, count, r, responses)
    else:
        ins = Instrument(store, paths, r, 160 if way == 'machine' else 70, way not in ('machine', 'hits', 'strung', 'chords'))
        if way == 'machine':
            machine(session, ins, count, r, responses)
        elif way == 'hits':
            single(session, ins, role, count, r, responses)
        elif way == 'strung':
            strung(session, ins, role, count, r, responses)
        elif way == 'chords':
            power(session, ins, role, count, r, responses)
        else:
            pitched(session, ins, role, way, count, r, responses)
    store.close()


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('outdir')
    ap.add_argument('--root', required=True)
    ap.add_argument('--packages', required=True)
    ap.add_argument('--only', default='')
    ap.add_argument('--rounds', type=int, default=1)
    ap.add_argument('--seed', type=int, default=1)
    a = ap.parse_args()
    responses = impulse_responses(a.root, a.packages)
    names = list(dict.fromkeys(s['source'] for s in sources() if s['way'] != 'response'))
    for name in names:
        if a.only and not any(o in name for o in a.only.split(',')):
            continue
        t, session = time.time(), Session(a.outdir, 'real-' + name.split('/')[-1])
        for i, s in enumerate(sources()):
            if s['source'] == name and s['way'] != 'response':
                r = np.random.default_rng([a.seed, i, zlib.crc32(name.encode())])
                build(session, s, a.root, a.packages, a.rounds, r, responses)
        session.close()
        print('%-44s %3d tracks in %3.0f s' % (name, len(session.tracks), time.time() - t), flush=True)


if __name__ == '__main__':
    main()
