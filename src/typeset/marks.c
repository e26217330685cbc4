/*
 * Marks onto lines: every site that is asked for becomes a mark on the line of
 * its trigger (and of its host, where the two part), and is set under the
 * skyline of that line, or over its roof. Small signs come first, so they lie
 * next to their letters and long ones under them.
 */
#include "sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double sheet_gap_ink(const struct mst_sheet *sheet)
{
    return fmax(0.055 * sheet->em, 1.25);
}
double sheet_gap_marks(const struct mst_sheet *sheet)
{
    return 0.05 * sheet->em;
}
double sheet_gap_lines(const struct mst_sheet *sheet)
{
    return fmax(0.10 * sheet->em, 1.5);
}

/* Marks hang from one height where the letters leave room, so that a line of them looks ruled. */
static const double BAND_EM = 0.34, BAND_OVER_EM = 0.9, BAND_STOP_EM = 0.6;
/* A pause sign stays over the vowels' height, so that it is not read as one. */
static const double PAUSE_SIGN_EM = 0.88;

int sheet_site_mark(const struct mst_sheet *sheet, const struct mst_site *site, struct mark *out)
{
    struct mst_rule_set rules = sheet->options.rules;
    memset(out, 0, sizeof *out);
    if (!mst_rule_set_has(rules, site->rule) || site->trigger < 0)
        return 0;
    /* a heavy letter is plain from itself: drawn only when a teacher asks for it by name */
    uint64_t everything = ((uint64_t)1 << MST_RULE_COUNT) - 1;
    if (site->rule == MST_RULE_TAFKHIM && (rules.bits & everything) == everything)
        return 0;
    return sign_for_site(site, out);
}

static struct mark *add_mark(struct mst_sheet *sheet, const struct mark *mark)
{
    if (sheet->mark_count == sheet->mark_cap) {
        int32_t cap = sheet->mark_cap ? sheet->mark_cap * 2 : 256;
        struct mark *marks = mst_arena_grow(sheet->arena, sheet->marks, (size_t)sheet->mark_cap,
                                            (size_t)cap, sizeof *marks);
        if (!marks)
            return NULL;
        sheet->marks = marks;
        sheet->mark_cap = cap;
    }
    sheet->marks[sheet->mark_count] = *mark;
    return &sheet->marks[sheet->mark_count++];
}

/* The middle of the letter itself, on the page. */
static double letter_middle(const struct mst_sheet *sheet, int32_t letter)
{
    const struct mst_letter *l = &sheet->reading->letters[letter];
    const struct word *word = &sheet->words[l->word_idx];
    const struct word_letter *wl =
        &word->letters[letter - sheet->reading->words[l->word_idx].first_letter];
    double x0 = sheet->boxes[letter].left - wl->left * sheet->em;
    double middle = x0 + (wl->base.x0 + wl->base.x1) / 2 * sheet->em;
    /* tails reach far under the next letter: stay within the letter's share of the line */
    double left = sheet->boxes[letter].left, right = sheet->boxes[letter].right;
    if (right > left && (middle < left || middle > right))
        middle = (left + right) / 2;
    return middle;
}

static double letter_base_edge(const struct mst_sheet *sheet, int32_t letter, int right)
{
    return right ? sheet->boxes[letter].right : sheet->boxes[letter].left;
}

