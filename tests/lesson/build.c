/*
 * A lesson built whole, with a recording of plain tones (which is no
 * recitation): the folder and its zip appear whole or not at all, whenever the
 * build is stopped; what cannot be made is named. What the files hold is
 * looked at by other programs in build_files.sh and build_files.mjs.
 *
 *     test-lesson-build               the checks
 *     test-lesson-build make FOLDER   make the folder that the scripts look at
 */
#include "built.h"

#include <dirent.h>
#include <mistara/build.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char lesson_text[] = "mistara lesson 1\n"
                                  "title: The hidden nūn & its <echo>\n"
                                  "title ar: النون المخفاة\n"
                                  "rules: ikhfa, qalqala\n"
                                  "[examples]\n67:3:1-5\n67:1:1-4\n"
                                  "[passage]\nrange: 67:1-3\nfade: evenly\n"
                                  "[questions]\n"
                                  "mark: 67 | count 2 | seed 7\nname: 67 | count 2\n"
                                  "both: 67 | count 1\norder: 67 | count 2\nfind: 67 | count 1\n"
                                  "without: 67 | count 1\ncount: 67 | count 1\n";
static const char take_text[] = "[takes]\nThe teacher, slowly: tones.wav | 67:1-3\n";

struct home {
    struct built tones;
    struct mst_typeset *typeset;
    char path[80];
};

static void tones_write(struct home *h)
{
    struct mst_error err = {0};
    char path[120];
    snprintf(path, sizeof path, "%s/tones.wav", h->path);
    double ms = 1000 * h->tones.quality.seconds;
    if (mst_take_clip(h->tones.take, 0, ms, path, &err) != MST_OK)
        fail_msg("%s", err.message);
}

static void home_make(struct home *h)
{
    struct mst_error err = {0};
    build(&h->tones, 1, 1);
    assert_int_equal(mst_typeset_open(NULL, &h->typeset, &err), MST_OK);
    strcpy(h->path, "/tmp/mistara-build-XXXXXX");
    assert_non_null(mkdtemp(h->path));
    tones_write(h);
}

static int setup(void **state)
{
    struct home *h = calloc(1, sizeof *h);
    assert_non_null(h);
    home_make(h);
    *state = h;
    return 0;
}

static int teardown(void **state)
{
    struct home *h = *state;
    char command[160];
    snprintf(command, sizeof command, "rm -rf '%s'", h->path);
    assert_int_equal(system(command), 0);
    mst_typeset_close(h->typeset);
    build_free(&h->tones);
    free(h);
    return 0;
}

static struct mst_lesson lesson_of(struct home *h, const char *more, struct mst_arena *arena)
{
    char text[2000];
    struct mst_lesson l;
    struct mst_lesson_problems problems;
    struct mst_error err = {0};
    snprintf(text, sizeof text, "%s%s", lesson_text, more);
    if (mst_lesson_parse(h->tones.text, mst_span_of(text), h->path, arena, &l, &problems, &err) !=
        MST_OK)
        fail_msg("%s", err.message);
    return l;
}

static int entries(const char *folder)
{
    int count = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (struct dirent *e; (e = readdir(dir));)
        count += e->d_name[0] != '.';
    closedir(dir);
    return count;
}

static int has(const struct mst_built *built, const char *path)
{
    for (int32_t n = 0; n < built->file_count; n++)
        if (strcmp(built->files[n].path, path) == 0)
            return built->files[n].bytes > 0;
    return 0;
}

/* --- the checks --------------------------------------------------------------------------- */

static const uint32_t quick =
    1u << MST_BUILD_HANDOUT | 1u << MST_BUILD_QUESTIONS | 1u << MST_BUILD_CAPTIONS;

static void without_a_take(void **state)
{
    struct home *h = *state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_lesson l = lesson_of(h, "", arena);
    char folder[120], path[240];
    struct mst_build_options options = {.parts = quick, .versions = "AB"};
    struct mst_built built;
    struct mst_error err = {0};
    snprintf(folder, sizeof folder, "%s/plain//", h->path);
    assert_int_equal(
        mst_lesson_build(h->tones.text, h->typeset, &l, folder, &options, arena, &built, &err),
        MST_OK);
    static const char *const made[] = {"ikhfa-qalqala-handout.pdf",
                                       "questions/ikhfa-qalqala-questions-A.pdf",
                                       "questions/ikhfa-qalqala-questions-A-key.pdf",
                                       "questions/ikhfa-qalqala-questions-B.pdf",
                                       "questions/ikhfa-qalqala-questions-B-key.pdf",
                                       "lesson.txt",
                                       "index.html"};
    assert_int_equal(built.file_count, 7);
    for (size_t n = 0; n < 7; n++)
        assert_true(has(&built, made[n]));
    assert_true(built.missing_count >= 1);
    int recording = 0;
    for (int32_t n = 0; n < built.missing_count; n++)
        recording += strstr(built.missing[n].en, "recording") != NULL && *built.missing[n].ar;
    assert_int_equal(recording, 1);
    /* never in another's place, nor beside a zip of another's */
    assert_int_equal(
        mst_lesson_build(h->tones.text, h->typeset, &l, folder, &options, arena, &built, &err),
        MST_USAGE);
    snprintf(path, sizeof path, "%s/tones.wav", h->path);
    options.zip = path;
    snprintf(folder, sizeof folder, "%s/other", h->path);
    assert_int_equal(
        mst_lesson_build(h->tones.text, h->typeset, &l, folder, &options, arena, &built, &err),
        MST_USAGE);
    assert_int_equal(entries(h->path), 2); /* tones.wav, plain */
    mst_arena_free(arena);
}

