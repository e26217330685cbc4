/* sites.c – `mistara sites`: every place of a passage where a rule acts. */
#include "cli.h"

struct request {
    int json, csv;
    const char *rules, *lang;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"rule", 0, OPTION_TEXT, "ID,…",
     "only these rules or families, such as ikhfa,qalqala or madd "
     "(“mistara rules” lists them)",
     TARGET(rules)},
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, one site a line, for other programs", TARGET(json)},
    {"csv", 0, OPTION_FLAG, NULL, "a table for a spreadsheet (RFC 4180, UTF-8)", TARGET(csv)},
    {"lang", 0, OPTION_TEXT, "en|ar", "language of the table's names and reasons", TARGET(lang)},
};
static const struct option_group group = {"Options:", rows, sizeof rows / sizeof rows[0]};

/* --- the table ------------------------------------------------------------- */

enum { COLUMN_AT, COLUMN_RULE, COLUMN_COUNTS, COLUMN_WHEN, COLUMN_WORDS, COLUMN_REASON, COLUMNS };
static const char *const headings[COLUMNS][2] = {
    {"at", "الموضع"},  {"rule", "الحكم"},  {"counts", "الحركات"},
    {"when", "الحال"}, {"words", "اللفظ"}, {"reason", "السبب"},
};
static const int widths[COLUMNS] = {13, 21, 10, 10, 22, 0};
static const char *const occasions_ar[] = {
    [MST_ALWAYS] = "دائما",
    [MST_JOINING] = "وصلا",
    [MST_STOPPING] = "وقفا",
    [MST_STARTING] = "ابتداء",
};
/* A terminal at least this wide has room for the reason on the same line. */
enum { ROOM_FOR_REASON = 130, REASON_INDENT = 15, REASON_COLUMN = 78 };

static int reason_beside(const struct out *out)
{
    return out->columns == 0 || out->columns >= ROOM_FOR_REASON;
}

static void cell(struct out *out, int column, enum mst_lang lang, struct mst_span text)
{
    if (lang != MST_LANG_AR) {
        out_padded(out, text, widths[column]);
        return;
    }
    out_arabic(out, text);
    int used = text_columns(text);
    mst_string_addf(&out->text, "%*s",
                    used < widths[column] ? widths[column] - used : widths[column] > 0, "");
}

static void reason_cell(struct out *out, enum mst_lang lang, struct mst_span reason)
{
    if (lang == MST_LANG_AR) {
        out_arabic(out, reason);
        mst_string_adds(&out->text, "\n");
        return;
    }
    out_wrapped(out, reason, reason_beside(out) ? REASON_COLUMN : REASON_INDENT, out->columns);
}

static void table_head(struct out *out, enum mst_lang lang)
{
    out_ink(out, INK_QUIET);
    for (int c = COLUMN_AT; c <= (reason_beside(out) ? COLUMN_REASON : COLUMN_WORDS); c++)
        cell(out, c, lang, mst_span_of(headings[c][lang]));
    out_ink(out, INK_PLAIN);
    mst_string_adds(&out->text, "\n");
}

/* Before the first site of each verse, the verse. */
static void table_verse(const struct mst_reading *r, const struct mst_word *word, struct out *out)
{
    char address[48];
    mst_string_adds(&out->text, "\n");
    out_ink(out, INK_STRONG);
    out_padded(out, mst_span_of(verse_address(word, address)), widths[COLUMN_AT]);
    out_arabic(out, mst_reading_verse(r, word->sura, word->verse));
    out_ink(out, INK_PLAIN);
    mst_string_adds(&out->text, "\n");
}

static void table_row(const struct mst_reading *r, const struct mst_site *site, enum mst_lang lang,
                      struct out *out)
{
    char address[48], counts[24];
    struct mst_string text = {0};
    cell(out, COLUMN_AT, MST_LANG_EN, mst_span_of(letter_address(r, site->trigger, address)));
    out_ink(out, INK_RULE);
    cell(out, COLUMN_RULE, lang,
         mst_span_of(lang == MST_LANG_AR ? mst_rule_name(site->rule, lang)
                                         : mst_rule_id(site->rule)));
    out_ink(out, INK_PLAIN);
    cell(out, COLUMN_COUNTS, MST_LANG_EN, mst_span_of(counts_text(site, counts)));
    cell(out, COLUMN_WHEN, lang,
         mst_span_of(lang == MST_LANG_AR ? occasions_ar[site->when] : mst_when_id(site->when)));
    words_of_letters(r, site->first, site->last, &text);
    cell(out, COLUMN_WORDS, MST_LANG_AR, (struct mst_span){text.ptr, text.len});
    text.len = 0;
    mst_site_reason(r, site, lang, &text);
    if (!reason_beside(out))
        mst_string_addf(&out->text, "\n%*s", REASON_INDENT, "");
    reason_cell(out, lang, (struct mst_span){text.ptr, text.len});
    out->text.failed |= text.failed;
    mst_string_free(&text);
}

static void table_foot(struct mst_range range, long shown, enum mst_lang lang, struct out *out)
{
    char where[96];
    mst_range_print(range, where);
    if (lang == MST_LANG_AR)
        mst_string_addf(&out->text, "%s\u2067عدد المواضع\u2069 %ld  (%s)\n", shown ? "\n" : "",
                        shown, where);
    else if (shown == 0)
        mst_string_addf(&out->text, "No place of these rules in %s.\n", where);
    else
        mst_string_addf(&out->text, "\n%ld %s in %s\n", shown, shown == 1 ? "place" : "places",
                        where);
}

