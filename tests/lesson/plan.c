/* A lesson as a file: every kind of line, good and bad; print and parse agree; nothing that is put
 * into a file brings the reader down; takes stay in their folder. */
#include "group.h"

#include <mistara/lesson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char whole[] = "mistara lesson 1\n"
                            "\n"
                            "# of the library's evening class\n"
                            "title: Hiding\n"
                            "title ar: الإخفاء\n"
                            "rules: ikhfa, qalqala\n"
                            "known: madd, waqf_sukun\n"
                            "level: intermediate\n"
                            "language: en\n"
                            "reading: arid 2, lin 2, no-basmala, rawm\n"
                            "\n"
                            "[explain]\n"
                            "The tongue waits.\n"
                            "\n"
                            "\n"
                            "\\[so it is said]\n"
                            "# a remark\n"
                            "\\# no remark\n"
                            "\\\\ one stroke\n"
                            "\n"
                            "[explain ar]\n"
                            "يتهيأ اللسان.\n"
                            "\n"
                            "[examples]\n"
                            "78:14:1-5 | before thāʾ | slowly\n"
                            "78:34\n"
                            "\n"
                            "[passage]\n"
                            "range: 78:1-16\n"
                            "stops: signs\n"
                            "fade: evenly\n"
                            "\n"
                            "[passage]\n"
                            "range: 78:31-36\n"
                            "stops: 78:31:1,78:34\n"
                            "fade: 0, 1,2 ,4\n"
                            "\n"
                            "[questions]\n"
                            "mark: 78:1-16 | count 4 | seed 7\n"
                            "both: 78:1-16\n"
                            "\n"
                            "[takes]\n"
                            "teacher: takes/first.flac | 78:1-16\n";

static enum mst_status parse(const char *source, size_t len, struct mst_lesson *l,
                             struct mst_lesson_problems *p, struct mst_error *err)
{
    return mst_lesson_parse(text, (struct mst_span){source, len}, NULL, arena, l, p, err);
}

static void every_good_line(void **state)
{
    (void)state;
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    succeed(parse(whole, strlen(whole), &l, &p, &err), &err);
    assert_int_equal(p.count, 0);
    assert_string_equal(l.title, "Hiding");
    assert_string_equal(l.title_ar, "الإخفاء");
    assert_int_equal(l.rules.bits, rules_of("ikhfa,qalqala").bits);
    assert_true(l.known_given && mst_rule_set_has(l.known, MST_RULE_MADD_LIN));
    assert_int_equal(l.level, MST_LEVEL_INTERMEDIATE);
    assert_int_equal(l.language, MST_LESSON_EN);
    assert_int_equal(l.reading.arid, 2);
    assert_int_equal(l.reading.lin, 2);
    assert_int_equal(l.reading.no_basmala, 1);
    assert_int_equal(l.reading.stop_manner, MST_STOP_RAWM);
    assert_string_equal(l.explain_en,
                        "The tongue waits.\n\n[so it is said]\n# no remark\n\\ one stroke");
    assert_string_equal(l.explain_ar, "يتهيأ اللسان.");
    assert_int_equal(l.example_count, 2);
    assert_int_equal(l.examples[0].range.last.word, 5);
    assert_string_equal(l.examples[0].note, "before thāʾ | slowly");
    assert_int_equal(l.examples[0].line, 25);
    assert_int_equal(l.passage_count, 2);
    assert_int_equal(l.passages[0].stops, MST_STOPS_SIGNS);
    assert_true(l.passages[0].fade_evenly);
    assert_int_equal(l.passages[1].stops, MST_STOPS_LIST);
    assert_int_equal(l.passages[1].stop_count, 2);
    assert_int_equal(l.passages[1].stage_count, 4);
    assert_memory_equal(l.passages[1].stages, "\0\1\2\4", 4);
    assert_int_equal(l.question_count, 2);
    assert_int_equal(l.questions[0].count, 4);
    assert_int_equal(l.questions[0].seed, 7);
    assert_int_equal(l.questions[1].kind, MST_ASK_BOTH);
    assert_int_equal(l.take_count, 1);
    assert_string_equal(l.takes[0].name, "teacher");
    assert_string_equal(l.takes[0].file, "takes/first.flac");
    assert_null(l.takes[0].path);
}