/* Marks of a site that spans trigger and host: one, or one on each line. */
static int add_spanning(struct mst_sheet *sheet, struct mark *mark, const struct mst_site *site,
                        int line)
{
    int host_line = site->host >= 0 ? sheet->boxes[site->host].line : line;
    int trigger_line = sheet->boxes[site->trigger].line;
    double reach = 0.18 * sheet->em;
    double host_x = 0;
    if (site->host >= 0)
        host_x = mark->sign == SIGN_DOTTED_WAVE ? letter_base_edge(sheet, site->host, 1)
                                                : letter_middle(sheet, site->host);
    if (mark->sign == SIGN_DOTTED_WAVE && site->host >= 0)
        host_x -= 0.06 * sheet->em;
    mark->from = mark->anchor;
    mark->to = site->host >= 0 && site->host != site->trigger ? host_x : mark->anchor;
    if (trigger_line == host_line || site->host < 0)
        return line != trigger_line || add_mark(sheet, mark) != NULL;
    if (line == trigger_line) {
        mark->opens_left = 1;
        mark->to = sheet->text_left - reach;
        if (sheet->lines[line].centred)
            mark->to = sheet->lines[line].items[sheet->lines[line].item_count - 1].x - reach;
        return add_mark(sheet, mark) != NULL;
    }
    mark->opens_right = 1;
    const struct line_item *first = &sheet->lines[line].items[0];
    mark->from = fmax(first->x + first->width, letter_middle(sheet, site->host)) + reach;
    mark->to = host_x < mark->from ? host_x : mark->from;
    if (mark->sign == SIGN_DOTTED_WAVE) /* it only reaches toward the next letter */
        mark->to = mark->from - 0.4 * sheet->em;
    mark->anchor = (mark->from + mark->to) / 2;
    return add_mark(sheet, mark) != NULL;
}

static int add_site(struct mst_sheet *sheet, int32_t index, int line)
{
    const struct mst_site *site = &sheet->reading->sites[index];
    struct mark mark;
    if (!sheet_site_mark(sheet, site, &mark))
        return 1;
    mark.site = index;
    mark.word = -1;
    mark.anchor = letter_middle(sheet, site->trigger);
    mark.from = mark.to = mark.anchor;
    if (sign_is_spanning(mark.sign))
        return add_spanning(sheet, &mark, site, line);
    if (sheet->boxes[site->trigger].line != line)
        return 1;
    if (mark.sign == SIGN_BRACKET) {
        /* under every letter it covers in this line */
        for (int32_t l = site->first; l <= site->last; l++)
            if (l >= 0 && sheet->boxes[l].line == line && sheet->boxes[l].right > 0) {
                mark.from = fmax(mark.from, sheet->boxes[l].right);
                mark.to = fmin(mark.to, sheet->boxes[l].left);
            }
        double trim = 0.04 * sheet->em;
        if (mark.from - mark.to > 4 * trim)
            mark.from -= trim, mark.to += trim;
        if (mark.from - mark.to > 1.2 * sheet->em)
            mark.from = mark.to = mark.anchor;
    }
    return add_mark(sheet, &mark) != NULL;
}

/* The middle of the space after a word. */
static double gap_after(const struct mst_sheet *sheet, const struct line *line, int item)
{
    if (item + 1 >= line->item_count)
        return line->items[item].x - 0.15 * sheet->em;
    return (line->items[item].x + line->items[item + 1].x + line->items[item + 1].width) / 2;
}

/* The other embracing sign of the same verse on this line: its item, or -1. */
static int embracing_partner(const struct mst_sheet *sheet, const struct line *line, int item)
{
    const struct mst_word *words = sheet->reading->words, *here = &words[line->items[item].word];
    for (int i = 0; i < line->item_count; i++) {
        int32_t w = line->items[i].word;
        if (i != item && w >= 0 && words[w].sura == here->sura && words[w].verse == here->verse &&
            words[w].pause_sign == MST_PAUSE_EMBRACING)
            return i;
    }
    return -1;
}

