#include "canvas.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void ink(struct canvas *c, uint32_t colour, double opacity)
{
    cairo_set_source_rgba(c->cr, (colour >> 16 & 255) / 255.0, (colour >> 8 & 255) / 255.0,
                          (colour & 255) / 255.0, opacity);
}

/* A coordinate with no more digits than are seen. */
static void coordinate(struct mst_string *s, double v)
{
    double rounded = round(v * 100) / 100;
    mst_string_addf(s, "%.*f", rounded == floor(rounded) ? 0 : 2, rounded);
}

static void attribute(struct mst_string *s, const char *name, double value)
{
    mst_string_addf(s, " %s=\"", name);
    coordinate(s, value);
    mst_string_adds(s, "\"");
}

static void points_cairo(struct canvas *c, const struct canvas_point *points, size_t count)
{
    cairo_new_path(c->cr);
    for (size_t n = 0; n < count; n++)
        cairo_line_to(c->cr, points[n].x, points[n].y);
}

/* A tenth of a point is finer than a pixel, and outlines of sound have many points. */
static void points_svg(struct canvas *c, const struct canvas_point *points, size_t count)
{
    for (size_t n = 0; n < count; n++) {
        mst_string_addf(c->svg, "%s%.1f,%.1f", n ? " " : "", points[n].x, points[n].y);
    }
}

void canvas_path(struct canvas *c, const struct canvas_point *points, size_t count, double width,
                 double dash, uint32_t colour)
{
    if (c->cr) {
        ink(c, colour, 1);
        points_cairo(c, points, count);
        cairo_set_line_width(c->cr, width);
        cairo_set_line_join(c->cr, CAIRO_LINE_JOIN_ROUND);
        cairo_set_dash(c->cr, &dash, dash > 0, 0);
        cairo_stroke(c->cr);
        cairo_set_dash(c->cr, NULL, 0, 0);
        return;
    }
    mst_string_adds(c->svg, "<polyline fill=\"none\" points=\"");
    points_svg(c, points, count);
    mst_string_addf(c->svg, "\" stroke=\"#%06x\"", colour);
    attribute(c->svg, "stroke-width", width);
    if (dash > 0)
        attribute(c->svg, "stroke-dasharray", dash);
    mst_string_adds(c->svg, "/>\n");
}

void canvas_line(struct canvas *c, double x0, double y0, double x1, double y1, double width,
                 double dash, uint32_t colour)
{
    struct canvas_point points[] = {{x0, y0}, {x1, y1}};
    canvas_path(c, points, 2, width, dash, colour);
}

void canvas_fill(struct canvas *c, const struct canvas_point *points, size_t count, double opacity,
                 uint32_t colour)
{
    if (c->cr) {
        ink(c, colour, opacity);
        points_cairo(c, points, count);
        cairo_close_path(c->cr);
        cairo_fill(c->cr);
        return;
    }
    mst_string_adds(c->svg, "<polygon points=\"");
    points_svg(c, points, count);
    mst_string_addf(c->svg, "\" fill=\"#%06x\"", colour);
    if (opacity < 1)
        attribute(c->svg, "fill-opacity", opacity);
    mst_string_adds(c->svg, "/>\n");
}

void canvas_box(struct canvas *c, double x, double y, double width, double height, double opacity,
                uint32_t colour)
{
    if (c->cr) {
        ink(c, colour, opacity);
        cairo_rectangle(c->cr, x, y, width, height);
        cairo_fill(c->cr);
        return;
    }
    mst_string_adds(c->svg, "<rect");
    attribute(c->svg, "x", x);
    attribute(c->svg, "y", y);
    attribute(c->svg, "width", width);
    attribute(c->svg, "height", height);
    mst_string_addf(c->svg, " fill=\"#%06x\"", colour);
    if (opacity < 1)
        attribute(c->svg, "fill-opacity", opacity);
    mst_string_adds(c->svg, "/>\n");
}

void canvas_dot(struct canvas *c, double x, double y, double radius, int filled, double opacity,
                uint32_t colour)
{
    if (c->cr) {
        ink(c, colour, opacity);
        cairo_new_path(c->cr);
        cairo_arc(c->cr, x, y, radius, 0, 2 * M_PI);
        cairo_set_line_width(c->cr, 0.6);
        if (filled)
            cairo_fill(c->cr);
        else
            cairo_stroke(c->cr);
        return;
    }
    mst_string_adds(c->svg, "<circle");
    attribute(c->svg, "cx", x);
    attribute(c->svg, "cy", y);
    attribute(c->svg, "r", radius);
    if (filled)
        mst_string_addf(c->svg, " fill=\"#%06x\"", colour);
    else
        mst_string_addf(c->svg, " fill=\"none\" stroke=\"#%06x\" stroke-width=\"0.6\"", colour);
    if (opacity < 1)
        attribute(c->svg, "opacity", opacity);
    mst_string_adds(c->svg, "/>\n");
}

