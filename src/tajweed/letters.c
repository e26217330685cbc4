/*
 * tajweed/letters.c – printed bytes to glyphs.
 *
 * Marks that already spell a rule out are passed over here and nowhere else:
 * sukūn (06E1), both zeros (0652, 06DF, 06E0), small mīm on a bare nūn (06E2),
 * maddah (0653) save on أ, where it is spelling, and 06E4. Open and closed
 * tanwīn are one; a vowel with small mīm is how this print writes a tanwīn
 * before bāʾ (see docs/text.md).
 */
#include "internal.h"

enum {
    CP_TATWEEL = 0x640,
    CP_FATHATAN = 0x64B,
    CP_DAMMATAN = 0x64C,
    CP_KASRATAN = 0x64D,
    CP_FATHA = 0x64E,
    CP_DAMMA = 0x64F,
    CP_KASRA = 0x650,
    CP_SHADDA = 0x651,
    CP_MADDAH = 0x653,
    CP_HAMZA_ABOVE = 0x654,
    CP_HAMZA_BELOW = 0x655,
    CP_OPEN_KASRATAN = 0x656,
    CP_OPEN_FATHATAN = 0x657,
    CP_IMALA_DOT = 0x65C,
    CP_OPEN_DAMMATAN = 0x65E,
    CP_DAGGER = 0x670,
    CP_MIM_HIGH = 0x6E2,
    CP_SMALL_WAW = 0x6E5,
    CP_SMALL_YA = 0x6E6,
    CP_HIGH_YA = 0x6E7,
    CP_HIGH_NUN = 0x6E8,
    CP_MIM_LOW = 0x6ED,
    CP_THIN_SPACE = 0x2009
};

/* U+0621…U+064A and U+0671 → what sounds. */
static uint8_t shape_of(uint32_t cp)
{
    static const uint8_t shapes[] = {
        [0x621 - 0x621] = MST_PHONE_HAMZA,    [0x622 - 0x621] = MST_PHONE_HAMZA,
        [0x623 - 0x621] = MST_PHONE_HAMZA,    [0x624 - 0x621] = MST_PHONE_HAMZA,
        [0x625 - 0x621] = MST_PHONE_HAMZA,    [0x626 - 0x621] = MST_PHONE_HAMZA,
        [0x627 - 0x621] = SHAPE_ALIF,         [0x628 - 0x621] = MST_PHONE_BA,
        [0x629 - 0x621] = MST_PHONE_TA,       [0x62A - 0x621] = MST_PHONE_TA,
        [0x62B - 0x621] = MST_PHONE_THA,      [0x62C - 0x621] = MST_PHONE_JIM,
        [0x62D - 0x621] = MST_PHONE_HA_HUTTI, [0x62E - 0x621] = MST_PHONE_KHA,
        [0x62F - 0x621] = MST_PHONE_DAL,      [0x630 - 0x621] = MST_PHONE_DHAL,
        [0x631 - 0x621] = MST_PHONE_RA,       [0x632 - 0x621] = MST_PHONE_ZAY,
        [0x633 - 0x621] = MST_PHONE_SIN,      [0x634 - 0x621] = MST_PHONE_SHIN,
        [0x635 - 0x621] = MST_PHONE_SAD,      [0x636 - 0x621] = MST_PHONE_DAD,
        [0x637 - 0x621] = MST_PHONE_TAH,      [0x638 - 0x621] = MST_PHONE_ZAH,
        [0x639 - 0x621] = MST_PHONE_AYN,      [0x63A - 0x621] = MST_PHONE_GHAYN,
        [0x63B - 0x621] = SHAPE_OTHER,        [0x63C - 0x621] = SHAPE_OTHER,
        [0x63D - 0x621] = SHAPE_OTHER,        [0x63E - 0x621] = SHAPE_OTHER,
        [0x63F - 0x621] = SHAPE_OTHER,        [0x640 - 0x621] = SHAPE_OTHER,
        [0x641 - 0x621] = MST_PHONE_FA,       [0x642 - 0x621] = MST_PHONE_QAF,
        [0x643 - 0x621] = MST_PHONE_KAF,      [0x644 - 0x621] = MST_PHONE_LAM,
        [0x645 - 0x621] = MST_PHONE_MIM,      [0x646 - 0x621] = MST_PHONE_NUN,
        [0x647 - 0x621] = MST_PHONE_HA,       [0x648 - 0x621] = MST_PHONE_WAW,
        [0x649 - 0x621] = SHAPE_MAQSURA,      [0x64A - 0x621] = MST_PHONE_YA,
    };

    if (cp >= 0x621 && cp <= 0x64A)
        return shapes[cp - 0x621];
    return cp == 0x671 ? SHAPE_WASLA : SHAPE_OTHER;
}

/* A printed code point: two bytes nearly always. */
static inline uint32_t next_cp(const char *s, size_t len, size_t *off)
{
    const unsigned char *u = (const unsigned char *)s + *off;

    if (*off + 1 < len && (u[0] & 0xE0) == 0xC0 && (u[1] & 0xC0) == 0x80) {
        *off += 2;
        return (uint32_t)(u[0] & 0x1F) << 6 | (u[1] & 0x3F);
    }
    return mst_utf8_next(s, len, off);
}

