/* What is typed wrongly: each mistake has its exit code (base.h) and one kind sentence. */
#include "program.h"

#include <string.h>

static void commands(void **state)
{
    (void)state;
    run_fails(2, "mistara sites 67:1-5", "mistara");
    run_fails(2, "there is no command “site”; did you mean “mistara sites”?", "mistara site 67");
    run_fails(2, "there is no command “frobnicate”; “mistara --help” lists", "mistara frobnicate");
    run_fails(2, "“--json” stands where a command is expected", "mistara --json sites 67");
    run_fails(2, "did you mean “mistara explain”?", "mistara help explan");
}

static void options(void **state)
{
    (void)state;
    run_fails(2, "has no option “--stop”; did you mean --stops?", "mistara sites 67 --stop none");
    run_fails(2, "has no option “--munf=4”; did you mean --munfasil?", "mistara sites 67 --munf=4");
    run_fails(2, "has no option “--zzz”; “mistara sites --help” lists them",
              "mistara sites 67 --zzz");
    run_fails(2, "has no option “-q”", "mistara sites 67 -q");
    run_fails(2, "name the school's book with --store", "mistara work --data here");
    run_fails(2, "--stops wants WHERE after it", "mistara sites 67 --stops");
    run_fails(2, "--arid wants COUNTS after it", "mistara sites 67 --arid");
    run_fails(2, "--arid takes a whole number; “four” is none", "mistara sites 67 --arid four");
    run_fails(2, "--arid takes a whole number; “4x” is none", "mistara sites 67 --arid=4x");
    run_fails(2, "--arid takes a whole number; “99999999999” is none",
              "mistara sites 67 --arid 99999999999");
    run_fails(2, "it takes no “yes”", "mistara sites 67 --json=yes");
    run_fails(2, "--json and --csv cannot both", "mistara sites 67 --json --csv");
    run_fails(2, "--rawm and --ishmam cannot both", "mistara sites 67 --rawm --ishmam");
    run_fails(2, "--lang takes en or ar; “fr” given", "mistara sites 67 --lang fr");
    run_fails(2, "--font takes amiri or scheherazade; “serif” given",
              "mistara sheet 67:1 -o a.pdf --font serif");
    run_fails(2, "--key takes auto, foot, page or none; “x” given",
              "mistara sheet 67:1 -o a.pdf --key x");
    run_fails(2, "--stage takes 0 to 4; “5” given", "mistara sheet 67:1 -o a.pdf --stage 5");
    run_fails(2, "--stages takes stages 0 to 4", "mistara sheet 67:1 -o a.pdf --stages 0,,1");
    run_fails(2, "--stages takes stages 0 to 4", "mistara sheet 67:1 -o a.pdf --stages 0,5");
    run_fails(2, "--limit takes a number from 1", "mistara text layers --limit 0");
    run_fails(2, "--size takes a number from 1", "mistara sheet 67:1 -o a.pdf --size 0");
    run_fails(2, "--arid takes a number from 1", "mistara sites 67:1 --arid 0");
    run_fails(2, "--count takes a number from 1", "mistara ask ikhfa --count 0");
    run_fails(2, "--class-limit takes a number from 1", "mistara listen a.mp3 67 --class-limit 0");
    run_fails(2, "--threads takes a number from 1", "mistara listen a.mp3 67 --threads 0");
    run_fails(2, "--stage, --fade and --stages", "mistara sheet 67:1 -o a.pdf --stage 0 --fade");
    run_fails(2, "--stage takes 0 to 4; “-1” given", "mistara sheet 67:1 -o a.pdf --stage -1");
    run_fails(2, "--dark goes with .svg and .png", "mistara sheet 67:1 -o a.pdf --dark");
    run_fails(2, "--dpi goes with .png", "mistara card ق -o a.svg --dpi 72");
    run_fails(2, "“67:1:2:3” names a letter", "mistara sites 67:1 --stops 67:1:1,67:1:2:3");
    run_fails(2, "--answer takes verse or breath; “word” given",
              "mistara film take.mp3 112 -o a.wav --answer word");
    run_fails(2, "--stage takes 0, 1, 2, 3, 4 or fade",
              "mistara film take.mp3 112 -o a.mp4 --stage 5");
    run_fails(2, "“b” is no file that is there", "mistara pinch a b 67:1");
}

