/*
 * helper.c – starting the programs that do for the library what it does not do
 * in its own process: decode what it does not trust, load what is slow to load.
 */
#include <fcntl.h>
#include <mistara/base.h>
#include <signal.h>
#include <spawn.h>

int mst_helper_start(const char *path, char *const argv[], int socket, int number, int own_group,
                     pid_t *pid)
{
    char *const env[] = {(char *)"TZ=UTC0", (char *)"LC_ALL=C", NULL};
    int flags = POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF;
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attr;
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    int rc = posix_spawn_file_actions_init(&files);
    if (rc)
        return rc;
    rc = posix_spawnattr_init(&attr);
    if (rc) {
        posix_spawn_file_actions_destroy(&files);
        return rc;
    }
    rc = posix_spawn_file_actions_adddup2(&files, socket, number);
    for (int fd = 0; fd < 3 && !rc; fd++)
        if (fd != number)
            rc = posix_spawn_file_actions_addopen(&files, fd, "/dev/null", O_RDWR, 0);
    if (!rc)
        rc = posix_spawnattr_setsigmask(&attr, &none);
    if (!rc)
        rc = posix_spawnattr_setsigdefault(&attr, &all);
    if (!rc)
        rc = posix_spawnattr_setflags(&attr,
                                      (short)(flags | (own_group ? POSIX_SPAWN_SETPGROUP : 0)));
    if (!rc)
        rc = posix_spawn(pid, path, &files, &attr, argv, env);
    posix_spawnattr_destroy(&attr);
    posix_spawn_file_actions_destroy(&files);
    return rc;
}
