/*
 * A word of scripture, shaped: glyphs, and where each of its letters lies.
 * All measures in em, x from the word's left edge, y down from the baseline.
 */
#ifndef TYPESET_WORD_H
#define TYPESET_WORD_H

#include "font.h"

struct box {
    double x0, y0, x1, y1;
};
static inline struct box box_empty(void)
{
    return (struct box){1e9, 1e9, -1e9, -1e9};
}
static inline int box_is_empty(struct box b)
{
    return b.x1 <= b.x0;
}
static inline void box_add(struct box *b, double x0, double y0, double x1, double y1)
{
    b->x0 = x0 < b->x0 ? x0 : b->x0;
    b->y0 = y0 < b->y0 ? y0 : b->y0;
    b->x1 = x1 > b->x1 ? x1 : b->x1;
    b->y1 = y1 > b->y1 ? y1 : b->y1;
}

struct word_letter {
    struct box ink;     /* letter and marks */
    struct box base;    /* the letter alone */
    double left, right; /* its share of the advance */
};

struct word {
    struct mst_glyph *glyphs; /* left to right */
    struct mst_glyph *blank;  /* what ends the word, and glyphs after it */
    int glyph_count;
    int pause_glyph; /* that of a pause sign of the print, -1 = none: set lower by the line */
    double width;    /* advance */
    struct word_letter *letters; /* as mst_word.first_letter … */
    struct mst_span said;        /* its printed bytes and a blank */
    char *display; /* what was shaped: printed bytes after the display substitutions */
    size_t display_len;
    size_t *starts; /* byte of `display` where each letter begins, and where the last one ends */
};

/*
 * Shape word number word_idx of the reading in font. missing counts glyphs
 * the font has not. Display only: the open tanwīns and the rounded zero in
 * the codes the font knows, the thin space of 2:72 dropped, and a tatweel
 * between two joined letters that both bear a maddah (the spelled openings),
 * whose maddahs would touch otherwise.
 */
MST_MUST_CHECK enum mst_status word_shape(struct mst_typeset *ts, const struct mst_font *font,
                                          const struct mst_reading *reading, int32_t word_idx,
                                          struct mst_arena *arena, struct word *out, int *missing,
                                          struct mst_error *err);

#endif
