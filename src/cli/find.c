/* find.c – `mistara find`: examples, passages and covering sets for a lesson. */
#include "cli.h"

#include <mistara/find.h>
#include <stdio.h>
#include <string.h>

struct request {
    const char *in, *untaught, *lang;
    int json, csv, limit;
    const char *by;
    /* examples */
    const char *hosts, *triggers, *cuts;
    int nun, tanwin, one, across, per;
    /* passages */
    const char *words, *lines, *minutes, *pace, *share;
    /* cover */
    int times, contiguous;
    const char *cost, *seconds;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"in", 0, OPTION_PASSAGE, "RANGE,…", "only here: 78-80, juz 30, … (default: the whole text)",
     TARGET(in)},
    {"untaught", 0, OPTION_TEXT, "ID,…",
     "rules the class does not know yet: none of them in an example", TARGET(untaught)},
    {"by", 0, OPTION_TEXT, "WHAT",
     "tell the members of a rule apart by rule, host, trigger or sound (default: as the rule is "
     "taught)",
     TARGET(by)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, for other programs", TARGET(json)},
    {"csv", 0, OPTION_FLAG, NULL, "a table for a spreadsheet (RFC 4180, UTF-8)", TARGET(csv)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the names", TARGET(lang)},
    {"words", 0, OPTION_TEXT, "MIN-MAX",
     "examples and passages: how many words (examples 2-6, passages 40-100)", TARGET(words)},
    {"hosts", 0, OPTION_TEXT, "LETTERS", "examples: only these hosts, such as ك,ق", TARGET(hosts)},
    {"triggers", 0, OPTION_TEXT, "LETTERS", "examples: only these triggers, such as ب,د",
     TARGET(triggers)},
    {"nun", 0, OPTION_FLAG, NULL, "examples: no tanwīn", TARGET(nun)},
    {"tanwin", 0, OPTION_FLAG, NULL, "examples: tanwīn alone", TARGET(tanwin)},
    {"one-word", 0, OPTION_FLAG, NULL, "examples: within one word", TARGET(one)},
    {"across", 0, OPTION_FLAG, NULL, "examples: across two words", TARGET(across)},
    {"per", 0, OPTION_COUNT, "N", "examples: so many for each member (3)", TARGET(per)},
    {"cuts", 0, OPTION_TEXT, "HOW",
     "examples: cut only at verse ends (verse), also at signs (sign), also where going on is "
     "better "
     "(go_on), between clauses (clause, the default), or inside them (loose)",
     TARGET(cuts)},
    {"lines", 0, OPTION_TEXT, "MIN-MAX", "passages: how many printed lines, about", TARGET(lines)},
    {"minutes", 0, OPTION_TEXT, "MIN-MAX", "passages: how long at the pace", TARGET(minutes)},
    {"pace", 0, OPTION_TEXT, "COUNTS", "passages: counts a second (2.5)", TARGET(pace)},
    {"share", 0, OPTION_TEXT, "PERCENT",
     "passages: at most this share of words with an untaught rule", TARGET(share)},
    {"limit", 0, OPTION_COUNT, "N", "passages: at most so many (10)", TARGET(limit)},
    {"times", 0, OPTION_COUNT, "N", "cover: every member at least so often (1)", TARGET(times)},
    {"cost", 0, OPTION_TEXT, "WHAT", "cover: fewest verses (default) or words", TARGET(cost)},
    {"contiguous", 0, OPTION_FLAG, NULL, "cover: one passage without a gap", TARGET(contiguous)},
    {"seconds", 0, OPTION_TEXT, "N", "cover: search at most so long (10)", TARGET(seconds)},
};
static const struct option_group options_group = {"Options:", rows, sizeof rows / sizeof rows[0]};

/* --- what was typed --------------------------------------------------------- */

static enum mst_status number_read(const char *option, const char *typed, double *out,
                                   struct mst_error *err)
{
    int end = 0;
    if (!typed)
        return MST_OK;
    if (sscanf(typed, "%lf%n", out, &end) != 1 || typed[end] || !(*out >= 0))
        return mst_fail(err, MST_USAGE, "--%s takes a number; “%.60s” is none", option, typed);
    return MST_OK;
}

/* "40-100", "3" (exactly), "40-" (at least). */
static enum mst_status bounds_read(const char *option, const char *typed, double *least,
                                   double *most, struct mst_error *err)
{
    int end = 0, more = 0;
    if (!typed)
        return MST_OK;
    *most = 0;
    if (typed[0] != '-' && sscanf(typed, "%lf%n", least, &end) == 1 && *least >= 0 &&
        *least < 1e6) {
        if (!typed[end] && *least > 0) {
            *most = *least;
            return MST_OK;
        }
        const char *dash = typed + end + (typed[end] != 0);
        if (typed[end] == '-' && !*dash)
            return MST_OK;
        if (typed[end] == '-' && sscanf(dash, "%lf%n", most, &more) == 1 && !dash[more] &&
            *most > 0 && *most < 1e6)
            return MST_OK;
    }
    return mst_fail(err, MST_USAGE,
                    "--%s takes a number above 0, or two such as 2-4; “%.60s” given", option,
                    typed);
}

static enum mst_status count_bounds(const char *option, const char *typed, int *least, int *most,
                                    struct mst_error *err)
{
    double a = 0, b = 0;
    enum mst_status status = bounds_read(option, typed, &a, &b, err);
    if (status == MST_OK && typed && a < 1)
        status = mst_fail(err, MST_USAGE, "--%s counts from 1, such as 2-4; “%.60s” given", option,
                          typed);
    *least = (int)a;
    *most = (int)b;
    return status;
}

static enum mst_status scope_read(const struct request *request, const struct reading_request *how,
                                  const struct mst_text *text, struct mst_arena *arena,
                                  struct mst_reading_options *options, struct mst_find_scope *out,
                                  struct mst_error *err)
{
    struct mst_range *ranges = NULL;
    enum mst_status status = reading_options(how, text, arena, options, err);
    *out = (struct mst_find_scope){.options = options};
    if (status == MST_OK && request->in)
        status = mst_ranges_parse(text, mst_span_of(request->in), arena, &ranges, &out->range_count,
                                  err);
    out->ranges = ranges;
    return status;
}

static enum mst_status rules_read(const char *typed, struct mst_rule_set *out,
                                  struct mst_error *err)
{
    *out = (struct mst_rule_set){0};
    return typed ? mst_rule_set_parse(mst_span_of(typed), out, err) : MST_OK;
}

static enum mst_status by_read(const char *typed, enum mst_by *out, struct mst_error *err)
{
    static const char *const names[] = {"own", "rule", "host", "trigger", "sound", NULL};
    int chosen = MST_BY_OWN;
    enum mst_status status = choice_read("by", typed, names, &chosen, err);
    *out = (enum mst_by)chosen;
    return status;
}

/* --- pieces of print ----------------------------------------------------------- */

static void range_words(const struct mst_reading *r, struct mst_string *s)
{
    for (int32_t w = 0; w < r->word_count; w++) {
        struct mst_span word = mst_reading_word(r, w);
        mst_string_adds(s, w ? " " : "");
        mst_string_add(s, word.ptr, word.len);
    }
}

static void csv_cell(struct mst_string *s, const char *text, size_t len)
{
    mst_string_add_csv(s, text ? text : "", len);
    mst_string_adds(s, ",");
}

static void json_rule(struct mst_string *s, struct mst_member m)
{
    if (m.kind <= MST_MEMBER_SOUND)
        json_text(s, "rule", mst_span_of(mst_rule_id(m.rule)));
    else
        json_null(s, "rule");
}

static void json_member(struct mst_string *s, struct mst_member m)
{
    struct mst_string name = {0};
    json_rule(s, m);
    mst_member_name(m, MST_LANG_EN, &name);
    json_text(s, "member", (struct mst_span){name.ptr, name.len});
    name.len = 0;
    mst_member_name(m, MST_LANG_AR, &name);
    json_text(s, "member_ar", (struct mst_span){name.ptr, name.len});
    s->failed |= name.failed;
    mst_string_free(&name);
}

static void json_real(struct mst_string *s, const char *key, double value)
{
    json_key(s, key);
    mst_string_addf(s, "%.1f", value);
}

static void json_range(struct mst_string *s, struct mst_range range)
{
    char at[96];
    json_text(s, "at", mst_span_of(mst_range_print(range, at)));
}

static void name_of(struct mst_member m, enum mst_lang lang, struct out *out)
{
    struct mst_string name = {0};
    mst_member_name(m, lang, &name);
    struct mst_span span = {name.ptr, name.len};
    if (lang == MST_LANG_AR)
        out_arabic(out, span);
    else
        mst_string_add(&out->text, span.ptr, span.len);
    out->text.failed |= name.failed;
    mst_string_free(&name);
}

/* --- examples --------------------------------------------------------------------- */

static void example_row(const struct mst_example *e, struct out *out)
{
    char at[96], numbers[48];
    struct mst_string words = {0};
    mst_string_adds(&out->text, "  ");
    out_padded(out, mst_span_of(mst_range_print(e->range, at)), 16);
    snprintf(numbers, sizeof numbers, "%3d  +%d  %s…%s", e->clarity, e->same + e->others,
             mst_cut_id(e->begins), mst_cut_id(e->ends));
    out_padded(out, mst_span_of(numbers), 28);
    range_words(e->reading, &words);
    out_arabic(out, (struct mst_span){words.ptr, words.len});
    mst_string_adds(&out->text, "\n");
    out->text.failed |= words.failed;
    mst_string_free(&words);
}

static void examples_table(const struct mst_examples *found, enum mst_lang lang, struct out *out)
{
    int32_t examples = 0;
    for (int32_t g = 0; g < found->group_count; g++)
        examples += found->groups[g].count;
    for (int32_t g = 0; g < found->group_count; g++) {
        const struct mst_example_group *group = &found->groups[g];
        out_ink(out, INK_STRONG);
        name_of(group->member, lang, out);
        out_ink(out, INK_PLAIN);
        mst_string_addf(&out->text, "  (%d in the range)\n", group->in_range);
        if (group->count == 0)
            mst_string_adds(&out->text, group->in_range
                                            ? "  none in a short phrase that reads cleanly\n"
                                            : "  does not occur here\n");
        for (int32_t n = 0; n < group->count; n++)
            example_row(&group->examples[n], out);
        out_more(out);
    }
    if (examples == 0) {
        mst_string_addf(&out->text,
                        "%sNothing was found. Look in more of the text (--in), allow more words "
                        "(--words) or freer cuts (--cuts loose), or ask for fewer things at "
                        "once.\n",
                        found->group_count ? "\n" : "");
        return;
    }
    mst_string_adds(&out->text, "\nClarity, other sites, how it begins…ends. Whether the sense "
                                "bears the cut is the teacher's to judge.\n");
}

static void example_json(const struct mst_example_group *group, const struct mst_example *e,
                         struct mst_string *s)
{
    struct mst_string words = {0};
    range_words(e->reading, &words);
    mst_string_adds(s, "{");
    json_member(s, group->member);
    json_range(s, e->range);
    json_text(s, "words", (struct mst_span){words.ptr, words.len});
    json_number(s, "clarity", e->clarity);
    json_number(s, "same", e->same);
    json_number(s, "others", e->others);
    json_text(s, "begins", mst_span_of(mst_cut_id(e->begins)));
    json_text(s, "ends", mst_span_of(mst_cut_id(e->ends)));
    json_key(s, "site");
    site_json(e->reading, &e->reading->sites[e->site], s);
    mst_string_adds(s, "}\n");
    s->failed |= words.failed;
    mst_string_free(&words);
}

static void example_none_json(const struct mst_example_group *group, struct mst_string *s)
{
    mst_string_adds(s, "{");
    json_member(s, group->member);
    json_null(s, "at");
    json_number(s, "in_range", group->in_range);
    mst_string_adds(s, "}\n");
}

static void example_csv(const struct mst_example_group *group, const struct mst_example *e,
                        struct mst_string *s)
{
    char at[96];
    struct mst_string text = {0};
    mst_member_name(group->member, MST_LANG_EN, &text);
    csv_cell(s, text.ptr, text.len);
    text.len = 0;
    mst_range_print(e->range, at);
    csv_cell(s, at, strlen(at));
    range_words(e->reading, &text);
    csv_cell(s, text.ptr, text.len);
    mst_string_addf(s, "%d,%d,%d,%s,%s,", e->clarity, e->same, e->others, mst_cut_id(e->begins),
                    mst_cut_id(e->ends));
    letter_address(e->reading, e->reading->sites[e->site].trigger, at);
    mst_string_addf(s, "%s\r\n", at);
    s->failed |= text.failed;
    mst_string_free(&text);
}

static void examples_lines(const struct mst_examples *found, int csv, struct out *out)
{
    if (csv)
        mst_string_adds(&out->text, "member,at,words,clarity,same,others,begins,ends,trigger\r\n");
    for (int32_t g = 0; g < found->group_count; g++) {
        const struct mst_example_group *group = &found->groups[g];
        if (group->count == 0 && !csv)
            example_none_json(group, &out->text);
        for (int32_t n = 0; n < group->count; n++) {
            if (csv)
                example_csv(group, &group->examples[n], &out->text);
            else
                example_json(group, &group->examples[n], &out->text);
            out_more(out);
        }
    }
}

static enum mst_status letters_read(const char *typed, uint32_t *bits, struct mst_error *err)
{
    *bits = 0;
    return typed ? mst_letter_list_parse(mst_span_of(typed), bits, err) : MST_OK;
}

static enum mst_status examples_run(const struct request *q, struct mst_span rules,
                                    const struct mst_find_scope *scope, const struct mst_text *text,
                                    struct mst_arena *arena, enum mst_lang lang, struct out *out,
                                    struct mst_error *err)
{
    static const char *const cuts[] = {"verse", "sign", "go_on", "clause", "loose", NULL};
    struct mst_example_query query = {.scope = *scope,
                                      .nun = q->nun      ? MST_NUN_PLAIN
                                             : q->tanwin ? MST_NUN_TANWIN
                                                         : MST_NUN_EITHER,
                                      .across = q->one      ? MST_WORDS_ONE
                                                : q->across ? MST_WORDS_ACROSS
                                                            : MST_WORDS_EITHER,
                                      .per_member = q->per};
    struct mst_examples found;
    int cut = MST_CUT_CLAUSE - MST_CUT_VERSE;
    if ((q->nun && q->tanwin) || (q->one && q->across))
        return mst_fail(err, MST_USAGE, "%s exclude one another; leave both out for either",
                        q->nun && q->tanwin ? "--nun and --tanwin" : "--one-word and --across");
    enum mst_status status = mst_rule_set_parse(rules, &query.rules, err);
    if (status == MST_OK)
        status = rules_read(q->untaught, &query.untaught, err);
    if (status == MST_OK)
        status = by_read(q->by, &query.by, err);
    if (status == MST_OK)
        status = letters_read(q->hosts, &query.hosts, err);
    if (status == MST_OK)
        status = letters_read(q->triggers, &query.triggers, err);
    if (status == MST_OK)
        status = count_bounds("words", q->words, &query.words_min, &query.words_max, err);
    if (status == MST_OK)
        status = choice_read("cuts", q->cuts, cuts, &cut, err);
    query.worst_cut = (enum mst_cut)(MST_CUT_VERSE + cut);
    if (status == MST_OK)
        status = mst_find_examples(text, &query, arena, &found, err);
    if (status != MST_OK)
        return status;
    if (q->json || q->csv)
        examples_lines(&found, q->csv, out);
    else
        examples_table(&found, lang, out);
    return MST_OK;
}

/* --- passages ------------------------------------------------------------------------ */

static void passages_table(const struct mst_passage *found, size_t count, struct out *out)
{
    if (count == 0) {
        mst_string_adds(&out->text,
                        "No passage of this length here holds the rule. Look in more of the "
                        "text (--in), or ask for another length (--words, --lines, "
                        "--minutes).\n");
        return;
    }
    out_ink(out, INK_QUIET);
    mst_string_adds(&out->text,
                    "at                 verses  words  lines  minutes  places  per 100  "
                    "untaught  begins…ends\n");
    out_ink(out, INK_PLAIN);
    for (size_t n = 0; n < count; n++) {
        const struct mst_passage *p = &found[n];
        char at[96];
        out_padded(out, mst_span_of(mst_range_print(p->range, at)), 19);
        mst_string_addf(&out->text, "%6d %6d %6d %8.1f %7d %8.1f %5d in %-3d %s…%s\n", p->verses,
                        p->words, p->lines, p->seconds / 60, p->sites, p->per_100_words,
                        p->untaught_sites, p->untaught_words, mst_edge_id(p->begins),
                        mst_edge_id(p->ends));
        out_more(out);
    }
}

static void passage_json(const struct mst_passage *p, struct mst_string *s)
{
    mst_string_adds(s, "{");
    json_range(s, p->range);
    json_number(s, "verses", p->verses);
    json_number(s, "words", p->words);
    json_number(s, "lines", p->lines);
    json_number(s, "counts", p->counts);
    json_real(s, "seconds", p->seconds);
    json_number(s, "sites", p->sites);
    json_real(s, "per_100_words", p->per_100_words);
    json_number(s, "untaught_sites", p->untaught_sites);
    json_number(s, "untaught_words", p->untaught_words);
    json_text(s, "begins", mst_span_of(mst_edge_id(p->begins)));
    json_text(s, "ends", mst_span_of(mst_edge_id(p->ends)));
    json_real(s, "score", p->score);
    mst_string_adds(s, "}\n");
}

static void passage_csv(const struct mst_passage *p, struct mst_string *s)
{
    char at[96];
    mst_range_print(p->range, at);
    csv_cell(s, at, strlen(at));
    mst_string_addf(s, "%d,%d,%d,%d,%.1f,%d,%.1f,%d,%d,%s,%s,%.1f\r\n", p->verses, p->words,
                    p->lines, p->counts, p->seconds, p->sites, p->per_100_words, p->untaught_sites,
                    p->untaught_words, mst_edge_id(p->begins), mst_edge_id(p->ends), p->score);
}

static enum mst_status passages_run(const struct request *q, struct mst_span rules,
                                    const struct mst_find_scope *scope, const struct mst_text *text,
                                    struct mst_arena *arena, struct out *out, struct mst_error *err)
{
    struct mst_passage_query query = {.scope = *scope, .limit = q->limit, .untaught_percent = -1};
    struct mst_passage *found;
    size_t count;
    double least = 0, most = 0, share = -1;
    enum mst_status status = mst_rule_set_parse(rules, &query.rules, err);
    if (status == MST_OK)
        status = rules_read(q->untaught, &query.untaught, err);
    if (status == MST_OK)
        status = count_bounds("words", q->words, &query.words_min, &query.words_max, err);
    if (status == MST_OK)
        status = count_bounds("lines", q->lines, &query.lines_min, &query.lines_max, err);
    if (status == MST_OK)
        status = bounds_read("minutes", q->minutes, &least, &most, err);
    if (status == MST_OK)
        status = number_read("pace", q->pace, &query.pace_counts_per_s, err);
    if (status == MST_OK && q->pace && !(query.pace_counts_per_s > 0))
        status = mst_fail(err, MST_USAGE, "--pace takes a number above 0; “%.60s” given", q->pace);
    if (status == MST_OK)
        status = number_read("share", q->share, &share, err);
    if (status == MST_OK && share > 100)
        status = mst_fail(err, MST_USAGE, "--share is 0 to 100 percent; “%.60s” is more", q->share);
    query.seconds_min = least * 60;
    query.seconds_max = most * 60;
    query.untaught_percent = (int)share;
    if (status == MST_OK)
        status = mst_find_passages(text, &query, arena, &found, &count, err);
    if (status != MST_OK)
        return status;
    if (q->csv)
        mst_string_adds(&out->text, "at,verses,words,lines,counts,seconds,sites,per_100_words,"
                                    "untaught_sites,untaught_words,begins,ends,score\r\n");
    for (size_t n = 0; n < count && (q->json || q->csv); n++) {
        if (q->csv)
            passage_csv(&found[n], &out->text);
        else
            passage_json(&found[n], &out->text);
        out_more(out);
    }
    if (!q->json && !q->csv)
        passages_table(found, count, out);
    return MST_OK;
}

/* --- covering sets --------------------------------------------------------------------- */

static void cover_table(const struct mst_text *text, const struct mst_cover *c,
                        const char *cost_name, int times, enum mst_lang lang, struct out *out)
{
    for (int32_t n = 0; n < c->verse_count; n++) {
        struct mst_addr addr = mst_text_verse_addr(text, c->verses[n]);
        char at[48];
        out_padded(out, mst_span_of(mst_addr_print(addr, at)), 9);
        out_arabic(out, mst_text_verse(text, addr.sura, addr.verse));
        mst_string_adds(&out->text, "\n");
        out_more(out);
    }
    mst_string_addf(&out->text, "\n%d verses, %d words; ", c->verse_count, c->word_count);
    if (c->bound >= c->cost)
        mst_string_addf(&out->text, "proved: fewer %s cannot do it\n", cost_name);
    else
        mst_string_addf(&out->text,
                        "not proved smallest: at least %lld %s are needed, %lld are taken\n",
                        (long long)c->bound, cost_name, (long long)c->cost);
    for (int32_t n = 0; n < c->member_count; n++) {
        const struct mst_cover_member *m = &c->members[n];
        mst_string_addf(&out->text, "%4d × ", m->covered);
        name_of(m->member, lang, out);
        if (m->in_range == 0)
            mst_string_adds(&out->text, "  – does not occur in the range");
        else if (m->in_range < times)
            mst_string_addf(&out->text, "  – the range has only %d", m->in_range);
        mst_string_adds(&out->text, "\n");
    }
}

static void cover_json(const struct mst_text *text, const struct mst_cover *c, const char *cost,
                       struct mst_string *s)
{
    mst_string_adds(s, "{");
    json_key(s, "verses");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < c->verse_count; n++) {
        char at[48];
        mst_addr_print(mst_text_verse_addr(text, c->verses[n]), at);
        mst_string_addf(s, "%s\"%s\"", n ? "," : "", at);
    }
    mst_string_adds(s, "]");
    json_number(s, "words", c->word_count);
    json_text(s, "unit", mst_span_of(cost));
    json_number(s, "cost", c->cost);
    json_number(s, "bound", c->bound);
    json_bool(s, "proved", c->bound >= c->cost);
    json_key(s, "members");
    mst_string_adds(s, "[");
    for (int32_t n = 0; n < c->member_count; n++) {
        mst_string_adds(s, n ? ",{" : "{");
        json_member(s, c->members[n].member);
        json_number(s, "in_range", c->members[n].in_range);
        json_number(s, "covered", c->members[n].covered);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}\n");
}

