/*
 * out.c – printing: gathered, written in large pieces, every failure noticed;
 * columns that hold in a terminal with right-to-left words in them.
 */
#include "cli.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>
#include <wchar.h>

enum { WRITE_PIECE = 64 * 1024 };

static void write_all(struct out *out)
{
    size_t done = 0;
    while (done < out->text.len && !out->write_errno) {
        ssize_t n = write(STDOUT_FILENO, out->text.ptr + done, out->text.len - done);
        if (n > 0)
            done += (size_t)n;
        else if (n == 0)
            out->write_errno = EIO;
        else if (errno != EINTR)
            out->write_errno = errno;
    }
    out->text.len = 0;
}

void out_more(struct out *out)
{
    if (out->text.len >= WRITE_PIECE)
        write_all(out);
}

enum mst_status out_finish(struct out *out, struct mst_error *err)
{
    write_all(out);
    int failed = out->text.failed;
    mst_string_free(&out->text);
    if (failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out; what was printed is not complete");
    switch (out->write_errno) {
    case 0:
        return MST_OK;
    case EPIPE:
    case EBADF:
        return mst_fail_errno(err, MST_IO, out->write_errno,
                              "nobody takes the output: its end was closed before all was printed");
    case ENOSPC:
    case EDQUOT:
        return mst_fail_errno(err, MST_IO, out->write_errno,
                              "the disk is full: what was printed is not complete");
    default:
        return mst_fail_errno(err, MST_IO, out->write_errno,
                              "printing failed (%s): what was printed is not complete",
                              strerror(out->write_errno));
    }
}

void out_ink(struct out *out, enum ink ink)
{
    /* Bold, dim and two of the eight colours that every terminal lets its owner choose. */
    static const char *const codes[] = {[INK_PLAIN] = "\033[0m",
                                        [INK_STRONG] = "\033[1m",
                                        [INK_QUIET] = "\033[2m",
                                        [INK_RULE] = "\033[36m",
                                        [INK_HIT] = "\033[1;4m"};
    if (out->colour)
        mst_string_adds(&out->text, codes[ink]);
}

void out_arabic(struct out *out, struct mst_span words)
{
    mst_string_add_cp(&out->text, 0x2067); /* right-to-left isolate */
    mst_string_add(&out->text, words.ptr, words.len);
    mst_string_add_cp(&out->text, 0x2069); /* pop isolate */
}

int text_columns(struct mst_span text)
{
    int columns = 0;
    size_t off = 0;
    while (off < text.len) {
        int width = wcwidth((wchar_t)mst_utf8_next(text.ptr, text.len, &off));
        if (width > 0)
            columns += width;
    }
    return columns;
}

static void spaces(struct out *out, int count)
{
    for (int n = 0; n < count; n++)
        mst_string_add(&out->text, " ", 1);
}

void out_padded(struct out *out, struct mst_span text, int width)
{
    mst_string_add(&out->text, text.ptr, text.len);
    int used = text_columns(text);
    spaces(out, used < width ? width - used : width > 0);
}

void out_wrapped(struct out *out, struct mst_span text, int indent, int width)
{
    int column = indent;
    size_t at = 0;
    while (at < text.len) {
        size_t end = at;
        while (end < text.len && text.ptr[end] != ' ')
            end++;
        struct mst_span word = {text.ptr + at, end - at};
        int columns = text_columns(word);
        if (at > 0 && width > 0 && column + 1 + columns > width) {
            mst_string_adds(&out->text, "\n");
            spaces(out, indent);
            column = indent;
        } else if (at > 0) {
            mst_string_adds(&out->text, " ");
            column++;
        }
        mst_string_add(&out->text, word.ptr, word.len);
        column += columns;
        at = end < text.len ? end + 1 : end;
    }
    mst_string_adds(&out->text, "\n");
}
