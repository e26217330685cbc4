/*
 * find/parts.h – what the searches share: one reading of the whole text with
 * what can be counted in it, members of families, places where a phrase may be
 * cut, and the presolve of the covering problem.
 */
#ifndef MISTARA_LESSON_FIND_PARTS_H
#define MISTARA_LESSON_FIND_PARTS_H

#include <mistara/find.h>

enum {
    LETTER_SLOTS = 32, /* mst_articulation_at has 29 */
    PHONE_SLOTS = 64,
    RULE_SLOTS = 64,
    SLOTS_OF_RULE = 2 * LETTER_SLOTS + PHONE_SLOTS,
    MEMBER_IDS = RULE_SLOTS * (1 + SLOTS_OF_RULE) + LETTER_SLOTS + PHONE_SLOTS
};

/* Code point → index for mst_articulation_at, or -1; hamza forms and the like folded. */
struct letter_index {
    int8_t of[256]; /* U+0600 … U+06FF */
};
void mst_find_letter_index_fill(struct letter_index *index);
int mst_find_letter_index_of(const struct letter_index *index, uint32_t cp);

/* Members are numbered densely: 0 … MEMBER_IDS - 1. */
int mst_find_member_id(struct mst_member member);
struct mst_member mst_find_member_of_id(int id);

/* The whole text read once, every word in the order of the text. */
struct survey {
    const struct mst_text *text;
    struct mst_reading *r;
    struct mst_reading_options options;
    struct letter_index letters;
    int32_t *first_word;  /* of each verse by its running index, and one past the end */
    uint8_t *site_phone;  /* of each site: the sound that it holds, or PHONE_NONE */
    int32_t *site_from;   /* of each word: its first site, by trigger; and one past the end */
    uint64_t *word_rules; /* of each word: the rules of its sites */
    int32_t *frequency;   /* of each word: how often its letters occur in the text */
    int32_t most_frequent;
    /* mst_find_verse_cuts, verse v from first_word[v] + v on; 0: not yet known. */
    uint8_t *cuts;
    /* Of each word: the rules of its sites when it is read alone; 0: not yet known. */
    uint64_t *alone;
};
enum { PHONE_NONE = 255, ALONE_KNOWN = 63 /* the bit that says so */ };

MST_MUST_CHECK enum mst_status mst_find_survey_make(const struct mst_text *text,
                                                    const struct mst_find_scope *scope,
                                                    struct mst_arena *arena, struct survey *out,
                                                    struct mst_error *err);
/* mst_find_examples in a survey that is there already, for who asks many times: the survey is most
 * of the work. How its text is read counts, not the options of the query's scope. */
MST_MUST_CHECK enum mst_status mst_find_examples_in(const struct survey *survey,
                                                    const struct mst_example_query *query,
                                                    struct mst_arena *arena,
                                                    struct mst_examples *out,
                                                    struct mst_error *err);
/* Which phone each site of a reading holds. phone has room for all sites. */
void mst_find_sites_phones(const struct mst_reading *r, uint8_t *phone);
/* The letters of a trigger and a host, as indices; -1: none. A tanwīn's trigger is nūn. */
int mst_find_site_trigger(const struct letter_index *letters, const struct mst_reading *r,
                          const struct mst_site *site);
int mst_find_site_host(const struct letter_index *letters, const struct mst_reading *r,
                       const struct mst_site *site);
/* The member a site belongs to. */
struct mst_member mst_find_site_member(const struct letter_index *letters,
                                       const struct mst_reading *r, const struct mst_site *site,
                                       uint8_t phone, enum mst_by by);
/* The same number for the same letters, whatever their marks. */
uint64_t mst_find_letters_hash(const struct mst_reading *r, int32_t first_letter,
                               int32_t end_letter);

/* Words of the survey that a range covers: first to last, both included. */
struct word_stretch {
    int32_t first, last;
};
/* The scope's ranges as stretches, in order of the text, overlaps joined; the whole text when there
 * are none. whole_verses: widened to the verses touched. USAGE for a range that is none. */
MST_MUST_CHECK enum mst_status mst_find_scope_stretches(const struct survey *s,
                                                        const struct mst_find_scope *scope,
                                                        int whole_verses, struct mst_arena *arena,
                                                        struct word_stretch **out, size_t *count,
                                                        struct mst_error *err);
int32_t mst_find_verse_of_word(const struct survey *s, int32_t word_idx);

/* How the boundary before each word of a verse may be used: cuts[0…word_count], the last one after
 * the verse's end. r is a reading, first_word the verse's first in it. */
void mst_find_verse_cuts(const struct mst_reading *r, int32_t first_word, int32_t word_count,
                         enum mst_cut *cuts);

/* What the presolve left of a covering problem, dense: row of each set is times[set * member_count
 * + member], capped at the need. */
struct reduced {
    int32_t set_count, member_count;
    int32_t *set, *cost; /* number in the whole problem; cost */
    int32_t *need;
    int32_t *times;
    uint8_t *taken; /* of each set of the whole problem: in every answer we shall give */
    int64_t taken_cost;
};
MST_MUST_CHECK enum mst_status mst_find_reduce(const struct mst_multicover *problem,
                                               struct mst_arena *arena, struct reduced *out,
                                               struct mst_error *err);

MST_MUST_CHECK enum mst_status mst_find_no_memory(struct mst_error *err);

#endif
