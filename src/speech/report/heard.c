/* heard.c – the sentences of a report, part by part; how they are set is the writers' affair. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINES_MAX = 24 };

static struct report_part *part_new(struct mst_arena *arena, enum report_phrase title,
                                    enum mst_lang lang)
{
    struct report_part *part = mst_arena_alloc(arena, 1, sizeof *part);
    if (!part)
        return NULL;
    const char *words = report_say(title, lang);
    part->title = mst_arena_strndup(arena, words, strlen(words));
    part->lines = mst_arena_alloc(arena, LINES_MAX, sizeof *part->lines);
    return part->title && part->lines ? part : NULL;
}

/* Moves the sentence into the part; the part is NULL when memory ran out. */
static struct report_part *line_add(struct report_part *part, struct mst_arena *arena,
                                    struct mst_string *line)
{
    char *kept = NULL;
    if (part && !line->failed && line->len > 0)
        kept = mst_arena_strndup(arena, line->ptr, line->len);
    int empty = !line->failed && line->len == 0;
    mst_string_free(line);
    if (!part || empty)
        return part;
    if (!kept)
        return NULL;
    if (part->line_count < LINES_MAX)
        part->lines[part->line_count++] = kept;
    return part;
}

struct report_part *report_recording(const struct mst_report *r, struct mst_arena *arena)
{
    struct report_part *part = part_new(arena, SAY_RECORDING, r->lang);
    struct mst_string line = {0};
    for (int32_t n = 0; part && r->quality && n < r->quality->warning_count; n++) {
        mst_take_warning_text(r->take, &r->quality->warnings[n], r->lang, &line);
        part = line_add(part, arena, &line);
    }
    if (part && part->line_count == 0) {
        mst_string_adds(&line, report_say(SAY_RECORDING_WELL, r->lang));
        part = line_add(part, arena, &line);
    }
    return part;
}

/* Addresses with commas between them, the rest as a number. */
struct address_list {
    struct mst_string text;
    int count;
};

/* A word's address, or the name of what it ends that is no verse. */
static const char *place_name(struct mst_addr at, enum mst_lang lang, char name[48])
{
    if (at.sura == 0 && at.word == 5)
        return report_say(SAY_REFUGE, lang);
    if (at.verse == 0 && at.word == 4)
        return report_say(SAY_BASMALA, lang);
    return report_word_addr(at, name);
}

static void address_add(struct address_list *list, struct mst_addr at, enum mst_lang lang)
{
    enum { NAMED = 8 };
    char name[48];
    if (list->count < NAMED)
        mst_string_addf(&list->text, lang == MST_LANG_AR ? "%s⁨%s⁩" : "%s%s",
                        list->count == 0      ? ""
                        : lang == MST_LANG_AR ? "، "
                                              : ", ",
                        place_name(at, lang, name));
    else if (list->count == NAMED)
        mst_string_adds(&list->text, report_say(SAY_AND_MORE, lang));
    list->count++;
}

static struct report_part *list_add(struct report_part *part, struct mst_arena *arena,
                                    enum mst_lang lang, enum report_phrase phrase, int counted,
                                    struct address_list *list)
{
    struct mst_string line = {0};
    if (list->count > 0 && list->text.ptr && counted)
        report_say_with(&line, lang, phrase, list->count, list->text.ptr);
    else if (list->count > 0 && list->text.ptr)
        report_say_with(&line, lang, phrase, list->text.ptr);
    line.failed |= list->text.failed;
    mst_string_free(&list->text);
    list->count = 0;
    return line_add(part, arena, &line);
}

static struct report_part *say_words(const struct mst_report *r, struct report_part *part,
                                     struct mst_arena *arena)
{
    const struct mst_timeline *tl = r->measures->timeline;
    struct mst_string line = {0};
    char passage[96];
    int heard = 0;
    for (int32_t n = 0; n < tl->word_count; n++)
        heard += !tl->words[n].again;
    mst_range_print(r->passage, passage);
    if (tl->left_out_count == 0)
        report_say_with(&line, r->lang, SAY_ALL_WORDS, passage, heard);
    else
        report_say_with(&line, r->lang, SAY_SOME_WORDS, passage, heard, heard + tl->left_out_count);
    part = line_add(part, arena, &line);

