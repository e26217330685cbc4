/*
 * who.c – whose voice is it? Two reciters, each also played 13 % slower and 15
 * and 30 % faster (a longer or shorter vocal tract and another pitch: other
 * people, as far as the ear can tell): eight voices, each learned from one
 * sura; then takes of 20–60 s of other suras, each asked of all eight.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { VOICES = 8 };
static const double factors[4] = {0.87, 1, 1.15, 1.3};

static float *played(const float *x, size_t n, double factor, size_t *out)
{
    *out = (size_t)((double)n / factor);
    float *y = malloc((*out + 1) * sizeof *y);
    for (size_t i = 0; y && i < *out; i++) {
        double at = (double)i * factor;
        size_t k = (size_t)at;
        float share = (float)(at - (double)k);
        y[i] = k + 1 < n ? x[k] * (1 - share) + x[k + 1] * share : x[n - 1];
    }
    return y;
}

static struct mst_features *features_at(const float *x, size_t n, double factor)
{
    size_t m;
    float *y = played(x, n, factor, &m);
    struct mst_features *f = features_of(y, m);
    free(y);
    return f;
}

static struct mst_voice *learn(const struct stage *s, char reciter, int sura, double factor)
{
    struct recording r;
    struct mst_voice *voice = NULL;
    struct mst_error err;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return NULL;
    struct mst_features *f = features_at(r.samples, r.count, factor);
    struct mst_script *script = script_of(s, sura, 1, r.verse_count);
    struct mst_lesson_take take = {f, script};
    if (mst_voice_learn(&take, 1, "voice", &(struct mst_learn_options){0}, &voice, &err))
        stage_fail("learn", &err);
    mst_script_free(script);
    mst_features_free(f);
    recording_free(&r);
    return voice;
}

/* Right with its sureness at a margin, for the calibration. */
struct answer {
    double margins[VOICES]; /* likeness below the best */
    int right, best;
};

static void ask(const struct stage *s, struct mst_voice *const voices[VOICES], char reciter,
                int own, int sura, struct answer *answers, size_t *count, size_t most)
{
    struct recording r;
    uint64_t seed = (uint64_t)sura * 7 + 1;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return;
    for (int v = 0; v < r.verse_count && *count < most;) {
        double wanted = 20 + 40 * chance(&seed);
        int end = v + 1;
        while (end < r.verse_count &&
               (double)(r.first_sample[end] - r.first_sample[v]) / 16000 < wanted)
            end++;
        size_t n = (size_t)(r.first_sample[end] - r.first_sample[v]);
        if ((double)n / 16000 >= 18) {
            struct mst_features *f =
                features_at(r.samples + r.first_sample[v], n, factors[own % 4]);
            struct mst_script *script = script_of(s, sura, v + 1, end);
            double likeness[VOICES];
            struct mst_error err;
            if (mst_voice_likeness(f, script, (const struct mst_voice *const *)voices, VOICES, 2,
                                   likeness, &err))
                stage_fail("likeness", &err);
            struct answer *a = &answers[(*count)++];
            a->best = 0;
            for (int k = 1; k < VOICES; k++)
                if (likeness[k] > likeness[a->best])
                    a->best = k;
            for (int k = 0; k < VOICES; k++)
                a->margins[k] = likeness[a->best] - likeness[k];
            a->right = own;
            mst_script_free(script);
            mst_features_free(f);
        }
        v = end + 3 * (end - v);
    }
    recording_free(&r);
}

int main(void)
{
    enum { MOST = 400 };
    static const int suras[] = {78, 81, 85, 89, 90, 0};
    struct stage s;
    struct mst_voice *voices[VOICES];
    struct answer *answers = malloc(MOST * sizeof *answers);
    size_t count = 0, right = 0;
    int skipped = stage_open(&s);
    if (skipped || !answers)
        return skipped;
    for (int k = 0; k < VOICES; k++)
        voices[k] = learn(&s, k < 4 ? 'a' : 'b', 83, factors[k % 4]);
    for (int k = 0; k < VOICES; k++)
        for (const int *sura = suras; *sura; sura++)
            ask(&s, voices, k < 4 ? 'a' : 'b', k, *sura, answers, &count, MOST);
    struct values margin = {0};
    for (size_t n = 0; n < count; n++) {
        struct answer *a = &answers[n];
        double next = 1e9;
        right += a->right == a->best;
        for (int k = 0; k < VOICES; k++)
            if (k != a->right && a->margins[k] - a->margins[a->right] < next)
                next = a->margins[k] - a->margins[a->right];
        values_add(&margin, next);
        if (a->right != a->best)
            printf("taken for another: voice %d for %d, margin %.3f\n", a->right, a->best, next);
    }
    printf("%zu of %zu takes given to their own voice among %d; the next voice lies below by "
           "%.2f (least), %.2f (5 %%), %.2f (median) per frame\n",
           right, count, VOICES, values_at(&margin, 0), values_at(&margin, 0.05),
           values_at(&margin, 0.5));
    /* The scale that explains the answers best, and how well sureness then agrees with truth. */
    double best = 0, highest = -1e30;
    for (double scale = 0.02; scale < 4; scale *= 1.1) {
        double sum = 0;
        for (size_t n = 0; n < count; n++) {
            double z = 0;
            for (int k = 0; k < VOICES; k++)
                z += exp(-answers[n].margins[k] / scale);
            sum += -answers[n].margins[answers[n].right] / scale - log(z);
        }
        if (sum > highest) {
            highest = sum;
            best = scale;
        }
    }
    printf("likeliest scale of odds: %.3f (mean log sureness of the right voice %.3f)\n", best,
           highest / (double)count);
    for (int k = 0; k < VOICES; k++)
        mst_voice_free(voices[k]);
    values_free(&margin);
    free(answers);
    stage_close(&s);
    return 0;
}
