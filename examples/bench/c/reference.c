/* Integrated loudness, loudness range and true peak of each file named, by libebur128 over libsndfile: a reference for
   the speed of measuring. */
#include <ebur128.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>

#define FRAMES 65536

int main(int argc, char **argv) {
  for (int i = 1; i < argc; i++) {
    SF_INFO info = {0};
    SNDFILE *in = sf_open(argv[i], SFM_READ, &info);
    if (!in) {
      fprintf(stderr, "%s: %s\n", argv[i], sf_strerror(NULL));
      return 1;
    }
    ebur128_state *meter = ebur128_init(info.channels, info.samplerate, EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK);
    float *block = malloc(sizeof *block * FRAMES * info.channels);
    if (!meter || !block) return 1;
    sf_count_t n;
    while ((n = sf_readf_float(in, block, FRAMES)) > 0) ebur128_add_frames_float(meter, block, n);
    double loudness, range, peak, highest = 0;
    ebur128_loudness_global(meter, &loudness);
    ebur128_loudness_range(meter, &range);
    for (int c = 0; c < info.channels; c++) {
      ebur128_true_peak(meter, c, &peak);
      if (peak > highest) highest = peak;
    }
    printf("%s %g %g %g\n", argv[i], loudness, range, highest);
    ebur128_destroy(&meter);
    free(block);
    sf_close(in);
  }
  return 0;
}
