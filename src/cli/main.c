/*
 * main.c – the program `mistara`: finds the command, prints its one error
 * sentence, ends with the exit code that base.h gives the status.
 */
#include "cli.h"

#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

const struct command *const commands[] = {
    &command_sites,  &command_explain, &command_sounds, &command_find,
    &command_ask,    &command_lesson,  &command_course, &command_sheet,
    &command_card,   &command_handout, &command_text,   &command_rules,
    &command_listen, &command_pinch,   &command_voice,  &command_film,
    &command_serve,  &command_class,   &command_backup, &command_restore,
    &command_export, &command_check,   &command_work,   NULL};

/*
 * A program started with a closed standard stream would hand its number to the
 * next file it opens, and print into it. Hold the place with something that
 * cannot be used that way, so that printing fails and is reported.
 */
static void hold_standard_streams(void)
{
    for (int fd = 0; fd <= 2; fd++) {
        if (fcntl(fd, F_GETFD) != -1 || errno != EBADF)
            continue;
        int got = open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY);
        if (got != -1 && got != fd)
            close(got);
    }
}

static void out_start(struct out *out)
{
    *out = (struct out){0};
    if (!isatty(STDOUT_FILENO))
        return;
    const char *no_colour = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    out->colour = !(no_colour && *no_colour) && term && *term && strcmp(term, "dumb") != 0;
    struct winsize size;
    out->columns = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
    if (out->columns == 0)
        out->columns = 80;
}

static const struct command *command_named(const char *name)
{
    for (size_t n = 0; commands[n]; n++)
        if (strcmp(commands[n]->name, name) == 0)
            return commands[n];
    return NULL;
}

static enum mst_status no_such_command(const char *typed, struct mst_error *err)
{
    struct nearest nearest = {mst_span_of(typed), NULL, 0};
    for (size_t n = 0; commands[n]; n++)
        nearest_offer(&nearest, commands[n]->name);
    if (nearest.name)
        return mst_fail(err, MST_USAGE, "there is no command “%.60s”; did you mean “mistara %s”?",
                        typed, nearest.name);
    return mst_fail(err, MST_USAGE,
                    "there is no command “%.60s”; “mistara --help” lists what there is", typed);
}

/* --help before a lone "--": anything after that is a word of the passage. */
static int asks_for_help(int argc, char **argv)
{
    for (int n = 1; n < argc && strcmp(argv[n], "--") != 0; n++)
        if (strcmp(argv[n], "--help") == 0 || strcmp(argv[n], "-h") == 0)
            return 1;
    return 0;
}

static enum mst_status run(int argc, char **argv, struct out *out, struct mst_error *err)
{
    if (argc < 2)
        return mst_fail(err, MST_USAGE,
                        "say what to do, for example: mistara sites 67:1-5; "
                        "“mistara --help” lists the commands");
    const char *name = argv[1];
    if (strcmp(name, "--version") == 0 || strcmp(name, "-V") == 0) {
        mst_string_adds(&out->text, "mistara " MISTARA_VERSION "\n");
        return MST_OK;
    }
    int help = strcmp(name, "help") == 0;
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0 || (help && argc == 2)) {
        help_of_program(out);
        return MST_OK;
    }
    if (help)
        name = argv[2];
    const struct command *command = command_named(name);
    if (!command)
        return name[0] == '-' ? mst_fail(err, MST_USAGE,
                                         "“%.60s” stands where a command is expected; "
                                         "“mistara --help” lists the commands",
                                         name)
                              : no_such_command(name, err);
    if (help || asks_for_help(argc - 1, argv + 1)) {
        help_of_command(command, out);
        return MST_OK;
    }
    return command->run(command, argc - 1, argv + 1, out, err);
}

int main(int argc, char **argv)
{
    hold_standard_streams();
    signal(SIGPIPE, SIG_IGN);       /* a closed pipe is reported like any failed write */
    setlocale(LC_CTYPE, "C.UTF-8"); /* for wcwidth alone; our text is always UTF-8 */

    struct out out;
    out_start(&out);
    struct mst_error err = {0};
    enum mst_status status = run(argc, argv, &out, &err);
    struct mst_error write_err = {0};
    enum mst_status written = out_finish(&out, &write_err);
    if (status == MST_OK) {
        status = written;
        err = write_err;
    }
    if (status != MST_OK)
        fprintf(stderr, "mistara: %s\n", err.message);
    return mst_status_exit_code(status);
}
