/*
 * Covering sets of the text: they cover, nothing smaller does (exhaustively, in
 * small ranges), and the families have the members the books list: the fifteen
 * letters of ikhfāʾ (al-Jamzūrī, Tuḥfat al-aṭfāl: the heads of the words of
 * "ṣif dhā thanā kam jāda shakhṣun qad samā / dum ṭayyiban zid fī tuqan ḍaʿ
 * ẓālimā") and the five of the echo (Ibn al-Jazarī, al-Muqaddima: quṭbu jad).
 */
#include "group.h"

#include <stdio.h>
#include <string.h>

static struct mst_cover find(const char *rules, const char *where, struct mst_cover_query query)
{
    struct mst_cover found;
    struct mst_error err = {0};
    if (rules)
        query.rules = rules_of(rules);
    scope_of(text, where, arena, &query.scope);
    succeed(mst_find_cover(text, &query, arena, &found, &err), &err);
    return found;
}

/* The letters of the members are exactly these. */
static void assert_letters(const struct mst_cover *c, const char *letters)
{
    uint32_t wanted, have = 0;
    struct mst_error err = {0};
    succeed(mst_letter_list_parse(mst_span_of(letters), &wanted, &err), &err);
    for (int32_t n = 0; n < c->member_count; n++)
        have |= UINT32_C(1) << c->members[n].member.letter;
    assert_int_equal(have, wanted);
}

static void members_of_the_books(void **state)
{
    (void)state;
    struct mst_cover c =
        find("ikhfa", "112", (struct mst_cover_query){.family = MST_COVER_LETTERS});
    assert_int_equal(c.member_count, 28);
    c = find("ikhfa", "78", (struct mst_cover_query){0});
    assert_int_equal(c.member_count, 15);
    assert_letters(&c, "صذثكجشقسدطزفتضظ");
    c = find("qalqala", "112", (struct mst_cover_query){0});
    assert_int_equal(c.member_count, 5);
    assert_letters(&c, "قطبجد");
}

/* How often a verse read by itself holds ikhfāʾ before each letter: a fresh reading of that verse
 * alone. */
static void count_ikhfa(int32_t verse, int32_t *times)
{
    struct mst_addr at = mst_text_verse_addr(text, verse);
    struct mst_reading_options options = {.no_basmala = 1};
    struct mst_arena *own = mst_arena_new(0);
    struct mst_reading *r;
    struct mst_error err = {0};
    succeed(mst_reading_new(text, (struct mst_range){at, at}, &options, own, &r, &err), &err);
    for (int32_t n = 0; n < r->site_count; n++) {
        if (r->sites[n].rule != MST_RULE_IKHFA)
            continue;
        const struct mst_articulation *letter =
            mst_articulation_of(r->letters[r->sites[n].host].base);
        for (int k = 0; mst_articulation_at(k); k++)
            times[k] += mst_articulation_at(k) == letter;
    }
    mst_arena_free(own);
}

static void sets_cover_by_fresh_readings(void **state)
{
    (void)state;
    for (int times = 1; times <= 3; times++) {
        struct mst_cover c = find(
            "ikhfa", "67-80", (struct mst_cover_query){.times = times, .contiguous = times == 2});
        int32_t held[32] = {0};
        for (int32_t n = 0; n < c.verse_count; n++)
            count_ikhfa(c.verses[n], held);
        for (int32_t n = 0; n < c.member_count; n++) {
            assert_int_equal(c.members[n].covered, held[c.members[n].member.letter]);
            int32_t there = c.members[n].in_range;
            assert_true(c.members[n].covered >= (there < times ? there : times));
        }
        assert_int_equal(c.bound, c.cost);
    }
}

