/*
 * The decoder's rooms, in the order in which sound passes through them:
 *
 *   source.c   one open file → packets of its one sound stream (libavformat)
 *   session.c  packets → frames (libavcodec), and everything counted on the way
 *   mix.c      frames of any sample type and channel count → one channel of float, and what only
 *              the source can tell: its peak, whether it is clipped, whether channels cancel
 *   rate.c     any rate → the one asked for (libswresample)
 *   out.c      → blocks on the pipe
 *
 * All of it runs inside the walls of confine.c. Nothing here opens anything.
 */
#ifndef TAKE_DECODE_H
#define TAKE_DECODE_H

#include "wire.h"

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>

/* --- out.c ------------------------------------------------------------------ */
struct out {
    int fd;
    int64_t sample_count;
    int64_t max_samples;
    size_t fill;
    float block[WIRE_BLOCK];
};
/* Each ends the process when nobody reads any more. */
void out_message(struct out *out, enum wire_kind kind, const void *body, uint32_t byte_count);
/* Returns how many were taken: fewer than count only at max_samples. */
size_t out_samples(struct out *out, const float *samples, size_t count);
void out_flush(struct out *out);

/* --- source.c ---------------------------------------------------------------- */
struct source {
    int fd;
    AVFormatContext *format;
    AVStream *stream;
    const AVCodec *codec;
    int64_t file_bytes;
    double claimed_seconds; /* < 0: the header says nothing that can be relied on */
    int read_failed;        /* the disk, not the file, is at fault */
    int end_missing;        /* its own structure shows that the end is lacking */
};
enum wire_outcome source_open(struct source *source, int fd);
/* What the container calls itself, at most 15 bytes. */
void source_name(const struct source *source, char name[16]);

/* --- mix.c --------------------------------------------------------------------- */
enum { MIX_LEVELS = 2048 * 5 / 4 }; /* amplitudes 0…1.25 in steps of 1/2048 */
struct mix {
    float *mono;
    size_t mono_cap;
    int64_t all_sample_count;
    double peak;
    double channel_power_sum, mix_power_sum;
    int64_t rising[MIX_LEVELS], falling[MIX_LEVELS]; /* how often each amplitude, + and - */
};
/* The mean of the frame's channels, nb_samples of them; NULL when memory ran out or the frame's
 * sample type is unknown. Valid until the next call. */
const float *mix_frame(struct mix *mix, const AVFrame *frame);
int64_t mix_clipped(const struct mix *mix);

/* --- rate.c -------------------------------------------------------------------- */
struct rate;
struct rate *rate_new(int from_hz, int to_hz);
void rate_free(struct rate *rate);
/* samples NULL = the end: give what is still inside. Returns 0, -1 when memory ran out, 1 when
 * out is full. */
int rate_push(struct rate *rate, const float *samples, size_t count, struct out *out);

/* --- session.c ------------------------------------------------------------------ */
/* Decode the file to the pipe at rate_hz, END message included. */
void session_run(int file_fd, int pipe_fd, int rate_hz, int64_t max_samples);
/* The last complaint of the decoding libraries. */
const char *session_complaint(void);

#endif
