"""Reference figures for the loudness tests, on standard output.

    go test -run TestAgreesWithOtherMeters -signals DIR .   # writes the test signals as raw float32
    python3 testdata/reference.py DIR > testdata/reference.csv

Needs a C compiler, libebur128 and ffmpeg. The first line of the output names their versions. Two of the columns are
computed here: the true peak by a 16-times windowed-sinc interpolator, and the loudness range after EBU Tech 3342 from all
short-term values, 100 ms apart, of complete 3 s windows, with scipy's double-precision filters (libebur128 takes a value
every second only; ffmpeg takes all, but keeps them in a histogram and picks a neighbouring value now and then).
"""
import os
import re
import subprocess
import sys

import numpy as np
import scipy
from scipy.signal import lfilter, resample_poly

HERE = os.path.dirname(os.path.abspath(__file__))


def run(*command, **more):
    return subprocess.run(command, check=True, capture_output=True, **more)


def ffmpeg(path, rate, channels):
    """Integrated loudness and range from the filter's metadata, which has three decimals, and the true peak in dB; there
    it is a linear amplitude."""
    text = run("ffmpeg", "-hide_banner", "-nostats", "-f", "f32le", "-ar", rate, "-ac", channels, "-i", path, "-af",
               "ebur128=metadata=1:peak=true,ametadata=print:file=-", "-f", "null", "-").stdout.decode()
    last = lambda key: float(re.findall(r"lavfi\.r128\." + key + r"=(\S+)", text)[-1])
    peaks = [last("true_peaks_ch%d" % c) for c in range(int(channels))]
    return last("I"), last("LRA"), 20 * np.log10(max(peaks))


def sinc16(planes):
    peak = 0
    for x in planes:
        peak = max(peak, np.abs(resample_poly(np.pad(x, 100), 16, 1, window=("kaiser", 10))).max())
    return 20 * np.log10(peak)


def k_weighting(rate):
    k = np.tan(np.pi * 1681.974450955533 / rate)
    q, vh = 0.7071752369554196, 10 ** (3.999843853973347 / 20)
    vb = vh ** 0.4996667741545416
    d = 1 + k / q + k * k
    shelf = np.array([vh + vb * k / q + k * k, 2 * (k * k - vh), vh - vb * k / q + k * k]) / d
    shelf_a = np.array([d, 2 * (k * k - 1), 1 - k / q + k * k]) / d
    k, q = np.tan(np.pi * 38.13547087602444 / rate), 0.5003270373238773
    d = 1 + k / q + k * k
    return shelf, shelf_a, np.array([1.0, -2, 1]), np.array([d, 2 * (k * k - 1), 1 - k / q + k * k]) / d


def loudness_range(planes, rate):
    b1, a1, b2, a2 = k_weighting(rate)
    energy = sum(lfilter(b2, a2, lfilter(b1, a1, x)) ** 2 for x in planes)
    total = np.concatenate([[0], np.cumsum(energy)])
    ends = np.arange(3 * rate, len(energy) + 1, rate // 10)
    z = (total[ends] - total[ends - 3 * rate]) / (3 * rate)
    z = z[-0.691 + 10 * np.log10(np.maximum(z, 1e-30)) > -70]
    z = np.sort(z[z > z.mean() / 100])
    at = lambda p: z[int(np.floor((len(z) - 1) * p / 100 + 0.5))]
    return 10 * np.log10(at(95) / at(10))


def main(folder):
    binary = os.path.join(folder, "reference")
    run("cc", "-O2", os.path.join(HERE, "reference.c"), "-lebur128", "-lm", "-o", binary)
    version = run("ffmpeg", "-version").stdout.decode().split()[2]
    ebur = run("pkg-config", "--modversion", "libebur128").stdout.decode().strip()
    print(f"# libebur128 {ebur}, ffmpeg {version}, numpy {np.__version__}, scipy {scipy.__version__}; made by reference.py")
    print("signal,rate,channels,ebur128_i,ebur128_lra,ebur128_m,ebur128_s,ebur128_sample_peak,ebur128_true_peak,"
          "ffmpeg_i,ffmpeg_lra,ffmpeg_true_peak,lra_10hz,sinc16_true_peak")
    for name in sorted(n for n in os.listdir(folder) if n.endswith(".f32")):
        path = os.path.join(folder, name)
        signal, rate, channels = name[:-4].split("_")
        planes = np.fromfile(path, "<f4").astype(float).reshape(-1, int(channels)).T
        with open(path, "rb") as f:
            ebu = run(binary, rate, channels, stdin=f).stdout.decode()
        other = "%.3f,%.3f,%.3f" % ffmpeg(path, rate, channels)
        print(f"{signal},{rate},{channels},{ebu},{other},{loudness_range(planes, int(rate)):.4f},{sinc16(planes):.4f}")


main(sys.argv[1])
