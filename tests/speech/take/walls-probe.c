/*
 * Builds the decoder's walls around itself, says "in", tries one thing, and
 * says "out" if that thing was possible. For walls.c.
 *
 *   walls-probe FILE_FD PIPE_FD WHAT
 */
#include "confine.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <linux/memfd.h>
#include <netinet/in.h>
#include <sched.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/ptrace.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <unistd.h>

static const struct confine_limits limits = {.extra_bytes = (size_t)64 << 20, .cpu_s = 1};

static void say(const char *word)
{
    (void)!write(CONFINE_PIPE_FD, word, strlen(word));
}

static long raw(long number, long a, long b, long c, long d, long e, long f)
{
    return syscall(number, a, b, c, d, e, f);
}

/* X(name, what is tried): every one of these must end the process. */
#define FORBIDDEN(X)                                                                               \
    X(open, raw(SYS_open, (long)"/etc/passwd", O_RDONLY, 0, 0, 0, 0))                              \
    X(openat, raw(SYS_openat, AT_FDCWD, (long)"/etc/passwd", O_RDONLY, 0, 0, 0))                   \
    X(openat2, raw(SYS_openat2, AT_FDCWD, (long)"/etc/passwd", 0, 0, 0, 0))                        \
    X(creat, raw(SYS_creat, (long)"made", 0600, 0, 0, 0, 0))                                       \
    X(stat, raw(SYS_newfstatat, AT_FDCWD, (long)"/etc/passwd", 0, 0, 0, 0))                        \
    X(unlink, raw(SYS_unlink, (long)"made", 0, 0, 0, 0, 0))                                        \
    X(rename, raw(SYS_rename, (long)"made", (long)"moved", 0, 0, 0, 0))                            \
    X(chmod, raw(SYS_chmod, (long)"made", 0777, 0, 0, 0, 0))                                       \
    X(socket, raw(SYS_socket, AF_INET, SOCK_STREAM, 0, 0, 0, 0))                                   \
    X(socketpair, raw(SYS_socketpair, AF_UNIX, SOCK_STREAM, 0, (long)spare, 0, 0))                 \
    X(connect, raw(SYS_connect, CONFINE_FILE_FD, (long)spare, 16, 0, 0, 0))                        \
    X(sendto, raw(SYS_sendto, CONFINE_PIPE_FD, (long)"x", 1, 0, 0, 0))                             \
    X(execve, raw(SYS_execve, (long)"/bin/true", 0, 0, 0, 0, 0))                                   \
    X(execveat, raw(SYS_execveat, AT_FDCWD, (long)"/bin/true", 0, 0, 0, 0))                        \
    X(fork, raw(SYS_fork, 0, 0, 0, 0, 0, 0))                                                       \
    X(clone, raw(SYS_clone, SIGCHLD, 0, 0, 0, 0, 0))                                               \
    X(clone3, raw(SYS_clone3, 0, 0, 0, 0, 0, 0))                                                   \
    X(kill_parent, raw(SYS_kill, getppid_before, SIGTERM, 0, 0, 0, 0))                             \
    X(ptrace, raw(SYS_ptrace, PTRACE_TRACEME, 0, 0, 0, 0, 0))                                      \
    X(peek, raw(SYS_process_vm_readv, getppid_before, 0, 0, 0, 0, 0))                              \
    X(read_elsewhere, raw(SYS_read, 0, (long)spare, 1, 0, 0, 0))                                   \
    X(write_elsewhere, raw(SYS_write, 2, (long)"x", 1, 0, 0, 0))                                   \
    X(write_file, raw(SYS_write, CONFINE_FILE_FD, (long)"x", 1, 0, 0, 0))                          \
    X(truncate_file, raw(SYS_ftruncate, CONFINE_FILE_FD, 0, 0, 0, 0, 0))                           \
    X(dup, raw(SYS_dup, CONFINE_FILE_FD, 0, 0, 0, 0, 0))                                           \
    X(pipe, raw(SYS_pipe, (long)spare, 0, 0, 0, 0, 0))                                             \
    X(memfd, raw(SYS_memfd_create, (long)"x", 0, 0, 0, 0, 0))                                      \
    X(ioctl, raw(SYS_ioctl, CONFINE_FILE_FD, FIONREAD, (long)spare, 0, 0, 0))                      \
    X(fcntl, raw(SYS_fcntl, CONFINE_FILE_FD, F_DUPFD, 0, 0, 0, 0))                                 \
    X(map_code, raw(SYS_mmap, 0, 4096, PROT_READ | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0)) \
    X(map_file, raw(SYS_mmap, 0, 4096, PROT_READ, MAP_PRIVATE, CONFINE_FILE_FD, 0))                \
    X(make_code, raw(SYS_mprotect, (long)page, 4096, PROT_READ | PROT_EXEC, 0, 0, 0))              \
    X(prctl, raw(SYS_prctl, PR_SET_DUMPABLE, 1, 0, 0, 0, 0))                                       \
    X(loosen, raw(SYS_prlimit64, 0, RLIMIT_CPU, 0, (long)spare, 0, 0))                             \
    X(seccomp, raw(SYS_seccomp, 1, 0, 0, 0, 0, 0))                                                 \
    X(unshare, raw(SYS_unshare, CLONE_NEWUSER, 0, 0, 0, 0, 0))                                     \
    X(chroot, raw(SYS_chroot, (long)"/", 0, 0, 0, 0, 0))                                           \
    X(setuid, raw(SYS_setuid, 0, 0, 0, 0, 0, 0))                                                   \
    X(io_uring, raw(SYS_io_uring_setup, 1, (long)spare, 0, 0, 0, 0))                               \
    X(bpf, raw(SYS_bpf, 0, (long)spare, 8, 0, 0, 0))                                               \
    X(shmget, raw(SYS_shmget, 0, 4096, 01600, 0, 0, 0))

