#include "pen.h"

#include <stdlib.h>

struct pen {
    struct mst_fonts *fonts;
    struct mst_arena *line; /* emptied for every line */
    int failed;
};

enum mst_status pen_open(const char *folder, struct pen **out, struct mst_error *err)
{
    *out = NULL;
    struct pen *pen = calloc(1, sizeof *pen);
    if (!pen)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
    enum mst_status status = mst_fonts_open(folder, &pen->fonts, err);
    pen->line = mst_arena_new(0);
    if (status == MST_OK && !pen->line)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
    if (status != MST_OK) {
        pen_close(pen);
        return status;
    }
    *out = pen;
    return MST_OK;
}

void pen_close(struct pen *pen)
{
    if (!pen)
        return;
    mst_fonts_close(pen->fonts);
    mst_arena_free(pen->line);
    free(pen);
}

struct mst_span pen_scripture_font(const struct pen *pen)
{
    return mst_font_of(pen->fonts, MST_FONT_QURAN)->bytes;
}

int pen_failed(const struct pen *pen)
{
    return pen->failed;
}

double pen_draw(struct pen *pen, cairo_t *cr, enum mst_print print, double size, double x, double y,
                int right_to_left, struct mst_span text)
{
    struct mst_line line;
    enum mst_line_way way =
        right_to_left || print == MST_PRINT_QURAN ? MST_LINE_RIGHT_TO_LEFT : MST_LINE_LEFT_TO_RIGHT;
    mst_arena_reset(pen->line);
    int ok = mst_line_set(pen->fonts, pen->line, text, print, way, size, &line);
    for (int n = 0; ok && cr && n < line.run_count; n++)
        ok = mst_run_show(cr, &line.runs[n], x + line.runs[n].x, y);
    pen->failed |= !ok;
    return line.width;
}

double pen_width(struct pen *pen, enum mst_print print, double size, struct mst_span text)
{
    return pen_draw(pen, NULL, print, size, 0, 0, 0, text);
}
