/*
 * Fonts of the typeset floor: opened once, from our own folder, without any
 * system-wide font list (which is slow to scan and differs from machine to
 * machine). Every metric below is in em: y grows downwards from the baseline.
 */
#ifndef TYPESET_FONT_H
#define TYPESET_FONT_H

#include <cairo.h>
#include <hb.h>
#include <mistara/typeset.h>

enum font_role {
    FONT_AMIRI_QURAN,
    FONT_SCHEHERAZADE,
    FONT_ARABIC_BOLD,
    FONT_LATIN,
    FONT_LATIN_BOLD,
    FONT_LATIN_ITALIC,
    FONT_ROLE_COUNT
};

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

struct font {
    enum font_role role;
    hb_font_t *hb;
    cairo_font_face_t *cairo;
    double upem;
    unsigned glyph_count;
    struct glyph_profile **profiles; /* by glyph, filled when first asked for */
};

struct freetype; /* shared by the faces, see font.c */

struct mst_typeset {
    struct mst_arena *arena; /* profiles */
    struct freetype *freetype;
    struct font fonts[FONT_ROLE_COUNT];
    hb_buffer_t *buffer; /* reused for every shaping */
};

/* NULL when memory ran out. */
const struct glyph_profile *font_profile(struct mst_typeset *ts, struct font *font, unsigned glyph);
int font_has(const struct font *font, uint32_t cp);
/* The mark glyphs (vowels and signs) as the font classes them. */
int font_is_mark(const struct font *font, unsigned glyph);

#endif
