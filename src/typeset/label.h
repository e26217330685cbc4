/*
 * Small print: titles, names, credits. Any mixture of Latin and Arabic, set by
 * the Unicode bidirectional algorithm (FriBidi) and shaped by HarfBuzz in the
 * label fonts. One line at a time; label_wrap cuts a paragraph into lines.
 */
#ifndef TYPESET_LABEL_H
#define TYPESET_LABEL_H

#include "scene.h"

enum label_style { LABEL_PLAIN, LABEL_BOLD, LABEL_ITALIC };
enum label_align { LABEL_LEFT, LABEL_CENTRE, LABEL_RIGHT };

struct label_run {
    struct font *font;
    double x; /* from the label's left edge */
    struct glyph *glyphs;
    int glyph_count;
};

struct label {
    double size, width;
    struct label_run *runs;
    int run_count;
};

/* Shape text (one line). A failure to get memory shows as `scene`'s in label_draw: runs is NULL
 * and run_count 0. Returns 0 when memory ran out. */
int label_shape(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                enum label_style style, double size, struct label *out);
/* x is the left edge, middle or right edge as align says; y the baseline. */
void label_draw(struct scene *scene, const struct label *label, double x, double y,
                enum label_align align);
/* Break at spaces into lines not wider than width; *count lines. NULL when memory ran out. */
struct label *label_wrap(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                         enum label_style style, double size, double width, int *count);

#endif
