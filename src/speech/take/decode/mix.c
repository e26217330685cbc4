#include "decode.h"

#include <math.h>
#include <stdlib.h>

/* One sample of channel ch at frame position n, as float; NaN and the like become 0. */
#define SAMPLE_READERS(X)                                                                          \
    X(U8, uint8_t, ((float)v - 128.0f) / 128.0f)                                                   \
    X(S16, int16_t, (float)v / 32768.0f)                                                           \
    X(S32, int32_t, (float)v / 2147483648.0f)                                                      \
    X(S64, int64_t, (float)((double)v / 9223372036854775808.0))                                    \
    X(FLT, float, v)                                                                               \
    X(DBL, double, (float)v)

static inline float usable(float x)
{
    return isfinite(x) ? fminf(fmaxf(x, -8.0f), 8.0f) : 0.0f;
}

static inline void count_level(struct mix *mix, float x)
{
    float at = fabsf(x) * 2048.0f;
    int level = at >= (float)(MIX_LEVELS - 1) ? MIX_LEVELS - 1 : (int)at;
    if (x >= 0)
        mix->rising[level]++;
    else
        mix->falling[level]++;
    if (fabsf(x) > mix->peak)
        mix->peak = fabsf(x);
}

/* X(type): sums one channel into mono, counting on the way. */
#define READER(fmt, type, expr)                                                                    \
    static void add_##fmt(struct mix *mix, const type *from, size_t step, size_t count)            \
    {                                                                                              \
        double power = 0;                                                                          \
        for (size_t n = 0; n < count; n++) {                                                       \
            const type v = from[n * step];                                                         \
            const float x = usable(expr);                                                          \
            count_level(mix, x);                                                                   \
            power += (double)x * (double)x;                                                        \
            mix->mono[n] += x;                                                                     \
        }                                                                                          \
        mix->channel_power_sum += power;                                                           \
    }
SAMPLE_READERS(READER)
#undef READER

static int add_channel(struct mix *mix, const AVFrame *frame, int channels, int ch)
{
    const enum AVSampleFormat format = (enum AVSampleFormat)frame->format;
    const int planar = av_sample_fmt_is_planar(format);
    const uint8_t *plane = frame->extended_data[planar ? ch : 0];
    const size_t step = planar ? 1 : (size_t)channels;
    const size_t first = planar ? 0 : (size_t)ch;
    const size_t count = (size_t)frame->nb_samples;
    if (!plane)
        return -1;
    switch (av_get_packed_sample_fmt(format)) {
#define CASE(fmt, type, expr)                                                                      \
    case AV_SAMPLE_FMT_##fmt:                                                                      \
        add_##fmt(mix, (const type *)plane + first, step, count);                                  \
        return 0;
        SAMPLE_READERS(CASE)
#undef CASE
    default:
        return -1;
    }
}

const float *mix_frame(struct mix *mix, const AVFrame *frame)
{
    const size_t count = (size_t)frame->nb_samples;
    const int channels = frame->ch_layout.nb_channels;
    if (channels < 1)
        return NULL;
    if (count > mix->mono_cap) {
        float *bigger = realloc(mix->mono, count * sizeof(float));
        if (!bigger)
            return NULL;
        mix->mono = bigger;
        mix->mono_cap = count;
    }
    for (size_t n = 0; n < count; n++)
        mix->mono[n] = 0;
    const double before = mix->channel_power_sum;
    for (int ch = 0; ch < channels; ch++)
        if (add_channel(mix, frame, channels, ch))
            return NULL;
    mix->channel_power_sum = before + (mix->channel_power_sum - before) / channels;
    const float share = 1.0f / (float)channels;
    for (size_t n = 0; n < count; n++) {
        mix->mono[n] *= share;
        mix->mix_power_sum += (double)mix->mono[n] * (double)mix->mono[n];
    }
    mix->all_sample_count += (int64_t)count * channels;
    return mix->mono;
}

/*
 * Sound that was cut off piles up at one amplitude, the ceiling: the topmost
 * half per cent of the range holds many times what the steps just below it
 * hold. An uncut voice thins out towards its peak; a pure sine piles up too,
 * but only threefold. A ceiling below full scale (a recorder that clips, then
 * a player that turns it down) shows in the same way.
 */
static int64_t piled_up(const int64_t levels[MIX_LEVELS])
{
    int top = MIX_LEVELS - 1;
    while (top > 0 && levels[top] == 0)
        top--;
    const int width = top / 256 + 1; /* the pile, and each of the steps below it */
    if (top < 8 * width)
        return 0;
    int64_t pile = 0, below = 0;
    for (int n = 0; n < width; n++)
        pile += levels[top - n];
    for (int n = width; n < 4 * width; n++)
        below += levels[top - n];
    return pile >= 32 && (double)pile >= 5.0 * (double)below / 3.0 ? pile : 0;
}

/* A lossy coder smears the pile, part of it to above full scale, where an uncut voice hardly ever
 * gets. */
static int64_t above_full_scale(const int64_t levels[MIX_LEVELS])
{
    int64_t above = 0;
    for (int n = 2048 + 8; n < MIX_LEVELS; n++)
        above += levels[n];
    return above;
}

int64_t mix_clipped(const struct mix *mix)
{
    int64_t piled = piled_up(mix->rising) + piled_up(mix->falling);
    int64_t above = above_full_scale(mix->rising) + above_full_scale(mix->falling);
    return piled > above ? piled : above;
}
