/*
 * Progress pages (mistara/know.h), from top to bottom: a title, how to read a
 * strip, a row for each rule, what comes next. Each row: the rule's sign, words,
 * the strip; mirrored in Arabic; with both languages the strip stands between.
 */
#include "progress.h"
#include "parts.h"

#include <string.h>

enum { DESIGN_SIZE = 10, STRIP_HEIGHT = 40, SIGN_ROOM = 40 };

struct column {
    double x, width;
};

struct page {
    struct mst_leaves *leaves;
    struct mst_arena *arena;
    const struct mst_progress *p;
    struct mst_page_geometry at;
    double size; /* of plain words */
    int en, ar, failed;
    int leftward; /* Arabic alone: time runs from the right */
    double left, width;
    double sign;            /* the middle of its column */
    struct column words[2]; /* by language */
    struct column strip;
};

static struct mst_span kept(struct page *pg, struct mst_string *text)
{
    return text_kept(pg->arena, text, &pg->failed);
}

static struct mst_span label_of(const struct page *pg, enum mst_lang lang)
{
    return lang == MST_LANG_AR && pg->p->label_ar.len ? pg->p->label_ar : pg->p->label_en;
}

/* A phrase with the label or a date put in for its %s. */
static struct mst_span filled(struct page *pg, const char *form, struct mst_span in)
{
    struct mst_string out = {0};
    const char *gap = strstr(form, "%s");
    mst_string_add(&out, form, gap ? (size_t)(gap - form) : strlen(form));
    if (gap) {
        mst_string_add(&out, in.ptr, in.len);
        mst_string_adds(&out, gap + 2);
    }
    return kept(pg, &out);
}

/* --- words ------------------------------------------------------------------- */

struct said {
    struct mst_span of[2]; /* by language */
    enum mst_words_style style;
    double size;
    int soft;
};

static struct said phrase_of(const struct page *pg, enum progress_phrase phrase, double scale,
                             int soft)
{
    return (struct said){.of = {mst_span_of(progress_say(phrase, MST_LANG_EN)),
                                mst_span_of(progress_say(phrase, MST_LANG_AR))},
                         .size = pg->size * scale,
                         .soft = soft};
}

static int speaks(const struct page *pg, int lang)
{
    return lang ? pg->ar : pg->en;
}

/* One language in a column; returns where it ends. Arabic letters are set a little larger. */
static double say_aligned(struct page *pg, const struct said *s, int lang, struct column at,
                          double y, enum mst_words_align align, int draw)
{
    struct mst_words w = {.text = s->of[lang],
                          .style = s->style,
                          .align = align,
                          .size = s->size * (lang ? 1.08 : 1),
                          .x = at.x,
                          .y = y,
                          .width = at.width,
                          .leading = lang ? 1.5 : 1.32,
                          .soft = s->soft};
    if (s->of[lang].len == 0)
        return y;
    return draw ? mst_leaf_words(pg->leaves, &w) : mst_leaf_words_end(pg->leaves, &w);
}

static double say_one(struct page *pg, const struct said *s, int lang, struct column at, double y,
                      int draw)
{
    return say_aligned(pg, s, lang, at, y, lang ? MST_WORDS_RIGHT : MST_WORDS_LEFT, draw);
}

/* Each language in its half of the page; returns where the longer one ends. */
static double say(struct page *pg, const struct said *s, double y, int draw)
{
    double half = pg->en && pg->ar ? (pg->width - pg->size * 2) / 2 : pg->width, end = y;
    for (int lang = 0; lang < 2; lang++) {
        struct column at = {lang ? pg->left + pg->width - half : pg->left, half};
        double e = speaks(pg, lang) ? say_one(pg, s, lang, at, y, draw) : y;
        end = e > end ? e : end;
    }
    return end;
}

/* Small print in both languages, one under the other. */
static double small(struct page *pg, enum progress_phrase phrase, struct column at, double y,
                    enum mst_words_align align, int draw)
{
    struct said s = phrase_of(pg, phrase, 0.8, 1);
    for (int lang = 0; lang < 2; lang++)
        if (speaks(pg, lang))
            y = say_aligned(pg, &s, lang, at, y, align, draw);
    return y;
}

/* --- how to read a strip -------------------------------------------------------- */

