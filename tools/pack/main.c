/*
 * pack-text: read the JSON files of npm's quran-json and the divisions of
 * quran-meta, write the packed text.
 *
 *   pack-text --quran-json DIR --divisions FILE --output FILE [--verses FILE]
 *
 * --verses takes the verses from another file and leaves the translations
 * out, for checks with another edition or a stripped text. Understood: the
 * shape of quran.json (suras with verses with "text"), or a flat list of
 * {"surah", "ayah", "text"} in order.
 *
 * The verses' bytes go in as they stand. What is checked: 114 suras, 6236
 * verses, words parted by single spaces, well-formed UTF-8.
 */
#include "sources.h"
#include "writer.h"

#include <jansson.h>
#include <mistara/text.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct options {
    const char *quran_json, *divisions, *output, *verses;
};

static json_t *load_json(const char *path, struct mst_error *err)
{
    json_error_t problem;
    json_t *json = json_load_file(path, JSON_REJECT_DUPLICATES, &problem);
    if (json == NULL)
        mst_fail(err, MST_BAD_DATA, "%s:%d:%d: %s", path, problem.line, problem.column,
                 problem.text);
    return json;
}

static struct mst_span string_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return (struct mst_span){json_string_value(value), json_string_length(value)};
}

static json_int_t integer_of(const json_t *object, const char *key)
{
    return json_integer_value(json_object_get(object, key));
}

/* The 6236 verses of a file, in order, borrowed from its JSON. */
struct verses {
    struct mst_span text[MST_VERSE_COUNT];
    uint32_t per_sura[MST_SURA_COUNT];
};

static enum mst_status add_verse(struct verses *verses, size_t *count, json_int_t sura,
                                 json_int_t verse, struct mst_span text, const char *path,
                                 struct mst_error *err)
{
    if (sura < 1 || sura > MST_SURA_COUNT || *count >= MST_VERSE_COUNT ||
        verse != verses->per_sura[sura - 1] + 1 || text.len == 0 ||
        (sura < MST_SURA_COUNT && verses->per_sura[sura] > 0))
        return mst_fail(err, MST_BAD_DATA, "%s: %lld:%lld is out of order or empty", path,
                        (long long)sura, (long long)verse);
    verses->per_sura[sura - 1]++;
    verses->text[(*count)++] = text;
    return MST_OK;
}

static enum mst_status read_verses(const json_t *json, const char *key, const char *path,
                                   struct verses *out, struct mst_error *err)
{
    *out = (struct verses){0};
    size_t count = 0, i, j;
    const json_t *item, *verse;
    enum mst_status status = MST_OK;
    json_array_foreach(json, i, item)
    {
        if (json_object_get(item, "ayah") != NULL) {
            status = add_verse(out, &count, integer_of(item, "surah"), integer_of(item, "ayah"),
                               string_of(item, key), path, err);
            if (status != MST_OK)
                return status;
            continue;
        }
        json_array_foreach(json_object_get(item, "verses"), j, verse)
        {
            status = add_verse(out, &count, integer_of(item, "id"), integer_of(verse, "id"),
                               string_of(verse, key), path, err);
            if (status != MST_OK)
                return status;
        }
    }
    if (count != MST_VERSE_COUNT)
        return mst_fail(err, MST_BAD_DATA, "%s holds %zu verses instead of %d", path, count,
                        MST_VERSE_COUNT);
    return MST_OK;
}

/* Bytes with an offset table, as every list of verses is packed. */
static void join_verses(const struct verses *verses, uint32_t offsets[MST_VERSE_COUNT + 1],
                        struct mst_string *bytes)
{
    for (size_t i = 0; i < MST_VERSE_COUNT; i++) {
        offsets[i] = (uint32_t)bytes->len;
        mst_string_add(bytes, verses->text[i].ptr, verses->text[i].len);
    }
    offsets[MST_VERSE_COUNT] = (uint32_t)bytes->len;
}

