/*
 * Examples: each holds its rule by a fresh reading, none holds an untaught one,
 * each is as long and cut as asked, and the filters filter.
 */
#include "group.h"

#include <string.h>

static struct mst_examples find(const char *rules, const char *untaught, const char *where,
                                struct mst_example_query query)
{
    struct mst_examples found;
    struct mst_error err = {0};
    query.rules = rules_of(rules);
    if (untaught)
        query.untaught = rules_of(untaught);
    scope_of(text, where, arena, &query.scope);
    succeed(mst_find_examples(text, &query, arena, &found, &err), &err);
    return found;
}

static int32_t total(const struct mst_examples *found)
{
    int32_t count = 0;
    for (int32_t g = 0; g < found->group_count; g++)
        count += found->groups[g].count;
    return count;
}

/* Read anew, begun at the first word and stopped at the last: the site is there, the others are
 * not. Returns the site as read. */
static struct mst_site fresh(const struct mst_example *e, struct mst_rule_set untaught)
{
    struct mst_reading_options options = {.stops = MST_STOPS_NONE, .no_basmala = 1};
    struct mst_arena *own = mst_arena_new(0);
    struct mst_reading *r;
    struct mst_error err = {0};
    struct mst_site wanted = e->reading->sites[e->site];
    struct mst_addr trigger = mst_letter_addr(e->reading, wanted.trigger);
    int found = 0;
    succeed(mst_reading_new(text, e->range, &options, own, &r, &err), &err);
    for (int32_t n = 0; n < r->site_count; n++) {
        assert_false(mst_rule_set_has(untaught, r->sites[n].rule));
        found += r->sites[n].rule == wanted.rule &&
                 mst_addr_compare(mst_letter_addr(r, r->sites[n].trigger), trigger) == 0;
    }
    assert_int_equal(found, 1);
    mst_arena_free(own);
    return wanted;
}

static void assert_length(const struct mst_example *e, int least, int most)
{
    assert_int_equal(e->range.first.sura, e->range.last.sura);
    assert_int_equal(e->range.first.verse, e->range.last.verse);
    int words = e->range.last.word - e->range.first.word + 1;
    assert_int_equal(words, e->reading->word_count);
    assert_true(words >= least && words <= most);
}

static void every_rule_reads_as_it_says(void **state)
{
    (void)state;
    static const char *const rules[] = {"ikhfa",         "iqlab",     "qalqala",
                                        "madd_muttasil", "madd_arid", "lam_shamsiyya",
                                        "ikhfa_shafawi", "madd_iwad", "hamzat_wasl"};
    for (size_t n = 0; n < sizeof rules / sizeof *rules; n++) {
        struct mst_examples found = find(rules[n], NULL, "67-80", (struct mst_example_query){0});
        assert_true(total(&found) > 0);
        for (int32_t g = 0; g < found.group_count; g++)
            for (int32_t k = 0; k < found.groups[g].count; k++) {
                const struct mst_example *e = &found.groups[g].examples[k];
                struct mst_site site = fresh(e, (struct mst_rule_set){0});
                assert_string_equal(mst_rule_id(site.rule), rules[n]);
                assert_length(e, 2, 6);
                assert_true(e->begins <= MST_CUT_CLAUSE && e->ends <= MST_CUT_CLAUSE);
                assert_true(k == 0 || e[-1].clarity >= e->clarity);
                assert_true(e->range.first.sura >= 67 && e->range.last.sura <= 80);
            }
    }
}

static void nothing_untaught(void **state)
{
    (void)state;
    static const char untaught[] = "ikhfa,iqlab,ghunna,madd_muttasil,madd_munfasil,madd_lazim_word";
    struct mst_examples found = find("qalqala", untaught, "juz 30", (struct mst_example_query){0});
    assert_int_equal(found.group_count, 5);
    assert_true(total(&found) >= 10);
    for (int32_t g = 0; g < found.group_count; g++)
        for (int32_t k = 0; k < found.groups[g].count; k++)
            fresh(&found.groups[g].examples[k], rules_of(untaught));
    /* What is asked for is shown even when it stands on the list. */
    struct mst_examples own = find("ikhfa", "ikhfa", "78", (struct mst_example_query){0});
    assert_true(total(&own) > 0);
}

/* al-Jamzūrī, Tuḥfat al-aṭfāl: fifteen letters; an example for each in the text, before that very
 * letter. */
