/* fill.h – text with places in it, @NAME@ or @NAME more@, that are filled as it is copied. */
#ifndef SERVER_FILL_H
#define SERVER_FILL_H

#include <mistara/base.h>

typedef void fill_place(void *with, struct mst_span name, struct mst_span more,
                        struct mst_string *out);
void fill(struct mst_string *out, struct mst_span text, fill_place *place, void *with);
int fill_is(struct mst_span name, const char *wanted);

#endif
