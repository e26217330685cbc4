/* store.c – the data folder: opened, locked, brought forward, closed. */
#include "store.h"
#include "schema.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <limits.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { LEASE_MS = 30000 };

enum mst_status store_no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the book");
}

char *store_path(const struct mst_store *store, struct mst_arena *arena, const char *fmt, ...)
{
    char rest[256];
    va_list args;
    va_start(args, fmt);
    vsnprintf(rest, sizeof rest, fmt, args);
    va_end(args);
    return mst_arena_printf(arena, "%s/%s", store->folder, rest);
}

enum mst_status store_folder_make(const char *path, struct mst_error *err)
{
    struct stat st;
    if (mkdir(path, 0700) != 0 && errno != EEXIST)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", path);
    if (stat(path, &st) != 0 || !S_ISDIR(st.st_mode))
        return mst_fail(err, MST_IO, "“%.200s” is in the way: it is no folder", path);
    return MST_OK;
}

/* With the folders above it; only the last one is made private. */
static enum mst_status folder_and_parents(const char *path, struct mst_error *err)
{
    char part[PATH_MAX];
    if (strlen(path) >= sizeof part)
        return mst_fail(err, MST_USAGE, "the name of the data folder is too long");
    for (const char *at = strchr(path + 1, '/'); at; at = strchr(at + 1, '/')) {
        snprintf(part, sizeof part, "%.*s", (int)(at - path), path);
        if (mkdir(part, 0755) != 0 && errno != EEXIST)
            return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made", part);
    }
    enum mst_status status = store_folder_make(path, err);
    if (status == MST_OK && chmod(path, 0700) != 0)
        status =
            mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be made private", path);
    return status;
}

/* What arrives at another server just now stays. */
static void folder_empty_of_old(const char *path)
{
    char below[PATH_MAX];
    DIR *dir = opendir(path);
    if (!dir)
        return;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;)
        if (snprintf(below, sizeof below, "%s/%s", path, entry->d_name) < (int)sizeof below &&
            mst_store_is_id(entry->d_name) && store_file_is_old(below))
            unlink(below);
    closedir(dir);
}

/* Depth: a build that was killed may leave its own folder with one for slides in it. */
static void folder_empty(const char *path, int depth)
{
    DIR *dir = opendir(path);
    if (!dir)
        return;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        char below[PATH_MAX];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        if (unlinkat(dirfd(dir), entry->d_name, 0) == 0 || depth == 0 ||
            snprintf(below, sizeof below, "%s/%s", path, entry->d_name) >= (int)sizeof below)
            continue;
        folder_empty(below, depth - 1);
        unlinkat(dirfd(dir), entry->d_name, AT_REMOVEDIR);
    }
    closedir(dir);
}

enum mst_status store_folder_remove(const char *path, struct mst_error *err)
{
    folder_empty(path, 4);
    if (rmdir(path) != 0 && errno != ENOENT)
        return mst_fail_errno(err, MST_IO, errno, "the folder “%.200s” cannot be removed", path);
    return MST_OK;
}

