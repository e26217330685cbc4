#include "sign.h"

#include <math.h>

const char *sign_meaning(enum sign sign, enum mst_lang lang)
{
    static const char *const meanings[SIGN_COUNT][2] = {
#define X(name, en, ar) {en, ar},
        SIGN_LIST(X)
#undef X
    };
    return meanings[sign][lang];
}

/* Seams and words of their own: one sign a rule. */
struct rule_sign {
    enum mst_rule rule;
    enum sign sign;
};
static const struct rule_sign own_signs[] = {
    {MST_RULE_TANWIN_KASRA, SIGN_CHEVRON}, {MST_RULE_ILTIQA_SAKINAYN, SIGN_CHEVRON},
    {MST_RULE_WAQF_SUKUN, SIGN_GATE},      {MST_RULE_WAQF_HA, SIGN_GATE_RING},
    {MST_RULE_RAWM, SIGN_FADING},          {MST_RULE_ISHMAM, SIGN_LIPS},
    {MST_RULE_SAKT, SIGN_BREATH},          {MST_RULE_IMALA, SIGN_SLANT},
    {MST_RULE_TASHIL, SIGN_EASED},         {MST_RULE_SAD_SIN, SIGN_FORK},
    {MST_RULE_FATH_DAMM, SIGN_FORK},
};

int sign_for_site(const struct mst_site *site, struct mark *out)
{
    enum mst_family family = mst_rule_family(site->rule);
    out->ink = INK_FAMILY + (int)family;
    out->counts = site->counts;
    out->counts_min = site->counts_min;
    out->counts_max = site->counts_max;
    out->grade = site->grade;
    switch (family) {
    case MST_FAMILY_LENGTH:
        out->sign = SIGN_RULER;
        return site->counts > 0;
    case MST_FAMILY_NASAL:
        out->sign = SIGN_WAVE;
        return 1;
    case MST_FAMILY_MERGE:
        out->sign = site->nasal ? SIGN_TIE_WAVE : SIGN_TIE;
        out->broken = site->complete == 0;
        return 1;
    case MST_FAMILY_TURN:
        out->sign = SIGN_LOZENGE;
        return 1;
    case MST_FAMILY_HIDE:
        out->sign = SIGN_DOTTED_WAVE;
        return 1;
    case MST_FAMILY_CLEAR:
        out->sign = SIGN_POST;
        return 1;
    case MST_FAMILY_ECHO:
        out->sign = SIGN_RINGS;
        return 1;
    case MST_FAMILY_WEIGHT:
        out->sign = site->heavy == 0 ? SIGN_WEDGE_OPEN : SIGN_WEDGE_FILLED;
        out->over = 1;
        return 1;
    case MST_FAMILY_SILENT:
        out->sign = SIGN_BRACKET;
        return 1;
    case MST_FAMILY_SEAM:
    case MST_FAMILY_OWN:
        for (size_t i = 0; i < sizeof own_signs / sizeof *own_signs; i++)
            if (own_signs[i].rule == site->rule) {
                out->sign = own_signs[i].sign;
                return 1;
            }
        return 0;
    case MST_FAMILY_COUNT:
        break;
    }
    return 0;
}

int sign_for_pause(enum mst_pause_sign pause, enum sign *out)
{
    switch (pause) {
    case MST_PAUSE_NONE:
        return 0;
    case MST_PAUSE_MUST:
        *out = SIGN_STOP_MUST;
        return 1;
    case MST_PAUSE_BETTER:
        *out = SIGN_STOP_BETTER;
        return 1;
    case MST_PAUSE_EITHER:
        *out = SIGN_STOP_EITHER;
        return 1;
    case MST_PAUSE_GO_ON:
        *out = SIGN_STOP_GO_ON;
        return 1;
    case MST_PAUSE_MUST_NOT:
        *out = SIGN_STOP_MUST_NOT;
        return 1;
    case MST_PAUSE_EMBRACING:
        *out = SIGN_STOP_EMBRACING;
        return 1;
    }
    return 0;
}

/* --- room and strokes ------------------------------------------------------ */

/* All in em. COUNT is the width of one count on every ruler, so that lengths compare at a glance.
 */
