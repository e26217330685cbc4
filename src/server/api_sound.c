/* api_sound.c – the sound of a take to hear and to look at: the file, the waveform, the spectrum.
 */
#include "desk.h"

#include <cairo.h>
#include <fcntl.h>
#include <math.h>
#include <mistara/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { COLUMNS_MOST = 8000, WIDTH_MOST = 4000, SPECTRUM_MS_MOST = 600000 };

/* What the file is, by its first bytes: only for players; it is decoded by what it really holds. */
static const char *sound_kind(const char *path)
{
    static const struct {
        size_t off;
        const char *bytes;
        size_t len;
        const char *type;
    } kinds[] = {{0, "OggS", 4, "audio/ogg"},      {0, "RIFF", 4, "audio/wav"},
                 {0, "fLaC", 4, "audio/flac"},     {0, "ID3", 3, "audio/mpeg"},
                 {4, "ftyp", 4, "audio/mp4"},      {0, "\x1a\x45\xdf\xa3", 4, "audio/webm"},
                 {0, "\xff\xfb", 2, "audio/mpeg"}, {0, "\xff\xf3", 2, "audio/mpeg"},
                 {0, "\xff\xf2", 2, "audio/mpeg"}, {0, "\xff\xf1", 2, "audio/aac"},
                 {0, "\xff\xf9", 2, "audio/aac"}};
    char head[16] = "";
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    ssize_t got = fd >= 0 ? read(fd, head, sizeof head) : -1;
    if (fd >= 0)
        close(fd);
    for (size_t n = 0; n < sizeof kinds / sizeof kinds[0]; n++)
        if (got >= (ssize_t)(kinds[n].off + kinds[n].len) &&
            memcmp(head + kinds[n].off, kinds[n].bytes, kinds[n].len) == 0)
            return kinds[n].type;
    return "application/octet-stream";
}

enum mst_status sound_keep(struct request *rq, char hash[MST_HASH_HEX_SIZE], int64_t *bytes,
                           const char **type, struct mst_error *err)
{
    struct mst_incoming *incoming = rq->incoming;
    rq->incoming = NULL;
    enum mst_status status = mst_store_incoming_keep(incoming, hash, bytes, err);
    if (status != MST_OK)
        return status;
    const char *path = mst_store_sound_path(rq->desk->store, hash, rq->arena);
    *type = path ? sound_kind(path) : NULL;
    return path ? MST_OK : no_memory(err);
}

/* "bytes=0-", "bytes=100-199", "bytes=-500". 1: a part of it; 0: the whole; -1: no such part. */
static int range_read(const char *text, int64_t size, int64_t *first, int64_t *last)
{
    char *end;
    *first = 0;
    *last = size - 1;
    if (!text || strncmp(text, "bytes=", 6) != 0 || strchr(text, ','))
        return 0;
    text += 6;
    if (*text == '-') {
        long long tail = strtoll(text + 1, &end, 10);
        if (*end || end == text + 1 || tail < 0)
            return 0;
        *first = tail < size ? size - tail : 0;
        return tail > 0 && size > 0 ? 1 : -1;
    }
    long long from = strtoll(text, &end, 10), to = size - 1;
    if (end == text || *end != '-' || from < 0)
        return 0;
    if (end[1]) {
        const char *second = end + 1;
        to = strtoll(second, &end, 10);
        if (end == second || *end || to < from)
            return 0;
    }
    *first = from;
    *last = to < size - 1 ? to : size - 1;
    return from < size ? 1 : -1;
}

enum mst_status sound_reply(struct request *rq, const char *hash, const char *type,
                            struct mst_error *err)
{
    struct stat st;
    int64_t first, last;
    const char *path = mst_store_sound_path(rq->desk->store, hash, rq->arena);
    int fd = path ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    if (fd < 0 || fstat(fd, &st) != 0) {
        if (fd >= 0)
            close(fd);
        return mst_fail(err, MST_IO, "the sound of this take cannot be read");
    }
    const char *asked = MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Range");
    int part = range_read(asked, st.st_size, &first, &last);
    reply_header(rq, "Accept-Ranges", "bytes");
    reply_header(rq, "Cache-Control", "private, max-age=3600");
    if (part < 0) {
        close(fd);
        reply_header(rq, "Content-Range",
                     mst_arena_printf(rq->arena, "bytes */%lld", (long long)st.st_size));
        return reply_error(rq, 416, "range", "the sound has %lld bytes", (long long)st.st_size);
    }
    rq->reply.fd = fd;
    rq->reply.fd_offset = (uint64_t)first;
    rq->reply.fd_bytes = (uint64_t)(last - first + 1);
    rq->reply.type = type;
    if (part) {
        rq->reply.status = 206;
        reply_header(rq, "Content-Range",
                     mst_arena_printf(rq->arena, "bytes %lld-%lld/%lld", (long long)first,
                                      (long long)last, (long long)st.st_size));
    }
    return MST_OK;
}

enum mst_status get_take_audio(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status =
        mst_store_take_get(rq->desk->store, rq->args[0], rq->arena, &take, err);
    return status == MST_OK ? sound_reply(rq, take.hash, take.type, err) : status;
}

