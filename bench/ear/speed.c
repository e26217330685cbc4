/*
 * speed.c – processor time on one core against the length of the take:
 * features, alignment with a known voice, learning a voice from the take
 * alone; and the peak of memory for two hours of sound.
 */
#include "../clock.h"
#include "stage.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

static double peak_mb(void)
{
    struct rusage u;
    getrusage(RUSAGE_SELF, &u);
    return (double)u.ru_maxrss / 1024;
}

static void ten_minutes(const struct stage *s)
{
    struct recording r;
    struct mst_timeline *tl;
    struct mst_error err;
    if (!recording_load(s, 'a', 56, 0, 0, &r))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    double seconds = recording_seconds(&r), start = used_ms();
    struct mst_features *f = features_of(r.samples, r.count);
    double features = used_ms() - start;
    struct mst_script *script = script_of(s, 56, 0, 0);
    struct mst_lesson_take take = {f, script};
    struct mst_learn_options learn = {.threads = 1};
    struct mst_voice *voice;
    start = used_ms();
    if (mst_voice_learn(&take, 1, "speed", &learn, &voice, &err))
        stage_fail("learn", &err);
    double learned = used_ms() - start;
    struct mst_listen_options keep = {.voice = voice, .keep_voice = 1, .threads = 1};
    start = used_ms();
    if (mst_listen(f, script, &keep, arena, &tl, NULL, &err))
        stage_fail("listen", &err);
    double aligned = used_ms() - start;
    printf("| features, %.1f minutes | %.5f |\n", seconds / 60, features / 1000 / seconds);
    printf("| alignment with a known voice, warp sought, fit judged, measured | %.5f |\n",
           aligned / 1000 / seconds);
    printf("| learning the voice from the take alone | %.5f |\n", learned / 1000 / seconds);
    mst_voice_free(voice);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

/* Suras 67–90 one after another, and once more from the start: about two hours and ten minutes
 * of sound that is read a block at a time. */
static void two_hours(const struct stage *s)
{
    struct mst_features *f;
    struct mst_script *script;
    struct mst_timeline *tl;
    struct mst_error err;
    double before = peak_mb(), seconds = 0;
    struct mst_range range = {{67, 1, 0, 0}, {114, 6, 0, 0}};
    if (mst_features_new(NULL, &f, &err))
        stage_fail("features", &err);
    for (int sura = 67; sura <= 114; sura++) {
        struct recording r;
        if (!recording_load(s, 'a', sura, 0, 0, &r))
            continue;
        seconds += recording_seconds(&r);
        if (mst_features_push(f, r.samples, r.count, &err))
            stage_fail("features", &err);
        recording_free(&r);
    }
    if (mst_features_finish(f, &err) || mst_script_new(s->text, range, NULL, &script, &err))
        stage_fail("two hours", &err);
    struct mst_arena *arena = mst_arena_new(0);
    double start = used_ms();
    struct mst_listen_options o = {.threads = 2, .skip_fit_test = 0};
    enum mst_status status = mst_listen(f, script, &o, arena, &tl, NULL, &err);
    printf("| %.0f minutes in one pass (67–114), learned alone: %s | %.5f |\n", seconds / 60,
           status ? err.message : "done", (used_ms() - start) / 1000 / seconds);
    if (!status) {
        int pauses = 0;
        for (int32_t p = 0; p < tl->pause_count; p++)
            pauses += tl->pauses[p].at_verse_end;
        printf("| its words, left out, pauses at verse ends | %d, %d, %d |\n", tl->word_count,
               tl->left_out_count, pauses);
    }
    printf("| peak of memory, MB (before: %.0f) | %.0f |\n", before, peak_mb());
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
}

int main(int argc, char **argv)
{
    struct stage s;
    int skipped = stage_open(&s);
    if (skipped)
        return skipped;
    printf("| what | processor time / length of the take |\n|---|---|\n");
    if (argc < 2 || strcmp(argv[1], "long") != 0)
        ten_minutes(&s);
    if (argc < 2 || strcmp(argv[1], "short") != 0)
        two_hours(&s);
    stage_close(&s);
    return 0;
}
