/*
 * mistara/text.h – the text of the Qurʾan as printed (Uthmani spelling of the
 * Medina print, Ḥafṣ), its translations, its divisions; addresses and ranges;
 * search. It holds no rule of recitation.
 *
 * The text lives in one packed file made at build time from the npm packages
 * quran-json (text, translations, transliteration, sura names) and quran-meta
 * (divisions). The file is memory-mapped; the checksums of its header, table,
 * verses, words and divisions are verified when it is opened, that of a
 * translation when it is first used (by any thread), and a damaged or
 * truncated file is refused. Bytes of scripture are exactly those of the
 * source: no normalisation, ever.
 *
 * Ownership: everything returned borrows from the mst_text and lives until
 * mst_text_close(). Threads: an open mst_text is read-only and may be shared.
 */
#ifndef MISTARA_TEXT_H
#define MISTARA_TEXT_H

#include <mistara/base.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { MST_SURA_COUNT = 114, MST_VERSE_COUNT = 6236 };

/*
 * An address: sura 1–114, verse 1…, word 1…, letter 1…; 0 = "not given"
 * (the whole). Verse 0 of a sura is the basmala read before it.
 */
struct mst_addr {
    int32_t sura, verse, word, letter;
};
int mst_addr_compare(struct mst_addr a, struct mst_addr b);
/* "67:1:2:3", dropping trailing parts that are not given. Returns out. */
char *mst_addr_print(struct mst_addr a, char out[48]);

/*
 * A stretch of text, both ends included. first.word == 0 means from the head
 * of the verse, last.word == 0 to its end; letters are 0. A range never runs
 * backwards.
 */
struct mst_range {
    struct mst_addr first, last;
};

struct mst_text;

/*
 * path: the packed file; NULL looks in $MISTARA_TEXT, then beside the build,
 * then in the installed data folder. BAD_DATA with a clear message when it is
 * damaged, truncated, or of another version.
 */
MST_MUST_CHECK enum mst_status mst_text_open(const char *path, struct mst_text **out,
                                             struct mst_error *err);
void mst_text_close(struct mst_text *text); /* accepts NULL */

/* The credits line every product carries (text, translations, licences), one line of UTF-8. */
struct mst_span mst_text_credits(const struct mst_text *text);
/* Version and checksum of the pack, for reports: "quran-json 3.1.2 · …". */
struct mst_span mst_text_version(const struct mst_text *text);

struct mst_sura {
    struct mst_span name_ar;    /* without "sura" */
    struct mst_span name_en;    /* transliterated, as in the source */
    struct mst_span meaning_en; /* "The Cow" where the source has it, else empty */
    int32_t verse_count;
    int32_t first_index; /* 0-based index of its first verse in the whole text */
    int meccan;
};
/* sura 1–114, else NULL. */
const struct mst_sura *mst_text_sura(const struct mst_text *text, int32_t sura);

/* Verses also have a running index 0…6235. -1 when there is no such verse. */
int32_t mst_text_verse_index(const struct mst_text *text, int32_t sura, int32_t verse);
struct mst_addr mst_text_verse_addr(const struct mst_text *text, int32_t verse_index);

/* The printed bytes of a verse; verse 0 gives the basmala (those of 1:1) for suras 2–8 and
 * 10–114. Empty span when there is no such verse. */
struct mst_span mst_text_verse(const struct mst_text *text, int32_t sura, int32_t verse);
/* Words are separated by U+0020 in the print. 0 when there is no such verse. */
int32_t mst_text_word_count(const struct mst_text *text, int32_t sura, int32_t verse);
/* The printed bytes of one word, pause and division signs included. */
struct mst_span mst_text_word(const struct mst_text *text, int32_t sura, int32_t verse,
                              int32_t word);

/* Translations and the transliteration, by short code: "en", "fr", …, "translit". */
int mst_text_translation_count(const struct mst_text *text);
struct mst_translation {
    struct mst_span code;   /* "en" */
    struct mst_span title;  /* "English" */
    struct mst_span credit; /* author and terms, as far as the source states them */
    int right_to_left;
};
const struct mst_translation *mst_text_translation(const struct mst_text *text, int n);
/* -1 when there is none with that code. */
int mst_text_translation_find(const struct mst_text *text, struct mst_span code);
/* Empty for a verse that is not there, and for a translation that turns out damaged: ask the check
 * first where that matters. Verse 0 gives 1:1's. */
