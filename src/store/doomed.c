/*
 * doomed.c – files that are to go. They are written down in the same
 * transaction in which their rows go, unlinked after it, and crossed out when
 * the disk has forgotten them; what a crash leaves on the list is worked off
 * when the folder is opened again. Paths are those within the data folder:
 *
 *   sound/HASH  when no row names it any more    reports/TAKE  work/JOB  uploads/ID
 *   voices/NAME                                   scrub: the database file itself
 */
#include "store.h"

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <mistara/shelf.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum mst_status store_doom(struct mst_store *store, struct mst_error *err, const char *select,
                           const char *id)
{
    struct mst_string sql = {0};
    mst_string_addf(&sql,
                    "INSERT INTO doomed(path) SELECT DISTINCT path FROM (%s) AS going "
                    "WHERE path NOT IN (SELECT path FROM doomed)",
                    select);
    enum mst_status status = sql.failed ? store_no_memory(err)
                             : id       ? db_do(&store->db, err, NULL, sql.ptr, "t", id)
                                        : db_do(&store->db, err, NULL, sql.ptr, "");
    mst_string_free(&sql);
    return status;
}

static enum mst_status forget_voice(struct mst_store *store, const char *name,
                                    struct mst_error *err)
{
    struct mst_shelf *shelf;
    enum mst_status status = mst_shelf_open(store->folder, &shelf, err);
    if (status != MST_OK)
        return status;
    status = mst_shelf_forget(shelf, name, err);
    int failed = status == MST_OK ? mst_folder_sync(mst_shelf_folder(shelf)) : 0;
    mst_shelf_close(shelf);
    if (status == MST_NOT_FOUND || status == MST_USAGE) /* gone already, or never a voice */
        return MST_OK;
    return failed ? mst_fail_errno(err, MST_IO, failed, "a voice cannot be deleted safely")
                  : status;
}

static enum mst_status forget_file(const char *path, struct mst_error *err)
{
    if (unlink(path) != 0 && errno != ENOENT)
        return mst_fail_errno(err, MST_IO, errno, "“%.200s” cannot be deleted", path);
    return MST_OK;
}

enum mst_status store_scrub(struct mst_store *store, int whole, int *done, struct mst_error *err)
{
    *done = 0;
    struct db_line *line = db_enter(&store->db, err);
    if (!line)
        return MST_IO;
    enum mst_status status = store->db.backend->scrub(line->handle, whole, done, err);
    db_leave(&store->db, line);
    return status;
}

/* Gone from the disk, not only from the folder's list in memory. */
static enum mst_status forget(struct mst_store *store, const char *path, int quiet, int *done,
                              struct mst_error *err)
{
    char full[PATH_MAX];
    const char *slash = strchr(path, '/');
    const char *name = slash ? slash + 1 : "";
    size_t kind = slash ? (size_t)(slash - path) : strlen(path);
    struct mst_span of = {path, kind};
    enum mst_status status = MST_OK;
    *done = 1;
    if (mst_span_equal(of, MST_SPAN("scrub"))) {
        if (strcmp(name, "day") == 0 && !quiet) { /* once a day is enough */
            *done = 0;
            return MST_OK;
        }
        return store_scrub(store, quiet ? 2 : 1, done, err);
    }
    if (mst_span_equal(of, MST_SPAN("voices")))
        return forget_voice(store, name, err);
    if (mst_span_equal(of, MST_SPAN("sound"))) {
        if (strlen(name) != MST_HASH_HEX_SIZE - 1 || strchr(name, '/'))
            return MST_OK;
        snprintf(full, sizeof full, "%s/sound/%.2s/%s", store->folder, name, name);
        status = store_sound_release(store, name, err);
    } else if (!mst_store_is_id(name)) {
        return MST_OK;
    } else {
        snprintf(full, sizeof full, "%s/%s", store->folder, path);
        status = mst_span_equal(of, MST_SPAN("uploads")) ? forget_file(full, err)
                                                         : store_folder_remove(full, err);
    }
    if (status != MST_OK)
        return status;
    int failed = mst_name_sync(full);
    return failed && failed != ENOENT
               ? mst_fail_errno(err, MST_IO, failed, "“%.200s” cannot be deleted safely", full)
               : MST_OK;
}

struct doomed_path {
    const char *path;
};

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    ((struct doomed_path *)place)->path = query_text(q, 0, arena);
}

enum mst_status store_doomed_work_off(struct mst_store *store, int quiet, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    size_t count = 0;
    /* The database last: its list holds the names of the others until then. */
    struct query q =
        query_begin(&store->db, err,
                    "SELECT path FROM doomed ORDER BY CASE substr(path,1,5) WHEN 'scrub' "
                    "THEN 1 ELSE 0 END, path",
                    "");
    struct doomed_path *paths = query_rows(&q, sizeof *paths, row, arena, &count);
    enum mst_status status = query_end(&q);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        int done;
        status = forget(store, paths[n].path, quiet, &done, err);
        if (status == MST_OK && done)
            status = db_do(&store->db, err, NULL, "DELETE FROM doomed WHERE path=$1", "t",
                           paths[n].path);
    }
    mst_arena_free(arena);
    return status;
}

/* --- what nobody wrote down: left by work that was still going on ---------------------- */

/* Another program may have made it just now, and be about to write it down. */
int store_file_is_old(const char *path)
{
    static const int64_t day_s = 24LL * 60 * 60;
    struct stat st;
    return lstat(path, &st) == 0 && mst_store_now_ms() / 1000 - st.st_mtime > day_s;
}

static enum mst_status sweep(struct mst_store *store, const char *kind, const char *sql,
                             struct mst_error *err)
{
    char path[PATH_MAX];
    enum mst_status status = MST_OK;
    snprintf(path, sizeof path, "%s/%s", store->folder, kind);
    DIR *dir = opendir(path);
    if (!dir)
        return MST_OK;
    for (struct dirent *entry; status == MST_OK && (entry = readdir(dir)) != NULL;) {
        if (!mst_store_is_id(entry->d_name))
            continue;
        struct query q = query_begin(&store->db, err, sql, "t", entry->d_name);
        int used = query_row(&q);
        status = query_end(&q);
        if (status != MST_OK || used)
            continue;
        snprintf(path, sizeof path, "%s/%s/%s", store->folder, kind, entry->d_name);
        if (*kind == 'u' && store->shared && !store_file_is_old(path))
            continue;
        status = *kind == 'u' ? forget_file(path, err) : store_folder_remove(path, err);
    }
    closedir(dir);
    return status;
}

enum mst_status store_orphans_sweep(struct mst_store *store, struct mst_error *err)
{
    enum mst_status status = sweep(store, "reports", "SELECT 1 FROM take WHERE id=$1", err);
    if (status == MST_OK)
        status = sweep(store, "work", "SELECT 1 FROM job WHERE id=$1", err);
    return status;
}

enum mst_status store_uploads_sweep(struct mst_store *store, struct mst_error *err)
{
    return sweep(store, "uploads", "SELECT 1 FROM upload WHERE id=$1", err);
}
