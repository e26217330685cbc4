/*
 * rows.c – the take line by line: what was heard, drawn to one scale of time.
 * From above: seconds, waveform, spectrogram, words under their stretch,
 * sounds, and for each site the measured ruler over the expected one.
 * Time runs from left to right, as in every picture of sound; inside a word
 * the letters run as they are written.
 */
#include "draw.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Heights from the top of a row, in points. */
static const double axis_at = 6, wave_top = 9, wave_height = 26, spectrum_top = 37,
                    spectrum_height = 50, word_baseline = 110, word_level = 21;
/* From the foot of the words. */
static const double address_at = 13, sound_at = 22, measured_at = 30, expected_at = 38,
                    beside_at = 46, number_at = 50;
static const double word_size = 15, word_gap = 3, lead_ms = 120;

/* --- planning ------------------------------------------------------------------ */
static double word_width(struct pen *pen, const struct mst_report *r, int32_t word)
{
    const struct mst_timeline *tl = r->measures->timeline;
    struct mst_string shown = {0};
    mst_text_for_display(mst_reading_word(tl->reading, tl->words[word].word_idx), &shown);
    double width = shown.ptr ? pen_width(pen, MST_PRINT_QURAN, word_size,
                                         (struct mst_span){shown.ptr, shown.len})
                             : 0;
    mst_string_free(&shown);
    return width;
}

/* Long enough that a word has room under its stretch, within what reads well. */
static double row_length_ms(const struct mst_timeline *tl, double width)
{
    const double room_for_word = 46;
    double spoken = 0, longest = 0;
    for (int32_t n = 0; n < tl->word_count; n++) {
        double ms = tl->words[n].end_ms - tl->words[n].start_ms;
        spoken += ms;
        longest = ms > longest ? ms : longest;
    }
    double mean = tl->word_count > 0 ? spoken / tl->word_count : 1000;
    double length = mean * width / room_for_word;
    length = length < 3500 ? 3500 : length > 10000 ? 10000 : length;
    return length > longest + 4 * lead_ms ? length : longest + 4 * lead_ms;
}

/* Where the row that begins with word `first` ends: the first word of the next. */
static int32_t row_break(const struct mst_timeline *tl, int32_t first, double start_ms,
                         double length_ms)
{
    int32_t end = first + 1, at_pause = -1;
    while (end < tl->word_count && tl->words[end].end_ms + lead_ms <= start_ms + length_ms) {
        if (tl->words[end].started && tl->words[end].start_ms > start_ms + 0.62 * length_ms)
            at_pause = end;
        end++;
    }
    if (end == tl->word_count || tl->words[end].started)
        return end;
    return at_pause > first ? at_pause : end;
}

/* Where words stand: their middle under their stretch, on another level where they would touch. */
static int row_levels(struct pen *pen, const struct mst_report *r, const struct draw_rows *rows,
                      const struct draw_row *row, double *middles, int *levels)
{
    enum { LEVELS_MAX = 3 };
    const struct mst_timeline *tl = r->measures->timeline;
    double ends[LEVELS_MAX] = {-word_gap, -word_gap, -word_gap};
    int used = 1;
    for (int32_t n = row->first_word; n < row->end_word; n++) {
        const struct mst_heard_word *w = &tl->words[n];
        double half = word_width(pen, r, n) / 2;
        double middle = ((w->start_ms + w->end_ms) / 2.0 - row->start_ms) * rows->points_per_ms;
        middle = middle + half > rows->width ? rows->width - half : middle;
        middle = middle < half ? half : middle;
        int level = 0;
        while (level < LEVELS_MAX && middle - half < ends[level] + word_gap)
            level++;
        if (level == LEVELS_MAX) { /* no room anywhere: after the one that ends first */
            level = 0;
            for (int k = 1; k < LEVELS_MAX; k++)
                level = ends[k] < ends[level] ? k : level;
            middle = ends[level] + word_gap + half;
        }
        ends[level] = middle + half;
        used = level + 1 > used ? level + 1 : used;
        if (middles) {
            middles[n - row->first_word] = middle;
            levels[n - row->first_word] = level;
        }
    }
    return used;
}

