/*
 * cuts.c – single holds cut or stretched by a known ratio: what the ear, which
 * learns from the changed take alone, measures; how far untouched sites move;
 * how many of the changed ones it tells from untouched ones at 1 % false
 * alarms, and what the untouched spread allows at best.
 */
#include "splice.h"
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum group { NASAL, JOINED, PARTED, GROUPS };
static const char *const group_names[GROUPS] = {"held with ghunna", "muttaṣil and lāzim",
                                                "munfaṣil"};

struct result {
    struct values ratio[GROUPS];                 /* measured against the true ratio × asked */
    struct values changed[GROUPS], kept[GROUPS]; /* log of held / expected by the own hand */
    struct values moved;                         /* untouched: length after / before */
    size_t lost;                                 /* sites not found again */
};

static int group_of(enum mst_length length)
{
    if (is_nasal_hold(length))
        return NASAL;
    if (length == MST_LENGTH_MUTTASIL || length == MST_LENGTH_LAZIM)
        return JOINED;
    return length == MST_LENGTH_MUNFASIL ? PARTED : -1;
}

static struct mst_measures *measures_of(const struct mst_features *f,
                                        const struct mst_script *script, struct mst_arena *arena)
{
    struct mst_timeline *tl;
    struct mst_measures *m;
    struct mst_error err;
    struct mst_listen_options o = {.skip_fit_test = 1};
    if (mst_listen(f, script, &o, arena, &tl, NULL, &err) ||
        mst_measure(tl, NULL, arena, &m, &err)) {
        fprintf(stderr, "%s\n", err.message);
        return NULL;
    }
    return m;
}

static double off_own_hand(const struct mst_measures *m, const struct mst_measured_site *s)
{
    /* a sound that was not measured is no mistake */
    if (s->trust == MST_TRUST_NONE)
        return 0;
    return log(s->held_ms / m->lengths[s->length].own_expected_ms);
}

static void one_take(const struct stage *s, char reciter, int sura, double ratio, uint64_t *seed,
                     struct result *out)
{
    struct recording r;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *script = script_of(s, sura, 0, 0);
    struct mst_features *f = features_of(r.samples, r.count);
    struct mst_measures *before = measures_of(f, script, arena);
    struct piece *pieces = calloc((size_t)(before ? before->site_count : 0) + 1, sizeof *pieces);
    int *piece_of = calloc((size_t)(before ? before->site_count : 0) + 1, sizeof *piece_of);
    size_t count = 0, n;
    for (int32_t i = 0; before && i < before->site_count; i++) {
        const struct mst_measured_site *site = &before->sites[i];
        int group = group_of(site->length);
        piece_of[i] = -1;
        if (group < 0 || site->trust == MST_TRUST_NONE ||
            chance(seed) > (group == NASAL ? 0.25 : 0.4))
            continue;
        piece_of[i] = (int)count;
        pieces[count++] = (struct piece){site->start_ms, site->end_ms, ratio, 1};
    }
    float *changed = splice(r.samples, r.count, pieces, count, &n);
    struct mst_features *g = features_of(changed, n);
    struct mst_measures *after = before ? measures_of(g, script, arena) : NULL;
    for (int32_t i = 0, j = 0; after && i < before->site_count; i++) {
        const struct mst_measured_site *a = &before->sites[i];
        int32_t from = j;
        while (j < after->site_count && after->sites[j].site_idx != a->site_idx)
            j++;
        if (j == after->site_count) {
            j = from;
            out->lost++;
            continue;
        }
        const struct mst_measured_site *b = &after->sites[j];
        int group = group_of(a->length);
        double moved = (double)b->held_ms / a->held_ms;
        if (piece_of[i] >= 0) {
            values_add(&out->ratio[group], moved / pieces[piece_of[i]].true_ratio * ratio);
            values_add(&out->changed[group], off_own_hand(after, b));
        } else if (group >= 0 || a->length == MST_LENGTH_NATURAL) {
            if (b->trust != MST_TRUST_NONE)
                values_add(&out->moved, moved);
            if (group >= 0)
                values_add(&out->kept[group], off_own_hand(after, b));
        }
    }
    free(changed);
    free(pieces);
    free(piece_of);
    mst_features_free(f);
    mst_features_free(g);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

static double normal_share(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

/* Recall at 1 % false alarms, and the ceiling by the untouched spread: a shift of log ratio
 * against a normal law of that spread. */
static void print_group(const char *name, const struct values *changed, struct values *kept,
                        struct values *ratio, double asked)
{
    double sign = asked < 1 ? 1 : -1, low, high;
    size_t hits = 0;
    double limit = sign > 0 ? values_at(kept, 0.01) : values_at(kept, 0.99);
    for (size_t i = 0; i < changed->count; i++)
        hits += sign * changed->v[i] < sign * limit;
    /* robust spread: half of the middle 68 % */
    double sd = (values_at(kept, 0.84) - values_at(kept, 0.16)) / 2;
    share_interval(hits, changed->count, &low, &high);
    printf("| %s | %zu | %.3f (%.3f–%.3f) | %zu, %.2f | %.1f %% (%.0f–%.0f) | %.0f %% |\n", name,
           changed->count, ratio ? values_at(ratio, 0.5) : NAN,
           ratio ? values_at(ratio, 0.05) : NAN, ratio ? values_at(ratio, 0.95) : NAN, kept->count,
           sd, 100 * (double)hits / (double)(changed->count ? changed->count : 1), 100 * low,
           100 * high, 100 * normal_share(fabs(log(asked)) / sd - 2.33));
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {67, 68, 69, 70, 71, 72, 73, 74, 75, 76, 77, 78, 79, 83, 0};
    static const int suras_b[] = {78, 79, 80, 81, 83, 84, 85, 88, 89, 0};
    static const double ratios[] = {0.45, 0.60, 0.75, 1.4};
    struct stage s;
    int skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    if (skipped)
        return skipped;
    for (const char *r = reciters; *r; r++)
        for (int k = 0; k < 4; k++) {
            struct result result = {0};
            struct values changed = {0}, kept = {0};
            uint64_t seed = 11;
            for (const int *sura = *r == 'a' ? suras_a : suras_b; *sura; sura++)
                one_take(&s, *r, *sura, ratios[k], &seed, &result);
            printf("\n%c, ratio %.2f: untouched sites moved to %.3f (5–95 %%: %.3f–%.3f; %zu), "
                   "not found again %zu\n\n",
                   *r, ratios[k], values_at(&result.moved, 0.5), values_at(&result.moved, 0.05),
                   values_at(&result.moved, 0.95), result.moved.count, result.lost);
            printf("| sites | changed | measured ratio (5–95 %%) | untouched, spread of log | "
                   "recall at 1 %% false alarms (95 %%) | ceiling |\n|---|---|---|---|---|---|\n");
            for (int g = 0; g < GROUPS; g++) {
                print_group(group_names[g], &result.changed[g], &result.kept[g], &result.ratio[g],
                            ratios[k]);
                for (size_t i = 0; i < result.changed[g].count; i++)
                    values_add(&changed, result.changed[g].v[i]);
                for (size_t i = 0; i < result.kept[g].count; i++)
                    values_add(&kept, result.kept[g].v[i]);
            }
            print_group("all", &changed, &kept, NULL, ratios[k]);
            fflush(stdout);
        }
    stage_close(&s);
    return 0;
}
