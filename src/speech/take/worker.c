#include "worker.h"

#include "src/speech/take/take-config.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { POLL_STEP_MS = 200, PIPE_BYTES = 1 << 18, FAR_FD = 10 };
static const double default_patience_s = 20;

struct worker {
    pid_t pid;
    int socket;
    int pipe; /* reading end of the file begun; -1 between files */
    double patience_s;
    int (*cancelled)(void *);
    void *user;
    int confined; /* HELLO has come */
    int formatted;
    int64_t samples_left;
    union {
        struct wire_hello hello;
        struct wire_format format;
        struct wire_end end;
        float samples[WIRE_BLOCK];
    } body;
};

/* --- starting ---------------------------------------------------------------- */

static const char *decoder_path(const struct mst_take_options *options)
{
    if (options->decoder_path)
        return options->decoder_path;
    const char *told = getenv("MISTARA_DECODE");
    if (told && *told)
        return told;
    return access(MISTARA_DECODE_INSTALLED, X_OK) == 0 ? MISTARA_DECODE_INSTALLED
                                                       : MISTARA_DECODE_BUILT;
}

enum mst_status worker_start(const struct mst_take_options *options, struct worker **out,
                             struct mst_error *err)
{
    struct worker *worker = calloc(1, sizeof *worker);
    char *const argv[] = {(char *)"mistara-decode", NULL};
    int pair[2] = {-1, -1};
    *out = NULL;
    if (!worker)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out before a recording could be read");
    worker->pid = -1;
    worker->pipe = -1;
    worker->socket = -1;
    worker->patience_s = options->patience_s > 0 ? options->patience_s : default_patience_s;
    worker->cancelled = options->cancelled;
    worker->user = options->user;

    const char *path = decoder_path(options);
    enum mst_status status = MST_OK;
    if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair)) {
        status = mst_fail_errno(err, MST_IO, errno, "the decoder of recordings cannot be reached");
        goto done;
    }
    /* Off the numbers that the new process gives to other things. */
    int far_end = fcntl(pair[1], F_DUPFD_CLOEXEC, FAR_FD);
    close(pair[1]);
    worker->socket = pair[0];
    int rc = far_end < 0 ? errno
                         : mst_helper_start(path, argv, far_end, WIRE_SOCKET_FD, 0, &worker->pid);
    if (far_end >= 0)
        close(far_end);
    if (rc) {
        worker->pid = -1;
        status = mst_fail_errno(err, MST_UNSUPPORTED, rc,
                                "the decoder of recordings, “%s”, cannot be started; "
                                "install Mistara whole, or set MISTARA_DECODE to its place",
                                path);
    }
done:
    if (status != MST_OK) {
        worker_stop(worker);
        return status;
    }
    *out = worker;
    return MST_OK;
}

void worker_stop(struct worker *worker)
{
    if (!worker)
        return;
    if (worker->pipe >= 0)
        close(worker->pipe);
    if (worker->socket >= 0)
        close(worker->socket);
    if (worker->pid > 0) {
        /* Its confined process dies with it. */
        kill(worker->pid, SIGKILL);
        while (waitpid(worker->pid, NULL, 0) < 0 && errno == EINTR)
            ;
    }
    free(worker);
}

/* --- waiting ------------------------------------------------------------------- */

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static enum mst_status wait_for(struct worker *worker, int fd, struct mst_error *err)
{
    const double until = now_s() + worker->patience_s;
    for (;;) {
        if (worker->cancelled && worker->cancelled(worker->user))
            return mst_fail(err, MST_CANCELLED, "reading the recording was stopped");
        struct pollfd watch = {.fd = fd, .events = POLLIN};
        int n = poll(&watch, 1, POLL_STEP_MS);
        if (n > 0)
            return MST_OK;
        if (n < 0 && errno != EINTR)
            return mst_fail_errno(err, MST_IO, errno, "the decoder of recordings is lost");
        if (now_s() > until)
            return mst_fail(err, MST_IO,
                            "the decoder has worked on this recording for %.0f s without result; "
                            "the file is damaged, or this computer is too busy",
                            worker->patience_s);
    }
}

