/* The packed text holds the source's bytes, all of them and nothing else. */
#include "test.h"

#include <jansson.h>
#include <pthread.h>

static json_t *load_source(const char *file)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/node_modules/quran-json/dist/%s", getenv("MISTARA_SOURCE_ROOT"),
             file);
    json_error_t problem;
    json_t *json = json_load_file(path, 0, &problem);
    if (json == NULL)
        fail_msg("%s: %s", path, problem.text);
    return json;
}

static struct mst_span span_at(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return (struct mst_span){json_string_value(value), json_string_length(value)};
}

/* Source: npm quran-json 3.1.2, dist/quran.json. */
static void verses_are_those_of_the_source(void **state)
{
    (void)state;
    json_t *suras = load_source("quran.json"), *sura, *verse;
    size_t i, j;
    int32_t index = 0;
    json_array_foreach(suras, i, sura)
    {
        int32_t number = (int32_t)i + 1;
        const struct mst_sura *s = mst_text_sura(text, number);
        json_t *verses = json_object_get(sura, "verses");
        assert_int_equal(s->verse_count, json_array_size(verses));
        assert_int_equal(s->first_index, index);
        assert_true(mst_span_equal(s->name_ar, span_at(sura, "name")));
        assert_true(mst_span_equal(s->name_en, span_at(sura, "transliteration")));
        assert_int_equal(s->meccan, strcmp(span_at(sura, "type").ptr, "meccan") == 0);
        json_array_foreach(verses, j, verse)
        {
            int32_t v = (int32_t)j + 1;
            assert_true(mst_span_equal(mst_text_verse(text, number, v), span_at(verse, "text")));
            assert_int_equal(mst_text_verse_index(text, number, v), index);
            assert_addr(mst_text_verse_addr(text, index), number, v, 0);
            index++;
        }
    }
    assert_int_equal(index, MST_VERSE_COUNT);
    json_decref(suras);
}

static void translations_are_those_of_the_source(void **state)
{
    (void)state;
    static const struct {
        const char *code, *file, *key;
    } sources[] = {
        {"translit", "quran_transliteration.json", "transliteration"},
        {"en", "quran_en.json", "translation"},
        {"bn", "quran_bn.json", "translation"},
        {"es", "quran_es.json", "translation"},
        {"fr", "quran_fr.json", "translation"},
        {"id", "quran_id.json", "translation"},
        {"ru", "quran_ru.json", "translation"},
        {"sv", "quran_sv.json", "translation"},
        {"tr", "quran_tr.json", "translation"},
        {"ur", "quran_ur.json", "translation"},
        {"zh", "quran_zh.json", "translation"},
    };
    assert_int_equal(mst_text_translation_count(text), sizeof sources / sizeof sources[0]);
    for (size_t k = 0; k < sizeof sources / sizeof sources[0]; k++) {
        int n = mst_text_translation_find(text, mst_span_of(sources[k].code));
        assert_int_not_equal(n, -1);
        assert_int_equal(mst_text_translation_check(text, n, NULL), MST_OK);
        assert_true(mst_text_translation(text, n)->title.len > 0);
        assert_true(mst_text_translation(text, n)->credit.len > 0);
        assert_int_equal(mst_text_translation(text, n)->right_to_left,
                         strcmp(sources[k].code, "ur") == 0);
        json_t *suras = load_source(sources[k].file), *sura, *verse;
        size_t i, j;
        json_array_foreach(suras, i, sura)
        {
            json_array_foreach(json_object_get(sura, "verses"), j, verse)
            {
                assert_true(
                    mst_span_equal(mst_text_translated(text, n, (int32_t)i + 1, (int32_t)j + 1),
                                   span_at(verse, sources[k].key)));
            }
        }
        json_decref(suras);
    }
    assert_int_equal(mst_text_translation_find(text, MST_SPAN("xx")), -1);
    assert_null(mst_text_translation(text, -1));
    assert_null(mst_text_translation(text, 99));
    assert_int_equal(mst_text_translation_check(text, 99, NULL), MST_NOT_FOUND);
    assert_int_equal(mst_text_translated(text, 99, 1, 1).len, 0);
}

/* 77,428 words parted by U+0020, counted in the source by other means (text.split(" ")). */
static void words_put_together_are_the_verse(void **state)
{
    (void)state;
    int32_t words = 0;
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        struct mst_span verse = mst_text_verse(text, a.sura, a.verse);
        int32_t count = mst_text_word_count(text, a.sura, a.verse);
        const char *at = verse.ptr;
        for (int32_t w = 1; w <= count; w++) {
            struct mst_span word = mst_text_word(text, a.sura, a.verse, w);
            assert_ptr_equal(word.ptr, at);
            assert_true(word.len > 0);
            assert_null(memchr(word.ptr, ' ', word.len));
            at = word.ptr + word.len;
            if (w < count)
                assert_int_equal(*at++, ' ');
        }
        assert_ptr_equal(at, verse.ptr + verse.len);
        words += count;
    }
    assert_int_equal(words, 77428);
    assert_span(mst_text_word(text, 112, 1, 2), "هُوَ");
    assert_int_equal(mst_text_word(text, 112, 1, 0).len, 0);
    assert_int_equal(mst_text_word(text, 112, 1, 5).len, 0);
    assert_int_equal(mst_text_word(text, 112, 5, 1).len, 0);
}

