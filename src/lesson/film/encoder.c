#include "encoder.h"

#include "src/lesson/film-config.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

enum { FAR_FD = 10, SOCKET_BYTES = 1 << 20 };

struct encoder {
    pid_t pid;
    int socket;
};

static const char *encoder_path(void)
{
    const char *told = getenv("MISTARA_ENCODE");
    if (told && *told)
        return told;
    return access(MISTARA_ENCODE_INSTALLED, X_OK) == 0 ? MISTARA_ENCODE_INSTALLED
                                                       : MISTARA_ENCODE_BUILT;
}

/* What the program has to say once it no longer listens. */
static enum mst_status gave_up(struct encoder *e, struct mst_error *err)
{
    struct wire_result result = {0};
    ssize_t got = recv(e->socket, &result, sizeof result, MSG_WAITALL);
    result.detail[sizeof result.detail - 1] = 0;
    mst_fail(err, MST_IO,
             "the file could not be written: the disk may be full, or the program that writes "
             "films was ended");
    if (err)
        snprintf(err->where, sizeof err->where, "%.150s",
                 got == (ssize_t)sizeof result ? result.detail : "mistara-encode ended");
    return MST_IO;
}

static enum mst_status put(struct encoder *e, const void *bytes, size_t len, struct mst_error *err)
{
    for (size_t done = 0; done < len;) {
        ssize_t n = send(e->socket, (const char *)bytes + done, len - done, MSG_NOSIGNAL);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return gave_up(e, err);
        done += (size_t)n;
    }
    return MST_OK;
}

static enum mst_status put_message(struct encoder *e, enum wire_kind kind, const void *body,
                                   size_t body_len, const void *more, size_t more_len,
                                   struct mst_error *err)
{
    struct wire_head head = {kind, (uint32_t)(body_len + more_len)};
    enum mst_status status = put(e, &head, sizeof head, err);
    if (status == MST_OK)
        status = put(e, body, body_len, err);
    return status == MST_OK ? put(e, more, more_len, err) : status;
}

enum mst_status encoder_open(const char *path, const struct wire_open *open,
                             const struct wire_chapter *chapters, struct encoder **out,
                             struct mst_error *err)
{
    int pair[2];
    struct encoder *e = *out = calloc(1, sizeof *e);
    if (!e)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
    e->pid = -1;
    e->socket = -1;
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair))
        return mst_fail_errno(err, MST_IO, errno, "the program that writes films is out of reach");
    e->socket = pair[0];
    const int room = SOCKET_BYTES; /* a smaller one is only slower */
    (void)setsockopt(e->socket, SOL_SOCKET, SO_SNDBUF, &room, sizeof room);
    char *const argv[] = {(char *)"mistara-encode", (char *)path, NULL};
    int far_end = fcntl(pair[1], F_DUPFD_CLOEXEC, FAR_FD);
    close(pair[1]);
    int rc = far_end < 0 ? errno
                         : mst_helper_start(encoder_path(), argv, far_end, WIRE_SOCKET, 1, &e->pid);
    if (far_end >= 0)
        close(far_end);
    if (rc) {
        e->pid = -1;
        return mst_fail_errno(err, MST_UNSUPPORTED, rc,
                              "the program that writes films, “%s”, cannot be started; install "
                              "Mistara whole, or set MISTARA_ENCODE to its place",
                              encoder_path());
    }
    enum mst_status status = put_message(e, WIRE_OPEN, open, sizeof *open, NULL, 0, err);
    for (int32_t n = 0; n < open->chapter_count && status == MST_OK; n++)
        status = put_message(e, WIRE_CHAPTER, &chapters[n], sizeof chapters[n], NULL, 0, err);
    return status;
}

enum mst_status encoder_sound(struct encoder *e, const float *samples, size_t count,
                              struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (size_t at = 0; at < count && status == MST_OK; at += WIRE_SOUND_MOST) {
        size_t len = count - at < WIRE_SOUND_MOST ? count - at : WIRE_SOUND_MOST;
        status = put_message(e, WIRE_SOUND, samples + at, len * sizeof *samples, NULL, 0, err);
    }
    return status;
}

enum mst_status encoder_picture(struct encoder *e, const uint8_t *planes, size_t len,
                                int32_t repeat, struct mst_error *err)
{
    return put_message(e, WIRE_PICTURE, &repeat, sizeof repeat, planes, len, err);
}

enum mst_status encoder_same(struct encoder *e, int32_t repeat, struct mst_error *err)
{
    return put_message(e, WIRE_SAME, &repeat, sizeof repeat, NULL, 0, err);
}

enum mst_status encoder_end(struct encoder *e, struct mst_error *err)
{
    struct wire_result result = {0};
    enum mst_status status = put_message(e, WIRE_END, NULL, 0, NULL, 0, err);
    if (status != MST_OK)
        return status;
    ssize_t got;
    do
        got = recv(e->socket, &result, sizeof result, MSG_WAITALL);
    while (got < 0 && errno == EINTR);
    if (got == (ssize_t)sizeof result && result.ok)
        return MST_OK;
    result.detail[sizeof result.detail - 1] = 0;
    mst_fail(err, MST_IO, "the file could not be finished: the disk may be full");
    if (err)
        snprintf(err->where, sizeof err->where, "%.150s", result.detail);
    return MST_IO;
}

void encoder_close(struct encoder *e)
{
    if (!e)
        return;
    if (e->socket >= 0)
        close(e->socket);
    if (e->pid > 0) {
        kill(e->pid, SIGKILL); /* no harm where it has ended by itself */
        while (waitpid(e->pid, NULL, 0) < 0 && errno == EINTR)
            ;
    }
    free(e);
}
