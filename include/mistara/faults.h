/*
 * mistara/faults.h – what learners do wrong, and whether a take holds it. The
 * list of faults is data: per letter and per rule the sounds that are said
 * instead of the right ones (data/faults/default.faults; a teacher adds a file
 * of their own). Nothing here knows a rule: rules and sounds are named by the
 * engine's ids and found where the engine put them.
 *
 *   list of faults ─┐
 *   reading ────────┴→ which faults are possible at a sound
 *
 * It never calls a recitation right or wrong: it says what it heard, how sure
 * it is, and that it cannot tell where it cannot.
 * Units: ms from the take's first sample. Ownership: everything lives in the
 * caller's arena. Threads: finished objects are read-only.
 */
#ifndef MISTARA_FAULTS_H
#define MISTARA_FAULTS_H

#include <mistara/ear.h>
#include <mistara/take.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- the list ----------------------------------------------------------------- */
/* Plain errors (laḥn jalī) change a word; fine ones (laḥn khafī) only its beauty. The two terms
 * are those of Ibn al-Jazarī, al-Tamhīd fī ʿilm al-tajwīd (named from memory). */
enum mst_fault_grade { MST_FAULT_PLAIN, MST_FAULT_FINE };

/* How a sound said instead differs from the one it is written as. X(name, word in the file) */
#define MST_FAULT_CHANGE_LIST(X)                                                                   \
    X(SINGLE, "single")                                                                            \
    X(DOUBLE, "double")                                                                            \
    X(HEAVY, "heavy")                                                                              \
    X(LIGHT, "light")                                                                              \
    X(ORAL, "oral") /* held, but not through the nose */
enum mst_fault_change {
#define X(name, id) MST_FAULT_CHANGE_##name,
    MST_FAULT_CHANGE_LIST(X)
#undef X
        MST_FAULT_CHANGE_COUNT
};
/* Which of the sounds named are meant. X(name, word in the file) */
#define MST_FAULT_ONLY_LIST(X)                                                                     \
    X(SINGLE, "single")                                                                            \
    X(DOUBLE, "double")                                                                            \
    X(ECHO, "echo")                                                                                \
    X(NASAL, "nasal")                                                                              \
    X(HEAVY, "heavy")                                                                              \
    X(LIGHT, "light")                                                                              \
    X(GOING, "going") /* the reader goes on after it */                                            \
    X(STOPPED, "stopped")
enum mst_fault_only {
#define X(name, id) MST_FAULT_ONLY_##name,
    MST_FAULT_ONLY_LIST(X)
#undef X
        MST_FAULT_ONLY_COUNT
};

struct mst_fault_sound {
    int8_t phone;    /* enum mst_phone; -1: the sound that should be there */
    uint8_t changes; /* bits of enum mst_fault_change */
};
enum { MST_FAULT_SOUNDS_MAX = 4, MST_FAULT_WAYS_MAX = 4 };
/* What is said instead: one to four sounds. */
struct mst_fault_way {
    struct mst_fault_sound sounds[MST_FAULT_SOUNDS_MAX];
    int32_t count;
};
struct mst_fault {
    const char *id, *name_en, *name_ar;
    enum mst_fault_grade grade;
    double weight;             /* 0…1: which comes first among findings equally sure */
    uint64_t phones;           /* bits of enum mst_phone: the sounds it befalls */
    struct mst_rule_set rules; /* only where one of these acts on the sound; empty: anywhere */
    uint32_t only;             /* bits of enum mst_fault_only: all of them must hold */
    struct mst_fault_way ways[MST_FAULT_WAYS_MAX];
    int32_t way_count;
    int untold; /* measured: the ear does not tell it from the right sound; it never reports it */
    const char *file; /* where it stands */
    int32_t line;
};
struct mst_fault_list {
    struct mst_fault *faults; /* in the order of the files */
    int32_t count;
};

/*
 * Read one or more files; a fault whose id was there already takes the
 * earlier one's place, and `off: yes` takes it away. BAD_DATA with
 * "FILE:LINE: what is wrong"; docs/faults.md describes the form.
 */
MST_MUST_CHECK enum mst_status mst_faults_read(const char *const *paths, size_t count,
                                               struct mst_arena *arena, struct mst_fault_list **out,
                                               struct mst_error *err);
