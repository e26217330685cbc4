/* The column on the left: which rules a line holds, or only how many places. */
#include "sheet.h"

#include <math.h>

/* Distinct rules of a line from its right end on; returns how many. */
static int line_rules(const struct mst_sheet *sheet, const struct line *line,
                      struct mark out[MST_RULE_COUNT], int32_t rules[MST_RULE_COUNT])
{
    int count = 0;
    uint64_t seen = 0;
    for (;;) {
        const struct mark *next = NULL;
        for (int32_t i = 0; i < line->mark_count; i++) {
            const struct mark *m = &sheet->marks[line->first_mark + i];
            if (m->site < 0)
                continue;
            enum mst_rule rule = sheet->reading->sites[m->site].rule;
            if (!(seen >> rule & 1) && (!next || m->anchor > next->anchor))
                next = m;
        }
        if (!next)
            return count;
        rules[count] = (int32_t)sheet->reading->sites[next->site].rule;
        seen |= (uint64_t)1 << rules[count];
        out[count++] = *next;
    }
}

static int draw_names(struct mst_sheet *sheet, struct scene *s, const struct line *line,
                      double room, uint64_t *named)
{
    struct mark marks[MST_RULE_COUNT];
    int32_t rules[MST_RULE_COUNT];
    int count = line_rules(sheet, line, marks, rules);
    double size = sheet->page.label_size * 0.88, leading = size * 1.5;
    double specimen = sheet->page.label_size * 1.35, specimen_box = specimen * 1.5;
    double right = sheet->text_left - 0.55 * sheet->em, left = sheet->page.left;
    double y = line->baseline - 0.62 * sheet->em;
    int both = sheet->options.labels == MST_LABELS_BOTH;
    int capacity = (int)fmax(1, floor(room / leading));
    /* where there is no room for all, the rules not yet named on this page come first */
    int fresh_only = 0, rows = 0;
    if (count > capacity)
        for (int i = 0; i < count; i++)
            fresh_only += !(*named >> rules[i] & 1);
    /* and where there is no room for these either, the last row says that more are left out */
    int more = fresh_only > capacity && capacity > 1;
    capacity -= more;
    for (int i = 0; i < count && rows < capacity; i++) {
        if (fresh_only > 0 && (*named >> rules[i] & 1))
            continue;
        *named |= (uint64_t)1 << rules[i];
        sign_specimen(s, &marks[i], specimen, right - specimen_box / 2, y - size * 0.28);
        struct mst_line label[2] = {{0}};
        double x = right - specimen_box - size * 0.35, width = 0;
        for (int lang = 0; lang < 2; lang++) {
            if (!sheet_has_language(sheet, (enum mst_lang)lang))
                continue;
            if (!label_shape(
                    sheet->ts, sheet->arena,
                    mst_span_of(mst_rule_name((enum mst_rule)rules[i], (enum mst_lang)lang)),
                    MST_PRINT_PLAIN, size, &label[lang]))
                return 0;
            width += label[lang].width;
        }
        double most = x - left - (both ? size * 0.8 : 0), shrink = width > most ? most / width : 1;
        s->ink = INK_TEXT;
        for (int lang = 1; lang >= 0; lang--) {
            if (label[lang].run_count == 0)
                continue;
            if (shrink < 1 && !label_shape(sheet->ts, sheet->arena,
                                           mst_span_of(mst_rule_name((enum mst_rule)rules[i],
                                                                     (enum mst_lang)lang)),
                                           MST_PRINT_PLAIN, size * shrink, &label[lang]))
                return 0;
            /* two columns: Arabic beside its sign, English at the edge of the page */
            if (both && lang == MST_LANG_EN)
                label_draw(s, &label[lang], left, y, LABEL_LEFT);
            else
                label_draw(s, &label[lang], x, y, LABEL_RIGHT);
        }
        y += leading;
        rows++;
    }
    if (more) {
        struct mst_line dots = {0};
        if (!label_shape(sheet->ts, sheet->arena, mst_span_of("…"), MST_PRINT_PLAIN, size, &dots))
            return 0;
        s->ink = INK_TEXT;
        label_draw(s, &dots, right - specimen_box - size * 0.35, y, LABEL_RIGHT);
    }
    return 1;
}

static int draw_count(struct mst_sheet *sheet, struct scene *s, const struct line *line)
{
    char buf[24];
    struct mst_line label;
    if (line->places == 0)
        return 1;
    if (!label_shape(sheet->ts, sheet->arena, arabic_number(line->places, buf), MST_PRINT_BOLD,
                     sheet->page.label_size * 1.5, &label))
        return 0;
    s->ink = INK_PLAIN;
    label_draw(s, &label, sheet->text_left - 0.55 * sheet->em, line->baseline - 0.1 * sheet->em,
               LABEL_RIGHT);
    return 1;
}

int margin_draw(struct mst_sheet *sheet, struct scene *s, const struct line *line, double room,
                uint64_t *named)
{
    s->layer = MST_LAYER_FURNITURE;
    s->word = s->mark = -1;
    if (line->stage == MST_FADE_NAMES && sheet->page.names > 0)
        return draw_names(sheet, s, line, room, named);
    if (line->stage == MST_FADE_COUNT)
        return draw_count(sheet, s, line);
    return 1;
}
