/*
 * tajweed/internal.h – what the files of the engine share.
 *
 * A word passes through four shapes, each in its own file:
 *   printed bytes → glyphs (letters.c): a letter with its marks sorted out
 *   glyphs → segs (spelling.c, openings.c): what the spelling means by itself
 *   segs → segs (seam.c): what is sounded here, given how the reader comes to
 *       the word and leaves it; the next word's first sound is looked at
 *   segs → sites (nun.c, mim.c, merge.c, qalqala.c, madd.c, weight.c, own.c)
 *        → sounds (sounds.c)
 * reading.c leads each word through them.
 */
#ifndef MISTARA_TAJWEED_INTERNAL_H
#define MISTARA_TAJWEED_INTERNAL_H

#include <mistara/tajweed.h>
#include <stdbool.h>

enum vowel { V_NONE, V_A, V_I, V_U };

/* Letters that sound are named by their phone; these are the rest. */
enum shape {
    SHAPE_ALIF = MST_PHONE_COUNT, /* ا */
    SHAPE_WASLA,                  /* ٱ */
    SHAPE_MAQSURA,                /* ى without a vowel of its own */
    SHAPE_OTHER                   /* anything that is no letter of this script */
};

/* Letters that are more than their phone. */
enum glyph_form {
    FORM_PLAIN,
    FORM_ALIF_INSIDE, /* أٓ: hamza and alif in one */
    FORM_TA_MARBUTA
};

/* A letter as printed, without the marks that already spell a rule out: eight bytes, one word of
 * the machine, so that a mark is added in one step. */
struct glyph {
    uint8_t shape; /* enum mst_phone of a consonant, or enum shape */
    uint8_t vowel; /* enum vowel; that of the tanwīn too */
    uint8_t tanwin, shadda;
    uint8_t dagger;      /* bears a dagger alif */
    uint8_t small;       /* bears a small wāw (V_U) or yāʾ (V_I) */
    uint8_t small_vowel; /* the vowel of that small letter: 27:36 */
    uint8_t form;        /* enum glyph_form */
};
_Static_assert(sizeof(struct glyph) == sizeof(uint64_t), "a glyph is one word of the machine");

enum seg_kind {
    SLOT_CONSONANT,
    SLOT_LONG,  /* a letter of lengthening */
    SLOT_WASLA, /* a joining hamza at the head of the word */
    SLOT_MUTE   /* written, not sounded */
};

/* Why a letter is mute. */
enum mute {
    MUTE_NOT,
    MUTE_ROUND,  /* never sounded (the print: a round zero) */
    MUTE_RECT,   /* an alif sounded only at a stop (the print: an upright zero) */
    MUTE_SEAT,   /* the seat of a tanwīn with fatḥa */
    MUTE_WASLA,  /* a joining hamza inside a word */
    MUTE_DROPPED /* a lengthening dropped before a joining hamza */
};

/* Slot flags. */
enum {
    SLOT_TA_MARBUTA = 1 << 0,
    SLOT_SILA = 1 << 1,         /* the lengthening of a pronoun's hāʾ */
    SLOT_ARTICLE = 1 << 2,      /* lām of the article */
    SLOT_NAME = 1 << 3,         /* the lām of the Name that is heavy or light */
    SLOT_OPENING = 1 << 4,      /* part of an opening letter's name */
    SLOT_THREE = 1 << 5,        /* … whose name has three letters: its lengthening is lāzim */
    SLOT_HAMZA_INSIDE = 1 << 6, /* a yāʾ or hāʾ that calls, joined in writing: munfaṣil */
    SLOT_PRONOUN = 1 << 7,      /* the hāʾ of a pronoun */
    SLOT_PASSING = 1 << 8,      /* its vowel is a passing one */
    SLOT_ARTICLE_ONE = 1 << 9, /* article and word lām in one letter: ٱلَّذِي, لِلَّهِ */
    SLOT_IWAJA = 1 << 10,      /* 18:1: the alif stands for tanwīn */
    SLOT_QUESTION = 1 << 11 /* the alif between question hamza and article */
};

/*
 * A sound, or a letter that has none: as spelled first, then as read here. 32
 * bytes: a word's fit a few cache lines, and reading begins with their copy.
 */
