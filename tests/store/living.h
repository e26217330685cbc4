/* living.h – a learner of whom everything is known that the book can know, each thing with a mark
 * of its own, and how to find such marks in the bytes of a folder. */
#ifndef TESTS_STORE_LIVING_H
#define TESTS_STORE_LIVING_H

#include "some.h"

#include <sys/stat.h>

/* How many files of the folder hold the bytes, as grep counts them: an outside witness. Where the
 * rows are in PostgreSQL its tables' files are looked at too, once they are written. */
static inline int files_with(const struct place *place, const char *bytes)
{
    char command[512];
    int count = -1;
    if (*place->database)
        place_sql(place, "CHECKPOINT");
    snprintf(command, sizeof command, "grep -rlaF -- '%s' '%s' %s%s | wc -l", bytes, place->folder,
             *place->database ? getenv("MISTARA_TEST_CLUSTER") : "",
             *place->database ? "/base" : "");
    FILE *grep = popen(command, "r");
    assert_non_null(grep);
    assert_int_equal(fscanf(grep, "%d", &count), 1);
    pclose(grep);
    return count;
}

static inline void put_file(const char *folder, const char *name, const char *bytes)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(bytes, f);
    assert_int_equal(fclose(f), 0);
}

/* Everything the book can know of a learner, each with a mark of its own. */
static inline void live_a_little(const struct place *place, struct mst_store *store,
                                 const char *class_id, const char *assignment, const char *mark,
                                 char person[MST_ID_SIZE])
{
    char text[160], id[MST_ID_SIZE], submission[MST_ID_SIZE], hash[MST_HASH_HEX_SIZE],
        code[MST_JOIN_CODE_SIZE];
    struct mst_submission s;
    struct mst_job job;
    const char *folder;
    int64_t have;
#define MARKED(what) (snprintf(text, sizeof text, "%s-" what, mark), text)
    some_person(store, class_id, MARKED("label"), person);
    struct mst_person p;
    assert_done(mst_person_get(store, person, place->arena, &p, &err));
    char note[64], voice[64];
    snprintf(note, sizeof note, "%s-note", mark);
    snprintf(voice, sizeof voice, "%s-voice", mark);
    p.note = note;
    p.voice = voice;
    assert_done(mst_person_put(store, &p, &err));
    assert_done(mst_store_voice_put(store, voice, "[]", &err));
    char voices[128], file[80];
    snprintf(voices, sizeof voices, "%s/voices", place->folder);
    mkdir(voices, 0700);
    snprintf(file, sizeof file, "%s.voice", voice);
    put_file(voices, file, MARKED("voice model"));
    assert_done(mst_consent_add(store, person, MARKED("consent"), "self", &err));
    assert_done(mst_join_make(store, person, 3600000, code, &err));

    some_submission(store, class_id, person, assignment, MARKED("sound"), submission);
    assert_done(mst_submission_get(store, submission, place->arena, &s, &err));
    char marks[64];
    snprintf(marks, sizeof marks, "[\"%s-marks\"]", mark);
    s.marks = marks;
    s.state = "heard";
    assert_done(mst_submission_put(store, &s, &err));
    assert_done(mst_store_report_folder(store, s.take, place->arena, &folder, &err));
    put_file(folder, "report.html", MARKED("report"));
    struct mst_site_measure measure = some_measure("112:1:4:2", 1);
    measure.fault = MARKED("fault");
    assert_done(mst_measures_put(store, submission, &measure, 1, &err));
    struct mst_note words = {
        .submission = submission, .text = MARKED("answer"), .type = "", .by = ""};
    assert_done(mst_note_add(store, &words, id, &err));
    some_sound(store, MARKED("spoken"), hash);
    struct mst_note spoken = {
        .submission = submission, .text = "", .hash = hash, .type = "audio/ogg", .by = ""};
    assert_done(mst_note_add(store, &spoken, id, &err));

    /* Work about them, work that only mentions them, and work still waiting. */
    for (int n = 0; n < 3; n++) {
        char input[128];
        snprintf(input, sizeof input, "{\"takes\":[\"%s\"],\"mark\":\"%s-job%d\"}",
                 n == 1 ? s.take : "x", mark, n);
        assert_done(mst_store_job_add(store, "listen",
                                      n == 0   ? submission
                                      : n == 1 ? "x"
                                               : person,
                                      input, id, &err));
        if (n == 2)
            break;
        assert_done(mst_store_job_claim(store, place->arena, &job, &err));
        assert_done(mst_store_work_folder(store, job.id, place->arena, &folder, &err));
        put_file(folder, "clip.wav", MARKED("clip"));
        assert_done(mst_store_job_end(store, job.id, MST_JOB_DONE, NULL, "{}", &err));
    }
    struct mst_live_hearing live = {.at = "112:1:1",
                                    .what = "short",
                                    .note = MARKED("live"),
                                    .who = "",
                                    .person = person,
                                    .sura = 112,
                                    .verse = 1,
                                    .word = 1};
    assert_done(mst_store_hearing_add(store, &live, id, &err));
    char label[64];
    snprintf(label, sizeof label, "%s-label", mark);
    live.person = NULL;
    live.note = "noted before the class was in the book";
    live.who = label;
    assert_done(mst_store_hearing_add(store, &live, id, &err));
    assert_done(mst_upload_open(store, person, assignment, "audio/webm", 100, id, &err));
    MARKED("upload");
    assert_done(mst_upload_append(store, id, 0, text, strlen(text), &have, &err));
    struct mst_session session = {.token = "t", .role = "learner"};
    memcpy(session.key, mark, strlen(mark));
    memcpy(session.person, person, MST_ID_SIZE);
    assert_done(mst_store_session_add(store, &session, &err));
#undef MARKED
}

/* label voice voicemodel consent sound marks report fault answer spoken job clip live upload note
 */
enum { MARKS_IN_ROWS_AND_FILES = 15 };

static inline void count_marks(const struct place *place, const char *mark, int wanted)
{
    static const char *const kinds[MARKS_IN_ROWS_AND_FILES] = {
        "label",  "voice",  "voice model", "consent", "sound", "marks",  "report", "fault",
        "answer", "spoken", "job1",        "clip",    "live",  "upload", "note"};
    for (int n = 0; n < MARKS_IN_ROWS_AND_FILES; n++) {
        char text[96];
        snprintf(text, sizeof text, "%s-%s", mark, kinds[n]);
        int files = files_with(place, text);
        if ((files > 0) != wanted)
            fail_msg("“%s” is in %d files", text, files);
    }
}

#endif
