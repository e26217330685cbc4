/*
 * files.c – a lesson's folder and the files it names. What a lesson names
 * stays inside its own folder: a lesson is handed from teacher to teacher, and
 * building it must not read anything else of the machine.
 */
#include "parts.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* "..", or "." or nothing between two strokes. */
static int steps_out(struct mst_span file, int *dots)
{
    for (size_t from = 0; from <= file.len;) {
        size_t end = from;
        while (end < file.len && file.ptr[end] != '/')
            end++;
        size_t len = end - from;
        *dots = len == 2 && memcmp(file.ptr + from, "..", 2) == 0;
        if (*dots || len == 0 || (len == 1 && file.ptr[from] == '.'))
            return 1;
        from = end + 1;
    }
    return 0;
}

static int form_holds(struct plan_source *s, int32_t line, const char *what, struct mst_span file)
{
    int dots = 0;
    if (file.len == 0)
        mst_plan_problem(s, line, 0, "the %s names no file; write its name in the folder", what);
    else if (file.len >= 1024)
        mst_plan_problem(s, line, 0, "the %s's file name is longer than 1023 bytes; shorten it",
                         what);
    else if (file.ptr[0] == '/' || file.ptr[0] == '~')
        mst_plan_problem(s, line, 0,
                         "“%.*s” is a place of this machine; copy the %s into the folder and name "
                         "it from there, such as takes/first.flac",
                         PLAN_SHOWN(file), what);
    else if (memchr(file.ptr, '\\', file.len))
        mst_plan_problem(s, line, 0, "“%.*s”: folders are parted by a stroke “/”, not by “\\”",
                         PLAN_SHOWN(file));
    else if (steps_out(file, &dots))
        mst_plan_problem(s, line, 0,
                         dots ? "“%.*s” leads out of the folder by “..”; copy the %s into it"
                              : "“%.*s” is no plain file name for a %s; leave out “.” and “//”",
                         PLAN_SHOWN(file), what);
    else
        return 1;
    return 0;
}

void mst_plan_file(struct plan_source *s, int32_t line, const char *what, struct mst_span file,
                   const char **path)
{
    *path = NULL;
    if (!form_holds(s, line, what, file) || !s->folder)
        return;
    char *home = realpath(s->folder, NULL);
    char *joined = mst_arena_printf(s->arena, "%s/%.*s", s->folder, (int)file.len, file.ptr);
    char *there = joined ? realpath(joined, NULL) : NULL;
    int errnum = errno;
    struct stat info;
    size_t len = home ? strlen(home) : 0;
    s->failed |= !joined;
    if (!home)
        mst_plan_problem(s, line, 0, "the folder “%.200s” cannot be read", s->folder);
    else if (!there)
        mst_plan_problem(s, line, 0,
                         errnum == ENOENT || errnum == ENOTDIR
                             ? "there is no file “%.*s” in the folder; put it there, or take the "
                               "line out"
                             : "“%.*s” cannot be read",
                         PLAN_SHOWN(file));
    else if (strncmp(there, home, len) != 0 || (there[len] != '/' && len > 1))
        mst_plan_problem(s, line, 0,
                         "“%.*s” is a link that leads out of the folder; copy the %s itself "
                         "into it",
                         PLAN_SHOWN(file), what);
    else if (stat(there, &info) != 0 || !S_ISREG(info.st_mode))
        mst_plan_problem(s, line, 0, "“%.*s” is not a file but a folder or a device",
                         PLAN_SHOWN(file));
    else
        *path = mst_plan_copy(s, mst_span_of(there));
    free(home);
    free(there);
}

enum mst_status mst_plan_load(const char *path, struct mst_arena *arena, struct mst_span *bytes,
                              const char **folder, struct mst_error *err)
{
    struct mst_map map;
    enum mst_status status = mst_map_open(path, &map, err);
    if (status != MST_OK)
        return status;
    if (map.len > PLAN_BYTES_MOST) {
        size_t len = map.len;
        mst_map_close(&map);
        return mst_fail(err, MST_BAD_DATA, "“%s” has %zu bytes; a lesson or course has at most %d",
                        path, len, PLAN_BYTES_MOST);
    }
    char *copy = mst_arena_strndup(arena, map.ptr ? (const char *)map.ptr : "", map.len);
    *bytes = (struct mst_span){copy, map.len};
    mst_map_close(&map);
    const char *stroke = strrchr(path, '/');
    *folder = !stroke          ? mst_arena_strndup(arena, ".", 1)
              : stroke == path ? mst_arena_strndup(arena, "/", 1)
                               : mst_arena_strndup(arena, path, (size_t)(stroke - path));
    return copy && *folder ? MST_OK : mst_fail(err, MST_NO_MEMORY, "memory ran out");
}