static int sync_one(const char *path, const struct stat *info, int kind, struct FTW *at)
{
    (void)info;
    (void)at;
    if (kind != FTW_F && kind != FTW_DP)
        return ENOTSUP;
    int fd = open(path, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
    int errnum = fd < 0 || fsync(fd) != 0 ? errno : 0;
    if (fd >= 0)
        close(fd);
    return errnum;
}

int store_folder_sync(const char *path)
{
    enum { FOLDERS_OPEN = 8 };
    int errnum = nftw(path, sync_one, FOLDERS_OPEN, FTW_DEPTH | FTW_PHYS);
    return errnum < 0 ? errno : errnum;
}

static char *folder_chosen(const char *folder)
{
    char *chosen = NULL;
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (folder)
        chosen = strdup(folder);
    else if (data && data[0] == '/')
        chosen = asprintf(&chosen, "%s/mistara", data) < 0 ? NULL : chosen;
    else if (home && home[0] == '/')
        chosen = asprintf(&chosen, "%s/.local/share/mistara", home) < 0 ? NULL : chosen;
    for (size_t len = chosen ? strlen(chosen) : 0; len > 1 && chosen[len - 1] == '/'; len--)
        chosen[len - 1] = '\0';
    return chosen;
}

/* A book in the folder itself has it alone; where the rows are elsewhere several share it. */
static enum mst_status lock_folder(struct mst_store *store, struct mst_error *err)
{
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s/lock", store->folder);
    store->lock_fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (store->lock_fd < 0)
        return mst_fail_errno(err, MST_IO, errno, "the data folder “%.200s” cannot be written to",
                              store->folder);
    if (flock(store->lock_fd, (store->shared ? LOCK_SH : LOCK_EX) | LOCK_NB) != 0)
        return mst_fail(err, MST_UNSUPPORTED,
                        "the data folder “%.200s” is in use by another Mistara; stop that one "
                        "first, or choose another folder with --data",
                        store->folder);
    return MST_OK;
}

static enum mst_status left_over(struct mst_store *store, struct mst_error *err)
{
    enum mst_status status = store_held_forget(store, err);
    if (status == MST_OK)
        status = store_doomed_work_off(store, 0, err);
    /* With many recordings the rest takes a while: where others are at work it has its hour. */
    return status == MST_OK && !store->shared ? mst_store_tidy(store, err) : status;
}

enum mst_status mst_store_tidy(struct mst_store *store, struct mst_error *err)
{
    enum mst_status status = store_held_forget(store, err);
    if (status == MST_OK)
        status = store_sound_sweep(store, err);
    if (status == MST_OK)
        status = store_orphans_sweep(store, err);
    if (status == MST_OK)
        status = store_uploads_sweep(store, err);
    return status;
}

static enum mst_status folders_make(struct mst_store *store, struct mst_error *err)
{
    static const char *const folders[] = {"sound", "reports", "work", "incoming", "uploads"};
    char path[PATH_MAX];
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < sizeof folders / sizeof folders[0] && status == MST_OK; n++) {
        snprintf(path, sizeof path, "%s/%s", store->folder, folders[n]);
        status = store_folder_make(path, err);
    }
    snprintf(path, sizeof path, "%s/incoming", store->folder);
    if (status == MST_OK && store->shared)
        folder_empty_of_old(path);
    else if (status == MST_OK)
        folder_empty(path, 2);
    return status;
}

static enum mst_status book_open(struct mst_store *store, const char *database, int version,
                                 struct mst_error *err)
{
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s/mistara.db", store->folder);
    enum mst_status status = MST_OK;
    if (!database)
        status = db_open(&store->db, &db_sqlite, path, err);
#ifdef MISTARA_POSTGRESQL
    else if (access(path, F_OK) == 0)
        status = mst_fail(err, MST_UNSUPPORTED,
                          "the folder “%.200s” has a book of its own (mistara.db); take another "
                          "folder beside the database",
                          store->folder);
    else
        status = db_open(&store->db, &db_postgresql, database, err);
#else
    else
        status = mst_fail(err, MST_UNSUPPORTED, "this Mistara was built without PostgreSQL");
#endif
    if (status == MST_OK)
        status =
            store->db.backend->migrate(store->db.lines[0].handle, version, &store->version, err);
    return status;
}

enum mst_status store_new(const struct mst_store_options *options, struct mst_store **out,
                          struct mst_error *err)
{
    *out = NULL;
    if (sodium_init() < 0)
        return mst_fail(err, MST_UNSUPPORTED, "this machine gives no random numbers");
    struct mst_store *store = calloc(1, sizeof *store);
    if (!store)
        return store_no_memory(err);
    store->lock_fd = -1;
    store->shared = options->database != NULL;
    store->lease_ms = options->lease_ms > 0 ? options->lease_ms : LEASE_MS;
    mst_store_new_id(store->owner);
    pthread_mutex_init(&store->db.lock, NULL);
    pthread_cond_init(&store->db.freed, NULL);
    for (int n = 0; n < UPLOAD_LOCKS; n++)
        pthread_mutex_init(&store->upload_locks[n], NULL);
    store->folder = folder_chosen(options->folder);
    if (!store->folder) {
        mst_store_close(store);
        return mst_fail(err, MST_USAGE,
                        "there is no home folder to keep data in; name one with --data");
    }
    *out = store;
    return MST_OK;
}

