/*
 * book.h – the commands about the book: how they are typed (commands.c) is
 * known to `mistara`, for its help, and to mistara-book, which does them: a
 * database must not slow the start of the other commands.
 */
#ifndef CLI_BOOK_BOOK_H
#define CLI_BOOK_BOOK_H

#include "../cli.h"

struct book_request {
    const char *data, *class_name, *person;
    int list, forget, json;
};
extern const struct command *const book_commands[]; /* ends with NULL */

/* In `mistara`: becomes mistara-book with the same words (start.c). In mistara-book: does it. */
enum mst_status book_run(const struct command *self, int argc, char **argv, struct out *out,
                         struct mst_error *err);

#endif