    struct address_list list = {{0}, 0};
    for (int32_t n = 0; n < tl->left_out_count; n++)
        address_add(&list, tl->left_out[n], r->lang);
    part = list_add(part, arena, r->lang, SAY_LEFT_OUT, 0, &list);

    for (int32_t n = 0; n < tl->pause_count; n++) {
        int32_t after = tl->pauses[n].after_word;
        if (after >= 0 && after < tl->word_count - 1)
            address_add(&list, tl->words[after].at, r->lang);
    }
    if (list.count == 0) {
        mst_string_adds(&line, report_say(SAY_NO_STOPS, r->lang));
        part = line_add(part, arena, &line);
    }
    part = list_add(part, arena, r->lang, SAY_STOPS, 1, &list);

    for (int32_t n = 0; n < tl->word_count; n++)
        if (tl->words[n].again)
            address_add(&list, tl->words[n].at, r->lang);
    return list_add(part, arena, r->lang, SAY_AGAIN, 0, &list);
}

static void say_pace(const struct mst_report *r, struct mst_string *line)
{
    const struct mst_measures *m = r->measures;
    struct mst_string drift = {0};
    double percent = 100 * fabs(m->pace_drift - 1);
    if (m->timeline->speech_seconds >= 20 && m->pace_drift > 0)
        report_say_with(&drift, r->lang,
                        percent < 5         ? SAY_STEADY
                        : m->pace_drift > 1 ? SAY_QUICKENS
                                            : SAY_SLACKENS,
                        percent);
    report_say_with(line, r->lang, SAY_PACE, m->pace, drift.ptr ? drift.ptr : "");
    line->failed |= drift.failed;
    mst_string_free(&drift);
}

struct report_part *report_heard(const struct mst_report *r, struct mst_arena *arena)
{
    const struct mst_measures *m = r->measures;
    struct report_part *part = part_new(arena, SAY_HEARD, r->lang);
    struct mst_string line = {0};
    if (part)
        part = say_words(r, part, arena);
    if (part) {
        say_pace(r, &line);
        part = line_add(part, arena, &line);
    }
    if (part && m->munfasil_way) {
        mst_string_adds(
            &line, report_say(m->munfasil_way == 2 ? SAY_MUNFASIL_2 : SAY_MUNFASIL_4, r->lang));
        part = line_add(part, arena, &line);
    }
    if (part && m->timeline->trust != MST_TRUST_GOOD) {
        report_say_with(&line, r->lang,
                        m->timeline->trust == MST_TRUST_NONE ? SAY_TOO_LITTLE : SAY_LITTLE,
                        m->timeline->learned_seconds);
        part = line_add(part, arena, &line);
    }
    return part;
}

struct report_part *report_findings(const struct mst_report *r, struct mst_arena *arena)
{
    struct report_part *part = part_new(arena, SAY_FINDINGS, r->lang);
    struct mst_string line = {0};
    for (size_t n = 0; part && n < r->finding_count; n++) {
        mst_finding_text(r->measures, &r->findings[n], r->lang, &line);
        part = line_add(part, arena, &line);
    }
    if (part && part->line_count == 0) {
        mst_string_adds(&line, report_say(SAY_NO_FINDINGS, r->lang));
        part = line_add(part, arena, &line);
    }
    return part;
}

struct report_part *report_faults(const struct mst_report *r, struct mst_arena *arena)
{
    struct report_part *part = part_new(arena, SAY_FAULTS, r->lang);
    struct mst_string line = {0};
    for (size_t n = 0; part && n < r->faults->count; n++) {
        mst_fault_item_text(r->measures->timeline, &r->faults->items[n], r->lang, &line);
        part = line_add(part, arena, &line);
    }
    if (part && part->line_count == 0) {
        mst_string_adds(&line, report_say(SAY_NO_FAULTS, r->lang));
        part = line_add(part, arena, &line);
    }
    for (size_t n = 0; part && n < r->faults->doubt_count; n++) {
        mst_fault_doubt_text(r->measures->timeline, &r->faults->doubts[n], r->lang, &line);
        part = line_add(part, arena, &line);
    }
    if (part && r->faults->nasality) {
        mst_nasality_text(r->faults->nasality, r->lang, &line);
        part = line_add(part, arena, &line);
    }
    mst_fault_limits_text(r->faults, r->lang, &line);
    if (part && line.len > 0)
        part = line_add(part, arena, &line);
    mst_string_free(&line);
    return part;
}

