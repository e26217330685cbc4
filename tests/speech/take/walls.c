/*
 * That a process confined as the decoder is can do nothing but decode, tried
 * from inside; that the decoder at work is confined like that; and that
 * without confinement nothing is decoded.
 */
#include "sound.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *probe, *missing;

static const char *const forbidden[] = {
    "open",     "openat",         "openat2",         "creat",      "stat",
    "unlink",   "rename",         "chmod",           "socket",     "socketpair",
    "connect",  "sendto",         "execve",          "execveat",   "fork",
    "clone",    "clone3",         "kill_parent",     "ptrace",     "peek",
    "dup",      "read_elsewhere", "write_elsewhere", "write_file", "truncate_file",
    "pipe",     "memfd",          "ioctl",           "fcntl",      "map_code",
    "map_file", "make_code",      "prctl",           "loosen",     "seccomp",
    "unshare",  "chroot",         "setuid",          "io_uring",   "bpf",
    "shmget",
};

static int setup(void **state)
{
    (void)state;
    folder_open();
    write_bytes(in_folder("file"), "abc", 3);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    folder_close();
    return 0;
}

/* Start the probe; *out is the reading end of what it says. */
static pid_t start(const char *what, int file_fd, int *out)
{
    int ends[2];
    char file[16], pipe_fd[16];
    assert_int_equal(pipe(ends), 0);
    fcntl(ends[0], F_SETFD, FD_CLOEXEC);
    snprintf(file, sizeof file, "%d", file_fd);
    snprintf(pipe_fd, sizeof pipe_fd, "%d", ends[1]);
    pid_t pid = fork();
    if (pid == 0) {
        execl(probe, "walls-probe", file, pipe_fd, what, (char *)NULL);
        _exit(66);
    }
    close(ends[1]);
    *out = ends[0];
    return pid;
}

static int finish(pid_t pid, int out, char *said, size_t size)
{
    size_t have = 0;
    for (ssize_t n; have + 1 < size && (n = read(out, said + have, size - 1 - have)) > 0;)
        have += (size_t)n;
    said[have] = 0;
    close(out);
    int status = -1;
    assert_int_equal(waitpid(pid, &status, 0), pid);
    return status;
}

static int run(const char *what, char *said, size_t size)
{
    int file = open(in_folder("file"), O_RDWR | O_CLOEXEC), out;
    assert_true(file >= 0);
    int passed = fcntl(file, F_DUPFD, 20);
    pid_t pid = start(what, passed, &out);
    close(file);
    close(passed);
    return finish(pid, out, said, size);
}

static void every_forbidden_call_ends_the_process(void **state)
{
    (void)state;
    char said[16];
    for (size_t n = 0; n < sizeof forbidden / sizeof *forbidden; n++) {
        int status = run(forbidden[n], said, sizeof said);
        if (strcmp(said, "in") != 0 || !WIFSIGNALED(status) || WTERMSIG(status) != SIGSYS)
            fail_msg("%s: said “%s”, status %x", forbidden[n], said, (unsigned)status);
    }
    size_t size;
    unsigned char *bytes = read_bytes(in_folder("file"), &size);
    assert_int_equal(size, 3);
    free(bytes);
    print_message("%zu forbidden calls, each ended its process\n",
                  sizeof forbidden / sizeof *forbidden);
}

static void what_decoding_needs_is_allowed(void **state)
{
    (void)state;
    char said[16];
    int status = run("work", said, sizeof said);
    assert_string_equal(said, "in");
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void memory_time_and_stack_end(void **state)
{
    (void)state;
    char said[16];
    int status = run("memory", said, sizeof said);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    status = run("time", said, sizeof said);
    assert_true(WIFSIGNALED(status) &&
                (WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL));
    status = run("stack", said, sizeof said);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGSEGV);
}

