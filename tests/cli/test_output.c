/* Where the output goes: files, pipes, terminals, a full disk, nowhere. */
#include "program.h"

#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* Linux's /dev/full fails every write with ENOSPC. */
static void disk_full(void **state)
{
    (void)state;
    run_fails(5, "the disk is full", "mistara text 112 >/dev/full");
    run_fails(5, "the disk is full", "mistara sites 2 --json >/dev/full");
    run_fails(5, "the disk is full", "mistara --help >/dev/full");
}

static void stdout_closed(void **state)
{
    (void)state;
    run_fails(5, "its end was closed", "mistara text 112 >&-");
    run_fails(5, "its end was closed", "mistara --version >&-");
    /* The file must not take the closed stream's number and be printed into. */
    run_fails(5, "its end was closed", "mistara sheet 112 -o kept.txt >&-");
    struct run well = run_well("mistara sheet 112 -o same.txt");
    size_t kept_len, same_len;
    char *kept = file_read("kept.txt", &kept_len), *same = file_read("same.txt", &same_len);
    assert_int_equal(kept_len, same_len);
    assert_memory_equal(kept, same, kept_len);
    free(kept);
    free(same);
    run_free(&well);
    /* Nor does a closed stderr or stdin hurt. */
    struct run quiet = run("mistara text 112 2>&- <&-");
    assert_int_equal(quiet.code, 0);
    assert_true(quiet.out_len > 100);
    run_free(&quiet);
}

/* A reader that leaves early, as head does: reported, never ended by a signal. */
static void pipe_closed(void **state)
{
    (void)state;
    struct run r = run("{ mistara sites 2 --json; echo $? >code; } 2>said | head -c 10 >/dev/null");
    char *code = file_read("code", NULL), *said = file_read("said", NULL);
    assert_string_equal(code, "5\n");
    assert_non_null(strstr(said, "its end was closed"));
    free(code);
    free(said);
    run_free(&r);
}

/* What a terminal of this width shows for a line of shell. */
static char *on_terminal(const char *line, unsigned short columns)
{
    int terminal;
    struct winsize size = {.ws_row = 24, .ws_col = columns};
    pid_t pid = forkpty(&terminal, NULL, NULL, &size);
    assert_true(pid >= 0);
    if (pid == 0) {
        execl("/bin/sh", "sh", "-c", line, (char *)NULL);
        _exit(127);
    }
    enum { MOST = 1 << 20 };
    char *shown = calloc(1, MOST);
    assert_non_null(shown);
    size_t len = 0;
    ssize_t got;
    while (len < MOST - 1 && (got = read(terminal, shown + len, MOST - 1 - len)) > 0)
        len += (size_t)got;
    close(terminal);
    int status;
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    return shown;
}

static void colour(void **state)
{
    (void)state;
    const char *const line = "mistara sites 112:1 --rule qalqala";
    struct run piped = run_well("TERM=xterm %s", line);
    assert_null(strchr(piped.out, '\033'));
    run_free(&piped);

    static const struct {
        const char *before;
        int coloured;
    } cases[] = {
        {"unset NO_COLOR; TERM=xterm", 1},
        {"NO_COLOR= TERM=xterm", 1}, /* no-color.org: when present and not empty */
        {"NO_COLOR=1 TERM=xterm", 0},
        {"unset NO_COLOR; TERM=dumb", 0},
    };
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        char whole[200];
        snprintf(whole, sizeof whole, "export NO_COLOR TERM; %s; %s", cases[n].before, line);
        char *shown = on_terminal(whole, 100);
        assert_int_equal(strchr(shown, '\033') != NULL, cases[n].coloured);
        free(shown);
    }
}

/* Every right-to-left isolate (Unicode UAX #9: 2067) is closed (2069) on its own line. */
static void isolates(void **state)
{
    (void)state;
    struct run r = run_well("mistara sites 67:1-5; mistara sites 67:1-5 --lang ar\n"
                            "mistara sounds 67:1-5; mistara explain 67:3:2; mistara rules\n"
                            "mistara text 67:1-5 --with en,ur");
    int open = 0, seen = 0;
    for (const char *at = r.out; *at; at++) {
        if (strncmp(at, "\u2067", 3) == 0)
            open++, seen++;
        if (strncmp(at, "\u2069", 3) == 0)
            open--;
        assert_true(open == 0 || open == 1);
        if (*at == '\n')
            assert_int_equal(open, 0);
    }
    assert_true(seen > 100);
    run_free(&r);
    /* Other programs get the words alone. */
    struct run json = run_well("mistara sites 67 --json; mistara sites 67 --csv\n"
                               "mistara sounds 67 --json; mistara text 67 --json");
    assert_null(strstr(json.out, "\u2067"));
    run_free(&json);
}

/* On a narrow terminal no line of Latin words is longer than it. */
static void narrow(void **state)
{
    (void)state;
    char *shown = on_terminal("NO_COLOR=1 mistara rules ikhfa,qalqala,madd", 60);
    int longest = 0, column = 0, arabic = 0;
    for (const unsigned char *at = (const unsigned char *)shown; *at; at++) {
        if (*at == '\n') {
            longest = !arabic && column > longest ? column : longest;
            column = arabic = 0;
        } else {
            column += (*at & 0xC0) != 0x80 && *at != '\r';
            arabic |= *at >= 0xD8 && *at <= 0xDB;
        }
    }
    assert_true(longest > 40);
    assert_true(longest <= 60);
    free(shown);
}

/* Asked in Arabic, nothing has to be read in English, unless it is asked for. */
static void questions_in_arabic(void **state)
{
    (void)state;
    static const char line[] = "mistara ask ikhfa,qalqala --range 78 --count 14 --lang ar";
    struct run r = run_well("%s", line);
    assert_null(strstr(r.out, "“"));
    run_free(&r);
    r = run_well("%s --kinds find", line);
    assert_non_null(strstr(r.out, "“"));
    run_free(&r);
}

/* What a teacher may have edited is not written over unasked; what is made again is. */
static void edited(void **state)
{
    (void)state;
    static const char line[] = "mistara lesson new ikhfa --range 78 -o ikhfa.lesson";
    struct run r = run_well("%s && echo '# mine' >>ikhfa.lesson", line);
    run_free(&r);
    run_fails(2, "there is a “ikhfa.lesson” already", "%s", line);
    r = run_well("grep mine ikhfa.lesson");
    run_free(&r);
    r = run_well("%s --replace && ! grep mine ikhfa.lesson", line);
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(disk_full),
        cmocka_unit_test(stdout_closed),
        cmocka_unit_test(pipe_closed),
        cmocka_unit_test(colour),
        cmocka_unit_test(isolates),
        cmocka_unit_test(narrow),
        cmocka_unit_test(questions_in_arabic),
        cmocka_unit_test(edited),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
