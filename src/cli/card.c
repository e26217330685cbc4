/* card.c – `mistara card`: how mouth, lips and nose stand for a letter, a place or a rule. */
#include "cli.h"

#include <mistara/mouth.h>

struct request {
    const char *file, *lang;
    int dpi, dark;
};
#define TARGET(field) offsetof(struct request, field)
enum { DPI = 200 };

static const struct option_row rows[] = {
    {"output", 'o', OPTION_TEXT, "FILE", "the file to write: .svg, .pdf or .png", TARGET(file)},
    {"lang", 0, OPTION_TEXT, "both|en|ar", "language of the words (default both)", TARGET(lang)},
    {"dark", 0, OPTION_FLAG, NULL, "light on dark, for .svg and .png", TARGET(dark)},
    {"dpi", 0, OPTION_COUNT, "N", "fineness of a .png (default 200)", TARGET(dpi)},
};
static const struct option_group group = {"The card:", rows, sizeof rows / sizeof rows[0]};

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    static const char *const langs[] = {"both", "en", "ar", NULL};
    struct request request = {0};
    void *const targets[] = {&request};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_typeset *typeset = NULL;
    struct mst_sheet *sheet = NULL;
    struct mst_card card;
    struct mst_span what;
    int labels = MST_LABELS_BOTH;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &what, err);
    if (status == MST_OK && !request.file)
        status = mst_fail(err, MST_USAGE,
                          "say which file to write, for example: mistara card %.*s -o card.pdf",
                          (int)(what.len < 80 ? what.len : 80), what.ptr);
    if (status == MST_OK)
        status = picture_options(request.file, request.dark, request.dpi, err);
    if (status == MST_OK)
        status = choice_read("lang", request.lang, langs, &labels, err);
    if (status == MST_OK)
        status = mst_card_parse(what, &card, err);
    if (status == MST_OK)
        status = mst_typeset_open(NULL, &typeset, err);
    if (status == MST_OK)
        status = mst_card_new(typeset, &card, (enum mst_sheet_labels)labels, arena, &sheet, err);
    if (status == MST_OK)
        status = mst_sheet_write(sheet, request.file, request.dpi ? request.dpi : DPI,
                                 request.dark ? MST_THEME_DARK : MST_THEME_LIGHT, err);
    if (status == MST_OK)
        mst_string_addf(&out->text, "%s\n", request.file);
    mst_typeset_close(typeset);
    mst_arena_free(arena);
    return status;
}

const struct command command_card = {
    .name = "card",
    .arguments = "LETTER|PLACE|RULE -o FILE",
    .asks = "a letter, a place (1 to 17) or a rule, for example: mistara card qāf -o card.pdf",
    .summary = "a picture of the mouth for a letter, a place or a rule",
    .about = "Draws a head in section: where tongue, lips and throat stand, where the sound is\n"
             "made, and which way the air goes. For the letters made with the side of the tongue\n"
             "the palate from below stands beside it. A schema; a teacher's mouth is the model.",
    .examples = "  mistara card qāf -o qaf.pdf\n"
                "  mistara card 8 -o dad.png             a place: its letters side by side\n"
                "  mistara card ikhfa -o hiding.svg      what the mouth does by a rule\n",
    .groups = {&group},
    .run = run,
};
