/*
 * parts.h – what the files of the ear share among themselves. Nothing here
 * leaves src/speech/ear; the door is mistara/ear.h.
 *
 *   features → units → script → graph → (start → train → voice) → viterbi
 *            → timeline → fit → measures → findings
 *
 * A frame is 10 ms of sound. A unit is a sound as the model knows it; a state
 * is a third of a unit; a slot is the density that some states share.
 * Ownership: every struct below is filled by a …_make or …_init function and
 * emptied by its …_clear, which accepts a zeroed one. Threads: only
 * ear_parallel() starts any; results never depend on how many.
 */
#ifndef MISTARA_EAR_PARTS_H
#define MISTARA_EAR_PARTS_H

#include <mistara/ear.h>

enum {
    EAR_RATE_HZ = 16000,
    EAR_SHIFT = 160,  /* samples from frame to frame */
    EAR_WINDOW = 400, /* samples in a frame */
    EAR_FFT = 512,
    EAR_BINS = EAR_FFT / 2 + 1,
    EAR_MEL = 26,
    EAR_CEPSTRA = 13,
    EAR_DIM = 39, /* cepstra, their slopes, the slopes of these */
    EAR_ROW = 40, /* floats in a stored row: EAR_DIM and one of padding */
    EAR_CHUNK_FRAMES = 4096,
    EAR_FRAME_MS = 10,
    EAR_EDGE_MS = 8,   /* the edge between frames f-1 and f lies f*10 + 7.5 ms into the sound:
                          half way between the middles of their windows */
    EAR_ONSET_MS = 15, /* a sound after silence rules every window that it reaches into, so it seems
                          to begin earlier by more than half a window: taken back here */
    EAR_MAX_AGE = 1200, /* frames; a unit that lasts longer is treated as lasting this long */
    EAR_MAX_MIX = 4
};

#define EAR_NOWHERE (-1e30f)
#define EAR_BEAM    2500.0f /* wide: a narrow one slips */
#ifndef EAR_DURATION_WEIGHT
#define EAR_DURATION_WEIGHT 40.0f /* λ */
#endif
#define EAR_RELEVANCE 20.0f /* frames that a stored voice's Gaussian weighs */

/* Inner loops: built for plain and for newer processors, chosen when the program starts. No flag
 * that would let the compiler change the order of sums. */
#if defined(__x86_64__)
#define EAR_FAST                                                                                   \
    __attribute__((target_clones("arch=x86-64-v3", "default"),                                     \
                   optimize("O3", "no-math-errno", "no-trapping-math")))
#else
#define EAR_FAST
#endif

static inline int32_t ear_ms_of_frame(int64_t frame)
{
    return frame <= 0 ? 0 : (int32_t)(frame * EAR_FRAME_MS + EAR_EDGE_MS);
}

/* --- features.c ---------------------------------------------------------- */
struct mst_features {
    struct mst_features_options options;
    struct ear_bank *bank; /* the filter bank at work; NULL once finished */
    float *tail;           /* samples that do not fill a frame yet */
    size_t tail_len;
    float before_tail; /* the sample before tail[0], for the pre-emphasis */
    float **chunks;    /* EAR_CHUNK_FRAMES rows of EAR_ROW floats each */
    size_t chunk_count, chunk_cap;
    float *level; /* natural log of each frame's energy */
    size_t level_cap;
    uint8_t *quiet; /* 1 where a frame is surely without speech */
    size_t frame_count;
    uint64_t sample_count;
    float mean[EAR_DIM], sd[EAR_DIM]; /* of the speech frames, before normalisation */
    float speech_c0, floor_c0;        /* c0 (normalised): threshold of speech, 2nd percentile */
    int finished;
};
static inline const float *ear_row(const struct mst_features *f, size_t frame)
{
    return f->chunks[frame / EAR_CHUNK_FRAMES] + (frame % EAR_CHUNK_FRAMES) * EAR_ROW;
}

/* --- units.c: the sounds as the model knows them -------------------------- */
/* The broad classes in which a first pass learns before it knows single sounds. */
#define EAR_BROAD_LIST(X)                                                                          \
    X(SILENCE)                                                                                     \
    X(OPEN) X(FRONT) X(BACK) X(NASAL) X(GLIDE_Y) X(GLIDE_W) X(LIQUID) X(STOP) X(HISS) X(THROAT)
