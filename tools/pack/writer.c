#include "writer.h"

#include <string.h>

struct pack_text pack_writer_text(struct pack_writer *w, const char *bytes, size_t len)
{
    struct pack_text where = {(uint32_t)w->strings.len, (uint32_t)len};
    if (w->strings.len > UINT32_MAX - len)
        w->failed = 1;
    mst_string_add(&w->strings, bytes, len);
    return where;
}

static void pad(struct mst_string *s)
{
    static const char zeros[PACK_ALIGN] = {0};
    mst_string_add(s, zeros, (PACK_ALIGN - s->len % PACK_ALIGN) % PACK_ALIGN);
}

void pack_writer_section(struct pack_writer *w, enum pack_kind kind, uint32_t number,
                         const void *bytes, size_t len)
{
    if (w->count == PACK_MAX_SECTIONS) {
        w->failed = 1;
        return;
    }
    pad(&w->body);
    w->table[w->count++] =
        (struct pack_section){kind, number, w->body.len, len, text_checksum(bytes, len)};
    mst_string_add(&w->body, bytes, len);
}

enum mst_status pack_writer_finish(struct pack_writer *w, const char *path, struct mst_error *err)
{
    pack_writer_section(w, PACK_STRINGS, 0, w->strings.len > 0 ? w->strings.ptr : "",
                        w->strings.len);

    struct pack_header header = {.magic = PACK_MAGIC, .version = PACK_VERSION};
    size_t table_bytes = w->count * sizeof w->table[0], body_at = sizeof header + table_bytes;
    for (uint32_t i = 0; i < w->count; i++)
        w->table[i].offset += body_at;
    header.section_count = w->count;
    header.file_bytes = body_at + w->body.len;
    header.table_checksum = text_checksum(w->table, table_bytes);
    header.header_checksum = text_checksum(&header, offsetof(struct pack_header, header_checksum));

    enum mst_status status = MST_OK;
    struct mst_outfile *file = NULL;
    if (w->failed || w->strings.failed || w->body.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out, or there is too much to pack");
    else
        status = mst_outfile_open(path, &file, err);
    if (status == MST_OK) {
        mst_outfile_write(file, &header, sizeof header);
        mst_outfile_write(file, w->table, table_bytes);
        mst_outfile_write(file, w->body.ptr, w->body.len);
        status = mst_outfile_commit(file, err);
    }
    mst_string_free(&w->body);
    mst_string_free(&w->strings);
    *w = (struct pack_writer){0};
    return status;
}
