#include "take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COPY_SAMPLES = 8192 };

/* --- WAV: 16 bit, one channel (the RIFF form of Microsoft and IBM, 1991) ----------- */

static void put16(unsigned char *at, unsigned v)
{
    at[0] = (unsigned char)v;
    at[1] = (unsigned char)(v >> 8);
}

static void put32(unsigned char *at, uint32_t v)
{
    put16(at, v & 0xffff);
    put16(at + 2, v >> 16);
}

enum { WAV_HEAD = 44, BLOCK = 1024 };

static enum mst_status wav_head(unsigned char head[WAV_HEAD], int64_t sample_count, int32_t rate_hz,
                                struct mst_error *err)
{
    if (sample_count > (INT32_MAX - 64) / 2)
        return mst_fail(err, MST_USAGE, "the stretch would be too long for a WAV file");
    const uint32_t data = (uint32_t)sample_count * 2;
    memcpy(head, "RIFF    WAVEfmt ", 16);
    put32(head + 4, 36 + data);
    put32(head + 16, 16);
    put16(head + 20, 1); /* plain PCM */
    put16(head + 22, 1);
    put32(head + 24, (uint32_t)rate_hz);
    put32(head + 28, (uint32_t)rate_hz * 2);
    put16(head + 32, 2);
    put16(head + 34, 16);
    memcpy(head + 36, "data", 4);
    put32(head + 40, data);
    return MST_OK;
}

static void wav_samples(const float *samples, size_t count, unsigned char *bytes)
{
    for (size_t i = 0; i < count; i++) {
        float x = isfinite(samples[i]) ? samples[i] * 32768.0f : 0;
        long v = lrintf(fminf(fmaxf(x, -32768.0f), 32767.0f));
        put16(bytes + 2 * i, (unsigned)v & 0xffff);
    }
}

static enum mst_status wav_begin(const char *path, int64_t sample_count, int32_t rate_hz,
                                 struct mst_outfile **out, struct mst_error *err)
{
    unsigned char head[WAV_HEAD];
    enum mst_status status = wav_head(head, sample_count, rate_hz, err);
    if (status == MST_OK)
        status = mst_outfile_open(path, out, err);
    if (status == MST_OK)
        mst_outfile_write(*out, head, sizeof head);
    return status;
}

static void wav_add(struct mst_outfile *out, const float *samples, size_t count)
{
    unsigned char bytes[2 * BLOCK];
    while (count > 0) {
        size_t n = count < BLOCK ? count : BLOCK;
        wav_samples(samples, n, bytes);
        mst_outfile_write(out, bytes, 2 * n);
        samples += n;
        count -= n;
    }
}

enum mst_status mst_wav_write(const char *path, const float *samples, size_t sample_count,
                              int32_t rate_hz, struct mst_error *err)
{
    struct mst_outfile *out = NULL;
    enum mst_status status = wav_begin(
        path, sample_count > INT32_MAX ? INT32_MAX : (int64_t)sample_count, rate_hz, &out, err);
    if (status != MST_OK)
        return status;
    wav_add(out, samples, sample_count);
    return mst_outfile_commit(out, err);
}

/* --- stretches --------------------------------------------------------------------- */

/* [start_ms, end_ms) in samples, decoded, and cut where the take ends. */
static enum mst_status find_stretch(struct mst_take *take, double start_ms, double end_ms,
                                    int64_t *first, int64_t *end, struct mst_error *err)
{
    if (!(start_ms >= 0) || !(end_ms > start_ms) || end_ms > 1e12)
        return mst_fail(err, MST_USAGE,
                        "a stretch runs from a beginning to a later end; asked: %.0f to %.0f ms",
                        start_ms, end_ms);
    float probe;
    size_t got;
    *first = mst_take_sample_at_ms(start_ms);
    *end = mst_take_sample_at_ms(end_ms);
    enum mst_status status = mst_take_read_at(take, *end, &probe, 1, &got, err);
    if (status != MST_OK)
        return status;
    if (*end > mst_take_sample_count(take))
        *end = mst_take_sample_count(take);
    if (*end <= *first)
        return mst_fail(err, MST_USAGE, "the recording lasts %.0f ms; nothing lies at %.0f ms",
                        mst_take_ms_at_sample(mst_take_sample_count(take)), start_ms);
    return MST_OK;
}

