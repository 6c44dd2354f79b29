/* Reference figures by libebur128: reads raw interleaved float32 on standard input.
   cc -O2 reference.c -lebur128 -lm -o reference; reference RATE CHANNELS < signal */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
    if (argc != 3) return 2;
    unsigned long rate = strtoul(argv[1], 0, 10);
    unsigned channels = (unsigned)strtoul(argv[2], 0, 10);
    ebur128_state *st = ebur128_init(channels, rate, EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_S | EBUR128_MODE_M
                                     | EBUR128_MODE_SAMPLE_PEAK | EBUR128_MODE_TRUE_PEAK);
    size_t hop = rate / 100, n;
    float *buf = malloc(hop * channels * sizeof(float));
    double momentary = -HUGE_VAL, short_term = -HUGE_VAL, v, integrated, range, sample = 0, truepeak = 0;
    while ((n = fread(buf, channels * sizeof(float), hop, stdin)) > 0) {
        ebur128_add_frames_float(st, buf, n);
        ebur128_loudness_momentary(st, &v);
        if (v > momentary) momentary = v;
        ebur128_loudness_shortterm(st, &v);
        if (v > short_term) short_term = v;
    }
    ebur128_loudness_global(st, &integrated);
    ebur128_loudness_range(st, &range);
    for (unsigned c = 0; c < channels; c++) {
        ebur128_sample_peak(st, c, &v);
        if (v > sample) sample = v;
        ebur128_true_peak(st, c, &v);
        if (v > truepeak) truepeak = v;
    }
    printf("%.4f,%.4f,%.4f,%.4f,%.4f,%.4f", integrated, range, momentary, short_term, 20 * log10(sample), 20 * log10(truepeak));
    return 0;
}
