/* book.c – what is kept is there again, also after the folder was closed, and also after a kill. */
#include "folder.h"

#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static struct mst_store *opened(const struct place *place)
{
    struct mst_store *store;
    assert_done(place_open(place, &store, &err));
    return store;
}

static void folder_is_private_and_locked(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place), *second;
    struct stat st;
    char path[128];
    assert_int_equal(stat(place->folder, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0700);
    snprintf(path, sizeof path, "%s/%s", place->folder, *place->database ? "lock" : "mistara.db");
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    /* A book of its own in it: nobody else at the same time, whatever database they bring. */
    assert_refused(MST_UNSUPPORTED, mst_store_open(place->folder, &second, &err));
    assert_done(mst_store_check(store, &err));
    mst_store_close(store);
    mst_store_close(opened(place));
}

static void jobs_wait_run_and_end(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    struct mst_job job;
    char first[MST_ID_SIZE], second[MST_ID_SIZE];
    assert_done(mst_store_job_add(store, "listen", "x", "{}", first, &err));
    assert_done(mst_store_job_add(store, "sheet", "y", "{\"a\":1}", second, &err));
    assert_true(mst_store_is_id(first));
    assert_done(mst_store_job_claim(store, place->arena, &job, &err));
    assert_string_equal(job.id, first);
    assert_int_equal(job.state, MST_JOB_RUNNING);
    assert_int_equal(job.attempts, 1);
    assert_refused(MST_USAGE, mst_store_job_delete(store, first, &err));
    assert_done(mst_store_job_put_back(store, first, 1, &err));
    assert_done(mst_store_job_claim(store, place->arena, &job, &err));
    assert_string_equal(job.id, first);
    assert_int_equal(job.attempts, 1);
    assert_done(mst_store_job_end(store, first, MST_JOB_DONE, NULL, "{\"b\":2}", &err));
    assert_refused(MST_NOT_FOUND,
                   mst_store_job_end(store, first, MST_JOB_FAILED, "late", NULL, &err));
    assert_done(mst_store_job_end(store, second, MST_JOB_CANCELLED, NULL, NULL, &err));
    assert_refused(MST_NOT_FOUND, mst_store_job_claim(store, place->arena, &job, &err));
    assert_done(mst_store_job_get(store, first, place->arena, &job, &err));
    assert_string_equal(job.result, "{\"b\":2}");
    struct mst_job *jobs;
    size_t count;
    struct mst_job_filter about = {.state = -1, .about = "y"};
    assert_done(mst_store_job_list(store, &about, place->arena, &jobs, &count, &err));
    assert_int_equal(count, 1);
    assert_int_equal(jobs[0].state, MST_JOB_CANCELLED);
    assert_done(mst_store_job_delete(store, first, &err));
    assert_refused(MST_NOT_FOUND, mst_store_job_get(store, first, place->arena, &job, &err));
    mst_store_close(store);
}

/* Begun and not ended when the folder is opened again: it waits, three times; then it has failed.
 */
static void interrupted_jobs_are_never_lost(void **state)
{
    struct place *place = *state;
    char id[MST_ID_SIZE];
    struct mst_job job;
    struct mst_store *store = opened(place);
    assert_done(mst_store_job_add(store, "listen", "x", "{}", id, &err));
    for (int n = 1; n <= 3; n++) {
        assert_done(mst_store_job_claim(store, place->arena, &job, &err));
        assert_int_equal(job.attempts, n);
        mst_store_close(store);
        store = opened(place);
        place_next_day(place, store);
        assert_done(mst_store_job_recover(store, 3, "three times", &err));
    }
    assert_done(mst_store_job_get(store, id, place->arena, &job, &err));
    assert_int_equal(job.state, MST_JOB_FAILED);
    assert_string_equal(job.reason, "three times");
    mst_store_close(store);
}

/* Made, begun and ended as done. */
static void a_done_job(const struct place *place, struct mst_store *store, const char *kind,
                       const char *about, const char *input, char id[MST_ID_SIZE])
{
    struct mst_job job;
    assert_done(mst_store_job_add(store, kind, about, input, id, &err));
    assert_done(mst_store_job_claim(store, place->arena, &job, &err));
    assert_done(mst_store_job_end(store, id, MST_JOB_DONE, NULL, NULL, &err));
}

