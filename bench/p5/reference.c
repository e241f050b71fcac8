/* The other side of workload P5: libebur128 fed from a WAV file of 16 bits, one
 * second at a time. Prints JSON.
 *
 *     tool-p5 [-peak] FILE.wav
 */
#include <ebur128.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void fail(const char *what) {
  fprintf(stderr, "tool-p5: %s\n", what);
  exit(1);
}

static uint32_t le32(const unsigned char *b) {
  return b[0] | b[1] << 8 | b[2] << 16 | (uint32_t)b[3] << 24;
}

int main(int argc, char **argv) {
  int peak = argc > 2 && strcmp(argv[1], "-peak") == 0;
  FILE *f = argc > 1 ? fopen(argv[argc - 1], "rb") : NULL;
  unsigned char head[12], chunk[8], fmt[16];
  unsigned channels = 0, rate = 0, bits = 0;
  if (!f || fread(head, 1, 12, f) != 12 || memcmp(head + 8, "WAVE", 4)) fail("not a WAV file");
  for (;;) {
    if (fread(chunk, 1, 8, f) != 8) fail("no data chunk");
    uint32_t size = le32(chunk + 4);
    if (!memcmp(chunk, "data", 4)) break;
    long skip = size + (size & 1);
    if (!memcmp(chunk, "fmt ", 4)) {
      if (fread(fmt, 1, 16, f) != 16) fail("short fmt chunk");
      skip -= 16;
      channels = fmt[2] | fmt[3] << 8;
      rate = le32(fmt + 4);
      bits = fmt[14] | fmt[15] << 8;
    }
    fseek(f, skip, SEEK_CUR);
  }
  if (bits != 16) fail("expected 16 bits");
  int mode = EBUR128_MODE_I | EBUR128_MODE_LRA | (peak ? EBUR128_MODE_TRUE_PEAK : 0);
  ebur128_state *s = ebur128_init(channels, rate, mode);
  short *x = malloc(sizeof(short) * rate * channels);
  size_t n;
  while ((n = fread(x, sizeof(short) * channels, rate, f)) > 0)
    if (ebur128_add_frames_short(s, x, n)) fail("frames refused");
  double integrated, range, top = 0, t;
  if (ebur128_loudness_global(s, &integrated) || ebur128_loudness_range(s, &range)) fail("no loudness");
  printf("{\"integrated\": %.9f, \"range\": %.9f", integrated, range);
  for (unsigned c = 0; peak && c < channels; c++) {
    ebur128_true_peak(s, c, &t);
    top = t > top ? t : top;
  }
  if (peak) printf(", \"true_peak\": %.9f", 20 * log10(top));
  printf("}\n");
  return 0;
}
