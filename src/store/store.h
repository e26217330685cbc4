/* store.h – what the files of this floor share. */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "db.h"

#include <mistara/store.h>
#include <string.h>

enum { UPLOAD_LOCKS = 32 };

struct mst_store {
    struct db db;
    char *folder;
    int lock_fd, version;
    int shared;              /* others may have it open too */
    char owner[MST_ID_SIZE]; /* of the jobs it begins */
    char word[MST_ID_SIZE];  /* that the shared folder and its book have in common */
    int64_t lease_ms;
    /* Around writing a part of an upload, and handing it in; which one follows from its id: those
     * who send at the same time mostly do not wait for one another's disk. */
    pthread_mutex_t upload_locks[UPLOAD_LOCKS];
};

/* "FOLDER/a/b" in the arena; NULL when memory ran out. */
char *store_path(const struct mst_store *store, struct mst_arena *arena, const char *fmt, ...)
    MST_PRINTF(3, 4);
/* A folder for its owner alone; being there already is no error. */
MST_MUST_CHECK enum mst_status store_folder_make(const char *path, struct mst_error *err);
/* A folder with what is in it, at most four folders deep. */
MST_MUST_CHECK enum mst_status store_folder_remove(const char *path, struct mst_error *err);
/* All that is in a folder to the disk, each file and each list of names; 0, or an errno. */
int store_folder_sync(const char *path);
MST_MUST_CHECK enum mst_status store_no_memory(struct mst_error *err);
/* Remove a sound that no take and no note names any more. */
MST_MUST_CHECK enum mst_status store_sound_release(struct mst_store *store, const char *hash,
                                                   struct mst_error *err);
/* q deletes the one row (what, id), giving back the sound it named (NULL: none), which then goes as
 * above; ends q. */
MST_MUST_CHECK enum mst_status store_sound_let_go(struct mst_store *store, struct query *q,
                                                  const char *what, const char *id,
                                                  struct mst_error *err);
/* A take or a note names it now: in the transaction in which it does. */
MST_MUST_CHECK enum mst_status store_sound_named(struct mst_store *store, const char *hash,
                                                 struct mst_error *err);
/* What was held and then never named. */
MST_MUST_CHECK enum mst_status store_held_forget(struct mst_store *store, struct mst_error *err);
MST_MUST_CHECK enum mst_status store_sound_sweep(struct mst_store *store, struct mst_error *err);
/* sound.c: the sound in a file of the data folder, kept and held as mst_store_incoming_keep does;
 * the file stays. */
MST_MUST_CHECK enum mst_status store_sound_adopt(struct mst_store *store, const char *path,
                                                 char hash[MST_HASH_HEX_SIZE],
                                                 struct mst_error *err);

/* takes.c, submissions.c: the row alone, inside the caller's transaction. */
MST_MUST_CHECK enum mst_status store_take_insert(struct mst_store *store,
                                                 const struct mst_kept_take *take,
                                                 char id[MST_ID_SIZE], struct mst_error *err);
struct mst_submission;
MST_MUST_CHECK enum mst_status store_submission_insert(struct mst_store *store,
                                                       const struct mst_submission *submission,
                                                       const char *take, char id[MST_ID_SIZE],
                                                       struct mst_error *err);

/* mentions.c: the job says what ids are in the text (NULL: none); in the transaction that writes
 * it. */
MST_MUST_CHECK enum mst_status store_mention(struct mst_store *store, const char *job,
                                             const char *text, struct mst_error *err);
/* Jobs from before the book knew. */
MST_MUST_CHECK enum mst_status store_mentions_fill(struct mst_store *store, struct mst_error *err);

/* doomed.c: files that the question names (column path; $1 = id, when there is one) are to go;
 * inside the transaction in which their rows go. */
MST_MUST_CHECK enum mst_status store_doom(struct mst_store *store, struct mst_error *err,
                                          const char *select, const char *id);
/* After it, and when the folder is opened. quiet: nobody minds waiting a while. */
MST_MUST_CHECK enum mst_status store_doomed_work_off(struct mst_store *store, int quiet,
                                                     struct mst_error *err);
int store_file_is_old(const char *path); /* no one has written to it for a day */
/* db.h: what was deleted cannot be read from the database any more. */
MST_MUST_CHECK enum mst_status store_scrub(struct mst_store *store, int whole, int *done,
                                           struct mst_error *err);
/* Reports of no take and work of no job; uploads without a row (only while nobody uploads). */
MST_MUST_CHECK enum mst_status store_orphans_sweep(struct mst_store *store, struct mst_error *err);
MST_MUST_CHECK enum mst_status store_uploads_sweep(struct mst_store *store, struct mst_error *err);

/* rows.c */
/* USAGE when value is none of allowed ("a,b,c"). */
MST_MUST_CHECK enum mst_status store_one_of(const char *what, const char *value,
                                            const char *allowed, struct mst_error *err);
MST_MUST_CHECK enum mst_status store_no_such(const char *what, const char *id,
                                             struct mst_error *err);
/* MISMATCH when status is OK but no row was changed. */
MST_MUST_CHECK enum mst_status store_changed(enum mst_status status, int64_t changed,
                                             const char *what, struct mst_error *err);
/* The one row of q, or NOT_FOUND; ends q. */
MST_MUST_CHECK enum mst_status store_one(struct query *q,
                                         void (*read)(struct query *, struct mst_arena *, void *),
                                         struct mst_arena *arena, void *out, const char *what,
                                         const char *id, struct mst_error *err);

/* sharing.c: nobody else has the name until the transaction ends. */
MST_MUST_CHECK enum mst_status store_name_lock(struct mst_store *store, const char *name,
                                               struct mst_error *err);
/* sharing.c: the row is nobody else's until the transaction ends, and nothing new refers to it. */
MST_MUST_CHECK enum mst_status store_row_lock(struct mst_store *store, const char *table,
                                              const char *id, struct mst_error *err);
/* sharing.c: UNSUPPORTED when the folder is not this book's. */
MST_MUST_CHECK enum mst_status store_folder_belongs(struct mst_store *store, struct mst_error *err);
/* backup.c: a second look at a folder that another program may be at work in: for reading, and for
 * the rows of backups. Holds no lock and sweeps nothing. NOT_FOUND: there is no book. */
MST_MUST_CHECK enum mst_status store_beside(const char *folder, struct mst_store **out,
                                            struct mst_error *err);
/* stranger.c: a database from elsewhere has exactly our tables, and passes its own check. BAD_DATA
 * says what does not hold. */
MST_MUST_CHECK enum mst_status store_stranger_is_book(const char *path, struct mst_error *err);
/* check.c: the files that rows name; what is missing or damaged, a sentence each. */
MST_MUST_CHECK enum mst_status store_check_files(struct mst_store *store, struct mst_arena *arena,
                                                 const char ***problems, size_t *count,
                                                 struct mst_error *err);
/* A store with its folder's name and nothing open yet. */
MST_MUST_CHECK enum mst_status store_new(const struct mst_store_options *options,
                                         struct mst_store **out, struct mst_error *err);
/* As mst_store_open_with, but brought no further than version: for the tests of migration. */
MST_MUST_CHECK enum mst_status store_open_at(const struct mst_store_options *options, int version,
                                             struct mst_store **out, struct mst_error *err);

#endif
