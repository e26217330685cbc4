/*
 * fuzzed_text – the engine must survive any text a pack can hold: marks in
 * another order, letters lost or doubled, code points from anywhere. Verses of
 * the first edition are damaged at random, packed, and read with every kind
 * of stop. Nothing is asked of the result but its shape; a crash, a sanitizer's
 * word or an index out of bounds fails.
 *
 *     fuzzed_text EDITION.json PACKER QURAN_JSON_DIR DIVISIONS.json
 *
 * MISTARA_SEED and MISTARA_ROUNDS as in properties.c.
 */
#include "edition.h"

#include <jansson.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <mistara/tajweed.h>

enum { DEFAULT_SEED = 112004, DEFAULT_ROUNDS = 4, VERSE_CODES_MAX = 8192 };

extern char **environ;

static uint64_t chance(uint64_t *state)
{
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

static int below(uint64_t *state, int n)
{
    return (int)(chance(state) % (uint64_t)n);
}

/* --- damage ------------------------------------------------------------------ */

/* A code point that may stand inside a word: mostly of the Arabic block. */
static uint32_t stray(uint64_t *state)
{
    switch (below(state, 8)) {
    case 0:
        return 0x21 + (uint32_t)below(state, 0x5E);
    case 1:
        return 0x4E00 + (uint32_t)below(state, 0x1000);
    case 2:
        return 0x10000 + (uint32_t)below(state, 0x1000);
    case 3:
        return 0x08A0 + (uint32_t)below(state, 0x60);
    default:
        return 0x0610 + (uint32_t)below(state, 0xF0);
    }
}

static int is_mark(uint32_t cp)
{
    return (cp >= 0x064B && cp <= 0x065F) || cp == 0x0670 || (cp >= 0x06D6 && cp <= 0x06ED);
}

/* One wound; returns the new length. Words stay apart: no space comes or goes. */
static int wound(uint64_t *state, uint32_t cps[VERSE_CODES_MAX], int count)
{
    int at = below(state, count);
    size_t rest = (size_t)(count - at);
    int alone = (at == 0 || cps[at - 1] == ' ') && (at + 1 == count || cps[at + 1] == ' ');
    switch (below(state, 5)) {
    case 0: /* something strange comes in */
        if (count + 1 < VERSE_CODES_MAX) {
            memmove(cps + at + 1, cps + at, rest * sizeof *cps);
            cps[at] = stray(state);
            count++;
        }
        break;
    case 1: /* something is lost */
        if (cps[at] != ' ' && !alone) {
            memmove(cps + at, cps + at + 1, (rest - 1) * sizeof *cps);
            count--;
        }
        break;
    case 2: /* something stands twice */
        if (cps[at] != ' ' && count + 1 < VERSE_CODES_MAX) {
            memmove(cps + at + 1, cps + at, rest * sizeof *cps);
            count++;
        }
        break;
    case 3: /* something turns into something else */
        if (cps[at] != ' ')
            cps[at] = stray(state);
        break;
    default: /* two marks change places */
        if (at + 1 < count && is_mark(cps[at]) && is_mark(cps[at + 1])) {
            uint32_t swapped = cps[at];
            cps[at] = cps[at + 1];
            cps[at + 1] = swapped;
        }
        break;
    }
    return count;
}

static void damage(uint64_t *state, const char *text, struct mst_string *out)
{
    static uint32_t cps[VERSE_CODES_MAX];
    int count = 0;
    size_t len = strlen(text);
    for (size_t off = 0; off < len && count + 1 < VERSE_CODES_MAX;)
        cps[count++] = mst_utf8_next(text, len, &off);
    for (int wounds = 1 + below(state, 1 + count / 6); wounds > 0; wounds--)
        count = wound(state, cps, count);
    for (int i = 0; i < count; i++)
        mst_string_add_cp(out, cps[i]);
}

static int write_damaged(uint64_t *state, const struct edition *edition, const char *path)
{
    json_t *verses = json_array();
    for (int i = 0; i < EDITION_VERSES; i++) {
        const struct edition_verse *v = &edition->verses[i];
        struct mst_string text = {0};
        damage(state, v->text, &text);
        json_array_append_new(verses, json_pack("{s:i, s:i, s:s}", "surah", v->sura, "ayah",
                                                v->verse, "text", text.ptr));
        mst_string_free(&text);
    }
    int failed = json_dump_file(verses, path, JSON_COMPACT);
    json_decref(verses);
    return failed;
}

/* --- reading what is left ------------------------------------------------------ */

static int pack(char **argv, char *verses, char *output)
{
    char *args[] = {argv[2],    "--quran-json", argv[3],    "--divisions", argv[4],
                    "--verses", verses,         "--output", output,        NULL};
    pid_t packer;
    int status = 1;
    if (posix_spawn(&packer, argv[2], NULL, NULL, args, environ) != 0 ||
        waitpid(packer, &status, 0) < 0)
        return 1;
    return !WIFEXITED(status) || WEXITSTATUS(status) != 0;
}

static int shape_holds(const struct mst_reading *r)
{
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        if (s->first < 0 || s->first > s->trigger || s->trigger > s->last ||
            s->last >= r->letter_count || s->host < -1 || s->host >= r->letter_count)
            return 0;
    }
    for (int32_t i = 0; i < r->sound_count; i++) {
        const struct mst_sound *s = &r->sounds[i];
        if (s->first_letter < 0 || s->first_letter > s->last_letter ||
            s->last_letter >= r->letter_count || s->word_idx < 0 || s->word_idx >= r->word_count)
            return 0;
    }
    return 1;
}

