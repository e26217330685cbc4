/*
 * case_parts.h – what the two halves of the case runner share: the case at hand, its report, and
 * the words of a line.
 */
#ifndef MISTARA_TESTS_CASE_PARTS_H
#define MISTARA_TESTS_CASE_PARTS_H

#include "case_run.h"

struct run {
    const struct mst_text *text;
    struct mst_arena *arena;
    const char *name;
    FILE *report;
    int line;
    struct case_tally tally;

    /* The case at hand. */
    int open, has_source, has_passage, refused; /* refused: `error:` was claimed and held */
    int claims;
    struct mst_range range;
    struct mst_reading_options options;
    struct mst_reading *reading; /* made by the first claim */
};

void case_fail(struct run *run, const char *fmt, ...) MST_PRINTF(2, 3);
/* The next word of a line, cut in place; NULL at the end. */
char *case_next_word(char **rest);
int case_parse_int(const char *s, int *out);
/* "67:1:2:3"; a part may be missing at the end (0). */
int case_parse_addr(const char *s, struct mst_addr *out);
/* Index of a word of the reading; -1, and a failure, when the passage has none such. */
int case_word_index(struct run *run, struct mst_addr a);

/* case_sounds.c: sounds WORD[..WORD] = PHONE … */
void case_claim_sounds(struct run *run, char *rest);

#endif
