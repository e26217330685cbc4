/*
 * first_page.c – the text screen as it is painted first: with its words, before
 * any script has run. The web build writes the screen (web/src/paper.tsx), once
 * for each language and role, with places for what hangs on the passage; here
 * they are filled. The words stand as web/src/text/passage.tsx sets them, which
 * takes over what it finds (tests/web/first.mjs holds the two together).
 */
#include "first.h"

#include "fill.h"
#include "pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct screen {
    struct request *page, *reading;
    const char *passage, *language;
    struct mst_range range;
    const struct mst_sura *sura; /* of the passage's beginning */
    int32_t sura_number;
};

static void add_text(struct mst_string *s, struct mst_span text)
{
    mst_string_add_xml(s, text.ptr, text.len);
}

/* --- the words ------------------------------------------------------------------ */

static void add_medal(struct mst_string *s, int32_t verse)
{
    char digits[12];
    snprintf(digits, sizeof digits, "%d", verse);
    mst_string_adds(s, "<span class=\"medal\" aria-hidden=\"true\">\u00a0\u06dd");
    for (const char *d = digits; *d; d++) {
        char arabic[4];
        mst_string_add(s, arabic, mst_utf8_put(0x0660u + (uint32_t)(*d - '0'), arabic));
    }
    mst_string_adds(s, "</span>");
}

/*
 * No window shows more words than this at once (seven lines of twelve, on a projector). What comes
 * after them waits in a template, which costs the browser neither style nor layout:
 * web/src/start.ts puts it in its place when the first words are painted.
 */
enum { FIRST_WORDS = 84 };

static void add_words(struct mst_string *s, const struct mst_reading *r, struct mst_range range,
                      struct mst_span say)
{
    struct mst_string shown = {0};
    int whole_verses = range.first.word == 0 && range.last.word == 0;
    int waits = r->word_count > FIRST_WORDS + FIRST_WORDS / 4;
    for (int32_t n = 0; n < r->word_count; n++) {
        if (waits && n == FIRST_WORDS)
            mst_string_adds(s, "<template class=\"rest\">");
        const struct mst_word *word = &r->words[n], *next = n + 1 < r->word_count ? word + 1 : NULL;
        int new_verse = !next || next->verse != word->verse || next->sura != word->sura;
        int stops = word->seam == MST_SEAM_STOP;
        shown.len = 0;
        mst_text_for_display(mst_reading_word(r, n), &shown);
        if (shown.failed)
            break;
        mst_string_addf(s,
                        "<span class=\"word\" role=\"button\" tabindex=\"%d\" "
                        "data-at=\"%d:%d:%d\">%.*s</span>",
                        n ? -1 : 0, word->sura, word->verse, word->word, (int)shown.len, shown.ptr);
        if (word->verse && new_verse && (next || whole_verses))
            add_medal(s, word->verse);
        if (next)
            mst_string_addf(s,
                            "<span class=\"gap%s\" role=\"button\" tabindex=\"-1\" "
                            "aria-pressed=\"%s\" aria-label=\"%.*s %.*s\"></span> ",
                            stops ? " stop" : "", stops ? "true" : "false", (int)say.len, say.ptr,
                            (int)shown.len, shown.ptr);
        if (!word->verse && new_verse)
            mst_string_adds(s, "<br>");
    }
    if (waits)
        mst_string_adds(s, "</template>");
    s->failed |= shown.failed;
    mst_string_free(&shown);
}

/* Kept among the answers, under a name that no address has. */
static const struct route words_route = {GET, "first words", HOW, "passage lang", NULL};

static void words(struct screen *screen, struct mst_span say, struct mst_string *html)
{
    struct request *rq = screen->reading;
    struct answer *kept = answer_find(rq);
    if (!kept) {
        struct mst_error ignored;
        struct mst_reading *r;
        struct mst_reading_options how;
        struct mst_string made = {0};
        if (how_of_request(rq, &how, &ignored) == MST_OK &&
            mst_reading_new(rq->desk->text, screen->range, &how, rq->arena, &r, &ignored) == MST_OK)
            add_words(&made, r, screen->range, say);
        kept = answer_keep(rq, &made);
        mst_string_free(&made);
    }
    if (kept)
        mst_string_add(html, answer_body(kept).ptr, answer_body(kept).len);
    answer_let_go(kept);
}

/* --- the places -------------------------------------------------------------------- */

static int stands_in(struct mst_span list, const char *name)
{
    size_t len = strlen(name);
    for (size_t at = 0; at < list.len;) {
        size_t end = at;
        while (end < list.len && list.ptr[end] != ' ' && list.ptr[end] != '.')
            end++;
        if (end - at == len && memcmp(list.ptr + at, name, len) == 0)
            return 1;
        at = end + 1;
    }
    return 0;
}

static void families(struct screen *screen, struct mst_span usual, struct mst_string *html)
{
    const char *kept = first_cookie(screen->page, "families");
    enum mst_lang lang = strcmp(screen->language, "ar") == 0 ? MST_LANG_AR : MST_LANG_EN;
    for (int f = 0; f < MST_FAMILY_COUNT; f++)
        mst_string_addf(html,
                        "<label class=\"family\"><input type=\"checkbox\"%s>"
                        "<i class=\"swatch of-%s\"></i>%s</label>",
                        stands_in(kept ? mst_span_of(kept) : usual, family_ids[f]) ? " checked"
                                                                                   : "",
                        family_ids[f], mst_family_name((enum mst_family)f, lang));
}