static double row_foot(const struct draw_row *row)
{
    return word_baseline + (row->levels - 1) * word_level;
}

static double row_height(const struct mst_report *r, const struct draw_row *row)
{
    return row_foot(row) + number_at + (r->comparison ? beside_at - expected_at : 0) + 6;
}

enum mst_status draw_rows_plan(struct pen *pen, const struct mst_report *r, double width,
                               struct mst_arena *arena, struct draw_rows *out,
                               struct mst_error *err)
{
    const struct mst_timeline *tl = r->measures->timeline;
    double length = row_length_ms(tl, width);
    *out = (struct draw_rows){.width = width, .points_per_ms = width / length, .loudest = 1};
    out->rows = mst_arena_alloc(arena, (size_t)tl->word_count + 1, sizeof *out->rows);
    if (!out->rows)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the take");
    for (int32_t word = 0; word < tl->word_count;) {
        struct draw_row *row = &out->rows[out->count++];
        double start = tl->words[word].start_ms - lead_ms;
        row->start_ms = start > 0 ? start : 0;
        row->first_word = word;
        row->end_word = word = row_break(tl, word, row->start_ms, length);
        double end = word < tl->word_count ? tl->words[word].start_ms
                                           : tl->words[word - 1].end_ms + 2 * lead_ms;
        end = end < (double)tl->duration_ms ? end : (double)tl->duration_ms;
        row->end_ms = end < row->start_ms + length ? end : row->start_ms + length;
        row->levels = row_levels(pen, r, out, row, NULL, NULL);
        row->height = row_height(r, row);
    }
    double speech_dbfs = r->quality ? r->quality->speech_dbfs : -20;
    if (r->quality)
        out->loudest = pow(10, r->quality->peak_dbfs / 20);
    if (out->loudest < 1e-4)
        out->loudest = 1e-4;
    return r->take ? spectrum_new(speech_dbfs, &out->spectrum, err) : MST_OK;
}

void draw_rows_end(struct draw_rows *rows)
{
    spectrum_free(rows->spectrum);
    rows->spectrum = NULL;
}

/* --- drawing ---------------------------------------------------------------------- */
struct drawing {
    struct canvas *c;
    const struct mst_report *r;
    const struct draw_rows *rows;
    const struct draw_row *row;
    double x, y; /* of the row's top left */
};

static double x_of(const struct drawing *d, double ms)
{
    return d->x + (ms - d->row->start_ms) * d->rows->points_per_ms;
}

static void seconds(const struct drawing *d)
{
    char text[24];
    int first = (int)ceil(d->row->start_ms / 1000), last = (int)floor(d->row->end_ms / 1000);
    for (int n = first; n <= last; n++) {
        double x = x_of(d, n * 1000.0);
        snprintf(text, sizeof text, "%d:%02d", n / 60, n % 60);
        canvas_line(d->c, x, d->y + axis_at + 1.5, x, d->y + wave_top + wave_height, 0.3, 0,
                    DRAW_HAIR);
        canvas_words(d->c, x, d->y + axis_at, MST_PRINT_PLAIN, 5.5, ANCHOR_MIDDLE, DRAW_SOFT, 0,
                     mst_span_of(text));
    }
}

static enum mst_status waveform(const struct drawing *d, struct mst_error *err)
{
    double width = (d->row->end_ms - d->row->start_ms) * d->rows->points_per_ms;
    size_t columns = (size_t)width + 2;
    float *edges = malloc(2 * columns * sizeof *edges);
    struct canvas_point *points = malloc(2 * columns * sizeof *points);
    enum mst_status status = MST_OK;
    if (!edges || !points)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the sound");
    if (status == MST_OK)
        status = mst_take_outline(d->r->take, d->row->start_ms, d->row->end_ms, columns, edges,
                                  edges + columns, err);
    if (status == MST_OK) {
        double middle = d->y + wave_top + wave_height / 2;
        double scale = wave_height / 2 / d->rows->loudest;
        for (size_t n = 0; n < columns; n++) {
            double x = d->x + width * (double)n / (double)(columns - 1);
            double low = edges[n] * scale, high = edges[columns + n] * scale;
            /* a hair's breadth stays where it is silent */
            points[n] = (struct canvas_point){x, middle - (high > 0.15 ? high : 0.15)};
            points[2 * columns - 1 - n] =
                (struct canvas_point){x, middle - (low < -0.15 ? low : -0.15)};
        }
        canvas_fill(d->c, points, 2 * columns, 1, DRAW_SOUND);
    }
    free(edges);
    free(points);
    return status;
}

