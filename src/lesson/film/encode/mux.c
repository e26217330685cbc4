#include "mux.h"

#include "still.h"

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/audio_fifo.h>
#include <libavutil/opt.h>
#include <libswresample/swresample.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The codecs of each kind of file, and how they are set: films of a page that stands still for most
 * of the time want little, and are made while someone waits. */
static const struct profile {
    const char *muxer, *video, *audio;
    int rate_hz; /* of the sound; 0 = as it comes */
    int64_t audio_bit_rate;
    const char *video_options, *muxer_options;
} profiles[] = {
    [WIRE_MP4] = {"mp4", "libx264", "aac", 48000, 128000,
                  "preset=ultrafast:qp=20:x264-params=rc-lookahead=0\\:scenecut=0\\:no-deblock=1\\:"
                  "bframes=0\\:ref=1\\:weightp=0\\:cabac=0",
                  "movflags=+faststart"},
    [WIRE_WEBM] =
        {"webm", "libvpx-vp9", "libopus", 48000, 96000,
         "deadline=realtime:cpu-used=8:row-mt=1:tile-columns=2:crf=30:tune-content=screen", ""},
    [WIRE_FLAC] = {"flac", NULL, "flac", 0, 0, "", ""},
};

/* More than an encoder ever holds back. */
enum { UNFED_PICTURES = 256 };

struct mux {
    const struct profile *profile;
    AVFormatContext *file;
    AVCodecContext *video, *audio;
    AVStream *video_stream, *audio_stream;
    AVFrame *picture;
    AVPacket *packet;
    SwrContext *resampler;
    AVAudioFifo *waiting; /* sound that does not fill a frame yet */
    int64_t pictures, samples;
    struct still still;
    int64_t last_written;          /* the latest picture in the file */
    int64_t last_fed;              /* the latest picture that the encoder was shown */
    uint8_t unfed[UNFED_PICTURES]; /* by number, round and round: the one before it again */
    int begun;                     /* the header is written */
    char detail[160];
};

const char *mux_detail(const struct mux *mux)
{
    return mux->detail;
}

static int failed(struct mux *mux, const char *doing, int error)
{
    char words[96] = "";
    av_strerror(error, words, sizeof words);
    if (!mux->detail[0])
        snprintf(mux->detail, sizeof mux->detail, "%s: %s", doing, words);
    return error < 0 ? error : AVERROR_UNKNOWN;
}

/* --- opening ------------------------------------------------------------------------- */

static int open_video(struct mux *mux, const struct wire_open *open)
{
    const AVCodec *codec = avcodec_find_encoder_by_name(mux->profile->video);
    if (!codec)
        return failed(mux, mux->profile->video, AVERROR_ENCODER_NOT_FOUND);
    AVCodecContext *c = mux->video = avcodec_alloc_context3(codec);
    mux->video_stream = avformat_new_stream(mux->file, NULL);
    mux->picture = av_frame_alloc();
    if (!c || !mux->video_stream || !mux->picture)
        return failed(mux, "picture", AVERROR(ENOMEM));
    c->width = open->width;
    c->height = open->height;
    c->pix_fmt = AV_PIX_FMT_YUV420P;
    c->time_base = (AVRational){1, open->fps};
    c->framerate = (AVRational){open->fps, 1};
    /* whoever jumps waits for five seconds' pictures at most, of which every second may be unfed */
    c->gop_size = 5 * open->fps / 2;
    c->thread_count = 2;
    c->color_range = AVCOL_RANGE_MPEG;
    c->colorspace = AVCOL_SPC_BT709;
    c->color_primaries = AVCOL_PRI_BT709;
    c->color_trc = AVCOL_TRC_BT709;
    if (mux->file->oformat->flags & AVFMT_GLOBALHEADER)
        c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    int rc = av_set_options_string(c->priv_data, mux->profile->video_options, "=", ":");
    if (rc >= 0)
        rc = avcodec_open2(c, codec, NULL);
    if (rc >= 0)
        rc = avcodec_parameters_from_context(mux->video_stream->codecpar, c);
    if (rc >= 0 && c->codec_id == AV_CODEC_ID_H264)
        still_open(&mux->still, c->extradata, (size_t)c->extradata_size, c->width, c->height);
    mux->last_fed = mux->last_written = -1;
    mux->video_stream->time_base = c->time_base;
    mux->video_stream->avg_frame_rate = c->framerate;
    return rc < 0 ? failed(mux, mux->profile->video, rc) : 0;
}

