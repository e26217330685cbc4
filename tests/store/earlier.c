/*
 * earlier.c – a backup made by an earlier Mistara comes back, of every version
 * there was, with all that was in it; one of a later Mistara, of something
 * else, or that says a version it is not, is refused with a sentence that says
 * so, and nothing is left of the attempt.
 */
#include "earlier.h"

#include "archived.h"
#include "schema.h"
#include "store.h"

#include <mistara/backup.h>
#include <mistara/classbook.h>
#include <unistd.h>

static const char sound[] = "a recitation of a few bytes";

struct scene {
    struct place *book; /* in which earlier books are made */
    char file[80], folder[80];
    char hash[MST_HASH_HEX_SIZE], sound_name[128];
};

static int scene_make(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    uint8_t hash[32];
    void *place;
    unsetenv("MISTARA_TEST_DATABASE"); /* backups are of a book in one file */
    if (!scene || sodium_init() < 0 || place_make(&place) != 0)
        return -1;
    scene->book = place;
    snprintf(scene->file, sizeof scene->file, "%s.tar", scene->book->folder);
    snprintf(scene->folder, sizeof scene->folder, "%s.again", scene->book->folder);
    crypto_generichash(hash, sizeof hash, (const uint8_t *)sound, strlen(sound), NULL, 0);
    sodium_bin2hex(scene->hash, sizeof scene->hash, hash, sizeof hash);
    snprintf(scene->sound_name, sizeof scene->sound_name, "sound/%.2s/%s", scene->hash,
             scene->hash);
    *state = scene;
    return 0;
}

static int scene_remove(void **state)
{
    struct scene *scene = *state;
    void *place = scene->book;
    char command[256];
    snprintf(command, sizeof command, "rm -rf '%s'*", scene->book->folder);
    int failed = system(command);
    free(scene);
    return failed || place_remove(&place) != 0;
}

/* Nothing is flushed: no power is lost here, and many books are made. */
int fsync(int fd)
{
    (void)fd;
    return 0;
}
int fdatasync(int fd)
{
    (void)fd;
    return 0;
}

/* A book of this version with what it could have held. */
static void book_of(const struct scene *scene, int version)
{
    struct mst_store_options options = place_options(scene->book);
    struct mst_store *store;
    char recording[200];
    place_empty(scene->book);
    assert_done(store_open_at(&options, version, &store, &err));
    mst_store_close(store);
    for (int n = 1; n <= version; n++)
        place_sql(scene->book, held[n]);
    snprintf(recording, sizeof recording, "UPDATE take SET hash='%s', bytes=%d, report=0",
             scene->hash, (int)strlen(sound));
    place_sql(scene->book, recording);
    place_sql(scene->book,
              version < 4
                  ? "INSERT INTO session VALUES(x'00','t','teacher',1,2)"
                  : "INSERT INTO session VALUES(x'00','t','learner',1,2,'p123456789abcdef')");
}

/* A backup of it as it now is, after some statements at it (or NULL). */
static void backed_up(const struct scene *scene, const char *statements, const char *readme)
{
    size_t len;
    char *db = database_of(scene->book->folder, statements, &len);
    make_archive(scene->file, &(struct archived){.readme = readme,
                                                 .db = db,
                                                 .db_len = len,
                                                 .planted = &(struct planted){
                                                     .name = scene->sound_name, .content = sound}});
    free(db);
}

static int rows_in(struct mst_store *store, const char *question)
{
    struct mst_error why = {0};
    struct query q = query_begin(&store->db, &why, question, "");
    int count = query_row(&q) ? (int)query_integer(&q, 0) : -1;
    assert_done(query_end(&q));
    return count;
}

static void all_is_there(struct mst_store *store, const struct scene *scene, int from)
{
    struct mst_arena *arena = scene->book->arena;
    struct mst_kept_take take;
    struct mst_document document;
    struct mst_live_hearing hearing;
    struct mst_job job;
    size_t len;
    assert_done(mst_store_take_get(store, "0123456789abcdef", arena, &take, &err));
    assert_string_equal(take.hash, scene->hash);
    char *bytes = bytes_of(mst_store_sound_path(store, take.hash, arena), &len);
    assert_int_equal(len, strlen(sound));
    assert_memory_equal(bytes, sound, len);
    free(bytes);
    assert_done(
        mst_store_document_get(store, "lesson", "0123456789abcdef", arena, &document, &err));
    assert_string_equal(document.text, "text");
    assert_int_equal(document.problems, from >= 3 ? 4 : 0);
    assert_done(mst_store_job_get(store, "0123456789abcdef", arena, &job, &err));
    if (from >= 2)
        assert_done(mst_store_hearing_get(store, "0123456789abcdef", arena, &hearing, &err));
    if (from >= 4) {
        struct mst_person person;
        struct mst_submission submission;
        struct mst_receipt *receipts;
        size_t count;
        assert_done(mst_person_get(store, "p123456789abcdef", arena, &person, &err));
        assert_string_equal(person.label, "Learner 7");
        assert_done(mst_submission_get(store, "s123456789abcdef", arena, &submission, &err));
        assert_int_equal(submission.sites, 1);
        assert_int_equal(submission.ruled, 1);
        assert_int_equal(submission.sent_ms, 8);
        assert_done(mst_receipt_list(store, arena, &receipts, &count, &err));
        assert_int_equal(count, 1);
        assert_int_equal(
            rows_in(store,
                    "SELECT count(*) FROM measure m JOIN note n ON n.submission=m.submission "
                    "JOIN submission s ON s.id=n.submission JOIN assignment a ON "
                    "a.id=s.assignment JOIN consent c ON c.person=s.person WHERE "
                    "m.ruling='overrule' AND m.sent_ruling='overrule' AND n.text='well said' AND "
                    "n.sent=1 AND c.by='guardian'"),
            1);
    }
    assert_int_equal(rows_in(store, "SELECT count(*) FROM session"), 0);
}

