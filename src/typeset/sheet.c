#include "sheet.h"

#include <stdlib.h>
#include <string.h>

struct mst_page_geometry mst_page_a4(void)
{
    return (struct mst_page_geometry){.width = 595.28,
                                      .height = 841.89,
                                      .top = 58,
                                      .right = 58,
                                      .bottom = 34,
                                      .left = 38,
                                      .names = 126,
                                      .type_size = 25,
                                      .label_size = 8.5};
}

struct mst_page_geometry mst_page_letter(void)
{
    struct mst_page_geometry page = mst_page_a4();
    page.width = 612;
    page.height = 792;
    page.right = 64;
    page.left = 50;
    return page;
}

struct mst_page_geometry mst_page_slide(void)
{
    return (struct mst_page_geometry){.width = 960,
                                      .height = 540,
                                      .top = 34,
                                      .right = 70,
                                      .bottom = 18,
                                      .left = 56,
                                      .names = 150,
                                      .type_size = 40,
                                      .label_size = 11};
}

enum mst_status mst_page_parse(struct mst_span s, struct mst_page_geometry *out,
                               struct mst_error *err)
{
    if (mst_span_equal(s, MST_SPAN("a4")) || mst_span_equal(s, MST_SPAN("A4")))
        *out = mst_page_a4();
    else if (mst_span_equal(s, MST_SPAN("letter")) || mst_span_equal(s, MST_SPAN("Letter")))
        *out = mst_page_letter();
    else if (mst_span_equal(s, MST_SPAN("slide")))
        *out = mst_page_slide();
    else
        return mst_fail(err, MST_USAGE, "no page is called “%.*s”; there are a4, letter and slide",
                        (int)(s.len < 60 ? s.len : 60), s.ptr);
    return MST_OK;
}

struct mst_rule_set mst_sheet_default_rules(void)
{
    static const enum mst_rule plain[] = {
        MST_RULE_IZHAR_HALQI,   MST_RULE_IZHAR_MUTLAQ,  MST_RULE_IZHAR_SHAFAWI,
        MST_RULE_LAM_SHAMSIYYA, MST_RULE_LAM_QAMARIYYA, MST_RULE_MADD_TABII,
        MST_RULE_HADHF_MADD,    MST_RULE_TAFKHIM,       MST_RULE_TAFKHIM_ALIF,
        MST_RULE_TAFKHIM_RA,    MST_RULE_TARQIQ_RA,     MST_RULE_HAMZAT_WASL,
        MST_RULE_SIFR_MUSTADIR, MST_RULE_SIFR_MUSTATIL, MST_RULE_WAQF_SUKUN,
        MST_RULE_WAQF_HA};
    struct mst_rule_set set = {((uint64_t)1 << MST_RULE_COUNT) - 1};
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
        set.bits &= ~((uint64_t)1 << plain[i]);
    return set;
}

/* Does any line show something in the column beside it, and how wide must it be? */
static double names_width(const struct mst_sheet *sheet)
{
    const struct mst_sheet_options *o = &sheet->options;
    int names = 0, counts = 0;
    if (o->fade_evenly && !o->line_stages) {
        names = 1;
    } else if (o->line_stages && o->line_stage_count) {
        for (size_t i = 0; i < o->line_stage_count; i++) {
            names |= o->line_stages[i] == MST_FADE_NAMES;
            counts |= o->line_stages[i] == MST_FADE_COUNT;
        }
    } else {
        names = o->stage == MST_FADE_NAMES;
        counts = o->stage == MST_FADE_COUNT;
    }
    if (names)
        return sheet->page.names;
    return counts ? 1.6 * sheet->page.label_size : 0;
}

static enum mst_status shape_words(struct mst_sheet *sheet, struct mst_error *err)
{
    const struct mst_reading *r = sheet->reading;
    sheet->words = mst_arena_alloc(sheet->arena, (size_t)r->word_count + 1, sizeof *sheet->words);
    if (!sheet->words)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the text");
    enum mst_status status = MST_OK;
    for (int32_t w = 0; w < r->word_count && status == MST_OK; w++)
        status = word_shape(sheet->ts, sheet->font, r, w, sheet->arena, &sheet->words[w],
                            &sheet->missing, err);
    return status;
}

