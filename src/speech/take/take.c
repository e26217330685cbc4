#include "take.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const double default_max_seconds = 6 * 3600.0;

/* --- opening --------------------------------------------------------------------- */

/* Only a plain file with something in it; never waits, as opening a FIFO would. */
static enum mst_status open_plain_file(const char *path, int *fd, struct mst_error *err)
{
    struct stat st;
    *fd = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (*fd < 0) {
        if (errno == ENOENT || errno == ENOTDIR)
            return mst_fail_errno(err, MST_NOT_FOUND, errno, "there is no file “%s”", path);
        return mst_fail_errno(err, MST_IO, errno, "“%s” cannot be opened", path);
    }
    enum mst_status status = MST_OK;
    if (fstat(*fd, &st))
        status = mst_fail_errno(err, MST_IO, errno, "“%s” cannot be looked at", path);
    else if (S_ISDIR(st.st_mode))
        status = mst_fail(err, MST_BAD_DATA, "“%s” is a folder; name the recordings in it", path);
    else if (!S_ISREG(st.st_mode))
        status = mst_fail(err, MST_BAD_DATA,
                          "“%s” is a device or a pipe; a recording must be a file", path);
    else if (st.st_size == 0)
        status = mst_fail(err, MST_BAD_DATA,
                          "“%s” is empty; copy it again from the device it was recorded on", path);
    if (status != MST_OK) {
        close(*fd);
        *fd = -1;
    }
    return status;
}

static struct mst_take *take_new(size_t file_count)
{
    struct mst_take *take = calloc(1, sizeof *take);
    if (!take)
        return NULL;
    take->spool.fd = -1;
    take->file_fd = -1;
    take->rate_hz = MST_TAKE_RATE_HZ;
    take->analysis = analysis_new();
    take->files = calloc(file_count ? file_count : 1, sizeof *take->files);
    if (!take->analysis || !take->files) {
        mst_take_close(take);
        return NULL;
    }
    return take;
}

static enum mst_status out_of_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while a recording was opened");
}

static enum mst_status add_file(struct mst_take *take, const char *path, struct mst_error *err)
{
    int fd = -1;
    enum mst_status status = open_plain_file(path, &fd, err);
    if (status != MST_OK)
        return status;
    close(fd);
    struct mst_take_file *file = &take->files[take->file_count];
    char *copy = strdup(path);
    if (!copy)
        return out_of_memory(err);
    *file = (struct mst_take_file){
        .path = copy, .first_sample = -1, .claimed_seconds = -1, .first_damage_sample = -1};
    take->file_count++;
    return MST_OK;
}

/* Where the decoder and the working copy are, for opening the files once more. */
static enum mst_status keep_options(struct mst_take *take, const struct mst_take_options *options,
                                    struct mst_error *err)
{
    const char *decoder = options->decoder_path, *dir = options->working_dir;
    take->options = (struct mst_take_options){.max_seconds = options->max_seconds,
                                              .patience_s = options->patience_s,
                                              .decoder_path = decoder ? strdup(decoder) : NULL,
                                              .working_dir = dir ? strdup(dir) : NULL};
    return (decoder && !take->options.decoder_path) || (dir && !take->options.working_dir)
               ? out_of_memory(err)
               : MST_OK;
}

static enum mst_status open_at_rate(const char *const *paths, size_t path_count,
                                    const struct mst_take_options *options, int rate_hz,
                                    struct mst_take **out, struct mst_error *err)
{
    static const struct mst_take_options defaults = {0};
    *out = NULL;
    if (!options)
        options = &defaults;
    if (path_count == 0)
        return mst_fail(err, MST_USAGE, "no recording was named");
    struct mst_take *take = take_new(path_count);
    if (!take)
        return out_of_memory(err);
    double max_seconds = options->max_seconds > 0 ? options->max_seconds : default_max_seconds;
    take->rate_hz = rate_hz;
    take->max_samples = (int64_t)(fmin(max_seconds, 1e9) * rate_hz);
    enum mst_status status = keep_options(take, options, err);
    for (size_t n = 0; n < path_count && status == MST_OK; n++)
        status = add_file(take, paths[n], err);
    if (status == MST_OK)
        status = spool_open(&take->spool, options->working_dir, err);
    if (status == MST_OK)
        status = worker_start(options, &take->worker, err);
    if (status != MST_OK) {
        mst_take_close(take);
        return status;
    }
    *out = take;
    return MST_OK;
}

enum mst_status mst_take_open(const char *const *paths, size_t path_count,
                              const struct mst_take_options *options, struct mst_take **out,
                              struct mst_error *err)
{
    return open_at_rate(paths, path_count, options, MST_TAKE_RATE_HZ, out, err);
}