/* A made-up strip in the strips' column, its parts named; returns where it ends. */
static double specimen(struct page *pg, double y)
{
    static const uint8_t heard[12] = {0, 2, 3, 0, 4, 2, 0, 6, 12, 3, 0, 4};
    static const uint8_t known[12] = {0, 22, 30, 28, 45, 56, 54, 70, 82, 90, 89, 93};
    static const uint8_t wide[12] = {0, 20, 18, 19, 15, 13, 14, 10, 7, 5, 6, 4};
    struct strip s = {.weeks = 12, .family = MST_FAMILY_SEAM};
    for (int w = 0; w < 12; w++) {
        s.heard[w] = heard[w];
        s.by_then[w] = w > 0;
        s.known[w] = known[w] / 100.0;
        s.low[w] = (known[w] - wide[w]) / 100.0;
        s.high[w] = (known[w] + wide[w]) / 100.0;
    }
    const struct column at = pg->strip;
    enum mst_words_align first = pg->leftward ? MST_WORDS_RIGHT : MST_WORDS_LEFT,
                         last = pg->leftward ? MST_WORDS_LEFT : MST_WORDS_RIGHT;
    double end = small(pg, SAY_TOP, at, y, last, 1);
    if (pg->p->reader != MST_PROGRESS_CLASS)
        small(pg, SAY_BAND, at, y, first, 1);
    strip_draw(pg->leaves, &s, at.x, end + 1, at.width, STRIP_HEIGHT, pg->leftward);
    return small(pg, SAY_TICK, at, end + STRIP_HEIGHT + 3, MST_WORDS_CENTRE, 1);
}

/* --- a row ------------------------------------------------------------------------ */

/* The first clause of what mouth and nose do: enough for someone at home. */
static struct mst_span first_clause(const char *text)
{
    size_t end = strcspn(text, ".;:");
    const char *arabic = strstr(text, "؛");
    if (arabic && (size_t)(arabic - text) < end)
        end = (size_t)(arabic - text);
    return (struct mst_span){text, end};
}

/* Of a rule that is known; one that is not is worked on anyhow. */
static int says_due(const struct page *pg, const struct progress_row *row)
{
    return pg->p->reader != MST_PROGRESS_CLASS && row->now.known >= 0.5 &&
           mst_is_due(row->now.due_ms, pg->p->until_ms);
}

static double row_words(struct page *pg, const struct progress_row *row, int lang, double y,
                        int draw)
{
    const struct column at = pg->words[lang];
    const enum mst_lang in = (enum mst_lang)lang;
    struct said name = {.style = MST_WORDS_BOLD, .size = pg->size * 1.05};
    name.of[lang] = mst_span_of(mst_rule_name(row->rule, in));
    y = say_one(pg, &name, lang, at, y, draw);
    if (pg->p->reader == MST_PROGRESS_PARENT) {
        struct said mouth = {.size = pg->size * 0.78, .soft = 1};
        mouth.of[lang] = first_clause(mst_rule_mouth(row->rule, in));
        y = say_one(pg, &mouth, lang, at, y, draw);
    }
    struct mst_string text = {0}, heard = {0};
    mst_string_adds(&text, progress_say(progress_state(&row->now), in));
    if (says_due(pg, row))
        mst_string_addf(&text, " · %s", progress_say(SAY_DUE, in));
    struct said state = {.style = lang ? MST_WORDS_PLAIN : MST_WORDS_ITALIC,
                         .size = pg->size * 0.92};
    state.of[lang] = kept(pg, &text);
    y = say_one(pg, &state, lang, at, y, draw);
    if (pg->p->reader == MST_PROGRESS_CLASS)
        return y;
    progress_say_heard(row->now.heard, row->now.last_ms, pg->p->utc_offset_minutes, in, &heard);
    struct said times = {.size = pg->size * 0.78, .soft = 1};
    times.of[lang] = kept(pg, &heard);
    return say_one(pg, &times, lang, at, y, draw);
}

/* Sign, words and strip; returns where the next row may begin. */
static double row(struct page *pg, const struct progress_row *r, double y, int draw)
{
    double end = y + STRIP_HEIGHT + 2;
    for (int lang = 0; lang < 2; lang++) {
        double e = speaks(pg, lang) ? row_words(pg, r, lang, y, draw) : y;
        end = e > end ? e : end;
    }
    if (draw) {
        mst_leaf_sign(pg->leaves, r->rule, 26, pg->sign, y + 12);
        strip_draw(pg->leaves, &r->strip, pg->strip.x, y, pg->strip.width, STRIP_HEIGHT,
                   pg->leftward);
    }
    return end + pg->size * 0.7;
}

/* --- what comes next ---------------------------------------------------------------- */