/* The list that comes with Mistara: $MISTARA_FAULTS, beside the program, the installed one; NULL
 * when there is none. In the arena. */
const char *mst_faults_default_path(struct mst_arena *arena);
/* NULL when there is none. */
const struct mst_fault *mst_fault_called(const struct mst_fault_list *list, struct mst_span id);

/* Can this fault befall this sound of the reading? Not where the transmission allows the other
 * way too. */
int mst_fault_befalls(const struct mst_fault *fault, const struct mst_reading *reading,
                      int32_t sound_idx);
/*
 * The sounds said instead of sound_idx under a way, as the engine would
 * write them; at most MST_FAULT_SOUNDS_MAX, their number is returned.
 */
int32_t mst_fault_said(const struct mst_fault_way *way, const struct mst_reading *reading,
                       int32_t sound_idx, struct mst_sound out[MST_FAULT_SOUNDS_MAX]);
/* "s", "n y": what a way says, in IPA. */
void mst_fault_said_ipa(const struct mst_fault_way *way, const struct mst_reading *reading,
                        int32_t sound_idx, struct mst_string *out);

/* --- verses that are alike -------------------------------------------------------- */
/*
 * How alike two verses are: Dice's coefficient (L. R. Dice, Ecology 26, 1945)
 * of their pairs of neighbouring words, the verse's two ends counted as words,
 * letters compared without marks: 1 the same words, 0 no pair in common.
 */
struct mst_similar;
MST_MUST_CHECK enum mst_status mst_similar_open(const struct mst_text *text,
                                                struct mst_similar **out, struct mst_error *err);
void mst_similar_close(struct mst_similar *s); /* accepts NULL */
double mst_similar_verses(const struct mst_similar *s, struct mst_addr a, struct mst_addr b);
struct mst_similar_hit {
    struct mst_addr at;
    double alike;
};
/* Verses of the whole text at least `least` (above 0) alike to this one, the likest first, itself
 * left out. */
MST_MUST_CHECK enum mst_status mst_similar_find(const struct mst_similar *s, struct mst_addr verse,
                                                double least, struct mst_arena *arena,
                                                struct mst_similar_hit **out, size_t *count,
                                                struct mst_error *err);

/* --- the ear for faults -------------------------------------------------------------- */
struct mst_fault_ear;
/*
 * Prepare to look for faults in a take that was listened to. voice: a stored
 * voice to judge by, of another reciter or the teacher, heard on the same band
 * (USAGE otherwise); NULL: only words can be judged. Refers to the timeline
 * and the features, which must live as long.
 */
MST_MUST_CHECK enum mst_status mst_fault_ear_open(const struct mst_timeline *timeline,
                                                  const struct mst_features *features,
                                                  const struct mst_voice *voice, int threads,
                                                  struct mst_fault_ear **out,
                                                  struct mst_error *err);
void mst_fault_ear_close(struct mst_fault_ear *ear); /* accepts NULL */

#define MST_WORD_FAULT_LIST(X)                                                                     \
    X(LEFT_OUT, "left_out") /* words of the passage that were not said */                          \
    X(TWICE, "twice")       /* said again at once, without taking breath */                        \
    X(ORDER, "order")       /* two neighbours exchanged */                                         \
    X(JUMP, "jump")         /* went on as after another verse that is alike */
enum mst_word_fault_kind {
#define X(name, id) MST_WORD_FAULT_##name,
    MST_WORD_FAULT_LIST(X)
#undef X
        MST_WORD_FAULT_COUNT
};
const char *mst_word_fault_id(enum mst_word_fault_kind kind);
struct mst_word_fault {
    enum mst_word_fault_kind kind;
    struct mst_addr first, last; /* the words left out, doubled, exchanged or jumped over */
    int32_t word_count;
    int32_t start_ms, end_ms; /* where to listen: the words around it */
    double sureness;          /* 0…1 */
    /* JUMP: the verse that was being said, the one it was taken for, how alike they are */
    struct mst_addr from, taken_for;
    double alike;
};
/* In order of time. similar: to tell jumps; NULL: they count as words left out. */
MST_MUST_CHECK enum mst_status mst_fault_words(struct mst_fault_ear *ear,
                                               const struct mst_similar *similar,
                                               struct mst_arena *arena, struct mst_word_fault **out,
                                               size_t *count, struct mst_error *err);
