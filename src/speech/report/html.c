/*
 * html.c – the report as one page for the browser: nothing is fetched from
 * anywhere, no script runs, scripture is text in its own font, and pointing
 * at a word or a site says what it is. It prints well too.
 */
#include "draw.h"

#include <stdio.h>
#include <string.h>

static const double figure_width = 720;

static const char style[] =
    ":root{color-scheme:light}"
    "body{margin:0;background:#fdfcf9;color:#1a1a1a;font:17px/1.55 'Gentium Plus','Gentium',"
    "'Charis SIL','Noto Serif','Noto Naskh Arabic',serif}"
    "main{max-width:58rem;margin:0 auto;padding:2.5rem 1.5rem 3rem}"
    "h1{font-size:2rem;line-height:1.2;margin:0}"
    "h2{font-size:1.15rem;margin:2.4rem 0 .5rem}"
    "header{border-bottom:1.5px solid #1a1a1a;padding-bottom:.7rem}"
    "header p{margin:.2rem 0 0;color:#6b6b66}"
    ".findings{font-size:1.12rem}.findings ol{padding-inline-start:1.5rem;margin:.4rem 0}"
    ".findings li{margin:.35rem 0}p{margin:.3rem 0}.quiet{color:#6b6b66;font-size:.92rem}"
    "audio{display:block;width:100%;max-width:22rem;height:2.2rem;margin:.2rem 0 .6rem}"
    "table{border-collapse:collapse;width:100%;margin:.8rem 0;font-variant-numeric:tabular-nums}"
    "th,td{padding:.28rem .6rem;text-align:end;border-bottom:1px solid #e4e0d6}"
    "th:first-child,td:first-child{text-align:start;padding-inline-start:0}"
    "td{white-space:nowrap}"
    "thead th{font-weight:400;color:#6b6b66;font-size:.9rem}tbody th{font-weight:400}"
    "figure{margin:1rem 0 1.6rem;overflow-x:auto}"
    "svg{display:block;width:100%;min-width:48rem;height:auto}"
    "svg text{font-family:'Gentium Plus','Gentium','Charis SIL','Noto Serif','Noto Naskh "
    "Arabic',serif}svg .b{font-weight:700}svg .i{font-style:italic}"
    "svg .q,.scripture{font-family:'Report "
    "Quran',serif}.scripture{font-size:1.5rem;line-height:2.2}"
    "g.word:hover text,g.site:hover text{fill:#000}"
    "footer{margin-top:2.5rem;border-top:1px solid #c9c5bb;padding-top:.7rem;font-style:italic}"
    "@media print{body{background:#fff;font-size:10.5pt}main{max-width:none;padding:0}"
    "figure{break-inside:avoid;overflow:visible;margin:.5rem 0 .8rem}h2{break-after:avoid}"
    "svg{min-width:0}@page{margin:16mm}}";

static void xml(struct mst_string *s, const char *words)
{
    mst_string_add_xml(s, words, strlen(words));
}

static void element(struct mst_string *s, const char *name, const char *words)
{
    mst_string_addf(s, "<%s>", name);
    xml(s, words);
    mst_string_addf(s, "</%s>\n", name);
}

