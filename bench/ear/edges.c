/*
 * edges.c – edges heard with a voice learned from the take alone, or with a
 * stored voice, against a model learned from more than an hour of the same
 * reciter without the takes tested.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* None of these teaches the reference. */
static const int tested[] = {36, 55, 56, 67, 68, 69, 73, 78, 80, 81, 85, 89, 90, 92, 98, 0};

struct errors {
    struct values all, nasal;
    size_t gross, words, same;
};

static void print_errors(const char *what, struct errors *e)
{
    printf("| %s | %.0f / %.0f / %.0f | %.0f / %.0f / %.0f | %.2f %% | %.1f %% | %zu, %zu |\n",
           what, values_at(&e->all, 0.5), values_at(&e->all, 0.9), values_at(&e->all, 0.95),
           values_at(&e->nasal, 0.5), values_at(&e->nasal, 0.9), values_at(&e->nasal, 0.95),
           100 * (double)e->gross / (double)(e->all.count ? e->all.count : 1),
           100 * (double)e->same / (double)(e->words ? e->words : 1), e->all.count, e->nasal.count);
    fflush(stdout);
}

static int same_sounds(const struct mst_timeline *a, const struct mst_heard_word *x,
                       const struct mst_timeline *b, const struct mst_heard_word *y)
{
    if (x->sound_count != y->sound_count)
        return 0;
    for (int32_t k = 0; k < x->sound_count; k++)
        if (a->sounds[x->first_sound + k].phone != b->sounds[y->first_sound + k].phone)
            return 0;
    return 1;
}

/* b's times are scaled and moved to a's. */
static void compare(const struct mst_timeline *a, const struct mst_timeline *b, double scale,
                    double shift_ms, struct errors *e)
{
    int32_t from = 0;
    for (int32_t i = 0; i < a->word_count; i++) {
        const struct mst_heard_word *x = &a->words[i];
        int32_t j = from;
        while (j < b->word_count && mst_addr_compare(b->words[j].at, x->at) != 0)
            j++;
        e->words++;
        if (j == b->word_count || !same_sounds(a, x, b, &b->words[j]))
            continue;
        from = j + 1;
        e->same++;
        for (int32_t k = 0; k < x->sound_count; k++) {
            const struct mst_heard_sound *p = &a->sounds[x->first_sound + k];
            const struct mst_heard_sound *q = &b->sounds[b->words[j].first_sound + k];
            double start = fabs(p->start_ms - (q->start_ms * scale + shift_ms));
            double end = fabs(p->end_ms - (q->end_ms * scale + shift_ms));
            values_add(&e->all, start);
            e->gross += start > 1000;
            if (is_nasal_hold(p->length)) {
                values_add(&e->nasal, start);
                values_add(&e->nasal, end);
            }
        }
    }
}

static struct mst_timeline *listen(const struct mst_features *f, const struct mst_script *script,
                                   const struct mst_voice *voice, int keep, struct mst_arena *arena)
{
    struct mst_listen_options o = {.voice = voice, .keep_voice = keep};
    struct mst_timeline *tl = NULL;
    struct mst_error err;
    if (mst_listen(f, script, &o, arena, &tl, NULL, &err))
        fprintf(stderr, "%s\n", err.message);
    return tl;
}

/* A stretch of verses (0-based, end exclusive) learned alone, against the reference. */
static int one_alone(const struct stage *s, const struct recording *r, int first, int end,
                     const struct mst_voice *reference, struct errors *e)
{
    struct mst_arena *arena = mst_arena_new(0);
    const float *x = r->samples + r->first_sample[first];
    struct mst_features *f =
        features_of(x, (size_t)(r->first_sample[end] - r->first_sample[first]));
    struct mst_script *script = script_of(s, r->sura, first + 1, end);
    struct mst_timeline *a = listen(f, script, reference, 1, arena);
    struct mst_timeline *b = listen(f, script, NULL, 0, arena);
    int heard = a && b;
    if (heard)
        compare(a, b, 1, 0, e);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    return heard;
}

