/*
 * cuts.c – single holds cut or stretched by a known ratio: what the ear, which
 * learns from the changed take alone, measures; how far untouched sites move;
 * how many of the changed ones it tells from untouched ones when 1 % of the
 * untouched ones pass for changed, and what the untouched spread allows at
 * best: were the logs of the untouched ones a normal law of their spread (half
 * of the middle 68 %) about the own hand, and the changed ones the same moved
 * by the log of the ratio, the limit that lets 1 % of the untouched pass lies
 * 2.33 spreads off the middle, and the share of the changed beyond it is the
 * ceiling. A take has either few faults, every tenth of its holds with ghunna and
 * every sixth of the long lengthenings, or many, twice as many of each: the
 * more there are, the more they draw the reciter's own hand to themselves.
 *
 * The changed take may be spoiled before it is listened to (spoil.h). Where to
 * cut and how long a site was is then still known by the take as it was; a site
 * untouched moves by what the condition does to it.
 *
 *   bench-ear-cuts [RECITERS [few|many [FILE [CONDITION [SURA…]]]]]
 *   bench-ear-cuts tables FILE…
 *
 * FILE gets a line a site (-: none). So long a run can be made in pieces: the tables of several
 * such files together.
 */
#include "splice.h"
#include "spoil.h"
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
    const char *condition;
};

/* A site as it should last at the take's pace and as it was heard, for tables_of(); after NULL: it
 * was not found again, and lasts 0 ms. */
static void write_line(FILE *lines, double asked, const struct mst_measured_site *before,
                       const struct mst_measured_site *after, double pace, int changed,
                       double true_ratio, double off, const struct mst_measures *m)
{
    char at[48];
    if (!lines || (group_of(before->length) < 0 && before->length != MST_LENGTH_NATURAL))
        return;
    mst_addr_print(before->at, at);
    fprintf(lines, "%.2f\t%s\t%s\t%d\t%.0f\t%d\t%.3f\t%.3f", asked, at,
            mst_length_id(before->length), changed, before->held_ms * pace,
            after ? after->held_ms : 0, true_ratio, off);
    fprintf(lines, "\t%.2f\t%d\t%d\t%d\n", after ? after->deviation : 0,
            (int)(after ? after->trust : MST_TRUST_NONE), (int)(after ? after->length : 0),
            after ? m->lengths[after->length].trusted : 0);
}

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
    uint64_t noise = *seed; /* so that every condition cuts the same sites */
    size_t heard_n;
    float *heard = spoil(take->condition, &noise, changed, n, &heard_n);
    double pace = (double)heard_n / (double)n; /* a warped take is shorter */
    struct mst_features *g = features_of(heard, heard_n);
    struct mst_measures *after = measures_of(g, take->script, arena);
    for (int32_t i = 0, j = 0; after && i < before->site_count; i++) {
        const struct mst_measured_site *a = &before->sites[i];
        const struct mst_measured_site *b = find_site(after, a, &j);
        int group = group_of(a->length);
        if (!b) {
            out->lost++;
            write_line(lines, ratio, a, NULL, pace, piece_of[i] >= 0, 1, 0, after);
            continue;
        }
        double moved = (double)b->held_ms / (a->held_ms * pace);
        if (piece_of[i] >= 0) {
            values_add(&out->ratio[group], moved / pieces[piece_of[i]].true_ratio * ratio);
            values_add(&out->changed[group], off_own_hand(after, b));
        } else if (group >= 0 || a->length == MST_LENGTH_NATURAL) {
            if (b->trust != MST_TRUST_NONE)
                values_add(&out->moved, moved);
            if (group >= 0)
                values_add(&out->kept[group], off_own_hand(after, b));
        }
        write_line(lines, ratio, a, b, pace, piece_of[i] >= 0,
                   piece_of[i] >= 0 ? pieces[piece_of[i]].true_ratio : 1.0, off_own_hand(after, b),
                   after);
    }
    free(changed);
    free(heard);
    free(pieces);
    free(piece_of);
    mst_features_free(g);
    mst_arena_free(arena);
}