#define STROKE_EM 0.044
static const double STROKE = STROKE_EM, COUNT_WIDTH = 0.23, TICK = 0.14, WAVE_AMPLITUDE = 0.075,
                    WAVE_LENGTH = 0.23, TIE_DEPTH = 0.2, RING = 0.062, RING_PITCH = 0.19,
                    LOZENGE_HALF = 0.085, DOT_RADIUS = 0.065, STOP_HEIGHT = 0.42;

static int ruler_counts(const struct mark *m)
{
    return m->counts_max > m->counts ? m->counts_max : m->counts;
}

static int wave_counts(const struct mark *m)
{
    return m->counts > 0 ? m->counts : 2;
}

static double wave_least(const struct mark *m)
{
    return wave_counts(m) * COUNT_WIDTH;
}

int sign_is_spanning(enum sign sign)
{
    return sign == SIGN_TIE || sign == SIGN_TIE_WAVE || sign == SIGN_LOZENGE ||
           sign == SIGN_DOTTED_WAVE;
}

double sign_wave_length(void)
{
    return WAVE_LENGTH;
}

void sign_size(const struct mark *m, double *width, double *height)
{
    double w = 0.2, h = 0.2;
    switch (m->sign) {
    case SIGN_RULER:
        w = ruler_counts(m) * COUNT_WIDTH;
        h = TICK + STROKE;
        break;
    case SIGN_WAVE:
    case SIGN_DOTTED_WAVE:
        w = wave_least(m);
        h = 2 * WAVE_AMPLITUDE + TICK + STROKE;
        break;
    case SIGN_LOZENGE:
        w = wave_least(m) + LOZENGE_HALF;
        h = LOZENGE_HALF + WAVE_AMPLITUDE + TICK + STROKE;
        break;
    case SIGN_TIE:
        w = 0.3;
        h = TIE_DEPTH + STROKE;
        break;
    case SIGN_TIE_WAVE:
        w = wave_least(m) + 0.16;
        h = 0.12 + 2 * WAVE_AMPLITUDE + TICK + STROKE;
        break;
    case SIGN_POST:
        w = 0.15;
        h = 0.22;
        break;
    case SIGN_RINGS:
        w = (m->grade > 1 ? m->grade - 1 : 0) * RING_PITCH + 2 * RING + STROKE;
        h = 2 * RING + STROKE;
        break;
    case SIGN_WEDGE_FILLED:
    case SIGN_WEDGE_OPEN:
        w = 0.23;
        h = 0.18;
        break;
    case SIGN_BRACKET:
        w = 0.2;
        h = 0.1;
        break;
    case SIGN_GATE:
        w = 0.26;
        h = 0.18;
        break;
    case SIGN_GATE_RING:
        w = 0.34;
        h = 0.18;
        break;
    case SIGN_FADING:
        w = 0.26;
        h = 0.2;
        break;
    case SIGN_CHEVRON:
        w = 0.22;
        h = 0.14;
        break;
    case SIGN_BREATH:
        w = 0.22;
        h = 0.24;
        break;
    case SIGN_SLANT:
        w = 2 * COUNT_WIDTH;
        h = 0.26;
        break;
    case SIGN_EASED:
        w = 0.2;
        h = 0.26;
        break;
    case SIGN_LIPS:
        w = 0.34;
        h = 0.18;
        break;
    case SIGN_FORK:
        w = 0.22;
        h = 0.24;
        break;
    case SIGN_STOP_MUST:
    case SIGN_STOP_BETTER:
    case SIGN_STOP_EITHER:
    case SIGN_STOP_GO_ON:
    case SIGN_STOP_MUST_NOT:
    case SIGN_STOP_EMBRACING:
    case SIGN_STOP_READER:
        w = 0.22;
        h = STOP_HEIGHT;
        break;
    case SIGN_JOINED:
        w = 0.5;
        h = 0.16;
        break;
    case SIGN_DOT:
        w = h = 2 * DOT_RADIUS;
        break;
    case SIGN_NUMBER:
    case SIGN_COUNT:
        break;
    }
    *width = w;
    *height = h;
}

