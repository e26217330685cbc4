/*
 * Starts the real decoder on a system that knows no seccomp: the calls that
 * would install a filter answer as an old kernel does. For walls.c.
 */
#include <errno.h>
#include <linux/seccomp.h>
#include <seccomp.h>
#include <sys/prctl.h>
#include <unistd.h>

int main(int argc, char **argv)
{
    (void)argc;
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ALLOW);
    if (!filter || seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(seccomp), 0) ||
        seccomp_rule_add(filter, SCMP_ACT_ERRNO(EINVAL), SCMP_SYS(prctl), 1,
                         SCMP_A0(SCMP_CMP_EQ, PR_SET_SECCOMP)) ||
        seccomp_load(filter))
        return 1;
    execv(REAL_DECODER, argv);
    return 1;
}
