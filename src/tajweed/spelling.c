/*
 * tajweed/spelling.c – glyphs to segs: what the spelling of a word means by
 * itself, before it is known how the word is read.
 *
 * Source of the spelling rules: the description printed at the end of the
 * Medina edition, from memory, and the print itself, which docs/print-check.md
 * holds this file against letter by letter.
 */
#include "internal.h"

#include <string.h>

struct speller {
    const struct glyph *g;
    int32_t count;
    int32_t first_letter;
    const struct place *places;
    int32_t place_count;
    struct seg *segs;
    int32_t n;
    uint64_t bit;   /* of the n-th seg; 0 past the 64th */
    int32_t latest; /* the latest seg that is not mute, or -1 */
    struct stock *stock;
};

static bool place_at(const struct speller *sp, int32_t i, enum place_kind kind)
{
    for (int32_t p = 0; p < sp->place_count; p++)
        if (sp->places[p].kind == (int16_t)kind && sp->places[p].letter == i + 1)
            return true;
    return false;
}

/* The stock is taken here, where phone and vowel are at hand; what is found out about a letter
 * later corrects it. */
static inline struct seg *push(struct speller *sp, int32_t i, enum seg_kind kind, uint8_t phone,
                               enum vowel vowel)
{
    struct seg *s = &sp->segs[sp->n];

    seg_init(s, sp->first_letter + i, (uint8_t)kind, phone, (uint8_t)vowel);
    sp->stock->of[mst_concerns[phone]] |= sp->bit;
    sp->bit <<= 1;
    sp->latest = sp->n++;
    return s;
}

static inline struct seg *push_consonant(struct speller *sp, int32_t i, uint8_t phone,
                                         enum vowel vowel)
{
    sp->stock->bare |= sp->bit * (vowel == V_NONE);
    return push(sp, i, SLOT_CONSONANT, phone, vowel);
}

static void push_mute(struct speller *sp, int32_t i, enum mute why)
{
    struct seg *s = &sp->segs[sp->n];

    seg_init(s, sp->first_letter + i, SLOT_MUTE, 0, V_NONE);
    s->mute = (uint8_t)why;
    sp->stock->of[CONCERN_MUTE] |= sp->bit;
    sp->bit <<= 1;
    sp->n++;
}

static struct seg *push_long(struct speller *sp, int32_t i, enum vowel v)
{
    static const uint8_t phones[] = {
        [V_NONE] = MST_PHONE_AA, [V_A] = MST_PHONE_AA, [V_I] = MST_PHONE_II, [V_U] = MST_PHONE_UU};

    return push(sp, i, SLOT_LONG, phones[v], v);
}

static struct seg *latest(struct speller *sp)
{
    return sp->latest < 0 ? NULL : &sp->segs[sp->latest];
}

static bool ends_in_fathatan(struct speller *sp)
{
    const struct seg *s = latest(sp);

    return s && s->tanwin && s[-1].vowel == V_A;
}

/* A short vowel that a lengthening letter may carry on. */
static bool ends_in(struct speller *sp, enum vowel v)
{
    const struct seg *s = latest(sp);

    return s && s->kind == SLOT_CONSONANT && s->vowel == v;
}

static bool is_bare(const struct glyph *g)
{
    return !g->vowel && !g->shadda && !g->tanwin;
}

/* أُو at the head of a word, or after one letter, with a wāw that is only written: أولئك, أولئكم,
 * أولاء, أولات, أولوا, أولي (not أولى). */
static bool is_ulu_waw(const struct speller *sp, int32_t i)
{
    const struct glyph *g = sp->g;

    if (i < 1 || i > 2 || i + 2 >= sp->count || g[i - 1].shape != MST_PHONE_HAMZA ||
        g[i - 1].vowel != V_U || g[i + 1].shape != MST_PHONE_LAM || g[i + 1].shadda)
        return false;
    switch (g[i + 2].shape) {
    case MST_PHONE_WAW: /* أولوا */
        return g[i + 1].vowel == V_U;
    case MST_PHONE_YA: /* أولي */
        return g[i + 1].vowel == V_I && is_bare(&g[i + 2]) && i + 3 == sp->count;
    case MST_PHONE_HAMZA: /* أولئك */
    case MST_PHONE_TA:    /* أولات */
        return g[i + 1].dagger;
    case SHAPE_ALIF: /* أولاء */
        return i + 3 < sp->count && g[i + 3].shape == MST_PHONE_HAMZA;
    default:
        return false;
    }
}