struct seg {
    int32_t letter;
    uint16_t flags;
    int16_t host;   /* index of the seg it merges into, or -1 */
    int16_t takes;  /* index of the seg that merges into it, or -1 */
    int16_t site;   /* index in the chain's sites of the one that gives it length, or -1 */
    uint8_t kind;   /* enum seg_kind */
    uint8_t phone;  /* of a consonant or a long vowel */
    uint8_t vowel;  /* short vowel after a consonant; quality of a long one */
    uint8_t tanwin; /* the vowelless nūn of a tanwīn */
    /* what is heard, in the order of struct mst_sound: sounds.c copies these eight at once */
    uint8_t becomes; /* phone it turns into (hiding, turning), or its own */
    int8_t counts, counts_min, counts_max;
    uint8_t nasal; /* held nasally */
    uint8_t heavy, rank;
    uint8_t doubled;
    uint8_t echo;
    uint8_t mute; /* enum mute */
    /* filled by seam.c */
    uint8_t outside; /* belongs to the next word: looked at, not read */
    uint8_t stopped; /* its vowel was dropped at the stop */
    uint8_t rawm;    /* … or kept faint */
    uint8_t iwad;    /* length in place of tanwīn */
    uint8_t wasl;    /* a sounded joining hamza; its vowel passes */
    uint8_t merged;  /* 0; 1 vanishes wholly into its host; 2 in part */
};
_Static_assert(sizeof(struct seg) == 32, "two segs in a cache line");
/* Written where it belongs: built elsewhere and copied it would be read back before it is stored.
 */
static inline void seg_init(struct seg *s, int32_t letter, uint8_t kind, uint8_t phone,
                            uint8_t vowel)
{
    static const struct seg fresh = {.host = -1, .takes = -1, .site = -1};

    *s = fresh;
    s->letter = letter;
    s->kind = kind;
    s->phone = s->becomes = phone;
    s->vowel = vowel;
}

/* Places with something of their own; the table is places.c. X(name, source) */
#define PLACE_LIST(X)                                                                              \
    X(SAKT)                                                                                        \
    X(MALIYAH)                                                                                     \
    X(IMALA)                                                                                       \
    X(TASHIL)                                                                                      \
    X(TAMANNA)                                                                                     \
    X(SAD_AS_SIN)                                                                                  \
    X(SAD_OR_SIN)                                                                                  \
    X(SAD_ONLY)                                                                                    \
    X(DUF)                                                                                         \
    X(ATANI)                                                                                       \
    X(SALASILA)                                                                                    \
    X(VERB_LAM)                                                                                    \
    X(SILENT)                                                                                      \
    X(RECT)                                                                                        \
    X(RA_HEAVY_EITHER)                                                                             \
    X(RA_STOP_HEAVY_EITHER)                                                                        \
    X(RA_STOP_LIGHT_EITHER)                                                                        \
    X(START_KASRA)                                                                                 \
    X(START_AYKA)                                                                                  \
    X(ISM)                                                                                         \
    X(ALIM_ALLAH)                                                                                  \
    X(IWAJA)                                                                                       \
    X(LAST_OF_ANFAL)                                                                               \
    X(LOST_WAW)
enum place_kind {
#define X(name) PLACE_##name,
    PLACE_LIST(X)
#undef X
};
struct place {
    int16_t sura, verse, word, letter; /* letter 0: the whole word */
    int16_t kind;
};
#define HAS_PLACE(form, name) (((form)->places >> PLACE_##name) & 1u)
/* In order of address. */
extern const struct place mst_places[];
extern const size_t mst_place_count;

enum { CHAIN_SITES_PER_SEG = 8 };

/* What a seg is to the rules, by its phone alone. */
enum concern {
    CONCERN_NONE,
    CONCERN_LENGTHENING,
    CONCERN_NUN,
    CONCERN_MIM,
    CONCERN_LAM,
    CONCERN_SOFT, /* و ي */
    CONCERN_EASED,
    CONCERN_ECHO,
    CONCERN_WEIGHT,
    CONCERN_ECHO_AND_WEIGHT, /* ق ط */
    CONCERN_MUTE,
    CONCERN_COUNT
};
extern const uint8_t mst_concerns[MST_PHONE_COUNT];

