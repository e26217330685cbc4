/*
 * engine.c – how long the engine takes for all rules and all sounds of the
 * whole text, beside thirty plain patterns (patterns.h) that PCRE2's JIT runs
 * one after another over the same text. Both in one thread of one process, by
 * turns; medians. The aim: engine ÷ patterns not above 0.5.
 */
#define PCRE2_CODE_UNIT_WIDTH 8
#include "clock.h"
#include "patterns.h"

#include <mistara/tajweed.h>
#include <pcre2.h>
#include <stdio.h>
#include <string.h>

enum { ROUNDS = 31 };

static const struct {
    const char *rule, *text;
} patterns[] = {
#define X(rule, text) {rule, text},
    PATTERN_LIST(X)
#undef X
};
enum { PATTERNS = sizeof patterns / sizeof patterns[0] };
_Static_assert(PATTERNS == 30, "thirty patterns");

struct yardstick {
    pcre2_code *codes[PATTERNS];
    pcre2_match_data *match;
    pcre2_match_context *context;
    pcre2_jit_stack *stack;
    long found[PATTERNS];
};

static int yardstick_make(struct yardstick *y)
{
    uint32_t jit = 0;
    pcre2_config(PCRE2_CONFIG_JIT, &jit);
    if (!jit) {
        fprintf(stderr, "this PCRE2 has no JIT: nothing to measure against\n");
        return 0;
    }
    for (size_t n = 0; n < PATTERNS; n++) {
        int error;
        PCRE2_SIZE at;
        y->codes[n] = pcre2_compile((PCRE2_SPTR)patterns[n].text, PCRE2_ZERO_TERMINATED,
                                    PCRE2_UTF | PCRE2_NO_UTF_CHECK, &error, &at, NULL);
        if (!y->codes[n] || pcre2_jit_compile(y->codes[n], PCRE2_JIT_COMPLETE) != 0) {
            PCRE2_UCHAR words[128];
            pcre2_get_error_message(error, words, sizeof words);
            fprintf(stderr, "%s: %s at %zu\n", patterns[n].rule, (const char *)words, at);
            return 0;
        }
    }
    y->match = pcre2_match_data_create(4, NULL);
    y->context = pcre2_match_context_create(NULL);
    y->stack = pcre2_jit_stack_create(32 * 1024, 512 * 1024, NULL);
    pcre2_jit_stack_assign(y->context, NULL, y->stack);
    return y->match && y->context && y->stack;
}

static void yardstick_free(struct yardstick *y)
{
    for (size_t n = 0; n < PATTERNS; n++)
        pcre2_code_free(y->codes[n]);
    pcre2_match_data_free(y->match);
    pcre2_match_context_free(y->context);
    pcre2_jit_stack_free(y->stack);
}

static void yardstick_run(struct yardstick *y, const struct mst_string *text)
{
    for (size_t n = 0; n < PATTERNS; n++) {
        PCRE2_SIZE at = 0;
        const PCRE2_SIZE *ends = pcre2_get_ovector_pointer(y->match);
        y->found[n] = 0;
        while (pcre2_jit_match(y->codes[n], (PCRE2_SPTR)text->ptr, text->len, at, 0, y->match,
                               y->context) >= 0) {
            y->found[n]++;
            at = ends[1];
        }
    }
}

static void print_found(const struct yardstick *y, const struct mst_reading *reading)
{
    long acting[MST_RULE_COUNT] = {0};
    for (int32_t n = 0; n < reading->site_count; n++)
        acting[reading->sites[n].rule]++;
    printf("%-22s %10s %10s\n", "rule", "pattern", "engine");
    for (size_t n = 0; n < PATTERNS; n++) {
        printf("%-22s %10ld", patterns[n].rule, y->found[n]);
        for (int rule = 0; rule < MST_RULE_COUNT; rule++)
            if (strcmp(mst_rule_id((enum mst_rule)rule), patterns[n].rule) == 0)
                printf(" %10ld", acting[rule]);
        printf("\n");
    }
}

static int fail(const struct mst_error *err)
{
    fprintf(stderr, "%s\n", err->message);
    return 1;
}

int main(void)
{
    struct mst_error err = {0};
    struct mst_text *text = NULL;
    struct mst_reading *reading = NULL;
    struct mst_reading_options options = {0};
    struct mst_range everything;
    struct mst_string lines = {0};
    struct yardstick y = {0};
    double engine_ms[ROUNDS], patterns_ms[ROUNDS];

    if (mst_text_open(NULL, &text, &err) ||
        mst_range_parse(text, MST_SPAN("all"), &everything, &err))
        return fail(&err);
    for (int32_t n = 0; n < MST_VERSE_COUNT; n++) {
        struct mst_addr at = mst_text_verse_addr(text, n);
        struct mst_span verse = mst_text_verse(text, at.sura, at.verse);
        mst_string_add(&lines, verse.ptr, verse.len);
        mst_string_adds(&lines, "\n");
    }
    struct mst_arena *arena = mst_arena_new((size_t)64 << 20);
    if (!arena || lines.failed || !yardstick_make(&y))
        return 1;

    for (int round = -1; round < ROUNDS; round++) { /* the first warms up */
        double start = used_ms();
        mst_arena_reset(arena);
        if (mst_reading_new(text, everything, &options, arena, &reading, &err))
            return fail(&err);
        double between = used_ms();
        yardstick_run(&y, &lines);
        double end = used_ms();
        if (round >= 0) {
            engine_ms[round] = between - start;
            patterns_ms[round] = end - between;
        }
    }
    double engine = median(engine_ms, ROUNDS), plain = median(patterns_ms, ROUNDS);

    print_found(&y, reading);
    printf("\nwhole text: %d letters, %d sites, %d sounds; processor time, medians of %d rounds, "
           "one thread\n",
           reading->letter_count, reading->site_count, reading->sound_count, ROUNDS);
    printf("engine      %7.2f ms (quickest %.2f)\n", engine, engine_ms[0]);
    printf("30 patterns %7.2f ms (quickest %.2f)\n", plain, patterns_ms[0]);
    printf("ratio       %7.2f    (aim: not above 0.50): %s\n", engine / plain,
           engine / plain <= 0.5 ? "held" : "MISSED");

    yardstick_free(&y);
    mst_string_free(&lines);
    mst_arena_free(arena);
    mst_text_close(text);
    return 0;
}
