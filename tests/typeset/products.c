/* What the sheet is written to: PDF, SVG, JSON, plain text, pictures. */
#include "fixture.h"

#include <jansson.h>
#include <mistara/leaves.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const passage = "67:1-5";

static struct mst_sheet *lesson(struct fixture *f, const struct mst_reading **r)
{
    struct mst_sheet_options options = {.rules = all_rules(),
                                        .title = MST_SPAN("Echo & ikhfāʾ <الملك>"),
                                        .class_line = MST_SPAN("Wednesday evening")};
    return lay_out(f, passage, MST_STOPS_VERSES, &options, r);
}

/* Run a command on a temporary file with these bytes; returns what it printed. */
static char *run_on(const struct mst_string *bytes, const char *command, int *code)
{
    char path[] = P_tmpdir "/mistara-sheet-XXXXXX", line[256];
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, bytes->ptr, bytes->len), (ssize_t)bytes->len);
    close(fd);
    snprintf(line, sizeof line, "%s %s 2>&1", command, path);
    FILE *pipe = popen(line, "r");
    assert_non_null(pipe);
    static char out[8192];
    size_t n = fread(out, 1, sizeof out - 1, pipe);
    out[n] = '\0';
    *code = pclose(pipe);
    unlink(path);
    return out;
}

/* qpdf and poppler's tools, two readers of PDF that are not Cairo. */
static void pdf_is_sound(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string pdf = {0};
    int code;
    assert_int_equal(mst_sheet_pdf(lesson(f, NULL), &pdf, &err), MST_OK);
    char *out = run_on(&pdf, "qpdf --check", &code);
    if (code != 0 || strstr(out, "WARNING"))
        fail_msg("qpdf: %s", out);
    out = run_on(&pdf, "pdffonts", &code);
    assert_int_equal(code, 0);
    assert_non_null(strstr(out, "AmiriQuran"));
    /* name, type, encoding, then: embedded, subset */
    int fonts = 0;
    char *save = NULL;
    for (char *line = strtok_r(out, "\n", &save); line; line = strtok_r(NULL, "\n", &save), fonts++)
        if (fonts >= 2 && !strstr(line, " yes yes "))
            fail_msg("a font is not embedded: %s", line);
    assert_true(fonts > 3);
    out = run_on(&pdf, "pdfinfo", &code);
    assert_int_equal(code, 0);
    assert_non_null(strstr(out, "Echo & ikhfāʾ <الملك>"));
    assert_non_null(strstr(out, "A4"));
    out = run_on(&pdf, "grep -a -c '/Lang (ar)'", &code);
    assert_int_equal(atoi(out), 1);
    mst_string_free(&pdf);
    mst_arena_reset(f->arena);
}

/* A code of letters that like to join is typed letter by letter: no ligature stands for two. */
static void a_code_is_set_apart(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string pdf = {0};
    struct mst_leaves *leaves;
    struct mst_sheet *sheet;
    int exit_code;
    assert_int_equal(mst_leaves_new(f->typeset, mst_page_a4(), MST_SPAN("codes"), MST_LABELS_BOTH,
                                    f->arena, &leaves, &err),
                     MST_OK);
    mst_leaves_turn(leaves);
    struct mst_words words = {.text = MST_SPAN("1fff-ttff-ffth-tfft"),
                              .style = MST_WORDS_CODE,
                              .size = 15,
                              .x = 50,
                              .y = 50,
                              .width = 400};
    mst_leaf_words(leaves, &words);
    assert_int_equal(mst_leaves_close(leaves, &sheet, &err), MST_OK);
    assert_int_equal(mst_sheet_pdf(sheet, &pdf, &err), MST_OK);
    assert_non_null(
        strstr(run_on(&pdf, "sh -c 'pdftotext \"$0\" -'", &exit_code), "1fff-ttff-ffth-tfft"));
    mst_string_free(&pdf);
    mst_arena_reset(f->arena);
}

static void same_input_same_bytes(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string products[2][3] = {0};
    for (int run = 0; run < 2; run++) {
        struct mst_sheet *sheet = lesson(f, NULL);
        assert_int_equal(mst_sheet_pdf(sheet, &products[run][0], &err), MST_OK);
        assert_int_equal(mst_sheet_svg(sheet, 0, MST_THEME_DARK, &products[run][1], &err), MST_OK);
        assert_int_equal(mst_sheet_png(sheet, 0, 50, MST_THEME_LIGHT, &products[run][2], &err),
                         MST_OK);
        if (run == 0)
            sleep(1); /* a time stamp would show */
    }
    for (int i = 0; i < 3; i++) {
        assert_int_equal(products[0][i].len, products[1][i].len);
        assert_memory_equal(products[0][i].ptr, products[1][i].ptr, products[0][i].len);
        mst_string_free(&products[0][i]);
        mst_string_free(&products[1][i]);
    }
    mst_arena_reset(f->arena);
}

