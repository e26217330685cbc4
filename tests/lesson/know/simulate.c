#include "simulate.h"

#include <math.h>
#include <stdlib.h>

#define DAY_MS INT64_C(86400000)

double simulate_uniform(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return (double)((z ^ z >> 31) >> 11) * 0x1p-53;
}

double simulate_normal(uint64_t *seed)
{
    double u = simulate_uniform(seed), v = simulate_uniform(seed);
    return sqrt(-2 * log(1 - u)) * cos(2 * 3.14159265358979323846 * v);
}

/*
 * How well the ear tells right from not, as d′ = √2 Φ⁻¹(area under the curve)
 * of two normals a unit wide; the areas are the smaller of the two measured in
 * docs/measurements.md, "How a sound was said": length 0.982, nasal 0.920,
 * added (a vowel after the echo) 0.919. Of weight eleven faults were measured,
 * all told: 0.95 is taken. At 2 % false alarms these d′ give recalls of 0.83,
 * 0.47, 0.47 and 0.61; measured there: 0.90, 0.88, 0.40, 1.00.
 */
#define EAR_LENGTH 2.97
#define EAR_NASAL  1.99
#define EAR_ADDED  1.98
#define EAR_WEIGHT 2.33
/* What a weight is off by: per take a factor, per place a sum; together a calibration error near
 * the measured 0.04 to 0.06. */
#define EAR_FACTOR_SD 0.25
#define EAR_SUM_SD    0.4

/* The skills of a class's half year: rule, letters. */
static const struct {
    enum mst_rule rule;
    enum mst_member_kind kind;
    const uint32_t letters[16]; /* or phones */
    double ear;
} taught[] = {
    {MST_RULE_IKHFA,
     MST_MEMBER_HOST,
     {0x643, 0x642, 0x62A, 0x62F, 0x633, 0x634, 0x635, 0x641, 0x62C, 0x630},
     EAR_NASAL},
    {MST_RULE_QALQALA, MST_MEMBER_TRIGGER, {0x642, 0x637, 0x628, 0x62C, 0x62F}, EAR_ADDED},
    {MST_RULE_GHUNNA, MST_MEMBER_TRIGGER, {0x646, 0x645}, EAR_NASAL},
    {MST_RULE_IQLAB, MST_MEMBER_HOST, {0x628}, EAR_NASAL},
    {MST_RULE_MADD_MUTTASIL,
     MST_MEMBER_SOUND,
     {MST_PHONE_AA, MST_PHONE_II, MST_PHONE_UU},
     EAR_LENGTH},
    {MST_RULE_MADD_MUNFASIL,
     MST_MEMBER_SOUND,
     {MST_PHONE_AA, MST_PHONE_II, MST_PHONE_UU},
     EAR_LENGTH},
    {MST_RULE_MADD_ARID, MST_MEMBER_SOUND, {MST_PHONE_AA, MST_PHONE_II, MST_PHONE_UU}, EAR_LENGTH},
    {MST_RULE_TAFKHIM_RA, MST_MEMBER_TRIGGER, {0x631}, EAR_WEIGHT},
    {MST_RULE_TARQIQ_RA, MST_MEMBER_TRIGGER, {0x631}, EAR_WEIGHT},
};
enum { SKILLS_MOST = 64, PLACES_A_WEEK = 32, LIVE_A_WEEK = 5 };

struct school {
    uint64_t seed;
    struct simulated *out;
    struct mst_member *skills;
    double ear[SKILLS_MOST], hard[SKILLS_MOST], often[SKILLS_MOST];
    int32_t skill_count;
    size_t cap;
};

static uint8_t letter_index(uint32_t letter)
{
    for (int n = 0; mst_articulation_at(n); n++)
        if (mst_articulation_at(n) == mst_articulation_of(letter))
            return (uint8_t)n;
    abort();
}

static void list_skills(struct school *s, struct mst_arena *arena)
{
    double sum = 0;
    s->skills = mst_arena_alloc(arena, SKILLS_MOST, sizeof *s->skills);
    for (size_t t = 0; t < sizeof taught / sizeof *taught; t++) {
        double rule_hard = 0.5 * simulate_normal(&s->seed);
        for (int k = 0; k < 16 && taught[t].letters[k]; k++) {
            struct mst_member m = {.kind = (uint8_t)taught[t].kind,
                                   .rule = (uint8_t)taught[t].rule};
            if (taught[t].kind == MST_MEMBER_SOUND)
                m.phone = (uint8_t)taught[t].letters[k];
            else
                m.letter = letter_index(taught[t].letters[k]);
            int32_t n = s->skill_count++;
            s->skills[n] = m;
            s->ear[n] = taught[t].ear;
            s->hard[n] = rule_hard + 0.4 * simulate_normal(&s->seed);
            sum += s->often[n] = 1 / (1.0 + k); /* the first letters come oftenest */
        }
    }
    for (int32_t n = 0; n < s->skill_count; n++)
        s->often[n] /= sum;
}

/* --- one learner -------------------------------------------------------------------------- */

