/* api_faults.c – what is often said wrong at each letter of a passage, to be chosen from. */
#include "desk.h"

#include <mistara/faults.h>

static void fault_json(struct mst_string *s, const struct mst_fault *fault)
{
    js_open(s, NULL, '{');
    js_text(s, "fault", fault->id);
    js_text(s, "name", fault->name_en);
    js_text(s, "name_ar", fault->name_ar);
    js_text(s, "grade", fault->grade == MST_FAULT_PLAIN ? "plain" : "fine");
    js_close(s, '}');
}

/* The rule a fault is about, where it is about one that acts here. */
static const char *rule_of(const struct mst_fault *fault, const struct mst_reading *r,
                           const struct mst_sound *sound)
{
    if (sound->site < 0 || !mst_rule_set_has(fault->rules, r->sites[sound->site].rule))
        return NULL;
    return mst_rule_id(r->sites[sound->site].rule);
}

/* All that can befall the sounds of one letter, each once; a letter without any is left out. */
static void letter_json(struct mst_string *s, const struct mst_reading *r,
                        const struct mst_fault_list *list, int32_t letter)
{
    const struct mst_word *word = &r->words[r->letters[letter].word_idx];
    int32_t end = word->first_sound + word->sound_count;
    int open = 0;
    for (int32_t f = 0; f < list->count; f++) {
        const struct mst_fault *fault = &list->faults[f];
        for (int32_t n = word->first_sound; n < end; n++) {
            const struct mst_sound *sound = &r->sounds[n];
            if (letter < sound->first_letter || letter > sound->last_letter ||
                !mst_fault_befalls(fault, r, n))
                continue;
            if (!open) {
                js_open(s, NULL, '{');
                js_letter_address(s, "at", r, letter);
                js_open(s, "faults", '[');
                open = 1;
            }
            js_open(s, NULL, '{');
            js_integer(s, "fault", f);
            js_text(s, "rule", rule_of(fault, r, sound));
            js_close(s, '}');
            break;
        }
    }
    if (open)
        mst_string_adds(s, "]}");
}

enum mst_status get_faults(struct request *rq, struct mst_error *err)
{
    struct mst_range range;
    struct mst_reading_options how;
    struct mst_reading *r = NULL;
    struct mst_fault_list *list = NULL;
    const char *path = mst_faults_default_path(rq->arena);
    enum mst_status status = param_passage(rq, &range, err);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, range, err);
    if (status == MST_OK)
        status = how_of_request(rq, &how, err);
    if (status == MST_OK)
        status = mst_reading_new(rq->desk->text, range, &how, rq->arena, &r, err);
    if (status == MST_OK)
        status = mst_faults_read(&path, path != NULL, rq->arena, &list, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_range(s, range);
    js_open(s, "faults", '[');
    for (int32_t n = 0; n < list->count; n++)
        fault_json(s, &list->faults[n]);
    js_close(s, ']');
    js_open(s, "letters", '[');
    for (int32_t n = 0; n < r->letter_count; n++)
        letter_json(s, r, list, n);
    mst_string_adds(s, "]}");
    return MST_OK;
}

/* --- noted live --------------------------------------------------------------------------- */

enum mst_status rule_noted(struct request *rq, struct mst_addr at, const char *what,
                           const char **out, struct mst_error *err)
{
    int32_t verse = at.verse > 0 ? at.verse : 1; /* the basmala comes with the first */
    struct mst_range range = {{at.sura, verse, 0, 0}, {at.sura, verse, 0, 0}};
    struct mst_reading_options how = {0};
    struct mst_reading *r = NULL;
    enum mst_status status = mst_reading_new(rq->desk->text, range, &how, rq->arena, &r, err);
    *out = NULL;
    for (int32_t n = 0; status == MST_OK && n < r->word_count; n++) {
        const struct mst_word *word = &r->words[n];
        int32_t first = word->first_letter, end = first + word->letter_count;
        if (word->verse != at.verse || word->word != at.word)
            continue;
        if (at.letter > 0) {
            first += at.letter - 1;
            end = first < end ? first + 1 : first;
        }
        enum mst_rule rule = mst_rule_noted(r, what, first, end);
        *out = rule < MST_RULE_COUNT ? mst_rule_id(rule) : NULL;
    }
    return status;
}