static void head(const struct mst_report *r, struct pen *pen, struct mst_string *s)
{
    const struct mst_timeline *tl = r->measures->timeline;
    int right_to_left = r->lang == MST_LANG_AR;
    struct mst_string takes = {0};
    char passage[96], length[24];
    struct mst_span font = pen_scripture_font(pen);
    report_takes(r, &takes);
    mst_range_print(r->passage, passage);
    mst_string_addf(s, "<!DOCTYPE html>\n<html lang=\"%s\" dir=\"%s\">\n<head>\n",
                    right_to_left ? "ar" : "en", right_to_left ? "rtl" : "ltr");
    mst_string_adds(
        s,
        "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" "
        "content=\"width=device-width, initial-scale=1\"/>\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
        "style-src 'unsafe-inline'; img-src data:; media-src data:; font-src data:\"/>\n<title>");
    xml(s, report_say(SAY_TITLE, r->lang));
    mst_string_addf(s,
                    " · %s</title>\n<style>@font-face{font-family:'Report Quran';"
                    "src:url(data:font/ttf;base64,",
                    passage);
    canvas_base64(s, (const unsigned char *)font.ptr, font.len);
    mst_string_adds(s, ")}");
    mst_string_adds(s, style);
    mst_string_adds(s, "</style>\n</head>\n<body>\n<main>\n<header>\n");
    element(s, "h1", report_say(SAY_TITLE, r->lang));
    mst_string_adds(s, "<p><bdi>");
    xml(s, takes.ptr ? takes.ptr : "");
    mst_string_addf(s, "</bdi> · <bdi>%s</bdi> · <bdi>%s</bdi></p>\n</header>\n", passage,
                    report_clock((double)tl->duration_ms, length));
    s->failed |= takes.failed;
    mst_string_free(&takes);
}

static void part(struct mst_string *s, const struct report_part *part, const char *kind,
                 int numbered)
{
    if (!part) {
        s->failed = 1;
        return;
    }
    mst_string_addf(s, "<section class=\"%s\">\n", kind);
    element(s, "h2", part->title);
    mst_string_adds(s, numbered ? "<ol>\n" : "");
    for (size_t n = 0; n < part->line_count; n++)
        element(s, numbered ? "li" : "p", part->lines[n]);
    mst_string_adds(s, numbered ? "</ol>\n" : "");
}

/* What can be listened to: a moment of the take, in the page itself. */
static enum mst_status clip(const struct mst_report *r, struct mst_addr word, int32_t start_ms,
                            int32_t end_ms, struct mst_string *s, struct mst_error *err)
{
    struct mst_string wave = {0};
    char at[48];
    enum mst_status status = mst_take_clip_bytes(r->take, start_ms, end_ms, &wave, err);
    if (status == MST_OK) {
        mst_string_addf(s, "<audio controls aria-label=\"%s\" src=\"data:audio/wav;base64,",
                        report_word_addr(word, at));
        canvas_base64(s, (const unsigned char *)wave.ptr, wave.len);
        mst_string_adds(s, "\"></audio>\n");
    }
    mst_string_free(&wave);
    return status;
}

/* One line of the list: the words, what is to be said of them, how they sounded. */
static enum mst_status fault_line(const struct mst_report *r, struct mst_addr first,
                                  struct mst_addr last, const char *said, int32_t start_ms,
                                  int32_t end_ms, struct mst_string *s, struct mst_error *err)
{
    struct mst_string printed = {0}, words = {0};
    enum mst_status status = MST_OK;
    mst_string_adds(s, "<li>");
    report_scripture(r, first, last, &printed);
    mst_text_for_display((struct mst_span){printed.ptr ? printed.ptr : "", printed.len}, &words);
    if (words.len > 0) {
        mst_string_adds(s, "<p class=\"scripture\"><bdi lang=\"ar\" dir=\"rtl\">");
        xml(s, words.ptr);
        mst_string_adds(s, "</bdi></p>\n");
    }
    s->failed |= printed.failed | words.failed;
    mst_string_free(&printed);
    mst_string_free(&words);
    element(s, "p", said);
    if (r->take)
        status = clip(r, first, start_ms, end_ms, s, err);
    mst_string_adds(s, "</li>\n");
    return status;
}

/* Faults in their order, each with its clip; then of what it cannot be told, with the place to
 * listen to oneself; then sentences. */
