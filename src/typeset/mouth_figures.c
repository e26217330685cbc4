/*
 * Which pictures a card shows. A letter shows its own, a place those of its
 * letters that differ to the eye, a rule the state of the mouth that the
 * engine's sentence about it describes (mst_rule_mouth).
 */
#include "mouth.h"

#include <stdio.h>
#include <string.h>

struct list {
    struct mst_figure *figures;
    int count;
};

static struct mst_figure *add(struct list *list, const struct mst_posture *posture, const char *en,
                              const char *ar)
{
    if (list->count == MST_FIGURES_MAX)
        return NULL;
    struct mst_figure *f = &list->figures[list->count++];
    memset(f, 0, sizeof *f);
    f->posture = *posture;
    snprintf(f->caption_en, sizeof f->caption_en, "%s", en);
    snprintf(f->caption_ar, sizeof f->caption_ar, "%s", ar);
    return f;
}

static struct mst_posture of(uint32_t letter)
{
    struct mst_posture posture = {0};
    (void)mst_posture_of_letter(letter, &posture);
    return posture;
}

enum {
    LAM = 0x644,
    DAD = 0x636,
    NUN = 0x646,
    MIM = 0x645,
    YA = 0x64A,
    WAW = 0x648,
    RA = 0x631,
    ALIF = 0x627,
    TA = 0x62A,
    TAH = 0x637,
    DAL = 0x62F,
    QAF = 0x642,
    SIN = 0x633,
    SAD = 0x635,
    HAMZA = 0x621
};

static int same(const struct mst_posture *a, const struct mst_posture *b)
{
    struct mst_mouth x, y;
    mst_mouth_shape(a, &x);
    mst_mouth_shape(b, &y);
    for (int i = 0; i < MST_MOUTH_TONGUE; i++)
        if (point_apart(x.tongue[i], y.tongue[i]) > 0.05)
            return 0;
    return a->lips == b->lips && a->nose == b->nose && a->glottis == b->glottis;
}

static void sides(struct list *list, uint32_t letter)
{
    struct mst_posture posture = of(letter);
    struct mst_figure *f = letter == LAM || letter == DAD
                               ? add(list, &posture, "the palate from below", "الحنك من أسفل")
                               : NULL;
    if (f)
        f->palate = letter == LAM ? 1 : 2;
}

static void letter_figures(struct list *list, uint32_t letter)
{
    const struct mst_articulation *a = mst_articulation_of(letter);
    if (!a)
        return;
    struct mst_posture posture = of(a->letter);
    add(list, &posture, a->name_en, a->name_ar);
    sides(list, a->letter);
}

/* Behind what the caption says already. */
static void caption_more(char *caption, size_t room, const char *comma, const char *name)
{
    size_t len = strlen(caption);
    snprintf(caption + len, room - len, "%s%s", comma, name);
}

static void long_vowels(struct list *list)
{
    struct mst_posture alif = of(ALIF), ya = of(YA), waw = of(WAW);
    ya.manner = waw.manner = MST_MANNER_OPEN;
    ya.maker = waw.maker = MST_MAKER_NONE;
    ya.touches[0].gap = 5;
    add(list, &alif, "ā", "ا");
    add(list, &ya, "ī", "ي");
    add(list, &waw, "ū", "و");
}

static void held_nasals(struct list *list)
{
    struct mst_posture nun = of(NUN), mim = of(MIM);
    add(list, &nun, "nūn held in the nose", "غنة النون");
    add(list, &mim, "mīm held in the nose", "غنة الميم");
}

static void place_figures(struct list *list, int place)
{
    const struct mst_articulation *a;
    if (place == 1) {
        long_vowels(list);
        return;
    }
    if (place == 17) {
        held_nasals(list);
        return;
    }
    for (int n = 0; (a = mst_articulation_at(n)) != NULL; n++) {
        struct mst_posture posture = of(a->letter);
        int known = -1;
        if (a->place != place)
            continue;
        for (int i = 0; i < list->count; i++)
            if (!list->figures[i].palate && same(&list->figures[i].posture, &posture))
                known = i;
        if (known < 0) {
            add(list, &posture, a->name_en, a->name_ar);
            sides(list, a->letter);
            continue;
        }
        struct mst_figure *f = &list->figures[known];
        caption_more(f->caption_en, sizeof f->caption_en, ", ", a->name_en);
        caption_more(f->caption_ar, sizeof f->caption_ar, "، ", a->name_ar);
    }
}

/* Drawn near to the place of this letter and held in the nose. */
static void hidden_before(struct list *list, uint32_t host, const char *en, const char *ar)
{
    struct mst_posture posture = of(host);
    posture.touches[0].gap = posture.touches[0].gap < 1 ? 2.6 : posture.touches[0].gap + 1.6;
    posture.manner = MST_MANNER_NEAR;
    posture.nose = 1;
    posture.mouth = 0;
    add(list, &posture, en, ar);
}

static void with_nose(struct list *list, uint32_t host, const char *en, const char *ar)
{
    struct mst_posture posture = of(host);
    posture.nose = 1;
    add(list, &posture, en, ar);
}

