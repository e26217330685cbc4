/* shelf.c – learned voices in a folder that only its owner reads. */
#include <mistara/shelf.h>

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char ending[] = ".voice";
enum { NAME_BYTES_MAX = 60 };

struct mst_shelf {
    char folder[PATH_MAX]; /* that of the voices */
};

static enum mst_status folder_of(const char *folder, char out[PATH_MAX], struct mst_error *err)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    int len;
    if (folder)
        len = snprintf(out, PATH_MAX, "%s/voices", folder);
    else if (data && data[0] == '/') /* the XDG rules want an absolute path */
        len = snprintf(out, PATH_MAX, "%s/mistara/voices", data);
    else if (home && *home)
        len = snprintf(out, PATH_MAX, "%s/.local/share/mistara/voices", home);
    else
        return mst_fail(err, MST_USAGE,
                        "there is no home folder to keep voices in; name a folder with --data");
    if (len < 0 || len >= PATH_MAX)
        return mst_fail(err, MST_USAGE, "the path of the data folder is too long");
    return MST_OK;
}

enum mst_status mst_shelf_open(const char *folder, struct mst_shelf **out, struct mst_error *err)
{
    *out = NULL;
    if (folder && !*folder)
        return mst_fail(err, MST_USAGE, "the data folder has no name");
    struct mst_shelf *shelf = calloc(1, sizeof *shelf);
    if (!shelf)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    enum mst_status status = folder_of(folder, shelf->folder, err);
    if (status != MST_OK) {
        free(shelf);
        return status;
    }
    *out = shelf;
    return MST_OK;
}

void mst_shelf_close(struct mst_shelf *shelf)
{
    free(shelf);
}

const char *mst_shelf_folder(const struct mst_shelf *shelf)
{
    return shelf->folder;
}

static int is_letter_or_digit(uint32_t cp)
{
    if (cp < 0x80)
        return (cp >= '0' && cp <= '9') || (cp >= 'a' && cp <= 'z') || (cp >= 'A' && cp <= 'Z');
    /* Any script, but no spaces, separators, directions or other invisible signs. */
    return cp >= 0xC0 && cp != 0xFFFD && cp != 0xFEFF && !(cp >= 0x2000 && cp <= 0x20CF) &&
           !(cp >= 0x3000 && cp <= 0x3004) && !(cp >= 0xE000 && cp <= 0xF8FF) && cp < 0xE0000 &&
           cp != 0x61C && cp != 0x1680 && cp != 0x180E;
}

enum mst_status mst_shelf_check_name(const char *name, struct mst_error *err)
{
    size_t len = strlen(name), at = 0;
    int good = len > 0 && len <= NAME_BYTES_MAX && name[len - 1] != ' ';
    for (int first = 1; good && at < len; first = 0) {
        uint32_t cp = mst_utf8_next(name, len, &at);
        good = is_letter_or_digit(cp) || (!first && (cp == ' ' || cp == '-' || cp == '_'));
    }
    if (good)
        return MST_OK;
    return mst_fail(err, MST_USAGE,
                    "“%.60s” cannot be a voice's name: use letters, digits, blanks, - and _, at "
                    "most %d bytes, beginning with a letter or digit",
                    name, NAME_BYTES_MAX);
}

static enum mst_status path_of(const struct mst_shelf *shelf, const char *name, char out[PATH_MAX],
                               struct mst_error *err)
{
    enum mst_status status = mst_shelf_check_name(name, err);
    if (status != MST_OK)
        return status;
    int len = snprintf(out, PATH_MAX, "%s/%s%s", shelf->folder, name, ending);
    if (len < 0 || len >= PATH_MAX)
        return mst_fail(err, MST_USAGE, "the path of the data folder is too long");
    return MST_OK;
}

/* The folder and those above it that are not there yet, all private. */
static enum mst_status folder_make(const char *folder, struct mst_error *err)
{
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s", folder);
    for (char *slash = path + 1;; slash++) {
        slash = strchr(slash, '/');
        if (slash)
            *slash = '\0';
        if (mkdir(path, 0700) != 0 && errno != EEXIST)
            return mst_fail_errno(err, MST_IO, errno,
                                  "the folder “%.200s” for voices cannot be made", path);
        if (!slash)
            break;
        *slash = '/';
    }
    if (chmod(folder, 0700) != 0)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made private",
                              folder);
    return MST_OK;
}