/* One plain sentence. */
void mst_word_fault_text(const struct mst_word_fault *fault, enum mst_lang lang,
                         struct mst_string *out);

/*
 * Kinds of contrast: what is calibrated together. X(name, id)
 */
#define MST_CONTRAST_LIST(X)                                                                       \
    X(LETTER, "letter")     /* one consonant for another */                                        \
    X(VOWEL, "vowel")       /* one vowel for another of the same length */                         \
    X(LENGTH, "length")     /* long for short, short for long */                                   \
    X(DOUBLING, "doubling") /* single for double, double for single */                             \
    X(ADDED, "added")       /* more sounds than there should be */                                 \
    X(NASAL, "nasal")       /* a nasal of another kind */                                          \
    X(WEIGHT, "weight")     /* heavy for light, light for heavy */
enum mst_contrast {
#define X(name, id) MST_CONTRAST_##name,
    MST_CONTRAST_LIST(X)
#undef X
        MST_CONTRAST_COUNT
};
const char *mst_contrast_id(enum mst_contrast contrast);

/*
 * Why it cannot be told; several may hold. X(name, id, en, ar)
 */
#define MST_CANNOT_LIST(X)                                                                         \
    X(LISTED, "listed", "the ear does not part these two well enough",                             \
      "لا تفرق الأذن بينهما تفريقا كافيا")                                                         \
    X(VOICE, "voice", "the stored voice never said both", "لم يُسمع الوجهان من الصوت المحفوظ")      \
    X(EVERYWHERE, "everywhere", "it seems so at most such places",                                 \
      "يُسمع كذلك في أكثر هذه المواضع")                                                             \
    X(CLOSE, "close", "the take's own two sounds lie too close together",                          \
      "الصوتان متقاربان في هذا التسجيل")                                                           \
    X(SHORT, "short", "the take holds too few sounds to compare with",                             \
      "التسجيل أقصر من أن يُقارن فيه")
enum mst_cannot {
#define X(name, id, en, ar) MST_CANNOT_##name,
    MST_CANNOT_LIST(X)
#undef X
        MST_CANNOT_COUNT
};
const char *mst_cannot_id(enum mst_cannot why);
const char *mst_cannot_text(enum mst_cannot why, enum mst_lang lang);

/* A sound that may have been said in another way. */
struct mst_kind_fault {
    const struct mst_fault *fault;
    int32_t way;   /* in fault->ways: the likeliest */
    int32_t sound; /* in mst_timeline.sounds */
    struct mst_addr at;
    int32_t start_ms, end_ms;
    enum mst_contrast contrast;
    double evidence; /* log likelihood of what is said instead less that of the right sounds, each
                        with their neighbours heard anew; after Witt & Young, Speech Communication
                        30 (2000) */
    double frames;   /* of the sound, 10 ms each */
    double distance; /* of the evidence per root of the length from its middle at all such places
                        of the take, in spreads */
    double own;      /* log likelihood ratio against the take's own sounds of both sorts */
    double apart; /* how far these two sorts lie apart in the take, in spreads; 0: not compared */
    double sureness;     /* 0…1, calibrated; meaningless when cannot_tell */
    uint8_t cannot_tell; /* bits of enum mst_cannot */
};
struct mst_kind_options {
    double least; /* sureness from which a fault is reported; 0 = the default */
    int all;      /* report every fault that could befall, however unlikely: for measurements */
};
/* In order of time, one per sound unless `all`. USAGE without a voice to judge by. */
MST_MUST_CHECK enum mst_status mst_fault_kinds(struct mst_fault_ear *ear,
                                               const struct mst_fault_list *list,
                                               const struct mst_kind_options *options,
                                               struct mst_arena *arena, struct mst_kind_fault **out,
                                               size_t *count, struct mst_error *err);