/* xmllint-free: every element closed, by counting; every mark named. */
static void svg_names_every_mark(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string svg = {0};
    const struct mst_reading *r;
    struct mst_sheet *sheet = lesson(f, &r);
    size_t count, found = 0;
    const struct mst_mark_box *marks = mst_sheet_marks(sheet, &count);
    assert_int_equal(mst_sheet_svg(sheet, 0, MST_THEME_LIGHT, &svg, &err), MST_OK);
    for (size_t i = 0; i < count; i++) {
        if (marks[i].site < 0 || marks[i].page != 0)
            continue;
        struct mst_string label = {0}, needle = {0};
        mst_site_label(r, &r->sites[marks[i].site], MST_LANG_EN, &label);
        mst_string_addf(&needle, "data-site=\"%d\"", (int)marks[i].site);
        const char *at = strstr(svg.ptr, needle.ptr);
        if (!at)
            fail_msg("site %d is not in the SVG", (int)marks[i].site);
        const char *title = strstr(at, "<title>");
        assert_non_null(title);
        assert_int_equal(strncmp(title + 7, label.ptr, label.len), 0);
        mst_string_free(&label);
        mst_string_free(&needle);
        found++;
    }
    assert_true(found > 30);
    assert_non_null(strstr(svg.ptr, "Echo &amp; ikhfāʾ &lt;الملك&gt;"));
    mst_string_free(&svg);
    mst_arena_reset(f->arena);
}

static void boxes_lead_to_letters_and_sites(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string text = {0};
    const struct mst_reading *r;
    struct mst_sheet *sheet = lesson(f, &r);
    size_t sites = 0, total = 0;
    for (int page = 0; page < mst_sheet_page_count(sheet); page++) {
        json_error_t bad;
        text.len = 0;
        assert_int_equal(mst_sheet_boxes_json(sheet, page, &text, &err), MST_OK);
        json_t *root = json_loadb(text.ptr, text.len, 0, &bad);
        if (!root)
            fail_msg("page %d: %s", page + 1, bad.text);
        json_t *letter;
        size_t i;
        json_array_foreach(json_object_get(root, "letters"), i, letter)
        {
            char at[48];
            assert_string_equal(json_string_value(json_object_get(letter, "at")),
                                mst_addr_print(mst_letter_addr(r, (int32_t)total), at));
            assert_true(json_number_value(json_object_get(letter, "w")) > 0);
            json_t *site;
            size_t k;
            json_array_foreach(json_object_get(letter, "sites"), k, site)
            {
                assert_int_equal(r->sites[json_integer_value(site)].trigger, total);
                sites++;
            }
            total++;
        }
        json_decref(root);
    }
    assert_int_equal(total, r->letter_count);
    assert_true(sites > 50);
    mst_string_free(&text);
    mst_arena_reset(f->arena);
}

static void text_keeps_the_printed_bytes(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_string text = {0};
    struct mst_sheet *sheet = lesson(f, NULL);
    assert_int_equal(mst_sheet_text(sheet, MST_LANG_EN, &text, &err), MST_OK);
    for (int verse = 1; verse <= 5; verse++)
        for (int word = 1; word <= mst_text_word_count(f->text, 67, verse); word++) {
            struct mst_span w = mst_text_word(f->text, 67, verse, word);
            assert_non_null(memmem(text.ptr, text.len, w.ptr, w.len));
        }
    struct mst_span credits = mst_text_credits(f->text);
    assert_non_null(memmem(text.ptr, text.len, credits.ptr, credits.len));
    assert_non_null(strstr(text.ptr, "qualified teacher"));
    mst_string_free(&text);
    mst_arena_reset(f->arena);
}

