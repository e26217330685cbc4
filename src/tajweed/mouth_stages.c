/*
 * mouth_stages.c – what mst_rule_mouth says in a sentence, parted into the
 * acts that follow one another. Only where the order is beyond dispute: what
 * tongue, lips and nose do at the same time is one stage. The sources are
 * those of mst_rule_mouth; the parting into stages is ours.
 */
#include <mistara/tajweed.h>

struct row {
    uint8_t rule;
    struct mst_mouth_stage stage;
};

/* clang-format off */
#define ROW(rule, en, ar) {MST_RULE_##rule, {en, ar}}
#define VOWEL_BEFORE(rule) ROW(rule, "The letter before is said with its vowel.", "يُنطق الحرف السابق بحركته.")
#define LIPS_LIGHT(rule)                                                                           \
    VOWEL_BEFORE(rule),                                                                            \
    ROW(rule, "The lips lie lightly on one another while the sound is held in the nose for two counts.", \
        "تُطبق الشفتان إطباقا خفيفا مع الغنة بمقدار حركتين."),                                        \
    ROW(rule, "The lips part for bāʾ with its vowel.", "تنفرج الشفتان بالباء وحركتها.")
#define LETTER_BEGINS(rule) ROW(rule, "The letter that bears the vowel is said.", "يُنطق الحرف المتحرك قبل المد.")

