/*
 * spoil.h – a take as a bad recording would have left it. By name:
 *   clean                        as it is
 *   noise30 noise20 noise10      white noise so many dB below the voice
 *   babble20 babble10            seven voices at once, so many dB below
 *   hum20                        50 Hz and its harmonics, so many dB below
 *   room                         a reverberant room: T60 0.6 s, direct to reverberant 3 dB
 *   mp3                          MP3 of 24 kb/s and back (the ffmpeg program)
 *   band                         a telephone's band, below 3.4 kHz
 *   clipped                      cut off at a fifth of its peak
 *   quiet                        60 dB weaker, in 16 bits
 *   warp115 warp130              played so much faster: a shorter vocal tract, higher and quicker
 */
#ifndef BENCH_EAR_SPOIL_H
#define BENCH_EAR_SPOIL_H

#include <stddef.h>
#include <stdint.h>

/* A new array; ends the program when the way is not known or cannot be gone. */
float *spoil(const char *how, uint64_t *seed, const float *x, size_t n, size_t *count);

#endif
