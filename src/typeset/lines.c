/*
 * Words into lines. Paragraphs end where a sura does; a basmala read before a
 * sura is a paragraph of its own. Lines break only between words, where the
 * sum of (stretch)² over the paragraph is least (every line is looked at, not
 * each by itself, so spaces stay even down the page). The last line keeps its
 * natural spaces.
 */
#include "sheet.h"

#include <math.h>
#include <string.h>

/* Spaces between words in em: natural, narrowest, widest. */
static const double SPACE = 0.30, SPACE_LEAST = 0.22, SPACE_MOST = 0.62;
/* Between a verse's last word and its medallion, which never part. */
static const double MEDALLION_SPACE = 0.16;

struct token {
    struct line_item item;
    int glued; /* to the one before */
};

/* A paragraph begins at word w? */
static int begins_paragraph(const struct mst_sheet *sheet, int32_t w)
{
    const struct mst_word *words = sheet->reading->words;
    if (w == 0)
        return 1;
    const struct mst_word *a = &words[w - 1], *b = &words[w];
    if (a->sura != b->sura || (a->verse == 0) != (b->verse == 0))
        return 1;
    return sheet->gloss >= 0 && a->verse != b->verse;
}

static int ends_verse(const struct mst_sheet *sheet, int32_t w)
{
    const struct mst_word *word = &sheet->reading->words[w];
    return word->verse > 0 &&
           word->word == mst_text_word_count(sheet->reading->text, word->sura, word->verse);
}

static int tokenize(const struct mst_sheet *sheet, const struct paragraph *p, struct token *out)
{
    int count = 0;
    for (int32_t w = p->first_word; w < p->first_word + p->word_count; w++) {
        const struct mst_word *word = &sheet->reading->words[w];
        double width = sheet->words[w].width * sheet->em;
        out[count++] = (struct token){{w, word->sura, word->verse, 0, width}, 0};
        if (ends_verse(sheet, w))
            out[count++] =
                (struct token){{-1, word->sura, word->verse, 0, medallion_width() * sheet->em}, 1};
    }
    return count;
}

/* Width of tokens a…b-1 without stretchable spaces, and how many of those there are. */
static double natural(const double *sums, const int *spaces, int a, int b, int *space_count)
{
    *space_count = spaces[b] - spaces[a + 1];
    return sums[b] - sums[a];
}

/*
 * How badly a line of this width with this many spaces fills the measure: 0
 * with natural spaces, growing with the square of their stretch, very large
 * past the limits. Less than 0 = too wide.
 */
static double badness(double width, int spaces, double em, double measure)
{
    double room = measure - width;
    if (room < spaces * SPACE_LEAST * em - 1e-6)
        return -1;
    if (spaces == 0)
        return 400;
    double space = room / spaces / em;
    double stretch = space < SPACE ? (SPACE - space) / (SPACE - SPACE_LEAST)
                                   : (space - SPACE) / (SPACE_MOST - SPACE);
    double bad = stretch * stretch;
    return stretch > 1 ? bad * 10 : bad;
}

static struct line *add_line(struct mst_sheet *sheet)
{
    if (sheet->line_count == sheet->line_cap) {
        int cap = sheet->line_cap ? sheet->line_cap * 2 : 32;
        struct line *lines = mst_arena_grow(sheet->arena, sheet->lines, (size_t)sheet->line_cap,
                                            (size_t)cap, sizeof *lines);
        if (!lines)
            return NULL;
        sheet->lines = lines;
        sheet->line_cap = cap;
    }
    struct line *line = &sheet->lines[sheet->line_count++];
    memset(line, 0, sizeof *line);
    return line;
}

/* Set tokens a…b-1 as one line. */
static int set_line(struct mst_sheet *sheet, const struct token *tokens, int a, int b, double width,
                    int spaces, int last, int paragraph, int centred)
{
    struct line *line = add_line(sheet);
    if (!line)
        return 0;
    double measure = sheet->text_right - sheet->text_left;
    double space = SPACE * sheet->em;
    if (spaces > 0 && !centred) {
        double fit = (measure - width) / spaces;
        if (!last || fit < space)
            space = fit;
        if (space > SPACE_MOST * sheet->em)
            space = SPACE_MOST * sheet->em;
    }
    double used = width + spaces * space;
    double pen = sheet->text_right;
    if (centred || (!last && used < measure - 1))
        pen -= (measure - used) / 2;
    line->centred = centred;
    line->paragraph = paragraph;
    line->item_count = b - a;
    line->items = mst_arena_alloc(sheet->arena, (size_t)(b - a), sizeof *line->items);
    if (!line->items)
        return 0;
    for (int i = a; i < b; i++) {
        if (i > a)
            pen -= tokens[i].glued ? MEDALLION_SPACE * sheet->em : space;
        pen -= tokens[i].item.width;
        line->items[i - a] = tokens[i].item;
        line->items[i - a].x = pen;
    }
    return 1;
}

