/*
 * consent.c – the words under which recordings of learners, often children,
 * are kept: what a class begins with; a teacher may put their own in place.
 * Common practice, no source; they promise what the desk does and no more. And
 * whether someone has agreed to the words of their class.
 */
#include "desk.h"

#include <string.h>

/* clang-format off */
static const char words_en[] =
    "Your recordings for this class are kept on the teacher's computer. The teacher and the class's "
    "assistants hear them, and a program on that computer measures how long each sound is held, to "
    "help the teacher. They are given to nobody else and are not published. %s What was measured and "
    "what the teacher wrote stay in the class's book. You may take this back at any time and have "
    "your recordings deleted. If you are under age, a parent or guardian agrees for you.";
static const char words_ar[] =
    "تُحفظ تسجيلاتك لهذا الصف في حاسوب المعلّم، ويسمعها المعلّم ومساعدوه، ويقيس برنامج في ذلك الحاسوب "
    "مقادير الأصوات عونًا للمعلّم. لا تُعطى لأحد غيرهم ولا تُنشر. %s ويبقى في دفتر الصف ما قيس وما كتبه "
    "المعلّم. ولك أن ترجع عن موافقتك متى شئت وأن تُحذف تسجيلاتك. فإن كنت دون سن الرشد وافق عنك وليّ أمرك.";
static const char for_ever_en[] = "They are kept until the teacher or you delete them.";
static const char for_ever_ar[] = "وتبقى إلى أن تُحذف بطلب منك أو من المعلّم.";

/* How Arabic counts days. */
static const char *days_ar(int64_t days, struct mst_arena *arena)
{
    if (days == 1)
        return "وتُحذف بعد يوم من إرسالها.";
    if (days == 2)
        return "وتُحذف بعد يومين من إرسالها.";
    int64_t rest = days % 100;
    return mst_arena_printf(arena, rest >= 3 && rest <= 10 ? "وتُحذف بعد %lld أيام من إرسالها."
                                   : rest >= 11           ? "وتُحذف بعد %lld يومًا من إرسالها."
                                                          : "وتُحذف بعد %lld يوم من إرسالها.",
                            (long long)days);
}
/* clang-format on */

static const char *days_en(int64_t days, struct mst_arena *arena)
{
    return days == 1 ? "They are deleted a day after they were sent."
                     : mst_arena_printf(arena, "They are deleted %lld days after they were sent.",
                                        (long long)days);
}

const char *consent_words(const char *language, int64_t retention_days, struct mst_arena *arena)
{
    int arabic = strcmp(language, "ar") == 0;
    const char *kept = retention_days == 0 ? arabic ? for_ever_ar : for_ever_en
                       : arabic            ? days_ar(retention_days, arena)
                                           : days_en(retention_days, arena);
    if (!kept)
        return NULL;
    return arabic ? mst_arena_printf(arena, words_ar, kept)
                  : mst_arena_printf(arena, words_en, kept);
}

int consent_holds(const struct mst_class *c, const struct mst_consent *consent)
{
    return consent->said_ms != 0 && consent->withdrawn_ms == 0 &&
           strcmp(consent->words, c->consent) == 0;
}

enum mst_status consent_look(struct request *rq, const struct mst_person *person,
                             struct mst_class *c, int *holds, struct mst_error *err)
{
    struct mst_consent consent = {0};
    enum mst_status status = mst_class_get(rq->desk->store, person->class_id, rq->arena, c, err);
    if (status == MST_OK)
        status = mst_consent_get(rq->desk->store, person->id, rq->arena, &consent, err);
    *holds = status == MST_OK && consent_holds(c, &consent);
    return status;
}