/* Every choice of the verses of a small range, and every stretch of it. */
static void nothing_smaller_covers(void **state)
{
    (void)state;
    static const struct {
        int32_t sura, first, last;
        int times;
    } ranges[] = {{67, 1, 14, 1}, {67, 15, 30, 2}, {78, 1, 16, 1}, {78, 26, 40, 2}, {80, 1, 16, 1}};
    for (size_t n = 0; n < sizeof ranges / sizeof *ranges; n++) {
        int32_t from = mst_text_verse_index(text, ranges[n].sura, ranges[n].first);
        int32_t count = ranges[n].last - ranges[n].first + 1, held[16][32] = {{0}}, need[32] = {0};
        for (int32_t v = 0; v < count; v++) {
            count_ikhfa(from + v, held[v]);
            for (int k = 0; k < 32; k++)
                need[k] += held[v][k];
        }
        for (int k = 0; k < 32; k++)
            need[k] = need[k] < ranges[n].times ? need[k] : ranges[n].times;
        int64_t best = 99, best_run = 99;
        for (uint32_t choice = 1; choice < UINT32_C(1) << count; choice++) {
            int ok = 1;
            for (int k = 0; k < 32 && ok; k++) {
                int32_t sum = 0;
                for (int32_t v = 0; v < count; v++)
                    sum += choice >> v & 1 ? held[v][k] : 0;
                ok = sum >= need[k];
            }
            int64_t size = __builtin_popcount(choice);
            uint32_t run = choice >> __builtin_ctz(choice);
            if (ok && size < best)
                best = size;
            if (ok && (run & (run + 1)) == 0 && size < best_run)
                best_run = size;
        }
        char where[32];
        snprintf(where, sizeof where, "%d:%d-%d", ranges[n].sura, ranges[n].first, ranges[n].last);
        struct mst_cover c =
            find("ikhfa", where, (struct mst_cover_query){.times = ranges[n].times});
        assert_int_equal(c.cost, best);
        assert_int_equal(c.verse_count, best);
        assert_int_equal(c.bound, best);
        c = find("ikhfa", where,
                 (struct mst_cover_query){.times = ranges[n].times, .contiguous = 1});
        assert_int_equal(c.verse_count, best_run);
        for (int32_t k = 1; k < c.verse_count; k++)
            assert_int_equal(c.verses[k], c.verses[k - 1] + 1);
    }
}

static void absent_members_are_named(void **state)
{
    (void)state;
    struct mst_cover c = find("ikhfa", "78", (struct mst_cover_query){.times = 2});
    int32_t absent = 0, few = 0;
    for (int32_t n = 0; n < c.member_count; n++) {
        absent += c.members[n].in_range == 0;
        few += c.members[n].in_range == 1;
        if (c.members[n].in_range == 1)
            assert_int_equal(c.members[n].covered, 1);
    }
    assert_int_equal(c.absent_count, absent);
    assert_int_equal(c.short_count, few);
    assert_true(absent > 0 && absent < 15);
}

static void greedy_says_its_gap(void **state)
{
    (void)state;
    struct mst_cover_query query = {.times = 5, .cost = MST_COST_WORDS, .time_limit_s = -1};
    struct mst_cover quick = find("ikhfa", "all", query);
    query.time_limit_s = 60;
    struct mst_cover exact = find("ikhfa", "all", query);
    assert_int_equal(exact.bound, exact.cost);
    assert_true(quick.bound <= exact.cost && exact.cost <= quick.cost);
    assert_true(quick.bound < quick.cost);
    assert_int_equal(exact.word_count, exact.cost);
}

static void refusals(void **state)
{
    (void)state;
    static const struct mst_reading_options no_stops = {.stops = MST_STOPS_NONE};
    struct mst_cover c;
    struct mst_error err = {0};
    struct mst_cover_query query = {.rules = rules_of("imala")};
    scope_of(text, "112", arena, &query.scope);
    assert_int_equal(mst_find_cover(text, &query, arena, &c, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "occurs"));
    query.scope.options = &no_stops;
    assert_int_equal(mst_find_cover(text, &query, arena, &c, &err), MST_USAGE);
    assert_non_null(strstr(err.message, "--stops"));
    query.rules.bits = 0;
    assert_int_equal(mst_find_cover(text, &query, arena, &c, &err), MST_USAGE);
    /* Two ranges, neither of which holds everything. */
    query = (struct mst_cover_query){.rules = rules_of("ikhfa"), .contiguous = 1};
    scope_of(text, "78:1-14,80:1-12", arena, &query.scope);
    assert_int_equal(mst_find_cover(text, &query, arena, &c, &err), MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "contiguous"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members_of_the_books),   cmocka_unit_test(sets_cover_by_fresh_readings),
        cmocka_unit_test(nothing_smaller_covers), cmocka_unit_test(absent_members_are_named),
        cmocka_unit_test(greedy_says_its_gap),    cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
