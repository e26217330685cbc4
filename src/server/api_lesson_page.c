/* api_lesson_page.c – a lesson's pages as they will be printed or shown, and the lesson as a copy.
 */
#include "desk.h"

#include <mistara/build.h>
#include <string.h>

/* One page of the handout, or one slide, of a passage: what a build would make of the lesson as it
 * was saved. */
enum mst_status get_lesson_page(struct request *rq, struct mst_error *err)
{
    static const char *const kinds[] = {"handout", "slides", NULL};
    static const char *const themes[] = {"light", "dark", NULL};
    struct mst_document d;
    struct mst_lesson lesson;
    struct mst_lesson_problems problems;
    struct mst_handout handout;
    struct mst_typeset *ts = NULL;
    struct mst_sheet *sheet = NULL;
    int kind = 0, theme = 0, page = 1, passage = 1;
    enum mst_status status = param_choice(rq, "of", kinds, &kind, err);
    if (status == MST_OK)
        status = param_choice(rq, "theme", themes, &theme, err);
    if (status == MST_OK)
        status = param_int(rq, "page", 1, 10000, &page, err);
    if (status == MST_OK)
        status = param_int(rq, "passage", 1, 400, &passage, err);
    if (status == MST_OK)
        status = mst_store_document_get(rq->desk->store, "lesson", rq->args[0], rq->arena, &d, err);
    if (status == MST_OK)
        status = mst_lesson_parse(rq->desk->text, mst_span_of(d.text), NULL, rq->arena, &lesson,
                                  &problems, err);
    if (status == MST_OK && lesson.passage_count == 0)
        status =
            mst_fail(err, MST_BAD_DATA, "the lesson has no passage; add one, then it can be shown");
    if (status == MST_OK && passage > lesson.passage_count)
        status = mst_fail(err, MST_NOT_FOUND, "the lesson has %d passages; passage %d asked",
                          (int)lesson.passage_count, passage);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, lesson.passages[passage - 1].range, err);
    if (status == MST_OK)
        status = mst_lesson_handout(&lesson, passage - 1, rq->arena, &handout, err);
    if (status == MST_OK)
        status = typeset_borrow(rq->desk, &ts, err);
    if (status == MST_OK)
        status = (kind ? mst_slides_new : mst_handout_new)(ts, rq->desk->text, &handout, rq->arena,
                                                           &sheet, err);
    int pages = status == MST_OK ? mst_sheet_page_count(sheet) : 0;
    if (status == MST_OK && page > pages)
        status = mst_fail(err, MST_NOT_FOUND, "there are %d pages; page %d asked", pages, page);
    if (status == MST_OK)
        status = mst_sheet_svg(sheet, page - 1, theme ? MST_THEME_DARK : MST_THEME_LIGHT,
                               &rq->reply.body, err);
    if (status == MST_OK) {
        rq->reply.type = "image/svg+xml; charset=utf-8";
        reply_header(rq, "Mistara-Pages", mst_arena_printf(rq->arena, "%d", pages));
    }
    typeset_give_back(rq->desk, ts);
    return status;
}
