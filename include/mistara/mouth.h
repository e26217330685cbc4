/*
 * mistara/mouth.h – articulation cards: a head in section, drawn from
 * parameters (where the tongue is led, how the lips, the veil of the palate
 * and the glottis stand, which way the air goes), for every letter, each of
 * the seventeen places, and the states that rules describe. The curves are
 * our own and computed; the words on a card are the engine's.
 *
 * A schema, not anatomy: a unit is about a millimetre, the reader looks at the
 * head from its left (lips at the left), x to the right, y downwards, all
 * inside 100 × 120.
 *
 * Ownership: a shape is a plain value. Cards live in the caller's arena.
 */
#ifndef MISTARA_MOUTH_H
#define MISTARA_MOUTH_H

#include <mistara/leaves.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_point {
    double x, y;
};

/* Where the upper wall may be touched, from the lips down to the throat. */
enum mst_passive {
    MST_AT_TEETH_EDGE,
    MST_AT_TEETH_ROOT,
    MST_AT_GUMS,
    MST_AT_RIDGE,
    MST_AT_PALATE, /* hard palate */
    MST_AT_VEIL,   /* soft palate, front */
    MST_AT_UVULA,
    MST_AT_THROAT, /* back wall of the middle throat */
    MST_PASSIVE_COUNT
};

/* A point of the tongue (0 tip … 1 root) led to a point above or behind it. */
struct mst_touch {
    double tongue;
    enum mst_passive at;
    double gap; /* how far from it; 0 touches */
};

enum mst_lips { MST_LIPS_OPEN, MST_LIPS_CLOSED, MST_LIPS_LIGHT, MST_LIPS_ROUNDED, MST_LIPS_TEETH };
enum mst_glottis { MST_GLOTTIS_OPEN, MST_GLOTTIS_NARROW, MST_GLOTTIS_CLOSED };
/* What makes the sound: the narrowest point. */
enum mst_maker {
    MST_MAKER_TONGUE,
    MST_MAKER_LIPS,
    MST_MAKER_GLOTTIS,
    MST_MAKER_ROOT,
    MST_MAKER_NONE
};
enum mst_manner {
    MST_MANNER_OPEN,   /* nothing in the way of the air */
    MST_MANNER_NARROW, /* a narrow gap */
    MST_MANNER_CLOSED, /* touching, the air held */
    MST_MANNER_SIDES,  /* touching, the air goes out beside the tongue */
    MST_MANNER_NEAR    /* drawn near, not touching */
};

enum { MST_TOUCHES_MAX = 3 };
struct mst_posture {
    struct mst_touch touches[MST_TOUCHES_MAX];
    int touch_count; /* the first one makes the sound */
    enum mst_maker maker;
    enum mst_manner manner;
    enum mst_lips lips;
    enum mst_glottis glottis;
    double jaw;      /* lowered by so much */
    double back_up;  /* back of the tongue raised towards the veil: the heavy sound */
    double tip_down; /* tip kept behind the lower teeth */
    int nose;        /* the veil hangs: air through the nose */
    int mouth;       /* air through the mouth */
    int echo;        /* rings of a release */
};

/* The curves of a posture, as polylines through which the drawing passes. */
enum { MST_MOUTH_ROOF_MAX = 160, MST_MOUTH_TONGUE = 65, MST_MOUTH_AIR_MAX = 200 };
struct mst_mouth {
    struct mst_posture posture;
    struct mst_point roof[MST_MOUTH_ROOF_MAX]; /* edge of the upper teeth … uvula, back wall … */
    int roof_count, roof_uvula;                /* the back wall begins after this index */
    struct mst_point tongue[MST_MOUTH_TONGUE]; /* tip … root */
    struct mst_point epiglottis;               /* its tip */
    struct mst_point upper_lip, lower_lip;     /* where they come nearest */
    double lip_gap, veil_gap, glottis_gap;
    struct mst_point place; /* where the sound is made */
    double gap;             /* there, between the two that make it */
    struct mst_point mouth_air[MST_MOUTH_AIR_MAX], nose_air[MST_MOUTH_AIR_MAX];
    int mouth_air_count, nose_air_count; /* 0: no air goes that way */
};
void mst_mouth_shape(const struct mst_posture *posture, struct mst_mouth *out);
struct mst_point mst_mouth_passive(const struct mst_mouth *mouth, enum mst_passive at);

/* The posture of a letter (its own sound, code point as in mst_articulation). 0: no letter. */
int mst_posture_of_letter(uint32_t letter, struct mst_posture *out);

/* What a card is of. */
enum mst_card_kind { MST_CARD_LETTER, MST_CARD_PLACE, MST_CARD_RULE };
struct mst_card {
    enum mst_card_kind kind;
    uint32_t letter;
    int place; /* 1–17 */
    enum mst_rule rule;
};
/* A letter or its name ("ق", "qāf", "qaf"), a place ("5") or a rule ("ikhfa"). */
MST_MUST_CHECK enum mst_status mst_card_parse(struct mst_span s, struct mst_card *out,
                                              struct mst_error *err);

/* One picture of a card. */
struct mst_figure {
    struct mst_posture posture;
    int palate; /* not a section but the palate from below: 1 lām, 2 ḍād */
    char caption_en[96], caption_ar[96];
};
enum { MST_FIGURES_MAX = 3 };
/* How many; 0 when the rule is not one of the mouth (letters not read, for instance). */
int mst_card_figures(const struct mst_card *card, struct mst_figure out[MST_FIGURES_MAX]);

/* Draw on the latest page, width points wide and 1.2 times as high; a palate is as high as wide. */
void mst_leaf_figure(struct mst_leaves *leaves, const struct mst_figure *figure, double x, double y,
                     double width);

/* Its words, a paragraph a line: where it is made, what mouth, lips and nose do. */
void mst_card_title(const struct mst_card *card, enum mst_lang lang, struct mst_string *out);
void mst_card_words(const struct mst_card *card, enum mst_lang lang, struct mst_string *out);

/* A card by itself, on a page of A5 across. USAGE when the rule has no picture. */
MST_MUST_CHECK enum mst_status mst_card_new(struct mst_typeset *ts, const struct mst_card *card,
                                            enum mst_sheet_labels labels, struct mst_arena *arena,
                                            struct mst_sheet **out, struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
