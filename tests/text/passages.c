/* What a teacher types, and what is understood by it. */
#include "test.h"

static const struct {
    const char *typed, *understood; /* understood: as mst_range_print writes it */
} passages[] = {
    {"67", "67:1–30"},
    {"67:1", "67:1"},
    {"67:1-5", "67:1–5"},
    {"67:1–5", "67:1–5"},
    {"67:1—5", "67:1–5"},
    {" 67 : 1 - 5 ", "67:1–5"},
    {"67 1-5", "67:1–5"},
    {"67:1-68:3", "67:1–68:3"},
    {"67:1 to 68:3", "67:1–68:3"},
    {"78-80", "78:1–80:42"},
    {"67:3:2-4", "67:3:2–4"},
    {"67:3:2", "67:3:2"},
    {"67:3:2-67:5", "67:3:2–67:5"},
    {"67:3-67:5:2", "67:3–67:5:2"},
    {"67:3:2-67:5:1", "67:3:2–67:5:1"},
    {"67-68:3", "67:1–68:3"},
    {"all", "1:1–114:6"},
    {"Qur'an", "1:1–114:6"},
    {"الكل", "1:1–114:6"},
    {"al-Mulk 1-5", "67:1–5"},
    {"Al-Mulk", "67:1–30"},
    {"mulk", "67:1–30"},
    {"AL MULK 1–5", "67:1–5"},
    {"almulk:1-5", "67:1–5"},
    {"al-Mulk, 1", NULL},
    {"sura al-Mulk", "67:1–30"},
    {"sūrat al-Mulk", "67:1–30"},
    {"Surah 67 verse 3", "67:3"},
    {"surah mulk verses 1 to 5", "67:1–5"},
    {"al-mulk - al-qalam", "67:1–68:52"},
    {"mulk 28 to qalam 4", "67:28–68:4"},
    {"67:3 word 2", "67:3:2"},
    {"الملك ١-٥", "67:1–5"},
    {"ٱلۡمُلۡك ١–٥", "67:1–5"},
    {"سورة الملك", "67:1–30"},
    {"سورة الملك الآيات ١ إلى ٥", "67:1–5"},
    {"سورة ملك آية ۳", "67:3"},
    {"٦٧:١", "67:1"},
    {"\u200F٦٧:١\u200E", "67:1"},
    {"juz 30", "78:1–114:6"},
    {"juzʾ 30", "78:1–114:6"},
    {"Juz' 29-30", "67:1–114:6"},
    {"juz amma", "78:1–114:6"},
    {"juz ʿamma", "78:1–114:6"},
    {"جزء عم", "78:1–114:6"},
    {"جزء تبارك", "67:1–77:50"},
    {"الجزء ٣٠", "78:1–114:6"},
    {"hizb 60", "87:1–114:6"},
    {"حزب ٦٠", "87:1–114:6"},
    {"quarter 240", "100:9–114:6"},
    {"page 604", "112:1–114:6"},
    {"pages 562-563", "67:1–26"},
    {"p 562", "67:1–12"},
    {"صفحة ٦٠٤", "112:1–114:6"},
    {"ruku 5", "2:30–39"},
    {"manzil 7", "50:1–114:6"},
};

static void passages_are_understood(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof passages / sizeof passages[0]; i++) {
        struct mst_range r;
        struct mst_error err = {0};
        char printed[96];
        enum mst_status status = mst_range_parse(text, mst_span_of(passages[i].typed), &r, &err);
        if (passages[i].understood == NULL) {
            assert_int_not_equal(status, MST_OK);
        } else {
            if (status != MST_OK)
                fail_msg("“%s”: %s", passages[i].typed, err.message);
            assert_string_equal(mst_range_print(r, printed), passages[i].understood);
        }
    }
}

static const struct {
    const char *typed;
    enum mst_status status;
    const char *said; /* must stand in the message */
} refused[] = {
    {"2:290", MST_NOT_FOUND, "sura 2 has 286 verses; 290 asked"},
    {"67:1-400", MST_NOT_FOUND, "sura 67 has 30 verses; 400 asked"},
    {"115", MST_NOT_FOUND, "there are 114 suras; 115 asked"},
    {"0", MST_NOT_FOUND, "there are 114 suras; 0 asked"},
    {"67:3:99", MST_NOT_FOUND, "verse 67:3 has 18 words; word 99 asked"},
    {"67:3:0", MST_NOT_FOUND, "word 0 asked"},
    {"al-Mulq", MST_NOT_FOUND, "did you mean Al-Mulk (67)?"},
    {"baqra", MST_NOT_FOUND, "Al-Baqarah (2)"},
    {"الملكك", MST_NOT_FOUND, "Al-Mulk (67)"},
    {"Timbuktu", MST_NOT_FOUND, "no sura is called “Timbuktu”; give its number"},
    {"juz 31", MST_NOT_FOUND, "there is no juz 31: they run from 1 to 30"},
    {"page 0", MST_NOT_FOUND, "there is no page 0"},
    {"juz", MST_USAGE, "not understood"},
    {"juz mulk", MST_USAGE, "not understood"},
    {"pages 5-3", MST_USAGE, "runs backwards"},
    {"67:5-3", MST_USAGE, "runs backwards: 67:5 comes after 67:3"},
    {"68-67", MST_USAGE, "runs backwards"},
    {"67:3:5-2", MST_USAGE, "runs backwards"},
    {"67:0", MST_USAGE, "begin at verse 1"},
    {"1:0", MST_NOT_FOUND, "in sura 1 the basmala is verse 1"},
    {"9:0", MST_NOT_FOUND, "no basmala is read before sura 9"},
    {"67:3:2:1", MST_USAGE, "names a letter"},
    {"67:1-5-7", MST_USAGE, "not understood"},
    {"67:", MST_USAGE, "not understood"},
    {"67:1-", MST_USAGE, "not understood"},
    {":", MST_USAGE, "not understood"},
    {"-5", MST_USAGE, "not understood"},
    {"", MST_USAGE, "no passage was given"},
    {"  ", MST_USAGE, "no passage was given"},
    {"67;1", MST_USAGE, "at “;”"},
    {"67:1, 67:5", MST_USAGE, "at “,”"},
    {"99999999999999999999", MST_NOT_FOUND, "too large"},
    {"1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1", MST_USAGE, "too long"},
};

