/* Opening the packed text: find it, map it, believe nothing that has not been checked. */
#include "text_private.h"

#include <endian.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(struct pack_header) == 40, "the header has no holes");
_Static_assert(sizeof(struct pack_section) == 32, "a section has no holes");
_Static_assert(sizeof(struct pack_sura) == 40, "a sura has no holes");
_Static_assert(sizeof(struct pack_translation) == 32, "a translation has no holes");

enum {
    KIND_COUNT = 0
#define X(name, item_bytes, lazy) +1
    PACK_SECTION_LIST(X)
#undef X
};

static const struct {
    const char *name;
    size_t item_bytes;
    int lazy;
} kinds[KIND_COUNT] = {
#define X(name, item_bytes, lazy) {#name, item_bytes, lazy},
    PACK_SECTION_LIST(X)
#undef X
};

/* The sections found in the table; translations are kept apart. */
struct sections {
    const struct pack_section *single[KIND_COUNT];
    const struct pack_section *translation[PACK_MAX_TRANSLATIONS];
};

/* The sentence every kind of damage ends in. */
#define REBUILD "copy or build it anew"

static enum mst_status damaged(struct mst_error *err, const char *what)
{
    enum mst_status status =
        mst_fail(err, MST_BAD_DATA, "the packed text is damaged (%s); " REBUILD, what);
    if (err != NULL)
        snprintf(err->where, sizeof err->where, "%s", what);
    return status;
}

static enum mst_status check_header(const struct mst_map *map, struct mst_error *err)
{
    const struct pack_header *header = (const void *)map->ptr;
    if (map->len < sizeof *header)
        return damaged(err, "it is shorter than its header");
    if (memcmp(header->magic, PACK_MAGIC, sizeof header->magic) != 0)
        return mst_fail(err, MST_BAD_DATA, "this is not a packed text of Mistara; " REBUILD);
    if (header->version != PACK_VERSION)
        return mst_fail(err, MST_BAD_DATA,
                        "the packed text is of version %u, this program reads version %d; "
                        "build it anew",
                        header->version, PACK_VERSION);
    if (header->header_checksum !=
        text_checksum(header, offsetof(struct pack_header, header_checksum)))
        return damaged(err, "its header is not what was written");
    if (header->file_bytes != map->len)
        return mst_fail(
            err, MST_BAD_DATA,
            "the packed text is damaged (it has %zu bytes and should have %llu); " REBUILD,
            map->len, (unsigned long long)header->file_bytes);
    uint64_t room = (map->len - sizeof *header) / sizeof(struct pack_section);
    if (header->section_count > room)
        return damaged(err, "its section table is cut off");
    if (header->table_checksum !=
        text_checksum(header + 1, header->section_count * sizeof(struct pack_section)))
        return damaged(err, "its section table is not what was written");
    return MST_OK;
}

static enum mst_status read_table(const struct mst_map *map, struct sections *found,
                                  struct mst_error *err)
{
    const struct pack_header *header = (const void *)map->ptr;
    const struct pack_section *table = (const void *)(header + 1);
    uint64_t body = sizeof *header + header->section_count * sizeof *table;

    *found = (struct sections){0};
    for (uint32_t i = 0; i < header->section_count; i++) {
        const struct pack_section *section = &table[i];
        if (section->kind >= KIND_COUNT)
            return damaged(err, "a section of an unknown kind");
        const char *name = kinds[section->kind].name;
        if (section->offset < body || section->offset % PACK_ALIGN != 0 ||
            section->offset > map->len || section->bytes > map->len - section->offset ||
            section->bytes % kinds[section->kind].item_bytes != 0)
            return damaged(err, name);

        const struct pack_section **place = &found->single[section->kind];
        if (section->kind == PACK_TRANSLATION) {
            if (section->number >= PACK_MAX_TRANSLATIONS)
                return damaged(err, name);
            place = &found->translation[section->number];
        }
        if (*place != NULL)
            return damaged(err, "the same section twice");
        *place = section;
        if (!kinds[section->kind].lazy &&
            section->checksum != text_checksum(map->ptr + section->offset, section->bytes))
            return damaged(err, name);
    }
    for (int kind = 0; kind < KIND_COUNT; kind++)
        if (kind != PACK_TRANSLATION && found->single[kind] == NULL)
            return damaged(err, kinds[kind].name);
    return MST_OK;
}

static const void *section_bytes(const struct mst_text *text, const struct pack_section *section)
{
    return text->map.ptr + section->offset;
}

/* Items of a section, as a count the rest of the floor can use. */
static size_t item_count(const struct pack_section *section)
{
    return section->bytes / kinds[section->kind].item_bytes;
}