static void cover_csv(const struct mst_text *text, const struct mst_cover *c, struct mst_string *s)
{
    mst_string_adds(s, "at,words,text\r\n");
    for (int32_t n = 0; n < c->verse_count; n++) {
        struct mst_addr addr = mst_text_verse_addr(text, c->verses[n]);
        struct mst_span verse = mst_text_verse(text, addr.sura, addr.verse);
        char at[48];
        mst_string_addf(s, "%s,%d,", mst_addr_print(addr, at),
                        mst_text_word_count(text, addr.sura, addr.verse));
        mst_string_add_csv(s, verse.ptr, verse.len);
        mst_string_adds(s, "\r\n");
    }
}

static enum mst_status cover_run(const struct request *q, struct mst_span family,
                                 const struct mst_find_scope *scope, const struct mst_text *text,
                                 struct mst_arena *arena, enum mst_lang lang, struct out *out,
                                 struct mst_error *err)
{
    static const char *const costs[] = {"verses", "words", NULL};
    struct mst_cover_query query = {
        .scope = *scope, .times = q->times, .contiguous = q->contiguous};
    struct mst_cover found;
    int cost = MST_COST_VERSES;
    enum mst_status status = MST_OK;
    if (mst_span_equal(family, MST_SPAN("letters")))
        query.family = MST_COVER_LETTERS;
    else if (mst_span_equal(family, MST_SPAN("phones")))
        query.family = MST_COVER_PHONES;
    else
        status = mst_rule_set_parse(family, &query.rules, err);
    if (status == MST_OK)
        status = by_read(q->by, &query.by, err);
    if (status == MST_OK)
        status = choice_read("cost", q->cost, costs, &cost, err);
    query.cost = (enum mst_cover_cost)cost;
    if (status == MST_OK)
        status = number_read("seconds", q->seconds, &query.time_limit_s, err);
    if (q->seconds && !(query.time_limit_s > 0))
        query.time_limit_s = -1;
    if (status == MST_OK)
        status = mst_find_cover(text, &query, arena, &found, err);
    if (status != MST_OK)
        return status;
    if (q->json)
        cover_json(text, &found, costs[cost], &out->text);
    else if (q->csv)
        cover_csv(text, &found, &out->text);
    else
        cover_table(text, &found, costs[cost], q->times ? q->times : 1, lang, out);
    return MST_OK;
}

