/*
 * faults_kinds.c – sounds exchanged in real recitations. At every third word
 * one sound is cut out and another of the same voice is put in its place, from
 * the likest neighbourhood there is, with a cross-fade of 5 ms: half of them
 * the sound that a fault of the list says instead, half of them sham splices,
 * the right sound from elsewhere, so that the cut itself is not what is heard.
 * The changed take is listened to as a learner's would be (learning from
 * itself) and judged by the other reciter's voice. Untouched takes are judged
 * the same way.
 *
 * The takes may be spoiled before they are judged: noise30, noise20, noise10
 * (white, so many dB below the voice), band (a telephone's, below 3.4 kHz),
 * warp115, warp130 (played so much faster: a shorter vocal tract, a higher and
 * quicker voice); clean otherwise.
 *
 *   bench-ear-faults-kinds JUDGED MODEL ROUNDS CONDITION FILE [SURA…]
 *
 * FILE gets a line for each: S (spliced) or U (untouched), reciter, sura,
 * place, fault, contrast, 1 = the fault is there, evidence, frames, sureness,
 * cannot tell, distance.
 */
#include "faults_stage.h"
#include "faults_tally.h"

#include "../../src/speech/faults/parts.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FADE = 80, EVERY = 3, TAKES_MAX = 40, DONORS = 4 };

struct taken {
    struct recording recording;
    struct mst_script *script;
    struct mst_features *features;
    struct mst_timeline *timeline;
    struct fault_heard heard;
};
struct bench {
    struct stage stage;
    char judged;
    struct mst_arena *arena;
    const struct mst_fault_list *list;
    struct mst_voice *voice;
    struct taken takes[TAKES_MAX];
    int take_count;
    int32_t *made; /* per fault, sham and real together */
    uint64_t seed;
    const char *condition;
    struct tally tally;
    FILE *out;
};

/* The samples as the condition leaves them; a new array. */
static float *spoiled(struct bench *b, const float *x, size_t n, size_t *count)
{
    float *out = malloc((n + 1) * sizeof *out);
    double power = 0, low[4] = {0};
    int noise_db = 0, percent = 0;
    memcpy(out, x, n * sizeof *out);
    *count = n;
    for (size_t i = 0; i < n; i++)
        power += (double)x[i] * (double)x[i] / (double)n;
    if (sscanf(b->condition, "noise%d", &noise_db) == 1) {
        double level = sqrt(3 * power) * pow(10, -noise_db / 20.0);
        for (size_t i = 0; i < n; i++)
            out[i] += (float)(level * (2 * chance(&b->seed) - 1));
    } else if (strcmp(b->condition, "band") == 0) {
        /* four poles one after another: 24 dB an octave above 3.4 kHz */
        double a = 1 - exp(-2 * M_PI * 3400 / MST_TAKE_RATE_HZ);
        for (size_t i = 0; i < n; i++) {
            double v = (double)x[i];
            for (int k = 0; k < 4; k++)
                v = low[k] += a * (v - low[k]);
            out[i] = (float)v;
        }
    } else if (sscanf(b->condition, "warp%d", &percent) == 1) {
        double step = percent / 100.0;
        *count = (size_t)((double)(n - 1) / step);
        for (size_t i = 0; i < *count; i++) {
            size_t at = (size_t)((double)i * step);
            double part = (double)i * step - (double)at;
            out[i] = (float)((double)x[at] * (1 - part) + (double)x[at + 1] * part);
        }
    }
    return out;
}

/* A stretch of samples to play. */
struct piece {
    const struct recording *from;
    size_t start, end;
};

static float *play(const struct piece *pieces, size_t count, size_t *n)
{
    size_t total = 0, at = 0;
    for (size_t i = 0; i < count; i++)
        total += pieces[i].end - pieces[i].start;
    float *out = calloc(total + 1, sizeof *out);
    for (size_t i = 0; i < count; i++) {
        const struct piece *p = &pieces[i], *b = i > 0 ? &pieces[i - 1] : NULL;
        for (size_t k = 0; k < p->end - p->start; k++) {
            float v = p->from->samples[p->start + k];
            if (b && k < FADE) {
                float share = ((float)k + 0.5f) / FADE;
                float before = b->end + k < b->from->count ? b->from->samples[b->end + k] : 0;
                v = v * share + before * (1 - share);
            }
            out[at++] = v;
        }
    }
    *n = at;
    return out;
}

