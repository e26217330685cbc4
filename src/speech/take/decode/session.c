#include "confine.h"
#include "decode.h"

#include <libavutil/log.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    MAX_FRAME_SAMPLES = 1 << 20, /* per channel and frame: no codec here comes near */
    MAX_CHANNELS = 64,
    FRUITLESS_READS = 64, /* packets in a row that cannot be read: the rest is lost */
};
static const int slowest_hz = 4000, fastest_hz = 768000;
static const double gap_s = 0.1;      /* a clock that jumps this far ahead has lost sound */
static const double near_end_s = 0.3; /* ends this close to the promise are no cut */

struct session {
    struct out out;
    struct source source;
    struct mix mix;
    struct wire_end end;
    struct rate *rate;
    int rate_hz; /* the file's */
    int out_hz;
    AVCodecContext *codec;
    AVFrame *frame;
    AVPacket *packet;
    double clock_s;       /* where the next frame belongs by the file's own clock; < 0 unknown */
    double source_s;      /* decoded so far */
    double first_clock_s; /* where the first frame lay */
    int last_is_damaged;  /* the packet decoded last */
    int ended;            /* the limit is reached, or memory ran out */
};

/* av_log() knows no other way to hand its lines on. */
static char complaint[sizeof((struct wire_end *)0)->detail];

static void keep_complaint(void *about, int level, const char *format, va_list args)
{
    (void)about;
    if (level > AV_LOG_ERROR)
        return;
    vsnprintf(complaint, sizeof complaint, format, args);
    for (char *c = complaint; *c; c++)
        if (*c < ' ' || *c > '~')
            *c = ' ';
}

const char *session_complaint(void)
{
    return complaint;
}

static void note_damage(struct session *s)
{
    if (s->end.damage_count == 0)
        s->end.first_damage_sample = s->out.sample_count;
    if (s->end.damage_count < INT32_MAX)
        s->end.damage_count++;
}

/* The file's own clock may run ahead of the sound it brings: a browser or phone dropped some. */
static void watch_clock(struct session *s)
{
    const AVFrame *frame = s->frame;
    const double lasts = (double)frame->nb_samples / frame->sample_rate;
    const int64_t stamp = frame->best_effort_timestamp;
    if (stamp != AV_NOPTS_VALUE) {
        double at = (double)stamp * av_q2d(s->source.stream->time_base);
        if (s->clock_s >= 0 && at - s->clock_s > gap_s && isfinite(at)) {
            s->end.gap_seconds += at - s->clock_s;
            s->end.gap_count++;
        }
        s->clock_s = at + lasts;
    } else if (s->clock_s >= 0) {
        s->clock_s += lasts;
    }
    s->source_s += lasts;
}

static void send_format(struct session *s)
{
    struct wire_format format = {.rate_hz = s->frame->sample_rate,
                                 .channels = s->frame->ch_layout.nb_channels,
                                 .claimed_seconds = s->source.claimed_seconds};
    source_name(&s->source, format.container);
    snprintf(format.codec, sizeof format.codec, "%s", avcodec_get_name(s->codec->codec_id));
    out_message(&s->out, WIRE_FORMAT, &format, sizeof format);
}

static int out_of_memory(struct session *s)
{
    s->end.outcome = WIRE_NO_MEMORY;
    s->ended = 1;
    return -1;
}

/* A new rate begins: at the first frame, and where the stream changes under way. */
static int follow_rate(struct session *s)
{
    if (s->rate && s->rate_hz == s->frame->sample_rate)
        return 0;
    if (s->rate)
        s->ended = rate_push(s->rate, NULL, 0, &s->out) != 0;
    else
        send_format(s);
    rate_free(s->rate);
    s->rate_hz = s->frame->sample_rate;
    s->rate = rate_new(s->rate_hz, s->out_hz);
    return s->rate ? 0 : out_of_memory(s);
}

static int take_frame(struct session *s)
{
    const AVFrame *frame = s->frame;
    if (frame->nb_samples < 1 || frame->nb_samples > MAX_FRAME_SAMPLES ||
        frame->ch_layout.nb_channels > MAX_CHANNELS) {
        note_damage(s);
        return 0;
    }
    if (frame->sample_rate < slowest_hz || frame->sample_rate > fastest_hz) {
        s->end.outcome = WIRE_BAD_RATE;
        s->ended = 1;
        return -1;
    }
    if (frame->decode_error_flags || (frame->flags & AV_FRAME_FLAG_CORRUPT))
        note_damage(s);
    if (follow_rate(s))
        return -1;
    watch_clock(s);
    s->end.source_sample_count += frame->nb_samples;
    const float *mono = mix_frame(&s->mix, frame);
    if (!mono)
        return out_of_memory(s);
    int rc = rate_push(s->rate, mono, (size_t)frame->nb_samples, &s->out);
    if (rc < 0)
        return out_of_memory(s);
    if (rc > 0) {
        s->end.outcome = WIRE_LIMIT;
        s->ended = 1;
    }
    return 0;
}

