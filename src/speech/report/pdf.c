/* pdf.c – the report on paper: A4, findings first, lengths, then the take line by line. */
#include "draw.h"

#include <cairo-pdf.h>
#include <stdio.h>
#include <string.h>

static const double page_width = 595.28, page_height = 841.89, margin = 44, foot = 40;

struct paper {
    cairo_surface_t *surface;
    struct canvas canvas;
    const struct mst_report *report;
    double y;
    int page;
    int right_to_left;
};

static cairo_status_t pdf_bytes(void *user, const unsigned char *bytes, unsigned len)
{
    struct mst_string *out = user;
    mst_string_add(out, (const char *)bytes, len);
    return out->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static double inner_width(void)
{
    return page_width - 2 * margin;
}

/* Words at the side where a line of this language begins. */
static void words_at_side(struct paper *p, double y, double indent, enum mst_print print,
                          double size, uint32_t colour, struct mst_span words)
{
    double x = p->right_to_left ? page_width - margin - indent : margin + indent;
    canvas_words(&p->canvas, x, y, print, size, p->right_to_left ? ANCHOR_END : ANCHOR_START,
                 colour, p->right_to_left, words);
}

static void footer(struct paper *p)
{
    char number[16];
    double y = page_height - foot + 14;
    canvas_line(&p->canvas, margin, y - 10, page_width - margin, y - 10, 0.4, 0, DRAW_HAIR);
    canvas_words(&p->canvas, p->right_to_left ? page_width - margin : margin, y, MST_PRINT_ITALIC,
                 7.5, p->right_to_left ? ANCHOR_END : ANCHOR_START, DRAW_SOFT, p->right_to_left,
                 mst_span_of(mst_findings_reminder(p->report->lang)));
    snprintf(number, sizeof number, "%d", p->page);
    canvas_words(&p->canvas, p->right_to_left ? margin : page_width - margin, y, MST_PRINT_PLAIN,
                 7.5, p->right_to_left ? ANCHOR_START : ANCHOR_END, DRAW_SOFT, 0,
                 mst_span_of(number));
}

static void page_begin(struct paper *p)
{
    p->page++;
    p->y = margin;
}

static void page_end(struct paper *p)
{
    footer(p);
    cairo_show_page(p->canvas.cr);
}

/* A new page when what comes next has no room. */
static void room_for(struct paper *p, double height)
{
    if (p->y + height <= page_height - foot - 6 || p->y <= margin)
        return;
    page_end(p);
    page_begin(p);
}

/* A sentence over as many lines as it needs. */
static void paragraph(struct paper *p, double indent, enum mst_print print, double size,
                      uint32_t colour, const char *sentence)
{
    double width = inner_width() - indent, leading = size * 1.42;
    const char *line = sentence, *end = sentence;
    for (const char *at = sentence; *line;) {
        at += strcspn(at, " ");
        struct mst_span tried = {line, (size_t)(at - line)};
        int fits = pen_width(p->canvas.pen, print, size, tried) <= width || end == line;
        if (fits)
            end = at;
        if (fits && *at) {
            at++;
            continue;
        }
        room_for(p, leading);
        p->y += leading;
        words_at_side(p, p->y - size * 1.42 * 0.28, indent, print, size, colour,
                      (struct mst_span){line, (size_t)(end - line)});
        line = end + (*end == ' ');
        at = line;
        end = line;
    }
}

static void heading(struct paper *p, const char *title)
{
    room_for(p, 48);
    p->y += 26;
    words_at_side(p, p->y, 0, MST_PRINT_BOLD, 11.5, DRAW_TEXT, mst_span_of(title));
    p->y += 6;
}

static enum mst_status part(struct paper *p, const struct report_part *part, int numbered,
                            double size, struct mst_error *err)
{
    if (!part)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the report");
    heading(p, part->title);
    for (size_t n = 0; n < part->line_count; n++) {
        double indent = numbered ? 16 : 0;
        char number[16];
        if (numbered) {
            snprintf(number, sizeof number, "%d.", (int)(n + 1));
            room_for(p, size * 1.42);
            words_at_side(p, p->y + size * 1.42 * 0.72, 0, MST_PRINT_BOLD, size, DRAW_TEXT,
                          mst_span_of(number));
        }
        paragraph(p, indent, MST_PRINT_PLAIN, size, DRAW_TEXT, part->lines[n]);
        p->y += 2.5;
    }
    return MST_OK;
}

static void head(struct paper *p)
{
    const struct mst_report *r = p->report;
    const struct mst_timeline *tl = r->measures->timeline;
    struct mst_string takes = {0};
    char passage[96], length[24];
    p->y += 20;
    words_at_side(p, p->y, 0, MST_PRINT_BOLD, 21, DRAW_TEXT,
                  mst_span_of(report_say(SAY_TITLE, r->lang)));
    mst_string_adds(&takes, "\u2068");
    report_takes(r, &takes);
    mst_string_addf(&takes, "\u2069 · ⁨%s⁩ · ⁨%s⁩", mst_range_print(r->passage, passage),
                    report_clock((double)tl->duration_ms, length));
    p->y += 19;
    if (takes.ptr)
        words_at_side(p, p->y, 0, MST_PRINT_PLAIN, 10.5, DRAW_SOFT,
                      (struct mst_span){takes.ptr, takes.len});
    mst_string_free(&takes);
    p->y += 9;
    canvas_line(&p->canvas, margin, p->y, page_width - margin, p->y, 0.8, 0, DRAW_TEXT);
}

static void basis(struct paper *p)
{
    struct mst_string words = {0};
    report_basis(p->report, &words);
    p->y += 3;
    paragraph(p, 0, MST_PRINT_ITALIC, 9, DRAW_SOFT, words.ptr ? words.ptr : "");
    mst_string_free(&words);
}

static void lengths(struct paper *p)
{
    const struct mst_report *r = p->report;
    struct mst_string line = {0};
    double height = draw_strips_height(r);
    room_for(p, height + 92);
    heading(p, report_say(SAY_LENGTHS, r->lang));
    if (r->measures->count_ms > 0) {
        report_say_with(&line, r->lang, SAY_COUNT_IS, r->measures->count_ms);
        paragraph(p, 0, MST_PRINT_PLAIN, 10, DRAW_TEXT, line.ptr ? line.ptr : "");
        mst_string_free(&line);
    }
    p->y += 6;
    draw_strips(&p->canvas, r, margin, p->y, inner_width());
    p->y += height + 4;
    paragraph(p, 0, MST_PRINT_ITALIC, 8, DRAW_SOFT, report_say(SAY_STRIP_KEY, r->lang));
    if (r->beside) {
        struct mst_string other = {0};
        report_takes(r->beside, &other);
        report_say_with(&line, r->lang, SAY_STRIP_BESIDE, other.ptr ? other.ptr : "");
        paragraph(p, 0, MST_PRINT_ITALIC, 8, DRAW_SOFT, line.ptr ? line.ptr : "");
        mst_string_free(&other);
        mst_string_free(&line);
    }
}

static enum mst_status take_rows(struct paper *p, struct mst_arena *arena, struct mst_error *err)
{
    struct draw_rows rows;
    enum mst_status status =
        draw_rows_plan(p->canvas.pen, p->report, inner_width(), arena, &rows, err);
    if (status == MST_OK) {
        double first = rows.count > 0 ? rows.rows[0].height : 0;
        room_for(p, 44 + DRAW_KEY_HEIGHT + first); /* no heading at a foot */
        heading(p, report_say(SAY_TIMELINE, p->report->lang));
        p->y += 4;
        draw_rows_key(&p->canvas, p->report, margin, p->y, inner_width());
        p->y += DRAW_KEY_HEIGHT + 8;
    }
    for (int32_t n = 0; n < rows.count && status == MST_OK; n++) {
        room_for(p, rows.rows[n].height);
        status = draw_row(&p->canvas, p->report, &rows, n, margin, p->y, err);
        p->y += rows.rows[n].height + 8;
    }
    draw_rows_end(&rows);
    return status;
}

static enum mst_status pages(struct paper *p, struct mst_arena *arena, struct mst_error *err)
{
    const struct mst_report *r = p->report;
    page_begin(p);
    head(p);
    enum mst_status status = MST_OK;
    if (r->faults)
        status = part(p, report_faults(r, arena), 0, 11.5, err);
    if (status == MST_OK)
        status = part(p, report_findings(r, arena), r->finding_count > 1, 11.5, err);
    if (status == MST_OK)
        basis(p);
    if (status == MST_OK && r->quality)
        status = part(p, report_recording(r, arena), 0, 10, err);
    if (status == MST_OK)
        status = part(p, report_heard(r, arena), 0, 10, err);
    if (status == MST_OK && r->comparison && r->beside)
        status = part(p, report_side_by_side(r, arena), 0, 10, err);
    if (status == MST_OK)
        lengths(p);
    if (status == MST_OK)
        status = take_rows(p, arena, err);
    if (status == MST_OK)
        page_end(p);
    return status;
}

/* What a reader's window and a catalogue call it: what it is, of which take and passage. */
static void name_document(const struct mst_report *r, cairo_surface_t *surface)
{
    struct mst_string title = {0};
    char passage[96];
    mst_string_addf(&title, "%s – ", report_say(SAY_TITLE, r->lang));
    report_takes(r, &title);
    mst_string_addf(&title, " · %s", mst_range_print(r->passage, passage));
    if (title.ptr && !title.failed)
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title.ptr);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Mistara");
    mst_string_free(&title);
}

