/* The boxes of a page as JSON: where a click finds its letter and its sites. */
#include "sheet.h"

static void add_rect(struct mst_string *out, double x, double y, double w, double h)
{
    mst_string_addf(out, "\"x\":%.2f,\"y\":%.2f,\"w\":%.2f,\"h\":%.2f", x, y, w, h);
}

static void add_letter(const struct mst_sheet *sheet, const struct mst_letter_box *b,
                       struct mst_string *out)
{
    char at[48];
    mst_string_addf(out, "{\"at\":\"%s\",",
                    mst_addr_print(mst_letter_addr(sheet->reading, b->letter), at));
    add_rect(out, b->x, b->y, b->width, b->height);
    mst_string_addf(out,
                    ",\"left\":%.2f,\"right\":%.2f,\"baseline\":%.2f,\"low\":%.3f,\"high\":%.3f,"
                    "\"line\":%d,\"sites\":[",
                    b->left, b->right, b->baseline, (b->y + b->height - b->baseline) / sheet->em,
                    (b->baseline - b->y) / sheet->em, b->line + 1);
    int32_t first, end;
    int some = 0;
    mst_sites_at(sheet->reading, b->letter, &first, &end);
    for (; first < end; first++) {
        struct mark mark;
        if (sheet_site_mark(sheet, &sheet->reading->sites[first], &mark))
            mst_string_addf(out, some++ ? ",%d" : "%d", (int)first);
    }
    mst_string_adds(out, "]}");
}

static void add_mark(const struct mst_sheet *sheet, const struct mark *m, struct mst_string *out)
{
    struct mst_string label = {0};
    char at[48];
    mst_string_adds(out, "{");
    if (m->site >= 0) {
        const struct mst_site *site = &sheet->reading->sites[m->site];
        mst_string_addf(out, "\"site\":%d,\"at\":\"%s\",\"rule\":", (int)m->site,
                        mst_addr_print(mst_letter_addr(sheet->reading, site->trigger), at));
        mst_string_addf(out, m->sign == SIGN_DOT ? "null," : "\"%s\",", mst_rule_id(site->rule));
    } else {
        mst_string_adds(out, "\"site\":null,\"at\":null,\"rule\":null,");
    }
    add_rect(out, m->x0, m->y0, m->x1 - m->x0, m->y1 - m->y0);
    mst_string_addf(out, ",\"anchor\":%.2f,\"label\":", m->anchor);
    sheet_mark_label(sheet, m, sheet->options.labels == MST_LABELS_AR ? MST_LANG_AR : MST_LANG_EN,
                     &label);
    mst_string_add_json(out, label.ptr ? label.ptr : "", label.len);
    mst_string_adds(out, "}");
    out->failed |= label.failed;
    mst_string_free(&label);
}

enum mst_status mst_sheet_boxes_json(const struct mst_sheet *sheet, int page,
                                     struct mst_string *out, struct mst_error *err)
{
    if (page < 0 || page >= sheet->page_count)
        return mst_fail(err, MST_NOT_FOUND, "the sheet has %d pages; page %d asked",
                        sheet->page_count, page + 1);
    mst_string_addf(out,
                    "{\"page\":%d,\"width\":%.2f,\"height\":%.2f,\"type_size\":%.2f,\"letters\":[",
                    page + 1, sheet->page.width, sheet->page.height, sheet->em);
    int some = 0;
    for (int32_t l = 0; l < sheet->reading->letter_count; l++) {
        if (sheet->boxes[l].page != page)
            continue;
        mst_string_adds(out, some++ ? ",\n" : "\n");
        add_letter(sheet, &sheet->boxes[l], out);
    }
    mst_string_adds(out, "],\"marks\":[");
    some = 0;
    for (int n = 0; n < sheet->line_count; n++) {
        const struct line *line = &sheet->lines[n];
        for (int32_t i = 0; i < line->mark_count && line->page == page; i++) {
            mst_string_adds(out, some++ ? ",\n" : "\n");
            add_mark(sheet, &sheet->marks[line->first_mark + i], out);
        }
    }
    mst_string_adds(out, "]}\n");
    return out->failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the boxes")
                       : MST_OK;
}
