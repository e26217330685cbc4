/* Search: what is typed on a keyboard finds what is printed. */
#include "test.h"

#include <ctype.h>

static struct mst_arena *arena;

static int setup(void **state)
{
    arena = mst_arena_new(0);
    return arena == NULL ? -1 : open_text(state);
}

static int teardown(void **state)
{
    mst_arena_free(arena);
    return close_text(state);
}

static struct mst_hit *find(const char *query, int translation, size_t *count)
{
    struct mst_hit *hits;
    struct mst_error err = {0};
    if (mst_text_search(text, mst_span_of(query), translation, 100000, arena, &hits, count, &err) !=
        MST_OK)
        fail_msg("“%s”: %s", query, err.message);
    return hits;
}

static size_t count_of(const char *query)
{
    size_t count;
    find(query, -1, &count);
    return count;
}

/* Source: the counts of ʿAbd al-Bāqī's concordance (al-Muʿjam al-mufahras), from memory. */
static void counts_of_the_concordance(void **state)
{
    (void)state;
    static const struct {
        const char *query;
        size_t count;
    } known[] = {
        {"موسى", 136},
        {"إبراهيم", 69},
        {"ابراهيم", 69},

        {"يوسف", 27},
        {"عيسى", 25},
        {"آدم", 25},
        {"محمد", 4},
        {"لقمان", 2},
        {"الرحمن", 48},
        {"رحْمَن", 57},
        {"جبريل", 3},
        {"قُرآن", 70},
        {"داود", 16},
        {"داوود", 16},
        {"سليمان", 17},
        {"إسماعيل", 12},

        {"جهنم", 77},
        {"يا أيها الذين آمنوا", 89},
        {"بسم الله الرحمن الرحيم", 2},
    };
    int wrong = 0;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        size_t got = count_of(known[i].query);
        if (got != known[i].count) {
            print_error("“%s”: %zu instead of %zu\n", known[i].query, got, known[i].count);
            wrong++;
        }
    }
    assert_int_equal(wrong, 0);
}

/* The first hit is these words, whole. */
static void expect_first(const char *query, int32_t sura, int32_t verse, int32_t first_word,
                         int32_t last_word)
{
    size_t count;
    struct mst_hit *hits = find(query, -1, &count);
    if (count == 0)
        fail_msg("“%s” was not found", query);
    struct mst_addr a = mst_text_verse_addr(text, hits[0].verse_index);
    struct mst_span whole = mst_text_verse(text, a.sura, a.verse);
    assert_addr(a, sura, verse, 0);
    assert_int_equal(hits[0].first_word, first_word);
    assert_int_equal(hits[0].last_word, last_word);
    struct mst_span head = mst_text_word(text, sura, verse, first_word),
                    tail = mst_text_word(text, sura, verse, last_word);
    assert_ptr_equal(whole.ptr + hits[0].byte_off, head.ptr);
    assert_ptr_equal(whole.ptr + hits[0].byte_off + hits[0].byte_len, tail.ptr + tail.len);
}

/* Typed in everyday spelling, found in that of the print. */
static void both_spellings_meet(void **state)
{
    (void)state;
    expect_first("العالمين", 1, 2, 4, 4);
    expect_first("الصلاة", 2, 3, 5, 5);
    expect_first("الليل", 2, 164, 7, 7);
    expect_first("الربا", 2, 275, 3, 3);
    expect_first("آمنوا", 2, 9, 4, 4);
    expect_first("مسؤولا", 17, 34, 17, 17);
    expect_first("النبيين", 2, 61, 52, 52);
    expect_first("السماوات والأرض", 2, 33, 15, 16);
    expect_first("يا أيها الناس", 2, 21, 1, 2);
    expect_first("الحياة الدنيا", 2, 85, 37, 38);
    expect_first("شيء قدير", 2, 20, 24, 25);
    expect_first("النبإ", 78, 2, 2, 2);
    expect_first("النبأ", 78, 2, 2, 2);
    expect_first("التوراة", 3, 3, 10, 10);
    expect_first("أولئك", 2, 5, 1, 1);
    /* hamza left out, ى for ي, ه for ة: typed in haste */
    expect_first("الانسان", 4, 28, 7, 7);
    expect_first("القيامه", 2, 85, 40, 40);
    expect_first("بالغيب", 2, 3, 3, 3);
}