/* The printed pause sign after a word, and what this reader does there. */
static int add_pause(struct mst_sheet *sheet, const struct line *line, int item)
{
    int32_t w = line->items[item].word;
    const struct mst_word *word = &sheet->reading->words[w];
    struct mark mark = {.site = -1, .word = w, .over = 1, .ink = INK_PLAIN};
    int at_verse_end = item + 1 < line->item_count && line->items[item + 1].word < 0;
    int is_last = w + 1 == sheet->reading->word_count;
    double x = gap_after(sheet, line, item), from = x, to = x;
    if (sign_for_pause(word->pause_sign, &mark.sign)) {
        mark.has_foot = word->seam == MST_SEAM_STOP;
        if (mark.sign == SIGN_STOP_EMBRACING) {
            /* linked on one line; on two lines the first looks on and the second back */
            int before = 0, partner = embracing_partner(sheet, line, item);
            if (partner > item)
                from += 0.1 * sheet->em, to = gap_after(sheet, line, partner) - 0.1 * sheet->em;
            else if (partner >= 0)
                return 1; /* drawn with the first */
            for (int32_t k = w - 1; k >= 0 && sheet->reading->words[k].verse == word->verse &&
                                    sheet->reading->words[k].sura == word->sura;
                 k--)
                before |= sheet->reading->words[k].pause_sign == MST_PAUSE_EMBRACING;
            mark.points_left = !before;
        }
    } else if (word->verse > 0 && at_verse_end && word->seam == MST_SEAM_JOIN && !is_last) {
        mark.sign = SIGN_JOINED;
        x = from = to = line->items[item + 1].x + line->items[item + 1].width / 2;
    } else if (!at_verse_end && word->seam == MST_SEAM_STOP && !is_last && word->verse > 0) {
        mark.sign = SIGN_STOP_READER;
    } else {
        return 1;
    }
    mark.anchor = x;
    mark.from = from;
    mark.to = to;
    return add_mark(sheet, &mark) != NULL;
}

/* Small before wide, then in reading order. */
static int by_width(const void *a, const void *b)
{
    const struct mark *m = a, *n = b;
    double dm = m->x1 - m->x0, dn = n->x1 - n->x0;
    if (fabs(dm - dn) > 0.01)
        return dm < dn ? -1 : 1;
    return m->x1 > n->x1 ? -1 : m->x1 < n->x1;
}

/*
 * Marks of equal kind next to one another may cover the same ground (two
 * rulers on neighbouring letters): the skyline then sets the second lower.
 */
static void place(struct mst_sheet *sheet, struct line *line, struct mark *mark,
                  struct skyline *scripture)
{
    double gap = sheet_gap_ink(sheet), apart = sheet_gap_marks(sheet), em = sheet->em;
    double height = mark->y1 - mark->y0;
    double y;
    if (mark->over) {
        double roof = skyline_roof(scripture, mark->x0 - gap, mark->x1 + gap) - gap;
        double other = skyline_roof(&line->sky, mark->x0 - apart, mark->x1 + apart) - apart;
        double band = mark->site < 0 ? BAND_STOP_EM : BAND_OVER_EM;
        y = fmin(fmin(roof, other), -band * em) - height;
    } else {
        double floor = skyline_floor(scripture, mark->x0 - gap, mark->x1 + gap) + gap;
        double other = skyline_floor(&line->sky, mark->x0 - apart, mark->x1 + apart) + apart;
        y = fmax(fmax(floor, other), BAND_EM * em);
    }
    mark->y0 = y;
    mark->y1 = y + height;
    skyline_add_rect(&line->sky, mark->x0, mark->y0, mark->x1, mark->y1);
}

/* A mark must stay on the paper: near an edge it is pushed in, its anchor stays. */
static void keep_on_page(const struct mst_sheet *sheet, struct mark *mark)
{
    double least = sheet->text_left - 0.5 * sheet->em, most = sheet->text_right + 0.5 * sheet->em;
    double push = 0;
    if (mark->x0 < least)
        push = least - mark->x0;
    else if (mark->x1 > most)
        push = most - mark->x1;
    mark->x0 += push;
    mark->x1 += push;
}