static enum mst_status pack_verses(struct pack_writer *w, const struct verses *verses,
                                   const char *path, struct mst_error *err)
{
    static uint32_t offsets[MST_VERSE_COUNT + 1], first_words[MST_VERSE_COUNT + 1];
    struct mst_string bytes = {0}, words = {0};
    enum mst_status status = MST_OK;
    uint32_t word_count = 0;

    join_verses(verses, offsets, &bytes);
    for (size_t i = 0; i < MST_VERSE_COUNT && status == MST_OK; i++) {
        struct mst_span verse = verses->text[i];
        first_words[i] = word_count;
        for (uint32_t at = 0; at < verse.len; at++) {
            int after_space = at == 0 || verse.ptr[at - 1] == ' ';
            if (verse.ptr[at] == ' ' ? after_space || at + 1 == verse.len
                                     : (unsigned char)verse.ptr[at] < 0x20)
                status = mst_fail(err, MST_BAD_DATA, "%s: verse %zu has a stray space or control",
                                  path, i + 1);
            if (!after_space || verse.ptr[at] == ' ')
                continue;
            mst_string_add(&words, (const char *)&at, sizeof at);
            word_count++;
        }
    }
    first_words[MST_VERSE_COUNT] = word_count;
    if (status == MST_OK && (bytes.failed || words.failed))
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
    if (status == MST_OK) {
        pack_writer_section(w, PACK_VERSE_OFFSETS, 0, offsets, sizeof offsets);
        pack_writer_section(w, PACK_VERSE_BYTES, 0, bytes.ptr, bytes.len);
        pack_writer_section(w, PACK_VERSE_WORDS, 0, first_words, sizeof first_words);
        pack_writer_section(w, PACK_WORD_OFFSETS, 0, words.ptr, words.len);
    }
    mst_string_free(&bytes);
    mst_string_free(&words);
    return status;
}

static struct pack_text add_text(struct pack_writer *w, struct mst_span text)
{
    return pack_writer_text(w, text.ptr, text.len);
}

/* Names from the Arabic file, English meanings from the English one. */
static void pack_suras(struct pack_writer *w, const json_t *suras, const json_t *english,
                       const struct verses *verses)
{
    struct pack_sura packed[MST_SURA_COUNT] = {0};
    uint32_t first = 0;
    for (size_t i = 0; i < MST_SURA_COUNT; i++) {
        const json_t *sura = json_array_get(suras, i);
        struct mst_span type = string_of(sura, "type");
        packed[i] = (struct pack_sura){
            .name_ar = add_text(w, string_of(sura, "name")),
            .name_en = add_text(w, string_of(sura, "transliteration")),
            .meaning_en = add_text(w, string_of(json_array_get(english, i), "translation")),
            .first_index = first,
            .verse_count = verses->per_sura[i],
            .meccan = (uint32_t)mst_span_equal(type, MST_SPAN("meccan")),
        };
        first += verses->per_sura[i];
    }
    pack_writer_section(w, PACK_SURAS, 0, packed, sizeof packed);
}

static enum mst_status pack_divisions(struct pack_writer *w, const json_t *divisions,
                                      const char *path, struct mst_error *err)
{
    static const struct {
        const char *key;
        enum pack_kind kind;
    } lists[] = {
        {"juz", PACK_JUZ},       {"hizb_quarter", PACK_HIZB_QUARTER},
        {"page", PACK_PAGE},     {"ruku", PACK_RUKU},
        {"manzil", PACK_MANZIL}, {"sajda", PACK_SAJDA},
    };
    if (integer_of(divisions, "verses") != MST_VERSE_COUNT)
        return mst_fail(err, MST_BAD_DATA, "%s is not for a text of %d verses", path,
                        MST_VERSE_COUNT);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        static uint32_t starts[MST_VERSE_COUNT];
        const json_t *list = json_object_get(divisions, lists[i].key), *item;
        size_t count = 0, j;
        json_array_foreach(list, j, item)
        {
            json_int_t at = json_integer_value(item);
            if (count == MST_VERSE_COUNT || at < 0 || at >= MST_VERSE_COUNT ||
                (count > 0 && at <= starts[count - 1]))
                return mst_fail(err, MST_BAD_DATA, "%s: “%s” is not in order", path, lists[i].key);
            starts[count++] = (uint32_t)at;
        }
        if (count == 0)
            return mst_fail(err, MST_BAD_DATA, "%s: “%s” is missing", path, lists[i].key);
        pack_writer_section(w, lists[i].kind, 0, starts, count * sizeof starts[0]);
    }
    return MST_OK;
}

