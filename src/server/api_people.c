/*
 * api_people.c – the people of a class: added, changed, deleted with a
 * receipt; the codes they come in with, on cards; what they agreed to.
 */
#include "desk.h"

#include <stdio.h>
#include <string.h>

enum { LABEL_MOST = 120, NOTE_MOST = 2000, CODE_DAYS = 14, CODE_DAYS_MOST = 90 };
static const int64_t day_ms = 24 * 3600 * 1000LL;

/* --- a person as JSON --------------------------------------------------------------- */

static void consent_json(struct mst_string *s, const struct mst_class *c,
                         const struct mst_consent *consent)
{
    if (consent->said_ms == 0) {
        js_null(s, "consent");
        return;
    }
    js_open(s, "consent", '{');
    js_text(s, "by", consent->by);
    js_integer(s, "said_ms", consent->said_ms);
    js_integer(s, "withdrawn_ms", consent->withdrawn_ms);
    js_bool(s, "holds", consent_holds(c, consent));
    js_close(s, '}');
}

static void code_json(struct mst_string *s, const struct mst_join_code *code)
{
    if (code->made_ms == 0 || code->revoked_ms != 0) {
        js_null(s, "code");
        return;
    }
    js_open(s, "code", '{');
    js_integer(s, "made_ms", code->made_ms);
    js_integer(s, "ends_ms", code->ends_ms);
    js_integer(s, "used_ms", code->used_ms);
    js_close(s, '}');
}

static enum mst_status person_json(struct request *rq, const char *key, const struct mst_class *c,
                                   const struct mst_person *person, struct mst_error *err)
{
    struct mst_string *s = &rq->reply.body;
    struct mst_consent consent;
    struct mst_join_code code;
    enum mst_status status = mst_consent_get(rq->desk->store, person->id, rq->arena, &consent, err);
    if (status == MST_OK)
        status = mst_join_get(rq->desk->store, person->id, &code, err);
    if (status != MST_OK)
        return status;
    js_open(s, key, '{');
    js_text(s, "id", person->id);
    js_text(s, "class", person->class_id);
    js_text(s, "role", person->role);
    js_text(s, "label", person->label);
    js_text(s, "note", person->note);
    js_text(s, "language", person->language);
    js_bool(s, "voice", person->voice != NULL);
    consent_json(s, c, &consent);
    code_json(s, &code);
    js_integer(s, "made_ms", person->made_ms);
    js_integer(s, "left_ms", person->left_ms);
    js_integer(s, "revision", person->revision);
    js_close(s, '}');
    return MST_OK;
}

/* The person a route is about, and their class. */
static enum mst_status person_of(struct request *rq, struct mst_person *person, struct mst_class *c,
                                 struct mst_error *err)
{
    enum mst_status status = mst_person_get(rq->desk->store, rq->args[0], rq->arena, person, err);
    return status == MST_OK ? mst_class_get(rq->desk->store, person->class_id, rq->arena, c, err)
                            : status;
}

static enum mst_status person_reply(struct request *rq, const char *id, unsigned wanted,
                                    struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    enum mst_status status = mst_person_get(rq->desk->store, id, rq->arena, &person, err);
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, person.class_id, rq->arena, &c, err);
    rq->reply.status = wanted;
    return status == MST_OK ? person_json(rq, NULL, &c, &person, err) : status;
}

void person_say(struct desk *desk, const char *class_id, const char *id)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    js_text(&s, "id", id);
    js_text(&s, "class", class_id);
    js_close(&s, '}');
    if (!s.failed)
        events_about(desk, class_id, NULL, "person", id, s.ptr, s.len);
    mst_string_free(&s);
}

void person_part(struct desk *desk, const char *id)
{
    gate_forget(desk->gate);
    events_part(desk, id);
}

enum mst_status get_people(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    struct mst_person *people;
    size_t count = 0;
    char base[320];
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    if (status == MST_OK)
        status = mst_person_list(rq->desk->store, c.id, rq->arena, &people, &count, err);
    js_open(s, NULL, '{');
    js_open(s, "people", '[');
    for (size_t n = 0; status == MST_OK && n < count; n++)
        status = person_json(rq, NULL, &c, &people[n], err);
    js_close(s, ']');
    js_bool(s, "elsewhere", gate_address(rq, base));
    js_close(s, '}');
    return status;
}