/* What a teacher wants printed is printed, or refused: never left out without a word. */
static void words_to_print(void **state)
{
    (void)state;
    run_fails(2, "--title cannot be printed: its bytes are not UTF-8",
              "mistara sheet 67:1 -o a.pdf --title \"$(printf 'a\\377')\"");
    run_fails(2, "--class cannot be printed",
              "mistara handout ikhfa --passage 112 -o a.pdf --class \"$(printf '\\303')\"");
    run_fails(2, "--title has room for 200 letters; 3000 given",
              "mistara sheet 67:1 -o a.pdf --title \"$(head -c 3000 /dev/zero | tr '\\0' x)\"");
    assert_false(file_exists("a.pdf"));
    struct run r = run_well("mistara sheet 67:1 -o a.txt --title "
                            "\"$(head -c 200 /dev/zero | tr '\\0' x)\" && grep xxx a.txt");
    run_free(&r);
}

/* What is missing is asked for with an example that works. */
static void missing(void **state)
{
    (void)state;
    run_fails(2, "“mistara sites” needs a passage, for example: mistara sites 67:1-5",
              "mistara sites --json");
    run_fails(2, "needs the address of a word or letter", "mistara explain");
    run_fails(2, "“mistara sounds” needs a passage", "mistara sounds");
    run_fails(2, "“mistara text” needs a passage or words", "mistara text");
    run_fails(2, "mistara sheet 67:1 -o sheet.pdf", "mistara sheet 67:1");
}

static void places(void **state)
{
    (void)state;
    run_fails(3, "286", "mistara sites 2:290");
    run_fails(3, "115", "mistara sites 115");
    run_fails(3, "Mulk", "mistara sites al-Mulc");
    run_fails(3, "67:1", "mistara explain 67:1:99");
    run_fails(3, "99", "mistara explain 67:1:1:99");
    run_fails(2, "is a whole verse", "mistara explain 67:1");
    run_fails(3, "nearest: ikhfa", "mistara sites 67 --rule ikhfaa");
    run_fails(3, "rules of that name: izhar_halqi, ", "mistara sites 67 --rule izhar");
    run_fails(3, "rules of that name: qalqala", "mistara sites 67 --rule القلقلة");
    run_fails(3, "rules of that name: ikhfa, ikhfa_shafawi", "mistara sites 67 --rule Hiding");
    run_fails(3, "there are", "mistara text 67:1 --with xx");
    run_fails(3, "neither a passage nor found", "mistara text qqqqqq");
    run_fails(3, "286", "mistara text 2:290");
}

/* The engine's own objections come through as they are. */
static void readings(void **state)
{
    (void)state;
    run_fails(2, "7", "mistara sites 67:1 --arid 7");
    run_fails(2, "3", "mistara sites 67:1 --muttasil 3");
    run_fails(2, "6", "mistara sites 67:1 --arid 2 --lin 6");
    run_fails(3, "--stops takes verses, signs, none or words",
              "mistara sites 67:1 --stops sometimes");
}

static void help(void **state)
{
    (void)state;
    static const char *const names[] = {"sites", "explain", "sounds", "sheet", "text", "rules"};
    struct run program = run_well("mistara --help");
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
        assert_non_null(strstr(program.out, names[n]));
        struct run one = run_well("mistara %s --help", names[n]);
        struct run same = run_well("mistara help %s", names[n]);
        struct run inside = run_well("mistara %s 67 --rule --help", names[n]);
        assert_string_equal(one.out, same.out);
        assert_string_equal(one.out, inside.out);
        assert_non_null(strstr(one.out, "Examples:\n  mistara "));
        run_free(&one);
        run_free(&same);
        run_free(&inside);
    }
    assert_non_null(strstr(program.out, "Exit codes:"));
    struct run same = run_well("mistara help");
    assert_string_equal(program.out, same.out);
    run_free(&same);
    run_free(&program);
    struct run version = run_well("mistara --version");
    assert_int_equal(strncmp(version.out, "mistara ", 8), 0);
    run_free(&version);
}

/* The examples of the help are typed as they stand there, and work. */
static void examples_of_help(void **state)
{
    (void)state;
    struct run help = run_well("for c in sites explain sounds sheet text rules; do\n"
                               "mistara $c --help | sed -n '/^Examples:/,$p'; done");
    int tried = 0;
    for (char *line = strtok(help.out, "\n"); line; line = strtok(NULL, "\n")) {
        if (strncmp(line, "  mistara ", 10) != 0)
            continue;
        char *remark = strstr(line + 2, "   "); /* three spaces part the remark from the command */
        if (remark)
            *remark = '\0';
        struct run one = run_well("%s", line);
        run_free(&one);
        tried++;
    }
    assert_true(tried >= 15);
    run_free(&help);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commands), cmocka_unit_test(options),
        cmocka_unit_test(missing),  cmocka_unit_test(words_to_print),
        cmocka_unit_test(places),   cmocka_unit_test(readings),
        cmocka_unit_test(help),     cmocka_unit_test(examples_of_help),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
