/*
 * parts.h – what the files of the faults share among themselves; the door is
 * mistara/faults.h.
 *
 *   list → match ────────────────────────┐
 *   timeline → heard ┐                   │
 *   voice, features ─┴→ judge → chain ───┴→ words, kinds
 *
 * A frame is 10 ms. Ownership: every struct is filled by its …_make and
 * emptied by its …_clear, which accepts a zeroed one.
 */
#ifndef MISTARA_FAULTS_PARTS_H
#define MISTARA_FAULTS_PARTS_H

#include "../ear/parts.h"

#include <mistara/faults.h>

/* --- match.c ----------------------------------------------------------------- */
/* Does a site of this rule act on one of the sound's letters? Its index, or -1. */
int32_t fault_site_of(const struct mst_reading *r, int32_t sound_idx, enum mst_rule rule);

/* --- heard.c: the timeline as units in a row ------------------------------------ */
struct fault_unit {
    struct ear_unit unit; /* a pause: EAR_MODEL_SILENCE */
    int32_t sound, word;  /* in the timeline; -1: a pause */
    int32_t start_fr, end_fr;
};
struct fault_heard {
    const struct mst_timeline *timeline;
    struct fault_unit *units;
    int32_t count;
    int32_t *first_unit;  /* per heard word, word_count + 1: in units; pauses between */
    int32_t *script_word; /* per heard word: in the script */
};
MST_MUST_CHECK enum mst_status fault_heard_make(struct fault_heard *h,
                                                const struct mst_timeline *timeline, int64_t frames,
                                                struct mst_error *err);
void fault_heard_clear(struct fault_heard *h);
/* The unit of a sound in its row; before: the sound before it, or NULL; pale: a vowel that is said
 * light though a heavy letter stands before it. */
struct ear_unit fault_unit_of(const struct mst_reading *r, const struct mst_sound *sound,
                              const struct mst_sound *before, int pale);

/* The reading's sound that this one was heard as; NULL when it was taken up again. */
const struct mst_sound *fault_said(const struct mst_timeline *timeline, int32_t heard_sound);
int fault_is_vowel(enum mst_phone phone);

/* --- judge.c: a voice to judge by -------------------------------------------------- */
struct fault_judge {
    const struct mst_features *f; /* as the voice would have said them */
    struct mst_features *warped;  /* what f points to when the vocal tract differs */
    struct ear_model model;
};
/* voice: a stored one, brought near to the take by the length of the vocal tract and one linear
 * map of all its means; NULL: learned from the take along the timeline, good enough for words and
 * for nothing finer. */
MST_MUST_CHECK enum mst_status fault_judge_make(struct fault_judge *j, const struct fault_heard *h,
                                                const struct mst_features *f,
                                                const struct mst_voice *voice, int threads,
                                                struct mst_error *err);
void fault_judge_clear(struct fault_judge *j);

/* --- chain.c: how likely is a row of sounds in a stretch of the take ---------------- */
struct fault_window { /* likelihoods of a stretch under every density */
    const struct fault_judge *judge;
    int32_t first_fr, frames;
    float *likelihoods;
    float *best, *spare; /* room for the trellis */
    int32_t *age, *spare_age;
    int32_t state_cap;
};
MST_MUST_CHECK enum mst_status fault_window_make(struct fault_window *w,
                                                 const struct fault_judge *judge, int32_t first_fr,
                                                 int32_t end_fr, struct mst_error *err);
void fault_window_clear(struct fault_window *w);
/* Log likelihood of the best way to say these units in the window, lengths counted; EAR_NOWHERE
 * when it is too short for them or memory ran out. */
double fault_chain_score(struct fault_window *w, const struct ear_unit *units, int32_t count);

/* --- rows.c: words in another order than they were heard in ------------------------------ */
enum { FAULT_ROW_WORDS = 24 };
struct fault_word_row {
    int32_t words[FAULT_ROW_WORDS]; /* heard ones */
    /* Does the reader go on from this word to the next without a pause? */
    uint8_t flows[FAULT_ROW_WORDS];
    int32_t count;
};
/* One more word at the end; whether the reader goes on after it: as heard. */
void fault_row_add(struct fault_word_row *row, const struct fault_heard *h, int32_t word);
/* Log likelihood of the row in the window; EAR_NOWHERE when it cannot be said so. */
double fault_row_score(const struct fault_word_row *row, const struct fault_heard *h,
                       struct fault_window *w);

