/*
 * mistara/know.h – what a learner knows, and so what to teach next: from places
 * that were heard, each more or less surely right, to how likely it is that a
 * learner has a rule at a letter, when to take it up again, which verses drill
 * what is weak, and what half of a class still misses. Pure computation: no
 * database, no clock, no chance; the same evidence gives the same answer.
 *
 *   evidence ─→ mst_know_fit ─→ model ─┬→ mst_know_now        per learner and skill
 *   (times given)                      ├→ mst_know_histories  week by week
 *                                      └→ mst_progress_new    printed pages
 *   knowledge ─→ mst_know_class · mst_know_weak ─→ mst_know_drill · mst_know_csv
 *
 * The model (docs/knowing.md) is Bayesian knowledge tracing (Corbett &
 * Anderson 1995) with forgetting between hearings and an aptitude of each
 * learner; reviews are spaced by half-life regression (Settles & Meeder 2016).
 * It reports likelihoods of things heard; whether a recitation is right the
 * teacher says.
 *
 * Ownership: results live in the caller's arena; inputs are borrowed during
 * the call, except that a model and a knowledge keep the pointer to the skills.
 * Threads: no globals; finished objects are read-only.
 * Units: times in ms since 1970 UTC, forgetting per day of 24 h, probabilities
 * 0…1, weights of evidence in natural logarithms.
 */
#ifndef MISTARA_KNOW_H
#define MISTARA_KNOW_H

#include <mistara/find.h>
#include <mistara/leaves.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- skills --------------------------------------------------------------------- */
/*
 * A skill is a rule with the letter or the sound by which its places are told
 * apart (MST_BY_OWN of find.h): hiding before kāf, echo of dāl, joined
 * lengthening of ā; or the rule alone (MST_MEMBER_RULE). Two are one when
 * kind, rule and the letter or phone of their kind are the same.
 */
int mst_skill_equal(struct mst_member a, struct mst_member b);
/* A number for each, the same in every build: to sort by and to keep beside rows. */
int mst_skill_number(struct mst_member skill);
/* 0: no skill has this number. */
int mst_skill_of_number(int number, struct mst_member *out);
/* The skills of a reading's sites, out[0…site_count-1]. */
void mst_skills_of_reading(const struct mst_reading *reading, struct mst_member *out);

/* --- evidence --------------------------------------------------------------------- */
/* Who heard it. */
enum mst_heard {
    MST_HEARD_EAR,  /* a recording, measured */
    MST_HEARD_LIVE, /* noted while someone recited */
    MST_HEARD_RULED /* the teacher listened to the recording and decided */
};

/*
 * One place, recited once. weight: ln P(what was observed | said right) / P(the
 * same | not said right), the weight of evidence (Good 1950): 0 tells nothing,
 * above 0 speaks for right. Weights of independent observations of the same
 * place of the same recording add up to one item; a ruling takes the place of
 * what the ear said.
 */
struct mst_evidence {
    int32_t learner, skill; /* indices: 0…learner_count-1, 0…skill_count-1 */
    int64_t time_ms;
    float weight;
    uint8_t heard; /* enum mst_heard */
};
/* More than this no single item weighs, whoever heard it: everyone mishears. */
#define MST_WEIGHT_MOST 7.0
/* A yes or no of an ear with these rates: false_alarm = P(no | right), miss = P(yes | not right).
 */
double mst_weight_of_verdict(int right, double false_alarm, double miss);
/* A calibrated probability that the place was right, made where `usual` of all places are right
 * (0.5 when it was calibrated on equal shares): ln odds(right) − ln odds(usual). */
double mst_weight_of_sureness(double right, double usual);
/* A ruling of the teacher who listened, wrong once in 200; a tap while someone recites, wrong once
 * in 20. Both figures are assumptions (docs/knowing.md). */
double mst_weight_of_ruling(int right);
double mst_weight_of_live(int right);

struct mst_class_evidence {
    const struct mst_member *skills;
    int32_t skill_count, learner_count;
    const struct mst_evidence *items; /* any order */
    size_t count;
};

/* --- the model ---------------------------------------------------------------------- */
/* Of one skill, for a learner of aptitude 0: a higher one raises start, learning and guessing and
 * lowers slipping. */
struct mst_know_skill {
    double start;          /* known before it was first heard */
    double learn;          /* P(not known → known) after each sitting of hearing it */
    double forget_per_day; /* rate φ: kept over d days with probability exp(−φ d) */
    double guess;          /* right though not known */
    double slip;           /* not right though known */
    int32_t heard, learners;
};
enum { MST_KNOW_PARAMETERS = 5, MST_KNOW_NODES = 9 };
struct mst_know_model {
    const struct mst_member *skills;
    struct mst_know_skill *of; /* skill_count */
    /* Covariance of each skill's parameters (logits; ln for forgetting), row by row. */
    double (*covariance)[MST_KNOW_PARAMETERS * MST_KNOW_PARAMETERS];
    double *aptitude; /* of each learner, in logits; 0: as most */
    int32_t skill_count, learner_count;
    double aptitude_spread; /* of a skill about its learner's aptitude, in logits */
    double log_likelihood;  /* of the evidence, natural logarithm */
    double log_posterior;   /* with the priors; EM never lowers it */
    int rounds, settled;    /* of EM; 0: it stopped at the limit */
};

