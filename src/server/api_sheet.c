/* api_sheet.c – the sheet in every form, and fonts that are opened once and lent out. */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

enum mst_status typeset_borrow(struct desk *desk, struct mst_typeset **out, struct mst_error *err)
{
    pthread_mutex_lock(&desk->typeset_lock);
    *out = desk->typeset_count > 0 ? desk->typesets[--desk->typeset_count] : NULL;
    pthread_mutex_unlock(&desk->typeset_lock);
    enum mst_status status = *out ? MST_OK : mst_typeset_open(NULL, out, err);
    /* It is this installation that lacks a font, not the asker who named something wrong. */
    return status == MST_NOT_FOUND ? MST_UNSUPPORTED : status;
}

void typeset_give_back(struct desk *desk, struct mst_typeset *ts)
{
    if (!ts)
        return;
    pthread_mutex_lock(&desk->typeset_lock);
    int keeps = desk->typeset_count < TYPESETS_MOST;
    if (keeps)
        desk->typesets[desk->typeset_count++] = ts;
    pthread_mutex_unlock(&desk->typeset_lock);
    if (!keeps)
        mst_typeset_close(ts);
}

static enum mst_status line_stages(const struct request *rq, struct mst_sheet_options *options,
                                   struct mst_error *err)
{
    const char *typed = param(rq, "stages");
    if (!typed)
        return MST_OK;
    size_t len = strlen(typed), count = 0;
    uint8_t *stages = mst_arena_alloc(rq->arena, len + 1, 1);
    if (!stages)
        return no_memory(err);
    for (size_t at = 0; at < len || len == 0; at += 2) {
        if (typed[at] < '0' || typed[at] >= '0' + MST_FADE_STAGES ||
            (typed[at + 1] != ',' && typed[at + 1] != '\0'))
            return mst_fail(err, MST_USAGE,
                            "stages takes stages 0 to 4 with commas between them, such as "
                            "0,0,1,2; “%.60s” given",
                            typed);
        stages[count++] = (uint8_t)(typed[at] - '0');
        if (typed[at + 1] == '\0')
            break;
    }
    options->line_stages = stages;
    options->line_stage_count = count;
    return MST_OK;
}

static struct mst_span words_of(const struct request *rq, const char *name)
{
    const char *value = param(rq, name);
    return mst_span_of(value ? value : "");
}

enum mst_status sheet_request_read(const struct request *rq, struct sheet_request *out,
                                   struct mst_error *err)
{
    static const char *const fonts[] = {"amiri", "scheherazade", NULL};
    static const char *const labels[] = {"both", "en", "ar", NULL};
    static const char *const keys[] = {"auto", "foot", "page", "none", NULL};
    static const char *const themes[] = {"light", "dark", NULL};
    int font = 0, label = 0, key = 0, theme = 0, stage = 0;
    *out = (struct sheet_request){.page = 1, .dpi = 144};
    struct mst_sheet_options *o = &out->options;
    const char *paper = param(rq, "paper");
    enum mst_status status = param_passage(rq, &out->range, err);
    if (status == MST_OK)
        status = how_of_request(rq, &out->how, err);
    if (status == MST_OK)
        status = param_rules(rq, "rules", &o->rules, err);
    if (status == MST_OK && paper && *paper)
        status = mst_page_parse(mst_span_of(paper), &o->page, err);
    if (status == MST_OK)
        status = param_choice(rq, "font", fonts, &font, err);
    if (status == MST_OK)
        status = param_choice(rq, "labels", labels, &label, err);
    if (status == MST_OK)
        status = param_choice(rq, "key", keys, &key, err);
    if (status == MST_OK)
        status = param_choice(rq, "theme", themes, &theme, err);
    if (status == MST_OK)
        status = param_int(rq, "stage", 0, MST_FADE_STAGES - 1, &stage, err);
    if (status == MST_OK)
        status = param_flag(rq, "fade", &o->fade_evenly, err);
    if (status == MST_OK)
        status = param_flag(rq, "no_stops", &o->no_stops, err);
    if (status == MST_OK)
        status = param_real(rq, "size", 6, 200, &o->type_size, err);
    if (status == MST_OK)
        status = param_int(rq, "page", 1, 10000, &out->page, err);
    if (status == MST_OK)
        status = param_int(rq, "dpi", 36, 400, &out->dpi, err);
    if (status == MST_OK)
        status = line_stages(rq, o, err);
    o->font = (enum mst_sheet_font)font;
    o->labels = (enum mst_sheet_labels)label;
    o->key = (enum mst_sheet_key)key;
    o->stage = (enum mst_fade)stage;
    o->title = words_of(rq, "title");
    o->class_line = words_of(rq, "class");
    o->gloss = words_of(rq, "gloss");
    out->theme = theme ? MST_THEME_DARK : MST_THEME_LIGHT;
    if (status == MST_OK && (o->title.len > 400 || o->class_line.len > 400))
        status = mst_fail(err, MST_USAGE, "title and class have at most 400 bytes");
    return status;
}

