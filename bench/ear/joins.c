/*
 * joins.c – whole suras in one pass: every join of two files lies inside a
 * found pause, within 100 ms; and the first sound after a pause against the
 * moment the loudness rises. Whether any edge slipped is asked by edges.c.
 */
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Loudness in dB of the 5 ms before a millisecond of the recording. */
static double level_db(const struct recording *r, int64_t ms)
{
    double sum = 0;
    for (int64_t i = ms * 16 - 80; i < ms * 16; i++)
        if (i >= 0 && i < (int64_t)r->count)
            sum += (double)r->samples[i] * (double)r->samples[i];
    return 10 * log10(sum / 80 + 1e-12);
}

/* The moment the loudness rises out of the pause for good: seen from the loudest place of the
 * coming sound backwards, the last millisecond less than 10 dB above the pause's floor (the
 * quietest fifth of the 300 ms before), or 40 dB below the loudest place where files begin with
 * digital silence, out of which the room itself rises. From the samples alone, not from what the
 * ear keeps. -1 when it does not rise by 20 dB. */
static double energy_onset_ms(const struct recording *r, int32_t near_ms)
{
    struct values before = {0};
    int64_t loudest = near_ms;
    for (int32_t ms = near_ms - 300; ms < near_ms; ms++)
        values_add(&before, level_db(r, ms));
    double floor = values_at(&before, 0.2);
    values_free(&before);
    for (int32_t ms = near_ms; ms < near_ms + 150; ms++)
        if (level_db(r, ms) > level_db(r, loudest))
            loudest = ms;
    if (level_db(r, loudest) < floor + 20)
        return -1;
    double threshold = fmax(floor + 10, level_db(r, loudest) - 40);
    int64_t ms = loudest;
    while (ms > near_ms - 300 && level_db(r, ms) > threshold)
        ms--;
    return (double)ms;
}

static void one_sura(const struct stage *s, char reciter, int sura, struct values *onsets)
{
    struct recording r;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_timeline *tl;
    struct mst_error err;
    int inside = 0, joined = 0;
    double worst = 0;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return;
    struct mst_features *f = features_of(r.samples, r.count);
    struct mst_script *script = script_of(s, sura, 0, 0);
    if (mst_listen(f, script, NULL, arena, &tl, NULL, &err)) {
        printf("%c %d: %s\n", reciter, sura, err.message);
        return;
    }
    for (int v = 1; v < r.verse_count; v++) {
        double join = (double)r.first_sample[v] / 16, best = 1e9;
        for (int32_t p = 0; p < tl->pause_count; p++) {
            const struct mst_heard_pause *pause = &tl->pauses[p];
            if (pause->after_word < 0 || tl->words[pause->after_word].at.verse != v ||
                !pause->at_verse_end)
                continue;
            double off = join < pause->start_ms ? pause->start_ms - join
                         : join > pause->end_ms ? join - pause->end_ms
                                                : 0;
            best = fmin(best, off);
        }
        if (best > 1e8)
            joined++; /* read on without a pause, or slipped: told apart by `worst` elsewhere */
        else
            worst = fmax(worst, best);
        inside += best <= 100;
    }
    for (int32_t p = 0; p < tl->pause_count; p++) {
        const struct mst_heard_pause *pause = &tl->pauses[p];
        double onset = energy_onset_ms(&r, pause->end_ms);
        if (pause->end_ms - pause->start_ms >= 250 && onset > 0 &&
            pause->after_word + 1 < tl->word_count)
            values_add(onsets, fabs(onset - pause->end_ms));
    }
    printf("| %c %d | %.1f min | %d of %d | %d | %.0f ms | %d, %d |\n", reciter, sura,
           recording_seconds(&r) / 60, inside, r.verse_count - 1, joined, worst, tl->repeat_count,
           tl->left_out_count);
    fflush(stdout);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

int main(void)
{
    static const int suras[] = {36, 55, 56, 67, 68, 78, 0};
    struct stage s;
    struct values onsets = {0}, others = {0};
    int skipped = stage_open(&s);
    if (skipped)
        return skipped;
    printf("| sura | length | joins within 100 ms of a pause | no pause there | worst | taken up "
           "again, "
           "left out |\n");
    printf("|---|---|---|---|---|---|\n");
    for (const int *sura = suras; *sura; sura++)
        one_sura(&s, 'a', *sura, &onsets);
    printf("\nonset after a pause, a: median %.0f ms, 95 %% %.0f ms (%zu)\n",
           values_at(&onsets, 0.5), values_at(&onsets, 0.95), onsets.count);
    for (int sura = 78; sura <= 84; sura++)
        one_sura(&s, 'b', sura, &others);
    printf("\nonset after a pause, b: median %.0f ms, 95 %% %.0f ms (%zu)\n",
           values_at(&others, 0.5), values_at(&others, 0.95), others.count);
    values_free(&onsets);
    values_free(&others);
    stage_close(&s);
    return 0;
}