struct mst_span mst_text_translated(const struct mst_text *text, int translation, int32_t sura,
                                    int32_t verse);

/* BAD_DATA when the translation is damaged in the pack; the check runs once. */
MST_MUST_CHECK enum mst_status mst_text_translation_check(const struct mst_text *text,
                                                          int translation, struct mst_error *err);

/* Where a verse lies. hizb_quarter counts 1–240. ruku counts through the whole text. */
struct mst_place {
    int32_t juz, hizb, hizb_quarter, page, ruku, manzil;
    int sajda; /* a prostration belongs to this verse */
};
struct mst_place mst_text_place(const struct mst_text *text, int32_t sura, int32_t verse);
enum mst_division { MST_JUZ, MST_HIZB, MST_HIZB_QUARTER, MST_PAGE, MST_RUKU, MST_MANZIL };
/* How many there are (30, 60, 240, 604, …), and the range of the n-th (1-based). */
int32_t mst_text_division_count(const struct mst_text *text, enum mst_division d);
MST_MUST_CHECK enum mst_status mst_text_division_range(const struct mst_text *text,
                                                       enum mst_division d, int32_t n,
                                                       struct mst_range *out,
                                                       struct mst_error *err);

/*
 * What a teacher types for a passage → a range. Understood: "67", "67:1",
 * "67:1-5", "67:1–5", "67:1-68:3", "78-80" (suras), "67:3:2-4" (words),
 * sura names in Arabic or English with or without article, marks, hyphens and
 * case ("al-Mulk 1-5", "mulk", "الملك ١-٥"), Arabic digits, "juz 30", "hizb
 * 60", "quarter 240", "page 604", "ruku 5", "all", with Arabic words for them
 * too. Errors say what is wrong and what there is: "sura 2 has 286 verses;
 * 290 asked"; for a misspelt name the nearest names are offered.
 */
MST_MUST_CHECK enum mst_status mst_range_parse(const struct mst_text *text, struct mst_span s,
                                               struct mst_range *out, struct mst_error *err);
/* "67:3:2" or "67:3:2:4" or "67:3" → an address that exists (letters are not checked here). */
MST_MUST_CHECK enum mst_status mst_addr_parse(const struct mst_text *text, struct mst_span s,
                                              struct mst_addr *out, struct mst_error *err);
/* "67:1–5" as a teacher would write it. Returns out. */
char *mst_range_print(struct mst_range r, char out[96]);

/*
 * Search. A query with vowel marks must match them; one without matches the
 * skeleton (hamza seats, alif forms, ى/ي and ة/ه folded), in everyday or in
 * the print's spelling. A query that is not Arabic searches the given
 * translation (-1: English), case and accents folded, from the head of a word
 * on; Arabic letters search a translation only if it is one that is written
 * from right to left. Several words must stand in that order next to one
 * another. Hits in order of the text, at most max, in the arena. USAGE when
 * the query holds no letter; BAD_DATA when the translation is damaged.
 */
struct mst_hit {
    int32_t verse_index;
    int32_t first_word, last_word; /* Arabic hits; 0 for translations */
    int32_t byte_off, byte_len;    /* of the hit in the verse or its translation */
    int translation;               /* -1: the Arabic text */
};
MST_MUST_CHECK enum mst_status mst_text_search(const struct mst_text *text, struct mst_span query,
                                               int translation, size_t max, struct mst_arena *arena,
                                               struct mst_hit **hits, size_t *count,
                                               struct mst_error *err);

/*
 * The four code substitutions that fonts need for this print (0652 → 06DF and
 * the three open tanwīns; see docs/text.md), and the thin space of 2:72
 * dropped. For display only; reversible.
 */
void mst_text_for_display(struct mst_span printed, struct mst_string *out);

#ifdef __cplusplus
}
#endif
#endif
