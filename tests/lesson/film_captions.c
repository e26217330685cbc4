/* Prints the captions of a made-up take: a timeline of tones, no voice. Usage: PROGRAM vtt|srt|ass
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "built.h"

#include <mistara/film.h>
#include <stdio.h>
#include <string.h>

int main(int argc, char **argv)
{
    struct built b;
    struct mst_string out = {0};
    struct mst_error err = {0};
    enum mst_caption_format format = argc > 1 && !strcmp(argv[1], "srt")   ? MST_CAPTION_SRT
                                     : argc > 1 && !strcmp(argv[1], "ass") ? MST_CAPTION_ASS
                                                                           : MST_CAPTION_VTT;
    build(&b, 1, 1);
    enum mst_status status = mst_captions(b.timeline, NULL, format, &out, &err);
    if (status == MST_OK)
        fwrite(out.ptr, 1, out.len, stdout);
    else
        fprintf(stderr, "%s\n", err.message);
    mst_string_free(&out);
    build_free(&b);
    return mst_status_exit_code(status);
}