static void errors_add(struct errors *to, const struct errors *from)
{
    for (size_t i = 0; i < from->all.count; i++)
        values_add(&to->all, from->all.v[i]);
    for (size_t i = 0; i < from->nasal.count; i++)
        values_add(&to->nasal, from->nasal.v[i]);
    to->gross += from->gross;
    to->words += from->words;
    to->same += from->same;
}

static void errors_free(struct errors *e)
{
    values_free(&e->all);
    values_free(&e->nasal);
}

/* Whole suras, learned alone, and the longer ones in pieces of about `piece` minutes. */
static void alone(const struct stage *s, char reciter, const struct mst_voice *reference)
{
    enum { LONG, FIVE, THREE, TWO, ROWS };
    static const char *const rows[ROWS] = {"8 min and more", "5–8 min", "2.6–5 min", "1.7–2.6 min"};
    static const double pieces[] = {0, 2.1, 3.5}; /* minutes; 0 = the whole sura */
    struct errors sums[ROWS] = {0};
    int takes[ROWS] = {0}, refused = 0;
    for (const int *sura = tested; *sura; sura++) {
        struct recording r;
        if (!recording_load(s, reciter, *sura, 0, 0, &r))
            continue;
        double whole = recording_seconds(&r) / 60;
        for (size_t p = 0; p < sizeof pieces / sizeof *pieces; p++) {
            /* the longest three are heard whole only */
            if (pieces[p] > 0 && (whole < 1.5 * pieces[p] || whole > 10))
                continue;
            for (int first = 0, end; first < r.verse_count; first = end) {
                double minutes = 0;
                for (end = first; end < r.verse_count && (pieces[p] <= 0 || minutes < pieces[p]);
                     end++)
                    minutes = (double)(r.first_sample[end + 1] - r.first_sample[first]) / 960000;
                struct errors e = {0};
                char what[64];
                int row = minutes >= 8 ? LONG : minutes >= 5 ? FIVE : minutes >= 2.6 ? THREE : TWO;
                if (minutes < 1.7)
                    continue;
                if (!one_alone(s, &r, first, end, reference, &e))
                    refused++;
                takes[row]++;
                errors_add(&sums[row], &e);
                if (pieces[p] <= 0) {
                    snprintf(what, sizeof what, "%c %d, %.1f min, alone", reciter, *sura, minutes);
                    print_errors(what, &e);
                }
                errors_free(&e);
            }
        }
        recording_free(&r);
    }
    for (int row = 0; row < ROWS; row++) {
        char what[80];
        snprintf(what, sizeof what, "**%c, %d takes of %s, alone**", reciter, takes[row],
                 rows[row]);
        print_errors(what, &sums[row]);
        errors_free(&sums[row]);
    }
    printf("| (%d refused) | | | | | |\n", refused);
}

/* Everything faster and higher by `factor`, as a smaller mouth at a quicker pace: plain
 * resampling. */
static float *faster(const float *x, size_t n, double factor, size_t *count)
{
    *count = (size_t)((double)n / factor);
    float *out = malloc(*count * sizeof *out);
    for (size_t i = 0; i < *count; i++) {
        double at = (double)i * factor, sum = 0, weight = 0;
        /* windowed sinc, cut off where the new rate ends */
        for (int64_t k = (int64_t)at - 15; k <= (int64_t)at + 16; k++) {
            if (k < 0 || k >= (int64_t)n)
                continue;
            double t = (at - (double)k) / factor;
            double w = (fabs(t) < 1e-9 ? 1 : sin(M_PI * t) / (M_PI * t)) *
                       (0.5 + 0.5 * cos(M_PI * (at - (double)k) / 16.5));
            sum += w * (double)x[k];
            weight += w;
        }
        out[i] = (float)(sum / weight);
    }
    return out;
}

