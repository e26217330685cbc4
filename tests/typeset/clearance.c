/*
 * The proof on pixels: scripture alone and marks alone, drawn at 300 dpi; the
 * marks grown by 0.3 mm; no pixel in common, on any page of juz 30 and on ten
 * dense passages elsewhere, with every rule marked. The rest of the page
 * (names, heading, foot) counts as ink too.
 */
#include "fixture.h"

#include <mistara/tajweed.h>
#include <stdlib.h>
#include <string.h>

enum { DPI = 300, REACH_MAX = 64 };
/* 0.3 mm in pixels. */
static const double GROWN = 0.3 / 25.4 * DPI;

struct raster {
    int width, height;
    uint32_t *pixels;
};

static struct raster raster_new(double width_pt, double height_pt)
{
    struct raster r = {(int)(width_pt * DPI / 72), (int)(height_pt * DPI / 72), NULL};
    r.pixels = malloc((size_t)r.width * (size_t)r.height * sizeof *r.pixels);
    assert_non_null(r.pixels);
    return r;
}

static void draw(const struct mst_sheet *sheet, int page, unsigned layers, struct raster *r)
{
    struct mst_error err = {0};
    enum mst_status status = mst_sheet_draw(sheet, page, layers, MST_THEME_LIGHT, -1, -1, r->pixels,
                                            r->width, r->height, r->width * 4, &err);
    if (status != MST_OK)
        fail_msg("%s", err.message);
}

static int is_ink(uint32_t pixel)
{
    return (pixel & 0xFFFFFF) != 0xFFFFFF;
}

/* Half-widths of the disc, row by row. */
static int disc(double radius, int half[REACH_MAX])
{
    int reach = (int)radius;
    for (int dy = 0; dy <= reach; dy++) {
        half[dy] = 0;
        while ((double)((half[dy] + 1) * (half[dy] + 1) + dy * dy) <= radius * radius)
            half[dy]++;
    }
    return reach;
}

/* Mark pixels nearer to ink than radius. *marked: how many mark pixels there are. */
static long touching(const struct raster *ink, const struct raster *marks, double radius,
                     long *marked, int *at_x, int *at_y)
{
    int half[REACH_MAX], reach = disc(radius, half);
    long count = 0;
    *marked = 0;
    for (int y = 0; y < marks->height; y++) {
        const uint32_t *row = marks->pixels + (size_t)y * (size_t)marks->width;
        for (int x = 0; x < marks->width; x++) {
            if (!is_ink(row[x]))
                continue;
            ++*marked;
            int hit = 0;
            for (int dy = -reach; dy <= reach && !hit; dy++) {
                if (y + dy < 0 || y + dy >= ink->height)
                    continue;
                const uint32_t *other = ink->pixels + (size_t)(y + dy) * (size_t)ink->width;
                int h = half[abs(dy)];
                for (int k = x - h < 0 ? 0 : x - h; k <= x + h && k < ink->width && !hit; k++)
                    hit = is_ink(other[k]);
            }
            if (hit) {
                *at_x = x;
                *at_y = y;
                count++;
            }
        }
    }
    return count;
}

/* What the sheet says of its marks is what it draws: blank every box, and nothing is left. */
static void stay_in_their_boxes(const struct mst_mark_box *boxes, size_t count, int page,
                                struct raster *marks, const char *passage)
{
    for (size_t i = 0; i < count; i++) {
        const struct mst_mark_box *b = &boxes[i];
        if (b->page != page)
            continue;
        int x0 = (int)(b->x * DPI / 72) - 1, x1 = (int)((b->x + b->width) * DPI / 72) + 1;
        int y0 = (int)(b->y * DPI / 72) - 1, y1 = (int)((b->y + b->height) * DPI / 72) + 1;
        for (int y = y0; y <= y1; y++)
            for (int x = x0; x <= x1; x++)
                marks->pixels[(size_t)y * (size_t)marks->width + (size_t)x] = 0xFFFFFF;
    }
    for (int y = 0; y < marks->height; y++)
        for (int x = 0; x < marks->width; x++)
            if (is_ink(marks->pixels[(size_t)y * (size_t)marks->width + (size_t)x]))
                fail_msg("%s, page %d: a mark is drawn outside its box at %.1f, %.1f pt", passage,
                         page + 1, x * 72.0 / DPI, y * 72.0 / DPI);
}

