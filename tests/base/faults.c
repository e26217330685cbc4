/* Every call to the system that can fail, made to fail: what was there before stays, nothing is
 * left behind, and the error says so. */
#include "test.h"

#include "folder.h"

#include <errno.h>
#include <stdbool.h>

int __real_fsync(int fd);
int __wrap_fsync(int fd);
int __real_rename(const char *from, const char *to);
int __wrap_rename(const char *from, const char *to);
int __real_fclose(FILE *stream);
int __wrap_fclose(FILE *stream);
void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_realloc(void *old, size_t size);

/* Counts down to the call that fails; -1: none does. */
static int fsync_fails_in = -1, rename_fails_in = -1, fclose_fails_in = -1;
static long memory_fails_in = -1;

static bool fails_now(int *countdown)
{
    return *countdown >= 0 && (*countdown)-- == 0;
}

int __wrap_fsync(int fd)
{
    if (!fails_now(&fsync_fails_in))
        return __real_fsync(fd);
    errno = EIO;
    return -1;
}

int __wrap_rename(const char *from, const char *to)
{
    if (!fails_now(&rename_fails_in))
        return __real_rename(from, to);
    errno = EACCES;
    return -1;
}

int __wrap_fclose(FILE *stream)
{
    int result = __real_fclose(stream);
    if (!fails_now(&fclose_fails_in))
        return result;
    errno = EDQUOT;
    return EOF;
}

/* Once memory has run out it stays so until the test is over. */
static bool memory_out(void)
{
    if (memory_fails_in > 0)
        memory_fails_in--;
    return memory_fails_in == 0;
}

void *__wrap_malloc(size_t size)
{
    return memory_out() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return memory_out() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return memory_out() ? NULL : __real_realloc(old, size);
}

static struct folder folder;

static int setup(void **state)
{
    (void)state;
    folder_make(&folder);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    fsync_fails_in = rename_fails_in = fclose_fails_in = -1;
    memory_fails_in = -1;
    folder_remove(&folder);
    return 0;
}

/* Write "new" over "old" with a fault; returns the status. */
static enum mst_status overwrite(int *countdown, int fails_in, struct mst_error *err,
                                 char path[512])
{
    folder_file(&folder, "sheet.pdf", path);
    assert_int_equal(mst_file_write(path, "old", 3, err), MST_OK);
    *countdown = fails_in;
    return mst_file_write(path, "new", 3, err);
}

static void check_file(const char *path, const char *wanted)
{
    char *got = slurp(path);
    assert_non_null(got);
    assert_string_equal(got, wanted);
    free(got);
    assert_int_equal(folder_count(&folder), 1);
}

static void sync_of_the_file_fails(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    assert_int_equal(overwrite(&fsync_fails_in, 0, &err, path), MST_IO);
    assert_non_null(strstr(err.message, "unchanged"));
    check_file(path, "old");
}

static void sync_of_the_folder_fails(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    assert_int_equal(overwrite(&fsync_fails_in, 1, &err, path), MST_IO);
    assert_non_null(strstr(err.message, "safely"));
    check_file(path, "new");
}

static void rename_fails(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    assert_int_equal(overwrite(&rename_fails_in, 0, &err, path), MST_IO);
    assert_string_equal(err.where, "Permission denied");
    check_file(path, "old");
}

static void close_fails(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    assert_int_equal(overwrite(&fclose_fails_in, 0, &err, path), MST_IO);
    assert_non_null(strstr(err.message, "full"));
    check_file(path, "old");
}

static void memory_runs_out_while_opening(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    folder_file(&folder, "sheet.pdf", path);
    assert_int_equal(mst_file_write(path, "old", 3, &err), MST_OK);
    bool opened = false;
    for (long n = 1; n < 20 && !opened; n++) {
        struct mst_outfile *f = NULL;
        memory_fails_in = n;
        enum mst_status status = mst_outfile_open(path, &f, &err);
        memory_fails_in = -1;
        opened = status == MST_OK;
        if (opened)
            mst_outfile_abort(f);
        else
            assert_null(f);
        check_file(path, "old");
        assert_true(opened || status == MST_NO_MEMORY || status == MST_IO);
        assert_false(n == 1 && opened);
    }
    assert_true(opened);
}

static void memory_runs_out_for_arenas_and_strings(void **state)
{
    (void)state;
    memory_fails_in = 1;
    assert_null(mst_arena_new(0));
    memory_fails_in = -1;

    struct mst_arena *arena = mst_arena_new(64);
    memory_fails_in = 1;
    assert_null(mst_arena_alloc(arena, 1, 1));
    assert_null(mst_arena_printf(arena, "%d", 1));
    memory_fails_in = -1;
    assert_non_null(mst_arena_alloc(arena, 1, 1));
    mst_arena_free(arena);

    struct mst_string s = {0};
    mst_string_adds(&s, "kept");
    memory_fails_in = 1;
    for (int i = 0; i < 100; i++)
        mst_string_adds(&s, "0123456789");
    memory_fails_in = -1;
    assert_true(s.failed);
    size_t len = s.len;
    mst_string_add_json(&s, "more", 4);
    mst_string_add_xml(&s, "more", 4);
    mst_string_add_csv(&s, "more", 4);
    mst_string_add_cp(&s, 'x');
    mst_string_addf(&s, "%d", 1);
    assert_int_equal(s.len, len);
    assert_memory_equal(s.ptr, "kept", 4);
    mst_string_free(&s);
}

int main(void)
{
#define IN_FOLDER(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(sync_of_the_file_fails),
        IN_FOLDER(sync_of_the_folder_fails),
        IN_FOLDER(rename_fails),
        IN_FOLDER(close_fails),
        IN_FOLDER(memory_runs_out_while_opening),
        IN_FOLDER(memory_runs_out_for_arenas_and_strings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
