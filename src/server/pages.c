/* pages.c – the front end's files: compressed where the browser takes it, kept where their name
 * holds a hash, asked for again where it does not. */
#include "pages.h"
#include "fill.h"
#include "first.h"

#include <ctype.h>
#include <sodium.h>
#include <string.h>

static const char *type_of(const char *name)
{
    static const char *const types[][2] = {{".html", "text/html; charset=utf-8"},
                                           {".js", "text/javascript; charset=utf-8"},
                                           {".css", "text/css; charset=utf-8"},
                                           {".json", "application/json; charset=utf-8"},
                                           {".svg", "image/svg+xml"},
                                           {".png", "image/png"},
                                           {".ico", "image/x-icon"},
                                           {".woff2", "font/woff2"},
                                           {".wasm", "application/wasm"},
                                           {".txt", "text/plain; charset=utf-8"},
                                           {".map", "application/json"},
                                           {".webmanifest", "application/manifest+json"},
                                           {".wav", "audio/wav"}};
    const char *ending = strrchr(name, '.');
    for (size_t n = 0; ending && n < sizeof types / sizeof types[0]; n++)
        if (strcmp(ending, types[n][0]) == 0)
            return types[n][1];
    return "application/octet-stream";
}

const struct page *page_named(const char *name)
{
    for (size_t n = 0; n < page_count; n++)
        if (strcmp(pages[n].name, name) == 0)
            return &pages[n];
    return NULL;
}

/* "desk-3F9A2C1B.js": eight or more letters and digits after the last dash, a digit among them. */
static int has_hash(const char *name)
{
    const char *dash = strrchr(name, '-'), *dot = strrchr(name, '.');
    int digits = 0;
    if (!dash || !dot || dot - dash < 9)
        return 0;
    for (const char *c = dash + 1; c < dot; c++) {
        if (!isalnum((unsigned char)*c))
            return 0;
        digits |= isdigit((unsigned char)*c) || isupper((unsigned char)*c);
    }
    return digits;
}

static int accepts_gzip(struct request *rq)
{
    const char *value =
        MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Accept-Encoding");
    const char *at = value ? strstr(value, "gzip") : NULL;
    return at && strncmp(at + 4, ";q=0,", 5) != 0 && strcmp(at + 4, ";q=0") != 0;
}

static void policy(struct request *rq, const char *nonce)
{
    rq->reply.own_policy = 1;
    reply_header(
        rq, "Content-Security-Policy",
        mst_arena_printf(rq->arena,
                         "default-src 'none'; script-src 'self'; style-src 'self'%s%s%s; "
                         "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; "
                         "media-src 'self' blob:; worker-src 'self'; manifest-src 'self'; "
                         "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
                         nonce ? " 'nonce-" : "", nonce ? nonce : "", nonce ? "'" : ""));
    reply_header(rq, "Permissions-Policy",
                 "microphone=(self), camera=(), geolocation=(), payment=(), usb=()");
}

/* What is filled into index.html. */
struct index {
    struct request *rq;
    const char *nonce;
};

static void place(void *with, struct mst_span name, struct mst_span more, struct mst_string *out)
{
    struct index *index = with;
    struct request *rq = index->rq;
    if (fill_is(name, "HTML"))
        first_attributes(rq, out);
    else if (fill_is(name, "NONCE"))
        mst_string_adds(out, index->nonce ? index->nonce : "");
    else if (fill_is(name, "ARABIC")) { /* an English page has no use for its face */
        if (strcmp(first_language(rq), "ar") == 0)
            mst_string_add(out, more.ptr, more.len);
    } else if (fill_is(name, "INKS"))
        first_inks(out);
    else if (fill_is(name, "MORE")) { /* the text screen waits for no style but its own */
        if (!rq->signed_in || !first_passage(rq))
            mst_string_addf(out, "<link rel=\"stylesheet\" href=\"/%.*s\">\n", (int)more.len,
                            more.ptr);
    } else if (fill_is(name, "PAGE"))
        first_screen(rq, out);
    else if (fill_is(name, "FIRST"))
        first_answers(rq, out);
}

/* index.html, with a fresh nonce for its style, and what it shows and will ask first. */
static void index_reply(struct request *rq, const struct page *page)
{
    uint8_t random[18];
    char *nonce = mst_arena_alloc(rq->arena, 1, 32);
    randombytes_buf(random, sizeof random);
    if (nonce)
        sodium_bin2base64(nonce, 32, random, sizeof random, sodium_base64_VARIANT_ORIGINAL);
    fill(&rq->reply.body, (struct mst_span){(const char *)page->bytes, page->len}, place,
         &(struct index){.rq = rq, .nonce = nonce});
    policy(rq, nonce);
    reply_header(rq, "Cache-Control", "private, no-cache");
    rq->reply.type = "text/html; charset=utf-8";
}

static void file_reply(struct request *rq, const struct page *page)
{
    const char *known =
        MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "If-None-Match");
    policy(rq, NULL);
    reply_header(rq, "ETag", page->etag);
    reply_header(rq, "Cache-Control",
                 has_hash(page->name) ? "public, max-age=31536000, immutable" : "no-cache");
    reply_header(rq, "Vary", "Accept-Encoding");
    rq->reply.type = type_of(page->name);
    if (known && strstr(known, page->etag)) {
        rq->reply.status = 304;
        return;
    }
    rq->reply.kept = (struct mst_span){(const char *)page->bytes, page->len};
    if (page->gzip && accepts_gzip(rq)) {
        rq->reply.kept = (struct mst_span){(const char *)page->gzip, page->gzip_len};
        reply_header(rq, "Content-Encoding", "gzip");
    }
}

static const char no_pages[] =
    "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Mistara</title>"
    "<h1>Mistara</h1><p>This build carries no pages; its API is at work.</p>"
    "<p lang=\"ar\" dir=\"rtl\">هذه النسخة بلا صفحات، وواجهتها البرمجية عاملة.</p></html>";

enum mst_status page_reply(struct request *rq, struct mst_error *err)
{
    const char *name = rq->url[0] == '/' ? rq->url + 1 : rq->url;
    const struct page *page = page_named(name);
    if (page && strcmp(name, "index.html") != 0 && strncmp(name, "first/", 6) != 0) {
        file_reply(rq, page);
        return MST_OK;
    }
    if (*name && strchr(name, '.') && strcmp(name, "index.html") != 0)
        return mst_fail(err, MST_NOT_FOUND, "there is nothing at this address");
    page = page_named("index.html");
    if (page) {
        index_reply(rq, page);
    } else {
        policy(rq, NULL);
        rq->reply.type = "text/html; charset=utf-8";
        rq->reply.kept = (struct mst_span){no_pages, sizeof no_pages - 1};
    }
    return MST_OK;
}
