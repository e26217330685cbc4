/*
 * first.c – what a page will ask first, answered along with it. The page of a
 * passage comes with the passage's reading, the rules and the suras, so that
 * its words can be set as soon as its script runs and not several questions
 * later. They stand in the page as data (a script element of type
 * application/json, which runs nothing and which the content security policy
 * therefore leaves alone), each under the address it would have been asked at.
 *
 * The session's token is not among them: the page may be packed on its way.
 */
#include "first.h"

#include <string.h>

static const char passage_at_first[] = "67:1-5";

/* The address must be the very one the page asks. */
void first_encoded(struct mst_string *s, const char *text)
{
    for (; *text; text++) {
        unsigned char c = (unsigned char)*text;
        int plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (plain || strchr("-_.!~*'()", c))
            mst_string_add(s, text, 1);
        else
            mst_string_addf(s, "%%%02X", c);
    }
}

/* JSON into an element of the page: no “<” that might end it. */
static void add_in_page(struct mst_string *s, struct mst_span json)
{
    const char *at = json.ptr, *end = json.ptr + json.len, *mark;
    while ((mark = memchr(at, '<', (size_t)(end - at)))) {
        mst_string_add(s, at, (size_t)(mark - at));
        mst_string_adds(s, "\\u003c");
        at = mark + 1;
    }
    mst_string_add(s, at, (size_t)(end - at));
}

static const struct route *route_of(const char *path)
{
    for (size_t n = 0; n < route_count; n++)
        if (routes[n].method == GET && strcmp(routes[n].path, path) == 0)
            return &routes[n];
    return NULL;
}

struct request *first_question(struct request *page, const struct route *route)
{
    struct request *rq = route ? mst_arena_alloc(page->arena, 1, sizeof *rq) : NULL;
    if (!rq)
        return NULL;
    rq->desk = page->desk;
    rq->arena = page->arena;
    rq->connection = page->connection;
    rq->route = route;
    rq->url = route->path;
    rq->reply.fd = -1;
    return rq;
}

/* What takes its time is added only where it is kept already: no page waits for it. */
static void answer_add(struct request *rq, struct mst_string *s)
{
    struct mst_error ignored;
    struct answer *answer = rq->reply.status ? NULL : answer_find(rq);
    if (!answer && !rq->reply.status && !(rq->route->flags & SLOW) &&
        rq->route->run(rq, &ignored) == MST_OK && !rq->reply.status)
        answer = answer_keep(rq, &rq->reply.body);
    mst_string_free(&rq->reply.body);
    if (!answer)
        return; /* the page asks for it, and is told why not */
    struct mst_string address = {0};
    mst_string_adds(&address, rq->url);
    for (int n = 0; n < rq->param_count; n++) {
        mst_string_adds(&address, n ? "&" : "?");
        first_encoded(&address, rq->params[n].name);
        mst_string_adds(&address, "=");
        first_encoded(&address, rq->params[n].value);
    }
    /* nothing in an address that is encoded so has to be escaped in JSON */
    mst_string_addf(s, "%s\"%s\":", s->len && s->ptr[s->len - 1] == '{' ? "" : ",",
                    address.failed ? "" : address.ptr);
    add_in_page(s, answer_body(answer));
    s->failed |= address.failed;
    mst_string_free(&address);
    answer_let_go(answer);
}

const char *first_cookie(struct request *page, const char *name)
{
    return MHD_lookup_connection_value(page->connection, MHD_COOKIE_KIND, name);
}

void first_param(struct request *rq, const char *name, const char *value)
{
    http_param(rq, name, strlen(name), value, strlen(value));
}

static enum MHD_Result add_how(void *cls, enum MHD_ValueKind kind, const char *name,
                               size_t name_len, const char *value, size_t value_len)
{
    (void)kind;
    return http_param(cls, name, name_len, value, value_len) ? MHD_YES : MHD_NO;
}

void first_how(struct request *page, struct request *rq)
{
    MHD_get_connection_values_n(page->connection, MHD_GET_ARGUMENT_KIND, add_how, rq);
}

const char *first_language(struct request *page)
{
    const char *kept = first_cookie(page, "lang");
    const char *accepts =
        MHD_lookup_connection_value(page->connection, MHD_HEADER_KIND, "Accept-Language");
    if (kept && (strcmp(kept, "en") == 0 || strcmp(kept, "ar") == 0))
        return kept;
    return accepts && strncmp(accepts, "ar", 2) == 0 ? "ar" : "en";
}

const char *first_passage(struct request *page)
{
    static const char path[] = "/text/";
    if (strncmp(page->url, path, sizeof path - 1) == 0 && page->url[sizeof path - 1])
        return page->url + sizeof path - 1;
    if (strcmp(page->url, "/") != 0 && strcmp(page->url, "/text") != 0 &&
        strcmp(page->url, "/text/") != 0)
        return NULL;
    const char *kept = first_cookie(page, "passage");
    return kept && *kept ? kept : passage_at_first;
}

void first_answers(struct request *page, struct mst_string *html)
{
    struct mst_string json = {0}, *out = &json;
    js_open(out, NULL, '{');
    js_bool(out, "signed_in", page->signed_in);
    js_text(out, "role", page->signed_in ? role_of(page) : NULL);
    js_open(out, "answers", '{');
    const char *passage = page->signed_in ? first_passage(page) : NULL;
    struct request *rq;
    if (page->signed_in && (rq = first_question(page, route_of("/api/rules"))))
        answer_add(rq, out);
    if (page->signed_in && (rq = first_question(page, route_of("/api/suras"))))
        answer_add(rq, out);
    if (passage && (rq = first_question(page, route_of("/api/reading")))) {
        first_param(rq, "passage", passage);
        first_how(page, rq);
        first_param(rq, "lang", first_language(page));
        first_param(rq, "parts", "words,letters,sites");
        answer_add(rq, out);
    }
    if (passage && (rq = first_question(page, route_of("/api/ink")))) {
        first_param(rq, "passage", passage);
        answer_add(rq, out);
    }
    mst_string_adds(out, "}}");
    mst_string_add(html, json.ptr ? json.ptr : "", json.len);
    html->failed |= json.failed;
    mst_string_free(&json);
}
