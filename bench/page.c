/*
 * page.c – how long one A4 page takes once the program is up: reading, layout,
 * PDF, and the file on disk (written beside its place, flushed, renamed). The
 * aim: under 30 ms.
 *
 * Usage: page FOLDER (to write into)
 */
#include "clock.h"

#include <mistara/typeset.h>
#include <stdio.h>
#include <unistd.h>

enum { ROUNDS = 31 };
static const double aim_ms = 30.0;

struct samples {
    double read[ROUNDS], layout[ROUNDS], draw[ROUNDS], write[ROUNDS], whole[ROUNDS], used[ROUNDS];
};

static enum mst_status one_page(struct mst_typeset *ts, const struct mst_text *text,
                                struct mst_range range, const char *path, struct mst_arena *arena,
                                double marks[5], int *pages, struct mst_error *err)
{
    struct mst_reading_options how = {0};
    struct mst_sheet_options look = {.key = MST_KEY_NONE};
    struct mst_reading *reading;
    struct mst_sheet *sheet;
    struct mst_string pdf = {0};

    marks[0] = now_ms();
    enum mst_status status = mst_reading_new(text, range, &how, arena, &reading, err);
    marks[1] = now_ms();
    if (status == MST_OK)
        status = mst_sheet_new(ts, reading, &look, arena, &sheet, err);
    marks[2] = now_ms();
    if (status == MST_OK)
        status = mst_sheet_pdf(sheet, &pdf, err);
    marks[3] = now_ms();
    if (status == MST_OK)
        status = mst_file_write(path, pdf.ptr, pdf.len, err);
    marks[4] = now_ms();
    if (status == MST_OK)
        *pages = mst_sheet_page_count(sheet);
    mst_string_free(&pdf);
    return status;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    struct mst_error err = {0};
    struct mst_text *text = NULL;
    struct mst_typeset *ts = NULL;
    struct mst_arena *arena = mst_arena_new(1 << 20);
    struct mst_range range;
    struct samples took;
    char path[512];
    int pages = 0;

    snprintf(path, sizeof path, "%s/bench-page.pdf", argv[1]);
    if (!arena || mst_text_open(NULL, &text, &err) || mst_typeset_open(NULL, &ts, &err) ||
        mst_range_parse(text, MST_SPAN("67:1-5"), &range, &err)) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    double first = 0;
    for (int round = -1; round < ROUNDS; round++) {
        double marks[5], used = used_ms();
        mst_arena_reset(arena);
        if (one_page(ts, text, range, path, arena, marks, &pages, &err)) {
            fprintf(stderr, "%s\n", err.message);
            return 1;
        }
        if (round < 0) {
            first = marks[4] - marks[0];
            continue;
        }
        took.read[round] = marks[1] - marks[0];
        took.layout[round] = marks[2] - marks[1];
        took.draw[round] = marks[3] - marks[2];
        took.write[round] = marks[4] - marks[3];
        took.whole[round] = marks[4] - marks[0];
        took.used[round] = used_ms() - used;
    }
    unlink(path);

    double whole = median(took.whole, ROUNDS);
    printf("67:1–5 on %d A4 %s: %.2f ms, of the processor %.2f ms (quickest %.2f; the very first, "
           "with cold fonts: %.2f)\n",
           pages, pages == 1 ? "page" : "pages", whole, median(took.used, ROUNDS), took.whole[0],
           first);
    printf("  reading %.2f, layout %.2f, PDF %.2f, file %.2f; medians of %d rounds\n",
           median(took.read, ROUNDS), median(took.layout, ROUNDS), median(took.draw, ROUNDS),
           median(took.write, ROUNDS), ROUNDS);
    printf("aim: under %.0f ms: %s\n", aim_ms, whole < aim_ms ? "held" : "MISSED");

    mst_typeset_close(ts);
    mst_text_close(text);
    mst_arena_free(arena);
    return 0;
}
