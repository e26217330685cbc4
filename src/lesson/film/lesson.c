/*
 * lesson.c – the film of a lesson: recap, explanation, examples slowly and at
 * pace, the passage, questions (mistara/build.h). Each becomes a few scenes of
 * the reel.
 */
#include "reel.h"

#include <mistara/build.h>
#include <mistara/pages.h>
#include <mistara/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SLOW_PERCENT = 60 };
static const double title_s = 4, recap_rule_s = 1.2, picture_s = 8, still_s = 5;
static const double words_read_per_s = 2.2, think_s = 12, key_s = 7;
static const double lead_ms = 300, tail_ms = 500; /* round an example, so that none is clipped */

static const char *const scene_ids[] = {
#define X(name, id, en, ar) id,
    MST_FILM_SCENE_LIST(X)
#undef X
};
static const char *const scene_names[][2] = {
#define X(name, id, en, ar) {en, ar},
    MST_FILM_SCENE_LIST(X)
#undef X
};

enum mst_status mst_film_scenes_parse(struct mst_span s, uint32_t *out, struct mst_error *err)
{
    struct mst_span word;
    if (!mst_list_bits(s, scene_ids, MST_FILM_SCENE_COUNT, out, &word))
        return mst_fail(err, MST_USAGE,
                        "“%.*s” is no scene; there are recap, explanation, examples, passage and "
                        "questions",
                        (int)(word.len < 60 ? word.len : 60), word.ptr);
    return MST_OK;
}

struct director {
    const struct mst_text *text;
    struct mst_typeset *typeset;
    const struct mst_lesson *l;
    const struct mst_hearing *const *takes;
    struct mst_handout look;
    struct mst_take *narration; /* NULL: none */
    struct reel reel;
    struct mst_error *err;
};

static enum mst_status no_memory(struct director *d)
{
    return mst_fail(d->err, MST_NO_MEMORY, "memory ran out before the film was begun");
}

static const char *chapter_of(struct director *d, enum mst_film_scene scene)
{
    const char *en = scene_names[scene][0], *ar = scene_names[scene][1];
    return d->l->language == MST_LESSON_EN   ? en
           : d->l->language == MST_LESSON_AR ? ar
                                             : mst_arena_printf(d->reel.arena, "%s · %s", en, ar);
}

/* A page that stands still for so long. */
static struct scene *still(struct director *d, const struct mst_sheet *sheet, int page,
                           double seconds, const char *chapter)
{
    struct scene *s = reel_scene(&d->reel);
    if (!s)
        return NULL;
    s->sheet = sheet;
    s->page = page;
    s->frame_count = reel_frames_of_ms(1000 * seconds);
    if (chapter)
        snprintf(s->chapter, sizeof s->chapter, "%s", chapter);
    return s;
}

/* --- recap and explanation ------------------------------------------------------------ */

static enum mst_status recap(struct director *d)
{
    struct mst_sheet *sheet;
    int known = 0;
    for (int r = 0; r < MST_RULE_COUNT; r++)
        known += mst_rule_set_has(d->l->known, (enum mst_rule)r);
    enum mst_status status = mst_recap_slides_new(d->typeset, d->text, &d->look, d->l->known,
                                                  d->reel.arena, &sheet, d->err);
    if (status != MST_OK)
        return status;
    if (!still(d, sheet, 0, title_s, chapter_of(d, MST_FILM_RECAP)))
        return no_memory(d);
    return known == 0 || still(d, sheet, 1, 3 + recap_rule_s * known, NULL) ? MST_OK : no_memory(d);
}

static int words_in(const char *text)
{
    int words = 0, inside = 0;
    for (; *text; text++) {
        int blank = *text == ' ' || *text == '\n';
        words += !blank && !inside;
        inside = !blank;
    }
    return words;
}

/* What there is to read on the first slide of the rule, in the longer of its languages. */
static double reading_s(const struct director *d)
{
    int en = words_in(d->l->explain_en), ar = words_in(d->l->explain_ar);
    if (en + ar == 0)
        for (int r = 0; r < MST_RULE_COUNT; r++)
            if (mst_rule_set_has(d->l->rules, (enum mst_rule)r)) {
                en += words_in(mst_rule_mouth((enum mst_rule)r, MST_LANG_EN));
                ar += words_in(mst_rule_mouth((enum mst_rule)r, MST_LANG_AR));
            }
    return 4 + (en > ar ? en : ar) / words_read_per_s;
}

