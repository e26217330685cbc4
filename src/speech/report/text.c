/* text.c – the report for a terminal or a letter: short, plain, in columns. */
#include "parts.h"

#include <stdio.h>
#include <string.h>

/* Columns of the text in a terminal: marks and isolates take none. */
static int columns_of(const char *s)
{
    int columns = 0;
    size_t len = strlen(s), at = 0;
    while (at < len) {
        uint32_t cp = mst_utf8_next(s, len, &at);
        int mark = (cp >= 0x300 && cp < 0x370) || (cp >= 0x64B && cp <= 0x65F) ||
                   (cp >= 0x6D6 && cp <= 0x6ED) || (cp >= 0x2066 && cp <= 0x2069);
        columns += !mark;
    }
    return columns;
}

static void cell(struct mst_string *out, const char *text, int width, int to_the_right)
{
    int room = width - columns_of(text);
    if (to_the_right)
        mst_string_addf(out, "%*s%s", room > 0 ? room : 0, "", text);
    else
        mst_string_addf(out, "%s%*s", text, room > 0 ? room : 0, "");
}

enum { TEXT_COLUMNS = 80 };

/* A sentence broken between words; lines after the first stand under it. */
static void wrapped(struct mst_string *out, const char *lead, const char *sentence)
{
    int indent = columns_of(lead), column = indent;
    mst_string_adds(out, lead);
    for (const char *at = sentence; *at;) {
        size_t len = strcspn(at, " ");
        char word[256];
        size_t kept = len < sizeof word ? len : sizeof word - 1;
        memcpy(word, at, kept);
        word[kept] = '\0';
        int columns = columns_of(word);
        if (column > indent && column + 1 + columns > TEXT_COLUMNS) {
            mst_string_addf(out, "\n%*s", indent, "");
            column = indent;
        } else if (column > indent) {
            mst_string_adds(out, " ");
            column++;
        }
        mst_string_add(out, at, len);
        column += columns;
        at += len + (at[len] == ' ');
    }
    mst_string_adds(out, "\n");
}

static void part_lines(struct mst_string *out, const struct report_part *part, int numbered)
{
    if (!part) {
        out->failed = 1;
        return;
    }
    mst_string_addf(out, "\n%s\n", part->title);
    for (size_t n = 0; n < part->line_count; n++) {
        char lead[32] = "  ";
        if (numbered)
            snprintf(lead, sizeof lead, "  %zu. ", n + 1);
        wrapped(out, lead, part->lines[n]);
    }
}

static void head(const struct mst_report *r, struct mst_string *out)
{
    char passage[96], length[24], speech[24];
    const struct mst_timeline *tl = r->measures->timeline;
    int arabic = r->lang == MST_LANG_AR;
    mst_string_adds(out, arabic ? "\u2068" : "");
    report_takes(r, out);
    mst_string_addf(out, arabic ? "\u2069 · ⁨%s⁩ · ⁨%s (%s)⁩\n" : " · %s · %s (%s)\n",
                    mst_range_print(r->passage, passage),
                    report_clock((double)tl->duration_ms, length),
                    report_clock(1000 * tl->speech_seconds, speech));
}

enum { CLASS_WIDTH = 40, NUMBER_WIDTH = 11 };

static void number(struct mst_string *out, const char *fmt, double value) MST_PRINTF(2, 0);
static void number(struct mst_string *out, const char *fmt, double value)
{
    char text[48];
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    snprintf(text, sizeof text, fmt, value);
#pragma GCC diagnostic pop
    cell(out, text, NUMBER_WIDTH, 1);
}

