/* Leaves inside: a sheet without a reading, and the page under way. */
#ifndef TYPESET_LEAVES_H
#define TYPESET_LEAVES_H

#include "sheet.h"

#include <mistara/leaves.h>

struct mst_leaves {
    struct mst_sheet sheet;
    struct mst_reading nothing; /* no letters, no sites */
    int failed;
};

/* The page under way; NULL before the first one or when memory ran out. */
struct scene *leaves_page(struct mst_leaves *leaves);

#endif