static int open_audio(struct mux *mux, const struct wire_open *open)
{
    const AVCodec *codec = avcodec_find_encoder_by_name(mux->profile->audio);
    if (!codec)
        return failed(mux, mux->profile->audio, AVERROR_ENCODER_NOT_FOUND);
    AVCodecContext *c = mux->audio = avcodec_alloc_context3(codec);
    mux->audio_stream = avformat_new_stream(mux->file, NULL);
    if (!c || !mux->audio_stream)
        return failed(mux, "sound", AVERROR(ENOMEM));
    AVChannelLayout mono = AV_CHANNEL_LAYOUT_MONO;
    av_channel_layout_copy(&c->ch_layout, &mono);
    c->sample_rate = mux->profile->rate_hz ? mux->profile->rate_hz : open->rate_hz;
    c->sample_fmt = codec->sample_fmts[0];
    c->bit_rate = mux->profile->audio_bit_rate;
    c->time_base = (AVRational){1, c->sample_rate};
    if (mux->file->oformat->flags & AVFMT_GLOBALHEADER)
        c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    int rc = avcodec_open2(c, codec, NULL);
    if (rc >= 0)
        rc = avcodec_parameters_from_context(mux->audio_stream->codecpar, c);
    if (rc >= 0)
        rc = swr_alloc_set_opts2(&mux->resampler, &c->ch_layout, c->sample_fmt, c->sample_rate,
                                 &mono, AV_SAMPLE_FMT_FLT, open->rate_hz, 0, NULL);
    if (rc >= 0)
        rc = swr_init(mux->resampler);
    mux->audio_stream->time_base = c->time_base;
    mux->waiting = av_audio_fifo_alloc(c->sample_fmt, 1, c->sample_rate);
    if (rc >= 0 && !mux->waiting)
        rc = AVERROR(ENOMEM);
    return rc < 0 ? failed(mux, mux->profile->audio, rc) : 0;
}

static int add_chapters(struct mux *mux, const struct wire_chapter *chapters, int count)
{
    if (count == 0)
        return 0;
    mux->file->chapters = av_calloc((size_t)count, sizeof *mux->file->chapters);
    if (!mux->file->chapters)
        return failed(mux, "chapters", AVERROR(ENOMEM));
    for (int n = 0; n < count; n++) {
        AVChapter *chapter = av_mallocz(sizeof *chapter);
        if (!chapter)
            return failed(mux, "chapters", AVERROR(ENOMEM));
        chapter->id = n + 1;
        chapter->time_base = (AVRational){1, 1000};
        chapter->start = chapters[n].start_ms;
        chapter->end = chapters[n].end_ms;
        mux->file->chapters[n] = chapter;
        mux->file->nb_chapters = (unsigned)n + 1;
        if (av_dict_set(&chapter->metadata, "title", chapters[n].title, 0) < 0)
            return failed(mux, "chapters", AVERROR(ENOMEM));
    }
    return 0;
}

