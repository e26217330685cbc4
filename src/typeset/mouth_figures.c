/*
 * Which pictures a card shows. A letter shows its own, a place those of its
 * letters that differ to the eye, a rule the states of the mouth that the
 * engine gives for it (mst_rule_mouth_states).
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

enum { LAM = 0x644, DAD = 0x636, ALIF = 0x627 };

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

/* The posture of a letter that a rule has changed. */
static struct mst_posture changed(const struct mst_mouth_state *state)
{
    struct mst_posture p = of(state->letter);
    double *gap = &p.touches[0].gap;
    switch ((enum mst_mouth_how)state->how) {
    case MST_HOW_ITS_OWN:
        break;
    case MST_HOW_NASAL:
        p.nose = 1;
        break;
    case MST_HOW_HIDDEN:
        *gap = *gap < 1 ? 2.6 : *gap + 1.6;
        p.manner = MST_MANNER_NEAR;
        p.nose = 1;
        p.mouth = 0;
        break;
    case MST_HOW_LIPS_LIGHT:
        p.lips = MST_LIPS_LIGHT;
        break;
    case MST_HOW_LET_GO:
        *gap = 2.6;
        p.manner = MST_MANNER_NARROW;
        p.echo = 1;
        break;
    case MST_HOW_HEAVY:
        p.back_up = state->letter == ALIF ? 5 : 6;
        break;
    case MST_HOW_LIGHT:
        p.back_up = 0;
        break;
    case MST_HOW_VOWEL:
        if (p.maker == MST_MAKER_TONGUE)
            *gap = 5; /* the lips of wāw stay as they are */
        p.maker = MST_MAKER_NONE;
        p.manner = MST_MANNER_OPEN;
        break;
    case MST_HOW_ROUNDED:
        p.lips = MST_LIPS_ROUNDED;
        break;
    case MST_HOW_TILTED:
        *gap = 8;
        p.jaw = 3;
        p.maker = MST_MAKER_NONE;
        p.manner = MST_MANNER_OPEN;
        break;
    case MST_HOW_EASED:
        p.glottis = MST_GLOTTIS_NARROW;
        p.manner = MST_MANNER_NARROW;
        break;
    }
    return p;
}

static void rule_figures(struct list *list, enum mst_rule rule)
{
    int count;
    const struct mst_mouth_state *states = mst_rule_mouth_states(rule, &count);
    for (int n = 0; n < count; n++) {
        struct mst_posture posture = changed(&states[n]);
        if (states[n].name_en)
            add(list, &posture, states[n].name_en, states[n].name_ar);
        else
            letter_figures(list, states[n].letter);
    }
}

static void place_figures(struct list *list, int place)
{
    const struct mst_articulation *a;
    if (place == 1 || place == 17) { /* the empty space of the mouth, and the nose */
        rule_figures(list, place == 1 ? MST_RULE_MADD_TABII : MST_RULE_GHUNNA);
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
