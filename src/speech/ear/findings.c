/*
 * findings.c – what a teacher may want to listen to again, in plain words: at
 * most five, the surest and weightiest first. A finding is a measurement, not
 * a ruling.
 */
#include "parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double weights[MST_LENGTH_COUNT] = {
#define X(name, id, ar, en, prior, weight) weight,
    MST_LENGTH_LIST(X)
#undef X
};

static const char *const finding_ids[MST_FINDING_COUNT] = {
#define X(name, id) id,
    MST_FINDING_LIST(X)
#undef X
};

const char *mst_finding_id(enum mst_finding_kind kind)
{
    return finding_ids[kind];
}

/* The five best so far, in order. */
struct shortlist {
    struct mst_finding *findings;
    size_t count;
};

static void offer(struct shortlist *list, struct mst_finding finding, double weight)
{
    finding.rank = finding.sureness * weight;
    size_t at = list->count;
    while (at > 0 && list->findings[at - 1].rank < finding.rank)
        at--;
    if (at >= MST_FINDINGS_MAX)
        return;
    size_t end = list->count < MST_FINDINGS_MAX ? list->count++ : MST_FINDINGS_MAX - 1;
    for (size_t i = end; i > at; i--)
        list->findings[i] = list->findings[i - 1];
    list->findings[at] = finding;
}

static double normal_share(double z)
{
    return 0.5 * erfc(-z / sqrt(2.0));
}

/* --- whole classes ------------------------------------------------------------ */
/* Ratio to the model's with its uncertainty, in logs. */
struct class_ratio {
    double log_ratio, stray;
    int32_t trusted;
};

static struct class_ratio ratio_of(const struct mst_length_measure *l)
{
    if (l->ratio <= 0)
        return (struct class_ratio){0, 0, 0};
    return (struct class_ratio){log(l->ratio), log(l->ratio_high / l->ratio) / 1.96, l->trusted};
}

/* All holds with ghunna together: whoever cuts one kind short mostly cuts them all, and a short
 * passage holds few of each. What the pace leaves open is common to them all. */
static struct class_ratio ratio_of_nasals(const struct mst_measures *m)
{
    struct class_ratio all = {0, 0, 0};
    double weight = 0;
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        struct class_ratio one = ratio_of(&m->lengths[k]);
        if (!ear_length_is_nasal((enum mst_length)k) || one.trusted == 0)
            continue;
        double w = 1 / (one.stray * one.stray - EAR_PACE_STRAY * EAR_PACE_STRAY);
        all.log_ratio += w * one.log_ratio;
        all.trusted += one.trusted;
        weight += w;
    }
    if (weight > 0) {
        all.log_ratio /= weight;
        all.stray = sqrt(1 / weight + EAR_PACE_STRAY * EAR_PACE_STRAY);
    }
    return all;
}

/* May be held 2, 4 or 6, and reciters vary them: neither another length than the model's nor an
 * uneven hand is worth a finding. */
static int is_free(enum mst_length length)
{
    return length == MST_LENGTH_ARID || length == MST_LENGTH_LIN;
}

/* Strays that a class must be off the model's by, so that it is sure to be off at all though a
 * dozen were asked; and what a single kind of hold with ghunna must be, when all of them together
 * do not stand out: reciters vary one kind from passage to passage, and five are asked besides. */
static const double sure_strays = 3.4, sure_strays_of_a_kind = 4.5;

static double strays_asked(enum mst_length length)
{
    return ear_length_is_nasal(length) ? sure_strays_of_a_kind : sure_strays;
}

/* How surely a class is off the model's; 0: it does not stand out. */
static double class_sureness(struct class_ratio r, double limit, double strays)
{
    double bound = log(1 + limit), off = fabs(r.log_ratio);
    if (r.trusted < 2 || r.stray <= 0)
        return 0;
    if (off < bound || off < strays * r.stray)
        return 0;
    return normal_share((off - bound / 2) / r.stray);
}

