#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[] = P_tmpdir "/mistara-test-XXXXXX";

int folder_make(void **state)
{
    (void)state;
    const char *build = getenv("MISTARA_BUILD_ROOT"), *path = getenv("PATH");
    if (!build || !mkdtemp(folder) || chdir(folder) != 0)
        return -1;
    char *with_build = NULL;
    if (asprintf(&with_build, "%s:%s", build, path ? path : "/usr/bin:/bin") < 0)
        return -1;
    int failed = setenv("PATH", with_build, 1);
    free(with_build);
    return failed;
}

int folder_remove(void **state)
{
    (void)state;
    char command[sizeof folder + 16];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return chdir("/") != 0 || system(command) != 0;
}

char *file_read(const char *path, size_t *len)
{
    FILE *f = fopen(path, "rb");
    if (!f)
        fail_msg("%s is not there", path);
    struct stat st;
    assert_int_equal(fstat(fileno(f), &st), 0);
    char *bytes = malloc((size_t)st.st_size + 1);
    assert_non_null(bytes);
    size_t got = fread(bytes, 1, (size_t)st.st_size, f);
    fclose(f);
    bytes[got] = '\0';
    if (len)
        *len = got;
    return bytes;
}

int file_exists(const char *path)
{
    return access(path, F_OK) == 0;
}

const char *source_path(const char *name)
{
    static char path[4096];
    const char *root = getenv("MISTARA_SOURCE_ROOT");
    assert_non_null(root);
    snprintf(path, sizeof path, "%s/%s", root, name);
    return path;
}

static struct run run_line(const char *line)
{
    struct run r = {0};
    char *whole = NULL;
    assert_true(asprintf(&whole, "{ %s\n} >.stdout 2>.stderr </dev/null", line) > 0);
    int status = system(whole);
    free(whole);
    r.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    r.out = file_read(".stdout", &r.out_len);
    r.err = file_read(".stderr", NULL);
    return r;
}

struct run run(const char *fmt, ...)
{
    char line[4096];
    va_list args;
    va_start(args, fmt);
    vsnprintf(line, sizeof line, fmt, args);
    va_end(args);
    return run_line(line);
}

void run_free(struct run *r)
{
    free(r->out);
    free(r->err);
    *r = (struct run){0};
}

struct run run_well(const char *fmt, ...)
{
    char line[4096];
    va_list args;
    va_start(args, fmt);
    vsnprintf(line, sizeof line, fmt, args);
    va_end(args);
    struct run r = run_line(line);
    if (r.code != 0 || *r.err)
        fail_msg("%s\n→ exit code %d, %s", line, r.code, r.err);
    return r;
}

void run_fails(int code, const char *words, const char *fmt, ...)
{
    char line[4096];
    va_list args;
    va_start(args, fmt);
    vsnprintf(line, sizeof line, fmt, args);
    va_end(args);
    struct run r = run_line(line);
    const char *end = strchr(r.err, '\n');
    if (r.code != code || r.out_len != 0 || strncmp(r.err, "mistara: ", 9) != 0 ||
        !strstr(r.err, words) || !end || end[1] != '\0')
        fail_msg("%s\n→ exit code %d (%d expected), stdout “%.200s”, stderr “%s” (“%s” expected)",
                 line, r.code, code, r.out, r.err, words);
    run_free(&r);
}

json_t *json_lines(const char *text)
{
    json_t *lines = json_array();
    for (const char *at = text; *at;) {
        const char *end = strchr(at, '\n');
        if (!end)
            fail_msg("the last line of JSON does not end: %.200s", at);
        json_error_t error;
        json_t *line = json_loadb(at, (size_t)(end - at), JSON_REJECT_DUPLICATES, &error);
        if (!json_is_object(line))
            fail_msg("no JSON object (%s): %.*s", error.text, (int)(end - at), at);
        json_array_append_new(lines, line);
        at = end + 1;
    }
    return lines;
}

const char *text_of(const json_t *object, const char *key)
{
    return json_string_value(json_object_get(object, key));
}
