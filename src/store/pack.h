/*
 * pack.h – many named files that become one thing, whole or not at all: a tar
 * file, or a folder. Names are paths with / that lead downwards. The BLAKE2b-256
 * of each goes into SUMS, which closes it.
 */
#ifndef STORE_PACK_H
#define STORE_PACK_H

#include <mistara/store.h>

struct pack;
/* As a tar file readable by its owner alone. */
MST_MUST_CHECK enum mst_status pack_open_tar(const char *file, struct pack **out,
                                             struct mst_error *err);
/* As a folder, which must not be there yet. */
MST_MUST_CHECK enum mst_status pack_open_folder(const char *folder, struct pack **out,
                                                struct mst_error *err);
MST_MUST_CHECK enum mst_status pack_bytes(struct pack *pack, const char *name, const void *bytes,
                                          size_t len, struct mst_error *err);
/* The first `limit` bytes of the file (-1: all), and the BLAKE2b-256 of them. *there 0: there is no
 * such file, nothing is added. */
MST_MUST_CHECK enum mst_status pack_file(struct pack *pack, const char *name, const char *path,
                                         int64_t limit, int *there, char hash[MST_HASH_HEX_SIZE],
                                         struct mst_error *err);
/* All of an open file; it stays open. */
MST_MUST_CHECK enum mst_status pack_fd(struct pack *pack, const char *name, int fd,
                                       struct mst_error *err);
/* Exactly one of the two ends it. bytes, digest: of the tar file. */
MST_MUST_CHECK enum mst_status pack_close(struct pack *pack, int64_t *bytes,
                                          char digest[MST_HASH_HEX_SIZE], struct mst_error *err);
void pack_drop(struct pack *pack); /* accepts NULL */
int pack_count(const struct pack *pack);

#endif