struct learner {
    double able, quick;
    double lack[SKILLS_MOST], pace[SKILLS_MOST];
    double practised[SKILLS_MOST][1024]; /* day of each practice */
    int32_t count[SKILLS_MOST];
};

static double chance_at(const struct school *s, const struct learner *l, int32_t skill, double day)
{
    double trace = 0;
    for (int32_t n = 0; n < l->count[skill]; n++)
        trace += pow(1 + (day - l->practised[skill][n]) / 3, -0.35);
    double x =
        l->able - s->hard[skill] - l->lack[skill] + l->quick * l->pace[skill] * log(1 + trace);
    return 0.02 + 0.96 / (1 + exp(-x)); /* no one is always right, or never */
}

static int recite(struct school *s, struct learner *l, int32_t skill, double day)
{
    int right = simulate_uniform(&s->seed) < chance_at(s, l, skill, day);
    if (l->count[skill] < 1024)
        l->practised[skill][l->count[skill]++] = day;
    return right;
}

static int32_t some_skill(struct school *s)
{
    double u = simulate_uniform(&s->seed);
    int32_t n = 0;
    while (n + 1 < s->skill_count && (u -= s->often[n]) >= 0)
        n++;
    return n;
}

static void keep(struct school *s, int32_t learner, int32_t skill, double day, double weight,
                 enum mst_heard heard)
{
    struct mst_evidence *e = &s->out->items[s->out->evidence.count++];
    *e = (struct mst_evidence){.learner = learner,
                               .skill = skill,
                               .time_ms = s->out->begin_ms + (int64_t)(day * (double)DAY_MS),
                               .weight = (float)weight,
                               .heard = (uint8_t)heard};
}

/* A recording at home: the ear listens; of what looks worst the teacher hears some and rules. */
static void hear_recording(struct school *s, struct learner *l, int32_t id, double day,
                           double *wrong, double *all)
{
    double factor = exp(EAR_FACTOR_SD * simulate_normal(&s->seed));
    for (int n = 0; n < PLACES_A_WEEK; n++) {
        int32_t skill = some_skill(s);
        double d = s->ear[skill], at = day + n * 5e-5;
        int right = recite(s, l, skill, at);
        double x = (right ? d : -d) / 2 + simulate_normal(&s->seed);
        double weight = factor * d * x + EAR_SUM_SD * simulate_normal(&s->seed);
        *wrong += right != (weight > 0);
        *all += 1;
        if (weight < -1 && simulate_uniform(&s->seed) < 0.3)
            keep(s, id, skill, at, mst_weight_of_ruling(right), MST_HEARD_RULED);
        else
            keep(s, id, skill, at, weight, MST_HEARD_EAR);
    }
}

static void hear_live(struct school *s, struct learner *l, int32_t id, double day)
{
    for (int n = 0; n < LIVE_A_WEEK; n++) {
        int32_t skill = some_skill(s);
        int right = recite(s, l, skill, day + n * 5e-5);
        int noted = simulate_uniform(&s->seed) < 0.05 ? !right : right;
        keep(s, id, skill, day + n * 5e-5, mst_weight_of_live(noted), MST_HEARD_LIVE);
    }
}

void simulate(uint64_t seed, int32_t learners, int32_t weeks, struct mst_arena *arena,
              struct simulated *out)
{
    struct school s = {.seed = seed, .out = out};
    double wrong = 0, all = 0;
    *out = (struct simulated){.begin_ms = INT64_C(1788220800000)}; /* 1 September 2026 */
    out->end_ms = out->begin_ms + weeks * 7 * DAY_MS;
    list_skills(&s, arena);
    size_t pairs = (size_t)learners * (size_t)s.skill_count;
    size_t items = (size_t)learners * (size_t)weeks * (PLACES_A_WEEK + LIVE_A_WEEK);
    out->items = mst_arena_alloc(arena, items, sizeof *out->items);
    out->planted = mst_arena_alloc(arena, pairs, 1);
    out->chance = mst_arena_alloc(arena, pairs, sizeof *out->chance);
    out->next = mst_arena_alloc(arena, (size_t)learners * PLACES_A_WEEK, sizeof *out->next);
    struct learner *l = malloc(sizeof *l);
    if (!out->items || !out->planted || !out->chance || !out->next || !l)
        abort();
    out->evidence = (struct mst_class_evidence){.skills = s.skills,
                                                .skill_count = s.skill_count,
                                                .learner_count = learners,
                                                .items = out->items};
    for (int32_t id = 0; id < learners; id++) {
        *l = (struct learner){.able = 0.6 + 0.6 * simulate_normal(&s.seed),
                              .quick = exp(-0.2 + 0.3 * simulate_normal(&s.seed))};
        for (int32_t k = 0; k < s.skill_count; k++) {
            int weak = simulate_uniform(&s.seed) < 0.2;
            out->planted[id * s.skill_count + k] = (uint8_t)weak;
            l->lack[k] = weak ? 2 + 0.5 * simulate_normal(&s.seed) : -0.5;
            l->pace[k] = weak ? 0.25 : 1;
        }
        for (int32_t w = 0; w < weeks; w++) {
            double monday = 7.0 * w;
            if (simulate_uniform(&s.seed) < 0.9) /* some weeks bring no recording */
                hear_recording(&s, l, id, monday + 1 + 3 * simulate_uniform(&s.seed), &wrong, &all);
            hear_live(&s, l, id, monday + 5);
        }
        double end = 7.0 * weeks;
        for (int32_t k = 0; k < s.skill_count; k++)
            out->chance[id * s.skill_count + k] = chance_at(&s, l, k, end);
        for (int n = 0; n < PLACES_A_WEEK; n++) {
            int32_t skill = some_skill(&s);
            out->next[out->next_count++] =
                (struct tried){id, skill, simulate_uniform(&s.seed) < chance_at(&s, l, skill, end)};
        }
    }
    out->heard_wrong = all > 0 ? wrong / all : 0;
    free(l);
}