static enum mst_status spectrogram(const struct drawing *d, struct mst_error *err)
{
    double width = (d->row->end_ms - d->row->start_ms) * d->rows->points_per_ms;
    int columns = (int)((d->row->end_ms - d->row->start_ms) / 12) + 1;
    uint8_t *grey = malloc((size_t)columns * SPECTRUM_ROWS);
    if (!grey)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the sound");
    enum mst_status status = spectrum_draw(d->rows->spectrum, d->r->take, d->row->start_ms,
                                           d->row->end_ms, columns, grey, err);
    if (status == MST_OK)
        status = canvas_picture(d->c, d->x, d->y + spectrum_top, width, spectrum_height, grey,
                                columns, SPECTRUM_ROWS, err);
    free(grey);
    return status;
}

static void pauses(const struct drawing *d)
{
    const struct mst_timeline *tl = d->r->measures->timeline;
    for (int32_t n = 0; n < tl->pause_count; n++) {
        const struct mst_heard_pause *p = &tl->pauses[n];
        double start = p->start_ms > d->row->start_ms ? p->start_ms : d->row->start_ms;
        double end = p->end_ms < d->row->end_ms ? p->end_ms : d->row->end_ms;
        if (end - start < 60)
            continue;
        char text[32];
        double x = x_of(d, start), width = x_of(d, end) - x;
        canvas_box(d->c, x, d->y + spectrum_top + spectrum_height + 3, width, 2, 1, DRAW_HAIR);
        snprintf(text, sizeof text, "%.1f s", (p->end_ms - p->start_ms) / 1000.0);
        if (width > 16)
            canvas_words(d->c, x + width / 2, d->y + spectrum_top + spectrum_height + 12,
                         MST_PRINT_PLAIN, 5.5, ANCHOR_MIDDLE, DRAW_SOFT, 0, mst_span_of(text));
    }
}

static void one_word(const struct drawing *d, int32_t n, double middle, int level)
{
    const struct mst_timeline *tl = d->r->measures->timeline;
    const struct mst_heard_word *w = &tl->words[n];
    double left = x_of(d, w->start_ms), right = x_of(d, w->end_ms);
    double under = d->y + spectrum_top + spectrum_height;
    struct mst_string shown = {0};
    char at[48], start[24], title[96];
    mst_text_for_display(mst_reading_word(tl->reading, w->word_idx), &shown);
    snprintf(title, sizeof title, "%s, %s", report_word_addr(w->at, at),
             report_clock(w->start_ms, start));
    canvas_group(d->c, "word", mst_span_of(title));
    canvas_line(d->c, left, d->y + wave_top, left, under + 2, 0.4, 0, DRAW_SOFT);
    canvas_line(d->c, right, d->y + wave_top, right, under + 2, 0.4, 0, DRAW_SOFT);
    canvas_line(d->c, left + 0.8, under + 2, right - 0.8, under + 2, 0.7, 0, DRAW_SOFT);
    if (shown.ptr)
        canvas_words(d->c, d->x + middle, d->y + word_baseline + level * word_level,
                     MST_PRINT_QURAN, word_size, ANCHOR_MIDDLE, w->again ? DRAW_SOFT : DRAW_TEXT, 1,
                     (struct mst_span){shown.ptr, shown.len});
    snprintf(title, sizeof title, "%d:%d", w->at.verse, w->at.word);
    if (right - left > 9)
        canvas_words(d->c, (left + right) / 2, d->y + row_foot(d->row) + address_at,
                     MST_PRINT_PLAIN, 5.5, ANCHOR_MIDDLE, DRAW_SOFT, 0, mst_span_of(title));
    canvas_group_end(d->c);
    mst_string_free(&shown);
}

