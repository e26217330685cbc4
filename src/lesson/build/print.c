/* print.c – what a lesson's folder has for paper and wall. */
#include "parts.h"

#include <mistara/ask.h>
#include <stdio.h>
#include <string.h>

enum { NAME_SIZE = 160, WALL_DPI = 144 /* 1920 × 1080 */, CARD_DPI = 200, LETTER_CARDS_MOST = 28 };

static enum mst_status pdf(struct build *b, const struct mst_sheet *sheet, const char *name,
                           const char *en, const char *ar)
{
    struct mst_string bytes = {0};
    enum mst_status status = mst_sheet_pdf(sheet, &bytes, b->err);
    if (status == MST_OK)
        return mst_build_file_write(b, name, en, ar, &bytes);
    mst_string_free(&bytes);
    return status;
}

static enum mst_status png(struct build *b, const struct mst_sheet *sheet, int page, double dpi,
                           const char *name, const char *en, const char *ar)
{
    struct mst_string bytes = {0};
    enum mst_status status = mst_sheet_png(sheet, page, dpi, MST_THEME_LIGHT, &bytes, b->err);
    if (status == MST_OK)
        return mst_build_file_write(b, name, en, ar, &bytes);
    mst_string_free(&bytes);
    return status;
}

/* --- handout and slides --------------------------------------------------------------- */

static enum mst_status handout_of(struct build *b, int32_t n, struct mst_arena *arena,
                                  struct mst_handout *out)
{
    enum mst_status status = mst_lesson_handout(b->l, n, arena, out, b->err);
    out->class_line = b->options->class_line;
    out->page = b->options->page;
    return status;
}

/* "-2" for the second passage, nothing for the first. */
static void numbered(char out[16], int32_t n)
{
    out[0] = '\0';
    if (n > 0)
        snprintf(out, 16, "-%d", (int)n + 1);
}

static enum mst_status handout(struct build *b, int32_t n, struct mst_arena *arena)
{
    struct mst_handout h;
    struct mst_sheet *sheet;
    char name[NAME_SIZE], number[16];
    numbered(number, n);
    snprintf(name, sizeof name, "%s-handout%s.pdf", b->prefix, number);
    enum mst_status status = handout_of(b, n, arena, &h);
    if (status == MST_OK)
        status = mst_handout_new(b->typeset, b->text, &h, arena, &sheet, b->err);
    return status == MST_OK
               ? pdf(b, sheet, name,
                     "Handout: the rule, examples, the passage, space to write, the key",
                     "ورقة الدرس: الحكم والأمثلة والمقطع ومكان للكتابة والمفتاح")
               : status;
}

static enum mst_status slides(struct build *b, int32_t n, struct mst_arena *arena)
{
    struct mst_handout h;
    struct mst_sheet *sheet;
    char name[NAME_SIZE], number[16];
    numbered(number, n);
    snprintf(name, sizeof name, "%s-slides%s.pdf", b->prefix, number);
    enum mst_status status = handout_of(b, n, arena, &h);
    if (status == MST_OK)
        status = mst_slides_new(b->typeset, b->text, &h, arena, &sheet, b->err);
    if (status == MST_OK)
        status = pdf(b, sheet, name, "All slides in one file", "كل الشرائح في ملف واحد");
    if (status == MST_OK)
        status = mst_build_subfolder(b, "slides");
    int pages = status == MST_OK ? mst_sheet_page_count(sheet) : 0;
    for (int page = 0; status == MST_OK && page < pages; page++) {
        snprintf(name, sizeof name, "slides/%s-slide%s-%02d.png", b->prefix, number, page + 1);
        status =
            png(b, sheet, page, WALL_DPI, name, mst_arena_printf(b->arena, "Slide %d", page + 1),
                mst_arena_printf(b->arena, "الشريحة %d", page + 1));
        if (status == MST_OK)
            status = mst_build_tell(b, (double)(page + 1) / pages);
    }
    return status;
}

static enum mst_status each_passage(struct build *b,
                                    enum mst_status (*make)(struct build *, int32_t,
                                                            struct mst_arena *))
{
    enum mst_status status = MST_OK;
    for (int32_t n = 0; status == MST_OK && n < b->l->passage_count; n++) {
        struct mst_arena *arena = mst_arena_new(0);
        status = arena ? make(b, n, arena) : mst_build_no_memory(b->err);
        mst_arena_free(arena);
        if (status == MST_OK)
            status = mst_build_tell(b, (double)(n + 1) / b->l->passage_count);
    }
    return status;
}

enum mst_status mst_build_handouts(struct build *b)
{
    return each_passage(b, handout);
}

enum mst_status mst_build_slides(struct build *b)
{
    return each_passage(b, slides);
}

/* --- cards ------------------------------------------------------------------------------- */

/* The card's file name: the rule's id, or the letter's name in plain Latin letters. */
static void card_name(const struct mst_card *card, char out[64])
{
    const char *id = card->kind == MST_CARD_RULE ? mst_rule_id(card->rule) : NULL;
    if (id)
        snprintf(out, 64, "rule-%s", id);
    else
        snprintf(out, 64, "letter-u%04x", (unsigned)card->letter);
    for (char *c = out; *c; c++)
        if (*c == '_')
            *c = '-';
}

