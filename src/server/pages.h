/* pages.h – the front end's files as the embedder wrote them into the program. */
#ifndef SERVER_PAGES_H
#define SERVER_PAGES_H

#include <stddef.h>

struct page {
    const char *name; /* "desk-3F9A2C1B.js", "fonts/amiri-quran.woff2" */
    const unsigned char *bytes;
    size_t len;
    const unsigned char *gzip; /* NULL: not worth it */
    size_t gzip_len;
    const char *etag; /* with its quotes */
};
extern const struct page pages[];
extern const size_t page_count;
const struct page *page_named(const char *name); /* NULL: there is none */

#endif
