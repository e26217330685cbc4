/* vtt.c – prints the subtitles of the made-up take, for vtt.mjs to read. */
#include "built.h"

#include <stdio.h>

int main(void)
{
    struct built b;
    struct mst_string s = {0};
    build(&b, 1, 0.5);
    mst_report_vtt(&b.report, &s);
    int failed = s.failed || fwrite(s.ptr, 1, s.len, stdout) != s.len;
    mst_string_free(&s);
    build_free(&b);
    return failed;
}
