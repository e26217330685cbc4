/*
 * nasal.c – how nasal each hold is, between the take's own nasal and oral
 * sounds: Fisher's line through the cepstra of both, the strength taken
 * against the vowels beside the sound.
 */
#include "parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TERMS = EAR_CEPSTRA, LEAST_SOUNDS = 30, NEIGHBOURS = 4 };
/* The edges of a sound belong to its neighbours too. */
static const int32_t margin_fr = 1, shortest_fr = 4;
/* The two sorts must lie so far apart, and a third beyond these counts as the one or the other. */
static const double parted_least = 2.5, nasal_from = 0.45, oral_to = 0.2;
/* With the mouth open (hidden nūn; merged wāw and yāʾ) a nasal hold is less like mīm and nūn: only
 * what is less nasal than the vowels is surely without the nose. Set on 67, 78 and 79 as
 * `bench-ear-faults-pinch 67 78 79` hears them (docs/measurements.md, "Nasality of one take"). */
static const double hidden_oral_to = -0.5, glide_oral_to = -0.15;

const char *mst_nasal_id(enum mst_nasal_verdict verdict)
{
    static const char *const ids[MST_NASAL_COUNT] = {
#define X(name, id, en, ar) id,
        MST_NASAL_LIST(X)
#undef X
    };
    return ids[verdict];
}

const char *mst_nasal_text(enum mst_nasal_verdict verdict, enum mst_lang lang)
{
    static const char *const texts[MST_NASAL_COUNT][2] = {
#define X(name, id, en, ar) {en, ar},
        MST_NASAL_LIST(X)
#undef X
    };
    return texts[verdict][lang == MST_LANG_AR];
}

struct measuring {
    const struct mst_timeline *tl;
    const struct mst_features *f;
    double *vowel_c0; /* per sound: its own strength when it is a vowel, else NAN */
    double weight[TERMS], offset;
};

static int is_liquid(enum mst_phone phone)
{
    return phone == MST_PHONE_LAM || phone == MST_PHONE_RA || phone == MST_PHONE_WAW ||
           phone == MST_PHONE_YA || phone == MST_PHONE_AYN;
}

struct stretch {
    int32_t from, end; /* frames */
};

static struct stretch stretch_of(const struct measuring *m, int32_t sound)
{
    const struct mst_heard_sound *h = &m->tl->sounds[sound];
    int32_t frames = (int32_t)m->f->frame_count;
    struct stretch s = {(h->start_ms - EAR_EDGE_MS) / EAR_FRAME_MS + margin_fr,
                        (h->end_ms - EAR_EDGE_MS) / EAR_FRAME_MS - margin_fr};
    s.from = s.from < 0 ? 0 : s.from;
    s.end = s.end > frames ? frames : s.end;
    return s;
}

static int long_enough(struct stretch s)
{
    return s.end - s.from + 2 * margin_fr >= shortest_fr && s.end > s.from;
}

static void mean_of(const struct mst_features *f, struct stretch s, double out[TERMS])
{
    memset(out, 0, TERMS * sizeof *out);
    for (int32_t t = s.from; t < s.end; t++)
        for (int k = 0; k < TERMS; k++)
            out[k] += (double)ear_row(f, (size_t)t)[k] / (double)(s.end - s.from);
}

/* What a stretch of sound i shows; 0 when no vowel is near. */
static int terms_of(const struct measuring *m, int32_t i, struct stretch s, double out[TERMS])
{
    double beside = 0;
    int count = 0;
    for (int step = -1; step <= 1; step += 2)
        for (int k = 1; k <= NEIGHBOURS; k++) {
            int32_t n = i + step * k;
            if (n < 0 || n >= m->tl->sound_count || isnan(m->vowel_c0[n]))
                continue;
            beside += m->vowel_c0[n];
            count++;
            break;
        }
    if (count == 0 || s.end <= s.from)
        return 0;
    mean_of(m->f, s, out);
    out[0] -= beside / count;
    return 1;
}

static double projected(const struct measuring *m, const double x[TERMS])
{
    double sum = m->offset;
    for (int k = 0; k < TERMS; k++)
        sum += m->weight[k] * x[k];
    return sum;
}

