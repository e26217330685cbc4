/*
 * tajweed/letters.c – printed bytes to glyphs.
 *
 * Marks that already spell a rule out are passed over here and nowhere else:
 * sukūn (06E1), both zeros (0652, 06DF, 06E0), small mīm on a bare nūn (06E2),
 * maddah (0653) save on أ, where it is spelling, 06E4, and the shadda on a
 * word's first letter, which merging puts there. Open and closed
 * tanwīn are one; a vowel with small mīm is how this print writes a tanwīn
 * before bāʾ (see docs/text.md).
 */
#include "internal.h"

/* What a code point of the block U+0600…U+06FF does. */
enum action {
    DO_NOTHING, /* also the marks that are passed over */
    DO_LETTER,
    DO_VOWEL,
    DO_TANWIN,
    DO_SHADDA,
    DO_DAGGER,
    DO_SMALL,   /* small wāw or yāʾ on a letter */
    DO_HIGH_YA, /* … or a letter of its own, if it bears a vowel */
    DO_HIGH_NUN,
    DO_HAMZA, /* hamza above or below its seat */
    DO_TATWEEL,
    DO_MADDAH,
    DO_SMALL_MIM, /* on a vowel: tanwīn */
    DO_SIGN       /* pause, quarter, sajda */
};

struct effect {
    uint8_t action;
    uint8_t value; /* shape of a letter; enum vowel */
};

enum { BLOCK = 0x600, THIN_SPACE = 0x2009, ALIF_WITH_HAMZA = 0x623, TA_MARBUTA = 0x629 };

#define LETTER(cp, shape)       [(cp)-BLOCK] = {DO_LETTER, shape}
#define MARK(cp, action, value) [(cp)-BLOCK] = {action, value}

static const struct effect effects[256] = {
    LETTER(0x621, MST_PHONE_HAMZA),    LETTER(0x622, MST_PHONE_HAMZA),
    LETTER(0x623, MST_PHONE_HAMZA),    LETTER(0x624, MST_PHONE_HAMZA),
    LETTER(0x625, MST_PHONE_HAMZA),    LETTER(0x626, MST_PHONE_HAMZA),
    LETTER(0x627, SHAPE_ALIF),         LETTER(0x628, MST_PHONE_BA),
    LETTER(0x629, MST_PHONE_TA),       LETTER(0x62A, MST_PHONE_TA),
    LETTER(0x62B, MST_PHONE_THA),      LETTER(0x62C, MST_PHONE_JIM),
    LETTER(0x62D, MST_PHONE_HA_HUTTI), LETTER(0x62E, MST_PHONE_KHA),
    LETTER(0x62F, MST_PHONE_DAL),      LETTER(0x630, MST_PHONE_DHAL),
    LETTER(0x631, MST_PHONE_RA),       LETTER(0x632, MST_PHONE_ZAY),
    LETTER(0x633, MST_PHONE_SIN),      LETTER(0x634, MST_PHONE_SHIN),
    LETTER(0x635, MST_PHONE_SAD),      LETTER(0x636, MST_PHONE_DAD),
    LETTER(0x637, MST_PHONE_TAH),      LETTER(0x638, MST_PHONE_ZAH),
    LETTER(0x639, MST_PHONE_AYN),      LETTER(0x63A, MST_PHONE_GHAYN),
    MARK(0x640, DO_TATWEEL, 0),        LETTER(0x641, MST_PHONE_FA),
    LETTER(0x642, MST_PHONE_QAF),      LETTER(0x643, MST_PHONE_KAF),
    LETTER(0x644, MST_PHONE_LAM),      LETTER(0x645, MST_PHONE_MIM),
    LETTER(0x646, MST_PHONE_NUN),      LETTER(0x647, MST_PHONE_HA),
    LETTER(0x648, MST_PHONE_WAW),      LETTER(0x649, SHAPE_MAQSURA),
    LETTER(0x64A, MST_PHONE_YA),       MARK(0x64B, DO_TANWIN, V_A),
    MARK(0x64C, DO_TANWIN, V_U),       MARK(0x64D, DO_TANWIN, V_I),
    MARK(0x64E, DO_VOWEL, V_A),        MARK(0x64F, DO_VOWEL, V_U),
    MARK(0x650, DO_VOWEL, V_I),        MARK(0x651, DO_SHADDA, 0),
    MARK(0x653, DO_MADDAH, 0),         MARK(0x654, DO_HAMZA, 0),
    MARK(0x655, DO_HAMZA, 0),          MARK(0x656, DO_TANWIN, V_I), /* open tanwīn */
    MARK(0x657, DO_TANWIN, V_A),       MARK(0x65C, DO_VOWEL, V_A),  /* the dot of imāla, 11:41 */
    MARK(0x65E, DO_TANWIN, V_U),       MARK(0x670, DO_DAGGER, 0),
    LETTER(0x671, SHAPE_WASLA),        MARK(0x6D6, DO_SIGN, 0),
    MARK(0x6D7, DO_SIGN, 0),           MARK(0x6D8, DO_SIGN, 0),
    MARK(0x6D9, DO_SIGN, 0),           MARK(0x6DA, DO_SIGN, 0),
    MARK(0x6DB, DO_SIGN, 0),           MARK(0x6DE, DO_SIGN, 0),
    MARK(0x6E2, DO_SMALL_MIM, 0),      MARK(0x6E5, DO_SMALL, V_U),
    MARK(0x6E6, DO_SMALL, V_I),        MARK(0x6E7, DO_HIGH_YA, V_I),
    MARK(0x6E8, DO_HIGH_NUN, 0),       MARK(0x6E9, DO_SIGN, 0),
    MARK(0x6ED, DO_SMALL_MIM, 0),
};

