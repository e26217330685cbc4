/*
 * tajweed/passing.c – vowels that pass: where two vowelless letters meet across
 * words, the first takes a vowel that is not its own (kasra; ḍamma on the mīm
 * and wāw of the plural; fatḥa on the nūn of مِن). In the print such a vowel
 * looks like any other; here it is told by the word that bears it.
 *
 * Source: the general rule, al-Muqaddima al-Jazariyya's commentators, from
 * memory; which words of the text fall under it: judged from memory on the
 * list of all words that end in a vowel before a joining hamza.
 */
#include "internal.h"

static bool glyphs_are(const struct glyph *g, int32_t count, const uint8_t *shapes, int32_t n)
{
    if (count != n)
        return false;
    for (int32_t i = 0; i < n; i++)
        if (g[i].shape != shapes[i])
            return false;
    return true;
}

/* A particle of two letters, and the letters that may stand before it. */
struct particle {
    uint8_t first, last;
    uint64_t prefixes;
};

#define AND     (PHONE_BIT(WAW) | PHONE_BIT(FA))
#define AND_LAM (AND | PHONE_BIT(LAM) | PHONE_BIT(HAMZA))

static const struct particle particles[] = {
    {MST_PHONE_MIM, MST_PHONE_NUN, AND_LAM | PHONE_BIT(BA) | PHONE_BIT(MIM)}, /* مِن مَن, بِمَنِ */
    {MST_PHONE_AYN, MST_PHONE_NUN, AND},                                      /* عن */
    {MST_PHONE_HAMZA, MST_PHONE_NUN, AND_LAM}, /* أن إن, وَلَئِنِ */
    {MST_PHONE_HAMZA, MST_PHONE_WAW, 0},       /* أو */
    {MST_PHONE_LAM, MST_PHONE_WAW, AND},       /* لو */
    {MST_PHONE_HAMZA, MST_PHONE_MIM, 0},       /* أم */
    {MST_PHONE_QAF, MST_PHONE_DAL, AND_LAM},   /* قد */
    {MST_PHONE_HAMZA, MST_PHONE_DHAL, AND},    /* إذ */
    {MST_PHONE_BA, MST_PHONE_LAM, AND},        /* بل */
    {MST_PHONE_HA, MST_PHONE_LAM, AND},        /* هل */
};

static bool only(const struct glyph *g, int32_t count, uint64_t phones)
{
    for (int32_t i = 0; i < count; i++)
        if (g[i].shape >= MST_PHONE_COUNT || !phone_in(g[i].shape, phones))
            return false;
    return true;
}

/* The vowel that passes: fatḥa on مِنَ, else kasra. أَمِنَ is a verb with a vowel of its own. */
static bool vowel_is_lent(const struct glyph *g, int32_t count)
{
    const struct glyph *last = g + count - 1;

    if (last->vowel != V_A)
        return last->vowel == V_I;
    return last->shape == MST_PHONE_NUN && last[-1].shape == MST_PHONE_MIM &&
           last[-1].vowel == V_I && (count < 3 || last[-2].shape != MST_PHONE_HAMZA);
}

/* Words that end without a vowel of their own. */
static bool is_particle(const struct glyph *g, int32_t count)
{
    static const uint8_t lakin[] = {MST_PHONE_LAM, MST_PHONE_KAF, MST_PHONE_NUN};
    static const uint8_t allaw[] = {MST_PHONE_HAMZA, MST_PHONE_LAM, MST_PHONE_WAW};
    const struct glyph *last = g + count - 1;

    if (last->shadda || !vowel_is_lent(g, count))
        return false;
    if (count >= 3 && only(g, count - 3, AND) &&
        ((glyphs_are(last - 2, 3, lakin, 3) && last[-2].dagger) ||
         glyphs_are(last - 2, 3, allaw, 3)))
        return true;
    if (count > 4 || (count > 2 && last[-1].shadda && last[-1].shape != MST_PHONE_MIM))
        return false;
    for (size_t k = 0; k < sizeof particles / sizeof *particles; k++)
        if (last[-1].shape == particles[k].first && last[0].shape == particles[k].last)
            return only(g, count - 2, particles[k].prefixes);
    return false;
}

