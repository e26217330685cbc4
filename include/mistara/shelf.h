/*
 * mistara/shelf.h – where learned voices are kept: a folder with one file a
 * voice. A voice is private: the folder is readable by its owner alone (0700),
 * and so is every file in it (0600). Nothing leaves the machine.
 *
 * Names are names, not paths: letters of any script, digits, blanks, - and _,
 * at most 60 bytes, beginning with a letter or digit.
 * Ownership: a shelf is opened and closed; what it lists lives in the caller's
 * arena.
 */
#ifndef MISTARA_SHELF_H
#define MISTARA_SHELF_H

#include <mistara/ear.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_shelf;
/* folder NULL: $XDG_DATA_HOME/mistara or ~/.local/share/mistara. Voices are in its folder
 * "voices", which is made when it is first needed. */
MST_MUST_CHECK enum mst_status mst_shelf_open(const char *folder, struct mst_shelf **out,
                                              struct mst_error *err);
void mst_shelf_close(struct mst_shelf *shelf); /* accepts NULL */
const char *mst_shelf_folder(const struct mst_shelf *shelf);

/* USAGE with the reason when it is no name. */
MST_MUST_CHECK enum mst_status mst_shelf_check_name(const char *name, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_shelf_put(struct mst_shelf *shelf, const char *name,
                                             const struct mst_voice *voice, struct mst_error *err);
/* NOT_FOUND names the voices there are. */
MST_MUST_CHECK enum mst_status mst_shelf_get(struct mst_shelf *shelf, const char *name,
                                             struct mst_voice **out, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_shelf_forget(struct mst_shelf *shelf, const char *name,
                                                struct mst_error *err);
/* In order of their bytes. No shelf yet = no voices. */
MST_MUST_CHECK enum mst_status mst_shelf_list(struct mst_shelf *shelf, struct mst_arena *arena,
                                              const char *const **names, size_t *count,
                                              struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
