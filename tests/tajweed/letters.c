/*
 * The letters themselves against Ibn al-Jazarī, al-Muqaddima: seventeen places, and the qualities
 * by their memory words (fa-ḥaththahu shakhṣun sakat; ajid qaṭin bakat; lin ʿumar; khuṣṣa ḍaghṭin
 * qiẓ; farra min lubb; quṭbu jad).
 */
#include <mistara/tajweed.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(list)  (sizeof(list) / sizeof *(list))
#define BIT(quality) (1u << MST_QUALITY_INDEX_##quality)

static int has(const char *letters, uint32_t letter)
{
    size_t len = strlen(letters), off = 0;
    while (off < len) {
        if (mst_utf8_next(letters, len, &off) == letter)
            return 1;
    }
    return 0;
}

/* A place's consonants, deepest first; the alif of lengthening is the hollow's (place 1), and the
 * ghunna alone the nose's (place 17). */
static const char *const place[18] = {
    [1] = "ا",    [2] = "ءه",   [3] = "عح", [4] = "غخ",   [5] = "ق",  [6] = "ك",
    [7] = "جشي",  [8] = "ض",    [9] = "ل",  [10] = "ن",   [11] = "ر", [12] = "طدت",
    [13] = "صسز", [14] = "ظذث", [15] = "ف", [16] = "بمو",
};

static void test_places(void **state)
{
    (void)state;
    int count = 0;
    for (int p = 1; p <= 16; p++) {
        size_t len = strlen(place[p]), off = 0;
        while (off < len) {
            uint32_t letter = mst_utf8_next(place[p], len, &off);
            const struct mst_articulation *a = mst_articulation_of(letter);
            if (!a || a->place != p)
                fail_msg("U+%04X: place %d expected, %d found", letter, p, a ? a->place : 0);
            count++;
        }
    }
    assert_int_equal(count, 29);
}

/* Opposites and single qualities: letters that have them. */
static const struct {
    uint32_t bit, opposite, third;
    const char *letters, *third_letters;
} pair[] = {
    {BIT(HAMS), BIT(JAHR), 0, "فحثهشخصسكت", ""},
    {BIT(SHIDDA), BIT(RIKHWA), BIT(TAWASSUT), "ءجدقطبكت", "لنعمر"},
    {BIT(ISTILA), BIT(ISTIFAL), 0, "خصضغطقظ", ""},
    {BIT(ITBAQ), BIT(INFITAH), 0, "صضطظ", ""},
    {BIT(IDHLAQ), BIT(ISMAT), 0, "فرمنلب", ""},
};
static const struct {
    uint32_t bit;
    const char *letters;
} single[] = {
    {BIT(SAFIR), "صزس"}, {BIT(QALQALA), "قطبجد"}, {BIT(LIN), "وي"},     {BIT(INHIRAF), "لر"},
    {BIT(TAKRIR), "ر"},  {BIT(TAFASHSHI), "ش"},   {BIT(ISTITALA), "ض"}, {BIT(GHUNNA), "نم"},
};

static void test_qualities(void **state)
{
    (void)state;
    int count = 0;
    for (int n = 0; mst_articulation_at(n); n++) {
        const struct mst_articulation *a = mst_articulation_at(n);
        count++;
        assert_ptr_equal(mst_articulation_of(a->letter), a);
        if (a->letter == 0x0627)
            continue; /* the alif of lengthening: its qualities are those of its sound, weight
                         follows the letter before */
        for (size_t i = 0; i < COUNT(pair); i++) {
            uint32_t expected = has(pair[i].letters, a->letter)         ? pair[i].bit
                                : has(pair[i].third_letters, a->letter) ? pair[i].third
                                                                        : pair[i].opposite;
            if ((a->qualities & (pair[i].bit | pair[i].opposite | pair[i].third)) != expected)
                fail_msg("%s: pair %zu", a->name_en, i + 1);
        }
        for (size_t i = 0; i < COUNT(single); i++) {
            if (((a->qualities & single[i].bit) != 0) != has(single[i].letters, a->letter))
                fail_msg("%s: %s", a->name_en,
                         mst_quality_name(__builtin_ctz(single[i].bit), MST_LANG_EN));
        }
    }
    assert_int_equal(count, 29);
}

/* Hamza forms, tāʾ marbūṭa and the yāʾ-shaped alif stand for their letters. */
static void test_folding(void **state)
{
    (void)state;
    static const struct {
        uint32_t printed, letter;
    } fold[] = {
        {0x0623, 0x0621}, {0x0625, 0x0621}, {0x0624, 0x0621}, {0x0626, 0x0621}, {0x0629, 0x062A}};
    for (size_t i = 0; i < COUNT(fold); i++) {
        const struct mst_articulation *a = mst_articulation_of(fold[i].printed);
        assert_non_null(a);
        /* ة is tāʾ when read on, hāʾ at a stop. */
        assert_true(a->letter == fold[i].letter ||
                    (fold[i].printed == 0x0629 && a->letter == 0x0647));
    }
    assert_non_null(mst_articulation_of(0x0649));
    assert_null(mst_articulation_of(0x06E1));
    assert_null(mst_articulation_of('a'));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_places),
        cmocka_unit_test(test_qualities),
        cmocka_unit_test(test_folding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) ? 1 : 0;
}
