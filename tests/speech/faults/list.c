/* The list of faults: that it is read whole, that what makes no sense is refused with its line,
 * and that its faults land on the sounds they are meant for. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "text.h"

static const char *default_list(void)
{
    static char path[600];
    snprintf(path, sizeof path, "%s/data/faults/default.faults", getenv("MISTARA_SOURCE_ROOT"));
    return path;
}

static enum mst_status read_texts(struct mst_arena *arena, const char *first, const char *own,
                                  struct mst_fault_list **out, struct mst_error *err)
{
    char names[2][40] = {"faults-XXXXXX", "faults-own-XXXXXX"};
    const char *texts[2] = {first, own}, *paths[2] = {names[0], names[1]};
    size_t count = own ? 2 : 1;
    for (size_t n = 0; n < count; n++) {
        int fd = mkstemp(names[n]);
        assert_true(fd >= 0);
        assert_int_equal(write(fd, texts[n], strlen(texts[n])), (ssize_t)strlen(texts[n]));
        close(fd);
    }
    enum mst_status status = mst_faults_read(paths, count, arena, out, err);
    for (size_t n = 0; n < count; n++)
        unlink(names[n]);
    return status;
}

static struct mst_fault_list *whole_list(struct mst_arena *arena)
{
    const char *path = default_list();
    struct mst_fault_list *list;
    struct mst_error err = {0};
    enum mst_status status = mst_faults_read(&path, 1, arena, &list, &err);
    if (status)
        fail_msg("%s", err.message);
    return list;
}

/* Every confusion that a class speaks of is in the list. Common practice, no source. */
static void test_the_list_is_whole(void **state)
{
    (void)state;
    static const char *const wanted[] = {
        "hh_as_h",           "ayn_as_hamza",     "q_as_k",       "ss_as_s",
        "tt_as_t",           "dd_as_d",          "dd_as_zz",     "dh_as_z",
        "th_as_s",           "gh_as_kh",         "aa_short",     "a_long",
        "vowel_after_echo",  "merged_y_as_n",    "hidden_as_n",  "turned_as_n",
        "hold_without_nose", "double_as_single", "heavy_r_light"};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_fault_list *list = whole_list(arena);
    for (size_t n = 0; n < sizeof wanted / sizeof wanted[0]; n++)
        if (!mst_fault_called(list, mst_span_of(wanted[n])))
            fail_msg("%s is not in the list", wanted[n]);
    for (int32_t i = 0; i < list->count; i++) {
        const struct mst_fault *f = &list->faults[i];
        assert_true(f->phones != 0 && f->way_count > 0 && f->weight > 0);
        assert_true(strlen(f->name_en) > 0 && (unsigned char)f->name_ar[0] >= 0xd8);
    }
    mst_arena_free(arena);
}

static const char head[] = "mistara faults 1\n[fault]\nid: x\nname: X\nname ar: س\n";

static void test_refused_with_the_line(void **state)
{
    (void)state;
    static const struct {
        const char *rest, *place, *says;
    } cases[] = {
        {"grade: rude\n", ":6:", "plain or fine"},
        {"weight: 2\n", ":6:", "number above 0"},
        {"weight: 0.5x\n", ":6:", "number above 0"},
        {"sound: hh, zzz\n", ":6:", "“zzz” is no sound"},
        {"rule: ikhfaa\n", ":6:", "ikhfa"},
        {"only: loud\n", ":6:", "“loud” given"},
        {"said: n |\n", ":6:", "two strokes"},
        {"said: same+soft\n", ":6:", "“+soft” given"},
        {"said: a a a a a\n", ":6:", "at most 4"},
        {"colour: red\n", ":6:", "“colour” is not understood"},
        {"sound:\n", ":6:", "nothing stands behind sound:"},
        {"id: y\n", ":6:", "line 3 already"},
        {"grade: fine\nweight: 1\nsound: s\n", ":2:", "lacks the line said:"},
        {"off: yes\n", ":2:", "no fault is called so"},
        {"off: no\n", ":6:", "off: is yes"},
        {"told: yes\n", ":6:", "told: is no"},
    };
    struct mst_arena *arena = mst_arena_new(0);
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        char whole[400];
        struct mst_fault_list *list;
        struct mst_error err = {0};
        snprintf(whole, sizeof whole, "%s%s", head, cases[n].rest);
        assert_int_equal(read_texts(arena, whole, NULL, &list, &err), MST_BAD_DATA);
        if (!strstr(err.message, cases[n].place) || !strstr(err.message, cases[n].says))
            fail_msg("“%s” gave: %s", cases[n].rest, err.message);
        assert_null(list);
    }
    struct mst_fault_list *list;
    struct mst_error err = {0};
    assert_int_equal(read_texts(arena, "faults\n", NULL, &list, &err), MST_BAD_DATA);
    assert_int_equal(read_texts(arena, "mistara faults 1\n[fault]\nid: \xff\n", NULL, &list, &err),
                     MST_BAD_DATA);
    const char *none = "there-is-no-such-list";
    assert_int_equal(mst_faults_read(&none, 1, arena, &list, &err), MST_NOT_FOUND);
    mst_arena_free(arena);
}

