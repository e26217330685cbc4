/* Juz, hizb, quarters, pages: against the signs that the print itself carries, and against facts
 * that every printed copy of the Medina print shows. */
#include "test.h"

static int holds(struct mst_span s, const char *sign)
{
    return memmem(s.ptr, s.len, sign, strlen(sign)) != NULL;
}

/* Source: the print's own sign U+06DE. It stands at the head of each quarter, save where that is
 * the head of a sura. */
static void quarters_are_where_the_print_says(void **state)
{
    (void)state;
    int signs = 0, at_heads = 0;
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        struct mst_addr before = mst_text_verse_addr(text, index - 1);
        int32_t quarter = mst_text_place(text, a.sura, a.verse).hizb_quarter;
        int begins =
            index == 0 || quarter != mst_text_place(text, before.sura, before.verse).hizb_quarter;
        int sign = holds(mst_text_verse(text, a.sura, a.verse), "\u06DE");
        if (begins != (sign || (begins && a.verse == 1)))
            fail_msg("%d:%d", a.sura, a.verse);
        signs += sign;
        at_heads += begins && a.verse == 1 && !sign;
    }
    assert_int_equal(signs, 199);
    assert_int_equal(signs + at_heads, 240);
}

/* Source: the print's own sign U+06E9. */
static void prostrations_are_where_the_print_says(void **state)
{
    (void)state;
    int count = 0;
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        int sajda = mst_text_place(text, a.sura, a.verse).sajda;
        assert_int_equal(sajda, holds(mst_text_verse(text, a.sura, a.verse), "\u06E9"));
        count += sajda;
    }
    assert_int_equal(count, 15);
    assert_false(mst_text_place(text, 96, 0).sajda);
}

static void counts_are_those_of_the_medina_print(void **state)
{
    (void)state;
    assert_int_equal(mst_text_division_count(text, MST_JUZ), 30);
    assert_int_equal(mst_text_division_count(text, MST_HIZB), 60);
    assert_int_equal(mst_text_division_count(text, MST_HIZB_QUARTER), 240);
    assert_int_equal(mst_text_division_count(text, MST_PAGE), 604);
    assert_int_equal(mst_text_division_count(text, MST_MANZIL), 7);
    assert_true(mst_text_division_count(text, MST_RUKU) > 500);
    assert_int_equal(mst_text_division_count(text, (enum mst_division)77), 0);
}

/* Source: the words that give each juz its name in print, from memory. */
static void juz_begin_where_their_names_say(void **state)
{
    (void)state;
    static const struct {
        int32_t juz, sura, verse;
    } known[] = {{1, 1, 1},    {2, 2, 142},  {3, 2, 253},  {4, 3, 93},   {5, 4, 24},   {6, 4, 148},
                 {7, 5, 82},   {8, 6, 111},  {9, 7, 88},   {10, 8, 41},  {12, 11, 6},  {13, 12, 53},
                 {14, 15, 1},  {15, 17, 1},  {16, 18, 75}, {17, 21, 1},  {18, 23, 1},  {19, 25, 21},
                 {20, 27, 56}, {21, 29, 46}, {22, 33, 31}, {23, 36, 28}, {24, 39, 32}, {25, 41, 47},
                 {26, 46, 1},  {27, 51, 31}, {28, 58, 1},  {29, 67, 1},  {30, 78, 1}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        struct mst_range r;
        assert_int_equal(mst_text_division_range(text, MST_JUZ, known[i].juz, &r, NULL), MST_OK);
        assert_addr(r.first, known[i].sura, known[i].verse, 0);
    }
}

/* Every division: its ranges follow one another without gap from 1:1 to 114:6, and each verse says
 * it lies where the range has it. */
static void ranges_cover_the_text_once(void **state)
{
    (void)state;
    for (int d = MST_JUZ; d <= MST_MANZIL; d++) {
        int32_t next = 0, count = mst_text_division_count(text, (enum mst_division)d);
        for (int32_t n = 1; n <= count; n++) {
            struct mst_range r;
            assert_int_equal(mst_text_division_range(text, (enum mst_division)d, n, &r, NULL),
                             MST_OK);
            int32_t last = mst_text_verse_index(text, r.last.sura, r.last.verse);
            assert_int_equal(mst_text_verse_index(text, r.first.sura, r.first.verse), next);
            assert_true(last >= next);
            for (; next <= last; next++) {
                struct mst_addr a = mst_text_verse_addr(text, next);
                struct mst_place p = mst_text_place(text, a.sura, a.verse);
                const int32_t here[] = {p.juz, p.hizb, p.hizb_quarter, p.page, p.ruku, p.manzil};
                assert_int_equal(here[d], n);
            }
        }
        assert_int_equal(next, MST_VERSE_COUNT);
    }
}

static void divisions_that_are_not_there(void **state)
{
    (void)state;
    struct mst_range r;
    struct mst_error err;
    assert_int_equal(mst_text_division_range(text, MST_PAGE, 605, &r, &err), MST_NOT_FOUND);
    assert_string_equal(err.message, "there is no page 605: they run from 1 to 604");
    assert_int_equal(mst_text_division_range(text, MST_JUZ, 0, &r, &err), MST_NOT_FOUND);
    assert_int_equal(mst_text_division_range(text, MST_HIZB, INT32_MAX, &r, &err), MST_NOT_FOUND);
}

/* Source: any copy of the Medina print (604 pages of 15 lines), from memory. */
static void pages_are_those_of_the_medina_print(void **state)
{
    (void)state;
    assert_int_equal(mst_text_place(text, 1, 7).page, 1);
    assert_int_equal(mst_text_place(text, 2, 1).page, 2);
    assert_int_equal(mst_text_place(text, 18, 1).page, 293);
    assert_int_equal(mst_text_place(text, 36, 1).page, 440);
    assert_int_equal(mst_text_place(text, 67, 1).page, 562);
    assert_int_equal(mst_text_place(text, 78, 1).page, 582);
    assert_int_equal(mst_text_place(text, 112, 1).page, 604);
    assert_int_equal(mst_text_place(text, 112, 0).page, 604);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quarters_are_where_the_print_says),
        cmocka_unit_test(prostrations_are_where_the_print_says),
        cmocka_unit_test(counts_are_those_of_the_medina_print),
        cmocka_unit_test(juz_begin_where_their_names_say),
        cmocka_unit_test(ranges_cover_the_text_once),
        cmocka_unit_test(divisions_that_are_not_there),
        cmocka_unit_test(pages_are_those_of_the_medina_print),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
