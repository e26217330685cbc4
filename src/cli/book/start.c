/* start.c – `mistara` becomes mistara-book. */
#include "book.h"

#include "src/cli/book-config.h"

#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

static const char *book_program(void)
{
    const char *told = getenv("MISTARA_BOOK");
    if (told && *told)
        return told;
    return access(MISTARA_BOOK_INSTALLED, X_OK) == 0 ? MISTARA_BOOK_INSTALLED : MISTARA_BOOK_BUILT;
}

/* argv[0] is the command's name, and there is a NULL after the last word. */
enum mst_status book_run(const struct command *self, int argc, char **argv, struct out *out,
                         struct mst_error *err)
{
    const char *program = book_program();
    (void)self;
    (void)argc;
    (void)out;
    execv(program, argv - 1); /* with the program's own name before it */
    return mst_fail_errno(err, MST_UNSUPPORTED, errno,
                          "the book's program “%.200s” cannot be started; install Mistara whole, "
                          "or set MISTARA_BOOK to its place",
                          program);
}
