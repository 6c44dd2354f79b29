#!/usr/bin/python3
"""Measure from outside what foldout says in figures.

  measure.py FOLDOUT

Makes sounds whose measures are known, and a session whose sums are known, runs the program on them as a person would, and compares what it prints
with standards, with SciPy, with FFmpeg or with plain arithmetic. Prints a table: what was asked, source, expected, found, and whether it
holds. The exit code is 1 if a line does not hold. Needs numpy, scipy, soundfile and ffmpeg.

Sources: IEC 61260-1:2014 (octave filters, base ten, limits of class 1), IEC 60268-17 (VU meter: a tone is read by its rectified mean),
ITU-R BS.1770-5 (loudness; channels of a 5.1 file), SciPy's filters, FFmpeg's ebur128.
"""
import argparse, json, os, re, subprocess, sys, tempfile
import numpy as np
import scipy.signal as sig
import soundfile as sf

FS = 48000
rows = []


def line(what, source, want, got, ok):
    rows.append((what, source, want, got, bool(ok)))
    print('| %s | %s | %s | %s | %s |' % (what, source, want, got, 'yes' if ok else 'NO'), flush=True)


def run(foldout, *args, code=0):
    r = subprocess.run([foldout, *args], capture_output=True, text=True)
    if code is not None and r.returncode != code:
        sys.exit('%s: exit code %d\n%s' % (' '.join(args), r.returncode, r.stderr))
    return r.stdout


def measure(foldout, sounds, fs=FS, subtype='PCM_24'):
    """{name: what `measure` says} of sounds given as arrays."""
    with tempfile.TemporaryDirectory() as folder:
        for name, x in sounds.items():
            sf.write(os.path.join(folder, name + '.wav'), x, fs, subtype=subtype)
        doc = json.loads(run(foldout, 'measure', folder, '--format', 'json'))
    return {os.path.splitext(t['file'])[0]: t for t in doc['tracks']}


def tone(hz, seconds=10, peak=0.25):
    return peak * np.sin(2 * np.pi * hz * np.arange(int(seconds * FS)) / FS)


def ramps(n, attack, release):
    e = np.ones(n)
    a, r = int(attack * FS), int(release * FS)
    e[:a] = np.sin(np.linspace(0, np.pi / 2, a)) ** 2
    e[n - r:] *= np.cos(np.linspace(0, np.pi / 2, r)) ** 2
    return e


# ---- 1. octave bands

def octaves(foldout):
    mids = {('%g' % n): 1000 * 10 ** (0.3 * k) for n, k in zip((31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000), range(-5, 5))}
    sounds = {}
    for name, f in mids.items():
        sounds['m' + name] = tone(f)
        # IEC 61260-1:2014, table 1, class 1: one octave away at least 16.6 dB down, two octaves 40.5 dB (band edges 60.5 and 70 further out)
        for k, label in ((-2, 'd'), (-1, 'c'), (1, 'a'), (2, 'b')):
            if 12 < f * 10 ** (0.3 * k) < 20000:
                sounds[label + name] = tone(f * 10 ** (0.3 * k))
    got = measure(foldout, sounds)
    # octave_db is the level of a band re the whole, so a tone reads 0 in its own band
    inside = [got['m' + n]['octave_db'][n] for n in mids]
    line('octave bands, tone at the mid-band', 'IEC 61260-1 class 1: +-0.4 dB', '0', '%.2f to %.2f dB' % (min(inside), max(inside)), max(map(abs, inside)) <= 0.4)
    for labels, limit, word in (('ca', -16.6, 'one octave'), ('db', -40.5, 'two octaves')):
        worst = max(got[l + n]['octave_db'][n] for n in mids for l in labels if l + n in got)
        line('octave bands, tone %s away' % word, 'IEC 61260-1 class 1', 'under %.1f dB' % limit, '%.1f dB' % worst, worst <= limit)
    # a kick; its low bands stand on the skirts of the loud one, so the reference is the energy between the band edges, by Parseval
    t = np.arange(4 * FS) / FS
    beat = t % 0.5
    kick = 0.7 * np.sin(2 * np.pi * (55 * beat + 90 * 0.04 * (1 - np.exp(-beat / 0.04)))) * np.exp(-beat / 0.12)
    said = measure(foldout, {'kick': kick})['kick']['octave_db']
    power, hz = np.abs(np.fft.rfft(kick)) ** 2, np.fft.rfftfreq(len(kick), 1 / FS)
    off = 0
    for name, f in mids.items():
        share = 10 * np.log10(power[(hz >= f * 10 ** -0.15) & (hz < f * 10 ** 0.15)].sum() / power.sum())
        if share > -40:
            off = max(off, abs(share - said[name]))
    line('octave bands of a kick, bands over -40 dB', 'numpy rfft of the whole, band edges of IEC 61260-1', 'within 1 dB', '%.2f dB' % off, off <= 1)
    sub = measure(foldout, {'low': tone(55)})['low']['register_share']['sub']
    line('sub register of a tone of 55 Hz', 'below 60 Hz by definition', '1', '%.3f' % sub, sub > 0.995)


