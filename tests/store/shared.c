/* shared.c – work is given to one at a time, and what a late one writes is refused; and what holds
 * of a book that several programs have open at once. */
#include "some.h"
#include "store.h"

#include <dirent.h>
#include <pthread.h>
#include <sys/stat.h>
#include <unistd.h>

static struct mst_store *opened(const struct place *place)
{
    struct mst_store *store;
    assert_done(place_open(place, &store, &err));
    return store;
}

/* Another program at the same book; a book in a folder is one program's alone. */
static struct mst_store *another(const struct place *place, struct mst_store *store)
{
    return *place->database ? opened(place) : store;
}

static void both_closed(struct mst_store *one, struct mst_store *two)
{
    if (two != one)
        mst_store_close(two);
    mst_store_close(one);
}

/* --- the queue ----------------------------------------------------------------------- */

enum { JOBS = 120, TAKERS = 6 };

struct taker {
    pthread_t thread;
    struct mst_store *store;
    char ids[JOBS][MST_ID_SIZE];
    int count, failed;
};

static void *take_all(void *cls)
{
    struct taker *taker = cls;
    struct mst_arena *arena = mst_arena_new(0);
    for (;;) {
        struct mst_error err;
        struct mst_job job;
        enum mst_status status = mst_store_job_claim(taker->store, arena, &job, &err);
        if (status == MST_NOT_FOUND)
            break;
        taker->failed |=
            status != MST_OK || taker->count == JOBS ||
            mst_store_job_guard(taker->store, &job, &err) != MST_OK ||
            mst_store_job_end(taker->store, job.id, MST_JOB_DONE, NULL, "{}", &err) != MST_OK ||
            mst_store_job_guard(taker->store, NULL, &err) != MST_OK;
        if (taker->failed)
            break;
        memcpy(taker->ids[taker->count++], job.id, MST_ID_SIZE);
    }
    mst_arena_free(arena);
    return NULL;
}

static void every_job_is_taken_once(void **state)
{
    struct place *place = *state;
    struct mst_store *stores[2];
    static struct taker takers[TAKERS];
    char ids[JOBS][MST_ID_SIZE];
    int taken = 0;
    stores[0] = opened(place);
    stores[1] = another(place, stores[0]);
    for (int n = 0; n < JOBS; n++)
        assert_done(mst_store_job_add(stores[0], "listen", "x", "{}", ids[n], &err));
    for (int n = 0; n < TAKERS; n++) {
        takers[n] = (struct taker){.store = stores[n % 2]};
        assert_int_equal(pthread_create(&takers[n].thread, NULL, take_all, &takers[n]), 0);
    }
    for (int n = 0; n < TAKERS; n++) {
        pthread_join(takers[n].thread, NULL);
        assert_false(takers[n].failed);
        taken += takers[n].count;
    }
    assert_int_equal(taken, JOBS);
    for (int n = 0; n < JOBS; n++) {
        int times = 0;
        struct mst_job job;
        for (int t = 0; t < TAKERS; t++)
            for (int k = 0; k < takers[t].count; k++)
                times += strcmp(takers[t].ids[k], ids[n]) == 0;
        assert_int_equal(times, 1);
        assert_done(mst_store_job_get(stores[1], ids[n], place->arena, &job, &err));
        assert_int_equal(job.state, MST_JOB_DONE);
        assert_int_equal(job.attempts, 1);
    }
    both_closed(stores[0], stores[1]);
}

