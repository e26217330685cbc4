/* show.c – glyphs onto a page, and what they say beside them. */
#include <cairo.h>
#include <hb-ot.h>
#include <mistara/press.h>
#include <stdlib.h>

/* A glyph in the place where it is drawn, and the byte it stands for. */
struct placed {
    cairo_glyph_t glyph;
    uint32_t byte;
};

/* Into the order of the text, so that a mark is said after its letter wherever it is drawn. Of a
 * line that runs to the left the glyphs come from its end, as they are drawn; they are turned
 * first. */
static void sort(struct placed *placed, int count, int leftwards)
{
    for (int a = 0, b = count - 1; leftwards && a < b; a++, b--) {
        struct placed other = placed[a];
        placed[a] = placed[b];
        placed[b] = other;
    }
    for (int n = 1; n < count; n++) {
        struct placed one = placed[n];
        int to = n;
        for (; to > 0 && placed[to - 1].byte > one.byte; to--)
            placed[to] = placed[to - 1];
        placed[to] = one;
    }
}

static int is_mark(const struct mst_font *font, const struct placed *placed)
{
    return hb_ot_layout_get_glyph_class(hb_font_get_face(font->hb),
                                        (hb_codepoint_t)placed->glyph.index) ==
           HB_OT_LAYOUT_GLYPH_CLASS_MARK;
}

/*
 * Glyphs in the order they are drawn in, and which bytes of the text each stands for. Of several
 * that stand for one character one says it and the others are drawn as shapes, which say nothing:
 * its mark (the hamza on a letter without dots, which alone would be another letter), else the
 * first (a letter and the stroke that lengthens it).
 */
static void show_text(cairo_t *cr, const struct mst_line_run *run, struct placed *placed, int count,
                      cairo_glyph_t *glyphs, cairo_text_cluster_t *clusters)
{
    int said = 0, leftwards = placed[0].byte > placed[count - 1].byte;
    sort(placed, count, leftwards);
    for (int n = 0, next; n < count; n = next) {
        int says = n;
        for (next = n + 1; next < count && placed[next].byte == placed[n].byte; next++)
            says = is_mark(run->font, &placed[next]) ? next : says;
        for (int shape = n; shape < next; shape++)
            if (shape != says)
                cairo_glyph_path(cr, &placed[shape].glyph, 1);
        placed[said++] = placed[says];
    }
    cairo_fill(cr);
    size_t begin = 0; /* what stands before the first and has no glyph goes along with it */
    for (int n = 0; n < said; n++) {
        size_t end = n + 1 < said ? placed[n + 1].byte : run->text.len;
        glyphs[leftwards ? said - 1 - n : n] = placed[n].glyph;
        clusters[n] = (cairo_text_cluster_t){.num_bytes = (int)(end - begin), .num_glyphs = 1};
        begin = end;
    }
    cairo_show_text_glyphs(cr, run->text.ptr, (int)run->text.len, glyphs, said, clusters, said,
                           leftwards ? CAIRO_TEXT_CLUSTER_FLAG_BACKWARD : 0);
}

int mst_run_show(struct _cairo *cr, const struct mst_line_run *run, double x, double y)
{
    size_t count = run->glyph_count > 0 ? (size_t)run->glyph_count : 0;
    if (count == 0)
        return 1;
    struct placed *placed = malloc(count * sizeof *placed);
    cairo_glyph_t *glyphs = malloc(count * sizeof *glyphs);
    cairo_text_cluster_t *clusters = malloc(count * sizeof *clusters);
    int ok = placed && glyphs && clusters;
    for (size_t n = 0; ok && n < count; n++) {
        const struct mst_glyph *g = &run->glyphs[n];
        glyphs[n] =
            (cairo_glyph_t){g->id, x + (double)g->x * run->size, y + (double)g->y * run->size};
        placed[n] = (struct placed){glyphs[n], g->byte};
    }
    if (ok) {
        cairo_set_font_face(cr, run->font->cairo);
        cairo_set_font_size(cr, run->size);
    }
    /* Cairo refuses a page for one ill-formed byte; such a text is drawn and not said */
    if (ok && cairo_surface_has_show_text_glyphs(cairo_get_target(cr)) &&
        mst_utf8_letters(run->text) > 0) {
        show_text(cr, run, placed, (int)count, glyphs, clusters);
    } else if (ok) {
        cairo_show_glyphs(cr, glyphs, (int)count);
    }
    free(placed);
    free(glyphs);
    free(clusters);
    return ok;
}
