/*
 * Learners made up to check what is found out about them. They follow another
 * law than the one that is fitted: the chance that a place comes out right
 * grows with the logarithm of practice, and every practice fades by a power of
 * its age (Newell & Rosenbloom, "Mechanisms of skill acquisition and the law of
 * practice", 1981; Wickelgren, "Single-trace fragility theory of memory
 * dynamics", 1974; put together as in performance-factors models: Pavlik, Cen &
 * Koedinger, AIED 2009). There is no state of knowing in it.
 */
#ifndef TESTS_KNOW_SIMULATE_H
#define TESTS_KNOW_SIMULATE_H

#include <mistara/know.h>

struct tried {
    int32_t learner, skill;
    int right;
};
struct simulated {
    struct mst_class_evidence evidence;
    struct mst_evidence *items;
    uint8_t *planted;   /* learners × skills: a weak place was put here */
    double *chance;     /* learners × skills: of a right place at the end */
    struct tried *next; /* places of the week after the end */
    size_t next_count;
    int64_t begin_ms, end_ms;
    double heard_wrong; /* share of the ear's places that came with a weight of the wrong sign */
};

/* A number in [0, 1) from a seed that moves on (splitmix64; Steele, Lea & Flood 2014). */
double simulate_uniform(uint64_t *seed);
double simulate_normal(uint64_t *seed);
void simulate(uint64_t seed, int32_t learners, int32_t weeks, struct mst_arena *arena,
              struct simulated *out);

/* How a forecast did. */
struct scored {
    double brier, ece, mean, truth; /* ece: ten bins of equal width */
    size_t count;
};
struct found {
    double precision, recall;
    int32_t planted, told, both;
};
/* The week after, foretold by the chances of the rows; a pair without a row counts `otherwise`. */
struct scored simulate_score(const struct simulated *s, const struct mst_knowledge *k,
                             double otherwise);
/* The same by counting: (right + 2 · usual) ÷ (heard + 2) of the weights' own signs. */
struct scored simulate_score_counting(const struct simulated *s);
/* Weak places told (known < 0.5) against those planted and still weak: chance below 0.6. Only of
 * what was heard. */
struct found simulate_found(const struct simulated *s, const struct mst_knowledge *k, int planted);
struct found simulate_found_counting(const struct simulated *s, int planted);

#endif