static struct said skill_name(struct page *pg, struct mst_member skill,
                              const struct mst_class_miss *miss)
{
    struct said s = {.size = pg->size};
    for (int lang = 0; lang < 2; lang++) {
        struct mst_string line = {0};
        mst_string_adds(&line, "– ");
        progress_say_skill(skill, (enum mst_lang)lang, &line);
        if (miss) {
            mst_string_adds(&line, ": ");
            progress_say_missing(miss, (enum mst_lang)lang, &line);
        }
        s.of[lang] = kept(pg, &line);
    }
    return s;
}

static double next_part(struct page *pg, const struct progress_rows *rows, double y, int draw)
{
    int whole_class = pg->p->reader == MST_PROGRESS_CLASS;
    size_t count = whole_class ? rows->miss_count : rows->weak_count;
    struct said title = phrase_of(pg, whole_class ? SAY_CLASS_NEXT_TITLE : SAY_NEXT_TITLE, 1.1, 0);
    title.style = MST_WORDS_BOLD;
    if (draw)
        mst_leaf_line(pg->leaves, pg->left, y, pg->left + pg->width, y);
    y = say(pg, &title, y + pg->size * 0.6, draw) + pg->size * 0.2;
    if (count == 0) {
        struct said none = phrase_of(pg, whole_class ? SAY_CLASS_NONE : SAY_NEXT_NONE, 1, 0);
        y = say(pg, &none, y, draw);
    }
    for (size_t n = 0; n < count; n++) {
        const struct mst_class_miss *miss = whole_class ? &rows->misses[n] : NULL;
        struct said line =
            skill_name(pg, miss ? rows->skills[miss->skill] : rows->weak[n].skill, miss);
        y = say(pg, &line, y, draw);
    }
    if (pg->p->reader == MST_PROGRESS_PARENT) {
        struct said help = phrase_of(pg, SAY_PARENT_HELP, 1, 0);
        y = say(pg, &help, y + pg->size * 0.5, draw);
    }
    return y;
}

/* --- the pages ------------------------------------------------------------------------ */

/* Small print at the bottom; returns where it begins. */
static double foot(struct page *pg, int draw)
{
    struct said s = {.size = pg->size * 0.75, .soft = 1};
    for (int lang = 0; lang < 2; lang++) {
        struct mst_string date = {0};
        progress_say_date(pg->p->until_ms, pg->p->utc_offset_minutes, (enum mst_lang)lang, &date);
        s.of[lang] = filled(pg, progress_say(SAY_FOOT, (enum mst_lang)lang), kept(pg, &date));
    }
    double y = pg->at.height - pg->at.bottom - say(pg, &s, 0, 0);
    if (draw)
        say(pg, &s, y, 1);
    return y;
}

static double head(struct page *pg)
{
    static const enum progress_phrase titles[] = {SAY_LEARNER_TITLE, SAY_PARENT_TITLE,
                                                  SAY_CLASS_TITLE};
    static const enum progress_phrase intros[] = {SAY_LEARNER_INTRO, SAY_PARENT_INTRO,
                                                  SAY_CLASS_INTRO};
    struct said title = {.style = MST_WORDS_BOLD,
                         .size = pg->size * (pg->en && pg->ar ? 1.25 : 1.4)};
    for (int lang = 0; lang < 2; lang++)
        title.of[lang] = filled(pg, progress_say(titles[pg->p->reader], (enum mst_lang)lang),
                                label_of(pg, (enum mst_lang)lang));
    double y = say(pg, &title, pg->at.top, 1);
    struct said class_line = {.size = pg->size * 0.95, .soft = 1};
    class_line.of[!pg->en] = pg->p->class_line;
    y = say_one(pg, &class_line, !pg->en, (struct column){pg->left, pg->width}, y, 1) + 5;
    mst_leaf_line(pg->leaves, pg->left, y, pg->left + pg->width, y);
    y += pg->size * 1.1;
    struct said intro = phrase_of(pg, intros[pg->p->reader], 0.92, 0);
    double end = specimen(pg, y);
    for (int lang = 0; lang < 2; lang++) {
        struct column at = pg->words[lang];
        if (lang == pg->leftward) { /* over the signs too */
            at.x -= lang ? 0 : SIGN_ROOM;
            at.width += SIGN_ROOM;
        }
        double e = speaks(pg, lang) ? say_one(pg, &intro, lang, at, y, 1) : y;
        end = e > end ? e : end;
    }
    return end + pg->size * 1.2;
}

