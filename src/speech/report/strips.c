/* strips.c – every class of length as a strip of dots on one scale of time. */
#include "draw.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double strip_height = 26, beside_height = 11, axis_height = 18, label_width = 176;

/* On a scale of ratios, 25 % is as wide anywhere. */
struct scale {
    double low_ms, high_ms, x, width;
};

static double place(const struct scale *s, double ms)
{
    double at = log(ms / s->low_ms) / log(s->high_ms / s->low_ms);
    return s->x + s->width * (at < 0 ? 0 : at > 1 ? 1 : at);
}

static void widen(struct scale *s, const struct mst_measures *m)
{
    for (int32_t n = 0; m && n < m->site_count; n++) {
        double held = m->sites[n].held_ms;
        s->low_ms = held > 0 && held < s->low_ms ? held : s->low_ms;
        s->high_ms = held > s->high_ms ? held : s->high_ms;
    }
}

static int shown(const struct mst_report *r, int length)
{
    return report_class_shown(r->measures, length) ||
           (r->beside && report_class_shown(r->beside->measures, length));
}

double draw_strips_height(const struct mst_report *r)
{
    double height = axis_height;
    for (int k = 0; k < MST_LENGTH_COUNT; k++)
        if (shown(r, k))
            height += strip_height + (r->beside ? beside_height : 0);
    return height;
}

static struct mst_span words_of(const char *text)
{
    return mst_span_of(text);
}

static void label(struct canvas *c, const struct mst_report *r, int length, double x, double y,
                  int right_to_left)
{
    const struct mst_measures *m = r->measures;
    const struct mst_length_measure *l = &m->lengths[length];
    enum canvas_anchor anchor = right_to_left ? ANCHOR_END : ANCHOR_START;
    canvas_words(c, x, y + 10, MST_PRINT_PLAIN, 9, anchor, DRAW_TEXT, right_to_left,
                 words_of(mst_length_name((enum mst_length)length, r->lang)));
    char numbers[120];
    if (l->trusted > 0 && m->count_ms > 0)
        snprintf(numbers, sizeof numbers,
                 right_to_left ? "⁨%d⁩ · ⁨%.0f ms⁩ · ⁨%.1f⁩ %s · ⁨%.0f %%⁩"
                               : "%d · %.0f ms · %.1f %s · %.0f %%",
                 l->count, l->median_ms, l->median_ms / m->count_ms,
                 right_to_left ? "حركة" : "counts", 100 * l->even_share);
    else if (l->trusted > 0)
        snprintf(numbers, sizeof numbers, "%d · %.0f ms", l->count, l->median_ms);
    else
        snprintf(numbers, sizeof numbers, "%d", l->count);
    canvas_words(c, x, y + (right_to_left ? 22 : 19.5), MST_PRINT_PLAIN, 7, anchor, DRAW_SOFT,
                 right_to_left, words_of(numbers));
}

static void dots(struct canvas *c, const struct mst_report *r, const struct scale *s, int length,
                 double y, int filled, uint32_t colour)
{
    const struct mst_measures *m = r->measures;
    int nth = 0;
    for (int32_t n = 0; n < m->site_count; n++) {
        const struct mst_measured_site *site = &m->sites[n];
        if ((int)site->length != length || site->held_ms <= 0)
            continue;
        /* Dots of one strip go up and down in turn, so that they do not hide one another. */
        double up = ((nth++ * 5) % 9 - 4) * 0.85;
        char title[160], at[48];
        snprintf(title, sizeof title, "%s %s: %d ms", report_word_addr(site->at, at),
                 mst_rule_name(site->rule, r->lang), site->held_ms);
        canvas_group(c, "site", words_of(title));
        canvas_dot(c, place(s, site->held_ms), y + up, 1.7, filled && site->trust != MST_TRUST_NONE,
                   0.62, colour);
        canvas_group_end(c);
    }
}

static void middle_mark(struct canvas *c, double x, double y, double half, uint32_t colour)
{
    canvas_line(c, x, y - half, x, y + half, 1.6, 0, colour);
}

static void diamond(struct canvas *c, double x, double y, uint32_t colour)
{
    struct canvas_point points[] = {
        {x, y - 3.4}, {x + 2.6, y}, {x, y + 3.4}, {x - 2.6, y}, {x, y - 3.4}};
    canvas_path(c, points, 5, 0.9, 0, colour);
}

static void strip(struct canvas *c, const struct mst_report *r, const struct scale *s, int length,
                  double y)
{
    const struct mst_length_measure *l = &r->measures->lengths[length];
    uint32_t colour = draw_ink_of_length((enum mst_length)length);
    double middle = y + strip_height / 2 - 1;
    canvas_line(c, s->x, middle, s->x + s->width, middle, 0.3, 0, DRAW_HAIR);
    if (l->median_ms > 0) {
        double left = place(s, 0.75 * l->median_ms), right = place(s, 1.25 * l->median_ms);
        canvas_box(c, left, middle - 8, right - left, 16, 1, DRAW_BAND);
    }
    dots(c, r, s, length, middle, 1, colour);
    if (l->median_ms > 0)
        middle_mark(c, place(s, l->median_ms), middle, 9, colour);
    if (l->model_median_ms > 0)
        diamond(c, place(s, l->model_median_ms), middle, DRAW_TEXT);
    if (!r->beside)
        return;
    double below = y + strip_height + beside_height / 2 - 3;
    dots(c, r->beside, s, length, below, 0, colour);
    double other = r->beside->measures->lengths[length].median_ms;
    if (other > 0)
        middle_mark(c, place(s, other), below, 5, DRAW_TEXT);
}

static void axis(struct canvas *c, const struct scale *s, double top, double y)
{
    static const double ticks[] = {50, 100, 200, 300, 500, 1000, 2000, 3000, 5000, 10000};
    for (size_t n = 0; n < sizeof ticks / sizeof *ticks; n++) {
        if (ticks[n] < s->low_ms || ticks[n] > s->high_ms)
            continue;
        char text[24];
        double x = place(s, ticks[n]);
        snprintf(text, sizeof text, "%g s", ticks[n] / 1000);
        canvas_line(c, x, top, x, y, 0.3, 1.5, DRAW_HAIR);
        canvas_words(c, x, y + 9, MST_PRINT_PLAIN, 7, ANCHOR_MIDDLE, DRAW_SOFT, 0, words_of(text));
    }
}

void draw_strips(struct canvas *c, const struct mst_report *r, double x, double y, double width)
{
    int right_to_left = r->lang == MST_LANG_AR;
    struct scale s = {200, 1200, x + (right_to_left ? 0 : label_width), width - label_width};
    widen(&s, r->measures);
    widen(&s, r->beside ? r->beside->measures : NULL);
    s.low_ms *= 0.85;
    s.high_ms *= 1.12;
    axis(c, &s, y, y + draw_strips_height(r) - axis_height + 2);
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        if (!shown(r, k))
            continue;
        label(c, r, k, right_to_left ? x + width : x, y, right_to_left);
        strip(c, r, &s, k, y);
        y += strip_height + (r->beside ? beside_height : 0);
    }
}
