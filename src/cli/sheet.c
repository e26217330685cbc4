/* sheet.c – `mistara sheet`: the marked page, for paper, screen or a plain reader. */
#include "cli.h"

#include <limits.h>
#include <mistara/typeset.h>
#include <string.h>
#include <strings.h>

struct request {
    const char *file, *rules, *title, *class_line, *fade_list, *paper, *font, *gloss, *lang, *key;
    int stage, fade, size, dpi, translit, no_stops, dark;
};
#define TARGET(field) offsetof(struct request, field)
enum { DPI = 200, NO_STAGE = INT_MIN };

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE",
     "the file to write; its ending says what: .pdf, .svg, .png, .txt, or .json for "
     "the boxes of letters and marks; several pages of .svg and .png are numbered",
     TARGET(file)},
    {"rule", 0, OPTION_TEXT, "ID,…",
     "mark only these rules or families, such as ikhfa,qalqala; all marks everything; "
     "by default what is not plain from the letters",
     TARGET(rules)},
    {"title", 0, OPTION_WORDS, "WORDS", "a title over the page", TARGET(title)},
    {"class", 0, OPTION_WORDS, "WORDS", "a line under it: the class, the evening",
     TARGET(class_line)},
    {"stage", 0, OPTION_NUMBER, "0-4",
     "how much the marks tell: 0 marks and rule names, 1 marks, 2 only where, "
     "3 only how many in the line, 4 nothing",
     TARGET(stage)},
    {"fade", 0, OPTION_FLAG, NULL, "fade evenly from stage 0 in the first line to 4 in the last",
     TARGET(fade)},
    {"stages", 0, OPTION_TEXT, "N,…",
     "a stage for each line, such as 0,0,1,2; the last one goes on", TARGET(fade_list)},
    {"paper", 0, OPTION_TEXT, "NAME", "a4 (default), letter or slide (16:9)", TARGET(paper)},
    {"size", 0, OPTION_COUNT, "POINTS", "size of the type (default: the paper's own)",
     TARGET(size)},
    {"font", 0, OPTION_TEXT, "NAME", "amiri (default) or scheherazade, plainer, for beginners",
     TARGET(font)},
    {"translit", 0, OPTION_FLAG, NULL, "the transliteration under each verse", TARGET(translit)},
    {"gloss", 0, OPTION_TEXT, "CODE", "a translation under each verse, such as en", TARGET(gloss)},
    {"lang", 0, OPTION_TEXT, "both|en|ar", "language of rule names and key (default both)",
     TARGET(lang)},
    {"key", 0, OPTION_TEXT, "WHERE",
     "the key to the marks: auto (default), foot, page (of its own) or none", TARGET(key)},
    {"no-stops", 0, OPTION_FLAG, NULL, "leave out the signs for pausing and stopping",
     TARGET(no_stops)},
    {"dark", 0, OPTION_FLAG, NULL, "light on dark, for .svg and .png", TARGET(dark)},
    {"dpi", 0, OPTION_COUNT, "N", "fineness of a .png (default 200)", TARGET(dpi)},
};
static const struct option_group group = {"The sheet:", rows, sizeof rows / sizeof rows[0]};

static enum mst_status line_stages(const char *typed, struct mst_arena *arena,
                                   struct mst_sheet_options *sheet, struct mst_error *err)
{
    if (!typed)
        return MST_OK;
    size_t count = 0;
    uint8_t *stages = mst_arena_alloc(arena, strlen(typed) + 1, 1);
    if (!stages)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    for (const char *at = typed;; at += 2) {
        if (*at < '0' || *at >= '0' + MST_FADE_STAGES || (at[1] != ',' && at[1] != '\0'))
            return mst_fail(err, MST_USAGE,
                            "--stages takes stages 0 to 4 with commas between them, such as "
                            "0,0,1,2; “%.60s” given",
                            typed);
        stages[count++] = (uint8_t)(*at - '0');
        if (at[1] == '\0')
            break;
    }
    sheet->line_stages = stages;
    sheet->line_stage_count = count;
    return MST_OK;
}

static enum mst_status sheet_options(const struct request *request, struct mst_arena *arena,
                                     struct mst_sheet_options *sheet, struct mst_error *err)
{
    static const char *const fonts[] = {"amiri", "scheherazade", NULL};
    static const char *const langs[] = {"both", "en", "ar", NULL};
    static const char *const keys[] = {"auto", "foot", "page", "none", NULL};
    int font = MST_SHEET_AMIRI_QURAN, labels = MST_LABELS_BOTH, key = MST_KEY_AUTO;

