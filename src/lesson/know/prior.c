/*
 * prior.c – what is believed before anything was heard. A skill of which little
 * was heard is drawn to its rule, a rule to all rules. The bounds keep guessing
 * and slipping apart: without them a second solution that calls knowing not
 * knowing fits as well (Beck & Chang, "Identifiability", UM 2007; bounds of this
 * kind since Corbett & Anderson 1995: guess at most 0.3, slip at most 0.1, from
 * memory). Ours are wider, since half of the letters come out right by themselves
 * in an ordinary reader's mouth. Centres and spreads are assumptions, no source;
 * with a class's evidence the fit moves them.
 */
#include "parts.h"

#include <math.h>

/* X(parameter, scale, usual, spread of skills, of rules, of all, least, most) */
#define PRIORS(X)                                                                                  \
    X(START, logit, 0.55, 0.7, 0.6, 1.0, 0.02, 0.98)                                               \
    X(LEARN, logit, 0.10, 0.5, 0.4, 0.7, 0.005, 0.60)                                              \
    X(FORGET, log, 0.008, 0.5, 0.4, 0.7, 0.0005, 0.15) /* half forgotten in 87 days */             \
    X(GUESS, logit, 0.25, 0.4, 0.4, 0.6, 0.02, 0.50)                                               \
    X(SLIP, logit, 0.08, 0.4, 0.4, 0.6, 0.01, 0.25)

void know_prior(struct prior *out)
{
#define X(name, scale, usual, of_skill, of_rule, of_all, least, most)                              \
    out->centre[name] = scale(usual);                                                              \
    out->skill_sd[name] = of_skill;                                                                \
    out->rule_sd[name] = of_rule;                                                                  \
    out->all_sd[name] = of_all;                                                                    \
    out->low[name] = scale(least);                                                                 \
    out->high[name] = scale(most);
    PRIORS(X)
#undef X
}