struct mst_know_options {
    int rounds_most; /* 0: 100 */
    int no_priors;   /* plain maximum likelihood, no aptitude: for checks */
};
/*
 * Fit by expectation maximisation. No evidence at all is no error: what comes
 * out is what the priors say. USAGE for an index out of range, a weight that
 * is no number, or a time before 1970.
 */
MST_MUST_CHECK enum mst_status mst_know_fit(const struct mst_class_evidence *evidence,
                                            const struct mst_know_options *options, /* or NULL */
                                            struct mst_arena *arena, struct mst_know_model **out,
                                            struct mst_error *err);

/* --- when to take it up again --------------------------------------------------------- */
/* Half-life regression: the chance of still having it d days after the last hearing is 2^(−d/h), h
 * = 2^(weights · features). One bias for each skill, drawn to its rule's. */
struct mst_spacing {
    double base, right, other; /* weights of 1, √(1 + right), √(1 + not right) */
    double *bias;              /* of each skill */
    int32_t skill_count;
    double error; /* mean squared error of the chance, over the hearings it was fitted to */
    int32_t fitted_to;
};
/* One observation a sitting, as in the paper; that hearings within 12 hours are one is our choice.
 */
MST_MUST_CHECK enum mst_status mst_spacing_fit(const struct mst_class_evidence *evidence,
                                               struct mst_arena *arena, struct mst_spacing **out,
                                               struct mst_error *err);
double mst_spacing_half_life_days(const struct mst_spacing *spacing, int32_t skill, double right,
                                  double other);

/* --- what is known ---------------------------------------------------------------------- */
/* Of one learner and one skill that was heard of them at least once. */
struct mst_known {
    int32_t learner, skill;
    int32_t heard; /* places heard */
    double right;  /* of these, how many were right: the sum of their likelihoods */
    int64_t first_ms, last_ms;
    double known;                   /* at the time asked, forgetting included */
    double known_low, known_high;   /* 90 % of it: see docs/knowing.md */
    double chance;                  /* that the next one is right */
    double chance_low, chance_high; /* 90 % */
    double half_life_days;          /* 0 without a spacing */
    int64_t due_ms;                 /* to be heard again from here on; 0 without a spacing */
};
/* Is it time, at at_ms, to hear again what is due from due_ms on? */
static inline int mst_is_due(int64_t due_ms, int64_t at_ms)
{
    return due_ms > 0 && due_ms <= at_ms;
}
struct mst_knowledge {
    const struct mst_member *skills;
    int32_t skill_count, learner_count;
    int64_t time_ms;
    struct mst_known *rows; /* by learner, then skill */
    size_t count;
    size_t *first; /* learner_count + 1 offsets into rows */
};
/* Items later than time_ms are left out. spacing NULL: no due dates. The evidence may be of fewer
 * items than the model was fitted to (one learner's), its indices are the model's. */
MST_MUST_CHECK enum mst_status mst_know_now(const struct mst_know_model *model,
                                            const struct mst_class_evidence *evidence,
                                            const struct mst_spacing *spacing, int64_t time_ms,
                                            struct mst_arena *arena, struct mst_knowledge **out,
                                            struct mst_error *err);

/* How one learner's skills stood at several times: each value knows only what was heard by then. */
struct mst_know_history {
    int32_t learner, skill;
    struct mst_known *at; /* time_count; heard 0: not yet */
};
MST_MUST_CHECK enum mst_status mst_know_histories(const struct mst_know_model *model,
                                                  const struct mst_class_evidence *evidence,
                                                  int32_t learner, const int64_t *times_ms,
                                                  int32_t time_count, struct mst_arena *arena,
                                                  struct mst_know_history **out, int32_t *count,
                                                  struct mst_error *err);

/*
 * A rule whole, its letters put together: the share of the places heard that one
 * may take to be known, each skill weighed by how often it was heard; its
 * interval is the skills' own, weighed alike (as if they were wrong together).
 * due_ms: the earliest of its skills.
 */
struct mst_known_rule {
    enum mst_rule rule;
    int32_t heard, skills; /* 0: not yet */
    double right, known, low, high;
    int64_t last_ms, due_ms;
};
/* In the order of the rules; those of which something was heard. */
MST_MUST_CHECK enum mst_status mst_know_rules(const struct mst_knowledge *knowledge,
                                              int32_t learner, struct mst_arena *arena,
                                              struct mst_known_rule **out, int32_t *count,
                                              struct mst_error *err);
