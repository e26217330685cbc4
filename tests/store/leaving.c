/*
 * leaving.c – who is deleted is gone: nothing of what was planted in rows and
 * files is found in any byte of the data folder afterwards, and nothing of
 * anyone else's is missing.
 */
#include "living.h"
#include "store.h"

#include <mistara/shelf.h>
#include <unistd.h>

static struct mst_store *opened(const struct place *place)
{
    struct mst_store *store;
    assert_done(place_open(place, &store, &err));
    return store;
}

/* What a shared book leaves for a quiet hour. */
static void quiet_hour(const struct place *place, struct mst_store *store)
{
    if (*place->database)
        assert_done(store_doomed_work_off(store, 1, &err));
}

static void who_is_deleted_is_gone(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], given[MST_ID_SIZE], going[MST_ID_SIZE], staying[MST_ID_SIZE],
        import[MST_ID_SIZE];
    struct mst_receipt receipt, *receipts;
    struct mst_submission s;
    size_t count;
    some_class(store, 0, class);
    some_assignment(store, class, given);
    live_a_little(place, store, class, given, "quince", going);
    live_a_little(place, store, class, given, "medlar", staying);
    /* A voice note of nobody's yet that the ear took for theirs. */
    some_submission(store, class, NULL, NULL, "whose", import);
    assert_done(mst_submission_get(store, import, place->arena, &s, &err));
    char proposal[64];
    snprintf(proposal, sizeof proposal, "{\"person\":\"%s\"}", going);
    s.proposal = proposal;
    assert_done(mst_submission_put(store, &s, &err));
    count_marks(place, "quince", 1);
    count_marks(place, "medlar", 1);

    assert_done(mst_person_delete(store, going, place->arena, &receipt, &err));
    quiet_hour(place, store);
    assert_int_equal(files_with(place, "quince"), 0);
    count_marks(place, "medlar", 1);
    assert_string_equal(receipt.person, going);
    assert_string_equal(receipt.backups, "[]");
    assert_string_equal(receipt.took, "{\"recordings\":1,\"submissions\":1,\"measures\":1,"
                                      "\"notes\":2,\"hearings\":1,\"jobs\":3}");
    assert_done(mst_submission_get(store, import, place->arena, &s, &err));
    assert_null(s.proposal);
    struct mst_session session;
    uint8_t key[MST_KEY_BYTES] = "quince";
    assert_refused(MST_NOT_FOUND, mst_store_session_get(store, key, &session, &err));
    memset(key, 0, sizeof key);
    memcpy(key, "medlar", 6);
    assert_done(mst_store_session_get(store, key, &session, &err));
    assert_done(mst_store_check(store, &err));
    assert_refused(MST_NOT_FOUND, mst_person_delete(store, going, place->arena, &receipt, &err));
    assert_done(mst_receipt_list(store, place->arena, &receipts, &count, &err));
    assert_int_equal(count, 1);
    mst_store_close(store);
    assert_int_equal(files_with(place, "quince"), 0);
    store = opened(place);
    assert_done(mst_class_delete(store, class, &err));
    quiet_hour(place, store);
    assert_int_equal(files_with(place, "medlar"), 0);
    assert_int_equal(files_with(place, "whose"), 0);
    assert_int_equal(files_with(place, "Thursday evening"), 0);
    assert_done(mst_receipt_list(store, place->arena, &receipts, &count, &err));
    assert_int_equal(count, 2);
    assert_done(mst_store_check(store, &err));
    assert_refused(MST_NOT_FOUND, mst_class_delete(store, class, &err));
    mst_store_close(store);
}

/*
 * A large class goes and a small one stays. Measures lie in the order of their
 * submissions' ids, which are of chance: pages split under them and leave
 * copies behind in the gaps, which overwriting what is deleted does not reach.
 */
static void of_many_who_go_nothing_is_left(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    enum { PEOPLE = 50, SUBMISSIONS = 10, SITES = 6 };
    char going[MST_ID_SIZE], staying[MST_ID_SIZE], people[PEOPLE][MST_ID_SIZE],
        submission[MST_ID_SIZE];
    some_class(store, 0, going);
    some_class(store, 0, staying);
    /* Quicker, and no power is lost here. */
    if (!*place->database)
        assert_done(db_sqlite.run(store->db.lines[0].handle, "PRAGMA synchronous=OFF", &err));
    for (int n = 0; n < PEOPLE; n++) {
        char label[32];
        snprintf(label, sizeof label, "learner-%c-%02d", n % 5 ? 'o' : 'e', n);
        some_person(store, n % 5 ? going : staying, label, people[n]);
    }
    srand(11);
    for (int row = 0; row < SUBMISSIONS; row++)
        for (int n = 0; n < PEOPLE; n++) {
            char text[SITES][256];
            struct mst_site_measure measures[SITES];
            size_t sites = 1 + (size_t)(rand() % SITES);
            struct mst_submission s = {.class_id = n % 5 ? going : staying,
                                       .person = people[n],
                                       .passage = "112",
                                       .how = "{}",
                                       .marks = "[]",
                                       .state = "heard"};
            assert_done(store_submission_insert(store, &s, NULL, submission, &err));
            for (size_t site = 0; site < sites; site++) {
                int len =
                    snprintf(text[site], sizeof text[site], "told-%c-%02d ", n % 5 ? 'o' : 'e', n);
                int more = rand() % 200;
                memset(text[site] + len, 'x', (size_t)more);
                text[site][len + more] = '\0';
                measures[site] = some_measure("112:1:4:2", 1);
                measures[site].fault = text[site];
            }
            assert_done(mst_measures_put(store, submission, measures, sites, &err));
        }
    assert_true(files_with(place, "told-o-") > 0);
    assert_done(mst_class_delete(store, going, &err));
    quiet_hour(place, store);
    assert_int_equal(files_with(place, "told-o-"), 0);
    assert_int_equal(files_with(place, "learner-o-"), 0);
    assert_true(files_with(place, "told-e-") > 0);
    mst_store_close(store);
}