enum ear_broad {
#define X(name) EAR_BROAD_##name,
    EAR_BROAD_LIST(X)
#undef X
        EAR_BROAD_COUNT
};

/*
 * X(name, id, broad class, the model that stands in when this one was never
 *   heard). The held nasals, the extra long vowels and the heavy a have
 * densities of their own: they differ from their short kin in more than length.
 */
#define EAR_MODEL_LIST(X)                                                                          \
    X(SILENCE, "sil", SILENCE, SILENCE)                                                            \
    X(HAMZA, "hamza", STOP, AYN)                                                                   \
    X(BA, "b", STOP, DAL)                                                                          \
    X(TA, "t", STOP, KAF)                                                                          \
    X(THA, "th", HISS, FA)                                                                         \
    X(JIM, "j", STOP, DAL)                                                                         \
    X(HA_HUTTI, "hh", THROAT, HA)                                                                  \
    X(KHA, "kh", HISS, HA_HUTTI)                                                                   \
    X(DAL, "d", STOP, TA)                                                                          \
    X(DHAL, "dh", THROAT, ZAY)                                                                     \
    X(RA, "r", LIQUID, LAM)                                                                        \
    X(ZAY, "z", HISS, SIN)                                                                         \
    X(SIN, "s", HISS, ZAY)                                                                         \
    X(SHIN, "sh", HISS, SIN)                                                                       \
    X(SAD, "ss", HISS, SIN)                                                                        \
    X(DAD, "dd", STOP, DAL)                                                                        \
    X(TAH, "tt", STOP, TA)                                                                         \
    X(ZAH, "zz", THROAT, DHAL)                                                                     \
    X(AYN, "ayn", THROAT, A)                                                                       \
    X(GHAYN, "gh", THROAT, QAF)                                                                    \
    X(FA, "f", HISS, HA)                                                                           \
    X(QAF, "q", STOP, KAF)                                                                         \
    X(KAF, "k", STOP, TA)                                                                          \
    X(LAM, "l", LIQUID, NUN)                                                                       \
    X(MIM, "m", NASAL, NUN)                                                                        \
    X(NUN, "n", NASAL, MIM)                                                                        \
    X(HA, "h", THROAT, HA_HUTTI)                                                                   \
    X(WAW, "w", GLIDE_W, U)                                                                        \
    X(YA, "y", GLIDE_Y, I)                                                                         \
    X(NUN_HELD, "nn", NASAL, NUN)                                                                  \
    X(MIM_HELD, "mm", NASAL, MIM)                                                                  \
    X(NUN_HIDDEN, "n_hidden", NASAL, NUN_HELD)                                                     \
    X(MIM_HIDDEN, "m_hidden", NASAL, MIM_HELD)                                                     \
    X(WAW_NASAL, "w_nasal", NASAL, WAW)                                                            \
    X(YA_NASAL, "y_nasal", NASAL, YA)                                                              \
    X(A, "a", OPEN, AA)                                                                            \
    X(A_HEAVY, "a_heavy", OPEN, A)                                                                 \
    X(I, "i", FRONT, II)                                                                           \
    X(U, "u", BACK, UU)                                                                            \
    X(AA, "aa", OPEN, A)                                                                           \
    X(AA_HEAVY, "aa_heavy", OPEN, AA)                                                              \
    X(II, "ii", FRONT, I)                                                                          \
    X(UU, "uu", BACK, U)                                                                           \
    X(EE, "ee", FRONT, II)                                                                         \
    X(AA_EXTRA, "aa_extra", OPEN, AA)                                                              \
    X(AA_EXTRA_HEAVY, "aa_extra_heavy", OPEN, AA_HEAVY)                                            \
    X(II_EXTRA, "ii_extra", FRONT, II)                                                             \
    X(UU_EXTRA, "uu_extra", BACK, UU)
enum ear_model_id {
#define X(name, id, broad, stand_in) EAR_MODEL_##name,
    EAR_MODEL_LIST(X)
#undef X
        EAR_MODEL_COUNT
};

