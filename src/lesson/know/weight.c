/* weight.c – from what was observed to the weight it has. */
#include "parts.h"

#include <math.h>

/* Assumptions, no source: how often a teacher who has listened, or who taps while someone goes on
 * reciting, would say otherwise on hearing it again. docs/knowing.md tells what hangs on them. */
#define RULING_WRONG 0.005
#define LIVE_WRONG   0.05

double logit(double p)
{
    return log(p) - log1p(-p);
}

double logistic(double x)
{
    return 1 / (1 + exp(-x));
}

static double bounded(double weight)
{
    return weight > MST_WEIGHT_MOST    ? MST_WEIGHT_MOST
           : weight < -MST_WEIGHT_MOST ? -MST_WEIGHT_MOST
                                       : weight;
}

double mst_weight_of_verdict(int right, double false_alarm, double miss)
{
    return bounded(right ? log1p(-false_alarm) - log(miss) : log(false_alarm) - log1p(-miss));
}

double mst_weight_of_sureness(double right, double usual)
{
    return bounded(logit(right) - logit(usual));
}

double mst_weight_of_ruling(int right)
{
    return mst_weight_of_verdict(right, RULING_WRONG, RULING_WRONG);
}

double mst_weight_of_live(int right)
{
    return mst_weight_of_verdict(right, LIVE_WRONG, LIVE_WRONG);
}
