/* some.h – a class with someone in it, for the tests that need one. */
#ifndef TESTS_STORE_SOME_H
#define TESTS_STORE_SOME_H

#include "folder.h"

#include <mistara/classbook.h>

static inline void some_class(struct mst_store *store, int retention_days, char id[MST_ID_SIZE])
{
    struct mst_class made = {.name = "Thursday evening",
                             .language = "en",
                             .consent = "Your recording is kept on this machine for your teacher.",
                             .limits = "{}",
                             .retention_days = retention_days};
    assert_done(mst_class_add(store, &made, id, &err));
}

static inline void some_person(struct mst_store *store, const char *class_id, const char *label,
                               char id[MST_ID_SIZE])
{
    struct mst_person person = {
        .class_id = class_id, .role = "learner", .label = label, .note = "", .language = "en"};
    assert_done(mst_person_add(store, &person, id, &err));
}

static inline void some_assignment(struct mst_store *store, const char *class_id,
                                   char id[MST_ID_SIZE])
{
    struct mst_assignment given = {.class_id = class_id,
                                   .title = "The echo letters",
                                   .passage = "112",
                                   .how = "{}",
                                   .rules = "qalqala",
                                   .attend = "the dal at each stop",
                                   .stage = 1,
                                   .due_ms = 99};
    assert_done(mst_assignment_add(store, &given, id, &err));
}

static inline void some_sound(struct mst_store *store, const char *bytes,
                              char hash[MST_HASH_HEX_SIZE])
{
    struct mst_incoming *in;
    int64_t len;
    assert_done(mst_store_incoming_open(store, 1 << 24, &in, &err));
    assert_done(mst_store_incoming_write(in, bytes, strlen(bytes), &err));
    assert_done(mst_store_incoming_keep(in, hash, &len, &err));
}

static inline struct mst_kept_take some_take(const char *hash)
{
    return (struct mst_kept_take){.name = "112",
                                  .passage = "112",
                                  .how = "{}",
                                  .hash = hash,
                                  .type = "audio/ogg",
                                  .note = "",
                                  .pins = "[]",
                                  .bytes = 3};
}

/* person, assignment: may be NULL. */
static inline struct mst_submission some_handed_in(const char *class_id, const char *person,
                                                   const char *assignment)
{
    return (struct mst_submission){.class_id = class_id,
                                   .person = person,
                                   .assignment = assignment,
                                   .passage = "112",
                                   .how = "{}",
                                   .marks = "[]",
                                   .state = "received"};
}

static inline void some_submission(struct mst_store *store, const char *class_id,
                                   const char *person, const char *assignment, const char *bytes,
                                   char id[MST_ID_SIZE])
{
    char hash[MST_HASH_HEX_SIZE];
    some_sound(store, bytes, hash);
    struct mst_kept_take take = some_take(hash);
    struct mst_submission submission = some_handed_in(class_id, person, assignment);
    assert_done(mst_submission_hand_in(store, &take, &submission, id, &err));
}

static inline struct mst_site_measure some_measure(const char *at, double rank)
{
    return (struct mst_site_measure){.rule = "qalqala",
                                     .letter = "د",
                                     .at = at,
                                     .length = "",
                                     .trust = "good",
                                     .told = "right",
                                     .sura = 112,
                                     .verse = 1,
                                     .word = 4,
                                     .start_ms = 100,
                                     .end_ms = 300,
                                     .skill = 7,
                                     .deviation = 0.25,
                                     .wrong = 0.125,
                                     .rank = rank};
}

#endif
