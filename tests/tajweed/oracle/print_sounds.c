#include "print_sounds.h"

#include <stdio.h>
#include <stdlib.h>

enum { REPORTED_MAX = 60, SHADDA = 0x0651, SUKUN = 0x06E1, SMALL_SEEN = 0x06DC, EASED = 0x06EC };

enum quality { HEARD_A = 1, HEARD_I = 2, HEARD_U = 4 };

/* What the engine lets be heard of one letter. */
struct heard {
    int vowels; /* enum quality bits */
    int doubled;
    int consonant; /* a phone, or -1 */
};

static int quality_of(enum mst_phone phone)
{
    switch (phone) {
    case MST_PHONE_A:
    case MST_PHONE_AA:
    case MST_PHONE_EE:
        return HEARD_A;
    case MST_PHONE_I:
    case MST_PHONE_II:
        return HEARD_I;
    case MST_PHONE_U:
    case MST_PHONE_UU:
        return HEARD_U;
    default:
        return 0;
    }
}

static struct heard *listen(const struct mst_reading *r)
{
    struct heard *heard = calloc((size_t)r->letter_count, sizeof *heard);
    for (int i = 0; heard != NULL && i < r->letter_count; i++)
        heard[i].consonant = -1;
    for (int i = 0; heard != NULL && i < r->sound_count; i++) {
        const struct mst_sound *s = &r->sounds[i];
        for (int l = s->first_letter; l <= s->last_letter; l++)
            heard[l].vowels |= quality_of(s->phone);
        heard[s->last_letter].doubled |= s->geminate;
        enum mst_phone phone = s->phone == MST_PHONE_WAW_NASAL  ? MST_PHONE_WAW
                               : s->phone == MST_PHONE_YA_NASAL ? MST_PHONE_YA
                                                                : s->phone;
        if (mst_phone_kind(phone) == MST_PHONE_KIND_CONSONANT &&
            heard[s->last_letter].consonant < 0)
            heard[s->last_letter].consonant = (int)phone;
    }
    return heard;
}

static int printed_vowel(const struct print_letter *l)
{
    static const struct {
        uint32_t mark;
        enum quality quality;
    } MARKS[] = {{0x064E, HEARD_A}, {0x064B, HEARD_A}, {0x0657, HEARD_A},
                 {0x0650, HEARD_I}, {0x064D, HEARD_I}, {0x0656, HEARD_I},
                 {0x064F, HEARD_U}, {0x064C, HEARD_U}, {0x065E, HEARD_U}};
    int vowels = 0;
    for (size_t i = 0; i < sizeof MARKS / sizeof MARKS[0]; i++)
        if (print_has(l, MARKS[i].mark))
            vowels |= (int)MARKS[i].quality;
    return vowels;
}

/* The consonant a letter is the sign of; -1 for the alif. */
static int own_consonant(const struct print_letter *l)
{
    static const struct {
        uint32_t base;
        enum mst_phone phone;
    } LETTERS[] = {{0x0628, MST_PHONE_BA},    {0x062A, MST_PHONE_TA},  {0x0629, MST_PHONE_TA},
                   {0x062B, MST_PHONE_THA},   {0x062C, MST_PHONE_JIM}, {0x062D, MST_PHONE_HA_HUTTI},
                   {0x062E, MST_PHONE_KHA},   {0x062F, MST_PHONE_DAL}, {0x0630, MST_PHONE_DHAL},
                   {0x0631, MST_PHONE_RA},    {0x0632, MST_PHONE_ZAY}, {0x0633, MST_PHONE_SIN},
                   {0x0634, MST_PHONE_SHIN},  {0x0635, MST_PHONE_SAD}, {0x0636, MST_PHONE_DAD},
                   {0x0637, MST_PHONE_TAH},   {0x0638, MST_PHONE_ZAH}, {0x0639, MST_PHONE_AYN},
                   {0x063A, MST_PHONE_GHAYN}, {0x0641, MST_PHONE_FA},  {0x0642, MST_PHONE_QAF},
                   {0x0643, MST_PHONE_KAF},   {0x0644, MST_PHONE_LAM}, {0x0645, MST_PHONE_MIM},
                   {0x0646, MST_PHONE_NUN},   {0x0647, MST_PHONE_HA},  {0x0648, MST_PHONE_WAW},
                   {0x064A, MST_PHONE_YA}};
    if ((l->base >= 0x0621 && l->base <= 0x0626) || print_has(l, 0x0654) || print_has(l, 0x0655))
        return MST_PHONE_HAMZA;
    if (l->base == 0x0640 && print_has(l, 0x06E7)) /* the small high yāʾ with a vowel */
        return MST_PHONE_YA;
    for (size_t i = 0; i < sizeof LETTERS / sizeof LETTERS[0]; i++)
        if (LETTERS[i].base == l->base)
            return (int)LETTERS[i].phone;
    return -1;
}

/* The vowel of a letter may be heard from the lengthening letter after it. */
static int heard_vowels(const struct print_reading *p, const struct heard *heard, int at)
{
    int vowels = heard[at].vowels;
    for (int next = at + 1; next < p->letter_count && next <= at + 2; next++)
        if (p->letters[next].lengthens)
            return vowels | heard[next].vowels;
    return vowels;
}

static const char *disagreement(const struct print_reading *p, const struct heard *heard, int at)
{
    const struct read_letter *x = &p->letters[at];
    int shadda = print_has(&x->l, SHADDA), vowels = printed_vowel(&x->l);
    /* The basmala is printed once only, so that a bāʾ merged into its bāʾ shows no shadda. */
    int unprinted = x->verse == 0 && x->l.word == 1 && x->l.number == 1;
    if (shadda != heard[at].doubled && !(unprinted && heard[at].doubled))
        return shadda ? "shadda, not doubled" : "doubled, no shadda";
    if (vowels != 0 && !(heard_vowels(p, heard, at) & vowels))
        return "the printed vowel is not heard";
    int added = x->tanwin_kasra ? HEARD_I : 0;
    int eased = print_has(&x->l, EASED) ? HEARD_A : 0;
    if (!x->lengthens && (heard[at].vowels & ~(vowels | added | eased)))
        return "a vowel is heard that is not printed";
    int sin = x->l.base == 0x0635 && print_has(&x->l, SMALL_SEEN) && x->sura != 52;
    int own = sin ? (int)MST_PHONE_SIN : own_consonant(&x->l);
    int said = vowels != 0 || shadda || print_has(&x->l, SUKUN);
    if (said && heard[at].consonant != own)
        return "does not sound as itself";
    return NULL;
}

int sounds_disagree(const struct print_reading *p, const struct mst_reading *r, int *checked)
{
    struct heard *heard = listen(r);
    if (heard == NULL)
        return 1;
    int failures = 0;
    *checked = 0;
    int last = p->letter_count - 1; /* read as at a stop */
    for (int i = 0; i < last; i++) {
        const struct read_letter *x = &p->letters[i];
        if (x->opening)
            continue;
        *checked +=
            print_has(&x->l, SHADDA) + print_has(&x->l, SUKUN) + (printed_vowel(&x->l) != 0);
        const char *what = disagreement(p, heard, i);
        char at[48];
        if (what != NULL && failures++ < REPORTED_MAX)
            printf("DISAGREE %s: %s\n", mst_addr_print(mst_letter_addr(r, i), at), what);
    }
    free(heard);
    return failures;
}