    enum mst_status status = choice_read("font", request->font, fonts, &font, err);
    if (status == MST_OK)
        status = choice_read("lang", request->lang, langs, &labels, err);
    if (status == MST_OK)
        status = choice_read("key", request->key, keys, &key, err);
    if (status == MST_OK && request->rules)
        status = mst_rule_set_parse(mst_span_of(request->rules), &sheet->rules, err);
    if (status == MST_OK && request->paper)
        status = mst_page_parse(mst_span_of(request->paper), &sheet->page, err);
    if (status == MST_OK)
        status = line_stages(request->fade_list, arena, sheet, err);
    int staged = request->stage != NO_STAGE;
    if (status == MST_OK && staged && (request->stage < 0 || request->stage >= MST_FADE_STAGES))
        status = mst_fail(err, MST_USAGE, "--stage takes 0 to 4; “%d” given", request->stage);
    if (status == MST_OK && staged + request->fade + (request->fade_list != NULL) > 1)
        status = mst_fail(err, MST_USAGE,
                          "--stage, --fade and --stages each say how the marks fade; choose one");
    if (status == MST_OK && request->translit && request->gloss)
        status = mst_fail(err, MST_USAGE, "--translit and --gloss share one line; choose one");
    if (status != MST_OK)
        return status;

    sheet->font = (enum mst_sheet_font)font;
    sheet->labels = (enum mst_sheet_labels)labels;
    sheet->key = (enum mst_sheet_key)key;
    sheet->stage = !staged ? MST_FADE_NAMES : (enum mst_fade)request->stage;
    sheet->fade_evenly = request->fade;
    sheet->type_size = request->size;
    sheet->no_stops = request->no_stops;
    sheet->title = mst_span_of(request->title ? request->title : "");
    sheet->class_line = mst_span_of(request->class_line ? request->class_line : "");
    sheet->gloss = mst_span_of(request->translit ? "translit"
                               : request->gloss  ? request->gloss
                                                 : "");
    return MST_OK;
}

/* Pictures of several pages are numbered files (mst_sheet_write). */
static void say_written(const char *file, int pages, struct mst_string *s)
{
    const char *ending = strrchr(file, '.');
    int numbered =
        pages > 1 && (strcasecmp(ending, ".svg") == 0 || strcasecmp(ending, ".png") == 0);
    if (numbered) {
        int stem = (int)(ending - file);
        mst_string_addf(s, "%.*s-1%s to %.*s-%d%s", stem, file, ending, stem, file, pages, ending);
    } else {
        mst_string_adds(s, file);
    }
    mst_string_addf(s, ": %d %s\n", pages, pages == 1 ? "page" : "pages");
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {.stage = NO_STAGE};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_typeset *typeset = NULL;
    struct mst_reading *reading = NULL;
    struct mst_sheet_options options = {0};
    struct mst_sheet *sheet = NULL;
    struct mst_span passage;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &passage, err);
    if (status == MST_OK && !request.file)
        status = mst_fail(err, MST_USAGE,
                          "say which file to write, for example: mistara sheet %.*s -o sheet.pdf",
                          (int)(passage.len < 80 ? passage.len : 80), passage.ptr);
    if (status == MST_OK)
        status = picture_options(request.file, request.dark, request.dpi, err);
    if (status == MST_OK)
        status = sheet_options(&request, arena, &options, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_open(text, passage, &how, arena, &reading, err);
    if (status == MST_OK)
        status = mst_typeset_open(NULL, &typeset, err);
    if (status == MST_OK)
        status = mst_sheet_new(typeset, reading, &options, arena, &sheet, err);
    if (status == MST_OK)
        status = mst_sheet_write(sheet, request.file, request.dpi ? request.dpi : DPI,
                                 request.dark ? MST_THEME_DARK : MST_THEME_LIGHT, err);
    if (status == MST_OK)
        say_written(request.file, mst_sheet_page_count(sheet), &out->text);
    mst_typeset_close(typeset);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_sheet = {
    .name = "sheet",
    .arguments = "PASSAGE -o FILE",
    .asks = "a passage and a file, for example: mistara sheet 67:1-5 -o sheet.pdf",
    .summary = "the page to print, with the places marked",
    .about = "Lays the passage out as a page and marks where rules act, in a band under and over\n"
             "each line; the scripture itself is drawn as printed. The key to the marks is on the\n"
             "page or on one of its own. The file appears whole or not at all.",
    .examples =
        "  mistara sheet 67:1-5 -o sheet.pdf\n"
        "  mistara sheet 78:6-16 --rule ikhfa,qalqala --title \"The hidden nūn\" -o lesson.pdf\n"
        "  mistara sheet 78:6-16 --rule ikhfa --fade -o faded.pdf      marks that fade away\n"
        "  mistara sheet 112 --paper slide --dark -o slide.png         for the wall\n"
        "  mistara sheet 67:1-5 -o sheet.txt                           the marks in words\n",
    .groups = {&group, &reading_group},
    .run = run,
};
