/*
 * faults_fit.c – the sureness of src/speech/faults/kinds.c: a logistic
 * regression (D. R. Cox, J. Royal Statistical Society B 20, 1958) on the
 * splices that bench-ear-faults-kinds wrote down. It asks whether the fault is
 * there, by how far the evidence lies off its middle, by how far the sound
 * lies beyond its own sort and by the take's own evidence; one level for each kind of contrast,
 * drawn towards their common level so that a kind with few splices follows the others. Fitted by
 * Newton's steps.
 *
 *   bench-ear-faults-fit FILE…
 *
 * Prints how each reciter's splices fare by weights fitted on the others'
 * alone, what untouched recitation gives, and the table kinds.c holds, fitted
 * on all of them. Only untouched and spliced takes that are not spoiled count.
 */
#include "faults_tally.h"
#include "stage.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* As in kinds.c. */
static const double distance_most = 4, beyond_least = -4, beyond_most = 8, own_most = 6;
static const double apart_least = 2.2, least_reported = 0.95;
/* How strongly a contrast's own level is drawn to the common one, and weights to nothing. Ours. */
static const double level_ridge = 0.5, weight_ridge = 0.01;
static const int steps = 30;

/* Terms: the common level, one of each contrast, distance, beyond, own evidence. */
enum { COMMON, LEVELS, DISTANCE = LEVELS + MST_CONTRAST_COUNT, BEYOND, OWN, TERMS };
struct weights {
    double with_own[TERMS]; /* where the take's own sounds can be compared */
    double alone[TERMS];    /* where they cannot */
};

static int has_own(const struct tallied *x)
{
    return x->apart > 0;
}

static double between(double least, double x, double most)
{
    return fmin(fmax(x, least), most);
}

static void terms_of(const struct tallied *x, double out[TERMS])
{
    memset(out, 0, TERMS * sizeof *out);
    out[COMMON] = 1;
    out[LEVELS + x->contrast] = 1;
    out[DISTANCE] = between(-distance_most, x->distance, distance_most);
    if (!has_own(x))
        return;
    out[BEYOND] = between(beyond_least, (x->own + x->apart * x->apart / 2) / x->apart, beyond_most);
    out[OWN] = between(-own_most, x->own, own_most);
}

static double odds_of(const double weights[TERMS], const double terms[TERMS])
{
    double sum = 0;
    for (int i = 0; i < TERMS; i++)
        sum += weights[i] * terms[i];
    return sum;
}

static int used(const struct tallied *x, char but_not, int own)
{
    return x->spliced && x->reciter != but_not && !x->cannot_tell && has_own(x) == own &&
           strcmp(x->condition, "clean") == 0;
}

/* The most likely weights, of the splices of all reciters but one (0: of all). */
static void fit(const struct tally *t, char but_not, int own, double out[TERMS])
{
    memset(out, 0, TERMS * sizeof *out);
    for (int step = 0; step < steps; step++) {
        double slope[TERMS], curve[TERMS][TERMS] = {{0}};
        for (int i = 0; i < TERMS; i++) {
            double ridge = i >= LEVELS && i < DISTANCE ? level_ridge : weight_ridge;
            slope[i] = -ridge * out[i];
            curve[i][i] = ridge;
        }
        for (size_t n = 0; n < t->count; n++) {
            const struct tallied *x = &t->list[n];
            double terms[TERMS];
            if (!used(x, but_not, own))
                continue;
            terms_of(x, terms);
            double p = 1 / (1 + exp(-odds_of(out, terms)));
            for (int i = 0; i < TERMS; i++) {
                slope[i] += (x->there - p) * terms[i];
                for (int j = 0; j < TERMS; j++)
                    curve[i][j] += p * (1 - p) * terms[i] * terms[j];
            }
        }
        gsl_matrix_view a = gsl_matrix_view_array(&curve[0][0], TERMS, TERMS);
        gsl_vector_view x = gsl_vector_view_array(slope, TERMS);
        gsl_linalg_cholesky_decomp1(&a.matrix);
        gsl_linalg_cholesky_svx(&a.matrix, &x.vector);
        for (int i = 0; i < TERMS; i++)
            out[i] += slope[i];
    }
}

static struct weights fit_both(const struct tally *t, char but_not)
{
    struct weights w;
    fit(t, but_not, 1, w.with_own);
    fit(t, but_not, 0, w.alone);
    return w;
}

/* The lines of one reciter, sure by these weights. */
static struct tally judged(const struct tally *t, char reciter, const struct weights *w)
{
    struct tally out = {0};
    for (size_t n = 0; n < t->count; n++) {
        struct tallied x = t->list[n];
        double terms[TERMS];
        if (x.reciter != reciter || strcmp(x.condition, "clean") != 0)
            continue;
        terms_of(&x, terms);
        x.sureness = 1 / (1 + exp(-odds_of(has_own(&x) ? w->with_own : w->alone, terms)));
        x.cannot_tell |= has_own(&x) && x.apart < apart_least;
        tally_add(&out, x);
    }
    return out;
}

static void mark_untold(struct tally *t)
{
    struct mst_arena *arena = mst_arena_new(0);
    const char *path = mst_faults_default_path(arena);
    struct mst_fault_list *list;
    struct mst_error err = {0};
    if (!path || mst_faults_read(&path, 1, arena, &list, &err))
        stage_fail("the list of faults", &err);
    for (size_t n = 0; n < t->count; n++) {
        struct mst_span id = {t->list[n].fault, strlen(t->list[n].fault)};
        const struct mst_fault *fault = mst_fault_called(list, id);
        t->list[n].untold = fault && fault->untold;
    }
    mst_arena_free(arena);
}

static void print_weights(const struct weights *w)
{
    printf("\nfor kinds.c:\n  by_distance = %.3f, by_beyond = %.3f, by_own = %.3f\n  "
           "by_distance_alone "
           "= %.3f\n",
           w->with_own[DISTANCE], w->with_own[BEYOND], w->with_own[OWN], w->alone[DISTANCE]);
    for (int k = 0; k < MST_CONTRAST_COUNT; k++)
        printf("  %-9s even %.2f, alone %.2f\n", mst_contrast_id((enum mst_contrast)k),
               w->with_own[COMMON] + w->with_own[LEVELS + k],
               w->alone[COMMON] + w->alone[LEVELS + k]);
}

int main(int argc, char **argv)
{
    struct tally all = {0};
    char reciters[8] = "";
    for (int i = 1; i < argc; i++)
        if (!tally_read(&all, argv[i])) {
            fprintf(stderr, "%s cannot be read\n", argv[i]);
            return 1;
        }
    if (all.count == 0) {
        printf("skipped: no lines that bench-ear-faults-kinds wrote were named\n");
        return 77;
    }
    mark_untold(&all);
    for (size_t n = 0; n < all.count; n++)
        if (!strchr(reciters, all.list[n].reciter) && strlen(reciters) < sizeof reciters - 1)
            reciters[strlen(reciters)] = all.list[n].reciter;
    struct weights shipped = fit_both(&all, 0);
    for (const char *r = reciters; *r; r++) {
        struct weights others = fit_both(&all, *r);
        struct tally held_out = judged(&all, *r, &others), both = judged(&all, *r, &shipped);
        printf("\n%c, by weights fitted on the others' splices:\n", *r);
        tally_print(&held_out, least_reported);
        printf("\n%c, by weights fitted on all:\n", *r);
        tally_print(&both, least_reported);
        tally_free(&held_out);
        tally_free(&both);
    }
    print_weights(&shipped);
    tally_free(&all);
    return 0;
}