enum mst_status mst_shelf_put(struct mst_shelf *shelf, const char *name,
                              const struct mst_voice *voice, struct mst_error *err)
{
    char path[PATH_MAX];
    enum mst_status status = path_of(shelf, name, path, err);
    if (status == MST_OK)
        status = folder_make(shelf->folder, err);
    if (status == MST_OK)
        status = mst_voice_save(voice, path, err); /* private by its folder from the first byte */
    if (status == MST_OK && chmod(path, 0600) != 0)
        status = mst_fail_errno(err, MST_IO, errno, "the voice “%s” cannot be made private", name);
    return status;
}

static int is_there(const char *path)
{
    struct stat st;
    return lstat(path, &st) == 0 && S_ISREG(st.st_mode);
}

static enum mst_status no_such_voice(struct mst_shelf *shelf, const char *name,
                                     struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    const char *const *names;
    size_t count = 0;
    struct mst_string list = {0};
    struct mst_error ignored;
    if (arena && mst_shelf_list(shelf, arena, &names, &count, &ignored) == MST_OK)
        for (size_t n = 0; n < count && n < 8; n++)
            mst_string_addf(&list, "%s%s", n ? ", " : "", names[n]);
    if (list.ptr && !list.failed)
        mst_fail(err, MST_NOT_FOUND, "there is no voice “%s”; there are: %.300s", name, list.ptr);
    else
        mst_fail(err, MST_NOT_FOUND,
                 "there is no voice “%s”, nor any other; “mistara voice learn” learns one", name);
    mst_string_free(&list);
    mst_arena_free(arena);
    return MST_NOT_FOUND;
}

enum mst_status mst_shelf_get(struct mst_shelf *shelf, const char *name, struct mst_voice **out,
                              struct mst_error *err)
{
    char path[PATH_MAX];
    *out = NULL;
    enum mst_status status = path_of(shelf, name, path, err);
    if (status == MST_OK && !is_there(path))
        status = no_such_voice(shelf, name, err);
    if (status == MST_OK)
        status = mst_voice_load(path, out, err);
    return status;
}

enum mst_status mst_shelf_forget(struct mst_shelf *shelf, const char *name, struct mst_error *err)
{
    char path[PATH_MAX];
    enum mst_status status = path_of(shelf, name, path, err);
    if (status == MST_OK && !is_there(path))
        status = no_such_voice(shelf, name, err);
    if (status == MST_OK && unlink(path) != 0)
        status = mst_fail_errno(err, MST_IO, errno, "the voice “%s” cannot be forgotten", name);
    return status;
}

static int by_bytes(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

enum mst_status mst_shelf_list(struct mst_shelf *shelf, struct mst_arena *arena,
                               const char *const **out, size_t *count, struct mst_error *err)
{
    *out = NULL;
    *count = 0;
    DIR *dir = opendir(shelf->folder);
    if (!dir && errno == ENOENT)
        return MST_OK;
    if (!dir)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be read",
                              shelf->folder);
    const char **names = NULL;
    size_t room = 0;
    enum mst_status status = MST_OK;
    for (struct dirent *entry; status == MST_OK && (entry = readdir(dir)) != NULL;) {
        size_t len = strlen(entry->d_name), tail = sizeof ending - 1;
        if (len <= tail || strcmp(entry->d_name + len - tail, ending) != 0)
            continue;
        char *name = mst_arena_strndup(arena, entry->d_name, len - tail);
        if (name && mst_shelf_check_name(name, NULL) != MST_OK)
            continue;
        if (*count == room) {
            const char **grown = realloc(names, (room = 2 * room + 16) * sizeof *names);
            names = grown ? grown : names;
            name = grown ? name : NULL;
        }
        if (name)
            names[(*count)++] = name;
        else
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while listing the voices");
    }
    closedir(dir);
    const char **kept = NULL;
    if (status == MST_OK && *count > 0) {
        qsort(names, *count, sizeof *names, by_bytes);
        kept = mst_arena_alloc(arena, *count, sizeof *kept);
        if (kept)
            memcpy(kept, names, *count * sizeof *kept);
        else
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while listing the voices");
    }
    free(names);
    *out = kept;
    return status;
}
