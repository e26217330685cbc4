/*
 * tajweed/qalqala.c – the echo of ق ط ب ج د without a vowel.
 * Source: al-Jazariyya, chapter on the qualities; the three grades are common
 * practice, no source.
 */
#include "internal.h"

enum { GRADE_SMALL = 1, GRADE_GREAT, GRADE_GREATEST };

/* Of the letters that open suras only ṣād has an echo: in the dāl of its name. */
static enum reason reason_of(const struct seg *s, int grade)
{
    if (s->flags & SLOT_OPENING)
        return grade == GRADE_SMALL ? REASON_QALQALA_OPENING : REASON_QALQALA_OPENING_STOP;
    return grade == GRADE_SMALL   ? REASON_QALQALA_SMALL
           : grade == GRADE_GREAT ? REASON_QALQALA_GREAT
                                  : REASON_QALQALA_GREATEST;
}

void mst_rules_qalqala(struct chain *c)
{
    const struct stock *k = &c->stock;

    for (EACH_BIT(bit, k->bare & (k->of[CONCERN_ECHO] | k->of[CONCERN_ECHO_AND_WEIGHT]))) {
        int32_t i = (int32_t)bit;
        struct seg *s = &c->segs[i];
        int grade;

        if (s->merged)
            continue;
        if (c->next || seg_next(c, i) >= 0)
            grade = GRADE_SMALL;
        else
            grade = s->doubled ? GRADE_GREATEST : GRADE_GREAT;
        s->echo = (uint8_t)grade;
        mst_site_add(c, MST_RULE_QALQALA, s, NULL, reason_of(s, grade))->grade = (int8_t)grade;
    }
}
