/*
 * chain.c – one skill of one learner as a chain of two hidden states, known and
 * not known. In a sitting the state stands still and each hearing shows
 * something of it; after a sitting, once the learner has been answered, the
 * skill may be learned; while days pass a known one may be forgotten:
 *
 *   P(known) ── heard, heard, … ──→ learn ──→ days pass: × exp(−φ d) ──→ P(known)
 *
 * Corbett & Anderson, "Knowledge tracing" (User Modeling and User-Adapted
 * Interaction 4, 1995), with the forgetting and the latent aptitude of Khajah,
 * Lindsey & Mozer, "How deep is knowledge tracing?" (EDM 2016). Otherwise than
 * there: forgetting is a rate per day, learning a matter of sittings and not of
 * places (five places of one recording are five looks, not five lessons), and
 * what is observed is soft: its likelihood under right and not right.
 *
 * Every item's likelihood is divided out as it comes and its logarithm added
 * up (Rabiner, Proc. IEEE 77, 1989, V.A), so a sequence of any length neither
 * underflows nor needs a logarithm a step. tests/lesson/know/paths.c holds it
 * against the sum over all hidden paths.
 */
#include "parts.h"

#include <math.h>

/* Start and learning move with aptitude in full; so do, by half, how often something known comes
 * out and something unknown comes out by itself: a learner may settle between never and always. */
const double know_shift[PARAMETERS] = {[START] = 1, [LEARN] = 1, [GUESS] = 0.5, [SLIP] = -0.5};

struct chain chain_of(const double x[PARAMETERS], double aptitude)
{
    return (struct chain){.start = logistic(x[START] + know_shift[START] * aptitude),
                          .learn = logistic(x[LEARN] + know_shift[LEARN] * aptitude),
                          .forget_per_day = exp(x[FORGET]),
                          .guess = logistic(x[GUESS] + know_shift[GUESS] * aptitude),
                          .slip = logistic(x[SLIP] + know_shift[SLIP] * aptitude)};
}

/* Expected days until forgetting, given that it came within so many. */
static double days_before(double rate, double days)
{
    double z = rate * days;
    return z < 1e-4 ? days * (0.5 - z / 12) : 1 / rate - days / expm1(z);
}

void chain_steps(const struct chain *c, const struct heard *items, int32_t count,
                 struct step *steps)
{
    for (int32_t n = 0; n < count; n++) {
        double days = n + 1 < count ? items[n + 1].day - items[n].day : 0;
        steps[n] = (struct step){.right = items[n].right, .keep = 1, .days = days};
        if (days <= 0)
            continue;
        steps[n].keep = exp(-c->forget_per_day * days);
        steps[n].days_lost = days_before(c->forget_per_day, days);
        steps[n].sitting_ends = days >= SITTING_DAYS;
    }
}

double chain_forward(const struct chain *c, int32_t count, struct step *steps)
{
    double known = c->start, product = 1, log_likelihood = 0;
    for (int32_t n = 0; n < count; n++) {
        struct step *s = &steps[n];
        s->known = (1 - c->slip) * s->right + c->slip * (1 - s->right);
        s->not_known = c->guess * s->right + (1 - c->guess) * (1 - s->right);
        s->before = known;
        double a = known * s->known, b = (1 - known) * s->not_known;
        s->scale = a + b;
        product *= s->scale;
        if (product < 1e-250) { /* a logarithm only where it would run out of room */
            log_likelihood += log(product);
            product = 1;
        }
        known = a / s->scale;
        if (s->sitting_ends)
            known += (1 - known) * c->learn;
        s->after = known;
        known *= s->keep;
    }
    return log_likelihood + log(product);
}

double chain_onward(const struct chain *c, int32_t count, const struct step *steps, double days)
{
    double known = steps[count - 1].after;
    if (days >= SITTING_DAYS)
        known += (1 - known) * c->learn;
    return known * exp(-c->forget_per_day * days);
}

/* From the next item to this one: what can lie between, counted. later_…: the likelihood of all
 * that comes, in either state, scaled. */
static void count_between(const struct chain *c, const struct step *s, double *later_known,
                          double *later_not, struct counts *out)
{
    double known = s->keep * *later_known + (1 - s->keep) * *later_not, not_known = *later_not;
    double lost = s->after * (1 - s->keep) * not_known;
    out->forgotten += lost;
    out->days_known += s->after * s->keep * *later_known * s->days + lost * s->days_lost;
    *later_known = known;
    if (!s->sitting_ends)
        return;
    double not_yet = (1 - s->before) * s->not_known / s->scale;
    out->learned += not_yet * c->learn * known;
    out->not_learned += not_yet * (1 - c->learn) * not_known;
    *later_not = c->learn * known + (1 - c->learn) * not_known;
}

void chain_count(const struct chain *c, int32_t count, struct step *steps, struct counts *out)
{
    *out = (struct counts){.log_likelihood = chain_forward(c, count, steps)};
    double later_known = 1, later_not = 1;
    for (int32_t n = count - 1; n >= 0; n--) {
        const struct step *s = &steps[n];
        if (n + 1 < count)
            count_between(c, s, &later_known, &later_not, out);
        later_known *= s->known / s->scale;
        later_not *= s->not_known / s->scale;
        double known = s->before * later_known, not_known = (1 - s->before) * later_not;
        double slip = known * c->slip * (1 - s->right) / s->known;
        double guess = not_known * c->guess * s->right / s->not_known;
        out->slipped += slip;
        out->not_slipped += known - slip;
        out->guessed += guess;
        out->not_guessed += not_known - guess;
    }
    out->started = c->start * later_known;
    out->not_started = (1 - c->start) * later_not;
}
