/* What the writers share. */
#ifndef TYPESET_WRITERS_H
#define TYPESET_WRITERS_H

#include "sheet.h"

/*
 * Cairo 1.16 cannot say in which language a document is. This appends, as PDF
 * 1.7 (ISO 32000-1, 7.5.6 "Incremental updates") foresees, a second version
 * of the document's catalog with /Lang and /ViewerPreferences (show the title,
 * read from right to left), and the cross-reference section that leads to it.
 */
MST_MUST_CHECK enum mst_status pdf_add_language(const struct mst_string *pdf, const char *lang,
                                                struct mst_string *out, struct mst_error *err);

#endif
