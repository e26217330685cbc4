/*
 * Handouts and slides: what a teacher expects to find in them, counted on the
 * pages, and the PDF held against other programs in pages_pdf.sh. The order
 * (rule, examples, passage, space, key) is common practice, no source.
 */
#include "test.h"

#include <mistara/pages.h>
#include <string.h>

struct fixture {
    struct mst_text *text;
    struct mst_typeset *typeset;
    struct mst_arena *arena;
};

static int begin(void **state)
{
    static struct fixture f;
    struct mst_error err = {0};
    f.arena = mst_arena_new(0);
    if (mst_text_open(NULL, &f.text, &err) != MST_OK ||
        mst_typeset_open(NULL, &f.typeset, &err) != MST_OK)
        return -1;
    *state = &f;
    return 0;
}

static int end(void **state)
{
    struct fixture *f = *state;
    mst_typeset_close(f->typeset);
    mst_text_close(f->text);
    mst_arena_free(f->arena);
    return 0;
}

static struct mst_range range(struct fixture *f, const char *typed)
{
    struct mst_range r;
    struct mst_error err = {0};
    if (mst_range_parse(f->text, mst_span_of(typed), &r, &err) != MST_OK)
        fail_msg("%s: %s", typed, err.message);
    return r;
}

static struct mst_handout lesson(struct fixture *f, const char *rules, const char *in, size_t most)
{
    struct mst_handout h = {0};
    struct mst_error err = {0};
    struct mst_range *scope = mst_arena_alloc(f->arena, 1, sizeof *scope), *examples;
    size_t count;
    *scope = range(f, in);
    assert_int_equal(mst_rule_set_parse(mst_span_of(rules), &h.rules, &err), MST_OK);
    assert_int_equal(mst_handout_examples(f->text, &(struct mst_find_scope){scope, 1, NULL},
                                          h.rules, most, f->arena, &examples, &count, &err),
                     MST_OK);
    h.examples = examples;
    h.example_count = count;
    h.passage = range(f, "67:1-5");
    h.class_line = MST_SPAN("Weekly evening class, town library");
    return h;
}

static struct mst_sheet *paper(struct fixture *f, const struct mst_handout *h)
{
    struct mst_sheet *sheet;
    struct mst_error err = {0};
    if (mst_handout_new(f->typeset, f->text, h, f->arena, &sheet, &err) != MST_OK)
        fail_msg("%s", err.message);
    return sheet;
}

/* Every example has the rule, read as it will be read; none comes twice; the rules take turns. */
static void examples_show_the_rule(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_handout h = lesson(f, "ikhfa,qalqala", "78-80", 8);
    int with[2] = {0};
    assert_int_equal(h.example_count, 8);
    for (size_t i = 0; i < h.example_count; i++) {
        struct mst_reading *r;
        char a[96], b[96];
        assert_int_equal(mst_reading_new(f->text, h.examples[i],
                                         &(struct mst_reading_options){.stops = MST_STOPS_NONE},
                                         f->arena, &r, &err),
                         MST_OK);
        int hidden = 0, echoed = 0;
        for (int32_t s = 0; s < r->site_count; s++) {
            hidden |= r->sites[s].rule == MST_RULE_IKHFA;
            echoed |= r->sites[s].rule == MST_RULE_QALQALA;
        }
        assert_true(hidden || echoed);
        with[0] += hidden;
        with[1] += echoed;
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(mst_range_print(h.examples[i], a),
                                    mst_range_print(h.examples[k], b));
    }
    assert_true(with[0] >= 4 && with[1] >= 4);
}

/* The pages add up: passage and key are as many as the sheets they are. */
static void pages_add_up(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_handout h = lesson(f, "ikhfa", "78-80", 4);
    struct mst_reading *r;
    struct mst_sheet *faded, *marked;
    assert_int_equal(mst_reading_new(f->text, h.passage, NULL, f->arena, &r, &err), MST_OK);
    struct mst_sheet_options o = {.page = mst_page_a4(),
                                  .rules = h.rules,
                                  .fade_evenly = 1,
                                  .title = MST_SPAN("x"),
                                  .class_line = h.class_line,
                                  .key = MST_KEY_NONE};
    assert_int_equal(mst_sheet_new(f->typeset, r, &o, f->arena, &faded, &err), MST_OK);
    o.fade_evenly = 0;
    o.key = MST_KEY_PAGE;
    assert_int_equal(mst_sheet_new(f->typeset, r, &o, f->arena, &marked, &err), MST_OK);
    int passage = mst_sheet_page_count(faded) + mst_sheet_page_count(marked);
    assert_int_equal(mst_sheet_page_count(paper(f, &h)), 1 + 1 + passage + 1);
    h.example_count = 0;
    assert_int_equal(mst_sheet_page_count(paper(f, &h)), 1 + passage + 1);
}

/* How many pixels of a page are as this family's ink. */
static long inked(struct fixture *f, const struct mst_sheet *sheet, int page,
                  enum mst_family family)
{
    enum { W = 596, H = 842 };
    struct mst_error err = {0};
    uint32_t *pixels = mst_arena_alloc(f->arena, (size_t)W * H, sizeof *pixels);
    uint32_t ink = mst_ink_of_family(family, MST_THEME_LIGHT);
    long count = 0;
    assert_int_equal(mst_sheet_draw(sheet, page, MST_LAYER_MARKS, MST_THEME_LIGHT, -1, -1, pixels,
                                    W, H, W * 4, &err),
                     MST_OK);
    for (int i = 0; i < W * H; i++) {
        int far = 0;
        for (int c = 0; c < 24; c += 8) {
            int d = (int)(pixels[i] >> c & 255) - (int)(ink >> c & 255);
            far |= d > 60 || d < -60;
        }
        count += !far;
    }
    return count;
}