enum mst_status mst_take_clip(struct mst_take *take, double start_ms, double end_ms,
                              const char *path, struct mst_error *err)
{
    int64_t first, end;
    struct mst_outfile *out = NULL;
    enum mst_status status = find_stretch(take, start_ms, end_ms, &first, &end, err);
    if (status == MST_OK)
        status = wav_begin(path, end - first, take->rate_hz, &out, err);
    if (status != MST_OK)
        return status;
    float samples[COPY_SAMPLES];
    while (first < end) {
        size_t want = end - first < COPY_SAMPLES ? (size_t)(end - first) : COPY_SAMPLES;
        size_t got = 0;
        status = mst_take_read_at(take, first, samples, want, &got, err);
        if (status == MST_OK && got < want)
            status = mst_fail(err, MST_IO,
                              "the working copy of the recording is shorter than it "
                              "was");
        if (status != MST_OK) {
            mst_outfile_abort(out);
            return status;
        }
        wav_add(out, samples, got);
        first += (int64_t)got;
    }
    return mst_outfile_commit(out, err);
}

enum mst_status mst_take_outline(struct mst_take *take, double start_ms, double end_ms,
                                 size_t column_count, float *lowest, float *highest,
                                 struct mst_error *err)
{
    int64_t first, end;
    if (column_count == 0)
        return MST_OK;
    enum mst_status status = find_stretch(take, start_ms, end_ms, &first, &end, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < column_count; n++)
        lowest[n] = highest[n] = 0;
    /* Columns share the stretch asked for, so that what lies beyond the end stays empty. */
    const double per_sample =
        (double)column_count / (double)(mst_take_sample_at_ms(end_ms) - first);
    float samples[COPY_SAMPLES];
    size_t filled = 0; /* columns that have a sample already */
    for (int64_t at = first; at < end;) {
        size_t want = end - at < COPY_SAMPLES ? (size_t)(end - at) : COPY_SAMPLES;
        size_t got = 0;
        status = mst_take_read_at(take, at, samples, want, &got, err);
        if (status != MST_OK || got == 0)
            return status;
        for (size_t i = 0; i < got; i++) {
            const double place = (double)(at - first + (int64_t)i) * per_sample;
            size_t column = (size_t)place, past = (size_t)(place + per_sample);
            if (column >= column_count)
                column = column_count - 1;
            if (column < filled) {
                lowest[column] = fminf(lowest[column], samples[i]);
                highest[column] = fmaxf(highest[column], samples[i]);
            }
            /* Where columns are finer than samples, one sample fills several. */
            for (; filled <= column || (filled < past && filled < column_count); filled++)
                lowest[filled] = highest[filled] = samples[i];
        }
        at += (int64_t)got;
    }
    return MST_OK;
}

enum mst_status mst_take_clip_bytes(struct mst_take *take, double start_ms, double end_ms,
                                    struct mst_string *out, struct mst_error *err)
{
    int64_t first, end;
    unsigned char head[WAV_HEAD], bytes[2 * BLOCK];
    float samples[BLOCK];
    enum mst_status status = find_stretch(take, start_ms, end_ms, &first, &end, err);
    if (status == MST_OK)
        status = wav_head(head, end - first, take->rate_hz, err);
    if (status == MST_OK)
        mst_string_add(out, (const char *)head, sizeof head);
    while (status == MST_OK && first < end) {
        size_t want = end - first < BLOCK ? (size_t)(end - first) : BLOCK, got = 0;
        status = mst_take_read_at(take, first, samples, want, &got, err);
        if (status == MST_OK && got < want)
            status =
                mst_fail(err, MST_IO, "the working copy of the recording is shorter than it was");
        wav_samples(samples, got, bytes);
        mst_string_add(out, (const char *)bytes, 2 * got);
        first += (int64_t)got;
    }
    return status == MST_OK && out->failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out")
                                           : status;
}
