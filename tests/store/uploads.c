/* uploads.c – a recording in parts over a bad line: nothing twice, nothing lost, one submission. */
#include "some.h"

#include <fcntl.h>
#include <unistd.h>

struct line {
    struct mst_store *store;
    char class[MST_ID_SIZE], person[MST_ID_SIZE], assignment[MST_ID_SIZE];
};

static struct line line_make(const struct place *place)
{
    struct line line;
    assert_done(place_open(place, &line.store, &err));
    some_class(line.store, 0, line.class);
    some_person(line.store, line.class, "Learner 1", line.person);
    some_assignment(line.store, line.class, line.assignment);
    return line;
}

static void parts_make_a_submission_once(void **state)
{
    struct place *place = *state;
    struct line l = line_make(place);
    char id[MST_ID_SIZE], submission[MST_ID_SIZE], again[MST_ID_SIZE];
    struct mst_upload upload;
    int64_t have;
    assert_done(mst_upload_open(l.store, l.person, l.assignment, "audio/webm", 10, id, &err));
    assert_done(mst_upload_append(l.store, id, 0, "01234", 5, &have, &err));
    assert_int_equal(have, 5);
    /* The answer was lost and the part is sent once more. */
    assert_refused(MST_MISMATCH, mst_upload_append(l.store, id, 0, "01234", 5, &have, &err));
    assert_int_equal(have, 5);
    assert_refused(MST_MISMATCH, mst_upload_append(l.store, id, 7, "789", 3, &have, &err));
    assert_refused(MST_USAGE, mst_upload_append(l.store, id, 5, "56789x", 6, &have, &err));
    assert_refused(MST_USAGE, mst_upload_submit(l.store, id, "[]", submission, &err));
    /* A part that was written but not acknowledged when the power went. */
    const char *path = mst_upload_path(l.store, id, place->arena);
    int fd = open(path, O_WRONLY | O_APPEND);
    assert_int_equal(write(fd, "junk", 4), 4);
    close(fd);
    mst_store_close(l.store);
    assert_done(place_open(place, &l.store, &err));
    assert_done(mst_upload_get(l.store, id, place->arena, &upload, &err));
    assert_int_equal(upload.have, 5);
    struct mst_upload *uploads;
    size_t under_way;
    assert_done(mst_upload_list(l.store, l.person, place->arena, &uploads, &under_way, &err));
    assert_int_equal(under_way, 1);
    assert_int_equal(uploads[0].bytes, 10);
    assert_done(mst_upload_append(l.store, id, 5, "56789", 5, &have, &err));
    assert_int_equal(have, 10);
    assert_done(mst_upload_submit(l.store, id, "[{\"at\":\"112:1:4\"}]", submission, &err));
    assert_string_equal(submission, id);
    /* Asked again; the first one may have died before it cleared its parts away. */
    FILE *parts = fopen(mst_upload_path(l.store, id, place->arena), "w");
    assert_non_null(parts);
    fclose(parts);
    assert_done(mst_upload_submit(l.store, id, "[]", again, &err));
    assert_string_equal(again, id);
    assert_int_equal(access(mst_upload_path(l.store, id, place->arena), F_OK), -1);
    struct mst_submission s, *list;
    struct mst_kept_take take;
    size_t count;
    assert_done(mst_submission_get(l.store, id, place->arena, &s, &err));
    assert_string_equal(s.marks, "[{\"at\":\"112:1:4\"}]");
    assert_string_equal(s.passage, "112");
    assert_string_equal(s.person, l.person);
    assert_string_equal(s.assignment, l.assignment);
    assert_string_equal(s.state, "received");
    struct mst_submission_filter all = {.class_id = l.class};
    assert_done(mst_submission_list(l.store, &all, place->arena, &list, &count, &err));
    assert_int_equal(count, 1);
    assert_done(mst_store_take_get(l.store, s.take, place->arena, &take, &err));
    assert_string_equal(take.person, l.person);
    assert_int_equal(take.bytes, 10);
    struct mst_map map;
    assert_done(mst_map_open(mst_store_sound_path(l.store, take.hash, place->arena), &map, &err));
    assert_int_equal(map.len, 10);
    assert_memory_equal(map.ptr, "0123456789", 10);
    mst_map_close(&map);
    assert_refused(MST_NOT_FOUND, mst_upload_get(l.store, id, place->arena, &upload, &err));
    assert_int_equal(access(path, F_OK), -1);
    mst_store_close(l.store);
}

static void what_is_no_upload_is_refused(void **state)
{
    struct place *place = *state;
    struct line l = line_make(place);
    char other[MST_ID_SIZE], foreign[MST_ID_SIZE], id[MST_ID_SIZE], path[128];
    int64_t have;
    some_class(l.store, 0, other);
    some_assignment(l.store, other, foreign);
    assert_refused(MST_NOT_FOUND,
                   mst_upload_open(l.store, l.person, foreign, "audio/webm", 3, id, &err));
    assert_refused(MST_NOT_FOUND,
                   mst_upload_open(l.store, "0000000000000000", NULL, "audio/webm", 3, id, &err));
    assert_refused(MST_USAGE, mst_upload_open(l.store, l.person, NULL, "audio/webm", 0, id, &err));
    assert_refused(MST_NOT_FOUND,
                   mst_upload_append(l.store, "../../../../etc/x", 0, "abc", 3, &have, &err));
    assert_refused(MST_NOT_FOUND, mst_upload_submit(l.store, "../mistara.db", "[]", id, &err));
    assert_null(mst_upload_path(l.store, "../mistara.db", place->arena));
    assert_done(mst_upload_drop(l.store, "../mistara.db", &err));
    snprintf(path, sizeof path, "%s/%s", place->folder, *place->database ? "school" : "mistara.db");
    assert_int_equal(access(path, F_OK), 0);
    /* A file without a row is what a crash left; it goes when the folder is opened. */
    snprintf(path, sizeof path, "%s/uploads/0123456789abcdef", place->folder);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fclose(f);
    assert_done(mst_upload_open(l.store, l.person, NULL, "audio/webm", 3, id, &err));
    mst_store_close(l.store);
    assert_done(place_open(place, &l.store, &err));
    place_next_day(place, l.store);
    assert_int_equal(access(path, F_OK), -1);
    assert_int_equal(access(mst_upload_path(l.store, id, place->arena), F_OK), 0);
    assert_done(mst_upload_drop(l.store, id, &err));
    assert_int_equal(access(mst_upload_path(l.store, id, place->arena), F_OK), -1);
    mst_store_close(l.store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(parts_make_a_submission_once),
        TEST(what_is_no_upload_is_refused),
    };
    return cmocka_run_group_tests_name("uploads", tests, NULL, NULL);
}
