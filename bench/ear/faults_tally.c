#include "faults_tally.h"

#include "stage.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void tally_add(struct tally *t, struct tallied one)
{
    if (t->count == t->cap) {
        t->cap = t->cap ? t->cap * 2 : 1024;
        t->list = realloc(t->list, t->cap * sizeof *t->list);
        if (!t->list)
            abort();
    }
    t->list[t->count++] = one;
}

void tally_free(struct tally *t)
{
    free(t->list);
    memset(t, 0, sizeof *t);
}

/* The faults, the sham splices, the untouched ones of a kind, COUNT: of all. */
static void take_apart(const struct tally *t, int kind, struct values *there, struct values *sham,
                       struct values *untouched, size_t *cannot)
{
    *cannot = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct tallied *x = &t->list[i];
        if (kind != MST_CONTRAST_COUNT && (int)x->contrast != kind)
            continue;
        if (x->cannot_tell) {
            *cannot += (size_t)x->spliced;
            continue;
        }
        values_add(!x->spliced ? untouched : x->there ? there : sham, x->distance);
    }
}

static double area(const struct values *there, const struct values *sham)
{
    double right = 0;
    for (size_t i = 0; i < there->count; i++)
        for (size_t k = 0; k < sham->count; k++)
            right += there->v[i] > sham->v[k] ? 1 : there->v[i] == sham->v[k] ? 0.5 : 0;
    return right / ((double)there->count * (double)sham->count);
}

static double calibration_error(const struct tally *t, int kind)
{
    enum { BINS = 10 };
    double said[BINS] = {0}, was[BINS] = {0}, n[BINS] = {0}, all = 0, error = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct tallied *x = &t->list[i];
        if (!x->spliced || x->cannot_tell ||
            (kind != MST_CONTRAST_COUNT && (int)x->contrast != kind))
            continue;
        int bin = (int)fmin(x->sureness * BINS, BINS - 1);
        said[bin] += x->sureness;
        was[bin] += x->there;
        n[bin]++;
        all++;
    }
    for (int b = 0; b < BINS; b++)
        error += fabs(said[b] - was[b]) / fmax(all, 1);
    return error;
}

static double reported(const struct tally *t, int kind, double least)
{
    double hits = 0, all = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct tallied *x = &t->list[i];
        if (!x->spliced || !x->there || (kind != MST_CONTRAST_COUNT && (int)x->contrast != kind))
            continue;
        hits += !x->cannot_tell && x->sureness >= least;
        all++;
    }
    return all > 0 ? hits / all : 0;
}

/* Untouched sounds of which something is reported, in 100; they lie one behind another. */
static double false_per_100(const struct tally *t, double least, size_t *sounds)
{
    size_t found = 0;
    *sounds = 0;
    for (size_t i = 0, end; i < t->count; i = end) {
        int any = 0;
        for (end = i;
             end < t->count && t->list[end].sound == t->list[i].sound &&
             t->list[end].sura == t->list[i].sura && t->list[end].spliced == t->list[i].spliced;
             end++)
            any |= !t->list[end].cannot_tell && t->list[end].sureness >= least;
        if (t->list[i].spliced)
            continue;
        found += (size_t)any;
        ++*sounds;
    }
    return *sounds ? 100 * (double)found / (double)*sounds : 0;
}

void tally_print(const struct tally *t, double least)
{
    size_t sounds;
    double false_share = false_per_100(t, least, &sounds);
    printf("\n| contrast | faults | sham | area | recall at 2 %% of untouched | calibration error "
           "| reported by default | cannot be told |\n|---|---|---|---|---|---|---|---|\n");
    for (int kind = 0; kind <= MST_CONTRAST_COUNT; kind++) {
        struct values there = {0}, sham = {0}, untouched = {0};
        size_t cannot, hits = 0;
        take_apart(t, kind, &there, &sham, &untouched, &cannot);
        double limit = values_at(&untouched, 0.98);
        for (size_t i = 0; i < there.count; i++)
            hits += there.v[i] > limit;
        printf("| %s | %zu | %zu | %.3f | %.0f %% | %.3f | %.0f %% | %zu |\n",
               kind < MST_CONTRAST_COUNT ? mst_contrast_id((enum mst_contrast)kind) : "all",
               there.count, sham.count, area(&there, &sham),
               100 * (double)hits / fmax((double)there.count, 1), calibration_error(t, kind),
               100 * reported(t, kind, least), cannot);
        values_free(&there);
        values_free(&sham);
        values_free(&untouched);
    }
    printf("\nuntouched: %.2f of 100 sounds are reported (%zu sounds, sureness from %.3f)\n",
           false_share, sounds, least);
}
