/* Single verses on paper (mistara/pages.h), one below the other. */
#include "parts.h"

enum { TYPE_LEAST = 12 };

/* Smaller where a long verse would not stand on one page. */
static enum mst_status verse_set(struct setting *s, int32_t verse, double room, struct example *e,
                                 struct mst_error *err)
{
    struct mst_addr at = mst_text_verse_addr(s->text, verse);
    double type = s->page.type_size;
    enum mst_status status;
    do {
        status = example_set(s, (struct mst_range){at, at}, type, setting_width(s), e, err);
        type *= 0.8;
    } while (status == MST_OK && e->bottom - e->top > room && type > TYPE_LEAST);
    return status;
}

enum mst_status mst_verses_new(struct mst_typeset *ts, const struct mst_text *text,
                               const struct mst_verse_pages *pages, struct mst_arena *arena,
                               struct mst_sheet **out, struct mst_error *err)
{
    struct mst_handout like = {.title_en = pages->title_en,
                               .title_ar = pages->title_ar,
                               .rules = mst_sheet_default_rules(),
                               .reading = pages->reading,
                               .labels = pages->labels,
                               .font = pages->font};
    struct setting s = {
        .ts = ts, .text = text, .handout = &like, .arena = arena, .size = 12, .plain = 1};
    s.page = pages->page.width > 0 ? pages->page : mst_page_a4();
    *out = NULL;
    enum mst_status status = setting_open(&s, err);
    if (status != MST_OK)
        return status;
    double bottom = s.page.height - s.page.bottom, top = s.page.top;
    mst_leaves_turn(s.leaves);
    double y = heading(&s, pages->title_en, pages->title_ar, top) + s.size * 0.5;
    for (size_t n = 0; status == MST_OK && n < pages->count; n++) {
        struct example e;
        status = verse_set(&s, pages->verses[n], bottom - top - s.size * 2, &e, err);
        if (status != MST_OK)
            break;
        double height = e.bottom - e.top;
        if (y + height + s.size * 2 > bottom) {
            mst_leaves_turn(s.leaves);
            y = top;
        }
        struct mst_words where = {.text = mst_span_of(e.where),
                                  .size = s.size * 0.85,
                                  .x = setting_left(&s),
                                  .y = y,
                                  .width = 80,
                                  .soft = 1};
        y = mst_leaf_words(s.leaves, &where) + s.size * 0.2;
        example_lay(&s, &e, y, 0);
        y += height + s.size * 1.2;
    }
    return setting_close(&s, status, out, err);
}
