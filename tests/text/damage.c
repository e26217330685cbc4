/* A packed text that is cut off, bent or made by an enemy is refused, with a sentence. */
#include "test.h"

#include "text/pack_format.h"

#include <sys/mman.h>
#include <unistd.h>

/* The pack without translations in memory, as a file that can be bent and opened. */
static unsigned char *pristine;
static size_t pristine_len;
static int fd = -1;
static char path[64];

static int setup(void **state)
{
    (void)state;
    struct mst_map map;
    struct mst_error err;
    if (mst_map_open(getenv("MISTARA_SMALL_TEXT"), &map, &err) != MST_OK)
        fail_msg("%s", err.message);
    pristine = malloc(map.len);
    pristine_len = map.len;
    memcpy(pristine, map.ptr, map.len);
    mst_map_close(&map);
    fd = memfd_create("pack", MFD_CLOEXEC);
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    return fd < 0 ? -1 : 0;
}

static int teardown(void **state)
{
    (void)state;
    free(pristine);
    close(fd);
    return 0;
}

static int restore(void **state)
{
    (void)state;
    return ftruncate(fd, 0) == 0 && pwrite(fd, pristine, pristine_len, 0) == (ssize_t)pristine_len
               ? 0
               : -1;
}

static enum mst_status open_it(struct mst_error *err)
{
    struct mst_text *opened;
    *err = (struct mst_error){0};
    enum mst_status status = mst_text_open(path, &opened, err);
    if (status == MST_OK)
        mst_text_close(opened);
    else
        assert_true(err->message[0] != '\0' && opened == NULL);
    return status;
}

static const struct pack_header *header_of(const unsigned char *bytes)
{
    return (const void *)bytes;
}

static const struct pack_section *section_of(const unsigned char *bytes, uint32_t i)
{
    return (const struct pack_section *)(const void *)(bytes + sizeof(struct pack_header)) + i;
}

static void the_pristine_one_opens(void **state)
{
    (void)state;
    struct mst_error err;
    assert_int_equal(open_it(&err), MST_OK);
}

static void cut_off_anywhere(void **state)
{
    (void)state;
    struct mst_error err;
    size_t body = sizeof(struct pack_header) +
                  header_of(pristine)->section_count * sizeof(struct pack_section);
    /* Every length through the table, then around the ends of each section. */
    for (size_t len = 0; len <= body; len++) {
        assert_int_equal(restore(NULL), 0);
        assert_int_equal(ftruncate(fd, (off_t)len), 0);
        assert_int_equal(open_it(&err), MST_BAD_DATA);
    }
    for (uint32_t i = 0; i < header_of(pristine)->section_count; i++) {
        const struct pack_section *section = section_of(pristine, i);
        for (int around = -1; around <= 1; around++) {
            size_t start = section->offset + (size_t)around,
                   end = section->offset + section->bytes + (size_t)around;
            assert_int_equal(restore(NULL), 0);
            assert_int_equal(ftruncate(fd, (off_t)start), 0);
            assert_int_equal(open_it(&err), MST_BAD_DATA);
            if (end < pristine_len) {
                assert_int_equal(ftruncate(fd, (off_t)end), 0);
                assert_int_equal(open_it(&err), MST_BAD_DATA);
            }
        }
    }
    assert_int_equal(restore(NULL), 0);
    assert_int_equal(pwrite(fd, "x", 1, (off_t)pristine_len), 1);
    assert_int_equal(open_it(&err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "should have"));
}

/* Between sections lie up to 7 bytes that nobody reads. */
static int is_padding(size_t off)
{
    size_t body = sizeof(struct pack_header) +
                  header_of(pristine)->section_count * sizeof(struct pack_section);
    if (off < body)
        return 0;
    for (uint32_t i = 0; i < header_of(pristine)->section_count; i++) {
        const struct pack_section *section = section_of(pristine, i);
        if (off >= section->offset && off < section->offset + section->bytes)
            return 0;
    }
    return 1;
}

static void flip(size_t bit)
{
    unsigned char bent = pristine[bit / 8] ^ (unsigned char)(1 << bit % 8);
    assert_int_equal(pwrite(fd, &bent, 1, (off_t)(bit / 8)), 1);
}

static void unflip(size_t bit)
{
    assert_int_equal(pwrite(fd, &pristine[bit / 8], 1, (off_t)(bit / 8)), 1);
}

