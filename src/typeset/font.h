/*
 * What the layout asks of a font beside its glyphs: where their ink lies. Every
 * metric below is in em: y grows downwards from the baseline.
 */
#ifndef TYPESET_FONT_H
#define TYPESET_FONT_H

#include <hb.h>
#include <mistara/press.h>
#include <mistara/typeset.h>

/*
 * The ink of one glyph, column by column: in column i (x from x0 + i * step)
 * no ink lies above top[i] or below bottom[i]. count is 0 for a blank glyph.
 */
struct glyph_profile {
    int count;
    float x0, step;
    float *top, *bottom;
    float x_min, x_max, y_min, y_max;
};

struct mst_typeset {
    struct mst_arena *arena; /* profiles */
    struct mst_fonts *fonts;
    struct glyph_profile **profiles[MST_FONT_ROLES]; /* by glyph, filled when first asked for */
    hb_buffer_t *buffer;                             /* reused for every word */
    struct mst_glyph blank; /* the scripture font's space, to the left of where it is put */
};

/* NULL when memory ran out. */
const struct glyph_profile *font_profile(struct mst_typeset *ts, const struct mst_font *font,
                                         unsigned glyph);
/* The mark glyphs (vowels and signs) as the font classes them. */
int font_is_mark(const struct mst_font *font, unsigned glyph);

#endif