static void vowels_must_match_where_they_are_given(void **state)
{
    (void)state;
    assert_true(count_of("ملك") > count_of("مُلك"));
    assert_true(count_of("مُلك") > 0 && count_of("مَلِك") > 0);
    expect_first("مَلِكِ النَّاسِ", 114, 2, 1, 2);
    expect_first("بيده المُلكُ", 67, 1, 3, 4);
    assert_int_equal(count_of("المِلكُ"), 0);
    /* closed, open and turned tanwīn are all the keyboard's tanwīn */
    expect_first("قَدِيرٌ", 2, 20, 25, 25);
    expect_first("سَمِيعٌ بَصِيرٌ", 22, 61, 14, 15);
    expect_first("هو الله أحدٌ", 112, 1, 2, 4);
    /* tanwīn on the letter or on its alif */
    assert_int_equal(count_of("عليماً"), count_of("عليمًا"));
    assert_true(count_of("عليماً") > 0);
    /* the keyboard's sukūn on a sounded letter */
    expect_first("الْحَمْدُ لِلَّهِ", 1, 2, 1, 2);
}

/* Any words copied from the print find themselves, whatever signs they bear: 60 random places. */
static void copied_words_are_found(void **state)
{
    (void)state;
    uint32_t seed = 78;
    for (int i = 0; i < 60; i++) {
        seed = seed * 1664525u + 1013904223u;
        int32_t index = (int32_t)(seed >> 8) % MST_VERSE_COUNT;
        struct mst_addr a = mst_text_verse_addr(text, index);
        int32_t words = mst_text_word_count(text, a.sura, a.verse);
        int32_t first = 1 + (int32_t)(seed >> 5) % words, last = first + (i % 3);
        if (last > words)
            last = words;
        struct mst_span head = mst_text_word(text, a.sura, a.verse, first),
                        tail = mst_text_word(text, a.sura, a.verse, last);
        struct mst_span query = {head.ptr, (size_t)(tail.ptr - head.ptr) + tail.len};
        struct mst_hit *hits;
        size_t count, found = 0;
        assert_int_equal(mst_text_search(text, query, -1, 100000, arena, &hits, &count, NULL),
                         MST_OK);
        for (size_t k = 0; k < count; k++)
            found += hits[k].verse_index == index && hits[k].first_word <= first &&
                     hits[k].last_word >= last;
        if (found == 0)
            fail_msg("%d:%d “%.*s”", a.sura, a.verse, (int)query.len, query.ptr);
        mst_arena_reset(arena);
    }
}

static void hits_are_in_order_and_inside(void **state)
{
    (void)state;
    static const char *const queries[] = {"الله", "ن", "من", "قل هو", "lord", "the"};
    for (size_t q = 0; q < sizeof queries / sizeof queries[0]; q++) {
        size_t count;
        struct mst_hit *hits = find(queries[q], -1, &count);
        assert_true(count > 0);
        for (size_t i = 0; i < count; i++) {
            struct mst_addr a = mst_text_verse_addr(text, hits[i].verse_index);
            struct mst_span whole =
                hits[i].translation < 0
                    ? mst_text_verse(text, a.sura, a.verse)
                    : mst_text_translated(text, hits[i].translation, a.sura, a.verse);
            assert_true(hits[i].byte_off >= 0 && hits[i].byte_len > 0);
            assert_true((size_t)hits[i].byte_off + (size_t)hits[i].byte_len <= whole.len);
            if (i > 0 && hits[i - 1].verse_index == hits[i].verse_index)
                assert_true(hits[i].byte_off >= hits[i - 1].byte_off + hits[i - 1].byte_len);
            else if (i > 0)
                assert_true(hits[i].verse_index > hits[i - 1].verse_index);
        }
    }
}

/* The plain twin: ASCII letters of the English, one by one. */
static size_t count_plainly(const char *word)
{
    int en = mst_text_translation_find(text, MST_SPAN("en"));
    size_t count = 0, len = strlen(word);
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        struct mst_span s = mst_text_translated(text, en, a.sura, a.verse);
        for (size_t i = 0; i + len <= s.len; i++) {
            size_t k = 0;
            while (k < len && tolower((unsigned char)s.ptr[i + k]) == word[k])
                k++;
            unsigned char before = i > 0 ? (unsigned char)s.ptr[i - 1] : ' ';
            count += k == len && !isalnum(before) && before != '\'' && before < 0x80;
        }
    }
    return count;
}

