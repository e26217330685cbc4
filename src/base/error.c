/* Errors: a status for the program, a sentence for the teacher, a place for the log. */
#include <mistara/base.h>

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    int exit_code;
} statuses[] = {
#define X(name, code, what) [MST_##name] = {#name, code},
    MST_STATUS_LIST(X)
#undef X
};

enum { STATUS_COUNT = sizeof statuses / sizeof statuses[0] };

/* Cut text of size bytes, terminator included, back to the end of a whole code point. */
static void trim_to_code_point(char *text, size_t size, int wanted)
{
    if (wanted < 0 || (size_t)wanted < size)
        return;
    size_t len = strlen(text), start = len;
    while (start > 0 && ((unsigned char)text[start - 1] & 0xC0) == 0x80)
        start--;
    if (start == 0)
        return;
    unsigned char lead = (unsigned char)text[start - 1];
    size_t need = lead < 0xC0 ? 0 : lead < 0xE0 ? 1 : lead < 0xF0 ? 2 : 3;
    if (len - start < need)
        text[start - 1] = '\0';
}

static void fill(struct mst_error *err, enum mst_status status, const char *fmt, va_list args)
{
    err->status = status;
    err->where[0] = '\0';
    int wanted = vsnprintf(err->message, sizeof err->message, fmt, args);
    trim_to_code_point(err->message, sizeof err->message, wanted);
}

enum mst_status mst_fail(struct mst_error *err, enum mst_status status, const char *fmt, ...)
{
    if (err != NULL) {
        va_list args;
        va_start(args, fmt);
        fill(err, status, fmt, args);
        va_end(args);
    }
    return status;
}

enum mst_status mst_fail_errno(struct mst_error *err, enum mst_status status, int errnum,
                               const char *fmt, ...)
{
    if (err != NULL) {
        va_list args;
        va_start(args, fmt);
        fill(err, status, fmt, args);
        va_end(args);
        char words[120];
        /* The GNU strerror_r may answer with a constant string instead of filling the buffer. */
        const char *said = strerror_r(errnum, words, sizeof words);
        int wanted = snprintf(err->where, sizeof err->where, "%s", said);
        trim_to_code_point(err->where, sizeof err->where, wanted);
    }
    return status;
}

int mst_status_exit_code(enum mst_status status)
{
    return (unsigned)status < STATUS_COUNT ? statuses[status].exit_code
                                           : statuses[MST_INTERNAL].exit_code;
}

const char *mst_status_name(enum mst_status status)
{
    return (unsigned)status < STATUS_COUNT ? statuses[status].name : statuses[MST_INTERNAL].name;
}