static void refusals_say_what_to_do(void **state)
{
    struct fixture *f = *state;
    const struct mst_reading *r = read_passage(f, passage, MST_STOPS_VERSES);
    struct mst_sheet *sheet;
    struct mst_error err = {0};
    struct mst_sheet_options big = {.type_size = 300}, odd = {.gloss = MST_SPAN("xx")};
    struct mst_sheet_options large = {.type_size = 85};
    struct mst_page_geometry page;
    assert_int_equal(mst_sheet_new(f->typeset, r, &big, f->arena, &sheet, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "smaller type"));
    assert_int_equal(mst_sheet_new(f->typeset, r, &large, f->arena, &sheet, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "smaller type"));
    assert_int_equal(mst_sheet_new(f->typeset, r, &odd, f->arena, &sheet, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "xx"));
    assert_int_equal(mst_page_parse(MST_SPAN("a5"), &page, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "a5"));
    sheet = lesson(f, NULL);
    struct mst_string out = {0};
    assert_int_equal(mst_sheet_svg(sheet, 99, MST_THEME_LIGHT, &out, &err), MST_NOT_FOUND);
    assert_int_equal(mst_sheet_png(sheet, 0, -3, MST_THEME_LIGHT, &out, &err), MST_USAGE);
    assert_int_equal(mst_sheet_write(sheet, "sheet.doc", 72, MST_THEME_LIGHT, &err), MST_USAGE);
    assert_non_null(strstr(err.message, ".pdf"));
    struct mst_typeset *none;
    assert_int_equal(mst_typeset_open("/nowhere", &none, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "MISTARA_FONTS"));
    mst_arena_reset(f->arena);
}

/* Titles in either direction, every paper, the gloss, the seeking of refuge: all lay out. */
static void every_choice_lays_out(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    for (int choice = 0; choice < 36; choice++) {
        struct mst_sheet_options options = {
            .labels = (enum mst_sheet_labels)(choice % 3),
            .font = (enum mst_sheet_font)(choice / 3 % 2),
            .title = choice & 1 ? MST_SPAN("درس القلقلة (١)") : MST_SPAN("Echo letters (1)"),
            .gloss = choice / 6 % 2 ? MST_SPAN("translit") : (struct mst_span){0},
            .page = choice / 12 == 0   ? mst_page_a4()
                    : choice / 12 == 1 ? mst_page_letter()
                                       : mst_page_slide(),
        };
        struct mst_range range;
        struct mst_reading_options how = {.istiadha = 1};
        struct mst_reading *r;
        struct mst_sheet *sheet;
        struct mst_string pdf = {0};
        assert_int_equal(mst_range_parse(f->text, MST_SPAN("113-114"), &range, &err), MST_OK);
        assert_int_equal(mst_reading_new(f->text, range, &how, f->arena, &r, &err), MST_OK);
        if (mst_sheet_new(f->typeset, r, &options, f->arena, &sheet, &err) != MST_OK)
            fail_msg("choice %d: %s", choice, err.message);
        assert_int_equal(mst_sheet_missing_glyphs(sheet), 0);
        assert_int_equal(mst_sheet_pdf(sheet, &pdf, &err), MST_OK);
        mst_string_free(&pdf);
        mst_arena_reset(f->arena);
    }
}

/* Film frames: letters lit up behind the ink, nothing else changed. */
static void letters_light_up(void **state)
{
    enum { WIDTH = 600, HEIGHT = 848 };
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_sheet *sheet = lesson(f, NULL);
    uint32_t *dark = calloc((size_t)WIDTH * HEIGHT, 4), *lit = calloc((size_t)WIDTH * HEIGHT, 4);
    size_t count;
    const struct mst_letter_box *b = mst_sheet_boxes(sheet, &count);
    const struct mst_letter_box *first = &b[40], *last = &b[44];
    assert_non_null(dark);
    assert_non_null(lit);
    assert_int_equal(mst_sheet_draw(sheet, 0, MST_LAYER_ALL, MST_THEME_LIGHT, -1, -1, dark, WIDTH,
                                    HEIGHT, WIDTH * 4, &err),
                     MST_OK);
    assert_int_equal(mst_sheet_draw(sheet, 0, MST_LAYER_ALL, MST_THEME_LIGHT, 40, 44, lit, WIDTH,
                                    HEIGHT, WIDTH * 4, &err),
                     MST_OK);
    double scale = WIDTH / mst_page_a4().width;
    long changed = 0;
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            uint32_t a = dark[y * WIDTH + x] & 0xFFFFFF, c = lit[y * WIDTH + x] & 0xFFFFFF;
            if (a == c)
                continue;
            changed++;
            double py = y / scale;
            assert_true(py > first->baseline - 30 && py < last->baseline + 15);
            assert_int_not_equal(a, 0); /* full ink stays */
        }
    assert_true(changed > 200);
    free(dark);
    free(lit);
    mst_arena_reset(f->arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pdf_is_sound),
        cmocka_unit_test(a_code_is_set_apart),
        cmocka_unit_test(same_input_same_bytes),
        cmocka_unit_test(svg_names_every_mark),
        cmocka_unit_test(boxes_lead_to_letters_and_sites),
        cmocka_unit_test(text_keeps_the_printed_bytes),
        cmocka_unit_test(refusals_say_what_to_do),
        cmocka_unit_test(every_choice_lays_out),
        cmocka_unit_test(letters_light_up),
    };
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
