/*
 * Classes made up (tests/lesson/know/simulate.h), fitted and told: how long, how
 * much memory, how many weak places come back. Usage: class LEARNERS WEEKS [SEED…]
 */
#include "clock.h"
#include "simulate.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>

static void must(enum mst_status status, const struct mst_error *err)
{
    if (status == MST_OK)
        return;
    fprintf(stderr, "%s\n", err->message);
    exit(1);
}

static double memory_mib(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024;
}

static void told(const char *of, struct found f)
{
    printf("  %-34s precision %.3f, recall %.3f (%d planted, %d told, %d of them planted)\n", of,
           f.precision, f.recall, f.planted, f.told, f.both);
}

static void run(int32_t learners, int32_t weeks, uint64_t seed)
{
    struct mst_arena *arena = mst_arena_new(1 << 20);
    struct simulated s;
    struct mst_know_model *model;
    struct mst_spacing *spacing;
    struct mst_knowledge *known;
    struct mst_class_miss *misses;
    size_t miss_count;
    struct mst_error err = {0};
    simulate(seed, learners, weeks, arena, &s);
    double made = memory_mib(), start = used_ms() / 1000;
    must(mst_know_fit(&s.evidence, NULL, arena, &model, &err), &err);
    double fitted = used_ms() / 1000;
    must(mst_spacing_fit(&s.evidence, arena, &spacing, &err), &err);
    double spaced = used_ms() / 1000;
    must(mst_know_now(model, &s.evidence, spacing, s.end_ms, arena, &known, &err), &err);
    double now = used_ms() / 1000;
    must(mst_know_class(known, arena, &misses, &miss_count, &err), &err);
    double end = used_ms() / 1000;
    printf("seed %llu: %d learners, %d weeks, %d skills, %zu places; the ear's sign wrong in %.1f "
           "%%\n",
           (unsigned long long)seed, (int)learners, (int)weeks, (int)s.evidence.skill_count,
           s.evidence.count, 100 * s.heard_wrong);
    printf("  fit %.2f s (%d rounds%s), spacing %.2f s, all told %.2f s, class %.3f s; "
           "%.0f MiB at most, %.0f before\n",
           fitted - start, model->rounds, model->settled ? "" : ", stopped", spaced - fitted,
           now - spaced, end - now, memory_mib(), made);
    told("weak places planted:", simulate_found(&s, known, 1));
    told("  by counting signs:", simulate_found_counting(&s, 1));
    told("chance below one half:", simulate_found(&s, known, 0));
    told("  by counting signs:", simulate_found_counting(&s, 0));
    struct scored a = simulate_score(&s, known, 0.6), b = simulate_score_counting(&s);
    printf("  the week after, %zu places: Brier %.4f, ECE %.4f, foretold %.3f, came %.3f; "
           "counting: %.4f, %.4f\n",
           a.count, a.brier, a.ece, a.mean, a.truth, b.brier, b.ece);
    printf("  spread %.2f, spacing error %.4f over %d\n", model->aptitude_spread, spacing->error,
           spacing->fitted_to);
    if (getenv("KNOW_VERBOSE"))
        for (int32_t k = 0; k < model->skill_count; k++)
            printf("    %2d start %.2f learn %.3f forget %.4f guess %.2f slip %.2f heard %d\n",
                   (int)k, model->of[k].start, model->of[k].learn, model->of[k].forget_per_day,
                   model->of[k].guess, model->of[k].slip, (int)model->of[k].heard);
    mst_arena_free(arena);
}

int main(int argc, char **argv)
{
    int32_t learners = argc > 1 ? atoi(argv[1]) : 30, weeks = argc > 2 ? atoi(argv[2]) : 12;
    if (argc < 4)
        run(learners, weeks, 1);
    for (int n = 3; n < argc; n++)
        run(learners, weeks, strtoull(argv[n], NULL, 10));
    return 0;
}