/* The slides of the rule share the narration as they would share the time to read them. */
static enum mst_status explanation(struct director *d)
{
    struct mst_sheet *sheet;
    struct mst_take *sound = NULL;
    double spoken_s = 0;
    enum mst_status status =
        mst_rule_slides_new(d->typeset, d->text, &d->look, d->reel.arena, &sheet, d->err);
    if (status == MST_OK && d->narration) {
        status = mst_take_read_all(d->narration, d->err);
        spoken_s = (double)mst_take_sample_count(d->narration) / MST_TAKE_RATE_HZ;
        if (status == MST_OK)
            status = reel_sound(&d->reel, d->narration, &sound, d->err);
    }
    if (status != MST_OK)
        return status;
    int pages = mst_sheet_page_count(sheet);
    double plain_s = reading_s(d) + picture_s * (pages - 1);
    double stretch = spoken_s > 0 ? spoken_s / plain_s : 1;
    int64_t begun = reel_frames(&d->reel), done_samples = 0;
    for (int page = 0; page < pages; page++) {
        struct scene *s = still(d, sheet, page, stretch * (page == 0 ? reading_s(d) : picture_s),
                                page == 0 ? chapter_of(d, MST_FILM_EXPLANATION) : NULL);
        if (!s)
            return no_memory(d);
        s->take = sound;
        s->from_sample = done_samples;
        done_samples = (reel_frames(&d->reel) - begun) * d->reel.rate_hz / FILM_FPS;
    }
    return MST_OK;
}

/* --- examples -------------------------------------------------------------------------- */

/* The example on a slide of its own, in the reading in which it
 * stands alone. */
static enum mst_status example_slide(struct director *d, const struct mst_range *range,
                                     struct mst_reading **reading, struct mst_sheet **sheet)
{
    struct mst_reading_options how = d->l->reading;
    struct mst_page_geometry page = mst_page_slide();
    char where[96];
    how.stops = MST_STOPS_NONE;
    how.no_basmala = 1;
    enum mst_status status = mst_reading_new(d->text, *range, &how, d->reel.arena, reading, d->err);
    if (status != MST_OK)
        return status;
    const char *title = mst_arena_printf(d->reel.arena, "%s", mst_range_print(*range, where));
    if (!title)
        return no_memory(d);
    page.type_size *= 1.3;
    page.top += 0.18 * page.height; /* a line or two, in the middle rather than at the top */
    struct mst_sheet_options options = {.page = page,
                                        .rules = d->l->rules,
                                        .stage = MST_FADE_NAMES,
                                        .no_stops = 1,
                                        .title = mst_span_of(title),
                                        .labels = d->look.labels,
                                        .key = MST_KEY_NONE};
    return mst_sheet_new(d->typeset, *reading, &options, d->reel.arena, sheet, d->err);
}

/* The example as the take has it, at this share of its pace. */
static enum mst_status example_heard(struct director *d, const struct mst_hearing *h, int32_t first,
                                     int32_t end, int percent, const struct mst_sheet *sheet,
                                     const struct mst_reading *reading, const char *chapter)
{
    const struct mst_heard_word *words = h->timeline->words;
    double from = words[first].start_ms, to = words[end - 1].end_ms;
    double before = first > 0 ? from - words[first - 1].end_ms : lead_ms;
    double after = end < h->timeline->word_count ? words[end].start_ms - to : tail_ms;
    from -= before < lead_ms ? before : lead_ms;
    to += after < tail_ms ? after : tail_ms;
    struct mst_practice clip;
    struct mst_take *sound;
    enum mst_status status = reel_sound(&d->reel, h->take, &sound, d->err);
    if (status == MST_OK)
        status = film_clip(sound, from > 0 ? from : 0, to, percent, &clip, d->err);
    if (status != MST_OK)
        return status;
    float *samples = mst_arena_alloc_raw(d->reel.arena, clip.sample_count + 1, sizeof *samples);
    struct scene *s = samples ? reel_scene(&d->reel) : NULL;
    if (s) {
        memcpy(samples, clip.samples, clip.sample_count * sizeof *samples);
        s->samples = samples;
        s->sample_count = clip.sample_count;
        s->sheet = sheet;
        s->reading = reading;
        s->frame_count = reel_frames_of_ms((double)clip.sample_count * 1000 / clip.rate_hz + 600);
        if (chapter)
            snprintf(s->chapter, sizeof s->chapter, "%s", chapter);
    }
    mst_practice_free(&clip);
    return s ? scene_light(s, h->timeline, first, end, from > 0 ? from : 0, percent, d->reel.arena,
                           d->err)
             : no_memory(d);
}

