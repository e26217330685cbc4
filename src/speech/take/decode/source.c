#include "decode.h"

#include <errno.h>
#include <libavutil/avstring.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

/*
 * What may be decoded. Containers and codecs that a phone, a recorder, a
 * browser or a camera of the last decades writes; nothing that reads other
 * files (play lists, edit scripts) and nothing else.
 */
static const char *const containers =
    "wav,w64,aiff,au,caf,mp3,aac,flac,ogg,matroska,mov,amr,avi,mpegts,mpeg,asf,flv";
static const char *const codecs =
    "mp1,mp1float,mp2,mp2float,mp3,mp3float,aac,aac_latm,opus,vorbis,flac,alac,amrnb,amrwb,ac3,"
    "eac3,wmav1,"
    "wmav2,wmapro,wmalossless,pcm_u8,pcm_s8,pcm_s16le,pcm_s16be,pcm_s24le,pcm_s24be,pcm_s32le,"
    "pcm_s32be,pcm_f32le,pcm_f32be,pcm_f64le,pcm_f64be,pcm_alaw,pcm_mulaw,pcm_dvd,pcm_bluray,"
    "adpcm_ima_wav,adpcm_ima_qt,adpcm_ms,gsm,gsm_ms";

enum { INPUT_BUFFER = 32768, SURE_ENOUGH = 5, MAX_STREAMS = 64 };

static int read_file(void *opaque, uint8_t *to, int len)
{
    struct source *source = opaque;
    ssize_t n;
    do
        n = read(source->fd, to, (size_t)len);
    while (n < 0 && errno == EINTR);
    if (n < 0)
        source->read_failed = 1;
    return n > 0 ? (int)n : n == 0 ? AVERROR_EOF : AVERROR(EIO);
}

static int64_t seek_file(void *opaque, int64_t to, int whence)
{
    struct source *source = opaque;
    if (whence & AVSEEK_SIZE)
        return source->file_bytes;
    off_t at = lseek(source->fd, to, whence & ~AVSEEK_FORCE);
    return at < 0 ? AVERROR(errno) : at;
}

/* A file that names another file gets this answer. */
static int refuse_other_files(AVFormatContext *format, AVIOContext **pb, const char *url, int flags,
                              AVDictionary **options)
{
    (void)format;
    (void)url;
    (void)flags;
    (void)options;
    *pb = NULL;
    return AVERROR(EPERM);
}

