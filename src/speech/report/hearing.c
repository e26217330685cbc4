/*
 * hearing.c – from files to a timeline: the take is read once, block by block,
 * into features; what is wrong with the recording is known before anyone
 * listens for words.
 */
#include "parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_SAMPLES = 16384 /* about a second */ };

static int progress_stops(const struct mst_ear_progress *progress, double done)
{
    return progress && progress->report && progress->report(progress->user, done);
}

/* How far the decoding is, as far as the headers tell; without them it creeps. */
static double decoded_share(const struct mst_take *take)
{
    double claimed = 0;
    for (size_t n = 0; n < mst_take_file_count(take); n++) {
        double seconds = mst_take_file_at(take, n)->claimed_seconds;
        claimed += seconds > 0 ? seconds : 0;
    }
    double seconds = (double)mst_take_sample_count(take) / MST_TAKE_RATE_HZ;
    double share = claimed > 0 ? seconds / claimed : seconds / (seconds + 300);
    return share < 1 ? share : 1;
}

static enum mst_status stopped(struct mst_error *err)
{
    return mst_fail(err, MST_CANCELLED, "stopped; nothing was written");
}

static enum mst_status hear_samples(struct mst_hearing *h, const struct mst_ear_progress *progress,
                                    struct mst_error *err)
{
    float *block = malloc(BLOCK_SAMPLES * sizeof *block);
    if (!block)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the take");
    enum mst_status status = MST_OK;
    for (size_t got = 1; status == MST_OK && got > 0;) {
        status = mst_take_read(h->take, block, BLOCK_SAMPLES, &got, err);
        if (status == MST_OK && got > 0)
            status = mst_features_push(h->features, block, got, err);
        if (status == MST_OK && progress_stops(progress, decoded_share(h->take)))
            status = stopped(err);
    }
    free(block);
    return status;
}

/* What is gravest about the recording, after the sentence that is there. */
static void add_quality(const struct mst_hearing *h, struct mst_error *err)
{
    if (!err || h->quality.warning_count == 0)
        return;
    struct mst_string warning = {0};
    mst_take_warning_text(h->take, &h->quality.warnings[0], MST_LANG_EN, &warning);
    size_t used = strlen(err->message);
    if (warning.ptr && used + warning.len + 2 < sizeof err->message)
        snprintf(err->message + used, sizeof err->message - used, "%s %s",
                 used > 0 && err->message[used - 1] == '.' ? "" : ".", warning.ptr);
    mst_string_free(&warning);
}

static enum mst_status finish_features(struct mst_hearing *h, struct mst_error *err)
{
    struct mst_error why = {0};
    enum mst_status status = mst_features_finish(h->features, &why);
    mst_take_quality(h->take, &h->quality);
    if (status == MST_OK)
        return MST_OK;
    status = mst_fail(err, status, "%s", why.message);
    add_quality(h, err);
    return status;
}

enum mst_status mst_hearing_open(const struct mst_text *text, const char *const *paths,
                                 size_t path_count, struct mst_range passage,
                                 const struct mst_reading_options *options,
                                 const struct mst_ear_progress *progress, struct mst_hearing **out,
                                 struct mst_error *err)
{
    *out = NULL;
    struct mst_hearing *h = calloc(1, sizeof *h);
    if (!h)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the take");
    h->paths = paths;
    h->path_count = path_count;
    h->passage = passage;
    h->arena = mst_arena_new(0);
    enum mst_status status =
        h->arena ? MST_OK : mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the take");
    if (status == MST_OK)
        status = mst_script_new(text, passage, options, &h->script, err);
    if (status == MST_OK)
        status = mst_take_open(paths, path_count, NULL, &h->take, err);
    if (status == MST_OK)
        status = mst_features_new(NULL, &h->features, err);
    if (status == MST_OK)
        status = hear_samples(h, progress, err);
    if (status == MST_OK)
        status = finish_features(h, err);
    if (status != MST_OK) {
        mst_hearing_close(h);
        return status;
    }
    *out = h;
    return MST_OK;
}

enum mst_status mst_hearing_listen(struct mst_hearing *h, const struct mst_listen_options *options,
                                   struct mst_error *err)
{
    enum mst_status status =
        mst_listen(h->features, h->script, options, h->arena, &h->timeline, NULL, err);
    if (status == MST_MISMATCH)
        add_quality(h, err);
    return status;
}