static size_t sample_of_frame(const struct recording *r, int32_t frame)
{
    size_t s = (size_t)ear_ms_of_frame(frame) * 16;
    return s < r->count ? s : r->count;
}

static int same_kind(const struct ear_unit *a, const struct ear_unit *b)
{
    return a->model == b->model && a->geminate == b->geminate && a->cls == b->cls;
}

/* A stretch that says `want` between the given neighbours; 0 when the voice never did. */
static int donor(struct bench *b, const struct ear_unit *want, int before, int after,
                 const struct fault_unit *not_this, struct piece *out)
{
    struct piece best[DONORS];
    int best_fit = -1, count = 0;
    for (int t = 0; t < b->take_count; t++) {
        const struct fault_heard *h = &b->takes[t].heard;
        for (int32_t u = 1; u + 1 < h->count; u++) {
            const struct fault_unit *x = &h->units[u];
            if (!same_kind(&x->unit, want) || x == not_this)
                continue;
            int fit =
                2 * (h->units[u + 1].unit.model == after) + (h->units[u - 1].unit.model == before);
            if (fit < best_fit)
                continue;
            if (fit > best_fit)
                count = 0;
            best_fit = fit;
            int at = count < DONORS ? count : (int)(chance(&b->seed) * (count + 1));
            count++;
            if (at < DONORS)
                best[at] = (struct piece){&b->takes[t].recording,
                                          sample_of_frame(&b->takes[t].recording, x->start_fr),
                                          sample_of_frame(&b->takes[t].recording, x->end_fr)};
        }
    }
    if (count == 0)
        return 0;
    *out = best[(int)(chance(&b->seed) * (count < DONORS ? count : DONORS))];
    return out->end > out->start + FADE;
}

struct splice {
    const struct mst_fault *fault;
    struct mst_addr at;
    int32_t nth; /* sound of the word */
    int sham;
};

/* Pieces for one splice at a unit; 0 when the voice lacks a sound. */
static size_t pieces_of(struct bench *b, const struct taken *t, int32_t unit,
                        const struct mst_fault_way *way, int sham, struct piece *out,
                        int32_t *first_unit, int32_t *end_unit)
{
    struct fault_contrast c;
    if (!fault_contrast_make(&c, &t->heard, unit, way))
        return 0;
    if (c.same_before + c.same_after >= c.right_count) {
        if (c.same_before == 0)
            return 0;
        c.same_before--;
    }
    const struct ear_unit *row = sham ? c.right : c.wrong;
    int32_t count = sham ? c.right_count : c.wrong_count, n = 0;
    for (int32_t i = c.same_before; i < count - c.same_after; i++) {
        int before = i > 0 ? row[i - 1].model : -1, after = i + 1 < count ? row[i + 1].model : -1;
        if (!donor(b, &row[i], before, after, sham ? &t->heard.units[c.first_unit + i] : NULL,
                   &out[n++]))
            return 0;
    }
    *first_unit = c.first_unit + c.same_before;
    *end_unit = c.first_unit + c.right_count - c.same_after;
    return (size_t)n;
}

static void write_line(struct bench *b, char what, int sura, const struct mst_kind_fault *k,
                       int there)
{
    char at[48];
    fprintf(b->out, "%c\t%c\t%d\t%s/%d\t%s\t%s\t%d\t%.2f\t%.0f\t%.4f\t%d\t%.3f\n", what, b->judged,
            sura, mst_addr_print(k->at, at), k->sound, k->fault->id, mst_contrast_id(k->contrast),
            there, k->evidence, k->frames, k->sureness, k->cannot_tell, k->distance);
    tally_add(&b->tally, (struct tallied){.contrast = k->contrast,
                                          .spliced = what == 'S',
                                          .there = there,
                                          .sura = sura,
                                          .sound = k->sound,
                                          .distance = k->distance,
                                          .sureness = k->sureness,
                                          .cannot_tell = k->cannot_tell});
}

