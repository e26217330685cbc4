#include "canvas.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double wash_share =
    0.38;                           /* of the ink in a wash: seen from the last row, read through */
static const double wash_pad = 2.5; /* points round a mark */
/* Between two baselines the upper line's descent takes this share. */
static const double below_share = 0.3;

enum { PIXELS = CANVAS_WIDTH * CANVAS_HEIGHT, STRIDE = CANVAS_WIDTH * 4 };

enum mst_status canvas_open(struct canvas *c, double page_width, enum mst_theme theme,
                            struct mst_error *err)
{
    *c = (struct canvas){.theme = theme, .page = -1};
    c->scale = CANVAS_WIDTH / page_width;
    c->plain = malloc((size_t)PIXELS * sizeof *c->plain);
    c->lit = malloc((size_t)PIXELS * sizeof *c->lit);
    c->shown = malloc((size_t)PIXELS * sizeof *c->shown);
    c->plane_bytes = (size_t)PIXELS * 3 / 2;
    c->planes = malloc(c->plane_bytes);
    if (c->plain && c->lit && c->shown && c->planes)
        return MST_OK;
    canvas_close(c);
    return mst_fail(err, MST_NO_MEMORY, "memory ran out before the film was begun");
}

void canvas_close(struct canvas *c)
{
    free(c->plain);
    free(c->lit);
    free(c->shown);
    free(c->planes);
    *c = (struct canvas){.page = -1};
}

/* --- RGB to Y'CbCr --------------------------------------------------------------------- */

/*
 * ITU-R BT.709-6: Y' = 0.2126 R' + 0.7152 G' + 0.0722 B'; narrow range: Y 16 to 235, Cb and Cr
 * 128 ± 112. In 1/65536.
 */
static uint8_t luma(uint32_t rgb)
{
    uint32_t r = rgb >> 16 & 255, g = rgb >> 8 & 255, b = rgb & 255;
    return (uint8_t)(16 + ((11966 * r + 40254 * g + 4064 * b + 32768) >> 16));
}

/* Four pixels share their chroma. */
static void chroma(const uint32_t *row, const uint32_t *below, uint8_t *cb, uint8_t *cr)
{
    int32_t r = 0, g = 0, b = 0;
    const uint32_t four[] = {row[0], row[1], below[0], below[1]};
    for (int n = 0; n < 4; n++) {
        r += (int32_t)(four[n] >> 16 & 255);
        g += (int32_t)(four[n] >> 8 & 255);
        b += (int32_t)(four[n] & 255);
    }
    *cb = (uint8_t)(128 + (-6596 * r - 22189 * g + 28784 * b + 4 * 32768) / (4 * 65536));
    *cr = (uint8_t)(128 + (28784 * r - 26145 * g - 2639 * b + 4 * 32768) / (4 * 65536));
}

static void convert(struct canvas *c, struct piece p)
{
    uint8_t *y_plane = c->planes, *cb_plane = c->planes + PIXELS, *cr_plane = cb_plane + PIXELS / 4;
    for (int y = p.top & ~1; y < p.bottom; y += 2)
        for (int x = p.left & ~1; x < p.right; x += 2) {
            const uint32_t *row = c->shown + (size_t)y * CANVAS_WIDTH + x,
                           *below = row + CANVAS_WIDTH;
            uint8_t *out = y_plane + (size_t)y * CANVAS_WIDTH + x;
            size_t quarter = (size_t)(y / 2) * (CANVAS_WIDTH / 2) + (size_t)x / 2;
            out[0] = luma(row[0]);
            out[1] = luma(row[1]);
            out[CANVAS_WIDTH] = luma(below[0]);
            out[CANVAS_WIDTH + 1] = luma(below[1]);
            chroma(row, below, cb_plane + quarter, cr_plane + quarter);
        }
}

/* --- pieces ------------------------------------------------------------------------------- */

static int inside(double v, int most)
{
    return v < 0 ? 0 : v > most ? most : (int)lround(v);
}

static struct piece piece_of(const struct canvas *c, double left, double top, double right,
                             double bottom)
{
    return (struct piece){
        inside(left * c->scale, CANVAS_WIDTH), inside(top * c->scale, CANVAS_HEIGHT),
        inside(right * c->scale, CANVAS_WIDTH), inside(bottom * c->scale, CANVAS_HEIGHT)};
}