static void spell_alif(struct speller *sp, int32_t i)
{
    if (place_at(sp, i, PLACE_TASHIL)) { /* ءَا۬عۡجَمِيّٞ: the eased second hamza */
        push_consonant(sp, i, MST_PHONE_HAMZA_EASED, V_A);
    } else if (place_at(sp, i, PLACE_SILENT)) {
        push_mute(sp, i, MUTE_ROUND);
    } else if (ends_in_fathatan(sp)) {
        push_mute(sp, i, MUTE_SEAT);
    } else if (ends_in(sp, V_A)) {
        bool plural = i >= 2 && i == sp->count - 1 && sp->g[i - 1].shape == MST_PHONE_WAW &&
                      sp->g[i - 2].vowel == V_U;

        if (plural) /* يَتۡلُوَا: the alif after a plural's or a verb's wāw */
            push_mute(sp, i, MUTE_ROUND);
        else if (place_at(sp, i, PLACE_RECT))
            push_mute(sp, i, MUTE_RECT);
        else
            push_long(sp, i, V_A);
    } else {
        push_mute(sp, i, MUTE_ROUND); /* قَالُوا, مِا۟ئَة, جِا۟ىٓءَ, ٱلرِّبَوٰا */
    }
}

/* What a consonant bears beside its own vowel. */
static void spell_borne(struct speller *sp, int32_t i)
{
    const struct glyph *g = &sp->g[i];

    if (g->form == FORM_TA_MARBUTA)
        sp->segs[sp->latest].flags |= SLOT_TA_MARBUTA;
    if (g->tanwin)
        push_consonant(sp, i, MST_PHONE_NUN, V_NONE)->tanwin = 1;
    if (g->form == FORM_ALIF_INSIDE || g->dagger) {
        push_long(sp, i, V_A);
    } else if (!g->small && place_at(sp, i, PLACE_LOST_WAW)) {
        push_long(sp, i, V_U);
    } else if (g->small && g->small_vowel) { /* 27:36: a yāʾ that sounds */
        push_consonant(sp, i, g->small == V_I ? MST_PHONE_YA : MST_PHONE_WAW, g->small_vowel);
    } else if (g->small) {
        struct seg *l = push_long(sp, i, g->small);

        if (g->shape == MST_PHONE_HA && i == sp->count - 1) {
            l->flags |= SLOT_SILA;
            sp->segs[sp->n - 2].flags |= SLOT_PRONOUN;
        }
    }
}

static inline void spell_consonant(struct speller *sp, int32_t i, uint8_t phone)
{
    const struct glyph *g = &sp->g[i];

    sp->stock->doubled |= sp->bit * (g->shadda != 0);
    push_consonant(sp, i, phone, g->vowel)->doubled = g->shadda;
    if (g->tanwin | g->dagger | g->small | g->form | sp->place_count) /* one question for all */
        spell_borne(sp, i);
}

/*
 * The Name: two lāms and hāʾ, and no more but the doubled mīm of ٱللَّهُمَّ. Its
 * long ā is not written. Told by its letters, since the second lām's shadda is
 * that of the article's merging; only in لِلَّهِ, where one lām writes both, is it
 * the word's own. ٱللَّهۡوِ and ٱللَّهَبِ go on after the hāʾ. Asked of a lām before a hāʾ.
 */
static bool is_name_lam(const struct speller *sp, int32_t i)
{
    const struct glyph *g = sp->g;
    bool after_article, ends;

    if (i < 1 || i > 4 || g[i - 1].shape != MST_PHONE_LAM)
        return false;
    after_article = i >= 2 && is_bare(&g[i - 1]) &&
                    (g[i - 2].shape == SHAPE_WASLA || g[i - 2].shape == SHAPE_ALIF);
    ends = i + 2 == sp->count ||
           (i + 3 == sp->count && g[i + 2].shape == MST_PHONE_MIM && g[i + 2].shadda);
    return ends && g[i].vowel == V_A && !g[i].dagger && !g[i + 1].small &&
           (after_article || g[i].shadda);
}