/* The bead at the beginning of a tie is wider than the stroke. */
static const double BEAD = 1.1 * STROKE_EM;

/* How far the strokes reach over the sign's ends, in em. */
static void sign_overhang(const struct mark *m, double *left, double *right)
{
    *left = *right = m->sign == SIGN_DOT ? 0 : STROKE / 2;
    if ((m->sign == SIGN_TIE || m->sign == SIGN_TIE_WAVE) && !m->opens_right)
        *right = BEAD;
}

void sign_measure(struct mark *m, double em)
{
    double width, height;
    sign_size(m, &width, &height);
    width *= em;
    double left = m->to < m->from ? m->to : m->from, right = m->to < m->from ? m->from : m->to;
    if (m->sign == SIGN_RULER || right - left < width) {
        /* shorter or longer than its letters: keep its own length, centred on them, unless it
         * must keep touching the end of the line */
        double middle = (left + right) / 2;
        if (m->opens_left)
            right = left + width;
        else if (m->opens_right)
            left = right - width;
        else
            left = middle - width / 2, right = middle + width / 2;
    }
    double over_left, over_right;
    sign_overhang(m, &over_left, &over_right);
    m->x0 = left - over_left * em;
    m->x1 = right + over_right * em;
    m->y0 = 0;
    m->y1 = height * em;
}

struct pen {
    struct scene *scene;
    double em, stroke;
};

static void hanging_ticks(struct pen *p, double right, double left, double y, int count)
{
    /* one per count, each in the middle of its count */
    double each = (right - left) / count;
    for (int i = 0; i < count; i++) {
        double x = right - each * (i + 0.5);
        scene_segment(p->scene, x, y, x, y + (TICK - STROKE / 2) * p->em, p->stroke);
    }
}

static void ruler(struct pen *p, const struct mark *m, double right, double left, double y)
{
    int all = ruler_counts(m), solid = m->counts_min > 0 ? m->counts_min : m->counts;
    double each = (right - left) / all;
    if (solid > all)
        solid = all;
    scene_segment(p->scene, right, y, right - each * solid, y, p->stroke);
    if (solid < all) {
        scene_move(p->scene, right - each * solid - 1.8 * p->stroke, y);
        scene_line(p->scene, left, y);
        scene_stroke(p->scene, p->stroke, DASH_DOTTED);
    }
    hanging_ticks(p, right, right - each * m->counts, y, m->counts);
}

/* A wave whose crests fit the length exactly. y is its middle line. */
static void wave_path(struct pen *p, double right, double left, double y)
{
    double a = WAVE_AMPLITUDE * p->em;
    int halves = 2 * (int)fmax(1, round((right - left) / (WAVE_LENGTH * p->em)));
    double step = (right - left) / halves;
    for (int i = 0; i < halves; i++) {
        double x = right - i * step, bow = (i & 1 ? 1 : -1) * a * 4 / 3; /* peaks at a */
        scene_curve(p->scene, x - step * 0.36, y + bow, x - step * 0.64, y + bow, x - step, y);
    }
}

static void wave(struct pen *p, const struct mark *m, double right, double left, double y,
                 enum scene_dash dash)
{
    double middle = y + WAVE_AMPLITUDE * p->em;
    scene_move(p->scene, right, middle);
    wave_path(p, right, left, middle);
    scene_stroke(p->scene, dash == DASH_DOTTED ? 0.85 * p->stroke : p->stroke, dash);
    /* its counts, in the middle of the wave */
    double half = wave_counts(m) * COUNT_WIDTH * p->em / 2, centre = (left + right) / 2;
    if (!m->opens_right)
        for (int i = 0; i < wave_counts(m); i++) {
            double x = centre + half - COUNT_WIDTH * p->em * (i + 0.5);
            double top = middle + (WAVE_AMPLITUDE + STROKE * 1.5) * p->em;
            scene_segment(p->scene, x, top, x, y + (2 * WAVE_AMPLITUDE + TICK) * p->em, p->stroke);
        }
}

/* A slur hanging under the letters, from the one that merges (with a bead) to the one that takes
 * it. An open end runs out flat. */
