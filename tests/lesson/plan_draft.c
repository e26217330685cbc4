/* What the program writes by itself: drafts of every rule, the default course, the enrolment
 * passage; each held against fresh readings of the text. */
#include "group.h"

#include <math.h>
#include <mistara/lesson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void draft_holds(const struct mst_lesson *drafted)
{
    struct mst_string file = {0};
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    mst_lesson_print(drafted, &file);
    succeed(
        mst_lesson_parse(text, (struct mst_span){file.ptr, file.len}, NULL, arena, &l, &p, &err),
        &err);
    succeed(mst_lesson_check(text, &l, arena, &p, &err), &err);
    if (p.mistakes)
        fail_msg("%s\n%s", p.items[0].message, file.ptr);
    assert_int_equal(l.example_count, drafted->example_count);
    mst_string_free(&file);
}

/* Every rule of which the last juz holds a place; seen by a reading of our own. */
static void draft_of_every_rule(void **state)
{
    (void)state;
    struct mst_find_scope scope = {0};
    struct mst_reading *r;
    struct mst_reading_options options = {.no_basmala = 1};
    struct mst_error err = {0};
    uint64_t there = 0;
    int drafts = 0;
    scope_of(text, "67-114", arena, &scope);
    succeed(mst_reading_new(text, scope.ranges[0], &options, arena, &r, &err), &err);
    for (int32_t n = 0; n < r->site_count; n++)
        there |= UINT64_C(1) << r->sites[n].rule;
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        struct mst_lesson_draft wanted = {.rules = {UINT64_C(1) << rule}, .scope = scope};
        struct mst_lesson l;
        enum mst_status status = mst_lesson_draft(text, &wanted, arena, &l, &err);
        if (!(there >> rule & 1u)) {
            assert_int_equal(status, MST_NOT_FOUND);
            continue;
        }
        if (status != MST_OK)
            fail_msg("%s: %s", mst_rule_id((enum mst_rule)rule), err.message);
        assert_int_equal(l.passage_count, 1);
        assert_true(l.question_count == MST_ASK_COUNT_OF_KINDS && *l.title && *l.explain_ar);
        /* told to a class, not to phoneticians */
        assert_null(strstr(l.explain_en, "ː"));
        assert_null(strstr(l.explain_ar, "ː"));
        for (int32_t n = 0; n < l.example_count; n++)
            assert_null(strstr(l.examples[n].note, "ː"));
        drafts++;
        draft_holds(&l);
    }
    assert_true(drafts > 35);
}

/* Words of their own stand at places that no range of a lesson holds by chance. */
static void draft_of_rare_rules(void **state)
{
    (void)state;
    static const struct {
        const char *rule, *where;
    } rare[] = {{"imala", "11"}, {"tashil", "41"}, {"ishmam", "12"}, {"sad_sin", "88"}};
    for (size_t n = 0; n < sizeof rare / sizeof rare[0]; n++) {
        struct mst_lesson_draft wanted = {.rules = rules_of(rare[n].rule)};
        struct mst_lesson l;
        struct mst_error err = {0};
        scope_of(text, rare[n].where, arena, &wanted.scope);
        succeed(mst_lesson_draft(text, &wanted, arena, &l, &err), &err);
        draft_holds(&l);
    }
}

/* With the rules the class knows given, no example needs another. */
static void drafts_keep_to_what_is_known(void **state)
{
    (void)state;
    struct mst_lesson_draft wanted = {
        .rules = rules_of("ikhfa"),
        .known = rules_of("weight,madd_tabii,hamzat_wasl,waqf_sukun,madd_arid,izhar_halqi,"
                          "izhar_shafawi,lam_qamariyya,madd_iwad,hadhf_madd,iltiqa_sakinayn"),
        .known_given = 1};
    struct mst_lesson l;
    struct mst_lesson_problems p = {0};
    struct mst_error err = {0};
    scope_of(text, "67-114", arena, &wanted.scope);
    succeed(mst_lesson_draft(text, &wanted, arena, &l, &err), &err);
    assert_true(l.example_count > 8);
    uint64_t known = wanted.known.bits | wanted.rules.bits;
    for (int32_t n = 0; n < l.example_count; n++) {
        struct mst_reading_options options = {.no_basmala = 1};
        struct mst_reading *r;
        succeed(mst_reading_new(text, l.examples[n].range, &options, arena, &r, &err), &err);
        for (int32_t k = 0; k < r->site_count; k++)
            assert_true(known >> r->sites[k].rule & 1u);
    }
    succeed(mst_lesson_check(text, &l, arena, &p, &err), &err);
    assert_int_equal(p.mistakes, 0); /* the passage's other rules are advice */
    assert_true(p.count == 1 && p.items[0].advice);
}