# ---- 2. onsets

def phrase(rate, hz, attack, seconds, peak, legato, rng):
    """Notes of a tone with four partials. Legato notes run into one another with a short dip, each of another pitch than the one before,
    for under one bow the same pitch again is the same note; others die before the next."""
    out = np.zeros(int(seconds * FS))
    n = int(FS / rate)
    notes, last = 0, -1
    for start in range(0, len(out) - n + 1, n):
        step = rng.integers(0, 8)
        while legato and step == last:
            step = rng.integers(0, 8)
        last, f = step, hz * 2 ** (step / 12)
        t = np.arange(n) / FS
        x = sum(np.sin(2 * np.pi * f * k * t) / k ** 1.5 for k in (1, 2, 3, 4))
        e = ramps(n, min(attack, 0.4 / rate), min(0.02 if legato else 0.2 / rate, 0.4 / rate))
        out[start:start + n] = peak * x * e * (np.exp(-t * rate / 2) if not legato else np.exp(-t * 0.5))
        notes += 1
    return out, notes


def onsets(foldout):
    sounds, notes = {}, {}
    kinds = (('bass', 'legato bass notes', 50, 0.3, True), ('tenor', 'legato notes from 98 Hz', 98, 0.3, True), ('soft', 'soft notes of 440 Hz, peak -50 dBFS', 440, 0.003, False), ('keys', 'keys', 300, 0.2, False))
    rates, attacks, seeds = (0.5, 1, 2, 4, 8), (0.005, 0.02, 0.08), range(3)
    for seed in seeds:
        rng = np.random.default_rng(seed)
        for rate in rates:
            for attack in attacks:
                for name, _, hz, peak, legato in kinds:
                    key = '%s %g %g %d' % (name, rate, attack, seed)
                    sounds[key], notes[key] = phrase(rate, hz, attack, 24, peak, legato, rng)
    got = measure(foldout, sounds)
    for name, words, *_ in kinds:
        for some, when in ((rates[:-1], '0.5 to 4 a second'), (rates[-1:], '8 a second')):
            cells = []
            for rate in some:
                for attack in attacks:
                    keys = ['%s %g %g %d' % (name, rate, attack, seed) for seed in seeds]
                    cells.append(sum(got[k]['onset_rate_hz'] * got[k]['active_share'] * 24 for k in keys) / sum(notes[k] for k in keys))
            line('onsets of %s, %s, attacks of 5, 20, 80 ms each' % (words, when), 'counted when played', '0.90 to 1.05 of the notes', '%.2f to %.2f' % (min(cells), max(cells)), min(cells) >= 0.9 and max(cells) <= 1.05)
    t = np.arange(40 * FS) / FS
    held = {'pad': sum(np.sin(2 * np.pi * f * t + 3 * k) for k, f in enumerate((220, 277.2, 329.6, 440.7, 554.1))) * 0.05 * ramps(len(t), 1, 1),
            'vibrato': 0.2 * np.sin(2 * np.pi * 440 * t + 440 * 0.02 / 5.5 * np.sin(2 * np.pi * 5.5 * t)) * ramps(len(t), 0.5, 0.5),
            'tremolo': 0.2 * np.sin(2 * np.pi * 440 * t) * (1 + 0.4 * np.sin(2 * np.pi * 5 * t)) * ramps(len(t), 0.5, 0.5)}
    got = measure(foldout, held)
    for k in held:
        # the one note of the file is an onset; what goes beyond it is false
        false = max(0, got[k]['onset_rate_hz'] * got[k]['active_share'] - 1 / 40)
        line('false onsets of a held %s' % k, 'counted: one note', 'at most 0.05 a second', '%.3f' % false, false <= 0.05)