/* A line of /proc/PID/status or limits that begins with key, without key. */
static void proc_line(pid_t pid, const char *file, const char *key, char *line, int size)
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/%s", pid, file);
    FILE *f = fopen(path, "r");
    assert_non_null(f);
    char text[256];
    line[0] = 0;
    while (fgets(text, sizeof text, f))
        if (strncmp(text, key, strlen(key)) == 0)
            snprintf(line, (size_t)size, "%s", text + strlen(key));
    fclose(f);
    if (!line[0])
        fail_msg("%s has no %s", path, key);
}

static void check_confined(pid_t pid)
{
    char line[256];
    proc_line(pid, "status", "Seccomp:", line, sizeof line);
    assert_int_equal(atoi(line), 2);
    proc_line(pid, "status", "NoNewPrivs:", line, sizeof line);
    assert_int_equal(atoi(line), 1);
    static const char *const zero[] = {"Max file size", "Max core file size", "Max open files",
                                       "Max processes", "Max locked memory"};
    for (size_t n = 0; n < sizeof zero / sizeof *zero; n++) {
        proc_line(pid, "limits", zero[n], line, sizeof line);
        if (strtol(line, NULL, 10) != 0 || strstr(line, "unlimited"))
            fail_msg("%s is %s", zero[n], line);
    }
    proc_line(pid, "limits", "Max address space", line, sizeof line);
    assert_true(strtoll(line, NULL, 10) > 0 && strtoll(line, NULL, 10) < 1 << 30);
    proc_line(pid, "limits", "Max cpu time", line, sizeof line);
    assert_true(atoi(line) > 0 && atoi(line) <= 600);
}

static int descriptors(pid_t pid)
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/fd", pid);
    DIR *dir = opendir(path);
    if (!dir)
        return -1; /* not dumpable: only root may look */
    int count = 0;
    for (struct dirent *e; (e = readdir(dir));)
        count += e->d_name[0] != '.';
    closedir(dir);
    return count;
}

static void the_walls_can_be_seen_from_outside(void **state)
{
    (void)state;
    int file[2], out;
    char said[16] = "";
    assert_int_equal(pipe(file), 0);
    fcntl(file[1], F_SETFD, FD_CLOEXEC);
    pid_t pid = start("wait", file[0], &out);
    close(file[0]);
    for (size_t have = 0; have < 3;) {
        ssize_t n = read(out, said + have, 3 - have);
        assert_true(n > 0);
        have += (size_t)n;
    }
    assert_string_equal(said, "inw");
    check_confined(pid);
    int count = descriptors(pid);
    assert_true(count == -1 || count == 5); /* three standard ones, the file, the pipe */
    close(file[1]);
    int status = finish(pid, out, said, sizeof said);
    assert_true(WIFEXITED(status));
}

/* --- the decoder itself ---------------------------------------------------------------- */

static pid_t parent_of(pid_t pid)
{
    char line[64];
    proc_line(pid, "status", "PPid:", line, sizeof line);
    return atoi(line);
}

/* The process that stands under the decoder that stands under this test. */
static pid_t find_confined(void)
{
    DIR *dir = opendir("/proc");
    assert_non_null(dir);
    pid_t found = 0;
    for (struct dirent *e; (e = readdir(dir));) {
        char path[300], name[32] = "";
        pid_t pid = atoi(e->d_name);
        if (pid <= 0)
            continue;
        snprintf(path, sizeof path, "/proc/%d/comm", pid);
        FILE *f = fopen(path, "r");
        if (!f)
            continue;
        if (fgets(name, sizeof name, f) && strcmp(name, "mistara-decode\n") == 0) {
            pid_t above = parent_of(pid);
            if (above > 1 && above != getpid() && parent_of(above) == getpid())
                found = pid;
        }
        fclose(f);
    }
    closedir(dir);
    return found;
}

/* Long enough that the decoder still has most of it to do, waiting for the pipe. */
static const char *long_file(void)
{
    enum { COUNT = 16000 * 120 };
    float *samples = calloc(COUNT, sizeof *samples);
    assert_non_null(samples);
    add_noise(samples, COUNT, 0.1, 9);
    const char *path = in_folder("long.wav");
    write_wav(path, (struct wav){16000, 1, 16, 0}, samples, COUNT);
    free(samples);
    return path;
}