/* The first worker is held up for longer than its lease; the second one does the job meanwhile. */
static void a_late_worker_is_refused(void **state)
{
    struct place *place = *state;
    struct mst_store *one = opened(place), *two = another(place, one);
    char id[MST_ID_SIZE], class[MST_ID_SIZE], person[MST_ID_SIZE], submission[MST_ID_SIZE];
    struct mst_job late, job;
    struct mst_submission s;
    struct mst_site_measure theirs = some_measure("112:1:4:2", 1), *measures;
    size_t count;
    some_class(one, 0, class);
    some_person(one, class, "Learner 1", person);
    some_submission(one, class, person, NULL, "abc", submission);
    assert_done(mst_store_job_add(one, "submission", submission, "{}", id, &err));
    assert_done(mst_store_job_claim(one, place->arena, &late, &err));
    assert_done(mst_store_job_hold(one, &late, &err));
    if (*place->database) { /* while the lease lasts nobody else gets it */
        assert_done(mst_store_job_recover(two, 3, "three times", &err));
        assert_refused(MST_NOT_FOUND, mst_store_job_claim(two, place->arena, &job, &err));
    }
    place_next_day(place, one);
    assert_done(mst_store_job_recover(two, 3, "three times", &err));
    assert_done(mst_store_job_claim(two, place->arena, &job, &err));
    assert_string_equal(job.id, late.id);
    assert_true(job.fence > late.fence);

    assert_refused(MST_CANCELLED, mst_store_job_hold(one, &late, &err));
    assert_done(mst_store_job_guard(one, &late, &err));
    assert_refused(MST_CANCELLED, mst_measures_put(one, submission, &theirs, 1, &err));
    assert_refused(MST_CANCELLED, mst_store_setting_put(one, "late", "1", &err));
    assert_refused(MST_CANCELLED, mst_store_begin(one, &err));
    assert_refused(MST_CANCELLED,
                   mst_store_job_end(one, late.id, MST_JOB_DONE, NULL, "\"late\"", &err));
    assert_refused(MST_CANCELLED, mst_store_job_put_back(one, late.id, 0, &err));
    /* Reading is nobody's harm. */
    assert_done(mst_submission_get(one, submission, place->arena, &s, &err));
    assert_int_equal(s.sites, 0);
    assert_done(mst_store_job_guard(one, NULL, &err));

    assert_done(mst_store_job_guard(two, &job, &err));
    assert_done(mst_store_begin(two, &err));
    assert_done(mst_measures_put(two, submission, &theirs, 1, &err));
    assert_done(mst_store_job_end(two, job.id, MST_JOB_DONE, NULL, "{}", &err));
    assert_done(mst_store_settle(two, MST_OK, &err));
    assert_done(mst_store_job_guard(two, NULL, &err));
    assert_done(mst_measures_get(one, submission, place->arena, &measures, &count, &err));
    assert_int_equal(count, 1);
    assert_done(mst_store_job_get(one, id, place->arena, &job, &err));
    assert_int_equal(job.state, MST_JOB_DONE);
    assert_string_equal(job.result, "{}");
    assert_int_equal(job.attempts, 2);
    both_closed(one, two);
}

static void what_is_written_as_one_counts_as_one(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    const char *value;
    assert_done(mst_store_begin(store, &err));
    assert_done(mst_store_setting_put(store, "a", "1", &err));
    /* The inner one is undone by itself. */
    assert_done(mst_store_begin(store, &err));
    assert_done(mst_store_setting_put(store, "b", "1", &err));
    assert_int_equal(mst_store_settle(store, MST_MISMATCH, NULL), MST_MISMATCH);
    assert_done(mst_store_begin(store, &err));
    assert_done(mst_store_setting_put(store, "c", "1", &err));
    assert_done(mst_store_settle(store, MST_OK, &err));
    assert_done(mst_store_settle(store, MST_OK, &err));
    assert_done(mst_store_begin(store, &err));
    assert_done(mst_store_setting_put(store, "a", "2", &err));
    assert_int_equal(mst_store_settle(store, MST_IO, NULL), MST_IO);
    static const char *const wanted[][2] = {{"a", "1"}, {"b", NULL}, {"c", "1"}};
    for (int n = 0; n < 3; n++) {
        assert_done(mst_store_setting_get(store, wanted[n][0], place->arena, &value, &err));
        if (wanted[n][1])
            assert_string_equal(value, wanted[n][1]);
        else
            assert_null(value);
    }
    mst_store_close(store);
}