static enum mst_status add_samples(struct mst_take *take, const float *samples, size_t count,
                                   struct mst_error *err)
{
    if (take->rate_hz == MST_TAKE_RATE_HZ)
        analysis_add(take->analysis, samples, count);
    return spool_add(&take->spool, samples, count, err);
}

enum mst_status mst_take_open_samples(const float *samples, size_t sample_count,
                                      struct mst_take **out, struct mst_error *err)
{
    *out = NULL;
    struct mst_take *take = take_new(0);
    if (!take)
        return out_of_memory(err);
    enum mst_status status = spool_open(&take->spool, NULL, err);
    if (status == MST_OK)
        status = add_samples(take, samples, sample_count, err);
    if (status != MST_OK) {
        mst_take_close(take);
        return status;
    }
    take->complete = 1;
    *out = take;
    return MST_OK;
}

/* A take without files has nothing but its samples. */
static enum mst_status copy_samples(struct mst_take *take, struct mst_take **out,
                                    struct mst_error *err)
{
    size_t count = (size_t)take->spool.sample_count, got = 0;
    float *samples = malloc((count + 1) * sizeof *samples);
    if (!samples)
        return out_of_memory(err);
    enum mst_status status = mst_take_read_at(take, 0, samples, count, &got, err);
    if (status == MST_OK)
        status = mst_take_open_samples(samples, got, out, err);
    free(samples);
    return status;
}

enum mst_status mst_take_open_sound(struct mst_take *take, struct mst_take **out,
                                    struct mst_error *err)
{
    *out = NULL;
    if (take->file_count == 0)
        return copy_samples(take, out, err);
    const char **paths = calloc(take->file_count, sizeof *paths);
    if (!paths)
        return out_of_memory(err);
    for (size_t n = 0; n < take->file_count; n++)
        paths[n] = take->files[n].path;
    enum mst_status status =
        open_at_rate(paths, take->file_count, &take->options, MST_SOUND_RATE_HZ, out, err);
    free(paths);
    return status;
}

int32_t mst_take_rate_hz(const struct mst_take *take)
{
    return take->rate_hz;
}

void mst_take_close(struct mst_take *take)
{
    if (!take)
        return;
    worker_stop(take->worker);
    spool_close(&take->spool);
    if (take->file_fd >= 0)
        close(take->file_fd);
    for (size_t n = 0; n < take->file_count; n++)
        free((char *)take->files[n].path);
    free(take->files);
    free((char *)take->options.decoder_path);
    free((char *)take->options.working_dir);
    analysis_free(take->analysis);
    free(take);
}

/* --- decoding ---------------------------------------------------------------------- */

/* Go on with the next file, or find that there is none. */
static enum mst_status begin_file(struct mst_take *take, struct mst_error *err)
{
    const int64_t left = take->max_samples - take->spool.sample_count;
    if (take->reached == take->file_count || left <= 0) {
        take->too_long = take->reached < take->file_count;
        take->complete = 1;
        worker_stop(take->worker);
        take->worker = NULL;
        return MST_OK;
    }
    struct mst_take_file *file = &take->files[take->reached];
    enum mst_status status = open_plain_file(file->path, &take->file_fd, err);
    if (status == MST_OK)
        status = worker_begin(take->worker, take->file_fd, take->rate_hz, left, err);
    if (status == MST_OK)
        file->first_sample = take->spool.sample_count;
    return status;
}

static enum mst_status refuse_file(const struct mst_take_file *file, const struct wire_end *end,
                                   struct mst_error *err)
{
    static const char *const complaints[] = {
#define X(name, what) what,
        WIRE_OUTCOME_LIST(X)
#undef X
    };
    const enum mst_status status = end->outcome == WIRE_UNCONFINED    ? MST_UNSUPPORTED
                                   : end->outcome == WIRE_READ_FAILED ? MST_IO
                                                                      : MST_BAD_DATA;
    mst_fail(err, status, "“%s” %s", file->path, complaints[end->outcome]);
    if (err)
        snprintf(err->where, sizeof err->where, "%s", end->detail);
    return status;
}

