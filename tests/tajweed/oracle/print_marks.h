/*
 * print_marks.h – a second, independent reading of the first edition: of its
 * printed marks alone, read straight through from the first verse to the
 * last, with the basmala the reader says between suras. It derives no rule
 * from the letters where a mark says it: a sukūn is a clear letter, an open
 * tanwīn an assimilated one, a shadda on the next letter a complete merging, a
 * maddah a lengthening beyond the natural one, a zero a silent letter.
 *
 * Source: the marks of the Medina print as explained in its own afterword
 * (taʿrīf bi-hādhā l-muṣḥaf) and counted in npm quran-json's dist/quran.json;
 * the wording of the afterword is from memory.
 */
#ifndef TEST_ORACLE_PRINT_MARKS_H
#define TEST_ORACLE_PRINT_MARKS_H

#include "edition.h"

#include <mistara/tajweed.h>

/* One letter on the way through the whole text. */
struct read_letter {
    int sura, verse; /* verse 0: the basmala */
    struct print_letter l;
    int word_idx; /* running through the whole text */
    int ends_word;
    int opening;      /* of a spelled opening */
    int holds_merged; /* a nasal letter has merged into it */
    int tanwin_kasra; /* its tanwīn stands before a joining alif */
    int lengthens;    /* it is, or bears, a lengthening of whatever kind and length */
};

/* What a printed mark says of one letter. */
struct print_site {
    enum mst_rule rule;
    int trigger; /* index into print_reading.letters */
    int host;    /* the same; HOST_UNSAID when the mark does not say */
    int nasal, complete;
};
enum { HOST_UNSAID = -1 };

struct print_reading {
    struct read_letter *letters;
    int letter_count, word_count;
    struct print_site *sites; /* in order of trigger */
    int site_count;
    int unread; /* marks this reading could not make sense of; each is told on stderr */
};

/* NULL when memory ran out or a verse cannot be split into letters. */
struct print_reading *print_reading_new(const struct edition *first);
void print_reading_free(struct print_reading *reading);

/* The rules that a printed mark decides wherever they act, so that both directions can be
 * compared. Letters of the spelled openings are decided by their maddah alone. */
int print_decides(enum mst_rule rule);

#endif
