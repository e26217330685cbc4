/* sound.c – the sound of takes, written as it comes and named by its content. */
#include "store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PART_BYTES = 1 << 20 };

struct mst_incoming {
    struct mst_store *store;
    crypto_generichash_state hash;
    int64_t bytes, limit;
    int fd;
    char path[PATH_MAX];
};

enum mst_status mst_store_incoming_open(struct mst_store *store, int64_t limit_bytes,
                                        struct mst_incoming **out, struct mst_error *err)
{
    char id[MST_ID_SIZE];
    *out = NULL;
    /* aligned_alloc: the state of the hash wants 64 bytes. */
    size_t size = (sizeof(struct mst_incoming) + 63) / 64 * 64;
    struct mst_incoming *in = aligned_alloc(64, size);
    if (!in)
        return store_no_memory(err);
    memset(in, 0, size);
    in->store = store;
    in->limit = limit_bytes;
    crypto_generichash_init(&in->hash, NULL, 0, crypto_generichash_BYTES);
    mst_store_new_id(id);
    snprintf(in->path, sizeof in->path, "%s/incoming/%s", store->folder, id);
    in->fd = open(in->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (in->fd < 0) {
        enum mst_status status =
            mst_fail_errno(err, MST_IO, errno, "the sound cannot be written to the data folder");
        free(in);
        return status;
    }
    *out = in;
    return MST_OK;
}

enum mst_status mst_store_incoming_write(struct mst_incoming *in, const void *bytes, size_t len,
                                         struct mst_error *err)
{
    const char *at = bytes;
    in->bytes += (int64_t)len;
    if (in->bytes > in->limit)
        return mst_fail(err, MST_USAGE,
                        "the recording is larger than %lld MiB, the most a take "
                        "may have",
                        (long long)(in->limit >> 20));
    crypto_generichash_update(&in->hash, bytes, len);
    while (len > 0) {
        ssize_t put = write(in->fd, at, len);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return mst_fail_errno(err, MST_IO, errno,
                                  "the sound cannot be written to the data folder");
        at += put;
        len -= (size_t)put;
    }
    return MST_OK;
}

static enum mst_status sync_folder(const char *path, struct mst_error *err)
{
    int fd = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int failed = fd < 0 || fsync(fd) != 0;
    int errnum = errno;
    if (fd >= 0)
        close(fd);
    return failed ? mst_fail_errno(err, MST_IO, errnum, "the sound cannot be kept safely") : MST_OK;
}

/* Its content's name may be that of a sound that is being deleted: from here on it is held. */
static enum mst_status hold(struct mst_store *store, const char *hash, struct mst_error *err)
{
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = store_name_lock(store, hash, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL, "INSERT INTO held(hash,made_ms) VALUES($1,now_ms())",
                       "t", hash);
    return db_settle(&store->db, status, err);
}

/* Sent twice, held twice. */
enum mst_status store_sound_named(struct mst_store *store, const char *hash, struct mst_error *err)
{
    return db_do(&store->db, err, NULL,
                 "DELETE FROM held WHERE number=(SELECT min(number) FROM held WHERE hash=$1)", "t",
                 hash);
}

enum mst_status store_held_forget(struct mst_store *store, struct mst_error *err)
{
    static const int64_t day_ms = 24LL * 60 * 60 * 1000;
    return db_do(&store->db, err, NULL, "DELETE FROM held WHERE made_ms<now_ms()-$1", "i",
                 store->shared ? day_ms : (int64_t)-1);
}

/* What a folder lists, and the list that folder is in. */
static enum mst_status sync_kept(const struct mst_store *store, const char *hash,
                                 struct mst_error *err)
{
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s/sound/%.2s", store->folder, hash);
    enum mst_status status = sync_folder(folder, err);
    if (status != MST_OK)
        return status;
    snprintf(folder, sizeof folder, "%s/sound", store->folder);
    return sync_folder(folder, err);
}

enum mst_status mst_store_incoming_keep(struct mst_incoming *in, char hash[MST_HASH_HEX_SIZE],
                                        int64_t *bytes, struct mst_error *err)
{
    uint8_t digest[crypto_generichash_BYTES];
    char folder[PATH_MAX], path[PATH_MAX + MST_HASH_HEX_SIZE];
    struct mst_store *store = in->store;
    crypto_generichash_final(&in->hash, digest, sizeof digest);
    sodium_bin2hex(hash, MST_HASH_HEX_SIZE, digest, sizeof digest);
    *bytes = in->bytes;
    snprintf(folder, sizeof folder, "%s/sound/%.2s", store->folder, hash);
    snprintf(path, sizeof path, "%s/%s", folder, hash);
    enum mst_status status = MST_OK;
    if (fsync(in->fd) != 0)
        status = mst_fail_errno(err, MST_IO, errno, "the sound cannot be kept safely");
    if (status == MST_OK)
        status = store_folder_make(folder, err);
    if (status == MST_OK)
        status = hold(store, hash, err);
    if (status == MST_OK && rename(in->path, path) != 0)
        status = mst_fail_errno(err, MST_IO, errno, "the sound cannot be kept");
    if (status == MST_OK)
        status = sync_kept(store, hash, err);
    mst_store_incoming_drop(in);
    return status;
}

void mst_store_incoming_drop(struct mst_incoming *in)
{
    if (!in)
        return;
    close(in->fd);
    unlink(in->path); /* gone already when it was kept */
    free(in);
}

enum mst_status store_sound_adopt(struct mst_store *store, const char *path,
                                  char hash[MST_HASH_HEX_SIZE], struct mst_error *err)
{
    struct mst_incoming *in;
    struct mst_map map;
    int64_t bytes;
    enum mst_status status = mst_map_open(path, &map, err);
    if (status != MST_OK)
        return status;
    /* Copied, not renamed: until its row is written the upload must still be whole. */
    status = mst_store_incoming_open(store, INT64_MAX, &in, err);
    for (size_t at = 0; status == MST_OK && at < map.len;) {
        size_t part = map.len - at < PART_BYTES ? map.len - at : PART_BYTES;
        status = mst_store_incoming_write(in, map.ptr + at, part, err);
        if (status != MST_OK)
            mst_store_incoming_drop(in);
        at += part;
    }
    if (status == MST_OK)
        status = mst_store_incoming_keep(in, hash, &bytes, err);
    mst_map_close(&map);
    return status;
}

const char *mst_store_sound_path(const struct mst_store *store, const char *hash,
                                 struct mst_arena *arena)
{
    return store_path(store, arena, "sound/%.2s/%.64s", hash, hash);
}

/* Looked for and deleted under the lock of its name: whoever keeps the same sound meanwhile holds
 * it first, and puts the file there anew. */
enum mst_status store_sound_release(struct mst_store *store, const char *hash,
                                    struct mst_error *err)
{
    char path[PATH_MAX];
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = store_name_lock(store, hash, err);
    if (status == MST_OK) {
        struct query q =
            query_begin(&store->db, err,
                        "SELECT 1 FROM take WHERE hash=$1 UNION ALL SELECT 1 FROM note WHERE "
                        "hash=$2 UNION ALL SELECT 1 FROM held WHERE hash=$3 LIMIT 1",
                        "ttt", hash, hash, hash);
        int used = query_row(&q);
        status = query_end(&q);
        snprintf(path, sizeof path, "%s/sound/%.2s/%.64s", store->folder, hash, hash);
        if (status == MST_OK && !used && unlink(path) != 0 && errno != ENOENT)
            status = mst_fail_errno(err, MST_IO, errno, "the sound of the take cannot be deleted");
    }
    return db_settle(&store->db, status, err);
}

enum mst_status store_sound_let_go(struct mst_store *store, struct query *q, const char *what,
                                   const char *id, struct mst_error *err)
{
    char hash[MST_HASH_HEX_SIZE] = "";
    int found = query_row(q);
    if (found) {
        query_bytes(q, 0, hash, sizeof hash - 1);
        while (query_row(q))
            ;
    }
    enum mst_status status = query_end(q);
    if (status == MST_OK && !found)
        return store_no_such(what, id, err);
    return status == MST_OK && *hash ? store_sound_release(store, hash, err) : status;
}

/* A sound that was kept just before a crash, and that no take came to name. */
enum mst_status store_sound_sweep(struct mst_store *store, struct mst_error *err)
{
    char path[PATH_MAX];
    enum mst_status status = MST_OK;
    for (int n = 0; n < 256 && status == MST_OK; n++) {
        snprintf(path, sizeof path, "%s/sound/%02x", store->folder, n);
        DIR *dir = opendir(path);
        if (!dir)
            continue;
        for (struct dirent *entry; status == MST_OK && (entry = readdir(dir)) != NULL;)
            if (strlen(entry->d_name) == MST_HASH_HEX_SIZE - 1)
                status = store_sound_release(store, entry->d_name, err);
        closedir(dir);
    }
    return status;
}