static void spell_name_lam(struct speller *sp, int32_t i)
{
    struct seg *s = &sp->segs[sp->n];

    spell_consonant(sp, i, MST_PHONE_LAM);
    s->flags |= SLOT_NAME;
    sp->stock->name |= SEG_BIT(s - sp->segs);
    push_long(sp, i, V_A);
}

static void spell_waw_or_ya(struct speller *sp, int32_t i)
{
    const struct glyph *g = &sp->g[i];
    enum vowel own = g->shape == MST_PHONE_WAW ? V_U : V_I;

    if (!is_bare(g)) {
        spell_consonant(sp, i, g->shape);
    } else if (g->dagger) { /* ٱلصَّلَوٰة: the seat of a long ā */
        push_long(sp, i, V_A);
    } else if (place_at(sp, i, PLACE_SILENT) || (own == V_U && is_ulu_waw(sp, i))) {
        push_mute(sp, i, MUTE_ROUND);
    } else if (ends_in(sp, own)) {
        push_long(sp, i, own);
    } else {
        spell_consonant(sp, i, g->shape);
    }
}

static void spell_maqsura(struct speller *sp, int32_t i)
{
    if (ends_in_fathatan(sp))
        push_mute(sp, i, MUTE_SEAT);
    else if (ends_in(sp, V_I) && !sp->g[i].dagger)
        push_long(sp, i, V_I);
    else
        push_long(sp, i, V_A);
}

static void spell_maqsura_or_ya(struct speller *sp, int32_t i)
{
    if (is_bare(&sp->g[i]))
        spell_maqsura(sp, i);
    else
        spell_consonant(sp, i, MST_PHONE_YA);
}

static void spell_wasla(struct speller *sp, int32_t i)
{
    if (i == 0)
        push(sp, i, SLOT_WASLA, MST_PHONE_HAMZA, V_NONE);
    else
        push_mute(sp, i, MUTE_WASLA);
}

/* Shapes that the letters around them decide upon; the others are consonants. */
#define SHAPES_TO_JUDGE                                                                            \
    (UINT64_C(1) << SHAPE_ALIF | UINT64_C(1) << SHAPE_WASLA | UINT64_C(1) << SHAPE_MAQSURA |       \
     PHONE_BIT(WAW) | PHONE_BIT(YA))

static inline void spell_letter(struct speller *sp, int32_t i)
{
    uint8_t shape = sp->g[i].shape;

    if (!phone_in(shape, SHAPES_TO_JUDGE)) {
        bool before_ha = sp->g[i + 1].shape == MST_PHONE_HA; /* few are: asked first */

        if (before_ha && shape == MST_PHONE_LAM && is_name_lam(sp, i))
            spell_name_lam(sp, i);
        else
            spell_consonant(sp, i, shape);
    } else if (shape == SHAPE_ALIF) {
        spell_alif(sp, i);
    } else if (shape == SHAPE_WASLA) {
        spell_wasla(sp, i);
    } else if (shape == SHAPE_MAQSURA) {
        spell_maqsura_or_ya(sp, i);
    } else {
        spell_waw_or_ya(sp, i);
    }
}

/* Prefixes of one letter with a vowel: و ف ب ك ت أ; and ل before another (لَبِٱلۡ). */
#define PHONES_PREFIX                                                                              \
    (PHONE_BIT(WAW) | PHONE_BIT(FA) | PHONE_BIT(BA) | PHONE_BIT(KAF) | PHONE_BIT(TA) |             \
     PHONE_BIT(HAMZA))

/* The empty glyph behind the last has no vowel. */
static inline bool is_prefix(const struct speller *sp, int32_t i, uint64_t prefixes)
{
    const struct glyph *g = &sp->g[i];

    return phone_in(g->shape, prefixes) & (g->vowel != V_NONE) & !g->dagger;
}

/* The index of what follows the prefixes. */
static int32_t after_prefixes(const struct speller *sp, uint64_t prefixes)
{
    int32_t i = 0;

    while (is_prefix(sp, i, prefixes))
        i++;
    return i;
}