/*
 * Where in the word there is what: bit i is seg i. Each family walks the bits
 * that concern it and nothing else. A word has at most 64 segs that rules act
 * on (in the text at most 31; more only in broken input).
 */
struct stock {
    uint64_t of[CONCERN_COUNT];
    uint64_t bare;          /* consonants without a vowel */
    uint64_t doubled;       /* doubled consonants; merging adds to them */
    uint64_t article, name; /* the lām of the article, that of the Name */
};
#define SEG_BIT(i) ((i) < 64 ? UINT64_C(1) << (i) : 0)
/* for (EACH_BIT(i, bits)): i = each index whose bit is set, lowest first */
#define EACH_BIT(i, bits)                                                                          \
    uint64_t left_ = (bits), i = left_ ? (uint64_t)__builtin_ctzll(left_) : 0;                     \
    left_;                                                                                         \
    left_ &= left_ - 1, i = left_ ? (uint64_t)__builtin_ctzll(left_) : 0

/* A word as spelled, before it is known how it is read. */
struct form {
    const struct seg *segs;
    int32_t seg_count;
    struct stock stock; /* of the segs as they stand here */
    uint32_t places;
    uint8_t opening;    /* spelled letters at the head of a sura */
    uint8_t wasl_vowel; /* what a joining hamza at its head takes at a start */
    uint8_t ana;        /* ends in أنا */
    uint8_t qul_or_bal; /* ends in قل or بل: its lām merges into rāʾ */
    int32_t first_letter, letter_count;
};

/* A word between its neighbours, being read. */
struct chain {
    const struct form *form;
    const struct form *prev; /* NULL: the reader starts here */
    const struct form *next; /* NULL: the reader stops here */
    bool sakt;               /* a breathless pause follows */
    bool next_wasl;          /* the next word begins with a joining hamza */
    const struct mst_reading_options *opt;
    struct seg *segs; /* segs of the word, then at most one outside */
    int32_t count;    /* without the outside one */
    int32_t total;    /* with it */
    struct stock stock;
    int32_t changed; /* the first seg that is not as spelled any more; count: none */
    struct mst_site *sites;
    int32_t site_count;
};

/* What one word hands to the next. */
struct carry {
    int32_t first_letter; /* -1: nothing */
    int32_t site;         /* index in the reading's sites, or -1 */
    uint8_t nasal, partial, phone, heavy;
};

/* --- letters.c ----------------------------------------------------------- */
/*
 * Sort out one word's printed bytes. letters has room for one entry more than
 * half the bytes, glyphs for one before its first too; behind the last glyph
 * stands an empty one. Returns how many letters
 * there are; the signs printed with the word go to *word.
 */
int32_t mst_letters_parse(const char *bytes, int32_t byte_off, int32_t byte_len, int32_t word_idx,
                          struct mst_letter *letters, struct glyph *glyphs, struct mst_word *word);

/* --- spelling.c, openings.c ------------------------------------------------ */
enum { SEGS_PER_LETTER = 5 };
void mst_spell(const struct glyph *glyphs, const struct mst_letter *letters, int32_t count,
               int32_t first_letter, const struct place *places, int32_t place_count,
               bool before_wasl, struct seg *segs, struct form *out);
bool mst_opening_spell(const struct glyph *glyphs, int32_t count, int32_t first_letter,
                       struct seg *segs, int32_t *seg_count);

/* passing.c: does the word's last vowel pass? Asked only before a joining hamza. */
bool mst_vowel_passes(const struct glyph *g, const struct mst_letter *letters, int32_t count);

/* --- seam.c ---------------------------------------------------------------- */
/* Fill c->segs from c->form between c->prev and c->next; adds the seam's sites.
 * from: first slot that matters (0: the whole word). */
void mst_chain_build(struct chain *c, int32_t from);
/* In a word that was joined: would a stop change nothing of it? */
bool mst_chain_ends_alike(const struct chain *c);
/* The vowel a joined word ends on, as the next word hears it. */
enum vowel mst_form_last_vowel(const struct form *f);

