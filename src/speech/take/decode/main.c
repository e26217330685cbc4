/*
 * mistara-decode – turns sound files into samples for the library, each in a
 * confined process of its own. Started by the library, with a socket as
 * descriptor 3 (wire.h); of no use by hand.
 *
 * Loading FFmpeg's libraries takes 50 ms, so this process loads them once and
 * forks for each file. It reads nothing of any file itself.
 */
#include "confine.h"
#include "decode.h"

#include <errno.h>
#include <iconv.h>
#include <libavutil/cpu.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/pidfd.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static const struct confine_limits limits = {
    .extra_bytes = (size_t)192 << 20,
    .cpu_s = 600,
};

/*
 * In place of the C library's, which would look for its tables on the disk:
 * the names of broadcasters in a transport stream are of no use here, and the
 * demuxer does without.
 */
iconv_t iconv_open(const char *to, const char *from)
{
    (void)to;
    (void)from;
    errno = EINVAL;
    return (iconv_t)-1;
}

/* One request with its two descriptors. 0, or -1 when the library has gone. */
static int receive(struct wire_request *request, int fds[2])
{
    union {
        struct cmsghdr align;
        char bytes[CMSG_SPACE(2 * sizeof(int))];
    } control;
    struct iovec body = {.iov_base = request, .iov_len = sizeof *request};
    struct msghdr msg = {.msg_iov = &body,
                         .msg_iovlen = 1,
                         .msg_control = control.bytes,
                         .msg_controllen = sizeof control.bytes};
    ssize_t n;
    do
        n = recvmsg(WIRE_SOCKET_FD, &msg, MSG_CMSG_CLOEXEC);
    while (n < 0 && errno == EINTR);
    const struct cmsghdr *c = n == (ssize_t)sizeof *request ? CMSG_FIRSTHDR(&msg) : NULL;
    if (!c || c->cmsg_level != SOL_SOCKET || c->cmsg_type != SCM_RIGHTS ||
        c->cmsg_len != CMSG_LEN(2 * sizeof(int)) || request->magic != WIRE_MAGIC)
        return -1;
    memcpy(fds, CMSG_DATA(c), 2 * sizeof(int));
    return 0;
}

_Noreturn static void be_the_decoder(const struct wire_request *request, const int fds[2],
                                     pid_t parent)
{
    const char *why = NULL;
    if (prctl(PR_SET_PDEATHSIG, SIGKILL, 0, 0, 0) || getppid() != parent)
        _exit(1);
    if (confine_self(fds[0], fds[1], limits, &why)) {
        /* The pipe may or may not be in its place by now. */
        struct out out = {.fd = strcmp(why, "descriptors") ? CONFINE_PIPE_FD : fds[1]};
        struct wire_end end = {.outcome = WIRE_UNCONFINED, .first_damage_sample = -1};
        strncpy(end.detail, why, sizeof end.detail - 1);
        out_message(&out, WIRE_END, &end, sizeof end);
        _exit(0);
    }
    struct out out = {.fd = CONFINE_PIPE_FD};
    struct wire_hello hello = {.magic = WIRE_MAGIC};
    out_message(&out, WIRE_HELLO, &hello, sizeof hello);
    session_run(CONFINE_FILE_FD, CONFINE_PIPE_FD, (int)request->rate_hz, request->max_samples);
    _exit(0);
}

/* Wait for the child to end; when the library goes first, end it. Returns its wait status, or -1
 * when the library has gone. */
static int attend(pid_t child)
{
    int status = -1;
    int pidfd = pidfd_open(child, 0);
    struct pollfd watch[2] = {{.fd = pidfd, .events = POLLIN},
                              {.fd = WIRE_SOCKET_FD, .events = POLLRDHUP}};
    int gone = pidfd < 0;
    while (!gone && !(watch[0].revents & POLLIN)) {
        if (poll(watch, 2, -1) < 0 && errno != EINTR)
            gone = 1;
        else if (watch[1].revents & (POLLRDHUP | POLLHUP | POLLERR))
            gone = 1;
    }
    if (gone)
        kill(child, SIGKILL);
    while (waitpid(child, &status, 0) < 0 && errno == EINTR)
        ;
    if (pidfd >= 0)
        close(pidfd);
    return gone ? -1 : status;
}

int main(void)
{
    /* Everything that would open a file later is done now: time zones, for one. */
    tzset();
    if (close_range(WIRE_SOCKET_FD + 1, ~0u, 0))
        return 1;
#if defined(__x86_64__)
    /* The same samples on every machine, whatever its newest instructions. */
    av_force_cpu_flags(AV_CPU_FLAG_MMX | AV_CPU_FLAG_MMXEXT | AV_CPU_FLAG_SSE | AV_CPU_FLAG_SSE2 |
                       AV_CPU_FLAG_CMOV);
#endif
    struct wire_request request;
    int fds[2];
    while (receive(&request, fds) == 0) {
        pid_t self = getpid();
        pid_t child = fork();
        if (child == 0)
            be_the_decoder(&request, fds, self);
        close(fds[0]);
        close(fds[1]);
        struct wire_exit ended = {.magic = WIRE_MAGIC, .wait_status = -1};
        if (child > 0 && (ended.wait_status = attend(child)) == -1)
            return 0;
        if (send(WIRE_SOCKET_FD, &ended, sizeof ended, MSG_NOSIGNAL) != (ssize_t)sizeof ended)
            return 0;
    }
    return 0;
}
