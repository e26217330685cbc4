/*
 * What can be said of a recording from its samples alone, gathered while they
 * stream by: nothing grows with the length of the take.
 *
 *   analysis.c   cuts the stream into frames, short (32 ms) and long (256 ms), and their spectra
 *   levels.c     short frames: how loud voice and pauses are
 *   band.c       short frames: up to which frequency the voice reaches
 *   hum.c        long frames: lines at the mains frequency and its multiples that never stop
 *   harmony.c    long frames: sustained partials that no single voice can have together
 *   quality.c    thresholds, warnings, sentences
 */
#ifndef TAKE_ANALYSIS_H
#define TAKE_ANALYSIS_H

#include <stddef.h>
#include <stdint.h>

enum {
    SHORT_FRAME = 512,
    SHORT_HOP = 256,
    LONG_FRAME = 4096,
    LONG_HOP = 1024,
    SHORT_BINS = SHORT_FRAME / 2 + 1,
    LONG_BINS = LONG_FRAME / 2 + 1,
};

/* Powers are those of a sine or noise of the same level: the sum over all bins is the mean square
 * of the frame's samples. */
static const double lowest_db = -120;
double power_db(double power);

/* --- a histogram of levels in dB -------------------------------------------- */
enum { LEVEL_STEPS_PER_DB = 2, LEVEL_BINS = 150 * LEVEL_STEPS_PER_DB }; /* -120…+30 dB */
struct level_counts {
    int64_t total;
    int64_t at[LEVEL_BINS];
};
void level_count(struct level_counts *counts, double db);
/* The level below which this part (0…1) lies of those above floor_db. */
double level_quantile(const struct level_counts *counts, double part, double floor_db);

/* --- levels.c ------------------------------------------------------------------ */
struct levels {
    struct level_counts frames;
};
struct level_summary {
    double speech_db, noise_db, active_fraction;
};
void levels_add(struct levels *levels, const float power[SHORT_BINS]);
struct level_summary levels_sum_up(const struct levels *levels);

/* --- band.c ---------------------------------------------------------------------- */
enum { BAND_BINS = 8, BAND_COUNT = 32 }; /* of 250 Hz each */
struct band {
    struct level_counts bands[BAND_COUNT];
};
void band_add(struct band *band, const float power[SHORT_BINS]);
double band_edge_hz(const struct band *band);

/* --- hum.c ------------------------------------------------------------------------- */
enum { HUM_BINS = 128 }; /* up to 500 Hz */
struct hum {
    struct level_counts bins[HUM_BINS];
};
struct hum_summary {
    double hz; /* 50, 60 or 0 */
    double db; /* power of its lines */
};
void hum_add(struct hum *hum, const float power[LONG_BINS]);
struct hum_summary hum_sum_up(const struct hum *hum);

/* --- harmony.c ----------------------------------------------------------------------- */
enum { HARMONY_PARTIALS = 48 };
struct partial {
    float hz, db;
};
struct harmony {
    struct partial last[HARMONY_PARTIALS];
    int last_count;
    int64_t frames, sounding, polyphonic;
};
void harmony_add(struct harmony *harmony, const float power[LONG_BINS]);
double harmony_fraction(const struct harmony *harmony);
/* The fraction that a voice alone may well reach in a take of this length. */
double harmony_allowance(const struct harmony *harmony);

/* --- analysis.c ------------------------------------------------------------------------ */
struct analysis {
    int64_t sample_count;
    double peak;
    struct levels levels;
    struct band band;
    struct hum hum;
    struct harmony harmony;
    struct spectra *spectra;
    size_t fill; /* of window */
    size_t short_at, long_at;
    float window[LONG_FRAME * 2];
};
struct analysis *analysis_new(void); /* NULL when memory ran out */
void analysis_free(struct analysis *analysis);
void analysis_add(struct analysis *analysis, const float *samples, size_t count);

#endif
