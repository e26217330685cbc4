/*
 * speed.c – processor time on one core against the length of the take:
 * features, alignment with a known voice, learning a voice from the take
 * alone, and general-purpose libraries beside them; and the peak of memory for
 * two hours of sound from the files to the timeline.
 */
#include "../clock.h"
#include "peers.h"
#include "stage.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

/* who: RUSAGE_SELF, or RUSAGE_CHILDREN for the decoder, which is a process of its own. */
static double peak_mb(int who)
{
    struct rusage u;
    getrusage(who, &u);
    return (double)u.ru_maxrss / 1024;
}

static double used_by_children_ms(void)
{
    struct rusage u;
    getrusage(RUSAGE_CHILDREN, &u);
    return (double)(u.ru_utime.tv_sec + u.ru_stime.tv_sec) * 1e3 +
           (double)(u.ru_utime.tv_usec + u.ru_stime.tv_usec) / 1e3;
}

static void print_peer(double ms, const char *what, double seconds)
{
    if (ms < 0)
        printf("| (%s was not installed when this was built) | |\n", what);
    else
        printf("| beside it: %s | %.5f |\n", what, ms / 1000 / seconds);
}

/* Decoding by others takes long: two minutes show it. */
enum { PEER_SAMPLES = 120 * MST_TAKE_RATE_HZ };

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
    const char *what;
    double peer = peer_features_ms(r.samples, r.count, &what);
    print_peer(peer, what, seconds);
    size_t part = r.count < PEER_SAMPLES ? r.count : PEER_SAMPLES;
    peer = peer_decoding_ms(r.samples, part, &what);
    print_peer(peer, what, (double)part / MST_TAKE_RATE_HZ);
    mst_voice_free(voice);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

/* All files of suras 67–114, one after another: two hours and ten minutes, decoded, listened to
 * and aligned the way the program does it, a block at a time. */
static void two_hours(const struct stage *s)
{
    enum { BLOCK = 1 << 16, MOST_FILES = 2000 };
    static float block[BLOCK];
    static char names[MOST_FILES][400];
    const char *paths[MOST_FILES];
    struct mst_take *take;
    struct mst_features *f;
    struct mst_script *script;
    struct mst_timeline *tl;
    struct mst_error err;
    struct mst_range range = {{67, 1, 0, 0}, {114, 6, 0, 0}};
    size_t count = 0, got = 0;
    for (int sura = 67; sura <= 114; sura++)
        for (int v = 1; v <= mst_text_sura(s->text, sura)->verse_count && count < MOST_FILES; v++) {
            snprintf(names[count], sizeof names[count], "%s/a/%03d%03d.mp3", s->audio, sura, v);
            paths[count] = names[count];
            count++;
        }
    double before = peak_mb(RUSAGE_SELF), start = used_ms();
    if (mst_take_open(paths, count, NULL, &take, &err) || mst_take_read_all(take, &err) ||
        mst_features_new(NULL, &f, &err))
        stage_fail("two hours", &err);
    mst_take_rewind(take);
    do {
        if (mst_take_read(take, block, BLOCK, &got, &err) || mst_features_push(f, block, got, &err))
            stage_fail("two hours", &err);
    } while (got > 0);
    double seconds = (double)mst_take_sample_count(take) / MST_TAKE_RATE_HZ;
    mst_take_close(take);
    if (mst_features_finish(f, &err) || mst_script_new(s->text, range, NULL, &script, &err))
        stage_fail("two hours", &err);
    printf(
        "| %.0f minutes from %zu files: reading, checks, features | %.5f and %.5f in the decoder "
        "|\n",
        seconds / 60, count, (used_ms() - start) / 1000 / seconds,
        used_by_children_ms() / 1000 / seconds);
    struct mst_arena *arena = mst_arena_new(0);
    start = used_ms();
    struct mst_listen_options o = {.threads = 2};
    enum mst_status status = mst_listen(f, script, &o, arena, &tl, NULL, &err);
    printf("| the same in one pass (67–114), learned alone: %s | %.5f |\n",
           status ? err.message : "done", (used_ms() - start) / 1000 / seconds);
    fflush(stdout);
    if (!status) {
        int pauses = 0;
        for (int32_t p = 0; p < tl->pause_count; p++)
            pauses += tl->pauses[p].at_verse_end;
        printf("| its words, left out, pauses at verse ends | %d, %d, %d |\n", tl->word_count,
               tl->left_out_count, pauses);
    }
    printf("| peak of memory, MB (before: %.0f); of the decoder | %.0f; %.0f |\n", before,
           peak_mb(RUSAGE_SELF), peak_mb(RUSAGE_CHILDREN));
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
    /* the long one first: its peak of memory must be its own */
    if (argc < 2 || strcmp(argv[1], "short") != 0)
        two_hours(&s);
    if (argc < 2 || strcmp(argv[1], "long") != 0)
        ten_minutes(&s);
    stage_close(&s);
    return 0;
}