/* Judge samples; every fault that could befall. */
static struct mst_kind_fault *kinds_of(struct bench *b, const struct taken *t, const float *samples,
                                       size_t n, struct mst_arena *arena, struct mst_timeline **tl,
                                       size_t *count)
{
    struct mst_error err;
    struct mst_fault_ear *ear;
    struct mst_kind_fault *kinds;
    struct mst_kind_options all = {.all = 1};
    struct mst_listen_options o = {.skip_fit_test = 1};
    float *heard = spoiled(b, samples, n, &n);
    struct mst_features *f = features_of(heard, n);
    free(heard);
    if (mst_listen(f, t->script, &o, arena, tl, NULL, &err) ||
        mst_fault_ear_open(*tl, f, b->voice, 2, &ear, &err) ||
        mst_fault_kinds(ear, b->list, &all, arena, &kinds, count, &err))
        stage_fail("kinds", &err);
    mst_fault_ear_close(ear);
    mst_features_free(f);
    return kinds;
}

static void untouched(struct bench *b, const struct taken *t)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_timeline *tl;
    size_t count;
    struct mst_kind_fault *kinds =
        kinds_of(b, t, t->recording.samples, t->recording.count, arena, &tl, &count);
    for (size_t i = 0; i < count; i++)
        write_line(b, 'U', t->recording.sura, &kinds[i], 0);
    mst_arena_free(arena);
}

/* The fault made least often so far that can befall in this word and for which there is sound. */
static size_t choose(struct bench *b, const struct taken *t, int32_t word, struct splice *splice,
                     struct piece *pieces, int32_t *first, int32_t *end)
{
    const struct fault_heard *h = &t->heard;
    const struct mst_timeline *tl = t->timeline;
    size_t count = 0;
    int32_t least = INT32_MAX;
    for (int32_t u = h->first_unit[word]; u < h->first_unit[word + 1]; u++) {
        int32_t sound = h->units[u].sound;
        if (sound < 0 || tl->sounds[sound].sound_idx < 0)
            continue;
        for (int32_t n = 0; n < b->list->count; n++) {
            const struct mst_fault *f = &b->list->faults[n];
            struct piece here[FAULT_ROW_MAX];
            int32_t f0, f1;
            if (b->made[n] >= least ||
                !mst_fault_befalls(f, tl->reading, tl->sounds[sound].sound_idx))
                continue;
            int way = (int)(chance(&b->seed) * f->way_count);
            size_t k = pieces_of(b, t, u, &f->ways[way], b->made[n] % 2, here, &f0, &f1);
            if (k == 0)
                continue;
            least = b->made[n];
            count = k;
            memcpy(pieces, here, sizeof here);
            *first = f0;
            *end = f1;
            *splice = (struct splice){.fault = f,
                                      .at = tl->words[word].at,
                                      .nth = sound - tl->words[word].first_sound,
                                      .sham = b->made[n] % 2};
        }
    }
    if (count > 0)
        b->made[splice->fault - b->list->faults]++;
    return count;
}