static void heavy_and_light(struct list *list, uint32_t letter, double up)
{
    struct mst_posture light = of(letter), heavy = of(letter);
    light.back_up = 0;
    heavy.back_up = up;
    add(list, &heavy, "heavy: the back of the tongue rises", "التفخيم: يرتفع أقصى اللسان");
    add(list, &light, "light: it stays low", "الترقيق: ينخفض");
}

static void light_lips(struct list *list)
{
    struct mst_posture mim = of(MIM), ba = of(0x628);
    mim.lips = MST_LIPS_LIGHT;
    add(list, &mim, "held: lips lightly together", "الغنة بإطباق خفيف");
    add(list, &ba, "then bāʾ", "ثم الباء");
}

static void echo(struct list *list)
{
    struct mst_posture held = of(DAL), let_go = of(DAL);
    let_go.touches[0].gap = 2.6;
    let_go.manner = MST_MANNER_NARROW;
    let_go.echo = 1;
    add(list, &held, "held (dāl)", "الحبس (الدال)");
    add(list, &let_go, "let go, with its echo", "الإطلاق مع القلقلة");
}

static void rule_figures(struct list *list, enum mst_rule rule)
{
    struct mst_posture one;
    switch (rule) {
    case MST_RULE_IZHAR_HALQI:
    case MST_RULE_IZHAR_MUTLAQ:
        letter_figures(list, NUN);
        break;
    case MST_RULE_IDGHAM_GHUNNA:
        with_nose(list, YA, "into yāʾ, the nose open", "في الياء مع الغنة");
        with_nose(list, WAW, "into wāw, the nose open", "في الواو مع الغنة");
        break;
    case MST_RULE_IDGHAM_BILA_GHUNNA:
        one = of(LAM);
        add(list, &one, "into lām, the nose closed", "في اللام بلا غنة");
        one = of(RA);
        add(list, &one, "into rāʾ, the nose closed", "في الراء بلا غنة");
        break;
    case MST_RULE_IQLAB:
    case MST_RULE_IKHFA_SHAFAWI:
        light_lips(list);
        break;
    case MST_RULE_IKHFA:
        hidden_before(list, TA, "before tāʾ", "قبل التاء");
        hidden_before(list, SIN, "before sīn", "قبل السين");
        hidden_before(list, QAF, "before qāf", "قبل القاف");
        break;
    case MST_RULE_IDGHAM_SHAFAWI:
    case MST_RULE_IZHAR_SHAFAWI:
        letter_figures(list, MIM);
        break;
    case MST_RULE_GHUNNA:
        held_nasals(list);
        break;
    case MST_RULE_LAM_QAMARIYYA:
        letter_figures(list, LAM);
        break;
    case MST_RULE_QALQALA:
        echo(list);
        break;
    case MST_RULE_TAFKHIM:
        one = of(TAH);
        add(list, &one, "heavy: ṭāʾ", "مفخم: الطاء");
        one = of(TA);
        add(list, &one, "light: tāʾ", "مرقق: التاء");
        break;
    case MST_RULE_TAFKHIM_ALIF:
        heavy_and_light(list, ALIF, 5);
        break;
    case MST_RULE_TAFKHIM_RA:
    case MST_RULE_TARQIQ_RA:
        heavy_and_light(list, RA, 6);
        break;
    case MST_RULE_TAFKHIM_LAM:
    case MST_RULE_TARQIQ_LAM:
        heavy_and_light(list, LAM, 6);
        break;
    case MST_RULE_ISHMAM:
        one = of(NUN);
        one.lips = MST_LIPS_ROUNDED;
        add(list, &one, "the lips rounded while nūn is held", "ضم الشفتين مع النون");
        break;
    case MST_RULE_IMALA:
        one = of(YA);
        one.touches[0].gap = 8;
        one.jaw = 3;
        one.maker = MST_MAKER_NONE;
        one.manner = MST_MANNER_OPEN;
        add(list, &one, "between ā and ī", "بين الألف والياء");
        break;
    case MST_RULE_TASHIL:
        one = of(HAMZA);
        one.glottis = MST_GLOTTIS_NARROW;
        one.manner = MST_MANNER_NARROW;
        add(list, &one, "not closed: between hamza and alif", "بين الهمزة والألف");
        break;
    case MST_RULE_SAD_SIN:
        letter_figures(list, SAD);
        letter_figures(list, SIN);
        break;
    default:
        if (mst_rule_family(rule) == MST_FAMILY_LENGTH)
            long_vowels(list);
        break;
    }
}

int mst_card_figures(const struct mst_card *card, struct mst_figure out[MST_FIGURES_MAX])
{
    struct list list = {out, 0};
    switch (card->kind) {
    case MST_CARD_LETTER:
        letter_figures(&list, card->letter);
        break;
    case MST_CARD_PLACE:
        place_figures(&list, card->place);
        break;
    case MST_CARD_RULE:
        rule_figures(&list, card->rule);
        break;
    }
    return list.count;
}
