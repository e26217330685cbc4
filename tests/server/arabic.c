/* arabic.c – sentences from standard input, a line each; their Arabic, or nothing, a line each.
 * With
 * --tables: what the tables hold, English and Arabic in turn. For arabic.mjs. */
#include "../../src/server/arabic/arabic.h"

#include <stdio.h>
#include <string.h>

static void tables(void)
{
    const struct said *const all[] = {said_text, said_lesson, said_sound, said_desk, said_noun};
    for (size_t t = 0; t < sizeof all / sizeof *all; t++)
        for (const struct said *one = all[t]; one->en; one++)
            printf("%s\n%s\n", one->en, one->ar);
}

int main(int argc, char **argv)
{
    char line[4096];
    if (argc > 1 && strcmp(argv[1], "--tables") == 0) {
        tables();
        return 0;
    }
    while (fgets(line, sizeof line, stdin)) {
        struct mst_string out = {0};
        arabic_find((struct mst_span){line, strcspn(line, "\n")}, &out);
        printf("%s\n", out.ptr ? out.ptr : "");
        mst_string_free(&out);
    }
    return 0;
}