/* Returns how many pages were looked at. */
static int prove(struct fixture *f, const char *passage, enum mst_sheet_font font)
{
    struct mst_sheet_options options = {.rules = all_rules(), .font = font};
    struct mst_sheet *sheet = lay_out(f, passage, MST_STOPS_VERSES, &options, NULL);
    struct mst_page_geometry page = mst_page_a4();
    struct raster ink = raster_new(page.width, page.height);
    struct raster marks = raster_new(page.width, page.height);
    size_t mark_count;
    const struct mst_mark_box *boxes = mst_sheet_marks(sheet, &mark_count);
    int pages = boxes[mark_count - 1].page + 1; /* the key's pages have no scripture */
    for (int i = 0; i < pages; i++) {
        long marked;
        int x = 0, y = 0;
        draw(sheet, i, MST_LAYER_SCRIPTURE | MST_LAYER_FURNITURE, &ink);
        draw(sheet, i, MST_LAYER_MARKS, &marks);
        long near = touching(&ink, &marks, GROWN, &marked, &x, &y);
        if (near > 0)
            fail_msg("%s, page %d: %ld of %ld mark pixels come nearer than 0.3 mm to ink, the last "
                     "at %.1f, %.1f pt",
                     passage, i + 1, near, marked, x * 72.0 / DPI, y * 72.0 / DPI);
        assert_true(marked > 1000);
        stay_in_their_boxes(boxes, mark_count, i, &marks, passage);
    }
    free(ink.pixels);
    free(marks.pixels);
    mst_arena_reset(f->arena);
    return pages;
}

static void juz_30_is_clear(void **state)
{
    print_message("juz 30: %d pages clear\n", prove(*state, "juz 30", MST_SHEET_AMIRI_QURAN));
}

static void dense_pages_are_clear(void **state)
{
    static const char *const passages[] = {
        "2:282",                            /* the longest verse */
        "2:1-7",                            /* an opening, the embracing pair */
        "4:11-12",  "5:1-3",    "11:40-44", /* imāla */
        "12:8-14",                          /* ishmām */
        "18:1-6",                           /* sakt */
        "19:1-7",                           /* the longest opening */
        "26:60-68", "33:35-37",
    };
    int pages = 0;
    for (size_t i = 0; i < sizeof passages / sizeof *passages; i++)
        pages += prove(*state, passages[i], MST_SHEET_AMIRI_QURAN);
    pages += prove(*state, "78", MST_SHEET_SCHEHERAZADE);
    print_message("elsewhere: %d pages clear\n", pages);
    assert_true(pages >= 10);
}

/* The proof can fail: marks grown by far more do meet ink. */
static void grown_enough_they_touch(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.rules = all_rules()};
    struct mst_sheet *sheet = lay_out(f, "67:1-5", MST_STOPS_VERSES, &options, NULL);
    struct mst_page_geometry page = mst_page_a4();
    struct raster ink = raster_new(page.width, page.height);
    struct raster marks = raster_new(page.width, page.height);
    long marked;
    int x, y;
    draw(sheet, 0, MST_LAYER_SCRIPTURE, &ink);
    draw(sheet, 0, MST_LAYER_MARKS, &marks);
    assert_true(touching(&ink, &marks, 3 * GROWN, &marked, &x, &y) > 0);
    free(ink.pixels);
    free(marks.pixels);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grown_enough_they_touch),
        cmocka_unit_test(dense_pages_are_clear),
        cmocka_unit_test(juz_30_is_clear),
    };
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