/* Old work goes with its files; what a lesson was last made into stays, each choice of parts. */
static void old_jobs_go_but_not_the_last_build(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    struct mst_document d = {.kind = "lesson", .title = "Echo", .text = "x"};
    char lesson[MST_ID_SIZE], earlier[MST_ID_SIZE], latest[MST_ID_SIZE], film[MST_ID_SIZE],
        gone[MST_ID_SIZE], sheet[MST_ID_SIZE], waiting[MST_ID_SIZE];
    const char **ids, *folder;
    size_t count;
    struct mst_job job;
    assert_done(mst_store_document_add(store, &d, lesson, &err));
    a_done_job(place, store, "lesson", lesson, "{\"make\":[\"film\"]}", film);
    a_done_job(place, store, "lesson", lesson, "{}", earlier);
    a_done_job(place, store, "lesson", lesson, "{}", latest);
    a_done_job(place, store, "lesson", "0000000000000000", "{}", gone);
    a_done_job(place, store, "sheet", "67:1-5", "{}", sheet);
    assert_done(mst_store_job_add(store, "sheet", "67:1-5", "{}", waiting, &err));
    assert_done(mst_store_work_folder(store, sheet, place->arena, &folder, &err));
    assert_done(
        mst_store_job_prune(store, mst_store_now_ms() - 60000, place->arena, &ids, &count, &err));
    assert_int_equal(count, 0);
    assert_done(
        mst_store_job_prune(store, mst_store_now_ms() + 60000, place->arena, &ids, &count, &err));
    assert_int_equal(count, 3);
    assert_string_equal(ids[0], earlier);
    assert_string_equal(ids[1], gone);
    assert_string_equal(ids[2], sheet);
    assert_int_equal(access(folder, F_OK), -1);
    assert_done(mst_store_job_get(store, latest, place->arena, &job, &err));
    assert_done(mst_store_job_get(store, film, place->arena, &job, &err));
    assert_done(mst_store_job_get(store, waiting, place->arena, &job, &err));
    mst_store_close(store);
}