static void an_example_for_each_of_fifteen(void **state)
{
    (void)state;
    struct mst_examples found =
        find("ikhfa", NULL, "all", (struct mst_example_query){.per_member = 5});
    assert_int_equal(found.group_count, 15);
    for (int32_t g = 0; g < found.group_count; g++) {
        assert_int_equal(found.groups[g].count, 5);
        for (int32_t k = 0; k < 5; k++) {
            const struct mst_example *e = &found.groups[g].examples[k];
            uint32_t host = e->reading->letters[e->reading->sites[e->site].host].base;
            assert_ptr_equal(mst_articulation_of(host),
                             mst_articulation_at(found.groups[g].member.letter));
        }
    }
}

static void filters(void **state)
{
    (void)state;
    struct mst_example_query query = {.nun = MST_NUN_TANWIN, .per_member = 50};
    struct mst_error err = {0};
    succeed(mst_letter_list_parse(mst_span_of("ك،qāf"), &query.hosts, &err), &err);
    struct mst_examples found = find("ikhfa", NULL, "67-80", query);
    assert_int_equal(found.group_count, 2);
    for (int32_t g = 0; g < 2; g++)
        for (int32_t k = 0; k < found.groups[g].count; k++) {
            const struct mst_example *e = &found.groups[g].examples[k];
            const struct mst_site *site = &e->reading->sites[e->site];
            uint32_t host = e->reading->letters[site->host].base;
            assert_true(site->tanwin && (host == 0x643 || host == 0x642));
        }
    for (int across = 0; across < 2; across++) {
        query = (struct mst_example_query){.across = across ? MST_WORDS_ACROSS : MST_WORDS_ONE,
                                           .nun = MST_NUN_PLAIN,
                                           .words_min = 3,
                                           .words_max = 4,
                                           .worst_cut = MST_CUT_SIGN};
        found = find("ikhfa", NULL, "juz 29", query);
        assert_true(total(&found) > 0);
        for (int32_t g = 0; g < found.group_count; g++)
            for (int32_t k = 0; k < found.groups[g].count; k++) {
                const struct mst_example *e = &found.groups[g].examples[k];
                const struct mst_site *site = &e->reading->sites[e->site];
                assert_int_equal(e->reading->letters[site->first].word_idx !=
                                     e->reading->letters[site->last].word_idx,
                                 across);
                assert_false(site->tanwin);
                assert_length(e, 3, 4);
                assert_true(e->begins <= MST_CUT_SIGN && e->ends <= MST_CUT_SIGN);
            }
    }
}

/* 78:6-7: whole verses only where asked; 112:1 cut after قُلۡ never, since it leans on what is said.
 */
static void cuts_keep_off_leaning_words(void **state)
{
    (void)state;
    static const char *const leaning[] = {"مِن", "فِي", "إِلَّا", "قُلۡ", "ٱلَّذِينَ", "عَلَىٰ", "ثُمَّ"};
    struct mst_example_query query = {.per_member = 1000, .worst_cut = MST_CUT_LOOSE};
    struct mst_examples found = find("qalqala,ikhfa,madd_tabii", NULL, "78-114", query);
    assert_true(total(&found) > 100);
    for (int32_t g = 0; g < found.group_count; g++)
        for (int32_t k = 0; k < found.groups[g].count; k++) {
            const struct mst_example *e = &found.groups[g].examples[k];
            struct mst_span last =
                mst_text_word(text, e->range.last.sura, e->range.last.verse, e->range.last.word);
            for (size_t n = 0; e->ends > MST_CUT_GO_ON && n < 7; n++)
                assert_false(mst_span_equal(last, mst_span_of(leaning[n])));
        }
}

static void refusals(void **state)
{
    (void)state;
    struct mst_examples found;
    struct mst_error err = {0};
    struct mst_example_query query = {.words_min = 5, .words_max = 3};
    assert_int_equal(mst_find_examples(text, &query, arena, &found, &err), MST_USAGE);
    query.rules = rules_of("ikhfa");
    assert_int_equal(mst_find_examples(text, &query, arena, &found, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "words"));
    uint32_t bits;
    assert_int_equal(mst_letter_list_parse(MST_SPAN("kaf?"), &bits, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "kaf?"));
    assert_int_equal(mst_letter_list_parse(MST_SPAN("ك,"), &bits, &err), MST_USAGE);
    struct mst_range *ranges;
    size_t count;
    assert_int_equal(mst_ranges_parse(text, MST_SPAN("78,115"), arena, &ranges, &count, &err),
                     MST_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rule_reads_as_it_says),    cmocka_unit_test(nothing_untaught),
        cmocka_unit_test(an_example_for_each_of_fifteen), cmocka_unit_test(filters),
        cmocka_unit_test(cuts_keep_off_leaning_words),    cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
