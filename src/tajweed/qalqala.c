/*
 * tajweed/qalqala.c – the echo of ق ط ب ج د without a vowel.
 * Source: al-Jazariyya, chapter on the qualities; the three grades are common
 * practice, no source.
 */
#include "internal.h"

enum { GRADE_SMALL = 1, GRADE_GREAT, GRADE_GREATEST };

void mst_rules_qalqala(struct chain *c)
{
    if (!(c->bare & PHONES_ECHO))
        return;
    for (int32_t i = 0; i < c->count; i++) {
        struct seg *s = &c->segs[i];
        int grade;

        if (!seg_vowelless(s) || s->merged || !phone_in(s->phone, PHONES_ECHO))
            continue;
        if (c->next || seg_next(c, i) >= 0)
            grade = GRADE_SMALL;
        else
            grade = s->doubled ? GRADE_GREATEST : GRADE_GREAT;
        s->echo = (uint8_t)grade;
        mst_site_add(c, MST_RULE_QALQALA, s, NULL,
                     grade == GRADE_SMALL   ? REASON_QALQALA_SMALL
                     : grade == GRADE_GREAT ? REASON_QALQALA_GREAT
                                            : REASON_QALQALA_GREATEST)
            ->grade = (int8_t)grade;
    }
}
