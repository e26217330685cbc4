/*
 * What is written about the program is true of it: the console examples of
 * README.md and docs/commands.md are run and compared, every option of every
 * command stands in the man page and in docs/commands.md, and so does every
 * exit code; the man page passes mandoc's lint.
 *
 * An example is a block
 *     ```console
 *     $ command
 *     what it prints
 *     ```
 * run in one folder in the order of the page. A line of only “…” stands for
 * any number of lines; commands that begin with make or sudo are not the
 * program's and are passed over.
 */
#include "program.h"

#include <mistara/base.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Does text match wanted, where a line of only “…” in it matches any lines? */
static int matches(const char *text, const char *wanted)
{
    static const char gap[] = "…\n";
    while (*wanted) {
        if (strncmp(wanted, gap, sizeof gap - 1) == 0) {
            wanted += sizeof gap - 1;
            for (;;) {
                if (matches(text, wanted))
                    return 1;
                const char *end = strchr(text, '\n');
                if (!end)
                    return 0;
                text = end + 1;
            }
        }
        const char *end = strchr(wanted, '\n');
        size_t len = end ? (size_t)(end - wanted) + 1 : strlen(wanted);
        if (strncmp(text, wanted, len) != 0)
            return 0;
        text += len;
        wanted += len;
    }
    return *text == '\0';
}

static int starts_with(const char *text, const char *head)
{
    return strncmp(text, head, strlen(head)) == 0;
}

/* One block, from after its opening fence to its closing one; returns how many commands ran. */
static int run_block(const char *page, char *block)
{
    int ran = 0;
    for (char *at = block; (at = strstr(at, "$ ")) != NULL && (at == block || at[-1] == '\n');) {
        char *end = strchr(at, '\n');
        assert_non_null(end);
        *end = '\0';
        char *command = at + 2, *wanted = end + 1, *next = wanted;
        if (*wanted && !starts_with(wanted, "$ ")) {
            next = strstr(wanted, "\n$ ");
            next = next ? next + 1 : wanted + strlen(wanted);
        }
        at = next;
        if (starts_with(command, "make") || starts_with(command, "sudo"))
            continue;
        char kept = *next;
        *next = '\0';
        struct run r = run("%s", command);
        ran++;
        if (!matches(r.out, wanted) && !matches(r.err, wanted))
            fail_msg("%s: $ %s\nprints\n%s%s\nand not\n%s", page, command, r.out, r.err, wanted);
        run_free(&r);
        *next = kept;
    }
    return ran;
}

static int run_page(const char *page)
{
    static const char fence[] = "```console\n";
    char *text = file_read(source_path(page), NULL);
    int ran = 0;
    for (char *at = text; (at = strstr(at, fence)) != NULL;) {
        char *block = at + sizeof fence - 1, *end = strstr(block, "\n```");
        if (!end)
            fail_msg("%s: a console block does not end", page);
        char kept = end[1];
        end[1] = '\0';
        ran += run_block(page, block);
        end[1] = kept;
        at = end + 1;
    }
    free(text);
    return ran;
}

static void examples_of_readme(void **state)
{
    (void)state;
    assert_true(run_page("README.md") >= 1);
}

static void examples_of_commands(void **state)
{
    (void)state;
    assert_true(run_page("docs/commands.md") >= 8);
}

/* The man page with its flags written as they are typed: ".Fl -stops" is --stops. */
static char *man_page_plain(void)
{
    char *text = file_read(source_path("docs/mistara.1"), NULL), *to = text;
    for (const char *at = text; *at;) {
        if (starts_with(at, "Fl -")) {
            *to++ = '-';
            at += 3;
        } else {
            *to++ = *at++;
        }
    }
    *to = '\0';
    return text;
}

static void options_written_down(void **state)
{
    (void)state;
    char *man = man_page_plain(), *handbook = file_read(source_path("docs/commands.md"), NULL);
    struct run r = run_well("for c in sites explain sounds sheet text rules listen voice find ask "
                            "lesson course card handout; do\n"
                            "mistara $c --help | grep -oE '^  (-., )?--[a-z0-9-]+'; done |\n"
                            "grep -oE -e '--[a-z0-9-]+' | sort -u");
    int options = 0;
    for (char *name = strtok(r.out, "\n"); name; name = strtok(NULL, "\n"), options++) {
        if (!strstr(man, name))
            fail_msg("docs/mistara.1 does not know %s", name);
        if (!strstr(handbook, name))
            fail_msg("docs/commands.md does not know %s", name);
    }
    assert_true(options > 40);

    char row[200];
#define X(name, code, what)                                                                        \
    snprintf(row, sizeof row, "| %d | %s |", code, what);                                          \
    if (!strstr(handbook, row))                                                                    \
        fail_msg("docs/commands.md has no row %s", row);                                           \
    snprintf(row, sizeof row, "\n.It %d\n", code);                                                 \
    if (!strstr(man, row) || !strstr(man, what))                                                   \
        fail_msg("docs/mistara.1 does not know exit code %d, %s", code, what);
    MST_STATUS_LIST(X)
#undef X
    run_free(&r);
    free(man);
    free(handbook);
}

static void man_page_lint(void **state)
{
    (void)state;
    struct run r = run("mandoc -T lint -W warning '%s'", source_path("docs/mistara.1"));
    if (r.code != 0 || r.out_len)
        fail_msg("mandoc: %s%s", r.out, r.err);
    run_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_of_readme),
        cmocka_unit_test(examples_of_commands),
        cmocka_unit_test(options_written_down),
        cmocka_unit_test(man_page_lint),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
