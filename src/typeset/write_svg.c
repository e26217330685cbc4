/*
 * A page as SVG: every glyph once as a shape, words and marks as groups with a
 * <title>, so that a screen reader and a click find them.
 */
#include "phrase.h"
#include "sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Shortest form of a coordinate, three decimals at most. */
static void add_number(struct mst_string *out, double v)
{
    char buf[40];
    int n = snprintf(buf, sizeof buf, "%.3f", v);
    while (n > 1 && buf[n - 1] == '0')
        n--;
    if (n > 1 && buf[n - 1] == '.')
        n--;
    if (n == 2 && buf[0] == '-' && buf[1] == '0')
        mst_string_adds(out, "0");
    else
        mst_string_add(out, buf, (size_t)n);
}

static void add_point(struct mst_string *out, double x, double y)
{
    add_number(out, x);
    mst_string_adds(out, " ");
    add_number(out, y);
}

/* --- glyph shapes -------------------------------------------------------------- */

static void shape_move(hb_draw_funcs_t *f, void *data, hb_draw_state_t *state, float x, float y,
                       void *user)
{
    (void)f, (void)state, (void)user;
    mst_string_addf(data, "M%g %g", (double)x, (double)-y);
}
static void shape_line(hb_draw_funcs_t *f, void *data, hb_draw_state_t *state, float x, float y,
                       void *user)
{
    (void)f, (void)state, (void)user;
    mst_string_addf(data, "L%g %g", (double)x, (double)-y);
}
static void shape_quadratic(hb_draw_funcs_t *f, void *data, hb_draw_state_t *state, float cx,
                            float cy, float x, float y, void *user)
{
    (void)f, (void)state, (void)user;
    mst_string_addf(data, "Q%g %g %g %g", (double)cx, (double)-cy, (double)x, (double)-y);
}
static void shape_cubic(hb_draw_funcs_t *f, void *data, hb_draw_state_t *state, float ax, float ay,
                        float bx, float by, float x, float y, void *user)
{
    (void)f, (void)state, (void)user;
    mst_string_addf(data, "C%g %g %g %g %g %g", (double)ax, (double)-ay, (double)bx, (double)-by,
                    (double)x, (double)-y);
}
static void shape_close(hb_draw_funcs_t *f, void *data, hb_draw_state_t *state, void *user)
{
    (void)f, (void)state, (void)user;
    mst_string_adds(data, "Z");
}

/* What draws nothing has no place in a picture. */
static int is_blank(const struct mst_line_run *run, int glyph)
{
    size_t byte = run->glyphs[glyph].byte;
    return byte < run->text.len && run->text.ptr[byte] == ' ';
}

static void add_shapes(const struct mst_sheet *sheet, const struct scene *scene,
                       unsigned char *const seen[MST_FONT_ROLES], struct mst_string *out)
{
    hb_draw_funcs_t *draw = hb_draw_funcs_create();
    hb_draw_funcs_set_move_to_func(draw, shape_move, NULL, NULL);
    hb_draw_funcs_set_line_to_func(draw, shape_line, NULL, NULL);
    hb_draw_funcs_set_quadratic_to_func(draw, shape_quadratic, NULL, NULL);
    hb_draw_funcs_set_cubic_to_func(draw, shape_cubic, NULL, NULL);
    hb_draw_funcs_set_close_path_func(draw, shape_close, NULL, NULL);
    mst_string_adds(out, "<defs>\n");
    for (size_t i = 0; i < scene->count; i++) {
        const struct scene_item *item = &scene->items[i];
        for (int g = 0; item->kind == SCENE_GLYPHS && g < item->run.glyph_count; g++) {
            unsigned id = item->run.glyphs[g].id;
            unsigned char *mark = &seen[item->run.font->role][id];
            if (*mark || id >= item->run.font->glyph_count || is_blank(&item->run, g))
                continue;
            *mark = 1;
            mst_string_addf(out, "<path id=\"g%d-%u\" d=\"", (int)item->run.font->role, id);
            hb_font_get_glyph_shape(item->run.font->hb, id, draw, out);
            mst_string_adds(out, "\"/>\n");
        }
    }
    mst_string_adds(out, "</defs>\n");
    (void)sheet;
    hb_draw_funcs_destroy(draw);
}

/* --- items ------------------------------------------------------------------------ */

static void add_colour(struct mst_string *out, const char *attribute, int ink, enum mst_theme theme)
{
    mst_string_addf(out, " %s=\"#%06x\"", attribute, ink_colour(ink, theme));
}

