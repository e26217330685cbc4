/* csv.c – what is known as rows for a spreadsheet. */
#include "parts.h"

#include <string.h>
#include <time.h>

static void cell(struct mst_string *out, const char *text, size_t len, int last)
{
    mst_string_add_csv(out, text, len);
    mst_string_adds(out, last ? "\r\n" : ",");
}

static void chance_cell(struct mst_string *out, double p)
{
    mst_string_addf(out, "%.3f,", p);
}

static void time_cell(struct mst_string *out, int64_t ms, int last)
{
    char text[32] = "";
    time_t seconds = (time_t)(ms / 1000);
    struct tm tm;
    if (ms > 0 && gmtime_r(&seconds, &tm))
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &tm);
    cell(out, text, strlen(text), last);
}

static void letter_cell(struct mst_string *out, struct mst_member skill, enum mst_lang lang)
{
    const struct mst_articulation *a = NULL;
    const char *text = "";
    if (skill.kind == MST_MEMBER_HOST || skill.kind == MST_MEMBER_TRIGGER)
        a = mst_articulation_at(skill.letter);
    if (a)
        text = lang == MST_LANG_AR ? a->name_ar : a->name_en;
    else if (skill.kind == MST_MEMBER_SOUND)
        text = mst_phone_ipa((enum mst_phone)skill.phone);
    cell(out, text, strlen(text), 0);
}

static void row_out(const struct mst_knowledge *k, const struct mst_known *row,
                    const struct mst_span *labels, enum mst_lang lang, struct mst_string *out)
{
    struct mst_member skill = k->skills[row->skill];
    enum mst_rule rule = (enum mst_rule)skill.rule;
    if (labels)
        cell(out, labels[row->learner].ptr ? labels[row->learner].ptr : "",
             labels[row->learner].len, 0);
    else
        mst_string_addf(out, "%d,", (int)row->learner + 1);
    cell(out, mst_rule_id(rule), strlen(mst_rule_id(rule)), 0);
    cell(out, mst_rule_name(rule, lang), strlen(mst_rule_name(rule, lang)), 0);
    letter_cell(out, skill, lang);
    mst_string_addf(out, "%d,%.2f,", (int)row->heard, row->right);
    chance_cell(out, row->known);
    chance_cell(out, row->known_low);
    chance_cell(out, row->known_high);
    chance_cell(out, row->chance);
    time_cell(out, row->last_ms, 0);
    time_cell(out, row->due_ms, 1);
}

void mst_know_csv(const struct mst_knowledge *knowledge, int32_t learner,
                  const struct mst_span *labels, enum mst_lang lang, struct mst_string *out)
{
    mst_string_adds(out, lang == MST_LANG_AR
                             ? "الطالب,القاعدة,الاسم,الحرف,سُمع,صحيح,الرسوخ,أدنى,أعلى,المرة "
                               "القادمة,آخر سماع,موعد المراجعة\r\n"
                             : "learner,rule,name,letter,heard,right,known,known from,known to,"
                               "next one right,last heard,due\r\n");
    for (size_t n = 0; n < knowledge->count; n++)
        if (learner < 0 || knowledge->rows[n].learner == learner)
            row_out(knowledge, &knowledge->rows[n], labels, lang, out);
}
