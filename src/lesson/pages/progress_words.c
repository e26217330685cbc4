/* What progress pages say (progress.h). Plain words; nothing counts against anyone. */
#include "progress.h"

#include <string.h>
#include <time.h>

/* clang-format off */
static const char *const phrases[SAY_COUNT][2] = {
    [SAY_LEARNER_TITLE] = {"%s · what was heard, and what comes next", "%s · ما سُمع وما يأتي بعده"},
    [SAY_PARENT_TITLE] = {"%s · how the recitation is growing", "%s · كيف تنمو القراءة"},
    [SAY_CLASS_TITLE] = {"%s · what is settled, and what to teach next", "%s · ما رسخ وما يُعلَّم بعده"},
    [SAY_LEARNER_INTRO] = {
        "Each strip is one rule. The cord starts low where the rule is new and is drawn tight along the dotted line once it is settled. Everyone's cord takes its own way.",
        "كل شريط قاعدة واحدة. يبدأ الخيط منخفضًا حين تكون القاعدة جديدة، ثم يُشدّ على الخط المنقوط إذا رسخت. ولكل خيط طريقه."},
    [SAY_PARENT_INTRO] = {
        "Each strip is one rule of recitation over the weeks. The cord rises as the rule becomes a habit; going down a little after a pause is quite usual, and hearing it again lifts it.",
        "كل شريط قاعدة من قواعد التلاوة على مرّ الأسابيع. يرتفع الخيط كلما صارت القاعدة عادة، وقد ينزل قليلًا بعد انقطاع فترفعه المراجعة."},
    [SAY_CLASS_INTRO] = {
        "Each strip is one rule. The cord is the middle of the class, the pale band the middle half of it; a long tick is a week in which much was heard. Nobody is named here.",
        "كل شريط قاعدة واحدة. الخيط وسط الحلقة، والظل نصفها الأوسط، والشرطة الطويلة أسبوع سُمع فيه كثير. ولا يُسمّى هنا أحد."},
    [SAY_TOP] = {"settled", "راسخ"},
    [SAY_TICK] = {"ticks are weeks; long: much heard", "كل شرطة أسبوع، تطول بالسماع"},
    [SAY_BAND] = {"wide: little heard yet", "واسع: سُمع قليل"},
    [SAY_JUST_BEGUN] = {"just begun", "في أوّله"},
    [SAY_BEING_LEARNED] = {"being learned now", "نتعلّمه الآن"},
    [SAY_GROWING] = {"growing firm", "يزداد رسوخًا"},
    [SAY_SETTLED] = {"settled", "راسخ"},
    [SAY_DUE] = {"time to hear it again", "حان وقت سماعه ثانية"},
    [SAY_NEXT_TITLE] = {"Next to practise", "ما نتدرّب عليه بعد هذا"},
    [SAY_NEXT_NONE] = {"Nothing waits just now: go on with what the class reads.", "لا شيء ينتظر الآن، فنمضي مع ما تقرؤه الحلقة."},
    [SAY_PARENT_HELP] = {
        "You help most by listening: a few minutes of the passage read aloud, on several days. Correcting is the teacher's part.",
        "أنفع العون الاستماع: دقائق من المقطع تُقرأ جهرًا في أيام متفرقة، وأما التصويب فللمعلّم."},
    [SAY_CLASS_NEXT_TITLE] = {"What half of the class still learns", "ما لا يزال نصف الحلقة يتعلّمه"},
    [SAY_CLASS_NONE] = {"Nothing that was heard is still open for half of the class.", "ليس فيما سُمع شيء لا يزال نصف الحلقة يتعلّمه."},
    [SAY_FOOT] = {
        "Worked out from what was heard up to %s; the teacher decides. Recitation is learned from a qualified teacher, by mouth.",
        "مستخرج مما سُمع إلى %s، والحكم للمعلّم. والتلاوة تؤخذ مشافهة عن معلّم مؤهَّل."},
};
static const char *const months[12][2] = {
    {"January", "يناير"}, {"February", "فبراير"}, {"March", "مارس"}, {"April", "أبريل"},
    {"May", "مايو"}, {"June", "يونيو"}, {"July", "يوليو"}, {"August", "أغسطس"},
    {"September", "سبتمبر"}, {"October", "أكتوبر"}, {"November", "نوفمبر"}, {"December", "ديسمبر"},
};
/* clang-format on */