/* Two kinds of length for a sound: its class. The classes a teacher asks about come first and are
 * those of mistara/ear.h; a consonant that is not held has a class of its own per model. */
enum {
    EAR_CLASS_FIRST_CONSONANT = MST_LENGTH_COUNT,
    EAR_CLASS_COUNT = MST_LENGTH_COUNT + EAR_MODEL_COUNT,
    EAR_STATES = 3, /* densities per model: head, body, tail */
    EAR_PDF_COUNT = EAR_MODEL_COUNT * EAR_STATES,
    /* A pause lasts at least 100 ms; inside a verse, where it is a breath, 250: nobody takes one
     * more quickly, and what is shorter there is the closure of a letter (docs/measurements.md). */
    EAR_PAUSE_STATES = 10,
    EAR_BREATH_STATES = 25
};

const char *ear_model_name(enum ear_model_id model);
enum ear_broad ear_model_broad(enum ear_model_id model);
enum ear_model_id ear_model_stand_in(enum ear_model_id model);
int ear_model_is_nasal_hold(enum ear_model_id model);

/* A sound in its place: what to listen for (model), how long such a sound lasts (cls), how long
 * it may last before anything was heard (weight: a short vowel is 2). */
struct ear_unit {
    uint8_t model;
    uint8_t geminate; /* four states instead of three */
    uint8_t cls;
    uint8_t weight;
    uint8_t phone;
};
/* The unit of a sound. rule: the rule of the site that gives it its length, or -1; at_stop: it is
 * the last sound before a pause. */
struct ear_unit ear_unit_of_sound(const struct mst_sound *sound, int rule, int after_heavy,
                                  int at_stop);
uint8_t ear_unit_weight(enum ear_model_id model, int cls, int geminate);

/* --- script.c: everything that may be said -------------------------------- */
enum ear_form_mask {
    EAR_JOINED_GOING = 1,
    EAR_JOINED_STOPPING = 2,
    EAR_STARTED_GOING = 4,
    EAR_STARTED_STOPPING = 8
};
/* One way a word may sound; forms that sound alike are one. */
struct ear_form {
    int32_t first_unit, unit_count;
    uint8_t mask;
    int8_t source[4]; /* per bit of the mask: which base reading it was taken from */
};
struct ear_script_word {
    int32_t first_form, form_count;
    struct mst_addr at;
    uint8_t verse_end, stop_sign, sakt;
    uint8_t optional; /* istiʿādha or basmala: may be left out */
};
struct mst_script {
    struct mst_arena *arena;
    struct ear_script_word *words;
    struct ear_form *forms;
    struct ear_unit *units;
    int32_t word_count, form_count, unit_count;
    const struct mst_text *text;
    struct mst_range range;
    struct mst_reading_options options; /* with the seeking of refuge, said or not … */
    int refuge_told;                    /* … and whether the caller asked for it */
    struct mst_reading *base[4];        /* the four readings: stops none, all, even, odd words */
};
int ear_script_begins_with_refuge(const struct mst_script *s);
/* The form of a word for one of the four masks, or -1. */
int32_t ear_script_form(const struct mst_script *s, int32_t word, enum ear_form_mask mask);

/* --- alike.c: where memory may leap to a place that is alike ------------------ */
/* Behind word `from` one may go on with word `to`: the two words before both sound the same. */
struct ear_leap {
    int32_t from, to;
};
/* In order of from; to be freed. */
MST_MUST_CHECK enum mst_status ear_alike_leaps(const struct mst_script *s, struct ear_leap **out,
                                               size_t *count, struct mst_error *err);
/* How many words, counted back from word a and from word b, sound the same. */
int32_t ear_alike_before(const struct mst_script *s, int32_t a, int32_t b);

