/*
 * edition.h – the verses of a printed edition as npm delivers them, and the
 * print's letters with their marks. Shared by the tool that strips the marks
 * and by the check that reads them; it knows how the print is coded, not what
 * the marks mean.
 *
 * First edition:  npm quran-json, dist/quran.json (suras holding verses).
 * Second edition: npm quran-validator, data/quran-verses.json (a flat list of
 * verses), read as data only.
 *
 * Ownership: an edition owns its verses until edition_close(). Letters are
 * written into the caller's array.
 */
#ifndef TEST_ORACLE_EDITION_H
#define TEST_ORACLE_EDITION_H

#include <stddef.h>
#include <stdint.h>

enum { EDITION_VERSES = 6236, LETTER_MARKS_MAX = 12, VERSE_LETTERS_MAX = 2048 };

enum edition_form { EDITION_FIRST, EDITION_SECOND };

struct edition_verse {
    int sura, verse;
    const char *text; /* UTF-8, NUL-terminated, borrowed from the edition */
};

struct edition {
    enum edition_form form;
    struct edition_verse verses[EDITION_VERSES];
    void *json; /* keeps the texts alive */
};

/* NULL when the file is not one of the two editions; the reason goes to stderr. */
struct edition *edition_open(const char *path);
void edition_close(struct edition *edition); /* accepts NULL */
/* 0-based index of a verse, -1 when there is none. */
int edition_find(const struct edition *edition, int sura, int verse);

/*
 * A letter of the print: its base, then everything that stands on it in the
 * order of the print. A tatweel (or the thin space of 2:72) that bears a
 * hamza, the small nūn of 21:88, or a small high yāʾ with a vowel is a letter
 * of its own; every other tatweel belongs to the letter before it, and so do
 * pause signs.
 */
struct print_letter {
    int word;   /* 1-based */
    int number; /* 1-based in its word */
    uint32_t base;
    uint32_t marks[LETTER_MARKS_MAX];
    int mark_count;
};

/*
 * The letters of a verse. lead: the code point printed before the first
 * letter (the quarter sign), 0 when there is none. Returns the number of
 * letters, -1 when the verse cannot be split so.
 */
int print_letters(const char *text, struct print_letter out[VERSE_LETTERS_MAX], uint32_t *lead);
int print_has(const struct print_letter *letter, uint32_t mark);

#endif
