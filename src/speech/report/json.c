/* json.c – the report for programs. Its members are listed in docs/listening.md. */
#include "parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Puts the comma where it belongs. */
static void key(struct mst_string *s, const char *name)
{
    if (s->len > 0 && !strchr("{[", s->ptr[s->len - 1]))
        mst_string_adds(s, ",");
    if (name) {
        mst_string_add_json(s, name, strlen(name));
        mst_string_adds(s, ":");
    }
}

static void text(struct mst_string *s, const char *name, const char *value)
{
    key(s, name);
    if (value)
        mst_string_add_json(s, value, strlen(value));
    else
        mst_string_adds(s, "null");
}

static void integer(struct mst_string *s, const char *name, int64_t value)
{
    key(s, name);
    mst_string_addf(s, "%lld", (long long)value);
}

/* JSON knows no infinity. */
static void number(struct mst_string *s, const char *name, double value, int decimals)
{
    key(s, name);
    if (isfinite(value))
        mst_string_addf(s, "%.*f", decimals, value);
    else
        mst_string_adds(s, "null");
}

/* A number that is not there when it is not above 0. */
static void number_or_null(struct mst_string *s, const char *name, double value, int decimals)
{
    number(s, name, value > 0 ? value : NAN, decimals);
}

static void boolean(struct mst_string *s, const char *name, int value)
{
    key(s, name);
    mst_string_adds(s, value ? "true" : "false");
}

static void address(struct mst_string *s, const char *name, struct mst_addr at)
{
    char word[48];
    if (at.letter > 0 && at.sura > 0)
        text(s, name, mst_addr_print(at, word));
    else
        text(s, name, report_word_addr(at, word));
}

static void sentence(struct mst_string *s, const char *name, struct mst_string *words)
{
    key(s, name);
    mst_string_add_json(s, words->ptr ? words->ptr : "", words->len);
    s->failed |= words->failed;
    mst_string_free(words);
}

static void open_list(struct mst_string *s, const char *name)
{
    key(s, name);
    mst_string_adds(s, "[");
}

static void open_object(struct mst_string *s, const char *name)
{
    key(s, name);
    mst_string_adds(s, "{");
}

static void quality(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_quality *q = r->quality;
    if (!q) {
        text(s, "quality", NULL);
        return;
    }
    open_object(s, "quality");
    number(s, "seconds", q->seconds, 3);
    number(s, "peak_dbfs", q->peak_dbfs, 1);
    number(s, "speech_dbfs", q->speech_dbfs, 1);
    number(s, "noise_dbfs", q->noise_dbfs, 1);
    number(s, "snr_db", q->snr_db, 1);
    number(s, "band_edge_hz", q->band_edge_hz, 0);
    number_or_null(s, "hum_hz", q->hum_hz, 0);
    number(s, "music_fraction", q->music_fraction, 4);
    number(s, "clipped_fraction", q->clipped_fraction, 6);
    open_list(s, "warnings");
    for (int32_t n = 0; n < q->warning_count; n++) {
        struct mst_string words = {0};
        open_object(s, NULL);
        text(s, "kind", mst_take_warning_name(q->warnings[n].kind));
        number(s, "value", q->warnings[n].value, 6);
        if (q->warnings[n].file >= 0 && (size_t)q->warnings[n].file < r->take_count)
            text(s, "file", report_base_name(r->take_names[q->warnings[n].file]));
        else
            text(s, "file", NULL);
        mst_take_warning_text(r->take, &q->warnings[n], r->lang, &words);
        sentence(s, "text", &words);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}");
}