const char *progress_say(enum progress_phrase phrase, enum mst_lang lang)
{
    return phrases[phrase][lang == MST_LANG_AR];
}

void progress_say_date(int64_t time_ms, int32_t utc_offset_minutes, enum mst_lang lang,
                       struct mst_string *out)
{
    time_t seconds = (time_t)(time_ms / 1000 + utc_offset_minutes * 60);
    struct tm tm;
    if (gmtime_r(&seconds, &tm))
        mst_string_addf(out, "%d %s", tm.tm_mday, months[tm.tm_mon % 12][lang == MST_LANG_AR]);
}

/* clang-format off */
static const struct {
    uint8_t phone;
    const char *name[2];
} long_vowels[] = {
    {MST_PHONE_AA, {"ā", "ألف"}},
    {MST_PHONE_II, {"ī", "ياء"}},
    {MST_PHONE_UU, {"ū", "واو"}},
    {MST_PHONE_EE, {"ē", "ألف ممالة"}},
};
/* clang-format on */

static const char *letter_or_sound(struct mst_member skill, enum mst_lang lang)
{
    int ar = lang == MST_LANG_AR;
    if (skill.kind == MST_MEMBER_HOST || skill.kind == MST_MEMBER_TRIGGER) {
        const struct mst_articulation *a = mst_articulation_at(skill.letter);
        return !a ? NULL : ar ? a->name_ar : a->name_en;
    }
    if (skill.kind == MST_MEMBER_SOUND)
        for (size_t n = 0; n < sizeof long_vowels / sizeof *long_vowels; n++)
            if (long_vowels[n].phone == skill.phone)
                return long_vowels[n].name[ar];
    return NULL;
}

void progress_say_skill(struct mst_member skill, enum mst_lang lang, struct mst_string *out)
{
    const char *rule = mst_rule_name((enum mst_rule)skill.rule, lang);
    const char *letter = letter_or_sound(skill, lang);
    mst_string_adds(out, rule);
    /* heavy rāʾ says its letter already */
    if (letter &&
        !(mst_rule_family((enum mst_rule)skill.rule) == MST_FAMILY_WEIGHT && strstr(rule, letter)))
        mst_string_addf(out, lang == MST_LANG_AR ? "، %s" : ", %s", letter);
}

/* After a number the Arabic word is dual, plural or singular by the number. */
static const char *times_ar(int32_t n)
{
    int32_t rest = n % 100;
    return rest >= 3 && rest <= 10 ? "مرات" : "مرة";
}

void progress_say_heard(int32_t times, int64_t last_ms, int32_t utc_offset_minutes,
                        enum mst_lang lang, struct mst_string *out)
{
    if (lang == MST_LANG_AR) {
        if (times == 1)
            mst_string_adds(out, "سُمع مرة، في ");
        else if (times == 2)
            mst_string_adds(out, "سُمع مرتين، آخرهما ");
        else
            mst_string_addf(out, "سُمع %d %s، آخرها ", (int)times, times_ar(times));
    } else if (times == 1)
        mst_string_adds(out, "heard once, on ");
    else
        mst_string_addf(out, "heard %d times, last on ", (int)times);
    progress_say_date(last_ms, utc_offset_minutes, lang, out);
}

void progress_say_missing(const struct mst_class_miss *miss, enum mst_lang lang,
                          struct mst_string *out)
{
    mst_string_addf(out,
                    lang == MST_LANG_AR ? "نحو %d من %d (بين %d و%d)"
                                        : "about %d of %d (between %d and %d)",
                    (int)miss->median, (int)miss->learners, (int)miss->low, (int)miss->high);
}

/* Words for ranges, and none where nearly nothing was heard. The bounds are ours, no source. */
enum progress_phrase progress_state(const struct mst_known_rule *r)
{
    if (r->heard < 3)
        return SAY_JUST_BEGUN;
    if (r->known >= 0.8 && r->low >= 0.5)
        return SAY_SETTLED;
    return r->known >= 0.5 ? SAY_GROWING : SAY_BEING_LEARNED;
}
