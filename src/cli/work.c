/* work.c – `mistara work`: a machine of a school that takes its long work. It becomes the desk's
 * program, as `mistara serve` does, without a web server. */
#include "cli.h"

struct request {
    const char *store, *data;
    int workers, lease;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"store", 0, OPTION_TEXT, "URL",
     "the school's book: postgresql://HOST/NAME (no password in it)", TARGET(store)},
    {"data", 0, OPTION_TEXT, "FOLDER", "the folder all desks and workers of the school share",
     TARGET(data)},
    {"workers", 0, OPTION_NUMBER, "N", "how many works go on at once (default 1)", TARGET(workers)},
    {"lease", 0, OPTION_NUMBER, "SECONDS",
     "after how long a silence its work is given to others (default 30)", TARGET(lease)},
};
static const struct option_group group = {"The work:", rows, sizeof rows / sizeof rows[0]};

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {.workers = -1, .lease = -1};
    void *const targets[] = {&request};
    struct mst_arena *arena = mst_arena_new(0);
    const char *const *words;
    size_t count;
    (void)out;
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &count, err);
    if (status == MST_OK && count > 0)
        status = mst_fail(err, MST_USAGE, "“mistara work” takes no words; “%.60s” given", words[0]);
    if (status == MST_OK && !request.store)
        status = mst_fail(err, MST_USAGE,
                          "name the school's book with --store postgresql://…; a "
                          "desk with a folder of its own does its own work");
    if (status == MST_OK) {
        char *list[8] = {(char *)(uintptr_t) "mistara-serve", (char *)(uintptr_t) "--works-only",
                         mst_arena_printf(arena, "--store=%s", request.store)};
        int n = 3;
        if (request.data)
            list[n++] = mst_arena_printf(arena, "--data=%s", request.data);
        if (request.workers >= 0)
            list[n++] = mst_arena_printf(arena, "--workers=%d", request.workers);
        if (request.lease >= 0)
            list[n++] = mst_arena_printf(arena, "--lease=%d", request.lease);
        status = server_become(list, err);
    }
    mst_arena_free(arena);
    return status;
}

const struct command command_work = {
    .name = "work",
    .arguments = "--store URL --data FOLDER",
    .summary = "take the long work of a school's desks: listening to what is handed in",
    .about =
        "For a school whose book is in PostgreSQL. Any number of machines may work; each needs\n"
        "the database and the folder with the recordings. Work that one of them was at when it\n"
        "died or was cut off is done by another. docs/school.md tells how to set a school up.",
    .examples = "  mistara work --store postgresql://book.school/mistara --data /srv/mistara\n"
                "  mistara work --store service=mistara --data /srv/mistara --workers 4\n",
    .groups = {&group},
    .run = run,
};