static void one_bit_bent(void **state)
{
    (void)state;
    struct mst_error err;
    size_t body = sizeof(struct pack_header) +
                  header_of(pristine)->section_count * sizeof(struct pack_section);
    for (size_t bit = 0; bit < body * 8; bit++) {
        flip(bit);
        assert_int_equal(open_it(&err), MST_BAD_DATA);
        unflip(bit);
    }
    uint32_t seed = 1;
    int bent = 0;
    for (int i = 0; i < 1000; i++) {
        seed = seed * 1664525u + 1013904223u;
        size_t bit = body * 8 + (size_t)seed % ((pristine_len - body) * 8);
        if (is_padding(bit / 8))
            continue;
        flip(bit);
        if (open_it(&err) != MST_BAD_DATA)
            fail_msg("bit %zu passed unnoticed", bit);
        unflip(bit);
        bent++;
    }
    assert_true(bent > 900);
    assert_int_equal(open_it(&err), MST_OK);
}

/* Write a version of the pack with its checksums put right, as an enemy would. */
static enum mst_status open_forged(unsigned char *bytes, struct mst_error *err)
{
    struct pack_header *header = (void *)bytes;
    struct pack_section *table = (void *)(bytes + sizeof *header);
    for (uint32_t i = 0; i < header->section_count; i++)
        if (table[i].offset <= pristine_len && table[i].bytes <= pristine_len - table[i].offset)
            table[i].checksum = text_checksum(bytes + table[i].offset, table[i].bytes);
    header->table_checksum = text_checksum(table, header->section_count * sizeof *table);
    header->header_checksum = text_checksum(header, offsetof(struct pack_header, header_checksum));
    assert_int_equal(pwrite(fd, bytes, pristine_len, 0), (ssize_t)pristine_len);
    return open_it(err);
}

static struct pack_section *find_section(unsigned char *bytes, enum pack_kind kind)
{
    for (uint32_t i = 0; i < header_of(bytes)->section_count; i++)
        if (section_of(bytes, i)->kind == kind)
            return (struct pack_section *)(uintptr_t)section_of(bytes, i);
    fail_msg("no section of kind %d", kind);
    return NULL;
}

/* Numbers that no writer writes: where, which one, what it becomes. The checksums are right. */
static void forged_numbers(void **state)
{
    (void)state;
    static const struct {
        enum pack_kind kind;
        size_t item;
        uint32_t number;
    } forgeries[] = {
        {PACK_VERSE_OFFSETS, 0, 1},
        {PACK_VERSE_OFFSETS, 5, 0xFFFFFFFF},
        {PACK_VERSE_OFFSETS, 6236, 0},
        {PACK_VERSE_OFFSETS, 6236, 0x7FFFFFFF},
        {PACK_VERSE_OFFSETS, 7, 0},
        {PACK_VERSE_WORDS, 0, 4},
        {PACK_VERSE_WORDS, 100, 0xFFFFFFFF},
        {PACK_VERSE_WORDS, 6236, 77429},
        {PACK_WORD_OFFSETS, 0, 3},
        {PACK_WORD_OFFSETS, 1, 0xFFFFFFFE}, /* found by fuzzing: two more wraps around */
        {PACK_WORD_OFFSETS, 1, 0xFFFFFFFF},
        {PACK_WORD_OFFSETS, 2, 0},
        {PACK_WORD_OFFSETS, 3, 60000},
        {PACK_WORD_OFFSETS, 77427, 0x80000000},
        {PACK_JUZ, 0, 1},
        {PACK_JUZ, 3, 9999},
        {PACK_PAGE, 5, 0},
        {PACK_SAJDA, 14, 6236},
        {PACK_SURAS, 1, 0xFFFFFFFF}, /* length of a name */
        {PACK_SURAS, 6, 5},          /* first verse of sura 1 */
        {PACK_SURAS, 7, 0},          /* number of its verses */
        {PACK_SURAS, 7, 8},
        {PACK_INFO, 0, 0xFFFFFFF0},
    };
    unsigned char *bytes = malloc(pristine_len);
    assert_non_null(bytes);
    for (size_t i = 0; i < sizeof forgeries / sizeof forgeries[0]; i++) {
        struct mst_error err;
        memcpy(bytes, pristine, pristine_len);
        struct pack_section *section = find_section(bytes, forgeries[i].kind);
        memcpy(bytes + section->offset + 4 * forgeries[i].item, &forgeries[i].number, 4);
        if (open_forged(bytes, &err) != MST_BAD_DATA)
            fail_msg("forgery %zu was believed", i);
    }
    free(bytes);
}

