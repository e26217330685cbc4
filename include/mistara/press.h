/*
 * mistara/press.h – what sheets and reports are printed with: the fonts, a line
 * of small print set in them, and the notation's inks.
 *
 * Fonts are opened once, from our own folder, without any system-wide font list
 * (which is slow to scan and differs from machine to machine).
 *
 * Units: sizes, widths and places of runs in points; glyph origins in em, y down
 * from the baseline.
 * Ownership: mst_fonts owns its fonts; a line belongs to the arena it was set in.
 * Threads: one mst_fonts belongs to one thread at a time.
 * Errors: MST_NOT_FOUND when a font is missing, MST_BAD_DATA when it is damaged.
 */
#ifndef MISTARA_PRESS_H
#define MISTARA_PRESS_H

#include <mistara/tajweed.h>

#ifdef __cplusplus
extern "C" {
#endif

/* HarfBuzz's and Cairo's own, for those who draw with them. */
struct hb_font_t;
struct _cairo_font_face;
struct _cairo_surface;
struct _cairo;

/* --- fonts ------------------------------------------------------------- */
enum mst_font_role {
    MST_FONT_QURAN,
    MST_FONT_ARABIC,
    MST_FONT_ARABIC_BOLD,
    MST_FONT_LATIN,
    MST_FONT_LATIN_BOLD,
    MST_FONT_LATIN_ITALIC,
    MST_FONT_ROLES
};

struct mst_font {
    enum mst_font_role role;
    struct hb_font_t *hb; /* scaled to font units */
    struct _cairo_font_face *cairo;
    double upem; /* font units in an em */
    unsigned glyph_count;
    struct mst_span bytes; /* the file */
};

struct mst_fonts;
/* folder NULL: $MISTARA_FONTS, then the build's fonts, then the installed ones. */
MST_MUST_CHECK enum mst_status mst_fonts_open(const char *folder, struct mst_fonts **out,
                                              struct mst_error *err);
void mst_fonts_close(struct mst_fonts *fonts); /* accepts NULL */
const struct mst_font *mst_font_of(const struct mst_fonts *fonts, enum mst_font_role role);
int mst_font_has(const struct mst_font *font, uint32_t cp);

/* --- a line of small print ----------------------------------------------- */
/* A code is bold and set letter by letter: what is typed from paper has no ligatures. */
enum mst_print {
    MST_PRINT_PLAIN,
    MST_PRINT_BOLD,
    MST_PRINT_ITALIC,
    MST_PRINT_CODE,
    MST_PRINT_QURAN
};
/* Which way the line runs: as its own first strong letter does, or as the paragraph does. */
enum mst_line_way { MST_LINE_BY_ITSELF, MST_LINE_LEFT_TO_RIGHT, MST_LINE_RIGHT_TO_LEFT };

struct mst_glyph {
    uint32_t id;
    float x, y;    /* origin */
    uint32_t byte; /* where in the run's text the character it stands for begins; glyphs that only
                      together stand for one have the same */
};
struct mst_line_run {
    const struct mst_font *font;
    double size;
    double x;                       /* from the line's left edge */
    const struct mst_glyph *glyphs; /* left to right, marks about where their letter stands */
    int glyph_count;
    struct mst_span text; /* what it says, for whoever copies or listens; empty = nothing */
};
struct mst_line {
    double width;
    struct mst_line_run *runs; /* left to right */
    int run_count;
};

/*
 * Any mixture of Latin and Arabic, put in order by the Unicode bidirectional
 * algorithm (UAX #9, FriBidi) and shaped by HarfBuzz. Returns 0 when memory ran
 * out.
 */
MST_MUST_CHECK int mst_line_set(struct mst_fonts *fonts, struct mst_arena *arena,
                                struct mst_span text, enum mst_print print, enum mst_line_way way,
                                double size, struct mst_line *out);

/*
 * Draw a run with its beginning at x, y. Where the page can hold it (a PDF), what the glyphs say
 * goes along with them, so that it is copied, searched and read aloud as it was written. Returns 0
 * when memory ran out.
 */
MST_MUST_CHECK int mst_run_show(struct _cairo *cr, const struct mst_line_run *run, double x,
                                double y);

/* --- inks and the date ------------------------------------------------------ */
enum mst_theme { MST_THEME_LIGHT, MST_THEME_DARK };
/* The notation's inks as 0xRRGGBB: one per family, of one author's schemes (src/press/ink.c). */
uint32_t mst_ink_of_family(enum mst_family family, enum mst_theme theme);

/*
 * The date of a PDF must not differ from one run to the next: that of
 * SOURCE_DATE_EPOCH (reproducible-builds.org) where it is set, else none.
 */
void mst_press_date(struct _cairo_surface *pdf);

#ifdef __cplusplus
}
#endif

#endif