/* Offers a class finding; says whether there was one. */
static int offer_class(struct shortlist *list, struct class_ratio r, enum mst_length length,
                       int all_ghunna, double limit, double weight)
{
    double sureness = class_sureness(r, limit, all_ghunna ? sure_strays : strays_asked(length));
    if (sureness <= 0)
        return 0;
    struct mst_finding f = {.kind =
                                r.log_ratio < 0 ? MST_FINDING_CLASS_SHORT : MST_FINDING_CLASS_LONG,
                            .length = length,
                            .all_ghunna = (uint8_t)all_ghunna,
                            .site = -1,
                            .ratio = exp(r.log_ratio),
                            .sureness = sureness};
    offer(list, f, weight * (r.log_ratio < 0 ? 1.5 : 1.0));
    return 1;
}

/* Can a class be judged by itself? */
static int is_judged_alone(const struct mst_measures *m, enum mst_length length)
{
    return m->lengths[length].trusted >= 4 && !is_free(length);
}

static void find_classes(const struct mst_measures *m, double limit, struct shortlist *list,
                         int found[MST_LENGTH_COUNT])
{
    int nasal = offer_class(list, ratio_of_nasals(m), MST_LENGTH_GHUNNA, 1, limit, 1);
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        enum mst_length length = (enum mst_length)k;
        if (ear_length_is_nasal(length) && nasal)
            found[k] = 1;
        else if (is_judged_alone(m, length))
            found[k] = offer_class(list, ratio_of(&m->lengths[k]), length, 0, limit, weights[k]);
    }
}

static const double usual_class_ratio = 0.25;

double mst_length_off(const struct mst_measures *measures, enum mst_length length,
                      const struct mst_measure_limits *limits, double *ratio)
{
    double limit = limits && limits->class_ratio > 0 ? limits->class_ratio : usual_class_ratio;
    struct class_ratio nasal = ratio_of_nasals(measures),
                       own = ratio_of(&measures->lengths[length]);
    double together = ear_length_is_nasal(length) ? class_sureness(nasal, limit, sure_strays) : 0;
    double alone =
        is_judged_alone(measures, length) ? class_sureness(own, limit, strays_asked(length)) : 0;
    *ratio = exp(together > 0 ? nasal.log_ratio : own.log_ratio);
    return together > 0 ? together : alone;
}

/* --- single sites --------------------------------------------------------------- */
static void find_sites(const struct mst_measures *m, double limit, struct shortlist *list,
                       const int class_found[MST_LENGTH_COUNT])
{
    for (int32_t i = 0; i < m->site_count; i++) {
        const struct mst_measured_site *s = &m->sites[i];
        const struct mst_length_measure *l = &m->lengths[s->length];
        if (s->trust == MST_TRUST_NONE || l->trusted < 3 || class_found[s->length])
            continue;
        /* among many sites one lies far out by chance alone */
        double far = limit + (l->trusted > 10 ? 0.25 * log(l->trusted / 10.0) : 0);
        double ratio = s->held_ms / l->own_expected_ms;
        if (fabs(s->deviation) < far || fabs(log(ratio)) < log(1.25))
            continue;
        double doubt = s->trust == MST_TRUST_FAIR ? 0.6 : 1;
        struct mst_finding f = {.kind = ratio < 1 ? MST_FINDING_SITE_SHORT : MST_FINDING_SITE_LONG,
                                .length = s->length,
                                .site = i,
                                .at = s->at,
                                .start_ms = s->start_ms,
                                .end_ms = s->end_ms,
                                .ratio = ratio,
                                .sureness = doubt * normal_share(fabs(s->deviation) - far)};
        offer(list, f, weights[s->length] * (ratio < 1 ? 0.9 : 0.6));
    }
}

static void find_uneven(const struct mst_measures *m, double limit, struct shortlist *list)
{
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        const struct mst_length_measure *l = &m->lengths[k];
        if (l->trusted < 6 || l->even_share >= limit || is_free(l->length))
            continue;
        struct mst_finding f = {.kind = MST_FINDING_UNEVEN,
                                .length = l->length,
                                .site = -1,
                                .sureness = normal_share((limit - l->even_share) /
                                                         sqrt(limit * (1 - limit) / l->trusted))};
        offer(list, f, 0.6 * weights[k]);
    }
}

