/*
 * aptitude.c – how easily a learner comes by a rule: one number for each
 * learner, and about it one for each skill of theirs, integrated out over nine
 * nodes. That start and learning differ by learner is what Yudelson, Koedinger
 * & Gordon found worth most ("Individualized Bayesian knowledge tracing
 * models", AIED 2013); drawing them to a common centre keeps a learner of whom
 * little was heard near the others.
 */
#include "parts.h"

#include <math.h>

#define APTITUDE_SD     0.8 /* of learners about 0, logits; an assumption */
#define SPREAD_USUAL    0.9 /* of a learner's skills about their own; fitted, drawn to this */
#define SPREAD_LOG_SD   0.25
#define SPREAD_LEAST    0.5
#define SPREAD_GREATEST 1.6
#define APTITUDE_MOST   2.0

const double know_nodes[MST_KNOW_NODES] = {-3, -2.25, -1.5, -0.75, 0, 0.75, 1.5, 2.25, 3};

void know_node_shares(double aptitude, double spread, double log_share[MST_KNOW_NODES])
{
    double sum = 0;
    for (int q = 0; q < MST_KNOW_NODES; q++) {
        double z = (know_nodes[q] - aptitude) / spread;
        log_share[q] = -z * z / 2;
        sum += exp(log_share[q]);
    }
    for (int q = 0; q < MST_KNOW_NODES; q++)
        log_share[q] -= log(sum);
}

double know_node_posterior(const double log_share[MST_KNOW_NODES],
                           const double log_likelihood[MST_KNOW_NODES],
                           double share[MST_KNOW_NODES])
{
    double most = -INFINITY, sum = 0;
    for (int q = 0; q < MST_KNOW_NODES; q++)
        most = fmax(most, log_share[q] + log_likelihood[q]);
    for (int q = 0; q < MST_KNOW_NODES; q++)
        sum += share[q] = exp(log_share[q] + log_likelihood[q] - most);
    for (int q = 0; q < MST_KNOW_NODES; q++)
        share[q] /= sum;
    return most + log(sum);
}

/* Concave in the aptitude: an exponential family on the nodes with a normal prior. */
double know_aptitude(const struct leanings *of, double spread)
{
    const double precision = 1 / (spread * spread), prior = 1 / (APTITUDE_SD * APTITUDE_SD);
    double low = -APTITUDE_MOST, high = APTITUDE_MOST;
    if (of->places <= 0)
        return 0;
    for (int n = 0; n < 50; n++) { /* its derivative falls: halve */
        double at = (low + high) / 2, share[MST_KNOW_NODES], mean = 0;
        know_node_shares(at, spread, share);
        for (int q = 0; q < MST_KNOW_NODES; q++)
            mean += know_nodes[q] * exp(share[q]);
        double slope = precision * (of->sum - of->places * mean) - prior * at;
        *(slope > 0 ? &low : &high) = at;
    }
    return (low + high) / 2;
}

static double spread_fits(const struct leanings *of, const double *aptitude, int32_t learners,
                          double spread)
{
    double sum = know_spread_log_prior(spread);
    for (int32_t l = 0; l < learners; l++) {
        double share[MST_KNOW_NODES], m = aptitude[l];
        if (of[l].places <= 0)
            continue;
        know_node_shares(m, spread, share);
        /* ln share = −(u − m)²/2σ² − ln Z; ln Z from the middle node */
        double z = (know_nodes[MST_KNOW_NODES / 2] - m) / spread;
        double log_sum = -z * z / 2 - share[MST_KNOW_NODES / 2];
        double apart = of[l].squares - 2 * m * of[l].sum + m * m * of[l].places;
        sum += -apart / (2 * spread * spread) - of[l].places * log_sum;
    }
    return sum;
}

/* Golden section; never worse than where it was. */
double know_spread(const struct leanings *of, const double *aptitude, int32_t learners,
                   double spread)
{
    const double golden = 0.6180339887498949;
    double low = SPREAD_LEAST, high = SPREAD_GREATEST;
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double fa = spread_fits(of, aptitude, learners, a), fb = spread_fits(of, aptitude, learners, b);
    for (int n = 0; n < 24; n++)
        if (fa > fb) {
            high = b;
            b = a;
            fb = fa;
            a = high - golden * (high - low);
            fa = spread_fits(of, aptitude, learners, a);
        } else {
            low = a;
            a = b;
            fa = fb;
            b = low + golden * (high - low);
            fb = spread_fits(of, aptitude, learners, b);
        }
    double found = (low + high) / 2;
    return spread_fits(of, aptitude, learners, found) >= spread_fits(of, aptitude, learners, spread)
               ? found
               : spread;
}

double know_aptitude_log_prior(double aptitude)
{
    return -aptitude * aptitude / (2 * APTITUDE_SD * APTITUDE_SD);
}

double know_spread_log_prior(double spread)
{
    double z = log(spread / SPREAD_USUAL) / SPREAD_LOG_SD;
    return -z * z / 2;
}