# ---- 3. small defects

def edges(foldout):
    got = measure(foldout, {'steady': tone(300), 'short': tone(300, 0.4), 'silence': np.zeros(4 * FS), 'hiss8k': tone(8000, 6, 0.125), 'one1k': tone(1000, 6, 0.125)})
    line('decay of a steady tone and of a file of 0.4 s', 'nothing decayed', 'null', '%s, %s' % (got['steady']['decay_s'], got['short']['decay_s']), got['steady']['decay_s'] is None and got['short']['decay_s'] is None)
    line('centroid of silence', 'no energy, no centre', 'null', str(got['silence']['centroid_hz']), got['silence']['centroid_hz'] is None)
    off = got['hiss8k']['vu_max_db'] - got['one1k']['vu_max_db']
    line('VU of 8 kHz against 1 kHz, same level', 'IEC 60268-17: rectified mean', '0 dB within 0.1', '%.3f dB' % off, abs(off) <= 0.1)
    rng = np.random.default_rng(2)
    a, b = rng.standard_normal((2, 4 * FS)) * 0.05
    said = measure(foldout, {'dc': np.stack([a + 0.4, b + 0.4], 1)})['dc']['correlation']
    want = np.corrcoef(a, b)[0, 1]
    line('correlation of two noises on a DC of 0.4', 'numpy corrcoef', '%.3f' % want, '%.3f' % said, abs(said - want) < 0.01)
    six = np.zeros((8 * FS, 6))  # L R C LFE Ls Rs
    six[:, 3] = 0.5 * np.sin(2 * np.pi * 60 * np.arange(len(six)) / FS)
    six[:, 4] = tone(1000, 8, 0.1)
    with tempfile.TemporaryDirectory() as folder:
        plain, path = os.path.join(folder, 'plain.wav'), os.path.join(folder, 'in', 'six.wav')
        os.mkdir(os.path.dirname(path))
        sf.write(plain, six, FS, subtype='PCM_24')
        subprocess.run(['ffmpeg', '-v', 'error', '-i', plain, '-af', 'channelmap=0|1|2|3|4|5:5.1(side)', '-c:a', 'pcm_s24le', path], check=True)
        said = json.loads(run(foldout, 'measure', os.path.dirname(path), '--format', 'json'))['tracks'][0]['integrated_lufs']
        want = ebur128(path)
    line('loudness of 5.1 with tone in LFE and Ls', 'FFmpeg ebur128, BS.1770-5', '%.1f LUFS' % want, '%.2f LUFS' % said, abs(said - want) <= 0.1)


def ebur128(path):
    r = subprocess.run(['ffmpeg', '-nostats', '-i', path, '-af', 'ebur128', '-f', 'null', '-'], capture_output=True, text=True, check=True)
    return float(re.findall(r'I:\s+(-?[0-9.]+) LUFS', r.stderr)[-1])


# ---- 4. to 7. what is said of a session

