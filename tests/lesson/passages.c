/* Passages: the counts shown are those of a fresh reading, and every bound asked is kept. */
#include "group.h"

#include <math.h>
#include <string.h>

static size_t find(const char *rules, const char *untaught, const char *where,
                   struct mst_passage_query query, struct mst_passage **found)
{
    struct mst_error err = {0};
    size_t count;
    query.rules = rules_of(rules);
    if (untaught)
        query.untaught = rules_of(untaught);
    scope_of(text, where, arena, &query.scope);
    succeed(mst_find_passages(text, &query, arena, found, &count, &err), &err);
    return count;
}

static void assert_counts(const struct mst_passage *p, const char *rules, const char *untaught)
{
    struct mst_reading_options options = {.no_basmala = 1};
    struct mst_reading *r;
    struct mst_error err = {0};
    int32_t sites = 0, not_yet = 0, counts = 0, stops = 0;
    succeed(mst_reading_new(text, p->range, &options, arena, &r, &err), &err);
    for (int32_t n = 0; n < r->site_count; n++) {
        sites += mst_rule_set_has(rules_of(rules), r->sites[n].rule);
        not_yet += untaught && mst_rule_set_has(rules_of(untaught), r->sites[n].rule);
    }
    for (int32_t n = 0; n < r->sound_count; n++)
        counts += r->sounds[n].counts;
    for (int32_t w = 0; w < r->word_count; w++)
        stops += r->words[w].seam == MST_SEAM_STOP;
    assert_int_equal(p->words, r->word_count);
    assert_int_equal(p->sites, sites);
    assert_int_equal(p->untaught_sites, not_yet);
    assert_int_equal(p->counts, counts);
    assert_true(fabs(p->seconds - (counts / 2.5 + stops)) < 1e-6);
}

static void counts_are_those_of_a_fresh_reading(void **state)
{
    (void)state;
    struct mst_passage *p;
    size_t count = find("ikhfa", "madd_muttasil,iqlab", "67-80",
                        (struct mst_passage_query){.untaught_percent = -1}, &p);
    assert_int_equal(count, 10);
    for (size_t n = 0; n < count; n++) {
        assert_counts(&p[n], "ikhfa", "madd_muttasil,iqlab");
        assert_true(p[n].words >= 40 && p[n].words <= 100);
        assert_true(n == 0 || p[n].score <= p[n - 1].score);
    }
}

static void bounds_are_kept(void **state)
{
    (void)state;
    struct mst_passage *p;
    size_t count = find("qalqala", "ikhfa", "juz 30",
                        (struct mst_passage_query){.untaught_percent = 5,
                                                   .seconds_min = 30,
                                                   .seconds_max = 60,
                                                   .lines_max = 5,
                                                   .limit = 25},
                        &p);
    assert_true(count > 5 && count <= 25);
    for (size_t n = 0; n < count; n++) {
        assert_true(p[n].seconds >= 30 && p[n].seconds <= 60 && p[n].lines <= 5);
        assert_true(p[n].untaught_words * 100 <= 5 * p[n].words);
        assert_true(p[n].range.first.sura == p[n].range.last.sura ||
                    (p[n].begins == MST_EDGE_SURA && p[n].ends == MST_EDGE_SURA));
    }
    count = find("qalqala", "ikhfa", "juz 30",
                 (struct mst_passage_query){.untaught_percent = 0, .limit = 3}, &p);
    for (size_t n = 0; n < count; n++)
        assert_int_equal(p[n].untaught_sites, 0);
}

/* The best passage of a small range, by trying every one. */
static void best_by_exhaustive_search(void **state)
{
    (void)state;
    struct mst_passage *p;
    double best = 0;
    assert_true(find("ikhfa", NULL, "78",
                     (struct mst_passage_query){
                         .untaught_percent = -1, .words_min = 20, .words_max = 60, .limit = 1},
                     &p) == 1);
    for (int32_t a = 1; a <= 40; a++)
        for (int32_t b = a; b <= 40; b++) {
            struct mst_reading_options options = {.no_basmala = 1};
            struct mst_range range = {{78, a, 0, 0}, {78, b, 0, 0}};
            struct mst_arena *own = mst_arena_new(0);
            struct mst_reading *r;
            struct mst_error err = {0};
            succeed(mst_reading_new(text, range, &options, own, &r, &err), &err);
            int sites = 0;
            for (int32_t n = 0; n < r->site_count; n++)
                sites += r->sites[n].rule == MST_RULE_IKHFA;
            struct mst_place before = mst_text_place(text, 78, a > 1 ? a - 1 : 1),
                             first = mst_text_place(text, 78, a),
                             last = mst_text_place(text, 78, b),
                             after = mst_text_place(text, 78, b < 40 ? b + 1 : 40);
            double score = 100.0 * sites / r->word_count;
            score *= a == 1                                                                   ? 1.3
                     : before.ruku != first.ruku || before.hizb_quarter != first.hizb_quarter ? 1.25
                                                                                              : 1.0;
            score *= b == 40                                                              ? 1.3
                     : after.ruku != last.ruku || after.hizb_quarter != last.hizb_quarter ? 1.25
                                                                                          : 1.0;
            if (r->word_count >= 20 && r->word_count <= 60 && score > best)
                best = score;
            mst_arena_free(own);
        }
    assert_true(fabs(p[0].score - best) < 1e-9);
}

static void refusals(void **state)
{
    (void)state;
    struct mst_passage *p;
    size_t count;
    struct mst_error err = {0};
    struct mst_passage_query query = {.untaught_percent = -1};
    assert_int_equal(mst_find_passages(text, &query, arena, &p, &count, &err), MST_USAGE);
    query.rules = rules_of("ikhfa");
    query.words_min = 50;
    query.words_max = 20;
    assert_int_equal(mst_find_passages(text, &query, arena, &p, &count, &err), MST_USAGE);
    query.words_min = 0;
    query.pace_counts_per_s = NAN;
    assert_int_equal(mst_find_passages(text, &query, arena, &p, &count, &err), MST_USAGE);
    query.pace_counts_per_s = 0;
    query.untaught_percent = 101;
    assert_int_equal(mst_find_passages(text, &query, arena, &p, &count, &err), MST_USAGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_are_those_of_a_fresh_reading),
        cmocka_unit_test(bounds_are_kept),
        cmocka_unit_test(best_by_exhaustive_search),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