enum mst_status get_person(struct request *rq, struct mst_error *err)
{
    return person_reply(rq, rq->args[0], 200, err);
}

/* --- added, changed, deleted --------------------------------------------------------------- */

static enum mst_status person_members(struct request *rq, struct mst_person *person,
                                      struct mst_error *err)
{
    enum mst_status status = body_text(rq, "role", 20, &person->role, err);
    if (status == MST_OK && strcmp(person->role, "learner") != 0 &&
        strcmp(person->role, "assistant") != 0)
        status =
            mst_fail(err, MST_USAGE, "role is learner or assistant; “%.20s” given", person->role);
    if (status == MST_OK)
        status = body_text(rq, "label", LABEL_MOST, &person->label, err);
    if (status == MST_OK && !*person->label)
        status = mst_fail(err, MST_USAGE,
                          "the member label is missing: what you call this person, a nickname will "
                          "do");
    if (status == MST_OK)
        status = body_text(rq, "note", NOTE_MOST, &person->note, err);
    if (status == MST_OK)
        status = body_language(rq, &person->language, err);
    return status;
}

enum mst_status post_people(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    char id[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "role label note language", err);
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    if (status != MST_OK)
        return status;
    struct mst_person person = {
        .class_id = c.id, .role = "learner", .label = "", .note = "", .language = c.language};
    status = person_members(rq, &person, err);
    if (status == MST_OK)
        status = mst_person_add(rq->desk->store, &person, id, err);
    if (status != MST_OK)
        return status;
    person_say(rq->desk, c.id, id);
    return person_reply(rq, id, 201, err);
}

enum mst_status patch_person(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    enum mst_status status = body_only(rq, "role label note language left revision", err);
    if (status == MST_OK)
        status = person_of(rq, &person, &c, err);
    if (status != MST_OK)
        return status;
    const char *role = person.role;
    int left = person.left_ms != 0;
    status = person_members(rq, &person, err);
    if (status == MST_OK)
        status = body_flag(rq, "left", &left, err);
    if (status == MST_OK)
        status = body_integer(rq, "revision", &person.revision, err);
    if (status != MST_OK)
        return status;
    person.left_ms = !left ? 0 : person.left_ms ? person.left_ms : mst_store_now_ms();
    status = mst_person_put(rq->desk->store, &person, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status != MST_OK)
        return status;
    if (left || strcmp(role, person.role) != 0)
        person_part(rq->desk, person.id);
    person_say(rq->desk, c.id, person.id);
    return person_reply(rq, person.id, 200, err);
}

static void receipt_json(struct mst_string *s, const char *key, const struct mst_receipt *receipt)
{
    js_open(s, key, '{');
    js_text(s, "id", receipt->id);
    js_text(s, "person", receipt->person);
    js_integer(s, "made_ms", receipt->made_ms);
    js_raw(s, "took", receipt->took);
    js_raw(s, "backups", receipt->backups);
    js_close(s, '}');
}

enum mst_status delete_person(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    struct mst_receipt receipt;
    enum mst_status status = person_of(rq, &person, &c, err);
    if (status == MST_OK)
        status = mst_person_delete(rq->desk->store, person.id, rq->arena, &receipt, err);
    if (status != MST_OK)
        return status;
    person_part(rq->desk, person.id);
    sounds_forget_all(rq->desk);
    person_say(rq->desk, c.id, person.id);
    receipt_json(&rq->reply.body, NULL, &receipt);
    return MST_OK;
}

