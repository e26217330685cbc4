#include "confine.h"

#include <errno.h>
#include <fcntl.h>
#include <seccomp.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

/* Bytes of address space in use now; the libraries alone map well over 100 MB. */
static size_t address_space(void)
{
    FILE *f = fopen("/proc/self/statm", "re");
    unsigned long pages = 0;
    if (f) {
        if (fscanf(f, "%lu", &pages) != 1)
            pages = 0;
        fclose(f);
    }
    return (size_t)pages * (size_t)sysconf(_SC_PAGESIZE);
}

static int place_descriptors(int file_fd, int pipe_fd)
{
    /* Out of the way first: either may sit where the other belongs. */
    int file = fcntl(file_fd, F_DUPFD, 16);
    int pipe = fcntl(pipe_fd, F_DUPFD, 16);
    if (file < 0 || pipe < 0)
        return -1;
    if (dup2(file, CONFINE_FILE_FD) < 0 || dup2(pipe, CONFINE_PIPE_FD) < 0)
        return -1;
    return close_range(CONFINE_PIPE_FD + 1, ~0u, 0);
}

static int set_limit(int which, rlim_t value)
{
    struct rlimit r = {value, value};
    struct rlimit now;
    if (getrlimit((__rlimit_resource_t)which, &now) == 0 && now.rlim_max < value)
        r = (struct rlimit){now.rlim_max, now.rlim_max}; /* already tighter */
    return setrlimit((__rlimit_resource_t)which, &r);
}

static int set_limits(struct confine_limits limits)
{
    size_t now = address_space();
    if (now == 0)
        return -1;
    return set_limit(RLIMIT_AS, now + limits.extra_bytes) || set_limit(RLIMIT_CPU, limits.cpu_s) ||
                   set_limit(RLIMIT_FSIZE, 0) || set_limit(RLIMIT_CORE, 0) ||
                   set_limit(RLIMIT_NOFILE, 0) || set_limit(RLIMIT_NPROC, 0) ||
                   set_limit(RLIMIT_MEMLOCK, 0)
               ? -1
               : 0;
}

/* Calls allowed whatever their arguments: they reach nothing outside the process. */
static const int free_calls[] = {
    SCMP_SYS(brk),          SCMP_SYS(munmap), SCMP_SYS(madvise),        SCMP_SYS(futex),
    SCMP_SYS(rt_sigreturn), SCMP_SYS(exit),   SCMP_SYS(exit_group),     SCMP_SYS(clock_gettime),
    SCMP_SYS(gettimeofday), SCMP_SYS(time),   SCMP_SYS(rt_sigprocmask), SCMP_SYS(restart_syscall),
};

static int add_rules(scmp_filter_ctx filter)
{
    enum { ALLOW = SCMP_ACT_ALLOW };
    const struct scmp_arg_cmp from_file = SCMP_A0(SCMP_CMP_EQ, CONFINE_FILE_FD);
    const struct scmp_arg_cmp to_pipe = SCMP_A0(SCMP_CMP_EQ, CONFINE_PIPE_FD);
    const struct scmp_arg_cmp no_code = SCMP_A2(SCMP_CMP_MASKED_EQ, PROT_EXEC, 0);
    const struct scmp_arg_cmp no_file = SCMP_A3(SCMP_CMP_MASKED_EQ, MAP_ANONYMOUS, MAP_ANONYMOUS);
    const struct scmp_arg_cmp may_move = SCMP_A3(SCMP_CMP_MASKED_EQ, ~(uint64_t)MREMAP_MAYMOVE, 0);
    int bad = 0;
    for (size_t n = 0; n < sizeof free_calls / sizeof *free_calls; n++)
        bad |= seccomp_rule_add(filter, ALLOW, free_calls[n], 0);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(read), 1, from_file);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(lseek), 1, from_file);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(write), 1, to_pipe);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(mmap), 2, no_code, no_file);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(mprotect), 1, no_code);
    bad |= seccomp_rule_add(filter, ALLOW, SCMP_SYS(mremap), 1, may_move);
    return bad;
}

static int close_the_gate(void)
{
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_KILL_PROCESS);
    if (!filter)
        return -1;
    /* Calls of another architecture's numbering (32-bit entry) are killed as well. */
    int bad = seccomp_attr_set(filter, SCMP_FLTATR_ACT_BADARCH, SCMP_ACT_KILL_PROCESS);
    bad |= seccomp_attr_set(filter, SCMP_FLTATR_CTL_NNP, 1);
    bad |= add_rules(filter);
    if (!bad)
        bad = seccomp_load(filter);
    seccomp_release(filter);
    return bad ? -1 : 0;
}

int confine_self(int file_fd, int pipe_fd, struct confine_limits limits, const char **why)
{
    *why = NULL;
    if (place_descriptors(file_fd, pipe_fd))
        *why = "descriptors";
    else if (prctl(PR_SET_DUMPABLE, 0, 0, 0, 0) || prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0))
        *why = "privileges";
    else if (set_limits(limits))
        *why = "limits";
    else if (close_the_gate())
        *why = "seccomp";
    return *why ? -1 : 0;
}