static enum mst_status end_file(struct mst_take *take, struct wire_end *end, int died,
                                struct mst_error *err)
{
    struct mst_take_file *file = &take->files[take->reached];
    close(take->file_fd);
    take->file_fd = -1;
    file->damage_count = end->damage_count;
    if (end->damage_count > 0 && end->first_damage_sample >= 0 &&
        end->first_damage_sample <= file->sample_count)
        file->first_damage_sample = file->first_sample + end->first_damage_sample;
    file->source_sample_count = end->source_sample_count;
    file->gap_count = end->gap_count;
    file->gap_seconds = end->gap_seconds;
    file->peak = end->peak;
    if (end->all_sample_count > 0)
        file->clipped_fraction =
            fmin(1, fmax(0, (double)end->clipped_sample_count / (double)end->all_sample_count));
    if (end->mix_power_sum > 0 && end->channel_power_sum > 0)
        file->mix_gain_db = 10 * log10(end->mix_power_sum / end->channel_power_sum);
    else if (end->channel_power_sum > 0)
        file->mix_gain_db = -120;
    file->cut_short = end->cut_short || died;
    if (died) {
        file->damage_count++;
        if (file->first_damage_sample < 0)
            file->first_damage_sample = file->first_sample + file->sample_count;
        end->outcome = WIRE_BROKEN;
    }
    if (file->sample_count == 0 && end->outcome != WIRE_LIMIT)
        return refuse_file(file, end, err);
    take->reached++;
    if (end->outcome == WIRE_LIMIT) {
        take->too_long = 1;
        take->complete = 1;
    } else if (end->outcome != WIRE_DONE) {
        file->cut_short = 1;
    }
    return MST_OK;
}

/* Take one piece of news from the decoder. */
static enum mst_status advance(struct mst_take *take, struct mst_error *err)
{
    if (take->file_fd < 0)
        return begin_file(take, err);
    struct mst_take_file *file = &take->files[take->reached];
    struct worker_news news;
    enum mst_status status = worker_next(take->worker, &news, err);
    if (status != MST_OK)
        return status;
    switch (news.event) {
    case WORKER_FORMAT:
        memcpy(file->container, news.format.container, sizeof file->container);
        memcpy(file->codec, news.format.codec, sizeof file->codec);
        file->source_rate_hz = news.format.rate_hz;
        file->source_channels = news.format.channels;
        file->claimed_seconds = news.format.claimed_seconds;
        return MST_OK;
    case WORKER_SAMPLES:
        status = add_samples(take, news.samples, news.sample_count, err);
        file->sample_count += (int64_t)news.sample_count;
        return status;
    case WORKER_END:
        return end_file(take, &news.end, 0, err);
    case WORKER_DIED:
        return end_file(take, &news.end, 1, err);
    }
    return MST_OK;
}

/* Decode until sample_count samples are there, or all. */
static enum mst_status decode_to(struct mst_take *take, int64_t sample_count, struct mst_error *err)
{
    while (!take->complete && take->spool.sample_count < sample_count) {
        if (take->failed.status == MST_OK)
            advance(take, &take->failed);
        if (take->failed.status != MST_OK) {
            if (err)
                *err = take->failed;
            return take->failed.status;
        }
    }
    return MST_OK;
}

/* --- reading -------------------------------------------------------------------------- */

enum mst_status mst_take_read_at(struct mst_take *take, int64_t first_sample, float *samples,
                                 size_t max, size_t *got, struct mst_error *err)
{
    *got = 0;
    if (first_sample < 0)
        return mst_fail(err, MST_USAGE, "a recording begins at 0, not before");
    const int64_t end =
        (uint64_t)(INT64_MAX - first_sample) < max ? INT64_MAX : first_sample + (int64_t)max;
    enum mst_status status = decode_to(take, end, err);
    if (status != MST_OK)
        return status;
    return spool_read(&take->spool, first_sample, samples, max, got, err);
}

enum mst_status mst_take_read(struct mst_take *take, float *samples, size_t max, size_t *got,
                              struct mst_error *err)
{
    *got = 0;
    if (max == 0)
        return MST_OK;
    /* What is there is given at once; only with nothing at hand is there any waiting. */
    enum mst_status status = decode_to(take, take->next_sample + 1, err);
    if (status == MST_OK)
        status = spool_read(&take->spool, take->next_sample, samples, max, got, err);
    take->next_sample += (int64_t)*got;
    return status;
}

enum mst_status mst_take_read_all(struct mst_take *take, struct mst_error *err)
{
    return decode_to(take, INT64_MAX, err);
}

void mst_take_rewind(struct mst_take *take)
{
    take->next_sample = 0;
}

int64_t mst_take_sample_count(const struct mst_take *take)
{
    return take->spool.sample_count;
}

int mst_take_complete(const struct mst_take *take)
{
    return take->complete;
}

size_t mst_take_file_count(const struct mst_take *take)
{
    return take->file_count;
}

const struct mst_take_file *mst_take_file_at(const struct mst_take *take, size_t n)
{
    return n < take->file_count ? &take->files[n] : NULL;
}
