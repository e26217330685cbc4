/*
 * stage.h – what the benchmarks of the ear share: real recitations from the
 * folder that $MISTARA_AUDIO names (a/SSSVVV.mp3, b/SSSVVV.mp3: reciter, sura,
 * verse), never copied; lists of values and what they say. Without the folder
 * a benchmark says so and ends with 77, which counts as skipped.
 */
#ifndef BENCH_EAR_STAGE_H
#define BENCH_EAR_STAGE_H

#include <mistara/ear.h>
#include <mistara/take.h>

struct stage {
    struct mst_text *text;
    const char *audio;
};
/* 0, or 77 when there is no audio; other failures end the program. */
int stage_open(struct stage *s);
void stage_close(struct stage *s);
/* End the program with the error's message. */
_Noreturn void stage_fail(const char *what, const struct mst_error *err);

/* Files of one sura joined end to end, nothing trimmed. */
struct recording {
    float *samples;
    size_t count;
    int sura, first_verse, verse_count;
    int64_t *first_sample; /* per verse + 1 */
};
/* Verses first…last of a sura (0, 0: all that are there); 0 when there are none. */
int recording_load(const struct stage *s, char reciter, int sura, int first, int last,
                   struct recording *out);
void recording_free(struct recording *r);
double recording_seconds(const struct recording *r);

struct mst_features *features_of(const float *samples, size_t count);
struct mst_script *script_of(const struct stage *s, int sura, int first, int last);
/* Learn a voice from whole suras, ended by 0. */
struct mst_voice *voice_of(const struct stage *s, char reciter, const int *suras);

/* A growing list of numbers. */
struct values {
    double *v;
    size_t count, cap;
};
void values_add(struct values *l, double x);
void values_free(struct values *l);
/* share 0…1; sorts. NAN when empty. */
double values_at(struct values *l, double share);
double values_sd(const struct values *l);
/* Wilson's 95 % interval of hits out of n. */
void share_interval(size_t hits, size_t n, double *low, double *high);

/* The same on every run. */
double chance(uint64_t *seed);
int is_nasal_hold(enum mst_length length);

#endif
