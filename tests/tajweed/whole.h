/*
 * whole.h – the whole text read through, and sets of places in it, for the checks that hold the
 * engine's lists against published ones: no more, no fewer.
 */
#ifndef MISTARA_TESTS_WHOLE_H
#define MISTARA_TESTS_WHOLE_H

#include <mistara/tajweed.h>

struct whole {
    struct mst_text *text;
    struct mst_arena *arena;
    struct mst_reading *joined; /* no stop but the last */
    struct mst_reading *verses; /* a stop at every verse end */
    struct mst_reading *words;  /* a stop after every word */
};

/* Prints what went wrong and returns 0. */
int whole_open(struct whole *w);
void whole_close(struct whole *w);

/* A set of letters of one reading: one byte a letter, 1 = in it. Lives in the whole's arena. */
unsigned char *places_new(struct whole *w, const struct mst_reading *r);
/* Add "67:1:2:3" – or, without a letter, every letter of the word that is in the set `of`. Fails
 * the test when there is no such letter. */
void places_add(const struct mst_reading *r, unsigned char *set, const char *addr,
                const unsigned char *of);
/* The triggers of a rule, verse 0 included. */
unsigned char *places_of_rule(struct whole *w, const struct mst_reading *r, enum mst_rule rule);
int places_count(const struct mst_reading *r, const unsigned char *set);
/* Fails the test unless both sets are equal; names what is missing and what is too much. */
void places_must_equal(const struct mst_reading *r, const char *title,
                       const unsigned char *expected, const unsigned char *got);
/* The rule's triggers are exactly these addresses. */
void rule_must_be_at(struct whole *w, const struct mst_reading *r, const char *title,
                     enum mst_rule rule, const char *const addr[], size_t count);

/* The site of a rule at a letter, or NULL. */
const struct mst_site *site_of(const struct mst_reading *r, int32_t letter, enum mst_rule rule);
int32_t letter_at(const struct mst_reading *r, const char *addr); /* -1: none */

/* --- the print: the marks a letter bears ------------------------------------ */
int letter_bears(const struct mst_reading *r, int32_t letter, uint32_t mark);
/* How many marks it bears, pause and other signs between words not counted. */
int letter_mark_count(const struct mst_reading *r, int32_t letter);
int letter_is_last(const struct mst_reading *r, int32_t letter);

#endif
