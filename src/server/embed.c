/*
 * embed: write files into a C source (pages.h).
 *
 *   embed OUTPUT.c NAME=FILE|FOLDER…
 *
 * Of a folder, every file by its path within. Runs while Mistara is built.
 */
#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <zlib.h>

enum { FILES_MOST = 1000, PATH_MOST = 2048 };

struct file {
    char name[PATH_MOST * 2], path[PATH_MOST * 2];
};
struct list {
    struct file files[FILES_MOST];
    size_t count;
};

static void fail(const char *what, const char *path)
{
    fprintf(stderr, "embed: %s: %s: %s\n", path, what, strerror(errno));
    exit(1);
}

static void add(struct list *list, const char *name, const char *path)
{
    if (list->count == FILES_MOST)
        fail("too many files", path);
    struct file *file = &list->files[list->count++];
    snprintf(file->name, sizeof file->name, "%s", name);
    snprintf(file->path, sizeof file->path, "%s", path);
}

static void add_folder(struct list *list, const char *folder, const char *prefix)
{
    struct dirent **entries;
    int count = scandir(folder, &entries, NULL, alphasort);
    if (count < 0)
        fail("cannot be read", folder);
    for (int n = 0; n < count; n++) {
        char path[PATH_MOST * 2], name[PATH_MOST * 2];
        struct stat st;
        snprintf(path, sizeof path, "%s/%s", folder, entries[n]->d_name);
        snprintf(name, sizeof name, "%s%s", prefix, entries[n]->d_name);
        if (entries[n]->d_name[0] != '.' && stat(path, &st) == 0) {
            if (S_ISDIR(st.st_mode)) {
                strcat(name, "/");
                add_folder(list, path, name);
            } else {
                add(list, name, path);
            }
        }
        free(entries[n]);
    }
    free(entries);
}

static unsigned char *file_read(const char *path, size_t *len)
{
    FILE *in = fopen(path, "rb");
    struct stat st;
    if (!in || fstat(fileno(in), &st) != 0)
        fail("cannot be read", path);
    unsigned char *bytes = malloc((size_t)st.st_size + 1);
    if (!bytes)
        fail("memory ran out", path);
    *len = fread(bytes, 1, (size_t)st.st_size, in);
    if (*len != (size_t)st.st_size)
        fail("cannot be read whole", path);
    fclose(in);
    return bytes;
}

static unsigned char *gzipped(const unsigned char *bytes, size_t len, size_t *out_len)
{
    z_stream z = {0};
    if (deflateInit2(&z, 9, Z_DEFLATED, 15 + 16, 9, Z_DEFAULT_STRATEGY) != Z_OK)
        return NULL;
    size_t room = deflateBound(&z, len) + 64;
    unsigned char *out = malloc(room);
    if (!out)
        fail("memory ran out", "gzip");
    z.next_in = (unsigned char *)(uintptr_t)bytes;
    z.avail_in = (unsigned)len;
    z.next_out = out;
    z.avail_out = (unsigned)room;
    if (deflate(&z, Z_FINISH) != Z_STREAM_END)
        fail("cannot be compressed", "gzip");
    *out_len = z.total_out;
    deflateEnd(&z);
    return out;
}

static void array(FILE *out, const char *name, size_t number, const unsigned char *bytes,
                  size_t len)
{
    fprintf(out, "static const unsigned char %s%zu[] = {", name, number);
    for (size_t n = 0; n < len; n++)
        fprintf(out, "%s%u,", n % 24 == 0 ? "\n" : "", bytes[n]);
    fprintf(out, "0};\n");
}

static uint64_t hash_of(const unsigned char *bytes, size_t len)
{
    uint64_t hash = 14695981039346656037u;
    for (size_t n = 0; n < len; n++)
        hash = (hash ^ bytes[n]) * 1099511628211u;
    return hash;
}

int main(int argc, char **argv)
{
    struct list *list = calloc(1, sizeof *list);
    if (argc < 2 || !list)
        return 1;
    for (int n = 2; n < argc; n++) {
        char *equals = strchr(argv[n], '=');
        if (equals) {
            *equals = '\0';
            add(list, argv[n], equals + 1);
        } else {
            add_folder(list, argv[n], "");
        }
    }
    FILE *out = fopen(argv[1], "w");
    if (!out)
        fail("cannot be written", argv[1]);
    char *table = NULL;
    size_t table_len = 0;
    FILE *rows = open_memstream(&table, &table_len);
    fprintf(out, "#include \"pages.h\"\n");
    for (size_t n = 0; n < list->count; n++) {
        size_t len, gzip_len;
        unsigned char *bytes = file_read(list->files[n].path, &len);
        unsigned char *gzip = gzipped(bytes, len, &gzip_len);
        int worth = gzip && len > 500 && gzip_len < len - len / 10;
        array(out, "bytes", n, bytes, len);
        if (worth)
            array(out, "gzip", n, gzip, gzip_len);
        fprintf(rows, "    {\"%s\", bytes%zu, %zu, ", list->files[n].name, n, len);
        if (worth)
            fprintf(rows, "gzip%zu, %zu, ", n, gzip_len);
        else
            fprintf(rows, "NULL, 0, ");
        fprintf(rows, "\"\\\"%016" PRIx64 "\\\"\"},\n", hash_of(bytes, len));
        free(bytes);
        free(gzip);
    }
    fclose(rows);
    fprintf(out, "const struct page pages[] = {\n%s    {NULL, NULL, 0, NULL, 0, NULL}};\n", table);
    fprintf(out, "const size_t page_count = %zu;\n", list->count);
    free(table);
    free(list);
    return fclose(out) != 0;
}