void report_scripture(const struct mst_report *r, struct mst_addr first, struct mst_addr last,
                      struct mst_string *out)
{
    enum { SHOWN = 8 };
    const struct mst_text *text = r->measures->timeline->reading->text;
    struct mst_addr at = first;
    for (int n = 0; at.verse > 0 && at.word > 0; n++) {
        if (n == SHOWN) {
            mst_string_adds(out, " …");
            return;
        }
        struct mst_span word = mst_text_word(text, at.sura, at.verse, at.word);
        mst_string_addf(out, "%s%.*s", n > 0 ? " " : "", (int)word.len, word.ptr);
        if (at.sura == last.sura && at.verse == last.verse && at.word >= last.word)
            return;
        if (++at.word > mst_text_word_count(text, at.sura, at.verse)) {
            at.word = 1;
            at.verse++;
        }
        if (at.sura != last.sura || at.verse > last.verse)
            return;
    }
}

/* The sites that differ most, the farthest first. */
static void say_farthest(const struct mst_report *r, struct mst_string *out)
{
    enum { SHOWN = 5 };
    const struct mst_comparison *c = r->comparison;
    double before = INFINITY;
    int shown = 0;
    for (int rank = 0; rank < SHOWN; rank++) {
        int32_t best = -1;
        double far = 0.05; /* below that nobody hears a difference */
        for (int32_t n = 0; n < c->site_count; n++) {
            double off = c->sites[n].ratio > 0 ? fabs(log(c->sites[n].ratio)) : 0;
            const struct mst_measured_site *a = &c->first->sites[c->sites[n].first];
            const struct mst_measured_site *b = &c->second->sites[c->sites[n].second];
            if (off > far && off < before && a->trust != MST_TRUST_NONE &&
                b->trust != MST_TRUST_NONE) {
                far = off;
                best = n;
            }
        }
        if (best < 0)
            break;
        before = far;
        const struct mst_measured_site *site = &c->first->sites[c->sites[best].first];
        char name[48];
        mst_string_addf(out,
                        r->lang == MST_LANG_AR ? "%s⁨%s⁩ %s ⁨× %.2f⁩" : "%s%s %s × %.2f",
                        shown++ == 0             ? ""
                        : r->lang == MST_LANG_AR ? "؛ "
                                                 : "; ",
                        report_word_addr(site->at, name), mst_rule_name(site->rule, r->lang),
                        c->sites[best].ratio);
    }
}

struct report_part *report_side_by_side(const struct mst_report *r, struct mst_arena *arena)
{
    const struct mst_comparison *c = r->comparison;
    struct report_part *part = part_new(arena, SAY_SIDE_BY_SIDE, r->lang);
    if (!part || !c || !r->beside)
        return part;
    struct mst_string line = {0}, first = {0}, second = {0}, farthest = {0};
    report_takes(r, &first);
    report_takes(r->beside, &second);
    if (first.ptr && second.ptr)
        report_say_with(&line, r->lang, c->pace_ratio >= 1 ? SAY_FASTER : SAY_SLOWER, second.ptr,
                        100 * fabs(c->pace_ratio - 1), first.ptr);
    line.failed |= first.failed | second.failed;
    mst_string_free(&first);
    mst_string_free(&second);
    part = line_add(part, arena, &line);
    report_say_with(&line, r->lang, SAY_MATCHED, c->site_count);
    part = line_add(part, arena, &line);
    say_farthest(r, &farthest);
    if (farthest.ptr)
        report_say_with(&line, r->lang, SAY_FARTHEST, farthest.ptr);
    line.failed |= farthest.failed;
    mst_string_free(&farthest);
    return line_add(part, arena, &line);
}

void report_basis(const struct mst_report *r, struct mst_string *out)
{
    if (r->model_name)
        report_say_with(out, r->lang, SAY_BY_MODEL, report_base_name(r->model_name));
    else
        mst_string_adds(out, report_say(SAY_BY_SELF, r->lang));
}