static enum mst_status card(struct build *b, const struct mst_card *card)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_sheet *sheet;
    struct mst_string en = {0}, ar = {0}, svg = {0};
    char id[64], name[NAME_SIZE];
    if (!arena)
        return mst_build_no_memory(b->err);
    mst_card_title(card, MST_LANG_EN, &en);
    mst_card_title(card, MST_LANG_AR, &ar);
    const char *about_en =
        en.failed ? NULL : mst_arena_printf(b->arena, "Card: %s", en.ptr ? en.ptr : "");
    const char *about_ar =
        ar.failed ? NULL : mst_arena_printf(b->arena, "بطاقة: %s", ar.ptr ? ar.ptr : "");
    mst_string_free(&en);
    mst_string_free(&ar);
    card_name(card, id);
    enum mst_status status =
        mst_card_new(b->typeset, card, mst_lesson_labels(b->l), arena, &sheet, b->err);
    snprintf(name, sizeof name, "cards/%s.pdf", id);
    if (status == MST_OK)
        status = pdf(b, sheet, name, about_en, about_ar);
    snprintf(name, sizeof name, "cards/%s.png", id);
    if (status == MST_OK)
        status = png(b, sheet, 0, CARD_DPI, name, about_en, about_ar);
    snprintf(name, sizeof name, "cards/%s.svg", id);
    if (status == MST_OK)
        status = mst_sheet_svg(sheet, 0, MST_THEME_LIGHT, &svg, b->err);
    if (status == MST_OK)
        status = mst_build_file_write(b, name, about_en, about_ar, &svg);
    else
        mst_string_free(&svg);
    mst_arena_free(arena);
    return status;
}

/* The letters that the rules act on or meet in the lesson's examples, as bits by their place among
 * the articulations. */
static enum mst_status letters_met(struct build *b, uint32_t *bits)
{
    *bits = 0;
    for (int32_t e = 0; e < b->l->example_count; e++) {
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_reading_options how = b->l->reading;
        struct mst_reading *r;
        how.stops = MST_STOPS_NONE;
        how.no_basmala = 1;
        enum mst_status status =
            arena ? mst_reading_new(b->text, b->l->examples[e].range, &how, arena, &r, b->err)
                  : mst_build_no_memory(b->err);
        for (int32_t n = 0; status == MST_OK && n < r->site_count; n++) {
            const struct mst_site *site = &r->sites[n];
            if (!mst_rule_set_has(b->l->rules, (enum mst_rule)site->rule))
                continue;
            int32_t letter = site->host >= 0 ? site->host : site->trigger;
            const struct mst_articulation *met = mst_articulation_of(r->letters[letter].base), *a;
            for (int k = 0; met && (a = mst_articulation_at(k)) != NULL; k++)
                if (a->letter == met->letter)
                    *bits |= 1u << k;
        }
        mst_arena_free(arena);
        if (status != MST_OK)
            return status;
    }
    return MST_OK;
}

enum mst_status mst_build_cards(struct build *b)
{
    struct mst_figure figures[MST_FIGURES_MAX];
    struct mst_card cards[MST_RULE_COUNT + 32];
    const struct mst_articulation *a;
    uint32_t letters;
    int count = 0;
    enum mst_status status = letters_met(b, &letters);
    for (int r = 0; r < MST_RULE_COUNT; r++) {
        struct mst_card rule = {.kind = MST_CARD_RULE, .rule = (enum mst_rule)r};
        if (mst_rule_set_has(b->l->rules, rule.rule) && mst_card_figures(&rule, figures))
            cards[count++] = rule;
    }
    for (int k = 0; (a = mst_articulation_at(k)) != NULL; k++)
        if (letters >> k & 1u)
            cards[count++] =
                (struct mst_card){.kind = MST_CARD_LETTER, .letter = a->letter, .place = a->place};
    if (status == MST_OK && count == 0)
        return mst_build_missing(b, "Nothing in this lesson moves the mouth in a way to be drawn.",
                                 "ليس في هذا الدرس هيئة للفم تُرسم.");
    if (status == MST_OK)
        status = mst_build_subfolder(b, "cards");
    for (int n = 0; status == MST_OK && n < count; n++) {
        status = card(b, &cards[n]);
        if (status == MST_OK)
            status = mst_build_tell(b, (double)(n + 1) / count);
    }
    return status;
}

/* --- questions ------------------------------------------------------------------------------ */