/* The dates at the two ends of the strips. */
static double dates(struct page *pg, const struct progress_rows *rows, double y)
{
    const int64_t week = INT64_C(7) * 86400000;
    int64_t ends[2] = {pg->p->until_ms - rows->rows[0].strip.weeks * week, pg->p->until_ms};
    int lang = !pg->en;
    for (int end = 0; end < 2; end++) {
        struct mst_string date = {0};
        struct said s = {.size = pg->size * 0.75, .soft = 1};
        progress_say_date(ends[end], pg->p->utc_offset_minutes, (enum mst_lang)lang, &date);
        s.of[lang] = kept(pg, &date);
        say_aligned(pg, &s, lang, pg->strip, y,
                    end == pg->leftward ? MST_WORDS_LEFT : MST_WORDS_RIGHT, 1);
    }
    return y + pg->size * 1.4;
}

static double turn(struct page *pg, const struct progress_rows *rows)
{
    mst_leaves_turn(pg->leaves);
    foot(pg, 1);
    return dates(pg, rows, mst_leaves_count(pg->leaves) == 1 ? head(pg) : pg->at.top);
}

static void set(struct page *pg, const struct progress_rows *rows)
{
    double bottom = foot(pg, 0) - pg->size * 0.5, y = turn(pg, rows);
    for (int32_t n = 0; n < rows->count; n++) {
        if (row(pg, &rows->rows[n], y, 0) > bottom)
            y = turn(pg, rows);
        y = row(pg, &rows->rows[n], y, 1);
    }
    if (next_part(pg, rows, y, 0) > bottom) {
        mst_leaves_turn(pg->leaves);
        foot(pg, 1);
        y = pg->at.top;
    }
    next_part(pg, rows, y, 1);
}

static void lay_out(struct page *pg)
{
    const double gap = 14, margin = pg->at.width / 12;
    pg->leftward = pg->ar && !pg->en;
    pg->left = margin;
    pg->width = pg->at.width - 2 * margin;
    pg->at.top = pg->at.top < margin ? pg->at.top : margin;
    double rest = pg->width - SIGN_ROOM - gap, right = pg->left + pg->width;
    if (pg->en && pg->ar) {
        double words = (rest - gap) * 0.35;
        pg->words[0] = (struct column){pg->left + SIGN_ROOM, words};
        pg->words[1] = (struct column){right - words, words};
        pg->strip = (struct column){pg->words[0].x + words + gap, rest - gap - 2 * words};
    } else if (pg->en) {
        pg->words[0] = (struct column){pg->left + SIGN_ROOM, rest * 0.42};
        pg->strip = (struct column){right - rest * 0.58, rest * 0.58};
    } else {
        pg->words[1] = (struct column){right - SIGN_ROOM - rest * 0.42, rest * 0.42};
        pg->strip = (struct column){pg->left, rest * 0.58};
    }
    pg->sign = pg->leftward ? right - SIGN_ROOM / 2.0 + 4 : pg->left + SIGN_ROOM / 2.0 - 4;
}

enum mst_status mst_progress_new(struct mst_typeset *ts, const struct mst_know_model *model,
                                 const struct mst_class_evidence *evidence,
                                 const struct mst_spacing *spacing,
                                 const struct mst_progress *progress, struct mst_arena *arena,
                                 struct mst_sheet **out, struct mst_error *err)
{
    struct progress_rows rows;
    struct page pg = {.arena = arena,
                      .p = progress,
                      .at = progress->page.width > 0 ? progress->page : mst_page_a4(),
                      .size = DESIGN_SIZE,
                      .en = progress->labels != MST_LABELS_AR,
                      .ar = progress->labels != MST_LABELS_EN};
    *out = NULL;
    enum mst_status status =
        progress_rows_make(model, evidence, spacing, progress, arena, &rows, err);
    if (status != MST_OK)
        return status;
    lay_out(&pg);
    status = mst_leaves_new(ts, pg.at, label_of(&pg, pg.en ? MST_LANG_EN : MST_LANG_AR),
                            progress->labels, arena, &pg.leaves, err);
    if (status != MST_OK)
        return status;
    set(&pg, &rows);
    if (pg.failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
    return mst_leaves_close(pg.leaves, out, err);
}

enum mst_status mst_progress_write(struct mst_typeset *ts, const struct mst_know_model *model,
                                   const struct mst_class_evidence *evidence,
                                   const struct mst_spacing *spacing,
                                   const struct mst_progress *progress, const char *path,
                                   struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_sheet *sheet;
    if (!arena)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
    enum mst_status status =
        mst_progress_new(ts, model, evidence, spacing, progress, arena, &sheet, err);
    if (status == MST_OK)
        status = mst_sheet_write(sheet, path, 150, MST_THEME_LIGHT, err);
    mst_arena_free(arena);
    return status;
}
