/*
 * startup.c – how long a command takes from the start of its process to its
 * end, output thrown away; beside it /bin/true, which shows what the machine
 * asks for any process. The aim: `mistara sites 1:1` under 10 ms.
 *
 * Usage: startup PROGRAM
 */
#include "clock.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>

extern char **environ;

enum { ROUNDS = 101 };
static const double aim_ms = 10.0;

static double timeval_ms(struct timeval t)
{
    return (double)t.tv_sec * 1e3 + (double)t.tv_usec / 1e3;
}

/* Zero when it did not run or failed. */
static int run(char *const argv[], const posix_spawn_file_actions_t *actions, double *whole,
               double *used)
{
    pid_t pid;
    int status;
    struct rusage usage;
    double start = now_ms();
    if (posix_spawn(&pid, argv[0], actions, NULL, argv, environ) != 0 ||
        wait4(pid, &status, 0, &usage) != pid || status != 0)
        return 0;
    *whole = now_ms() - start;
    *used = timeval_ms(usage.ru_utime) + timeval_ms(usage.ru_stime);
    return 1;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    char *const program[] = {argv[1], "sites", "1:1", NULL};
    char *const nothing[] = {"/bin/true", NULL};
    double program_ms[ROUNDS], program_used[ROUNDS], nothing_ms[ROUNDS], nothing_used[ROUNDS];
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);

    for (int round = 0; round < ROUNDS; round++) {
        if (!run(program, &actions, &program_ms[round], &program_used[round]) ||
            !run(nothing, &actions, &nothing_ms[round], &nothing_used[round])) {
            fprintf(stderr, "%s sites 1:1 did not run\n", argv[1]);
            return 1;
        }
    }
    posix_spawn_file_actions_destroy(&actions);
    double took = median(program_ms, ROUNDS);
    printf("%-18s %6s %9s %15s   medians of %d runs, ms\n", "", "whole", "quickest", "processor",
           ROUNDS);
    printf("%-18s %6.2f %9.2f %15.2f\n", "mistara sites 1:1", took, program_ms[0],
           median(program_used, ROUNDS));
    double nothing_took = median(nothing_ms, ROUNDS);
    printf("%-18s %6.2f %9.2f %15.2f\n", "/bin/true", nothing_took, nothing_ms[0],
           median(nothing_used, ROUNDS));
    printf("aim: under %.0f ms: %s\n", aim_ms, took < aim_ms ? "held" : "MISSED");
    return 0;
}
