/* pdf.c – the language of a PDF: cairo 1.16, which draws ours, cannot say it. */
#include <mistara/base.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The last occurrence of needle, or NULL. */
static const char *find_last(const struct mst_string *s, const char *needle)
{
    size_t n = strlen(needle);
    for (size_t i = s->len >= n ? s->len - n + 1 : 0; i-- > 0;)
        if (memcmp(s->ptr + i, needle, n) == 0)
            return s->ptr + i;
    return NULL;
}

static long number_after(const char *where, const char *key)
{
    const char *at = where ? strstr(where, key) : NULL;
    return at ? strtol(at + strlen(key), NULL, 10) : -1;
}

enum mst_status mst_pdf_add_language(const struct mst_string *pdf, enum mst_lang lang,
                                     struct mst_string *out, struct mst_error *err)
{
    const char *trailer = find_last(pdf, "trailer");
    const char *startxref = find_last(pdf, "startxref");
    long size = number_after(trailer, "/Size "), root = number_after(trailer, "/Root ");
    long info = number_after(trailer, "/Info "), previous = number_after(startxref, "startxref");
    if (size < 0 || root < 0 || previous < 0)
        return mst_fail(err, MST_INTERNAL, "the PDF has no trailer we know");

    char header[32];
    int header_len = snprintf(header, sizeof header, "\n%ld 0 obj", root);
    const char *catalog = memmem(pdf->ptr, pdf->len, header, (size_t)header_len);
    const char *body = catalog ? strstr(catalog, "<<") : NULL;
    const char *end = body ? strstr(body, "endobj") : NULL;
    const char *close = NULL;
    for (const char *p = body; end && p && p + 1 < end; p++)
        if (p[0] == '>' && p[1] == '>')
            close = p;
    if (!close)
        return mst_fail(err, MST_INTERNAL, "the PDF has no catalog we know");

    mst_string_add(out, pdf->ptr, pdf->len);
    if (out->len && out->ptr[out->len - 1] != '\n')
        mst_string_adds(out, "\n");
    size_t object = out->len;
    mst_string_addf(out, "%ld 0 obj\n", root);
    mst_string_add(out, body, (size_t)(close - body));
    mst_string_addf(out,
                    "   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true /Direction /%s "
                    ">>\n>>\nendobj\n",
                    lang == MST_LANG_AR ? "ar" : "en", lang == MST_LANG_AR ? "R2L" : "L2R");
    size_t xref = out->len;
    mst_string_addf(out, "xref\n%ld 1\n%010zu 00000 n \ntrailer\n<< /Size %ld\n   /Root %ld 0 R\n",
                    root, object, size, root);
    if (info >= 0)
        mst_string_addf(out, "   /Info %ld 0 R\n", info);
    mst_string_addf(out, "   /Prev %ld\n>>\nstartxref\n%zu\n%%%%EOF\n", previous, xref);
    if (out->failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the PDF");
    return MST_OK;
}