/* The take decoded, and the stretch asked for, cut to what there is. */
static enum mst_status stretch(struct request *rq, struct mst_take **out, double *start,
                               double *end, double *seconds, struct mst_error *err)
{
    struct mst_kept_take kept;
    *start = 0;
    *end = 6 * 3600 * 1000.0;
    *out = NULL;
    enum mst_status status = param_real(rq, "start_ms", 0, *end, start, err);
    if (status == MST_OK)
        status = param_real(rq, "end_ms", 0, *end, end, err);
    if (status == MST_OK)
        status = mst_store_take_get(rq->desk->store, rq->args[0], rq->arena, &kept, err);
    if (status == MST_OK)
        status = sound_borrow(rq->desk, &kept, out, err);
    if (status != MST_OK)
        return status;
    double whole = mst_take_ms_at_sample(mst_take_sample_count(*out));
    *seconds = whole / 1000;
    if (kept.seconds <= 0) {
        /* Its first look tells how long it is; it need not be listened to for that. */
        struct mst_error trouble;
        if (mst_store_take_measured(rq->desk->store, kept.id, *seconds, &trouble) == MST_OK)
            take_say(rq->desk, kept.id);
        else
            log_event(rq->desk, "trouble", "%s", trouble.message);
    }
    *end = *end < whole ? *end : whole;
    if (*start >= *end) {
        sound_give_back(rq->desk, *out);
        *out = NULL;
        return mst_fail(err, MST_USAGE, "the take is %.0f ms long; start_ms comes before end_ms",
                        whole);
    }
    return MST_OK;
}

static void levels(struct mst_string *s, const char *key, const float *values, int count)
{
    js_open(s, key, '[');
    for (int n = 0; n < count; n++) {
        float v = values[n] < -1 ? -1 : values[n] > 1 ? 1 : values[n];
        js_integer(s, NULL, lrintf(127 * v));
    }
    js_close(s, ']');
}

enum mst_status get_take_peaks(struct request *rq, struct mst_error *err)
{
    struct mst_take *take;
    double start, end, seconds;
    int columns = 1200;
    enum mst_status status = param_int(rq, "columns", 1, COLUMNS_MOST, &columns, err);
    if (status == MST_OK)
        status = stretch(rq, &take, &start, &end, &seconds, err);
    if (status != MST_OK)
        return status;
    float *low = mst_arena_alloc(rq->arena, (size_t)columns, sizeof *low);
    float *high = mst_arena_alloc(rq->arena, (size_t)columns, sizeof *high);
    status = low && high ? mst_take_outline(take, start, end, (size_t)columns, low, high, err)
                         : no_memory(err);
    sound_give_back(rq->desk, take);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_real(s, "seconds", seconds, 3);
    js_real(s, "start_ms", start, 0);
    js_real(s, "end_ms", end, 0);
    levels(s, "low", low, columns);
    levels(s, "high", high, columns);
    js_close(s, '}');
    return MST_OK;
}

static cairo_status_t png_bytes(void *cls, const unsigned char *bytes, unsigned len)
{
    mst_string_add(cls, (const char *)bytes, len);
    return CAIRO_STATUS_SUCCESS;
}

/* Grey levels, 255 = silence, from paper to ink. */
static enum mst_status picture(const uint8_t *grey, int width, int height, int dark,
                               struct mst_string *out, struct mst_error *err)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return no_memory(err);
    }
    uint32_t paper = mst_paper_colour(dark ? MST_THEME_DARK : MST_THEME_LIGHT);
    uint32_t ink = dark ? 0xF2F2EE : 0x101010;
    unsigned char *pixels = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    for (int y = 0; y < height; y++) {
        uint32_t *row = (uint32_t *)(void *)(pixels + (ptrdiff_t)y * stride);
        for (int x = 0; x < width; x++) {
            uint32_t rgb = 0, share = 255u - grey[(ptrdiff_t)y * width + x];
            for (unsigned shift = 0; shift <= 16; shift += 8) {
                uint32_t a = paper >> shift & 255, b = ink >> shift & 255;
                rgb |= ((a * (255 - share) + b * share + 127) / 255) << shift;
            }
            row[x] = rgb;
        }
    }
    cairo_surface_mark_dirty(surface);
    cairo_status_t written = cairo_surface_write_to_png_stream(surface, png_bytes, out);
    cairo_surface_destroy(surface);
    return written == CAIRO_STATUS_SUCCESS && !out->failed ? MST_OK : no_memory(err);
}

enum mst_status get_take_spectrogram(struct request *rq, struct mst_error *err)
{
    static const char *const themes[] = {"light", "dark", NULL};
    struct mst_take *take;
    double start, end, seconds;
    int width = 1200, theme = 0;
    enum mst_status status = param_int(rq, "width", 1, WIDTH_MOST, &width, err);
    if (status == MST_OK)
        status = param_choice(rq, "theme", themes, &theme, err);
    if (status == MST_OK)
        status = stretch(rq, &take, &start, &end, &seconds, err);
    if (status != MST_OK)
        return status;
    if (end - start > SPECTRUM_MS_MOST) {
        sound_give_back(rq->desk, take);
        return mst_fail(err, MST_USAGE, "a spectrogram shows at most 10 minutes at a time");
    }
    uint8_t *grey = mst_arena_alloc(rq->arena, (size_t)width, MST_SPECTROGRAM_ROWS);
    status = grey ? mst_take_spectrogram(take, start, end, width, grey, err) : no_memory(err);
    sound_give_back(rq->desk, take);
    if (status == MST_OK)
        status = picture(grey, width, MST_SPECTROGRAM_ROWS, theme, &rq->reply.body, err);
    if (status == MST_OK) {
        rq->reply.type = "image/png";
        reply_header(rq, "Cache-Control", "private, max-age=3600");
    }
    return status;
}
