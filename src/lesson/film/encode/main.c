/*
 * mistara-encode – writes films and packed sound for the library, which starts
 * it with a socket as descriptor 0 (wire.h) and the file's path; of no use by
 * hand. A program of its own so that nobody else loads FFmpeg's libraries, and
 * so that a film given up takes all its memory and threads with it.
 */
#include "mux.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <unistd.h>

enum { CHAPTERS_MOST = 7000 };

static int receive(void *to, size_t len)
{
    for (size_t have = 0; have < len;) {
        ssize_t n = read(WIRE_SOCKET, (char *)to + have, len - have);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return -1; /* the library has gone: so do we */
        have += (size_t)n;
    }
    return 0;
}

static int message(enum wire_kind kind, void *to, size_t len)
{
    struct wire_head head;
    if (receive(&head, sizeof head) || head.kind != (uint32_t)kind || head.byte_count != len)
        return -1;
    return receive(to, len);
}

static int open_file(const char *path, struct mux **out)
{
    struct wire_open open;
    if (message(WIRE_OPEN, &open, sizeof open) || open.format > WIRE_FLAC ||
        open.chapter_count < 0 || open.chapter_count > CHAPTERS_MOST)
        return -1;
    struct wire_chapter *chapters = calloc((size_t)open.chapter_count + 1, sizeof *chapters);
    int rc = chapters ? 0 : -1;
    for (int n = 0; n < open.chapter_count && rc == 0; n++)
        rc = message(WIRE_CHAPTER, &chapters[n], sizeof chapters[n]);
    if (rc == 0)
        rc = mux_new(path, &open, chapters, out);
    free(chapters);
    return rc;
}

/* One message after another until END. 0, or negative. */
static int work(struct mux *mux)
{
    static float samples[WIRE_SOUND_MOST];
    size_t picture_bytes = mux_picture_bytes(mux);
    uint8_t *planes = malloc(picture_bytes + 1);
    int rc = planes ? 0 : -1;
    for (struct wire_head head; rc >= 0;) {
        int32_t repeat;
        rc = receive(&head, sizeof head);
        if (rc < 0 || head.kind == WIRE_END)
            break;
        if (head.kind == WIRE_SOUND && head.byte_count <= sizeof samples) {
            rc = receive(samples, head.byte_count);
            if (rc >= 0)
                rc = mux_sound(mux, samples, (int)(head.byte_count / sizeof *samples));
        } else if (head.kind == WIRE_PICTURE && picture_bytes &&
                   head.byte_count == sizeof repeat + picture_bytes) {
            rc = receive(&repeat, sizeof repeat) || receive(planes, picture_bytes) ? -1 : 0;
            if (rc >= 0)
                rc = mux_picture(mux, planes, repeat);
        } else if (head.kind == WIRE_SAME && picture_bytes && head.byte_count == sizeof repeat) {
            rc = receive(&repeat, sizeof repeat);
            if (rc >= 0)
                rc = mux_picture(mux, NULL, repeat);
        } else {
            rc = -1;
        }
    }
    free(planes);
    return rc < 0 ? rc : mux_end(mux);
}

int main(int argc, char **argv)
{
    struct mux *mux = NULL;
    struct wire_result result = {0};
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    int rc = argc == 2 ? open_file(argv[1], &mux) : -1;
    if (rc >= 0)
        rc = work(mux);
    result.ok = rc >= 0;
    snprintf(result.detail, sizeof result.detail, "%s", mux ? mux_detail(mux) : "");
    mux_free(mux);
    send(WIRE_SOCKET, &result, sizeof result, MSG_NOSIGNAL);
    return rc >= 0 ? 0 : 1;
}