static int text_of(const struct mst_text *text, const struct sections *found,
                   struct pack_text where, struct mst_span *out)
{
    const struct pack_section *strings = found->single[PACK_STRINGS];
    if (where.offset > strings->bytes || where.len > strings->bytes - where.offset)
        return 0;
    *out = (struct mst_span){(const char *)section_bytes(text, strings) + where.offset, where.len};
    return 1;
}

/* count + 1 offsets from 0 to total that never fall. */
static int offsets_good(const uint32_t *offsets, size_t count, uint64_t total)
{
    uint32_t fallen = 0;
    for (size_t i = 0; i < count; i++)
        fallen |= offsets[i] > offsets[i + 1];
    return offsets[0] == 0 && offsets[count] == total && !fallen;
}

static enum mst_status load_suras(struct mst_text *text, const struct sections *found,
                                  struct mst_error *err)
{
    const struct pack_info *info = section_bytes(text, found->single[PACK_INFO]);
    const struct pack_sura *packed = section_bytes(text, found->single[PACK_SURAS]);
    if (item_count(found->single[PACK_INFO]) != 1 ||
        !text_of(text, found, info->version, &text->version) ||
        !text_of(text, found, info->credits, &text->credits))
        return damaged(err, "INFO");
    if (item_count(found->single[PACK_SURAS]) != MST_SURA_COUNT)
        return damaged(err, "SURAS");

    uint32_t next = 0;
    for (int i = 0; i < MST_SURA_COUNT; i++) {
        struct mst_sura *sura = &text->suras[i];
        if (packed[i].first_index != next || packed[i].verse_count == 0 ||
            packed[i].verse_count > MST_VERSE_COUNT - next ||
            !text_of(text, found, packed[i].name_ar, &sura->name_ar) ||
            !text_of(text, found, packed[i].name_en, &sura->name_en) ||
            !text_of(text, found, packed[i].meaning_en, &sura->meaning_en))
            return damaged(err, "SURAS");
        sura->first_index = (int32_t)packed[i].first_index;
        sura->verse_count = (int32_t)packed[i].verse_count;
        sura->meccan = packed[i].meccan != 0;
        next += packed[i].verse_count;
    }
    return next == MST_VERSE_COUNT ? MST_OK : damaged(err, "SURAS");
}

static enum mst_status load_verses(struct mst_text *text, const struct sections *found,
                                   struct mst_error *err)
{
    const struct pack_section *offsets = found->single[PACK_VERSE_OFFSETS],
                              *bytes = found->single[PACK_VERSE_BYTES],
                              *first_words = found->single[PACK_VERSE_WORDS],
                              *words = found->single[PACK_WORD_OFFSETS];
    text->verse_offsets = section_bytes(text, offsets);
    text->verse_bytes = section_bytes(text, bytes);
    text->verse_words = section_bytes(text, first_words);
    text->word_offsets = section_bytes(text, words);

    if (bytes->bytes > INT32_MAX || item_count(offsets) != MST_VERSE_COUNT + 1 ||
        !offsets_good(text->verse_offsets, MST_VERSE_COUNT, bytes->bytes))
        return damaged(err, "VERSE_OFFSETS");
    if (item_count(words) > INT32_MAX || item_count(first_words) != MST_VERSE_COUNT + 1 ||
        !offsets_good(text->verse_words, MST_VERSE_COUNT, item_count(words)))
        return damaged(err, "VERSE_WORDS");

    /* A verse has words; each begins after the one before it and its space, within the verse. */
    for (int32_t verse = 0; verse < MST_VERSE_COUNT; verse++) {
        uint32_t len = text->verse_offsets[verse + 1] - text->verse_offsets[verse];
        uint32_t word = text->verse_words[verse], end = text->verse_words[verse + 1];
        if (word == end || text->word_offsets[word] != 0 || len == 0)
            return damaged(err, "WORD_OFFSETS");
        /* Each one within the verse, or adding to it could wrap around. */
        uint32_t fallen = 0;
        for (word++; word < end; word++)
            fallen |= text->word_offsets[word] >= len ||
                      text->word_offsets[word] < text->word_offsets[word - 1] + 2;
        if (fallen)
            return damaged(err, "WORD_OFFSETS");
    }
    return MST_OK;
}

/* Ascending verse indices; a division's first is the head of the text. */
static int load_starts(const struct mst_text *text, const struct pack_section *section,
                       struct starts *out)
{
    const uint32_t *at = section_bytes(text, section);
    size_t count = item_count(section);
    if (count == 0 || count > MST_VERSE_COUNT || at[count - 1] >= MST_VERSE_COUNT)
        return 0;
    for (size_t i = 1; i < count; i++)
        if (at[i] <= at[i - 1])
            return 0;
    *out = (struct starts){at, (int32_t)count};
    return section->kind == PACK_SAJDA || at[0] == 0;
}

