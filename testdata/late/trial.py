"""Cuts the fronts off tracks of sessions and tells which starts foldout finds.

  trial.py FOLDOUT WORK FOLDER... [--seed N] [--cut N]

Each FOLDER holds the files of one session. It is tried three times: as it is (nothing may move), with N tracks cut at the front while
all still end together, and with the same cuts where every file besides is cut off at the end, each elsewhere. WORK is written to.
"""
import argparse, json, os, shutil, subprocess, sys
import numpy as np
import soundfile as sf

def plan(files, rng, most):
    """Tracks that sound, and what to cut off: a third at the first sound, a third anywhere up to a fifth of the song, a third up to two thirds."""
    cuts = {}
    for f in rng.permutation(files):
        x, rate = sf.read(f, dtype="float32", always_2d=True)
        power = (x.astype(float) ** 2).sum(1)
        block = rate // 10
        level = power[: len(power) // block * block].reshape(-1, block).mean(1)
        if len(level) < 100 or level.max() < 1e-7:
            continue
        first = int(np.argmax(level > 1e-4 * level.max())) * block
        kind = len(cuts) % 3
        n = [first - rate // 20, int(rng.uniform(1, 0.2 * len(x) / rate) * rate), int(rng.uniform(0.2, 0.66) * len(x))][kind]
        if n < 0.3 * rate:
            n = int(rng.uniform(1, 0.2 * len(x) / rate) * rate)
        rest = power[n:].sum()
        if rest < 0.1 * power.sum() or len(x) - n < 8 * rate:
            continue
        cuts[os.path.basename(f)] = n
        if len(cuts) == most:
            break
    return cuts

def write(src, dst, front, back):
    info = sf.info(src)
    x, rate = sf.read(src, dtype="float64" if info.subtype == "DOUBLE" else "int32" if info.subtype != "FLOAT" else "float32", always_2d=True)
    sf.write(dst, x[front: len(x) - back], rate, subtype=info.subtype)

def run(binary, folder):
    r = subprocess.run([binary, "suggest", folder, "--pairs", "4", "--format", "json"], capture_output=True, text=True)
    if r.returncode > 1 or not r.stdout:
        sys.exit(f"{folder}: {r.stderr}")
    sheet = json.loads(r.stdout)
    return {o["file"]: o["start_samples"] for o in sheet["settings"].get("offsets") or []}, r.stderr

ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
ap.add_argument("binary"), ap.add_argument("work"), ap.add_argument("folders", nargs="+")
ap.add_argument("--seed", type=int, default=1), ap.add_argument("--cut", type=int, default=6), ap.add_argument("--verbose", action="store_true")
ap.add_argument("--ways", default="as it is,ends together,ends differ")
a = ap.parse_args()
sums = {}
for number, folder in enumerate(a.folders):
    files = sorted(os.path.join(folder, f) for f in os.listdir(folder) if f.lower().endswith((".wav", ".flac", ".aif", ".aiff")))
    rng = np.random.default_rng([a.seed, number])
    cuts = plan(files, rng, a.cut)
    back = {os.path.basename(f): int(rng.uniform(0, 0.08) * sf.info(f).frames) for f in files}
    for way in a.ways.split(","):
        here = os.path.join(a.work, "trial")
        shutil.rmtree(here, ignore_errors=True)
        os.makedirs(here)
        for f in files:
            name = os.path.basename(f)
            front = 0 if way == "as it is" else cuts.get(name, 0)
            end = back[name] if way == "ends differ" else 0
            if front or end:
                write(f, os.path.join(here, name), front, end)
            else:
                os.link(f, os.path.join(here, name))
        found, said = run(a.binary, here)
        want = {} if way == "as it is" else cuts
        c = dict(cut=len(want), exact=0, near=0, wrong=0, alone=0, moved=0)
        for name, n in want.items():
            rate = sf.info(os.path.join(here, name)).samplerate
            off = found[name] - n if name in found else None
            key = "alone" if off is None else "exact" if abs(off) <= 1 else "near" if abs(off) <= 0.03 * rate else "wrong"
            c[key] += 1
            if a.verbose:
                print("   ", name, f"{n / rate:.3f} s", key, "" if off is None else f"{1000 * off / rate:.2f} ms")
        c["moved"] = len(set(found) - set(want))
        if a.verbose and c["moved"]:
            print(said)
        total = sums.setdefault(way, dict.fromkeys(c, 0))
        for k in c:
            total[k] += c[k]
        print(f"{folder:50} {way:14}", *(f"{k} {v}" for k, v in c.items()), flush=True)
        shutil.rmtree(here)
for way, c in sums.items():
    print(f"{'all':50} {way:14}", *(f"{k} {v}" for k, v in c.items()))