struct stopper {
    int calls, stop_at;
    double last;
};

static int stop(void *user, enum mst_build_part part, double done)
{
    struct stopper *s = user;
    (void)part;
    assert_true(done >= s->last - 1e-9 && done <= 1);
    s->last = done;
    return ++s->calls == s->stop_at;
}

/* Stopped at any time, nothing is left. */
static void stopped_at_any_time(void **state)
{
    struct home *h = *state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_lesson l = lesson_of(h, take_text, arena);
    char folder[120], zip[120];
    struct stopper stopper = {0};
    struct mst_listen_options listen = {.skip_fit_test = 1};
    struct mst_build_progress progress = {stop, &stopper};
    struct mst_build_options options = {.parts = 1u << MST_BUILD_HANDOUT | 1u << MST_BUILD_CAPTIONS,
                                        .zip = zip,
                                        .listen = &listen,
                                        .progress = &progress};
    struct mst_built built;
    struct mst_error err = {0};
    int before = entries(h->path);
    enum mst_status status = MST_CANCELLED;
    snprintf(folder, sizeof folder, "%s/stopped", h->path);
    snprintf(zip, sizeof zip, "%s/stopped.zip", h->path);
    for (int at = 1; status == MST_CANCELLED; at = at < 4 ? at + 1 : at * 3) {
        stopper = (struct stopper){.stop_at = at};
        status =
            mst_lesson_build(h->tones.text, h->typeset, &l, folder, &options, arena, &built, &err);
        assert_int_equal(status, stopper.calls < at ? MST_OK : MST_CANCELLED);
        if (status == MST_CANCELLED)
            assert_int_equal(entries(h->path), before);
    }
    assert_true(stopper.calls > 4);
    assert_true(stopper.last > 0.99);
    assert_int_equal(entries(h->path), before + 2);
    assert_int_equal(built.missing_count, 0);
    assert_true(has(&built, "captions/ikhfa-qalqala-the-teacher-slowly-take-1.vtt"));
    mst_arena_free(arena);
}

/* Tones are not the passage: the ear says so, and the rest is made. */
static void a_take_of_something_else(void **state)
{
    struct home *h = *state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_lesson l = lesson_of(h, take_text, arena);
    char folder[120];
    struct mst_build_options options = {.parts = 1u << MST_BUILD_CAPTIONS};
    struct mst_built built;
    struct mst_error err = {0};
    snprintf(folder, sizeof folder, "%s/else", h->path);
    assert_int_equal(
        mst_lesson_build(h->tones.text, h->typeset, &l, folder, &options, arena, &built, &err),
        MST_OK);
    assert_int_equal(built.file_count, 2);
    assert_int_equal(built.missing_count, 1);
    assert_non_null(strstr(built.missing[0].en, "The teacher, slowly"));
    mst_arena_free(arena);
}

static void parts_by_name(void **state)
{
    (void)state;
    uint32_t parts;
    struct mst_error err = {0};
    assert_int_equal(mst_build_parts_parse(MST_SPAN("film, handout"), &parts, &err), MST_OK);
    assert_int_equal(parts, 1u << MST_BUILD_FILM | 1u << MST_BUILD_HANDOUT);
    assert_int_equal(mst_build_parts_parse(MST_SPAN("all"), &parts, &err), MST_OK);
    assert_int_equal(parts, (1u << MST_BUILD_PARTS) - 1);
    assert_int_equal(mst_build_parts_parse(MST_SPAN("handout,,film"), &parts, &err), MST_USAGE);
    assert_int_equal(mst_build_parts_parse(MST_SPAN("posters"), &parts, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "posters"));
}

/* --- the folder that others look at --------------------------------------------------------- */

static int make(const char *folder)
{
    struct home h = {0};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_listen_options listen = {.skip_fit_test = 1};
    char zip[300], command[160];
    struct mst_build_options options = {.zip = zip,
                                        .listen = &listen,
                                        .scenes = 1u << MST_FILM_PASSAGE, /* the others: film.c */
                                        .class_line =
                                            MST_SPAN("Weekly evening class, the town library")};
    struct mst_built built;
    struct mst_error err = {0};
    home_make(&h);
    struct mst_lesson l = lesson_of(&h, take_text, arena);
    snprintf(zip, sizeof zip, "%s.zip", folder);
    enum mst_status status =
        mst_lesson_build(h.tones.text, h.typeset, &l, folder, &options, arena, &built, &err);
    if (status != MST_OK)
        fprintf(stderr, "%s\n", err.message);
    for (int32_t n = 0; status == MST_OK && n < built.missing_count; n++)
        fprintf(stderr, "missing: %s\n", built.missing[n].en);
    snprintf(command, sizeof command, "rm -rf '%s'", h.path);
    int removed = system(command);
    mst_typeset_close(h.typeset);
    build_free(&h.tones);
    mst_arena_free(arena);
    return removed == 0 ? mst_status_exit_code(status) : 1;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_a_take),
        cmocka_unit_test(stopped_at_any_time),
        cmocka_unit_test(a_take_of_something_else),
        cmocka_unit_test(parts_by_name),
    };
    if (argc == 3 && strcmp(argv[1], "make") == 0)
        return make(argv[2]);
    return cmocka_run_group_tests(tests, setup, teardown);
}
