/* course.c – `mistara course`: what is taught when, and what such a plan leaves out. */
#include "cli.h"

#include <mistara/lesson.h>
#include <stdio.h>
#include <string.h>

struct request {
    const char *lang;
    int json;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, for other programs", TARGET(json)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the names", TARGET(lang)},
};
static const struct option_group options_group = {"Options:", rows, sizeof rows / sizeof rows[0]};

static void name_add(struct mst_string *s, struct mst_span words, enum mst_lang lang,
                     struct out *out)
{
    if (lang == MST_LANG_AR)
        out_arabic(out, words);
    else
        mst_string_add(s, words.ptr, words.len);
}

static void rules_add(struct out *out, struct mst_rule_set rules, enum mst_lang lang)
{
    const char *between = "";
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(rules, (enum mst_rule)rule)) {
            mst_string_adds(&out->text, between);
            name_add(&out->text, mst_span_of(mst_rule_name((enum mst_rule)rule, lang)), lang, out);
            between = ", ";
        }
}

static const char *in_lang(const char *en, const char *ar, enum mst_lang lang)
{
    return (lang == MST_LANG_AR && *ar) || !*en ? ar : en;
}

static const char *title_of(const struct mst_course_lesson *l, enum mst_lang lang)
{
    return in_lang(l->title, l->title_ar, lang);
}

static void member_add(struct out *out, struct mst_member member, enum mst_lang lang)
{
    struct mst_string name = {0};
    mst_member_name(member, lang, &name);
    name_add(&out->text, (struct mst_span){name.ptr, name.len}, lang, out);
    out->text.failed |= name.failed;
    mst_string_free(&name);
}

/* --- show -------------------------------------------------------------------------- */

static void show(const struct mst_course *c, enum mst_lang lang, struct out *out)
{
    out_ink(out, INK_STRONG);
    mst_string_adds(&out->text, lang == MST_LANG_AR && *c->title_ar ? c->title_ar : c->title);
    out_ink(out, INK_PLAIN);
    mst_string_addf(&out->text, "\n%s\n\n", in_lang(c->source, c->source_ar, lang));
    for (int32_t n = 0; n < c->lesson_count; n++) {
        const struct mst_course_lesson *l = &c->lessons[n];
        mst_string_addf(&out->text, "%3d  ", n + 1);
        out_padded(out, mst_span_of(l->passage_typed), 10);
        name_add(&out->text, mst_span_of(title_of(l, lang)), lang, out);
        mst_string_adds(&out->text, "\n               ");
        rules_add(out, l->rules, lang);
        const char *chapter = in_lang(l->chapter, l->chapter_ar, lang);
        mst_string_adds(&out->text, l->rules.bits && *chapter ? " · " : "");
        name_add(&out->text, mst_span_of(chapter), lang, out);
        mst_string_adds(&out->text, *l->file ? " · written\n" : "\n");
        out_more(out);
    }
}

static void show_json(const struct mst_course *c, struct out *out)
{
    struct mst_string *s = &out->text;
    for (int32_t n = 0; n < c->lesson_count; n++) {
        const struct mst_course_lesson *l = &c->lessons[n];
        const char *between = "";
        mst_string_adds(s, "{");
        json_number(s, "lesson", n + 1);
        json_text(s, "title", mst_span_of(l->title));
        json_text(s, "title_ar", mst_span_of(l->title_ar));
        json_text(s, "chapter", mst_span_of(l->chapter));
        json_text(s, "chapter_ar", mst_span_of(l->chapter_ar));
        json_key(s, "rules");
        mst_string_adds(s, "[");
        for (int rule = 0; rule < MST_RULE_COUNT; rule++)
            if (mst_rule_set_has(l->rules, (enum mst_rule)rule)) {
                mst_string_addf(s, "%s\"%s\"", between, mst_rule_id((enum mst_rule)rule));
                between = ",";
            }
        mst_string_adds(s, "]");
        json_text_or_null(s, "examples", mst_span_of(l->examples_typed));
        json_text_or_null(s, "passage", mst_span_of(l->passage_typed));
        json_text_or_null(s, "file", mst_span_of(l->file));
        mst_string_adds(s, "}\n");
        out_more(out);
    }
}

/* --- check --------------------------------------------------------------------------- */

static void check_table(const struct mst_course *c, const struct mst_course_report *r,
                        enum mst_lang lang, struct out *out)
{
    char at[96];
    for (int32_t n = 0; n < r->use_count; n++) {
        const struct mst_course_use *u = &r->uses[n];
        mst_string_addf(&out->text, "lesson %d (%s): ", u->lesson + 1, c->lessons[u->lesson].title);
        member_add(out, u->shows, lang);
        mst_string_addf(&out->text, " in %s needs ", mst_range_print(u->range, at));
        rules_add(out, (struct mst_rule_set){UINT64_C(1) << u->rule}, lang);
        if (u->taught_in >= 0)
            mst_string_addf(&out->text, ", taught in lesson %d\n", u->taught_in + 1);
        else
            mst_string_adds(&out->text, ", never taught\n");
        out_more(out);
    }
    for (int32_t n = 0; n < r->gap_count; n++) {
        mst_string_addf(&out->text, "never exemplified: ");
        member_add(out, r->gaps[n].member, lang);
        mst_string_addf(&out->text, " (taught in lesson %d; %d places in the text)\n",
                        r->gaps[n].lesson + 1, r->gaps[n].in_text);
        out_more(out);
    }
    if (r->never_taught.bits) {
        mst_string_adds(&out->text, "never taught: ");
        rules_add(out, r->never_taught, lang);
        mst_string_adds(&out->text, "\n");
    }
    if (r->juz_untouched) {
        mst_string_adds(&out->text, "juz never read:");
        for (int juz = 1; juz <= 30; juz++)
            if (r->juz_untouched >> (juz - 1) & 1u)
                mst_string_addf(&out->text, " %d", juz);
        mst_string_adds(&out->text, "\n");
    }
    mst_string_addf(&out->text,
                    "%d lessons; %d of %d letters and kinds exemplified; %d needed too early\n",
                    c->lesson_count, r->members_shown, r->members, r->use_count);
}

