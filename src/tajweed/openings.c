/*
 * tajweed/openings.c – the letters at the head of suras, spelled out by their
 * names. Source: Tuḥfat al-aṭfāl, chapter on the kinds of binding lengthening:
 * eight letters (كم عسل نقص) have names of three letters with a lengthening in
 * the middle, five (حي طهر) a natural one, and alif none.
 */
#include "internal.h"

struct letter_name {
    uint8_t shape;
    uint8_t first;  /* consonant before the lengthening */
    uint8_t middle; /* enum vowel of the lengthening; V_NONE: ʿayn's yāʾ after fatḥa */
    uint8_t last;   /* consonant after it, or none = MST_PHONE_COUNT */
};

enum { NO_LAST = MST_PHONE_COUNT };

static const struct letter_name names[] = {
    {MST_PHONE_KAF, MST_PHONE_KAF, V_A, MST_PHONE_FA},
    {MST_PHONE_MIM, MST_PHONE_MIM, V_I, MST_PHONE_MIM},
    {MST_PHONE_AYN, MST_PHONE_AYN, V_NONE, MST_PHONE_NUN},
    {MST_PHONE_SIN, MST_PHONE_SIN, V_I, MST_PHONE_NUN},
    {MST_PHONE_LAM, MST_PHONE_LAM, V_A, MST_PHONE_MIM},
    {MST_PHONE_NUN, MST_PHONE_NUN, V_U, MST_PHONE_NUN},
    {MST_PHONE_QAF, MST_PHONE_QAF, V_A, MST_PHONE_FA},
    {MST_PHONE_SAD, MST_PHONE_SAD, V_A, MST_PHONE_DAL},
    {MST_PHONE_HA_HUTTI, MST_PHONE_HA_HUTTI, V_A, NO_LAST},
    {MST_PHONE_YA, MST_PHONE_YA, V_A, NO_LAST},
    {MST_PHONE_TAH, MST_PHONE_TAH, V_A, NO_LAST},
    {MST_PHONE_HA, MST_PHONE_HA, V_A, NO_LAST},
    {MST_PHONE_RA, MST_PHONE_RA, V_A, NO_LAST},
};

#define PHONES_NAMED                                                                               \
    (PHONE_BIT(KAF) | PHONE_BIT(MIM) | PHONE_BIT(AYN) | PHONE_BIT(SIN) | PHONE_BIT(LAM) |          \
     PHONE_BIT(NUN) | PHONE_BIT(QAF) | PHONE_BIT(SAD) | PHONE_BIT(HA_HUTTI) | PHONE_BIT(YA) |      \
     PHONE_BIT(TAH) | PHONE_BIT(HA) | PHONE_BIT(RA))
#define SHAPES_NAMED (PHONES_NAMED | UINT64_C(1) << SHAPE_ALIF | UINT64_C(1) << SHAPE_MAQSURA)

static const struct letter_name *name_of(uint8_t shape)
{
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i].shape == shape)
            return &names[i];
    return NULL;
}

/* An opening is letters without any vowel: the only words of the print that are. */
static bool is_opening(const struct glyph *g, int32_t count)
{
    for (int32_t i = 0; i < count; i++)
        if (g[i].vowel || g[i].shadda || g[i].dagger || g[i].small ||
            !phone_in(g[i].shape, SHAPES_NAMED))
            return false;
    return count > 0;
}

static struct seg *push(struct seg *segs, int32_t *n, int32_t letter, enum seg_kind kind,
                        uint8_t phone, enum vowel vowel)
{
    struct seg *s = &segs[(*n)++];

    seg_init(s, letter, (uint8_t)kind, phone, (uint8_t)vowel);
    s->flags = SLOT_OPENING;
    return s;
}

static void spell_name(const struct letter_name *name, int32_t letter, struct seg *segs, int32_t *n)
{
    static const uint8_t longs[] = {
        [V_A] = MST_PHONE_AA, [V_I] = MST_PHONE_II, [V_U] = MST_PHONE_UU};
    uint16_t three = name->last == NO_LAST ? 0 : SLOT_THREE;

    if (name->middle == V_NONE) {
        push(segs, n, letter, SLOT_CONSONANT, name->first, V_A);
        push(segs, n, letter, SLOT_CONSONANT, MST_PHONE_YA, V_NONE)->flags |= three;
    } else {
        push(segs, n, letter, SLOT_CONSONANT, name->first, name->middle);
        push(segs, n, letter, SLOT_LONG, longs[name->middle], name->middle)->flags |= three;
    }
    if (three)
        push(segs, n, letter, SLOT_CONSONANT, name->last, V_NONE);
}

bool mst_opening_spell(const struct glyph *glyphs, int32_t count, int32_t first_letter,
                       struct seg *segs, int32_t *seg_count)
{
    int32_t n = 0;

    if (!is_opening(glyphs, count))
        return false;
    for (int32_t i = 0; i < count; i++) {
        int32_t letter = first_letter + i;
        uint8_t shape = glyphs[i].shape == SHAPE_MAQSURA ? MST_PHONE_YA : glyphs[i].shape;

        if (shape == SHAPE_ALIF) {
            push(segs, &n, letter, SLOT_CONSONANT, MST_PHONE_HAMZA, V_A);
            push(segs, &n, letter, SLOT_CONSONANT, MST_PHONE_LAM, V_I);
            push(segs, &n, letter, SLOT_CONSONANT, MST_PHONE_FA, V_NONE);
        } else {
            spell_name(name_of(shape), letter, segs, &n);
        }
    }
    *seg_count = n;
    return true;
}
