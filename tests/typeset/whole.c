/* All 6236 verses, in both fonts: no glyph missing, nothing off the page, nothing over anything. */
#include "fixture.h"

#include <stdlib.h>

static int by_place(const void *a, const void *b)
{
    const struct mst_mark_box *m = a, *n = b;
    if (m->page != n->page)
        return m->page - n->page;
    return m->y < n->y ? -1 : m->y > n->y;
}

static void marks_do_not_overlap(const struct mst_mark_box *marks, size_t count)
{
    struct mst_mark_box *sorted = malloc(count * sizeof *sorted);
    assert_non_null(sorted);
    for (size_t i = 0; i < count; i++)
        sorted[i] = marks[i];
    qsort(sorted, count, sizeof *sorted, by_place);
    for (size_t i = 0; i < count; i++)
        for (size_t k = i + 1; k < count && sorted[k].page == sorted[i].page &&
                               sorted[k].y < sorted[i].y + sorted[i].height;
             k++)
            if (sorted[k].x < sorted[i].x + sorted[i].width &&
                sorted[i].x < sorted[k].x + sorted[k].width)
                fail_msg("page %d: marks of sites %d and %d overlap", sorted[i].page + 1,
                         (int)sorted[i].site, (int)sorted[k].site);
    free(sorted);
}

/* Words of a line follow one another from right to left; the space between two is never narrower
 * than a fifth of the type size nor, where no medallion stands in it, wider than two thirds. */
static void spaces_stay_within_limits(const struct mst_reading *r,
                                      const struct mst_letter_box *letters, double em)
{
    for (int32_t w = 1; w < r->word_count; w++) {
        const struct mst_word *a = &r->words[w - 1], *b = &r->words[w];
        double left = 1e9, right = -1e9;
        if (letters[a->first_letter].line != letters[b->first_letter].line)
            continue;
        for (int32_t l = a->first_letter; l < a->first_letter + a->letter_count; l++)
            left = letters[l].left < left ? letters[l].left : left;
        for (int32_t l = b->first_letter; l < b->first_letter + b->letter_count; l++)
            right = letters[l].right > right ? letters[l].right : right;
        double space = (left - right) / em, most = a->verse == b->verse ? 0.67 : 0.67 + 1.3;
        if (space < 0.2 || space > most)
            fail_msg("%d:%d:%d: a space of %.2f em before it", (int)b->sura, (int)b->verse,
                     (int)b->word, space);
    }
}

static void whole_text(struct fixture *f, enum mst_sheet_font font)
{
    struct mst_sheet_options options = {.font = font, .rules = all_rules()};
    struct mst_page_geometry page = mst_page_a4();
    const struct mst_reading *r;
    struct mst_sheet *sheet = lay_out(f, "all", MST_STOPS_VERSES, &options, &r);
    assert_int_equal(mst_sheet_missing_glyphs(sheet), 0);

    size_t count;
    const struct mst_letter_box *letters = mst_sheet_boxes(sheet, &count);
    assert_int_equal(count, r->letter_count);
    for (size_t i = 0; i < count; i++) {
        const struct mst_letter_box *b = &letters[i];
        char at[48];
        if (!(b->x >= 0 && b->x + b->width <= page.width && b->y >= 0 &&
              b->y + b->height <= page.height && b->width > 0 && b->height > 0))
            fail_msg("letter %s is not on its page: %g %g %g %g",
                     mst_addr_print(mst_letter_addr(r, (int32_t)i), at), b->x, b->y, b->width,
                     b->height);
        assert_true(b->page < mst_sheet_page_count(sheet));
        if (i > 0)
            assert_true(b->line >= letters[i - 1].line && b->page >= letters[i - 1].page);
        /* a word is never broken over two lines */
        if (i > 0 && r->letters[i].word_idx == r->letters[i - 1].word_idx)
            assert_int_equal(b->line, letters[i - 1].line);
    }
    spaces_stay_within_limits(r, letters, page.type_size);
    const struct mst_mark_box *marks = mst_sheet_marks(sheet, &count);
    size_t over_sites = 0;
    for (size_t i = 0; i < count; i++) {
        const struct mst_mark_box *m = &marks[i];
        if (!(m->x >= 0 && m->x + m->width <= page.width && m->y >= 0 &&
              m->y + m->height <= page.height))
            fail_msg("page %d: a mark is cut off at %g %g", m->page + 1, m->x, m->y);
        over_sites += m->site >= 0;
    }
    assert_true(over_sites >= (size_t)r->site_count / 2);
    marks_do_not_overlap(marks, count);
    print_message("%d pages, %d lines, %d letters, %zu marks\n", mst_sheet_page_count(sheet),
                  mst_sheet_line_count(sheet), (int)r->letter_count, count);
    mst_arena_reset(f->arena);
}

static void amiri_quran(void **state)
{
    whole_text(*state, MST_SHEET_AMIRI_QURAN);
}

static void scheherazade_new(void **state)
{
    whole_text(*state, MST_SHEET_SCHEHERAZADE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(amiri_quran),
        cmocka_unit_test(scheherazade_new),
    };
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
