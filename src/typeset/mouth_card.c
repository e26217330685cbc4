/* Articulation cards: what was asked for, its words, and the page (mistara/mouth.h). */
#include "mouth.h"

#include <string.h>

/* --- what was asked for ------------------------------------------------------------ */

/* Latin letters without their points and marks, lower case: "qāf" and "qaf" are one. */
static void plain_name(struct mst_span s, char out[32])
{
    size_t n = 0, off = 0;
    while (off < s.len && n < 30) {
        static const struct {
            uint32_t cp;
            char plain;
        } map[] = {{0x101, 'a'},  {0x12B, 'i'},  {0x16B, 'u'},  {0x1E25, 'h'}, {0x1E63, 's'},
                   {0x1E0D, 'd'}, {0x1E6D, 't'}, {0x1E93, 'z'}, {0x2BE, 0},    {0x2BF, 0},
                   {'\'', 0},     {0x2019, 0},   {0x2018, 0},   {'`', 0}};
        uint32_t cp = mst_utf8_next(s.ptr, s.len, &off);
        if (cp >= 'A' && cp <= 'Z')
            cp += 'a' - 'A';
        for (size_t i = 0; i < sizeof map / sizeof *map; i++)
            if (map[i].cp == cp)
                cp = (unsigned char)map[i].plain;
        if (cp && cp < 128)
            out[n++] = (char)cp;
        else if (cp >= 128)
            out[n++] = '?';
    }
    out[n] = '\0';
}

static const struct mst_articulation *letter_called(struct mst_span s)
{
    size_t off = 0;
    const struct mst_articulation *a, *found = NULL;
    uint32_t cp = s.len ? mst_utf8_next(s.ptr, s.len, &off) : 0;
    if (off == s.len && (a = mst_articulation_of(cp)) != NULL)
        return a;
    char typed[32], name[32];
    plain_name(s, typed);
    for (int n = 0; typed[0] && (a = mst_articulation_at(n)) != NULL; n++) {
        if (mst_span_equal(s, mst_span_of(a->name_en)) ||
            mst_span_equal(s, mst_span_of(a->name_ar)))
            return a; /* with its points: ḥāʾ is not hāʾ */
        plain_name(mst_span_of(a->name_en), name);
        if (!found && strcmp(typed, name) == 0)
            found = a;
    }
    return found;
}

static int place_called(struct mst_span s)
{
    int n = 0;
    if (s.len == 0 || s.len > 2)
        return 0;
    for (size_t i = 0; i < s.len; i++) {
        if (s.ptr[i] < '0' || s.ptr[i] > '9')
            return 0;
        n = n * 10 + (s.ptr[i] - '0');
    }
    return n >= 1 && n <= 17 ? n : -1;
}

enum mst_status mst_card_parse(struct mst_span s, struct mst_card *out, struct mst_error *err)
{
    *out = (struct mst_card){0};
    int place = place_called(s);
    const struct mst_articulation *a = place ? NULL : letter_called(s);
    if (place < 0)
        return mst_fail(err, MST_USAGE, "places of articulation go from 1 to 17; “%.*s” given",
                        (int)s.len, s.ptr);
    if (place) {
        out->kind = MST_CARD_PLACE;
        out->place = place;
        return MST_OK;
    }
    if (a) {
        out->kind = MST_CARD_LETTER;
        out->letter = a->letter;
        out->place = a->place;
        return MST_OK;
    }
    for (int r = 0; r < MST_RULE_COUNT; r++)
        if (mst_span_equal(s, mst_span_of(mst_rule_id((enum mst_rule)r)))) {
            out->kind = MST_CARD_RULE;
            out->rule = (enum mst_rule)r;
            return MST_OK;
        }
    return mst_fail(err, MST_NOT_FOUND,
                    "“%.*s” is no letter (ق or qāf), no place (1 to 17) and no rule (ikhfa); "
                    "“mistara rules” lists the rules",
                    (int)(s.len < 60 ? s.len : 60), s.ptr);
}

/* --- words ---------------------------------------------------------------------------- */

static const char *say(enum mst_lang lang, const char *en, const char *ar)
{
    return lang == MST_LANG_AR ? ar : en;
}

