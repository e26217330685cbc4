/* The sheet in plain text, for a reader who hears it: scripture line by line, the marks in words.
 */
#include "phrase.h"
#include "sheet.h"

static void add_phrase(struct mst_string *out, enum phrase which, enum mst_lang lang)
{
    struct mst_span text = phrase(which, lang);
    mst_string_add(out, text.ptr, text.len);
}

/* Arabic numbers of things: a word for one and one for two, the plural from three to ten, the
 * singular in the accusative up to ninety-nine, after hundreds in the genitive. */
static void add_places(struct mst_string *out, int count, enum mst_lang lang)
{
    int rest = count % 100;
    if (lang != MST_LANG_AR)
        mst_string_addf(out, "%d %s", count, count == 1 ? "place" : "places");
    else if (count == 1)
        mst_string_adds(out, "موضع واحد");
    else if (count == 2)
        mst_string_adds(out, "موضعان");
    else
        mst_string_addf(out, "%d %s", count,
                        rest >= 3 && rest <= 10 ? "مواضع"
                        : rest > 10             ? "موضعا"
                                                : "موضع");
}

static void add_scripture(const struct mst_sheet *sheet, const struct line *line,
                          struct mst_string *out)
{
    char digits[24];
    for (int i = 0; i < line->item_count; i++) {
        const struct line_item *item = &line->items[i];
        if (i)
            mst_string_adds(out, " ");
        if (item->word >= 0) {
            struct mst_span word = mst_reading_word(sheet->reading, item->word);
            mst_string_add(out, word.ptr, word.len);
        } else { /* U+06DD, the end of a verse, before its number */
            struct mst_span number = arabic_number(item->verse, digits);
            mst_string_add_cp(out, 0x6DD);
            mst_string_add(out, number.ptr, number.len);
        }
    }
    mst_string_adds(out, "\n");
}

static void add_marks(const struct mst_sheet *sheet, const struct line *line, enum mst_lang lang,
                      struct mst_string *out)
{
    char at[48];
    if (line->stage == MST_FADE_COUNT) {
        mst_string_adds(out, "  • ");
        add_places(out, line->places, lang);
        mst_string_adds(out, "\n");
        return;
    }
    /* in reading order: from the right */
    double before = 1e9;
    for (int32_t done = 0; done < line->mark_count;) {
        double next = -1e9;
        for (int32_t i = 0; i < line->mark_count; i++) {
            double a = sheet->marks[line->first_mark + i].anchor;
            if (a < before && a > next)
                next = a;
        }
        for (int32_t i = 0; i < line->mark_count; i++) {
            const struct mark *m = &sheet->marks[line->first_mark + i];
            if (m->anchor < next || m->anchor > next)
                continue;
            done++;
            if (m->opens_right) /* the end of a tie already told */
                continue;
            mst_string_adds(out, "  • ");
            if (m->site >= 0) {
                const struct mst_site *site = &sheet->reading->sites[m->site];
                mst_string_addf(out, "%s ",
                                mst_addr_print(mst_letter_addr(sheet->reading, site->trigger), at));
            } else {
                const struct mst_word *word = &sheet->reading->words[m->word];
                mst_string_addf(out, "%d:%d:%d ", (int)word->sura, (int)word->verse,
                                (int)word->word);
            }
            sheet_mark_label(sheet, m, lang, out);
            mst_string_adds(out, "\n");
        }
        before = next;
    }
}

enum mst_status mst_sheet_text(const struct mst_sheet *sheet, enum mst_lang lang,
                               struct mst_string *out, struct mst_error *err)
{
    const struct mst_sheet_options *o = &sheet->options;
    if (o->title.len) {
        mst_string_add(out, o->title.ptr, o->title.len);
        mst_string_adds(out, "\n");
    }
    if (o->class_line.len) {
        mst_string_add(out, o->class_line.ptr, o->class_line.len);
        mst_string_adds(out, "\n");
    }
    for (int i = 0; i < sheet->paragraph_count; i++) {
        const struct paragraph *p = &sheet->paragraphs[i];
        const struct mst_sura *sura = mst_text_sura(sheet->reading->text, p->sura);
        if (p->heading && sura) {
            struct mst_span name = lang == MST_LANG_AR ? sura->name_ar : sura->name_en;
            mst_string_adds(out, out->len ? "\n" : "");
            add_phrase(out, PHRASE_SURA, lang);
            mst_string_addf(out, " %.*s (%d)\n\n", (int)name.len, name.ptr, (int)p->sura);
        }
        for (int n = p->first_line; n < p->first_line + p->line_count; n++) {
            add_scripture(sheet, &sheet->lines[n], out);
            add_marks(sheet, &sheet->lines[n], lang, out);
        }
        if (p->gloss_verse) {
            struct mst_span gloss =
                mst_text_translated(sheet->reading->text, sheet->gloss, p->sura, p->gloss_verse);
            mst_string_add(out, gloss.ptr, gloss.len);
            mst_string_adds(out, "\n");
        }
    }
    mst_string_adds(out, "\n");
    add_phrase(out, PHRASE_DEFER, lang);
    mst_string_adds(out, "\n");
    sheet_credits(sheet, out);
    mst_string_adds(out, "\n");
    return out->failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the text")
                       : MST_OK;
}
