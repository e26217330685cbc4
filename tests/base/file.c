#include "test.h"

#include "folder.h"

#include <signal.h>
#include <sys/resource.h>

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
    folder_remove(&folder);
    return 0;
}

static void check_content(const char *path, const char *wanted)
{
    char *got = slurp(path);
    assert_non_null(got);
    assert_string_equal(got, wanted);
    free(got);
}

static void what_is_written_can_be_mapped(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_map map;
    folder_file(&folder, "page.txt", path);
    assert_int_equal(mst_file_write(path, "سطر", 6, &err), MST_OK);
    assert_int_equal(mst_map_open(path, &map, &err), MST_OK);
    assert_int_equal(map.len, 6);
    assert_memory_equal(map.ptr, "سطر", 6);
    mst_map_close(&map);
    assert_null(map.ptr);
    mst_map_close(&map);
    assert_int_equal(folder_count(&folder), 1);
}

static void an_empty_file_is_an_empty_map(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_map map;
    folder_file(&folder, "empty", path);
    assert_int_equal(mst_file_write(path, "", 0, &err), MST_OK);
    assert_int_equal(mst_map_open(path, &map, &err), MST_OK);
    assert_int_equal(map.len, 0);
    mst_map_close(&map);
}

static void what_cannot_be_mapped_is_said(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_map map;
    assert_int_equal(mst_map_open(folder_file(&folder, "nowhere", path), &map, &err),
                     MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "nowhere"));
    assert_string_equal(err.where, "No such file or directory");
    assert_int_equal(mst_map_open(folder.path, &map, &err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "folder"));
    assert_null(map.ptr);
}

static void nothing_appears_before_commit(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_outfile *f;
    folder_file(&folder, "sheet.pdf", path);
    assert_int_equal(mst_outfile_open(path, &f, &err), MST_OK);
    mst_outfile_write(f, "half", 4);
    assert_int_not_equal(access(path, F_OK), 0);
    assert_int_equal(access(mst_outfile_temp_path(f), F_OK), 0);
    mst_outfile_write(f, " and half", 9);
    assert_int_equal(mst_outfile_commit(f, &err), MST_OK);
    check_content(path, "half and half");
    assert_int_equal(folder_count(&folder), 1);
}

static void abort_leaves_nothing(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_outfile *f;
    folder_file(&folder, "sheet.pdf", path);
    assert_int_equal(mst_file_write(path, "old", 3, &err), MST_OK);
    assert_int_equal(mst_outfile_open(path, &f, &err), MST_OK);
    mst_outfile_write(f, "new", 3);
    mst_outfile_abort(f);
    check_content(path, "old");
    assert_int_equal(folder_count(&folder), 1);
    mst_outfile_abort(NULL);
}

static void a_library_may_write_by_name(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_outfile *f;
    folder_file(&folder, "film.mp4", path);
    assert_int_equal(mst_outfile_open(path, &f, &err), MST_OK);
    FILE *other = fopen(mst_outfile_temp_path(f), "wb");
    fputs("from the library", other);
    fclose(other);
    assert_int_equal(mst_outfile_commit(f, &err), MST_OK);
    check_content(path, "from the library");
    assert_int_equal(folder_count(&folder), 1);
}

static void places_that_cannot_be_written_are_said(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_outfile *f = (void *)1;
    assert_int_equal(mst_outfile_open(folder_file(&folder, "no/such/file", path), &f, &err),
                     MST_IO);
    assert_null(f);
    assert_non_null(strstr(err.message, "folder does not exist"));
    assert_int_equal(mst_outfile_open(folder.path, &f, &err), MST_USAGE);
    assert_int_equal(mst_outfile_open("", &f, &err), MST_USAGE);
    assert_int_equal(mst_outfile_open("/dev/null", &f, &err), MST_USAGE);
    assert_int_equal(folder_count(&folder), 0);
}

/* The disk being full is played by a limit on the size of files. */
static void a_full_disk_leaves_the_old_file(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct mst_outfile *f;
    folder_file(&folder, "sheet.pdf", path);
    assert_int_equal(mst_file_write(path, "old", 3, &err), MST_OK);

    struct rlimit before, tight;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    tight = before;
    tight.rlim_cur = 20000;
    void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &tight), 0);
    assert_int_equal(mst_outfile_open(path, &f, &err), MST_OK);
    for (int i = 0; i < 3000; i++)
        mst_outfile_write(f, "0123456789", 10);
    enum mst_status status = mst_outfile_commit(f, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    signal(SIGXFSZ, handler);

    assert_int_equal(status, MST_IO);
    assert_non_null(strstr(err.message, "full"));
    check_content(path, "old");
    assert_int_equal(folder_count(&folder), 1);
}

static void links_and_permissions_stay(void **state)
{
    (void)state;
    char path[512], link_path[512];
    struct mst_error err;
    struct stat info;
    folder_file(&folder, "class.csv", path);
    folder_file(&folder, "link.csv", link_path);
    assert_int_equal(mst_file_write(path, "a", 1, &err), MST_OK);
    assert_int_equal(chmod(path, 0600), 0);
    assert_int_equal(symlink(path, link_path), 0);
    assert_int_equal(mst_file_write(link_path, "b", 1, &err), MST_OK);
    assert_int_equal(lstat(link_path, &info), 0);
    assert_true(S_ISLNK(info.st_mode));
    check_content(path, "b");
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0600);
}

static void new_files_obey_the_umask(void **state)
{
    (void)state;
    char path[512];
    struct mst_error err;
    struct stat info;
    mode_t before = umask(027);
    enum mst_status status = mst_file_write(folder_file(&folder, "x", path), "x", 1, &err);
    umask(before);
    assert_int_equal(status, MST_OK);
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0640);
}

int main(void)
{
#define IN_FOLDER(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(what_is_written_can_be_mapped),
        IN_FOLDER(an_empty_file_is_an_empty_map),
        IN_FOLDER(what_cannot_be_mapped_is_said),
        IN_FOLDER(nothing_appears_before_commit),
        IN_FOLDER(abort_leaves_nothing),
        IN_FOLDER(a_library_may_write_by_name),
        IN_FOLDER(places_that_cannot_be_written_are_said),
        IN_FOLDER(a_full_disk_leaves_the_old_file),
        IN_FOLDER(links_and_permissions_stay),
        IN_FOLDER(new_files_obey_the_umask),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