static enum mst_status load_divisions(struct mst_text *text, const struct sections *found,
                                      struct mst_error *err)
{
    struct {
        enum pack_kind kind;
        struct starts *out;
    } lists[] = {
        {PACK_JUZ, &text->juz},       {PACK_HIZB_QUARTER, &text->hizb_quarter},
        {PACK_PAGE, &text->page},     {PACK_RUKU, &text->ruku},
        {PACK_MANZIL, &text->manzil}, {PACK_SAJDA, &text->sajda},
    };
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        if (!load_starts(text, found->single[lists[i].kind], lists[i].out))
            return damaged(err, kinds[lists[i].kind].name);
    if (text->hizb_quarter.count % 4 != 0)
        return damaged(err, "HIZB_QUARTER");
    return MST_OK;
}

static enum mst_status load_translations(struct mst_text *text, const struct sections *found,
                                         struct mst_error *err)
{
    const struct pack_translation *packed = section_bytes(text, found->single[PACK_TRANSLATIONS]);
    size_t count = item_count(found->single[PACK_TRANSLATIONS]);
    if (count > PACK_MAX_TRANSLATIONS)
        return damaged(err, "TRANSLATIONS");
    text->translations = calloc(count + 1, sizeof *text->translations);
    if (text->translations == NULL)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the text");
    text->translation_count = (int)count;

    for (size_t i = 0; i < count; i++) {
        struct translation *translation = &text->translations[i];
        const struct pack_section *section = found->translation[i];
        if (section == NULL || section->bytes < (MST_VERSE_COUNT + 1) * sizeof(uint32_t) ||
            section->bytes > INT32_MAX ||
            !text_of(text, found, packed[i].code, &translation->described.code) ||
            !text_of(text, found, packed[i].title, &translation->described.title) ||
            !text_of(text, found, packed[i].credit, &translation->described.credit))
            return damaged(err, "TRANSLATIONS");
        translation->described.right_to_left = packed[i].right_to_left != 0;
        translation->section = section_bytes(text, section);
        translation->section_bytes = section->bytes;
        translation->checksum = section->checksum;
    }
    return MST_OK;
}

int text_translation_good(const struct mst_text *text, int n)
{
    struct translation *translation = &text->translations[n];
    unsigned char state = atomic_load_explicit(&translation->state, memory_order_acquire);
    if (state == TRANSLATION_UNCHECKED) {
        size_t table_bytes = (MST_VERSE_COUNT + 1) * sizeof(uint32_t);
        int good = translation->checksum ==
                       text_checksum(translation->section, translation->section_bytes) &&
                   offsets_good((const uint32_t *)(const void *)translation->section,
                                MST_VERSE_COUNT, translation->section_bytes - table_bytes);
        state = good ? TRANSLATION_GOOD : TRANSLATION_DAMAGED;
        atomic_store_explicit(&translation->state, state, memory_order_release);
    }
    return state == TRANSLATION_GOOD;
}

static enum mst_status load(struct mst_text *text, struct mst_error *err)
{
    struct sections found;
    enum mst_status status = check_header(&text->map, err);
    if (status == MST_OK)
        status = read_table(&text->map, &found, err);
    if (status == MST_OK)
        status = load_suras(text, &found, err);
    if (status == MST_OK)
        status = load_verses(text, &found, err);
    if (status == MST_OK)
        status = load_divisions(text, &found, err);
    if (status == MST_OK)
        status = load_translations(text, &found, err);
    return status;
}

enum mst_status mst_text_open(const char *path, struct mst_text **out, struct mst_error *err)
{
    *out = NULL;
#if __BYTE_ORDER != __LITTLE_ENDIAN
    return mst_fail(err, MST_UNSUPPORTED,
                    "this machine stores numbers the other way round; "
                    "the packed text is read on little-endian ones only");
#endif
    char found[4400];
    if (path == NULL) {
        (void)mst_data_path("MISTARA_TEXT", "mistara.text", found, sizeof found);
        path = found; /* where it is not, the error names the last place */
    }
    struct mst_text *text = calloc(1, sizeof *text);
    if (text == NULL)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the text");

    enum mst_status status = mst_map_open(path, &text->map, err);
    if (status == MST_NOT_FOUND)
        status = mst_fail(err, MST_NOT_FOUND,
                          "there is no packed text at “%s”; set MISTARA_TEXT to where it is", path);
    if (status == MST_OK)
        status = load(text, err);
    if (status != MST_OK) {
        mst_text_close(text);
        return status;
    }
    *out = text;
    return MST_OK;
}

void mst_text_close(struct mst_text *text)
{
    if (text == NULL)
        return;
    mst_map_close(&text->map);
    free(text->translations);
    free(text);
}
