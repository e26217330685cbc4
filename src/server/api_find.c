/* api_find.c – examples, passages and covering sets. */
#include "desk.h"

#include <mistara/find.h>
#include <string.h>

static const char *const by_names[] = {"own", "rule", "host", "trigger", "sound", NULL};

static enum mst_status scope_read(struct request *rq, struct mst_reading_options *how,
                                  struct mst_find_scope *out, struct mst_error *err)
{
    const char *in = param(rq, "in");
    struct mst_range *ranges = NULL;
    *out = (struct mst_find_scope){.options = how};
    enum mst_status status = how_of_request(rq, how, err);
    if (status == MST_OK && in && *in)
        status = mst_ranges_parse(rq->desk->text, mst_span_of(in), rq->arena, &ranges,
                                  &out->range_count, err);
    out->ranges = ranges;
    return status;
}

static enum mst_status rules_wanted(struct request *rq, struct mst_rule_set *out,
                                    struct mst_error *err)
{
    const char *ignored;
    enum mst_status status = param_wanted(rq, "rules", "ikhfa", &ignored, err);
    return status == MST_OK ? param_rules(rq, "rules", out, err) : status;
}

static enum mst_status letters_read(struct request *rq, const char *name, uint32_t *out,
                                    struct mst_error *err)
{
    const char *value = param(rq, name);
    return value && *value ? mst_letter_list_parse(mst_span_of(value), out, err) : MST_OK;
}

static void member_json(struct mst_string *s, struct mst_member m)
{
    struct mst_string name = {0};
    js_text(s, "rule", m.kind <= MST_MEMBER_SOUND ? mst_rule_id(m.rule) : NULL);
    mst_member_name(m, MST_LANG_EN, &name);
    js_take(s, "member", &name);
    mst_member_name(m, MST_LANG_AR, &name);
    js_take(s, "member_ar", &name);
}

static void member_letter(struct mst_string *s, struct mst_member m)
{
    const struct mst_articulation *a = NULL;
    char letter[4];
    if (m.kind == MST_MEMBER_HOST || m.kind == MST_MEMBER_TRIGGER || m.kind == MST_MEMBER_LETTER)
        a = mst_articulation_at(m.letter);
    if (a)
        js_span(s, "letter", (struct mst_span){letter, mst_utf8_put(a->letter, letter)});
    else
        js_null(s, "letter");
}

static void example_json(struct mst_string *s, const struct mst_example *e)
{
    const struct mst_reading *r = e->reading;
    const struct mst_site *site = &r->sites[e->site];
    js_open(s, NULL, '{');
    js_range(s, e->range);
    display_reading(s, "display", r);
    js_integer(s, "clarity", e->clarity);
    js_integer(s, "same", e->same);
    js_integer(s, "others", e->others);
    js_text(s, "begins", mst_cut_id(e->begins));
    js_text(s, "ends", mst_cut_id(e->ends));
    js_open(s, "site", '{');
    js_text(s, "rule", mst_rule_id(site->rule));
    js_letter_address(s, "at", r, site->trigger);
    js_letter_address(s, "first", r, site->first);
    js_letter_address(s, "last", r, site->last);
    js_label(s, "label", r, site, MST_LANG_EN);
    js_label(s, "label_ar", r, site, MST_LANG_AR);
    mst_string_adds(s, "}}");
}

