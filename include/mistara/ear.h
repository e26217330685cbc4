/*
 * mistara/ear.h – the ear: from the sound of a take and the passage it should
 * hold to a timeline (where every word and every sound lies), from the
 * timeline to measures (how long each site was held, in the reciter's own
 * measure), from the measures to findings in plain words.
 *
 * The ear needs no model made elsewhere: it learns the voice from the take
 * itself (from about two minutes), or starts from a voice learned before. It
 * never calls a recitation right or wrong: it says what it measured and how
 * sure it is.
 *
 *   take → mst_features ─┐
 *   passage → mst_script ┴→ mst_listen → mst_timeline → mst_measure → mst_find
 *                              ↕
 *                          mst_voice
 *
 * Units: ms from the take's first sample; counts = ḥarakāt. Ends are
 * exclusive: one sound's end_ms is the next one's start_ms.
 * Ownership: features, scripts and voices are opened and closed; a timeline,
 * measures and findings live in the caller's arena. A timeline refers to its
 * script (which must live as long) and to nothing else.
 * Threads: one object belongs to one thread at a time; finished ones are
 * read-only. Calls with `threads` give the same bytes for any number.
 */
#ifndef MISTARA_EAR_H
#define MISTARA_EAR_H

#include <mistara/tajweed.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Called now and then from the calling thread. done: 0…1. Non-zero return = stop (CANCELLED). */
struct mst_ear_progress {
    int (*report)(void *user, double done);
    void *user;
};

/* --- features: what the ear keeps of the sound ---------------------------- */
struct mst_features;

