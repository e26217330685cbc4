/*
 * spacing.c – half-life regression: Settles & Meeder, "A trainable spaced
 * repetition model for language learning" (ACL 2016). The chance of still
 * having a skill d days after it was last heard is 2^(−d/h); the half-life h =
 * 2^(θ·x) grows with what was heard right and shrinks with the rest. As there:
 * one observation a sitting, x = (1, √(1+right), √(1+not right), the skill),
 * loss (p − 2^(−d/h))² + α (h − ĥ)² with ĥ = −d / log₂ p, ridge λ = 0.1, and p
 * and h kept inside [0.0001, 0.9999] and [15 minutes, 274 days]. Otherwise than
 * there: a skill's weight is its rule's and its own, both under the ridge; θ is
 * found by Levenberg's damped Gauss–Newton steps, the same whatever the order
 * of the evidence; and how right an item was is weighed by how usual it is.
 */
#include "parts.h"

#include <math.h>
#include <string.h>

#define HALF_LIFE_LEAST (15 / (24 * 60.0))
#define HALF_LIFE_MOST  274.0
#define ALPHA           0.01
#define RIDGE           0.1
#define USUAL_DAYS      14.0 /* the half-life of nobody and nothing, an assumption: θ is drawn to it */
#define LN2             0.6931471805599453
enum { BASE, RIGHT, OTHER, RULES, ROUNDS = 60, PER_POINT = 5 };

struct point {
    int32_t skill;
    double right, other; /* √(1 + …) before this sitting */
    double days;         /* since the last one ended */
    double chance;       /* share that was right in this one */
};

struct regression {
    const struct mst_member *skills;
    int32_t skill_count;
    struct point *points;
    size_t count;
    int32_t size; /* of θ: 3, the rules, the skills */
    double *theta;
};

static double clamp(double x, double low, double high)
{
    return x < low ? low : x > high ? high : x;
}

/* --- from evidence to sittings ----------------------------------------------------------- */

/* How many of a skill's places are right as a rule, so that a weight means as much as it should:
 * the share that reproduces itself, held by five places of which four are right. */
static void usual_shares(const struct ordered *heard, int32_t skill_count, double *share,
                         double *sum, double *count)
{
    for (int32_t s = 0; s < skill_count; s++)
        share[s] = 0.8;
    for (int round = 0; round < 40; round++) {
        for (int32_t s = 0; s < skill_count; s++) {
            sum[s] = 4;
            count[s] = 5;
        }
        for (size_t n = 0; n < heard->sequence_count; n++) {
            const struct sequence *seq = &heard->sequences[n];
            double usual = share[seq->skill], odds = usual / (1 - usual);
            for (int32_t i = 0; i < seq->count; i++) {
                double r = heard->items[seq->first + (size_t)i].right;
                sum[seq->skill] += r * odds / (r * odds + 1 - r);
            }
            count[seq->skill] += seq->count;
        }
        for (int32_t s = 0; s < skill_count; s++)
            share[s] = sum[s] / count[s];
    }
}

static void points_of(struct regression *r, const struct sequence *seq, const struct heard *items,
                      double usual)
{
    double right = 0, other = 0, ended = 0, odds = usual / (1 - usual);
    for (int32_t n = 0, end; n < seq->count; n = end) {
        double in_sitting = 0;
        for (end = n; end < seq->count && items[end].day - items[n].day < SITTING_DAYS; end++)
            in_sitting +=
                items[end].right * odds / (items[end].right * odds + 1 - items[end].right);
        if (n > 0)
            r->points[r->count++] = (struct point){.skill = seq->skill,
                                                   .right = sqrt(1 + right),
                                                   .other = sqrt(1 + other),
                                                   .days = items[n].day - ended,
                                                   .chance = in_sitting / (end - n)};
        right += in_sitting;
        other += end - n - in_sitting;
        ended = items[end - 1].day;
    }
}

/* --- the regression ------------------------------------------------------------------------- */

static void features(const struct regression *r, const struct point *p, int32_t at[PER_POINT],
                     double x[PER_POINT])
{
    const int32_t where[PER_POINT] = {BASE, RIGHT, OTHER, RULES + r->skills[p->skill].rule,
                                      RULES + MST_RULE_COUNT + p->skill};
    const double value[PER_POINT] = {1, p->right, p->other, 1, 1};
    memcpy(at, where, sizeof where);
    memcpy(x, value, sizeof value);
}