static enum mst_status one_example(struct director *d, const struct mst_range *range,
                                   const char *chapter)
{
    struct mst_reading *reading;
    struct mst_sheet *sheet;
    enum mst_status status = example_slide(d, range, &reading, &sheet);
    if (status != MST_OK)
        return status;
    for (int32_t n = 0; n < d->l->take_count; n++) {
        int32_t first, end = -1;
        if (d->takes[n])
            end = film_phrase_end(d->takes[n]->timeline, *range, &first);
        if (end < 0)
            continue;
        status = example_heard(d, d->takes[n], first, end, SLOW_PERCENT, sheet, reading, chapter);
        return status == MST_OK
                   ? example_heard(d, d->takes[n], first, end, 100, sheet, reading, NULL)
                   : status;
    }
    return still(d, sheet, 0, still_s, chapter) ? MST_OK : no_memory(d);
}

static enum mst_status examples(struct director *d)
{
    enum mst_status status = MST_OK;
    for (int32_t n = 0; n < d->l->example_count && status == MST_OK; n++)
        status = one_example(d, &d->l->examples[n].range,
                             n == 0 ? chapter_of(d, MST_FILM_EXAMPLES) : NULL);
    return status;
}

/* --- the passage -------------------------------------------------------------------------- */

static struct mst_sheet_options passage_look(const struct director *d,
                                             const struct mst_lesson_passage *p)
{
    return (struct mst_sheet_options){.page = mst_page_slide(),
                                      .rules = d->l->rules,
                                      .fade_evenly = p->fade_evenly,
                                      .line_stages = p->stage_count ? p->stages : NULL,
                                      .line_stage_count = (size_t)p->stage_count,
                                      .stage = p->fade_evenly ? MST_FADE_NAMES : MST_FADE_MARKS,
                                      .labels = d->look.labels,
                                      .key = MST_KEY_NONE};
}

/* Does the take lie in the passage, at least its first word? */
static int within(const struct mst_range *take, const struct mst_range *passage)
{
    struct mst_addr first = take->first, last = passage->last;
    if (last.word == 0)
        last.word = INT32_MAX;
    return mst_addr_compare(first, passage->first) >= 0 && mst_addr_compare(first, last) <= 0;
}

static enum mst_status passage_still(struct director *d, const struct mst_lesson_passage *p)
{
    struct mst_reading_options how = mst_lesson_reading(d->l, p);
    struct mst_sheet_options options = passage_look(d, p);
    struct mst_reading *reading;
    struct mst_sheet *sheet;
    enum mst_status status =
        mst_reading_new(d->text, p->range, &how, d->reel.arena, &reading, d->err);
    if (status == MST_OK)
        status = mst_sheet_new(d->typeset, reading, &options, d->reel.arena, &sheet, d->err);
    for (int page = 0; status == MST_OK && page < mst_sheet_page_count(sheet); page++)
        if (!still(d, sheet, page, 2 * still_s, page == 0 ? chapter_of(d, MST_FILM_PASSAGE) : NULL))
            status = no_memory(d);
    return status;
}

static enum mst_status passage(struct director *d)
{
    enum mst_status status = MST_OK;
    for (int32_t n = 0; n < d->l->passage_count && status == MST_OK; n++) {
        const struct mst_lesson_passage *p = &d->l->passages[n];
        int heard = 0;
        for (int32_t t = 0; t < d->l->take_count && status == MST_OK; t++) {
            struct mst_sheet_options options = passage_look(d, p);
            struct mst_sheet *sheet;
            if (!d->takes[t] || !within(&d->l->takes[t].range, &p->range))
                continue;
            heard = 1;
            status = mst_sheet_new(d->typeset, d->takes[t]->timeline->reading, &options,
                                   d->reel.arena, &sheet, d->err);
            if (status == MST_OK)
                status =
                    reel_take(&d->reel, d->takes[t]->take, d->takes[t]->timeline, sheet, d->err);
        }
        if (!heard)
            status = passage_still(d, p);
    }
    return status;
}

/* --- questions ------------------------------------------------------------------------------ */

