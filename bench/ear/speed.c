/*
 * speed.c – processor time on one core against the length of the take, by what
 * it is spent on: features, one alignment, learning a voice from the take
 * alone, the questions around them, and a whole listening; general-purpose
 * libraries beside them; and the peak of memory for two hours of sound from the
 * files to the timeline.
 *
 *   bench-ear-speed [short|long]   short: without the two hours; long: only those
 */
#include "../clock.h"
#include "parts.h"
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

/* Decoding by others takes long: a quarter of a minute shows it. */
enum { PEER_SAMPLES = 15 * MST_TAKE_RATE_HZ };

/* A take, and what was spent on it. */
struct work {
    struct mst_features *f;
    struct mst_script *script;
    double seconds, started;
};

static void begin(struct work *w)
{
    w->started = used_ms();
}

static double spent(const struct work *w)
{
    return (used_ms() - w->started) / 1000 / w->seconds;
}

/* A whole listening. voice NULL: learned from the take alone; unasked: without asking whether it
 * holds the passage. */
static double listen(struct work *w, const struct mst_voice *voice, int unasked)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_listen_options o = {.voice = voice, .threads = 1, .skip_fit_test = unasked};
    struct mst_timeline *tl;
    struct mst_error err;
    begin(w);
    if (mst_listen(w->f, w->script, &o, arena, &tl, NULL, &err))
        stage_fail("listen", &err);
    double took = spent(w);
    mst_arena_free(arena);
    return took;
}

/* One alignment with a voice as it is, from the laid-out passage to the timeline; and what is asked
 * besides. */
static void one_alignment(struct work *w, const struct mst_voice *voice, double features)
{
    struct ear_graph g;
    struct ear_fit fit = {0};
    struct ear_search how = {.beam = EAR_BEAM, .extras = 1, .loose_ends = 1, .threads = 1};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_timeline *tl;
    struct mst_error err;
    int32_t *path = malloc(w->f->frame_count * sizeof *path);
    double score, warp;
    if (!path)
        abort();
    begin(w);
    if (ear_graph_make(&g, w->script, &err) ||
        ear_viterbi(&g, &voice->model, w->f, &how, path, &score, &err))
        stage_fail("align", &err);
    double aligned = spent(w);
    begin(w);
    if (ear_timeline_make(&g, &voice->model, w->f, path, NULL, 0, 1, arena, &tl, &err))
        stage_fail("timeline", &err);
    double told = spent(w);
    printf("| one alignment with a known voice: passage laid out, best path; its timeline with "
           "scores | %.5f; %.5f |\n",
           aligned, told);
    printf("| **features, alignment and timeline together** (aim 0.006) | %.5f |\n",
           features + aligned + told);
    begin(w);
    if (ear_find_warp(&g, &voice->model, w->f, 1, &warp, &err))
        stage_fail("vocal tract", &err);
    printf("| besides: the vocal tract's length sought (of the first 90 s) | %.5f |\n", spent(w));
    begin(w);
    if (ear_judge_fit(&g, &voice->model, w->f, path, 1, 1, &fit, &err))
        stage_fail("fit", &err);
    printf("| besides: does it hold the passage? | %.5f |\n", spent(w));
    free(path);
    ear_graph_clear(&g);
    mst_arena_free(arena);
}

static void ten_minutes(const struct stage *s)
{
    struct recording r;
    struct mst_error err;
    if (!recording_load(s, 'a', 56, 0, 0, &r))
        return;
    struct work w = {.seconds = recording_seconds(&r)};
    begin(&w);
    w.f = features_of(r.samples, r.count);
    double features = spent(&w);
    w.script = script_of(s, 56, 0, 0);
    struct mst_lesson_take take = {w.f, w.script};
    struct mst_learn_options learn = {.threads = 1};
    struct mst_voice *voice;
    printf("| features, %.1f minutes | %.5f |\n", w.seconds / 60, features);
    begin(&w);
    if (mst_voice_learn(&take, 1, "speed", &learn, &voice, &err))
        stage_fail("learn", &err);
    double learned = spent(&w);
    one_alignment(&w, voice, features);
    printf("| **learning the voice from the take alone** (aim 0.025) | %.5f |\n", learned);
    printf("| a whole listening, learned alone; with a stored voice | %.5f; %.5f |\n",
           listen(&w, NULL, 0), listen(&w, voice, 0));
    fflush(stdout);
    const char *what;
    double peer = peer_features_ms(r.samples, r.count, &what);
    print_peer(peer, what, w.seconds);
    size_t part = r.count < PEER_SAMPLES ? r.count : PEER_SAMPLES;
    peer = peer_decoding_ms(r.samples, part, &what);
    print_peer(peer, what, (double)part / MST_TAKE_RATE_HZ);
    mst_voice_free(voice);
    mst_features_free(w.f);
    mst_script_free(w.script);
    recording_free(&r);
}

/* Short takes are asked more: whether a verse more or less was said, which verses around. */
static void short_takes(const struct stage *s)
{
    static const int lesson[] = {83, 0};
    static const struct {
        int sura, last;
    } takes[] = {{85, 22}, {67, 10}, {78, 10}, {78, 5}};
    struct mst_voice *voice = voice_of(s, 'a', lesson);
    for (size_t n = 0; n < sizeof takes / sizeof *takes; n++) {
        struct recording r;
        if (!recording_load(s, 'a', takes[n].sura, 1, takes[n].last, &r))
            continue;
        struct work w = {.seconds = recording_seconds(&r)};
        w.f = features_of(r.samples, r.count);
        w.script = script_of(s, takes[n].sura, 1, takes[n].last);
        printf("| %d:1–%d, %.0f s, with a stored voice: without asking whether it holds the "
               "passage; in all | %.4f; %.4f |\n",
               takes[n].sura, takes[n].last, w.seconds, listen(&w, voice, 1), listen(&w, voice, 0));
        if (w.seconds >= 60)
            printf("| the same, learned alone | %.4f; %.4f |\n", listen(&w, NULL, 1),
                   listen(&w, NULL, 0));
        fflush(stdout);
        mst_features_free(w.f);
        mst_script_free(w.script);
        recording_free(&r);
    }
    mst_voice_free(voice);
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
    if (argc < 2 || strcmp(argv[1], "long") != 0) {
        ten_minutes(&s);
        short_takes(&s);
    }
    stage_close(&s);
    return 0;
}
