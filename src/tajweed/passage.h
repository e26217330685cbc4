/*
 * tajweed/passage.h – a range of the text, with the basmalas that are read, as
 * a row of words; and the words just outside it. For reading.c.
 */
#ifndef MISTARA_TAJWEED_PASSAGE_H
#define MISTARA_TAJWEED_PASSAGE_H

#include "internal.h"

/* A verse, or the part of it that is read. */
struct verse_part {
    int32_t sura, verse;
    struct mst_span bytes;
    int32_t first_word, last_word; /* 1-based; last 0: to the end */
};

/* One word's bytes and what its neighbours say about it. */
struct word_bytes {
    const struct verse_part *part;
    int32_t number; /* 1-based in the verse */
    int32_t off, len;
    bool verse_end;   /* the last word of its verse */
    bool before_wasl; /* the next word, read or not, begins with a joining hamza */
};

struct passage {
    const struct mst_text *text;
    const struct mst_reading_options *options;
    struct verse_part *parts;
    int32_t part_count;
    /* no more than: words, bytes of all words, bytes of any one word */
    int32_t word_count;
    size_t bytes, longest_word;
    /* the words before and after; number 0: there is none */
    struct verse_part before_part, after_part;
    struct word_bytes before, after;
    /* where the next word is */
    int32_t part, number, off;
};

MST_MUST_CHECK enum mst_status mst_passage_open(const struct mst_text *text, struct mst_range range,
                                                const struct mst_reading_options *options,
                                                struct mst_arena *arena, struct passage *out,
                                                struct mst_error *err);
/* The next word in reading order; false at the end. */
bool mst_passage_next(struct passage *p, struct word_bytes *out);
/* Is this word one of the listed stops? */
bool mst_stop_listed(const struct mst_reading_options *o, int32_t sura, int32_t verse, int32_t word,
                     bool last_of_verse);

#endif