/* Verses to choose from, or a long one, in smaller type: a question fits on its slide. */
static double type_share(const struct mst_question *q)
{
    enum { LONG_VERSE_BYTES = 260 };
    if (q->option_count > 0 && q->options[0].range.first.sura)
        return 0.55;
    return q->verse && strlen(q->verse) > LONG_VERSE_BYTES ? 0.7 : 1;
}

/* One question, or its key, on slides of its own. */
static enum mst_status question_slides(struct director *d, const struct mst_question *q,
                                       size_t number, int key, struct mst_sheet **out)
{
    struct mst_question_pages pages = {.title_en = d->look.title_en,
                                       .title_ar = d->look.title_ar,
                                       .questions = q,
                                       .count = 1,
                                       .first_number = number,
                                       .reading = d->l->reading,
                                       .labels = d->look.labels,
                                       .page = mst_page_slide()};
    pages.page.type_size *= type_share(q);
    return mst_questions_new(d->typeset, d->text, &pages, key, d->reel.arena, out, d->err);
}

/* The question, time to think, the key. */
static enum mst_status one_question(struct director *d, const struct mst_question *q, size_t number)
{
    for (int key = 0; key < 2; key++) {
        struct mst_sheet *sheet;
        enum mst_status status = question_slides(d, q, number, key, &sheet);
        if (status != MST_OK)
            return status;
        for (int page = 0; page < mst_sheet_page_count(sheet); page++)
            if (!still(d, sheet, page, key ? key_s : think_s,
                       number == 1 && !key && page == 0 ? chapter_of(d, MST_FILM_QUESTIONS) : NULL))
                return no_memory(d);
    }
    return MST_OK;
}

static enum mst_status questions(struct director *d)
{
    size_t number = 0;
    enum mst_status status = MST_OK;
    for (int32_t n = 0; n < d->l->question_count && status == MST_OK; n++) {
        const struct mst_lesson_question *line = &d->l->questions[n];
        struct mst_question *some;
        size_t made = 0;
        status = mst_lesson_ask(d->text, d->l, line, 'A', d->reel.arena, &some, &made, d->err);
        for (size_t k = 0; k < made && status == MST_OK; k++)
            status = one_question(d, &some[k], ++number);
    }
    return status;
}

/* --- the whole -------------------------------------------------------------------------------- */

static enum mst_status direct(struct director *d, uint32_t wanted)
{
    enum mst_status (*const makers[])(struct director *) = {
        [MST_FILM_RECAP] = recap,         [MST_FILM_EXPLANATION] = explanation,
        [MST_FILM_EXAMPLES] = examples,   [MST_FILM_PASSAGE] = passage,
        [MST_FILM_QUESTIONS] = questions,
    };
    enum mst_status status = MST_OK;
    for (int n = 0; n < MST_FILM_SCENE_COUNT && status == MST_OK; n++)
        if (wanted == 0 || (wanted >> n & 1u))
            status = makers[n](d);
    return status;
}

enum mst_status mst_lesson_film_write(const struct mst_text *text, struct mst_typeset *typeset,
                                      const struct mst_lesson *lesson,
                                      const struct mst_hearing *const *takes,
                                      const struct mst_lesson_film_options *options,
                                      const char *path, struct mst_error *err)
{
    static const struct mst_lesson_film_options defaults = {0};
    struct director d = {.text = text,
                         .typeset = typeset,
                         .l = lesson,
                         .takes = takes,
                         .reel = reel_new(),
                         .err = err};
    d.look = (struct mst_handout){.title_en = mst_span_of(lesson->title),
                                  .title_ar = mst_span_of(lesson->title_ar),
                                  .rules = lesson->rules,
                                  .explain_en = mst_span_of(lesson->explain_en),
                                  .explain_ar = mst_span_of(lesson->explain_ar),
                                  .reading = lesson->reading,
                                  .labels = mst_lesson_labels(lesson)};
    if (!options)
        options = &defaults;
    if (!d.reel.arena)
        return no_memory(&d);
    snprintf(d.reel.title, sizeof d.reel.title, "%s",
             *lesson->title ? lesson->title : lesson->title_ar);
    enum mst_status status = MST_OK;
    if (lesson->narration_path)
        status = mst_take_open(&lesson->narration_path, 1, NULL, &d.narration, err);
    if (status == MST_OK)
        status = direct(&d, options->scenes);
    if (status == MST_OK)
        status = reel_shoot(&d.reel, options->theme, options->progress, path, err);
    mst_take_close(d.narration);
    reel_free(&d.reel);
    return status;
}