static void find_rest(const struct mst_measures *m, struct shortlist *list)
{
    const struct mst_timeline *tl = m->timeline;
    if (tl->left_out_count > 0)
        offer(list,
              (struct mst_finding){.kind = MST_FINDING_WORDS_LEFT_OUT,
                                   .site = -1,
                                   .at = tl->left_out[0],
                                   .sureness = 0.8},
              2);
    if (tl->speech_seconds > 60 && fabs(log(m->pace_drift)) > log(1.2))
        offer(list,
              (struct mst_finding){.kind = MST_FINDING_PACE_DRIFT,
                                   .site = -1,
                                   .ratio = m->pace_drift,
                                   .sureness = 0.9},
              0.5);
}

enum mst_status mst_find(const struct mst_measures *measures,
                         const struct mst_measure_limits *limits, struct mst_arena *arena,
                         struct mst_finding **out, size_t *count, struct mst_error *err)
{
    struct mst_measure_limits l = limits ? *limits : (struct mst_measure_limits){0};
    struct shortlist list = {mst_arena_alloc(arena, MST_FINDINGS_MAX, sizeof **out), 0};
    int class_found[MST_LENGTH_COUNT] = {0};
    *out = NULL;
    *count = 0;
    if (!list.findings)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while listing findings");
    if (l.site_deviation <= 0)
        l.site_deviation = 2.6;
    if (l.class_ratio <= 0)
        l.class_ratio = usual_class_ratio;
    if (l.even_share <= 0)
        l.even_share = 0.5;
    find_classes(measures, l.class_ratio, &list, class_found);
    find_sites(measures, l.site_deviation, &list, class_found);
    find_uneven(measures, l.even_share, &list);
    find_rest(measures, &list);
    *out = list.findings;
    *count = list.count;
    return MST_OK;
}

/* --- in words -------------------------------------------------------------------------- */
/* Minutes and seconds into the take. Returns out. */
static const char *moment(int32_t ms, char out[24])
{
    snprintf(out, 24, "%d:%02d.%d", ms / 60000, ms / 1000 % 60, ms / 100 % 10);
    return out;
}

/* A name at the beginning of a sentence. */
static void add_capital(struct mst_string *out, const char *name)
{
    char first = name[0] >= 'a' && name[0] <= 'z' ? (char)(name[0] - 'a' + 'A') : name[0];
    mst_string_addf(out, "%c%s", first, name + (name[0] != '\0'));
}

static void text_en(const struct mst_measures *m, const struct mst_finding *f,
                    struct mst_string *out)
{
    const char *name = mst_length_name(f->length, MST_LANG_EN);
    const struct mst_length_measure *l = &m->lengths[f->length];
    char at[48], when[24];
    mst_addr_print(f->at, at);
    switch (f->kind) {
    case MST_FINDING_CLASS_SHORT:
    case MST_FINDING_CLASS_LONG:
        if (f->all_ghunna)
            mst_string_adds(out, "The nasal sounds, all kinds together,");
        else
            add_capital(out, name);
        mst_string_addf(out,
                        " %s held %s than in the model: about %.0f %% of the length expected at "
                        "this pace.",
                        f->all_ghunna ? "are" : "is", f->ratio < 1 ? "shorter" : "longer",
                        100 * f->ratio);
        break;
    case MST_FINDING_SITE_SHORT:
    case MST_FINDING_SITE_LONG:
        add_capital(out, name);
        mst_string_addf(out,
                        " at %s (%s into the take) lasts %.2f s; this reciter’s others last about "
                        "%.2f s.",
                        at, moment(f->start_ms, when), (f->end_ms - f->start_ms) / 1000.0,
                        l->own_expected_ms / 1000);
        break;
    case MST_FINDING_UNEVEN:
        add_capital(out, name);
        mst_string_addf(out,
                        " is held unevenly: from %.2f to %.2f s; only %.0f %% lie within a quarter "
                        "of the middle.",
                        l->low_ms / 1000, l->high_ms / 1000, 100 * l->even_share);
        break;
    case MST_FINDING_WORDS_LEFT_OUT:
        mst_string_addf(out, "%d word%s of the passage %s not heard, first at %s.",
                        m->timeline->left_out_count, m->timeline->left_out_count == 1 ? "" : "s",
                        m->timeline->left_out_count == 1 ? "was" : "were", at);
        break;
    case MST_FINDING_PACE_DRIFT:
        mst_string_addf(out, "The pace %s towards the end, by %.0f %%.",
                        f->ratio > 1 ? "quickens" : "slackens", 100 * fabs(f->ratio - 1));
        break;
    case MST_FINDING_COUNT:
        break;
    }
}