/* packet NULL = the end of the stream. */
static void decode(struct session *s, const AVPacket *packet)
{
    int rc = avcodec_send_packet(s->codec, packet);
    if (rc < 0 && rc != AVERROR_EOF)
        note_damage(s);
    while (!s->ended) {
        rc = avcodec_receive_frame(s->codec, s->frame);
        if (rc == AVERROR(EAGAIN) || rc == AVERROR_EOF)
            return;
        if (rc < 0) {
            note_damage(s);
            return;
        }
        take_frame(s);
        av_frame_unref(s->frame);
    }
}

static enum wire_outcome open_codec(struct session *s)
{
    s->codec = avcodec_alloc_context3(s->source.codec);
    s->frame = av_frame_alloc();
    s->packet = av_packet_alloc();
    if (!s->codec || !s->frame || !s->packet)
        return WIRE_NO_MEMORY;
    if (avcodec_parameters_to_context(s->codec, s->source.stream->codecpar) < 0)
        return WIRE_NO_MEMORY;
    s->codec->pkt_timebase = s->source.stream->time_base;
    s->codec->thread_count = 1;
    s->codec->max_samples = MAX_FRAME_SAMPLES;
    /* FLAC knows when it was damaged; a burst of wrong noise is worse than a missing frame. */
    if (s->codec->codec_id == AV_CODEC_ID_FLAC)
        s->codec->err_recognition = AV_EF_CRCCHECK | AV_EF_EXPLODE;
    int rc = avcodec_open2(s->codec, s->source.codec, NULL);
    if (rc < 0)
        return rc == AVERROR(ENOMEM) ? WIRE_NO_MEMORY : WIRE_BROKEN;
    return WIRE_DONE;
}

/* Until the stream ends; returns non-zero when it broke off instead. */
static int decode_stream(struct session *s)
{
    int fruitless = 0;
    while (!s->ended && fruitless < FRUITLESS_READS) {
        int rc = av_read_frame(s->source.format, s->packet);
        if (rc == AVERROR_EOF)
            return s->source.format->pb->error < 0 || s->source.read_failed;
        if (rc == AVERROR(ENOMEM)) {
            out_of_memory(s);
            return 1;
        }
        if (rc < 0) {
            fruitless++;
            continue;
        }
        fruitless = 0;
        if (s->packet->stream_index == s->source.stream->index) {
            const int32_t damage = s->end.damage_count;
            decode(s, s->packet);
            s->last_is_damaged = s->end.damage_count > damage;
        }
        av_packet_unref(s->packet);
    }
    return fruitless > 0;
}

/* Less sound than the header promised, a stream without its end, or half a packet there. */
static int is_cut_short(const struct session *s, int broke_off)
{
    const double missing = s->source.claimed_seconds - s->source_s - s->end.gap_seconds;
    if (s->end.outcome != WIRE_DONE)
        return 0;
    if (broke_off || s->source.end_missing || s->last_is_damaged)
        return 1;
    return s->source.claimed_seconds > 0 &&
           missing > fmax(near_end_s, 0.01 * s->source.claimed_seconds);
}

static void run(struct session *s, int file_fd)
{
    s->end.outcome = source_open(&s->source, file_fd);
    if (s->end.outcome == WIRE_DONE)
        s->end.outcome = open_codec(s);
    if (s->end.outcome != WIRE_DONE)
        return;
    int broke_off = decode_stream(s);
    if (!s->ended)
        decode(s, NULL);
    if (s->rate && !s->ended && rate_push(s->rate, NULL, 0, &s->out) > 0)
        s->end.outcome = WIRE_LIMIT;
    out_flush(&s->out);
    s->end.cut_short = is_cut_short(s, broke_off);
    if (s->out.sample_count == 0 && s->end.outcome == WIRE_DONE)
        s->end.outcome = s->end.damage_count > 0 || broke_off ? WIRE_BROKEN : WIRE_NO_SOUND;
}

void session_run(int file_fd, int pipe_fd, int rate_hz, int64_t max_samples)
{
    struct session *s = calloc(1, sizeof *s);
    if (!s)
        return;
    av_log_set_callback(keep_complaint);
    s->out.fd = pipe_fd;
    s->out.max_samples = max_samples;
    s->out_hz = rate_hz;
    s->clock_s = -1;
    s->end.first_damage_sample = -1;
    run(s, file_fd);
    s->end.clipped_sample_count = mix_clipped(&s->mix);
    s->end.all_sample_count = s->mix.all_sample_count;
    s->end.peak = s->mix.peak;
    s->end.channel_power_sum = s->mix.channel_power_sum;
    s->end.mix_power_sum = s->mix.mix_power_sum;
    memcpy(s->end.detail, complaint, sizeof s->end.detail);
    out_message(&s->out, WIRE_END, &s->end, sizeof s->end);
    /* The process ends here: its memory goes back as a whole. */
}
