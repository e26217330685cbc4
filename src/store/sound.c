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
    struct held_sound *held = malloc(sizeof *held);
    if (!held)
        return store_no_memory(err);
    memcpy(held->hash, hash, MST_HASH_HEX_SIZE);
    pthread_mutex_lock(&store->sound_lock);
    held->next = store->held;
    store->held = held;
    pthread_mutex_unlock(&store->sound_lock);
    return MST_OK;
}

void store_sound_named(struct mst_store *store, const char *hash)
{
    pthread_mutex_lock(&store->sound_lock);
    for (struct held_sound **at = &store->held; *at; at = &(*at)->next) {
        struct held_sound *held = *at;
        if (strcmp(held->hash, hash) != 0)
            continue;
        *at = held->next;
        free(held);
        break; /* sent twice, held twice */
    }
    pthread_mutex_unlock(&store->sound_lock);
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
        status = sync_folder(folder, err);
    if (status == MST_OK) {
        snprintf(folder, sizeof folder, "%s/sound", store->folder);
        status = sync_folder(folder, err);
    }
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

const char *mst_store_sound_path(const struct mst_store *store, const char *hash,
                                 struct mst_arena *arena)
{
    return store_path(store, arena, "sound/%.2s/%.64s", hash, hash);
}

static int is_held(const struct mst_store *store, const char *hash)
{
    for (const struct held_sound *held = store->held; held; held = held->next)
        if (strcmp(held->hash, hash) == 0)
            return 1;
    return 0;
}

enum mst_status store_sound_release(struct mst_store *store, const char *hash,
                                    struct mst_error *err)
{
    char path[PATH_MAX];
    pthread_mutex_lock(&store->sound_lock);
    struct query q =
        query_begin(&store->db, err, "SELECT 1 FROM take WHERE hash=$1 LIMIT 1", "t", hash);
    int used = query_row(&q) || is_held(store, hash);
    enum mst_status status = query_end(&q);
    snprintf(path, sizeof path, "%s/sound/%.2s/%.64s", store->folder, hash, hash);
    if (status == MST_OK && !used && unlink(path) != 0 && errno != ENOENT)
        status = mst_fail_errno(err, MST_IO, errno, "the sound of the take cannot be deleted");
    pthread_mutex_unlock(&store->sound_lock);
    return status;
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
