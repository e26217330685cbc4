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

#include <stdalign.h>
#include <string.h>

/* What a code point of the block U+0600…U+06FF does. */
enum action {
    DO_MARK,   /* puts its bits into the glyph; those passed over have none */
    DO_LETTER, /* 1: so many letters more */
    /* the rest are rare */
    DO_SMALL,   /* small wāw or yāʾ on a letter */
    DO_HIGH_YA, /* … or a letter of its own, if it bears a vowel */
    DO_HIGH_NUN,
    DO_HAMZA, /* hamza above or below its seat */
    DO_TATWEEL,
    DO_MADDAH,
    DO_SMALL_MIM, /* on a vowel: tanwīn */
    DO_SIGN,      /* pause, quarter, sajda */
    DO_OTHER      /* outside the block */
};

enum {
    BLOCK = 0x600,
    OUTSIDE_BLOCK = 256, /* the index of every other code point */
    DAGGER = 0x670,
    THIN_SPACE = 0x2009,
    ALIF_WITH_HAMZA = 0x623
};

/*
 * Nearly every code point is a letter or a mark, and what it does is these
 * eight bytes: a letter begins with them, a mark adds them to its letter.
 */
struct effect {
    alignas(16) struct glyph bits; /* aligned: an index into the table costs a shift */
    uint8_t action;
};

#define LETTER(cp, ...) [(cp)-BLOCK] = {{__VA_ARGS__}, DO_LETTER}
#define MARK(cp, ...)   [(cp)-BLOCK] = {{__VA_ARGS__}, DO_MARK}
#define RARE(cp, act)   [(cp)-BLOCK] = {{0}, act}
#define VOWEL(v)        .vowel = (v)
#define TANWIN(v)       .vowel = (v), .tanwin = 1

static const struct effect effects[OUTSIDE_BLOCK + 1] = {
    LETTER(0x621, MST_PHONE_HAMZA),
    LETTER(0x622, MST_PHONE_HAMZA),
    LETTER(0x623, MST_PHONE_HAMZA),
    LETTER(0x624, MST_PHONE_HAMZA),
    LETTER(0x625, MST_PHONE_HAMZA),
    LETTER(0x626, MST_PHONE_HAMZA),
    LETTER(0x627, SHAPE_ALIF),
    LETTER(0x628, MST_PHONE_BA),
    LETTER(0x629, MST_PHONE_TA, .form = FORM_TA_MARBUTA),
    LETTER(0x62A, MST_PHONE_TA),
    LETTER(0x62B, MST_PHONE_THA),
    LETTER(0x62C, MST_PHONE_JIM),
    LETTER(0x62D, MST_PHONE_HA_HUTTI),
    LETTER(0x62E, MST_PHONE_KHA),
    LETTER(0x62F, MST_PHONE_DAL),
    LETTER(0x630, MST_PHONE_DHAL),
    LETTER(0x631, MST_PHONE_RA),
    LETTER(0x632, MST_PHONE_ZAY),
    LETTER(0x633, MST_PHONE_SIN),
    LETTER(0x634, MST_PHONE_SHIN),
    LETTER(0x635, MST_PHONE_SAD),
    LETTER(0x636, MST_PHONE_DAD),
    LETTER(0x637, MST_PHONE_TAH),
    LETTER(0x638, MST_PHONE_ZAH),
    LETTER(0x639, MST_PHONE_AYN),
    LETTER(0x63A, MST_PHONE_GHAYN),
    RARE(0x640, DO_TATWEEL),
    LETTER(0x641, MST_PHONE_FA),
    LETTER(0x642, MST_PHONE_QAF),
    LETTER(0x643, MST_PHONE_KAF),
    LETTER(0x644, MST_PHONE_LAM),
    LETTER(0x645, MST_PHONE_MIM),
    LETTER(0x646, MST_PHONE_NUN),
    LETTER(0x647, MST_PHONE_HA),
    LETTER(0x648, MST_PHONE_WAW),
    LETTER(0x649, SHAPE_MAQSURA),
    LETTER(0x64A, MST_PHONE_YA),
    MARK(0x64B, TANWIN(V_A)),
    MARK(0x64C, TANWIN(V_U)),
    MARK(0x64D, TANWIN(V_I)),
    MARK(0x64E, VOWEL(V_A)),
    MARK(0x64F, VOWEL(V_U)),
    MARK(0x650, VOWEL(V_I)),
    MARK(0x651, .shadda = 1),
    RARE(0x653, DO_MADDAH),
    RARE(0x654, DO_HAMZA),
    RARE(0x655, DO_HAMZA),
    MARK(0x656, TANWIN(V_I)), /* open tanwīn */
    MARK(0x657, TANWIN(V_A)),
    MARK(0x65C, VOWEL(V_A)), /* the dot of imāla, 11:41 */
    MARK(0x65E, TANWIN(V_U)),
    MARK(0x670, .dagger = 1),
    LETTER(0x671, SHAPE_WASLA),
    RARE(0x6D6, DO_SIGN),
    RARE(0x6D7, DO_SIGN),
    RARE(0x6D8, DO_SIGN),
    RARE(0x6D9, DO_SIGN),
    RARE(0x6DA, DO_SIGN),
    RARE(0x6DB, DO_SIGN),
    RARE(0x6DE, DO_SIGN),
    RARE(0x6E2, DO_SMALL_MIM),
    RARE(0x6E5, DO_SMALL),
    RARE(0x6E6, DO_SMALL),
    RARE(0x6E7, DO_HIGH_YA),
    RARE(0x6E8, DO_HIGH_NUN),
    RARE(0x6E9, DO_SIGN),
    RARE(0x6ED, DO_SMALL_MIM),
    [OUTSIDE_BLOCK] = {{0}, DO_OTHER},
};

