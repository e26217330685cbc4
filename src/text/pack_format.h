/*
 * The packed text: how the file is laid out.  Shared by the reader (pack.c)
 * and the writer (tools/pack), and by nobody else.
 *
 *   header · section table · sections, each starting at a multiple of 8
 *
 * All numbers little-endian.  Every section carries an XXH64 of its bytes;
 * the header carries one of the section table and one of itself.  A reader
 * trusts nothing: bounds and order are checked even where checksums agree.
 * docs/text.md tells the same with the reasons.
 */
#ifndef TEXT_PACK_FORMAT_H
#define TEXT_PACK_FORMAT_H

#include <stddef.h>
#include <stdint.h>

enum { PACK_VERSION = 1, PACK_ALIGN = 8, PACK_MAX_TRANSLATIONS = 64 };

/* The line feeds betray a file that went through a text-mode copy. */
#define PACK_MAGIC "MSTtext\n"

struct pack_header {
    char magic[8];
    uint32_t version;
    uint32_t section_count;
    uint64_t file_bytes;
    uint64_t table_checksum;  /* of the section table */
    uint64_t header_checksum; /* of the bytes before this field */
};

/* X(name, size of one item in bytes, 1 when checked at first use instead of at opening) */
#define PACK_SECTION_LIST(X)                                                                       \
    X(INFO, sizeof(struct pack_info), 0)                                                           \
    X(STRINGS, 1, 0) /* bytes that pack_text points into */                                        \
    X(SURAS, sizeof(struct pack_sura), 0)                                                          \
    X(VERSE_OFFSETS, 4, 0) /* [6237] into VERSE_BYTES, the last one its length */                  \
    X(VERSE_BYTES, 1, 0)   /* the verses, nothing between them */                                  \
    X(VERSE_WORDS, 4, 0)   /* [6237] index of the verse's first word in WORD_OFFSETS */            \
    X(WORD_OFFSETS, 4, 0)  /* start of each word, bytes from the start of its verse */             \
    X(JUZ, 4, 0)           /* 0-based indices of the verses that open a division … */            \
    X(HIZB_QUARTER, 4, 0)                                                                          \
    X(PAGE, 4, 0)                                                                                  \
    X(RUKU, 4, 0)                                                                                  \
    X(MANZIL, 4, 0)                                                                                \
    X(SAJDA, 4, 0) /* … and of those with a prostration */                                       \
    X(TRANSLATIONS, sizeof(struct pack_translation), 0)                                            \
    X(TRANSLATION, 1, 1) /* uint32_t[6237] into what follows, then the bytes */

enum pack_kind {
#define X(name, item_bytes, lazy) PACK_##name,
    PACK_SECTION_LIST(X)
#undef X
};

struct pack_section {
    uint32_t kind;
    uint32_t number; /* of the translation; else 0 */
    uint64_t offset; /* from the start of the file */
    uint64_t bytes;
    uint64_t checksum;
};

/* A stretch of STRINGS. */
struct pack_text {
    uint32_t offset, len;
};

struct pack_info {
    struct pack_text version, credits;
};

struct pack_sura {
    struct pack_text name_ar, name_en, meaning_en;
    uint32_t first_index, verse_count, meccan, unused;
};

struct pack_translation {
    struct pack_text code, title, credit;
    uint32_t right_to_left, unused;
};

/* XXH64 with seed 0, as specified in "xxHash fast digest algorithm", version 0.1.1. */
uint64_t text_checksum(const void *bytes, size_t len);

#endif
