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

/* --- folding: what people type and what is printed, brought together ---- */

/* Bidirectional controls, joiners and the byte order mark: there, but not to be read. */
int text_is_invisible(uint32_t cp);
/* A letter or mark of the Arabic script (its digits and punctuation are none). */
int text_is_arabic(uint32_t cp);
/* The value of an ASCII, Arabic or Persian digit, else -1. */
int text_digit_value(uint32_t cp);

/*
 * What cp becomes where case, accents and spelling of the same letter should
 * not count: its up to 2 code points in out, their count returned; 0 when it
 * is passed over. A space stands for whatever parts words.
 */
int text_fold(uint32_t cp, uint32_t out[2]);

/* One letter of Arabic as the search sees it. */
struct symbol {
    uint32_t byte_off; /* of its base letter or sign, in the text it comes from */
    uint16_t letter;   /* folded; ' ' between words, 0 for a hamza without a seat */
    uint16_t other;    /* may stand instead of letter (the alif of a wāw that is read as one) */
    uint8_t marks;     /* MARK_… */
    uint8_t optional;  /* the other spelling may lack it */
    uint8_t hamza;     /* bears a hamza */
    uint8_t sign;      /* a small sign of the letter before it, no letter of its own */
};
enum {
    MARK_FATHA = 1,
    MARK_DAMMA = 2,
    MARK_KASRA = 4,
    MARK_TANWIN = 8, /* together with its vowel */
    MARK_SHADDA = 16,
    MARK_SUKUN = 32,
};
/*
 * Cut Arabic into symbols; at most max, their count returned. As many as
 * there are bytes are always room enough. printed: the codes are those of the
 * print, where 0652 is the zero on a silent letter; else a keyboard's, where
 * it is the sukūn.
 */
size_t text_symbols(struct mst_span s, int printed, struct symbol *out, size_t max);

/*
 * The sura called name, 0 when none is called so. Then nearest holds up to 3
 * suras whose names come closest, 0 = none.
 */
int32_t text_sura_by_name(const struct mst_text *text, struct mst_span name, int32_t nearest[3]);

#endif