/* A word's bytes on their way to letters. */
struct parser {
    const unsigned char *s;
    int32_t off, end;
    struct mst_letter *letters;
    struct glyph *glyphs; /* the one before the first takes what stands before any letter */
    int32_t count;
    int32_t seat; /* byte offset of the latest tatweel or thin space, or -1 */
};

/* The code point of two bytes D8–DB, 80–BF as index into the effects. */
static inline uint32_t index_at(const unsigned char *s)
{
    uint32_t pair = (uint32_t)s[0] << 8 | s[1];

    return (pair & 0xFCC0) == 0xD880 ? (pair >> 2 & 0xC0) | (pair & 0x3F) : OUTSIDE_BLOCK;
}

static inline const struct effect *effect_at(const struct parser *p, int32_t off)
{
    return &effects[off + 1 < p->end ? index_at(p->s + off) : OUTSIDE_BLOCK];
}

static inline uint64_t as_word(struct glyph g)
{
    uint64_t w;

    memcpy(&w, &g, sizeof w);
    return w;
}

/*
 * Letters and marks up to the next rare thing. Whether a letter or a mark comes
 * next cannot be foreseen, so no branch asks: each is written as if it were a
 * letter behind the latest one, and counts as one or not; the glyph at hand
 * stays in a register. This halves the time against a branch for each action.
 */
static enum action read_plain(struct parser *p)
{
    const unsigned char *s = p->s;
    int32_t off = p->off, count = p->count;
    struct glyph *g = p->glyphs - 1;
    uint64_t glyph = as_word(g[count]);
    enum action rare = DO_MARK;

    for (; off + 1 < p->end; off += 2) {
        uint32_t index = index_at(s + off);
        const struct effect *e = &effects[index];
        uint32_t is_letter = e->action;

        if (is_letter > DO_LETTER) {
            rare = (enum action)e->action;
            break;
        }
        p->letters[count].base = BLOCK + index;
        p->letters[count].byte_off = off;
        count += (int32_t)is_letter;
        glyph = (glyph & ((uint64_t)is_letter - 1)) | as_word(e->bits);
        memcpy(&g[count], &glyph, sizeof glyph);
    }
    p->off = off;
    p->count = count;
    return rare;
}

static void add_letter(struct parser *p, uint32_t base, uint8_t shape, int32_t byte_off)
{
    p->letters[p->count].base = base;
    p->letters[p->count].byte_off = byte_off;
    p->glyphs[p->count++] = (struct glyph){.shape = shape};
}