enum form { FORM_SVG, FORM_PNG, FORM_PDF, FORM_JSON, FORM_TXT };

static enum mst_status sheet_write(const struct mst_sheet *sheet, const struct sheet_request *q,
                                   enum form form, struct mst_string *out, struct mst_error *err)
{
    int page = q->page - 1;
    switch (form) {
    case FORM_SVG:
        return mst_sheet_svg(sheet, page, q->theme, out, err);
    case FORM_PNG:
        return mst_sheet_png(sheet, page, q->dpi, q->theme, out, err);
    case FORM_PDF:
        return mst_sheet_pdf(sheet, out, err);
    case FORM_JSON:
        return mst_sheet_boxes_json(sheet, page, out, err);
    case FORM_TXT:
        break;
    }
    return mst_sheet_text(sheet, MST_LANG_EN, out, err);
}

static enum mst_status sheet_reply(struct request *rq, enum form form, struct mst_error *err)
{
    static const char *const types[] = {"image/svg+xml; charset=utf-8", "image/png",
                                        "application/pdf", NULL, "text/plain; charset=utf-8"};
    struct sheet_request q;
    struct mst_reading *r = NULL;
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet = NULL;
    enum mst_status status = sheet_request_read(rq, &q, err);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, q.range, err);
    if (status == MST_OK)
        status = mst_reading_new(rq->desk->text, q.range, &q.how, rq->arena, &r, err);
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = mst_sheet_new(ts, r, &q.options, rq->arena, &sheet, err);
    int pages = status == MST_OK ? mst_sheet_page_count(sheet) : 0;
    if (status == MST_OK && q.page > pages)
        status = mst_fail(err, MST_NOT_FOUND, "the sheet has %d pages; %d asked", pages, q.page);
    if (status == MST_OK)
        status = sheet_write(sheet, &q, form, &rq->reply.body, err);
    if (status == MST_OK) {
        rq->reply.type = types[form];
        reply_header(rq, "Mistara-Pages", mst_arena_printf(rq->arena, "%d", pages));
        reply_header(rq, "Mistara-Lines",
                     mst_arena_printf(rq->arena, "%d", mst_sheet_line_count(sheet)));
    }
    typeset_give_back(rq->desk, ts);
    return status;
}

enum mst_status get_sheet_svg(struct request *rq, struct mst_error *err)
{
    return sheet_reply(rq, FORM_SVG, err);
}
enum mst_status get_sheet_png(struct request *rq, struct mst_error *err)
{
    return sheet_reply(rq, FORM_PNG, err);
}
enum mst_status get_sheet_pdf(struct request *rq, struct mst_error *err)
{
    return sheet_reply(rq, FORM_PDF, err);
}
enum mst_status get_sheet_json(struct request *rq, struct mst_error *err)
{
    return sheet_reply(rq, FORM_JSON, err);
}
enum mst_status get_sheet_txt(struct request *rq, struct mst_error *err)
{
    return sheet_reply(rq, FORM_TXT, err);
}

