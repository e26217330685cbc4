/*
 * program.h – run the program the way a teacher does, from a shell, and look
 * at what it printed. Every run stands in a fresh folder of its own test.
 */
#ifndef TESTS_CLI_PROGRAM_H
#define TESTS_CLI_PROGRAM_H

/* cmocka.h wants these four before it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>

struct run {
    int code; /* exit code; 128 + the signal when one ended it */
    char *out, *err;
    size_t out_len;
};

/* A group's setup and teardown: a folder to stand in, `mistara` on the PATH. */
int folder_make(void **state);
int folder_remove(void **state);

/* Run a line of shell. */
struct run run(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
void run_free(struct run *r);

/* Run, expect exit code 0 and nothing on stderr. */
struct run run_well(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
/* Run, expect this exit code, nothing on stdout, and one line on stderr that holds words. */
void run_fails(int code, const char *words, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/* Bytes of a file, NUL-terminated; fails the test when it is not there. */
char *file_read(const char *path, size_t *len);
int file_exists(const char *path);
/* Path of a file of the source tree; valid until the next call. */
const char *source_path(const char *name);

/* Each line of JSON Lines parsed, as a JSON array; fails the test on a line that is no object. */
json_t *json_lines(const char *text);
const char *text_of(const json_t *object, const char *key);

#endif