/* Stage 2: one dot for each letter that bears anything. */
static int add_dots(struct mst_sheet *sheet, int index, int draw)
{
    struct line *line = &sheet->lines[index];
    const struct mst_reading *r = sheet->reading;
    for (int i = 0; i < line->item_count; i++) {
        int32_t w = line->items[i].word;
        if (w < 0)
            continue;
        for (int32_t l = r->words[w].first_letter;
             l < r->words[w].first_letter + r->words[w].letter_count; l++) {
            int32_t first, end;
            mst_sites_at(r, l, &first, &end);
            int32_t found = -1;
            for (int32_t s = first; s < end; s++) {
                struct mark mark;
                if (found < 0 && sheet_site_mark(sheet, &r->sites[s], &mark))
                    found = s;
            }
            if (found < 0)
                continue;
            line->places++;
            struct mark dot = {.sign = SIGN_DOT, .ink = INK_PLAIN, .site = found, .word = -1};
            dot.anchor = dot.from = dot.to = letter_middle(sheet, l);
            if (draw && !add_mark(sheet, &dot))
                return 0;
        }
    }
    return 1;
}

/* Sites whose mark may lie on this line: triggers here, and ties that come from the line before. */
static int add_signs(struct mst_sheet *sheet, int index)
{
    struct line *line = &sheet->lines[index];
    const struct mst_reading *r = sheet->reading;
    int32_t first_word = -1, last_word = -1;
    for (int i = 0; i < line->item_count; i++)
        if (line->items[i].word >= 0) {
            first_word = first_word < 0 ? line->items[i].word : first_word;
            last_word = line->items[i].word;
        }
    if (first_word < 0)
        return 1;
    int32_t begin = r->words[first_word].first_letter;
    int32_t end = r->words[last_word].first_letter + r->words[last_word].letter_count;
    /* ties from the last word of the line before */
    int32_t back = first_word > 0 ? r->words[first_word - 1].first_letter : begin;
    for (int32_t l = back; l < end; l++) {
        int32_t site, site_end;
        mst_sites_at(r, l, &site, &site_end);
        for (; site < site_end; site++) {
            int32_t host = r->sites[site].host;
            if (l < begin && (host < begin || host >= end))
                continue;
            if (!add_site(sheet, site, index))
                return 0;
        }
    }
    if (sheet->options.no_stops)
        return 1;
    for (int i = 0; i < line->item_count; i++)
        if (line->items[i].word >= 0 && !add_pause(sheet, line, i))
            return 0;
    return 1;
}

/*
 * Fonts set the pause signs far over everything a letter may bear. Here they
 * stand just over what this line really has under them, but never higher than
 * the font had them.
 */
static int lower_pause_sign(struct mst_sheet *sheet, struct line *line,
                            const struct line_item *item)
{
    struct word *word = &sheet->words[item->word];
    struct mst_glyph *sign = &word->glyphs[word->pause_glyph];
    const struct glyph_profile *p = font_profile(sheet->ts, sheet->font, sign->id);
    if (!p)
        return 0;
    double em = sheet->em, gap = 0.07 * em;
    double x0 = item->x + ((double)sign->x + (double)p->x_min) * em;
    double x1 = item->x + ((double)sign->x + (double)p->x_max) * em;
    double roof = skyline_roof(&line->sky, x0 - gap, x1 + gap) - gap;
    roof = fmin(roof, -PAUSE_SIGN_EM * em);
    double y = roof / em - (double)p->y_max;
    if (y > (double)sign->y)
        sign->y = (float)y;
    return skyline_add_glyphs(&line->sky, sheet->ts, sheet->font, em, item->x, sign, 1);
}

static int line_ink(struct mst_sheet *sheet, struct line *line)
{
    if (!skyline_init(&line->sky, sheet->arena, sheet->text_left - 1.5 * sheet->em,
                      sheet->text_right + 1.5 * sheet->em))
        return 0;
    for (int i = 0; i < line->item_count; i++) {
        const struct line_item *item = &line->items[i];
        if (item->word < 0) {
            medallion_profile(&line->sky, item->x + item->width / 2, sheet->em);
            continue;
        }
        const struct word *word = &sheet->words[item->word];
        for (int g = 0; g < word->glyph_count; g++)
            if (g != word->pause_glyph &&
                !skyline_add_glyphs(&line->sky, sheet->ts, sheet->font, sheet->em, item->x,
                                    &word->glyphs[g], 1))
                return 0;
    }
    for (int i = 0; i < line->item_count; i++) {
        const struct line_item *item = &line->items[i];
        if (item->word >= 0 && sheet->words[item->word].pause_glyph >= 0 &&
            !lower_pause_sign(sheet, line, item))
            return 0;
    }
    return 1;
}