/* --- as a job: the members of the body become parameters ------------------------ */

static const char sheet_names[] = " passage rules title class stage fade stages paper size font "
                                  "gloss labels key no_stops theme page dpi ";

static enum mst_status params_of_json(struct request *rq, const json_t *object,
                                      struct mst_error *err)
{
    const char *key;
    json_t *member;
    json_object_foreach((json_t *)(uintptr_t)object, key, member)
    {
        char word[64];
        snprintf(word, sizeof word, " %.60s ", key);
        if (!strstr(sheet_names, word) && !how_is_name(key))
            return mst_fail(err, MST_USAGE, "there is no member “%.40s” here", key);
        const char *value = json_string_value(member);
        if (json_is_boolean(member))
            value = json_is_true(member) ? "1" : "0";
        else if (json_is_number(member))
            value = mst_arena_printf(rq->arena, "%.10g", json_number_value(member));
        if (json_is_null(member))
            continue;
        if (!value || rq->param_count == PARAMS_MOST)
            return mst_fail(err, MST_USAGE, "the member %.40s is neither text nor number", key);
        rq->params[rq->param_count++] = (struct param){key, value};
    }
    return MST_OK;
}

enum mst_status post_sheets(struct request *rq, struct mst_error *err)
{
    struct sheet_request q;
    struct mst_reading *r;
    char id[MST_ID_SIZE], passage[96];
    enum mst_status status = params_of_json(rq, rq->json, err);
    if (status == MST_OK)
        status = sheet_request_read(rq, &q, err);
    /* What does not go together is refused now rather than by the job. */
    if (status == MST_OK) {
        struct mst_range head = {q.range.first, q.range.first};
        head.last.word = 0;
        if (q.how.stops != MST_STOPS_LIST)
            status = mst_reading_new(rq->desk->text, head, &q.how, rq->arena, &r, err);
    }
    if (status != MST_OK)
        return status;
    char *input = json_dumps(rq->json, JSON_COMPACT);
    status = input ? jobs_promise(rq, "sheet", passage_id(q.range, passage), input, id, err)
                   : no_memory(err);
    free(input);
    return status == MST_OK ? job_reply(rq, id, 202, err) : status;
}

enum mst_status job_sheet(struct work *work, struct mst_error *err)
{
    struct request rq = {.desk = work->desk, .arena = work->arena, .reply = {.fd = -1}};
    struct sheet_request q;
    struct mst_reading *r = NULL;
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet = NULL;
    struct mst_string pdf = {0};
    work_stage(work, "laying out", 0, 0.6);
    enum mst_status status = params_of_json(&rq, work->input, err);
    if (status == MST_OK)
        status = sheet_request_read(&rq, &q, err);
    if (status == MST_OK)
        status = mst_reading_new(work->desk->text, q.range, &q.how, work->arena, &r, err);
    if (status == MST_OK)
        status = typeset_borrow(work->desk, &ts, err);
    if (status == MST_OK)
        status = mst_sheet_new(ts, r, &q.options, work->arena, &sheet, err);
    if (status == MST_OK && work_report(work, 1))
        status = mst_fail(err, MST_CANCELLED, "stopped on request");
    work_stage(work, "drawing", 0.6, 1);
    if (status == MST_OK)
        status = mst_sheet_pdf(sheet, &pdf, err);
    const char *path = mst_arena_printf(work->arena, "%s/sheet.pdf", work->folder);
    if (status == MST_OK)
        status = path ? mst_file_write(path, pdf.ptr, pdf.len, err) : no_memory(err);
    if (status == MST_OK) {
        js_open(&work->result, NULL, '{');
        js_integer(&work->result, "pages", mst_sheet_page_count(sheet));
        js_integer(&work->result, "lines", mst_sheet_line_count(sheet));
        js_close(&work->result, '}');
    }
    mst_string_free(&pdf);
    typeset_give_back(work->desk, ts);
    return status;
}