enum mst_status mst_report_pdf(const struct mst_report *report, const char *font_dir,
                               struct mst_string *out, struct mst_error *err)
{
    struct paper p = {.report = report, .right_to_left = report->lang == MST_LANG_AR};
    struct mst_string raw = {0};
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the report");
    enum mst_status status = pen_open(font_dir, &p.canvas.pen, err);
    if (status == MST_OK) {
        p.surface = cairo_pdf_surface_create_for_stream(pdf_bytes, &raw, page_width, page_height);
        name_document(report, p.surface);
        mst_press_date(p.surface);
        p.canvas.cr = cairo_create(p.surface);
        status = pages(&p, arena, err);
        cairo_surface_finish(p.surface);
        if (status == MST_OK &&
            (pen_failed(p.canvas.pen) || cairo_status(p.canvas.cr) != CAIRO_STATUS_SUCCESS ||
             cairo_surface_status(p.surface) != CAIRO_STATUS_SUCCESS))
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the PDF");
        cairo_destroy(p.canvas.cr);
        cairo_surface_destroy(p.surface);
    }
    if (status == MST_OK)
        status = mst_pdf_add_language(&raw, report->lang, out, err);
    mst_string_free(&raw);
    pen_close(p.canvas.pen);
    mst_arena_free(arena);
    return status;
}