/* a x = b by elimination; a is symmetric and has a ridge. */
static void solve(double a[TERMS][TERMS], double b[TERMS])
{
    for (int i = 0; i < TERMS; i++)
        for (int j = i + 1; j < TERMS; j++) {
            double f = a[j][i] / a[i][i];
            for (int k = i; k < TERMS; k++)
                a[j][k] -= f * a[i][k];
            b[j] -= f * b[i];
        }
    for (int i = TERMS - 1; i >= 0; i--) {
        for (int k = i + 1; k < TERMS; k++)
            b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
}

struct sort {
    double sum[TERMS], square[TERMS][TERMS];
    int32_t n;
};

static void add_to(struct sort *s, const double x[TERMS])
{
    for (int i = 0; i < TERMS; i++) {
        s->sum[i] += x[i];
        for (int j = 0; j < TERMS; j++)
            s->square[i][j] += x[i] * x[j];
    }
    s->n++;
}

/* Fisher's line between the two sorts, scaled so that their means lie at 0 and 1. */
static double part(struct measuring *m, const struct sort *oral, const struct sort *nasal)
{
    double within[TERMS][TERMS], apart[TERMS], solved[TERMS], squared = 0;
    for (int i = 0; i < TERMS; i++) {
        apart[i] = solved[i] = nasal->sum[i] / nasal->n - oral->sum[i] / oral->n;
        for (int j = 0; j < TERMS; j++) {
            /* each sort counts alike, however many sounds it has */
            double a =
                oral->square[i][j] / oral->n - oral->sum[i] / oral->n * oral->sum[j] / oral->n;
            double b = nasal->square[i][j] / nasal->n -
                       nasal->sum[i] / nasal->n * nasal->sum[j] / nasal->n;
            within[i][j] = (a + b) / 2 + (i == j ? 0.02 : 0);
        }
    }
    solve(within, solved);
    for (int i = 0; i < TERMS; i++)
        squared += solved[i] * apart[i];
    m->offset = 0;
    for (int i = 0; i < TERMS; i++) {
        m->weight[i] = squared > 0 ? solved[i] / squared : 0;
        m->offset -= m->weight[i] * oral->sum[i] / oral->n;
    }
    return sqrt(fmax(squared, 0));
}

static void learn(struct measuring *m, struct mst_nasality *out)
{
    struct sort oral = {.n = 0}, nasal = {.n = 0};
    const struct mst_timeline *tl = m->tl;
    double x[TERMS];
    for (int32_t i = 0; i < tl->sound_count; i++) {
        struct stretch s = stretch_of(m, i);
        m->vowel_c0[i] = NAN;
        if (!fault_is_vowel(tl->sounds[i].phone) || !long_enough(s))
            continue;
        mean_of(m->f, s, x);
        m->vowel_c0[i] = x[0];
    }
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *h = &tl->sounds[i];
        const struct mst_sound *s = fault_said(tl, i);
        struct stretch where = stretch_of(m, i);
        if (!s || !long_enough(where) || s->pause)
            continue;
        int is_nasal = (h->phone == MST_PHONE_NUN || h->phone == MST_PHONE_MIM) && !s->geminate;
        if (!is_nasal && !fault_is_vowel(h->phone) && !is_liquid(h->phone))
            continue;
        if (terms_of(m, i, where, x))
            add_to(is_nasal ? &nasal : &oral, x);
    }
    out->nasal_count = nasal.n;
    out->oral_count = oral.n;
    if (nasal.n >= LEAST_SOUNDS && oral.n >= LEAST_SOUNDS)
        out->parted = part(m, &oral, &nasal);
}

static enum mst_nasal_verdict decide(const struct mst_nasality *n, const struct mst_nasal_hold *h,
                                     enum mst_phone phone)
{
    double oral_below = phone == MST_PHONE_NUN_HIDDEN ? hidden_oral_to
                        : phone == MST_PHONE_WAW_NASAL || phone == MST_PHONE_YA_NASAL
                            ? glide_oral_to
                            : oral_to;
    int nasal = 0, oral = 0;
    if (n->parted < parted_least || isnan(h->nasal))
        return MST_NASAL_CANNOT_TELL;
    for (int k = 0; k < 3; k++) {
        nasal += h->third[k] >= nasal_from;
        oral += h->third[k] <= oral_below;
    }
    if (nasal == 3)
        return MST_NASAL_THROUGH;
    if (oral == 3)
        return MST_NASAL_NOT_AT_ALL;
    if (h->third[0] >= nasal_from && h->third[2] <= oral_below)
        return MST_NASAL_START_ONLY;
    return oral > 0 && nasal > 0 ? MST_NASAL_PARTLY : MST_NASAL_CANNOT_TELL;
}