static void table(const struct mst_reading *r, struct mst_rule_set rules, enum mst_lang lang,
                  struct out *out)
{
    long shown = 0;
    int32_t sura = -1, verse = -1;
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];
        if (!mst_rule_set_has(rules, site->rule))
            continue;
        const struct mst_word *word = &r->words[r->letters[site->trigger].word_idx];
        if (shown++ == 0)
            table_head(out, lang);
        if (word->sura != sura || word->verse != verse)
            table_verse(r, word, out);
        sura = word->sura;
        verse = word->verse;
        table_row(r, site, lang, out);
        out_more(out);
    }
    table_foot(r->range, shown, lang, out);
}

/* --- for a spreadsheet and for programs ------------------------------------- */

static void csv_cell(struct mst_string *s, struct mst_span text)
{
    mst_string_add_csv(s, text.ptr, text.len);
    mst_string_adds(s, ",");
}

static void csv_number(struct mst_string *s, int value)
{
    if (value)
        mst_string_addf(s, "%d", value);
    mst_string_adds(s, ",");
}

static void csv_yes_no(struct mst_string *s, int value)
{
    csv_cell(s, mst_span_of(value < 0 ? "" : value ? "yes" : "no"));
}

static void csv_row(const struct mst_reading *r, const struct mst_site *site, struct mst_string *s)
{
    char address[48];
    struct mst_string text = {0};
    csv_cell(s, mst_span_of(mst_rule_id(site->rule)));
    csv_cell(s, mst_span_of(mst_rule_name(site->rule, MST_LANG_EN)));
    csv_cell(s, mst_span_of(mst_rule_name(site->rule, MST_LANG_AR)));
    csv_cell(s, mst_span_of(letter_address(r, site->first, address)));
    csv_cell(s, mst_span_of(letter_address(r, site->last, address)));
    csv_cell(s, mst_span_of(letter_address(r, site->trigger, address)));
    csv_cell(s, mst_span_of(letter_address(r, site->host, address)));
    csv_number(s, site->counts);
    csv_number(s, site->counts ? site->counts_max : 0);
    csv_yes_no(s, site->nasal != 0);
    csv_yes_no(s, site->complete);
    csv_number(s, site->grade);
    csv_cell(s, mst_span_of(mst_when_id(site->when)));
    words_of_letters(r, site->first, site->last, &text);
    csv_cell(s, (struct mst_span){text.ptr, text.len});
    text.len = 0;
    mst_site_reason(r, site, MST_LANG_EN, &text);
    csv_cell(s, (struct mst_span){text.ptr, text.len});
    text.len = 0;
    mst_site_reason(r, site, MST_LANG_AR, &text);
    csv_cell(s, (struct mst_span){text.ptr, text.len});
    csv_number(s, site->counts ? site->counts_min : 0);
    csv_yes_no(s, site->heavy);
    csv_yes_no(s, site->tanwin != 0);
    csv_yes_no(s, site->both_ways != 0);
    csv_yes_no(s, site->rawm != 0);
    mst_string_addf(s, "%s\r\n", site->ishmam ? "yes" : "no");
    s->failed |= text.failed;
    mst_string_free(&text);
}

static void lines(const struct mst_reading *r, struct mst_rule_set rules, int csv, struct out *out)
{
    if (csv)
        mst_string_adds(&out->text,
                        "rule,rule_name,rule_name_ar,at,to,trigger,host,counts,counts_max,nasal,"
                        "complete,grade,when,words,reason,reason_ar,counts_min,heavy,tanwin,"
                        "both_ways,rawm,ishmam\r\n");
    for (int32_t n = 0; n < r->site_count; n++) {
        if (!mst_rule_set_has(rules, r->sites[n].rule))
            continue;
        if (csv) {
            csv_row(r, &r->sites[n], &out->text);
        } else {
            site_json(r, &r->sites[n], &out->text);
            mst_string_adds(&out->text, "\n");
        }
        out_more(out);
    }
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    struct reading_request how = {0};
    void *const targets[] = {&request, &how};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_text *text = NULL;
    struct mst_reading *reading = NULL;
    struct mst_span passage;
    struct mst_rule_set rules;
    enum mst_lang lang;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &passage, err);
    if (status == MST_OK && request.json && request.csv)
        status = mst_fail(err, MST_USAGE, "--json and --csv cannot both be printed; choose one");
    if (status == MST_OK)
        status = rules_chosen(request.rules, &rules, err);
    if (status == MST_OK)
        status = lang_chosen(request.lang, &lang, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &text, err);
    if (status == MST_OK)
        status = reading_open(text, passage, &how, arena, &reading, err);
    if (status == MST_OK) {
        if (request.json || request.csv)
            lines(reading, rules, request.csv, out);
        else
            table(reading, rules, lang, out);
    }
    mst_text_close(text);
    mst_arena_free(arena);
    return status;
}

const struct command command_sites = {
    .name = "sites",
    .arguments = "PASSAGE",
    .asks = "a passage, for example: mistara sites 67:1-5",
    .summary = "every place where a rule acts, with reason and counts",
    .about = "Lists every place of the passage where a rule of recitation acts: the letter it\n"
             "acts on, the rule, how many counts, whether it holds always or only when joining,\n"
             "stopping or starting there, the words, and why. Stops and options change the list.",
    .examples =
        "  mistara sites 67:1-5                         every rule, stopping at verse ends\n"
        "  mistara sites al-Mulk 1-5 --rule ikhfa       the hidden nūn alone\n"
        "  mistara sites 112 --stops none               read in one breath\n"
        "  mistara sites 78 --munfasil 5 --muttasil 5   the longer way\n"
        "  mistara sites 67 --rule qalqala --csv >67.csv   for a spreadsheet\n",
    .groups = {&group, &reading_group},
    .run = run,
};
