/* class_json.c – what was heard and what was answered, as the teacher and the learner get it. */
#include "desk.h"

#include <mistara/round.h>

#include <stdio.h>
#include <string.h>

/* The rule a measure is about, by its id; 0: none. */
static int rule_of(const char *id, enum mst_rule *out)
{
    for (int n = 0; n < MST_RULE_COUNT; n++) {
        if (strcmp(mst_rule_id((enum mst_rule)n), id) == 0) {
            *out = (enum mst_rule)n;
            return 1;
        }
    }
    return 0;
}

/* Verse 0 is the basmala before a sura: its words are those of 1:1. */
static void place_word(struct mst_string *s, const struct mst_text *text, int of_sura, int of_verse,
                       int word)
{
    int sura = of_verse == 0 ? 1 : of_sura, verse = of_verse == 0 ? 1 : of_verse;
    if (of_sura > 0 && word > 0 && word <= mst_text_word_count(text, sura, verse))
        display(s, "word", mst_text_word(text, sura, verse, word));
    else
        js_null(s, "word");
}

/* The word at an address and when it sounds: the place heard there, else the word as the take's
 * report has it, else any place of the word. */
void place_members(struct mst_string *s, const struct mst_text *text, const char *typed,
                   const struct heard_places *heard)
{
    struct mst_addr at = {0};
    struct mst_error none;
    char word_at[48];
    double start_ms = 0, end_ms = 0;
    const json_t *word;
    size_t n;
    if (!typed || mst_addr_parse(text, mst_span_of(typed), &at, &none) != MST_OK)
        at = (struct mst_addr){0};
    place_word(s, text, at.sura, at.verse, at.word);
    snprintf(word_at, sizeof word_at, "%d:%d:%d", at.sura, at.verse, at.word);
    for (n = 0; n < heard->count && end_ms == 0; n++)
        if (typed && strcmp(heard->places[n].at, typed) == 0) {
            start_ms = heard->places[n].start_ms;
            end_ms = heard->places[n].end_ms;
        }
    json_array_foreach(heard->words, n, word)
    {
        const char *known = json_string_value(json_object_get(word, "at"));
        if (end_ms == 0 && known && strcmp(known, word_at) == 0) {
            start_ms = json_number_value(json_object_get(word, "start_ms"));
            end_ms = json_number_value(json_object_get(word, "end_ms"));
        }
    }
    for (n = 0; n < heard->count && end_ms == 0; n++) {
        const struct mst_site_measure *m = &heard->places[n];
        if (m->sura == at.sura && m->verse == at.verse && m->word == at.word) {
            start_ms = m->start_ms;
            end_ms = m->end_ms;
        }
    }
    if (end_ms > 0) {
        js_integer(s, "start_ms", (int64_t)start_ms);
        js_integer(s, "end_ms", (int64_t)end_ms);
    } else {
        js_null(s, "start_ms");
        js_null(s, "end_ms");
    }
}

