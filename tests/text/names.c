/* Suras by name: every name as the source has it, and in the spellings people use. */
#include "test.h"

static void expect(const char *typed, int32_t sura)
{
    struct mst_range r;
    struct mst_error err = {0};
    if (mst_range_parse(text, mst_span_of(typed), &r, &err) != MST_OK)
        fail_msg("“%s”: %s", typed, err.message);
    if (r.first.sura != sura || r.first.verse != 1 || r.last.sura != sura)
        fail_msg("“%s” was taken for sura %d instead of %d", typed, r.first.sura, sura);
}

/* Letter by letter the way each name changes: case, hyphen, article, apostrophes. */
static void every_name_of_the_source(void **state)
{
    (void)state;
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        const struct mst_sura *s = mst_text_sura(text, sura);
        char name[200], other[220];

        snprintf(name, sizeof name, "%.*s", (int)s->name_ar.len, s->name_ar.ptr);
        expect(name, sura);
        snprintf(other, sizeof other, "سورة %s", name);
        expect(other, sura);
        if (strncmp(name, "ال", 4) == 0)
            expect(name + 4, sura);

        snprintf(name, sizeof name, "%.*s", (int)s->name_en.len, s->name_en.ptr);
        expect(name, sura);
        snprintf(other, sizeof other, "Surat %s", name);
        expect(other, sura);
        for (char *c = name; *c != '\0'; c++)
            *c = *c >= 'A' && *c <= 'Z' ? (char)(*c | 0x20) : *c;
        expect(name, sura);
        char *out = other;
        for (char *c = name; *c != '\0'; c++)
            if (*c != '-' && *c != '\'')
                *out++ = *c;
        *out = '\0';
        expect(other, sura);
        char *hyphen = strchr(name, '-');
        if (hyphen != NULL && name[0] == 'a' && hyphen - name <= 3) {
            expect(hyphen + 1, sura);
            snprintf(other, sizeof other, "al-%s", hyphen + 1);
            expect(other, sura);
            *hyphen = ' ';
            expect(name, sura);
        }
    }
}

static void every_meaning_of_the_source(void **state)
{
    (void)state;
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        const struct mst_sura *s = mst_text_sura(text, sura);
        char name[200];
        snprintf(name, sizeof name, "%.*s", (int)s->meaning_en.len, s->meaning_en.ptr);
        if (strpbrk(name, "\",") == NULL) /* signs that are not part of a name */
            expect(name, sura);
    }
}

/* Common practice, no source. */
static void names_as_people_write_them(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        int32_t sura;
    } names[] = {
        {"Fatiha", 1},     {"al-Fātiḥa", 1}, {"Baqara", 2},      {"al-Baqarah", 2},
        {"Aal-Imran", 3},  {"āl ʿImrān", 3}, {"Nisaa", 4},       {"Ma'ida", 5},
        {"Maidah", 5},     {"al-Anʿām", 6},  {"An'aam", 6},      {"Yoonus", 10},
        {"Yoosuf", 12},    {"ar-Raʿd", 13},  {"Isra", 17},       {"Bani Israil", 17},
        {"Kahf", 18},      {"Maryam", 19},   {"Ṭā Hā", 20},      {"Taa-Haa", 20},
        {"Mu'minoon", 23}, {"Noor", 24},     {"Qasas", 28},      {"ar-Room", 30},
        {"as-Sajda", 32},  {"Ya Sin", 36},   {"Yaseen", 36},     {"Yā-Sīn", 36},
        {"Saad", 38},      {"Ṣād", 38},      {"Ghaafir", 40},    {"Fuṣṣilat", 41},
        {"Qaaf", 50},      {"Rahmaan", 55},  {"Waqia", 56},      {"Hadeed", 57},
        {"Jumua", 62},     {"aṭ-Ṭalāq", 65}, {"Tabarak", 67},    {"Nun", 68},
        {"Noon", 68},      {"Haaqqa", 69},   {"Muzammil", 73},   {"Mudathir", 74},
        {"Dahr", 76},      {"Naba", 78},     {"an-Nabaʾ", 78},   {"Amma", 78},
        {"Naziat", 79},    {"Inshirah", 94}, {"Zilzal", 99},     {"Quraish", 106},
        {"Maun", 107},     {"Kauthar", 108}, {"Kaafiroon", 109}, {"Lahab", 111},
        {"Ikhlaas", 112},  {"Falaq", 113},   {"Naas", 114},      {"the cow", 2},
        {"The Cave", 18},  {"براءة", 9},     {"ياسين", 36},      {"يٰس", 36},
        {"طٰه", 20},        {"صاد", 38},      {"ق", 50},          {"ن", 68},
        {"الدهر", 76},     {"عم", 78},       {"النبأ", 78},      {"نبا", 78},
        {"الانشراح", 94},  {"الاخلاص", 112}, {"سبأ", 34},        {"إبراهيم", 14},
        {"الرحمٰن", 55},    {"الأعلى", 87},   {"الاعلي", 87},     {"القيامه", 75},
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        expect(names[i].typed, names[i].sura);
}

/* One letter wrong in a long enough name: the right sura is among those offered. */
static void a_slip_is_guessed(void **state)
{
    (void)state;
    int offered = 0, slips = 0;
    for (int32_t sura = 1; sura <= MST_SURA_COUNT; sura++) {
        const struct mst_sura *s = mst_text_sura(text, sura);
        char name[100], number[16];
        snprintf(name, sizeof name, "%.*s", (int)s->name_en.len, s->name_en.ptr);
        char *hyphen = strchr(name, '-');
        char *bare = hyphen != NULL ? hyphen + 1 : name;
        if (strlen(bare) < 5)
            continue;
        bare[2] = bare[2] == 'x' ? 'y' : 'x';
        struct mst_range r;
        struct mst_error err;
        assert_int_equal(mst_range_parse(text, mst_span_of(name), &r, &err), MST_NOT_FOUND);
        snprintf(number, sizeof number, "(%d)", sura);
        offered += strstr(err.message, number) != NULL;
        slips++;
    }
    print_message("%d of %d slips were guessed\n", offered, slips);
    assert_true(slips > 70);
    assert_true(offered * 100 >= slips * 95);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_name_of_the_source),
        cmocka_unit_test(every_meaning_of_the_source),
        cmocka_unit_test(names_as_people_write_them),
        cmocka_unit_test(a_slip_is_guessed),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
