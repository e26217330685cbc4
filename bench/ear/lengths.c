/*
 * lengths.c – the order natural < ghunna < munfaṣil ≤ muttaṣil < lāzim in two
 * voices, as the ear measures it in takes learned alone.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>

static void one_reciter(const struct stage *s, char reciter)
{
    struct values held[MST_LENGTH_COUNT] = {0}, short_ms = {0};
    size_t even[MST_LENGTH_COUNT] = {0};
    for (int sura = reciter == 'a' ? 67 : 78; sura <= 89; sura++) {
        struct recording r;
        struct mst_timeline *tl;
        struct mst_measures *m;
        struct mst_error err;
        if (!recording_load(s, reciter, sura, 0, 0, &r))
            continue;
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_features *f = features_of(r.samples, r.count);
        struct mst_script *script = script_of(s, sura, 0, 0);
        if (mst_listen(f, script, NULL, arena, &tl, NULL, &err) ||
            mst_measure(tl, NULL, arena, &m, &err)) {
            printf("%d: %s\n", sura, err.message);
        } else {
            for (int32_t i = 0; i < m->site_count; i++)
                if (m->sites[i].trust != MST_TRUST_NONE) {
                    enum mst_length length = m->sites[i].length;
                    double off = m->sites[i].held_ms / m->lengths[length].own_expected_ms;
                    values_add(&held[length], m->sites[i].held_ms);
                    even[length] += off > 0.75 && off < 1.25;
                }
            for (int32_t i = 0; i < tl->sound_count; i++)
                if (tl->sounds[i].length == MST_LENGTH_SHORT)
                    values_add(&short_ms, tl->sounds[i].end_ms - tl->sounds[i].start_ms);
        }
        mst_features_free(f);
        mst_script_free(script);
        mst_arena_free(arena);
        recording_free(&r);
    }
    double natural = values_at(&held[MST_LENGTH_NATURAL], 0.5);
    printf("\n| %c | sites | median | 5–95 %% | to natural | within ±25 %% of the own hand "
           "|\n|---|---|---|---|---|---|\n",
           reciter);
    printf("| short vowel | %zu | %.0f ms | | %.2f | |\n", short_ms.count,
           values_at(&short_ms, 0.5), values_at(&short_ms, 0.5) / natural);
    for (int k = MST_LENGTH_NATURAL; k < MST_LENGTH_COUNT; k++)
        if (held[k].count > 0)
            printf("| %s | %zu | %.0f ms | %.0f–%.0f | %.2f | %.0f %% |\n",
                   mst_length_name((enum mst_length)k, MST_LANG_EN), held[k].count,
                   values_at(&held[k], 0.5), values_at(&held[k], 0.05), values_at(&held[k], 0.95),
                   values_at(&held[k], 0.5) / natural,
                   100 * (double)even[k] / (double)held[k].count);
    fflush(stdout);
    for (int k = 0; k < MST_LENGTH_COUNT; k++)
        values_free(&held[k]);
    values_free(&short_ms);
}

int main(void)
{
    struct stage s;
    int skipped = stage_open(&s);
    if (skipped)
        return skipped;
    one_reciter(&s, 'a');
    one_reciter(&s, 'b');
    stage_close(&s);
    return 0;
}