static struct seg *slot_of(struct speller *sp, int32_t i)
{
    for (int32_t k = 0; k < sp->n; k++)
        if (sp->segs[k].letter == sp->first_letter + i && sp->segs[k].kind == SLOT_CONSONANT)
            return &sp->segs[k];
    return NULL;
}

/*
 * Find the lām of the article: after ٱ; after a lām with a vowel (لِلۡ, لَلۡ);
 * after the question hamza (ءَآل); alone at the head (لۡـَٔيۡكَةِ). Where the article
 * and the word's own lām are one letter (ٱلَّذِي, لِلَّهِ), that letter is both.
 */
static void find_article(struct speller *sp, uint32_t places)
{
    const struct glyph *g = sp->g;
    int32_t i = after_prefixes(sp, PHONES_PREFIX), wasla = i, lam = -1;
    struct seg *s;

    while (is_prefix(sp, wasla, PHONES_PREFIX | PHONE_BIT(LAM)))
        wasla++;
    if (places >> PLACE_VERB_LAM & 1u)
        return;
    if (places >> PLACE_START_AYKA & 1u)
        lam = 0;
    else if (wasla + 1 < sp->count && g[wasla].shape == SHAPE_WASLA &&
             g[wasla + 1].shape == MST_PHONE_LAM)
        lam = wasla + 1;
    else if (i + 1 < sp->count && g[i].shape == MST_PHONE_LAM && g[i].vowel && !g[i].shadda &&
             g[i + 1].shape == MST_PHONE_LAM && (is_bare(&g[i + 1]) || g[i + 1].shadda))
        lam = i + 1;
    else if (i == 1 && sp->count > 3 && g[0].shape == MST_PHONE_HAMZA && g[0].vowel == V_A &&
             g[1].shape == SHAPE_ALIF && g[2].shape == MST_PHONE_LAM && is_bare(&g[2]))
        lam = 2;
    if (lam < 0 || lam + 1 >= sp->count)
        return;
    s = slot_of(sp, lam);
    if (!s)
        return;
    if (lam == 2 && g[1].shape == SHAPE_ALIF)
        s[-1].flags |= SLOT_QUESTION;
    if (is_bare(&g[lam]) || (places >> PLACE_ISM & 1u))
        s->flags |= SLOT_ARTICLE;
    else if (g[lam].shadda)
        s->flags |= SLOT_ARTICLE | SLOT_ARTICLE_ONE;
    else
        return;
    sp->stock->article |= SEG_BIT(s - sp->segs);
}

/*
 * يَـٰٓأَيُّهَا, هَـٰٓأَنتُمۡ: a calling yāʾ or a pointing hāʾ written together with the word that
 * follows. They are written with a dagger alif; هَآؤُمُ (69:19) is one word, with alif.
 */
static void find_joined_caller(struct speller *sp)
{
    const struct glyph *g = sp->g;

    for (int32_t i = 0; i < 2 && i + 1 < sp->count; i++) {
        if (i == 1 &&
            !(g[0].vowel == V_A && (g[0].shape == MST_PHONE_WAW || g[0].shape == MST_PHONE_HAMZA ||
                                    g[0].shape == MST_PHONE_FA)))
            return;
        if ((g[i].shape == MST_PHONE_YA || g[i].shape == MST_PHONE_HA) && g[i].dagger &&
            g[i].vowel == V_A && !g[i].shadda && g[i + 1].shape == MST_PHONE_HAMZA) {
            for (int32_t k = 0; k < sp->n; k++)
                if (sp->segs[k].letter == sp->first_letter + i && sp->segs[k].kind == SLOT_LONG)
                    sp->segs[k].flags |= SLOT_HAMZA_INSIDE;
            return;
        }
    }
}

