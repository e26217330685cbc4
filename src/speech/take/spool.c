#include "spool.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Not every file system knows nameless files: there, a name that is taken away at once. */
static int open_nameless(const char *dir)
{
    int fd = open(dir, O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
    if (fd >= 0 || (errno != EOPNOTSUPP && errno != EISDIR && errno != ENOENT))
        return fd;
    char path[4096];
    if (snprintf(path, sizeof path, "%s/mistara-XXXXXX", dir) >= (int)sizeof path) {
        errno = ENAMETOOLONG;
        return -1;
    }
    fd = mkostemp(path, O_CLOEXEC);
    if (fd >= 0)
        unlink(path);
    return fd;
}

enum mst_status spool_open(struct spool *spool, const char *dir, struct mst_error *err)
{
    const char *told = getenv("TMPDIR");
    const char *const places[] = {told && *told ? told : "/var/tmp", "/var/tmp", "/tmp"};
    spool->fd = -1;
    spool->sample_count = 0;
    spool->fill = 0;
    if (dir)
        spool->fd = open_nameless(dir);
    for (size_t n = 0; !dir && spool->fd < 0 && n < sizeof places / sizeof *places; n++)
        spool->fd = open_nameless(places[n]);
    if (spool->fd < 0)
        return mst_fail_errno(err, MST_IO, errno,
                              "the working copy of a recording cannot be made in “%s”; set TMPDIR "
                              "to a folder with room",
                              dir ? dir : places[0]);
    return MST_OK;
}

void spool_close(struct spool *spool)
{
    if (spool->fd >= 0)
        close(spool->fd);
    spool->fd = -1;
}

static enum mst_status write_at(int fd, const float *samples, size_t count, int64_t first,
                                struct mst_error *err)
{
    const char *at = (const char *)samples;
    size_t len = count * sizeof(float);
    off_t to = (off_t)first * (off_t)sizeof(float);
    while (len > 0) {
        ssize_t n = pwrite(fd, at, len, to);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return mst_fail_errno(err, MST_IO, n < 0 ? errno : ENOSPC,
                                  "no room on the disk for the working copy of the recording "
                                  "(230 MB an hour); set TMPDIR to a folder with room");
        at += n;
        to += n;
        len -= (size_t)n;
    }
    return MST_OK;
}

enum mst_status spool_add(struct spool *spool, const float *samples, size_t count,
                          struct mst_error *err)
{
    while (count > 0) {
        size_t n = SPOOL_BUFFER - spool->fill;
        if (n > count)
            n = count;
        memcpy(spool->buffer + spool->fill, samples, n * sizeof *samples);
        if (spool->fill + n == SPOOL_BUFFER) {
            enum mst_status status = write_at(spool->fd, spool->buffer, SPOOL_BUFFER,
                                              spool->sample_count - (int64_t)spool->fill, err);
            if (status != MST_OK)
                return status;
        }
        spool->fill = (spool->fill + n) % SPOOL_BUFFER;
        spool->sample_count += (int64_t)n;
        samples += n;
        count -= n;
    }
    return MST_OK;
}

enum mst_status spool_read(const struct spool *spool, int64_t first, float *samples, size_t max,
                           size_t *got, struct mst_error *err)
{
    const int64_t in_file = spool->sample_count - (int64_t)spool->fill;
    *got = 0;
    while (*got < max && first < spool->sample_count) {
        size_t want = max - *got;
        if (first >= in_file) {
            size_t have = (size_t)(spool->sample_count - first);
            want = want < have ? want : have;
            memcpy(samples + *got, spool->buffer + (first - in_file), want * sizeof *samples);
        } else {
            if (want > (uint64_t)(in_file - first))
                want = (size_t)(in_file - first);
            ssize_t n = pread(spool->fd, samples + *got, want * sizeof *samples,
                              (off_t)first * (off_t)sizeof *samples);
            if (n < 0 && errno == EINTR)
                continue;
            if (n < (ssize_t)sizeof *samples)
                return mst_fail_errno(err, MST_IO, n < 0 ? errno : EIO,
                                      "the working copy of the recording cannot be read again");
            want = (size_t)n / sizeof *samples;
        }
        *got += want;
        first += (int64_t)want;
    }
    return MST_OK;
}