/* The learner's case: stretches of 20–60 s with a stored voice, or alone where voice is NULL. */
static void with_voice(const struct stage *s, char reciter, const struct mst_voice *reference,
                       const struct mst_voice *voice, double factor, const char *what)
{
    struct errors e = {0};
    uint64_t seed = 3;
    int refused = 0, takes = 0;
    for (const int *sura = tested; *sura; sura++) {
        struct recording whole;
        if (!recording_load(s, reciter, *sura, 0, 0, &whole))
            continue;
        for (int v = 0; v < whole.verse_count;) {
            double wanted = 20 + 40 * chance(&seed);
            int end = v + 1;
            while (end < whole.verse_count &&
                   (double)(whole.first_sample[end] - whole.first_sample[v]) / 16000 < wanted)
                end++;
            double seconds = (double)(whole.first_sample[end] - whole.first_sample[v]) / 16000;
            if (seconds >= 20 && seconds <= 62) {
                struct mst_arena *arena = mst_arena_new(0);
                const float *x = whole.samples + whole.first_sample[v];
                size_t n = (size_t)(whole.first_sample[end] - whole.first_sample[v]), m = n;
                float *other = factor > 1 ? faster(x, n, factor, &m) : NULL;
                struct mst_features *f = features_of(x, n);
                struct mst_features *g = features_of(other ? other : x, m);
                struct mst_script *script = script_of(s, *sura, v + 1, end);
                struct mst_timeline *a = listen(f, script, reference, 1, arena);
                struct mst_timeline *b = listen(g, script, voice, 0, arena);
                takes++;
                refused += !b;
                if (a && b)
                    compare(a, b, factor, 0, &e);
                mst_features_free(f);
                mst_features_free(g);
                mst_script_free(script);
                mst_arena_free(arena);
                free(other);
            }
            v = end + 2 * (end - v); /* a third of the sura is enough */
        }
        recording_free(&whole);
    }
    print_errors(what, &e);
    printf("| (%d takes, %d refused) | | | | | |\n", takes, refused);
}

int main(int argc, char **argv)
{
    struct stage s;
    int hour[48], count = 0, skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    const char *part = argc > 2 ? argv[2] : "both"; /* or alone, or voices, or short */
    if (skipped)
        return skipped;
    for (int sura = 67; sura <= 114; sura++) {
        int held_out = sura == 83 || sura == 76; /* these teach the stored voice */
        for (const int *t = tested; *t; t++)
            held_out |= *t == sura;
        if (!held_out)
            hour[count++] = sura;
    }
    hour[count] = 0;
    printf("| take | all edges, ms: median / 90 / 95 %% | edges of nasal holds | over 1 s | "
           "words in the same form | edges, nasal |\n|---|---|---|---|---|---|\n");
    static const int lesson[] = {83, 0}; /* 3.5 to 5.4 minutes */
    for (const char *r = reciters; *r; r++) {
        struct mst_voice *reference = voice_of(&s, *r, hour);
        struct mst_voice *own = voice_of(&s, *r, lesson);
        struct mst_voice *other = voice_of(&s, *r == 'a' ? 'b' : 'a', lesson);
        char what[80];
        int both = !strcmp(part, "both"), voices = both || !strcmp(part, "voices");
        if (both || !strcmp(part, "alone"))
            alone(&s, *r, reference);
        if (both || !strcmp(part, "short")) {
            snprintf(what, sizeof what, "%c, 20–60 s, alone", *r);
            with_voice(&s, *r, reference, NULL, 1, what);
        }
        static const double factors[] = {1, 1.15, 1.3};
        for (int k = 0; k < 3 && voices; k++) {
            snprintf(what, sizeof what, "%c, 20–60 s, own stored voice, warp %.2f", *r, factors[k]);
            with_voice(&s, *r, reference, own, factors[k], what);
        }
        if (voices) {
            snprintf(what, sizeof what, "%c, 20–60 s, the other reciter's voice", *r);
            with_voice(&s, *r, reference, other, 1, what);
        }
        mst_voice_free(reference);
        mst_voice_free(own);
        mst_voice_free(other);
    }
    stage_close(&s);
    return 0;
}