static void lengths(const struct mst_report *r, struct mst_string *out)
{
    const struct mst_measures *m = r->measures;
    mst_string_addf(out, "\n%s\n", report_say(SAY_LENGTHS, r->lang));
    if (m->count_ms > 0) {
        mst_string_adds(out, "  ");
        report_say_with(out, r->lang, SAY_COUNT_IS, m->count_ms);
        mst_string_adds(out, "\n");
    }
    mst_string_adds(out, "  ");
    cell(out, report_say(SAY_CLASS, r->lang), CLASS_WIDTH, 0);
    enum report_phrase heads[] = {SAY_SITES, SAY_MIDDLE, SAY_COUNTS, SAY_EVEN, SAY_MODEL};
    for (size_t n = 0; n < 4u + (r->model_name != NULL); n++)
        cell(out, report_say(heads[n], r->lang), NUMBER_WIDTH, 1);
    mst_string_adds(out, "\n");
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        const struct mst_length_measure *l = &m->lengths[k];
        if (!report_class_shown(m, k))
            continue;
        mst_string_adds(out, "  ");
        cell(out, mst_length_name((enum mst_length)k, r->lang), CLASS_WIDTH, 0);
        number(out, "%.0f", l->count);
        if (l->trusted > 0) {
            number(out, "%.0f ms", l->median_ms);
            if (m->count_ms > 0)
                number(out, "%.1f", l->median_ms / m->count_ms);
            else
                cell(out, "–", NUMBER_WIDTH, 1);
            number(out, "%.0f %%", 100 * l->even_share);
        } else {
            for (int n = 0; n < 3; n++)
                cell(out, "–", NUMBER_WIDTH, 1);
        }
        if (r->model_name && l->model_median_ms > 0)
            number(out, "%.0f ms", l->model_median_ms);
        else if (r->model_name)
            cell(out, "–", NUMBER_WIDTH, 1);
        mst_string_adds(out, "\n");
    }
}

static void side_by_side(const struct mst_report *r, struct mst_arena *arena,
                         struct mst_string *out)
{
    const struct mst_comparison *c = r->comparison;
    part_lines(out, report_side_by_side(r, arena), 0);
    mst_string_adds(out, "  ");
    cell(out, report_say(SAY_CLASS, r->lang), CLASS_WIDTH, 0);
    cell(out, report_base_name(r->take_names[0]), NUMBER_WIDTH * 2, 1);
    cell(out, report_base_name(r->beside->take_names[0]), NUMBER_WIDTH * 2, 1);
    cell(out, report_say(SAY_RATIO, r->lang), NUMBER_WIDTH + 6, 1);
    mst_string_adds(out, "\n");
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        if (c->length_ratio[k] <= 0)
            continue;
        char text[48];
        mst_string_adds(out, "  ");
        cell(out, mst_length_name((enum mst_length)k, r->lang), CLASS_WIDTH, 0);
        snprintf(text, sizeof text, "%.0f ms", c->first->lengths[k].median_ms);
        cell(out, text, NUMBER_WIDTH * 2, 1);
        snprintf(text, sizeof text, "%.0f ms", c->second->lengths[k].median_ms);
        cell(out, text, NUMBER_WIDTH * 2, 1);
        snprintf(text, sizeof text, "%.2f", c->length_ratio[k]);
        cell(out, text, NUMBER_WIDTH + 6, 1);
        mst_string_adds(out, "\n");
    }
}

void mst_report_text(const struct mst_report *r, struct mst_string *out)
{
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena) {
        out->failed = 1;
        return;
    }
    head(r, out);
    if (r->quality)
        part_lines(out, report_recording(r, arena), 0);
    part_lines(out, report_heard(r, arena), 0);
    if (r->faults)
        part_lines(out, report_faults(r, arena), 0);
    lengths(r, out);
    part_lines(out, report_findings(r, arena), r->finding_count > 1);
    struct mst_string basis = {0};
    report_basis(r, &basis);
    wrapped(out, "  ", basis.ptr ? basis.ptr : "");
    out->failed |= basis.failed;
    mst_string_free(&basis);
    if (r->comparison && r->beside)
        side_by_side(r, arena, out);
    mst_string_adds(out, "\n");
    wrapped(out, "", mst_findings_reminder(r->lang));
    mst_arena_free(arena);
}
