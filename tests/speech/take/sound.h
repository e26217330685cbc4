/*
 * What the tests of takes share: a folder of their own, sounds made here
 * (tones, noise, made-up syllables: never speech, never scripture), WAV files
 * in any shape, honest or not, and the ffmpeg program for all other formats.
 *
 * The folder's tests:
 *   formats.c  what comes out of every container, rate and channel count, to the sample
 *   stretches.c joins, reading again, clips, outlines, limits, cancelling
 *   hostile.c  truncated, corrupted, absurd and mutated files, with the confinement on
 *   walls.c    that the confined process can do nothing else (walls-probe.c does the trying)
 *   quality.c  each warning on both sides of its threshold; real recitations where
 *              MISTARA_AUDIO names a folder with MP3 files in a/ and b/
 */
#ifndef TAKE_TEST_SOUND_H
#define TAKE_TEST_SOUND_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
/* cmocka wants these first */
#include <cmocka.h>

#include <mistara/take.h>

/* A fresh folder, gone with its files at the end. Path of a file in it; in a ring of 16. */
void folder_open(void);
void folder_close(void);
const char *in_folder(const char *name);

/* One seeded stream of numbers per test: 0…1, and about normal with deviation 1. */
struct dice {
    uint64_t state;
};
uint32_t roll(struct dice *dice);
double roll_unit(struct dice *dice);
double roll_normal(struct dice *dice);

/* --- sounds, added to what is there ------------------------------------------ */
void add_tone(float *to, size_t count, int rate_hz, double hz, double amplitude);
void add_noise(float *to, size_t count, double deviation, uint64_t seed);
/*
 * Made-up syllables: a buzz of a gliding pitch through two resonances, hisses
 * between, a pause after every sixth. Peak about 0.5.
 */
void add_syllables(float *to, size_t count, int rate_hz, uint64_t seed);
/* Three notes of several partials each, changing every two seconds. */
void add_chords(float *to, size_t count, int rate_hz, double amplitude);
/* Steep low pass at hz (windowed sinc, 255 taps). */
void low_pass(float *samples, size_t count, int rate_hz, double hz);
double power_of(const float *samples, size_t count);

/* --- files ---------------------------------------------------------------------- */
struct wav {
    int rate_hz, channels, bits; /* bits: 8, 16, 24, 32, or -32 for float */
    uint32_t claimed_data_bytes; /* 0 = the truth */
};
/* Channel-interleaved samples, count in all. */
void write_wav(const char *path, struct wav shape, const float *samples, size_t count);
void write_bytes(const char *path, const void *bytes, size_t count);
unsigned char *read_bytes(const char *path, size_t *count);
/* Run the ffmpeg program with these arguments (words parted by spaces, no quoting). */
void ffmpeg(const char *arguments, ...) __attribute__((format(printf, 1, 2)));

/* Open, read all; fails the test on any error. Caller frees *samples, closes the take. */
struct mst_take *take_whole(const char *path, float **samples, size_t *count);
/* Open and read all; the status of whichever failed. *take may be NULL. */
enum mst_status take_try(const char *path, struct mst_take **take, struct mst_error *err);
int has_warning(const struct mst_take *take, enum mst_take_warning_kind kind);

#endif
