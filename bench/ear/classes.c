/*
 * classes.c – every ghunna of a take cut to 0.45: does the finding about the
 * whole class appear, and does it stay away from untouched takes? The model is
 * another take of the same reciter; stretches of 40 to 60 s, the voice stored
 * from the model's take. The limit of the finding was chosen on the first
 * stretches; "fresh" ones are of other suras (a), or begin three verses later (b).
 *
 *   bench-ear-classes [RECITERS [MOST [fresh]]]   MOST takes of each
 */
#include "splice.h"
#include "stage.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Where the finding should not be, what was found is said on the standard error. */
static int has_class_finding(const struct mst_measures *m, int expected, struct mst_arena *arena)
{
    struct mst_finding *f;
    struct mst_error err;
    size_t count;
    if (mst_find(m, NULL, arena, &f, &count, &err))
        stage_fail("findings", &err);
    for (size_t i = 0; i < count; i++)
        if ((f[i].kind == MST_FINDING_CLASS_SHORT || f[i].kind == MST_FINDING_CLASS_LONG) &&
            is_nasal_hold(f[i].length)) {
            const struct mst_length_measure *l = &m->lengths[f[i].length];
            if (!expected)
                fprintf(stderr,
                        "%d:%d: %s%s, ratio %.2f; of the class %.2f (%.2f–%.2f), %d places\n",
                        m->timeline->words[0].at.sura, m->timeline->words[0].at.verse,
                        mst_length_id(f[i].length), f[i].all_ghunna ? " and its kin" : "",
                        f[i].ratio, l->ratio, l->ratio_low, l->ratio_high, l->trusted);
            return 1;
        }
    return 0;
}

static struct mst_measures *measure(const struct mst_features *f, const struct mst_script *script,
                                    const struct mst_voice *voice, const struct mst_measures *model,
                                    struct mst_arena *arena)
{
    struct mst_listen_options o = {.voice = voice};
    struct mst_timeline *tl;
    struct mst_measures *m;
    struct mst_error err;
    if (mst_listen(f, script, &o, arena, &tl, NULL, &err) ||
        mst_measure(tl, model, arena, &m, &err)) {
        fprintf(stderr, "%s\n", err.message);
        return NULL;
    }
    return m;
}

static void one_reciter(const struct stage *s, char reciter, int most, int fresh)
{
    static const int lesson[] = {83, 0};
    struct mst_voice *voice = voice_of(s, reciter, lesson);
    struct mst_arena *kept = mst_arena_new(0);
    struct recording r;
    int takes = 0, found = 0, alarms = 0;
    double low, high;
    if (!recording_load(s, reciter, 83, 0, 0, &r))
        return;
    struct mst_features *f = features_of(r.samples, r.count);
    struct mst_script *script = script_of(s, 83, 0, 0);
    struct mst_measures *model = measure(f, script, voice, NULL, kept);
    recording_free(&r);
    static const int others_of_a[] = {36, 55, 56, 0};
    int from = reciter == 'a' ? 67 : 78, new_suras = fresh && reciter == 'a';
    for (int next = 0; takes < most && (new_suras ? others_of_a[next] != 0 : from + next <= 92);
         next++) {
        int sura = new_suras ? others_of_a[next] : from + next;
        if (sura == 83 || !recording_load(s, reciter, sura, 0, 0, &r))
            continue;
        for (int v = fresh ? 3 : 0; v < r.verse_count && takes < most;) {
            int end = v + 1;
            while (end < r.verse_count && r.first_sample[end] - r.first_sample[v] < 60 * 16000)
                end++;
            if (r.first_sample[end] - r.first_sample[v] > 40 * 16000) {
                struct mst_arena *arena = mst_arena_new(0);
                const float *x = r.samples + r.first_sample[v];
                size_t n = (size_t)(r.first_sample[end] - r.first_sample[v]), m, pieces = 0;
                struct mst_features *g = features_of(x, n);
                struct mst_script *part = script_of(s, sura, v + 1, end);
                struct mst_measures *a = measure(g, part, voice, model, arena);
                struct piece *piece = calloc((size_t)(a ? a->site_count : 0) + 1, sizeof *piece);
                for (int32_t i = 0; a && i < a->site_count; i++)
                    if (is_nasal_hold(a->sites[i].length))
                        piece[pieces++] =
                            (struct piece){a->sites[i].start_ms, a->sites[i].end_ms, 0.45, 1};
                if (a && pieces >= 3) {
                    float *cut = splice(x, n, piece, pieces, &m);
                    struct mst_features *h = features_of(cut, m);
                    struct mst_measures *b = measure(h, part, voice, model, arena);
                    takes++;
                    alarms += has_class_finding(a, 0, arena);
                    found += b && has_class_finding(b, 1, arena);
                    mst_features_free(h);
                    free(cut);
                }
                free(piece);
                mst_features_free(g);
                mst_script_free(part);
                mst_arena_free(arena);
            }
            v = end;
        }
        recording_free(&r);
    }
    share_interval((size_t)found, (size_t)takes, &low, &high);
    printf("| %c | %d | %d = %.1f %% (%.0f–%.0f) | ", reciter, takes, found,
           100.0 * found / (takes ? takes : 1), 100 * low, 100 * high);
    share_interval((size_t)alarms, (size_t)takes, &low, &high);
    printf("%d = %.1f %% (%.0f–%.0f) |\n", alarms, 100.0 * alarms / (takes ? takes : 1), 100 * low,
           100 * high);
    fflush(stdout);
    mst_features_free(f);
    mst_script_free(script);
    mst_voice_free(voice);
    mst_arena_free(kept);
}

int main(int argc, char **argv)
{
    struct stage s;
    int skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    int most = argc > 2 ? atoi(argv[2]) : 1000;
    if (skipped)
        return skipped;
    printf("| reciter | takes | class finding when every ghunna is cut to 0.45 | in untouched "
           "takes |\n|---|---|---|---|\n");
    for (const char *r = reciters; *r; r++)
        one_reciter(&s, *r, most, argc > 3 && !strcmp(argv[3], "fresh"));
    stage_close(&s);
    return 0;
}