static void copy(struct canvas *c, const uint32_t *from, struct piece p)
{
    for (int y = p.top; y < p.bottom && p.right > p.left; y++)
        memcpy(c->shown + (size_t)y * CANVAS_WIDTH + p.left,
               from + (size_t)y * CANVAS_WIDTH + p.left, (size_t)(p.right - p.left) * sizeof *from);
}

static void remember(struct canvas *c, struct piece p)
{
    convert(c, p);
    if (c->laid_count < CANVAS_PIECES)
        c->laid[c->laid_count++] = p;
    else /* the whole, then */
        c->laid[0] = (struct piece){0, 0, CANVAS_WIDTH, CANVAS_HEIGHT};
}

static enum mst_status draw_page(struct canvas *c, const struct mst_sheet *sheet, int page,
                                 struct mst_error *err)
{
    enum mst_status status = mst_sheet_draw(sheet, page, MST_LAYER_ALL, c->theme, -1, -1, c->plain,
                                            CANVAS_WIDTH, CANVAS_HEIGHT, STRIDE, err);
    if (status == MST_OK)
        status = mst_sheet_draw(sheet, page, MST_LAYER_ALL, c->theme, 0, INT32_MAX, c->lit,
                                CANVAS_WIDTH, CANVAS_HEIGHT, STRIDE, err);
    if (status != MST_OK)
        return status;
    const struct piece all = {0, 0, CANVAS_WIDTH, CANVAS_HEIGHT};
    copy(c, c->plain, all);
    convert(c, all);
    c->sheet = sheet;
    c->page = page;
    c->laid_count = 0;
    return MST_OK;
}

enum mst_status canvas_clear(struct canvas *c, const struct mst_sheet *sheet, int page,
                             struct mst_error *err)
{
    if (sheet != c->sheet || page != c->page)
        return draw_page(c, sheet, page, err);
    for (int n = 0; n < c->laid_count; n++)
        copy(c, c->plain, c->laid[n]);
    for (int n = 0; n < c->laid_count; n++)
        convert(c, c->laid[n]);
    c->laid_count = 0;
    return MST_OK;
}

/* The baselines of the lines above and below on the same page; far off where there are none. */
static void neighbours(const struct mst_letter_box *boxes, size_t count,
                       const struct mst_letter_box *of, double *above, double *below)
{
    *above = -1e6;
    *below = 1e6;
    for (size_t n = 0; n < count; n++)
        if (boxes[n].page == of->page && boxes[n].line == of->line - 1)
            *above = boxes[n].baseline;
        else if (boxes[n].page == of->page && boxes[n].line == of->line + 1)
            *below = boxes[n].baseline;
}

void canvas_light(struct canvas *c, const struct mst_letter_box *boxes, size_t box_count,
                  int32_t letter)
{
    if (letter < 0 || (size_t)letter >= box_count)
        return;
    const struct mst_letter_box *b = &boxes[letter];
    double above, below;
    if (b->page != c->page || b->right <= b->left)
        return;
    neighbours(boxes, box_count, b, &above, &below);
    struct piece p = piece_of(c, b->left, above + below_share * (b->baseline - above), b->right,
                              b->baseline + below_share * (below - b->baseline));
    copy(c, c->lit, p);
    remember(c, p);
}

void canvas_wash(struct canvas *c, const struct mst_mark_box *mark, uint32_t ink)
{
    if (mark->page != c->page)
        return;
    struct piece p = piece_of(c, mark->x - wash_pad, mark->y - wash_pad,
                              mark->x + mark->width + wash_pad, mark->y + mark->height + wash_pad);
    uint32_t factor[3];
    for (int n = 0; n < 3; n++) {
        double part = (double)(ink >> (16 - 8 * n) & 255) / 255;
        /* On paper a wash takes light away, on a dark ground it adds. */
        factor[n] = (uint32_t)lround(
            256 * (c->theme == MST_THEME_LIGHT ? 1 - wash_share * (1 - part) : wash_share * part));
    }
    for (int y = p.top; y < p.bottom; y++)
        for (int x = p.left; x < p.right; x++) {
            uint32_t *pixel = c->shown + (size_t)y * CANVAS_WIDTH + x, out = 0;
            for (int n = 0; n < 3; n++) {
                uint32_t v = *pixel >> (16 - 8 * n) & 255;
                v = c->theme == MST_THEME_LIGHT ? v * factor[n] >> 8
                                                : v + ((255 - v) * factor[n] >> 8);
                out = out << 8 | v;
            }
            *pixel = out;
        }
    remember(c, p);
}