static void tie(struct pen *p, const struct mark *m, double right, double left, double y,
                double low)
{
    enum scene_dash dash = m->broken ? DASH_BROKEN : DASH_NONE;
    double bend = fmin((right - left) * 0.5, 0.22 * p->em);
    struct scene *s = p->scene;
    if (m->opens_right)
        scene_move(s, right, low);
    else {
        scene_move(s, right, y);
        scene_curve(s, right, y + (low - y) * 0.7, right - bend * 0.3, low, right - bend, low);
    }
    double flat_left = m->opens_left ? left : left + bend;
    if (m->sign == SIGN_TIE_WAVE) {
        double flat_right = m->opens_right ? right : right - bend;
        if (flat_right - flat_left > WAVE_LENGTH * p->em * 0.5)
            wave_path(p, flat_right, flat_left, low);
    }
    scene_line(s, flat_left, low);
    if (!m->opens_left)
        scene_curve(s, left + bend * 0.3, low, left, y + (low - y) * 0.7, left, y);
    scene_stroke(s, p->stroke, dash);
    if (!m->opens_right) {
        scene_circle(s, right, y, BEAD * p->em);
        scene_fill(s);
    }
}

static void stop_rule(struct pen *p, const struct mark *m, double x, double y0, double y1)
{
    struct scene *s = p->scene;
    double em = p->em, head = 0.075 * em, thin = p->stroke * 0.75, top = y0 + 2 * head;
    switch (m->sign) {
    case SIGN_STOP_MUST: /* a solid lintel */
        scene_rect(s, x - 0.1 * em, y0, x + 0.1 * em, y0 + 0.07 * em);
        scene_fill(s);
        top = y0 + 0.07 * em;
        break;
    case SIGN_STOP_BETTER:
        scene_circle(s, x, y0 + head, head);
        scene_fill(s);
        break;
    case SIGN_STOP_EITHER:
        scene_move(s, x, y0 + thin / 2);
        scene_line(s, x + head, y0 + head);
        scene_line(s, x, y0 + 2 * head);
        scene_line(s, x - head, y0 + head);
        scene_close(s);
        scene_stroke(s, thin, DASH_NONE);
        break;
    case SIGN_STOP_GO_ON: /* points the way the reading goes */
        scene_move(s, x, y0 + thin);
        scene_line(s, x, y0 + 2 * head);
        scene_line(s, x - 0.1 * em, y0 + head);
        scene_close(s);
        scene_stroke(s, thin, DASH_NONE);
        break;
    case SIGN_STOP_MUST_NOT:
        scene_segment(s, x - head, y0 + thin, x + head, y0 + 2 * head, thin);
        scene_segment(s, x + head, y0 + thin, x - head, y0 + 2 * head, thin);
        top = y0 + head;
        break;
    case SIGN_STOP_EMBRACING: {
        double other = m->x0 + (m->x1 - x);
        if (x - other > 0.3 * em) { /* both on one line: two uprights under one lintel */
            scene_move(s, x, y1 - p->stroke / 2);
            scene_line(s, x, y0 + thin);
            scene_line(s, other, y0 + thin);
            scene_line(s, other, y1 - p->stroke / 2);
            scene_stroke(s, thin, DASH_NONE);
            top = y0 + thin;
            break;
        }
        /* a flag toward the other of the pair */
        double way = m->points_left ? -1 : 1;
        scene_move(s, x, y0 + thin);
        scene_line(s, x + way * 0.1 * em, y0 + thin);
        scene_line(s, x + way * 0.1 * em, y0 + 1.6 * head);
        scene_line(s, x, y0 + 1.6 * head);
        scene_fill(s);
        top = y0 + thin;
        break;
    }
    default:
        top = y0 + thin;
        break;
    }
    double bottom = y1 - p->stroke / 2;
    scene_segment(s, x, top, x, bottom, thin);
    if (m->has_foot || m->sign == SIGN_STOP_READER)
        scene_segment(s, x - 0.09 * em, bottom, x + 0.09 * em, bottom, p->stroke);
}

