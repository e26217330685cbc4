/*
 * Writes, as JSON, 200 sites taken at random (seeded) with what the layout
 * believes of each trigger: the word as it was shaped, which of its characters
 * are the letter's, and in em from the word's left edge the letter's share of
 * the line, the mark's box and its anchor. browser.mjs compares that with
 * where Chromium puts the letter.
 *
 * Usage: places SEED
 */
#include "../../src/typeset/sheet.h"

#include <stdio.h>
#include <stdlib.h>

enum { SITES = 200 };

static uint32_t next_random(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

static long characters(const char *bytes, size_t from, size_t to)
{
    long count = 0;
    for (size_t i = from; i < to; i++)
        count += (bytes[i] & 0xC0) != 0x80;
    return count;
}

static const struct line_item *item_of(const struct mst_sheet *sheet, int line, int32_t word)
{
    for (int i = 0; i < sheet->lines[line].item_count; i++)
        if (sheet->lines[line].items[i].word == word)
            return &sheet->lines[line].items[i];
    return NULL;
}

static void add_place(const struct mst_sheet *sheet, const struct mark *m, int line,
                      struct mst_string *out)
{
    const struct mst_site *site = &sheet->reading->sites[m->site];
    int32_t word_idx = sheet->reading->letters[site->trigger].word_idx;
    int32_t n = site->trigger - sheet->reading->words[word_idx].first_letter;
    const struct word *word = &sheet->words[word_idx];
    const struct word_letter *letter = &word->letters[n];
    const struct line_item *item = item_of(sheet, line, word_idx);
    char at[48];
    mst_string_addf(out, "{\"at\":\"%s\",\"rule\":\"%s\",\"word\":",
                    mst_addr_print(mst_letter_addr(sheet->reading, site->trigger), at),
                    mst_rule_id(site->rule));
    mst_string_add_json(out, word->display, word->display_len);
    mst_string_addf(
        out,
        ",\"start\":%ld,\"end\":%ld,\"width\":%.5f,\"left\":%.5f,\"right\":%.5f,\"x0\":%.5f,"
        "\"x1\":%.5f,\"anchor\":%.5f}",
        characters(word->display, 0, word->starts[n]),
        characters(word->display, 0, word->starts[n + 1]), word->width, letter->left, letter->right,
        (m->x0 - item->x) / sheet->em, (m->x1 - item->x) / sheet->em,
        (m->anchor - item->x) / sheet->em);
}

/* One marked site of this verse, or none when the verse has none. */
static int one_of_verse(struct mst_typeset *ts, const struct mst_text *text, int32_t verse_index,
                        uint32_t *random, struct mst_arena *arena, int some, struct mst_string *out)
{
    struct mst_error err;
    struct mst_addr verse = mst_text_verse_addr(text, verse_index);
    struct mst_range range = {verse, verse};
    struct mst_reading_options how = {.no_basmala = 1};
    struct mst_sheet_options options = {
        .rules = {((uint64_t)1 << MST_RULE_COUNT) - 1}, .key = MST_KEY_NONE, .no_stops = 1};
    struct mst_reading *reading;
    struct mst_sheet *sheet;
    if (mst_reading_new(text, range, &how, arena, &reading, &err) != MST_OK ||
        mst_sheet_new(ts, reading, &options, arena, &sheet, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        exit(1);
    }
    for (int attempt = 0; attempt < 20 && sheet->mark_count > 0; attempt++) {
        int32_t i = (int32_t)(next_random(random) % (uint32_t)sheet->mark_count);
        const struct mark *m = &sheet->marks[i];
        int line = sheet->boxes[sheet->reading->sites[m->site].trigger].line;
        if (m->opens_right) /* the far half of a tie */
            continue;
        if (some)
            mst_string_adds(out, ",\n");
        add_place(sheet, m, line, out);
        return 1;
    }
    return 0;
}

int main(int argc, char **argv)
{
    struct mst_error err = {0};
    struct mst_text *text = NULL;
    struct mst_typeset *ts = NULL;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_string out = {0};
    uint32_t random = argc > 1 ? (uint32_t)strtoul(argv[1], NULL, 10) : 1;
    if (mst_text_open(NULL, &text, &err) != MST_OK || mst_typeset_open(NULL, &ts, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    mst_string_adds(&out, "[");
    for (int found = 0; found < SITES;) {
        int32_t verse = (int32_t)(next_random(&random) % MST_VERSE_COUNT);
        found += one_of_verse(ts, text, verse, &random, arena, found > 0, &out);
        mst_arena_reset(arena);
    }
    mst_string_adds(&out, "]\n");
    int ok = !out.failed && fwrite(out.ptr, 1, out.len, stdout) == out.len;
    mst_string_free(&out);
    mst_arena_free(arena);
    mst_typeset_close(ts);
    mst_text_close(text);
    return ok ? 0 : 1;
}