static void verse_nought_is_the_basmala(void **state)
{
    (void)state;
    for (int32_t sura = 0; sura <= MST_SURA_COUNT + 1; sura++) {
        struct mst_span basmala = mst_text_verse(text, sura, 0);
        if (sura < 2 || sura == 9 || sura > MST_SURA_COUNT) {
            assert_int_equal(basmala.len, 0);
            assert_int_equal(mst_text_word_count(text, sura, 0), 0);
        } else {
            assert_true(mst_span_equal(basmala, mst_text_verse(text, 1, 1)));
            assert_int_equal(mst_text_word_count(text, sura, 0), 4);
            assert_true(
                mst_span_equal(mst_text_word(text, sura, 0, 2), mst_text_word(text, 1, 1, 2)));
        }
    }
}

static void what_is_not_there_is_empty(void **state)
{
    (void)state;
    static const int32_t bad[][2] = {{0, 1},   {115, 1}, {-1, 1},        {67, 31},
                                     {67, -1}, {1, 8},   {INT32_MAX, 1}, {2, INT32_MAX}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(mst_text_verse(text, bad[i][0], bad[i][1]).len, 0);
        assert_int_equal(mst_text_verse_index(text, bad[i][0], bad[i][1]), -1);
        assert_int_equal(mst_text_word_count(text, bad[i][0], bad[i][1]), 0);
        assert_int_equal(mst_text_place(text, bad[i][0], bad[i][1]).juz, 0);
        assert_int_equal(mst_text_translated(text, 0, bad[i][0], bad[i][1]).len, 0);
    }
    assert_null(mst_text_sura(text, 0));
    assert_null(mst_text_sura(text, 115));
    assert_int_equal(mst_text_verse_addr(text, -1).sura, 0);
    assert_int_equal(mst_text_verse_addr(text, MST_VERSE_COUNT).sura, 0);
}

/* The stricter of the licences named in the package: see docs/text.md. */
static void credits_name_source_and_licence(void **state)
{
    (void)state;
    struct mst_span credits = mst_text_credits(text);
    assert_non_null(memmem(credits.ptr, credits.len, "CC BY-SA 4.0", 12));
    assert_non_null(memmem(credits.ptr, credits.len, "quran-json", 10));
    assert_null(memchr(credits.ptr, '\n', credits.len));
    struct mst_span version = mst_text_version(text);
    assert_non_null(memmem(version.ptr, version.len, "quran-json 3.1.2", 16));
}

/* For display four codes are exchanged and the thin space goes; the way back gives the print. */
static void display_can_be_undone(void **state)
{
    (void)state;
    int changed = 0, thin_spaces = 0;
    for (int32_t index = 0; index < MST_VERSE_COUNT; index++) {
        struct mst_addr a = mst_text_verse_addr(text, index);
        struct mst_span verse = mst_text_verse(text, a.sura, a.verse);
        struct mst_string shown = {0}, back = {0};
        mst_text_for_display(verse, &shown);
        for (size_t off = 0; off < shown.len;) {
            uint32_t cp = mst_utf8_next(shown.ptr, shown.len, &off);
            assert_true(cp != 0x0652 && cp != 0x0657 && cp != 0x065E && cp != 0x0656);
            changed += cp == 0x06DF || (cp >= 0x08F0 && cp <= 0x08F2);
            mst_string_add_cp(&back, cp == 0x06DF   ? 0x0652
                                     : cp == 0x08F0 ? 0x0657
                                     : cp == 0x08F1 ? 0x065E
                                     : cp == 0x08F2 ? 0x0656
                                                    : cp);
        }
        if (memmem(verse.ptr, verse.len, "\u2009", 3) != NULL) {
            thin_spaces++;
            assert_addr(a, 2, 72, 0);
            assert_int_equal(back.len, verse.len - 3);
        } else {
            assert_true(mst_span_equal(verse, (struct mst_span){back.ptr, back.len}));
        }
        mst_string_free(&shown);
        mst_string_free(&back);
    }
    /* Counted in the source: 0652 3988, 0657 2901, 065E 1807, 0656 1935. */
    assert_int_equal(changed, 3988 + 2901 + 1807 + 1935);
    assert_int_equal(thin_spaces, 1);
}

/* Many readers of one open text: each may be the one that checks a translation first. */
static void *read_translations(void *argument)
{
    size_t *bytes = argument;
    for (int n = 0; n < mst_text_translation_count(text); n++)
        for (int32_t verse = 1; verse <= 30; verse++)
            *bytes += mst_text_translated(text, n, 67, verse).len;
    return NULL;
}

static void a_text_is_shared_by_threads(void **state)
{
    (void)state;
    enum { THREADS = 8 };
    mst_text_close(text);
    open_text(NULL); /* nothing checked yet */
    pthread_t threads[THREADS];
    size_t bytes[THREADS] = {0};
    for (int i = 0; i < THREADS; i++)
        assert_int_equal(pthread_create(&threads[i], NULL, read_translations, &bytes[i]), 0);
    for (int i = 0; i < THREADS; i++)
        assert_int_equal(pthread_join(threads[i], NULL), 0);
    for (int i = 0; i < THREADS; i++)
        assert_true(bytes[i] > 10000 && bytes[i] == bytes[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(verses_are_those_of_the_source),
        cmocka_unit_test(translations_are_those_of_the_source),
        cmocka_unit_test(words_put_together_are_the_verse),
        cmocka_unit_test(verse_nought_is_the_basmala),
        cmocka_unit_test(what_is_not_there_is_empty),
        cmocka_unit_test(credits_name_source_and_licence),
        cmocka_unit_test(display_can_be_undone),
        cmocka_unit_test(a_text_is_shared_by_threads),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