/* Plural pronouns هُمُ هِمُ كُمُ تُمُ, each after a vowel of its own. */
static bool is_plural_mim(const struct glyph *g, int32_t count)
{
    const struct glyph *last = g + count - 1;

    if (count < 2 || last->shape != MST_PHONE_MIM || last->vowel != V_U || last->shadda)
        return false;
    if (last[-1].shape == MST_PHONE_HA)
        return last[-1].vowel == V_U || last[-1].vowel == V_I;
    if (last[-1].shape == MST_PHONE_HAMZA) /* هَآؤُمُ */
        return count >= 3 && last[-2].shape == SHAPE_ALIF;
    return (last[-1].shape == MST_PHONE_KAF || last[-1].shape == MST_PHONE_TA) &&
           last[-1].vowel == V_U;
}

/* The feminine ت of a verb: ـَتِ, but not a noun in ـَت written open. */
static bool is_feminine_ta(const struct glyph *g, int32_t count)
{
    const struct glyph *last = g + count - 1;
    const struct glyph *before = count >= 2 ? last - 1 : NULL;

    if (count < 3 || last->shape != MST_PHONE_TA || last->form == FORM_TA_MARBUTA ||
        last->vowel != V_I || last->shadda || before->vowel != V_A || before->dagger ||
        before->form == FORM_ALIF_INSIDE)
        return false;
    switch (before->shape) {
    case MST_PHONE_MIM: /* رحمت, نعمت */
        return !(last[-2].shape == MST_PHONE_HA_HUTTI || last[-2].shape == MST_PHONE_AYN);
    case MST_PHONE_BA: /* أبت, غيابت */
        return !(last[-2].shape == MST_PHONE_HAMZA || last[-2].dagger);
    case MST_PHONE_NUN: /* سنّت */
        return !(before->shadda && last[-2].shape == MST_PHONE_SIN);
    case MST_PHONE_YA: /* معصيت */
        return last[-2].shape != MST_PHONE_SAD;
    default:
        return true;
    }
}

/*
 * Verbs that end without a vowel (jussive, imperative) and take a passing
 * kasra. Verbs of a weak root are not among them: the kasra of ٱتَّقِ or يُؤۡتِ is
 * that of the yāʾ that fell. Skeletons, without the prefixes و ف ل.
 */
static const uint16_t verbs[][7] = {
    {0x642, 0x644},                             /* قل */
    {0x642, 0x645},                             /* قم */
    {0x62E, 0x630},                             /* خذ */
    {0x630, 0x631},                             /* ذر */
    {0x633, 0x628, 0x62D},                      /* سبح */
    {0x623, 0x642, 0x645},                      /* أقم */
    {0x623, 0x646, 0x630, 0x631},               /* أنذر */
    {0x628, 0x634, 0x631},                      /* بشر */
    {0x62D, 0x631, 0x636},                      /* حرض */
    {0x631, 0x62A, 0x644},                      /* رتل */
    {0x645, 0x647, 0x644},                      /* مهل */
    {0x62C, 0x647, 0x62F},                      /* جهد */
    {0x671, 0x62F, 0x62E, 0x644},               /* ٱدخل */
    {0x671, 0x631, 0x62C, 0x639},               /* ٱرجع */
    {0x671, 0x635, 0x646, 0x639},               /* ٱصنع */
    {0x671, 0x62A, 0x631, 0x643},               /* ٱترك */
    {0x671, 0x630, 0x643, 0x631},               /* ٱذكر */
    {0x671, 0x639, 0x628, 0x62F},               /* ٱعبد */
    {0x671, 0x635, 0x641, 0x62D},               /* ٱصفح */
    {0x671, 0x642, 0x635, 0x635},               /* ٱقصص */
    {0x671, 0x633, 0x62A, 0x63A, 0x641, 0x631}, /* ٱستغفر */
    {0x633, 0x621, 0x644},                      /* سءل */
    {0x62A, 0x632, 0x62F},                      /* تزد */
    {0x62A, 0x637, 0x631, 0x62F},               /* تطرد */
    {0x62A, 0x639, 0x628, 0x62F},               /* تعبد */
    {0x62A, 0x62F, 0x62E, 0x644},               /* تدخل */
    {0x62A, 0x637, 0x639},                      /* تطع */
    {0x62A, 0x62A, 0x628, 0x639},               /* تتبع */
    {0x646, 0x62A, 0x628, 0x639},               /* نتبع */
    {0x646, 0x62C, 0x639, 0x644},               /* نجعل */
    {0x646, 0x647, 0x644, 0x643},               /* نهلك */
    {0x64A, 0x62A, 0x628, 0x62F, 0x644},        /* يتبدل */
    {0x64A, 0x62A, 0x62E, 0x630},               /* يتخذ */
    {0x64A, 0x62C, 0x62F},                      /* يجد */
    {0x64A, 0x62C, 0x639, 0x644},               /* يجعل */
    {0x64A, 0x62F, 0x62E, 0x644},               /* يدخل */
    {0x64A, 0x631, 0x641, 0x639},               /* يرفع */
    {0x64A, 0x633, 0x62A, 0x63A, 0x641, 0x631}, /* يستغفر */
    {0x64A, 0x633, 0x62A, 0x645, 0x639},        /* يستمع */
    {0x64A, 0x634, 0x625},                      /* يشإ */
    {0x64A, 0x639, 0x644, 0x645},               /* يعلم */
    {0x64A, 0x641, 0x62A, 0x62D},               /* يفتح */
    {0x64A, 0x641, 0x633, 0x62D},               /* يفسح */
    {0x64A, 0x643, 0x646},                      /* يكن */
    {0x64A, 0x644, 0x639, 0x646},               /* يلعن */
    {0x64A, 0x62D, 0x627, 0x62F, 0x62F},        /* يحادد */
    {0x64A, 0x630, 0x643, 0x631},               /* يذكر */
    {0x64A, 0x631, 0x62F},                      /* يرد */
    {0x64A, 0x631, 0x633, 0x644},               /* يرسل */
    {0x64A, 0x633, 0x643, 0x646},               /* يسكن */
    {0x64A, 0x634, 0x627, 0x642, 0x642},        /* يشاقق */
    {0x64A, 0x636, 0x644, 0x644},               /* يضلل */
    {0x64A, 0x637, 0x639},                      /* يطع */
    {0x64A, 0x647, 0x646},                      /* يهن */
    {0x64A, 0x648, 0x641, 0x642},               /* يوفق */
    {0x64A, 0x62A, 0x648, 0x643, 0x644},        /* يتوكل */
    {0x64A, 0x62A, 0x646, 0x627, 0x641, 0x633}, /* يتنافس */
    {0x64A, 0x62D, 0x630, 0x631},               /* يحذر */
    {0x64A, 0x639, 0x645, 0x644},               /* يعمل */
    {0x64A, 0x646, 0x638, 0x631},               /* ينظر */
    {0x64A, 0x633, 0x62A, 0x639, 0x641, 0x641}, /* يستعفف */
    {0x64A, 0x645, 0x644, 0x644},               /* يملل */
    {0x64A, 0x627, 0x64A, 0x621, 0x633},        /* يايءس */
};

