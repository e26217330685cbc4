/*
 * failing.c – a disk that fails: the n-th write, flush or rename of a small
 * class's day is refused, for every n, once or from there on. Whatever was
 * acknowledged is there when the book is opened again, the book is whole, and
 * what was refused was refused with a sentence.
 *
 * The calls are taken over from the C library by these definitions, for our
 * files and for SQLite's alike.
 */
#include "some.h"
#include "store.h"

#include <errno.h>
#include <mistara/backup.h>
#include <stdatomic.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

/* The test's own: nothing else could tell libc's stand-ins. */
static int fail_at, sticky, calls, errnum_given;

static int fails(void)
{
    int n = ++calls;
    if (fail_at == 0 || (sticky ? n < fail_at : n != fail_at))
        return 0;
    errno = errnum_given;
    return 1;
}

ssize_t write(int fd, const void *bytes, size_t len)
{
    if (fd > 2 && fails())
        return -1;
    return syscall(SYS_write, fd, bytes, len);
}
/* As the library has it for files of any length: pwrite64. */
ssize_t pwrite(int fd, const void *bytes, size_t len, off_t at)
{
    return fails() ? -1 : syscall(SYS_pwrite64, fd, bytes, len, at);
}
/* Nothing is flushed: no power is lost here, and hundreds of days are lived. */
int fsync(int fd)
{
    (void)fd;
    return fails() ? -1 : 0;
}
int fdatasync(int fd)
{
    (void)fd;
    return fails() ? -1 : 0;
}
int rename(const char *from, const char *to)
{
    return fails() ? -1 : (int)syscall(SYS_rename, from, to);
}

/* --- a day, and what of it was acknowledged ---------------------------------------------- */

struct day {
    char class[MST_ID_SIZE], given[MST_ID_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE],
        upload[MST_ID_SIZE], submission[MST_ID_SIZE], note[MST_ID_SIZE];
    int has_class, has_given, has_one, has_two, has_part, has_submission, has_measure, has_ruling,
        has_note, is_gone, has_backup;
};
static const char sound[] = "a recitation of a few bytes";

static int done(enum mst_status status, const struct mst_error *err)
{
    if (status != MST_OK && err->message[0] == '\0')
        fail_msg("%s without a sentence", mst_status_name(status));
    return status == MST_OK;
}
#define DONE(call) done((err = (struct mst_error){0}, (call)), &err)

static void live(struct mst_store *store, const struct place *place, const char *file,
                 struct day *d)
{
    struct mst_error err;
    struct mst_class class = {.name = "Thursday evening",
                              .language = "en",
                              .consent = "Kept for your teacher.",
                              .limits = "{}"};
    if (!(d->has_class = DONE(mst_class_add(store, &class, d->class, &err))))
        return;
    struct mst_person one = {
        .class_id = d->class, .role = "learner", .label = "Lamp", .note = "", .language = "en"};
    struct mst_person two = one;
    two.label = "River";
    d->has_one = DONE(mst_person_add(store, &one, d->one, &err));
    d->has_two = DONE(mst_person_add(store, &two, d->two, &err));
    struct mst_assignment given = {.class_id = d->class,
                                   .title = "The echo letters",
                                   .passage = "112",
                                   .how = "{}",
                                   .rules = "qalqala",
                                   .attend = ""};
    d->has_given = DONE(mst_assignment_add(store, &given, d->given, &err));
    int64_t have;
    if (d->has_one && d->has_given &&
        DONE(mst_upload_open(store, d->one, d->given, "audio/ogg", sizeof sound, d->upload, &err)))
        d->has_part =
            DONE(mst_upload_append(store, d->upload, 0, sound, sizeof sound, &have, &err));
    if (d->has_part)
        d->has_submission = DONE(mst_upload_submit(store, d->upload, "[]", d->submission, &err));
    if (d->has_submission) {
        struct mst_site_measure measure = some_measure("112:1:4:2", 1);
        struct mst_note note = {
            .submission = d->submission, .text = "well said", .type = "", .by = ""};
        d->has_measure = DONE(mst_measures_put(store, d->submission, &measure, 1, &err));
        d->has_note = DONE(mst_note_add(store, &note, d->note, &err));
        if (d->has_measure)
            d->has_ruling = DONE(mst_ruling_put(store, d->submission, 0, "agree", "", &err));
    }
    struct mst_receipt receipt;
    if (d->has_two)
        d->is_gone = DONE(mst_person_delete(store, d->two, place->arena, &receipt, &err));
    struct mst_backup_result made;
    d->has_backup = DONE(mst_backup_make(place->folder, file, &made, &err));
}