static enum mst_status words(const struct drawing *d, struct mst_error *err)
{
    size_t count = (size_t)(d->row->end_word - d->row->first_word) + 1;
    double *middles = malloc(count * sizeof *middles);
    int *levels = malloc(count * sizeof *levels);
    enum mst_status status = MST_OK;
    if (!middles || !levels) {
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the words");
    } else {
        row_levels(d->c->pen, d->r, d->rows, d->row, middles, levels);
        for (int32_t n = d->row->first_word; n < d->row->end_word; n++)
            one_word(d, n, middles[n - d->row->first_word], levels[n - d->row->first_word]);
    }
    free(middles);
    free(levels);
    return status;
}

static void sounds(const struct drawing *d)
{
    const struct mst_timeline *tl = d->r->measures->timeline;
    double baseline = d->y + row_foot(d->row) + sound_at;
    for (int32_t w = d->row->first_word; w < d->row->end_word; w++) {
        const struct mst_heard_word *word = &tl->words[w];
        for (int32_t n = word->first_sound; n < word->first_sound + word->sound_count; n++) {
            const struct mst_heard_sound *s = &tl->sounds[n];
            double left = x_of(d, s->start_ms), right = x_of(d, s->end_ms);
            struct mst_span ipa = mst_span_of(mst_phone_ipa(s->phone));
            canvas_line(d->c, left, baseline - 6.5, left, baseline - 4, 0.4, 0, DRAW_SOFT);
            if (pen_width(d->c->pen, MST_PRINT_PLAIN, 6.5, ipa) < right - left + 1)
                canvas_words(d->c, (left + right) / 2, baseline, MST_PRINT_PLAIN, 6.5,
                             ANCHOR_MIDDLE, DRAW_TEXT, 0, ipa);
        }
    }
}

/* The second take's hold of this site, pace taken out; 0 when it holds none. */
static double beside_held_ms(const struct mst_report *r, int32_t site)
{
    for (int32_t n = 0; r->comparison && n < r->comparison->site_count; n++)
        if (r->comparison->sites[n].first == site)
            return r->comparison->sites[n].ratio * r->measures->sites[site].held_ms;
    return 0;
}

static void site_title(const struct mst_report *r, const struct mst_measured_site *s,
                       struct mst_string *out)
{
    char at[48];
    mst_string_addf(out, "%s %s: %d ms, ", report_word_addr(s->at, at),
                    mst_rule_name(s->rule, r->lang), s->held_ms);
    mst_string_addf(out, "%s %.1f (%.1f–%.1f), %s %.0f", report_say(SAY_MEASURED, r->lang),
                    s->measured_counts, s->counts_low, s->counts_high,
                    report_say(SAY_EXPECTED, r->lang), s->expected_counts);
}