enum mst_status mst_sheet_new(struct mst_typeset *ts, const struct mst_reading *reading,
                              const struct mst_sheet_options *options, struct mst_arena *arena,
                              struct mst_sheet **out, struct mst_error *err)
{
    static const struct mst_sheet_options plain;
    *out = NULL;
    struct mst_sheet *sheet = mst_arena_alloc(arena, 1, sizeof *sheet);
    if (!sheet)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the text");
    sheet->ts = ts;
    sheet->reading = reading;
    sheet->arena = arena;
    sheet->options = options ? *options : plain;
    sheet->page = sheet->options.page.width > 0 ? sheet->options.page : mst_page_a4();
    if (sheet->options.type_size > 0)
        sheet->page.type_size = sheet->options.type_size;
    if (sheet->options.rules.bits == 0)
        sheet->options.rules = mst_sheet_default_rules();
    sheet->em = sheet->page.type_size;
    sheet->font =
        mst_font_of(ts->fonts, sheet->options.font == MST_SHEET_SCHEHERAZADE ? MST_FONT_ARABIC
                                                                             : MST_FONT_QURAN);
    sheet->gloss = -1;
    if (sheet->options.gloss.len) {
        struct mst_span code = sheet->options.gloss;
        sheet->gloss = mst_text_translation_find(reading->text, code);
        if (sheet->gloss < 0)
            return mst_fail(err, MST_USAGE, "there is no translation with the code “%.*s”",
                            (int)(code.len < 60 ? code.len : 60), code.ptr);
    }
    double names = names_width(sheet);
    sheet->text_right = sheet->page.width - sheet->page.right;
    sheet->text_left = names > 0 ? sheet->page.left + names + 0.75 * sheet->em
                                 : sheet->page.left + (sheet->page.right - sheet->page.left);
    if (!(sheet->em > 0) || sheet->text_right - sheet->text_left < 4 * sheet->em)
        return mst_fail(err, MST_USAGE,
                        "type of %g points leaves no lines on a page %g points wide; choose "
                        "smaller type",
                        sheet->em, sheet->page.width);
    if (reading->word_count == 0)
        return mst_fail(err, MST_USAGE, "there is nothing to set: the passage is empty");
    if (!page_foot_prepare(sheet))
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the text");
    enum mst_status status = shape_words(sheet, err);
    if (status == MST_OK)
        status = lines_break(sheet, err);
    if (status == MST_OK)
        status = marks_place(sheet, err);
    if (status == MST_OK)
        status = pages_compose(sheet, err);
    if (status == MST_OK)
        *out = sheet;
    return status;
}

int mst_sheet_page_count(const struct mst_sheet *sheet)
{
    return sheet->page_count;
}

int mst_sheet_line_count(const struct mst_sheet *sheet)
{
    return sheet->line_count;
}

int mst_sheet_missing_glyphs(const struct mst_sheet *sheet)
{
    return sheet->missing;
}

const struct mst_letter_box *mst_sheet_boxes(const struct mst_sheet *sheet, size_t *count)
{
    *count = (size_t)sheet->reading->letter_count;
    return sheet->boxes;
}

const struct mst_mark_box *mst_sheet_marks(const struct mst_sheet *sheet, size_t *count)
{
    *count = (size_t)sheet->mark_count;
    return sheet->mark_boxes;
}

void sheet_mark_label(const struct mst_sheet *sheet, const struct mark *mark, enum mst_lang lang,
                      struct mst_string *out)
{
    if (mark->site >= 0 && mark->sign != SIGN_DOT) {
        mst_site_label(sheet->reading, &sheet->reading->sites[mark->site], lang, out);
        return;
    }
    mst_string_adds(out, sign_meaning(mark->sign, lang));
    if (mark->has_foot && mark->sign != SIGN_STOP_READER) {
        mst_string_adds(out, lang == MST_LANG_AR ? "، " : "; ");
        mst_string_adds(out, sign_meaning(SIGN_STOP_READER, lang));
    }
}