void mst_card_title(const struct mst_card *card, enum mst_lang lang, struct mst_string *out)
{
    const struct mst_articulation *a;
    const struct mst_articulation_place *p;
    struct mst_span n;
    char digits[24];
    switch (card->kind) {
    case MST_CARD_LETTER:
        a = mst_articulation_of(card->letter);
        if (lang == MST_LANG_AR)
            mst_string_adds(out, a->name_ar);
        else
            mst_string_adds(out, a->name_en);
        break;
    case MST_CARD_PLACE:
        n = arabic_number(card->place, digits);
        if (lang == MST_LANG_AR)
            mst_string_addf(out, "المخرج %.*s: ", (int)n.len, n.ptr);
        else
            mst_string_addf(out, "Place %d: ", card->place);
        p = mst_articulation_place(card->place);
        mst_string_adds(out, say(lang, p->region_en, p->region_ar));
        break;
    case MST_CARD_RULE:
        mst_string_adds(out, mst_rule_name(card->rule, lang));
        break;
    }
}

static void where(const char *place_en, const char *place_ar, enum mst_lang lang,
                  struct mst_string *out)
{
    mst_string_addf(out, say(lang, "Made at: %s.\n", "المخرج: %s.\n"),
                    say(lang, place_en, place_ar));
}

static void letters_of(int place, enum mst_lang lang, struct mst_string *out)
{
    const struct mst_articulation *a;
    int some = 0;
    mst_string_adds(out, say(lang, "Letters: ", "الحروف: "));
    for (int n = 0; (a = mst_articulation_at(n)) != NULL; n++)
        if (a->place == place) {
            mst_string_adds(out, some++ ? say(lang, ", ", "، ") : "");
            mst_string_adds(out, say(lang, a->name_en, a->name_ar));
        }
    mst_string_adds(out, ".\n");
}

static void qualities(const struct mst_articulation *a, enum mst_lang lang, struct mst_string *out)
{
    int some = 0;
    mst_string_adds(out, say(lang, "Qualities: ", "الصفات: "));
    for (int q = 0; q < MST_QUALITY_COUNT; q++)
        if (a->qualities >> q & 1u) {
            mst_string_adds(out, some++ ? say(lang, ", ", "، ") : "");
            mst_string_adds(out, mst_quality_name(q, lang));
        }
    mst_string_adds(out, ".\n");
}

/* What the picture shows, in words: from the posture that was drawn. */
static void stance(const struct mst_posture *p, enum mst_lang lang, struct mst_string *out)
{
    static const char *const lips[][2] = {
        [MST_LIPS_OPEN] = {"The lips are apart.", "الشفتان منفرجتان."},
        [MST_LIPS_CLOSED] = {"The lips are closed.", "الشفتان منطبقتان."},
        [MST_LIPS_LIGHT] = {"The lips touch lightly.", "الشفتان منطبقتان برفق."},
        [MST_LIPS_ROUNDED] = {"The lips are rounded.", "الشفتان مضمومتان."},
        [MST_LIPS_TEETH] = {"The lower lip is at the edge of the upper teeth.",
                            "الشفة السفلى عند أطراف الثنايا العليا."}};
    mst_string_adds(out, lips[p->lips][lang == MST_LANG_AR]);
    mst_string_adds(out, " ");
    if (p->back_up >= 4)
        mst_string_adds(out, say(lang, "The back of the tongue rises. ", "يرتفع أقصى اللسان. "));
    if (p->nose)
        mst_string_adds(out, say(lang, "The veil of the palate hangs: air goes through the nose.",
                                 "اللهاة منخفضة فيخرج الهواء من الخيشوم."));
    else
        mst_string_adds(out, say(lang, "The veil of the palate closes the nose.",
                                 "اللهاة مرتفعة تسد مجرى الخيشوم."));
    if (p->manner == MST_MANNER_SIDES)
        mst_string_adds(
            out, say(lang, " The air passes beside the tongue.", " ويخرج الهواء من جانب اللسان."));
    mst_string_adds(out, "\n");
}

