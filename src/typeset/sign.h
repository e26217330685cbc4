/*
 * The signs of the measure notation: which sign a site gets, how much room it
 * takes, and its strokes. A sign is decided by the rule's family and the
 * site's nasal, complete, grade and counts; only words of their own and seams
 * have a sign per rule. Lengths are in em.
 */
#ifndef TYPESET_SIGN_H
#define TYPESET_SIGN_H

#include "scene.h"

/* X(enum, English, Arabic): how the key explains the sign */
#define SIGN_LIST(X)                                                                               \
    X(RULER, "a tick for each count; dotted: may be shorter or longer",                            \
      "شرطة لكل حركة، والمنقوط يجوز قصره وزيادته")                                                 \
    X(WAVE, "held in the nose, a tick for each count", "غنة، شرطة لكل حركة")                       \
    X(TIE, "the first letter merges into the second; broken: in part",                             \
      "يدغم الأول في الثاني، والمتقطع ناقص")                                                       \
    X(TIE_WAVE, "merges and is held in the nose; broken: in part", "إدغام بغنة، والمتقطع ناقص")    \
    X(LOZENGE, "a hidden mīm held in the nose, up to the bāʾ", "ميم مخفاة بغنة إلى الباء")         \
    X(DOTTED_WAVE, "hidden, held in the nose toward the next letter", "إخفاء بغنة نحو ما بعده")    \
    X(POST, "said clearly", "يقرأ بينا")                                                           \
    X(RINGS, "echo: one ring small, two great, three greatest",                                    \
      "قلقلة: حلقة صغرى، حلقتان كبرى، ثلاث أكبر")                                                  \
    X(WEDGE_FILLED, "heavy", "مفخم")                                                               \
    X(WEDGE_OPEN, "light", "مرقق")                                                                 \
    X(BRACKET, "written, not said here", "يكتب ولا ينطق هنا")                                      \
    X(GATE, "at a stop without vowel", "يوقف عليه بالسكون")                                        \
    X(GATE_RING, "at a stop read as hāʾ", "يوقف عليه بالهاء")                                      \
    X(FADING, "at a stop a third of the vowel", "يوقف ببعض الحركة")                                \
    X(CHEVRON, "given a vowel to pass on", "يحرك للوصل")                                           \
    X(BREATH, "a pause without breath", "سكتة بلا تنفس")                                           \
    X(SLANT, "vowel leaning toward ī", "إمالة الألف نحو الياء")                                    \
    X(EASED, "hamza eased", "همزة مسهلة")                                                          \
    X(LIPS, "lips rounded without sound", "ضم الشفتين بلا صوت")                                    \
    X(FORK, "two ways are read", "فيه وجهان")                                                      \
    X(STOP_MUST, "must stop", "وقف لازم")                                                          \
    X(STOP_BETTER, "better to stop", "الوقف أولى")                                                 \
    X(STOP_EITHER, "stop or go on", "يجوز الوقف والوصل")                                           \
    X(STOP_GO_ON, "better to go on", "الوصل أولى")                                                 \
    X(STOP_MUST_NOT, "must not stop", "لا يوقف عليه")                                              \
    X(STOP_EMBRACING, "stop at one of the two, not both", "يوقف على أحد الموضعين")                 \
    X(STOP_READER, "the reader stops here", "وقف القارئ هنا")                                      \
    X(JOINED, "read on into the next verse", "يوصل بالآية التالية")                                \
    X(DOT, "a place of the lesson's rules", "موضع من أحكام الدرس")                                 \
    X(NUMBER, "how many places the line has", "عدد المواضع في السطر")

enum sign {
#define X(name, en, ar) SIGN_##name,
    SIGN_LIST(X)
#undef X
        SIGN_COUNT
};

const char *sign_meaning(enum sign sign, enum mst_lang lang);

/* One mark: a sign with what it says here and where it stands. */
struct mark {
    enum sign sign;
    int ink;
    int32_t site; /* -1: a sign for the print's pause sign or the reader's stop */
    int32_t word; /* for such signs: the word it follows */
    int counts, counts_min, counts_max;
    int grade;                   /* rings */
    int broken;                  /* partial merging */
    int has_foot;                /* the reader stops at this pause sign */
    int opens_left, opens_right; /* goes on in the next line, or comes from the one before */
    int over;                    /* stands over the line */
    int points_left;             /* embracing pair: the flag looks toward the other */
    double from, to; /* what it must span, on the page: right end (trigger) and left end */
    double anchor;   /* the trigger's middle */
    /* set by the layout */
    double x0, x1, y0, y1; /* box with strokes; y from the baseline, then on the page */
};

/* The sign for a site, and whether it stands over the line. 0 when the site is drawn by nothing. */
int sign_for_site(const struct mst_site *site, struct mark *out);
int sign_for_pause(enum mst_pause_sign pause, enum sign *out);

/* A sign that goes from its letter to another. */
int sign_is_spanning(enum sign sign);
/* Width it needs at least, and its height. */
void sign_size(const struct mark *mark, double *width, double *height);
double sign_wave_length(void);

/* From from/to/anchor to x0, x1 and height (y0 = 0, y1 = height), for this type size. */
void sign_measure(struct mark *mark, double em);
/* Strokes into the scene at x0…x1, y0…y1. */
void sign_draw(struct scene *scene, const struct mark *mark, double em);

/* A specimen for the key: the sign alone, centred on x, its box's middle at y. Returns its width.
 */
double sign_specimen(struct scene *scene, const struct mark *like, double em, double x, double y);

#endif
