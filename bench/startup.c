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
#include <sys/wait.h>

extern char **environ;

enum { ROUNDS = 101 };
static const double aim_ms = 10.0;

/* Negative when it did not run or failed. */
static double run_ms(char *const argv[], const posix_spawn_file_actions_t *actions)
{
    pid_t pid;
    int status;
    double start = now_ms();
    if (posix_spawn(&pid, argv[0], actions, NULL, argv, environ) != 0 ||
        waitpid(pid, &status, 0) != pid || status != 0)
        return -1;
    return now_ms() - start;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    char *const program[] = {argv[1], "sites", "1:1", NULL};
    char *const nothing[] = {"/bin/true", NULL};
    double program_ms[ROUNDS], nothing_ms[ROUNDS];
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);

    for (int round = 0; round < ROUNDS; round++) {
        program_ms[round] = run_ms(program, &actions);
        nothing_ms[round] = run_ms(nothing, &actions);
        if (program_ms[round] < 0 || nothing_ms[round] < 0) {
            fprintf(stderr, "%s sites 1:1 did not run\n", argv[1]);
            return 1;
        }
    }
    posix_spawn_file_actions_destroy(&actions);
    double took = median(program_ms, ROUNDS);
    printf("mistara sites 1:1  %6.2f ms (quickest %.2f; /bin/true: %.2f), median of %d runs\n",
           took, program_ms[0], median(nothing_ms, ROUNDS), ROUNDS);
    printf("aim: under %.0f ms: %s\n", aim_ms, took < aim_ms ? "held" : "MISSED");
    return 0;
}