static void the_decoder_at_work_is_confined(void **state)
{
    (void)state;
    const char *path = long_file();
    struct mst_take *take;
    struct mst_error err;
    float block[100];
    size_t got;
    assert_int_equal(mst_take_open(&path, 1, NULL, &take, &err), MST_OK);
    assert_int_equal(mst_take_read(take, block, 100, &got, &err), MST_OK);
    pid_t pid = find_confined();
    assert_true(pid > 0);
    check_confined(pid);
    int count = descriptors(pid);
    assert_true(count == -1 || count == 5);
    mst_take_close(take);
    /* And it goes when the take goes. */
    for (int n = 0; n < 100 && find_confined(); n++)
        usleep(20000);
    assert_int_equal(find_confined(), 0);
}

static void a_decoder_that_dies_leaves_what_it_gave(void **state)
{
    (void)state;
    const char *path = long_file();
    struct mst_take *take;
    struct mst_error err;
    float block[100];
    size_t got;
    assert_int_equal(mst_take_open(&path, 1, NULL, &take, &err), MST_OK);
    assert_int_equal(mst_take_read(take, block, 100, &got, &err), MST_OK);
    pid_t pid = find_confined();
    assert_true(pid > 0);
    kill(pid, SIGKILL);
    assert_int_equal(mst_take_read_all(take, &err), MST_OK);
    assert_true(mst_take_sample_count(take) < 16000 * 120);
    assert_true(has_warning(take, MST_TAKE_CUT_SHORT));
    mst_take_close(take);
}

static void a_decoder_that_hangs_is_given_up(void **state)
{
    (void)state;
    const char *path = long_file();
    struct mst_take_options options = {.patience_s = 0.5};
    struct mst_take *take;
    struct mst_error err;
    float block[100];
    size_t got;
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read(take, block, 100, &got, &err), MST_OK);
    pid_t pid = find_confined();
    assert_true(pid > 0);
    kill(pid, SIGSTOP);
    assert_int_equal(mst_take_read_all(take, &err), MST_IO);
    assert_non_null(strstr(err.message, "without result"));
    mst_take_close(take);
    for (int n = 0; n < 100 && find_confined(); n++)
        usleep(20000);
    assert_int_equal(find_confined(), 0);
}

static void without_confinement_nothing_is_decoded(void **state)
{
    (void)state;
    const char *path = long_file();
    struct mst_take_options options = {.decoder_path = missing};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_UNSUPPORTED);
    assert_non_null(strstr(err.message, "confine"));
    assert_int_equal(mst_take_sample_count(take), 0);
    mst_take_close(take);
}

static void a_missing_or_foreign_decoder_is_said(void **state)
{
    (void)state;
    const char *path = in_folder("file");
    struct mst_take_options options = {.decoder_path = "/nowhere/mistara-decode"};
    struct mst_take *take;
    struct mst_error err;
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_UNSUPPORTED);
    assert_non_null(strstr(err.message, "/nowhere/mistara-decode"));
    options.decoder_path = "/bin/true";
    assert_int_equal(mst_take_open(&path, 1, &options, &take, &err), MST_OK);
    assert_int_equal(mst_take_read_all(take, &err), MST_UNSUPPORTED);
    mst_take_close(take);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_forbidden_call_ends_the_process),
        cmocka_unit_test(what_decoding_needs_is_allowed),
        cmocka_unit_test(memory_time_and_stack_end),
        cmocka_unit_test(the_walls_can_be_seen_from_outside),
        cmocka_unit_test(the_decoder_at_work_is_confined),
        cmocka_unit_test(a_decoder_that_dies_leaves_what_it_gave),
        cmocka_unit_test(a_decoder_that_hangs_is_given_up),
        cmocka_unit_test(without_confinement_nothing_is_decoded),
        cmocka_unit_test(a_missing_or_foreign_decoder_is_said),
    };
    if (argc < 3)
        return 64;
    probe = argv[1];
    missing = argv[2];
    return cmocka_run_group_tests(tests, setup, teardown);
}