/* Printed, parsed and printed again: the same bytes, and the same lesson where it counts. */
static void printed_and_parsed(const struct mst_lesson *l)
{
    struct mst_string once = {0}, twice = {0};
    struct mst_lesson again;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    mst_lesson_print(l, &once);
    succeed(parse(once.ptr, once.len, &again, &p, &err), &err);
    mst_lesson_print(&again, &twice);
    assert_string_equal(once.ptr, twice.ptr);
    assert_string_equal(l->explain_en, again.explain_en);
    assert_string_equal(l->explain_ar, again.explain_ar);
    assert_int_equal(l->rules.bits, again.rules.bits);
    assert_int_equal(l->known.bits, again.known.bits);
    assert_int_equal(l->example_count, again.example_count);
    for (int32_t n = 0; n < l->example_count; n++) {
        assert_int_equal(
            mst_addr_compare(l->examples[n].range.first, again.examples[n].range.first), 0);
        assert_int_equal(mst_addr_compare(l->examples[n].range.last, again.examples[n].range.last),
                         0);
        assert_string_equal(l->examples[n].note, again.examples[n].note);
    }
    assert_int_equal(l->passage_count, again.passage_count);
    assert_int_equal(l->question_count, again.question_count);
    assert_int_equal(l->take_count, again.take_count);
    assert_string_equal(l->voice, again.voice);
    mst_string_free(&once);
    mst_string_free(&twice);
}

static void round_trip(void **state)
{
    (void)state;
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    succeed(parse(whole, strlen(whole), &l, &p, &err), &err);
    printed_and_parsed(&l);
}

static void other_line_ends(void **state)
{
    (void)state;
    static const char dos[] = "\xEF\xBB\xBFmistara lesson 1\r\ntitle: T\r\nrules: ikhfa\r\n";
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    succeed(parse(dos, strlen(dos), &l, &p, &err), &err);
    assert_string_equal(l.title, "T");
}

