"""Voices. Engine one: spoken syllables (speech synthesisers and recorded words) taken apart into spectral envelope and voicing
and sung on a tune by minimum-phase pulses and shaped noise. Engine two: a waveguide vocal tract driven by glottal pulses
(Klatt and Klatt 1990 flow with spectral tilt) and breath."""
import glob, os, subprocess, tempfile
import numpy as np
import scipy.signal as sg
import scipy.ndimage as ni
import soundfile as sf
from tools import *

WORDS = '/usr/share/ktuberling/sounds/'
TEXTS = dict(
    en=['carry me over the water tonight', 'all of the lanterns are burning low', 'we never said a word about leaving', 'hold on to the morning my darling', 'running through the fields of silver rain', 'nobody knows the way that I feel', 'take a little time and let it go', 'the city sleeps beneath the window', 'give me one more reason to believe you', 'shadows on the river moving slowly'],
    de=['der Regen fällt auf alte Dächer', 'ich gehe leise durch die Nacht', 'komm mit mir an das Meer', 'wir haben lange nicht geschlafen'], fr=['la lune monte sur la colline', 'je marche seul dans la ville', 'donne moi la main ce soir', 'le vent a tout emporté'],
    es=['camino solo por la orilla', 'la noche canta en el balcón', 'dame tu mano vida mía', 'volveremos a la montaña'], it=['la luna sale sopra il mare', 'dammi la mano questa sera', 'andiamo via lontano amore', 'il vento porta la canzone'],
    pt=['a noite cai sobre o telhado', 'vem comigo ver o mar', 'eu não sei dizer adeus'], fi=['kuu nousee metsän taakse hiljaa', 'anna käsi tule mukaan', 'meri laulaa yöllä meille'], sv=['månen stiger över havet', 'kom och dansa genom natten'], pl=['idę sam przez ciemne pole', 'daj mi rękę moja miła'])
VOICES = ([('espeak', l + v, t) for l, t in (('en-us', 'en'), ('en-gb', 'en'), ('de', 'de'), ('fr', 'fr'), ('es', 'es'), ('it', 'it'), ('pt-br', 'pt'), ('fi', 'fi'), ('sv', 'sv'), ('pl', 'pl')) for v in ('', '+f2', '+f4', '+m3', '+m7')]
          + [('flite', v, 'en') for v in ('slt', 'rms', 'awb', 'kal16')] * 6 + [('festival', v, t) for v, t in (('cmu_us_slt_arctic_hts', 'en'), ('kal_diphone', 'en'), ('ked_diphone', 'en'), ('lp_diphone', 'it'), ('pc_diphone', 'it'), ('suo_fi_lj_diphone', 'fi'), ('hy_fi_mv_diphone', 'fi'))] * 4
          + [('words', l, '') for l in ('en', 'de', 'fr', 'ru', 'uk', 'da', 'lt', 'ca', 'sl', 'wa', 'gl', 'el')] * 5)


def spoken(voice, text, key=''):
    """One utterance: (samples, rate)."""
    eng, v, _ = voice
    if eng == 'words':
        r = rng('words', v, key); fl = sorted(set(os.path.basename(f) for f in glob.glob(WORDS + v + '/*'))); parts, fs = [], 24000
        for f in r.choice(fl, min(len(fl), 5), replace=False):
            x, a = sf.read(WORDS + v + '/' + f, always_2d=True); x = rate(x.mean(1), a, fs); on = np.where(np.abs(x) > .04 * peak(x))[0]; parts.append(unit(x[on[0]:on[-1] + 1]))
        return np.concatenate(parts), fs
    with tempfile.TemporaryDirectory() as d:
        o = d + '/a.wav'
        if eng == 'espeak': subprocess.run(['espeak-ng', '-v', v, '-s', '150', '-w', o, text], check=True, stderr=subprocess.DEVNULL)
        elif eng == 'flite': subprocess.run(['flite', '-voice', v, '-t', text, '-o', o], check=True, stderr=subprocess.DEVNULL)
        else: subprocess.run(['text2wave', '-o', o, '-eval', '(voice_%s)' % v, '-'], input=text.encode('latin-1', 'ignore'), check=True, stderr=subprocess.DEVNULL)
        x, fs = sf.read(o)
    on = np.where(np.abs(x) > .01 * peak(x))[0]; return unit(x[on[0]:on[-1] + 1]), fs


