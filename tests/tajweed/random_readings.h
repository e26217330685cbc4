/*
 * random_readings.h – random passages, stops and options for the property
 * tests, and what they compare. The seed is printed; MISTARA_SEED=n tries
 * another, MISTARA_ROUNDS=n tries longer. Each property starts from the seed,
 * so that one alone repeats what it did among the others.
 */
#ifndef TEST_TAJWEED_RANDOM_READINGS_H
#define TEST_TAJWEED_RANDOM_READINGS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <mistara/tajweed.h>

struct world {
    struct mst_text *text;
    struct mst_addr *words; /* every word of the text, without the basmalas between suras */
    int word_count;
    uint64_t seed, state;
    int rounds;
};

/* A stretch of words by their running index, both ends included. */
struct stretch {
    int first, last;
};

/* For cmocka's group and test set-up. */
int open_world(void **state);
int close_world(void **state);
int start_from_seed(void **state);

/* 0 … n - 1 */
int below(struct world *w, int n);
struct mst_reading_options random_options(struct world *w);
struct stretch random_stretch(struct world *w, int length_max);
struct mst_range range_of(const struct world *w, struct stretch s);

struct mst_arena *new_arena(void);
/* NULL when the options or stops are refused (USAGE); any other failure fails the test. */
struct mst_reading *read_stretch(const struct world *w, struct stretch s,
                                 const struct mst_reading_options *o, struct mst_arena *arena);
/* The same, stopping at the given words and at the end only. */
struct mst_reading *read_stopping(const struct world *w, struct stretch s,
                                  const struct mst_reading_options *base,
                                  const struct mst_addr *stops, size_t stop_count,
                                  struct mst_arena *arena);

const struct mst_word *word_of(const struct mst_reading *r, int letter);
int word_index(const struct mst_reading *r, struct mst_addr at);
const struct mst_site *find_site(const struct mst_reading *r, enum mst_rule rule, int trigger);

/* Every field equal; letters of b are those of a moved by shift. */
int same_site(const struct mst_site *a, const struct mst_site *b, int shift);
int same_sound(const struct mst_sound *a, const struct mst_sound *b, int shift);

/* Tell about the site and fail the test unless it holds. */
void tell_site(const struct world *w, const struct mst_reading *r, const struct mst_site *s,
               const char *what);
void must(const struct world *w, const struct mst_reading *r, const struct mst_site *s, int holds,
          const char *what);

#endif