/* Lines after the three at the head; which line is wrong, and words of what is said. */
static const struct {
    const char *lines;
    int32_t line;
    const char *words;
} bad[] = {
    {"titel: x\n", 4, "nearest: title"},
    {"range: 78\n", 4, "“range” is not known at the head"},
    {"just words\n", 4, "“just words” is no “name: value”"},
    {"title: again\n", 4, "first in line 2"},
    {"level:\n", 4, "nothing stands after “level:”"},
    {"level: novice\n", 4, "write beginner, intermediate or advanced"},
    {"language: fr\n", 4, "“fr” is no language"},
    {"known: ikfa\n", 4, "“ikfa”"},
    {"voice:\n", 4, "nothing stands after “voice:”"},
    {"voice: ../../teacher\n", 4, "cannot be a voice's name"},
    {"voice: /srv/teacher.voice\n", 4, "cannot be a voice's name"},
    {"reading: arid\n", 4, "needs its number of counts"},
    {"reading: arid 40\n", 4, "“arid 40”"},
    {"reading: lyn 2\n", 4, "nearest: lin"},
    {"reading: rawm 2\n", 4, "“rawm 2”"},
    {"reading: rawm, ishmam\n", 4, "choose one"},
    {"reading: no-basmala 1\n", 4, "takes nothing behind it"},
    {"reading: arid 2, lin 6\n[passage]\nrange: 78:1-5\n", 5, "cannot be read so"},
    {"[exampels]\n", 4, "nearest: examples"},
    {"[explain]\nx\n[explain]\ny\n", 6, "first in line 4"},
    {"[examples]\n78:99\n", 5, "99"},
    {"[examples]\nnowhere | note\n", 5, "nowhere"},
    {"[passage]\nstops: verses\n", 4, "has no range"},
    {"[passage]\nrange: 200\n", 5, "200"},
    {"[passage]\nrange: 78\nrange: 79\n", 6, "first in line 5"},
    {"[passage]\nrange: 78:1-5\nstops: often\n", 6, "often"},
    {"[passage]\nrange: 78:1-5\nstops: 79:1:1\n", 4, "cannot be read so"},
    {"[passage]\nrange: 78:1-5\nfade: slowly\n", 6, "“slowly” is no fading"},
    {"[passage]\nrange: 78:1-5\nfade: 0,5\n", 6, "“0,5” is no fading"},
    {"[passage]\nrange: 78:1-5\nfade: 0,1,\n", 6, "a stage is awaited"},
    {"[passage]\nrange: 78:1-5\ntitle: x\n", 6, "not known in a passage"},
    {"[questions]\nguess: 78\n", 5, "“guess” is no kind of question"},
    {"[questions]\nmark\n", 5, "is no question"},
    {"[questions]\nmark: 78 | count 0\n", 5, "a count is 1 to 100"},
    {"[questions]\nmark: 78 | count 101\n", 5, "a count is 1 to 100"},
    {"[questions]\nmark: 78 | seed -1\n", 5, "a seed is a number"},
    {"[questions]\nmark: 78 | often\n", 5, "“often” is not understood"},
    {"[takes]\nfirst.flac\n", 5, "is no take"},
    {"[takes]\na: first.flac\n", 5, "is no take"},
    {"[takes]\na: | 78\n", 5, "names no file"},
    {"[takes]\na: /etc/hosts | 78\n", 5, "is a place of this machine"},
    {"[takes]\na: ~/x.flac | 78\n", 5, "is a place of this machine"},
    {"[takes]\na: ../x.flac | 78\n", 5, "leads out of the folder"},
    {"[takes]\na: takes/../../x.flac | 78\n", 5, "leads out of the folder"},
    {"[takes]\na: takes/.. | 78\n", 5, "leads out of the folder"},
    {"[takes]\na: ./x.flac | 78\n", 5, "no plain file name"},
    {"[takes]\na: takes//x.flac | 78\n", 5, "no plain file name"},
    {"[takes]\na: takes\\x.flac | 78\n", 5, "parted by a stroke"},
    {"[takes]\na: x.flac | 78\na: y.flac | 79\n", 6, "already, in line 5"},
    {"[takes]\na: x.flac | 300\n", 5, "300"},
    {"level: \xC3\x28\n", 4, "no text in UTF-8"},
    {"level: a\x01\n", 4, "control characters"},
};

static void every_bad_line(void **state)
{
    (void)state;
    for (size_t n = 0; n < sizeof bad / sizeof bad[0]; n++) {
        char source[600];
        struct mst_lesson l;
        struct mst_lesson_problems p;
        struct mst_error err = {0};
        snprintf(source, sizeof source, "mistara lesson 1\ntitle: T\nrules: ikhfa\n%s",
                 bad[n].lines);
        if (parse(source, strlen(source), &l, &p, &err) != MST_BAD_DATA)
            fail_msg("not refused: %s", bad[n].lines);
        if (p.mistakes != 1 || p.count != 1)
            fail_msg("%d mistakes, the first: %s: %s", p.mistakes, p.items[0].message,
                     bad[n].lines);
        if (p.items[0].line != bad[n].line || !strstr(p.items[0].message, bad[n].words))
            fail_msg("line %d: %s\nand not line %d: %s", p.items[0].line, p.items[0].message,
                     bad[n].line, bad[n].words);
        assert_non_null(strstr(err.message, "line "));
    }
}