/* Pages of the file that hold nothing, and would not be there had every page been written anew. */
static int64_t idle_pages(const struct place *place, struct mst_store *store)
{
    struct mst_error why = {0};
    if (*place->database)
        return -1;
    struct query q =
        query_begin(&store->db, &why, "SELECT freelist_count FROM pragma_freelist_count", "");
    int64_t count = query_row(&q) ? query_integer(&q, 0) : -1;
    assert_done(query_end(&q));
    return count;
}

/* One by one, too; the copies that rows left behind when they moved go within the day, when what
 * has had its time goes. */
static void of_single_ones_nothing_is_left_after_a_day(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    enum { SUBMISSIONS = 600, SITES = 6 };
    char class[MST_ID_SIZE], person[MST_ID_SIZE], ids[SUBMISSIONS][MST_ID_SIZE];
    int gone;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    if (!*place->database)
        assert_done(db_sqlite.run(store->db.lines[0].handle, "PRAGMA synchronous=OFF", &err));
    srand(3);
    for (int n = 0; n < SUBMISSIONS; n++) {
        char text[SITES][256];
        struct mst_site_measure measures[SITES];
        struct mst_submission s = some_handed_in(class, person, NULL);
        size_t sites = 1 + (size_t)(rand() % SITES);
        assert_done(store_submission_insert(store, &s, NULL, ids[n], &err));
        for (size_t site = 0; site < sites; site++) {
            snprintf(text[site], sizeof text[site], "told-%c %0*d", n % 4 ? 'o' : 'e',
                     1 + rand() % 200, n);
            measures[site] = some_measure("112:1:4:2", 1);
            measures[site].fault = text[site];
        }
        assert_done(mst_measures_put(store, ids[n], measures, sites, &err));
    }
    for (int n = 0; n < SUBMISSIONS; n++)
        if (n % 4)
            assert_done(mst_submission_delete(store, ids[n], &err));
    assert_true(idle_pages(place, store) != 0);
    assert_done(mst_retention_run(store, mst_store_now_ms(), &gone, &err));
    assert_int_equal(gone, 0);
    assert_true(idle_pages(place, store) <= 0);
    assert_int_equal(files_with(place, "told-o"), 0);
    assert_true(files_with(place, "told-e") > 0);
    mst_store_close(store);
}

static void a_shared_sound_stays_with_the_other(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE], id[MST_ID_SIZE];
    struct mst_receipt receipt;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", one);
    some_person(store, class, "Learner 2", two);
    some_submission(store, class, one, NULL, "the same bytes", id);
    some_submission(store, class, two, NULL, "the same bytes", id);
    assert_done(mst_person_delete(store, one, place->arena, &receipt, &err));
    assert_int_equal(files_with(place, "the same bytes"), 1);
    assert_done(mst_submission_delete(store, id, &err));
    assert_int_equal(files_with(place, "the same bytes"), 0);
    assert_refused(MST_NOT_FOUND, mst_submission_delete(store, id, &err));
    mst_store_close(store);
}

/* Work that was running when they were deleted ends at nothing, whatever it still wrote. */
static void running_work_ends_at_nothing(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], id[MST_ID_SIZE], job_id[MST_ID_SIZE];
    struct mst_receipt receipt;
    struct mst_submission s;
    struct mst_job job;
    const char *work, *report;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    some_submission(store, class, person, NULL, "abc", id);
    assert_done(mst_submission_get(store, id, place->arena, &s, &err));
    assert_done(mst_store_job_add(store, "submission", id, "{}", job_id, &err));
    assert_done(mst_store_job_claim(store, place->arena, &job, &err));
    assert_done(mst_person_delete(store, person, place->arena, &receipt, &err));
    assert_done(mst_store_work_folder(store, job_id, place->arena, &work, &err));
    assert_done(mst_store_report_folder(store, s.take, place->arena, &report, &err));
    put_file(work, "clip.wav", "belated clip");
    put_file(report, "report.html", "belated report");
    assert_refused(MST_NOT_FOUND, mst_store_job_end(store, job_id, MST_JOB_DONE, NULL, "{}", &err));
    assert_int_equal(files_with(place, "belated"), 0);
    mst_store_close(store);
}