/* --- how nasal a hold is ------------------------------------------------------------------ */
/*
 * Every hold that should be nasal, laid between this voice's own short mīm and
 * nūn (1) and its vowels and liquids (0), as a whole and by thirds. The measure
 * is the line that parts the two best (R. A. Fisher, Annals of Eugenics 7,
 * 1936) through the cepstra (S. B. Davis & P. Mermelstein, IEEE Trans. ASSP 28,
 * 1980), the strength taken against the vowels beside the sound. What it
 * rests on: the nose adds a low resonance and takes away between it and the
 * next (Fujimura, JASA 34, 1962; Chen, JASA 102, 1997). A reciter whose short
 * mīm and nūn are not nasal either cannot be measured so; mst_pinch_compare can.
 */
#define MST_NASAL_LIST(X)                                                                          \
    X(THROUGH, "through", "nasal all through", "غنة من أولها إلى آخرها")                           \
    X(START_ONLY, "start_only", "nasal at its start only", "غنة في أولها فقط")                     \
    X(PARTLY, "partly", "nasal in part", "غنة في بعضها")                                           \
    X(NOT_AT_ALL, "not_at_all", "not nasal at all", "بلا غنة")                                     \
    X(CANNOT_TELL, "cannot_tell", "cannot be told", "لا يمكن الحكم")
enum mst_nasal_verdict {
#define X(name, id, en, ar) MST_NASAL_##name,
    MST_NASAL_LIST(X)
#undef X
        MST_NASAL_COUNT
};
const char *mst_nasal_id(enum mst_nasal_verdict verdict);
const char *mst_nasal_text(enum mst_nasal_verdict verdict, enum mst_lang lang);
struct mst_nasal_hold {
    int32_t sound; /* in mst_timeline.sounds */
    struct mst_addr at;
    int32_t start_ms, end_ms;
    double nasal;    /* 0 as this voice's oral sounds, 1 as its short nasals */
    double third[3]; /* start, middle, end */
    enum mst_nasal_verdict verdict;
};
struct mst_nasality {
    struct mst_nasal_hold *holds;
    int32_t hold_count;
    int32_t nasal_count, oral_count; /* sounds that the measure was made from */
    double parted; /* distance of the two in their common spread; below 2.5 nothing can be told */
};
MST_MUST_CHECK enum mst_status mst_nasality_measure(const struct mst_timeline *timeline,
                                                    const struct mst_features *features,
                                                    struct mst_arena *arena,
                                                    struct mst_nasality **out,
                                                    struct mst_error *err);

/* How many holds are what, and where those are that are not nasal all through. One sentence;
 * nothing when there are no holds. */
void mst_nasality_text(const struct mst_nasality *nasality, enum mst_lang lang,
                       struct mst_string *out);

/* --- what a report shows ----------------------------------------------------------------- */
/* Plain errors before fine ones, the surest and weightiest first; at most MST_FINDINGS_MAX. */
struct mst_fault_item {
    enum mst_fault_grade grade;
    const struct mst_word_fault *word; /* either this */
    const struct mst_kind_fault *kind; /* or this */
    struct mst_addr at;
    int32_t start_ms, end_ms; /* worth listening to */
    double sureness, rank;
};
/* A fault that may be there, but of which it cannot be told. */
struct mst_fault_doubt {
    const struct mst_fault *fault;
    uint8_t why;                     /* bits of enum mst_cannot: of all its places */
    int32_t place_count;             /* of the take at which it cannot be told */
    struct mst_kind_fault likeliest; /* the place most worth listening to */
    int32_t start_ms, end_ms;        /* of it, with what stands around it */
};
struct mst_fault_report {
    struct mst_fault_item items[MST_FINDINGS_MAX];
    size_t count;
    size_t found;           /* all that were found; those beyond the most are not shown */
    int with_kinds;         /* how sounds were said was judged; else only words */
    int32_t unjudged_count; /* sounds of which it cannot be told how they were said */
    /* Plain ones first, those with the likeliest place first; with the items at most
     * MST_FINDINGS_MAX. */
    const struct mst_fault_doubt *doubts;
    size_t doubt_count, doubts_found;
    const struct mst_nasality *nasality; /* of the holds that should be nasal */
};
/*
 * Look for everything the list and the voice allow: words always, sounds when
 * there is a voice to judge by and a list. The report lives in the arena and
 * refers to the list and the timeline.
 */
