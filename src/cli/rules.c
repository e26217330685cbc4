/* rules.c – `mistara rules`: the ids by which --rule knows the rules. */
#include "cli.h"

struct request {
    int json;
};

static const struct option_row rows[] = {
    {"json", 0, OPTION_FLAG, NULL, "JSON Lines, one rule a line, for other programs",
     offsetof(struct request, json)},
};
static const struct option_group group = {"Options:", rows, sizeof rows / sizeof rows[0]};

enum { ID_COLUMN = 22, NAME_COLUMN = 34 };

static void rule_json(enum mst_rule rule, struct mst_string *s)
{
    mst_string_adds(s, "{");
    json_text(s, "rule", mst_span_of(mst_rule_id(rule)));
    json_text(s, "name", mst_span_of(mst_rule_name(rule, MST_LANG_EN)));
    json_text(s, "name_ar", mst_span_of(mst_rule_name(rule, MST_LANG_AR)));
    json_text(s, "family", mst_span_of(mst_family_name(mst_rule_family(rule), MST_LANG_EN)));
    json_text(s, "mouth", mst_span_of(mst_rule_mouth(rule, MST_LANG_EN)));
    json_text(s, "mouth_ar", mst_span_of(mst_rule_mouth(rule, MST_LANG_AR)));
    json_text(s, "source", mst_span_of(mst_rule_source(rule)));
    mst_string_adds(s, "}\n");
}

static void rule_line(enum mst_rule rule, int with_mouth, struct out *out)
{
    out_ink(out, INK_RULE);
    out_padded(out, mst_span_of(mst_rule_id(rule)), ID_COLUMN);
    out_ink(out, INK_PLAIN);
    out_padded(out, mst_span_of(mst_rule_name(rule, MST_LANG_EN)), NAME_COLUMN);
    out_arabic(out, mst_span_of(mst_rule_name(rule, MST_LANG_AR)));
    mst_string_adds(&out->text, "\n");
    if (!with_mouth)
        return;
    mst_string_adds(&out->text, "  ");
    out_wrapped(out, mst_span_of(mst_rule_mouth(rule, MST_LANG_EN)), 2, out->columns);
    mst_string_adds(&out->text, "  ");
    out_arabic(out, mst_span_of(mst_rule_mouth(rule, MST_LANG_AR)));
    mst_string_adds(&out->text, "\n  ");
    out_ink(out, INK_QUIET);
    out_wrapped(out, mst_span_of(mst_rule_source(rule)), 2, out->columns);
    out_ink(out, INK_PLAIN);
}

/* The words that stand for several rules at once, and what they hold. */
static void words_list(struct out *out)
{
    struct mst_rule_set set;
    const char *word;
    mst_string_adds(&out->text, "\nWords for several rules at once:\n");
    for (int n = 0; (word = mst_rule_word(n, &set)) != NULL; n++) {
        struct mst_string ids = {0};
        int held = 0;
        for (enum mst_rule rule = 0; rule < MST_RULE_COUNT; rule++)
            if (mst_rule_set_has(set, rule))
                mst_string_addf(&ids, "%s%s", held++ ? ", " : "", mst_rule_id(rule));
        if (held == MST_RULE_COUNT) {
            ids.len = 0;
            mst_string_adds(&ids, "every rule above");
        }
        out_ink(out, INK_RULE);
        out_padded(out, mst_span_of(word), ID_COLUMN);
        out_ink(out, INK_PLAIN);
        out_wrapped(out, (struct mst_span){ids.ptr, ids.len}, ID_COLUMN, out->columns);
        out->text.failed |= ids.failed;
        mst_string_free(&ids);
    }
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {0};
    void *const targets[] = {&request};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_span typed;
    struct mst_rule_set chosen;

    enum mst_status status = options_read(self, argc, argv, targets, arena, &typed, err);
    if (status == MST_OK)
        status = rules_chosen(typed.len ? typed.ptr : NULL, &chosen, err);
    for (enum mst_rule rule = 0; rule < MST_RULE_COUNT && status == MST_OK; rule++) {
        if (!mst_rule_set_has(chosen, rule))
            continue;
        if (request.json)
            rule_json(rule, &out->text);
        else
            rule_line(rule, typed.len > 0, out);
    }
    if (status == MST_OK && typed.len == 0 && !request.json)
        words_list(out);
    mst_arena_free(arena);
    return status;
}

const struct command command_rules = {
    .name = "rules",
    .arguments = "[ID,…]",
    .summary = "the rules by their ids; with an id, what the mouth does and the source",
    .about = "Lists the rules Mistara knows, by the ids that --rule takes, with their English and\n"
             "Arabic names, and the words that stand for several of them. With ids or such words\n"
             "named, also what mouth, lips and nose do, and the published source.",
    .examples = "  mistara rules                  all of them\n"
                "  mistara rules ikhfa,qalqala    these two in full\n",
    .groups = {&group},
    .run = run,
};
