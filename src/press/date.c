#include <cairo-pdf.h>
#include <mistara/press.h>
#include <stdlib.h>
#include <time.h>

void mst_press_date(struct _cairo_surface *pdf)
{
    const char *epoch = getenv("SOURCE_DATE_EPOCH");
    char date[32] = "";
    time_t seconds = epoch ? (time_t)strtoll(epoch, NULL, 10) : 0;
    struct tm tm;
    if (epoch && *epoch && gmtime_r(&seconds, &tm))
        strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%SZ", &tm);
    cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_CREATE_DATE, date);
}