int mux_new(const char *path, const struct wire_open *open, const struct wire_chapter *chapters,
            struct mux **out)
{
    struct mux *mux = *out = calloc(1, sizeof *mux);
    AVDictionary *options = NULL;
    if (!mux)
        return AVERROR(ENOMEM);
    mux->profile = &profiles[open->format];
    av_log_set_level(AV_LOG_QUIET);
    mux->packet = av_packet_alloc();
    int rc = avformat_alloc_output_context2(&mux->file, NULL, mux->profile->muxer, path);
    if (rc < 0 || !mux->packet)
        return failed(mux, mux->profile->muxer, rc < 0 ? rc : AVERROR(ENOMEM));
    /* Nothing of the machine or the day: the same film gives the same bytes. */
    mux->file->flags |= AVFMT_FLAG_BITEXACT;
    if (open->title[0])
        av_dict_set(&mux->file->metadata, "title", open->title, 0);
    rc = mux->profile->video ? open_video(mux, open) : 0;
    if (rc >= 0)
        rc = open_audio(mux, open);
    if (rc >= 0)
        rc = add_chapters(mux, chapters, open->chapter_count);
    if (rc < 0)
        return rc;
    rc = avio_open(&mux->file->pb, path, AVIO_FLAG_WRITE);
    if (rc >= 0)
        rc = av_dict_parse_string(&options, mux->profile->muxer_options, "=", ":", 0);
    if (rc >= 0)
        rc = avformat_write_header(mux->file, &options);
    av_dict_free(&options);
    mux->begun = rc >= 0;
    return rc < 0 ? failed(mux, "opening the file", rc) : 0;
}

/* --- feeding --------------------------------------------------------------------------- */

static int write_packet(struct mux *mux, AVPacket *packet, const AVCodecContext *codec,
                        const AVStream *stream)
{
    packet->stream_index = stream->index;
    if (codec == mux->video && packet->duration == 0)
        packet->duration = 1;
    av_packet_rescale_ts(packet, codec->time_base, stream->time_base);
    return av_interleaved_write_frame(mux->file, packet);
}

/* A picture of the encoder's, and the one after it when that is the same. */
static int write_picture(struct mux *mux)
{
    uint8_t again[STILL_BYTES];
    int64_t next = mux->packet->pts + 1;
    mux->last_written = next - 1;
    int unfed = mux->unfed[next % UNFED_PICTURES];
    size_t len =
        unfed ? still_after(&mux->still, mux->packet->data, (size_t)mux->packet->size, again) : 0;
    int rc = unfed && len == 0 ? AVERROR_BUG
                               : write_packet(mux, mux->packet, mux->video, mux->video_stream);
    if (rc < 0 || !unfed)
        return rc;
    mux->unfed[next % UNFED_PICTURES] = 0;
    rc = av_new_packet(mux->packet, (int)len);
    if (rc < 0)
        return rc;
    memcpy(mux->packet->data, again, len);
    mux->packet->pts = mux->packet->dts = next;
    mux->packet->flags |= AV_PKT_FLAG_DISPOSABLE;
    return write_packet(mux, mux->packet, mux->video, mux->video_stream);
}

/* frame NULL: nothing more comes. */
static int feed(struct mux *mux, AVCodecContext *codec, AVStream *stream, AVFrame *frame)
{
    int rc = avcodec_send_frame(codec, frame);
    while (rc >= 0) {
        rc = avcodec_receive_packet(codec, mux->packet);
        if (rc == AVERROR(EAGAIN) || rc == AVERROR_EOF)
            return 0;
        if (rc < 0)
            break;
        rc = codec == mux->video ? write_picture(mux)
                                 : write_packet(mux, mux->packet, codec, stream);
    }
    return failed(mux, "writing", rc);
}

static int feed_sound(struct mux *mux, int everything)
{
    AVCodecContext *c = mux->audio;
    int whole = c->frame_size > 0 ? c->frame_size : 4096, rc = 0;
    while (rc >= 0 && (av_audio_fifo_size(mux->waiting) >= whole ||
                       (everything && av_audio_fifo_size(mux->waiting) > 0))) {
        AVFrame *frame = av_frame_alloc();
        if (!frame)
            return failed(mux, "sound", AVERROR(ENOMEM));
        int have = av_audio_fifo_size(mux->waiting);
        frame->nb_samples = have < whole ? have : whole;
        frame->format = c->sample_fmt;
        frame->sample_rate = c->sample_rate;
        av_channel_layout_copy(&frame->ch_layout, &c->ch_layout);
        rc = av_frame_get_buffer(frame, 0);
        if (rc >= 0)
            rc = av_audio_fifo_read(mux->waiting, (void **)frame->data, frame->nb_samples);
        frame->pts = mux->samples;
        mux->samples += frame->nb_samples;
        rc = rc < 0 ? failed(mux, "sound", rc) : feed(mux, c, mux->audio_stream, frame);
        av_frame_free(&frame);
    }
    return rc;
}