/* A hāʾ that belongs to the word, by the letters before it: وجه إله وجوه فواكه نفقه تنته … */
static bool is_root_ha(const struct speller *sp)
{
    const struct glyph *g = sp->g + sp->count;
    int32_t n = sp->count;

    if (n < 3) /* بِهِ, لَهُ */
        return false;
    switch (g[-2].shape) {
    case MST_PHONE_JIM: /* وجه */
        return g[-3].shape == MST_PHONE_WAW && !g[-2].vowel;
    case MST_PHONE_LAM: /* إله, and the Name */
        return (g[-3].shape == MST_PHONE_HAMZA && g[-2].dagger) ||
               (g[-3].shape == MST_PHONE_LAM && (is_bare(&g[-3]) || g[-2].shadda));
    case MST_PHONE_KAF: /* فواكه */
        return g[-3].shape == MST_PHONE_WAW && g[-2].vowel == V_I;
    case MST_PHONE_QAF: /* نفقه */
        return g[-3].shape == MST_PHONE_FA && g[-2].vowel == V_A;
    case MST_PHONE_TA: /* تنته, ينته */
        return g[-3].shape == MST_PHONE_NUN && g[-2].vowel == V_I;
    case MST_PHONE_WAW: /* أفواه; وجوه */
        return g[-2].dagger || (n >= 4 && g[-3].shape == MST_PHONE_JIM && is_bare(&g[-2]) &&
                                g[-4].shape == MST_PHONE_WAW && g[-4].vowel == V_U);
    case MST_PHONE_RA: /* كره */
        return g[-3].shape == MST_PHONE_KAF;
    case MST_PHONE_BA: /* متشابه */
        return g[-3].shape == MST_PHONE_SHIN;
    default:
        return false;
    }
}

static void find_pronoun(struct speller *sp)
{
    const struct glyph *last = sp->count > 0 ? &sp->g[sp->count - 1] : NULL;
    struct seg *s;

    if (!last || last->shape != MST_PHONE_HA || last->tanwin || last->shadda ||
        (last->vowel != V_I && last->vowel != V_U) || last->small || is_root_ha(sp))
        return;
    s = latest(sp);
    if (s)
        s->flags |= SLOT_PRONOUN;
}

#define SHAPES_OF_ANA (PHONE_BIT(HAMZA) | PHONE_BIT(NUN) | UINT64_C(1) << SHAPE_ALIF)

/* أَنَا, with or without وَ or فَ: its alif is sounded at a stop only. */
static bool is_ana(const struct glyph *g, int32_t count)
{
    if (count == 4 && g[0].vowel == V_A &&
        (g[0].shape == MST_PHONE_WAW || g[0].shape == MST_PHONE_FA))
        g++;
    else if (count != 3)
        return false;
    return g[0].shape == MST_PHONE_HAMZA && g[0].vowel == V_A && g[0].form != FORM_ALIF_INSIDE &&
           g[1].shape == MST_PHONE_NUN && g[1].vowel == V_A && !g[1].shadda &&
           g[2].shape == SHAPE_ALIF;
}

/* قُل or بَل, with or without one prefix. */
static bool is_qul_or_bal(const struct glyph *g, int32_t count)
{
    const struct glyph *end = g + count;

    return count >= 2 && end[-1].shape == MST_PHONE_LAM && count <= 3 && is_bare(&end[-1]) &&
           ((end[-2].shape == MST_PHONE_QAF && end[-2].vowel == V_U) ||
            (end[-2].shape == MST_PHONE_BA && end[-2].vowel == V_A));
}

/* اسم ابن ابنت امرؤ امرأة اثنان اثنتان in all their forms. */
static bool is_wasl_noun(const struct glyph *g, int32_t count)
{
    if (count < 3)
        return false;
    if (g[1].shape == MST_PHONE_SIN && is_bare(&g[1]) && g[2].shape == MST_PHONE_MIM)
        return count == 3 || g[3].shape == MST_PHONE_HA;
    if (g[1].shape == MST_PHONE_BA && is_bare(&g[1]) && g[2].shape == MST_PHONE_NUN)
        return !(count >= 4 && g[3].shape == MST_PHONE_WAW); /* not ٱبۡنُواْ, a verb */
    if (g[1].shape == MST_PHONE_MIM && is_bare(&g[1]) && g[2].shape == MST_PHONE_RA)
        return count >= 4 && g[3].shape == MST_PHONE_HAMZA;
    return g[1].shape == MST_PHONE_THA && is_bare(&g[1]) && g[2].shape == MST_PHONE_NUN;
}