void mst_card_words(const struct mst_card *card, enum mst_lang lang, struct mst_string *out)
{
    const struct mst_articulation *a;
    const struct mst_articulation_place *p;
    struct mst_span n;
    char digits[24];
    struct mst_posture posture;
    switch (card->kind) {
    case MST_CARD_LETTER:
        a = mst_articulation_of(card->letter);
        n = arabic_number(a->place, digits);
        if (lang == MST_LANG_AR)
            mst_string_addf(out, "المخرج %.*s من ١٧: %s.\n", (int)n.len, n.ptr, a->region_ar);
        else
            mst_string_addf(out, "Place %d of 17: %s.\n", a->place, a->region_en);
        where(a->place_en, a->place_ar, lang, out);
        if (mst_posture_of_letter(a->letter, &posture))
            stance(&posture, lang, out);
        qualities(a, lang, out);
        break;
    case MST_CARD_PLACE:
        p = mst_articulation_place(card->place);
        where(p->place_en, p->place_ar, lang, out);
        if (card->place == 1) /* the two others have another place as consonants */
            mst_string_adds(out, say(lang, "Alif, and wāw and yāʾ where they lengthen.\n",
                                     "الألف، والواو والياء المديتان.\n"));
        else if (card->place == 17) { /* no letter of its own */
            mst_string_adds(out,
                            say(lang, "The nasal sound of nūn and mīm. ", "غنة النون والميم. "));
            mst_string_adds(out, mst_rule_mouth(MST_RULE_GHUNNA, lang));
        } else
            letters_of(card->place, lang, out);
        break;
    case MST_CARD_RULE:
        mst_string_adds(out, mst_rule_mouth(card->rule, lang));
        break;
    }
}

/* --- the page ---------------------------------------------------------------------------- */

static const struct mst_page_geometry a5_across = {.width = 595.28,
                                                   .height = 419.53,
                                                   .top = 30,
                                                   .right = 36,
                                                   .bottom = 26,
                                                   .left = 36,
                                                   .type_size = 22,
                                                   .label_size = 9};

static double set(struct mst_leaves *leaves, struct mst_span text, enum mst_lang lang,
                  enum mst_words_style style, double size, double x, double y, double width)
{
    struct mst_words words = {.text = text,
                              .style = style,
                              .align = lang == MST_LANG_AR ? MST_WORDS_RIGHT : MST_WORDS_LEFT,
                              .size = size,
                              .x = x,
                              .y = y,
                              .width = width,
                              .leading = lang == MST_LANG_AR ? 1.65 : 1.4};
    return mst_leaf_words(leaves, &words);
}

static struct mst_span span_of(const struct mst_string *s)
{
    return (struct mst_span){s->ptr ? s->ptr : "", s->len};
}

struct layout {
    struct mst_leaves *leaves;
    const struct mst_card *card;
    int en, ar;
    int failed;
    struct mst_page_geometry page;
    struct mst_arena *arena;
};

/* Words of a card, in the arena: labels keep nothing of them, but the file's title does. */
static struct mst_span words_of(struct layout *l, enum mst_lang lang,
                                void (*write)(const struct mst_card *, enum mst_lang,
                                              struct mst_string *))
{
    struct mst_string s = {0};
    write(l->card, lang, &s);
    struct mst_span text = span_of(&s);
    char *kept = mst_arena_strndup(l->arena, text.ptr, text.len);
    l->failed |= s.failed || !kept;
    mst_string_free(&s);
    return (struct mst_span){kept ? kept : "", kept ? text.len : 0};
}

static void head(struct layout *l)
{
    const struct mst_page_geometry *p = &l->page;
    double width = p->width - p->left - p->right;
    if (l->en)
        set(l->leaves, words_of(l, MST_LANG_EN, mst_card_title), MST_LANG_EN, MST_WORDS_BOLD, 20,
            p->left, p->top, width);
    if (l->ar)
        set(l->leaves, words_of(l, MST_LANG_AR, mst_card_title), MST_LANG_AR, MST_WORDS_BOLD, 20,
            p->left, p->top, width);
    /* clear of the tails of jīm and its like */
    mst_leaf_line(l->leaves, p->left, p->top + 41, p->width - p->right, p->top + 41);
}

static void foot(struct layout *l)
{
    static const char *const how[] = {
        "Ring: the place, filled where two parts touch. Dashes: the air, out at the lips or at the "
        "nose; a bar where it is held.",
        "الحلقة: المخرج، ممتلئة عند التلاصق. الخط المتقطع: الهواء، من الفم أو من الخيشوم، والحاجز "
        "حيث "
        "يُحبس."};
    const struct mst_page_geometry *p = &l->page;
    double width = p->width - p->left - p->right, y = p->height - p->bottom - 30;
    for (int lang = 0; lang < 2; lang++) {
        struct mst_words words = {.text = mst_span_of(how[lang]),
                                  .align = lang ? MST_WORDS_RIGHT : MST_WORDS_LEFT,
                                  .size = 8,
                                  .x = p->left,
                                  .y = y,
                                  .width = width,
                                  .soft = 1};
        if (lang ? l->ar : l->en)
            y = mst_leaf_words(l->leaves, &words) + 2;
    }
}