enum mst_status store_open_at(const struct mst_store_options *options, int version,
                              struct mst_store **out, struct mst_error *err)
{
    struct mst_store *store;
    *out = NULL;
    enum mst_status status = store_new(options, &store, err);
    if (status != MST_OK)
        return status;
    status = folder_and_parents(store->folder, err);
    if (status == MST_OK)
        status = lock_folder(store, err);
    if (status == MST_OK)
        status = folders_make(store, err);
    if (status == MST_OK)
        status = book_open(store, options->database, version, err);
    if (status == MST_OK && store->shared)
        status = store_folder_belongs(store, err);
    if (status == MST_OK && store->version == SCHEMA_VERSION)
        status = store_mentions_fill(store, err);
    /* What was on its way out, or never came to be named, when the last one ended. */
    if (status == MST_OK && store->version == SCHEMA_VERSION)
        status = left_over(store, err);
    if (status != MST_OK) {
        mst_store_close(store);
        return status;
    }
    *out = store;
    return MST_OK;
}

enum mst_status mst_store_open_with(const struct mst_store_options *options, struct mst_store **out,
                                    struct mst_error *err)
{
    return store_open_at(options, SCHEMA_VERSION, out, err);
}

enum mst_status mst_store_open(const char *folder, struct mst_store **out, struct mst_error *err)
{
    return mst_store_open_with(&(struct mst_store_options){.folder = folder}, out, err);
}

int mst_store_shared(const struct mst_store *store)
{
    return store->shared;
}

void mst_store_close(struct mst_store *store)
{
    if (!store)
        return;
    db_close(&store->db);
    if (store->lock_fd >= 0)
        close(store->lock_fd);
    pthread_mutex_destroy(&store->db.lock);
    pthread_cond_destroy(&store->db.freed);
    for (int n = 0; n < UPLOAD_LOCKS; n++)
        pthread_mutex_destroy(&store->upload_locks[n]);
    free(store->folder);
    free(store);
}

const char *mst_store_folder(const struct mst_store *store)
{
    return store->folder;
}

int mst_store_version(const struct mst_store *store)
{
    return store->version;
}

enum mst_status mst_store_check(struct mst_store *store, struct mst_error *err)
{
    struct db_line *line = db_enter(&store->db, err);
    if (!line)
        return MST_IO;
    enum mst_status status = store->db.backend->check(line->handle, err);
    db_leave(&store->db, line);
    return status;
}

int64_t mst_store_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static const char id_letters[] = "0123456789abcdefghjkmnpqrstvwxyz";

void mst_store_new_id(char id[MST_ID_SIZE])
{
    uint8_t random[MST_ID_SIZE - 1];
    randombytes_buf(random, sizeof random);
    for (size_t n = 0; n < sizeof random; n++)
        id[n] = id_letters[random[n] & 31];
    id[MST_ID_SIZE - 1] = '\0';
}

int mst_store_is_id(const char *text)
{
    return text && strlen(text) == MST_ID_SIZE - 1 && strspn(text, id_letters) == MST_ID_SIZE - 1;
}

static enum mst_status folder_of(struct mst_store *store, const char *kind, const char *id,
                                 struct mst_arena *arena, const char **out, struct mst_error *err)
{
    *out = NULL;
    if (!mst_store_is_id(id))
        return mst_fail(err, MST_NOT_FOUND, "“%.40s” is no id", id ? id : "");
    char *path = store_path(store, arena, "%s/%s", kind, id);
    *out = path;
    return path ? store_folder_make(path, err) : store_no_memory(err);
}

enum mst_status mst_store_report_folder(struct mst_store *store, const char *take,
                                        struct mst_arena *arena, const char **out,
                                        struct mst_error *err)
{
    return folder_of(store, "reports", take, arena, out, err);
}

enum mst_status mst_store_work_folder(struct mst_store *store, const char *job,
                                      struct mst_arena *arena, const char **out,
                                      struct mst_error *err)
{
    enum mst_status status = folder_of(store, "work", job, arena, out, err);
    if (status == MST_OK)
        folder_empty(*out, 2);
    return status;
}

static enum mst_status folder_forget(struct mst_store *store, const char *kind, const char *id,
                                     struct mst_error *err)
{
    char path[PATH_MAX];
    if (!mst_store_is_id(id))
        return mst_fail(err, MST_NOT_FOUND, "“%.40s” is no id", id ? id : "");
    snprintf(path, sizeof path, "%s/%s/%s", store->folder, kind, id);
    return store_folder_remove(path, err);
}

enum mst_status mst_store_report_forget(struct mst_store *store, const char *take,
                                        struct mst_error *err)
{
    return folder_forget(store, "reports", take, err);
}

enum mst_status mst_store_work_forget(struct mst_store *store, const char *job,
                                      struct mst_error *err)
{
    return folder_forget(store, "work", job, err);
}