static void forged_tables(void **state)
{
    (void)state;
    unsigned char *bytes = malloc(pristine_len);
    assert_non_null(bytes);
    for (int i = 0; i < 9; i++) {
        struct mst_error err;
        memcpy(bytes, pristine, pristine_len);
        struct pack_section *section = find_section(bytes, PACK_VERSE_BYTES);
        struct pack_header *header = (void *)bytes;
        if (i == 0)
            section->offset = UINT64_MAX - 7;
        else if (i == 1)
            section->bytes = UINT64_MAX;
        else if (i == 2)
            section->offset += 4;
        else if (i == 3)
            section->kind = 99;
        else if (i == 4)
            section->kind = PACK_JUZ; /* twice, and the verses missing */
        else if (i == 5)
            section->offset = 0; /* over the header */
        else if (i == 6)
            find_section(bytes, PACK_VERSE_WORDS)->bytes -= 1;
        else if (i == 7)
            find_section(bytes, PACK_VERSE_WORDS)->bytes -= 4;
        else
            header->section_count--; /* the last one is forgotten */
        if (open_forged(bytes, &err) != MST_BAD_DATA)
            fail_msg("table %d was believed", i);
    }
    free(bytes);
}

static void what_is_no_pack(void **state)
{
    (void)state;
    struct mst_error err;
    struct mst_text *opened;
    unsigned char bent = 'X';
    assert_int_equal(pwrite(fd, &bent, 1, 0), 1);
    assert_int_equal(open_it(&err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "not a packed text"));

    assert_int_equal(restore(NULL), 0);
    uint32_t version = PACK_VERSION + 1;
    assert_int_equal(pwrite(fd, &version, 4, 8), 4);
    assert_int_equal(open_it(&err), MST_BAD_DATA);
    assert_non_null(strstr(err.message, "is of version"));

    assert_int_equal(mst_text_open("/nowhere/at/all", &opened, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "MISTARA_TEXT"));
    assert_int_equal(mst_text_open("/", &opened, &err), MST_BAD_DATA);
}

/* A translation is checked when it is first asked for; the scripture opens all the same. */
static void a_damaged_translation(void **state)
{
    (void)state;
    struct mst_map map;
    struct mst_text *opened;
    struct mst_error err;
    assert_int_equal(mst_map_open(getenv("MISTARA_TEXT"), &map, &err), MST_OK);
    uint32_t last = header_of(map.ptr)->section_count - 1;
    while (section_of(map.ptr, last)->kind != PACK_TRANSLATION)
        last--;
    const struct pack_section *section = section_of(map.ptr, last);
    size_t bent_at = section->offset + section->bytes / 2;
    assert_int_equal(pwrite(fd, map.ptr, map.len, 0), (ssize_t)map.len);
    unsigned char bent = map.ptr[bent_at] ^ 1;
    assert_int_equal(pwrite(fd, &bent, 1, (off_t)bent_at), 1);

    assert_int_equal(mst_text_open(path, &opened, &err), MST_OK);
    int n = (int)section->number;
    assert_int_equal(mst_text_translation_check(opened, n, &err), MST_BAD_DATA);
    assert_int_equal(mst_text_translated(opened, n, 67, 1).len, 0);
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_hit *hits;
    size_t count;
    assert_int_equal(mst_text_search(opened, MST_SPAN("x"), n, 10, arena, &hits, &count, &err),
                     MST_BAD_DATA);
    int other = n == 0 ? 1 : 0;
    assert_int_equal(mst_text_translation_check(opened, other, &err), MST_OK);
    assert_true(mst_text_translated(opened, other, 67, 1).len > 0);
    assert_true(mst_text_verse(opened, 67, 1).len > 0);
    mst_arena_free(arena);
    mst_text_close(opened);
    mst_map_close(&map);
}

int main(void)
{
#define RESTORED(name) cmocka_unit_test_setup(name, restore)
    const struct CMUnitTest tests[] = {
        RESTORED(the_pristine_one_opens), RESTORED(cut_off_anywhere), RESTORED(one_bit_bent),
        RESTORED(forged_numbers),         RESTORED(forged_tables),    RESTORED(what_is_no_pack),
        RESTORED(a_damaged_translation),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