/* --- graph.c: the script as states and arcs -------------------------------- */
struct ear_graph_unit {
    uint8_t model, cls;
    uint8_t last; /* the form's last unit */
    int32_t word; /* in the script; -1: the pause before everything */
    int32_t form; /* -1: a pause */
    int32_t unit; /* in the script's units; -1: a pause */
};
struct ear_arc {
    int32_t to;
    float cost; /* log probability, ≤ 0 */
};
struct ear_graph {
    const struct mst_script *script;
    struct ear_graph_unit *units;
    int16_t *pdf;       /* per state: model * EAR_STATES + third */
    int32_t *unit_of;   /* per state */
    int32_t *arc_first; /* per state, state_count + 1 */
    struct ear_arc *arcs;
    int32_t *extra_first; /* arcs that only a trained model may use: repeats, words left out */
    struct ear_arc *extras;
    struct ear_arc *starts; /* entries */
    int32_t *form_state;    /* per form: its first state */
    int32_t *pause_state;   /* per word + 1: first state of the pause after it; [0] before all */
    float *final_cost;      /* per state, EAR_NOWHERE where nothing may end */
    int32_t state_count, unit_count, start_count;
    int32_t strict_start_count; /* the first of starts: those without trust in a model */
    float *loose_final;         /* final_cost when the take may break off anywhere */
};
MST_MUST_CHECK enum mst_status ear_graph_make(struct ear_graph *g, const struct mst_script *script,
                                              struct mst_error *err);
void ear_graph_clear(struct ear_graph *g);

/* --- durations.c ----------------------------------------------------------- */
/* Log-normal length of every class, and the tables the trellis adds up. */
struct ear_duration {
    float median_frames, sd_log;
    int32_t seen;
};
struct ear_durations {
    struct ear_duration classes[EAR_CLASS_COUNT];
    float weight; /* λ; 0 = lengths do not count */
    float *stay;  /* [class][age]: log of living on to this age */
    float *leave; /* [class][age]: log hazard of ending at this age, per log duration */
};
/* Lengths heard so far, grouped by class. */
struct ear_lengths {
    int32_t *frames[EAR_CLASS_COUNT];
    int32_t count[EAR_CLASS_COUNT], cap[EAR_CLASS_COUNT];
    int failed;
};
void ear_lengths_add(struct ear_lengths *l, int cls, int32_t frames);
void ear_lengths_clear(struct ear_lengths *l);
/* Estimate from what was heard, held by a weak prior at `short_frames` per short vowel; or by the
 * lengths of a voice (NULL = none) brought to that pace. */
MST_MUST_CHECK enum mst_status ear_durations_make(struct ear_durations *d,
                                                  const struct ear_lengths *heard,
                                                  const struct ear_durations *voice,
                                                  float short_frames, float weight,
                                                  struct mst_error *err);
/* Tables from the classes already filled in. */
MST_MUST_CHECK enum mst_status ear_durations_tabulate(struct ear_durations *d,
                                                      struct mst_error *err);
MST_MUST_CHECK enum mst_status ear_durations_copy(struct ear_durations *to,
                                                  const struct ear_durations *from,
                                                  struct mst_error *err);
void ear_durations_clear(struct ear_durations *d);
int ear_class_is_held(int cls); /* a class whose spread may be narrow */
/* A consonant or a short vowel that lasts like a hold: the path put a part of what stands beside it
 * there, which a sound met only once or twice in a take can teach it. */
int ear_lasts_like_a_hold(const struct ear_durations *d, int cls, int32_t frames);

/* --- gmm.c: densities -------------------------------------------------------- */
struct ear_densities {
    int32_t slot_count, mix; /* mix: Gaussians per slot at most */
    int32_t padded;          /* slots rounded up to the kernel's step */
    int16_t slot_of[EAR_PDF_COUNT];
    uint8_t *mix_of; /* per slot: Gaussians in use */
    float *weight;   /* [slot][EAR_MAX_MIX] */
    float *mean;     /* [slot][EAR_MAX_MIX][EAR_DIM] */
    float *var;
    float *stay;   /* per slot: probability of staying one frame more */
    float *frames; /* per slot: frames it was trained on */
    float *kernel; /* [2*EAR_DIM][mix][padded]: mean/var, -1/(2 var) */
    float *bias;   /* [mix][padded] */
};
MST_MUST_CHECK enum mst_status ear_densities_make(struct ear_densities *d, int32_t slots,
                                                  struct mst_error *err);
void ear_densities_clear(struct ear_densities *d);
MST_MUST_CHECK enum mst_status ear_densities_copy(struct ear_densities *to,
                                                  const struct ear_densities *from,
                                                  struct mst_error *err);