/* The questions of every line, one behind the other. A line that yields none is missing. */
static enum mst_status questions_ask(struct build *b, char version, int first,
                                     struct mst_arena *arena, struct mst_question **out,
                                     size_t *count)
{
    struct mst_question *all = NULL;
    size_t sum = 0;
    for (int32_t n = 0; n < b->l->question_count; n++) {
        const struct mst_lesson_question *line = &b->l->questions[n];
        struct mst_question *some;
        char range[96];
        size_t made;
        enum mst_status status =
            mst_lesson_ask(b->text, b->l, line, version, arena, &some, &made, b->err);
        if (status != MST_OK)
            return status;
        if (first && made < (size_t)line->count) {
            (void)mst_range_print(line->range, range);
            const char *kind = mst_ask_kind_id((enum mst_ask_kind)line->kind);
            status = mst_build_missing(
                b,
                mst_arena_printf(b->arena, "%s yields only %zu of %d questions of the kind “%s”.",
                                 range, made, (int)line->count, kind),
                mst_arena_printf(b->arena, "لا يُستخرج من %s إلا %zu من %d أسئلة من نوع «%s».",
                                 range, made, (int)line->count, kind));
            if (status != MST_OK)
                return status;
        }
        if (made == 0)
            continue;
        all = mst_arena_grow(arena, all, sum, sum + made, sizeof *all);
        if (!all)
            return mst_build_no_memory(b->err);
        memcpy(all + sum, some, made * sizeof *all);
        sum += made;
    }
    *out = all;
    *count = sum;
    return MST_OK;
}

static enum mst_status version_make(struct build *b, char version, int first)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_question_pages pages = {.title_en = mst_span_of(b->l->title),
                                       .title_ar = mst_span_of(b->l->title_ar),
                                       .class_line = b->options->class_line,
                                       .version = version,
                                       .reading = b->l->reading,
                                       .labels = mst_lesson_labels(b->l),
                                       .page = b->options->page};
    struct mst_question *list = NULL;
    enum mst_status status = arena ? questions_ask(b, version, first, arena, &list, &pages.count)
                                   : mst_build_no_memory(b->err);
    pages.questions = list;
    for (int key = 0; status == MST_OK && key < 2 && pages.count > 0; key++) {
        struct mst_sheet *sheet;
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "questions/%s-questions-%c%s.pdf", b->prefix, version,
                 key ? "-key" : "");
        status = mst_questions_new(b->typeset, b->text, &pages, key, arena, &sheet, b->err);
        if (status == MST_OK)
            status = pdf(
                b, sheet, name,
                mst_arena_printf(
                    b->arena, key ? "Key to version %c, for the teacher" : "Questions, version %c",
                    version),
                mst_arena_printf(
                    b->arena, key ? "إجابات النموذج %c، للمعلم" : "الأسئلة، النموذج %c", version));
    }
    mst_arena_free(arena);
    return status;
}

enum mst_status mst_build_questions(struct build *b)
{
    const char *versions = b->options->versions ? b->options->versions : "ABC";
    size_t count = strlen(versions);
    if (b->l->question_count == 0)
        return mst_build_missing(b, "The lesson asks no questions; write them under [questions].",
                                 "ليس في الدرس أسئلة؛ اكتبها تحت [questions].");
    enum mst_status status = mst_build_subfolder(b, "questions");
    for (size_t n = 0; status == MST_OK && n < count; n++) {
        if (versions[n] < 'A' || versions[n] > 'Z')
            return mst_fail(b->err, MST_USAGE, "versions are letters from A to Z, such as ABC");
        status = version_make(b, versions[n], n == 0);
        if (status == MST_OK)
            status = mst_build_tell(b, (double)(n + 1) / (double)count);
    }
    return status;
}

/* --- the enrolment passage ---------------------------------------------------------------------
 */

enum mst_status mst_build_enrolment(struct build *b)
{
    struct mst_reading_options reading = b->l->reading;
    struct mst_enrol_query query = {.scope = {.options = &reading}};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_sheet *sheet;
    struct mst_enrol found;
    reading.stops = MST_STOPS_VERSES;
    enum mst_status status = arena ? mst_lesson_enrol(b->text, &query, arena, &found, b->err)
                                   : mst_build_no_memory(b->err);
    if (status == MST_OK)
        status = mst_build_tell(b, 0.9);
    if (status == MST_OK) {
        struct mst_verse_pages pages = {
            .title_en = MST_SPAN("To be read once, so that the ear learns a voice"),
            .title_ar = MST_SPAN("يُقرأ مرة واحدة لتتعرف الأذن على الصوت"),
            .verses = found.cover.verses,
            .count = (size_t)found.cover.verse_count,
            .reading = reading,
            .labels = mst_lesson_labels(b->l),
            .page = b->options->page};
        status = mst_verses_new(b->typeset, b->text, &pages, arena, &sheet, b->err);
    }
    if (status == MST_OK)
        status = pdf(b, sheet, "enrolment-passage.pdf",
                     mst_arena_printf(b->arena,
                                      "%d verses that hold every sound at least %d times, about "
                                      "%d:%02d minutes: from a recording of them the ear learns a "
                                      "voice",
                                      (int)found.cover.verse_count, found.times,
                                      (int)found.seconds / 60, (int)found.seconds % 60),
                     mst_arena_printf(b->arena,
                                      "الآيات: %d، فيها كل صوت %d مرات على الأقل، في نحو %d:%02d "
                                      "دقيقة: يُتعلَّم الصوت من تسجيلها",
                                      (int)found.cover.verse_count, found.times,
                                      (int)found.seconds / 60, (int)found.seconds % 60));
    mst_arena_free(arena);
    return status;
}