static enum mst_status faults(const struct mst_report *r, struct mst_arena *arena,
                              struct mst_string *s, struct mst_error *err)
{
    const struct report_part *part = report_faults(r, arena);
    const struct mst_fault_report *f = r->faults;
    enum mst_status status = MST_OK;
    size_t line = 0;
    if (!part) {
        s->failed = 1;
        return MST_OK;
    }
    mst_string_adds(s, "<section class=\"findings faults\">\n");
    element(s, "h2", part->title);
    if (f->count == 0)
        element(s, "p", part->lines[line++]);
    mst_string_adds(s, f->count > 0 ? "<ol>\n" : "");
    for (size_t n = 0; n < f->count && status == MST_OK; n++) {
        const struct mst_fault_item *item = &f->items[n];
        status = fault_line(r, item->at, item->word ? item->word->last : item->at,
                            part->lines[line++], item->start_ms, item->end_ms, s, err);
    }
    mst_string_adds(s, f->count > 0 ? "</ol>\n" : "");
    mst_string_adds(s, f->doubt_count > 0 ? "<ul>\n" : "");
    for (size_t n = 0; n < f->doubt_count && status == MST_OK; n++) {
        const struct mst_fault_doubt *d = &f->doubts[n];
        status = fault_line(r, d->likeliest.at, d->likeliest.at, part->lines[line++], d->start_ms,
                            d->end_ms, s, err);
    }
    mst_string_adds(s, f->doubt_count > 0 ? "</ul>\n" : "");
    while (line < part->line_count && status == MST_OK)
        element(s, "p", part->lines[line++]);
    mst_string_adds(s, "</section>\n");
    return status;
}

static void section_end(struct mst_string *s)
{
    mst_string_adds(s, "</section>\n");
}

static void quiet(struct mst_string *s, const char *words)
{
    mst_string_adds(s, "<p class=\"quiet\">");
    xml(s, words);
    mst_string_adds(s, "</p>\n");
}

static void number_cell(struct mst_string *s, double value, int decimals, const char *unit)
{
    if (value > 0)
        mst_string_addf(s, "<td><bdi>%.*f%s</bdi></td>", decimals, value, unit);
    else
        mst_string_adds(s, "<td>–</td>");
}

static void table(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_measures *m = r->measures;
    const enum report_phrase heads[] = {SAY_CLASS, SAY_SITES, SAY_MIDDLE, SAY_COUNTS,
                                        SAY_EVEN,  SAY_MODEL, SAY_RATIO};
    mst_string_adds(s, "<table>\n<thead><tr>");
    for (size_t n = 0; n < sizeof heads / sizeof *heads; n++) {
        if ((heads[n] == SAY_MODEL && !r->model_name) || (heads[n] == SAY_RATIO && !r->comparison))
            continue;
        mst_string_adds(s, "<th scope=\"col\">");
        xml(s, report_say(heads[n], r->lang));
        mst_string_adds(s, "</th>");
    }
    mst_string_adds(s, "</tr></thead>\n<tbody>\n");
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        const struct mst_length_measure *l = &m->lengths[k];
        if (!report_class_shown(m, k))
            continue;
        mst_string_adds(s, "<tr><th scope=\"row\">");
        xml(s, mst_length_name((enum mst_length)k, r->lang));
        mst_string_addf(s, "</th><td>%d</td>", l->count);
        number_cell(s, l->median_ms, 0, " ms");
        number_cell(s, m->count_ms > 0 ? l->median_ms / m->count_ms : 0, 1, "");
        number_cell(s, l->trusted > 0 ? 100 * l->even_share : 0, 0, " %");
        if (r->model_name)
            number_cell(s, l->model_median_ms, 0, " ms");
        if (r->comparison)
            number_cell(s, r->comparison->length_ratio[k], 2, "");
        mst_string_adds(s, "</tr>\n");
    }
    mst_string_adds(s, "</tbody>\n</table>\n");
}

static void figure_begin(struct mst_string *s, double height, const char *label)
{
    mst_string_addf(s,
                    "<figure><svg viewBox=\"0 0 %.0f %.0f\" role=\"img\" direction=\"ltr\" "
                    "aria-label=\"",
                    figure_width, height);
    xml(s, label);
    mst_string_adds(s, "\">\n");
}

static void figure_end(struct mst_string *s)
{
    mst_string_adds(s, "</svg></figure>\n");
}