/* Verbs whose third letter bears a passing ḍamma: ٱمۡشُواْ ٱقۡضُوٓاْ ٱبۡنُواْ ٱئۡتُواْ ٱمۡضُواْ. */
static bool has_passing_damma(const struct glyph *g, int32_t count)
{
    static const uint8_t pairs[][2] = {{MST_PHONE_MIM, MST_PHONE_SHIN},
                                       {MST_PHONE_QAF, MST_PHONE_DAD},
                                       {MST_PHONE_BA, MST_PHONE_NUN},
                                       {MST_PHONE_HAMZA, MST_PHONE_TA},
                                       {MST_PHONE_MIM, MST_PHONE_DAD}};

    if (count < 4 || g[3].shape != MST_PHONE_WAW)
        return false;
    for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++)
        if (g[1].shape == pairs[k][0] && g[2].shape == pairs[k][1])
            return true;
    return false;
}

/*
 * What a joining hamza at the head takes at a start (al-Jazariyya, chapter on
 * the joining hamza): fatḥa with the article; in a verb ḍamma if its third
 * letter has a ḍamma of its own, a doubled second letter counting as two;
 * else, and in the seven nouns, kasra.
 */
static enum vowel wasl_vowel(const struct speller *sp)
{
    const struct glyph *g = sp->g;
    const struct seg *second = sp->count > 1 ? slot_of((struct speller *)sp, 1) : NULL;
    const struct glyph *third;

    if (second && second->flags & SLOT_ARTICLE)
        return V_A;
    if (sp->count < 3 || is_wasl_noun(g, sp->count) || has_passing_damma(g, sp->count))
        return V_I;
    third = g[1].shadda ? &g[1] : &g[2];
    return third->vowel == V_U ? V_U : V_I;
}

void mst_spell(const struct glyph *glyphs, const struct mst_letter *letters, int32_t count,
               int32_t first_letter, const struct place *places, int32_t place_count,
               bool before_wasl, struct seg *segs, struct form *out)
{
    static const struct form fresh;
    struct speller sp = {.g = glyphs,
                         .count = count,
                         .first_letter = first_letter,
                         .places = places,
                         .place_count = place_count,
                         .segs = segs,
                         .bit = 1,
                         .latest = -1,
                         .stock = &out->stock};
    struct seg *s;
    uint64_t shapes = 0;

    /* not (struct form){0}: gcc clears it with a string instruction, five times slower */
    memcpy(&out->stock, &fresh.stock, sizeof out->stock);
    out->segs = segs;
    out->places = 0;
    out->opening = out->wasl_vowel = 0;
    out->first_letter = first_letter;
    out->letter_count = count;
    for (int32_t p = 0; p < place_count; p++)
        out->places |= 1u << places[p].kind;
    if (mst_opening_spell(glyphs, count, first_letter, segs, &sp.n)) {
        out->opening = 1;
        out->seg_count = sp.n;
        return;
    }
    for (int32_t i = 0; i < count; i++) {
        spell_letter(&sp, i);
        shapes |= UINT64_C(1) << glyphs[i].shape;
    }
    if (shapes & PHONE_BIT(LAM))
        find_article(&sp, out->places);
    if (count > 1 && glyphs[0].dagger | glyphs[1].dagger)
        find_joined_caller(&sp);
    find_pronoun(&sp);
    if (count > 0 && glyphs[0].shape == SHAPE_WASLA)
        out->wasl_vowel = (uint8_t)wasl_vowel(&sp);
    out->qul_or_bal = is_qul_or_bal(glyphs, count);
    out->ana = (shapes & SHAPES_OF_ANA) == SHAPES_OF_ANA && is_ana(glyphs, count);
    s = latest(&sp);
    if (out->ana && s && s->kind == SLOT_LONG && !before_wasl) {
        s->kind = SLOT_MUTE;
        s->mute = MUTE_RECT;
        out->stock.of[CONCERN_LENGTHENING] &= ~SEG_BIT(sp.latest);
        out->stock.of[CONCERN_MUTE] |= SEG_BIT(sp.latest);
    }
    if (HAS_PLACE(out, IWAJA) && s && s->kind == SLOT_LONG)
        s->flags |= SLOT_IWAJA;
    if (before_wasl && s && s->kind == SLOT_CONSONANT && mst_vowel_passes(glyphs, letters, count))
        s->flags |= SLOT_PASSING;
    out->seg_count = sp.n;
}