static void errors_say_what_is_wrong(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        struct mst_range r;
        struct mst_error err = {0};
        enum mst_status status = mst_range_parse(text, mst_span_of(refused[i].typed), &r, &err);
        if (status != refused[i].status || strstr(err.message, refused[i].said) == NULL)
            fail_msg("“%s”: %s, “%s”", refused[i].typed, mst_status_name(status), err.message);
        assert_int_equal(mst_range_parse(text, mst_span_of(refused[i].typed), &r, NULL), status);
    }
}

static void every_verse_and_word_can_be_addressed(void **state)
{
    (void)state;
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index), got;
        char typed[48];
        a.word = mst_text_word_count(text, a.sura, a.verse);
        mst_addr_print(a, typed);
        assert_int_equal(mst_addr_parse(text, mst_span_of(typed), &got, NULL), MST_OK);
        assert_int_equal(mst_addr_compare(a, got), 0);
        a.word++;
        mst_addr_print(a, typed);
        assert_int_equal(mst_addr_parse(text, mst_span_of(typed), &got, NULL), MST_NOT_FOUND);
    }
}

static void addresses(void **state)
{
    (void)state;
    struct mst_addr a;
    struct mst_error err;
    char printed[48];
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:3:2:4"), &a, &err), MST_OK);
    assert_string_equal(mst_addr_print(a, printed), "67:3:2:4");
    assert_int_equal(mst_addr_parse(text, MST_SPAN("mulk 3"), &a, &err), MST_OK);
    assert_string_equal(mst_addr_print(a, printed), "67:3");
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67"), &a, &err), MST_OK);
    assert_string_equal(mst_addr_print(a, printed), "67");
    /* The basmala before a sura has addresses too. */
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:0:1:2"), &a, &err), MST_OK);
    assert_string_equal(mst_addr_print(a, printed), "67:0:1:2");
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:0:5"), &a, &err), MST_NOT_FOUND);
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:3:2:0"), &a, &err), MST_NOT_FOUND);
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:3-4"), &a, &err), MST_USAGE);
    assert_int_equal(mst_addr_parse(text, MST_SPAN("67:3:2:4:1"), &a, &err), MST_USAGE);
    assert_int_equal(mst_addr_parse(text, MST_SPAN(""), &a, &err), MST_USAGE);
    assert_int_equal(mst_addr_parse(text, MST_SPAN("9:0"), &a, &err), MST_NOT_FOUND);
}

static void order_of_addresses(void **state)
{
    (void)state;
    static const struct mst_addr in_order[] = {{1, 0, 0, 0}, {1, 1, 0, 0}, {1, 1, 1, 0},
                                               {1, 1, 1, 1}, {1, 1, 2, 0}, {1, 2, 0, 0},
                                               {2, 0, 1, 1}};
    enum { COUNT = sizeof in_order / sizeof in_order[0] };
    for (int i = 0; i < COUNT; i++)
        for (int j = 0; j < COUNT; j++)
            assert_int_equal(mst_addr_compare(in_order[i], in_order[j]), (i > j) - (i < j));
}

/* What is printed is understood again: 4000 random ranges. */
static void printed_ranges_are_understood_again(void **state)
{
    (void)state;
    uint32_t seed = 67;
    for (int i = 0; i < 4000; i++) {
        struct mst_range r, again;
        int32_t index[2];
        for (int k = 0; k < 2; k++) {
            seed = seed * 1664525u + 1013904223u;
            index[k] = (int32_t)(seed >> 8) % MST_VERSE_COUNT;
        }
        if (i % 3 == 0)
            index[1] = index[0];
        r.first = mst_text_verse_addr(text, index[0] < index[1] ? index[0] : index[1]);
        r.last = mst_text_verse_addr(text, index[0] < index[1] ? index[1] : index[0]);
        if (i % 2 == 0) {
            r.first.word = 1;
            r.last.word = mst_text_word_count(text, r.last.sura, r.last.verse);
        }
        char printed[96];
        mst_range_print(r, printed);
        assert_int_equal(mst_range_parse(text, mst_span_of(printed), &again, NULL), MST_OK);
        if (mst_addr_compare(r.first, again.first) != 0 ||
            mst_addr_compare(r.last, again.last) != 0)
            fail_msg("%s", printed);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(passages_are_understood),
        cmocka_unit_test(errors_say_what_is_wrong),
        cmocka_unit_test(every_verse_and_word_can_be_addressed),
        cmocka_unit_test(addresses),
        cmocka_unit_test(order_of_addresses),
        cmocka_unit_test(printed_ranges_are_understood_again),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
