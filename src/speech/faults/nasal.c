/* nasal.c – how nasal each hold is, between the voice's own nasal and oral sounds. */
#include "bands.h"
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TERMS = BAND_COUNT + 1, LEAST_SOUNDS = 8, NEIGHBOURS = 4 };
static const double margin_ms = 12, shortest_ms = 45;
/* The two sorts must lie so far apart, and a third beyond these counts as the one or the other. */
static const double parted_least = 2.5, nasal_from = 0.45, oral_to = 0.25;

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
    struct mst_take *take;
    struct bands_meter *meter;
    double *vowel_db; /* per sound: its own strength when it is a vowel, else NAN */
    double weight[TERMS], offset;
};

static int is_vowel(enum mst_phone phone)
{
    return mst_phone_kind(phone) >= MST_PHONE_KIND_SHORT;
}

static int is_liquid(enum mst_phone phone)
{
    return phone == MST_PHONE_LAM || phone == MST_PHONE_RA || phone == MST_PHONE_WAW ||
           phone == MST_PHONE_YA || phone == MST_PHONE_AYN;
}

static const struct mst_sound *said(const struct mst_timeline *tl, int32_t i)
{
    int32_t sound = tl->sounds[i].sound_idx;
    return sound >= 0 ? &tl->reading->sounds[sound] : NULL;
}

/* What a stretch of sound i shows; 0 when no vowel is near. */
static enum mst_status terms_of(struct measuring *m, int32_t i, double from_ms, double to_ms,
                                double out[TERMS], int *any, struct mst_error *err)
{
    struct bands b;
    double beside = 0;
    int count = 0;
    for (int step = -1; step <= 1; step += 2)
        for (int k = 1; k <= NEIGHBOURS; k++) {
            int32_t n = i + step * k;
            if (n < 0 || n >= m->tl->sound_count || isnan(m->vowel_db[n]))
                continue;
            beside += m->vowel_db[n];
            count++;
            break;
        }
    *any = count > 0;
    if (!*any)
        return MST_OK;
    enum mst_status status = bands_measure(m->meter, m->take, from_ms, to_ms, &b, err);
    if (status)
        return status;
    for (int band = 0; band < BAND_COUNT; band++)
        out[band] = fmax(b.db[band] - b.all_db, -45);
    out[BAND_COUNT] = fmax(b.all_db - beside / count, -45);
    return MST_OK;
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
            within[i][j] = (a + b) / 2 + (i == j ? 0.5 : 0);
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

static enum mst_status learn(struct measuring *m, struct mst_nasality *out, struct mst_error *err)
{
    struct sort oral = {.n = 0}, nasal = {.n = 0};
    const struct mst_timeline *tl = m->tl;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *h = &tl->sounds[i];
        struct bands b;
        m->vowel_db[i] = NAN;
        if (!is_vowel(h->phone) || h->end_ms - h->start_ms < shortest_ms)
            continue;
        enum mst_status status = bands_measure(m->meter, m->take, h->start_ms + margin_ms,
                                               h->end_ms - margin_ms, &b, err);
        if (status)
            return status;
        m->vowel_db[i] = b.all_db;
    }
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *h = &tl->sounds[i];
        const struct mst_sound *s = said(tl, i);
        double x[TERMS];
        int any;
        if (!s || h->end_ms - h->start_ms < shortest_ms || s->pause)
            continue;
        int is_nasal = (h->phone == MST_PHONE_NUN || h->phone == MST_PHONE_MIM) && !s->geminate;
        if (!is_nasal && !is_vowel(h->phone) && !is_liquid(h->phone))
            continue;
        enum mst_status status =
            terms_of(m, i, h->start_ms + margin_ms, h->end_ms - margin_ms, x, &any, err);
        if (status)
            return status;
        if (any)
            add_to(is_nasal ? &nasal : &oral, x);
    }
    out->nasal_count = nasal.n;
    out->oral_count = oral.n;
    if (nasal.n >= LEAST_SOUNDS && oral.n >= LEAST_SOUNDS)
        out->parted = part(m, &oral, &nasal);
    return MST_OK;
}

static enum mst_nasal_verdict decide(const struct mst_nasality *n, const struct mst_nasal_hold *h)
{
    int nasal = 0, oral = 0;
    if (n->parted < parted_least || isnan(h->nasal))
        return MST_NASAL_CANNOT_TELL;
    for (int k = 0; k < 3; k++) {
        nasal += h->third[k] >= nasal_from;
        oral += h->third[k] <= oral_to;
    }
    if (nasal == 3)
        return MST_NASAL_THROUGH;
    if (oral == 3)
        return MST_NASAL_NOT_AT_ALL;
    if (h->third[0] >= nasal_from && h->third[2] <= oral_to)
        return MST_NASAL_START_ONLY;
    return oral > 0 && nasal > 0 ? MST_NASAL_PARTLY : MST_NASAL_CANNOT_TELL;
}

static enum mst_status measure_holds(struct measuring *m, struct mst_nasality *out,
                                     struct mst_error *err)
{
    const struct mst_timeline *tl = m->tl;
    for (int32_t i = 0; i < tl->sound_count; i++) {
        const struct mst_heard_sound *h = &tl->sounds[i];
        const struct mst_sound *s = said(tl, i);
        if (!s || !s->nasal || s->counts < 2)
            continue;
        struct mst_nasal_hold *hold = &out->holds[out->hold_count++];
        *hold = (struct mst_nasal_hold){.sound = i,
                                        .at = tl->words[h->heard_word].at,
                                        .start_ms = h->start_ms,
                                        .end_ms = h->end_ms,
                                        .nasal = NAN};
        double from = h->start_ms + margin_ms, step = (h->end_ms - margin_ms - from) / 3;
        for (int part_no = 0; part_no < 4; part_no++) {
            double x[TERMS];
            int any, whole = part_no == 3;
            double a = whole ? from : from + part_no * step;
            enum mst_status status =
                terms_of(m, i, a, whole ? h->end_ms - margin_ms : a + step, x, &any, err);
            if (status)
                return status;
            double at = any ? projected(m, x) : NAN;
            if (whole)
                hold->nasal = at;
            else
                hold->third[part_no] = at;
        }
        hold->verdict = decide(out, hold);
    }
    return MST_OK;
}

enum mst_status mst_nasality_measure(const struct mst_timeline *timeline, struct mst_take *take,
                                     struct mst_arena *arena, struct mst_nasality **out,
                                     struct mst_error *err)
{
    struct measuring m = {.tl = timeline, .take = take};
    size_t most = (size_t)timeline->sound_count + 1;
    struct mst_nasality *n = mst_arena_alloc(arena, 1, sizeof *n);
    *out = NULL;
    m.vowel_db = malloc(most * sizeof *m.vowel_db);
    if (n)
        n->holds = mst_arena_alloc(arena, most, sizeof *n->holds);
    enum mst_status status =
        n && n->holds && m.vowel_db
            ? bands_meter_new(&m.meter, err)
            : mst_fail(err, MST_NO_MEMORY, "memory ran out while measuring the holds");
    if (!status)
        status = learn(&m, n, err);
    if (!status)
        status = measure_holds(&m, n, err);
    if (!status)
        *out = n;
    bands_meter_free(m.meter);
    free(m.vowel_db);
    return status;
}
