#include "faults_tally.h"

#include "faults_families.h"
#include "stage.h"
#include <math.h>
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

void tally_write(FILE *out, const struct tallied *x, struct mst_addr at)
{
    char address[48];
    fprintf(out, "%c\t%s\t%c\t%d\t%d\t%s\t%s\t%s\t%d\t%.2f\t%.0f\t%.6f\t%d\t%.4f\t%.4f\t%.4f\n",
            x->spliced ? 'S' : 'U', x->condition, x->reciter, x->sura, x->sound,
            mst_addr_print(at, address), x->fault, mst_contrast_id(x->contrast), x->there,
            x->evidence, x->frames, x->sureness, x->cannot_tell, x->distance, x->own, x->apart);
}

int tally_read(struct tally *t, const char *path)
{
    FILE *in = fopen(path, "r");
    char line[400];
    if (!in)
        return 0;
    while (fgets(line, sizeof line, in)) {
        struct tallied x = {.reciter = 0};
        char what, contrast[TALLY_ID];
        int kind = 0;
        if (sscanf(line, "%c %31s %c %d %d %*s %31s %31s %d %lf %lf %lf %d %lf %lf %lf", &what,
                   x.condition, &x.reciter, &x.sura, &x.sound, x.fault, contrast, &x.there,
                   &x.evidence, &x.frames, &x.sureness, &x.cannot_tell, &x.distance, &x.own,
                   &x.apart) != 15) {
            fprintf(stderr, "%s: not a line of splices: %s", path, line);
            exit(1);
        }
        x.spliced = what == 'S';
        while (kind < MST_CONTRAST_COUNT &&
               strcmp(contrast, mst_contrast_id((enum mst_contrast)kind)) != 0)
            kind++;
        x.contrast = (enum mst_contrast)kind;
        if (kind < MST_CONTRAST_COUNT)
            tally_add(t, x);
    }
    fclose(in);
    return 1;
}

/* Which lines a row of a table is about: of a contrast (COUNT: of all), of a family (-1: of all),
 * of a fault (NULL: of all). */
struct group {
    int contrast, family;
    const char *fault;
};

static int belongs(const struct group *g, const struct tallied *x)
{
    return (g->contrast == MST_CONTRAST_COUNT || (int)x->contrast == g->contrast) &&
           (g->family < 0 || family_of(x->fault) == g->family) &&
           (!g->fault || strcmp(g->fault, x->fault) == 0);
}

static double area(const struct values *there, const struct values *sham)
{
    double right = 0;
    for (size_t i = 0; i < there->count; i++)
        for (size_t k = 0; k < sham->count; k++)
            right += there->v[i] > sham->v[k] ? 1 : there->v[i] == sham->v[k] ? 0.5 : 0;
    return right / ((double)there->count * (double)sham->count);
}

static double calibration_error(const struct tally *t, const struct group *g)
{
    enum { BINS = 10 };
    double said[BINS] = {0}, was[BINS] = {0}, all = 0, error = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct tallied *x = &t->list[i];
        if (!x->spliced || x->cannot_tell || !belongs(g, x))
            continue;
        int bin = (int)fmin(x->sureness * BINS, BINS - 1);
        said[bin] += x->sureness;
        was[bin] += x->there;
        all++;
    }
    for (int b = 0; b < BINS; b++)
        error += fabs(said[b] - was[b]) / fmax(all, 1);
    return error;
}

static double share_above(const struct values *v, double limit)
{
    size_t hits = 0;
    for (size_t i = 0; i < v->count; i++)
        hits += v->v[i] > limit;
    return v->count ? 100 * (double)hits / (double)v->count : NAN;
}

static void print_row(const struct tally *t, const char *name, const struct group *g, double least)
{
    struct values there = {0}, sham = {0}, untouched = {0};
    size_t cannot = 0, untold = 0, made = 0, reported = 0;
    for (size_t i = 0; i < t->count; i++) {
        const struct tallied *x = &t->list[i];
        if (!belongs(g, x))
            continue;
        made += x->spliced && x->there;
        cannot += x->spliced && x->cannot_tell;
        untold += x->spliced && !x->cannot_tell && x->untold;
        if (x->cannot_tell)
            continue;
        reported += x->spliced && x->there && !x->untold && x->sureness >= least;
        values_add(!x->spliced ? &untouched : x->there ? &there : &sham, x->sureness);
    }
    if (made > 0)
        printf("| %s | %zu | %zu | %.3f | %.0f %% | %.0f %% | %.3f | %.0f %% | %zu | %zu |\n", name,
               there.count, sham.count, area(&there, &sham),
               share_above(&there, values_at(&untouched, 0.98)),
               share_above(&there, values_at(&sham, 0.98)), calibration_error(t, g),
               100 * (double)reported / (double)made, cannot, untold);
    values_free(&there);
    values_free(&sham);
    values_free(&untouched);
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
            any |=
                !t->list[end].cannot_tell && !t->list[end].untold && t->list[end].sureness >= least;
        if (t->list[i].spliced)
            continue;
        found += (size_t)any;
        ++*sounds;
    }
    return *sounds ? 100 * (double)found / (double)*sounds : 0;
}

void tally_print(const struct tally *t, double least)
{
    size_t sounds, faults = 0;
    const char *seen[128];
    printf("\n| what | faults | sham | area | recall at 2 %% of untouched | at 2 %% of sham | "
           "calibration error | reported | cannot be told | told: no |\n"
           "|---|---|---|---|---|---|---|---|---|---|\n");
    for (int kind = 0; kind <= MST_CONTRAST_COUNT; kind++) {
        struct group g = {kind, -1, NULL};
        print_row(t, kind < MST_CONTRAST_COUNT ? mst_contrast_id((enum mst_contrast)kind) : "all",
                  &g, least);
    }
    for (int family = 0; family < FAMILY_COUNT; family++) {
        struct group g = {MST_CONTRAST_COUNT, family, NULL};
        print_row(t, family_name(family), &g, least);
    }
    for (size_t i = 0; i < t->count && getenv("BENCH_EVERY_FAULT"); i++) {
        const struct tallied *x = &t->list[i];
        size_t k = 0;
        while (k < faults && strcmp(seen[k], x->fault) != 0)
            k++;
        if (k < faults || !x->spliced || faults == sizeof seen / sizeof seen[0])
            continue;
        seen[faults++] = x->fault;
        struct group g = {MST_CONTRAST_COUNT, -1, x->fault};
        print_row(t, x->fault, &g, least);
    }
    double share = false_per_100(t, least, &sounds);
    if (sounds > 0)
        printf("\nuntouched: %.2f of 100 sounds are reported (%zu sounds, sureness from %.3f)\n",
               share, sounds, least);
}
