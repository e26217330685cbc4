/* A folder of its own for each test that writes files, gone afterwards. */
#ifndef TEST_BASE_FOLDER_H
#define TEST_BASE_FOLDER_H

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct folder {
    char path[256];
};

static inline void folder_make(struct folder *f)
{
    const char *tmp = getenv("TMPDIR");
    snprintf(f->path, sizeof f->path, "%s/mistara-test-XXXXXX", tmp != NULL ? tmp : P_tmpdir);
    if (mkdtemp(f->path) == NULL)
        abort();
}

static inline char *folder_file(const struct folder *f, const char *name, char out[512])
{
    snprintf(out, 512, "%s/%s", f->path, name);
    return out;
}

/* How many things lie in the folder. */
static inline int folder_count(const struct folder *f)
{
    DIR *dir = opendir(f->path);
    int count = 0;
    if (dir == NULL)
        abort();
    for (struct dirent *e; (e = readdir(dir)) != NULL;)
        count += strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0;
    closedir(dir);
    return count;
}

static inline void folder_remove(const struct folder *f)
{
    DIR *dir = opendir(f->path);
    if (dir == NULL)
        abort();
    for (struct dirent *e; (e = readdir(dir)) != NULL;) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s", f->path, e->d_name);
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0 && unlink(path) != 0)
            rmdir(path);
    }
    closedir(dir);
    rmdir(f->path);
}

/* The whole of a small file as text; free() it. NULL when it is not there. */
static inline char *slurp(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    char *text = calloc(1, 1 << 20);
    size_t len = fread(text, 1, (1 << 20) - 1, file);
    text[len] = '\0';
    fclose(file);
    return text;
}

#endif
