/* limits.c – the limits a teacher keeps in a file. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct limit {
    const char *name;
    size_t field; /* in mst_measure_limits */
    double low, high, unit;
} limits_known[] = {
    {"site-limit", offsetof(struct mst_measure_limits, site_deviation), 0.5, 20, 1},
    {"class-limit", offsetof(struct mst_measure_limits, class_ratio), 1, 300, 0.01},
    {"even-limit", offsetof(struct mst_measure_limits, even_share), 1, 100, 0.01},
};
enum { LIMIT_COUNT = sizeof limits_known / sizeof limits_known[0] };

static const char blanks[] = " \t\r";

static enum mst_status line_read(char *line, int number, int seen[LIMIT_COUNT],
                                 struct mst_measure_limits *out, struct mst_error *err)
{
    line[strcspn(line, "#")] = '\0';
    char *rest = line, *name, *value;
    do
        name = strsep(&rest, blanks);
    while (name && !*name);
    if (!name)
        return MST_OK;
    do
        value = rest ? strsep(&rest, blanks) : NULL;
    while (value && !*value);
    size_t n = 0;
    while (n < LIMIT_COUNT && strcmp(limits_known[n].name, name) != 0)
        n++;
    if (n == LIMIT_COUNT)
        return mst_fail(err, MST_BAD_DATA,
                        "line %d of the limits: “%.40s” is no limit; there are site-limit, "
                        "class-limit and even-limit",
                        number, name);
    if (seen[n])
        return mst_fail(err, MST_BAD_DATA, "line %d of the limits: %s was set in line %d already",
                        number, name, seen[n]);
    char *end = NULL;
    double given = value ? strtod(value, &end) : NAN;
    int more = rest && rest[strspn(rest, blanks)];
    const struct limit *l = &limits_known[n];
    if (!value || end == value || *end || more || !(given >= l->low && given <= l->high))
        return mst_fail(err, MST_BAD_DATA,
                        "line %d of the limits: %s takes one number from %g to %g%s%.40s%s", number,
                        name, l->low, l->high, value ? "; “" : "", value ? value : "",
                        value ? "” given" : "");
    seen[n] = number;
    *(double *)((char *)out + l->field) = given * l->unit;
    return MST_OK;
}

enum mst_status mst_limits_read(const char *path, struct mst_measure_limits *limits,
                                struct mst_error *err)
{
    struct mst_map map;
    struct mst_measure_limits read = *limits;
    int seen[LIMIT_COUNT] = {0}, number = 0;
    enum mst_status status = mst_map_open(path, &map, err);
    if (status != MST_OK)
        return status;
    char *text = strndup(map.ptr ? (const char *)map.ptr : "", map.len), *rest = text;
    mst_map_close(&map);
    if (!text)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the limits");
    for (char *line; status == MST_OK && (line = strsep(&rest, "\n")) != NULL;)
        status = line_read(line, ++number, seen, &read, err);
    free(text);
    if (status == MST_OK)
        *limits = read;
    return status;
}
