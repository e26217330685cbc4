/* Scenes through Cairo: PDF and pictures. */
#include "phrase.h"
#include "sheet.h"

#include <cairo-pdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void set_ink(cairo_t *cr, int ink, enum mst_theme theme)
{
    uint32_t rgb = ink_colour(ink, theme);
    cairo_set_source_rgb(cr, (rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0,
                         (rgb & 255) / 255.0);
}

static void trace(cairo_t *cr, const struct scene_item *item)
{
    for (int i = 0; i < item->op_count; i++) {
        const struct path_op *op = &item->ops[i];
        switch (op->verb) {
        case PATH_MOVE:
            cairo_move_to(cr, op->x[0], op->y[0]);
            break;
        case PATH_LINE:
            cairo_line_to(cr, op->x[0], op->y[0]);
            break;
        case PATH_CURVE:
            cairo_curve_to(cr, op->x[0], op->y[0], op->x[1], op->y[1], op->x[2], op->y[2]);
            break;
        case PATH_CLOSE:
            cairo_close_path(cr);
            break;
        }
    }
}

static int draw_scene(cairo_t *cr, const struct scene *scene, unsigned layers, enum mst_theme theme)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    int ok = 1;
    for (size_t i = 0; i < scene->count && ok; i++) {
        const struct scene_item *item = &scene->items[i];
        if (!(layers & item->layer))
            continue;
        set_ink(cr, item->ink, theme);
        if (item->kind == SCENE_GLYPHS) {
            ok = mst_run_show(cr, &item->run, item->x, item->y);
            continue;
        }
        trace(cr, item);
        if (item->kind == SCENE_FILL) {
            cairo_fill(cr);
        } else {
            double dash[2];
            int count = scene_dash_pattern(item->dash, item->stroke_width, dash);
            cairo_set_line_width(cr, item->stroke_width);
            cairo_set_dash(cr, dash, count, 0);
            cairo_stroke(cr);
        }
    }
    return ok;
}

static void light_up(cairo_t *cr, const struct mst_sheet *sheet, int page, int32_t first,
                     int32_t last, enum mst_theme theme)
{
    set_ink(cr, INK_LIGHT_UP, theme);
    for (int32_t l = first; l >= 0 && l <= last && l < sheet->reading->letter_count; l++) {
        const struct mst_letter_box *b = &sheet->boxes[l];
        if (b->page != page || b->right <= b->left)
            continue;
        double pad = 0.03 * sheet->em;
        cairo_rectangle(cr, b->left - pad, b->baseline - 1.05 * sheet->em,
                        b->right - b->left + 2 * pad, 1.5 * sheet->em);
        cairo_fill(cr);
    }
}

static enum mst_status bad_page(const struct mst_sheet *sheet, int page, struct mst_error *err)
{
    if (page >= 0 && page < sheet->page_count)
        return MST_OK;
    return mst_fail(err, MST_NOT_FOUND, "the sheet has %d pages; page %d asked", sheet->page_count,
                    page + 1);
}

static enum mst_status cairo_failed(cairo_status_t status, struct mst_error *err)
{
    return mst_fail(err, status == CAIRO_STATUS_NO_MEMORY ? MST_NO_MEMORY : MST_INTERNAL,
                    "drawing the sheet failed: %s", cairo_status_to_string(status));
}

static cairo_status_t append(void *closure, const unsigned char *data, unsigned length)
{
    struct mst_string *out = closure;
    mst_string_add(out, (const char *)data, length);
    return out->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

enum mst_status mst_sheet_draw(const struct mst_sheet *sheet, int page, unsigned layers,
                               enum mst_theme theme, int32_t first, int32_t last, uint32_t *pixels,
                               int width, int height, int stride_bytes, struct mst_error *err)
{
    enum mst_status status = bad_page(sheet, page, err);
    if (status != MST_OK)
        return status;
    const struct scene *scene = &sheet->pages[page];
    cairo_surface_t *surface = cairo_image_surface_create_for_data(
        (unsigned char *)pixels, CAIRO_FORMAT_RGB24, width, height, stride_bytes);
    cairo_t *cr = cairo_create(surface);
    set_ink(cr, INK_PAPER, theme);
    cairo_paint(cr);
    cairo_scale(cr, width / scene->width, width / scene->width);
    light_up(cr, sheet, page, first, last, theme);
    int ok = draw_scene(cr, scene, layers, theme);
    cairo_status_t drawn = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    cairo_surface_destroy(surface);
    if (!ok || drawn)
        return cairo_failed(ok ? drawn : CAIRO_STATUS_NO_MEMORY, err);
    return MST_OK;
}

enum mst_status mst_sheet_png(const struct mst_sheet *sheet, int page, double dpi,
                              enum mst_theme theme, struct mst_string *out, struct mst_error *err)
{
    enum mst_status status = bad_page(sheet, page, err);
    if (status != MST_OK)
        return status;
    if (!(dpi >= 1 && dpi <= 1200))
        return mst_fail(err, MST_USAGE, "a picture of %g dots per inch is out of range (1–1200)",
                        dpi);
    const struct scene *scene = &sheet->pages[page];
    int width = (int)lround(scene->width * dpi / 72),
        height = (int)lround(scene->height * dpi / 72);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_status_t made = cairo_surface_status(surface);
    if (!made) {
        status = mst_sheet_draw(sheet, page, MST_LAYER_ALL, theme, -1, -1,
                                (uint32_t *)(void *)cairo_image_surface_get_data(surface), width,
                                height, cairo_image_surface_get_stride(surface), err);
        cairo_surface_mark_dirty(surface);
        if (status == MST_OK)
            made = cairo_surface_write_to_png_stream(surface, append, out);
    }
    cairo_surface_destroy(surface);
    if (status == MST_OK && made)
        status = cairo_failed(made, err);
    return status;
}

/* The title of the file: the teacher's, else the passage. */
static int pdf_title(const struct mst_sheet *sheet, struct mst_string *out)
{
    char range[96];
    struct mst_span title = sheet->options.title;
    if (title.len)
        mst_string_add(out, title.ptr, title.len);
    else
        mst_string_addf(out, "%s · %s", phrase(PHRASE_SHEET, MST_LANG_EN).ptr,
                        mst_range_print(sheet->reading->range, range));
    return !out->failed;
}

enum mst_status mst_sheet_pdf(const struct mst_sheet *sheet, struct mst_string *out,
                              struct mst_error *err)
{
    struct mst_string title = {0}, raw = {0};
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(append, &raw, sheet->page.width, sheet->page.height);
    cairo_t *cr = cairo_create(surface);
    int ok = pdf_title(sheet, &title);
    if (ok)
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title.ptr);
    mst_press_date(surface);
    for (int i = 0; i < sheet->page_count && ok; i++) {
        ok = draw_scene(cr, &sheet->pages[i], MST_LAYER_ALL, MST_THEME_LIGHT);
        cairo_show_page(cr);
    }
    cairo_status_t drawn = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    if (!drawn)
        drawn = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    enum mst_status status = MST_OK;
    if (!ok || raw.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the PDF");
    else if (drawn)
        status = cairo_failed(drawn, err);
    else
        status = mst_pdf_add_language(&raw, MST_LANG_AR, out, err);
    mst_string_free(&title);
    mst_string_free(&raw);
    return status;
}