static void test_a_teachers_own_file(void **state)
{
    (void)state;
    static const char first[] = "mistara faults 1\n[fault]\nid: q_as_k\nname: A\nname ar: س\n"
                                "grade: plain\nweight: 0.9\nsound: q\nsaid: k\n"
                                "[fault]\nid: b\nname: B\nname ar: س\ngrade: fine\nweight: 1\n"
                                "sound: b\nsaid: d\n";
    static const char own[] = "mistara faults 1\n# ours\n[fault]\nid: q_as_k\nname: as a hamza\n"
                              "name ar: س\ngrade: plain\nweight: 1\nsound: q\nsaid: hamza | k\n"
                              "[fault]\nid: b\noff: yes\n";
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_fault_list *list;
    struct mst_error err = {0};
    assert_int_equal(read_texts(arena, first, own, &list, &err), MST_OK);
    assert_int_equal(list->count, 1);
    assert_string_equal(list->faults[0].name_en, "as a hamza");
    assert_int_equal(list->faults[0].way_count, 2);
    assert_int_equal(list->faults[0].line, 3);
    mst_arena_free(arena);
}

struct landed {
    int times;
    char ipa[40]; /* of the first way, where it landed first */
};

static struct landed lands(const struct mst_fault_list *list, const char *id, const char *passage)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_range range;
    struct mst_reading *r;
    struct mst_error err;
    struct landed landed = {0};
    const struct mst_fault *f = mst_fault_called(list, mst_span_of(id));
    assert_non_null(f);
    assert_int_equal(mst_range_parse(text, mst_span_of(passage), &range, &err), MST_OK);
    struct mst_reading_options o = {.no_basmala = 1};
    assert_int_equal(mst_reading_new(text, range, &o, arena, &r, &err), MST_OK);
    for (int32_t i = 0; i < r->sound_count; i++) {
        if (!mst_fault_befalls(f, r, i))
            continue;
        if (landed.times++ == 0) {
            struct mst_string s = {0};
            mst_fault_said_ipa(&f->ways[0], r, i, &s);
            snprintf(landed.ipa, sizeof landed.ipa, "%s", s.ptr);
            mst_string_free(&s);
        }
    }
    mst_arena_free(arena);
    return landed;
}

/* Counted by hand in the printed text of 112, 111:1 and 106:4. */
static void test_where_they_land(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_fault_list *list = whole_list(arena);
    struct landed l = lands(list, "q_as_k", "112");
    assert_int_equal(l.times, 1); /* قُلۡ */
    assert_string_equal(l.ipa, "k");
    assert_int_equal(lands(list, "ss_as_s", "112").times, 1);       /* ٱلصَّمَدُ */
    assert_int_equal(lands(list, "hh_as_h", "112").times, 2);       /* أَحَدٌ twice */
    assert_int_equal(lands(list, "heavy_l_light", "112").times, 2); /* the Name twice */
    l = lands(list, "vowel_after_echo", "111:1"); /* وَتَبَّ has its bāʾ at the stop; لَهَبٖ goes on */
    assert_int_equal(l.times, 1);
    assert_string_equal(l.ipa, "bːa");
    l = lands(list, "hidden_as_n", "106:4"); /* مِّن جُوعٖ */
    assert_int_equal(l.times, 1);
    assert_string_equal(l.ipa, "n");
    assert_int_equal(lands(list, "hold_without_nose", "112").times, 0);
    assert_int_equal(lands(list, "merged_l_as_n", "112").times, 1); /* يَكُن لَّهُۥ */
    mst_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_list_is_whole),
        cmocka_unit_test(test_refused_with_the_line),
        cmocka_unit_test(test_a_teachers_own_file),
        cmocka_unit_test(test_where_they_land),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