static void check_json(const struct mst_course_report *r, struct out *out)
{
    struct mst_string *s = &out->text, name = {0};
    char at[96];
    for (int32_t n = 0; n < r->use_count; n++) {
        const struct mst_course_use *u = &r->uses[n];
        mst_string_adds(s, "{");
        json_text(s, "kind", MST_SPAN("needs"));
        json_number(s, "lesson", u->lesson + 1);
        name.len = 0;
        mst_member_name(u->shows, MST_LANG_EN, &name);
        json_text(s, "shows", (struct mst_span){name.ptr, name.len});
        json_text(s, "at", mst_span_of(mst_range_print(u->range, at)));
        json_text(s, "rule", mst_span_of(mst_rule_id(u->rule)));
        if (u->taught_in >= 0)
            json_number(s, "taught_in", u->taught_in + 1);
        else
            json_null(s, "taught_in");
        mst_string_adds(s, "}\n");
    }
    for (int32_t n = 0; n < r->gap_count; n++) {
        mst_string_adds(s, "{");
        json_text(s, "kind", MST_SPAN("never exemplified"));
        json_number(s, "lesson", r->gaps[n].lesson + 1);
        name.len = 0;
        mst_member_name(r->gaps[n].member, MST_LANG_EN, &name);
        json_text(s, "member", (struct mst_span){name.ptr, name.len});
        json_number(s, "in_text", r->gaps[n].in_text);
        mst_string_adds(s, "}\n");
    }
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(r->never_taught, (enum mst_rule)rule)) {
            mst_string_adds(s, "{");
            json_text(s, "kind", MST_SPAN("never taught"));
            json_text(s, "rule", mst_span_of(mst_rule_id((enum mst_rule)rule)));
            mst_string_adds(s, "}\n");
        }
    for (int juz = 1; juz <= 30; juz++)
        if (r->juz_untouched >> (juz - 1) & 1u) {
            mst_string_adds(s, "{");
            json_text(s, "kind", MST_SPAN("juz never read"));
            json_number(s, "juz", juz);
            mst_string_adds(s, "}\n");
        }
    s->failed |= name.failed;
    mst_string_free(&name);
}

/* --- the command ------------------------------------------------------------------------ */

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request q = {0};
    void *const targets[] = {&q};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_course course;
    struct mst_lesson_problems problems = {0};
    struct mst_course_report report;
    const char *const *words;
    const char *path = NULL;
    size_t count = 0;
    int checks = 0;
    enum mst_lang lang = MST_LANG_EN;
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &count, err);
    if (status == MST_OK)
        status = lang_chosen(q.lang, &lang, err);
    if (status == MST_OK && count > 0)
        checks = strcmp(words[0], "check") == 0;
    if (status == MST_OK && (count == 0 || count > 2 || (!checks && strcmp(words[0], "show") != 0)))
        status = mst_fail(err, MST_USAGE,
                          "say what to do: mistara course show or mistara course check, and a "
                          "course file when it is your own");
    if (status == MST_OK)
        path = count == 2 ? words[1] : mst_course_default_path(arena);
    if (status == MST_OK && !path)
        status = mst_fail(err, MST_NOT_FOUND,
                          "the default course was not installed; name a course file");
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = mst_course_open(text, path, arena, &course, &problems, err);
    if (problems.count > 0)
        problems_print(path, &problems, q.json, out);
    if (problems.mistakes > 0)
        status = mst_fail(err, MST_BAD_DATA, "“%s” has %d %s", path, problems.mistakes,
                          problems.mistakes == 1 ? "mistake" : "mistakes");
    if (status == MST_OK && checks)
        status = mst_course_check(text, &course, arena, &report, err);
    if (status == MST_OK && checks && q.json)
        check_json(&report, out);
    else if (status == MST_OK && checks)
        check_table(&course, &report, lang, out);
    else if (status == MST_OK && q.json)
        show_json(&course, out);
    else if (status == MST_OK)
        show(&course, lang, out);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_course = {
    .name = "course",
    .arguments = "show|check [FILE]",
    .asks = "what to do, for example: mistara course check",
    .summary = "what is taught when, and what the plan leaves out",
    .about = "show   the lessons in order: what each teaches, where the class reads\n"
             "check  which lesson needs a rule not yet taught, which letters and kinds are never\n"
             "       exemplified, which juz is never read\n"
             "Without a file: the default course, by the chapters of Tuḥfat al-aṭfāl, then of\n"
             "al-Jazariyya (order from memory), through the text juz by juz.",
    .examples = "  mistara course show                  the default course\n"
                "  mistara course check                 what it leaves out\n"
                "  mistara course check my.course       the same of your own\n",
    .groups = {&options_group},
    .run = run,
};