/* A part of a longer work that reports its own share. */
struct share {
    const struct mst_ear_progress *whole;
    double from, to;
};

static int report_share(void *user, double done)
{
    const struct share *share = user;
    return progress_stops(share->whole, share->from + done * (share->to - share->from));
}

static enum mst_status name_take(const struct mst_hearing *take, const struct mst_error *why,
                                 struct mst_error *err)
{
    return mst_fail(err, MST_MISMATCH, "%.100s: %.360s", report_base_name(take->paths[0]),
                    why->message);
}

/* Does each take hold its passage? The voice of all together would not tell: it learns from noise
 * too. */
static enum mst_status hear_each(struct mst_hearing *const *takes, size_t count,
                                 const struct mst_learn_options *options, double share_of_all,
                                 struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        double step = share_of_all / (double)count;
        struct share share = {options->progress, step * (double)n, step * (double)(n + 1)};
        struct mst_ear_progress progress = {report_share, &share};
        struct mst_listen_options listen = {.voice = options->from,
                                            .progress = &progress,
                                            .threads = options->threads,
                                            .among_others = count > 1};
        struct mst_error why = {0};
        status = mst_hearing_listen(takes[n], &listen, &why);
        if (status == MST_MISMATCH)
            status = name_take(takes[n], &why, err);
        else if (status != MST_OK && err)
            *err = why;
    }
    return status;
}

/* The takes' lengths, all together, kept with the voice. They are measured with the voice that was
 * learned from all of them: one take may be too short to be measured by what it tells of itself. */
static enum mst_status keep_lengths(struct mst_hearing *const *takes, size_t count,
                                    const struct mst_learn_options *options,
                                    struct mst_voice *voice, struct mst_error *err)
{
    const struct mst_listen_options listen = {
        .voice = voice, .keep_voice = 1, .skip_fit_test = 1, .threads = options->threads};
    struct mst_length_model lengths;
    struct mst_arena *arena = mst_arena_new(0);
    const struct mst_measures **measures =
        arena ? mst_arena_alloc(arena, count, sizeof *measures) : NULL;
    enum mst_status status = MST_OK;
    if (!measures)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while learning the voice");
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        struct mst_measures *one = NULL;
        status = mst_hearing_listen(takes[n], &listen, err);
        if (status == MST_OK)
            status = mst_measure(takes[n]->timeline, NULL, arena, &one, err);
        measures[n] = one;
    }
    if (status == MST_OK)
        status = mst_length_model_make(measures, count, &lengths, err);
    if (status == MST_OK)
        mst_voice_keep_lengths(voice, &lengths);
    mst_arena_free(arena);
    return status;
}

enum mst_status mst_hearing_learn(struct mst_hearing *const *takes, size_t count, const char *name,
                                  const struct mst_learn_options *options, struct mst_voice **out,
                                  struct mst_error *err)
{
    *out = NULL;
    /* One take learned from alone is heard and judged in learning just as it would be before. */
    int heard_in_learning = count == 1 && !options->from;
    double before = heard_in_learning ? 0 : 0.5;
    struct share share = {options->progress, before, 1};
    struct mst_ear_progress progress = {report_share, &share};
    struct mst_learn_options own = *options;
    struct mst_lesson_take *lessons = calloc(count, sizeof *lessons);
    if (!lessons)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while learning the voice");
    own.progress = &progress;
    for (size_t n = 0; n < count; n++)
        lessons[n] = (struct mst_lesson_take){takes[n]->features, takes[n]->script};
    enum mst_status status = MST_OK;
    if (!heard_in_learning)
        status = hear_each(takes, count, options, before, err);
    if (status == MST_OK) {
        struct mst_error why = {0};
        status = mst_voice_learn(lessons, count, name, &own, out, &why);
        if (status == MST_MISMATCH && heard_in_learning) {
            add_quality(takes[0], &why);
            status = name_take(takes[0], &why, err);
        } else if (status != MST_OK && err) {
            *err = why;
        }
    }
    if (status == MST_OK)
        status = keep_lengths(takes, count, options, *out, err);
    if (status != MST_OK) {
        mst_voice_free(*out);
        *out = NULL;
    }
    free(lessons);
    return status;
}

void mst_hearing_close(struct mst_hearing *h)
{
    if (!h)
        return;
    mst_features_free(h->features);
    mst_take_close(h->take);
    mst_arena_free(h->arena); /* the timeline refers to the script */
    mst_script_free(h->script);
    free(h);
}
