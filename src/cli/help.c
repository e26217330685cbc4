/* help.c – the help of the program and of each command, from the tables they are run by. */
#include "cli.h"

#include <string.h>

enum { HELP_WIDTH = 80, NAME_COLUMN = 22, COMMAND_COLUMN = 24 };

static void heading(struct out *out, const char *words)
{
    out_ink(out, INK_STRONG);
    mst_string_adds(&out->text, words);
    out_ink(out, INK_PLAIN);
    mst_string_adds(&out->text, "\n");
}

/* A name in its column, then text broken so that it stays in the second one. */
static void two_columns(struct out *out, struct mst_span name, const char *text, int width)
{
    mst_string_adds(&out->text, "  ");
    out_padded(out, name, width);
    if (text_columns(name) >= width)
        mst_string_addf(&out->text, "\n  %*s", width, "");
    out_wrapped(out, mst_span_of(text), 2 + width, HELP_WIDTH);
}

static void option_line(struct out *out, const struct option_row *row)
{
    struct mst_string name = {0};
    if (row->letter)
        mst_string_addf(&name, "-%c, ", row->letter);
    mst_string_addf(&name, "--%s%s%s", row->name, row->argument ? " " : "",
                    row->argument ? row->argument : "");
    two_columns(out, (struct mst_span){name.ptr, name.len}, row->help, NAME_COLUMN);
    mst_string_free(&name);
}

void help_of_command(const struct command *command, struct out *out)
{
    struct mst_string *s = &out->text;
    mst_string_addf(s, "Usage: mistara %s %s%s\n\n%s\n", command->name, command->arguments,
                    command->groups[0] ? " [options]" : "", command->about);
    for (size_t g = 0; g < OPTION_GROUPS_MAX && command->groups[g]; g++) {
        mst_string_adds(s, "\n");
        heading(out, command->groups[g]->title);
        for (size_t n = 0; n < command->groups[g]->count; n++)
            option_line(out, &command->groups[g]->rows[n]);
    }
    mst_string_adds(s, "\n");
    heading(out, "Examples:");
    mst_string_adds(s, command->examples);
}

void help_of_program(struct out *out)
{
    struct mst_string *s = &out->text;
    mst_string_adds(
        s, "Usage: mistara COMMAND …\n\n"
           "The workbench of a teacher of recitation: where every rule acts in a passage of\n"
           "the Qurʾan and why, and the page that shows it. Ḥafṣ from ʿĀṣim.\n"
           "Recitation is learned by mouth from a qualified teacher; this helps to prepare.\n\n");
    heading(out, "Commands:");
    for (size_t n = 0; commands[n]; n++) {
        struct mst_string name = {0};
        mst_string_addf(&name, "%s %s", commands[n]->name, commands[n]->arguments);
        two_columns(out, (struct mst_span){name.ptr, name.len}, commands[n]->summary,
                    COMMAND_COLUMN);
        mst_string_free(&name);
    }
    mst_string_adds(s, "\n");
    heading(out, "A passage can be named as");
    mst_string_adds(
        s, "  67   67:1   67:1-5   67:3:2-4 (words)   78-80 (suras)   al-Mulk 1-5   الملك ١-٥\n"
           "  juz 30   hizb 60   quarter 240   page 604   ruku 5   all\n"
           "An address is sura:verse:word:letter, counted from 1; verse 0 is the basmala.\n\n");
    heading(out, "Examples:");
    mst_string_adds(s, "  mistara sites 67:1-5                        every rule in five verses\n"
                       "  mistara sheet 67:1-5 -o sheet.pdf           the page to print\n"
                       "  mistara sites --help                        all about one command\n\n");
    heading(out, "Exit codes:");
#define X(name, code, what) mst_string_addf(s, "  %2d  %s\n", code, what);
    MST_STATUS_LIST(X)
#undef X
}