static inline struct effect effect_of(uint32_t cp)
{
    return cp - BLOCK < 256 ? effects[cp - BLOCK] : (struct effect){DO_NOTHING, 0};
}

/* The code point at off: of the block U+0600…U+06FF nearly always, two bytes D8–DB, 80–BF. */
static inline struct effect next_effect(const char *s, size_t len, size_t *off, uint32_t *cp)
{
    const unsigned char *u = (const unsigned char *)s + *off;

    if (*off + 1 < len && (u[0] & 0xFC) == 0xD8 && (u[1] & 0xC0) == 0x80) {
        uint32_t in_block = (uint32_t)(u[0] & 3) << 6 | (u[1] & 0x3F);

        *off += 2;
        *cp = BLOCK + in_block;
        return effects[in_block];
    }
    *cp = mst_utf8_next(s, len, off);
    return effect_of(*cp);
}

/* Does the small high yāʾ before off bear a vowel or shadda? Then it is a letter of its own. */
static bool high_ya_is_letter(const char *s, size_t len, size_t off)
{
    uint32_t cp;

    while (off < len) {
        struct effect e = next_effect(s, len, &off, &cp);

        if (e.action == DO_SHADDA || e.action == DO_VOWEL)
            return true;
        if (e.action != DO_MADDAH)
            return false;
    }
    return false;
}

#define NO_SEAT SIZE_MAX

struct parser {
    struct mst_letter *letters;
    struct glyph *glyphs;
    int32_t count;
    size_t seat; /* byte offset of a tatweel or thin space that no letter has taken yet */
};

static inline struct glyph *add_letter(struct parser *p, uint32_t base, uint8_t shape,
                                       size_t byte_off)
{
    struct glyph *g = &p->glyphs[p->count];

    if (p->count > 0)
        p->letters[p->count - 1].byte_len = (int32_t)byte_off - p->letters[p->count - 1].byte_off;
    *g = (struct glyph){.shape = shape};
    p->letters[p->count] =
        (struct mst_letter){.number = p->count + 1, .base = base, .byte_off = (int32_t)byte_off};
    p->count++;
    p->seat = NO_SEAT;
    return g;
}

static inline void set_vowel(struct glyph *g, uint8_t v, bool tanwin)
{
    if (g->small) {
        g->small_vowel = v;
        return;
    }
    g->vowel = v;
    g->tanwin = tanwin;
}