/* All zero = the defaults. */
struct mst_features_options {
    double low_hz, high_hz; /* band listened to; 0 = 80 and 7600. A high voice loses nothing by
                               the default; a telephone recording wants high_hz 3700 */
};
/* Takes 16 kHz mono samples (nominal range -1…1) in blocks of any size. */
MST_MUST_CHECK enum mst_status mst_features_new(const struct mst_features_options *options,
                                                struct mst_features **out, struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_features_push(struct mst_features *f, const float *samples,
                                                 size_t count, struct mst_error *err);
/* After the last block; the features are read-only from here. BAD_DATA when there is no sound
 * in it (shorter than 300 ms, or silence from end to end). */
MST_MUST_CHECK enum mst_status mst_features_finish(struct mst_features *f, struct mst_error *err);
void mst_features_free(struct mst_features *f); /* accepts NULL */
int64_t mst_features_duration_ms(const struct mst_features *f);
/* Loudness of the 10 ms from ms on, in dB against full scale. */
double mst_features_level_db(const struct mst_features *f, int32_t ms);
/* Seconds that hold speech, as far as loudness tells. */
double mst_features_speech_seconds(const struct mst_features *f);

/* --- classes of length ----------------------------------------------------- */
/*
 * Sounds whose lengths are compared with one another.
 * X(name, id, Arabic, English, length before anything is heard in short vowels,
 *   weight of a finding 0…1)
 */
#define MST_LENGTH_LIST(X)                                                                         \
    X(NONE, "none", "بلا مد", "no length of its own", 1.0, 0.0)                                    \
    X(SHORT, "short", "حركة", "short vowel", 1.0, 0.2)                                             \
    X(NATURAL, "natural", "مد طبيعي", "natural lengthening", 2.2, 0.8)                             \
    X(NATURAL_STOP, "natural_stop", "مد طبيعي عند الوقف", "natural lengthening at a stop", 3.6,    \
      0.1)                                                                                         \
    X(MUTTASIL, "muttasil", "مد متصل", "joined lengthening", 8.0, 1.0)                             \
    X(MUTTASIL_STOP, "muttasil_stop", "مد متصل عند الوقف", "joined lengthening at a stop", 9.0,    \
      0.5)                                                                                         \
    X(MUNFASIL, "munfasil", "مد منفصل", "parted lengthening", 7.0, 0.8)                            \
    X(LAZIM, "lazim", "مد لازم", "binding lengthening", 12.0, 1.0)                                 \
    X(ARID, "arid", "مد عارض للسكون", "lengthening before a stop", 8.0, 0.5)                       \
    X(LIN, "lin", "مد اللين", "soft lengthening", 5.0, 0.4)                                        \
    X(GHUNNA, "ghunna", "غنة", "ghunna of doubled or merged nūn and mīm", 6.0, 1.0)                \
    X(GHUNNA_STOP, "ghunna_stop", "غنة عند الوقف", "ghunna at a stop", 6.0, 0.6)                   \
    X(HIDING, "hiding", "إخفاء", "hiding", 6.0, 0.9)                                               \
    X(LIPS, "lips", "إقلاب وإخفاء شفوي", "turning and lip hiding", 6.0, 0.9)                       \
    X(MERGE_W, "merge_w", "إدغام في الواو", "merging into wāw with ghunna", 6.0, 0.9)              \
    X(MERGE_Y, "merge_y", "إدغام في الياء", "merging into yāʾ with ghunna", 6.0, 0.9)              \
    X(DOUBLED, "doubled", "حرف مشدد", "doubled consonant", 2.0, 0.2)                               \
    X(FINAL, "final", "حرف موقوف عليه", "consonant before a stop", 2.0, 0.0)

enum mst_length {
#define X(name, id, ar, en, prior, weight) MST_LENGTH_##name,
    MST_LENGTH_LIST(X)
#undef X
        MST_LENGTH_COUNT
};
const char *mst_length_id(enum mst_length length);
const char *mst_length_name(enum mst_length length, enum mst_lang lang);

/* --- script: everything that may be said ------------------------------------ */
struct mst_script;
/*
 * The passage with every way of going on and stopping at each word; repeats,
 * words left out and optional istiʿādha and basmala are allowed for. options:
 * the ways chosen (its stops are ignored: they are what the ear finds).
 */
MST_MUST_CHECK enum mst_status mst_script_new(const struct mst_text *text, struct mst_range range,
                                              const struct mst_reading_options *options,
                                              struct mst_script **out, struct mst_error *err);
void mst_script_free(struct mst_script *s); /* accepts NULL */
int32_t mst_script_word_count(const struct mst_script *s);
struct mst_addr mst_script_word_addr(const struct mst_script *s, int32_t word);

/* --- voice: what was learned of a reciter ------------------------------------ */
struct mst_voice;
struct mst_voice_info {
    const char *name;      /* as given; lives with the voice */
    double speech_seconds; /* what it was learned from */
    int32_t sound_count;   /* sounds heard in learning */
    int32_t missing_count; /* kinds of sound it never heard (stand-ins serve) */
    uint32_t checksum;     /* of the stored file's contents */
};
/* One recording to learn from. */
struct mst_lesson_take {
    const struct mst_features *features;
    const struct mst_script *script;
};
struct mst_learn_options {
    const struct mst_voice *from; /* a voice to start from (another person's too), or NULL */
    const struct mst_ear_progress *progress;
    int threads; /* 0 = 2 */
};
/* Learn one voice from one or more takes of it. MISMATCH when a take does not hold its passage;
 * the message says which. */
MST_MUST_CHECK enum mst_status mst_voice_learn(const struct mst_lesson_take *takes, size_t count,
                                               const char *name,
                                               const struct mst_learn_options *options,
                                               struct mst_voice **out, struct mst_error *err);
/* Whole or not at all; checked and refused (BAD_DATA) when damaged or of another version. The
 * lengths kept with a voice depend on where the ear sets its edges: when those move the version
 * rises, and the voice is to be learned again. */
MST_MUST_CHECK enum mst_status mst_voice_save(const struct mst_voice *v, const char *path,
                                              struct mst_error *err);
MST_MUST_CHECK enum mst_status mst_voice_load(const char *path, struct mst_voice **out,
                                              struct mst_error *err);
void mst_voice_free(struct mst_voice *v); /* accepts NULL */
struct mst_voice_info mst_voice_info(const struct mst_voice *v);

/* --- timeline ------------------------------------------------------------------ */
enum mst_edge_trust {
    MST_TRUST_GOOD,
    MST_TRUST_FAIR, /* edges blurred, or little of the voice was known */
    MST_TRUST_NONE  /* at the shortest length there is, far outside its class, or in a take too
                       short to learn its voice from: not measured */
};
const char *mst_edge_trust_id(enum mst_edge_trust trust);

/* A word as it was said; a word said twice is here twice. */
struct mst_heard_word {
    int32_t word_idx; /* in mst_timeline.reading->words */
    struct mst_addr at;
    int32_t start_ms, end_ms;
    int32_t first_sound, sound_count; /* in mst_timeline.sounds */
    uint8_t started, stopped;         /* after a pause; before one */
    uint8_t again;                    /* a later utterance of the word follows: this one was
                                         taken up again */
    float score;                      /* how much better than any other sounds, log per frame; the
                                         higher the surer, around -1…0 when it fits */
};
struct mst_heard_sound {
    int32_t heard_word; /* in mst_timeline.words */
    int32_t sound_idx;  /* in reading->sounds, or -1 when this utterance was taken up again */
    enum mst_phone phone;
    enum mst_length length;
    int32_t start_ms, end_ms; /* where a hand would set them: less what each kind of edge is heard
                                 late; at pauses as heard, at pins as pinned */
    int32_t slack_ms;         /* each edge may lie this much off, as far as the sound tells */
    int32_t late_ms; /* its beginning was heard so much later than start_ms; below 0: earlier */
    float score;
    enum mst_edge_trust trust;
};
struct mst_heard_pause {
    int32_t start_ms, end_ms;
    int32_t after_word; /* in mst_timeline.words; -1 = before the first */
    uint8_t at_verse_end, taken_up_again;
};
struct mst_timeline {
    const struct mst_script *script;
    struct mst_reading *reading; /* as it was really read: the stops are those found */
    struct mst_heard_word *words;
    struct mst_heard_sound *sounds;
    struct mst_heard_pause *pauses;
    int32_t word_count, sound_count, pause_count;
    struct mst_addr *left_out; /* words of the passage that were not said */
    int32_t left_out_count;
    int32_t repeat_count;
    int64_t duration_ms;
    double speech_seconds, learned_seconds; /* of this take; behind the voice used */
    double fit;                             /* 0…1: how surely the take holds this passage */
    double warp;                            /* vocal tract against the stored voice, 1 = the same */
    enum mst_edge_trust trust;              /* of the whole */
};

/* An edge set by hand: this word (of the script) or its nth sound begins here. */
struct mst_pin {
    int32_t word;  /* in the script, 0-based */
    int32_t sound; /* nth sound of the word, 0 = the word itself */
    int32_t ms;
};
struct mst_listen_options {
    const struct mst_voice *voice; /* start from it; NULL = learn from the take alone */
    int keep_voice;                /* use the voice as it is, learn nothing from the take */
    const struct mst_pin *pins;
    size_t pin_count;
    const struct mst_ear_progress *progress;
    int threads;      /* 0 = 2 */
    int among_others; /* one of several takes of a voice, which are judged together later: that it
                         is too short to be sure of is no reason to refuse it */
    int given;        /* that it holds the passage is known from elsewhere: less than 20 seconds are
                         heard too, though they cannot tell */
    int skip_fit_test; /* align at any price: for tests and measurements only */
};
/*
 * Listen to a take. MISMATCH when it does not hold the passage: the message
 * names the best stretch that it may hold, *fit (may be NULL) tells how far
 * off it was, and *out stays NULL.
 */
MST_MUST_CHECK enum mst_status mst_listen(const struct mst_features *f,
                                          const struct mst_script *script,
                                          const struct mst_listen_options *options,
                                          struct mst_arena *arena, struct mst_timeline **out,
                                          double *fit, struct mst_error *err);
/*
 * Whose voice is it? For each voice the mean log likelihood of the take's speech frames under that
 * voice as it is, along its own best path through the passage: the voice with the highest is the
 * likeliest of them. Meaningful only between voices of one call; about -1e30 where a voice finds
 * no way through. out: count values.
 */
MST_MUST_CHECK enum mst_status mst_voice_likeness(const struct mst_features *f,
                                                  const struct mst_script *script,
                                                  const struct mst_voice *const *voices,
                                                  size_t count, int threads, double *out,
                                                  struct mst_error *err);

/* --- measures --------------------------------------------------------------------- */
struct mst_measured_site {
    int32_t site_idx; /* in reading->sites */
    int32_t sound;    /* in mst_timeline.sounds: the sound that carries the length */
    enum mst_rule rule;
    enum mst_length length;
    struct mst_addr at; /* of the trigger */
    int32_t start_ms, end_ms, held_ms;
    double expected_ms; /* the model voice's hold of this class at this pace; without a model
                           voice the reciter's own middle */
    /* held_ms in counts: expected_counts * held / expected */
    double measured_counts, counts_low, counts_high, expected_counts;
    double ratio;     /* held / expected */
    double deviation; /* of log ratio, in spreads of the class */
    enum mst_edge_trust trust;
};
struct mst_length_measure {
    enum mst_length length;
    int32_t count, trusted;            /* sites heard; of them measured surely enough */
    double median_ms, low_ms, high_ms; /* middle; 5 % and 95 % */
    double spread_log;                 /* robust sd of log length */
    /* Where most sites lie, faults left aside, leaning on kindred classes where sites are few;
     * and their sd in logs, leaning on what is usual. Single sites are judged by these. */
    double own_expected_ms, own_spread_log;
    double even_share;                        /* share within ±25 % of the median: the even hand */
    double model_median_ms, model_spread_log; /* of the model voice, pace applied; 0 = none */
    double ratio, ratio_low, ratio_high; /* median against the model's, with its 95 % interval */
};
struct mst_measures {
    const struct mst_timeline *timeline;
    struct mst_measured_site *sites;
    int32_t site_count;
    struct mst_length_measure lengths[MST_LENGTH_COUNT];
    double count_ms;         /* half a natural lengthening: one count of this reciter */
    double pace;             /* sounds without length of their own per second */
    double pace_drift;       /* pace of the last quarter over that of the first */
    double model_pace_ratio; /* this take's pace over the model's; 0 = no model */
    int munfasil_way;        /* 0 not to be told, 2 shortened, 4 lengthened */
};
/*
 * What one or more takes of a reciter tell of lengths: all that is needed to
 * compare another take with them. Several takes are brought to the first
 * one's pace.
 */
struct mst_length_model {
    struct mst_model_length {
        double median_ms, spread_log;
        int32_t count;
    } lengths[MST_LENGTH_COUNT];
    struct mst_model_sound { /* sounds without a length of their own tell the pace */
        double middle_log;   /* of ms */
        int32_t count;
    } plain[MST_PHONE_COUNT];
    int munfasil_way;      /* as in mst_measures */
    double speech_seconds; /* what it was measured from */
};
MST_MUST_CHECK enum mst_status mst_length_model_make(const struct mst_measures *const *takes,
                                                     size_t count, struct mst_length_model *out,
                                                     struct mst_error *err);
/* Kept in the voice's file with it. */
void mst_voice_keep_lengths(struct mst_voice *v, const struct mst_length_model *lengths);
/* NULL when none were kept; lives with the voice. */
const struct mst_length_model *mst_voice_lengths(const struct mst_voice *v);

/* model: the lengths to expect (normally the teacher's), or NULL. */
MST_MUST_CHECK enum mst_status mst_measure_by(const struct mst_timeline *timeline,
                                              const struct mst_length_model *model,
                                              struct mst_arena *arena, struct mst_measures **out,
                                              struct mst_error *err);
/* The same with the model's own measures at hand, or NULL. */
MST_MUST_CHECK enum mst_status mst_measure(const struct mst_timeline *timeline,
                                           const struct mst_measures *model,
                                           struct mst_arena *arena, struct mst_measures **out,
                                           struct mst_error *err);

/* Two takes side by side. Sites that both hold, matched by address and rule. */
struct mst_compared_site {
    int32_t first, second; /* in the measures' sites */
    double ratio;          /* second over first, pace taken out */
};
struct mst_comparison {
    const struct mst_measures *first, *second;
    struct mst_compared_site *sites;
    int32_t site_count, only_first, only_second;
    double pace_ratio;                     /* second over first */
    double length_ratio[MST_LENGTH_COUNT]; /* medians, pace taken out; 0 = not in both */
};
MST_MUST_CHECK enum mst_status mst_compare(const struct mst_measures *first,
                                           const struct mst_measures *second,
                                           struct mst_arena *arena, struct mst_comparison **out,
                                           struct mst_error *err);

/* --- findings ------------------------------------------------------------------------ */
#define MST_FINDING_LIST(X)                                                                        \
    X(CLASS_SHORT, "class_short") /* every site of a class is held shorter than the model's */     \
    X(CLASS_LONG, "class_long")                                                                    \
    X(SITE_SHORT, "site_short") /* one site is shorter than the reciter's own others */            \
    X(SITE_LONG, "site_long")                                                                      \
    X(UNEVEN, "uneven") /* the same length is held very differently */                             \
    X(WORDS_LEFT_OUT, "words_left_out")                                                            \
    X(PACE_DRIFT, "pace_drift")
enum mst_finding_kind {
#define X(name, id) MST_FINDING_##name,
    MST_FINDING_LIST(X)
#undef X
        MST_FINDING_COUNT
};
const char *mst_finding_id(enum mst_finding_kind kind);
enum { MST_FINDINGS_MAX = 5 };
struct mst_finding {
    enum mst_finding_kind kind;
    enum mst_length length; /* or NONE */
    uint8_t all_ghunna;     /* about all holds with ghunna together, not one class */
    int32_t site;           /* in measures->sites, or -1 */
    struct mst_addr at;     /* zero when it is about a class */
    int32_t start_ms, end_ms;
    double ratio;    /* measured over expected, 0 = does not apply */
    double sureness; /* 0…1 */
    double rank;     /* sureness × weight; they come in this order */
};
/* Limits a teacher may set; all zero = the defaults. */
struct mst_measure_limits {
    double site_deviation; /* spreads beyond which a site stands out; default 2.6 */
    double class_ratio;    /* a class this far from the model stands out; default 0.25 */
    double even_share;     /* below this the hand is called uneven; default 0.5 */
};
/* How surely a length is off the model's as a whole, 0…1; 0: it does not stand out. *ratio:
 * measured over the model's. All holds with ghunna are asked together first, as in the findings. */
double mst_length_off(const struct mst_measures *measures, enum mst_length length,
                      const struct mst_measure_limits *limits, double *ratio);
/* At most MST_FINDINGS_MAX, those that matter first. */
MST_MUST_CHECK enum mst_status mst_find(const struct mst_measures *measures,
                                        const struct mst_measure_limits *limits,
                                        struct mst_arena *arena, struct mst_finding **out,
                                        size_t *count, struct mst_error *err);
/* One or two plain sentences. */
void mst_finding_text(const struct mst_measures *measures, const struct mst_finding *finding,
                      enum mst_lang lang, struct mst_string *out);
/* The reminder that belongs under every report: a qualified teacher decides. */
const char *mst_findings_reminder(enum mst_lang lang);

#ifdef __cplusplus
}
#endif
#endif