static void check_sees(void **state)
{
    (void)state;
    static const char source[] = "mistara lesson 1\ntitle: T\nrules: ikhfa\nknown: madd_tabii\n"
                                 "language: en\n"
                                 "[examples]\n78:6\n78:14:1-5\n[passage]\nrange: 112\n"
                                 "[questions]\ncount: 112\n[takes]\na: a.flac | 67\n";
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    succeed(mst_lesson_parse(text, mst_span_of(source), NULL, arena, &l, &p, &err), &err);
    succeed(mst_lesson_check(text, &l, arena, &p, &err), &err);
    int mistakes[20] = {0}, advice[20] = {0};
    for (int32_t n = 0; n < p.count; n++)
        (p.items[n].advice ? advice : mistakes)[p.items[n].line]++;
    assert_int_equal(mistakes[7], 1); /* 78:6 has no ikhfāʾ */
    assert_int_equal(mistakes[8], 0);
    assert_int_equal(advice[8], 1); /* but other rules */
    assert_int_equal(mistakes[9], 1);
    assert_int_equal(mistakes[12], 1);
    assert_int_equal(advice[14], 1); /* no example and no passage in sura 67 */
    assert_int_equal(advice[0], 1);  /* no explanation */
}

/* --- the course -------------------------------------------------------------------- */

static void default_course(void **state)
{
    (void)state;
    char path[1024];
    struct mst_course c, again;
    struct mst_lesson_problems p;
    struct mst_course_report report;
    struct mst_string once = {0}, twice = {0};
    struct mst_error err = {0};
    snprintf(path, sizeof path, "%s/data/course/default.course", getenv("MISTARA_SOURCE_ROOT"));
    succeed(mst_course_open(text, path, arena, &c, &p, &err), &err);
    mst_course_print(&c, &once);
    succeed(mst_course_parse(text, (struct mst_span){once.ptr, once.len}, NULL, arena, &again, &p,
                             &err),
            &err);
    mst_course_print(&again, &twice);
    assert_string_equal(once.ptr, twice.ptr);
    succeed(mst_course_check(text, &c, arena, &report, &err), &err);
    assert_int_equal(report.never_taught.bits, 0);
    assert_int_equal(report.use_count, 0);
    assert_int_equal(report.gap_count, 0);
    assert_int_equal(report.juz_untouched, 0);
    assert_true(report.members > 150 && report.members_shown == report.members);
    mst_string_free(&once);
    mst_string_free(&twice);
}

/* A course with known faults: the echo is taught before what its phrases need, a lesson of the
 * evening never comes, and one juz is read. */
static void course_faults(void **state)
{
    (void)state;
    static const char source[] =
        "mistara course 1\ntitle: T\nassumed: weight, hamzat_wasl, waqf_sukun\n"
        "[lesson]\ntitle: Echo\nrules: qalqala\nexamples: 112\npassage: juz 30\n"
        "[lesson]\ntitle: Before a stop\nrules: madd_arid\nexamples: 108\n";
    struct mst_course c;
    struct mst_lesson_problems p;
    struct mst_course_report report;
    struct mst_error err = {0};
    succeed(mst_course_parse(text, mst_span_of(source), NULL, arena, &c, &p, &err), &err);
    succeed(mst_course_check(text, &c, arena, &report, &err), &err);
    assert_int_equal(report.juz_untouched, (UINT32_C(1) << 29) - 1);
    assert_false(mst_rule_set_has(report.never_taught, MST_RULE_QALQALA));
    assert_true(mst_rule_set_has(report.never_taught, MST_RULE_IKHFA));
    int letters = 0;
    for (int32_t n = 0; n < report.gap_count; n++)
        letters += report.gaps[n].member.rule == MST_RULE_QALQALA && report.gaps[n].lesson == 0;
    assert_true(letters >= 4); /* sura 112 has the echo of dāl alone */
}

