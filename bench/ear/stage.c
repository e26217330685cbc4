#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void stage_fail(const char *what, const struct mst_error *err)
{
    fprintf(stderr, "%s: %s\n", what, err->message);
    exit(1);
}

int stage_open(struct stage *s)
{
    struct mst_error err;
    s->audio = getenv("MISTARA_AUDIO");
    if (!s->audio || access(s->audio, R_OK) != 0) {
        printf("skipped: MISTARA_AUDIO names no folder of recitations\n");
        return 77;
    }
    if (mst_text_open(NULL, &s->text, &err))
        stage_fail("text", &err);
    return 0;
}

void stage_close(struct stage *s)
{
    mst_text_close(s->text);
}

int recording_load(const struct stage *s, char reciter, int sura, int first, int last,
                   struct recording *out)
{
    int all = mst_text_sura(s->text, sura)->verse_count;
    struct mst_error err;
    struct mst_take *take;
    char(*names)[400] = calloc((size_t)all, sizeof *names);
    const char **paths = calloc((size_t)all, sizeof *paths);
    size_t count = 0, got, cap = 0;
    memset(out, 0, sizeof *out);
    if (first == 0) {
        first = 1;
        last = all;
    }
    for (int v = first; v <= last; v++) {
        snprintf(names[count], sizeof names[count], "%s/%c/%03d%03d.mp3", s->audio, reciter, sura,
                 v);
        if (access(names[count], R_OK) != 0)
            break;
        paths[count] = names[count];
        count++;
    }
    if (count == (size_t)(last - first + 1)) {
        if (mst_take_open(paths, count, NULL, &take, &err) || mst_take_read_all(take, &err))
            stage_fail(paths[0], &err);
        out->sura = sura;
        out->first_verse = first;
        out->verse_count = (int)count;
        out->first_sample = calloc(count + 1, sizeof *out->first_sample);
        for (size_t i = 0; i < count; i++)
            out->first_sample[i] = mst_take_file_at(take, i)->first_sample;
        out->first_sample[count] = mst_take_sample_count(take);
        cap = (size_t)mst_take_sample_count(take);
        out->samples = malloc((cap + 1) * sizeof *out->samples);
        mst_take_rewind(take);
        do {
            if (mst_take_read(take, out->samples + out->count, cap - out->count, &got, &err))
                stage_fail(paths[0], &err);
            out->count += got;
        } while (got > 0 && out->count < cap);
        mst_take_close(take);
    }
    free(names);
    free(paths);
    return out->count > 0;
}

void recording_free(struct recording *r)
{
    free(r->samples);
    free(r->first_sample);
    memset(r, 0, sizeof *r);
}

double recording_seconds(const struct recording *r)
{
    return (double)r->count / MST_TAKE_RATE_HZ;
}

struct mst_features *features_of(const float *samples, size_t count)
{
    struct mst_features *f;
    struct mst_error err;
    if (mst_features_new(NULL, &f, &err) || mst_features_push(f, samples, count, &err) ||
        mst_features_finish(f, &err))
        stage_fail("features", &err);
    return f;
}

struct mst_script *script_of(const struct stage *s, int sura, int first, int last)
{
    struct mst_script *script;
    struct mst_error err;
    struct mst_range range = {
        {sura, first ? first : 1, 0, 0},
        {sura, last ? last : mst_text_sura(s->text, sura)->verse_count, 0, 0}};
    if (mst_script_new(s->text, range, NULL, &script, &err))
        stage_fail("passage", &err);
    return script;
}

struct mst_voice *voice_of(const struct stage *s, char reciter, const int *suras)
{
    struct mst_lesson_take takes[114] = {0};
    struct mst_voice *voice;
    struct mst_error err;
    size_t count = 0;
    for (; *suras; suras++) {
        struct recording r;
        if (!recording_load(s, reciter, *suras, 0, 0, &r))
            continue;
        takes[count].features = features_of(r.samples, r.count);
        takes[count++].script = script_of(s, *suras, 0, 0);
        recording_free(&r);
    }
    if (mst_voice_learn(takes, count, "bench", NULL, &voice, &err))
        stage_fail("voice", &err);
    for (size_t i = 0; i < count; i++) {
        mst_features_free((struct mst_features *)takes[i].features);
        mst_script_free((struct mst_script *)takes[i].script);
    }
    return voice;
}

void values_add(struct values *l, double x)
{
    if (l->count == l->cap) {
        l->cap = l->cap ? 2 * l->cap : 256;
        l->v = realloc(l->v, l->cap * sizeof *l->v);
        if (!l->v)
            abort();
    }
    l->v[l->count++] = x;
}

void values_free(struct values *l)
{
    free(l->v);
    memset(l, 0, sizeof *l);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double values_at(struct values *l, double share)
{
    if (l->count == 0)
        return NAN;
    qsort(l->v, l->count, sizeof *l->v, ascending);
    return l->v[(size_t)(share * (double)(l->count - 1) + 0.5)];
}

double values_sd(const struct values *l)
{
    double sum = 0, squares = 0, n = (double)l->count;
    for (size_t i = 0; i < l->count; i++) {
        sum += l->v[i];
        squares += l->v[i] * l->v[i];
    }
    return n > 1 ? sqrt((squares - sum * sum / n) / (n - 1)) : NAN;
}

void share_interval(size_t hits, size_t n, double *low, double *high)
{
    double p = n ? (double)hits / (double)n : 0, z = 1.96, m = n ? (double)n : 1;
    double middle = (p + z * z / (2 * m)) / (1 + z * z / m);
    double half = z * sqrt(p * (1 - p) / m + z * z / (4 * m * m)) / (1 + z * z / m);
    *low = middle - half;
    *high = middle + half;
}

double chance(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 33) / 2147483648.0;
}

int is_nasal_hold(enum mst_length length)
{
    return length >= MST_LENGTH_GHUNNA && length <= MST_LENGTH_MERGE_Y;
}