void measure_json(struct mst_string *s, const char *key, const struct mst_text *text,
                  const struct mst_site_measure *m)
{
    enum mst_rule rule;
    enum mst_told told = mst_told_called(m->told);
    int known = rule_of(m->rule, &rule), length = m->counts_high > 0;
    js_open(s, key, '{');
    js_integer(s, "site", m->site);
    js_text(s, "rule", *m->rule ? m->rule : NULL);
    js_text(s, "name", known ? mst_rule_name(rule, MST_LANG_EN) : NULL);
    js_text(s, "name_ar", known ? mst_rule_name(rule, MST_LANG_AR) : NULL);
    js_text(s, "letter", *m->letter ? m->letter : NULL);
    js_text(s, "at", m->at);
    place_word(s, text, m->sura, m->verse, m->word);
    js_integer(s, "start_ms", m->start_ms);
    js_integer(s, "end_ms", m->end_ms);
    const struct {
        const char *name;
        double value;
    } counts[] = {{"measured_counts", m->measured_counts},
                  {"counts_low", m->counts_low},
                  {"counts_high", m->counts_high},
                  {"expected_counts", m->expected_counts},
                  {"deviation", m->deviation}};
    for (size_t n = 0; n < sizeof counts / sizeof counts[0]; n++) {
        if (length)
            js_real(s, counts[n].name, counts[n].value, 2);
        else
            js_null(s, counts[n].name);
    }
    js_real(s, "sureness",
            told == MST_TOLD_UNSURE ? 0.5
            : m->wrong > 0.5        ? m->wrong
                                    : 1 - m->wrong,
            2);
    js_text(s, "trust", m->trust);
    js_text(s, "told", m->told);
    js_text(s, "told_text", told < MST_TOLD_COUNT ? mst_told_text(told, MST_LANG_EN) : NULL);
    js_text(s, "told_text_ar", told < MST_TOLD_COUNT ? mst_told_text(told, MST_LANG_AR) : NULL);
    js_text(s, "fault", m->fault);
    js_text(s, "fault_name", m->fault);
    js_text(s, "fault_name_ar", m->fault_ar);
    js_text(s, "ruling", m->ruling);
    js_text(s, "sent_ruling", m->sent_ruling);
    js_yes_no(s, "ruled_wrong", mst_round_ruled_wrong(m->told, m->ruling));
    js_integer(s, "ruled_ms", m->ruled_ms);
    js_close(s, '}');
}

void own_person_json(struct mst_string *s, const struct mst_person *who)
{
    js_open(s, "person", '{');
    js_text(s, "id", who->id);
    js_text(s, "label", who->label);
    js_text(s, "language", who->language);
    js_close(s, '}');
}

void note_json(struct mst_string *s, const struct mst_text *text, const struct mst_note *note,
               const struct heard_places *heard)
{
    js_open(s, NULL, '{');
    js_text(s, "id", note->id);
    js_text(s, "at", note->at);
    place_members(s, text, note->at, heard);
    js_text(s, "text", note->text);
    js_bool(s, "sound", note->hash != NULL);
    js_text(s, "by", *note->by ? "assistant" : "teacher");
    js_integer(s, "made_ms", note->made_ms);
    js_bool(s, "sent", note->sent);
    js_close(s, '}');
}

/* How a class is judged: {"site_deviation": 2.6}, {} the usual. */
struct mst_measure_limits class_limits(const struct mst_class *class)
{
    json_t *kept = json_loads(class->limits, 0, NULL);
    struct mst_measure_limits limits = {
        .site_deviation = json_number_value(json_object_get(kept, "site_deviation"))};
    json_decref(kept);
    return limits;
}

/* --- told to the pages that are open ------------------------------------------------------- */

void submission_say(struct desk *desk, const char *id)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_submission row;
    struct mst_error err;
    struct mst_string s = {0};
    if (arena && mst_submission_get(desk->store, id, arena, &row, &err) == MST_OK) {
        js_open(&s, NULL, '{');
        js_text(&s, "id", row.id);
        js_text(&s, "class", row.class_id);
        js_text(&s, "person", row.person);
        js_text(&s, "assignment", row.assignment);
        js_text(&s, "state", row.state);
        js_integer(&s, "made_ms", row.made_ms);
        js_integer(&s, "sent_ms", row.sent_ms);
        js_close(&s, '}');
        if (!s.failed)
            events_about(desk, row.class_id, row.person, "submission", id, s.ptr, s.len);
    }
    mst_string_free(&s);
    mst_arena_free(arena);
}

void submission_gone(struct desk *desk, const char *class_id, const char *person, const char *id)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    js_text(&s, "id", id);
    js_text(&s, "class", class_id);
    js_bool(&s, "gone", 1);
    js_close(&s, '}');
    if (!s.failed)
        events_about(desk, class_id, person, "submission", id, s.ptr, s.len);
    mst_string_free(&s);
}
