/*
 * floors: do the floors only look down?
 *
 *   floors ROOT
 *
 * Reads the #include lines of ROOT/src and ROOT/include/mistara. A file may
 * include the public headers of its own floor and of those below, and the
 * private headers of its own floor. Anything else is a violation, printed
 * with file and line; the program then exits with 1.
 */
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* From the ground up; floors of the same height do not see one another. headers: the public ones,
 * parted by spaces. */
static const struct floor {
    const char *name;
    int height;
    const char *headers;
} floors[] = {
    {"base", 0, "base"},
    {"text", 1, "text"},
    {"tajweed", 2, "tajweed"},
    {"press", 3, "press"},
    {"speech", 4, "take ear faults shelf report"},
    {"typeset", 4, "typeset leaves mouth"},
    {"lesson", 5, "ask build find film know lesson pages round"},
    {"store", 6, "store classbook backup"},
    {"server", 7, "server"},
    {"cli", 8, ""},
};
enum { FLOOR_COUNT = sizeof floors / sizeof floors[0], MAX_HEADERS = 2000, MAX_PATH = 1024 };

struct header {
    char path[MAX_PATH]; /* from src/ on: "text/pack_format.h" */
    const struct floor *floor;
};

struct check {
    char root[MAX_PATH];
    struct header headers[MAX_HEADERS];
    size_t header_count;
    int files, violations;
};

static const struct floor *floor_called(const char *name, size_t len)
{
    for (size_t i = 0; i < FLOOR_COUNT; i++)
        if (strlen(floors[i].name) == len && memcmp(floors[i].name, name, len) == 0)
            return &floors[i];
    return NULL;
}

/* The floor that a public header belongs to, by its name without ".h". */
static const struct floor *floor_of_public(const char *name, size_t len)
{
    for (size_t i = 0; i < FLOOR_COUNT; i++) {
        for (const char *at = floors[i].headers; *at != '\0';) {
            size_t word = strcspn(at, " ");
            if (word == len && memcmp(at, name, len) == 0)
                return &floors[i];
            at += word + (at[word] == ' ');
        }
    }
    return NULL;
}

static void violation(struct check *c, const char *file, int line, const char *included,
                      const char *why)
{
    printf("%s:%d: “%s”: %s\n", file, line, included, why);
    c->violations++;
}

/* "text/../base/x.h" → "base/x.h" */
static void tidy(char *path)
{
    char *parts[64], *out = path;
    size_t count = 0;
    char copy[MAX_PATH];
    snprintf(copy, sizeof copy, "%s", path);
    char *rest = copy;
    for (char *part; (part = strsep(&rest, "/")) != NULL;) {
        if (strcmp(part, "..") == 0 && count > 0)
            count--;
        else if (strcmp(part, ".") != 0 && part[0] != '\0' && count < 64)
            parts[count++] = part;
    }
    for (size_t i = 0; i < count; i++)
        out += sprintf(out, "%s%s", i > 0 ? "/" : "", parts[i]);
    *out = '\0';
}

static const struct header *header_at(const struct check *c, const char *path)
{
    for (size_t i = 0; i < c->header_count; i++)
        if (strcmp(c->headers[i].path, path) == 0)
            return &c->headers[i];
    return NULL;
}

static int ends_in(const char *path, const char *tail)
{
    size_t a = strlen(path), b = strlen(tail);
    return a >= b && strcmp(path + a - b, tail) == 0 && (a == b || path[a - b - 1] == '/');
}

/* A public header: of this floor or of one that is lower. */
static void check_public(struct check *c, const struct floor *floor, const char *file, int line,
                         const char *included)
{
    const char *name = included + strlen("mistara/");
    size_t len = strlen(name);
    const struct floor *other =
        len > 2 && strcmp(name + len - 2, ".h") == 0 ? floor_of_public(name, len - 2) : NULL;
    if (other == NULL)
        violation(c, file, line, included, "no floor is known for this public header");
    else if (other != floor && other->height > floor->height)
        violation(c, file, line, included, "this floor lies above");
    else if (other != floor && other->height == floor->height)
        violation(c, file, line, included, "this floor lies beside, not below");
}