/* Does the small high yāʾ at off bear a vowel or shadda? Then it is a letter of its own. */
static bool high_ya_is_letter(const char *s, size_t len, size_t off)
{
    while (off < len) {
        uint32_t cp = next_cp(s, len, &off);

        if (cp == CP_SHADDA || cp == CP_FATHA || cp == CP_DAMMA || cp == CP_KASRA)
            return true;
        if (cp != CP_MADDAH)
            return false;
    }
    return false;
}

struct parser {
    struct mst_letter *letters;
    struct glyph *glyphs;
    int32_t count;
    int32_t tatweel_off; /* byte offset of a tatweel not yet given to a letter, or -1 */
};

static struct glyph *add_letter(struct parser *p, uint32_t base, uint8_t shape, int32_t byte_off)
{
    struct glyph *g = &p->glyphs[p->count];
    struct mst_letter *l = &p->letters[p->count];

    *g = (struct glyph){.shape = shape};
    *l = (struct mst_letter){.number = p->count + 1, .base = base, .byte_off = byte_off};
    p->count++;
    p->tatweel_off = -1;
    return g;
}

static void set_vowel(struct glyph *g, enum vowel v, bool tanwin)
{
    if (g->small) {
        g->small_vowel = (uint8_t)v;
        return;
    }
    g->vowel = (uint8_t)v;
    g->tanwin = tanwin;
}

static void read_mark(struct glyph *g, uint32_t cp, bool on_thin_space)
{
    switch (cp) {
    case CP_FATHA:
        set_vowel(g, V_A, false);
        break;
    case CP_DAMMA:
        set_vowel(g, V_U, false);
        break;
    case CP_KASRA:
        set_vowel(g, V_I, false);
        break;
    case CP_FATHATAN:
    case CP_OPEN_FATHATAN:
        set_vowel(g, V_A, true);
        break;
    case CP_DAMMATAN:
    case CP_OPEN_DAMMATAN:
        set_vowel(g, V_U, true);
        break;
    case CP_KASRATAN:
    case CP_OPEN_KASRATAN:
        set_vowel(g, V_I, true);
        break;
    case CP_MIM_HIGH:
    case CP_MIM_LOW:
        if (g->vowel)
            g->tanwin = true;
        break;
    case CP_SHADDA:
        g->shadda = true;
        break;
    case CP_DAGGER:
        if (!on_thin_space) /* 2:72: there it is the hamza's seat */
            g->dagger = true;
        break;
    case CP_IMALA_DOT:
        set_vowel(g, V_A, false);
        break;
    case CP_SMALL_WAW:
        g->small = V_U;
        break;
    case CP_SMALL_YA:
    case CP_HIGH_YA:
        g->small = V_I;
        break;
    default:
        break;
    }
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
    struct parser p = {.letters = letters, .glyphs = glyphs, .tatweel_off = -1};
    size_t len = (size_t)(byte_off + byte_len);
    size_t off = (size_t)byte_off;
    bool on_thin_space = false;

    while (off < len) {
        int32_t start = (int32_t)off;
        uint32_t cp = next_cp(bytes, len, &off);
        uint8_t shape = shape_of(cp);
        struct glyph *g = p.count > 0 ? &glyphs[p.count - 1] : NULL;

        if (shape != SHAPE_OTHER) {
            on_thin_space = false;
            g = add_letter(&p, cp, shape, start);
            g->ta_marbuta = cp == 0x629;
        } else if (cp == CP_TATWEEL) {
            p.tatweel_off = start;
        } else if (cp == CP_THIN_SPACE) {
            on_thin_space = true;
            p.tatweel_off = start;
        } else if (cp == CP_HAMZA_ABOVE || cp == CP_HAMZA_BELOW) {
            if (p.tatweel_off >= 0 || !g)
                add_letter(&p, 0x621, MST_PHONE_HAMZA, p.tatweel_off >= 0 ? p.tatweel_off : start);
            else
                g->shape = MST_PHONE_HAMZA;
        } else if (cp == CP_HIGH_NUN) {
            add_letter(&p, 0x646, MST_PHONE_NUN, p.tatweel_off >= 0 ? p.tatweel_off : start);
        } else if (cp == CP_HIGH_YA && high_ya_is_letter(bytes, len, off)) {
            add_letter(&p, 0x64A, MST_PHONE_YA, p.tatweel_off >= 0 ? p.tatweel_off : start);
        } else if (cp == CP_MADDAH) {
            if (g && letters[p.count - 1].base == 0x623 && !g->vowel) {
                g->alif_inside = true;
                g->vowel = V_A;
            }
        } else if ((cp >= 0x6D6 && cp <= 0x6DB) || cp == 0x6DE || cp == 0x6E9) {
            read_sign(word, cp);
        } else if (g) {
            read_mark(g, cp, on_thin_space);
        }
        if (p.count > 0)
            letters[p.count - 1].byte_len = (int32_t)off - letters[p.count - 1].byte_off;
    }
    return p.count;
}