static void heads(void **state)
{
    (void)state;
    static const struct {
        const char *source, *words;
    } wrong[] = {{"", "the file is empty"},
                 {"\n# x\n", "the file is empty"},
                 {"title: x\n", "the first line is to be “mistara lesson 1”"},
                 {"mistara course 1\n", "the first line is to be “mistara lesson 1”"},
                 {"mistara lesson 2\n", "of version 2; this program reads version 1"},
                 {"mistara lesson x\n", "the first line is to be"},
                 {"mistara lesson 1\nrules: ikhfa\n", "has no title"},
                 {"mistara lesson 1\ntitle: x\n", "names no rule"}};
    for (size_t n = 0; n < sizeof wrong / sizeof wrong[0]; n++) {
        struct mst_lesson l;
        struct mst_lesson_problems p;
        struct mst_error err = {0};
        assert_int_equal(parse(wrong[n].source, strlen(wrong[n].source), &l, &p, &err),
                         MST_BAD_DATA);
        if (!strstr(err.message, wrong[n].words))
            fail_msg("%s and not %s", err.message, wrong[n].words);
    }
}

static void all_mistakes_at_once(void **state)
{
    (void)state;
    static const char source[] = "mistara lesson 1\ntitel: x\nrules: nothing\n[examples]\n1:99\n";
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    assert_int_equal(parse(source, strlen(source), &l, &p, &err), MST_BAD_DATA);
    assert_int_equal(p.mistakes, 4); /* and the title that is missing */
}

/* Bytes changed, lines taken out, doubled, cut: refused or read, and what is read prints and parses
 * again. */
static void mutations(void **state)
{
    (void)state;
    uint64_t seed = 20260725;
    int read = 0, refused = 0;
    struct mst_arena *kept = arena;
    arena = mst_arena_new(0);
    for (int round = 0; round < 2000; round++) {
        char source[3 * sizeof whole];
        size_t len = sizeof whole - 1;
        memcpy(source, whole, len);
        for (uint32_t changes = 1 + random_below(&seed, 4); changes > 0; changes--) {
            size_t at = random_below(&seed, (uint32_t)len), much = random_below(&seed, 40);
            switch (random_below(&seed, 4)) {
            case 0:
                source[at] = (char)random_below(&seed, 256);
                break;
            case 1:
                much = at + much > len ? len - at : much;
                memmove(source + at, source + at + much, len - at - much);
                len -= much;
                break;
            case 2:
                much = at + much > len ? len - at : much;
                if (len + much >= sizeof source)
                    break;
                memmove(source + at + much, source + at, len - at);
                len += much;
                break;
            default:
                source[at] = "\n[]|:#,\\- 0"[random_below(&seed, 11)];
            }
            len += len == 0;
        }
        struct mst_lesson l;
        struct mst_lesson_problems p;
        struct mst_error err = {0};
        mst_arena_reset(arena);
        enum mst_status status = parse(source, len, &l, &p, &err);
        if (status == MST_OK)
            printed_and_parsed(&l);
        else
            assert_true(status == MST_BAD_DATA && p.mistakes > 0 && err.message[0]);
        read += status == MST_OK;
        refused += status != MST_OK;
    }
    assert_true(read > 50 && refused > 500);
    mst_arena_free(arena);
    arena = kept;
}

static void write_file(const char *path, const char *words)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(words, f);
    fclose(f);
}

