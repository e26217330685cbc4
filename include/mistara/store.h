/*
 * mistara/store.h – the book: what the desk keeps. Jobs, sign-ins, takes,
 * lessons, voices and live hearings as rows of a database, and the sound of
 * takes as files named by their content, all in one data folder that its owner
 * alone can read (0700). It knows nothing of the web and nothing of rules.
 *
 *   FOLDER/mistara.db     the rows (SQLite, WAL, synchronous=FULL)
 *   FOLDER/sound/ab/…     the sound of takes, by the BLAKE2b-256 of its bytes
 *   FOLDER/reports/ID/    what was heard in a take
 *   FOLDER/work/ID/       files that a job made
 *   FOLDER/incoming/      sound on its way in; emptied when the store is opened
 *   FOLDER/uploads/ID     what learners are sending, part by part (classbook.h)
 *   FOLDER/voices/        learned voices (shelf.h)
 *
 * What a call has answered MST_OK to is on disk and survives the loss of
 * power. A second program cannot open the same folder at the same time, unless
 * the rows are in PostgreSQL.
 * Ownership: rows live in the caller's arena; ids are 16 letters and digits.
 * Threads: a store may be used by several threads at once.
 * Times: ms since 1970, UTC; 0 = not yet.
 */
#ifndef MISTARA_STORE_H
#define MISTARA_STORE_H

#include <mistara/base.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_store;
enum { MST_ID_SIZE = 17, MST_HASH_HEX_SIZE = 65, MST_KEY_BYTES = 32 };

/* folder NULL: $XDG_DATA_HOME/mistara or ~/.local/share/mistara. Made when it is not there; brought
 * forward from every earlier version. BAD_DATA: damaged, or of a later version; UNSUPPORTED: in use
 * by another program. */
MST_MUST_CHECK enum mst_status mst_store_open(const char *folder, struct mst_store **out,
                                              struct mst_error *err);
/* The same with the rows in PostgreSQL: then the folder holds the sound and all other files, and
 * any number of programs on any number of machines have the book open at once, all with the same
 * folder (docs/school.md). */
struct mst_store_options {
    const char *folder;   /* as above */
    const char *database; /* "postgresql://…", without a password in it; NULL: SQLite in the folder
                           */
    int64_t lease_ms;     /* a job belongs to whoever began it for so long, unless it says that it
                             goes on; 0: 30 s */
};
/* UNSUPPORTED also: built without PostgreSQL; the folder is another book's. */
MST_MUST_CHECK enum mst_status mst_store_open_with(const struct mst_store_options *options,
                                                   struct mst_store **out, struct mst_error *err);
/* The book that is in the folder goes into an empty database, all or nothing, and the folder is
 * that book's from then on; the folder's own database is deleted (make a backup first). No program
 * may have the folder open. *rows: how many went. USAGE: the database is not empty. */
MST_MUST_CHECK enum mst_status mst_store_bring(const char *folder, const char *database,
                                               int64_t *rows, struct mst_error *err);
/* Others may have it open too. */
int mst_store_shared(const struct mst_store *store);
void mst_store_close(struct mst_store *store); /* accepts NULL */
const char *mst_store_folder(const struct mst_store *store);
int mst_store_version(const struct mst_store *store);
/* The database's own check of itself; BAD_DATA with what it found. */
MST_MUST_CHECK enum mst_status mst_store_check(struct mst_store *store, struct mst_error *err);
int64_t mst_store_now_ms(void);
void mst_store_new_id(char id[MST_ID_SIZE]);
int mst_store_is_id(const char *text);
/* FOLDER/reports/ID or FOLDER/work/ID in the arena; made when it is not there. The folder of work
 * is empty: what the same work left when it was stopped in the middle is gone. */
