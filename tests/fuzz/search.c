/* Queries as nobody would type them. Every hit must lie inside its verse. */
#include "target.h"

#include <mistara/text.h>
#include <stdlib.h>

static struct mst_text *text;
static struct mst_arena *arena;

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    if (text == NULL && mst_text_open(NULL, &text, NULL) != MST_OK)
        abort();
    if (arena == NULL && (arena = mst_arena_new(0)) == NULL)
        abort();
    /* The first byte chooses where to search. */
    int translation = len > 0 ? bytes[0] % 14 - 1 : -1;
    struct mst_span query = {(const char *)bytes + (len > 0), len - (len > 0)};
    struct mst_hit *hits;
    size_t count;
    if (mst_text_search(text, query, translation, 200, arena, &hits, &count, NULL) == MST_OK) {
        for (size_t i = 0; i < count; i++) {
            struct mst_addr a = mst_text_verse_addr(text, hits[i].verse_index);
            struct mst_span verse =
                hits[i].translation < 0
                    ? mst_text_verse(text, a.sura, a.verse)
                    : mst_text_translated(text, hits[i].translation, a.sura, a.verse);
            if (hits[i].byte_off < 0 || hits[i].byte_len <= 0 ||
                (size_t)hits[i].byte_off + (size_t)hits[i].byte_len > verse.len ||
                (hits[i].translation < 0 &&
                 (hits[i].first_word < 1 || hits[i].last_word < hits[i].first_word)))
                abort();
        }
    }
    mst_arena_reset(arena);
    return 0;
}

void fuzz_target_end(void)
{
    mst_text_close(text);
    mst_arena_free(arena);
}