/* --- ear.c -------------------------------------------------------------------------- */
struct mst_fault_ear {
    const struct mst_timeline *timeline;
    struct fault_heard heard;
    struct fault_judge judge; /* by the stored voice; without one, by the take alone */
    struct fault_judge alone; /* with a stored voice: by the take alone, for words */
    struct fault_judge paced; /* … and by the stored voice with the take's own lengths: whoever
                                 holds a ghunna twice as long has not said it twice. Shares the
                                 memory of the two others. */
    int with_voice;
    int32_t unjudged_count; /* of the last search for kinds: sounds it cannot tell of */
    /* of the last search for words: left out, twice, exchanged; by judge, by alone */
    const double *word_evidence[2][3];
};
/* --- contrast.c: a sound with its neighbours, as it should be and as it might have been -- */
enum { FAULT_REACH = 3, FAULT_ROW_MAX = 2 * FAULT_REACH + 1 + MST_FAULT_SOUNDS_MAX };
struct fault_contrast {
    struct ear_unit right[FAULT_ROW_MAX], wrong[FAULT_ROW_MAX];
    int32_t right_count, wrong_count;
    int32_t same_before, same_after; /* units at both ends that do not differ */
    int32_t first_unit;              /* of right[0], in fault_heard.units */
    int32_t start_fr, end_fr;
    enum mst_contrast kind;
};
/* 0 when there is nothing to compare: both sound alike to the ear. unit: of the sound, in
 * heard->units. */
int fault_contrast_make(struct fault_contrast *c, const struct fault_heard *heard, int32_t unit,
                        const struct mst_fault_way *way);
/* --- own.c: the take's own sounds, held against one another ------------------------------- */
struct fault_own;
MST_MUST_CHECK enum mst_status fault_own_make(struct fault_own **out, const struct fault_heard *h,
                                              const struct fault_judge *j, struct mst_error *err);
void fault_own_free(struct fault_own *o); /* accepts NULL */
enum fault_own_answer {
    FAULT_OWN_COMPARED,
    FAULT_OWN_UNLIKE, /* the rows are not of the same length, or a vowel stands against a consonant
                       */
    FAULT_OWN_SHORT   /* the take holds too few sounds */
};
/* Log likelihood ratio of the sounds said against the right ones, and how far the two lie apart in
 * spreads; both 0 when not compared. */
enum fault_own_answer fault_own_compare(const struct fault_own *o, const struct fault_contrast *c,
                                        double *evidence, double *apart);
/* --- kinds.c, doubts.c ---------------------------------------------------------------------- */
/* Of each sound the likeliest fault that is sure enough; they move to the front, their number is
 * returned. */
size_t fault_keep_best(struct mst_kind_fault *list, size_t count, double least);
/* Of all faults that could befall, by fault those that cannot be told, into the report. */
MST_MUST_CHECK enum mst_status fault_doubts(const struct mst_timeline *timeline,
                                            const struct mst_kind_fault *list, size_t count,
                                            struct mst_arena *arena, struct mst_fault_report *r,
                                            struct mst_error *err);
/* The sound in its place: the word it stands in, and at least so much to both sides. */
enum { FAULT_CLIP_MS = 500 };
void fault_clip(const struct mst_timeline *timeline, const struct mst_kind_fault *k,
                int32_t *start_ms, int32_t *end_ms);

/* --- words.c ------------------------------------------------------------------------- */
/* Log likelihood from which another row of words is believed; at a pause, where a recorder or an
 * editor may have clipped the word itself, it takes more (docs/measurements.md). */
enum { FAULT_WORD_BELIEVED = 100, FAULT_WORD_BELIEVED_AT_PAUSE = 450 };
/* What it takes to believe this of a heard word: a word clipped at a pause may pass for one left
 * out, the breath or the attack at its beginning for one said twice. */
double fault_word_believed_from(const struct mst_timeline *timeline, int32_t word,
                                enum mst_word_fault_kind kind);
/* The evidence of both judges as one. */
double fault_word_agreed(double voice, double alone, enum mst_word_fault_kind kind);

#endif