/* Does the small high yāʾ before off bear a vowel or shadda? Then it is a letter of its own. */
static bool high_ya_is_letter(const struct parser *p)
{
    for (int32_t off = p->off; off < p->end; off += 2) {
        const struct effect *e = effect_at(p, off);

        if (e->action == DO_MARK && (e->bits.shadda || (e->bits.vowel && !e->bits.tanwin)))
            return true;
        if (e->action != DO_MADDAH)
            return false;
    }
    return false;
}

static bool has_seat(const struct parser *p)
{
    return p->seat >= 0 && (p->count == 0 || p->seat > p->letters[p->count - 1].byte_off);
}

/* A small wāw or yāʾ on a letter; in 27:36 with a vowel of its own. */
static void take_small(struct parser *p, uint8_t vowel)
{
    struct glyph *g = &p->glyphs[p->count - 1];
    const struct effect *e = effect_at(p, p->off);

    g->small = vowel;
    if (e->action == DO_MARK && e->bits.vowel) {
        g->small_vowel = e->bits.vowel;
        p->off += 2;
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

/* What is neither a letter nor a mark of the plain kind. */
static void read_rare(struct parser *p, enum action action, struct mst_word *word)
{
    struct glyph *g = &p->glyphs[p->count - 1];
    size_t next = (size_t)p->off;
    int32_t start = p->off;
    uint32_t cp = mst_utf8_next((const char *)p->s, (size_t)p->end, &next);

    p->off = (int32_t)next;
    switch (action) {
    case DO_SMALL_MIM: /* on a bare nūn it is passed over */
        g->tanwin = g->vowel != V_NONE;
        break;
    case DO_MADDAH: /* أٓ is spelling, the others are length */
        if (p->count > 0 && p->letters[p->count - 1].base == ALIF_WITH_HAMZA && !g->vowel) {
            g->form = FORM_ALIF_INSIDE;
            g->vowel = V_A;
        }
        break;
    case DO_TATWEEL:
        p->seat = start;
        break;
    case DO_HAMZA: /* on a tatweel or the thin space a letter; on a letter it makes it one */
        if (has_seat(p) || p->count == 0)
            add_letter(p, 0x621, MST_PHONE_HAMZA, has_seat(p) ? p->seat : start);
        else
            g->shape = MST_PHONE_HAMZA;
        break;
    case DO_HIGH_NUN:
        add_letter(p, 0x646, MST_PHONE_NUN, has_seat(p) ? p->seat : start);
        break;
    case DO_HIGH_YA:
        if (high_ya_is_letter(p))
            add_letter(p, 0x64A, MST_PHONE_YA, has_seat(p) ? p->seat : start);
        else
            take_small(p, V_I);
        break;
    case DO_SMALL:
        take_small(p, cp == 0x6E5 ? V_U : V_I);
        break;
    case DO_SIGN:
        read_sign(word, cp);
        break;
    default: /* a lone byte at the end too */
        if (cp == THIN_SPACE) {
            p->seat = start;
            if (effect_at(p, p->off) == &effects[DAGGER - BLOCK]) /* 2:72: the hamza's seat */
                p->off += 2;
        }
        break;
    }
}

int32_t mst_letters_parse(const char *bytes, int32_t byte_off, int32_t byte_len, int32_t word_idx,
                          struct mst_letter *letters, struct glyph *glyphs, struct mst_word *word)
{
    struct parser p = {.s = (const unsigned char *)bytes,
                       .off = byte_off,
                       .end = byte_off + byte_len,
                       .letters = letters,
                       .glyphs = glyphs,
                       .seat = -1};

    glyphs[-1] = (struct glyph){0};
    while (p.off < p.end) {
        enum action rare = read_plain(&p);

        if (p.off < p.end)
            read_rare(&p, rare, word);
    }
    letters[p.count].byte_off = p.end; /* where one more would begin */
    glyphs[p.count] = (struct glyph){0};
    for (int32_t i = 0; i < p.count; i++) {
        letters[i].word_idx = word_idx;
        letters[i].number = i + 1;
        letters[i].byte_len = letters[i + 1].byte_off - letters[i].byte_off;
    }
    glyphs[0].shadda = 0; /* on a word's first letter it is always that of merging */
    return p.count;
}
