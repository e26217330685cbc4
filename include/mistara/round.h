/*
 * mistara/round.h – what the ear hears in a learner's take, laid out for the
 * teacher who rules on it: every measured site and every fault with what is
 * told of it and how likely a teacher is to call it wrong, the worst first;
 * and, from the rulings, the limit by which this class is judged.
 *
 *   measures + faults ─→ mst_round_make ─→ sites, need
 *   rulings ─→ mst_round_limit ─→ the limit of a class
 *
 * Nothing here is a ruling. Units: ms from the take's first sample; counts =
 * ḥarakāt; deviations in spreads of the reciter's own hand (ear.h).
 * Ownership: everything lives in the caller's arena and refers to what it was
 * made from.
 */
#ifndef MISTARA_ROUND_H
#define MISTARA_ROUND_H

#include <mistara/faults.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(name, id, English, Arabic) */
#define MST_TOLD_LIST(X)                                                                           \
    X(RIGHT, "right", "as expected", "كما يُتوقّع")                                                  \
    X(SHORT, "short", "shorter than expected", "أقصر مما يُتوقّع")                                   \
    X(LONG, "long", "longer than expected", "أطول مما يُتوقّع")                                      \
    X(FAULT, "fault", "said in another way", "نُطق على غير وجهه")                                   \
    X(UNSURE, "unsure", "cannot be told", "لا يمكن الحكم")
enum mst_told {
#define X(name, id, en, ar) MST_TOLD_##name,
    MST_TOLD_LIST(X)
#undef X
        MST_TOLD_COUNT
};
const char *mst_told_id(enum mst_told told);
const char *mst_told_text(enum mst_told told, enum mst_lang lang);
/* MST_TOLD_COUNT: none of them. */
enum mst_told mst_told_called(const char *id);

struct mst_round_site {
    const struct mst_measured_site *measured; /* a length; NULL: a fault */
    const struct mst_fault_item *fault;       /* or this */
    enum mst_rule rule;                       /* MST_RULE_COUNT: none acts there */
    struct mst_addr at;
    int32_t start_ms, end_ms; /* worth listening to */
    enum mst_told told;
    double deviation; /* that `wrong` was reckoned from; 0: from none (faults, whole lengths) */
    double wrong;     /* 0…1: how likely a teacher is to call it wrong; meaningless when UNSURE */
    double rank;      /* wrong × weight: the desk shows the highest first */
};
struct mst_round {
    struct mst_round_site *sites; /* in order of time */
    int32_t count;
    double need; /* 0…1: weighted share of what is wrong, half of what cannot be told */
};

/*
 * faults: NULL when not looked for. limits: the class's, or NULL.
 *
 * How likely a site is wrong follows from its deviation d alone: what is right
 * strays as Student's t with four degrees of freedom (heavier tails than the
 * normal law's; an assumption, no source), what is wrong may lie anywhere, and
 * at the limit both are equally likely. A length that is off as a whole
 * (mst_length_off) makes each of its sites that is off to that side as likely
 * wrong as that is sure. Where the take holds fewer than three sites of a
 * length, the model's length is the measure; without a model nothing is told.
 */
MST_MUST_CHECK enum mst_status mst_round_make(const struct mst_measures *measures,
                                              const struct mst_fault_report *faults,
                                              const struct mst_measure_limits *limits,
                                              struct mst_arena *arena, struct mst_round **out,
                                              struct mst_error *err);

/*
 * Of the places the ear hears, how many are right before anything is known of
 * them: what `wrong` stands on at the limit it was reckoned with, which a
 * deviation and its `wrong` tell (deviation 0: the usual one). Right places
 * stray as Student's t, wrong ones lie anywhere within ±6 spreads, and at the
 * limit both are as likely: at the usual one that holds where 72 of 100 are
 * right. A class's limit may move afterwards; what was heard stays what it was.
 */
double mst_round_usually_right(double deviation, double wrong);

/* --- a voice note nobody has named ---------------------------------------------- */
struct mst_round_passage {
    struct mst_range range;
    const struct mst_reading_options *how; /* NULL: the default */
};
struct mst_round_reader {
    const struct mst_voice *voice;
};
struct mst_round_proposal {
    int32_t passage; /* the one it holds, of those given; -1: none of them */
    double passage_fit;
    int32_t reader;         /* the likeliest of those given; -1: none, or no passage */
    double reader_sureness; /* 0…1, among these readers */
};
/*
 * Which passage a recording holds and whose voice it is. any: a voice to
 * listen with (the teacher's), NULL: the first reader's, or the take alone.
 * It only proposes: someone who knows the learners confirms.
 */
MST_MUST_CHECK enum mst_status mst_round_propose(
    const struct mst_text *text, const char *path, const struct mst_round_passage *passages,
    size_t passage_count, const struct mst_round_reader *readers, size_t reader_count,
    const struct mst_voice *any, const struct mst_ear_progress *watch,
    struct mst_round_proposal *out, struct mst_error *err);

/* --- what rulings teach --------------------------------------------------------- */
/*
 * What a ruling ("agree", "overrule") makes of what was told of a place, by
 * its id: 1 wrong, 0 right, -1 not ruled on. What was told as right or wrong is
 * agreed with or not; where nothing could be told, agreeing calls it right.
 */
int mst_round_ruled_wrong(const char *told, const char *ruling);

struct mst_round_ruling {
    double deviation; /* of the site */
    int wrong;        /* the teacher calls it wrong */
};
/*
 * The limit of deviation at which these rulings are as often wrong as right:
 * the most likely one (maximum a posteriori), leaning on the usual limit as
 * about a dozen rulings would. 1.2…6 spreads; no rulings: the usual one.
 */
double mst_round_limit(const struct mst_round_ruling *rulings, size_t count);

#ifdef __cplusplus
}
#endif
#endif