/* Lay the kernel's tables out anew after weights, means or variances changed. */
MST_MUST_CHECK enum mst_status ear_densities_pack(struct ear_densities *d, struct mst_error *err);
/* log p(row | slot) for rows frames: out[row * padded + slot]. */
void ear_log_likelihoods(const struct ear_densities *d, const float *rows, size_t row_count,
                         float *out);

/* --- a model: densities, lengths -------------------------------------------- */
struct ear_model {
    struct ear_densities densities;
    struct ear_durations durations;
    float mean_log_likelihood; /* per frame of the training, along the path */
};
void ear_model_clear(struct ear_model *m);
MST_MUST_CHECK enum mst_status ear_model_copy(struct ear_model *to, const struct ear_model *from,
                                              struct mst_error *err);

/* --- viterbi.c ---------------------------------------------------------------- */
struct ear_search {
    float beam;
    int extras;     /* repeats and left-out words allowed */
    int loose_ends; /* the take may begin or end inside the passage */
    int threads;
    const struct ear_pin_frame *pins; /* in order of frame */
    size_t pin_count;
    const struct mst_ear_progress *progress;
    double progress_from, progress_to;
};
/* A pinned edge: at this frame one of the states of unit starts, for a word's form each. */
struct ear_pin_frame {
    int64_t frame;
    int32_t word;
    int32_t sound; /* nth unit of the word, or 0 */
    int32_t ms;    /* where the hand set it */
};
/*
 * The best path: path[frame] = state. *score gets its log probability.
 * MISMATCH when nothing reaches the end within the beam.
 */
MST_MUST_CHECK enum mst_status ear_viterbi(const struct ear_graph *g, const struct ear_model *m,
                                           const struct mst_features *f,
                                           const struct ear_search *how, int32_t *path,
                                           double *score, struct mst_error *err);

/* --- start.c -------------------------------------------------------------------- */
/* A first path, before any density is known. refuge: it may begin with the seeking of refuge, which
 * pauses alone do not tell from the first verse. MISMATCH when the pauses cannot be those of the
 * passage; *cost (per pause) says how well they fit. */
MST_MUST_CHECK enum mst_status ear_start_path(const struct ear_graph *g,
                                              const struct mst_features *f, int refuge,
                                              int32_t *path, double *cost, struct mst_error *err);

/* Words first…end-1 of a longer text that the take may hold; cost, per pause: how badly the pauses
 * fit. */
struct ear_stretch {
    int32_t first, end;
    double cost;
};
/* The stretches of whole verses that fit the take's pauses best, the best first. */
MST_MUST_CHECK enum mst_status ear_start_stretches(const struct ear_graph *g,
                                                   const struct mst_features *f,
                                                   struct ear_stretch *best, size_t most,
                                                   size_t *count, struct mst_error *err);

/* --- train.c -------------------------------------------------------------------- */
struct ear_example {
    const struct mst_features *features;
    const struct ear_graph *graph;
    int32_t *path; /* state per frame; owned by whoever made it */
    int half;      /* 0: all frames count; 1, 2: those of every other stretch of a few seconds */
};
static inline int ear_frame_counts(const struct ear_example *e, size_t frame)
{
    enum { STRETCH = 400 };
    return e->half == 0 || (frame / STRETCH % 2 == 0) == (e->half == 1);
}
/* Rounds of alignment and estimation. */
struct ear_stage {
    int mix, rounds;
};
struct ear_training {
    float duration_weight;
    float beam;
    int threads;
    int strays; /* a model that has come so far is believed of words said again or left out */
    const struct ear_model *prior; /* MAP towards it with relevance tau; NULL = none */
    float tau;
    const struct mst_ear_progress *progress;
    double progress_from, progress_to;
};
/* Learn a model from examples whose paths are a start (broad first) or good already. */
MST_MUST_CHECK enum mst_status ear_self_train(struct ear_example *examples, size_t count,
                                              const struct ear_training *how, int from_start,
                                              struct ear_model *out, struct mst_error *err);
/* One estimation from the paths as they stand: previous = NULL for single Gaussians. */
MST_MUST_CHECK enum mst_status ear_estimate(const struct ear_example *examples, size_t count,
                                            const struct ear_training *how, int broad, int mix,
                                            const struct ear_model *previous, struct ear_model *out,
                                            struct mst_error *err);
