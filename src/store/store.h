/* store.h – what the files of this floor share. */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "db.h"

#include <mistara/store.h>

struct held_sound {
    struct held_sound *next;
    char hash[MST_HASH_HEX_SIZE];
};

struct mst_store {
    struct db db;
    char *folder;
    int lock_fd, version;
    pthread_mutex_t sound_lock; /* around looking whether a sound is used, and deleting it */
    struct held_sound *held;    /* kept, but named by no take yet */
};

/* "FOLDER/a/b" in the arena; NULL when memory ran out. */
char *store_path(const struct mst_store *store, struct mst_arena *arena, const char *fmt, ...)
    MST_PRINTF(3, 4);
/* A folder for its owner alone; being there already is no error. */
MST_MUST_CHECK enum mst_status store_folder_make(const char *path, struct mst_error *err);
/* A folder with what is in it, at most two folders deep. */
MST_MUST_CHECK enum mst_status store_folder_remove(const char *path, struct mst_error *err);
MST_MUST_CHECK enum mst_status store_no_memory(struct mst_error *err);
/* Remove a sound that no take names any more. */
MST_MUST_CHECK enum mst_status store_sound_release(struct mst_store *store, const char *hash,
                                                   struct mst_error *err);
/* A take names it now. */
void store_sound_named(struct mst_store *store, const char *hash);
MST_MUST_CHECK enum mst_status store_sound_sweep(struct mst_store *store, struct mst_error *err);
/* As mst_store_open, but brought no further than version: for the tests of migration. */
MST_MUST_CHECK enum mst_status store_open_at(const char *folder, int version,
                                             struct mst_store **out, struct mst_error *err);

#endif