static int read_damaged(uint64_t *state, const struct mst_text *text)
{
    for (int stops = MST_STOPS_VERSES; stops <= MST_STOPS_SIGNS; stops++) {
        struct mst_reading_options options = {.stops = (enum mst_stops)stops,
                                              .stop_manner = (enum mst_stop_manner)below(state, 3)};
        struct mst_range all = {{1, 1, 0, 0}, {MST_SURA_COUNT, 6, 0, 0}};
        struct mst_arena *arena = mst_arena_new(1u << 20);
        struct mst_reading *reading = NULL;
        struct mst_error err = {0};
        enum mst_status status = arena == NULL
                                     ? MST_NO_MEMORY
                                     : mst_reading_new(text, all, &options, arena, &reading, &err);
        int good = status == MST_BAD_DATA || (status == MST_OK && shape_holds(reading));
        if (status == MST_OK)
            for (int32_t i = 0; i < reading->site_count; i += 97) {
                struct mst_string words = {0};
                mst_site_reason(reading, &reading->sites[i], MST_LANG_EN, &words);
                mst_site_label(reading, &reading->sites[i], MST_LANG_AR, &words);
                mst_string_free(&words);
            }
        mst_arena_free(arena);
        if (!good) {
            printf("stops %d: %s\n", stops,
                   status == MST_OK ? "a site or a sound points outside the text" : err.message);
            return 1;
        }
    }
    return 0;
}

static uint64_t number_from(const char *name, uint64_t otherwise)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0' ? strtoull(value, NULL, 10) : otherwise;
}

int main(int argc, char **argv)
{
    if (argc != 5) {
        fprintf(stderr, "usage: fuzzed_text EDITION.json PACKER QURAN_JSON_DIR DIVISIONS\n");
        return 2;
    }
    char folder[] = "fuzzed-text-XXXXXX", verses[64], output[64];
    struct edition *edition = edition_open(argv[1]);
    if (edition == NULL || mkdtemp(folder) == NULL) {
        edition_close(edition);
        return 1;
    }
    snprintf(verses, sizeof verses, "%s/verses.json", folder);
    snprintf(output, sizeof output, "%s/damaged.text", folder);
    uint64_t seed = number_from("MISTARA_SEED", DEFAULT_SEED);
    int rounds = (int)number_from("MISTARA_ROUNDS", DEFAULT_ROUNDS);
    int failed = 0, n;
    for (n = 0; n < rounds && !failed; n++) {
        uint64_t state = seed + (uint64_t)n;
        struct mst_text *text = NULL;
        struct mst_error err;
        printf("seed %llu\n", (unsigned long long)state);
        fflush(stdout);
        failed = write_damaged(&state, edition, verses) != 0 || pack(argv, verses, output) != 0;
        if (!failed && mst_text_open(output, &text, &err) != MST_OK) {
            printf("%s\n", err.message);
            failed = 1;
        }
        if (!failed)
            failed = read_damaged(&state, text);
        mst_text_close(text);
    }
    remove(verses);
    remove(output);
    rmdir(folder);
    edition_close(edition);
    printf("%d rounds of %d verses, %s\n", n, EDITION_VERSES, failed ? "FAILED" : "all survived");
    return failed;
}
