/* Files by the ending of their name. */
#include "sheet.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static int ends_in(const char *path, const char *ending)
{
    size_t a = strlen(path), b = strlen(ending);
    return a > b && strcasecmp(path + a - b, ending) == 0;
}

/* name.svg → name-2.svg */
static void page_path(const char *path, int page, struct mst_string *out)
{
    const char *dot = strrchr(path, '.');
    mst_string_add(out, path, (size_t)(dot - path));
    mst_string_addf(out, "-%d%s", page + 1, dot);
}

static enum mst_status page_bytes(const struct mst_sheet *sheet, const char *path, int page,
                                  double dpi, enum mst_theme theme, struct mst_string *out,
                                  struct mst_error *err)
{
    return ends_in(path, ".svg") ? mst_sheet_svg(sheet, page, theme, out, err)
                                 : mst_sheet_png(sheet, page, dpi, theme, out, err);
}

static enum mst_status write_pages(const struct mst_sheet *sheet, const char *path, double dpi,
                                   enum mst_theme theme, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (int page = 0; page < sheet->page_count && status == MST_OK; page++) {
        struct mst_string name = {0}, bytes = {0};
        if (sheet->page_count > 1)
            page_path(path, page, &name);
        else
            mst_string_adds(&name, path);
        status = page_bytes(sheet, path, page, dpi, theme, &bytes, err);
        if (status == MST_OK && name.failed)
            status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing %s", path);
        if (status == MST_OK)
            status = mst_file_write(name.ptr, bytes.ptr, bytes.len, err);
        mst_string_free(&name);
        mst_string_free(&bytes);
    }
    return status;
}

static enum mst_status boxes_of_all(const struct mst_sheet *sheet, struct mst_string *out,
                                    struct mst_error *err)
{
    enum mst_status status = MST_OK;
    mst_string_adds(out, "[");
    for (int page = 0; page < sheet->page_count && status == MST_OK; page++) {
        if (page)
            mst_string_adds(out, ",");
        status = mst_sheet_boxes_json(sheet, page, out, err);
    }
    mst_string_adds(out, "]\n");
    return status;
}

enum mst_status mst_sheet_write(const struct mst_sheet *sheet, const char *path, double dpi,
                                enum mst_theme theme, struct mst_error *err)
{
    struct mst_string bytes = {0};
    enum mst_status status;
    int read = sheet->reading->text != NULL; /* pages set piece by piece have only their looks */
    if (ends_in(path, ".svg") || ends_in(path, ".png"))
        return write_pages(sheet, path, dpi, theme, err);
    if (ends_in(path, ".pdf"))
        status = mst_sheet_pdf(sheet, &bytes, err);
    else if (read && ends_in(path, ".json"))
        status = boxes_of_all(sheet, &bytes, err);
    else if (read && ends_in(path, ".txt"))
        status = mst_sheet_text(
            sheet, sheet->options.labels == MST_LABELS_AR ? MST_LANG_AR : MST_LANG_EN, &bytes, err);
    else
        return mst_fail(err, MST_USAGE,
                        read ? "“%s” does not say what to write; end the name in .pdf, .svg, .png, "
                               ".txt or .json"
                             : "“%s” does not say what to write; end the name in .pdf, .svg or "
                               ".png",
                        path);
    if (status == MST_OK && bytes.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing %s", path);
    if (status == MST_OK)
        status = mst_file_write(path, bytes.ptr, bytes.len, err);
    mst_string_free(&bytes);
    return status;
}