int mux_sound(struct mux *mux, const float *samples, int count)
{
    uint8_t *converted = NULL;
    const uint8_t *in[] = {(const uint8_t *)samples};
    int room = swr_get_out_samples(mux->resampler, count);
    int rc = room <= 0 ? 0 : av_samples_alloc(&converted, NULL, 1, room, mux->audio->sample_fmt, 0);
    if (rc >= 0 && room > 0)
        rc = swr_convert(mux->resampler, &converted, room, samples ? in : NULL, count);
    if (rc > 0)
        rc = av_audio_fifo_write(mux->waiting, (void **)&converted, rc);
    av_freep(&converted);
    return rc < 0 ? failed(mux, "sound", rc) : feed_sound(mux, 0);
}

size_t mux_picture_bytes(const struct mux *mux)
{
    return mux->video ? (size_t)mux->video->width * (size_t)mux->video->height * 3 / 2 : 0;
}

static int new_picture(struct mux *mux, const uint8_t *planes)
{
    AVFrame *p = mux->picture;
    av_frame_unref(p); /* the encoder may still hold the last one's buffer */
    p->width = mux->video->width;
    p->height = mux->video->height;
    p->format = AV_PIX_FMT_YUV420P;
    p->color_range = mux->video->color_range;
    p->colorspace = mux->video->colorspace;
    int rc = av_frame_get_buffer(p, 0);
    for (int plane = 0; plane < 3 && rc >= 0; plane++) {
        int width = plane ? p->width / 2 : p->width, height = plane ? p->height / 2 : p->height;
        for (int y = 0; y < height; y++, planes += width)
            memcpy(p->data[plane] + (ptrdiff_t)y * p->linesize[plane], planes, (size_t)width);
    }
    return rc < 0 ? failed(mux, "picture", rc) : 0;
}

int mux_picture(struct mux *mux, const uint8_t *planes, int repeat)
{
    int rc = planes ? new_picture(mux, planes) : 0;
    for (int n = 0; n < repeat && rc >= 0; n++) {
        int64_t number = mux->pictures++;
        int same = n > 0 || !planes;
        /* the encoder must still hold the one before, behind which this one goes */
        if (mux->still.possible && same && mux->last_fed == number - 1 &&
            mux->last_written < number - 1) {
            mux->unfed[number % UNFED_PICTURES] = 1;
            continue;
        }
        mux->picture->pts = mux->last_fed = number;
        rc = feed(mux, mux->video, mux->video_stream, mux->picture);
    }
    return rc;
}

int mux_end(struct mux *mux)
{
    int rc = mux_sound(mux, NULL, 0); /* what the resampler holds back */
    if (rc >= 0)
        rc = feed_sound(mux, 1);
    if (rc >= 0)
        rc = feed(mux, mux->audio, mux->audio_stream, NULL);
    if (rc >= 0 && mux->video)
        rc = feed(mux, mux->video, mux->video_stream, NULL);
    if (rc >= 0) {
        rc = av_write_trailer(mux->file);
        int closed = avio_closep(&mux->file->pb);
        if (rc < 0 || closed < 0)
            rc = failed(mux, "closing the file", rc < 0 ? rc : closed);
    }
    return rc;
}

void mux_free(struct mux *mux)
{
    if (!mux)
        return;
    avcodec_free_context(&mux->video);
    avcodec_free_context(&mux->audio);
    av_frame_free(&mux->picture);
    av_packet_free(&mux->packet);
    swr_free(&mux->resampler);
    if (mux->waiting)
        av_audio_fifo_free(mux->waiting);
    if (mux->file && mux->file->pb)
        avio_closep(&mux->file->pb);
    avformat_free_context(mux->file);
    free(mux);
}