/* The two errors of a point, and how they change with θ·x. */
static void errors(const struct regression *r, const double *theta, const struct point *p,
                   double error[2], double slope[2])
{
    int32_t at[PER_POINT];
    double x[PER_POINT], z = 0;
    features(r, p, at, x);
    for (int k = 0; k < PER_POINT; k++)
        z += theta[at[k]] * x[k];
    double least = log2(HALF_LIFE_LEAST), most = log2(HALF_LIFE_MOST);
    int inside = z > least && z < most;
    double h = exp2(clamp(z, least, most)), chance = clamp(p->chance, 0.0001, 0.9999);
    double expected = exp2(-p->days / h);
    double seen = clamp(-p->days / log2(chance), HALF_LIFE_LEAST, HALF_LIFE_MOST);
    error[0] = expected - chance;
    error[1] = sqrt(ALPHA) * (h - seen);
    slope[0] = inside ? expected * LN2 * LN2 * p->days / h : 0;
    slope[1] = inside ? sqrt(ALPHA) * h * LN2 : 0;
}

static double drawn_to(int32_t k)
{
    return k == BASE ? log2(USUAL_DAYS) : 0;
}

static double loss(const struct regression *r, const double *theta)
{
    double sum = 0, error[2], slope[2];
    for (size_t n = 0; n < r->count; n++) {
        errors(r, theta, &r->points[n], error, slope);
        sum += error[0] * error[0] + error[1] * error[1];
    }
    for (int32_t k = 0; k < r->size; k++)
        sum += RIDGE * (theta[k] - drawn_to(k)) * (theta[k] - drawn_to(k));
    return sum;
}

/* Half the gradient, and JᵀJ + λ, lower triangle. */
static void normal_equations(const struct regression *r, double *gradient, double *matrix)
{
    size_t size = (size_t)r->size;
    memset(matrix, 0, size * size * sizeof *matrix);
    for (int32_t k = 0; k < r->size; k++) {
        gradient[k] = RIDGE * (r->theta[k] - drawn_to(k));
        matrix[(size_t)k * size + (size_t)k] = RIDGE;
    }
    for (size_t n = 0; n < r->count; n++) {
        int32_t at[PER_POINT];
        double x[PER_POINT], error[2], slope[2];
        features(r, &r->points[n], at, x);
        errors(r, r->theta, &r->points[n], error, slope);
        double push = error[0] * slope[0] + error[1] * slope[1];
        double bend = slope[0] * slope[0] + slope[1] * slope[1];
        for (int i = 0; i < PER_POINT; i++) {
            gradient[at[i]] += push * x[i];
            for (int k = 0; k <= i; k++) /* at[] rises */
                matrix[(size_t)at[i] * size + (size_t)at[k]] += bend * x[i] * x[k];
        }
    }
}

/* Cholesky of matrix + damping · its diagonal; step = −that⁻¹ gradient. */
static void solve(const struct regression *r, const double *matrix, double damping,
                  const double *gradient, double *factor, double *step)
{
    size_t size = (size_t)r->size;
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = matrix[i * size + k] * (i == k ? 1 + damping : 1);
            for (size_t j = 0; j < k; j++)
                sum -= factor[i * size + j] * factor[k * size + j];
            factor[i * size + k] = i == k ? sqrt(fmax(sum, 1e-12)) : sum / factor[k * size + k];
        }
    for (size_t i = 0; i < size; i++) {
        step[i] = -gradient[i];
        for (size_t k = 0; k < i; k++)
            step[i] -= factor[i * size + k] * step[k];
        step[i] /= factor[i * size + i];
    }
    for (size_t i = size; i-- > 0;) {
        for (size_t k = i + 1; k < size; k++)
            step[i] -= factor[k * size + i] * step[k];
        step[i] /= factor[i * size + i];
    }
}

static enum mst_status regress(struct regression *r, struct mst_arena *work, struct mst_error *err)
{
    size_t size = (size_t)r->size;
    double *matrix = mst_arena_alloc(work, size * size, sizeof *matrix);
    double *factor = mst_arena_alloc(work, size * size, sizeof *factor);
    double *room = mst_arena_alloc(work, 3 * size, sizeof *room);
    if (!matrix || !factor || !room)
        return know_no_memory(err);
    double *gradient = room, *step = room + size, *tried = room + 2 * size;
    double damping = 1e-3, now = loss(r, r->theta);
    for (int round = 0; round < ROUNDS && damping < 1e8; round++) {
        normal_equations(r, gradient, matrix);
        for (;; damping *= 8) {
            solve(r, matrix, damping, gradient, factor, step);
            for (size_t k = 0; k < size; k++)
                tried[k] = r->theta[k] + step[k];
            double then = loss(r, tried);
            if (then < now) {
                int done = now - then < 1e-12 * now;
                memcpy(r->theta, tried, size * sizeof *tried);
                now = then;
                damping = done ? 1e9 : damping / 8;
                break;
            }
            if (damping > 1e8)
                break;
        }
    }
    return MST_OK;
}

