/* look.c – everything that can be looked for in a take, and the few of it that a report shows. */
#include "parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A word left out weighs more than any sound, however sure. */
static const double word_weight = 2.0;

static void offer(struct mst_fault_report *r, struct mst_fault_item item)
{
    size_t at = r->count;
    while (at > 0 && (r->items[at - 1].grade > item.grade ||
                      (r->items[at - 1].grade == item.grade && r->items[at - 1].rank < item.rank)))
        at--;
    r->found++;
    if (at >= MST_FINDINGS_MAX)
        return;
    size_t end = r->count < MST_FINDINGS_MAX ? r->count++ : MST_FINDINGS_MAX - 1;
    for (size_t i = end; i > at; i--)
        r->items[i] = r->items[i - 1];
    r->items[at] = item;
}

static void offer_words(struct mst_fault_report *r, const struct mst_word_fault *words,
                        size_t count)
{
    for (size_t i = 0; i < count; i++)
        offer(r, (struct mst_fault_item){.grade = MST_FAULT_PLAIN,
                                         .word = &words[i],
                                         .at = words[i].first,
                                         .start_ms = words[i].start_ms,
                                         .end_ms = words[i].end_ms,
                                         .sureness = words[i].sureness,
                                         .rank = words[i].sureness * word_weight});
}

/* A sound of a word that was itself left out or exchanged says nothing. */
static int word_is_in_doubt(const struct mst_kind_fault *k, const struct mst_word_fault *words,
                            size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (k->start_ms < words[i].end_ms && k->end_ms > words[i].start_ms)
            return 1;
    return 0;
}

static enum mst_status look_at_sounds(struct mst_fault_ear *ear, const struct mst_fault_list *list,
                                      const struct mst_word_fault *words, size_t word_count,
                                      struct mst_arena *arena, struct mst_fault_report *r,
                                      struct mst_error *err)
{
    struct mst_kind_fault *kinds;
    size_t count;
    struct mst_kind_options all = {.all = 1};
    enum mst_status status = mst_fault_kinds(ear, list, &all, arena, &kinds, &count, err);
    if (!status)
        status = fault_doubts(ear->timeline, kinds, count, arena, r, err);
    if (!status)
        count = fault_keep_best(kinds, count, 0);
    for (size_t i = 0; i < count && !status; i++) {
        const struct mst_kind_fault *k = &kinds[i];
        if (word_is_in_doubt(k, words, word_count))
            continue;
        int32_t start_ms, end_ms;
        fault_clip(ear->timeline, k, &start_ms, &end_ms);
        offer(r, (struct mst_fault_item){.grade = k->fault->grade,
                                         .kind = k,
                                         .at = k->at,
                                         .start_ms = start_ms,
                                         .end_ms = end_ms,
                                         .sureness = k->sureness,
                                         .rank = k->sureness * k->fault->weight});
    }
    r->unjudged_count = ear->unjudged_count;
    return status;
}

enum mst_status mst_fault_look(const struct mst_timeline *timeline,
                               const struct mst_features *features, const struct mst_voice *voice,
                               const struct mst_fault_list *list, const struct mst_similar *similar,
                               int threads, struct mst_arena *arena, struct mst_fault_report **out,
                               struct mst_error *err)
{
    struct mst_fault_report *r = mst_arena_alloc(arena, 1, sizeof *r);
    struct mst_fault_ear *ear = NULL;
    struct mst_word_fault *words = NULL;
    size_t count = 0;
    *out = NULL;
    if (!r)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while looking for faults");
    enum mst_status status = mst_fault_ear_open(timeline, features, voice, threads, &ear, err);
    if (!status)
        status = mst_fault_words(ear, similar, arena, &words, &count, err);
    if (!status)
        offer_words(r, words, count);
    r->with_kinds = voice && list;
    if (!status && r->with_kinds)
        status = look_at_sounds(ear, list, words, count, arena, r, err);
    if (r->doubt_count > MST_FINDINGS_MAX - r->count) /* all together at most so many */
        r->doubt_count = MST_FINDINGS_MAX - r->count;
    mst_fault_ear_close(ear);
    struct mst_nasality *nasality = NULL;
    if (!status)
        status = mst_nasality_measure(timeline, features, arena, &nasality, err);
    r->nasality = nasality;
    if (!status)
        *out = r;
    return status;
}

