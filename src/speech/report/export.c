/* export.c – the timeline for other programs: subtitles, a table, labels for sound editors. */
#include "parts.h"

#include <stdio.h>
#include <string.h>

static void stamp(struct mst_string *out, int64_t ms)
{
    mst_string_addf(out, "%02lld:%02lld:%02lld.%03lld", (long long)(ms / 3600000),
                    (long long)(ms / 60000 % 60), (long long)(ms / 1000 % 60),
                    (long long)(ms % 1000));
}

/* The word as cue text: scripture as it is, with the three characters escaped that WebVTT means
 * otherwise. The print holds none of them; a cue must not depend on that. */
static void cue_text(struct mst_string *out, struct mst_span word)
{
    for (size_t n = 0; n < word.len; n++) {
        const char *escaped = word.ptr[n] == '&'   ? "&amp;"
                              : word.ptr[n] == '<' ? "&lt;"
                              : word.ptr[n] == '>' ? "&gt;"
                                                   : NULL;
        if (escaped)
            mst_string_adds(out, escaped);
        else
            mst_string_add(out, word.ptr + n, 1);
    }
}

static const struct mst_heard_pause *pause_after(const struct mst_timeline *tl, int32_t word)
{
    for (int32_t n = 0; n < tl->pause_count; n++)
        if (tl->pauses[n].after_word == word)
            return &tl->pauses[n];
    return NULL;
}

void mst_report_vtt(const struct mst_report *r, struct mst_string *out)
{
    const struct mst_timeline *tl = r->measures->timeline;
    char passage[96], at[48];
    mst_string_addf(out, "WEBVTT\n\nNOTE %s · ", mst_range_print(r->passage, passage));
    for (const char *c = report_base_name(r->take_names[0]); *c; c++)
        mst_string_add(out, *c == '\n' || *c == '-' ? "_" : c, 1); /* a note may hold no arrow */
    mst_string_adds(out, "\n\n");
    for (int32_t n = 0; n < tl->word_count; n++) {
        const struct mst_heard_word *w = &tl->words[n];
        if (w->end_ms <= w->start_ms)
            continue; /* a cue must last */
        mst_string_addf(out, "%s%s\n", report_word_addr(w->at, at), w->again ? " again" : "");
        stamp(out, w->start_ms);
        mst_string_adds(out, " --> ");
        stamp(out, w->end_ms);
        mst_string_adds(out, "\n<lang ar>");
        cue_text(out, mst_reading_word(tl->reading, w->word_idx));
        mst_string_addf(out, "</lang> (%d:%d)\n\n", w->at.sura, w->at.verse);
        const struct mst_heard_pause *pause = pause_after(tl, n);
        if (pause) {
            mst_string_adds(out, "NOTE pause ");
            stamp(out, pause->start_ms);
            mst_string_adds(out, " to ");
            stamp(out, pause->end_ms);
            mst_string_adds(out, "\n\n");
        }
    }
}

void mst_report_tsv(const struct mst_report *r, struct mst_string *out)
{
    const struct mst_measures *m = r->measures;
    const struct mst_timeline *tl = m->timeline;
    char at[48];
    mst_string_adds(out, "start_ms\tend_ms\tat\tphone\tlength\trule\tmeasured_counts\t"
                         "expected_counts\texpected_ms\tslack_ms\treliability\n");
    int32_t site = 0;
    for (int32_t n = 0; n < tl->sound_count; n++) {
        const struct mst_heard_sound *h = &tl->sounds[n];
        const struct mst_heard_word *w = &tl->words[h->heard_word];
        mst_string_addf(out, "%d\t%d\t%s\t%s\t%s\t", h->start_ms, h->end_ms,
                        report_word_addr(w->at, at), mst_phone_id(h->phone),
                        mst_length_id(h->length));
        while (site < m->site_count && m->sites[site].sound < n)
            site++;
        if (site < m->site_count && m->sites[site].sound == n)
            mst_string_addf(out, "%s\t%.2f\t%.0f\t%.1f\t", mst_rule_id(m->sites[site].rule),
                            m->sites[site].measured_counts, m->sites[site].expected_counts,
                            m->sites[site].expected_ms);
        else
            mst_string_adds(out, "\t\t\t\t");
        mst_string_addf(out, "%d\t%s\n", h->slack_ms, mst_edge_trust_id(h->trust));
    }
}

/* Words and sites are two tracks in one file: a sound editor shows them in rows. */
void mst_report_labels(const struct mst_report *r, struct mst_string *out)
{
    const struct mst_measures *m = r->measures;
    const struct mst_timeline *tl = m->timeline;
    char at[48];
    for (int32_t n = 0; n < tl->word_count; n++) {
        const struct mst_heard_word *w = &tl->words[n];
        struct mst_span printed = mst_reading_word(tl->reading, w->word_idx);
        mst_string_addf(out, "%.3f\t%.3f\t%s ", w->start_ms / 1000.0, w->end_ms / 1000.0,
                        report_word_addr(w->at, at));
        mst_string_add(out, printed.ptr, printed.len);
        mst_string_adds(out, "\n");
    }
    for (int32_t n = 0; n < m->site_count; n++) {
        const struct mst_measured_site *s = &m->sites[n];
        const struct mst_heard_sound *sound = &tl->sounds[s->sound];
        const struct mst_heard_word *w = &tl->words[sound->heard_word];
        mst_string_addf(out, "%.3f\t%.3f\t%s/%d %s\n", s->start_ms / 1000.0, s->end_ms / 1000.0,
                        report_word_addr(w->at, at), s->sound - w->first_sound,
                        mst_rule_id(s->rule));
    }
}
