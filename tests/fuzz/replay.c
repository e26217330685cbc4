/*
 * Runs a fuzz target without a fuzzing engine: the cases once each, then
 * seeded random mutations of them.  The targets have libFuzzer's entry point,
 * so they can be linked with -fsanitize=fuzzer instead of this file.
 *
 *   fuzz-… [--iterations N] [--seed N] [--lines FILE]… CASE-OR-FOLDER…
 *
 * --lines: every line of the file is a case. A crash prints nothing here:
 * the last input lies in ./fuzz-last-NAME, ready to become a case.
 */
#include "target.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { MAX_CASES = 1000, MAX_FILE_BYTES = 16777216 };

struct input {
    uint8_t *bytes;
    size_t len;
};

struct run {
    struct input cases[MAX_CASES];
    size_t case_count;
    uint64_t seed;
    char last_path[256];
};

/* SplitMix64: small, and the same everywhere. */
static uint64_t next_random(uint64_t *seed)
{
    uint64_t z = *seed += 0x9E3779B97F4A7C15U;
    z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9U;
    z = (z ^ z >> 27) * 0x94D049BB133111EBU;
    return z ^ z >> 31;
}

static size_t below(uint64_t *seed, size_t limit)
{
    return limit == 0 ? 0 : (size_t)(next_random(seed) % limit);
}

static void add_case(struct run *run, const uint8_t *bytes, size_t len)
{
    if (run->case_count == MAX_CASES)
        return;
    struct input *c = &run->cases[run->case_count++];
    c->len = len;
    c->bytes = malloc(len + 1);
    if (c->bytes == NULL)
        abort();
    memcpy(c->bytes, bytes, len);
}

static void add_file(struct run *run, const char *path, int by_lines)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        exit(2);
    }
    uint8_t *bytes = malloc(MAX_FILE_BYTES);
    if (bytes == NULL)
        abort();
    size_t len = fread(bytes, 1, MAX_FILE_BYTES, file);
    fclose(file);
    size_t start = 0;
    for (size_t i = 0; by_lines && i < len; i++) {
        if (bytes[i] != '\n')
            continue;
        add_case(run, bytes + start, i - start);
        start = i + 1;
    }
    if (start < len || len == 0)
        add_case(run, bytes + start, len - start);
    free(bytes);
}

static void add_path(struct run *run, const char *path)
{
    struct stat info;
    DIR *dir = stat(path, &info) == 0 && S_ISDIR(info.st_mode) ? opendir(path) : NULL;
    if (dir == NULL) {
        add_file(run, path, 0);
        return;
    }
    for (struct dirent *e; (e = readdir(dir)) != NULL;) {
        char below_path[1024];
        snprintf(below_path, sizeof below_path, "%s/%s", path, e->d_name);
        if (e->d_name[0] != '.')
            add_file(run, below_path, 0);
    }
    closedir(dir);
}

/* One small change to the input; the room for it is there. */
static void mutate_once(struct run *run, struct input *in)
{
    static const uint32_t telling[] = {0, 1,    2,          6236,       6237,       0x7F,
                                       8, 0xFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0xFFFF};
    size_t at = below(&run->seed, in->len);
    switch (below(&run->seed, in->len == 0 ? 1 : 7)) {
    case 0: /* a byte more */
        memmove(in->bytes + at + 1, in->bytes + at, in->len - at);
        in->bytes[at] = (uint8_t)next_random(&run->seed);
        in->len++;
        break;
    case 1:
        in->bytes[at] ^= (uint8_t)(1 << below(&run->seed, 8));
        break;
    case 2:
        in->bytes[at] = (uint8_t)next_random(&run->seed);
        break;
    case 3: /* cut off */
        in->len = at;
        break;
    case 4: { /* a telling number where one may stand */
        uint32_t number = telling[below(&run->seed, sizeof telling / sizeof telling[0])];
        at &= ~(size_t)3;
        if (at + 4 <= in->len)
            memcpy(in->bytes + at, &number, 4);
        break;
    }
    case 5: { /* a piece of another case */
        const struct input *other = &run->cases[below(&run->seed, run->case_count)];
        size_t from = below(&run->seed, other->len), len = below(&run->seed, 32);
        if (len > other->len - from)
            len = other->len - from;
        if (len > in->len - at)
            len = in->len - at;
        memcpy(in->bytes + at, other->bytes + from, len);
        break;
    }
    default: { /* a piece twice */
        size_t len = below(&run->seed, 16);
        if (len > in->len - at)
            len = in->len - at;
        memmove(in->bytes + at + len, in->bytes + at, in->len - at);
        in->len += len;
    }
    }
}

static void remember(const struct run *run, const struct input *in)
{
    FILE *file = fopen(run->last_path, "wb");
    if (file == NULL)
        return;
    fwrite(in->bytes, 1, in->len, file);
    fclose(file);
}

int main(int argc, char **argv)
{
    static struct run run;
    unsigned long iterations = 1000, seed = 1;
    const char *name = strrchr(argv[0], '/') != NULL ? strrchr(argv[0], '/') + 1 : argv[0];
    snprintf(run.last_path, sizeof run.last_path, "fuzz-last-%s", name);
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--iterations") == 0 && i + 1 < argc)
            iterations = strtoul(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--seed") == 0 && i + 1 < argc)
            seed = strtoul(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--lines") == 0 && i + 1 < argc)
            add_file(&run, argv[++i], 1);
        else
            add_path(&run, argv[i]);
    }
    if (run.case_count == 0) {
        fprintf(stderr, "%s: no cases\n", argv[0]);
        return 2;
    }
    run.seed = seed;
    for (size_t i = 0; i < run.case_count; i++) {
        remember(&run, &run.cases[i]);
        LLVMFuzzerTestOneInput(run.cases[i].bytes, run.cases[i].len);
    }
    for (unsigned long n = 0; n < iterations; n++) {
        const struct input *from = &run.cases[below(&run.seed, run.case_count)];
        size_t changes = 1 + below(&run.seed, 4);
        struct input in = {malloc(from->len + 64 * changes + 1), from->len};
        if (in.bytes == NULL)
            abort();
        memcpy(in.bytes, from->bytes, from->len);
        for (size_t c = 0; c < changes; c++)
            mutate_once(&run, &in);
        /* The sanitizers see reads beyond the end only of a block that ends there. */
        uint8_t *exact = malloc(in.len > 0 ? in.len : 1);
        if (exact == NULL)
            abort();
        memcpy(exact, in.bytes, in.len);
        if (in.len < 65536)
            remember(&run, &in);
        LLVMFuzzerTestOneInput(exact, in.len);
        free(exact);
        free(in.bytes);
    }
    remove(run.last_path);
    printf("%s: %zu cases and %lu mutations of them (seed %lu)\n", name, run.case_count, iterations,
           seed);
    for (size_t i = 0; i < run.case_count; i++)
        free(run.cases[i].bytes);
    fuzz_target_end();
    return 0;
}