static void measure_holds(const struct measuring *m, struct mst_nasality *out)
{
    const struct mst_timeline *tl = m->tl;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *h = &tl->sounds[i];
        const struct mst_sound *s = fault_said(tl, i);
        if (!s || !s->nasal || s->counts < 2)
            continue;
        struct mst_nasal_hold *hold = &out->holds[out->hold_count++];
        *hold = (struct mst_nasal_hold){.sound = i,
                                        .at = tl->words[h->heard_word].at,
                                        .start_ms = h->start_ms,
                                        .end_ms = h->end_ms,
                                        .nasal = NAN};
        struct stretch all = stretch_of(m, i);
        for (int part_no = 0; part_no < 4; part_no++) {
            double x[TERMS];
            int32_t len = all.end - all.from;
            struct stretch here = all;
            if (part_no < 3) {
                here.from = all.from + part_no * len / 3;
                here.end = all.from + (part_no + 1) * len / 3;
            }
            double at = terms_of(m, i, here, x) ? projected(m, x) : NAN;
            if (part_no == 3)
                hold->nasal = at;
            else
                hold->third[part_no] = at;
        }
        hold->verdict = decide(out, hold, h->phone);
    }
}

enum mst_status mst_nasality_measure(const struct mst_timeline *timeline,
                                     const struct mst_features *features, struct mst_arena *arena,
                                     struct mst_nasality **out, struct mst_error *err)
{
    struct measuring m = {.tl = timeline, .f = features};
    size_t most = (size_t)timeline->sound_count + 1;
    struct mst_nasality *n = mst_arena_alloc(arena, 1, sizeof *n);
    *out = NULL;
    m.vowel_c0 = malloc(most * sizeof *m.vowel_c0);
    if (n)
        n->holds = mst_arena_alloc(arena, most, sizeof *n->holds);
    if (!n || !n->holds || !m.vowel_c0) {
        free(m.vowel_c0);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring the holds");
    }
    learn(&m, n);
    measure_holds(&m, n);
    free(m.vowel_c0);
    *out = n;
    return MST_OK;
}

void mst_nasality_text(const struct mst_nasality *n, enum mst_lang lang, struct mst_string *out)
{
    enum { NAMED = 5 };
    int ar = lang == MST_LANG_AR;
    int32_t counts[MST_NASAL_COUNT] = {0};
    for (int32_t i = 0; i < n->hold_count; i++)
        counts[n->holds[i].verdict]++;
    if (n->hold_count == 0)
        return;
    if (n->parted < parted_least) {
        mst_string_adds(
            out, ar ? "لا يمكن الحكم على غنة المواضع: أصوات الأنف والفم متقاربة في هذا التسجيل."
                    : "How nasal the holds are cannot be told: nasal and oral sounds "
                      "lie too close together in this take.");
        return;
    }
    mst_string_addf(out, ar ? "الغنة في %d موضعًا: " : "Ghunna, %d holds: ", n->hold_count);
    for (int v = 0, any = 0; v < MST_NASAL_COUNT; v++) {
        int32_t named = 0;
        if (counts[v] == 0)
            continue;
        mst_string_addf(out, "%s%s %d",
                        !any++ ? ""
                        : ar   ? "؛ "
                               : "; ",
                        mst_nasal_text((enum mst_nasal_verdict)v, lang), counts[v]);
        for (int32_t i = 0;
             i < n->hold_count && v != MST_NASAL_THROUGH && v != MST_NASAL_CANNOT_TELL; i++) {
            const struct mst_nasal_hold *h = &n->holds[i];
            char at[48];
            if ((int)h->verdict != v || named++ >= NAMED)
                continue;
            mst_string_addf(out, "%s\u2066%s, %d:%04.1f\u2069",
                            named == 1 ? " ("
                            : ar       ? "؛ "
                                       : "; ",
                            mst_addr_print(h->at, at), h->start_ms / 60000,
                            h->start_ms % 60000 / 1000.0);
        }
        mst_string_adds(out, named > NAMED ? " …)" : named > 0 ? ")" : "");
    }
    mst_string_adds(out, ".");
}
