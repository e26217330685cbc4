/* course_plan.c – what a course teaches when, and what it leaves out, as the lesson floor sees it.
 */
#include "answers.h"

#include <mistara/lesson.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* On the desk, a course's lesson is called by its id: "k3v9x2m4q7w1t5za.lesson". The lesson floor
 * reads files, so those there are are laid out in a folder of their own for as long as it looks;
 * what a killed desk leaves of it goes with what was incoming. */
static enum mst_status lessons_lay_out(struct request *rq, struct mst_course *course,
                                       const char *folder, crypto_generichash_state *state,
                                       struct mst_error *err)
{
    static const char ending[] = ".lesson";
    for (int32_t n = 0; n < course->lesson_count; n++) {
        struct mst_course_lesson *lesson = &course->lessons[n];
        struct mst_document d;
        struct mst_error none;
        size_t len = strlen(lesson->file), tail = sizeof ending - 1;
        if (len <= tail || strcmp(lesson->file + len - tail, ending) != 0)
            continue;
        const char *id = mst_arena_strndup(rq->arena, lesson->file, len - tail);
        if (!id)
            return no_memory(err);
        enum mst_status status =
            mst_store_document_get(rq->desk->store, "lesson", id, rq->arena, &d, &none);
        if (status == MST_NOT_FOUND)
            continue; /* deleted since: judged as one that is still to be written */
        if (status != MST_OK)
            return mst_fail(err, status, "%s", none.message);
        crypto_generichash_update(state, (const unsigned char *)&n, sizeof n);
        crypto_generichash_update(state, (const unsigned char *)d.text, strlen(d.text));
        lesson->path = mst_arena_printf(rq->arena, "%s/%d", folder, n);
        if (!lesson->path)
            return no_memory(err);
        status = mst_file_write(lesson->path, d.text, strlen(d.text), err);
        if (status != MST_OK)
            return status;
    }
    return MST_OK;
}

static void rules_json(struct mst_string *s, const char *key, struct mst_rule_set rules)
{
    js_open(s, key, '[');
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(rules, (enum mst_rule)rule))
            js_text(s, NULL, mst_rule_id((enum mst_rule)rule));
    js_close(s, ']');
}

static void member_names(struct mst_string *s, const char *key, const char *key_ar,
                         struct mst_member member)
{
    struct mst_string name = {0};
    mst_member_name(member, MST_LANG_EN, &name);
    js_take(s, key, &name);
    mst_member_name(member, MST_LANG_AR, &name);
    js_take(s, key_ar, &name);
}

static void lessons_json(struct mst_string *s, const struct mst_course *c)
{
    js_open(s, "lessons", '[');
    for (int32_t n = 0; n < c->lesson_count; n++) {
        const struct mst_course_lesson *l = &c->lessons[n];
        js_open(s, NULL, '{');
        js_integer(s, "lesson", n + 1);
        js_text(s, "title", l->title);
        js_text(s, "title_ar", l->title_ar);
        js_text(s, "chapter", l->chapter);
        js_text(s, "chapter_ar", l->chapter_ar);
        rules_json(s, "rules", l->rules);
        js_text_or_null(s, "examples", mst_span_of(l->examples_typed));
        js_text_or_null(s, "passage", mst_span_of(l->passage_typed));
        js_text_or_null(s, "file", mst_span_of(l->file));
        js_text_or_null(s, "date", mst_span_of(l->date));
        js_integer(s, "line", l->line);
        js_close(s, '}');
    }
    js_close(s, ']');
}

