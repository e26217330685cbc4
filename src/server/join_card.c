/*
 * join_card.c – the card a learner is given: who it is for, the code in groups
 * for fingers and as squares for a camera, and how it is used, in English and
 * Arabic. A6, across; for a whole class four on a page, to be cut apart.
 */
#include "desk.h"

#include <mistara/leaves.h>
#include <qrencode.h>
#include <stdio.h>
#include <time.h>

static const struct mst_page_geometry card_page = {
    .width = 419.53, .height = 297.64, .type_size = 20, .label_size = 9};
static const double margin = 26, square = 150, gap = 18;
/* White round the squares, in squares: ISO/IEC 18004, "quiet zone". */
enum { QUIET = 4 };

/* clang-format off */
static const char how_en[] =
    "Point the camera of your phone at the squares and follow the link. Or open\n%s\n"
    "and type the code.\n"
    "The code works once, until %s. Afterwards this device stays signed in.\n"
    "Keep the card to yourself: with it anyone could come in as you.";
static const char how_ar[] =
    "وجّه كاميرا هاتفك إلى المربّعات واتبع الرابط، أو افتح العنوان المكتوب أعلاه واكتب الرمز.\n"
    "يعمل الرمز مرّة واحدة حتى \u2067%s\u2069، وبعدها يبقى هذا الجهاز مسجَّلًا.\n"
    "احفظ البطاقة لنفسك، فمن أخذها دخل باسمك.";
/* clang-format on */

static struct mst_leaf_box *squares(const QRcode *code, struct mst_arena *arena, double x, double y,
                                    size_t *count)
{
    const size_t width = (size_t)code->width;
    const double side = square / (double)(width + 2 * QUIET);
    struct mst_leaf_box *boxes = mst_arena_alloc(arena, width * width, sizeof *boxes);
    *count = 0;
    for (size_t row = 0; boxes && row < width; row++) {
        for (size_t from = 0; from < width;) { /* neighbours in a row are one box */
            size_t to = from;
            while (to < width && code->data[row * width + to] & 1)
                to++;
            if (to > from)
                boxes[(*count)++] = (struct mst_leaf_box){x + (double)(from + QUIET) * side,
                                                          y + (double)(row + QUIET) * side,
                                                          (double)(to - from) * side, side};
            from = to + (to == from);
        }
    }
    return boxes;
}

static enum mst_status code_draw(struct mst_leaves *leaves, const char *link,
                                 struct mst_arena *arena, double x, double y, struct mst_error *err)
{
    size_t count;
    QRcode *code = QRcode_encodeString8bit(link, 0, QR_ECLEVEL_M);
    if (!code)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while drawing the code");
    struct mst_leaf_box *boxes = squares(code, arena, x, y, &count);
    QRcode_free(code);
    if (!boxes)
        return no_memory(err);
    mst_leaf_fill(leaves, boxes, count);
    return MST_OK;
}

static void day_of(int64_t ms, char out[16])
{
    time_t seconds = (time_t)(ms / 1000);
    struct tm day = {0};
    gmtime_r(&seconds, &day);
    strftime(out, 16, "%Y-%m-%d", &day);
}

/* Returns where the squares begin. */
static double words_draw(struct mst_leaves *leaves, const struct join_card *card,
                         struct mst_arena *arena)
{
    const double column = margin + square + gap, wide = card_page.width - margin - column;
    char day[16];
    day_of(card->ends_ms, day);
    struct mst_words words = {.text = mst_span_of(card->class_name),
                              .size = 10,
                              .x = margin,
                              .y = margin - 8,
                              .width = card_page.width - 2 * margin,
                              .soft = 1};
    words.y = mst_leaf_words(leaves, &words);
    words.text = mst_span_of(card->label);
    words.style = MST_WORDS_BOLD;
    words.size = 17;
    words.soft = 0;
    double top = mst_leaf_words(leaves, &words) + 4;

    const char *how = mst_arena_printf(arena, how_en, card->address, day);
    words = (struct mst_words){
        .text = mst_span_of(how ? how : ""), .size = 8.8, .x = column, .y = top + 8, .width = wide};
    words.y = mst_leaf_words(leaves, &words) + 10;
    how = mst_arena_printf(arena, how_ar, day);
    words.text = mst_span_of(how ? how : "");
    words.align = MST_WORDS_RIGHT;
    words.size = 9.4;
    words.leading = 1.5;
    mst_leaf_words(leaves, &words);

    words = (struct mst_words){.text = mst_span_of(card->code),
                               .style = MST_WORDS_CODE,
                               .align = MST_WORDS_CENTRE,
                               .size = 15,
                               .x = margin,
                               .y = top + square - 4,
                               .width = square};
    mst_leaf_words(leaves, &words);
    return top;
}

enum mst_status join_card_sheet(struct mst_typeset *ts, const struct join_card *card,
                                struct mst_arena *arena, struct mst_sheet **out,
                                struct mst_error *err)
{
    struct mst_leaves *leaves;
    *out = NULL;
    enum mst_status status = mst_leaves_new(ts, card_page, mst_span_of(card->class_name),
                                            MST_LABELS_BOTH, arena, &leaves, err);
    if (status != MST_OK)
        return status;
    mst_leaves_turn(leaves);
    double top = words_draw(leaves, card, arena);
    status = code_draw(leaves, card->link, arena, margin, top, err);
    return status == MST_OK ? mst_leaves_close(leaves, out, err) : status;
}

/* Four on a page; A4 across is two A6 across by two, but for a hair. */
enum { ACROSS = 2, ON_A_PAGE = 4 };

enum mst_status join_cards_sheet(struct mst_typeset *ts, const struct join_card *cards,
                                 size_t count, struct mst_arena *arena, struct mst_sheet **out,
                                 struct mst_error *err)
{
    const struct mst_page_geometry a4 = {
        .width = 841.89, .height = 595.28, .type_size = 20, .label_size = 9};
    struct mst_leaves *leaves;
    *out = NULL;
    enum mst_status status = mst_leaves_new(ts, a4, mst_span_of(count ? cards->class_name : ""),
                                            MST_LABELS_BOTH, arena, &leaves, err);
    for (size_t n = 0; status == MST_OK && n < count; n++) {
        struct mst_sheet *card;
        if (n % ON_A_PAGE == 0) {
            mst_leaves_turn(leaves);
            mst_leaf_line(leaves, a4.width / 2, 0, a4.width / 2, a4.height);
            mst_leaf_line(leaves, 0, a4.height / 2, a4.width, a4.height / 2);
        }
        status = join_card_sheet(ts, &cards[n], arena, &card, err);
        if (status == MST_OK)
            mst_leaf_lay(leaves, card, 0, MST_LAYER_ALL, (double)(n % ACROSS) * a4.width / ACROSS,
                         (double)(n % ON_A_PAGE / ACROSS) * a4.height / ACROSS);
    }
    return status == MST_OK ? mst_leaves_close(leaves, out, err) : status;
}