/* Collect the lengths of the units along a path. */
void ear_lengths_of_path(const struct ear_graph *g, const int32_t *path, size_t frames,
                         struct ear_lengths *out);
/* First frame (> from) where another unit begins: a change of unit, or the same one entered
 * anew. */
size_t ear_unit_end(const struct ear_graph *g, const int32_t *path, size_t from, size_t frames);

/* --- adapt.c: another mouth, another room ------------------------------------------ */
/* The features as a vocal tract `warp` times as long would have given them; a new object. */
MST_MUST_CHECK enum mst_status ear_features_warp(const struct mst_features *f, double warp,
                                                 struct mst_features **out, struct mst_error *err);
/* The warp under which the model finds the take most likely, by trying; *path gets the best
 * path. MISMATCH when none goes through. */
MST_MUST_CHECK enum mst_status ear_find_warp(const struct ear_graph *g, const struct ear_model *m,
                                             const struct mst_features *f, int threads,
                                             double *warp, struct mst_error *err);

/* The voice with all its means moved by the one linear map that suits the take best along the
 * path; a new model. */
MST_MUST_CHECK enum mst_status ear_map_voice(const struct ear_graph *g, const int32_t *path,
                                             const struct mst_features *f,
                                             const struct ear_model *voice, struct ear_model *out,
                                             struct mst_error *err);

/* --- voice.c -------------------------------------------------------------------------- */
struct mst_voice {
    struct ear_model model;
    struct mst_features_options band;
    char *name;
    double speech_seconds;
    int32_t sound_count;
    uint32_t checksum;
    struct mst_length_model lengths; /* speech_seconds 0: none were kept */
};

/* --- fit.c: does the take hold the passage? ---------------------------------------------- */
struct ear_fit {
    double fit;   /* 0…1 */
    double score; /* what fit was made from: without bounds */
    int accepted;
    int unsure;    /* learned alone from so little that neither yes nor no can be relied on */
    int too_short; /* … whatever the score is */
    int refuge;    /* heard as if it begins with the seeking of refuge */
    double ratio;  /* log likelihood per speech frame against a free loop of sounds */
    double cross, cross_broad; /* the same when learned from the other half of the take */
    double pause_cost;         /* of the first layout, per pause; set by the caller */
    double strange;            /* share of the speech that the rest of it does not explain */
    double left_out;           /* share of the passage's words not said */
    int32_t first, last;       /* the best stretch of words, or -1 */
};
MST_MUST_CHECK enum mst_status ear_judge_fit(const struct ear_graph *g, const struct ear_model *m,
                                             const struct mst_features *f, const int32_t *path,
                                             int threads, int with_voice, struct ear_fit *out,
                                             struct mst_error *err);

/* --- listen.c: one passage ----------------------------------------------------------------- */
/* Listen to a take as if it held this passage and judge whether it does; no timeline. MISMATCH
 * when no path goes through; else out->accepted tells. */
MST_MUST_CHECK enum mst_status ear_hear_passage(const struct mst_features *f,
                                                const struct mst_script *script,
                                                const struct mst_listen_options *options,
                                                struct ear_fit *out, struct mst_error *err);
/* The same, and by how much (log) the take is likelier as this passage than as a part of it, with
 * the voice that was learned from it as this passage. */
MST_MUST_CHECK enum mst_status ear_hear_against(const struct mst_features *f,
                                                const struct mst_script *script,
                                                const struct mst_script *part,
                                                const struct mst_listen_options *options,
                                                struct ear_fit *out, double *gain,
                                                struct mst_error *err);

/* --- stretch.c: when a take does not hold its passage --------------------------------------- */
/* Words first…end-1 of a script as a script of its own; it refers to the whole one. */
struct mst_script ear_script_part(const struct mst_script *whole, int32_t first, int32_t end);
/* The best stretch of the text around the passage that the take does hold: MST_OK, and *found is
 * its range when *any. */
MST_MUST_CHECK enum mst_status ear_find_stretch(const struct mst_features *f,
                                                const struct mst_script *asked,
                                                const struct mst_listen_options *options,
                                                struct mst_range *found, int *any,
                                                struct mst_error *err);