static void takes_stay_inside(void **state)
{
    (void)state;
    char folder[] = "/tmp/mistara-plan-XXXXXX", path[200], link_to[200];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/lesson", folder);
    assert_int_equal(mkdir(path, 0700), 0);
    snprintf(path, sizeof path, "%s/outside.flac", folder);
    write_file(path, "x");
    snprintf(link_to, sizeof link_to, "%s/lesson/link.flac", folder);
    assert_int_equal(symlink("../outside.flac", link_to), 0);
    snprintf(link_to, sizeof link_to, "%s/lesson/up", folder);
    assert_int_equal(symlink("..", link_to), 0);
    snprintf(path, sizeof path, "%s/lesson/inside.flac", folder);
    write_file(path, "x");
    snprintf(link_to, sizeof link_to, "%s/lesson/kept.flac", folder);
    assert_int_equal(symlink("inside.flac", link_to), 0);
    snprintf(path, sizeof path, "%s/lesson/a.lesson", folder);
    write_file(path, "mistara lesson 1\ntitle: T\nrules: ikhfa\n[takes]\n"
                     "a: inside.flac | 78\n"
                     "b: kept.flac | 78\n"
                     "c: link.flac | 78\n"
                     "d: up/outside.flac | 78\n"
                     "e: missing.flac | 78\n"
                     "f: up | 78\n");
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    assert_int_equal(mst_lesson_open(text, path, arena, &l, &p, &err), MST_BAD_DATA);
    assert_int_equal(p.mistakes, 4);
    assert_non_null(strstr(p.items[0].message, "leads out of the folder"));
    assert_non_null(strstr(p.items[1].message, "leads out of the folder"));
    assert_non_null(strstr(p.items[2].message, "there is no file “missing.flac”"));
    assert_int_equal(p.items[3].line, 10);
    assert_non_null(l.takes[0].path);
    assert_non_null(strstr(l.takes[1].path, "/lesson/inside.flac"));
    assert_null(l.takes[2].path);
    static const char *const made[] = {"lesson/a.lesson", "lesson/kept.flac", "lesson/inside.flac",
                                       "lesson/up",       "lesson/link.flac", "outside.flac"};
    for (size_t n = 0; n < sizeof made / sizeof made[0]; n++) {
        snprintf(path, sizeof path, "%s/%s", folder, made[n]);
        unlink(path);
    }
    snprintf(path, sizeof path, "%s/lesson", folder);
    rmdir(path);
    assert_int_equal(rmdir(folder), 0);
}

static void a_voice(void **state)
{
    (void)state;
    static const char source[] = "mistara lesson 1\ntitle: x\nrules: ikhfa\nvoice: المعلّم 2\n";
    struct mst_lesson l;
    struct mst_lesson_problems p;
    struct mst_error err = {0};
    succeed(parse(source, strlen(source), &l, &p, &err), &err);
    assert_string_equal(l.voice, "المعلّم 2");
    printed_and_parsed(&l);
}

static void another_title(void **state)
{
    (void)state;
    static const struct {
        const char *source, *title, *wanted;
    } cases[] = {
        {"mistara lesson 1\n# a\n title : old: one\nrules: ikhfa\n[explain]\ntitle: kept\n", "new",
         "mistara lesson 1\n# a\ntitle: new\nrules: ikhfa\n[explain]\ntitle: kept\n"},
        {"mistara lesson 1\r\ntitle ar: س\r\ntitle: old\r\n", "a\nb",
         "mistara lesson 1\r\ntitle ar: س\r\ntitle: a b\r\n"},
        {"mistara lesson 1\ntitle ar: س", "ص", "mistara lesson 1\ntitle ar: ص"},
        {"mistara lesson 1\nrules: ikhfa\n", "new", "mistara lesson 1\ntitle: new\nrules: ikhfa\n"},
        {"mistara lesson 1\n[examples]\ntitle: no title\n", "new",
         "mistara lesson 1\ntitle: new\n[examples]\ntitle: no title\n"},
        {"", "new", "\ntitle: new"},
        {"# only this", "new", "# only this\ntitle: new"},
    };
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        struct mst_string s = {0};
        mst_lesson_retitle(mst_span_of(cases[n].source), mst_span_of(cases[n].title), &s);
        assert_string_equal(s.ptr, cases[n].wanted);
        mst_string_free(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_good_line), cmocka_unit_test(round_trip),
        cmocka_unit_test(other_line_ends), cmocka_unit_test(every_bad_line),
        cmocka_unit_test(heads),           cmocka_unit_test(all_mistakes_at_once),
        cmocka_unit_test(mutations),       cmocka_unit_test(takes_stay_inside),
        cmocka_unit_test(a_voice),         cmocka_unit_test(another_title),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