enum mst_status get_examples(struct request *rq, struct mst_error *err)
{
    static const char *const nuns[] = {"either", "plain", "tanwin", NULL};
    static const char *const acrosses[] = {"either", "one", "across", NULL};
    static const char *const cuts[] = {"verse", "sign", "go_on", "clause", "loose", NULL};
    struct mst_reading_options how;
    struct mst_example_query q = {0};
    struct mst_examples found;
    int by = MST_BY_OWN, nun = 0, across = 0, cut = MST_CUT_CLAUSE - MST_CUT_VERSE;
    enum mst_status status = scope_read(rq, &how, &q.scope, err);
    if (status == MST_OK)
        status = rules_wanted(rq, &q.rules, err);
    if (status == MST_OK)
        status = param_rules(rq, "untaught", &q.untaught, err);
    if (status == MST_OK)
        status = param_choice(rq, "by", by_names, &by, err);
    if (status == MST_OK)
        status = param_choice(rq, "nun", nuns, &nun, err);
    if (status == MST_OK)
        status = param_choice(rq, "words_across", acrosses, &across, err);
    if (status == MST_OK)
        status = param_choice(rq, "cut", cuts, &cut, err);
    if (status == MST_OK)
        status = letters_read(rq, "hosts", &q.hosts, err);
    if (status == MST_OK)
        status = letters_read(rq, "triggers", &q.triggers, err);
    if (status == MST_OK)
        status = param_int(rq, "words_min", 1, 12, &q.words_min, err);
    if (status == MST_OK)
        status = param_int(rq, "words_max", 1, 12, &q.words_max, err);
    if (status == MST_OK)
        status = param_int(rq, "per", 1, 50, &q.per_member, err);
    q.by = (enum mst_by)by;
    q.nun = (enum mst_find_nun)nun;
    q.across = (enum mst_find_words)across;
    q.worst_cut = (enum mst_cut)(MST_CUT_VERSE + cut);
    if (status == MST_OK)
        status = mst_find_examples(rq->desk->text, &q, rq->arena, &found, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_integer(s, "phrases_read", found.phrases_read);
    js_open(s, "groups", '[');
    for (int32_t g = 0; g < found.group_count; g++) {
        const struct mst_example_group *group = &found.groups[g];
        js_open(s, NULL, '{');
        member_json(s, group->member);
        member_letter(s, group->member);
        js_integer(s, "in_range", group->in_range);
        js_open(s, "examples", '[');
        for (int32_t n = 0; n < group->count; n++)
            example_json(s, &group->examples[n]);
        mst_string_adds(s, "]}");
    }
    mst_string_adds(s, "]}");
    return MST_OK;
}

static void passage_json(struct mst_string *s, const struct mst_passage *p)
{
    js_open(s, NULL, '{');
    js_range(s, p->range);
    js_integer(s, "verses", p->verses);
    js_integer(s, "words", p->words);
    js_integer(s, "lines", p->lines);
    js_integer(s, "counts", p->counts);
    js_real(s, "seconds", p->seconds, 1);
    js_integer(s, "sites", p->sites);
    js_real(s, "per_100_words", p->per_100_words, 1);
    js_integer(s, "untaught_sites", p->untaught_sites);
    js_integer(s, "untaught_words", p->untaught_words);
    js_text(s, "begins", mst_edge_id(p->begins));
    js_text(s, "ends", mst_edge_id(p->ends));
    js_real(s, "score", p->score, 2);
    js_close(s, '}');
}

enum mst_status get_passages(struct request *rq, struct mst_error *err)
{
    struct mst_reading_options how;
    struct mst_passage_query q = {.untaught_percent = -1};
    struct mst_passage *found;
    size_t count;
    double least = 0, most = 0;
    enum mst_status status = scope_read(rq, &how, &q.scope, err);
    if (status == MST_OK)
        status = rules_wanted(rq, &q.rules, err);
    if (status == MST_OK)
        status = param_rules(rq, "untaught", &q.untaught, err);
    if (status == MST_OK)
        status = param_int(rq, "words_min", 0, 100000, &q.words_min, err);
    if (status == MST_OK)
        status = param_int(rq, "words_max", 0, 100000, &q.words_max, err);
    if (status == MST_OK)
        status = param_int(rq, "lines_min", 0, 10000, &q.lines_min, err);
    if (status == MST_OK)
        status = param_int(rq, "lines_max", 0, 10000, &q.lines_max, err);
    if (status == MST_OK)
        status = param_real(rq, "minutes_min", 0, 10000, &least, err);
    if (status == MST_OK)
        status = param_real(rq, "minutes_max", 0, 10000, &most, err);
    if (status == MST_OK)
        status = param_real(rq, "pace", 0.2, 20, &q.pace_counts_per_s, err);
    if (status == MST_OK)
        status = param_int(rq, "share", 0, 100, &q.untaught_percent, err);
    if (status == MST_OK)
        status = param_int(rq, "limit", 1, 100, &q.limit, err);
    q.seconds_min = least * 60;
    q.seconds_max = most * 60;
    if (status == MST_OK)
        status = mst_find_passages(rq->desk->text, &q, rq->arena, &found, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "passages", '[');
    for (size_t n = 0; n < count; n++)
        passage_json(s, &found[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

static void cover_json(struct mst_string *s, const struct mst_text *text, const struct mst_cover *c)
{
    js_open(s, NULL, '{');
    js_open(s, "verses", '[');
    for (int32_t n = 0; n < c->verse_count; n++) {
        struct mst_addr at = mst_text_verse_addr(text, c->verses[n]);
        js_open(s, NULL, '{');
        js_address(s, "at", at);
        display(s, "display", mst_text_verse(text, at.sura, at.verse));
        js_close(s, '}');
    }
    js_close(s, ']');
    js_integer(s, "verse_count", c->verse_count);
    js_integer(s, "word_count", c->word_count);
    js_integer(s, "cost", c->cost);
    js_integer(s, "bound", c->bound);
    js_bool(s, "proved", c->bound >= c->cost);
    js_open(s, "members", '[');
    for (int32_t n = 0; n < c->member_count; n++) {
        js_open(s, NULL, '{');
        member_json(s, c->members[n].member);
        js_integer(s, "in_range", c->members[n].in_range);
        js_integer(s, "covered", c->members[n].covered);
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
}

enum mst_status get_cover(struct request *rq, struct mst_error *err)
{
    static const char *const families[] = {"rules", "letters", "phones", NULL};
    static const char *const costs[] = {"verses", "words", NULL};
    struct mst_reading_options how;
    struct mst_cover_query q = {.time_limit_s = 5};
    struct mst_cover found;
    int family = 0, by = MST_BY_OWN, cost = 0;
    enum mst_status status = scope_read(rq, &how, &q.scope, err);
    if (status == MST_OK)
        status = param_choice(rq, "family", families, &family, err);
    if (status == MST_OK && family == MST_COVER_RULES)
        status = rules_wanted(rq, &q.rules, err);
    if (status == MST_OK)
        status = param_choice(rq, "by", by_names, &by, err);
    if (status == MST_OK)
        status = param_choice(rq, "cost", costs, &cost, err);
    if (status == MST_OK)
        status = param_int(rq, "times", 1, 100, &q.times, err);
    if (status == MST_OK)
        status = param_flag(rq, "contiguous", &q.contiguous, err);
    if (status == MST_OK)
        status = param_real(rq, "seconds", 0.1, 10, &q.time_limit_s, err);
    q.family = (enum mst_cover_family)family;
    q.by = (enum mst_by)by;
    q.cost = (enum mst_cover_cost)cost;
    if (status == MST_OK)
        status = mst_find_cover(rq->desk->text, &q, rq->arena, &found, err);
    if (status == MST_OK)
        cover_json(&rq->reply.body, rq->desk->text, &found);
    return status;
}