/* The passage loses its marks; the key has them all. */
static void passage_fades_and_key_does_not(void **state)
{
    struct fixture *f = *state;
    struct mst_handout h = lesson(f, "ikhfa", "78-80", 2), full;
    full = h;
    full.full_marks = 1;
    struct mst_sheet *faded = paper(f, &h), *marked = paper(f, &full);
    /* rule, examples, passage, space, key, signs */
    assert_int_equal(mst_sheet_page_count(faded), 6);
    long taught = inked(f, faded, 2, MST_FAMILY_HIDE), key = inked(f, faded, 4, MST_FAMILY_HIDE);
    assert_true(taught > 0 && taught < key);
    assert_true(inked(f, marked, 2, MST_FAMILY_HIDE) > taught);
    assert_int_equal(inked(f, faded, 3, MST_FAMILY_HIDE), 0);
}

static void one_language_alone(void **state)
{
    struct fixture *f = *state;
    struct mst_handout h = lesson(f, "qalqala", "112", 2);
    struct mst_error err = {0};
    for (int labels = 0; labels < 3; labels++) {
        struct mst_string pdf = {0};
        h.labels = (enum mst_sheet_labels)labels;
        assert_int_equal(mst_sheet_pdf(paper(f, &h), &pdf, &err), MST_OK);
        assert_memory_equal(pdf.ptr, "%PDF-", 5);
        mst_string_free(&pdf);
    }
}

static void slides_are_wide(void **state)
{
    struct fixture *f = *state;
    struct mst_handout h = lesson(f, "ikhfa", "78-80", 3);
    struct mst_sheet *sheet;
    struct mst_error err = {0};
    struct mst_string svg = {0};
    assert_int_equal(mst_slides_new(f->typeset, f->text, &h, f->arena, &sheet, &err), MST_OK);
    assert_true(mst_sheet_page_count(sheet) >= 3 + 3 + 3);
    for (int page = 0; page < mst_sheet_page_count(sheet); page++) {
        assert_int_equal(mst_sheet_svg(sheet, page, MST_THEME_DARK, &svg, &err), MST_OK);
        assert_non_null(strstr(svg.ptr, "viewBox=\"0 0 960 540\""));
        mst_string_free(&svg);
        svg = (struct mst_string){0};
    }
}

static void without_a_rule(void **state)
{
    struct fixture *f = *state;
    struct mst_handout h = {.passage = range(f, "112")};
    struct mst_sheet *sheet;
    struct mst_error err = {0};
    assert_int_equal(mst_handout_new(f->typeset, f->text, &h, f->arena, &sheet, &err), MST_USAGE);
    assert_null(sheet);
}

/* Out of memory at any block: an error, never a half page. */
static void memory_runs_out(void **state)
{
    struct fixture *f = *state;
    struct mst_handout h = lesson(f, "qalqala", "112", 2);
    struct mst_error err = {0};
    h.passage = range(f, "112");
    enum mst_status status = MST_NO_MEMORY;
    long blocks = 0;
    for (; status != MST_OK && blocks < 4000; blocks += blocks < 40 ? 1 : 17) {
        struct mst_arena *arena = mst_arena_new(2048);
        struct mst_sheet *sheet;
        mst_arena_fail_after(arena, blocks);
        status = mst_handout_new(f->typeset, f->text, &h, arena, &sheet, &err);
        assert_true(status == MST_OK || status == MST_NO_MEMORY);
        assert_true((status == MST_OK) == (sheet != NULL));
        mst_arena_free(arena);
    }
    assert_int_equal(status, MST_OK);
    assert_true(blocks > 20);
}

/* The same for questions and their key, and for asking itself: an error or the whole. */
static void memory_runs_out_asking(void **state)
{
    struct fixture *f = *state;
    struct mst_range scope = range(f, "112");
    struct mst_reading_options plain = {0};
    struct mst_ask_query query = {
        .scope = {&scope, 1, &plain}, .rules = {UINT64_C(1) << MST_RULE_QALQALA}, .count = 3};
    struct mst_error err = {0};
    enum mst_status status = MST_NO_MEMORY;
    for (long blocks = 0; status != MST_OK; blocks += 1 + blocks / 4) {
        struct mst_arena *arena = mst_arena_new(2048);
        struct mst_question *list;
        struct mst_question_pages pages = {.version = 'A', .reading = plain};
        struct mst_sheet *sheet = NULL;
        mst_arena_fail_after(arena, blocks);
        status = mst_ask(f->text, &query, arena, &list, &pages.count, &err);
        pages.questions = list;
        for (int key = 0; status == MST_OK && key < 2; key++)
            status = mst_questions_new(f->typeset, f->text, &pages, key, arena, &sheet, &err);
        assert_true(status == MST_OK || status == MST_NO_MEMORY);
        if (status == MST_OK)
            assert_true(blocks > 3 && mst_sheet_page_count(sheet) >= 1);
        mst_arena_free(arena);
        assert_true(blocks < 100000);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_show_the_rule),
        cmocka_unit_test(pages_add_up),
        cmocka_unit_test(passage_fades_and_key_does_not),
        cmocka_unit_test(one_language_alone),
        cmocka_unit_test(slides_are_wide),
        cmocka_unit_test(without_a_rule),
        cmocka_unit_test(memory_runs_out),
        cmocka_unit_test(memory_runs_out_asking),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
