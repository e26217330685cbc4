#include "test.h"

#include "text/pack_format.h"

/* Source: the values that xxhsum 0.8.1 (-H1) prints for the same bytes. */
static void known_values(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        uint64_t checksum;
    } known[] = {
        {"", 0xef46db3751d8e999},
        {"a", 0xd24ec4f1a98c6e5b},
        {"abc", 0x44bc2cf5ad770999},
        {"Nobody inspects the spammish repetition", 0xfbcea83c8a378bf1},
        {"0123456789012345678901234567890", 0x8b80da128591b789},
        {"01234567890123456789012345678901", 0xe5cc9f411ea110ba},
        {"012345678901234567890123456789012345678901234567890123456789012345678",
         0xe4198a9ff14902f9},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        assert_true(text_checksum(known[i].bytes, strlen(known[i].bytes)) == known[i].checksum);
}

static void every_bit_counts(void **state)
{
    (void)state;
    unsigned char bytes[100];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)(i * 37);
    for (size_t len = 1; len <= sizeof bytes; len += 11) {
        uint64_t whole = text_checksum(bytes, len);
        for (size_t bit = 0; bit < len * 8; bit++) {
            bytes[bit / 8] ^= (unsigned char)(1 << bit % 8);
            assert_true(text_checksum(bytes, len) != whole);
            bytes[bit / 8] ^= (unsigned char)(1 << bit % 8);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_values),
        cmocka_unit_test(every_bit_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