static void sura(struct screen *screen, struct mst_string *html)
{
    int arabic = strcmp(screen->language, "ar") == 0;
    mst_string_addf(html, "<option selected value=\"%d\">%d ", screen->sura_number,
                    screen->sura_number);
    add_text(html, arabic ? screen->sura->name_ar : screen->sura->name_en);
    mst_string_adds(html, "</option>");
}

/* Before and after, where the passage is whole verses of one sura. */
static void steps(struct screen *screen, struct mst_span names, struct mst_string *html)
{
    int sura_typed = 0, first = 0, last = 0, end = 0;
    const char *typed = screen->passage, *bar = memchr(names.ptr, '|', names.len);
    if (sscanf(typed, "%3d:%3d%n-%3d%n", &sura_typed, &first, &end, &last, &end) < 2 ||
        typed[end] || !bar)
        return;
    if (!last)
        last = first;
    mst_string_addf(html,
                    "<div class=\"steps\"><button type=\"button\" class=\"quiet\"%s>%.*s</button>"
                    "<button type=\"button\" class=\"quiet\"%s>%.*s</button></div>",
                    first <= 1 ? " disabled" : "", (int)(bar - names.ptr), names.ptr,
                    last >= screen->sura->verse_count ? " disabled" : "",
                    (int)(names.len - (size_t)(bar - names.ptr) - 1), bar + 1);
}

static void sheet(struct screen *screen, struct mst_string *html)
{
    const struct request *rq = screen->reading;
    char passage[96];
    mst_string_adds(html, "/api/sheet.pdf?passage=");
    first_encoded(html, passage_id(screen->range, passage));
    for (int n = 0; n < rq->param_count; n++) {
        if (!how_is_name(rq->params[n].name))
            continue;
        mst_string_addf(html, "&amp;%s=", rq->params[n].name);
        first_encoded(html, rq->params[n].value);
    }
    mst_string_addf(html, "&amp;labels=%s", screen->language);
}

static void place(void *with, struct mst_span name, struct mst_span more, struct mst_string *html)
{
    struct screen *screen = with;
    char title[96];
    if (fill_is(name, "PASSAGE"))
        add_text(html, mst_span_of(screen->passage));
    else if (fill_is(name, "TITLE"))
        mst_string_adds(html, mst_range_print(screen->range, title));
    else if (fill_is(name, "SURA"))
        sura(screen, html);
    else if (fill_is(name, "STEPS"))
        steps(screen, more, html);
    else if (fill_is(name, "FAMILIES"))
        families(screen, more, html);
    else if (fill_is(name, "WORDS"))
        words(screen, more, html);
    else if (fill_is(name, "SHEET"))
        sheet(screen, html);
    else if (fill_is(name, "CREDITS"))
        add_text(html, mst_text_credits(screen->page->desk->text));
}

/* Whether the page shows a passage that can be read, to somebody who has the text screen. */
static int read_screen(struct screen *screen)
{
    struct request *page = screen->page;
    struct mst_error ignored;
    screen->language = first_language(page);
    screen->passage = page->signed_in && !is_learner(page) ? first_passage(page) : NULL;
    screen->reading = screen->passage ? first_question(page, &words_route) : NULL;
    if (!screen->reading)
        return 0;
    first_param(screen->reading, "passage", screen->passage);
    first_how(page, screen->reading);
    first_param(screen->reading, "lang", screen->language);
    struct mst_reading_options how;
    if (screen->reading->reply.status ||
        param_passage(screen->reading, &screen->range, &ignored) != MST_OK ||
        passage_not_too_long(page->desk->text, screen->range, &ignored) != MST_OK ||
        how_of_request(screen->reading, &how, &ignored) != MST_OK)
        return 0;
    screen->sura_number = screen->range.first.sura;
    screen->sura = mst_text_sura(page->desk->text, screen->sura_number);
    /* the list of suras shows what is typed as a number */
    return strtol(screen->passage, NULL, 10) == screen->sura_number;
}

void first_screen(struct request *page, struct mst_string *html)
{
    struct screen screen = {.page = page};
    if (!read_screen(&screen))
        return;
    const char *name =
        mst_arena_printf(page->arena, "first/%s-%s.html", screen.language, role_of(page));
    const struct page *paper = name ? page_named(name) : NULL;
    if (paper)
        fill(html, (struct mst_span){(const char *)paper->bytes, paper->len}, place, &screen);
}

void first_attributes(struct request *page, struct mst_string *html)
{
    const char *language = first_language(page), *theme = first_cookie(page, "theme");
    mst_string_addf(html, "lang=\"%s\" dir=\"%s\"", language,
                    strcmp(language, "ar") == 0 ? "rtl" : "ltr");
    if (theme && (strcmp(theme, "light") == 0 || strcmp(theme, "dark") == 0))
        mst_string_addf(html, " data-theme=\"%s\"", theme);
}

static void inks(struct mst_string *css, enum mst_theme theme)
{
    for (int f = 0; f < MST_FAMILY_COUNT; f++)
        mst_string_addf(css, "--ink-%s:#%06x;", family_ids[f],
                        mst_ink_of_family((enum mst_family)f, theme) & 0xFFFFFFu);
}

/* Those of the sheet, so that a page and a sheet never differ. */
void first_inks(struct mst_string *css)
{
    mst_string_adds(css, ":root{");
    inks(css, MST_THEME_LIGHT);
    mst_string_adds(css, "}:root[data-theme=dark]{");
    inks(css, MST_THEME_DARK);
    mst_string_adds(css, "}@media(prefers-color-scheme:dark){:root:not([data-theme]){");
    inks(css, MST_THEME_DARK);
    mst_string_adds(css, "}}");
}
