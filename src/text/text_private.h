/* What the files of this floor share about an open text. */
#ifndef TEXT_PRIVATE_H
#define TEXT_PRIVATE_H

#include "pack_format.h"

#include <mistara/text.h>
#include <stdatomic.h>

/* A translation's section is checked when it is first asked for. Two threads may check it at once;
 * both come to the same answer. */
enum translation_state { TRANSLATION_UNCHECKED, TRANSLATION_GOOD, TRANSLATION_DAMAGED };

struct translation {
    struct mst_translation described;
    const unsigned char *section;
    size_t section_bytes;
    uint64_t checksum;
    atomic_uchar state;
};

/* Indices of the verses that open a division, ascending. */
struct starts {
    const uint32_t *at;
    int32_t count;
};

struct mst_text {
    struct mst_map map;
    struct mst_span version, credits;
    struct mst_sura suras[MST_SURA_COUNT];
    const uint32_t *verse_offsets; /* [MST_VERSE_COUNT + 1] */
    const char *verse_bytes;
    const uint32_t *verse_words; /* [MST_VERSE_COUNT + 1] */
    const uint32_t *word_offsets;
    struct starts juz, hizb_quarter, page, ruku, manzil, sajda;
    struct translation *translations;
    int translation_count;
};

/* The index of the last start that is not after verse_index; starts->at[0] is 0. */
int32_t text_find_start(struct starts starts, int32_t verse_index);

/* A verse by its running index, which must exist. */
struct mst_span text_verse_at(const struct mst_text *text, int32_t verse_index);

/* Look at the checksum and the offsets of a translation's section; true when both are right. */
int text_translation_good(const struct mst_text *text, int translation);

/* Folding of what people type and what is printed: see fold.c. */
enum fold_kind {
    FOLD_VOWELLED, /* Arabic with its vowel marks, spelling differences levelled */
    FOLD_SKELETON, /* Arabic letters alone */
    FOLD_LATIN,    /* every other script: case and accents levelled, punctuation gone */
};
/*
 * What cp becomes: up to 3 code points in out, their count returned; 0 when
 * it is passed over. A space stands for everything that parts words.
 */
int text_fold(enum fold_kind kind, uint32_t cp, uint32_t out[3]);

int text_is_arabic_letter(uint32_t cp);
int text_is_arabic_vowel(uint32_t cp);

/*
 * The sura called name: an exact folded match, else 0. When there is none,
 * nearest holds up to 3 suras whose names come closest, 0 = none.
 */
int32_t text_sura_by_name(const struct mst_text *text, struct mst_span name, int32_t nearest[3]);

#endif