/* 1 = all read, 0 = the pipe ended before the first byte, -1 = see err (which may be OK's). */
static int read_whole(struct worker *worker, void *to, size_t len, enum mst_status *status,
                      struct mst_error *err)
{
    size_t have = 0;
    while (have < len) {
        *status = wait_for(worker, worker->pipe, err);
        if (*status != MST_OK)
            return -1;
        ssize_t n = read(worker->pipe, (char *)to + have, len - have);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return 0; /* ended inside a message: it died */
        have += (size_t)n;
    }
    return 1;
}

/* --- one file -------------------------------------------------------------------- */

static int send_request(int socket, int rate_hz, int64_t max_samples, const int fds[2])
{
    struct wire_request request = {
        .magic = WIRE_MAGIC, .rate_hz = (uint32_t)rate_hz, .max_samples = max_samples};
    union {
        struct cmsghdr align;
        char bytes[CMSG_SPACE(2 * sizeof(int))];
    } control;
    memset(&control, 0, sizeof control);
    struct iovec body = {.iov_base = &request, .iov_len = sizeof request};
    struct msghdr msg = {.msg_iov = &body,
                         .msg_iovlen = 1,
                         .msg_control = control.bytes,
                         .msg_controllen = sizeof control.bytes};
    struct cmsghdr *c = CMSG_FIRSTHDR(&msg);
    c->cmsg_level = SOL_SOCKET;
    c->cmsg_type = SCM_RIGHTS;
    c->cmsg_len = CMSG_LEN(2 * sizeof(int));
    memcpy(CMSG_DATA(c), fds, 2 * sizeof(int));
    ssize_t n;
    do
        n = sendmsg(socket, &msg, MSG_NOSIGNAL);
    while (n < 0 && errno == EINTR);
    return n == (ssize_t)sizeof request ? 0 : -1;
}

enum mst_status worker_begin(struct worker *worker, int file_fd, int rate_hz, int64_t max_samples,
                             struct mst_error *err)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC))
        return mst_fail_errno(err, MST_IO, errno, "no way to the decoder of recordings is left");
    (void)fcntl(ends[0], F_SETPIPE_SZ, PIPE_BYTES); /* a smaller pipe is only slower */
    const int rc = send_request(worker->socket, rate_hz, max_samples, (int[2]){file_fd, ends[1]});
    const int errnum = errno;
    close(ends[1]);
    if (rc) {
        close(ends[0]);
        return mst_fail_errno(err, MST_UNSUPPORTED, errnum,
                              "the decoder of recordings has ended; install Mistara whole again");
    }
    worker->pipe = ends[0];
    worker->confined = 0;
    worker->formatted = 0;
    worker->samples_left = max_samples;
    return MST_OK;
}

/* The file's process has ended: close the pipe, hear from mistara-decode how it ended. */
static enum mst_status hear_exit(struct worker *worker, int *wait_status, struct mst_error *err)
{
    struct wire_exit ended = {0};
    close(worker->pipe);
    worker->pipe = -1;
    enum mst_status status = wait_for(worker, worker->socket, err);
    if (status != MST_OK)
        return status;
    if (recv(worker->socket, &ended, sizeof ended, 0) != (ssize_t)sizeof ended ||
        ended.magic != WIRE_MAGIC)
        return mst_fail(err, MST_UNSUPPORTED,
                        "the decoder of recordings has ended; install Mistara whole again");
    *wait_status = ended.wait_status;
    return MST_OK;
}

static enum mst_status died(struct worker *worker, struct worker_news *news, struct mst_error *err)
{
    int how = -1;
    enum mst_status status = hear_exit(worker, &how, err);
    news->event = WORKER_DIED;
    if (status == MST_OK && how != -1 && WIFSIGNALED(how))
        snprintf(news->end.detail, sizeof news->end.detail, "decoder ended by signal %d (%s)",
                 WTERMSIG(how), strsignal(WTERMSIG(how)));
    else
        snprintf(news->end.detail, sizeof news->end.detail, "decoder ended, status %d", how);
    return status;
}