static void report_json(struct mst_string *s, const struct mst_course *c,
                        const struct mst_course_report *r)
{
    char at[96];
    js_open(s, NULL, '{');
    lessons_json(s, c);
    js_open(s, "needs", '[');
    for (int32_t n = 0; n < r->use_count; n++) {
        const struct mst_course_use *u = &r->uses[n];
        js_open(s, NULL, '{');
        js_integer(s, "lesson", u->lesson + 1);
        member_names(s, "shows", "shows_ar", u->shows);
        js_text(s, "passage", passage_id(u->range, at));
        js_text(s, "rule", mst_rule_id((enum mst_rule)u->rule));
        js_count(s, "taught_in", u->taught_in + 1);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_open(s, "gaps", '[');
    for (int32_t n = 0; n < r->gap_count; n++) {
        js_open(s, NULL, '{');
        member_names(s, "member", "member_ar", r->gaps[n].member);
        js_integer(s, "lesson", r->gaps[n].lesson + 1);
        js_integer(s, "in_text", r->gaps[n].in_text);
        js_close(s, '}');
    }
    js_close(s, ']');
    rules_json(s, "never_taught", r->never_taught);
    js_open(s, "juz_untouched", '[');
    for (int juz = 1; juz <= 30; juz++)
        if (r->juz_untouched >> (juz - 1) & 1u)
            js_integer(s, NULL, juz);
    js_close(s, ']');
    js_integer(s, "members", r->members);
    js_integer(s, "members_shown", r->members_shown);
    js_close(s, '}');
}

/* A plan hangs on the course and on its lessons as they are written: the answer is kept under their
 * hash (answers.h), so that looking at a plan again costs nothing until one of them changes. */
static struct request *kept_as(struct request *rq, crypto_generichash_state *state)
{
    unsigned char hash[16];
    char hex[2 * sizeof hash + 1];
    struct request *asked = mst_arena_alloc(rq->arena, 1, sizeof *asked);
    crypto_generichash_final(state, hash, sizeof hash);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    if (!asked)
        return NULL;
    asked->desk = rq->desk;
    asked->route = rq->route;
    asked->params[0] = (struct param){"of", mst_arena_strndup(rq->arena, hex, sizeof hex - 1)};
    asked->param_count = asked->params[0].value != NULL;
    return asked->param_count ? asked : NULL;
}

static enum mst_status plan_reply(struct request *rq, struct mst_course *course,
                                  struct request *asked, struct mst_error *err)
{
    struct mst_course_report report;
    struct mst_string body = {0};
    struct answer *answer = asked ? answer_find(asked) : NULL;
    if (!answer) {
        enum mst_status status = mst_course_check(rq->desk->text, course, rq->arena, &report, err);
        if (status != MST_OK)
            return status;
        report_json(&body, course, &report);
        answer = asked ? answer_keep(asked, &body) : NULL;
    }
    if (answer)
        mst_string_add(&rq->reply.body, answer_body(answer).ptr, answer_body(answer).len);
    else
        rq->reply.body = body;
    answer_let_go(answer);
    return MST_OK;
}

enum mst_status get_course_plan(struct request *rq, struct mst_error *err)
{
    struct mst_document d;
    struct mst_course course;
    struct mst_lesson_problems problems;
    crypto_generichash_state state;
    enum mst_status status = get_course(rq, err); /* makes it when it is not there */
    mst_string_free(&rq->reply.body);
    if (status == MST_OK)
        status = mst_store_document_get(rq->desk->store, "course", "course", rq->arena, &d, err);
    if (status == MST_OK)
        status = mst_course_parse(rq->desk->text, mst_span_of(d.text), NULL, rq->arena, &course,
                                  &problems, err);
    if (status != MST_OK)
        return status;
    crypto_generichash_init(&state, NULL, 0, 16);
    crypto_generichash_update(&state, (const unsigned char *)d.text, strlen(d.text));
    char *folder =
        mst_arena_printf(rq->arena, "%s/incoming/plan.XXXXXX", mst_store_folder(rq->desk->store));
    if (!folder)
        return no_memory(err);
    if (!mkdtemp(folder))
        return mst_fail(err, MST_IO, "the data folder cannot be written to");
    status = lessons_lay_out(rq, &course, folder, &state, err);
    if (status == MST_OK)
        status = plan_reply(rq, &course, kept_as(rq, &state), err);
    for (int32_t n = 0; n < course.lesson_count; n++)
        if (course.lessons[n].path)
            unlink(course.lessons[n].path);
    rmdir(folder);
    return status;
}