void sign_draw(struct scene *scene, const struct mark *m, double em)
{
    struct pen pen = {scene, em, STROKE * em}, *p = &pen;
    struct scene *s = scene;
    double half = m->sign == SIGN_DOT ? 0 : pen.stroke / 2;
    double over_left, over_right;
    sign_overhang(m, &over_left, &over_right);
    double left = m->x0 + over_left * em, right = m->x1 - over_right * em,
           middle = (left + right) / 2;
    double y0 = m->y0, y1 = m->y1, top = y0 + half, bottom = y1 - half;
    s->ink = m->ink;
    switch (m->sign) {
    case SIGN_RULER:
        ruler(p, m, right, left, top);
        break;
    case SIGN_WAVE:
        wave(p, m, right, left, top, DASH_NONE);
        break;
    case SIGN_DOTTED_WAVE:
        wave(p, m, right, left, top, DASH_DOTTED);
        break;
    case SIGN_LOZENGE: {
        double r = LOZENGE_HALF * em, y = top + r, x = right - r;
        if (!m->opens_right) {
            scene_move(s, x, y - r);
            scene_line(s, x + r, y);
            scene_line(s, x, y + r);
            scene_line(s, x - r, y);
            scene_close(s);
            scene_fill(s);
        } else {
            x = right + r;
        }
        struct mark rest = *m;
        wave(p, &rest, x - r - pen.stroke, left, y - WAVE_AMPLITUDE * em, DASH_NONE);
        break;
    }
    case SIGN_TIE:
        tie(p, m, right, left, top + pen.stroke * 0.6, bottom);
        break;
    case SIGN_TIE_WAVE: {
        double low = y1 - (TICK + STROKE + WAVE_AMPLITUDE) * em;
        tie(p, m, right, left, top + pen.stroke * 0.6, low);
        if (!m->opens_right)
            for (int i = 0; i < wave_counts(m); i++) {
                double x = middle + COUNT_WIDTH * em * (wave_counts(m) / 2.0 - i - 0.5);
                scene_segment(s, x, low + (WAVE_AMPLITUDE + STROKE * 1.5) * em, x, bottom,
                              pen.stroke);
            }
        break;
    }
    case SIGN_POST:
        scene_segment(s, middle, top + half / 2, middle, bottom - half / 2, pen.stroke * 1.5);
        scene_segment(s, left, bottom, right, bottom, pen.stroke);
        break;
    case SIGN_RINGS: {
        int n = m->grade > 1 ? m->grade : 1;
        for (int i = 0; i < n; i++) {
            scene_circle(s, middle + (i - (n - 1) / 2.0) * RING_PITCH * em, (y0 + y1) / 2,
                         RING * em);
            scene_stroke(s, pen.stroke, DASH_NONE);
        }
        break;
    }
    case SIGN_WEDGE_FILLED:
    case SIGN_WEDGE_OPEN:
        scene_move(s, left, top);
        scene_line(s, right, top);
        scene_line(s, middle, bottom);
        scene_close(s);
        if (m->sign == SIGN_WEDGE_FILLED)
            scene_fill(s);
        else
            scene_stroke(s, pen.stroke * 0.8, DASH_NONE);
        break;
    case SIGN_BRACKET:
        scene_move(s, left, top);
        scene_line(s, left, bottom);
        scene_line(s, right, bottom);
        scene_line(s, right, top);
        scene_stroke(s, pen.stroke * 0.85, DASH_NONE);
        break;
    case SIGN_GATE:
    case SIGN_GATE_RING: {
        double y = (top + bottom) / 2, start = right;
        if (m->sign == SIGN_GATE_RING) {
            scene_circle(s, right - RING * em, y, RING * em);
            scene_stroke(s, pen.stroke * 0.8, DASH_NONE);
            start = right - 2 * RING * em;
        }
        scene_segment(s, start, y, left, y, pen.stroke * 0.8);
        scene_segment(s, left + half / 5, top + half / 5, left + half / 5, bottom - half / 5,
                      pen.stroke * 1.2);
        break;
    }
    case SIGN_FADING:
        for (int i = 0; i < 3; i++) {
            double x = right - i * (right - left) / 2, h = (bottom - top) * (1 - i * 0.34);
            scene_segment(s, x, top, x, top + h, pen.stroke * (1 - i * 0.2));
        }
        break;
    case SIGN_CHEVRON:
        scene_move(s, left, top);
        scene_line(s, middle, bottom);
        scene_line(s, right, top);
        scene_stroke(s, pen.stroke, DASH_NONE);
        break;
    case SIGN_BREATH:
        for (int side = -1; side <= 1; side += 2) {
            double x = middle + side * (right - left) / 2, b = middle + side * 0.03 * em;
            scene_move(s, x, top);
            scene_curve(s, b, top + (bottom - top) * 0.3, b, top + (bottom - top) * 0.7, x, bottom);
            scene_stroke(s, pen.stroke, DASH_NONE);
        }
        break;
    case SIGN_SLANT: {
        double drop = 0.13 * em;
        scene_segment(s, right, top, left, top + drop, pen.stroke);
        for (int i = 0; i < 2; i++) {
            double u = (i + 0.5) / 2, x = right - (right - left) * u, y = top + drop * u;
            scene_segment(s, x, y, x, y + (TICK - STROKE / 2) * em, pen.stroke);
        }
        break;
    }
    case SIGN_EASED: {
        double y = (top + bottom) / 2;
        scene_move(s, right, top);
        scene_curve(s, left - 0.04 * em, top, left, y, middle, y);
        scene_curve(s, right, y, right + 0.04 * em, bottom, left, bottom);
        scene_stroke(s, pen.stroke, DASH_NONE);
        break;
    }
    case SIGN_LIPS: {
        double y = (top + bottom) / 2, h = (bottom - top) * 0.66;
        scene_move(s, left, y);
        scene_curve(s, left + 0.08 * em, y - h, right - 0.08 * em, y - h, right, y);
        scene_curve(s, right - 0.08 * em, y + h, left + 0.08 * em, y + h, left, y);
        scene_close(s);
        scene_stroke(s, pen.stroke, DASH_NONE);
        break;
    }
    case SIGN_FORK: {
        double y = (top + bottom) / 2;
        scene_segment(s, middle, bottom, middle, y, pen.stroke);
        scene_move(s, left, top);
        scene_line(s, middle, y);
        scene_line(s, right, top);
        scene_stroke(s, pen.stroke, DASH_NONE);
        break;
    }
    case SIGN_STOP_MUST:
    case SIGN_STOP_BETTER:
    case SIGN_STOP_EITHER:
    case SIGN_STOP_GO_ON:
    case SIGN_STOP_MUST_NOT:
    case SIGN_STOP_EMBRACING:
    case SIGN_STOP_READER:
        /* a linked pair is drawn from its first upright, the right one */
        stop_rule(p, m, right - left > 0.3 * em ? right - 0.1 * em : middle, y0, y1);
        break;
    case SIGN_JOINED:
        scene_move(s, right, bottom);
        scene_curve(s, right - (right - left) * 0.25, top - (bottom - top) * 0.3,
                    left + (right - left) * 0.25, top - (bottom - top) * 0.3, left, bottom);
        scene_stroke(s, pen.stroke * 0.9, DASH_NONE);
        break;
    case SIGN_DOT:
        scene_circle(s, middle, (y0 + y1) / 2, DOT_RADIUS * em);
        scene_fill(s);
        break;
    case SIGN_NUMBER:
    case SIGN_COUNT:
        break;
    }
}

double sign_specimen(struct scene *scene, const struct mark *like, double em, double x, double y)
{
    struct mark m = *like;
    double spread = 0;
    m.opens_left = m.opens_right = 0;
    if (m.sign == SIGN_TIE || m.sign == SIGN_BRACKET)
        spread = 0.3 * em;
    if (m.sign == SIGN_DOTTED_WAVE || m.sign == SIGN_LOZENGE || m.sign == SIGN_TIE_WAVE)
        spread = 0.36 * em;
    m.from = x + spread;
    m.to = x - spread;
    m.anchor = x;
    sign_measure(&m, em);
    double height = m.y1 - m.y0;
    m.y0 = y - height / 2;
    m.y1 = y + height / 2;
    sign_draw(scene, &m, em);
    return m.x1 - m.x0;
}