/* Right-to-left lines cannot be broken by columns. */
/* clang-format off */
static void text_ar(const struct mst_measures *m, const struct mst_finding *f,
                    struct mst_string *out)
{
    const char *name = mst_length_name(f->length, MST_LANG_AR);
    const struct mst_length_measure *l = &m->lengths[f->length];
    char at[48], when[24];
    mst_addr_print(f->at, at);
    switch (f->kind) {
    case MST_FINDING_CLASS_SHORT:
    case MST_FINDING_CLASS_LONG:
        mst_string_addf(out,
                        "%s: المدة في جملتها %s منها في النموذج، نحو ⁨%.0f⁩ في المئة من المنتظر بهذه السرعة.",
                        f->all_ghunna ? "الغنة بأنواعها" : name, f->ratio < 1 ? "أقصر" : "أطول", 100 * f->ratio);
        break;
    case MST_FINDING_SITE_SHORT:
    case MST_FINDING_SITE_LONG:
        mst_string_addf(out,
                        "%s في ⁨%s⁩ (عند ⁨%s⁩): المدة ⁨%.2f⁩ ثانية، ونظائره عند هذا القارئ نحو ⁨%.2f⁩ ثانية.",
                        name, at, moment(f->start_ms, when), (f->end_ms - f->start_ms) / 1000.0,
            l->own_expected_ms / 1000);
        break;
    case MST_FINDING_UNEVEN:
        mst_string_addf(out,
                        "%s: المدد غير متساوية، من ⁨%.2f⁩ إلى ⁨%.2f⁩ ثانية، والقريب من الوسط ⁨%.0f⁩ من مئة فقط.",
                        name, l->low_ms / 1000, l->high_ms / 1000, 100 * l->even_share);
        break;
    case MST_FINDING_WORDS_LEFT_OUT:
        mst_string_addf(out,
                        "كلمات لم تُسمع من المقطع: ⁨%d⁩، أولها في ⁨%s⁩.",
                        m->timeline->left_out_count, at);
        break;
    case MST_FINDING_PACE_DRIFT:
        mst_string_addf(out,
                        "السرعة في الآخر %s بنحو ⁨%.0f⁩ في المئة.",
                        f->ratio > 1 ? "تزيد" : "تنقص", 100 * fabs(f->ratio - 1));
        break;
    case MST_FINDING_COUNT:
        break;
    }
}
/* clang-format on */

void mst_finding_text(const struct mst_measures *measures, const struct mst_finding *finding,
                      enum mst_lang lang, struct mst_string *out)
{
    if (lang == MST_LANG_AR)
        text_ar(measures, finding, out);
    else
        text_en(measures, finding, out);
}

const char *mst_findings_reminder(enum mst_lang lang)
{
    if (lang == MST_LANG_AR)
        return "هذه قياسات لا أحكام: التلاوة تُؤخذ بالمشافهة عن معلّم متقن، والحكم له.";
    return "These are measurements, not rulings: recitation is learned by mouth from a qualified "
           "teacher, who decides.";
}
