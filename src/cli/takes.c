/* takes.c – which of the words typed are sound files and which name the passage. */
#include "cli.h"

#include <mistara/shelf.h>
#include <string.h>
#include <unistd.h>

static int looks_like_file(const char *word)
{
    return strpbrk(word, "/.") != NULL || access(word, F_OK) == 0;
}

enum mst_status takes_read(const struct command *self, const char *const *words, size_t count,
                           struct mst_arena *arena, struct takes_typed *out, struct mst_error *err)
{
    *out = (struct takes_typed){words, count, {NULL, 0}};
    if (count < 2)
        return mst_fail(err, MST_USAGE, "“mistara %s” needs %s", self->name, self->asks);
    size_t takes = count - 1;
    if (looks_like_file(words[takes]))
        return mst_fail(err, MST_USAGE,
                        "the passage comes last, after the takes; “%.60s” is a file. For example: "
                        "mistara %s take.mp3 67:1-5",
                        words[takes], self->name);
    while (takes > 1 && !looks_like_file(words[takes - 1]))
        takes--;
    struct mst_string passage = {0};
    for (size_t n = takes; n < count; n++)
        mst_string_addf(&passage, "%s%s", n > takes ? " " : "", words[n]);
    char *kept = passage.failed ? NULL : mst_arena_strndup(arena, passage.ptr, passage.len);
    out->take_count = takes;
    out->passage = (struct mst_span){kept, passage.len};
    mst_string_free(&passage);
    return kept ? MST_OK : mst_fail(err, MST_NO_MEMORY, "memory ran out");
}

enum mst_status take_refused(const char *path, enum mst_status status, struct mst_error *err)
{
    struct mst_error why = err ? *err : (struct mst_error){0};
    if ((status != MST_MISMATCH && status != MST_BAD_DATA) || strstr(why.message, path))
        return status;
    return mst_fail(err, status, "%.100s: %.360s", path, why.message);
}

enum mst_status voice_called(const char *name, const char *data, struct mst_voice **out,
                             struct mst_error *err)
{
    struct mst_shelf *shelf;
    *out = NULL;
    if (strchr(name, '/') || strchr(name, '.'))
        return mst_voice_load(name, out, err);
    enum mst_status status = mst_shelf_open(data, &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_get(shelf, name, out, err);
    mst_shelf_close(shelf);
    return status;
}