/* --- the command ------------------------------------------------------------------------- */

/* "cover ikhfa" → "cover" and "ikhfa". */
static struct mst_span first_word(struct mst_span *words)
{
    size_t len = 0;
    while (len < words->len && words->ptr[len] != ' ')
        len++;
    struct mst_span first = {words->ptr, len};
    len += len < words->len;
    words->ptr += len;
    words->len -= len;
    return first;
}

static enum mst_status find(const struct request *q, struct mst_span what, struct mst_span rules,
                            const struct mst_find_scope *scope, const struct mst_text *text,
                            struct mst_arena *arena, enum mst_lang lang, struct out *out,
                            struct mst_error *err)
{
    if (mst_span_equal(what, MST_SPAN("examples")))
        return examples_run(q, rules, scope, text, arena, lang, out, err);
    if (mst_span_equal(what, MST_SPAN("passages")))
        return passages_run(q, rules, scope, text, arena, out, err);
    if (mst_span_equal(what, MST_SPAN("cover")))
        return cover_run(q, rules, scope, text, arena, lang, out, err);
    return mst_fail(err, MST_USAGE, "“%.*s” cannot be found; it is examples, passages or cover",
                    (int)(what.len > 60 ? 60 : what.len), what.ptr);
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_reading_options options;
    struct mst_find_scope scope;
    struct mst_span words, what = {0};
    enum mst_lang lang;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &words, err);
    if (status == MST_OK && request.json && request.csv)
        status = mst_fail(err, MST_USAGE, "--json and --csv cannot both be printed; choose one");
    if (status == MST_OK)
        status = lang_chosen(request.lang, &lang, err);
    if (status == MST_OK)
        what = first_word(&words);
    if (status == MST_OK && words.len == 0)
        status = mst_fail(err, MST_USAGE,
                          "say what to find and for which rule: mistara find examples ikhfa, "
                          "passages ikhfa or cover ikhfa");
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = scope_read(&request, &how, text, arena, &options, &scope, err);
    if (status == MST_OK)
        status = find(&request, what, words, &scope, text, arena, lang, out, err);
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_find = {
    .name = "find",
    .arguments = "examples|passages|cover RULE,…",
    .asks = "what to find, for example: mistara find examples ikhfa --in 78",
    .summary = "examples, passages and covering sets for a lesson",
    .about = "examples  short phrases that show the rule cleanly, best first for each letter\n"
             "passages  runs of verses rich in the rule, of the length asked\n"
             "cover     the smallest set of verses that holds every member of a family: the\n"
             "          letters of a rule, the rules of a family (madd), letters, or phones\n"
             "Where a phrase may be cut is a heuristic; the sense is the teacher's to judge.",
    .examples = "  mistara find examples ikhfa --in 78-80 --hosts ك,ق   before kāf and qāf\n"
                "  mistara find examples qalqala --in juz 30 --untaught ikhfa,madd_lazim_word\n"
                "  mistara find passages ikhfa --in 67 --minutes 1-2    rich in it, ranked\n"
                "  mistara find cover ikhfa --in 67-80                  all fifteen letters\n"
                "  mistara find cover madd --in juz 30 --contiguous     every kind, in one go\n",
    .groups = {&options_group, &reading_group},
    .run = run,
};