static enum mst_status break_paragraph(struct mst_sheet *sheet, int index, struct mst_error *err)
{
    struct paragraph *p = &sheet->paragraphs[index];
    size_t most = 2 * (size_t)p->word_count + 1;
    struct mst_arena *arena = sheet->arena;
    struct token *tokens = mst_arena_alloc(arena, most, sizeof *tokens);
    double *sums = mst_arena_alloc(arena, most + 1, sizeof *sums);
    int *spaces = mst_arena_alloc(arena, most + 1, sizeof *spaces);
    double *cost = mst_arena_alloc(arena, most + 1, sizeof *cost);
    int *from = mst_arena_alloc(arena, most + 1, sizeof *from);
    if (!tokens || !sums || !spaces || !cost || !from)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while breaking lines");
    int count = tokenize(sheet, p, tokens);
    double measure = sheet->text_right - sheet->text_left, em = sheet->em;
    /* sums[i]: widths of tokens before i with the fixed spaces before medallions;
     * spaces[i]: stretchable spaces before tokens before i */
    for (int i = 0; i < count; i++) {
        sums[i + 1] = sums[i] + tokens[i].item.width + (tokens[i].glued ? MEDALLION_SPACE * em : 0);
        spaces[i + 1] = spaces[i] + (tokens[i].glued ? 0 : 1);
    }
    int centred = p->sura == 0 || sheet->reading->words[p->first_word].verse == 0;
    cost[0] = 0;
    for (int end = 1; end <= count; end++) {
        cost[end] = 1e300;
        from[end] = -1;
        if (end < count && tokens[end].glued)
            continue;
        for (int begin = end - 1; begin >= 0; begin--) {
            if (tokens[begin].glued)
                continue;
            int space_count;
            double width = natural(sums, spaces, begin, end, &space_count);
            double bad = badness(width, space_count, em, measure);
            if (bad < 0)
                break;
            if (end == count) /* the last line is not stretched; a lone word there is ugly */
                bad = width < measure * 0.15 && begin > 0 ? 1 : 0;
            if (cost[begin] + bad < cost[end]) {
                cost[end] = cost[begin] + bad;
                from[end] = begin;
            }
        }
        if (from[end] < 0 && sums[end] - sums[end - 1 - tokens[end - 1].glued] > measure)
            return mst_fail(err, MST_USAGE,
                            "type of %g points is too large for a line %g points wide: one word "
                            "of verse %d:%d alone does not fit; choose smaller type",
                            em, measure, (int)tokens[end - 1].item.sura,
                            (int)tokens[end - 1].item.verse);
    }
    if (from[count] < 0)
        return mst_fail(err, MST_USAGE,
                        "type of %g points is too large for a line %g points wide; choose "
                        "smaller type",
                        em, measure);
    /* the ends, walked back and turned round in `from` itself */
    int line_count = 0;
    for (int end = count; end > 0; end = from[end])
        line_count++;
    int *ends = mst_arena_alloc(arena, (size_t)line_count + 1, sizeof *ends);
    if (!ends)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while breaking lines");
    for (int end = count, i = line_count; i >= 0; i--) {
        ends[i] = end;
        end = end > 0 ? from[end] : 0;
    }
    p->first_line = sheet->line_count;
    p->line_count = line_count;
    for (int i = 0; i < line_count; i++) {
        int space_count;
        double width = natural(sums, spaces, ends[i], ends[i + 1], &space_count);
        if (!set_line(sheet, tokens, ends[i], ends[i + 1], width, space_count, i + 1 == line_count,
                      index, centred))
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while breaking lines");
    }
    return MST_OK;
}

static enum mst_status find_paragraphs(struct mst_sheet *sheet, struct mst_error *err)
{
    const struct mst_reading *r = sheet->reading;
    int count = 0;
    for (int32_t w = 0; w < r->word_count; w++)
        count += begins_paragraph(sheet, w);
    sheet->paragraphs = mst_arena_alloc(sheet->arena, (size_t)count + 1, sizeof *sheet->paragraphs);
    if (!sheet->paragraphs)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while breaking lines");
    struct paragraph *p = NULL;
    int32_t headed = 0;
    for (int32_t w = 0; w < r->word_count; w++) {
        const struct mst_word *word = &r->words[w];
        if (begins_paragraph(sheet, w)) {
            p = &sheet->paragraphs[sheet->paragraph_count++];
            p->first_word = w;
            p->sura = word->sura;
            if (word->sura != headed && word->sura > 0) {
                headed = word->sura;
                p->heading = 1;
                p->verse_from = word->verse > 0 ? word->verse : 1;
                for (int32_t k = w; k < r->word_count && r->words[k].sura == word->sura; k++)
                    p->verse_to = r->words[k].verse;
            }
            if (sheet->gloss >= 0 && word->verse > 0)
                p->gloss_verse = word->verse;
        }
        p->word_count++;
    }
    return MST_OK;
}

enum mst_status lines_break(struct mst_sheet *sheet, struct mst_error *err)
{
    enum mst_status status = find_paragraphs(sheet, err);
    for (int i = 0; i < sheet->paragraph_count && status == MST_OK; i++)
        status = break_paragraph(sheet, i, err);
    return status;
}
