/*
 * Laying sections one after another into a packed text.  Nothing reaches the
 * disk before pack_writer_finish().  Errors are sticky and told there.
 */
#ifndef PACK_WRITER_H
#define PACK_WRITER_H

#include <mistara/base.h>
#include <text/pack_format.h>

enum { PACK_MAX_SECTIONS = 128 };

struct pack_writer {
    struct mst_string body; /* the sections, padded, from the first one on */
    struct mst_string strings;
    struct pack_section table[PACK_MAX_SECTIONS]; /* offsets from the start of body */
    uint32_t count;
    int failed;
};

/* Remember a text in STRINGS. */
struct pack_text pack_writer_text(struct pack_writer *w, const char *bytes, size_t len);
/* Append a section of bytes. number: of the translation, else 0. */
void pack_writer_section(struct pack_writer *w, enum pack_kind kind, uint32_t number,
                         const void *bytes, size_t len);
/* Append STRINGS, write header, table and body to path, free the writer's memory. */
MST_MUST_CHECK enum mst_status pack_writer_finish(struct pack_writer *w, const char *path,
                                                  struct mst_error *err);

#endif