static void lengths(const struct mst_report *r, struct canvas *c)
{
    struct mst_string *s = c->svg, line = {0};
    mst_string_adds(s, "<section class=\"lengths\">\n");
    element(s, "h2", report_say(SAY_LENGTHS, r->lang));
    if (r->measures->count_ms > 0) {
        report_say_with(&line, r->lang, SAY_COUNT_IS, r->measures->count_ms);
        element(s, "p", line.ptr ? line.ptr : "");
        mst_string_free(&line);
    }
    table(r, s);
    figure_begin(s, draw_strips_height(r), report_say(SAY_LENGTHS, r->lang));
    draw_strips(c, r, 0, 0, figure_width);
    figure_end(s);
    quiet(s, report_say(SAY_STRIP_KEY, r->lang));
    if (r->beside) {
        struct mst_string other = {0};
        report_takes(r->beside, &other);
        report_say_with(&line, r->lang, SAY_STRIP_BESIDE, other.ptr ? other.ptr : "");
        quiet(s, line.ptr ? line.ptr : "");
        mst_string_free(&other);
        mst_string_free(&line);
    }
    section_end(s);
}

static void row_label(const struct mst_report *r, const struct draw_row *row, char out[160])
{
    const struct mst_timeline *tl = r->measures->timeline;
    char from[24], to[24], first[48], last[48];
    snprintf(out, 160, "%s–%s, %s–%s", report_clock(row->start_ms, from),
             report_clock(row->end_ms, to), report_word_addr(tl->words[row->first_word].at, first),
             report_word_addr(tl->words[row->end_word - 1].at, last));
}

static enum mst_status timeline(const struct mst_report *r, struct canvas *c,
                                struct mst_arena *arena, struct mst_error *err)
{
    struct draw_rows rows;
    enum mst_status status = draw_rows_plan(c->pen, r, figure_width - 12, arena, &rows, err);
    if (status != MST_OK)
        return status;
    mst_string_adds(c->svg, "<section class=\"timeline\">\n");
    element(c->svg, "h2", report_say(SAY_TIMELINE, r->lang));
    figure_begin(c->svg, DRAW_KEY_HEIGHT, report_say(SAY_RULER_KEY, r->lang));
    draw_rows_key(c, r, 0, 0, figure_width);
    figure_end(c->svg);
    for (int32_t n = 0; n < rows.count && status == MST_OK; n++) {
        char label[160];
        row_label(r, &rows.rows[n], label);
        figure_begin(c->svg, rows.rows[n].height, label);
        status = draw_row(c, r, &rows, n, 6, 0, err);
        figure_end(c->svg);
    }
    section_end(c->svg);
    draw_rows_end(&rows);
    return status;
}

enum mst_status mst_report_html(const struct mst_report *r, const char *font_dir,
                                struct mst_string *out, struct mst_error *err)
{
    struct canvas c = {.svg = out};
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the report");
    enum mst_status status = pen_open(font_dir, &c.pen, err);
    if (status == MST_OK) {
        struct mst_string basis = {0};
        head(r, c.pen, out);
        if (r->faults)
            status = faults(r, arena, out, err);
        part(out, report_findings(r, arena), "findings", r->finding_count > 1);
        report_basis(r, &basis);
        quiet(out, basis.ptr ? basis.ptr : "");
        mst_string_free(&basis);
        section_end(out);
        if (r->quality) {
            part(out, report_recording(r, arena), "recording", 0);
            section_end(out);
        }
        part(out, report_heard(r, arena), "heard", 0);
        section_end(out);
        if (r->comparison && r->beside) {
            part(out, report_side_by_side(r, arena), "beside", 0);
            section_end(out);
        }
        lengths(r, &c);
        if (status == MST_OK)
            status = timeline(r, &c, arena, err);
        element(out, "footer", mst_findings_reminder(r->lang));
        mst_string_adds(out, "</main>\n</body>\n</html>\n");
    }
    if (status == MST_OK && (out->failed || pen_failed(c.pen)))
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the report");
    pen_close(c.pen);
    mst_arena_free(arena);
    return status;
}