/* What was handed in, and its server died before it promised to listen; and what was given up. */
static void what_is_left_is_found(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], id[3][MST_ID_SIZE], job[MST_ID_SIZE];
    struct mst_submission s, *left;
    struct mst_kept_take take;
    size_t count;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    for (int n = 0; n < 3; n++)
        some_submission(store, class, person, NULL, "abc", id[n]);
    for (int n = 1; n < 3; n++) { /* 1 waits to be heard, 2 was given up */
        assert_done(mst_submission_get(store, id[n], place->arena, &s, &err));
        assert_done(mst_store_take_get(store, s.take, place->arena, &take, &err));
        assert_done(mst_store_job_add(store, "submission", id[n], "{}", job, &err));
        take.job = job;
        take.state = MST_KEPT_WAITING;
        assert_done(mst_store_take_put(store, &take, &err));
    }
    assert_done(mst_store_job_end(store, job, MST_JOB_CANCELLED, NULL, NULL, &err));
    int64_t now = mst_store_now_ms();
    assert_done(mst_submission_list_left(store, now, place->arena, &left, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(left[0].id, id[0]);
    assert_string_equal(left[1].id, id[2]);
    assert_done(mst_submission_list_left(store, now - 60000, place->arena, &left, &count, &err));
    assert_int_equal(count, 0);
    mst_store_close(store);
}

/* Both databases say the same when a row cannot be. */
static void what_cannot_be_is_told_alike(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    struct mst_session session = {.role = "learner", .person = "0000000000000000", .token = "t"};
    assert_refused(MST_NOT_FOUND, mst_store_session_add(store, &session, &err));
    *session.person = '\0';
    assert_done(mst_store_session_add(store, &session, &err));
    assert_refused(MST_MISMATCH, mst_store_session_add(store, &session, &err));
    mst_store_close(store);
}

/* --- sound ----------------------------------------------------------------------------- */

static void a_sound_on_its_way_in_is_not_deleted(void **state)
{
    struct place *place = *state;
    struct mst_store *one = opened(place), *two = another(place, one);
    char hash[MST_HASH_HEX_SIZE], id[MST_ID_SIZE], other[MST_ID_SIZE];
    some_sound(one, "the same recording", hash);
    struct mst_kept_take take = some_take(hash);
    assert_done(mst_store_take_add(one, &take, id, &err));
    some_sound(two, "the same recording", hash);
    assert_done(mst_store_take_delete(one, id, &err));
    const char *path = mst_store_sound_path(one, hash, place->arena);
    assert_int_equal(access(path, R_OK), 0);
    assert_done(mst_store_take_add(two, &take, other, &err));
    assert_done(mst_store_tidy(one, &err));
    assert_int_equal(access(path, R_OK), 0);
    assert_done(mst_store_take_delete(one, other, &err));
    assert_int_not_equal(access(path, R_OK), 0);
    both_closed(one, two);
}

struct handing_in {
    struct mst_store *store;
    const char *class_id, *person;
    int handed_in, refused, failed;
};

static void *hand_in_until_refused(void *cls)
{
    struct handing_in *h = cls;
    for (int n = 0; n < 1000 && !h->refused && !h->failed; n++) {
        char bytes[48], hash[MST_HASH_HEX_SIZE], id[MST_ID_SIZE];
        struct mst_error err = {0};
        struct mst_incoming *in;
        int64_t len;
        snprintf(bytes, sizeof bytes, "recording %d", n);
        h->failed = mst_store_incoming_open(h->store, 1000, &in, &err) != MST_OK ||
                    mst_store_incoming_write(in, bytes, strlen(bytes), &err) != MST_OK ||
                    mst_store_incoming_keep(in, hash, &len, &err) != MST_OK;
        struct mst_kept_take take = some_take(hash);
        take.person = h->person;
        struct mst_submission s = some_handed_in(h->class_id, h->person, NULL);
        enum mst_status status = mst_submission_hand_in(h->store, &take, &s, id, &err);
        h->handed_in += status == MST_OK;
        h->refused = status == MST_NOT_FOUND;
        h->failed |= status != MST_OK && status != MST_NOT_FOUND;
    }
    return NULL;
}

/* Someone is deleted while their phone still sends: no recording stays that no row knows of. */
static void who_is_deleted_hands_nothing_in(void **state)
{
    struct place *place = *state;
    struct mst_store *one = opened(place), *two = another(place, one);
    char class[MST_ID_SIZE], person[MST_ID_SIZE];
    struct mst_receipt receipt;
    pthread_t thread;
    int known = 0, files = 0;
    some_class(one, 0, class);
    some_person(one, class, "Learner 1", person);
    struct handing_in h = {two, class, person, 0, 0, 0};
    assert_int_equal(pthread_create(&thread, NULL, hand_in_until_refused, &h), 0);
    for (int n = 0; n < 5;) { /* some are there already */
        struct query q = query_begin(&one->db, NULL, "SELECT count(*) FROM submission", "");
        assert_true(query_row(&q));
        n = (int)query_integer(&q, 0);
        assert_int_equal(query_end(&q), MST_OK);
    }
    assert_done(mst_person_delete(one, person, place->arena, &receipt, &err));
    pthread_join(thread, NULL);
    assert_false(h.failed);
    assert_true(h.refused);
    struct query q = query_begin(&one->db, NULL,
                                 "SELECT count(DISTINCT hash),(SELECT count(*) FROM submission),"
                                 "(SELECT count(*) FROM take) FROM held",
                                 "");
    assert_true(query_row(&q));
    known = (int)query_integer(&q, 0);
    assert_int_equal(query_integer(&q, 1), 0);
    assert_int_equal(query_integer(&q, 2), 0);
    assert_int_equal(query_end(&q), MST_OK);
    for (int n = 0; n < 256; n++) {
        char path[128];
        snprintf(path, sizeof path, "%s/sound/%02x", place->folder, n);
        DIR *dir = opendir(path);
        for (struct dirent *entry; dir && (entry = readdir(dir)) != NULL;)
            files += entry->d_name[0] != '.';
        if (dir)
            closedir(dir);
    }
    assert_true(files <= known); /* the one that was refused is held for a while */
    both_closed(one, two);
}

/* --- PostgreSQL alone --------------------------------------------------------------------- */

static void cut_all(const struct place *place)
{
    place_sql(place, "SELECT pg_terminate_backend(pid,2000) FROM pg_stat_activity WHERE "
                     "pid<>pg_backend_pid() AND application_name='mistara'");
}

static void a_line_that_broke_is_made_anew(void **state)
{
    struct place *place = *state;
    const char *value;
    if (!*place->database)
        skip(); /* a file has no line */
    struct mst_store *store = opened(place);
    assert_done(mst_store_setting_put(store, "a", "1", &err));
    cut_all(place);
    assert_done(mst_store_setting_get(store, "a", place->arena, &value, &err));
    assert_string_equal(value, "1");
    cut_all(place);
    assert_done(mst_store_begin(store, &err)); /* nothing had begun: asked again */
    assert_done(mst_store_setting_put(store, "a", "2", &err));
    cut_all(place);
    assert_refused(MST_IO, mst_store_setting_put(store, "b", "2", &err));
    assert_refused(MST_IO, mst_store_settle(store, MST_OK, &err));
    assert_done(mst_store_setting_get(store, "a", place->arena, &value, &err));
    assert_string_equal(value, "1");
    assert_done(mst_store_setting_get(store, "b", place->arena, &value, &err));
    assert_null(value);
    assert_done(mst_store_check(store, &err));
    mst_store_close(store);
}

static void calls_are_heard_by_the_others(void **state)
{
    struct place *place = *state;
    struct mst_string from = {0}, text = {0}, much = {0};
    struct mst_hail *hails[2];
    struct mst_error why = {0};
    if (!*place->database)
        skip(); /* nobody else is there */
    struct mst_store *one = opened(place), *two = opened(place);
    assert_done(mst_hail_open(one, &hails[0], &err));
    assert_done(mst_hail_open(two, &hails[1], &err));
    assert_done(mst_hail_out(hails[0], "wake\tüber\n{}", 13, &err));
    while (!mst_hail_next(hails[1], &from, &text))
        assert_done(mst_hail_wait(hails[1], -1, 20000, &err));
    assert_string_equal(text.ptr, "wake\tüber\n{}");
    assert_string_equal(from.ptr, one->owner);
    assert_done(mst_hail_wait(hails[0], -1, 0, &err));
    assert_false(mst_hail_next(hails[0], &from, &text)); /* not by itself */
    for (int n = 0; n < MST_HAIL_MOST; n++)
        mst_string_adds(&much, "x");
    assert_done(mst_hail_out(hails[1], much.ptr, much.len, &err));
    assert_refused(MST_USAGE, mst_hail_out(hails[1], much.ptr, much.len + 1, &err));
    cut_all(place);
    while (mst_hail_wait(hails[0], -1, 20000, &why) == MST_OK)
        ;
    assert_int_equal(why.status, MST_IO);
    for (int n = 0; n < 2; n++)
        mst_hail_close(hails[n]);
    mst_string_free(&from);
    mst_string_free(&text);
    mst_string_free(&much);
    mst_store_close(one);
    mst_store_close(two);
}

static void a_folder_belongs_to_one_book(void **state)
{
    struct place *place = *state, *foreign;
    void *made = NULL;
    struct mst_store *store;
    char path[128], hash[MST_HASH_HEX_SIZE];
    if (!*place->database)
        skip(); /* the book is in it */
    store = opened(place);
    some_sound(store, "a recording", hash);
    mst_store_close(store);
    assert_int_equal(place_make(&made), 0);
    foreign = made;
    if (!foreign)
        abort(); /* the compiler does not know that an assertion ends the test */
    /* The rows of one book, the folder of another; the other way round; a folder not mounted. */
    store = opened(foreign);
    mst_store_close(store);
    struct mst_store_options options = {.folder = place->folder, .database = foreign->database};
    assert_refused(MST_UNSUPPORTED, mst_store_open_with(&options, &store, &err));
    snprintf(path, sizeof path, "%s/elsewhere", place->folder);
    options = (struct mst_store_options){.folder = path, .database = place->database};
    assert_refused(MST_UNSUPPORTED, mst_store_open_with(&options, &store, &err));
    /* Recordings, and a book that knows nothing of them: they would be cleared away. */
    place_empty(foreign);
    snprintf(path, sizeof path, "%s/school", place->folder);
    assert_int_equal(unlink(path), 0);
    options = (struct mst_store_options){.folder = place->folder, .database = foreign->database};
    assert_refused(MST_UNSUPPORTED, mst_store_open_with(&options, &store, &err));
    assert_int_equal(access(mst_store_sound_path(&(struct mst_store){.folder = place->folder}, hash,
                                                 place->arena),
                            R_OK),
                     0);
    /* A folder with a book of its own. */
    place_empty(foreign);
    assert_done(mst_store_open(foreign->folder, &store, &err));
    mst_store_close(store);
    assert_refused(MST_UNSUPPORTED, place_open(foreign, &store, &err));
    assert_int_equal(place_remove(&made), 0);
}

static void no_password_is_taken_from_an_address(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    if (!*place->database)
        skip();
    static const char *const refused[] = {
        "postgresql://teacher:s3cret@/postgres", "postgresql:///postgres?password=s3cret",
        "host=localhost password=s3cret", "postgresql://[", "mysql://s3cret"};
    for (size_t n = 0; n < sizeof refused / sizeof refused[0]; n++) {
        struct mst_error why = {0};
        struct mst_store_options options = {.folder = place->folder, .database = refused[n]};
        assert_int_equal(mst_store_open_with(&options, &store, &why), MST_USAGE);
        assert_null(strstr(why.message, "s3cret"));
    }
    struct mst_store_options options = {.folder = place->folder,
                                        .database = "postgresql:///postgres?host=/nowhere"};
    assert_refused(MST_IO, mst_store_open_with(&options, &store, &err));
}

/* A book of a folder goes over with all that is in it, and lives on there. */
static void a_book_is_brought_over(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    char class[MST_ID_SIZE], person[MST_ID_SIZE], given[MST_ID_SIZE], id[MST_ID_SIZE],
        job[MST_ID_SIZE], path[128], code[MST_JOIN_CODE_SIZE], who[MST_ID_SIZE];
    struct mst_session session = {.role = "learner", .token = "t", .key = {1, 0, 255, 7}}, back;
    struct mst_submission s;
    struct mst_site_measure rows[] = {some_measure("112:1:4:2", 0.1),
                                      some_measure("112:2:2:3", 1e9)},
                            *got;
    struct mst_receipt receipt;
    size_t count;
    int64_t went;
    if (!*place->database)
        skip(); /* that is where it goes */
    assert_done(mst_store_open(place->folder, &store, &err));
    some_class(store, 90, class);
    some_person(store, class, "متعلّم ٧", person);
    some_assignment(store, class, given);
    assert_done(mst_join_make(store, person, 100000, code, &err));
    some_submission(store, class, person, given, "a recording", id);
    assert_done(mst_measures_put(store, id, rows, 2, &err));
    assert_done(mst_store_job_add(store, "submission", id, "{}", job, &err));
    /* The first one's model came after it: rows that refer onwards. */
    char hash[MST_HASH_HEX_SIZE], takes[2][MST_ID_SIZE];
    some_sound(store, "of the teacher", hash);
    struct mst_kept_take take = some_take(hash);
    for (int n = 0; n < 2; n++)
        assert_done(mst_store_take_add(store, &take, takes[n], &err));
    assert_done(mst_store_take_get(store, takes[0], place->arena, &take, &err));
    take.model = takes[1];
    take.job = job;
    assert_done(mst_store_take_put(store, &take, &err));
    strcpy(session.person, person);
    assert_done(mst_store_session_add(store, &session, &err));
    assert_done(mst_store_setting_put(store, "pages", "{}", &err));
    assert_refused(MST_UNSUPPORTED,
                   mst_store_bring(place->folder, place->database, &went, &err)); /* it is open */
    mst_store_close(store);

    assert_done(mst_store_bring(place->folder, place->database, &went, &err));
    assert_true(went >= 12);
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    assert_int_not_equal(access(path, F_OK), 0);
    store = opened(place);
    assert_done(mst_submission_get(store, id, place->arena, &s, &err));
    assert_string_equal(s.label, "متعلّم ٧");
    assert_string_equal(s.assignment, given);
    assert_done(mst_measures_get(store, id, place->arena, &got, &count, &err));
    assert_int_equal(count, 2);
    assert_true(got[0].rank == 1e9 && got[1].rank == 0.1);
    assert_null(got[0].fault);
    assert_done(mst_store_take_get(store, takes[0], place->arena, &take, &err));
    assert_string_equal(take.model, takes[1]);
    assert_string_equal(take.job, job);
    assert_done(mst_store_session_get(store, session.key, &back, &err));
    assert_string_equal(back.person, person);
    assert_done(mst_join_use(store, code, who, &err));
    assert_string_equal(who, person);
    assert_int_equal(access(mst_store_sound_path(store, hash, place->arena), R_OK), 0);
    /* It goes on: numbers after the old ones, and what refers to nothing is refused again. */
    some_person(store, class, "Learner 8", who);
    strcpy(session.person, "0000000000000000");
    session.key[0] = 2;
    assert_refused(MST_NOT_FOUND, mst_store_session_add(store, &session, &err));
    assert_done(mst_person_delete(store, person, place->arena, &receipt, &err));
    mst_store_close(store);
    /* Once is enough; a database with a book in it is left alone. */
    struct mst_error why = {0};
    snprintf(path, sizeof path, "%s/elsewhere", place->folder);
    assert_done(mst_store_open(path, &store, &err));
    mst_store_close(store);
    assert_int_equal(mst_store_bring(path, place->database, &went, &why), MST_USAGE);
    assert_done(mst_store_open(path, &store, &err));
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(every_job_is_taken_once),
        TEST(a_late_worker_is_refused),
        TEST(what_is_written_as_one_counts_as_one),
        TEST(what_is_left_is_found),
        TEST(what_cannot_be_is_told_alike),
        TEST(a_sound_on_its_way_in_is_not_deleted),
        TEST(who_is_deleted_hands_nothing_in),
        TEST(a_line_that_broke_is_made_anew),
        TEST(calls_are_heard_by_the_others),
        TEST(a_folder_belongs_to_one_book),
        TEST(no_password_is_taken_from_an_address),
        TEST(a_book_is_brought_over),
    };
    return cmocka_run_group_tests_name("shared", tests, NULL, NULL);
}