static void one_take(const struct stage *s, char reciter, int sura, const int *every,
                     const char *condition, int draws, uint64_t *seed, struct result out[RATIOS],
                     FILE *lines)
{
    struct recording r;
    if (!recording_load(s, reciter, sura, 0, 0, &r))
        return;
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_script *script = script_of(s, sura, 0, 0);
    struct mst_features *f = features_of(r.samples, r.count);
    struct take take = {&r, script, measures_of(f, script, arena), every, condition};
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
    double recall = (double)hits / (double)(changed->count ? changed->count : 1);
    double ceiling = normal_share(fabs(log(asked)) / sd - 2.33);
    printf("| %s | %zu | %.3f (%.3f–%.3f) | %zu, %.3f | %.1f %% (%.0f–%.0f) | %.0f %% | %.0f %% "
           "|\n",
           name, changed->count, values_at(ratio, 0.5), values_at(ratio, 0.05),
           values_at(ratio, 0.95), kept->count, sd, 100 * recall, 100 * low, 100 * high,
           100 * ceiling, 100 * recall / ceiling);
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
           "%% false alarms (95 %%) | ceiling | reached of it |\n|---|---|---|---|---|---|---|\n");
    for (int g = 0; g < GROUPS; g++)
        print_group(group_names[g], &result->changed[g], &result->kept[g], &result->ratio[g], limit,
                    asked);
    print_group("all", &changed, &kept, &ratio, limit, asked);
    fflush(stdout);
}

/* The lines of a file, as if their sites had been heard just now. */
static void read_lines(const char *path, struct result out[RATIOS])
{
    FILE *lines = fopen(path, "r");
    double asked, true_ratio, off;
    char length[40];
    int changed, before, after, trust;
    if (!lines) {
        fprintf(stderr, "%s cannot be read\n", path);
        exit(1);
    }
    while (fscanf(lines, "%lf\t%*s\t%39s\t%d\t%d\t%d\t%lf\t%lf\t%*f\t%d%*[^\n]", &asked, length,
                  &changed, &before, &after, &true_ratio, &off, &trust) == 8) {
        int k = 0, l = 0;
        while (k < RATIOS - 1 && fabs(ratios[k] - asked) > 0.001)
            k++;
        while (l < MST_LENGTH_COUNT - 1 && strcmp(mst_length_id((enum mst_length)l), length) != 0)
            l++;
        int group = group_of((enum mst_length)l);
        double moved = (double)after / before;
        if (after == 0) {
            out[k].lost++;
            continue;
        }
        if (changed) {
            values_add(&out[k].ratio[group], moved / true_ratio * asked);
            values_add(&out[k].changed[group], off);
            continue;
        }
        if (trust != MST_TRUST_NONE)
            values_add(&out[k].moved, moved);
        if (group >= 0)
            values_add(&out[k].kept[group], off);
    }
    fclose(lines);
}

static int tables_of(int count, char **paths)
{
    struct result result[RATIOS] = {0};
    for (int i = 0; i < count; i++)
        read_lines(paths[i], result);
    for (int k = 0; k < RATIOS; k++)
        print_ratio('-', ratios[k], &result[k]);
    return 0;
}

int main(int argc, char **argv)
{
    static const int suras_a[] = {36, 55, 56, 67, 68, 69, 70, 71, 72,
                                  73, 74, 75, 76, 77, 78, 79, 83, 0};
    static const int suras_b[] = {78, 79, 80, 81, 83, 84, 85, 88, 89, 0};
    struct stage s;
    if (argc > 2 && !strcmp(argv[1], "tables"))
        return tables_of(argc - 2, argv + 2);
    int skipped = stage_open(&s);
    const char *reciters = argc > 1 ? argv[1] : "ab";
    enum density density = argc > 2 && !strcmp(argv[2], "many") ? MANY : FEW;
    FILE *lines = argc > 3 && strcmp(argv[3], "-") != 0 ? fopen(argv[3], "w") : NULL;
    const char *condition = argc > 4 ? argv[4] : "clean";
    int chosen[64] = {0};
    if (skipped)
        return skipped;
    for (int i = 5; i < argc && i < 68; i++)
        chosen[i - 5] = atoi(argv[i]);
    for (const char *r = reciters; *r; r++) {
        struct result result[RATIOS] = {0};
        uint64_t seed[RATIOS] = {11, 12, 13, 14};
        /* where less is there, other places of the same takes are drawn again */
        int draws = (*r == 'a' ? 1 : 2) * (density == FEW ? 2 : 1);
        for (const int *sura = chosen[0] ? chosen : *r == 'a' ? suras_a : suras_b; *sura; sura++)
            one_take(&s, *r, *sura, every_when[density], condition, draws, seed, result, lines);
        for (int k = 0; k < RATIOS; k++)
            print_ratio(*r, ratios[k], &result[k]);
    }
    if (lines)
        fclose(lines);
    stage_close(&s);
    return 0;
}
