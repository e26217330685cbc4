/*
 * mistara/classbook.h – the class in the book (store.h): classes, the people
 * in them, what they were given to recite, what they handed in, what was heard
 * in it, what the teacher ruled and answered; and how all of it goes again.
 *
 *   class ─┬─ person ─┬─ consent, join code, upload under way
 *          │          └─ submission ─┬─ its take (the recording)
 *          └─ assignment ────┘       ├─ measures, with the teacher's rulings
 *                                    └─ notes, written or spoken
 *
 * It keeps; it decides nothing: who may see what is the desk's matter (one
 * place: its gate), what is to be heard is the ear's.
 *
 * A learner is a label the teacher chose, never a name the book asks for. Who
 * is deleted is gone from every row and every file of the data folder, and a
 * receipt says how much that was. Each class says how long recordings are kept;
 * the measures stay.
 *
 * Ownership, threads, times, ids: as in store.h. Texts are never NULL unless
 * said. …_put writes when the revision is still that of the row, else MISMATCH.
 */
#ifndef MISTARA_CLASSBOOK_H
#define MISTARA_CLASSBOOK_H

#include <mistara/store.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- classes ------------------------------------------------------------------ */
struct mst_class {
    const char *id, *name;
    const char *language; /* "en", "ar" */
    const char *consent;  /* the words shown before anyone records */
    const char *limits;   /* JSON: how this class is judged */
    int retention_days;   /* recordings older than this are deleted; 0: kept */
    int learners, unsent; /* counted when read: living ones; heard but not sent */
    int64_t made_ms, closed_ms;
    int64_t revision;
};
MST_MUST_CHECK enum mst_status mst_class_add(struct mst_store *store, const struct mst_class *made,
                                             char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_class_get(struct mst_store *store, const char *id,
                                             struct mst_arena *arena, struct mst_class *out,
                                             struct mst_error *err);
/* Latest first. */
MST_MUST_CHECK enum mst_status mst_class_list(struct mst_store *store, struct mst_arena *arena,
                                              struct mst_class **out, size_t *count,
                                              struct mst_error *err);
/* name, language, retention_days, consent, limits, closed_ms. */
MST_MUST_CHECK enum mst_status mst_class_put(struct mst_store *store,
                                             const struct mst_class *changed,
                                             struct mst_error *err);
/* With its people, each with a receipt. */
MST_MUST_CHECK enum mst_status mst_class_delete(struct mst_store *store, const char *id,
                                                struct mst_error *err);

/* --- people --------------------------------------------------------------------- */
struct mst_person {
    const char *id, *class_id;
    const char *role; /* "assistant", "learner" */
    const char *label, *note, *language;
    const char *voice; /* its name on the shelf (shelf.h), or NULL */
    int64_t made_ms, left_ms;
    int64_t revision;
};
MST_MUST_CHECK enum mst_status mst_person_add(struct mst_store *store,
                                              const struct mst_person *person, char id[MST_ID_SIZE],
                                              struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_person_get(struct mst_store *store, const char *id,
                                              struct mst_arena *arena, struct mst_person *out,
                                              struct mst_error *err);
/* By label. */
MST_MUST_CHECK enum mst_status mst_person_list(struct mst_store *store, const char *class_id,
                                               struct mst_arena *arena, struct mst_person **out,
                                               size_t *count, struct mst_error *err);
/* role, label, note, language, voice, left_ms. Who has left is signed out everywhere. */
MST_MUST_CHECK enum mst_status mst_person_put(struct mst_store *store,
                                              const struct mst_person *person,
                                              struct mst_error *err);

/* That someone was deleted: their id, nothing else about them. */
struct mst_receipt {
    const char *id, *person;
    const char *took;    /* JSON: {"recordings":3,"submissions":2,…} */
    const char *backups; /* JSON list of names: those that still hold them (backup.h) */
    int64_t made_ms;
};
/*
 * Rows, recordings, reports, work made from them, uploads, sessions, codes and
 * the learned voice; when it is answered nothing of them is in the data folder.
 * Work that is running on a recording of theirs ends at nothing.
 */
MST_MUST_CHECK enum mst_status mst_person_delete(struct mst_store *store, const char *id,
                                                 struct mst_arena *arena, struct mst_receipt *out,
                                                 struct mst_error *err);
/* Latest first. */
MST_MUST_CHECK enum mst_status mst_receipt_list(struct mst_store *store, struct mst_arena *arena,
                                                struct mst_receipt **out, size_t *count,
                                                struct mst_error *err);

struct mst_consent {
    const char *words; /* as they were shown */
    const char *by;    /* "self", "guardian", "paper" */
    int64_t said_ms, withdrawn_ms;
};
/* Takes the place of an earlier one that was not withdrawn. */
MST_MUST_CHECK enum mst_status mst_consent_add(struct mst_store *store, const char *person,
                                               const char *words, const char *by,
                                               struct mst_error *err);
/* The latest; said_ms 0: none was ever given. It holds while withdrawn_ms is 0. */
MST_MUST_CHECK enum mst_status mst_consent_get(struct mst_store *store, const char *person,
                                               struct mst_arena *arena, struct mst_consent *out,
                                               struct mst_error *err);
/* NOT_FOUND when none holds. */
MST_MUST_CHECK enum mst_status mst_consent_withdraw(struct mst_store *store, const char *person,
                                                    struct mst_error *err);

/* --- joining ----------------------------------------------------------------------- */
/*
 * A code on paper: 16 letters and digits of chance (80 bits) in fours,
 * "7d3k-…", without those that are mistaken for one another (i l o u: what
 * someone types for them is understood). It is used once; the book keeps its
 * BLAKE2b-256 only.
 */
enum { MST_JOIN_CODE_SIZE = 20 };
struct mst_join_code {
    int64_t made_ms, ends_ms, used_ms, revoked_ms;
};
/* The person's earlier codes end. */
MST_MUST_CHECK enum mst_status mst_join_make(struct mst_store *store, const char *person,
                                             int64_t lives_ms, char code[MST_JOIN_CODE_SIZE],
                                             struct mst_error *err);
/* NOT_FOUND, always with the same words: unknown, used, revoked, ended, or of someone who has left
 * or whose class is closed. Of several at once one succeeds. */
MST_MUST_CHECK enum mst_status mst_join_use(struct mst_store *store, const char *code,
                                            char person[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_join_revoke(struct mst_store *store, const char *person,
                                               struct mst_error *err);
/* The latest; made_ms 0: none was ever made. */
MST_MUST_CHECK enum mst_status mst_join_get(struct mst_store *store, const char *person,
                                            struct mst_join_code *out, struct mst_error *err);

/* --- assignments ---------------------------------------------------------------------- */
struct mst_assignment {
    const char *id, *class_id, *title, *passage;
    const char *how;    /* JSON: how it is read */
    const char *lesson; /* or NULL */
    const char *rules;  /* ids, blanks between */
    const char *attend; /* what to attend to */
    const char *take;   /* the teacher's, or NULL */
    int stage;          /* 0…3: how much of the page has faded */
    int handed_in;      /* counted when read: people who did */
    int64_t due_ms, made_ms, withdrawn_ms;
    int64_t revision;
};
MST_MUST_CHECK enum mst_status mst_assignment_add(struct mst_store *store,
                                                  const struct mst_assignment *assignment,
                                                  char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_assignment_get(struct mst_store *store, const char *id,
                                                  struct mst_arena *arena,
                                                  struct mst_assignment *out,
                                                  struct mst_error *err);
/* Latest first. */
MST_MUST_CHECK enum mst_status mst_assignment_list(struct mst_store *store, const char *class_id,
                                                   struct mst_arena *arena,
                                                   struct mst_assignment **out, size_t *count,
                                                   struct mst_error *err);
/* Every member but id, class_id, made_ms. */
MST_MUST_CHECK enum mst_status mst_assignment_put(struct mst_store *store,
                                                  const struct mst_assignment *assignment,
                                                  struct mst_error *err);
/* What was handed in for it stays. */
MST_MUST_CHECK enum mst_status mst_assignment_delete(struct mst_store *store, const char *id,
                                                     struct mst_error *err);

/* --- submissions ------------------------------------------------------------------------ */
struct mst_submission {
    const char *id, *class_id;
    const char *assignment; /* or NULL */
    const char *person;     /* NULL: imported, and nobody has confirmed whose it is */
    const char *take;       /* NULL: the recording was deleted, the measures stay */
    const char *passage, *how;
    const char *marks;    /* JSON: what the learner marked */
    const char *state;    /* "received", "listening", "heard", "refused" */
    const char *problem;  /* or NULL */
    const char *proposal; /* JSON, or NULL */
    double need;          /* order of the desk, 0…1 */
    int64_t made_ms, heard_ms, sent_ms;
    int64_t revision;
    const char *label, *title; /* of the person and the assignment, when read; "": none */
    int sites, ruled;          /* its measures and those ruled on, counted when read */
};
/* Take and submission as one: a new id is made, made_ms filled in; what submission->take says is
 * not looked at. The take is the person's from here on. */
MST_MUST_CHECK enum mst_status mst_submission_hand_in(struct mst_store *store,
                                                      const struct mst_kept_take *take,
                                                      const struct mst_submission *submission,
                                                      char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_submission_get(struct mst_store *store, const char *id,
                                                  struct mst_arena *arena,
                                                  struct mst_submission *out,
                                                  struct mst_error *err);
/* Members that are NULL or 0 let everything through. */
struct mst_submission_filter {
    const char *class_id, *person, *assignment, *state;
    int unsent;  /* only what was not sent */
    int unnamed; /* only those nobody has confirmed */
    int named;   /* only those of a person */
    int limit;   /* 0: 1000 */
};
/* Highest need first, then the earliest. */
MST_MUST_CHECK enum mst_status mst_submission_list(struct mst_store *store,
                                                   const struct mst_submission_filter *filter,
                                                   struct mst_arena *arena,
                                                   struct mst_submission **out, size_t *count,
                                                   struct mst_error *err);
/* assignment, person (its take's too), passage, how, marks, state, problem, proposal, need,
 * heard_ms. */
MST_MUST_CHECK enum mst_status mst_submission_put(struct mst_store *store,
                                                  const struct mst_submission *submission,
                                                  struct mst_error *err);
/* Handed in before that time, by someone known, with a recording, not heard yet, and no job is
 * going to: what a crash left. */
MST_MUST_CHECK enum mst_status mst_submission_list_left(struct mst_store *store, int64_t before_ms,
                                                        struct mst_arena *arena,
                                                        struct mst_submission **out, size_t *count,
                                                        struct mst_error *err);
/* From here on the learner sees the answer, as it is now: what is ruled and written later waits for
 * the next time. */
MST_MUST_CHECK enum mst_status mst_submission_send(struct mst_store *store, const char *id,
                                                   struct mst_error *err);
/* With its recording, report, notes and work. */
MST_MUST_CHECK enum mst_status mst_submission_delete(struct mst_store *store, const char *id,
                                                     struct mst_error *err);

/* --- what was heard in one ------------------------------------------------------------------ */
struct mst_site_measure {
    int site;                     /* its number in the submission, from 0 */
    const char *rule;             /* id; "": a fault where no rule acts */
    const char *letter;           /* or "" */
    const char *at;               /* address */
    const char *length;           /* id of its class of length (ear.h), or "" */
    const char *trust;            /* "good", "fair", "none" */
    const char *told;             /* "right", "short", "long", "fault", "unsure" */
    const char *fault, *fault_ar; /* what was heard, in words; NULL for lengths */
    const char *ruling;           /* "", "agree", "overrule" */
    const char *ruled_by;         /* id of a person; "": the teacher, or nobody yet */
    int sura, verse, word;        /* of `at` */
    int start_ms, end_ms;
    int skill;                                       /* mst_skill_number of know.h; 0: none */
    double measured_counts, counts_low, counts_high; /* 0, 0, 0: no length */
    double expected_counts, deviation;
    double wrong; /* 0…1: how likely a teacher calls it wrong */
    double rank;  /* order of the desk */
    int64_t ruled_ms;
    const char *sent_ruling; /* as `ruling` was when the answer was last sent; "": none was */
};
/* In place of what was there; a ruling stays with its rule and place. site is given by order. */
MST_MUST_CHECK enum mst_status mst_measures_put(struct mst_store *store, const char *submission,
                                                const struct mst_site_measure *rows, size_t count,
                                                struct mst_error *err);
/* Highest rank first. */
MST_MUST_CHECK enum mst_status mst_measures_get(struct mst_store *store, const char *submission,
                                                struct mst_arena *arena,
                                                struct mst_site_measure **out, size_t *count,
                                                struct mst_error *err);
/* by: id of an assistant; "": the teacher. */
MST_MUST_CHECK enum mst_status mst_ruling_put(struct mst_store *store, const char *submission,
                                              int site, const char *ruling, const char *by,
                                              struct mst_error *err);
/* The ruled lengths of a class. */
struct mst_ruled {
    const char *told, *ruling;
    double deviation;
};
MST_MUST_CHECK enum mst_status mst_ruled_list(struct mst_store *store, const char *class_id,
                                              struct mst_arena *arena, struct mst_ruled **out,
                                              size_t *count, struct mst_error *err);

/* A place someone recited, as the ear or a person heard it. */
struct mst_heard_place {
    const char *person;
    const char *submission; /* NULL: noted while they recited live */
    const char *rule, *letter, *at;
    const char *told;        /* as above; "" live */
    const char *ruling;      /* "" live */
    const char *sent_ruling; /* as it was when the answer was last sent */
    const char *what;        /* live: what was noted; else "" */
    int sura, verse, word, skill;
    double deviation, wrong;
    int64_t heard_ms; /* when it was recited */
};
/* Of one person, or (person NULL) of all in a class; in order of time. */
MST_MUST_CHECK enum mst_status mst_evidence_list(struct mst_store *store, const char *class_id,
                                                 const char *person, struct mst_arena *arena,
                                                 struct mst_heard_place **out, size_t *count,
                                                 struct mst_error *err);

/* --- notes to the learner -------------------------------------------------------------------- */
struct mst_note {
    const char *id, *submission;
    const char *at; /* address, or NULL: about all of it */
    const char *text;
    const char *hash; /* of a spoken one's sound, or NULL */
    const char *type; /* its media type, or "" */
    const char *by;   /* id of an assistant; "": the teacher */
    int64_t bytes, made_ms;
    int sent; /* the learner has it */
};
/* Not sent yet, whatever `sent` says. */
MST_MUST_CHECK enum mst_status mst_note_add(struct mst_store *store, const struct mst_note *note,
                                            char id[MST_ID_SIZE], struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_note_get(struct mst_store *store, const char *id,
                                            struct mst_arena *arena, struct mst_note *out,
                                            struct mst_error *err);
/* As they were made. */
MST_MUST_CHECK enum mst_status mst_note_list(struct mst_store *store, const char *submission,
                                             struct mst_arena *arena, struct mst_note **out,
                                             size_t *count, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_note_delete(struct mst_store *store, const char *id,
                                               struct mst_error *err);

/* --- uploads that may be broken off ------------------------------------------------------------
 */
struct mst_upload {
    const char *id, *person;
    const char *assignment; /* or NULL */
    const char *type;
    int64_t bytes; /* that it will have */
    int64_t have;  /* on disk */
    int64_t made_ms;
};
MST_MUST_CHECK enum mst_status mst_upload_open(struct mst_store *store, const char *person,
                                               const char *assignment, const char *type,
                                               int64_t bytes, char id[MST_ID_SIZE],
                                               struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_upload_get(struct mst_store *store, const char *id,
                                              struct mst_arena *arena, struct mst_upload *out,
                                              struct mst_error *err);
/* Those of a person that are under way, the earliest first. */
MST_MUST_CHECK enum mst_status mst_upload_list(struct mst_store *store, const char *person,
                                               struct mst_arena *arena, struct mst_upload **out,
                                               size_t *count, struct mst_error *err);
/* *have is what is on disk afterwards. MISMATCH when offset is not where it ends: send from *have.
 * USAGE when it would become longer than was said. */
MST_MUST_CHECK enum mst_status mst_upload_append(struct mst_store *store, const char *id,
                                                 int64_t offset, const void *bytes, size_t len,
                                                 int64_t *have, struct mst_error *err);
/* Where its bytes are, in the arena. */
const char *mst_upload_path(const struct mst_store *store, const char *id, struct mst_arena *arena);
/*
 * A whole upload becomes a take and a submission for its assignment, as one,
 * and the submission has the upload's id: said again, it answers the same.
 * marks: JSON. USAGE when bytes are missing or it is for no assignment.
 */
MST_MUST_CHECK enum mst_status mst_upload_submit(struct mst_store *store, const char *upload,
                                                 const char *marks, char id[MST_ID_SIZE],
                                                 struct mst_error *err);
/* Not there is no error. */
MST_MUST_CHECK enum mst_status mst_upload_drop(struct mst_store *store, const char *id,
                                               struct mst_error *err);

/* --- what does not stay
 * --------------------------------------------------------------------------- */
/*
 * Recordings of learners older than their class keeps them are deleted, with
 * their reports; measures, written notes and marks stay. Uploads begun
 * two weeks ago and never handed in go too. *gone: how many recordings.
 */
MST_MUST_CHECK enum mst_status mst_retention_run(struct mst_store *store, int64_t now_ms, int *gone,
                                                 struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
