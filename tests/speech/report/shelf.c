/* The shelf of voices: private, safe names, whole files. */
#include "built.h"

#include <mistara/shelf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[] = P_tmpdir "/mistara-shelf-XXXXXX";

static int mode_of(const char *path)
{
    struct stat st;
    assert_int_equal(stat(path, &st), 0);
    return st.st_mode & 07777;
}

static void names(void **state)
{
    (void)state;
    static const char *const good[] = {"teacher", "Tuesday class 2", "معلم", "a", "x-1_y", "Éva"};
    static const char *const bad[] = {"",      ".",     "..",      "../x",     "a/b",  "a\\b", " a",
                                      "a ",    ".a",    "-a",      "a.b",      "a\nb", "a\tb", "a*",
                                      "a\x80", "a\x1b", "\u202Ea", "a\u200Bb", "_a"};
    struct mst_error err;
    for (size_t n = 0; n < sizeof good / sizeof *good; n++)
        if (mst_shelf_check_name(good[n], &err) != MST_OK)
            fail_msg("“%s” is refused: %s", good[n], err.message);
    for (size_t n = 0; n < sizeof bad / sizeof *bad; n++)
        if (mst_shelf_check_name(bad[n], &err) != MST_USAGE)
            fail_msg("“%s” passes", bad[n]);
    char long_name[80];
    memset(long_name, 'a', sizeof long_name);
    long_name[60] = '\0';
    assert_int_equal(mst_shelf_check_name(long_name, &err), MST_OK);
    long_name[60] = 'a';
    long_name[61] = '\0';
    assert_int_equal(mst_shelf_check_name(long_name, &err), MST_USAGE);
}

static void empty_shelf(void **state)
{
    (void)state;
    struct mst_error err = {0};
    struct mst_shelf *shelf;
    struct mst_arena *arena = mst_arena_new(0);
    const char *const *list;
    size_t count = 9;
    struct mst_voice *voice;
    assert_int_equal(mst_shelf_open("nothing", &shelf, &err), MST_OK);
    assert_int_equal(mst_shelf_list(shelf, arena, &list, &count, &err), MST_OK);
    assert_int_equal(count, 0);
    assert_int_equal(mst_shelf_get(shelf, "teacher", &voice, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "teacher"));
    assert_int_equal(mst_shelf_forget(shelf, "teacher", &err), MST_NOT_FOUND);
    assert_int_equal(mst_shelf_forget(shelf, "../teacher", &err), MST_USAGE);
    assert_int_equal(access("nothing", F_OK), -1); /* looking makes no folders */
    mst_shelf_close(shelf);
    mst_arena_free(arena);
}

/* Files that stand there: only voices count, damaged ones are refused, links are not followed. */
static void files(void **state)
{
    (void)state;
    struct mst_error err = {0};
    struct mst_shelf *shelf;
    struct mst_arena *arena = mst_arena_new(0);
    const char *const *list;
    size_t count;
    struct mst_voice *voice;
    assert_int_equal(mkdir("data", 0700) | mkdir("data/voices", 0700), 0);
    static const char *const there[] = {"b.voice", "a.voice", "notes.txt", ".hidden.voice",
                                        "x.y.voice"};
    for (size_t n = 0; n < sizeof there / sizeof *there; n++) {
        char path[80];
        snprintf(path, sizeof path, "data/voices/%s", there[n]);
        assert_int_equal(mst_file_write(path, "no voice", 8, &err), MST_OK);
    }
    assert_int_equal(mst_file_write("outside.voice", "x", 1, &err), MST_OK);
    assert_int_equal(symlink("../../outside.voice", "data/voices/link.voice"), 0);
    assert_int_equal(mst_shelf_open("data", &shelf, &err), MST_OK);
    assert_int_equal(mst_shelf_list(shelf, arena, &list, &count, &err), MST_OK);
    assert_int_equal(count, 3); /* a, b and the link's name */
    assert_string_equal(list[0], "a");
    assert_string_equal(list[1], "b");
    assert_int_equal(mst_shelf_get(shelf, "a", &voice, &err), MST_BAD_DATA);
    assert_int_equal(mst_shelf_get(shelf, "link", &voice, &err), MST_NOT_FOUND);
    assert_int_equal(mst_shelf_get(shelf, "c", &voice, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "a, b")); /* what there is */
    assert_int_equal(mst_shelf_forget(shelf, "a", &err), MST_OK);
    assert_int_equal(access("data/voices/a.voice", F_OK), -1);
    assert_int_equal(access("outside.voice", F_OK), 0);
    mst_shelf_close(shelf);
    mst_arena_free(arena);
}

/* XDG Base Directory Specification: $XDG_DATA_HOME when absolute, else ~/.local/share. */
static void where(void **state)
{
    (void)state;
    struct mst_error err = {0};
    struct mst_shelf *shelf;
    setenv("HOME", folder, 1);
    setenv("XDG_DATA_HOME", "/somewhere/data", 1);
    assert_int_equal(mst_shelf_open(NULL, &shelf, &err), MST_OK);
    assert_string_equal(mst_shelf_folder(shelf), "/somewhere/data/mistara/voices");
    mst_shelf_close(shelf);
    setenv("XDG_DATA_HOME", "relative", 1);
    assert_int_equal(mst_shelf_open(NULL, &shelf, &err), MST_OK);
    char wanted[200];
    snprintf(wanted, sizeof wanted, "%s/.local/share/mistara/voices", folder);
    assert_string_equal(mst_shelf_folder(shelf), wanted);
    mst_shelf_close(shelf);
    unsetenv("XDG_DATA_HOME");
    unsetenv("HOME");
    assert_int_equal(mst_shelf_open(NULL, &shelf, &err), MST_USAGE);
    assert_int_equal(mst_shelf_open("", &shelf, &err), MST_USAGE);
}

int main(void)
{
    if (!mkdtemp(folder) || chdir(folder) != 0)
        return 1;
    assert_int_equal(mode_of(folder), 0700);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names),
        cmocka_unit_test(empty_shelf),
        cmocka_unit_test(files),
        cmocka_unit_test(where),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    char command[sizeof folder + 16];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return chdir("/") != 0 || system(command) != 0 ? 1 : failed;
}
