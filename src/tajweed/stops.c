/*
 * tajweed/stops.c – where the reader stops, as a teacher types it.
 */
#include "internal.h"

#include <string.h>

static bool is_word(struct mst_span s, const char *word)
{
    return s.len == strlen(word) && memcmp(s.ptr, word, s.len) == 0;
}

enum mst_status mst_stops_parse(const struct mst_text *text, struct mst_span s,
                                struct mst_arena *arena, struct mst_reading_options *io,
                                struct mst_error *err)
{
    size_t room = 1, n = 0, from = 0;
    struct mst_addr *list;

    if (is_word(s, "none") || is_word(s, "verses") || is_word(s, "signs")) {
        io->stops = s.ptr[0] == 'n'   ? MST_STOPS_NONE
                    : s.ptr[0] == 'v' ? MST_STOPS_VERSES
                                      : MST_STOPS_SIGNS;
        return MST_OK;
    }
    for (size_t i = 0; i < s.len; i++)
        room += s.ptr[i] == ',';
    list = mst_arena_alloc(arena, room, sizeof *list);
    if (!list)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the list of stops");
    while (from <= s.len) {
        const char *comma = from < s.len ? memchr(s.ptr + from, ',', s.len - from) : NULL;
        size_t end = comma ? (size_t)(comma - s.ptr) : s.len;
        enum mst_status st;

        st = mst_addr_parse(text, (struct mst_span){s.ptr + from, end - from}, &list[n], err);
        if (st != MST_OK)
            return st;
        if (list[n].verse == 0 && list[n].word == 0)
            return mst_fail(err, MST_USAGE,
                            "a stop is a word or the end of a verse, like 67:1:3 or 67:1, not "
                            "“%.*s”",
                            (int)(end - from), s.ptr + from);
        list[n++].letter = 0;
        from = end + 1;
    }
    io->stops = MST_STOPS_LIST;
    io->stop_list = list;
    io->stop_count = n;
    return MST_OK;
}
