/*
 * cuts.c – single holds cut or stretched by a known ratio: what the ear, which
 * learns from the changed take alone, measures; how far untouched sites move;
 * how many of the changed ones it tells from untouched ones when 1 % of the
 * untouched ones pass for changed, and what the untouched spread allows at
 * best. A take has either few faults, every tenth of its holds with ghunna and
 * every sixth of the long lengthenings, or many, twice as many of each: the
 * more there are, the more they draw the reciter's own hand to themselves.
 *
 *   bench-ear-cuts [RECITERS [few|many [FILE]]]   FILE gets a line a site
 */
#include "splice.h"
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum group { NASAL, JOINED, PARTED, GROUPS };
static const char *const group_names[GROUPS] = {"held with ghunna", "muttaṣil and lāzim",
                                                "munfaṣil"};
enum { RATIOS = 4 };
static const double ratios[RATIOS] = {0.45, 0.60, 0.75, 1.4};
/* Of how many sites of a group one is changed. */
static const int every_when[][GROUPS] = {{10, 6, 6}, {5, 3, 3}};
enum density { FEW, MANY };

struct result {
    struct values ratio[GROUPS];                 /* measured against the true ratio × asked */
    struct values changed[GROUPS], kept[GROUPS]; /* log of held / expected by the own hand */
    struct values moved;                         /* untouched: length after / before */
    size_t lost;                                 /* sites not found again */
};