/* Any other header: if it is one of ours, it must be of this floor. */
static void check_private(struct check *c, const struct floor *floor, const char *from_src,
                          const char *file, int line, const char *included)
{
    char beside[MAX_PATH * 2];
    const char *slash = strrchr(from_src, '/');
    snprintf(beside, sizeof beside, "%.*s/%s", (int)(slash - from_src), from_src, included);
    tidy(beside);
    const struct header *exact = header_at(c, beside), *found = exact;
    char tail[MAX_PATH];
    snprintf(tail, sizeof tail, "%s", included);
    tidy(tail);
    while (strncmp(tail, "../", 3) == 0)
        memmove(tail, tail + 3, strlen(tail + 3) + 1);
    /* Reached by an include folder: one of this floor, should several be called so. */
    for (size_t i = 0; exact == NULL && i < c->header_count; i++)
        if ((found == NULL || found->floor != floor) && ends_in(c->headers[i].path, tail))
            found = &c->headers[i];
    if (found != NULL && found->floor != floor)
        violation(c, file, line, included, "a private header of another floor");
}

static void check_file(struct check *c, const struct floor *floor, const char *from_src,
                       const char *file, int is_public)
{
    FILE *in = fopen(file, "r");
    if (in == NULL) {
        violation(c, file, 0, file, strerror(errno));
        return;
    }
    c->files++;
    char text[4096], included[MAX_PATH];
    for (int line = 1; fgets(text, sizeof text, in) != NULL; line++) {
        if (sscanf(text, " # include %*1[<\"]%1000[^>\"]", included) != 1)
            continue;
        if (strncmp(included, "mistara/", 8) == 0)
            check_public(c, floor, file, line, included);
        else if (strstr(included, "include/mistara/") != NULL)
            violation(c, file, line, included, "public headers are included as <mistara/…>");
        else if (is_public && header_at(c, included) != NULL)
            violation(c, file, line, included, "a public header shows a private one");
        else if (!is_public)
            check_private(c, floor, from_src, file, line, included);
    }
    fclose(in);
}

typedef void visit(struct check *c, const char *path, const char *from_src);

static void walk(struct check *c, const char *path, const char *from_src, visit *each)
{
    DIR *dir = opendir(path);
    if (dir == NULL)
        return;
    for (struct dirent *e; (e = readdir(dir)) != NULL;) {
        char below[MAX_PATH], below_src[MAX_PATH];
        struct stat info;
        if (e->d_name[0] == '.' ||
            snprintf(below, sizeof below, "%s/%s", path, e->d_name) >= MAX_PATH ||
            snprintf(below_src, sizeof below_src, "%s%s%s", from_src, from_src[0] ? "/" : "",
                     e->d_name) >= MAX_PATH ||
            stat(below, &info) != 0)
            continue;
        if (S_ISDIR(info.st_mode))
            walk(c, below, below_src, each);
        else
            each(c, below, below_src);
    }
    closedir(dir);
}

static void collect_header(struct check *c, const char *path, const char *from_src)
{
    (void)path;
    size_t len = strlen(from_src);
    if (len < 3 || strcmp(from_src + len - 2, ".h") != 0 || c->header_count == MAX_HEADERS)
        return;
    struct header *h = &c->headers[c->header_count++];
    snprintf(h->path, sizeof h->path, "%s", from_src);
    h->floor = floor_called(from_src, strcspn(from_src, "/"));
}

static void check_source(struct check *c, const char *path, const char *from_src)
{
    size_t len = strlen(from_src);
    const struct floor *floor = floor_called(from_src, strcspn(from_src, "/"));
    if (len < 3 || (strcmp(from_src + len - 2, ".c") != 0 && strcmp(from_src + len - 2, ".h") != 0))
        return;
    if (floor == NULL)
        violation(c, path, 0, from_src, "this folder is no floor");
    else
        check_file(c, floor, from_src, path, 0);
}

static void check_public_header(struct check *c, const char *path, const char *name)
{
    size_t len = strlen(name);
    const struct floor *floor = len > 2 ? floor_of_public(name, len - 2) : NULL;
    if (floor == NULL)
        violation(c, path, 0, name, "no floor is known for this public header");
    else
        check_file(c, floor, name, path, 1);
}

int main(int argc, char **argv)
{
    static struct check c;
    char path[MAX_PATH + 32];
    if (argc != 2 || strlen(argv[1]) >= MAX_PATH) {
        fprintf(stderr, "usage: floors ROOT\n");
        return 2;
    }
    snprintf(path, sizeof path, "%s/src", argv[1]);
    walk(&c, path, "", collect_header);
    walk(&c, path, "", check_source);
    snprintf(path, sizeof path, "%s/include/mistara", argv[1]);
    walk(&c, path, "", check_public_header);
    printf("floors: %d files, %d violations\n", c.files, c.violations);
    if (c.files == 0) {
        fprintf(stderr, "floors: nothing was found under “%s”\n", argv[1]);
        return 2;
    }
    return c.violations > 0;
}
