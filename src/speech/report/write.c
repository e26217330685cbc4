/* write.c – a report to a file, by the ending of its name. */
#include "parts.h"

#include <string.h>
#include <strings.h>

enum kind { KIND_JSON, KIND_VTT, KIND_TSV, KIND_TXT, KIND_PDF, KIND_HTML, KIND_COUNT };
static const char *const endings[KIND_COUNT] = {".json", ".vtt", ".tsv", ".txt", ".pdf", ".html"};

static int kind_of(const char *path)
{
    const char *dot = strrchr(report_base_name(path), '.');
    for (int kind = 0; dot && kind < KIND_COUNT; kind++)
        if (strcasecmp(dot, endings[kind]) == 0)
            return kind;
    return -1;
}

enum mst_status mst_report_check_path(const char *path, struct mst_error *err)
{
    if (kind_of(path) >= 0)
        return MST_OK;
    return mst_fail(err, MST_USAGE,
                    "“%.120s” does not say what to write: end the name in .html, .pdf, .json, "
                    ".vtt (subtitles), .tsv (a table) or .txt (labels)",
                    path);
}

enum mst_status mst_report_write(const struct mst_report *report, const char *path,
                                 struct mst_error *err)
{
    struct mst_string bytes = {0};
    enum mst_status status = mst_report_check_path(path, err);
    if (status != MST_OK)
        return status;
    switch ((enum kind)kind_of(path)) {
    case KIND_JSON:
        mst_report_json(report, &bytes);
        break;
    case KIND_VTT:
        mst_report_vtt(report, &bytes);
        break;
    case KIND_TSV:
        mst_report_tsv(report, &bytes);
        break;
    case KIND_TXT:
        mst_report_labels(report, &bytes);
        break;
    case KIND_PDF:
        status = mst_report_pdf(report, NULL, &bytes, err);
        break;
    case KIND_HTML:
        status = mst_report_html(report, NULL, &bytes, err);
        break;
    case KIND_COUNT:
        break;
    }
    if (status == MST_OK && bytes.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while writing the report");
    if (status == MST_OK)
        status = mst_file_write(path, bytes.ptr, bytes.len, err);
    mst_string_free(&bytes);
    return status;
}