/* --- the rule families, in the order they run ------------------------------- */
void mst_rules_merge(struct chain *c);   /* merge.c */
void mst_rules_nun(struct chain *c);     /* nun.c */
void mst_rules_mim(struct chain *c);     /* mim.c */
void mst_rules_qalqala(struct chain *c); /* qalqala.c */
void mst_rules_madd(struct chain *c);    /* madd.c */
void mst_rules_weight(struct chain *c);  /* weight.c */
void mst_rules_own(struct chain *c);     /* own.c */

/* --- sounds.c ---------------------------------------------------------------- */
/* Append the word's sounds; room for two a seg. order maps the chain's sites to the reading's, and
 * -1 to itself. */
int32_t mst_sounds_emit(const struct chain *c, const int32_t *order, struct carry *carry,
                        int32_t word_idx, struct mst_sound *out);

/* --- shared small things ------------------------------------------------------ */
/* Begin a site: the letters from trigger to host (or trigger alone). */
static inline struct mst_site *mst_site_add(struct chain *c, enum mst_rule rule,
                                            const struct seg *trigger, const struct seg *host,
                                            uint16_t reason)
{
    struct mst_site *s = &c->sites[c->site_count++];

    *s = (struct mst_site){.rule = (uint8_t)rule,
                           .reason = reason,
                           .first = trigger->letter,
                           .last = trigger->letter,
                           .trigger = trigger->letter,
                           .host = host ? host->letter : -1,
                           .complete = -1,
                           .heavy = -1,
                           .tanwin = trigger->tanwin};
    if (host && host->letter > s->last)
        s->last = host->letter;
    return s;
}
static inline void mst_site_counts(struct mst_site *s, int chosen, int min, int max)
{
    s->counts = (int8_t)chosen;
    s->counts_min = (int8_t)min;
    s->counts_max = (int8_t)max;
}

static inline bool seg_consonant(const struct seg *s)
{
    return s->kind == SLOT_CONSONANT;
}
static inline bool seg_vowelless(const struct seg *s)
{
    return s->kind == SLOT_CONSONANT && s->vowel == V_NONE;
}
/* Index of the next seg that is sounded, the outside one included, or -1. */
static inline int32_t seg_next(const struct chain *c, int32_t i)
{
    for (int32_t k = i + 1; k < c->total; k++)
        if (c->segs[k].kind != SLOT_MUTE)
            return k;
    return -1;
}
static inline int32_t seg_prev(const struct chain *c, int32_t i)
{
    for (int32_t k = i - 1; k >= 0; k--)
        if (c->segs[k].kind != SLOT_MUTE)
            return k;
    return -1;
}

#define PHONE_BIT(name) (UINT64_C(1) << MST_PHONE_##name)
static inline bool phone_in(uint8_t phone, uint64_t set)
{
    return (set >> phone & 1u) != 0;
}
/* The seven letters of elevation. */
#define PHONES_HEAVY                                                                               \
    (PHONE_BIT(KHA) | PHONE_BIT(SAD) | PHONE_BIT(DAD) | PHONE_BIT(GHAYN) | PHONE_BIT(TAH) |        \
     PHONE_BIT(QAF) | PHONE_BIT(ZAH))
#define PHONES_SUN                                                                                 \
    (PHONE_BIT(TA) | PHONE_BIT(THA) | PHONE_BIT(DAL) | PHONE_BIT(DHAL) | PHONE_BIT(RA) |           \
     PHONE_BIT(ZAY) | PHONE_BIT(SIN) | PHONE_BIT(SHIN) | PHONE_BIT(SAD) | PHONE_BIT(DAD) |         \
     PHONE_BIT(TAH) | PHONE_BIT(ZAH) | PHONE_BIT(LAM) | PHONE_BIT(NUN))
/* ق ط ب ج د */
#define PHONES_ECHO                                                                                \
    (PHONE_BIT(QAF) | PHONE_BIT(TAH) | PHONE_BIT(BA) | PHONE_BIT(JIM) | PHONE_BIT(DAL))

/* Reasons: reason.c holds the sentences. */
#include "reasons.h"
enum reason {
#define X(name, en, ar) REASON_##name,
    REASON_LIST(X)
#undef X
        REASON_COUNT
};

#endif