static enum mst_status stranger(struct mst_error *err, const char *what)
{
    mst_fail(err, MST_INTERNAL,
             "the decoder of recordings answers otherwise than agreed; install Mistara whole "
             "again");
    if (err)
        snprintf(err->where, sizeof err->where, "decoder: %s", what);
    return MST_INTERNAL;
}

static int length_fits(const struct wire_head *head)
{
    switch (head->kind) {
    case WIRE_HELLO:
        return head->byte_count == sizeof(struct wire_hello);
    case WIRE_FORMAT:
        return head->byte_count == sizeof(struct wire_format);
    case WIRE_SAMPLES:
        return head->byte_count > 0 && head->byte_count <= WIRE_BLOCK * sizeof(float) &&
               head->byte_count % sizeof(float) == 0;
    case WIRE_END:
        return head->byte_count == sizeof(struct wire_end);
    default:
        return 0;
    }
}

/* Printable and ended, whatever came. */
static void make_text(char *text, size_t size)
{
    text[size - 1] = 0;
    for (char *c = text; *c; c++)
        if (*c < ' ' || *c > '~')
            *c = '?';
}

static double make_finite(double x, double otherwise)
{
    return isfinite(x) ? x : otherwise;
}

static void take_samples(struct worker *worker, size_t count, struct worker_news *news)
{
    float *samples = worker->body.samples;
    for (size_t n = 0; n < count; n++)
        samples[n] = isfinite(samples[n]) ? fminf(fmaxf(samples[n], -8.0f), 8.0f) : 0.0f;
    news->event = WORKER_SAMPLES;
    news->samples = samples;
    news->sample_count = count;
}

static void take_end(struct worker_news *news)
{
    struct wire_end *end = &news->end;
    make_text(end->detail, sizeof end->detail);
    if (end->outcome >= WIRE_OUTCOME_COUNT)
        end->outcome = WIRE_BROKEN;
    end->damage_count = end->damage_count < 0 ? INT32_MAX : end->damage_count;
    end->peak = make_finite(end->peak, 0);
    end->channel_power_sum = make_finite(end->channel_power_sum, 0);
    end->mix_power_sum = make_finite(end->mix_power_sum, 0);
    end->gap_seconds = make_finite(end->gap_seconds, 0);
    news->event = WORKER_END;
}

enum mst_status worker_next(struct worker *worker, struct worker_news *news, struct mst_error *err)
{
    memset(news, 0, sizeof *news);
    for (;;) {
        struct wire_head head;
        enum mst_status status = MST_OK;
        int rc = read_whole(worker, &head, sizeof head, &status, err);
        if (rc == 1) {
            if (!length_fits(&head))
                return stranger(err, "message of a wrong kind or length");
            rc = read_whole(worker, &worker->body, head.byte_count, &status, err);
        }
        if (rc < 0)
            return status;
        if (rc == 0)
            return died(worker, news, err);
        /* Nothing is taken from a process that has not said it is confined. */
        if (!worker->confined && head.kind != WIRE_HELLO && head.kind != WIRE_END)
            return stranger(err, "no sign of confinement");
        switch (head.kind) {
        case WIRE_HELLO:
            if (worker->confined || worker->body.hello.magic != WIRE_MAGIC)
                return stranger(err, "another version");
            worker->confined = 1;
            continue;
        case WIRE_FORMAT:
            if (worker->formatted++)
                return stranger(err, "two formats");
            news->format = worker->body.format;
            make_text(news->format.container, sizeof news->format.container);
            make_text(news->format.codec, sizeof news->format.codec);
            news->format.claimed_seconds = make_finite(news->format.claimed_seconds, -1);
            news->event = WORKER_FORMAT;
            return MST_OK;
        case WIRE_SAMPLES:
            worker->samples_left -= (int64_t)(head.byte_count / sizeof(float));
            if (!worker->formatted || worker->samples_left < 0)
                return stranger(err, "more sound than asked for");
            take_samples(worker, head.byte_count / sizeof(float), news);
            return MST_OK;
        default: {
            int how = -1;
            news->end = worker->body.end;
            take_end(news);
            if (!worker->confined && news->end.outcome != WIRE_UNCONFINED)
                return stranger(err, "no sign of confinement");
            return hear_exit(worker, &how, err);
        }
        }
    }
}