static enum mst_status pack_one_translation(struct pack_writer *w, uint32_t number, const char *dir,
                                            const char *file, const char *key,
                                            struct mst_error *err)
{
    static uint32_t offsets[MST_VERSE_COUNT + 1];
    static struct verses verses;
    struct mst_string path = {0}, bytes = {0}, section = {0};
    enum mst_status status = MST_OK;
    mst_string_addf(&path, "%s/%s", dir, file);
    json_t *json = load_json(path.ptr, err);
    if (json == NULL)
        status = MST_BAD_DATA;
    else
        status = read_verses(json, key, path.ptr, &verses, err);
    if (status == MST_OK) {
        join_verses(&verses, offsets, &bytes);
        mst_string_add(&section, (const char *)offsets, sizeof offsets);
        mst_string_add(&section, bytes.ptr, bytes.len);
        if (bytes.failed || section.failed)
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
        else
            pack_writer_section(w, PACK_TRANSLATION, number, section.ptr, section.len);
    }
    json_decref(json);
    mst_string_free(&path);
    mst_string_free(&bytes);
    mst_string_free(&section);
    return status;
}

static enum mst_status pack_translations(struct pack_writer *w, const char *dir,
                                         struct mst_error *err)
{
    static const struct source {
        const char *code, *file, *key, *title;
        int right_to_left;
        const char *credit;
    } sources[] = {
#define X(code, file, key, title, rtl, credit) {code, file, key, title, rtl, credit},
        SOURCE_LIST(X)
#undef X
    };
    enum { COUNT = sizeof sources / sizeof sources[0] };
    struct pack_translation packed[COUNT] = {0};
    for (uint32_t i = 0; i < COUNT; i++) {
        const struct source *source = &sources[i];
        packed[i] = (struct pack_translation){
            .code = add_text(w, mst_span_of(source->code)),
            .title = add_text(w, mst_span_of(source->title)),
            .credit = add_text(w, mst_span_of(source->credit)),
            .right_to_left = (uint32_t)source->right_to_left,
        };
        enum mst_status status = pack_one_translation(w, i, dir, source->file, source->key, err);
        if (status != MST_OK)
            return status;
    }
    pack_writer_section(w, PACK_TRANSLATIONS, 0, packed, sizeof packed);
    return MST_OK;
}

static void pack_info(struct pack_writer *w, struct mst_span quran_json, struct mst_span quran_meta,
                      const struct verses *verses, int other_verses)
{
    /* A fingerprint of the words alone, so that a report can say which text it was made from. */
    struct mst_string bytes = {0}, version = {0};
    static uint32_t offsets[MST_VERSE_COUNT + 1];
    join_verses(verses, offsets, &bytes);
    mst_string_addf(&version, "%s %.*s · quran-meta %.*s · text %016llx",
                    other_verses ? "other verses with quran-json" : "quran-json",
                    (int)quran_json.len, quran_json.ptr, (int)quran_meta.len, quran_meta.ptr,
                    (unsigned long long)text_checksum(bytes.ptr, bytes.len));
    struct pack_info info = {
        .version = pack_writer_text(w, version.ptr, version.len),
        .credits = pack_writer_text(w, TEXT_CREDITS, strlen(TEXT_CREDITS)),
    };
    pack_writer_section(w, PACK_INFO, 0, &info, sizeof info);
    w->failed |= bytes.failed | version.failed;
    mst_string_free(&bytes);
    mst_string_free(&version);
}

