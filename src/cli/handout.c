/* handout.c – `mistara handout`: what the class takes home, and the slides of the lesson. */
#include "cli.h"

#include <mistara/pages.h>
#include <string.h>

struct request {
    const char *file, *range, *passage, *title, *title_ar, *class_line, *paper, *font, *lang;
    int slides, examples, full_marks, dpi, dark;
};
#define TARGET(field) offsetof(struct request, field)
enum { DPI = 144 };

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE",
     "the file to write: .pdf, or .png and .svg, whose pages are numbered", TARGET(file)},
    {"passage", 0, OPTION_PASSAGE, "PASSAGE", "what the class reads, such as 67:1-11",
     TARGET(passage)},
    {"range", 0, OPTION_PASSAGE, "SURAS",
     "where examples are looked for, such as 78-80 or juz 30 (default juz 30)", TARGET(range)},
    {"examples", 0, OPTION_NUMBER, "N", "how many examples at most (default 6)", TARGET(examples)},
    {"slides", 0, OPTION_FLAG, NULL, "slides (16:9) rather than paper", TARGET(slides)},
    {"full-marks", 0, OPTION_FLAG, NULL, "every line with its marks: they do not fade",
     TARGET(full_marks)},
    {"title", 0, OPTION_WORDS, "WORDS", "the title (default: the rule)", TARGET(title)},
    {"title-ar", 0, OPTION_WORDS, "WORDS", "the title in Arabic", TARGET(title_ar)},
    {"class", 0, OPTION_WORDS, "WORDS", "a line under it: the class, the evening",
     TARGET(class_line)},
    {"paper", 0, OPTION_TEXT, "NAME", "a4 (default) or letter", TARGET(paper)},
    {"font", 0, OPTION_TEXT, "NAME", "amiri (default) or scheherazade", TARGET(font)},
    {"lang", 0, OPTION_TEXT, "both|en|ar", "language of the words (default both)", TARGET(lang)},
    {"dark", 0, OPTION_FLAG, NULL, "light on dark, for .svg and .png", TARGET(dark)},
    {"dpi", 0, OPTION_COUNT, "N", "fineness of a .png (default 144)", TARGET(dpi)},
};
static const struct option_group group = {"The handout:", rows, sizeof rows / sizeof rows[0]};

static enum mst_status handout_options(const struct request *r, struct mst_handout *h,
                                       struct mst_error *err)
{
    static const char *const langs[] = {"both", "en", "ar", NULL};
    static const char *const fonts[] = {"amiri", "scheherazade", NULL};
    int labels = MST_LABELS_BOTH, font = MST_SHEET_AMIRI_QURAN;
    enum mst_status status = choice_read("lang", r->lang, langs, &labels, err);
    if (status == MST_OK)
        status = choice_read("font", r->font, fonts, &font, err);
    if (status == MST_OK && r->paper)
        status = mst_page_parse(mst_span_of(r->paper), &h->page, err);
    if (status == MST_OK && (r->examples < 0 || r->examples > 60))
        status = mst_fail(err, MST_USAGE, "--examples takes 0 to 60; “%d” given", r->examples);
    h->labels = (enum mst_sheet_labels)labels;
    h->font = (enum mst_sheet_font)font;
    h->full_marks = r->full_marks;
    h->title_en = mst_span_of(r->title ? r->title : "");
    h->title_ar = mst_span_of(r->title_ar ? r->title_ar : "");
    h->class_line = mst_span_of(r->class_line ? r->class_line : "");
    return status;
}

/* The rules, the examples of them, the passage: what the text is asked for. */
static enum mst_status contents(const struct request *r, const struct mst_text *text,
                                struct mst_span rules, struct mst_arena *arena,
                                struct mst_handout *h, struct mst_error *err)
{
    struct mst_range *ranges, *examples;
    struct mst_find_scope scope = {0};
    size_t count = 0;
    enum mst_status status = mst_rule_set_parse(rules, &h->rules, err);
    if (status == MST_OK)
        status = mst_range_parse(text, mst_span_of(r->passage), &h->passage, err);
    if (status == MST_OK)
        status = mst_ranges_parse(text, mst_span_of(r->range ? r->range : "juz 30"), arena, &ranges,
                                  &scope.range_count, err);
    if (status != MST_OK)
        return status;
    scope.ranges = ranges;
    status = mst_handout_examples(text, &scope, h->rules, (size_t)r->examples, arena, &examples,
                                  &count, err);
    h->examples = examples;
    h->example_count = count;
    return status;
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {.examples = 6};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_typeset *typeset = NULL;
    struct mst_handout handout = {0};
    struct mst_sheet *sheet = NULL;
    struct mst_span rules;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &rules, err);
    if (status == MST_OK && (!request.file || !request.passage))
        status = mst_fail(err, MST_USAGE,
                          "say what the class reads and which file to write, for example: "
                          "mistara handout ikhfa --passage 67:1-11 -o handout.pdf");
    if (status == MST_OK)
        status = picture_options(request.file, request.dark, request.dpi, err);
    if (status == MST_OK)
        status = handout_options(&request, &handout, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_options(&how, text, arena, &handout.reading, err);
    if (status == MST_OK)
        status = contents(&request, text, rules, arena, &handout, err);
    if (status == MST_OK)
        status = mst_typeset_open(NULL, &typeset, err);
    if (status == MST_OK)
        status = request.slides ? mst_slides_new(typeset, text, &handout, arena, &sheet, err)
                                : mst_handout_new(typeset, text, &handout, arena, &sheet, err);
    if (status == MST_OK)
        status = mst_sheet_write(sheet, request.file, request.dpi ? request.dpi : DPI,
                                 request.dark ? MST_THEME_DARK : MST_THEME_LIGHT, err);
    if (status == MST_OK)
        mst_string_addf(&out->text, "%s: %d pages\n", request.file, mst_sheet_page_count(sheet));
    mst_typeset_close(typeset);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_handout = {
    .name = "handout",
    .arguments = "RULE,… --passage PASSAGE -o FILE",
    .asks = "a rule, for example: mistara handout ikhfa --passage 67:1-11 -o handout.pdf",
    .summary = "the lesson on paper or as slides",
    .about = "Sets a lesson on paper: the rule in plain words with a picture of the mouth, marked\n"
             "examples, the passage with marks that fade from line to line, space to write, and\n"
             "the key on pages of its own. With --slides the same for the wall.",
    .examples =
        "  mistara handout ikhfa --range 78-80 --passage 67:1-11 -o handout.pdf\n"
        "  mistara handout ikhfa,qalqala --passage 78:1-16 --class \"Town library\" -o h.pdf\n"
        "  mistara handout qalqala --passage 112 --slides -o slides.pdf\n",
    .groups = {&group, &reading_group},
    .run = run,
};