/* A build killed in the middle leaves a folder with folders; begun again, it finds none of it. */
static void work_begins_with_an_empty_folder(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char id[MST_ID_SIZE], path[200];
    const char *folder;
    mst_store_new_id(id);
    assert_done(mst_store_work_folder(store, id, place->arena, &folder, &err));
    for (int n = 0; n < 2; n++) {
        snprintf(path, sizeof path, "%s/%s", folder, n ? "lesson/slides" : "lesson");
        assert_int_equal(mkdir(path, 0700), 0);
    }
    snprintf(path, sizeof path, "%s/lesson/slides/slide-01.png", folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fclose(file);
    assert_done(mst_store_work_folder(store, id, place->arena, &folder, &err));
    assert_int_equal(rmdir(folder), 0);
    mst_store_close(store);
}

static struct mst_kept_take a_take(const char *hash)
{
    return (struct mst_kept_take){.name = "Evening class",
                                  .passage = "78:1-16",
                                  .how = "{}",
                                  .hash = hash,
                                  .type = "audio/ogg",
                                  .note = "",
                                  .pins = "[]"};
}

static void sound_put(struct mst_store *store, const char *bytes, char hash[MST_HASH_HEX_SIZE])
{
    struct mst_incoming *in;
    int64_t len;
    assert_done(mst_store_incoming_open(store, 1000, &in, &err));
    assert_done(mst_store_incoming_write(in, bytes, strlen(bytes), &err));
    assert_done(mst_store_incoming_keep(in, hash, &len, &err));
    assert_int_equal(len, strlen(bytes));
}

/* BLAKE2b-256 of "abc", as the b2sum of GNU coreutils gives it (b2sum -l 256). */
static const char abc[] = "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319";

static void sound_is_kept_by_content(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char hash[MST_HASH_HEX_SIZE], again[MST_HASH_HEX_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE];
    sound_put(store, "abc", hash);
    assert_string_equal(hash, abc);
    sound_put(store, "abc", again);
    assert_string_equal(hash, again);
    struct mst_kept_take take = a_take(hash);
    assert_done(mst_store_take_add(store, &take, one, &err));
    assert_done(mst_store_take_add(store, &take, two, &err));
    const char *path = mst_store_sound_path(store, hash, place->arena);
    assert_int_equal(access(path, R_OK), 0);
    assert_done(mst_store_take_delete(store, one, &err));
    assert_int_equal(access(path, R_OK), 0); /* the other one has it still */
    assert_done(mst_store_take_delete(store, two, &err));
    assert_int_not_equal(access(path, R_OK), 0);
    assert_refused(MST_NOT_FOUND, mst_store_take_delete(store, two, &err));

    struct mst_incoming *in;
    assert_done(mst_store_incoming_open(store, 4, &in, &err));
    assert_refused(MST_USAGE, mst_store_incoming_write(in, "12345", 5, &err));
    mst_store_incoming_drop(in);
    sound_put(store, "nobody names this one", hash);
    path = mst_store_sound_path(store, hash, place->arena);
    mst_store_close(store);
    store = opened(place);
    place_next_day(place, store);
    assert_int_not_equal(access(path, R_OK), 0);
    mst_store_close(store);
}

static void takes_change_once_a_revision(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char one[MST_ID_SIZE], two[MST_ID_SIZE];
    struct mst_kept_take take = a_take(abc), first, second, stale;
    assert_done(mst_store_take_add(store, &take, one, &err));
    assert_done(mst_store_take_add(store, &take, two, &err));
    assert_done(mst_store_take_measured(store, one, 11.5, &err));
    assert_done(mst_store_take_measured(store, one, 99, &err)); /* it is known by now */
    assert_done(mst_store_take_get(store, one, place->arena, &first, &err));
    assert_true(first.seconds > 11.4 && first.seconds < 11.6);
    assert_int_equal(first.revision, 1);
    stale = first;
    first.chosen = 1;
    first.seconds = 12.5;
    first.state = MST_KEPT_HEARD;
    first.problem = "it was “noisy”; DROP TABLE take";
    assert_done(mst_store_take_put(store, &first, &err));
    assert_refused(MST_MISMATCH, mst_store_take_put(store, &stale, &err));
    assert_done(mst_store_take_get(store, two, place->arena, &second, &err));
    second.chosen = 1;
    assert_done(mst_store_take_put(store, &second, &err));
    assert_done(mst_store_take_get(store, one, place->arena, &first, &err));
    assert_int_equal(first.chosen, 0); /* one a passage */
    assert_int_equal(first.state, MST_KEPT_HEARD);
    assert_string_equal(first.problem, "it was “noisy”; DROP TABLE take");
    struct mst_kept_take *list;
    size_t count;
    assert_done(mst_store_take_list(store, "78:1-16", place->arena, &list, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(list[0].id, two);
    assert_done(mst_store_take_list(store, "112", place->arena, &list, &count, &err));
    assert_int_equal(count, 0);
    mst_store_close(store);
}

static void documents_know_their_revision(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char id[MST_ID_SIZE];
    struct mst_document d = {.kind = "lesson", .title = "إخفاء", .text = "one\ntwo\n"}, got, stale;
    assert_done(mst_store_document_add(store, &d, id, &err));
    assert_done(mst_store_document_get(store, "lesson", id, place->arena, &got, &err));
    assert_string_equal(got.title, "إخفاء");
    assert_string_equal(got.text, "one\ntwo\n");
    stale = got;
    got.text = "three\n";
    got.problems = 2;
    assert_done(mst_store_document_put(store, &got, &err));
    assert_refused(MST_MISMATCH, mst_store_document_put(store, &stale, &err));
    struct mst_document *list;
    size_t count;
    assert_done(mst_store_document_list(store, "lesson", place->arena, &list, &count, &err));
    assert_int_equal(count, 1);
    assert_int_equal(list[0].problems, 2);
    assert_int_equal(list[0].revision, 2);
    assert_refused(MST_NOT_FOUND,
                   mst_store_document_get(store, "course", id, place->arena, &got, &err));
    assert_done(mst_store_document_delete(store, "lesson", id, &err));
    mst_store_close(store);
}

static void hearings_are_found_by_place_and_time(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char id[MST_ID_SIZE], other[MST_ID_SIZE];
    struct mst_live_hearing h = {.at = "67:3:2:1",
                                 .what = "short",
                                 .note = "",
                                 .who = "",
                                 .sura = 67,
                                 .verse = 3,
                                 .word = 2},
                            got, *list;
    size_t count;
    assert_done(mst_store_hearing_add(store, &h, id, &err));
    h.at = "78:40:1";
    h.sura = 78;
    h.verse = 40;
    assert_done(mst_store_hearing_add(store, &h, other, &err));
    struct mst_hearing_filter here = {
        .first_sura = 67, .first_verse = 1, .last_sura = 67, .last_verse = 5};
    assert_done(mst_store_hearing_list(store, &here, place->arena, &list, &count, &err));
    assert_int_equal(count, 1);
    assert_string_equal(list[0].id, id);
    struct mst_hearing_filter later = {.since_ms = mst_store_now_ms() + 1000};
    assert_done(mst_store_hearing_list(store, &later, place->arena, &list, &count, &err));
    assert_int_equal(count, 0);
    assert_done(mst_store_hearing_get(store, id, place->arena, &got, &err));
    got.undone = 1;
    assert_done(mst_store_hearing_put(store, &got, &err));
    assert_done(mst_store_hearing_get(store, id, place->arena, &got, &err));
    assert_int_equal(got.undone, 1);
    assert_done(mst_store_hearing_delete(store, id, &err));
    assert_refused(MST_NOT_FOUND, mst_store_hearing_put(store, &got, &err));
    mst_store_close(store);
}

static void sessions_and_settings(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    struct mst_session
        one = {.key = {1}, .token = "t", .role = "teacher", .made_ms = 5, .seen_ms = 5},
        two = {.key = {2}, .token = "u", .role = "teacher", .made_ms = 6, .seen_ms = 600}, got;
    assert_done(mst_store_session_add(store, &one, &err));
    assert_done(mst_store_session_add(store, &two, &err));
    assert_done(mst_store_session_get(store, one.key, &got, &err));
    assert_string_equal(got.token, "t");
    assert_done(mst_store_session_expire(store, 500, &err));
    assert_refused(MST_NOT_FOUND, mst_store_session_get(store, one.key, &got, &err));
    assert_done(mst_store_session_seen(store, two.key, 700, &err));
    assert_done(mst_store_session_remove(store, NULL, two.key, &err));
    assert_done(mst_store_session_get(store, two.key, &got, &err));
    assert_int_equal(got.seen_ms, 700);
    const char *value;
    assert_done(mst_store_setting_put(store, "pages", "{}", &err));
    assert_done(mst_store_setting_put(store, "pages", "{\"a\":1}", &err));
    assert_done(mst_store_setting_get(store, "pages", place->arena, &value, &err));
    assert_string_equal(value, "{\"a\":1}");
    assert_done(mst_store_setting_put(store, "pages", NULL, &err));
    assert_done(mst_store_setting_get(store, "pages", place->arena, &value, &err));
    assert_null(value);
    mst_store_close(store);
}

/*
 * A writer is killed at moments of chance; every hearing it had told of
 * through the pipe must be there, and the book whole.
 */
static void a_kill_loses_nothing_acknowledged(void **state)
{
    struct place *place = *state;
    srand(5);
    for (int round = 0; round < 12; round++) {
        int told[2];
        char id[MST_ID_SIZE];
        assert_int_equal(pipe(told), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            struct mst_error err;
            struct mst_store *store;
            struct mst_live_hearing h = {.at = "67:1:1",
                                         .what = "x",
                                         .note = "",
                                         .who = "",
                                         .sura = 67,
                                         .verse = 1,
                                         .word = 1};
            if (place_open(place, &store, &err) != MST_OK)
                _exit(1);
            while (mst_store_hearing_add(store, &h, id, &err) == MST_OK)
                if (write(told[1], id, sizeof id) != sizeof id)
                    _exit(2);
            _exit(3);
        }
        close(told[1]);
        usleep(20000 + (useconds_t)(rand() % 60000));
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
        struct mst_store *store = opened(place);
        struct mst_live_hearing got;
        assert_done(mst_store_check(store, &err));
        while (read(told[0], id, sizeof id) == sizeof id)
            assert_done(mst_store_hearing_get(store, id, place->arena, &got, &err));
        close(told[0]);
        mst_store_close(store);
    }
}

static void ids_of_others_make_no_paths(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    const char *path;
    assert_refused(MST_NOT_FOUND,
                   mst_store_report_folder(store, "../../etc", place->arena, &path, &err));
    assert_refused(MST_NOT_FOUND, mst_store_report_forget(store, "..", &err));
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(folder_is_private_and_locked),         TEST(jobs_wait_run_and_end),
        TEST(interrupted_jobs_are_never_lost),      TEST(sound_is_kept_by_content),
        TEST(old_jobs_go_but_not_the_last_build),   TEST(work_begins_with_an_empty_folder),
        TEST(takes_change_once_a_revision),         TEST(documents_know_their_revision),
        TEST(hearings_are_found_by_place_and_time), TEST(sessions_and_settings),
        TEST(a_kill_loses_nothing_acknowledged),    TEST(ids_of_others_make_no_paths),
    };
    return cmocka_run_group_tests_name("the book", tests, NULL, NULL);
}