static void words(const struct mst_timeline *tl, struct mst_string *s)
{
    open_list(s, "words");
    for (int32_t n = 0; n < tl->word_count; n++) {
        const struct mst_heard_word *w = &tl->words[n];
        struct mst_span printed = mst_reading_word(tl->reading, w->word_idx);
        open_object(s, NULL);
        address(s, "at", w->at);
        key(s, "text");
        mst_string_add_json(s, printed.ptr, printed.len);
        integer(s, "start_ms", w->start_ms);
        integer(s, "end_ms", w->end_ms);
        boolean(s, "after_pause", w->started);
        boolean(s, "before_pause", w->stopped);
        boolean(s, "taken_up_again", w->again);
        number(s, "score", w->score, 3);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
    open_list(s, "left_out");
    for (int32_t n = 0; n < tl->left_out_count; n++)
        address(s, NULL, tl->left_out[n]);
    mst_string_adds(s, "]");
}

static void pauses(const struct mst_timeline *tl, struct mst_string *s)
{
    open_list(s, "pauses");
    for (int32_t n = 0; n < tl->pause_count; n++) {
        const struct mst_heard_pause *p = &tl->pauses[n];
        open_object(s, NULL);
        if (p->after_word >= 0)
            address(s, "after", tl->words[p->after_word].at);
        else
            text(s, "after", NULL);
        integer(s, "start_ms", p->start_ms);
        integer(s, "end_ms", p->end_ms);
        boolean(s, "at_verse_end", p->at_verse_end);
        boolean(s, "taken_up_again", p->taken_up_again);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
}

static void sounds(const struct mst_timeline *tl, struct mst_string *s)
{
    open_list(s, "sounds");
    for (int32_t n = 0; n < tl->sound_count; n++) {
        const struct mst_heard_sound *h = &tl->sounds[n];
        open_object(s, NULL);
        integer(s, "word", h->heard_word);
        text(s, "phone", mst_phone_id(h->phone));
        text(s, "ipa", mst_phone_ipa(h->phone));
        text(s, "length", mst_length_id(h->length));
        integer(s, "start_ms", h->start_ms);
        integer(s, "end_ms", h->end_ms);
        integer(s, "slack_ms", h->slack_ms);
        text(s, "reliability", mst_edge_trust_id(h->trust));
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
}

static void site_members(const struct mst_measured_site *site, struct mst_string *s)
{
    text(s, "rule", mst_rule_id(site->rule));
    text(s, "length", mst_length_id(site->length));
    address(s, "at", site->at);
    integer(s, "start_ms", site->start_ms);
    integer(s, "end_ms", site->end_ms);
    integer(s, "held_ms", site->held_ms);
    number(s, "expected_ms", site->expected_ms, 1);
    number(s, "measured_counts", site->measured_counts, 2);
    number(s, "counts_low", site->counts_low, 2);
    number(s, "counts_high", site->counts_high, 2);
    number(s, "expected_counts", site->expected_counts, 0);
    number(s, "ratio", site->ratio, 3);
    number(s, "deviation", site->deviation, 2);
    text(s, "reliability", mst_edge_trust_id(site->trust));
}

static void sites(const struct mst_measures *m, struct mst_string *s)
{
    open_list(s, "sites");
    for (int32_t n = 0; n < m->site_count; n++) {
        open_object(s, NULL);
        site_members(&m->sites[n], s);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
}

static void classes(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_measures *m = r->measures;
    open_list(s, "classes");
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        const struct mst_length_measure *l = &m->lengths[k];
        if (!report_class_shown(m, k))
            continue;
        open_object(s, NULL);
        text(s, "length", mst_length_id((enum mst_length)k));
        text(s, "name", mst_length_name((enum mst_length)k, r->lang));
        integer(s, "count", l->count);
        integer(s, "measured", l->trusted);
        number_or_null(s, "median_ms", l->median_ms, 1);
        number_or_null(s, "low_ms", l->low_ms, 1);
        number_or_null(s, "high_ms", l->high_ms, 1);
        number_or_null(s, "own_counts",
                       l->trusted > 0 && m->count_ms > 0 ? l->median_ms / m->count_ms : 0, 2);
        number(s, "spread_log", l->spread_log, 3);
        number(s, "even_share", l->even_share, 3);
        number_or_null(s, "model_median_ms", l->model_median_ms, 1);
        number_or_null(s, "ratio", l->ratio, 3);
        number_or_null(s, "ratio_low", l->ratio_low, 3);
        number_or_null(s, "ratio_high", l->ratio_high, 3);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
}

static void findings(const struct mst_report *r, struct mst_string *s)
{
    open_list(s, "findings");
    for (size_t n = 0; n < r->finding_count; n++) {
        const struct mst_finding *f = &r->findings[n];
        struct mst_string said = {0};
        open_object(s, NULL);
        text(s, "kind", mst_finding_id(f->kind));
        text(s, "length", f->length == MST_LENGTH_NONE ? NULL : mst_length_id(f->length));
        if (f->at.word > 0)
            address(s, "at", f->at);
        else
            text(s, "at", NULL);
        if (f->end_ms > f->start_ms) {
            integer(s, "start_ms", f->start_ms);
            integer(s, "end_ms", f->end_ms);
        }
        number_or_null(s, "ratio", f->ratio, 3);
        number(s, "sureness", f->sureness, 3);
        mst_finding_text(r->measures, f, r->lang, &said);
        sentence(s, "text", &said);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
}

static void scripture(const struct mst_report *r, struct mst_addr first, struct mst_addr last,
                      struct mst_string *s)
{
    struct mst_string words = {0};
    report_scripture(r, first, last, &words);
    sentence(s, "words", &words);
}

static void doubts(const struct mst_report *r, struct mst_string *s)
{
    open_list(s, "cannot_tell");
    for (size_t n = 0; n < r->faults->doubt_count; n++) {
        const struct mst_fault_doubt *d = &r->faults->doubts[n];
        struct mst_string said = {0}, expected = {0}, heard = {0};
        open_object(s, NULL);
        text(s, "kind", d->fault->id);
        text(s, "grade", d->fault->grade == MST_FAULT_PLAIN ? "plain" : "fine");
        integer(s, "places", d->place_count);
        open_list(s, "why");
        for (int why = 0; why < MST_CANNOT_COUNT; why++)
            if (d->why >> why & 1u)
                text(s, NULL, mst_cannot_id((enum mst_cannot)why));
        mst_string_adds(s, "]");
        address(s, "at", d->likeliest.at);
        scripture(r, d->likeliest.at, d->likeliest.at, s);
        integer(s, "start_ms", d->start_ms);
        integer(s, "end_ms", d->end_ms);
        mst_kind_fault_ipa(r->measures->timeline, &d->likeliest, &expected, &heard);
        sentence(s, "expected", &expected);
        sentence(s, "heard", &heard);
        mst_fault_doubt_text(r->measures->timeline, d, r->lang, &said);
        sentence(s, "text", &said);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
    integer(s, "cannot_tell_found", (int)r->faults->doubts_found);
}

static void faults(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_timeline *tl = r->measures->timeline;
    if (!r->faults)
        return;
    open_list(s, "faults");
    for (size_t n = 0; n < r->faults->count; n++) {
        const struct mst_fault_item *f = &r->faults->items[n];
        struct mst_string said = {0}, expected = {0}, heard = {0};
        open_object(s, NULL);
        text(s, "kind", f->word ? mst_word_fault_id(f->word->kind) : f->kind->fault->id);
        text(s, "grade", f->grade == MST_FAULT_PLAIN ? "plain" : "fine");
        address(s, "at", f->at);
        if (f->word && f->word->word_count > 1)
            address(s, "to", f->word->last);
        scripture(r, f->at, f->word ? f->word->last : f->at, s);
        integer(s, "start_ms", f->start_ms);
        integer(s, "end_ms", f->end_ms);
        if (f->kind) {
            mst_kind_fault_ipa(tl, f->kind, &expected, &heard);
            sentence(s, "expected", &expected);
            sentence(s, "heard", &heard);
        }
        number(s, "sureness", f->sureness, 3);
        mst_fault_item_text(tl, f, r->lang, &said);
        sentence(s, "text", &said);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
    integer(s, "faults_found", (int)r->faults->found);
    integer(s, "sounds_not_judged", r->faults->unjudged_count);
    doubts(r, s);
}

static void nasality(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_nasality *n = r->faults ? r->faults->nasality : NULL;
    if (!n)
        return;
    open_object(s, "nasality");
    number(s, "parted", n->parted, 2);
    open_list(s, "holds");
    for (int32_t i = 0; i < n->hold_count; i++) {
        const struct mst_nasal_hold *h = &n->holds[i];
        open_object(s, NULL);
        address(s, "at", h->at);
        integer(s, "start_ms", h->start_ms);
        integer(s, "end_ms", h->end_ms);
        text(s, "verdict", mst_nasal_id(h->verdict));
        number(s, "nasal", h->nasal, 3);
        open_list(s, "thirds");
        for (int k = 0; k < 3; k++)
            number(s, NULL, h->third[k], 3);
        mst_string_adds(s, "]}");
    }
    mst_string_adds(s, "]}");
}

static void take_names(const struct mst_report *r, struct mst_string *s)
{
    open_list(s, "take");
    for (size_t n = 0; n < r->take_count; n++)
        text(s, NULL, report_base_name(r->take_names[n]));
    mst_string_adds(s, "]");
}

static void overview(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_measures *m = r->measures;
    const struct mst_timeline *tl = m->timeline;
    char passage[96];
    take_names(r, s);
    text(s, "passage", mst_range_print(r->passage, passage));
    integer(s, "duration_ms", tl->duration_ms);
    number(s, "speech_seconds", tl->speech_seconds, 2);
    number(s, "fit", tl->fit, 3);
    text(s, "reliability", mst_edge_trust_id(tl->trust));
    integer(s, "repeats", tl->repeat_count);
    number_or_null(s, "count_ms", m->count_ms, 1);
    number(s, "pace", m->pace, 2);
    number(s, "pace_drift", m->pace_drift, 3);
    if (m->munfasil_way)
        integer(s, "munfasil_way", m->munfasil_way);
    else
        text(s, "munfasil_way", NULL);
    text(s, "model", r->model_name);
    number_or_null(s, "model_pace_ratio", m->model_pace_ratio, 3);
}

static void beside(const struct mst_report *r, struct mst_string *s)
{
    const struct mst_comparison *c = r->comparison;
    if (!c || !r->beside)
        return;
    open_object(s, "beside");
    take_names(r->beside, s);
    number(s, "pace_ratio", c->pace_ratio, 3);
    integer(s, "only_first", c->only_first);
    integer(s, "only_second", c->only_second);
    open_list(s, "classes");
    for (int k = 0; k < MST_LENGTH_COUNT; k++) {
        if (c->length_ratio[k] <= 0)
            continue;
        open_object(s, NULL);
        text(s, "length", mst_length_id((enum mst_length)k));
        number(s, "first_median_ms", c->first->lengths[k].median_ms, 1);
        number(s, "second_median_ms", c->second->lengths[k].median_ms, 1);
        number(s, "ratio", c->length_ratio[k], 3);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]");
    open_list(s, "sites");
    for (int32_t n = 0; n < c->site_count; n++) {
        const struct mst_measured_site *a = &c->first->sites[c->sites[n].first];
        const struct mst_measured_site *b = &c->second->sites[c->sites[n].second];
        open_object(s, NULL);
        text(s, "rule", mst_rule_id(a->rule));
        address(s, "at", a->at);
        integer(s, "first_held_ms", a->held_ms);
        integer(s, "second_held_ms", b->held_ms);
        integer(s, "second_start_ms", b->start_ms);
        number(s, "ratio", c->sites[n].ratio, 3);
        mst_string_adds(s, "}");
    }
    mst_string_adds(s, "]}");
}

void mst_report_json(const struct mst_report *r, struct mst_string *s)
{
    mst_string_adds(s, "{");
    overview(r, s);
    quality(r, s);
    words(r->measures->timeline, s);
    pauses(r->measures->timeline, s);
    sounds(r->measures->timeline, s);
    sites(r->measures, s);
    classes(r, s);
    findings(r, s);
    faults(r, s);
    nasality(r, s);
    beside(r, s);
    text(s, "reminder", mst_findings_reminder(r->lang));
    mst_string_adds(s, "}\n");
}