enum mst_status get_receipts(struct request *rq, struct mst_error *err)
{
    struct mst_receipt *receipts;
    size_t count;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_receipt_list(rq->desk->store, rq->arena, &receipts, &count, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_open(s, "receipts", '[');
    for (size_t n = 0; n < count; n++)
        receipt_json(s, NULL, &receipts[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

/* --- codes and cards ------------------------------------------------------------------------ */

struct code {
    char text[MST_JOIN_CODE_SIZE];
    char address[400], link[450];
    int64_t ends_ms;
    int elsewhere; /* the link leads here from other machines too */
};

static enum mst_status code_make(struct request *rq, const struct mst_person *person, int64_t days,
                                 struct code *out, struct mst_error *err)
{
    char base[320];
    if (person->left_ms != 0)
        return mst_fail(err, MST_USAGE, "this person has left the class; take them in again first");
    enum mst_status status =
        mst_join_make(rq->desk->store, person->id, days * day_ms, out->text, err);
    if (status != MST_OK)
        return status;
    out->ends_ms = mst_store_now_ms() + days * day_ms;
    out->elsewhere = gate_address(rq, base);
    snprintf(out->address, sizeof out->address, "%s/mine", base);
    snprintf(out->link, sizeof out->link, "%s#join=%s", out->address, out->text);
    person_say(rq->desk, person->class_id, person->id);
    return MST_OK;
}

enum mst_status post_code(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    struct code code = {0};
    int64_t days = CODE_DAYS;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = body_only(rq, "days", err);
    if (status == MST_OK)
        status = body_integer(rq, "days", &days, err);
    if (status == MST_OK && (days < 1 || days > CODE_DAYS_MOST))
        status = mst_fail(err, MST_USAGE, "days is a number from 1 to %d", CODE_DAYS_MOST);
    if (status == MST_OK)
        status = person_of(rq, &person, &c, err);
    if (status == MST_OK)
        status = code_make(rq, &person, days, &code, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_text(s, "code", code.text);
    js_integer(s, "ends_ms", code.ends_ms);
    js_text(s, "link", code.link);
    js_bool(s, "elsewhere", code.elsewhere);
    js_close(s, '}');
    rq->reply.status = 201;
    return MST_OK;
}

enum mst_status delete_code(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    enum mst_status status = person_of(rq, &person, &c, err);
    if (status == MST_OK)
        status = mst_join_revoke(rq->desk->store, person.id, err);
    if (status == MST_OK) {
        person_say(rq->desk, c.id, person.id);
        rq->reply.status = 204;
    }
    return status;
}

/* A new code, on paper: what was on an earlier card no longer opens anything. */
static enum mst_status card_reply(struct request *rq,
                                  enum mst_status (*write)(const struct mst_sheet *sheet,
                                                           struct mst_string *out,
                                                           struct mst_error *err),
                                  struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    struct code code = {0};
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet;
    enum mst_status status = person_of(rq, &person, &c, err);
    if (status == MST_OK && rq->method == HEAD)
        return MST_OK; /* who only looks whether it is there makes no new code */
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = code_make(rq, &person, CODE_DAYS, &code, err);
    struct join_card card = {.label = person.label,
                             .class_name = c.name,
                             .code = code.text,
                             .link = code.link,
                             .address = code.address,
                             .ends_ms = code.ends_ms};
    if (status == MST_OK)
        status = join_card_sheet(ts, &card, rq->arena, &sheet, err);
    if (status == MST_OK)
        status = write(sheet, &rq->reply.body, err);
    typeset_give_back(rq->desk, ts);
    return status;
}

static enum mst_status write_svg(const struct mst_sheet *sheet, struct mst_string *out,
                                 struct mst_error *err)
{
    return mst_sheet_svg(sheet, 0, MST_THEME_LIGHT, out, err);
}

enum mst_status get_card_pdf(struct request *rq, struct mst_error *err)
{
    rq->reply.type = "application/pdf";
    return card_reply(rq, mst_sheet_pdf, err);
}

enum mst_status get_card_svg(struct request *rq, struct mst_error *err)
{
    rq->reply.type = "image/svg+xml";
    return card_reply(rq, write_svg, err);
}

/* Cards for all who have not come in yet, and new codes on them. */
static enum mst_status cards_make(struct request *rq, const struct mst_class *c,
                                  struct join_card **out, size_t *count, struct mst_error *err)
{
    struct mst_person *people = NULL;
    size_t people_count = 0;
    *count = 0;
    enum mst_status status =
        mst_person_list(rq->desk->store, c->id, rq->arena, &people, &people_count, err);
    struct join_card *cards = mst_arena_alloc(rq->arena, people_count + 1, sizeof *cards);
    struct code *codes = mst_arena_alloc(rq->arena, people_count + 1, sizeof *codes);
    if (status == MST_OK && (!cards || !codes))
        status = no_memory(err);
    for (size_t n = 0; status == MST_OK && n < people_count; n++) {
        struct mst_join_code known;
        struct code *code = &codes[n];
        status = mst_join_get(rq->desk->store, people[n].id, &known, err);
        if (status != MST_OK || people[n].left_ms != 0 || known.used_ms != 0)
            continue;
        status = code_make(rq, &people[n], CODE_DAYS, code, err);
        cards[(*count)++] = (struct join_card){.label = people[n].label,
                                               .class_name = c->name,
                                               .code = code->text,
                                               .link = code->link,
                                               .address = code->address,
                                               .ends_ms = code->ends_ms};
    }
    *out = cards;
    return status;
}

enum mst_status post_cards(struct request *rq, struct mst_error *err)
{
    struct mst_class c;
    struct mst_typeset *ts = NULL;
    struct join_card *cards;
    struct mst_sheet *sheet;
    size_t count = 0;
    enum mst_status status = body_only(rq, "", err);
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, rq->args[0], rq->arena, &c, err);
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = cards_make(rq, &c, &cards, &count, err);
    if (status == MST_OK && count == 0)
        status = mst_fail(err, MST_NOT_FOUND,
                          "everyone in this class has come in already; for a new device give a "
                          "card of their own");
    if (status == MST_OK)
        status = join_cards_sheet(ts, cards, count, rq->arena, &sheet, err);
    if (status == MST_OK) {
        rq->reply.type = "application/pdf";
        status = mst_sheet_pdf(sheet, &rq->reply.body, err);
    }
    typeset_give_back(rq->desk, ts);
    return status;
}

/* --- what they agreed to -----------------------------------------------------------------------
 */

enum mst_status consent_say(struct request *rq, const struct mst_person *person,
                            const char *const ways[], struct mst_error *err)
{
    struct mst_class c;
    const char *by = NULL;
    int known = 0;
    enum mst_status status = body_only(rq, "by", err);
    if (status == MST_OK)
        status = body_text(rq, "by", 20, &by, err);
    for (int n = 0; by && ways[n]; n++)
        known |= strcmp(ways[n], by) == 0;
    if (status == MST_OK && !known)
        status = mst_fail(err, MST_USAGE, "by says who agreed: self, guardian%s",
                          ways[2] ? " or paper" : "");
    if (status == MST_OK)
        status = mst_class_get(rq->desk->store, person->class_id, rq->arena, &c, err);
    if (status == MST_OK)
        status = mst_consent_add(rq->desk->store, person->id, c.consent, by, err);
    if (status == MST_OK)
        person_say(rq->desk, c.id, person->id);
    return status;
}

enum mst_status consent_take_back(struct request *rq, const struct mst_person *person,
                                  struct mst_error *err)
{
    struct mst_submission *rows;
    size_t count = 0;
    int64_t recordings = 0;
    struct mst_submission_filter filter = {.person = person->id};
    enum mst_status status = mst_consent_withdraw(rq->desk->store, person->id, err);
    if (status == MST_NOT_FOUND)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status == MST_OK)
        status = mst_submission_list(rq->desk->store, &filter, rq->arena, &rows, &count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = 0; n < count; n++)
        recordings += rows[n].take != NULL;
    person_say(rq->desk, person->class_id, person->id);
    js_open(&rq->reply.body, NULL, '{');
    js_integer(&rq->reply.body, "recordings", recordings);
    js_close(&rq->reply.body, '}');
    return MST_OK;
}

enum mst_status post_consent(struct request *rq, struct mst_error *err)
{
    static const char *const ways[] = {"self", "guardian", "paper", NULL};
    struct mst_person person;
    struct mst_class c;
    enum mst_status status = person_of(rq, &person, &c, err);
    if (status == MST_OK)
        status = consent_say(rq, &person, ways, err);
    return status == MST_OK ? person_reply(rq, person.id, 200, err) : status;
}

enum mst_status delete_consent(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    struct mst_class c;
    enum mst_status status = person_of(rq, &person, &c, err);
    return status == MST_OK ? consent_take_back(rq, &person, err) : status;
}