MST_MUST_CHECK enum mst_status mst_fault_look(const struct mst_timeline *timeline,
                                              const struct mst_features *features,
                                              const struct mst_voice *voice,
                                              const struct mst_fault_list *list,
                                              const struct mst_similar *similar, int threads,
                                              struct mst_arena *arena,
                                              struct mst_fault_report **out, struct mst_error *err);
/* What was expected and what was heard, where place, time and sureness are shown beside it. */
void mst_fault_item_short(const struct mst_timeline *timeline, const struct mst_fault_item *item,
                          enum mst_lang lang, struct mst_string *out);
/* The same with place, time and sureness; one or two sentences. */
void mst_fault_item_text(const struct mst_timeline *timeline, const struct mst_fault_item *item,
                         enum mst_lang lang, struct mst_string *out);
/* Of what it cannot be told, at how many places, why, and where to listen oneself. */
void mst_fault_doubt_text(const struct mst_timeline *timeline, const struct mst_fault_doubt *doubt,
                          enum mst_lang lang, struct mst_string *out);
/* What was not judged and why; empty when all was. */
void mst_fault_limits_text(const struct mst_fault_report *report, enum mst_lang lang,
                           struct mst_string *out);
/* Right and said sounds in IPA: "ħ", "h"; for a kind fault. */
void mst_kind_fault_ipa(const struct mst_timeline *timeline, const struct mst_kind_fault *fault,
                        struct mst_string *expected, struct mst_string *heard);

/* --- the nose shut --------------------------------------------------------------------- */
/*
 * A teacher's test: the same passage once more with the nose pinched. A hold
 * with a right ghunna dies away or is changed; one that goes on as before did
 * not sound through the nose (common practice, no source). Every nasal hold is
 * compared in both takes with the vowels beside it: its strength and the
 * balance of five bands of its spectrum, in dB, so that neither the distance
 * of the microphone nor its level matters. What sounds without the nose
 * changes from take to take too: by how much tells what counts as a change.
 */
#define MST_PINCH_LIST(X)                                                                          \
    X(DIES, "dies", "dies away with the nose shut", "تنقطع عند إمساك الأنف")                       \
    X(CHANGES, "changes", "is changed with the nose shut", "تتغيّر عند إمساك الأنف")                \
    X(STAYS, "stays", "goes on as before with the nose shut", "لا تتغيّر عند إمساك الأنف")          \
    X(CANNOT_TELL, "cannot_tell", "cannot be told", "لا يمكن الحكم")
enum mst_pinch_verdict {
#define X(name, id, en, ar) MST_PINCH_##name,
    MST_PINCH_LIST(X)
#undef X
        MST_PINCH_COUNT
};
const char *mst_pinch_id(enum mst_pinch_verdict verdict);
const char *mst_pinch_text(enum mst_pinch_verdict verdict, enum mst_lang lang);
struct mst_pinch_site {
    struct mst_addr at;                /* of the word the hold is counted with */
    int32_t site_idx;                  /* in the open take's reading; -1: a sound without a site */
    int32_t open_sound, pinched_sound; /* in the timelines */
    double level_db;                   /* change of strength against the vowels beside it */
    double third_db[3];                /* the same at its start, in its middle, at its end */
    double shape_db;                   /* change of the five bands: root of the mean square */
    double spreads; /* shape_db above what oral sounds change by, in their spreads */
    enum mst_pinch_verdict verdict;
    double sureness; /* 0…1 */
};
struct mst_pinch {
    struct mst_pinch_site *sites;
    int32_t site_count;
    int32_t missing_count;            /* holds that were not heard in both takes */
    int32_t oral_count;               /* oral sounds that tell what is usual */
    double usual_db, usual_spread_db; /* their change */
    int32_t counts[MST_PINCH_COUNT];
};
struct mst_pinch_take {
    const struct mst_timeline *timeline;
    struct mst_take *take;
};
MST_MUST_CHECK enum mst_status mst_pinch_compare(struct mst_pinch_take open,
                                                 struct mst_pinch_take pinched,
                                                 struct mst_arena *arena, struct mst_pinch **out,
                                                 struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
