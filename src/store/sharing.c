/*
 * sharing.c – what a book needs that several programs have open at once: locks
 * by name and row, several changes as one, and a folder that is surely its own.
 */
#include "store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <unistd.h>

static enum mst_status lock(struct mst_store *store, const char *sql, const char *name,
                            struct mst_error *err)
{
    struct query q = query_begin(&store->db, err, sql, "t", name);
    while (query_row(&q))
        ;
    return query_end(&q);
}

enum mst_status store_name_lock(struct mst_store *store, const char *name, struct mst_error *err)
{
    return lock(store, store->db.backend->lock_name, name, err);
}

enum mst_status store_row_lock(struct mst_store *store, const char *table, const char *id,
                               struct mst_error *err)
{
    char sql[96];
    snprintf(sql, sizeof sql, "SELECT 1 FROM %s WHERE id=$1%s", table,
             store->db.backend->for_update);
    return lock(store, sql, id, err);
}

enum mst_status mst_store_begin(struct mst_store *store, struct mst_error *err)
{
    return db_begin(&store->db, err);
}

enum mst_status mst_store_settle(struct mst_store *store, enum mst_status status,
                                 struct mst_error *err)
{
    return db_settle(&store->db, status, err);
}

/* --- the folder of a shared book ------------------------------------------------------ */

/* FOLDER/school holds the same word as the book: with another book's rows its recordings would look
 * like such as nobody names, and be cleared away. */
static enum mst_status word_read(const char *path, char word[MST_ID_SIZE], struct mst_error *err)
{
    char text[64] = "";
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0 && errno == ENOENT) {
        *word = '\0';
        return MST_OK;
    }
    ssize_t got = fd < 0 ? -1 : read(fd, text, sizeof text - 1);
    int errnum = errno;
    if (fd >= 0)
        close(fd);
    if (got < 0)
        return mst_fail_errno(err, MST_IO, errnum, "“%.200s” cannot be read", path);
    snprintf(word, MST_ID_SIZE, "%.16s", text);
    return MST_OK;
}

static int has_sound(const struct mst_store *store)
{
    char path[PATH_MAX];
    int found = 0;
    snprintf(path, sizeof path, "%s/sound", store->folder);
    DIR *dir = opendir(path);
    for (struct dirent *entry; dir && !found && (entry = readdir(dir)) != NULL;)
        found = entry->d_name[0] != '.';
    if (dir)
        closedir(dir);
    return found;
}

/* Inside a transaction, with the name locked: two first ones do not both make a word. */
static enum mst_status belongs(struct mst_store *store, struct mst_arena *arena,
                               struct mst_error *err)
{
    char path[PATH_MAX], has[MST_ID_SIZE];
    const char *wants = NULL;
    snprintf(path, sizeof path, "%s/school", store->folder);
    enum mst_status status = store_name_lock(store, "folder", err);
    if (status == MST_OK)
        status = mst_store_setting_get(store, "folder", arena, &wants, err);
    if (status == MST_OK)
        status = word_read(path, has, err);
    if (status != MST_OK)
        return status;
    memcpy(store->word, has, MST_ID_SIZE);
    if (wants && strcmp(wants, has) == 0)
        return MST_OK;
    if (wants && !*has)
        return mst_fail(err, MST_UNSUPPORTED,
                        "the folder “%.200s” is not the one this book keeps its recordings in; is "
                        "the shared folder mounted, and the right one named with --data?",
                        store->folder);
    if (wants || *has || has_sound(store))
        return mst_fail(err, MST_UNSUPPORTED,
                        "the folder “%.200s” belongs to another book; every book has one of its "
                        "own",
                        store->folder);
    mst_store_new_id(has);
    memcpy(store->word, has, MST_ID_SIZE);
    status = mst_store_setting_put(store, "folder", has, err);
    char line[MST_ID_SIZE + 1];
    int len = snprintf(line, sizeof line, "%s\n", has);
    return status == MST_OK ? mst_file_write(path, line, (size_t)len, err) : status;
}

enum mst_status store_folder_belongs(struct mst_store *store, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    enum mst_status status = db_begin(&store->db, err);
    if (status == MST_OK) {
        status = belongs(store, arena, err);
        status = db_settle(&store->db, status, err);
    }
    mst_arena_free(arena);
    return status;
}