static void course_lines(void **state)
{
    (void)state;
    static const struct {
        const char *source;
        int32_t line;
        const char *words;
    } wrong[] = {
        {"mistara lesson 1\n", 1, "“mistara course 1”"},
        {"mistara course 1\ntitle: T\n", 0, "has no lesson"},
        {"mistara course 1\nrules: ikhfa\n[lesson]\ntitle: x\nrules: ikhfa\n", 2,
         "not known at the head of a course"},
        {"mistara course 1\n[lesson]\nrules: ikhfa\n", 2, "has no title"},
        {"mistara course 1\n[lesson]\ntitle: x\n", 2, "neither rules"},
        {"mistara course 1\n[lesson]\ntitle: x\nrules: ikfa\npassage: 78\n", 4, "ikfa"},
        {"mistara course 1\n[lesson]\ntitle: x\npassage: juz 31\n[lesson]\ntitle: y\nfile: a\n", 4,
         "31"},
        {"mistara course 1\n[lesson]\ntitle: x\nfile: ../a.lesson\n", 4, "leads out"},
        {"mistara course 1\n[lessons]\ntitle: x\nrules: ikhfa\n", 2, "[lessons]"},
        {"mistara course 1\n[lesson]\ntitle: x\ntitle: y\nrules: ikhfa\n", 4, "first in line 3"},
        {"mistara course 1\n[lesson]\ntitle: x\nrules:\npassage: 78\n", 4, "nothing stands"},
        {"mistara course 1\n[lesson]\ntitle: x\ndate: 2026-02-29\nrules: ikhfa\n", 4, "no date"},
        {"mistara course 1\n[lesson]\ntitle: x\ndate: next week\nrules: ikhfa\n", 4, "no date"},
        {"mistara course 1\n[lesson]\ntitle: x\npasage: 78\nrules: ikhfa\n", 4, "nearest: passage"},
    };
    for (size_t n = 0; n < sizeof wrong / sizeof wrong[0]; n++) {
        struct mst_course c;
        struct mst_lesson_problems p;
        struct mst_error err = {0};
        if (mst_course_parse(text, mst_span_of(wrong[n].source), NULL, arena, &c, &p, &err) !=
            MST_BAD_DATA)
            fail_msg("not refused: %s", wrong[n].source);
        int named = 0;
        for (int32_t k = 0; k < p.count; k++) {
            named |= p.items[k].line == wrong[n].line &&
                     strstr(p.items[k].message, wrong[n].words) != NULL;
            /* by line, those of the whole file last */
            if (k && p.items[k].line)
                assert_true(p.items[k - 1].line && p.items[k - 1].line <= p.items[k].line);
        }
        if (!named)
            fail_msg("line %d: %s", p.items[0].line, p.items[0].message);
    }
}

/* --- the enrolment passage ------------------------------------------------------------ */

/* Counted anew, verse by verse. */
static void enrolment(void **state)
{
    (void)state;
    struct mst_enrol_query query = {.node_limit = 50};
    struct mst_enrol e;
    struct mst_error err = {0};
    scope_of(text, "67-114", arena, &query.scope);
    succeed(mst_lesson_enrol(text, &query, arena, &e, &err), &err);
    int32_t heard[MST_PHONE_COUNT] = {0};
    double seconds = 0;
    for (int32_t n = 0; n < e.cover.verse_count; n++) {
        struct mst_addr at = mst_text_verse_addr(text, e.cover.verses[n]);
        struct mst_reading_options options = {.no_basmala = 1};
        struct mst_reading *r;
        int32_t counts = 0;
        succeed(mst_reading_new(text, (struct mst_range){at, at}, &options, arena, &r, &err), &err);
        for (int32_t k = 0; k < r->sound_count; k++) {
            heard[r->sounds[k].phone]++;
            counts += r->sounds[k].counts;
        }
        seconds += counts / 2.5 + 1;
    }
    assert_true(e.times >= 1 && e.seconds <= 180);
    assert_true(fabs(seconds - e.seconds) <= 0.05 * e.cover.verse_count + 0.01);
    assert_true(e.cover.bound <= e.cover.cost && e.cover.bound > 0);
    /* no clock: the same again, to the last verse */
    struct mst_enrol again;
    succeed(mst_lesson_enrol(text, &query, arena, &again, &err), &err);
    assert_int_equal(again.cover.cost, e.cover.cost);
    assert_int_equal(again.cover.bound, e.cover.bound);
    assert_int_equal(again.cover.verse_count, e.cover.verse_count);
    assert_memory_equal(again.cover.verses, e.cover.verses,
                        (size_t)e.cover.verse_count * sizeof *e.cover.verses);
    for (int32_t n = 0; n < e.cover.member_count; n++) {
        const struct mst_cover_member *m = &e.cover.members[n];
        assert_int_equal(m->covered, heard[m->member.phone]);
        assert_true(m->covered >= (m->in_range < e.times ? m->in_range : e.times));
    }
    query.seconds = 5;
    assert_int_equal(mst_lesson_enrol(text, &query, arena, &e, &err), MST_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(draft_of_every_rule),
        cmocka_unit_test(draft_of_rare_rules),
        cmocka_unit_test(drafts_keep_to_what_is_known),
        cmocka_unit_test(check_sees),
        cmocka_unit_test(default_course),
        cmocka_unit_test(course_faults),
        cmocka_unit_test(course_lines),
        cmocka_unit_test(enrolment),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