/* --- what comes out -------------------------------------------------------------------------- */

static enum mst_status spacing_fit(struct regression *r, const struct mst_class_evidence *e,
                                   struct mst_spacing *out, struct mst_arena *work,
                                   struct mst_error *err)
{
    struct ordered heard;
    enum mst_status status = know_order(e, BY_LEARNER, -1, INT64_MAX, work, &heard, err);
    if (status != MST_OK)
        return status;
    size_t skills = (size_t)e->skill_count + 1;
    double *usual = mst_arena_alloc(work, 3 * skills, sizeof *usual);
    r->points = mst_arena_alloc(work, heard.item_count + 1, sizeof *r->points);
    r->size = RULES + MST_RULE_COUNT + e->skill_count;
    r->theta = mst_arena_alloc(work, (size_t)r->size, sizeof *r->theta);
    if (!usual || !r->points || !r->theta)
        return know_no_memory(err);
    usual_shares(&heard, e->skill_count, usual, usual + skills, usual + 2 * skills);
    for (size_t n = 0; n < heard.sequence_count; n++) {
        const struct sequence *seq = &heard.sequences[n];
        points_of(r, seq, heard.items + seq->first, usual[seq->skill]);
    }
    for (int32_t k = 0; k < r->size; k++)
        r->theta[k] = drawn_to(k);
    status = regress(r, work, err);
    if (status != MST_OK)
        return status;
    out->base = r->theta[BASE];
    out->right = r->theta[RIGHT];
    out->other = r->theta[OTHER];
    for (int32_t s = 0; s < e->skill_count; s++)
        out->bias[s] = r->theta[RULES + e->skills[s].rule] + r->theta[RULES + MST_RULE_COUNT + s];
    for (size_t n = 0; n < r->count; n++) {
        double error[2], slope[2];
        errors(r, r->theta, &r->points[n], error, slope);
        out->error += error[0] * error[0] / (double)r->count;
    }
    out->fitted_to = (int32_t)r->count;
    return MST_OK;
}

enum mst_status mst_spacing_fit(const struct mst_class_evidence *evidence, struct mst_arena *arena,
                                struct mst_spacing **out, struct mst_error *err)
{
    struct regression r = {.skills = evidence->skills, .skill_count = evidence->skill_count};
    struct mst_spacing *s = mst_arena_alloc(arena, 1, sizeof *s);
    struct mst_arena *work = mst_arena_new(0);
    enum mst_status status = MST_OK;
    *out = NULL;
    if (s)
        s->bias = mst_arena_alloc(arena, (size_t)evidence->skill_count + 1, sizeof *s->bias);
    if (!s || !s->bias || !work)
        status = know_no_memory(err);
    for (int32_t k = 0; status == MST_OK && k < evidence->skill_count; k++)
        if (evidence->skills[k].rule >= MST_RULE_COUNT)
            status = mst_fail(err, MST_USAGE, "skill %d is of no rule", (int)k);
    if (status == MST_OK) {
        s->skill_count = evidence->skill_count;
        status = spacing_fit(&r, evidence, s, work, err);
    }
    if (status == MST_OK)
        *out = s;
    mst_arena_free(work);
    return status;
}

double mst_spacing_half_life_days(const struct mst_spacing *s, int32_t skill, double right,
                                  double other)
{
    double z = s->base + s->right * sqrt(1 + fmax(right, 0)) + s->other * sqrt(1 + fmax(other, 0)) +
               (skill >= 0 && skill < s->skill_count ? s->bias[skill] : 0);
    return clamp(exp2(clamp(z, -20, 20)), HALF_LIFE_LEAST, HALF_LIFE_MOST);
}

int64_t know_due_ms(const struct mst_spacing *spacing, const struct mst_known *row)
{
    double h = mst_spacing_half_life_days(spacing, row->skill, row->right, row->heard - row->right);
    return row->last_ms + (int64_t)llround(-log2(DUE_AT_CHANCE) * h * 86400e3);
}