static void one_site(const struct drawing *d, int32_t index, double *free_from)
{
    const struct mst_measured_site *s = &d->r->measures->sites[index];
    if (s->measured_counts <= 0 || s->held_ms <= 0)
        return;
    double left = x_of(d, s->start_ms), foot = d->y + row_foot(d->row);
    double count_width = s->held_ms / s->measured_counts * d->rows->points_per_ms;
    enum draw_ruler kind = draw_ruler_of(s->rule);
    int sure = s->trust != MST_TRUST_NONE;
    uint32_t colour = sure ? draw_ink_of(s->rule) : DRAW_EXPECTED;
    struct mst_string title = {0};
    site_title(d->r, s, &title);
    canvas_group(d->c, "site", (struct mst_span){title.ptr, title.len});
    mst_string_free(&title);
    draw_ruler(d->c, kind, left, foot + measured_at, s->measured_counts, count_width, 1, colour);
    draw_ruler(d->c, kind, left, foot + expected_at, s->expected_counts, count_width, 0.6,
               DRAW_EXPECTED);
    double beside = beside_held_ms(d->r, index);
    double shift = d->r->comparison ? beside_at - expected_at : 0;
    if (beside > 0)
        draw_ruler(d->c, kind, left, foot + beside_at, beside / s->held_ms * s->measured_counts,
                   count_width, 0.6, DRAW_TEXT);
    /* The number stands where the ruler begins, unless the last one is still in the way. */
    char text[24];
    int far = sure && fabs(log(s->ratio)) > log(1.25);
    snprintf(text, sizeof text, sure ? "%.1f" : "(%.1f)", s->measured_counts);
    double width =
        pen_width(d->c->pen, far ? MST_PRINT_BOLD : MST_PRINT_PLAIN, 7, mst_span_of(text));
    if (left >= *free_from) {
        canvas_words(d->c, left, foot + number_at + shift, far ? MST_PRINT_BOLD : MST_PRINT_PLAIN,
                     7, ANCHOR_START, far ? colour : DRAW_SOFT, 0, mst_span_of(text));
        *free_from = left + width + 2;
    }
    canvas_group_end(d->c);
}

static void sites(const struct drawing *d)
{
    const struct mst_measures *m = d->r->measures;
    double free_from = 0;
    for (int32_t n = 0; n < m->site_count; n++) {
        int32_t word = m->timeline->sounds[m->sites[n].sound].heard_word;
        if (word >= d->row->first_word && word < d->row->end_word)
            one_site(d, n, &free_from);
    }
}

enum mst_status draw_row(struct canvas *c, const struct mst_report *r, const struct draw_rows *rows,
                         int32_t row, double x, double y, struct mst_error *err)
{
    struct drawing d = {c, r, rows, &rows->rows[row], x, y};
    enum mst_status status = MST_OK;
    seconds(&d);
    if (r->take)
        status = waveform(&d, err);
    if (status == MST_OK && r->take)
        status = spectrogram(&d, err);
    if (status == MST_OK)
        status = words(&d, err);
    if (status != MST_OK)
        return status;
    pauses(&d);
    sounds(&d);
    sites(&d);
    return MST_OK;
}

void draw_rows_key(struct canvas *c, const struct mst_report *r, double x, double y, double width)
{
    static const enum mst_rule shown[] = {MST_RULE_MADD_TABII, MST_RULE_GHUNNA, MST_RULE_IKHFA,
                                          MST_RULE_IQLAB, MST_RULE_IDGHAM_GHUNNA};
    int right_to_left = r->lang == MST_LANG_AR;
    struct mst_string words = {0};
    mst_string_adds(&words, report_say(SAY_RULER_KEY, r->lang));
    if (r->comparison)
        mst_string_adds(&words, report_say(SAY_RULER_BESIDE, r->lang));
    struct mst_span said = {words.ptr ? words.ptr : "", words.len};
    double size = 7.5, wide = pen_width(c->pen, MST_PRINT_PLAIN, size, said);
    if (wide > width)
        size *= width / wide;
    canvas_words(c, right_to_left ? x + width : x, y + 7, MST_PRINT_PLAIN, size,
                 right_to_left ? ANCHOR_END : ANCHOR_START, DRAW_SOFT, right_to_left, said);
    mst_string_free(&words);
    double at = x;
    for (size_t n = 0; n < sizeof shown / sizeof *shown; n++) {
        struct mst_span name = mst_span_of(mst_family_name(mst_rule_family(shown[n]), r->lang));
        draw_ruler(c, draw_ruler_of(shown[n]), at, y + 18, 2, 8, 1, draw_ink_of(shown[n]));
        canvas_words(c, at + 21, y + 20, MST_PRINT_PLAIN, 7, ANCHOR_START, DRAW_TEXT, right_to_left,
                     name);
        at += 21 + pen_width(c->pen, MST_PRINT_PLAIN, 7, name) + 16;
    }
}
