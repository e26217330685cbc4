/*
 * mistara/backup.h – the whole book on its way out and in again: a backup (one
 * file, made while the desk goes on working), its restoring into a new folder,
 * the export of everything in open formats, and the book's check of itself.
 *
 *   FOLDER ─→ mst_backup_make ─→ FILE ─→ mst_backup_restore ─→ another FOLDER
 *   FOLDER ─→ mst_export_all ─→ CSV, JSON Lines, recordings as they came
 *   FOLDER ─→ mst_book_check ─→ what is damaged or missing
 *
 * A folder is named, not an open store: another program may be at work in it.
 * folder NULL: as in mst_store_open. A backup is a tar file (as GNU
 * tar writes it, not compressed): README, the files of the folder under
 * their names, mistara.db, and last SUMS with the BLAKE2b-256 of each, which
 * `b2sum -l 256 -c SUMS` understands. It is readable by its owner alone.
 * What it holds of learners it holds until someone deletes it: receipts name
 * the backups that were made since a learner came.
 */
#ifndef MISTARA_BACKUP_H
#define MISTARA_BACKUP_H

#include <mistara/store.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A backup as the book remembers it. */
struct mst_backup {
    const char *id, *name; /* name of the file, without its folder */
    const char *digest;    /* BLAKE2b-256 of the file; "": being made, or broken off */
    int64_t made_ms, bytes;
};
struct mst_backup_result {
    char digest[MST_HASH_HEX_SIZE];
    int64_t bytes, made_ms; /* of the moment that is in it */
    int files;              /* in it, the database included */
    int gone;               /* recordings that were deleted while it was made */
    int missing, damaged;   /* recordings that were missing or damaged before: mst_book_check */
};
/*
 * The book as it was at one moment, with every file it names. file must not be
 * there yet. USAGE, NOT_FOUND (no book in the folder), IO (also: disk full);
 * then there is no file.
 */
MST_MUST_CHECK enum mst_status mst_backup_make(const char *folder, const char *file,
                                               struct mst_backup_result *out,
                                               struct mst_error *err);
/*
 * A second look at a folder in which another program may be at work: for
 * reading, and for the two calls below. What a store does for itself (claiming
 * jobs, keeping sound, deleting) is for whoever opened it with mst_store_open.
 */
MST_MUST_CHECK enum mst_status mst_book_look(const char *folder, struct mst_store **out,
                                             struct mst_error *err);
/* Latest first. */
MST_MUST_CHECK enum mst_status mst_backup_list(struct mst_store *store, struct mst_arena *arena,
                                               struct mst_backup **out, size_t *count,
                                               struct mst_error *err);
/* The teacher has destroyed it: receipts need not name it any more. */
MST_MUST_CHECK enum mst_status mst_backup_forget(struct mst_store *store, const char *id,
                                                 struct mst_error *err);
/*
 * folder is made; it may be there when it is empty. What comes from the file is
 * not trusted: only plain files under the names above, each with the content
 * that SUMS says, and a database of exactly our tables that passes its check.
 * BAD_DATA says what does not hold; then nothing is left. Nobody is signed in,
 * no code on paper opens. What is older is brought forward. out->missing: what
 * mst_book_check has to say of it.
 */
MST_MUST_CHECK enum mst_status mst_backup_restore(const char *file, const char *folder,
                                                  struct mst_backup_result *out,
                                                  struct mst_error *err);

struct mst_export_result {
    int rows, recordings;
    int absent; /* recordings that rows name and that are not there */
};
/* Members that are NULL let everything through; person goes before class_id. */
struct mst_export_scope {
    const char *class_id, *person;
};
/* to: a folder that is made (it must not be there), or a file ending in .tar: a table each as CSV
 * and as JSON Lines, recordings as they came. Join codes, sign-ins and settings are not in it.
 * USAGE, NOT_FOUND (the book, the class, the person), IO; then there is nothing. */
MST_MUST_CHECK enum mst_status mst_export_all(const char *folder,
                                              const struct mst_export_scope *scope, const char *to,
                                              struct mst_export_result *out, struct mst_error *err);

/* What is wrong, a sentence each, in the arena; the status says only whether looking succeeded. */
MST_MUST_CHECK enum mst_status mst_book_check(const char *folder, struct mst_arena *arena,
                                              const char ***problems, size_t *count,
                                              struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