_an = {}
HOP, NF = .005, 1024  # analysis at 24 kHz


def analysed(voice, key):
    """(log envelope frames x bins at 24 kHz, voicing, syllables [(start, nucleus, end)], top frequency)."""
    k = (voice, key)
    if k in _an: return _an[k]
    txt = TEXTS.get(voice[2], ['']); r = rng('text', voice, key); E, V, S, base = [], [], [], 0
    for i in (r.permutation(len(txt))[:4] if voice[0] != 'words' else range(3)):
        x, fs = spoken(voice, txt[i % len(txt)], (key, int(i))); top = min(fs / 2, 12000) * .93; x = rate(x, fs, 24000); h = int(HOP * 24000); w = 600; n = (len(x) - w) // h
        if n < 20: continue
        seg = x[np.arange(n)[:, None] * h + np.arange(w)] * np.hanning(w); P = np.abs(np.fft.rfft(seg, NF)) ** 2 + 1e-9; ac = np.fft.irfft(P, axis=1); win = np.fft.irfft(np.abs(np.fft.rfft(np.hanning(w), NF)) ** 2); ac = ac / (win / win[0] + 1e-3); L = slice(48, 300); nr = ac[:, L].max(1) / (ac[:, 0] + 1e-9); lag = 48 + ac[:, L].argmax(1); en = P.sum(1)
        v = np.clip((nr - .35) / .3, 0, 1) * (en > en.max() * 1e-4); v = ni.median_filter(v, 5); f0 = 24000 / np.median(lag[v > .5]) if (v > .5).any() else 150; box = max(3, int(round(f0 * 1.25 / (24000 / NF))))
        e = np.log(ni.uniform_filter1d(ni.uniform_filter1d(P, box, axis=1), max(3, box // 2), axis=1)); g = ni.gaussian_filter1d(np.sqrt(en) * v, 4); pk, _ = sg.find_peaks(g, distance=20, prominence=.08 * g.max())
        if not len(pk): continue
        cut = [0] + [a + int(np.argmin(g[a:b])) for a, b in zip(pk, pk[1:])] + [n - 1]; S += [(base + a, base + p, base + b) for a, p, b in zip(cut, pk, cut[1:])]; E.append(e); V.append(v); base += n
    if not E: raise RuntimeError('no syllables from %r' % (voice,))
    E = np.concatenate(E); V = np.concatenate(V); E -= np.log(np.exp(E).sum(1).max()); _an[k] = (E, V, S, top); return _an[k]


def singer(r, sex=None):
    """Random singer: a source voice, tract scale, breath, vibrato, habits; register in MIDI numbers."""
    v = VOICES[int(r.integers(len(VOICES)))]; sex = sex or str(r.choice(['f', 'm', 'm', 'f', 'c'])); female = any(q in v[1] for q in ('+f', 'slt', 'lp_', 'lj')) or (v[0] == 'words' and v[1] in ('fr', 'ca', 'uk', 'da', 'sl'))
    scale = dict(f=1.15, m=1.0, c=1.3)[sex] / (1.13 if female else 1.0) * r.uniform(.94, 1.07); lo = dict(f=55, m=43, c=60)[sex] + int(r.integers(0, 6))
    return dict(voice=v, sex=sex, scale=scale, breath=r.choice([.002, .01, .03, .1]), vib=r.choice([0, .15, .3, .5]), vhz=r.uniform(4.8, 6.4), scoop=r.choice([0, .3, 1, 2]), port=r.uniform(.02, .09), tilt=r.uniform(-1, 1), bright=float(np.exp(r.uniform(np.log(480), np.log(1700)))), lo=lo, hi=lo + int(r.integers(12, 18)), tract=r.random() < .3, sections=dict(f=37, m=44, c=33)[sex] + int(r.integers(-1, 3)), oq=r.uniform(.4, .85), auto=r.random() < .2)


def _contour(notes, w, nf, r, loose, tune, talk=False):
    """Per 5 ms frame: pitch, level, and for each note (first frame, frames)."""
    f0, A, spans, prev, last = np.zeros(nf), np.zeros(nf), [], None, -9.0
    for t, d, m, v in notes:
        t = max(.03, t + loose * r.normal(0, .012)); i0 = int(t / HOP); L = min(int(d / HOP), nf - 1 - i0)
        if L < 8: continue
        a = np.arange(L) * HOP; err = 0 if w['auto'] else loose * r.normal(0, .09)
        p = m + tune + err + (0 if w['auto'] else w['vib'] * np.clip(3 * (a - .25), 0, 1) * np.sin(2 * np.pi * w['vhz'] * a + r.uniform(0, 6)) - w['scoop'] * (r.random() < .5) * np.exp(-a / .05) + .12 * ni.gaussian_filter1d(r.standard_normal(L), 12, mode='nearest'))
        if talk: p = p + r.uniform(-2, 3) * (1 - 2 * a / (a[-1] + .01)) + r.normal(0, 1.2)
        if prev is not None and t - last < .1: p = p + (prev - m) * np.exp(-a / (w['port'] if not w['auto'] else .006))
        prev, last = m, t + d; f0[i0:i0 + L] = 440 * 2 ** ((p - 69) / 12); A[i0:i0 + L] = np.clip(a / .02, 0, 1) * np.clip((a[-1] - a) / .05, 0, 1) * db((v - 100) / 5) * (1 - .2 * a / (a[-1] + .1)); spans.append((i0, L))
    on = np.where(f0 > 0)[0]
    if not len(on): raise ValueError('no notes to sing')
    return np.interp(np.arange(nf), on, f0[on]), A, spans


def sing(notes, w, fs, n, key='', text='', loose=1.0, tune=0.0, scale=1.0, vowel=False, talk=False):
    """A tune sung by singer w. Voices with the same text share the words."""
    if w['tract']: return tract(notes, w, fs, n, key, loose, tune, scale, vowel)
    r = rng('sing', key); E, V, S, top = analysed(w['voice'], text); nf = int(n / fs / HOP) + 2; f0, A, spans = _contour(notes, w, nf, r, loose, tune, talk); src = np.zeros(nf, int); k = int(rng('start', text).integers(len(S))); hold = S[k]
    for i0, L in spans:
        if not vowel: hold = S[k % len(S)]; k += 1
        a, p, b = hold; on = 0 if vowel else min(p - a, int(.45 * L)); off = 0 if vowel else min(b - p, int(.3 * L)); wob = p + np.round(1.5 * np.sin(np.arange(L) * .07 + r.uniform(0, 6))).astype(int); ix = wob; ix[:on] = p - on + np.arange(on)
        if off: ix[L - off:] = p + np.arange(off)
        src[i0:i0 + L] = np.clip(ix, 0, len(E) - 1)
    N = 2048; f = np.fft.rfftfreq(N, 1 / fs); q = np.minimum(f / (w['scale'] * scale), top) / 24000 * NF; lo = np.floor(q).astype(int); fr = q - lo; hi = np.minimum(lo + 1, NF // 2); over = np.maximum(0, f / (w['scale'] * scale) - top) / 1000; live = np.where(A > 0)[0]; out = np.zeros(n + 2 * N); t = np.interp(np.arange(n), np.arange(nf) * HOP * fs, f0); ph = np.cumsum(t / fs); cross = np.where(np.diff(np.floor(ph)) > 0)[0]; fi = np.minimum((cross / fs / HOP).astype(int), nf - 1); keep = A[fi] > 0; cross, fi = cross[keep], fi[keep]; til = (w['tilt'] * np.log2(np.maximum(f, 100) / 1000) * np.log(10) / 20)

    def env(j):  # half log power of output bins, for output frames j
        e = E[src[j]]; return .5 * (e[:, lo] * (1 - fr) + e[:, hi] * fr) - (.1 + .12 * V[src[j]])[:, None] * over + til + np.log(A[j] + 1e-6)[:, None]

    def noise_share(j): return np.clip(w['breath'] + (np.maximum(f, 1) / 9000) ** 2 * .35 + (1 - V[src[j]])[:, None], 0, 1)
    for b in range(0, len(cross), 256):
        c, j = cross[b:b + 256], fi[b:b + 256]; e = env(j) + .5 * np.log(1.0001 - noise_share(j)); z = np.fft.irfft(e, axis=1); z[:, 1:N // 2] *= 2; z[:, N // 2 + 1:] = 0; frac = 1 - (ph[c + 1] % 1) / (t[c + 1] / fs); y = np.fft.irfft(np.exp(np.fft.rfft(z, axis=1) - 2j * np.pi * np.outer(frac, f / fs)), axis=1) * np.sqrt(fs / t[c])[:, None]; y[:, -256:] *= np.linspace(1, 0, 256)
        for i, s in zip(c + 1, y): out[i:i + N] += s
    h = int(HOP * fs); win = np.hanning(2 * h + 1)[:-1]; Z = r.standard_normal(n + N)
    for b in range(0, len(live), 256):
        j = live[b:b + 256]; p = (j * HOP * fs).astype(int); p = p[p < n - 2 * h]; j = j[:len(p)]
        if not len(p): break
        y = np.fft.irfft(np.fft.rfft(Z[p[:, None] + np.arange(2 * h)] * win, N, axis=1) * np.exp(env(j) + .5 * np.log(noise_share(j) + 1e-6)), axis=1)
        for i, s in zip(p, y): out[i:i + N] += s
    return lit(lowcut(out[:n], fs, 60), fs, w['bright'])


def lit(x, fs, target):
    """Shelve a voice around 1 kHz so that its power centroid comes near a target in Hz (effort and microphone differ, the words do not)."""
    f, P = sg.welch(x, fs, nperseg=4096); g = np.linspace(-9, 18, 28); lg = 1 / (1 + (1000 / np.maximum(f, 1)) ** 2); c = [(f * P * db(2 * q * lg)).sum() / (P * db(2 * q * lg)).sum() for q in g]; q = g[int(np.argmin(np.abs(np.log(np.array(c) / target))))]
    return unit(shelf(x, fs, 1000, q))


# ---------------------------------------------------------------- waveguide tract
SHAPES = [(34, .8, 6, 1.0), (32, .5, 7, 1.0), (30, .2, 8, 1.3), (12, .7, 7, 1.4), (15, .7, 6, .7), (18, .65, 6, .45), (22, .7, 6, .3), (24, .15, 9, .9), (26, .3, 6, .6)]  # constriction (of 44), depth, width, lips


def _area(shape, k):
    i = np.arange(k) * 44 / k; c, dep, wd, lip = shape; d = 1.5 * (1 - dep * np.exp(-((i - c) / wd) ** 2) + .45 * dep * np.exp(-((i - (c + 22) % 44) / 11) ** 2)); d *= np.where(i < 4, .45, np.where(i < 9, .75, 1)); d[-3:] = d[-3:] * lip; return np.maximum(d, .08) ** 2


@jit
def _tube(src, noise, areas, hop, place, n):
    k = areas.shape[1]; R = np.zeros(k); L = np.zeros(k); out = np.zeros(n); jr = np.zeros(k + 1); jl = np.zeros(k + 1); rf = np.zeros(k + 1)
    for i in range(n):
        a = i / hop; f = int(a); u = a - f; f = min(f, areas.shape[0] - 2)
        if i % 32 == 0:
            for s in range(1, k):
                x = areas[f, s - 1] * (1 - u) + areas[f + 1, s - 1] * u; y = areas[f, s] * (1 - u) + areas[f + 1, s] * u; rf[s] = (x - y) / (x + y)
        o = 0.0
        for step in range(2):
            jr[0] = L[0] * .75 + src[i]; jl[k] = R[k - 1] * -.85
            for s in range(1, k): w = rf[s] * (R[s - 1] + L[s]); jr[s] = R[s - 1] - w; jl[s] = L[s] + w
            for s in range(k): R[s] = jr[s] * .9985; L[s] = jl[s + 1] * .9985
            p = place[f]
            if p >= 0: R[p] += noise[i]; L[p] += noise[i] * .5
            o += R[k - 1]
        out[i] = o
    return out


def tract(notes, w, fs, n, key, loose, tune, scale, vowel):
    r = rng('tract', key); words = rng('lyric', key[0] if isinstance(key, tuple) else key); nf = int(n / fs / HOP) + 2; f0, A, spans = _contour(notes, w, nf, r, loose, tune); k = max(26, int(round(w['sections'] / scale * fs / 48000))); shape = np.tile(_area(SHAPES[7], k), (nf, 1)); place = np.full(nf, -1); hiss = np.zeros(n); vw = int(words.integers(len(SHAPES))); nz = np.zeros(nf)
    for i0, L in spans:
        if not vowel: vw = int(words.integers(len(SHAPES)))
        to = SHAPES[int(words.integers(len(SHAPES)))] if words.random() < .25 and not vowel else SHAPES[vw]; g = np.clip((np.arange(L) / L - .5) * 3, 0, 1)[:, None]; shape[i0:i0 + L] = _area(SHAPES[vw], k) * (1 - g) + _area(to, k) * g; c = int(words.integers(6)) if not vowel else 9; m = min(L, 14); ramp = np.linspace(1, 0, m)
        if c in (0, 1): shape[i0:i0 + m, -2:] *= (1 - .97 * ramp[:, None]); A[i0:i0 + m] *= 1 - .6 * ramp
        elif c == 2: q = int(.86 * k); shape[i0:i0 + m, q:q + 2] *= (1 - .95 * ramp[:, None]); A[i0:i0 + m] *= 1 - .5 * ramp
        elif c == 3:
            z = r.standard_normal(int(r.uniform(.05, .12) * fs)); lo = r.choice([2200, 4500, 5500]); z = band(z, fs, lo, min(lo * 2.2, .45 * fs), 2) * np.hanning(len(z)) ** .5; add(hiss, z / rms(z) * r.uniform(.02, .07), int(i0 * HOP * fs) - len(z) + int(.01 * fs))
    shape = ni.uniform_filter1d(shape, 7, axis=0); t = np.interp(np.arange(n), np.arange(nf) * HOP * fs, f0); ph = np.cumsum(t / fs) % 1; oq = w['oq']; x = ph / oq; g = np.where(ph < oq, 2 * x - 3 * x * x, 0.0)
    a = np.interp(np.arange(n), np.arange(nf) * HOP * fs, A); g = highcut(g, fs, 900 + 4500 * (1 - oq) + 500 * max(0, w['tilt']), 1) + (.02 + w['breath']) * lowcut(r.standard_normal(n), fs, 800, 1) * (.4 + .6 * (ph < oq))
    y = _tube(np.ascontiguousarray(g * a), np.zeros(n), shape, HOP * fs, place, n); return unit(lit(lowcut(y, fs, 70), fs, w['bright']) + hiss)


def channel(x, fs, r, raw=False):
    """Microphone, booth and processing of a vocal take."""
    x = shelf(x, fs, r.uniform(120, 220), r.uniform(-2, 5), False); x = bell(x, fs, r.uniform(2500, 9000), r.uniform(-2, 4), r.uniform(.5, 2)); x = x + mono(reverb(x, fs, 'booth', int(r.integers(4)))) * r.uniform(.02, .3)
    if raw: return x
    x = compress(lowcut(x, fs, r.uniform(60, 130)), fs, r.uniform(6, 16), r.uniform(2.5, 6), r.uniform(1, 12), r.uniform(50, 200))
    if r.random() < .4: s = band(x, fs, 5500, 9500, 2); x = x - s * np.clip(follower(s, fs, 10) / (np.percentile(follower(s, fs, 10), 98) + 1e-9) - .35, 0, .6)
    x = shelf(bell(x, fs, r.uniform(220, 420), r.uniform(-5, 1)), fs, r.uniform(6000, 10000), r.uniform(-1, 5)); return drive(x, 'tape', r.uniform(-8, 6)) if r.random() < .4 else x
