#include "decode.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

static void write_all(int fd, const void *bytes, size_t len)
{
    const char *at = bytes;
    while (len > 0) {
        ssize_t n = write(fd, at, len);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            _exit(1);
        at += n;
        len -= (size_t)n;
    }
}

void out_message(struct out *out, enum wire_kind kind, const void *body, uint32_t byte_count)
{
    struct wire_head head = {.kind = kind, .byte_count = byte_count};
    write_all(out->fd, &head, sizeof head);
    write_all(out->fd, body, byte_count);
}

void out_flush(struct out *out)
{
    if (out->fill > 0)
        out_message(out, WIRE_SAMPLES, out->block, (uint32_t)(out->fill * sizeof(float)));
    out->fill = 0;
}

size_t out_samples(struct out *out, const float *samples, size_t count)
{
    int64_t room = out->max_samples - out->sample_count;
    if (room < 0)
        room = 0;
    if (count > (uint64_t)room)
        count = (size_t)room;
    for (size_t done = 0; done < count;) {
        size_t n = WIRE_BLOCK - out->fill;
        if (n > count - done)
            n = count - done;
        memcpy(out->block + out->fill, samples + done, n * sizeof(float));
        out->fill += n;
        done += n;
        if (out->fill == WIRE_BLOCK)
            out_flush(out);
    }
    out->sample_count += (int64_t)count;
    return count;
}
