/* api_session.c – signing in and out: with a link, the passphrase or the code of a card; who is
 * signed in; another passphrase; that the desk is there. What holds is decided by the gate. */
#include "desk.h"

/* Who is signed in, when it is not the teacher. */
static enum mst_status person_json(struct request *rq, struct mst_error *err)
{
    struct mst_string *s = &rq->reply.body;
    const struct mst_person *who = rq->signed_in ? rq->person : NULL;
    struct mst_class of;
    if (!who) {
        js_null(s, "person");
        js_null(s, "class");
        return MST_OK;
    }
    enum mst_status status = mst_class_get(rq->desk->store, who->class_id, rq->arena, &of, err);
    if (status != MST_OK)
        return status;
    own_person_json(s, who);
    js_open(s, "class", '{');
    js_text(s, "id", of.id);
    js_text(s, "name", of.name);
    js_close(s, '}');
    return MST_OK;
}

static enum mst_status session_reply(struct request *rq, struct mst_error *err)
{
    int set;
    enum mst_status status = gate_has_passphrase(rq->desk->store, &set, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_bool(s, "signed_in", rq->signed_in);
    js_text(s, "token", rq->signed_in ? rq->session.token : NULL);
    js_text(s, "role", rq->signed_in ? role_of(rq) : NULL);
    status = person_json(rq, err);
    js_open(s, "ways", '[');
    if (rq->desk->loopback)
        js_text(s, NULL, "link");
    if (set)
        js_text(s, NULL, "passphrase");
    js_close(s, ']');
    js_bool(s, "passphrase", set);
    js_text(s, "version", MISTARA_VERSION);
    js_close(s, '}');
    return status;
}

enum mst_status get_session(struct request *rq, struct mst_error *err)
{
    return session_reply(rq, err);
}

/* The code of a card. It holds once. */
static enum mst_status code_spend(struct request *rq, const char *code, char person[MST_ID_SIZE],
                                  int *fits, struct mst_error *err)
{
    enum mst_status status = mst_join_use(rq->desk->store, code, person, err);
    *fits = status == MST_OK;
    return status == MST_NOT_FOUND ? MST_OK : status;
}

enum mst_status post_session(struct request *rq, struct mst_error *err)
{
    const char *link = NULL, *passphrase = NULL, *code = NULL;
    char person[MST_ID_SIZE] = "";
    int fits = 0;
    enum mst_status status = body_only(rq, "link passphrase code", err);
    if (status == MST_OK)
        status = body_text(rq, "link", 200, &link, err);
    if (status == MST_OK)
        status = body_text(rq, "passphrase", PASSPHRASE_MOST, &passphrase, err);
    if (status == MST_OK)
        status = body_text(rq, "code", 200, &code, err);
    if (status == MST_OK && !!link + !!passphrase + !!code != 1)
        status = mst_fail(err, MST_USAGE,
                          "sign in with a link, with the passphrase or with the "
                          "code of a card");
    if (status != MST_OK || !pace_allows(rq, PACE_SIGN_IN))
        return status;
    if (link && rq->desk->loopback)
        fits = gate_spend_link(rq->desk->gate, link);
    else if (passphrase)
        status = gate_passphrase_fits(rq, passphrase, &fits, err);
    else if (code)
        status = code_spend(rq, code, person, &fits, err);
    if (status == MST_OK && !fits)
        return reply_error(rq, 401, "sign_in",
                           link   ? "the link was used before, or is too old; start the desk again "
                                    "for a new one"
                           : code ? "the code was used before, is too old, or was mistyped; ask "
                                    "your teacher for a new card"
                                  : "that is not the passphrase");
    if (status != MST_OK)
        return status;
    pace_forgive_sign_in(rq);
    status = gate_sign_in(rq, person, err);
    if (status != MST_OK)
        return status;
    rq->reply.status = 201;
    return session_reply(rq, err);
}

enum mst_status delete_session(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_store_session_remove(rq->desk->store, rq->session.key, NULL, err);
    gate_forget(rq->desk->gate);
    if (status != MST_OK)
        return status;
    events_session_ended(rq->desk, rq->session.key, NULL);
    reply_header(rq, "Set-Cookie", "mistara=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
    rq->reply.status = 204;
    return MST_OK;
}

enum mst_status put_passphrase(struct request *rq, struct mst_error *err)
{
    const char *passphrase = NULL, *current = NULL;
    int set, fits = 0;
    enum mst_status status = body_only(rq, "passphrase current", err);
    if (status == MST_OK)
        status = body_text(rq, "passphrase", PASSPHRASE_MOST, &passphrase, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "current", PASSPHRASE_MOST, &current, err);
    if (status == MST_OK && !passphrase)
        status = mst_fail(err, MST_USAGE, "the member passphrase is missing");
    if (status == MST_OK)
        status = gate_has_passphrase(rq->desk->store, &set, err);
    if (status != MST_OK || !pace_allows(rq, PACE_SIGN_IN))
        return status;
    if (set)
        status = gate_passphrase_fits(rq, current, &fits, err);
    if (status == MST_OK && set && !fits)
        return reply_error(rq, 403, "forbidden", "that is not the passphrase there is");
    if (status == MST_OK)
        status = gate_set_passphrase(rq->desk->store, passphrase, err);
    if (status == MST_OK)
        status = mst_store_session_remove(rq->desk->store, NULL, rq->session.key, err);
    if (status == MST_OK)
        events_session_ended(rq->desk, NULL, rq->session.key);
    gate_forget(rq->desk->gate);
    rq->reply.status = status == MST_OK ? 204 : 0;
    return status;
}

enum mst_status get_health(struct request *rq, struct mst_error *err)
{
    (void)err;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_text(s, "status", "ok");
    js_text(s, "version", MISTARA_VERSION);
    js_close(s, '}');
    return MST_OK;
}
