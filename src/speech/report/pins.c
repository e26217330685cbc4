/* pins.c – edges set by hand, read from label text. */
#include "parts.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct pins {
    struct mst_pin *pins;
    size_t count;
};

static int32_t word_at(const struct mst_script *script, struct mst_addr at)
{
    for (int32_t n = 0; n < mst_script_word_count(script); n++) {
        struct mst_addr word = mst_script_word_addr(script, n);
        if (word.sura == at.sura && word.verse == at.verse && word.word == at.word)
            return n;
    }
    return -1;
}

/* Seconds with a point or, as some editors save, a comma. The end of the number, or NULL. */
static const char *seconds_read(const char *at, double *out)
{
    char digits[32];
    size_t len = strspn(at, "0123456789.,");
    if (len == 0 || len >= sizeof digits)
        return NULL;
    for (size_t n = 0; n < len; n++)
        digits[n] = at[n] == ',' ? '.' : at[n];
    digits[len] = '\0';
    char *end;
    *out = strtod(digits, &end);
    return *end == '\0' && isfinite(*out) && *out < 1e6 ? at + len : NULL;
}

static enum mst_status line_read(char *line, int number, const struct mst_script *script,
                                 struct pins *pins, struct mst_error *err)
{
    const char *at = line + strspn(line, " \t");
    if (*at == '\0' || *at == '#' || *at == '\\')
        return MST_OK;
    double start, end;
    const char *rest = seconds_read(at, &start);
    if (!rest || !isspace((unsigned char)*rest))
        return mst_fail(err, MST_BAD_DATA,
                        "line %d of the pins is not START [END] LABEL with seconds: “%.60s”",
                        number, line);
    rest += strspn(rest, " \t");
    const char *after = seconds_read(rest, &end);
    if (after && isspace((unsigned char)*after))
        rest = after + strspn(after, " \t");
    struct mst_addr word = {0};
    int used = 0;
    if (sscanf(rest, "%d:%d:%d%n", &word.sura, &word.verse, &word.word, &used) != 3)
        return MST_OK; /* some other label */
    int sound = 0;
    if (rest[used] == '/' && (sscanf(rest + used, "/%d", &sound) != 1 || sound < 0))
        return mst_fail(err, MST_BAD_DATA,
                        "line %d of the pins: after / comes the number of a sound; “%.60s” given",
                        number, rest);
    int32_t idx = word_at(script, word);
    if (idx < 0)
        return mst_fail(err, MST_BAD_DATA,
                        "line %d of the pins names %d:%d:%d, which is not in the passage", number,
                        word.sura, word.verse, word.word);
    pins->pins[pins->count++] = (struct mst_pin){idx, sound, (int32_t)lround(1000 * start)};
    return MST_OK;
}

enum mst_status mst_pins_read(const char *path, const struct mst_script *script,
                              struct mst_arena *arena, struct mst_pin **out, size_t *count,
                              struct mst_error *err)
{
    struct mst_map map;
    *out = NULL;
    *count = 0;
    enum mst_status status = mst_map_open(path, &map, err);
    if (status != MST_OK)
        return status;
    size_t lines = 1;
    for (size_t n = 0; n < map.len; n++)
        lines += map.ptr[n] == '\n';
    char *text = mst_arena_strndup(arena, map.ptr ? (const char *)map.ptr : "", map.len);
    struct pins pins = {mst_arena_alloc(arena, lines, sizeof *pins.pins), 0};
    mst_map_close(&map);
    if (!text || !pins.pins)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the pins");
    int number = 0;
    for (char *line; status == MST_OK && (line = strsep(&text, "\n")) != NULL;) {
        line[strcspn(line, "\r")] = '\0';
        status = line_read(line, ++number, script, &pins, err);
    }
    *out = pins.pins;
    *count = pins.count;
    return status;
}