MST_MUST_CHECK enum mst_status mst_store_report_folder(struct mst_store *store, const char *take,
                                                       struct mst_arena *arena, const char **out,
                                                       struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_work_folder(struct mst_store *store, const char *job,
                                                     struct mst_arena *arena, const char **out,
                                                     struct mst_error *err);
/* FOLDER/reports/ID or FOLDER/work/ID and all that is in it; not there is no error. */
MST_MUST_CHECK enum mst_status mst_store_report_forget(struct mst_store *store, const char *take,
                                                       struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_work_forget(struct mst_store *store, const char *job,
                                                     struct mst_error *err);

/* What is written between the two counts as one or not at all; status other than OK: it is undone,
 * and that status comes back. Only for what is quick: others wait meanwhile. */
MST_MUST_CHECK enum mst_status mst_store_begin(struct mst_store *store, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_settle(struct mst_store *store, enum mst_status status,
                                                struct mst_error *err);
/* Once a day, where others have the book open too: files that no row names any more go. */
MST_MUST_CHECK enum mst_status mst_store_tidy(struct mst_store *store, struct mst_error *err);

/* --- calls: those who share a book call out to one another ------------------------ */
/* Nothing may hang on a call being heard. One thread has a hail. */
struct mst_hail;
enum { MST_HAIL_MOST = 7800 }; /* bytes of one call */
/* Only of a shared store, which outlives it. */
MST_MUST_CHECK enum mst_status mst_hail_open(struct mst_store *store, struct mst_hail **out,
                                             struct mst_error *err);
/* Until someone called, wake_fd can be read, or the time is over. IO: the line broke, and calls may
 * have been missed; close it and open another. */
MST_MUST_CHECK enum mst_status mst_hail_wait(struct mst_hail *hail, int wake_fd, int timeout_ms,
                                             struct mst_error *err);
/* The next call of another's; appended. 0: no further one. */
int mst_hail_next(struct mst_hail *hail, struct mst_string *from, struct mst_string *text);
MST_MUST_CHECK enum mst_status mst_hail_out(struct mst_hail *hail, const char *text, size_t len,
                                            struct mst_error *err);
void mst_hail_close(struct mst_hail *hail); /* accepts NULL */

/* --- jobs ------------------------------------------------------------------ */
#define MST_JOB_STATE_LIST(X)                                                                      \
    X(WAITING, "waiting")                                                                          \
    X(RUNNING, "running")                                                                          \
    X(DONE, "done")                                                                                \
    X(FAILED, "failed")                                                                            \
    X(CANCELLED, "cancelled")
enum mst_job_state {
#define X(name, id) MST_JOB_##name,
    MST_JOB_STATE_LIST(X)
#undef X
        MST_JOB_STATE_COUNT
};
const char *mst_job_state_id(enum mst_job_state state);

struct mst_job {
    const char *id, *kind;
    const char *about;  /* id or name of what it works on */
    const char *input;  /* JSON */
    const char *result; /* JSON or NULL */
    const char *reason; /* why it failed, or NULL */
    enum mst_job_state state;
    int64_t made_ms, started_ms, ended_ms;
    int attempts;  /* how often it was begun */
    int64_t fence; /* counts who was given it: what an earlier one still does is refused */
};
/* Waiting from here on. */
MST_MUST_CHECK enum mst_status mst_store_job_add(struct mst_store *store, const char *kind,
                                                 const char *about, const char *input,
                                                 char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_job_get(struct mst_store *store, const char *id,
                                                 struct mst_arena *arena, struct mst_job *out,
                                                 struct mst_error *err);
struct mst_job_filter {
    int state;         /* enum mst_job_state, -1: any */
    int unended;       /* only waiting and running ones */
    const char *about; /* NULL: any */
    int limit;         /* 0: 200 */
};
/* Latest first. */
MST_MUST_CHECK enum mst_status mst_store_job_list(struct mst_store *store,
                                                  const struct mst_job_filter *filter,
                                                  struct mst_arena *arena, struct mst_job **out,
                                                  size_t *count, struct mst_error *err);
/* The longest waiting job becomes running, and this store's for the time of a lease; NOT_FOUND when
 * none waits. */
MST_MUST_CHECK enum mst_status mst_store_job_claim(struct mst_store *store, struct mst_arena *arena,
                                                   struct mst_job *out, struct mst_error *err);
/* Ends a running job, or a waiting one as cancelled; NOT_FOUND when it is neither. */
MST_MUST_CHECK enum mst_status mst_store_job_end(struct mst_store *store, const char *id,
                                                 enum mst_job_state state, const char *reason,
                                                 const char *result, struct mst_error *err);
/* It goes on: a lease more from now. CANCELLED: it is not this one's any longer. */
MST_MUST_CHECK enum mst_status mst_store_job_hold(struct mst_store *store,
                                                  const struct mst_job *job, struct mst_error *err);
/* From here on whatever this thread writes is refused (CANCELLED) unless the job is running and
 * this one's; NULL: the end of that. */
MST_MUST_CHECK enum mst_status mst_store_job_guard(struct mst_store *store,
                                                   const struct mst_job *job,
                                                   struct mst_error *err);
/* A running job waits again; uncounted: as if it had not been begun. */
MST_MUST_CHECK enum mst_status mst_store_job_put_back(struct mst_store *store, const char *id,
                                                      int uncounted, struct mst_error *err);
/* After a crash: running jobs (where others have the book open too: those whose lease has run out)
 * wait again; those begun most times already fail with the reason. */
MST_MUST_CHECK enum mst_status mst_store_job_recover(struct mst_store *store, int most,
                                                     const char *reason, struct mst_error *err);
/* Files that work still wrote for someone who was deleted meanwhile go. */
MST_MUST_CHECK enum mst_status mst_store_job_leftovers(struct mst_store *store,
                                                       struct mst_error *err);
/* With its files. USAGE while it is waiting or running. */
MST_MUST_CHECK enum mst_status mst_store_job_delete(struct mst_store *store, const char *id,
                                                    struct mst_error *err);
/* Deletes jobs that ended before ended_ms, oldest first, and says which; but of each lesson there
 * still is, the latest build of every choice of parts stays. */
MST_MUST_CHECK enum mst_status mst_store_job_prune(struct mst_store *store, int64_t ended_ms,
                                                   struct mst_arena *arena, const char ***ids,
                                                   size_t *count, struct mst_error *err);

/* --- signing in --------------------------------------------------------------- */
/* key: what the browser proves itself with, hashed by the caller; never the thing itself. */
struct mst_session {
    uint8_t key[MST_KEY_BYTES];
    char token[48]; /* against requests that other sites cause */
    char role[16];
    char person[MST_ID_SIZE]; /* of classbook.h; "": the teacher */
    int64_t made_ms, seen_ms;
};
MST_MUST_CHECK enum mst_status mst_store_session_add(struct mst_store *store,
                                                     const struct mst_session *session,
                                                     struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_session_get(struct mst_store *store,
                                                     const uint8_t key[MST_KEY_BYTES],
                                                     struct mst_session *out,
                                                     struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_session_seen(struct mst_store *store,
                                                      const uint8_t key[MST_KEY_BYTES],
                                                      int64_t seen_ms, struct mst_error *err);
/* key NULL: all the teacher's but `keep` (NULL: all of them). */
MST_MUST_CHECK enum mst_status mst_store_session_remove(struct mst_store *store, const uint8_t *key,
                                                        const uint8_t *keep, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_session_expire(struct mst_store *store,
                                                        int64_t seen_before_ms,
                                                        struct mst_error *err);

/* --- settings: named texts ------------------------------------------------------ */
/* *out NULL when there is none. */
MST_MUST_CHECK enum mst_status mst_store_setting_get(struct mst_store *store, const char *name,
                                                     struct mst_arena *arena, const char **out,
                                                     struct mst_error *err);
/* value NULL: forget it. */
MST_MUST_CHECK enum mst_status mst_store_setting_put(struct mst_store *store, const char *name,
                                                     const char *value, struct mst_error *err);

/* --- sound, by content ------------------------------------------------------------ */
struct mst_incoming; /* an upload under way */
/* limit_bytes: more is refused by write (USAGE). */
MST_MUST_CHECK enum mst_status mst_store_incoming_open(struct mst_store *store, int64_t limit_bytes,
                                                       struct mst_incoming **out,
                                                       struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_incoming_write(struct mst_incoming *in, const void *bytes,
                                                        size_t len, struct mst_error *err);
/* On disk under its content's name; what is there already is kept. Ends it, whatever comes. The
 * file is held until a take names it, or the store is opened again (shared: for a day). */
MST_MUST_CHECK enum mst_status mst_store_incoming_keep(struct mst_incoming *in,
                                                       char hash[MST_HASH_HEX_SIZE], int64_t *bytes,
                                                       struct mst_error *err);
void mst_store_incoming_drop(struct mst_incoming *in); /* accepts NULL */
/* Path of a kept sound, in the arena. */
const char *mst_store_sound_path(const struct mst_store *store, const char *hash,
                                 struct mst_arena *arena);

/* --- takes -------------------------------------------------------------------------- */
#define MST_KEPT_STATE_LIST(X)                                                                     \
    X(NEW, "new")                                                                                  \
    X(WAITING, "waiting")                                                                          \
    X(LISTENING, "listening")                                                                      \
    X(HEARD, "heard")                                                                              \
    X(REFUSED, "refused")
enum mst_kept_state {
#define X(name, id) MST_KEPT_##name,
    MST_KEPT_STATE_LIST(X)
#undef X
        MST_KEPT_STATE_COUNT
};
const char *mst_kept_state_id(enum mst_kept_state state);

/* A take as it is kept. Texts are never NULL unless said. */
struct mst_kept_take {
    const char *id, *name, *passage;
    const char *how;  /* JSON: how it is read */
    const char *hash; /* of its sound */
    const char *type; /* media type */
    const char *note;
    const char *voice, *model; /* name of a voice, id of a take, or NULL */
    const char *job;           /* that works on it, or NULL */
    const char *problem;       /* why it was refused, or NULL */
    const char *pins;          /* JSON */
    const char *person;        /* a learner of classbook.h; NULL: the teacher */
    double seconds;            /* 0: not known yet */
    int64_t bytes, made_ms;
    enum mst_kept_state state;
    int keep_voice, chosen, report;
    int64_t revision; /* counts its changes */
};
/* id, made_ms and revision are filled in. */
MST_MUST_CHECK enum mst_status mst_store_take_add(struct mst_store *store,
                                                  const struct mst_kept_take *take,
                                                  char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_take_get(struct mst_store *store, const char *id,
                                                  struct mst_arena *arena,
                                                  struct mst_kept_take *out, struct mst_error *err);
/* The teacher's own, latest first; passage NULL: all. What learners handed in is not among them. */
MST_MUST_CHECK enum mst_status mst_store_take_list(struct mst_store *store, const char *passage,
                                                   struct mst_arena *arena,
                                                   struct mst_kept_take **out, size_t *count,
                                                   struct mst_error *err);
/* Every member but id, hash, bytes, type, made_ms, person, when its revision is still
 * take->revision; else MISMATCH. Choosing one unchooses the same person's others of its passage. */
MST_MUST_CHECK enum mst_status mst_store_take_put(struct mst_store *store,
                                                  const struct mst_kept_take *take,
                                                  struct mst_error *err);
/* How long a take is, where that is not known yet. No change of anyone's: the revision stays. */
MST_MUST_CHECK enum mst_status mst_store_take_measured(struct mst_store *store, const char *id,
                                                       double seconds, struct mst_error *err);
/* Row, report, and its sound when no other take has the same. */
MST_MUST_CHECK enum mst_status mst_store_take_delete(struct mst_store *store, const char *id,
                                                     struct mst_error *err);

/* --- lessons and the course: texts with revisions ---------------------------------------- */
struct mst_document {
    const char *id, *kind /* "lesson", "course" */, *title, *text;
    int64_t made_ms, changed_ms, revision;
    int problems; /* as counted when it was saved */
};
MST_MUST_CHECK enum mst_status mst_store_document_add(struct mst_store *store,
                                                      const struct mst_document *document,
                                                      char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_document_get(struct mst_store *store, const char *kind,
                                                      const char *id, struct mst_arena *arena,
                                                      struct mst_document *out,
                                                      struct mst_error *err);
/* Latest change first, text NULL. */
MST_MUST_CHECK enum mst_status mst_store_document_list(struct mst_store *store, const char *kind,
                                                       struct mst_arena *arena,
                                                       struct mst_document **out, size_t *count,
                                                       struct mst_error *err);
/* MISMATCH when its revision is no longer document->revision. */
MST_MUST_CHECK enum mst_status mst_store_document_put(struct mst_store *store,
                                                      const struct mst_document *document,
                                                      struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_document_delete(struct mst_store *store, const char *kind,
                                                         const char *id, struct mst_error *err);

/* --- voices: where they come from (the voices themselves: shelf.h) ------------------------ */
struct mst_kept_voice {
    const char *name;
    const char *takes; /* JSON list of ids */
    int64_t made_ms;
};
MST_MUST_CHECK enum mst_status mst_store_voice_put(struct mst_store *store, const char *name,
                                                   const char *takes, struct mst_error *err);
/* made_ms 0 when nothing is known of it. */
MST_MUST_CHECK enum mst_status mst_store_voice_get(struct mst_store *store, const char *name,
                                                   struct mst_arena *arena,
                                                   struct mst_kept_voice *out,
                                                   struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_voice_delete(struct mst_store *store, const char *name,
                                                      struct mst_error *err);

/* --- hearings: noticed while someone recited live ------------------------------------------ */
struct mst_live_hearing {
    const char *id, *at, *what, *note, *who;
    const char *rule;   /* id or NULL */
    const char *person; /* of classbook.h, or NULL */
    int64_t made_ms;
    int sura, verse, word; /* of `at`, for looking up a passage */
    int undone;
};
MST_MUST_CHECK enum mst_status mst_store_hearing_add(struct mst_store *store,
                                                     const struct mst_live_hearing *hearing,
                                                     char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_hearing_get(struct mst_store *store, const char *id,
                                                     struct mst_arena *arena,
                                                     struct mst_live_hearing *out,
                                                     struct mst_error *err);
struct mst_hearing_filter {
    int64_t since_ms;
    int first_sura, first_verse, last_sura, last_verse; /* first_sura 0: everywhere */
    const char *person;                                 /* NULL: anyone */
};
/* Latest first, at most 1000. */
MST_MUST_CHECK enum mst_status mst_store_hearing_list(struct mst_store *store,
                                                      const struct mst_hearing_filter *filter,
                                                      struct mst_arena *arena,
                                                      struct mst_live_hearing **out, size_t *count,
                                                      struct mst_error *err);
/* what, note, who, person, undone. */
MST_MUST_CHECK enum mst_status mst_store_hearing_put(struct mst_store *store,
                                                     const struct mst_live_hearing *hearing,
                                                     struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_store_hearing_delete(struct mst_store *store, const char *id,
                                                        struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