void mst_kind_fault_ipa(const struct mst_timeline *tl, const struct mst_kind_fault *k,
                        struct mst_string *expected, struct mst_string *heard)
{
    int32_t sound = tl->sounds[k->sound].sound_idx;
    mst_sounds_ipa(tl->reading, sound, sound + 1, expected);
    mst_fault_said_ipa(&k->fault->ways[k->way], tl->reading, sound, heard);
}

static void clock(int32_t ms, char out[24])
{
    snprintf(out, 24, "%d:%04.1f", ms / 60000, ms % 60000 / 1000.0);
}

/* Percent; nothing heard by a machine is beyond doubt. */
static double shown(double sureness)
{
    return 100 * (sureness < 0.99 ? sureness : 0.99);
}

void mst_fault_item_short(const struct mst_timeline *tl, const struct mst_fault_item *item,
                          enum mst_lang lang, struct mst_string *out)
{
    const struct mst_kind_fault *k = item->kind;
    int ar = lang == MST_LANG_AR;
    struct mst_string expected = {0}, heard = {0};
    if (item->word) {
        mst_word_fault_text(item->word, lang, out);
        return;
    }
    mst_kind_fault_ipa(tl, k, &expected, &heard);
    mst_string_addf(out,
                    ar ? "%s؟ المنتظر \u2066[%s]\u2069 والمسموع أقرب إلى \u2066[%s]\u2069"
                       : "%s? Expected [%s], heard rather [%s]",
                    ar ? k->fault->name_ar : k->fault->name_en, expected.ptr ? expected.ptr : "",
                    heard.ptr ? heard.ptr : "");
    out->failed |= expected.failed | heard.failed;
    mst_string_free(&expected);
    mst_string_free(&heard);
}

void mst_fault_item_text(const struct mst_timeline *tl, const struct mst_fault_item *item,
                         enum mst_lang lang, struct mst_string *out)
{
    int ar = lang == MST_LANG_AR;
    char at[48], from[24];
    clock(item->start_ms, from);
    if (item->kind)
        mst_string_addf(out, "%s: ", mst_addr_print(item->kind->at, at));
    mst_fault_item_short(tl, item, lang, out);
    mst_string_addf(out, ar ? " (%s؛ الثقة %.0f٪)" : " (%s; sure to %.0f %%)", from,
                    shown(item->sureness));
}

void mst_fault_doubt_text(const struct mst_timeline *tl, const struct mst_fault_doubt *d,
                          enum mst_lang lang, struct mst_string *out)
{
    int ar = lang == MST_LANG_AR, any = 0;
    char at[48], from[24];
    struct mst_string expected = {0}, heard = {0};
    mst_addr_print(d->likeliest.at, at);
    clock(d->start_ms, from);
    mst_kind_fault_ipa(tl, &d->likeliest, &expected, &heard);
    mst_string_addf(
        out,
        ar ? "%s، \u2066[%s]\u2069 أم \u2066[%s]\u2069: لا يمكن الحكم (المواضع: %d)، إذ "
           : "%s, [%s] or [%s]: cannot be told (places: %d), for ",
        ar ? d->fault->name_ar : d->fault->name_en, expected.ptr ? expected.ptr : "",
        heard.ptr ? heard.ptr : "", d->place_count);
    for (int why = 0; why < MST_CANNOT_COUNT; why++)
        if (d->why >> why & 1u) {
            mst_string_addf(out, "%s%s", any ? ar ? "، و" : ", and " : "",
                            mst_cannot_text((enum mst_cannot)why, lang));
            any = 1;
        }
    mst_string_addf(out, ar ? ". وللاستماع مثلا: %s (%s)." : ". To listen for yourself: %s (%s).",
                    at, from);
    out->failed |= expected.failed | heard.failed;
    mst_string_free(&expected);
    mst_string_free(&heard);
}

void mst_fault_limits_text(const struct mst_fault_report *r, enum mst_lang lang,
                           struct mst_string *out)
{
    int ar = lang == MST_LANG_AR;
    if (r->found > r->count)
        mst_string_addf(out, ar ? "وفوق ذلك %zu موضعًا لم تُذكر. " : "%zu more are not shown. ",
                        r->found - r->count);
    if (!r->with_kinds)
        mst_string_adds(out, ar ? "لم يُنظر في الحروف نفسها: يلزم صوت محفوظ لقارئ آخر."
                                : "How the sounds were said was not judged: that needs a stored "
                                  "voice of somebody else.");
    else if (r->unjudged_count > 0)
        mst_string_addf(out,
                        ar ? "لا يمكن الحكم على %d من الحروف."
                           : "Of %d sounds it cannot be told how they were said.",
                        r->unjudged_count);
}
