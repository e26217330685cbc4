/*
 * mouth_states.c – what mst_rule_mouth says in a sentence, as states of single
 * letters for drawings. Rows of a rule stand together, in order of the
 * act; hiding has one row for each of its three grades (ṭāʾ, dāl, tāʾ nearest, qāf and kāf
 * farthest, the ten others between; al-Jamzūrī's letters, the grades from memory).
 */
#include <mistara/tajweed.h>

enum {
    HAMZA = 0x621,
    ALIF = 0x627,
    BA = 0x628,
    TA = 0x62A,
    DAL = 0x62F,
    RA = 0x631,
    SIN = 0x633,
    SAD = 0x635,
    TAH = 0x637,
    QAF = 0x642,
    LAM = 0x644,
    MIM = 0x645,
    NUN = 0x646,
    WAW = 0x648,
    YA = 0x64A
};

/* clang-format off */
static const char heavy_en[] = "heavy: the back of the tongue rises";
static const char heavy_ar[] = "التفخيم: يرتفع أقصى اللسان";
static const char light_en[] = "light: it stays low";
static const char light_ar[] = "الترقيق: ينخفض";

#define ROW(rule, how, letter, en, ar) {MST_RULE_##rule, MST_HOW_##how, letter, en, ar}
static const struct mst_mouth_state states[] = {
    ROW(IZHAR_HALQI, ITS_OWN, NUN, NULL, NULL),
    ROW(IZHAR_MUTLAQ, ITS_OWN, NUN, NULL, NULL),
    ROW(IDGHAM_GHUNNA, NASAL, YA, "into yāʾ, the nose open", "في الياء مع الغنة"),
    ROW(IDGHAM_GHUNNA, NASAL, WAW, "into wāw, the nose open", "في الواو مع الغنة"),
    ROW(IDGHAM_BILA_GHUNNA, ITS_OWN, LAM, "into lām, the nose closed", "في اللام بلا غنة"),
    ROW(IDGHAM_BILA_GHUNNA, ITS_OWN, RA, "into rāʾ, the nose closed", "في الراء بلا غنة"),
    ROW(IQLAB, LIPS_LIGHT, MIM, "held: lips lightly together", "الغنة بإطباق خفيف"),
    ROW(IQLAB, ITS_OWN, BA, "then bāʾ", "ثم الباء"),
    ROW(IKHFA_SHAFAWI, LIPS_LIGHT, MIM, "held: lips lightly together", "الغنة بإطباق خفيف"),
    ROW(IKHFA_SHAFAWI, ITS_OWN, BA, "then bāʾ", "ثم الباء"),
    ROW(IKHFA, HIDDEN, TA, "before tāʾ: nearest", "قبل التاء: الأقرب"),
    ROW(IKHFA, HIDDEN, SIN, "before sīn: between", "قبل السين: الوسط"),
    ROW(IKHFA, HIDDEN, QAF, "before qāf: farthest", "قبل القاف: الأبعد"),
    ROW(IDGHAM_SHAFAWI, ITS_OWN, MIM, NULL, NULL),
    ROW(IZHAR_SHAFAWI, ITS_OWN, MIM, NULL, NULL),
    ROW(GHUNNA, ITS_OWN, NUN, "nūn held in the nose", "غنة النون"),
    ROW(GHUNNA, ITS_OWN, MIM, "mīm held in the nose", "غنة الميم"),
    ROW(LAM_QAMARIYYA, ITS_OWN, LAM, NULL, NULL),
    ROW(QALQALA, ITS_OWN, DAL, "held (dāl)", "الحبس (الدال)"),
    ROW(QALQALA, LET_GO, DAL, "let go, with its echo", "الإطلاق مع القلقلة"),
    ROW(TAFKHIM, ITS_OWN, TAH, "heavy: ṭāʾ", "مفخم: الطاء"),
    ROW(TAFKHIM, ITS_OWN, TA, "light: tāʾ", "مرقق: التاء"),
    ROW(TAFKHIM_ALIF, HEAVY, ALIF, heavy_en, heavy_ar),
    ROW(TAFKHIM_ALIF, LIGHT, ALIF, light_en, light_ar),
    ROW(TAFKHIM_RA, HEAVY, RA, heavy_en, heavy_ar),
    ROW(TAFKHIM_RA, LIGHT, RA, light_en, light_ar),
    ROW(TARQIQ_RA, HEAVY, RA, heavy_en, heavy_ar),
    ROW(TARQIQ_RA, LIGHT, RA, light_en, light_ar),
    ROW(TAFKHIM_LAM, HEAVY, LAM, heavy_en, heavy_ar),
    ROW(TAFKHIM_LAM, LIGHT, LAM, light_en, light_ar),
    ROW(TARQIQ_LAM, HEAVY, LAM, heavy_en, heavy_ar),
    ROW(TARQIQ_LAM, LIGHT, LAM, light_en, light_ar),
    ROW(ISHMAM, ROUNDED, NUN, "the lips rounded while nūn is held", "ضم الشفتين مع النون"),
    ROW(IMALA, TILTED, YA, "between ā and ī", "بين الألف والياء"),
    ROW(TASHIL, EASED, HAMZA, "not closed: between hamza and alif", "بين الهمزة والألف"),
    ROW(SAD_SIN, ITS_OWN, SAD, NULL, NULL),
    ROW(SAD_SIN, ITS_OWN, SIN, NULL, NULL),
};
/* Every lengthening is one of these three vowels. */
static const struct mst_mouth_state vowels[] = {
    ROW(MADD_TABII, ITS_OWN, ALIF, "ā", "ا"),
    ROW(MADD_TABII, VOWEL, YA, "ī", "ي"),
    ROW(MADD_TABII, VOWEL, WAW, "ū", "و"),
};
#undef ROW
/* clang-format on */

const struct mst_mouth_state *mst_rule_mouth_states(enum mst_rule rule, int *count)
{
    enum { STATES = sizeof states / sizeof states[0] };
    int first = 0, end;
    while (first < STATES && states[first].rule != rule)
        first++;
    for (end = first; end < STATES && states[end].rule == rule;)
        end++;
    *count = end - first;
    if (*count > 0)
        return &states[first];
    if (mst_rule_family(rule) != MST_FAMILY_LENGTH)
        return NULL;
    *count = sizeof vowels / sizeof vowels[0];
    return vowels;
}