/* A voice can follow a passage though more was said than it holds: is the take far likelier as
 * another stretch of the text around it? near: the voice brought near to the take. */
MST_MUST_CHECK enum mst_status ear_fits_better(const struct mst_features *f,
                                               const struct ear_graph *asked,
                                               const struct ear_model *near, int threads,
                                               struct mst_range *found, int *any,
                                               struct mst_error *err);
/* By how much (log) the take is likelier as the words of a script and no others than as those of a
 * part of it. */
MST_MUST_CHECK enum mst_status ear_gain_over(const struct mst_features *f,
                                             const struct mst_script *script,
                                             const struct mst_script *part,
                                             const struct ear_model *m, int threads, double *gain,
                                             struct mst_error *err);
/* A voice learned from the take alone follows the passage though a verse more or less was said: is
 * the passage likelier without its first or last verse? And where speech was squeezed in somewhere
 * or words were left out: does it fit better with a verse more at an end? judged: what the
 * listening along path came to. */
MST_MUST_CHECK enum mst_status ear_verse_miscounted(
    const struct mst_features *f, const struct ear_graph *asked, const struct ear_model *m,
    const int32_t *path, const struct mst_listen_options *options, const struct ear_fit *judged,
    struct mst_range *found, int *any, struct mst_error *err);
/* For a second listening within a first: asks whether to go on, and shows no going back. user: the
 * first one's struct mst_ear_progress. */
int ear_stand_still(void *user, double done);
/* MISMATCH with a sentence that says why the take alone cannot tell. */
enum mst_status ear_explain_doubt(struct mst_range asked, struct mst_error *err);
/* MISMATCH with a sentence that names the passage and the best stretch. found may be NULL. */
enum mst_status ear_explain_misfit(struct mst_range asked, const struct mst_range *found,
                                   struct mst_error *err);

/* --- edges.c ---------------------------------------------------------------------------- */
/* By how many ms the change between two sounds is heard later than it is. */
int32_t ear_edge_late_ms(enum ear_model_id before, enum ear_model_id after);
/* A sound that began then ends no earlier than this. */
int32_t ear_edge_earliest_ms(int32_t start_before_ms);

/* --- timeline.c ------------------------------------------------------------------------- */
/* From the best path to words, sounds, pauses; everything in the arena. */
MST_MUST_CHECK enum mst_status ear_timeline_make(const struct ear_graph *g,
                                                 const struct ear_model *m,
                                                 const struct mst_features *f, const int32_t *path,
                                                 const struct ear_pin_frame *pins, size_t pin_count,
                                                 int threads, struct mst_arena *arena,
                                                 struct mst_timeline **out, struct mst_error *err);

/* --- measures.c ----------------------------------------------------------------------- */
/* Two takes of one reciter: a class follows the pace to within this much, in logs. */
#define EAR_PACE_STRAY 0.06
int ear_length_is_measured(enum mst_length length); /* a site with it is measured */
int ear_length_is_nasal(enum mst_length length);
/* 0 not to be told, 2 shortened, 4 lengthened: from how many sites there are and their middles. */
int ear_munfasil_way(int32_t parted, double parted_ms, int32_t natural, double natural_ms);

/* --- lengths.c -------------------------------------------------------------------------- */
int ear_sound_is_plain(const struct mst_heard_sound *s); /* without a length of its own */
/* How much faster `own` is than `other`: by the sounds both hold, each compared with itself, so
 * that a passage full of long consonants does not seem slow. */
double ear_pace_ratio(const struct mst_length_model *own, const struct mst_length_model *other);

/* --- parallel.c ------------------------------------------------------------------ */
/* Run task(ctx, 0…count-1), each once, on at most `threads` threads. Tasks write only where
 * their index says, so the result does not depend on the number of threads. */
void ear_parallel(int threads, size_t count, void (*task)(void *ctx, size_t index), void *ctx);
/* MST_CANCELLED when the caller asked to stop. */
MST_MUST_CHECK enum mst_status ear_progress(const struct mst_ear_progress *p, double done,
                                            struct mst_error *err);

#endif