static void spliced(struct bench *b, const struct taken *t)
{
    const struct mst_timeline *tl = t->timeline;
    struct mst_arena *arena = mst_arena_new(0);
    size_t most = (size_t)tl->word_count * (FAULT_ROW_MAX + 2) + 2, count = 0, splices = 0, n;
    struct piece *pieces = calloc(most, sizeof *pieces);
    struct splice *made = calloc((size_t)tl->word_count + 1, sizeof *made);
    size_t from = 0;
    for (int32_t w = (int32_t)(chance(&b->seed) * EVERY); w < tl->word_count; w += EVERY) {
        struct piece here[FAULT_ROW_MAX];
        int32_t first, end;
        size_t k = tl->words[w].again ? 0 : choose(b, t, w, &made[splices], here, &first, &end);
        if (k == 0)
            continue;
        size_t start = sample_of_frame(&t->recording, t->heard.units[first].start_fr);
        size_t stop = sample_of_frame(&t->recording, t->heard.units[end - 1].end_fr);
        if (start < from + FADE)
            continue;
        pieces[count++] = (struct piece){&t->recording, from, start};
        memcpy(pieces + count, here, k * sizeof *here);
        count += k;
        from = stop;
        splices++;
    }
    pieces[count++] = (struct piece){&t->recording, from, t->recording.count};
    float *samples = play(pieces, count, &n);
    struct mst_timeline *after;
    size_t kinds_count, lost = 0;
    struct mst_kind_fault *kinds = kinds_of(b, t, samples, n, arena, &after, &kinds_count);
    for (size_t s = 0; s < splices; s++) {
        size_t k = 0;
        for (; k < kinds_count; k++) {
            const struct mst_heard_sound *sound = &after->sounds[kinds[k].sound];
            if (kinds[k].fault == made[s].fault && mst_addr_compare(kinds[k].at, made[s].at) == 0 &&
                kinds[k].sound - after->words[sound->heard_word].first_sound == made[s].nth)
                break;
        }
        if (k < kinds_count)
            write_line(b, 'S', t->recording.sura, &kinds[k], !made[s].sham);
        else
            lost++;
    }
    printf("%c %d: %zu splices, %zu not found again\n", b->judged, t->recording.sura, splices,
           lost);
    fflush(b->out);
    fflush(stdout);
    free(samples);
    free(pieces);
    free(made);
    mst_arena_free(arena);
}

static void open_takes(struct bench *b, const int *suras)
{
    struct mst_error err;
    for (; *suras && b->take_count < TAKES_MAX; suras++) {
        struct taken *t = &b->takes[b->take_count];
        if (!recording_load(&b->stage, b->judged, *suras, 0, 0, &t->recording))
            continue;
        struct mst_listen_options o = {.skip_fit_test = 1};
        t->script = script_of(&b->stage, *suras, 0, 0);
        t->features = features_of(t->recording.samples, t->recording.count);
        if (mst_listen(t->features, t->script, &o, b->arena, &t->timeline, NULL, &err) ||
            fault_heard_make(&t->heard, t->timeline, (int64_t)t->features->frame_count, &err))
            stage_fail("listening", &err);
        b->take_count++;
    }
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {78, 79, 80, 81, 83, 84, 85, 88, 89, 90, 0};
    static const int suras_b[] = {78, 79, 83, 85, 89, 0};
    int chosen[TAKES_MAX + 1] = {0}, rounds = argc > 3 ? atoi(argv[3]) : 2;
    struct bench b = {.judged = argc > 1 ? *argv[1] : 'a', .seed = 5};
    struct mst_error err;
    int skipped = stage_open(&b.stage);
    if (skipped)
        return skipped;
    for (int i = 6; i < argc && i - 6 < TAKES_MAX; i++)
        chosen[i - 6] = atoi(argv[i]);
    b.condition = argc > 4 ? argv[4] : "clean";
    b.out = fopen(argc > 5 ? argv[5] : "faults_kinds.tsv", "w");
    b.arena = mst_arena_new(0);
    const char *path = mst_faults_default_path(b.arena);
    struct mst_fault_list *list;
    if (!b.out || !path || mst_faults_read(&path, 1, b.arena, &list, &err))
        stage_fail("faults", &err);
    b.list = list;
    b.made = calloc((size_t)list->count, sizeof *b.made);
    b.voice = model_voice(&b.stage, argc > 2 ? *argv[2] : 'b');
    open_takes(&b, chosen[0] ? chosen : b.judged == 'a' ? suras_a : suras_b);
    for (int t = 0; t < b.take_count; t++)
        untouched(&b, &b.takes[t]);
    for (int round = 0; round < rounds; round++)
        for (int t = 0; t < b.take_count; t++)
            spliced(&b, &b.takes[t]);
    fclose(b.out);
    tally_print(&b.tally, 0.99);
    tally_free(&b.tally);
    for (int t = 0; t < b.take_count; t++) {
        fault_heard_clear(&b.takes[t].heard);
        mst_features_free(b.takes[t].features);
        mst_script_free(b.takes[t].script);
        recording_free(&b.takes[t].recording);
    }
    mst_voice_free(b.voice);
    free(b.made);
    mst_arena_free(b.arena);
    stage_close(&b.stage);
    return 0;
}