static void read_sign(struct mst_word *w, uint32_t cp)
{
    switch (cp) {
    case 0x6D6:
        w->pause_sign = MST_PAUSE_GO_ON;
        break;
    case 0x6D7:
        w->pause_sign = MST_PAUSE_BETTER;
        break;
    case 0x6D8:
        w->pause_sign = MST_PAUSE_MUST;
        break;
    case 0x6D9:
        w->pause_sign = MST_PAUSE_MUST_NOT;
        break;
    case 0x6DA:
        w->pause_sign = MST_PAUSE_EITHER;
        break;
    case 0x6DB:
        w->pause_sign = MST_PAUSE_EMBRACING;
        break;
    case 0x6DE:
        w->quarter_before = 1;
        break;
    case 0x6E9:
        w->sajda = 1;
        break;
    default:
        break;
    }
}

int32_t mst_letters_parse(const char *bytes, int32_t byte_off, int32_t byte_len,
                          struct mst_letter *letters, struct glyph *glyphs, struct mst_word *word)
{
    struct glyph none = {0}; /* takes what stands before the first letter */
    struct glyph *g = &none;
    struct parser p = {.letters = letters, .glyphs = glyphs, .seat = NO_SEAT};
    size_t len = (size_t)(byte_off + byte_len);
    size_t off = (size_t)byte_off;
    bool on_thin_space = false;

    while (off < len) {
        size_t start = off;
        uint32_t cp;
        struct effect e = next_effect(bytes, len, &off, &cp);

        switch ((enum action)e.action) {
        case DO_LETTER:
            on_thin_space = false;
            g = add_letter(&p, cp, e.value, start);
            g->ta_marbuta = cp == TA_MARBUTA;
            break;
        case DO_VOWEL:
            set_vowel(g, e.value, false);
            break;
        case DO_TANWIN:
            set_vowel(g, e.value, true);
            break;
        case DO_SMALL_MIM: /* on a bare nūn it is passed over */
            g->tanwin = g->vowel != V_NONE;
            break;
        case DO_SHADDA:
            g->shadda = true;
            break;
        case DO_DAGGER: /* 2:72: on the thin space it is the hamza's seat */
            g->dagger = !on_thin_space || g->dagger;
            break;
        case DO_MADDAH: /* أٓ is spelling, the others are length */
            if (p.count > 0 && letters[p.count - 1].base == ALIF_WITH_HAMZA && !g->vowel) {
                g->alif_inside = true;
                g->vowel = V_A;
            }
            break;
        case DO_TATWEEL:
            p.seat = start;
            break;
        case DO_HAMZA: /* on a tatweel or the thin space a letter; on a letter it makes it one */
            if (p.seat != NO_SEAT || p.count == 0)
                g = add_letter(&p, 0x621, MST_PHONE_HAMZA, p.seat != NO_SEAT ? p.seat : start);
            else
                g->shape = MST_PHONE_HAMZA;
            break;
        case DO_HIGH_NUN:
            g = add_letter(&p, 0x646, MST_PHONE_NUN, p.seat != NO_SEAT ? p.seat : start);
            break;
        case DO_HIGH_YA:
            if (high_ya_is_letter(bytes, len, off)) {
                g = add_letter(&p, 0x64A, MST_PHONE_YA, p.seat != NO_SEAT ? p.seat : start);
                break;
            }
            g->small = e.value;
            break;
        case DO_SMALL:
            g->small = e.value;
            break;
        case DO_SIGN:
            read_sign(word, cp);
            break;
        case DO_NOTHING:
            if (cp == THIN_SPACE) {
                on_thin_space = true;
                p.seat = start;
            }
            break;
        }
    }
    if (p.count > 0)
        letters[p.count - 1].byte_len = (int32_t)len - letters[p.count - 1].byte_off;
    if (p.count > 0) /* on a word's first letter it is always that of merging */
        glyphs[0].shadda = false;
    return p.count;
}