static void every_version_comes_back(void **state)
{
    const struct scene *scene = *state;
    for (int from = 1; from <= SCHEMA_VERSION; from++) {
        struct mst_backup_result back, made;
        struct mst_store *store;
        char command[256], next[96];
        book_of(scene, from);
        backed_up(scene, NULL, NULL);
        assert_done(mst_backup_restore(scene->file, scene->folder, &back, &err));
        assert_int_equal(back.missing, 0);
        assert_done(mst_store_open(scene->folder, &store, &err));
        assert_int_equal(mst_store_version(store), SCHEMA_VERSION);
        assert_done(mst_store_check(store, &err));
        all_is_there(store, scene, from);
        /* It lists the backup it came from, and goes on: out and in once more. */
        assert_int_equal(rows_in(store, "SELECT count(*) FROM backup"), 1);
        mst_store_close(store);
        snprintf(next, sizeof next, "%s.next", scene->file);
        assert_done(mst_backup_make(scene->folder, next, &made, &err));
        snprintf(command, sizeof command, "rm -rf '%s'", scene->folder);
        assert_int_equal(system(command), 0);
        assert_done(mst_backup_restore(next, scene->folder, &back, &err));
        assert_done(mst_store_open(scene->folder, &store, &err));
        all_is_there(store, scene, from);
        mst_store_close(store);
        snprintf(command, sizeof command, "rm -rf '%s' '%s'", scene->folder, next);
        assert_int_equal(system(command), 0);
    }
}

/* Refused with these words, and nothing is left. */
static void refused_saying(const struct scene *scene, const char *words)
{
    struct mst_backup_result back;
    struct mst_error why = {0};
    char command[256];
    assert_int_equal(mst_backup_restore(scene->file, scene->folder, &back, &why), MST_BAD_DATA);
    if (!strstr(why.message, words))
        fail_msg("“%s” does not say “%s”", why.message, words);
    snprintf(command, sizeof command, "! ls -d '%s'* 2>/dev/null", scene->folder);
    assert_int_equal(system(command), 0);
}

static void what_is_of_no_version_of_ours_is_refused(void **state)
{
    static const char no_tables_of_ours[] =
        "the tables in the backup are not those of a book of its version";
    const struct scene *scene = *state;
    char statement[96], says[128];
    book_of(scene, SCHEMA_VERSION);
    static const char *const readmes[] = {"Mistara backup 2\n", "Mistara backup 10\n"};
    for (size_t n = 0; n < sizeof readmes / sizeof readmes[0]; n++) {
        backed_up(scene, NULL, readmes[n]);
        refused_saying(scene, "was made by a later Mistara than this; use that to restore it");
    }
    for (int n = 1; n <= 1000; n *= 10) {
        snprintf(statement, sizeof statement, "PRAGMA user_version=%d", SCHEMA_VERSION + n);
        snprintf(
            says, sizeof says,
            "of version %d, which is later than this program knows (%d); use the newer Mistara",
            SCHEMA_VERSION + n, SCHEMA_VERSION);
        backed_up(scene, statement, NULL);
        refused_saying(scene, says);
    }
    /* Of something else. */
    backed_up(scene, NULL, "Somebody's holidays\n");
    refused_saying(scene, "is no backup that can be trusted: it is something else");
    backed_up(scene, "PRAGMA user_version=0", NULL);
    refused_saying(scene, "the database in the backup is no book");
    backed_up(scene, "PRAGMA user_version=-2147483648", NULL);
    refused_saying(scene, "of version -2147483648, which no book is");
    /* Of a version it is not: each book under each other number; and one with a table more. */
    for (int from = 1; from <= SCHEMA_VERSION; from++) {
        book_of(scene, from);
        for (int as = 1; as <= SCHEMA_VERSION; as++) {
            snprintf(statement, sizeof statement, "PRAGMA user_version=%d", as);
            backed_up(scene, statement, NULL);
            if (as != from)
                refused_saying(scene, no_tables_of_ours);
        }
        snprintf(statement, sizeof statement,
                 "PRAGMA user_version=%d; CREATE TABLE holidays(place TEXT)", from);
        backed_up(scene, statement, NULL);
        refused_saying(scene, no_tables_of_ours);
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, scene_make, scene_remove)
    const struct CMUnitTest tests[] = {
        TEST(every_version_comes_back),
        TEST(what_is_of_no_version_of_ours_is_refused),
    };
    return cmocka_run_group_tests_name("backups of earlier versions", tests, NULL, NULL);
}