static void still_there(const struct place *place, const char *file, const struct day *d, int n)
{
    struct mst_store *store;
    struct mst_arena *arena = place->arena;
    const char **problems;
    size_t count;
    assert_done(mst_book_check(place->folder, arena, &problems, &count, &err));
    if (count > 0)
        fail_msg("call %d: %s", n, problems[0]);
    assert_done(mst_store_open(place->folder, &store, &err));
    struct mst_class class;
    struct mst_person person;
    struct mst_submission submission;
    if (d->has_class)
        assert_done(mst_class_get(store, d->class, arena, &class, &err));
    if (d->has_one)
        assert_done(mst_person_get(store, d->one, arena, &person, &err));
    if (d->is_gone)
        assert_refused(MST_NOT_FOUND, mst_person_get(store, d->two, arena, &person, &err));
    if (d->has_submission) {
        char path[160];
        struct stat info;
        struct mst_kept_take take;
        assert_done(mst_submission_get(store, d->submission, arena, &submission, &err));
        assert_done(mst_store_take_get(store, submission.take, arena, &take, &err));
        snprintf(path, sizeof path, "%s", mst_store_sound_path(store, take.hash, arena));
        assert_int_equal(stat(path, &info), 0);
        assert_int_equal(info.st_size, sizeof sound);
        assert_int_equal(submission.sites, d->has_measure ? 1 : submission.sites);
        assert_int_equal(submission.ruled, d->has_ruling ? 1 : submission.ruled);
    } else if (d->has_part) {
        struct mst_upload upload;
        struct mst_error err = {0};
        /* Either still on its way, or handed in without an answer. */
        if (mst_upload_get(store, d->upload, arena, &upload, &err) == MST_OK)
            assert_int_equal(upload.have, sizeof sound);
        else
            assert_int_equal(mst_submission_get(store, d->upload, arena, &submission, &err),
                             MST_OK);
    }
    assert_done(mst_store_check(store, &err));
    mst_store_close(store);
    if (d->has_backup) {
        struct mst_backup_result back;
        char again[100], command[160];
        snprintf(again, sizeof again, "%s.again", place->folder);
        assert_done(mst_backup_restore(file, again, &back, &err));
        assert_int_equal(back.missing, 0);
        snprintf(command, sizeof command, "rm -rf '%s'", again);
        assert_int_equal(system(command), 0);
    } else {
        char text[100];
        snprintf(text, sizeof text, "%s", file);
        if (access(text, F_OK) == 0) /* it was whole before what failed after it */
            assert_int_equal(unlink(text), 0);
    }
}

static void every_call_fails_once(int keeps_failing, int errnum, int stride)
{
    int failed = 0, days = 0;
    for (int n = 1;; n += stride) {
        void *state = NULL;
        struct mst_store *store = NULL;
        struct mst_error err = {0};
        struct day day = {0};
        char file[100], command[160];
        assert_int_equal(place_make(&state), 0);
        struct place *place = state;
        snprintf(file, sizeof file, "%s.tar", place->folder);
        calls = 0;
        fail_at = n;
        sticky = keeps_failing;
        errnum_given = errnum;
        if (DONE(mst_store_open(place->folder, &store, &err)))
            live(store, place, file, &day);
        int reached = calls >= n;
        mst_store_close(store);
        fail_at = 0;
        if (access(place->folder, F_OK) == 0) {
            char db[128];
            snprintf(db, sizeof db, "%s/mistara.db", place->folder);
            if (access(db, F_OK) == 0)
                still_there(place, file, &day, n);
        }
        failed += !day.has_backup;
        days++;
        snprintf(command, sizeof command, "rm -rf '%s'*", file);
        assert_int_equal(system(command), 0);
        assert_int_equal(place_remove(&state), 0);
        if (!reached)
            break;
    }
    print_message("%d days, %d of them spoiled\n", days, failed);
    assert_true(failed > days / 3);
}

/* All of them with MISTARA_EVERY_CALL=1; else some, as far apart as leaves it quick. */
static int stride(int usual)
{
    return getenv("MISTARA_EVERY_CALL") ? 1 : usual;
}

static void one_call_fails(void **state)
{
    (void)state;
    every_call_fails_once(0, EIO, stride(11));
}

static void the_disk_is_full_from_there_on(void **state)
{
    (void)state;
    every_call_fails_once(1, ENOSPC, stride(13));
}

int main(void)
{
    unsetenv("MISTARA_TEST_DATABASE");
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_call_fails),
        cmocka_unit_test(the_disk_is_full_from_there_on),
    };
    return cmocka_run_group_tests_name("a disk that fails", tests, NULL, NULL);
}