/* --- how it did ------------------------------------------------------------------------------ */

struct binned {
    double sum[10], right[10], count[10], brier, mean, truth;
};

static void put(struct binned *b, double chance, int right)
{
    int bin = chance >= 1 ? 9 : (int)(chance * 10);
    b->sum[bin] += chance;
    b->right[bin] += right;
    b->count[bin] += 1;
    b->brier += (chance - right) * (chance - right);
    b->mean += chance;
    b->truth += right;
}

static struct scored score_of(const struct binned *b, size_t count)
{
    double n = (double)count;
    struct scored s = {b->brier / n, 0, b->mean / n, b->truth / n, count};
    for (int k = 0; k < 10; k++)
        s.ece += fabs(b->sum[k] - b->right[k]) / n;
    return s;
}

static const struct mst_known *row_of(const struct mst_knowledge *k, int32_t learner, int32_t skill)
{
    for (size_t n = k->first[learner]; n < k->first[learner + 1]; n++)
        if (k->rows[n].skill == skill)
            return &k->rows[n];
    return NULL;
}

struct scored simulate_score(const struct simulated *s, const struct mst_knowledge *k,
                             double otherwise)
{
    struct binned b = {0};
    for (size_t n = 0; n < s->next_count; n++) {
        const struct mst_known *row = row_of(k, s->next[n].learner, s->next[n].skill);
        put(&b, row ? row->chance : otherwise, s->next[n].right);
    }
    return score_of(&b, s->next_count);
}

/* What a table of ticks would say: signs counted. */
static void count_signs(const struct simulated *s, double *right, double *heard, double *usual)
{
    double all = 0;
    size_t skills = (size_t)s->evidence.skill_count;
    *usual = 0;
    for (size_t n = 0; n < s->evidence.count; n++) {
        const struct mst_evidence *e = &s->items[n];
        size_t at = (size_t)e->learner * skills + (size_t)e->skill;
        heard[at] += 1;
        right[at] += e->weight > 0;
        *usual += e->weight > 0;
        all += 1;
    }
    *usual /= all;
}

struct scored simulate_score_counting(const struct simulated *s)
{
    size_t pairs = (size_t)s->evidence.learner_count * (size_t)s->evidence.skill_count;
    double *right = calloc(pairs, sizeof *right), *heard = calloc(pairs, sizeof *heard), usual;
    struct binned b = {0};
    if (!right || !heard)
        abort();
    count_signs(s, right, heard, &usual);
    for (size_t n = 0; n < s->next_count; n++) {
        size_t at =
            (size_t)s->next[n].learner * (size_t)s->evidence.skill_count + (size_t)s->next[n].skill;
        put(&b, (right[at] + 2 * usual) / (heard[at] + 2), s->next[n].right);
    }
    free(right);
    free(heard);
    return score_of(&b, s->next_count);
}

static void tell(struct found *f, const struct simulated *s, size_t at, int told, int planted)
{
    int weak = planted ? s->planted[at] && s->chance[at] < 0.6 : s->chance[at] < 0.5;
    f->planted += weak;
    f->told += told;
    f->both += told && weak;
}

static struct found finished(struct found f)
{
    f.precision = f.told ? (double)f.both / f.told : 0;
    f.recall = f.planted ? (double)f.both / f.planted : 0;
    return f;
}

struct found simulate_found(const struct simulated *s, const struct mst_knowledge *k, int planted)
{
    struct found f = {0};
    for (size_t n = 0; n < k->count; n++)
        tell(&f, s,
             (size_t)k->rows[n].learner * (size_t)s->evidence.skill_count +
                 (size_t)k->rows[n].skill,
             k->rows[n].known < 0.5, planted);
    return finished(f);
}

struct found simulate_found_counting(const struct simulated *s, int planted)
{
    size_t pairs = (size_t)s->evidence.learner_count * (size_t)s->evidence.skill_count;
    double *right = calloc(pairs, sizeof *right), *heard = calloc(pairs, sizeof *heard), usual;
    struct found f = {0};
    if (!right || !heard)
        abort();
    count_signs(s, right, heard, &usual);
    for (size_t at = 0; at < pairs; at++)
        if (heard[at] > 0)
            tell(&f, s, at, right[at] < heard[at] / 2, planted);
    free(right);
    free(heard);
    return finished(f);
}