void canvas_words(struct canvas *c, double x, double y, enum mst_print print, double size,
                  enum canvas_anchor anchor, uint32_t colour, int right_to_left,
                  struct mst_span words)
{
    double width = anchor == ANCHOR_START ? 0 : pen_width(c->pen, print, size, words);
    double left = x - (anchor == ANCHOR_MIDDLE ? width / 2 : anchor == ANCHOR_END ? width : 0);
    if (c->cr) {
        ink(c, colour, 1);
        pen_draw(c->pen, c->cr, print, size, left, y, right_to_left, words);
        return;
    }
    static const char *const classes[] = {[MST_PRINT_PLAIN] = "",
                                          [MST_PRINT_BOLD] = " class=\"b\"",
                                          [MST_PRINT_ITALIC] = " class=\"i\"",
                                          [MST_PRINT_CODE] = " class=\"b\"",
                                          [MST_PRINT_QURAN] = " class=\"q\" lang=\"ar\""};
    /* SVG's start is the right end where the line runs from right to left. */
    int rtl = right_to_left || print == MST_PRINT_QURAN;
    const char *names[] = {"start", "middle", "end"};
    enum canvas_anchor shown = rtl ? (enum canvas_anchor)(ANCHOR_END - anchor) : anchor;
    mst_string_addf(c->svg, "<text%s", classes[print]);
    attribute(c->svg, "x", x);
    attribute(c->svg, "y", y);
    attribute(c->svg, "font-size", size);
    if (shown != ANCHOR_START)
        mst_string_addf(c->svg, " text-anchor=\"%s\"", names[shown]);
    if (rtl)
        mst_string_adds(c->svg, " direction=\"rtl\"");
    mst_string_addf(c->svg, " fill=\"#%06x\">", colour);
    mst_string_add_xml(c->svg, words.ptr, words.len);
    mst_string_adds(c->svg, "</text>\n");
}

/* --- pictures --------------------------------------------------------------------- */
void canvas_base64(struct mst_string *out, const unsigned char *bytes, size_t len)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t n = 0; n < len; n += 3) {
        uint32_t three = (uint32_t)bytes[n] << 16;
        three |= n + 1 < len ? (uint32_t)bytes[n + 1] << 8 : 0;
        three |= n + 2 < len ? bytes[n + 2] : 0;
        char four[4] = {digits[three >> 18], digits[three >> 12 & 63],
                        n + 1 < len ? digits[three >> 6 & 63] : '=',
                        n + 2 < len ? digits[three & 63] : '='};
        mst_string_add(out, four, 4);
    }
}

static cairo_status_t png_bytes(void *user, const unsigned char *bytes, unsigned len)
{
    mst_string_add(user, (const char *)bytes, len);
    return CAIRO_STATUS_SUCCESS;
}

static void picture_svg(struct canvas *c, double x, double y, double width, double height,
                        cairo_surface_t *surface, struct mst_string *png)
{
    mst_string_adds(c->svg, "<image preserveAspectRatio=\"none\"");
    attribute(c->svg, "x", x);
    attribute(c->svg, "y", y);
    attribute(c->svg, "width", width);
    attribute(c->svg, "height", height);
    mst_string_adds(c->svg, " href=\"data:image/png;base64,");
    cairo_surface_write_to_png_stream(surface, png_bytes, png);
    canvas_base64(c->svg, (const unsigned char *)png->ptr, png->len);
    mst_string_adds(c->svg, "\"/>\n");
    c->svg->failed |= png->failed;
}

static void picture_cairo(struct canvas *c, double x, double y, double width, double height,
                          cairo_surface_t *surface, int columns, int rows)
{
    cairo_save(c->cr);
    cairo_translate(c->cr, x, y);
    cairo_scale(c->cr, width / columns, height / rows);
    cairo_set_source_surface(c->cr, surface, 0, 0);
    cairo_pattern_set_filter(cairo_get_source(c->cr), CAIRO_FILTER_BILINEAR);
    cairo_pattern_set_extend(cairo_get_source(c->cr), CAIRO_EXTEND_PAD);
    cairo_rectangle(c->cr, 0, 0, columns, rows);
    cairo_fill(c->cr);
    cairo_restore(c->cr);
}

enum mst_status canvas_picture(struct canvas *c, double x, double y, double width, double height,
                               const uint8_t *grey, int columns, int rows, struct mst_error *err)
{
    /* PNG takes the grey as it is (A8); paper wants colours. */
    cairo_surface_t *surface =
        cairo_image_surface_create(c->cr ? CAIRO_FORMAT_RGB24 : CAIRO_FORMAT_A8, columns, rows);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the sound");
    }
    cairo_surface_flush(surface);
    unsigned char *pixels = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (int row = 0; row < rows; row++) {
        const uint8_t *from = grey + (size_t)row * (size_t)columns;
        unsigned char *to = pixels + (size_t)row * stride;
        for (int n = 0; n < columns; n++) {
            uint32_t value = from[n];
            if (c->cr)
                memcpy(to + 4 * n, &(uint32_t){value << 16 | value << 8 | value}, 4);
            else
                to[n] = from[n];
        }
    }
    cairo_surface_mark_dirty(surface);
    struct mst_string png = {0};
    if (c->cr)
        picture_cairo(c, x, y, width, height, surface, columns, rows);
    else
        picture_svg(c, x, y, width, height, surface, &png);
    mst_string_free(&png);
    cairo_surface_destroy(surface);
    return MST_OK;
}

void canvas_group(struct canvas *c, const char *kind, struct mst_span title)
{
    if (c->cr)
        return;
    mst_string_addf(c->svg, "<g class=\"%s\"><title>", kind);
    mst_string_add_xml(c->svg, title.ptr, title.len);
    mst_string_adds(c->svg, "</title>\n");
}

void canvas_group_end(struct canvas *c)
{
    if (!c->cr)
        mst_string_adds(c->svg, "</g>\n");
}