static const struct row rows[] = {
    VOWEL_BEFORE(IZHAR_HALQI),
    ROW(IZHAR_HALQI, "The tip of the tongue touches the gums for a plain n.", "يلتصق طرف اللسان باللثة لنون خالصة."),
    ROW(IZHAR_HALQI, "The throat makes its letter.", "يُنطق حرف الحلق من مخرجه."),

    VOWEL_BEFORE(IDGHAM_BILA_GHUNNA),
    ROW(IDGHAM_BILA_GHUNNA, "The tongue presses at the place of lām or rāʾ, the nose closed.", "يُشدد اللسان في مخرج اللام أو الراء من غير غنة."),
    ROW(IDGHAM_BILA_GHUNNA, "The tongue leaves that place with the vowel of lām or rāʾ.", "يفارق اللسان المخرج بحركة اللام أو الراء."),

    LIPS_LIGHT(IQLAB),

    VOWEL_BEFORE(IKHFA),
    ROW(IKHFA, "The tongue waits near the place of the next letter, without touching, while the sound is held in the nose for two counts.",
        "يتهيأ اللسان لمخرج الحرف التالي من غير التصاق مع الغنة بمقدار حركتين."),
    ROW(IKHFA, "The tongue takes its place for the next letter, and that letter is said.", "يأخذ اللسان مكانه في مخرج الحرف التالي فيُنطق."),

    LIPS_LIGHT(IKHFA_SHAFAWI),

    VOWEL_BEFORE(IDGHAM_SHAFAWI),
    ROW(IDGHAM_SHAFAWI, "The lips close once for both mīms while the sound is held in the nose for two counts.",
        "تُطبق الشفتان مرة واحدة للميمين مع الغنة بمقدار حركتين."),
    ROW(IDGHAM_SHAFAWI, "The lips part with the vowel of the second mīm.", "تنفرج الشفتان بحركة الميم الثانية."),

    VOWEL_BEFORE(IZHAR_SHAFAWI),
    ROW(IZHAR_SHAFAWI, "The lips close for a plain m.", "تُطبق الشفتان لميم خالصة."),
    ROW(IZHAR_SHAFAWI, "The lips part, and the letter after the mīm is said.", "تنفرج الشفتان ويُنطق الحرف الذي بعد الميم."),

    ROW(GHUNNA, "The mouth closes firmly at the place of nūn or mīm.", "يُشدد الحرف في مخرج النون أو الميم."),
    ROW(GHUNNA, "The sound is held in the nose for two counts.", "يبقى الصوت في الخيشوم بمقدار حركتين."),
    ROW(GHUNNA, "The mouth leaves the place of the letter.", "يفارق العضو مخرج الحرف."),

    VOWEL_BEFORE(LAM_SHAMSIYYA),
    ROW(LAM_SHAMSIYYA, "The tongue presses at the place of the letter after the lām.", "يُشدد اللسان في مخرج الحرف الذي بعد اللام."),
    ROW(LAM_SHAMSIYYA, "The tongue leaves that place with the letter's vowel.", "يفارق اللسان المخرج بحركة ذلك الحرف."),

    VOWEL_BEFORE(LAM_QAMARIYYA),
    ROW(LAM_QAMARIYYA, "The tip of the tongue makes a plain l.", "يُنطق طرف اللسان لاما ساكنة خالصة."),
    ROW(LAM_QAMARIYYA, "The letter after the lām is said.", "يُنطق الحرف الذي بعد اللام."),

    VOWEL_BEFORE(QALQALA),
    ROW(QALQALA, "The place of the letter closes, and the voice is held.", "ينغلق مخرج الحرف ويُحبس الصوت."),
    ROW(QALQALA, "The place parts with a short echo that leans to no vowel.", "ينفك المخرج بنبرة قصيرة من غير ميل إلى حركة."),

    ROW(MADD_BADAL, "The hamza is said clearly.", "تُنطق الهمزة محققة."),
    ROW(MADD_BADAL, "The vowel is held evenly for two counts.", "يُمد الصوت مستويا بمقدار حركتين."),
    ROW(MADD_BADAL, "The letter after the lengthening is said.", "يُنطق الحرف الذي بعد المد."),

    LETTER_BEGINS(MADD_MUTTASIL),
    ROW(MADD_MUTTASIL, "The vowel is held evenly.", "يُمد الصوت مستويا."),
    ROW(MADD_MUTTASIL, "The hamza of the same word closes in the deepest throat.", "تُقطع بهمزة الكلمة نفسها من أقصى الحلق."),

    LETTER_BEGINS(MADD_MUNFASIL),
    ROW(MADD_MUNFASIL, "The vowel is held evenly to the end of its word.", "يُمد الصوت مستويا إلى آخر كلمته."),
    ROW(MADD_MUNFASIL, "The hamza of the other word is said clearly.", "تُحقق همزة الكلمة الأخرى."),

    LETTER_BEGINS(MADD_LAZIM_WORD),
    ROW(MADD_LAZIM_WORD, "The vowel is held for six counts.", "يُمد الصوت ست حركات."),
    ROW(MADD_LAZIM_WORD, "The vowelless letter that causes the length is said.", "يُنطق الحرف الساكن سبب المد."),

    LETTER_BEGINS(MADD_ARID),
    ROW(MADD_ARID, "The vowel is held evenly.", "يُمد الصوت مستويا."),
    ROW(MADD_ARID, "The last letter of the word closes, without a vowel.", "يُسكن الحرف الأخير من الكلمة."),

    ROW(MADD_LIN, "The letter with the short a is said, the a not stretched.", "يُنطق الحرف المفتوح من غير إشباع فتحته."),
    ROW(MADD_LIN, "The soft w or y is held.", "يُمد حرف اللين."),
    ROW(MADD_LIN, "The last letter of the word closes, without a vowel.", "يُسكن الحرف الأخير من الكلمة."),
};
#undef LETTER_BEGINS
#undef LIPS_LIGHT
#undef VOWEL_BEFORE
#undef ROW
/* clang-format on */

int mst_rule_mouth_stages(enum mst_rule rule, struct mst_mouth_stage out[MST_MOUTH_STAGES_MOST])
{
    int count = 0;
    for (size_t n = 0; n < sizeof rows / sizeof rows[0]; n++)
        if (rows[n].rule == rule && count < MST_MOUTH_STAGES_MOST)
            out[count++] = rows[n].stage;
    return count;
}