static json_t *load_beside(const char *dir, const char *file, struct mst_error *err)
{
    struct mst_string path = {0};
    mst_string_addf(&path, "%s/%s", dir, file);
    json_t *json = path.failed ? NULL : load_json(path.ptr, err);
    mst_string_free(&path);
    return json;
}

static enum mst_status pack(const struct options *o, struct mst_error *err)
{
    static struct verses names_from, verses;
    struct pack_writer writer = {0};
    enum mst_status status = MST_BAD_DATA;
    json_t *english = NULL, *divisions = NULL, *package = NULL, *other = NULL;
    json_t *suras = load_beside(o->quran_json, "dist/quran.json", err);
    if (suras == NULL ||
        (english = load_beside(o->quran_json, "dist/quran_en.json", err)) == NULL ||
        (package = load_beside(o->quran_json, "package.json", err)) == NULL ||
        (divisions = load_json(o->divisions, err)) == NULL ||
        (o->verses != NULL && (other = load_json(o->verses, err)) == NULL))
        goto done;

    struct mst_string dist = {0};
    mst_string_addf(&dist, "%s/dist", o->quran_json);
    status = read_verses(suras, "text", "quran.json", &names_from, err);
    verses = names_from;
    if (status == MST_OK && other != NULL)
        status = read_verses(other, "text", o->verses, &verses, err);
    if (status == MST_OK &&
        memcmp(verses.per_sura, names_from.per_sura, sizeof verses.per_sura) != 0)
        status = mst_fail(err, MST_BAD_DATA, "%s divides the suras otherwise", o->verses);
    if (status == MST_OK) {
        pack_info(&writer, string_of(package, "version"), string_of(divisions, "version"), &verses,
                  other != NULL);
        pack_suras(&writer, suras, english, &verses);
        status = pack_verses(&writer, &verses, o->verses != NULL ? o->verses : "quran.json", err);
    }
    if (status == MST_OK)
        status = pack_divisions(&writer, divisions, o->divisions, err);
    if (status == MST_OK && other == NULL)
        status = pack_translations(&writer, dist.ptr, err);
    else if (status == MST_OK)
        pack_writer_section(&writer, PACK_TRANSLATIONS, 0, "", 0);
    if (status == MST_OK)
        status = pack_writer_finish(&writer, o->output, err);
    mst_string_free(&writer.body);
    mst_string_free(&writer.strings);
    mst_string_free(&dist);
done:
    json_decref(suras);
    json_decref(english);
    json_decref(package);
    json_decref(divisions);
    json_decref(other);
    return status;
}

int main(int argc, char **argv)
{
    struct options o = {0};
    struct {
        const char *name;
        const char **value;
    } known[] = {{"--quran-json", &o.quran_json},
                 {"--divisions", &o.divisions},
                 {"--output", &o.output},
                 {"--verses", &o.verses}};
    for (int i = 1; i < argc; i += 2) {
        const char **value = NULL;
        for (size_t k = 0; k < sizeof known / sizeof known[0]; k++)
            if (strcmp(argv[i], known[k].name) == 0)
                value = known[k].value;
        if (value == NULL || i + 1 == argc) {
            fprintf(stderr, "pack-text: “%s” is not understood or lacks its value\n", argv[i]);
            return mst_status_exit_code(MST_USAGE);
        }
        *value = argv[i + 1];
    }
    if (o.quran_json == NULL || o.divisions == NULL || o.output == NULL) {
        fprintf(stderr, "usage: pack-text --quran-json DIR --divisions FILE --output FILE "
                        "[--verses FILE]\n");
        return mst_status_exit_code(MST_USAGE);
    }
    struct mst_error err = {0};
    enum mst_status status = pack(&o, &err);
    if (status != MST_OK)
        fprintf(stderr, "pack-text: %s\n", err.message);
    return mst_status_exit_code(status);
}