static bool skeleton_is(const struct mst_letter *letters, int32_t count, const uint16_t *skeleton)
{
    for (int32_t i = 0; i < count; i++)
        if (skeleton[i] != letters[i].base) /* a shorter one ends in 0 */
            return false;
    return skeleton[count] == 0;
}

static bool is_passing_verb(const struct mst_letter *letters, int32_t count)
{
    enum { MOST = sizeof verbs[0] / sizeof verbs[0][0] - 1 };

    for (int32_t prefix = 0; prefix <= 2 && prefix < count - 1; prefix++) {
        for (size_t k = 0; k < sizeof verbs / sizeof *verbs && count - prefix <= MOST; k++)
            if (skeleton_is(letters + prefix, count - prefix, verbs[k]))
                return true;
        if (letters[prefix].base != 0x648 && letters[prefix].base != 0x641 &&
            letters[prefix].base != 0x644)
            return false;
    }
    return false;
}

static bool is_passing(const struct glyph *g, const struct mst_letter *letters, int32_t count)
{
    const struct glyph *last = g + count - 1;

    if (count < 2 || last->tanwin || !last->vowel || last->small)
        return false;
    if (is_particle(g, count) || is_plural_mim(g, count) || is_feminine_ta(g, count))
        return true;
    if (last->shape == MST_PHONE_YA && last->vowel == V_I && !last->shadda &&
        last[-1].vowel == V_A && !last[-1].dagger) /* the dual's yāʾ: يَدَيِ */
        return true;
    return last->vowel == V_I && is_passing_verb(letters, count);
}

/* ٱشۡتَرَوُاْ: the plural's wāw before a joining hamza; the alif after it is mute. */
static bool is_plural_waw(const struct glyph *g, int32_t count)
{
    return count >= 3 && g[count - 1].shape == SHAPE_ALIF && g[count - 2].shape == MST_PHONE_WAW &&
           g[count - 2].vowel == V_U && !g[count - 2].shadda && g[count - 3].vowel == V_A;
}

bool mst_vowel_passes(const struct glyph *g, const struct mst_letter *letters, int32_t count)
{
    return is_passing(g, letters, count) || is_plural_waw(g, count);
}