def sums(foldout):
    with tempfile.TemporaryDirectory() as top:
        tracks, sheet, stems = os.path.join(top, 'lamps'), os.path.join(top, 's.json'), os.path.join(top, 'stems')
        run(foldout, 'demo', '--out', tracks)
        pin = '13 Bass DI.wav=4'
        run(foldout, 'suggest', tracks, '--pairs', '4', '--out', sheet)
        doc = json.load(open(sheet))
        levels = json.loads(run(foldout, 'levels', sheet, '--format', 'json'))
        run(foldout, 'stems', sheet, '--out', stems, '--bits', 'float')
        files = sorted(f for f in os.listdir(stems) if f.endswith('.wav'))
        outside = [ebur128(os.path.join(stems, f)) for f in files]
        off = max(abs(p['integrated_lufs'] - b) for p, b in zip(levels['pairs'], outside))
        line('loudness of the four pairs by levels', 'FFmpeg ebur128 of the sums', 'within 0.1 LU', '%.2f LU' % off, off <= 0.1)
        sweep = json.loads(run(foldout, 'sweep', tracks, '--format', 'json'))
        four = [p for p in sweep['points'] if p['pairs'] == 4][0]['figures']['pairs']
        off = max(abs(a['loudness_lufs'] - b) for a, b in zip(four, outside))
        line('loudness of the four pairs by sweep', 'FFmpeg ebur128 of the sums', 'within 0.1 LU', '%.2f LU' % off, off <= 0.1)
        spread = [p['spread_share'] for p in sweep['points']]
        line('spread by pairs in sweep', 'more pairs can only part more', 'never rises', ' '.join('%.2f' % s for s in spread), all(b <= a + 1e-9 for a, b in zip(spread, spread[1:])))
        fewest, most = min(sweep['enough_pairs'], sweep['recommended_pairs']), max(sweep['enough_pairs'], sweep['recommended_pairs'])
        line('pairs that sweep advises for %d families' % len(sweep['families']), 'no more than the families (common practice)', 'at most %d' % len(sweep['families']), '%d, %d' % (fewest, most), most <= len(sweep['families']))

        # overs: every track 12 dB up, so that sums clip; counted here by hand
        loud = os.path.join(top, 'loud')
        os.mkdir(loud)
        for f in sorted(os.listdir(tracks)):
            if f.endswith('.wav'):
                x, fs = sf.read(os.path.join(tracks, f))
                sf.write(os.path.join(loud, f), 4 * x, fs, subtype='FLOAT')
        doc['folder'] = loud
        louder = os.path.join(top, 'loud.json')
        json.dump(doc, open(louder, 'w'))
        levels = json.loads(run(foldout, 'levels', louder, '--format', 'json'))
        run(foldout, 'stems', louder, '--out', os.path.join(top, 'loudstems'), '--bits', 'float')
        count, seconds = 0, 0.0
        for f in sorted(os.listdir(os.path.join(top, 'loudstems'))):
            if f.endswith('.wav'):
                x, fs = sf.read(os.path.join(top, 'loudstems', f))
                n, s = spans(np.abs(x).max(1) > 1, fs)
                count, seconds = count + n, seconds + s
        said = sum(p['over_count'] for p in levels['pairs']), sum(p['over_s'] for p in levels['pairs'])
        line('stretches over full scale, and their time', 'counted in the sums', '%d, %.3f s' % (count, seconds), '%d, %.3f s' % said, count > 0 and said[0] == count and abs(said[1] - seconds) < 0.01)
        refused = subprocess.run([foldout, 'stems', louder, '--out', os.path.join(top, 'pcm'), '--bits', '24'], capture_output=True, text=True)
        named = sum(int(n) for n in re.findall(r'in (\d+) stretch', refused.stderr))
        line('stretches that stems names when 24 bits are asked for', 'the same sums', str(count), str(named) if named else 'exit %d: %s' % (refused.returncode, refused.stderr.strip()[:60]), refused.returncode == 1 and named == count)

        pinned = json.loads(run(foldout, 'suggest', tracks, '--pairs', '4', '--pin', pin, '--format', 'json'))
        track = [t for p in pinned['pairs'] for t in p['tracks'] if t['file'] == pin.split('=')[0]][0]
        line('confidence of a pinned track', 'the user said so', '1, first reason the pin', '%g, %s' % (track['confidence'], track['reasons'][0]['measure']), track['confidence'] == 1 and track['reasons'][0]['measure'] == 'pin')
        judged = json.loads(run(foldout, 'check', tracks, '--sheet', tracks + '-by-hand.csv', '--format', 'json'))
        bad = [m['file'] for m in judged['misfits'] if judged['pairs'][m['on'] - 1]['verdict'] == 'fine']
        line('pairs called fine above a misfit', 'a sheet must not contradict itself', 'none of %d misfits' % len(judged['misfits']), str(len(bad)), judged['misfits'] and not bad)


def spans(over, fs):
    """Stretches without a gap, and their time."""
    return int(np.sum(np.diff(np.concatenate([[0], over.astype(int)])) > 0)), over.sum() / fs


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument('foldout')
    foldout = os.path.abspath(ap.parse_args().foldout)
    print('| what | source | expected | found | holds |\n|---|---|---|---|---|')
    for part in (octaves, onsets, edges, sums):
        part(foldout)
    sys.exit(0 if all(r[-1] for r in rows) else 1)


if __name__ == '__main__':
    main()