static volatile int deep;
static int sink(int n)
{
    volatile char room[4096];
    room[0] = (char)n;
    deep = n;
    return n > 0 ? sink(n + 1) + room[0] : 0;
}

static int try_allowed(const char *what)
{
    char byte = 0;
    if (strcmp(what, "work") == 0) {
        /* What decoding needs. */
        if (lseek(CONFINE_FILE_FD, 1, SEEK_SET) != 1 || read(CONFINE_FILE_FD, &byte, 1) != 1)
            return 2;
        char *memory = malloc(32 << 20);
        if (!memory)
            return 3;
        memset(memory, 1, 32 << 20);
        memory = realloc(memory, 40 << 20);
        free(memory);
        return byte == 'b' ? 0 : 4;
    }
    if (strcmp(what, "wait") == 0) {
        /* Reads from a pipe given as the file, so that it can be looked at meanwhile. */
        say("w");
        (void)!read(CONFINE_FILE_FD, &byte, 1);
        return 0;
    }
    if (strcmp(what, "memory") == 0) {
        size_t got = 0;
        while (malloc(1 << 20))
            got++;
        return got < 80 ? 0 : 5; /* MiB: the limit is 64 */
    }
    if (strcmp(what, "time") == 0)
        for (volatile long n = 0;; n++)
            ;
    if (strcmp(what, "stack") == 0)
        return sink(1);
    return 6;
}

int main(int argc, char **argv)
{
    const char *why = NULL;
    if (argc != 4)
        return 64;
    char spare[256] = {0};
    const long getppid_before = getppid();
    void *page = mmap(NULL, 4096, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    const char *what = argv[3];
    if (confine_self(atoi(argv[1]), atoi(argv[2]), limits, &why))
        return 65;
    say("in");
#define TRY(name, call)                                                                            \
    if (strcmp(what, #name) == 0) {                                                                \
        (void)(call);                                                                              \
        say("out");                                                                                \
        _exit(0);                                                                                  \
    }
    FORBIDDEN(TRY)
#undef TRY
    _exit(try_allowed(what));
}