static void english_agrees_with_the_plain_twin(void **state)
{
    (void)state;
    static const char *const words[] = {"dominion", "merciful", "star", "breast",  "lamp",
                                        "whisper",  "clot",     "pen",  "mountain"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        size_t wanted = count_plainly(words[i]);
        assert_true(wanted > 0);
        assert_int_equal(count_of(words[i]), wanted);
    }
}

static void other_languages_fold_too(void **state)
{
    (void)state;
    static const struct {
        const char *code, *query, *same;
    } pairs[] = {
        {"fr", "royauté", "ROYAUTE"}, {"es", "perdón", "perdon"},
        {"tr", "Yücedir", "yucedir"}, {"sv", "människor", "MANNISKOR"},
        {"ru", "Власть", "власть"},   {"zh", "国权", "国权"},
        {"ur", "کائنات", "كائنات"},   {"translit", "alhamdu", "Alhamdu"},
        {"bn", "আল্লাহ", "আল্লাহ"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        int n = mst_text_translation_find(text, mst_span_of(pairs[i].code));
        size_t a, b;
        find(pairs[i].query, n, &a);
        find(pairs[i].same, n, &b);
        if (a == 0 || a != b)
            fail_msg("%s “%s”: %zu and %zu", pairs[i].code, pairs[i].query, a, b);
    }
}

static void limits_and_refusals(void **state)
{
    (void)state;
    struct mst_hit *hits;
    size_t count;
    struct mst_error err;
    assert_int_equal(mst_text_search(text, MST_SPAN("الله"), -1, 7, arena, &hits, &count, &err),
                     MST_OK);
    assert_int_equal(count, 7);
    assert_int_equal(mst_text_search(text, MST_SPAN("god"), -1, 0, arena, &hits, &count, &err),
                     MST_OK);
    assert_int_equal(count, 0);
    static const char *const empty[] = {"", " ", "...", "ـ", "ً", "\u200F", "'"};
    for (size_t i = 0; i < sizeof empty / sizeof empty[0]; i++) {
        assert_int_equal(
            mst_text_search(text, mst_span_of(empty[i]), -1, 7, arena, &hits, &count, &err),
            MST_USAGE);
        assert_int_equal(count, 0);
    }
    assert_int_equal(mst_text_search(text, MST_SPAN("x"), 99, 7, arena, &hits, &count, &err),
                     MST_NOT_FOUND);
    assert_int_equal(count_of("zzzzzz"), 0);
    assert_int_equal(count_of("ظظظظ"), 0);

    char long_query[4000];
    memset(long_query, 'a', sizeof long_query - 1);
    long_query[sizeof long_query - 1] = '\0';
    assert_int_equal(count_of(long_query), 0);
}

/* Memory running out at any block is told, never a crash or half an answer. */
static void running_out_is_told(void **state)
{
    (void)state;
    for (long n = 0; n < 8; n++) {
        struct mst_arena *small = mst_arena_new(64);
        struct mst_hit *hits;
        size_t count;
        struct mst_error err;
        mst_arena_fail_after(small, n);
        enum mst_status status =
            mst_text_search(text, MST_SPAN("الله"), -1, 100000, small, &hits, &count, &err);
        if (status == MST_OK) {
            assert_int_equal(count, count_of("الله"));
        } else {
            assert_int_equal(status, MST_NO_MEMORY);
            assert_int_equal(count, 0);
        }
        assert_true(n > 0 || status == MST_NO_MEMORY);
        mst_arena_free(small);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_of_the_concordance),
        cmocka_unit_test(both_spellings_meet),
        cmocka_unit_test(vowels_must_match_where_they_are_given),
        cmocka_unit_test(copied_words_are_found),
        cmocka_unit_test(hits_are_in_order_and_inside),
        cmocka_unit_test(english_agrees_with_the_plain_twin),
        cmocka_unit_test(other_languages_fold_too),
        cmocka_unit_test(limits_and_refusals),
        cmocka_unit_test(running_out_is_told),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
