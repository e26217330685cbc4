#include "label.h"

#include <fribidi.h>

int label_shape(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                enum mst_print print, double size, struct mst_line *out)
{
    return mst_line_set(ts->fonts, arena, text, print, MST_LINE_BY_ITSELF, size, out);
}

/* A line that begins with a word of the other script still runs as its paragraph does. */
static enum mst_line_way way_of(struct mst_span text)
{
    for (size_t off = 0; off < text.len;) {
        FriBidiCharType type = fribidi_get_bidi_type(mst_utf8_next(text.ptr, text.len, &off));
        if (FRIBIDI_IS_LETTER(type))
            return FRIBIDI_IS_RTL(type) ? MST_LINE_RIGHT_TO_LEFT : MST_LINE_LEFT_TO_RIGHT;
    }
    return MST_LINE_BY_ITSELF;
}

void label_draw(struct scene *scene, const struct mst_line *label, double x, double y,
                enum label_align align)
{
    if (align == LABEL_CENTRE)
        x -= label->width / 2;
    else if (align == LABEL_RIGHT)
        x -= label->width;
    for (int i = 0; i < label->run_count; i++) {
        const struct mst_line_run *run = &label->runs[i];
        scene_glyphs(scene, run, x + run->x, y);
    }
}

static size_t word_end(struct mst_span text, size_t from)
{
    while (from < text.len && text.ptr[from] != ' ' && text.ptr[from] != '\n')
        from++;
    return from;
}

static int part_width(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                      size_t begin, size_t end, enum mst_print style, double size, double *width)
{
    struct mst_line label;
    int ok = label_shape(ts, arena, (struct mst_span){text.ptr + begin, end - begin}, style, size,
                         &label);
    *width = label.width;
    return ok;
}

/* Words are measured one by one, then each line is shaped once, so time grows with the text and
 * not with its square. */
struct mst_line *label_wrap(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                            enum mst_print style, double size, double width, int *count)
{
    size_t most = 1;
    for (size_t i = 0; i < text.len; i++)
        most += text.ptr[i] == ' ' || text.ptr[i] == '\n';
    struct mst_line *lines = mst_arena_alloc(arena, most, sizeof *lines);
    double space;
    *count = 0;
    if (!lines || !part_width(ts, arena, MST_SPAN(" "), 0, 1, style, size, &space))
        return NULL;
    const enum mst_line_way way = way_of(text);
    size_t begin = 0;
    while (begin < text.len) {
        size_t end = word_end(text, begin);
        double used;
        if (!part_width(ts, arena, text, begin, end, style, size, &used))
            return NULL;
        while (end < text.len && text.ptr[end] != '\n') {
            size_t next = word_end(text, end + 1);
            double word;
            if (!part_width(ts, arena, text, end + 1, next, style, size, &word))
                return NULL;
            /* a line shaped whole may be a hair wider than its words */
            if (used + space + word > width * 0.99)
                break;
            used += space + word;
            end = next;
        }
        if (end > begin &&
            !mst_line_set(ts->fonts, arena, (struct mst_span){text.ptr + begin, end - begin}, style,
                          way, size, &lines[(*count)++]))
            return NULL;
        begin = end + 1;
    }
    return lines;
}