static uint32_t big_endian(const unsigned char *b)
{
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

/* MP4 keeps its index in one box, often the last; a copy that broke off lost it. */
static int mp4_lost_its_index(int fd, int64_t file_bytes)
{
    int64_t at = 0;
    for (int boxes = 0; boxes < 4096 && at + 8 <= file_bytes; boxes++) {
        unsigned char head[16];
        if (lseek(fd, at, SEEK_SET) < 0)
            return 0;
        ssize_t n = read(fd, head, sizeof head);
        if (n < 8)
            return 0;
        int64_t size = big_endian(head);
        if (size == 1 && n == 16)
            size = (int64_t)big_endian(head + 8) << 32 | big_endian(head + 12);
        if (memcmp(head + 4, "moov", 4) == 0)
            return size > file_bytes - at;
        if (size == 0)
            return 1;
        if (size < 8 || at > INT64_MAX - size)
            return 0;
        at += size;
    }
    return 1;
}

static uint32_t little_endian(const unsigned char *b)
{
    return (uint32_t)b[3] << 24 | (uint32_t)b[2] << 16 | (uint32_t)b[1] << 8 | b[0];
}

/*
 * WAV and AVI say how long they are, WAV its data as well; zero or all ones is
 * what a recorder writes that did not know.
 */
static int riff_cut_short(int fd, int64_t file_bytes)
{
    unsigned char head[8];
    int64_t at = 0;
    for (int chunks = 0; chunks < 4096 && at + 8 <= file_bytes; chunks++) {
        if (lseek(fd, at, SEEK_SET) < 0 || read(fd, head, sizeof head) != (ssize_t)sizeof head)
            return 0;
        const uint32_t size = little_endian(head + 4);
        const int whole = memcmp(head, "RIFF", 4) == 0;
        if (whole || memcmp(head, "data", 4) == 0) {
            if (size != 0 && size != UINT32_MAX && at + 8 + size > file_bytes)
                return 1;
            if (!whole)
                return 0;
        }
        at += at == 0 ? 12 : 8 + (int64_t)size + (size & 1);
    }
    return 0;
}

/* Ogg marks the last page of a stream; a copy that broke off has no such page at its end. */
static int ogg_end_mark_missing(int fd, int64_t file_bytes)
{
    enum { TAIL = 65536 + 512 };
    static unsigned char tail[TAIL];
    int64_t from = file_bytes > TAIL ? file_bytes - TAIL : 0;
    if (lseek(fd, from, SEEK_SET) < 0)
        return 0;
    size_t have = 0;
    for (ssize_t n; have < TAIL && (n = read(fd, tail + have, TAIL - have)) > 0;)
        have += (size_t)n;
    for (size_t at = have; at-- > 0;)
        if (have - at >= 27 && memcmp(tail + at, "OggS", 4) == 0)
            return !(tail[at + 5] & 4);
    return 1;
}

/* The header's promise, where it is one and not a guess from bytes and bit rate. */
static double claimed_seconds(const struct source *source)
{
    const AVFormatContext *format = source->format;
    if (format->duration_estimation_method == AVFMT_DURATION_FROM_BITRATE)
        return -1;
    if (source->stream->duration != AV_NOPTS_VALUE && source->stream->duration > 0)
        return (double)source->stream->duration * av_q2d(source->stream->time_base);
    if (format->duration != AV_NOPTS_VALUE && format->duration > 0)
        return (double)format->duration / AV_TIME_BASE;
    return -1;
}

static enum wire_outcome recognise(struct source *source, const AVInputFormat **input)
{
    int score = av_probe_input_buffer2(source->format->pb, input, "", NULL, 0, 0);
    if (source->read_failed)
        return WIRE_READ_FAILED;
    if (score == AVERROR(ENOMEM))
        return WIRE_NO_MEMORY;
    if (score < SURE_ENOUGH || !av_match_list((*input)->name, containers, ','))
        return WIRE_NOT_SOUND;
    return WIRE_DONE;
}

static enum wire_outcome choose_stream(struct source *source)
{
    AVFormatContext *format = source->format;
    int best = av_find_best_stream(format, AVMEDIA_TYPE_AUDIO, -1, -1, NULL, 0);
    if (best < 0)
        return WIRE_NO_SOUND;
    source->stream = format->streams[best];
    for (unsigned n = 0; n < format->nb_streams; n++)
        format->streams[n]->discard = n == (unsigned)best ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
    source->codec = avcodec_find_decoder(source->stream->codecpar->codec_id);
    if (!source->codec || !av_match_list(source->codec->name, codecs, ','))
        return WIRE_NO_CODEC;
    return WIRE_DONE;
}

enum wire_outcome source_open(struct source *source, int fd)
{
    memset(source, 0, sizeof *source);
    source->fd = fd;
    source->claimed_seconds = -1;
    source->file_bytes = lseek(fd, 0, SEEK_END);
    if (source->file_bytes < 0 || lseek(fd, 0, SEEK_SET) < 0)
        return WIRE_READ_FAILED;
    source->format = avformat_alloc_context();
    unsigned char *buffer = av_malloc(INPUT_BUFFER);
    if (!source->format || !buffer)
        return WIRE_NO_MEMORY;
    AVFormatContext *format = source->format;
    format->pb = avio_alloc_context(buffer, INPUT_BUFFER, 0, source, read_file, NULL, seek_file);
    if (!format->pb)
        return WIRE_NO_MEMORY;
    format->flags |= AVFMT_FLAG_CUSTOM_IO;
    format->io_open = refuse_other_files;
    format->max_streams = MAX_STREAMS;
    format->format_whitelist = av_strdup(containers);
    format->codec_whitelist = av_strdup(codecs);
    format->protocol_whitelist = av_strdup("none");
    if (!format->format_whitelist || !format->codec_whitelist || !format->protocol_whitelist)
        return WIRE_NO_MEMORY;

    const AVInputFormat *input = NULL;
    enum wire_outcome outcome = recognise(source, &input);
    if (outcome != WIRE_DONE)
        return outcome;
    int rc = avformat_open_input(&source->format, "", input, NULL);
    if (rc < 0) {
        if (source->read_failed)
            return WIRE_READ_FAILED;
        if (strstr(input->name, "mp4") && mp4_lost_its_index(fd, source->file_bytes))
            return WIRE_NO_INDEX;
        return rc == AVERROR(ENOMEM) ? WIRE_NO_MEMORY : WIRE_BROKEN;
    }
    rc = avformat_find_stream_info(source->format, NULL);
    if (rc == AVERROR(ENOMEM))
        return WIRE_NO_MEMORY;
    outcome = choose_stream(source);
    if (outcome == WIRE_NO_SOUND && strstr(input->name, "mp4") &&
        mp4_lost_its_index(fd, source->file_bytes))
        return WIRE_NO_INDEX; /* it broke off inside the index */
    if (outcome != WIRE_DONE)
        return outcome;
    source->claimed_seconds = claimed_seconds(source);
    const int64_t here = lseek(fd, 0, SEEK_CUR);
    if (strcmp(input->name, "ogg") == 0)
        source->end_missing = ogg_end_mark_missing(fd, source->file_bytes);
    else if (strcmp(input->name, "wav") == 0 || strcmp(input->name, "avi") == 0)
        source->end_missing = riff_cut_short(fd, source->file_bytes);
    if (here < 0 || lseek(fd, here, SEEK_SET) < 0)
        return WIRE_READ_FAILED;
    return WIRE_DONE;
}

void source_name(const struct source *source, char name[16])
{
    size_t len = strcspn(source->format->iformat->name, ",");
    if (len > 15)
        len = 15;
    memset(name, 0, 16);
    memcpy(name, source->format->iformat->name, len);
}