/* Killed between the rows and the files: the list is worked off at the next opening. */
static void a_crash_only_delays(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char path[128], gone[MST_HASH_HEX_SIZE], named[MST_HASH_HEX_SIZE], id[MST_ID_SIZE];
    some_sound(store, "sound of nobody", gone);
    some_sound(store, "sound of a take", named);
    struct mst_kept_take take = some_take(named);
    assert_done(mst_store_take_add(store, &take, id, &err));
    snprintf(path, sizeof path, "%s/voices", place->folder);
    mkdir(path, 0700);
    put_file(path, "going.voice", "voice of nobody");
    put_file(path, "staying.voice", "another voice");
    assert_done(store_doom(store, &err, "SELECT 'voices/going' AS path", NULL));
    assert_done(store_doom(store, &err, "SELECT 'sound/' || hash AS path FROM take", NULL));
    assert_done(store_doom(store, &err, "SELECT 'scrub' AS path", NULL));
    /* A list that someone meddled with leads nowhere outside. */
    assert_done(store_doom(store, &err,
                           "SELECT 'uploads/../mistara.db' AS path UNION SELECT 'sound/../lock' "
                           "UNION SELECT '/etc' UNION SELECT 'voices/../x' UNION SELECT ''",
                           NULL));
    mst_store_close(store);
    store = opened(place);
    place_next_day(place, store);
    quiet_hour(place, store);
    assert_int_equal(files_with(place, "of nobody"), 0);
    assert_int_equal(files_with(place, "sound of a take"), 1); /* a row still names it */
    assert_int_equal(files_with(place, "another voice"), 1);
    struct query q = query_begin(&store->db, NULL, "SELECT count(*) FROM doomed", "");
    assert_true(query_row(&q));
    assert_int_equal(query_integer(&q, 0), 0);
    assert_int_equal(query_end(&q), MST_OK);
    mst_store_close(store);
}

static void recordings_go_when_their_time_is_over(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], forever[MST_ID_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE],
        a[MST_ID_SIZE], b[MST_ID_SIZE], import[MST_ID_SIZE], note[MST_ID_SIZE],
        hash[MST_HASH_HEX_SIZE], upload[MST_ID_SIZE];
    const int64_t day = 86400000, now = mst_store_now_ms();
    struct mst_site_measure measure = some_measure("112:1:4:2", 1), *measures;
    struct mst_submission s;
    struct mst_note *notes;
    size_t count;
    int gone;
    some_class(store, 90, class);
    some_class(store, 0, forever);
    some_person(store, class, "Learner 1", one);
    some_person(store, forever, "Learner 2", two);
    some_submission(store, class, one, NULL, "short-lived", a);
    some_submission(store, forever, two, NULL, "long-lived", b);
    some_submission(store, class, NULL, NULL, "of nobody", import);
    assert_done(mst_measures_put(store, a, &measure, 1, &err));
    struct mst_note words = {.submission = a, .text = "hold it", .type = "", .by = ""};
    assert_done(mst_note_add(store, &words, note, &err));
    some_sound(store, "spoken answer", hash);
    struct mst_note spoken = {
        .submission = a, .text = "", .hash = hash, .type = "audio/ogg", .by = ""};
    assert_done(mst_note_add(store, &spoken, note, &err));
    assert_done(mst_upload_open(store, two, NULL, "audio/webm", 9, upload, &err));
    assert_done(mst_retention_run(store, now + 13 * day, &gone, &err));
    assert_int_equal(gone, 0);
    assert_int_equal(access(mst_upload_path(store, upload, place->arena), F_OK), 0);
    assert_done(mst_retention_run(store, now + 89 * day, &gone, &err));
    assert_int_equal(gone, 0);
    assert_int_equal(access(mst_upload_path(store, upload, place->arena), F_OK), -1);
    assert_done(mst_retention_run(store, now + 91 * day, &gone, &err));
    assert_int_equal(gone, 2);
    assert_int_equal(files_with(place, "short-lived"), 0);
    assert_int_equal(files_with(place, "of nobody"), 0);
    assert_int_equal(files_with(place, "spoken answer"), 0);
    assert_int_equal(files_with(place, "long-lived"), 1);
    assert_done(mst_submission_get(store, a, place->arena, &s, &err));
    assert_null(s.take);
    assert_done(mst_measures_get(store, a, place->arena, &measures, &count, &err));
    assert_int_equal(count, 1);
    assert_done(mst_note_list(store, a, place->arena, &notes, &count, &err));
    assert_int_equal(count, 1);
    assert_string_equal(notes[0].text, "hold it");
    assert_done(mst_retention_run(store, now + 91 * day, &gone, &err));
    assert_int_equal(gone, 0);
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(who_is_deleted_is_gone),
        TEST(of_many_who_go_nothing_is_left),
        TEST(of_single_ones_nothing_is_left_after_a_day),
        TEST(a_shared_sound_stays_with_the_other),
        TEST(running_work_ends_at_nothing),
        TEST(a_crash_only_delays),
        TEST(recordings_go_when_their_time_is_over),
    };
    return cmocka_run_group_tests_name("leaving", tests, NULL, NULL);
}