/* The same at several times, as mst_know_histories. */
struct mst_rule_course {
    enum mst_rule rule;
    struct mst_known_rule *at; /* time_count */
};
MST_MUST_CHECK enum mst_status mst_know_courses(const struct mst_know_model *model,
                                                const struct mst_class_evidence *evidence,
                                                int32_t learner, const int64_t *times_ms,
                                                int32_t time_count, struct mst_arena *arena,
                                                struct mst_rule_course **out, int32_t *count,
                                                struct mst_error *err);

/* --- what to teach next --------------------------------------------------------------------- */
/*
 * What the class misses. Each learner heard may or may not know the skill, with
 * their own probability, so the number who do not is a sum of unequal coins
 * (Poisson binomial); half = P(at least half of those heard do not know it).
 */
struct mst_class_miss {
    int32_t skill, learners;   /* learners of whom it was heard */
    double missing;            /* expected number who do not know it */
    int32_t low, median, high; /* 5, 50 and 95 % of that number */
    double half;
};
/* Every skill heard of at least one learner, the most missed first; `half` of at least 0.5 is what
 * half of them miss. */
MST_MUST_CHECK enum mst_status mst_know_class(const struct mst_knowledge *knowledge,
                                              struct mst_arena *arena, struct mst_class_miss **out,
                                              size_t *count, struct mst_error *err);

/* Places to drill: more likely not known than known, the likeliest first; then what is due. */
struct mst_weak {
    struct mst_member skill;
    const struct mst_known *row;
    int due; /* known, but it is time to hear it again */
};
/* most: at most so many; 0: all. */
MST_MUST_CHECK enum mst_status mst_know_weak(const struct mst_knowledge *knowledge, int32_t learner,
                                             size_t most, struct mst_arena *arena,
                                             struct mst_weak **out, size_t *count,
                                             struct mst_error *err);

/*
 * The verses of least words that hold each of these skills so many times: a
 * covering set of mst_multicover_solve. A skill the scope holds less often is
 * taken as often as it is there, one it does not hold is counted absent;
 * NOT_FOUND when it holds none of them. node_limit bounds the search (0:
 * 20,000), no clock does, so a drill is the same on every machine.
 */
MST_MUST_CHECK enum mst_status mst_know_drill(const struct mst_text *text,
                                              const struct mst_find_scope *scope,
                                              const struct mst_member *skills, size_t skill_count,
                                              int times /* 0: 2 */, int node_limit,
                                              struct mst_arena *arena, struct mst_cover *out,
                                              struct mst_error *err);

/* --- out of it ------------------------------------------------------------------------------- */
/*
 * Rows for a spreadsheet (RFC 4180, a heading line, CRLF; no cell can become a
 * formula): learner, rule, name, letter, heard, right, known, low, high, chance,
 * last heard, due. labels: of each learner, or NULL for their numbers from 1.
 * learner −1: all of them. Times as 2026-11-25T18:30:00Z.
 */
void mst_know_csv(const struct mst_knowledge *knowledge, int32_t learner,
                  const struct mst_span *labels, enum mst_lang lang, struct mst_string *out);

/* Pages people can read (docs/knowing.md): a strip for each rule over the weeks, words instead of
 * marks, no ranking, nobody else's name. */
enum mst_progress_reader { MST_PROGRESS_LEARNER, MST_PROGRESS_PARENT, MST_PROGRESS_CLASS };
struct mst_progress {
    enum mst_progress_reader reader;
    int32_t learner;               /* not looked at for the class */
    struct mst_span label_en;      /* "Learner 1"; for the class its name */
    struct mst_span label_ar;      /* empty: as label_en */
    struct mst_span class_line;    /* "Weekly evening class, town library"; may be empty */
    int64_t until_ms;              /* the last week ends here */
    int32_t weeks;                 /* 0: 12; at most 52 */
    int32_t utc_offset_minutes;    /* of the dates printed */
    enum mst_sheet_labels labels;  /* both, or one language */
    struct mst_page_geometry page; /* width 0: A4 */
};
/* NOT_FOUND when nothing was heard of this learner, or class, by then. */
MST_MUST_CHECK enum mst_status mst_progress_new(struct mst_typeset *ts,
                                                const struct mst_know_model *model,
                                                const struct mst_class_evidence *evidence,
                                                const struct mst_spacing *spacing, /* or NULL */
                                                const struct mst_progress *progress,
                                                struct mst_arena *arena, struct mst_sheet **out,
                                                struct mst_error *err);
/* The same into a file by the ending of its name, as mst_sheet_write: .pdf .svg .png. */
MST_MUST_CHECK enum mst_status mst_progress_write(struct mst_typeset *ts,
                                                  const struct mst_know_model *model,
                                                  const struct mst_class_evidence *evidence,
                                                  const struct mst_spacing *spacing,
                                                  const struct mst_progress *progress,
                                                  const char *path, struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
