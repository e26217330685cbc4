/* share.c – what the folder and the film of a lesson share. */
#include <mistara/build.h>

enum mst_sheet_labels mst_lesson_labels(const struct mst_lesson *l)
{
    return l->language == MST_LESSON_EN   ? MST_LABELS_EN
           : l->language == MST_LESSON_AR ? MST_LABELS_AR
                                          : MST_LABELS_BOTH;
}

enum mst_status mst_lesson_handout(const struct mst_lesson *l, int32_t n, struct mst_arena *arena,
                                   struct mst_handout *out, struct mst_error *err)
{
    const struct mst_lesson_passage *p = &l->passages[n];
    struct mst_range *examples =
        mst_arena_alloc(arena, (size_t)l->example_count + 1, sizeof *examples);
    *out = (struct mst_handout){.title_en = {0}};
    if (!examples)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    for (int32_t e = 0; e < l->example_count; e++)
        examples[e] = l->examples[e].range;
    *out = (struct mst_handout){.title_en = mst_span_of(l->title),
                                .title_ar = mst_span_of(l->title_ar),
                                .rules = l->rules,
                                .explain_en = mst_span_of(l->explain_en),
                                .explain_ar = mst_span_of(l->explain_ar),
                                .examples = examples,
                                .example_count = (size_t)l->example_count,
                                .passage = p->range,
                                .reading = mst_lesson_reading(l, p),
                                .full_marks = !p->fade_evenly && p->stage_count == 0,
                                .line_stages = p->stage_count ? p->stages : NULL,
                                .line_stage_count = (size_t)p->stage_count,
                                .labels = mst_lesson_labels(l)};
    return MST_OK;
}

enum mst_status mst_lesson_ask(const struct mst_text *text, const struct mst_lesson *lesson,
                               const struct mst_lesson_question *line, char version,
                               struct mst_arena *arena, struct mst_question **out, size_t *count,
                               struct mst_error *err)
{
    struct mst_reading_options reading = lesson->reading;
    reading.stops = MST_STOPS_VERSES;
    struct mst_ask_query query = {.scope = {&line->range, 1, &reading},
                                  .rules = lesson->rules,
                                  .kinds = 1u << line->kind,
                                  .count = line->count,
                                  .seed = line->seed,
                                  .version = version};
    enum mst_status status = mst_ask(text, &query, arena, out, count, err);
    if (status != MST_NOT_FOUND)
        return status;
    *count = 0;
    return MST_OK;
}
