/*
 * mistara/film.h – what a take becomes for learners: captions in which the
 * word being said stands out, sound to practise with, and the film of the
 * passage whose words and marks light up as they are recited. It listens to
 * nothing itself: times come from a timeline of the ear, pictures from the
 * sheet, sound from the take.
 *
 *   timeline ─┬→ mst_soundings ─→ mst_captions  (a text)
 *   take ─────┼→ mst_practice_make               (samples) → a sound file
 *   sheet ────┴→ mst_film_write                  (a film)
 *
 * Units: ms from the take's first sample. Sound is that of the take's files in
 * full (mst_take_open_sound), samples at the rate that stands beside them.
 * Ownership: everything borrows from the timeline, take and sheet handed in;
 * results live in the caller's arena or mst_string. Files appear whole or not
 * at all.
 */
#ifndef MISTARA_FILM_H
#define MISTARA_FILM_H

#include <mistara/ear.h>
#include <mistara/take.h>
#include <mistara/typeset.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- when a mark sounds ---------------------------------------------------- */
struct mst_sounding {
    int32_t site; /* in timeline->reading->sites */
    int32_t start_ms, end_ms;
};
/*
 * The sites of these rules with the time in which each sounds, in order of
 * start. A site with a length sounds while the sound that carries it does;
 * another while the letter it acts on does. Sites that make no sound of their
 * own (a letter left out) and those of words taken up again are not listed.
 */
MST_MUST_CHECK enum mst_status mst_soundings(const struct mst_timeline *timeline,
                                             struct mst_rule_set rules, struct mst_arena *arena,
                                             struct mst_sounding **out, size_t *count,
                                             struct mst_error *err);

/* --- captions ---------------------------------------------------------------- */
enum mst_caption_format {
    MST_CAPTION_VTT, /* W3C, "WebVTT: The Web Video Text Tracks Format" */
    MST_CAPTION_SRT, /* SubRip: common practice, no source */
    MST_CAPTION_ASS  /* Advanced SubStation Alpha v4.00+: common practice, no source */
};
struct mst_caption_options {
    struct mst_rule_set rules;    /* marks that are named; empty: mst_sheet_default_rules() */
    int no_marks;                 /* words alone */
    enum mst_sheet_labels labels; /* languages of the marks' names */
};
/*
 * A caption shows what is said in one breath (at most ten words, cut between
 * words), the word being said in bold and, below it, the verse and the names
 * of the marks that sound. It changes with every word and mark; nothing shows
 * in pauses.
 */
MST_MUST_CHECK enum mst_status mst_captions(const struct mst_timeline *timeline,
                                            const struct mst_caption_options *options,
                                            enum mst_caption_format format, struct mst_string *out,
                                            struct mst_error *err);

/* --- sound to practise with ---------------------------------------------------- */
enum mst_practice_kind {
    MST_PRACTICE_WHOLE,   /* the take as it is, only slower */
    MST_PRACTICE_VERSES,  /* call and answer: each verse, then a gap to say it in */
    MST_PRACTICE_BREATHS, /* the same breath by breath */
    MST_PRACTICE_PLACES,  /* the words of each site, several times, each with a gap */
    MST_PRACTICE_PHRASES  /* the same of phrases that are given */
};
/* All zero = the whole at its own pace. */
struct mst_practice_options {
    enum mst_practice_kind kind;
    int percent;                     /* of the pace, 40 to 100, the pitch kept; 0 = 100 */
    int repeats;                     /* of each place or phrase; 0 = 3 */
    double gap_share;                /* gap over what was heard, a breath added; 0 = 1 */
    struct mst_rule_set rules;       /* whose places; empty: mst_sheet_default_rules() */
    const struct mst_range *phrases; /* those that the take does not hold are passed over */
    size_t phrase_count;
};
enum mst_practice_part_kind { MST_PRACTICE_CALL, MST_PRACTICE_GAP };
struct mst_practice_part {
    enum mst_practice_part_kind kind;
    size_t first_sample, sample_count;
    struct mst_addr at; /* of the first word */
    int32_t site;       /* in reading->sites, or -1 */
};
struct mst_practice {
    float *samples; /* owned, like parts, until mst_practice_free() */
    size_t sample_count;
    int32_t rate_hz;
    struct mst_practice_part *parts;
    size_t part_count;
};
/* NOT_FOUND when the take holds no place of the rules, or no phrase; USAGE for a pace out of range.
 */
MST_MUST_CHECK enum mst_status mst_practice_make(struct mst_take *take,
                                                 const struct mst_timeline *timeline,
                                                 const struct mst_practice_options *options,
                                                 struct mst_practice *out, struct mst_error *err);
void mst_practice_free(struct mst_practice *practice);
/* .wav or .flac by its ending (else USAGE), 16 bit, whole or not at all. */
MST_MUST_CHECK enum mst_status mst_practice_write(const struct mst_practice *practice,
                                                  const char *path, struct mst_error *err);

/* --- film -------------------------------------------------------------------------- */
struct mst_film_options {
    enum mst_theme theme;
    const struct mst_ear_progress *progress; /* may stop it (CANCELLED); NULL = none */
};
/*
 * The whole take with the sheet of its reading: 1920 × 1080, 30 frames a
 * second, a chapter a verse. The word being said is lit, and the marks of the
 * sheet while they sound; pages turn by themselves. What the sheet leaves out
 * or fades is not shown. path ends in .mp4 (H.264, AAC) or .webm (VP9, Opus);
 * whole or not at all. The sheet was made from timeline->reading with
 * mst_page_slide(). The sound is the take's: one channel, 48 kHz.
 */
MST_MUST_CHECK enum mst_status mst_film_write(struct mst_take *take,
                                              const struct mst_timeline *timeline,
                                              const struct mst_sheet *sheet,
                                              const struct mst_film_options *options,
                                              const char *path, struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