static enum mst_fade line_stage(const struct mst_sheet *sheet, int line)
{
    const struct mst_sheet_options *o = &sheet->options;
    if (o->line_stages && o->line_stage_count > 0) {
        size_t i = (size_t)line < o->line_stage_count ? (size_t)line : o->line_stage_count - 1;
        return o->line_stages[i] < MST_FADE_STAGES ? (enum mst_fade)o->line_stages[i]
                                                   : MST_FADE_NOTHING;
    }
    if (o->fade_evenly)
        return (enum mst_fade)(line * MST_FADE_STAGES / sheet->line_count);
    return o->stage;
}

static int fill_boxes(struct mst_sheet *sheet)
{
    const struct mst_reading *r = sheet->reading;
    sheet->boxes = mst_arena_alloc(sheet->arena, (size_t)r->letter_count + 1, sizeof *sheet->boxes);
    if (!sheet->boxes)
        return 0;
    for (int n = 0; n < sheet->line_count; n++) {
        const struct line *line = &sheet->lines[n];
        for (int i = 0; i < line->item_count; i++) {
            int32_t w = line->items[i].word;
            for (int k = 0; w >= 0 && k < r->words[w].letter_count; k++) {
                const struct word_letter *l = &sheet->words[w].letters[k];
                double x = line->items[i].x, em = sheet->em;
                int32_t letter = r->words[w].first_letter + k;
                struct box ink =
                    box_is_empty(l->ink) ? (struct box){l->left, 0, l->left, 0} : l->ink;
                sheet->boxes[letter] = (struct mst_letter_box){.letter = letter,
                                                               .line = n,
                                                               .x = x + ink.x0 * em,
                                                               .y = ink.y0 * em,
                                                               .width = (ink.x1 - ink.x0) * em,
                                                               .height = (ink.y1 - ink.y0) * em,
                                                               .left = x + l->left * em,
                                                               .right = x + l->right * em};
            }
        }
    }
    return 1;
}

enum mst_status marks_place(struct mst_sheet *sheet, struct mst_error *err)
{
    if (!fill_boxes(sheet))
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while placing the marks");
    struct mst_arena *scratch = mst_arena_new(0);
    struct skyline scripture = {0};
    int ok = scratch && skyline_init(&scripture, scratch, sheet->text_left - 1.5 * sheet->em,
                                     sheet->text_right + 1.5 * sheet->em);
    for (int n = 0; n < sheet->line_count && ok; n++) {
        struct line *line = &sheet->lines[n];
        line->stage = line_stage(sheet, n);
        line->first_mark = sheet->mark_count;
        ok = line_ink(sheet, line);
        if (ok && line->stage <= MST_FADE_MARKS)
            ok = add_signs(sheet, n);
        ok = ok && add_dots(sheet, n, line->stage == MST_FADE_WHERE);
        line->mark_count = sheet->mark_count - line->first_mark;
        struct mark *marks = sheet->marks + line->first_mark;
        for (int32_t i = 0; i < line->mark_count && ok; i++) {
            sign_measure(&marks[i], sheet->em);
            keep_on_page(sheet, &marks[i]);
        }
        if (!ok || line->mark_count == 0)
            continue;
        qsort(marks, (size_t)line->mark_count, sizeof *marks, by_width);
        memcpy(scripture.floor, line->sky.floor, (size_t)scripture.count * sizeof(float));
        memcpy(scripture.roof, line->sky.roof, (size_t)scripture.count * sizeof(float));
        for (int32_t i = 0; i < line->mark_count; i++)
            place(sheet, line, &marks[i], &scripture);
    }
    mst_arena_free(scratch);
    return ok ? MST_OK : mst_fail(err, MST_NO_MEMORY, "memory ran out while placing the marks");
}