static void add_item(const struct scene_item *item, enum mst_theme theme, struct mst_string *out)
{
    if (item->kind == SCENE_GLYPHS) {
        /* inside the group, units are the font's */
        double upem = item->run.font->upem;
        mst_string_adds(out, "<g transform=\"translate(");
        add_point(out, item->x, item->y);
        mst_string_addf(out, ") scale(%.6g)\"", item->run.size / upem);
        add_colour(out, "fill", item->ink, theme);
        mst_string_adds(out, ">");
        for (int g = 0; g < item->run.glyph_count; g++) {
            if (is_blank(&item->run, g))
                continue;
            mst_string_addf(out, "<use href=\"#g%d-%u\" x=\"", (int)item->run.font->role,
                            item->run.glyphs[g].id);
            add_number(out, (double)item->run.glyphs[g].x * upem);
            mst_string_adds(out, "\" y=\"");
            add_number(out, (double)item->run.glyphs[g].y * upem);
            mst_string_adds(out, "\"/>");
        }
        mst_string_adds(out, "</g>");
        return;
    }
    mst_string_adds(out, "<path d=\"");
    for (int i = 0; i < item->op_count; i++) {
        const struct path_op *op = &item->ops[i];
        static const char verbs[] = {'M', 'L', 'C', 'Z'};
        mst_string_addf(out, "%c", verbs[op->verb]);
        int points = op->verb == PATH_CURVE ? 3 : op->verb == PATH_CLOSE ? 0 : 1;
        for (int k = 0; k < points; k++) {
            if (k)
                mst_string_adds(out, " ");
            add_point(out, op->x[k], op->y[k]);
        }
    }
    mst_string_adds(out, "\"");
    if (item->kind == SCENE_FILL) {
        add_colour(out, "fill", item->ink, theme);
    } else {
        double dash[2];
        mst_string_adds(out, " fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
        add_colour(out, "stroke", item->ink, theme);
        mst_string_adds(out, " stroke-width=\"");
        add_number(out, item->stroke_width);
        mst_string_adds(out, "\"");
        if (scene_dash_pattern(item->dash, item->stroke_width, dash)) {
            mst_string_adds(out, " stroke-dasharray=\"");
            add_point(out, dash[0], dash[1]);
            mst_string_adds(out, "\"");
        }
    }
    mst_string_adds(out, "/>");
}

static enum mst_lang label_language(const struct mst_sheet *sheet)
{
    return sheet->options.labels == MST_LABELS_AR ? MST_LANG_AR : MST_LANG_EN;
}

static void open_word(const struct mst_sheet *sheet, int32_t w, struct mst_string *out)
{
    const struct mst_word *word = &sheet->reading->words[w];
    struct mst_span verse = mst_reading_verse(sheet->reading, word->sura, word->verse);
    mst_string_addf(out, "<g class=\"word\" data-at=\"%d:%d:%d\" lang=\"ar\"><title>",
                    (int)word->sura, (int)word->verse, (int)word->word);
    mst_string_add_xml(out, verse.ptr + word->byte_off, (size_t)word->byte_len);
    mst_string_adds(out, "</title>");
}

static void open_mark(const struct mst_sheet *sheet, int32_t m, struct mst_string *out)
{
    const struct mark *mark = &sheet->marks[m];
    struct mst_string label = {0};
    char at[48];
    sheet_mark_label(sheet, mark, label_language(sheet), &label);
    mst_string_adds(out, "<g class=\"mark\" role=\"img\"");
    if (mark->site >= 0) {
        const struct mst_site *site = &sheet->reading->sites[mark->site];
        mst_string_addf(out, " data-site=\"%d\" data-at=\"%s\"", (int)mark->site,
                        mst_addr_print(mst_letter_addr(sheet->reading, site->trigger), at));
        if (mark->sign != SIGN_DOT) /* a dot does not tell what */
            mst_string_addf(out, " data-rule=\"%s\"", mst_rule_id(site->rule));
    }
    mst_string_adds(out, " aria-label=\"");
    mst_string_add_xml(out, label.ptr ? label.ptr : "", label.len);
    mst_string_adds(out, "\"><title>");
    mst_string_add_xml(out, label.ptr ? label.ptr : "", label.len);
    mst_string_adds(out, "</title>");
    out->failed |= label.failed;
    mst_string_free(&label);
}

enum mst_status mst_sheet_svg(const struct mst_sheet *sheet, int page, enum mst_theme theme,
                              struct mst_string *out, struct mst_error *err)
{
    if (page < 0 || page >= sheet->page_count)
        return mst_fail(err, MST_NOT_FOUND, "the sheet has %d pages; page %d asked",
                        sheet->page_count, page + 1);
    const struct scene *scene = &sheet->pages[page];
    unsigned char *seen[MST_FONT_ROLES] = {0};
    int ok = 1;
    for (int f = 0; f < MST_FONT_ROLES; f++) {
        seen[f] = calloc(mst_font_of(sheet->ts->fonts, (enum mst_font_role)f)->glyph_count + 1, 1);
        ok = ok && seen[f];
    }
    if (ok) {
        char range[96];
        mst_string_addf(out,
                        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%gpt\" height=\"%gpt\" "
                        "viewBox=\"0 0 %g %g\" role=\"group\" lang=\"%s\">\n<title>",
                        scene->width, scene->height, scene->width, scene->height,
                        label_language(sheet) == MST_LANG_AR ? "ar" : "en");
        struct mst_span title = sheet->options.title;
        if (title.len)
            mst_string_add_xml(out, title.ptr, title.len);
        else
            mst_string_addf(out, "%s · %s", phrase(PHRASE_SHEET, label_language(sheet)).ptr,
                            mst_range_print(sheet->reading->range, range));
        mst_string_addf(out, "</title>\n");
        add_shapes(sheet, scene, seen, out);
        mst_string_addf(out, "<rect width=\"%g\" height=\"%g\"", scene->width, scene->height);
        add_colour(out, "fill", INK_PAPER, theme);
        mst_string_adds(out, "/>\n");
        int32_t word = -1, mark = -1;
        int open = 0;
        for (size_t i = 0; i < scene->count; i++) {
            const struct scene_item *item = &scene->items[i];
            if (item->word != word || item->mark != mark) {
                if (open)
                    mst_string_adds(out, "</g>\n");
                open = item->word >= 0 || item->mark >= 0;
                if (item->mark >= 0)
                    open_mark(sheet, item->mark, out);
                else if (item->word >= 0)
                    open_word(sheet, item->word, out);
                word = item->word;
                mark = item->mark;
            }
            add_item(item, theme, out);
        }
        mst_string_adds(out, open ? "</g>\n</svg>\n" : "\n</svg>\n");
    }
    for (int f = 0; f < MST_FONT_ROLES; f++)
        free(seen[f]);
    if (!ok || out->failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the SVG");
    return MST_OK;
}