static void caption(struct layout *l, const struct mst_figure *f, double x, double y, double width)
{
    struct mst_words words = {.text = mst_span_of(f->caption_en),
                              .align = MST_WORDS_CENTRE,
                              .size = 9,
                              .x = x,
                              .y = y,
                              .width = width,
                              .leading = 1.3};
    if (l->en)
        words.y = mst_leaf_words(l->leaves, &words);
    words.text = mst_span_of(f->caption_ar);
    words.size = 10;
    if (l->ar)
        mst_leaf_words(l->leaves, &words);
}

/* Both languages under one another in one column, or side by side in two; where they end. */
static double words(struct layout *l, double x, double y, double width, int side_by_side, int draw)
{
    double column = side_by_side && l->en && l->ar ? (width - 20) / 2 : width, end = y;
    for (int lang = l->en ? 0 : 1; lang < (l->ar ? 2 : 1); lang++) {
        struct mst_words w = {.text = words_of(l, lang ? MST_LANG_AR : MST_LANG_EN, mst_card_words),
                              .align = lang ? MST_WORDS_RIGHT : MST_WORDS_LEFT,
                              .size = lang ? 11.5 : 10.5,
                              .leading = lang ? 1.6 : 1.4,
                              .x = lang ? x + width - column : x,
                              .y = side_by_side ? y : end + 8 * lang,
                              .width = column};
        double e = draw ? mst_leaf_words(l->leaves, &w) : mst_leaf_words_end(l->leaves, &w);
        end = e > end ? e : end;
    }
    return end;
}

static void body(struct layout *l, const struct mst_figure *figures, int count)
{
    const struct mst_page_geometry *p = &l->page;
    const double width = p->width - p->left - p->right, top = p->top + 48, captions = 34;
    const double bottom = p->height - p->bottom - 36;
    if (count == 1) {
        mst_leaf_figure(l->leaves, &figures[0], p->left, top, 222);
        words(l, p->left + 246, top + 6, width - 246, 0, 1);
        return;
    }
    if (count == 2 && figures[1].palate && l->card->kind == MST_CARD_LETTER) {
        mst_leaf_figure(l->leaves, &figures[0], p->left - 6, top + 14, 172);
        mst_leaf_figure(l->leaves, &figures[1], p->left + 158, top + 62, 128);
        caption(l, &figures[0], p->left - 6, top + 232, 172);
        caption(l, &figures[1], p->left + 158, top + 232, 128);
        words(l, p->left + 300, top + 2, width - 300, 0, 1);
        return;
    }
    double text = words(l, p->left, 0, width, 1, 0);
    double each = (bottom - text - captions - top) / 1.2;
    each = each > 165 ? 165 : each;
    double gap = (width - count * each) / (count + 1);
    for (int i = 0; i < count; i++) {
        double x = p->left + gap + i * (each + gap);
        mst_leaf_figure(l->leaves, &figures[i], x, top + (figures[i].palate ? 0.1 * each : 0),
                        each);
        caption(l, &figures[i], x - gap / 2, top + each * 1.2 + 2, each + gap);
    }
    words(l, p->left, top + each * 1.2 + captions + 4, width, 1, 1);
}

enum mst_status mst_card_new(struct mst_typeset *ts, const struct mst_card *card,
                             enum mst_sheet_labels labels, struct mst_arena *arena,
                             struct mst_sheet **out, struct mst_error *err)
{
    struct mst_figure figures[MST_FIGURES_MAX];
    struct layout l = {.card = card,
                       .en = labels != MST_LABELS_AR,
                       .ar = labels != MST_LABELS_EN,
                       .page = a5_across,
                       .arena = arena};
    int count = mst_card_figures(card, figures);
    *out = NULL;
    if (count == 0)
        return mst_fail(err, MST_USAGE,
                        "“%s” changes nothing in the mouth that a picture could show; choose a "
                        "letter or another rule",
                        mst_rule_id(card->rule));
    struct mst_span title = words_of(&l, l.en ? MST_LANG_EN : MST_LANG_AR, mst_card_title);
    enum mst_status status = mst_leaves_new(ts, l.page, title, labels, arena, &l.leaves, err);
    if (status != MST_OK)
        return status;
    mst_leaves_turn(l.leaves);
    head(&l);
    body(&l, figures, count);
    foot(&l);
    if (l.failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the card");
    return mst_leaves_close(l.leaves, out, err);
}
