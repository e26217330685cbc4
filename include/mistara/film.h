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
 * Units: ms from the take's first sample; samples at MST_TAKE_RATE_HZ.
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

#ifdef __cplusplus
}
#endif
#endif
