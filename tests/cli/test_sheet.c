/* `mistara sheet`: the files it writes are what they say; a failure leaves nothing behind. */
#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void pdf(void **state)
{
    (void)state;
    struct run r = run_well("mistara sheet 67:1-5 -o one.pdf --title 'The hidden nūn' "
                            "--class 'Tuesday evening'");
    assert_int_equal(strncmp(r.out, "one.pdf: ", 9), 0);
    run_free(&r);
    /* qpdf (Apache 2.0) reads the whole structure of the file. */
    r = run_well("qpdf --check one.pdf >/dev/null && qpdf --show-npages one.pdf");
    assert_true(strtol(r.out, NULL, 10) >= 1);
    run_free(&r);
    /* A4 within half a point (ISO 216: 210 × 297 mm); pdfinfo is poppler's. */
    r = run_well("pdfinfo one.pdf");
    double width = 0, height = 0;
    const char *size = strstr(r.out, "Page size:");
    assert_non_null(size);
    assert_int_equal(sscanf(size, "Page size: %lf x %lf", &width, &height), 2);
    assert_true(width > 594.7 && width < 595.8 && height > 841.3 && height < 842.4);
    run_free(&r);
    r = run_well("mistara sheet 67:1-5 -o letter.pdf --paper letter && pdfinfo letter.pdf");
    assert_non_null(strstr(r.out, "612 x 792"));
    run_free(&r);
}

static void pictures(void **state)
{
    (void)state;
    struct run r = run_well("mistara sheet 112 -o one.png --dpi 96 --key none\n"
                            "mistara sheet 112 -o one.svg --key none");
    run_free(&r);
    size_t len;
    char *png = file_read("one.png", &len);
    assert_true(len > 1000);
    assert_memory_equal(png, "\x89PNG\r\n\x1a\n", 8);
    free(png);
    char *svg = file_read("one.svg", &len);
    assert_non_null(strstr(svg, "<svg"));
    assert_non_null(strstr(svg, "</svg>"));
    assert_non_null(strstr(svg, "data-at=\"112:1:1"));
    free(svg);

    /* Several pages are numbered; their count is the one that is printed. */
    r = run_well("mistara sheet 78 -o many.svg");
    int pages = 0;
    assert_int_equal(sscanf(r.out, "many-1.svg to many-%*d.svg: %d pages", &pages), 1);
    assert_true(pages >= 2);
    run_free(&r);
    char name[40];
    for (int n = 1; n <= pages + 1; n++) {
        snprintf(name, sizeof name, "many-%d.svg", n);
        assert_int_equal(file_exists(name), n <= pages);
    }
}

static void words(void **state)
{
    (void)state;
    struct run r = run_well("mistara sheet 67:3 --rule ikhfa -o one.txt");
    run_free(&r);
    char *all = file_read("one.txt", NULL);
    assert_non_null(strstr(all, "فُطُورٖ"));
    assert_non_null(strstr(all, "fāʾ"));
    assert_null(strstr(all, "rāʾ")); /* only the rule asked for */
    free(all);
    /* two of a thing have a word of their own in Arabic */
    r = run_well("mistara sheet 67:1-3 --stage 3 --lang ar -o two.txt");
    run_free(&r);
    all = file_read("two.txt", NULL);
    assert_non_null(strstr(all, "• موضعان\n"));
    assert_non_null(strstr(all, "• 4 مواضع\n"));
    free(all);
}

/* The same places in the stages that show them where they are, none in those that do not. */
static void stages(void **state)
{
    (void)state;
    long places[5];
    for (int stage = 0; stage < 5; stage++) {
        struct run r = run_well("mistara sheet 67:1-3 --key none --no-stops --stage %d -o s.json\n"
                                "grep -o '\"site\":[0-9]*' s.json | sort -u | wc -l",
                                stage);
        const char *count = strchr(r.out, '\n');
        assert_non_null(count);
        places[stage] = strtol(count, NULL, 10);
        run_free(&r);
    }
    assert_true(places[0] > 5);
    assert_int_equal(places[0], places[1]);
    assert_int_equal(places[0], places[2]);
    assert_int_equal(places[3], 0);
    assert_int_equal(places[4], 0);
}

static void failures(void **state)
{
    (void)state;
    run_fails(2, ".docx", "mistara sheet 112 -o one.docx");
    run_fails(5, "nowhere", "mistara sheet 112 -o nowhere/one.pdf");
    run_fails(2, "xx", "mistara sheet 112 -o bad.pdf --gloss xx");
    run_fails(2, "a4", "mistara sheet 112 -o bad.pdf --paper a3");
    run_fails(2, "type", "mistara sheet 112 -o bad.pdf --size 900");
    assert_false(file_exists("bad.pdf"));
    /* A damaged text is refused before anything is written. */
    run_fails(4, "",
              "head -c 1000 \"$MISTARA_TEXT\" >half.text\n"
              "MISTARA_TEXT=half.text mistara sheet 112 -o bad.pdf");
    run_fails(3, "MISTARA_TEXT", "MISTARA_TEXT=no.text mistara sites 112");
    assert_false(file_exists("bad.pdf"));
    /* What stood there before stays when the new one cannot be written. */
    struct run r = run_well("echo old >kept.pdf; mkdir locked; echo old >locked/kept.pdf");
    run_free(&r);
    run_fails(2, "type", "mistara sheet 112 -o kept.pdf --size 900");
    char *kept = file_read("kept.pdf", NULL);
    assert_string_equal(kept, "old\n");
    free(kept);
}

/* A card and a handout are looked at; there is no text of them and no boxes. */
static void pictures_alone(void **state)
{
    (void)state;
    run_fails(2, "end the name in .pdf, .svg or .png", "mistara card ض -o card.txt");
    run_fails(2, "end the name in .pdf, .svg or .png", "mistara card ض -o card.json");
    run_fails(2, "end the name in .pdf, .svg or .png", "mistara card ض -o card.doc");
    run_fails(2, "end the name in .pdf, .svg or .png",
              "mistara handout ikhfa --passage 112 -o handout.txt");
    run_fails(2, "end the name in .pdf, .svg, .png, .txt or .json",
              "mistara sheet 112 -o sheet.doc");
    assert_false(file_exists("card.txt"));
    assert_false(file_exists("card.json"));
    assert_false(file_exists("handout.txt"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pdf),    cmocka_unit_test(pictures), cmocka_unit_test(words),
        cmocka_unit_test(stages), cmocka_unit_test(failures), cmocka_unit_test(pictures_alone),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
