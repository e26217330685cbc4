#include "decode.h"

#include <libavutil/channel_layout.h>
#include <libavutil/opt.h>
#include <libswresample/swresample.h>
#include <stdlib.h>

enum { RATE_OUT = 4096, RATE_IN = 8192 };

struct rate {
    SwrContext *swr; /* NULL: nothing to do */
    float out[RATE_OUT];
};

struct rate *rate_new(int from_hz, int to_hz)
{
    struct rate *rate = calloc(1, sizeof *rate);
    if (!rate || from_hz == to_hz)
        return rate;
    AVChannelLayout mono = AV_CHANNEL_LAYOUT_MONO;
    if (swr_alloc_set_opts2(&rate->swr, &mono, AV_SAMPLE_FMT_FLT, to_hz, &mono, AV_SAMPLE_FMT_FLT,
                            from_hz, 0, NULL) < 0)
        goto fail;
    /* At 16 kHz: pass 7.7 kHz whole, and be 70 dB down where it would fold back upon sound. */
    av_opt_set_int(rate->swr, "filter_size", 64, 0);
    av_opt_set_double(rate->swr, "cutoff", 0.97, 0);
    av_opt_set_int(rate->swr, "exact_rational", 1, 0);
    if (swr_init(rate->swr) < 0)
        goto fail;
    return rate;
fail:
    rate_free(rate);
    return NULL;
}

void rate_free(struct rate *rate)
{
    if (!rate)
        return;
    swr_free(&rate->swr);
    free(rate);
}

/* Convert one piece, then drain what the output buffer had no room for. */
static int convert(struct rate *rate, const float *samples, int count, struct out *out)
{
    const uint8_t *in[1] = {(const uint8_t *)samples};
    uint8_t *to[1] = {(uint8_t *)rate->out};
    int n = swr_convert(rate->swr, to, RATE_OUT, samples ? in : NULL, count);
    while (n > 0) {
        if (out_samples(out, rate->out, (size_t)n) < (size_t)n)
            return 1;
        if (n < RATE_OUT)
            return 0;
        n = swr_convert(rate->swr, to, RATE_OUT, samples ? in : NULL, 0);
    }
    return n < 0 ? -1 : 0;
}

int rate_push(struct rate *rate, const float *samples, size_t count, struct out *out)
{
    if (!rate->swr)
        return samples && out_samples(out, samples, count) < count ? 1 : 0;
    if (!samples)
        return convert(rate, NULL, 0, out);
    for (size_t at = 0; at < count; at += RATE_IN) {
        size_t n = count - at < RATE_IN ? count - at : RATE_IN;
        int rc = convert(rate, samples + at, (int)n, out);
        if (rc)
            return rc;
    }
    return 0;
}