static int group_of(enum mst_length length)
{
    switch (length) {
    case MST_LENGTH_MUTTASIL:
    case MST_LENGTH_MUTTASIL_STOP:
    case MST_LENGTH_LAZIM:
        return JOINED;
    case MST_LENGTH_MUNFASIL:
        return PARTED;
    default:
        return is_nasal_hold(length) ? NASAL : -1;
    }
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

/* By how much a site lies off the reciter's own hand, in logs; one that was not measured tells
 * nothing. */
static double off_own_hand(const struct mst_measures *m, const struct mst_measured_site *s)
{
    if (s->trust == MST_TRUST_NONE)
        return 0;
    return log(s->held_ms / m->lengths[s->length].own_expected_ms);
}

/* The same site in another take's measures, from *from on; NULL when it is not there. */
static const struct mst_measured_site *find_site(const struct mst_measures *m,
                                                 const struct mst_measured_site *wanted,
                                                 int32_t *from)
{
    for (int32_t j = *from; j < m->site_count; j++)
        if (mst_addr_compare(m->sites[j].at, wanted->at) == 0 && m->sites[j].rule == wanted->rule) {
            *from = j + 1;
            return &m->sites[j];
        }
    return NULL;
}

struct take {
    const struct recording *recording;
    const struct mst_script *script;
    const struct mst_measures *before;
    const int *every; /* one of so many sites is changed, by group */
};

static void one_ratio(const struct take *take, double ratio, uint64_t *seed, struct result *out,
                      FILE *lines)
{
    const struct mst_measures *before = take->before;
    const struct recording *r = take->recording;
    struct mst_arena *arena = mst_arena_new(0);
    struct piece *pieces = calloc((size_t)before->site_count + 1, sizeof *pieces);
    int *piece_of = calloc((size_t)before->site_count + 1, sizeof *piece_of);
    size_t count = 0, n;
    int next[GROUPS]; /* sites to pass over before the next is changed */
    for (int g = 0; g < GROUPS; g++)
        next[g] = (int)(chance(seed) * take->every[g]);
    for (int32_t i = 0; i < before->site_count; i++) {
        const struct mst_measured_site *site = &before->sites[i];
        piece_of[i] = -1;
        int group = group_of(site->length);
        if (group < 0 || site->trust == MST_TRUST_NONE || next[group]-- > 0)
            continue;
        next[group] = take->every[group] - 1;
        piece_of[i] = (int)count;
        pieces[count++] = (struct piece){site->start_ms, site->end_ms, ratio, 1};
    }
    float *changed = splice(r->samples, r->count, pieces, count, &n);
    struct mst_features *g = features_of(changed, n);
    struct mst_measures *after = measures_of(g, take->script, arena);
    for (int32_t i = 0, j = 0; after && i < before->site_count; i++) {
        const struct mst_measured_site *a = &before->sites[i];
        const struct mst_measured_site *b = find_site(after, a, &j);
        int group = group_of(a->length);
        if (!b) {
            out->lost++;
            continue;
        }
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
        if (lines && group >= 0) {
            char at[48];
            mst_addr_print(a->at, at);
            fprintf(lines, "%.2f\t%s\t%s\t%d\t%d\t%d\t%.3f\t%.3f\t%.2f\t%d\t%d\t%d\n", ratio, at,
                    mst_length_id(a->length), piece_of[i] >= 0, a->held_ms, b->held_ms,
                    piece_of[i] >= 0 ? pieces[piece_of[i]].true_ratio : 1.0, off_own_hand(after, b),
                    b->deviation, (int)b->trust, (int)b->length, after->lengths[b->length].trusted);
        }
    }
    free(changed);
    free(pieces);
    free(piece_of);
    mst_features_free(g);
    mst_arena_free(arena);
}

static void one_take(const struct stage *s, char reciter, int sura, const int *every, int draws,
                     uint64_t *seed, struct result out[RATIOS], FILE *lines)
{
    struct recording r;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *script = script_of(s, sura, 0, 0);
    struct mst_features *f = features_of(r.samples, r.count);
    struct take take = {&r, script, measures_of(f, script, arena), every};
    for (int k = 0; take.before && k < RATIOS * draws; k++)
        one_ratio(&take, ratios[k % RATIOS], &seed[k % RATIOS], &out[k % RATIOS], lines);
    if (lines)
        fflush(lines);
    mst_features_free(f);
    mst_script_free(script);
    mst_arena_free(arena);
    recording_free(&r);
}

static double normal_share(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

static void add_all(const struct values *from, struct values *to)
{
    for (size_t i = 0; i < from->count; i++)
        values_add(to, from->v[i]);
}

/* Recall at the limit, and the ceiling by the untouched spread: a shift of log ratio against a
 * normal law of that spread. */
static void print_group(const char *name, const struct values *changed, struct values *kept,
                        struct values *ratio, double limit, double asked)
{
    double sign = asked < 1 ? 1 : -1, low, high;
    size_t hits = 0;
    for (size_t i = 0; i < changed->count; i++)
        hits += sign * changed->v[i] < sign * limit;
    /* robust spread: half of the middle 68 % */
    double sd = (values_at(kept, 0.84) - values_at(kept, 0.16)) / 2;
    share_interval(hits, changed->count, &low, &high);
    printf("| %s | %zu | %.3f (%.3f–%.3f) | %zu, %.2f | %.1f %% (%.0f–%.0f) | %.0f %% |\n", name,
           changed->count, values_at(ratio, 0.5), values_at(ratio, 0.05), values_at(ratio, 0.95),
           kept->count, sd, 100 * (double)hits / (double)(changed->count ? changed->count : 1),
           100 * low, 100 * high, 100 * normal_share(fabs(log(asked)) / sd - 2.33));
}

static void print_ratio(char reciter, double asked, struct result *result)
{
    struct values changed = {0}, kept = {0}, ratio = {0};
    for (int g = 0; g < GROUPS; g++) {
        add_all(&result->changed[g], &changed);
        add_all(&result->kept[g], &kept);
        add_all(&result->ratio[g], &ratio);
    }
    double limit = asked < 1 ? values_at(&kept, 0.01) : values_at(&kept, 0.99);
    printf("\n%c, ratio %.2f: untouched sites moved to %.3f (5–95 %%: %.3f–%.3f; %zu), not found "
           "again %zu; limit %.2f\n\n",
           reciter, asked, values_at(&result->moved, 0.5), values_at(&result->moved, 0.05),
           values_at(&result->moved, 0.95), result->moved.count, result->lost, exp(limit));
    printf("| sites | changed | measured ratio (5–95 %%) | untouched, spread of log | recall at 1 "
           "%% false alarms (95 %%) | ceiling |\n|---|---|---|---|---|---|\n");
    for (int g = 0; g < GROUPS; g++)
        print_group(group_names[g], &result->changed[g], &result->kept[g], &result->ratio[g], limit,
                    asked);
    print_group("all", &changed, &kept, &ratio, limit, asked);
    fflush(stdout);
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {67, 68, 69, 70, 71, 72, 73, 74, 75, 76, 77, 78, 79, 83, 0};
    static const int suras_b[] = {78, 79, 80, 81, 83, 84, 85, 88, 89, 0};
    struct stage s;
    int skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    enum density density = argc > 2 && !strcmp(argv[2], "many") ? MANY : FEW;
    FILE *lines = argc > 3 ? fopen(argv[3], "w") : NULL;
    if (skipped)
        return skipped;
    for (const char *r = reciters; *r; r++) {
        struct result result[RATIOS] = {0};
        uint64_t seed[RATIOS] = {11, 12, 13, 14};
        /* where less is there, other places of the same takes are drawn again */
        int draws = (*r == 'a' ? 1 : 2) * (density == FEW ? 2 : 1);
        for (const int *sura = *r == 'a' ? suras_a : suras_b; *sura; sura++)
            one_take(&s, *r, *sura, every_when[density], draws, seed, result, lines);
        for (int k = 0; k < RATIOS; k++)
            print_ratio(*r, ratios[k], &result[k]);
    }
    if (lines)
        fclose(lines);
    stage_close(&s);
    return 0;
}
