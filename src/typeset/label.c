#include "label.h"

#include <fribidi.h>
#include <string.h>

/*
 * Scheherazade New draws larger than Gentium Plus at the same size the other
 * way round: its letters are small in their em. Arabic labels are set this
 * much larger to look alike.
 */
static const double arabic_scale = 1.25;

static int is_arabic(const struct font *font)
{
    return font->role == FONT_SCHEHERAZADE || font->role == FONT_ARABIC_BOLD ||
           font->role == FONT_AMIRI_QURAN;
}

/* The label font that has cp: Latin first, then Arabic; marks stay with their letter. */
static struct font *font_for(struct mst_typeset *ts, uint32_t cp, enum label_style style,
                             struct font *before)
{
    struct font *latin = &ts->fonts[style == LABEL_BOLD     ? FONT_LATIN_BOLD
                                    : style == LABEL_ITALIC ? FONT_LATIN_ITALIC
                                                            : FONT_LATIN];
    struct font *arabic = &ts->fonts[style == LABEL_BOLD ? FONT_ARABIC_BOLD : FONT_SCHEHERAZADE];
    FriBidiCharType type = fribidi_get_bidi_type(cp);
    int neutral = !FRIBIDI_IS_STRONG(type) && type != FRIBIDI_TYPE_AN;
    if (before && neutral && font_has(before, cp))
        return before;
    if (font_has(latin, cp))
        return latin;
    if (font_has(arabic, cp))
        return arabic;
    if (font_has(&ts->fonts[FONT_AMIRI_QURAN], cp))
        return &ts->fonts[FONT_AMIRI_QURAN];
    return before ? before : latin;
}

struct piece {
    size_t byte, byte_end; /* of the text */
    FriBidiLevel level;
    struct font *font;
};

static int shape_piece(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                       const struct piece *piece, double size, double *pen, struct label_run *run)
{
    hb_buffer_reset(ts->buffer);
    hb_buffer_add_utf8(ts->buffer, text.ptr, (int)text.len, (unsigned)piece->byte,
                       (int)(piece->byte_end - piece->byte));
    hb_buffer_guess_segment_properties(ts->buffer);
    hb_buffer_set_direction(ts->buffer, piece->level & 1 ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
    hb_buffer_set_language(ts->buffer,
                           hb_language_from_string(is_arabic(piece->font) ? "ar" : "en", -1));
    hb_shape(piece->font->hb, ts->buffer, NULL, 0);
    unsigned count;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(ts->buffer, &count);
    const hb_glyph_position_t *pos = hb_buffer_get_glyph_positions(ts->buffer, NULL);
    run->font = piece->font;
    run->x = *pen;
    run->glyphs = mst_arena_alloc(arena, count + 1, sizeof *run->glyphs);
    run->glyph_count = (int)count;
    if (!run->glyphs)
        return 0;
    double x = 0;
    for (unsigned g = 0; g < count; g++) {
        run->glyphs[g] = (struct glyph){info[g].codepoint,
                                        (float)(x + (double)pos[g].x_offset / piece->font->upem),
                                        (float)(-(double)pos[g].y_offset / piece->font->upem)};
        x += (double)pos[g].x_advance / piece->font->upem;
    }
    *pen += x * size * (is_arabic(piece->font) ? arabic_scale : 1);
    return 1;
}

/* Rule L2 of the bidirectional algorithm: reverse every run of pieces at or over each level. */
static void reorder(struct piece *pieces, int count)
{
    FriBidiLevel highest = 0;
    for (int i = 0; i < count; i++)
        highest = pieces[i].level > highest ? pieces[i].level : highest;
    for (FriBidiLevel level = highest; level >= 1; level--)
        for (int i = 0; i < count;) {
            int end = i;
            while (end < count && pieces[end].level >= level)
                end++;
            for (int a = i, b = end - 1; a < b; a++, b--) {
                struct piece t = pieces[a];
                pieces[a] = pieces[b];
                pieces[b] = t;
            }
            i = end > i ? end : i + 1;
        }
}

/* direction: of the paragraph the line belongs to; FRIBIDI_PAR_ON: by its own first strong letter.
 */
static int shape(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                 FriBidiParType direction, enum label_style style, double size, struct label *out)
{
    memset(out, 0, sizeof *out);
    out->size = size;
    if (text.len == 0)
        return 1;
    FriBidiChar *chars = mst_arena_alloc(arena, text.len, sizeof *chars);
    FriBidiCharType *types = mst_arena_alloc(arena, text.len, sizeof *types);
    FriBidiBracketType *brackets = mst_arena_alloc(arena, text.len, sizeof *brackets);
    FriBidiLevel *levels = mst_arena_alloc(arena, text.len, sizeof *levels);
    size_t *bytes = mst_arena_alloc(arena, text.len + 1, sizeof *bytes);
    struct piece *pieces = mst_arena_alloc(arena, text.len, sizeof *pieces);
    if (!chars || !types || !brackets || !levels || !bytes || !pieces)
        return 0;
    FriBidiStrIndex n = 0;
    for (size_t off = 0; off < text.len; n++) {
        bytes[n] = off;
        uint32_t cp = mst_utf8_next(text.ptr, text.len, &off);
        chars[n] = cp < 0x20 ? 0x20 : cp;
    }
    bytes[n] = text.len;
    fribidi_get_bidi_types(chars, n, types);
    fribidi_get_bracket_types(chars, n, types, brackets);
    if (direction == FRIBIDI_PAR_ON)
        direction = fribidi_get_par_direction(types, n);
    if (!fribidi_get_par_embedding_levels_ex(types, brackets, n, &direction, levels))
        return 0;

    int count = 0;
    struct font *font = NULL;
    for (FriBidiStrIndex i = 0; i < n; i++) {
        font = font_for(ts, chars[i], style, font);
        if (count && pieces[count - 1].font == font && pieces[count - 1].level == levels[i])
            pieces[count - 1].byte_end = bytes[i + 1];
        else
            pieces[count++] = (struct piece){bytes[i], bytes[i + 1], levels[i], font};
    }
    reorder(pieces, count);
    out->runs = mst_arena_alloc(arena, (size_t)count, sizeof *out->runs);
    if (!out->runs)
        return 0;
    for (int i = 0; i < count; i++)
        if (!shape_piece(ts, arena, text, &pieces[i], size, &out->width, &out->runs[i]))
            return 0;
    out->run_count = count;
    return 1;
}

int label_shape(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                enum label_style style, double size, struct label *out)
{
    return shape(ts, arena, text, FRIBIDI_PAR_ON, style, size, out);
}

/* A line that begins with a word of the other script still runs as its paragraph does. */
static FriBidiParType direction_of(struct mst_span text)
{
    for (size_t off = 0; off < text.len;) {
        FriBidiCharType type = fribidi_get_bidi_type(mst_utf8_next(text.ptr, text.len, &off));
        if (FRIBIDI_IS_LETTER(type))
            return FRIBIDI_IS_RTL(type) ? FRIBIDI_PAR_RTL : FRIBIDI_PAR_LTR;
    }
    return FRIBIDI_PAR_ON;
}

void label_draw(struct scene *scene, const struct label *label, double x, double y,
                enum label_align align)
{
    if (align == LABEL_CENTRE)
        x -= label->width / 2;
    else if (align == LABEL_RIGHT)
        x -= label->width;
    for (int i = 0; i < label->run_count; i++) {
        const struct label_run *run = &label->runs[i];
        double size = label->size * (is_arabic(run->font) ? arabic_scale : 1);
        scene_glyphs(scene, run->font, size, x + run->x, y, run->glyphs, run->glyph_count);
    }
}

static size_t word_end(struct mst_span text, size_t from)
{
    while (from < text.len && text.ptr[from] != ' ' && text.ptr[from] != '\n')
        from++;
    return from;
}

static int part_width(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                      size_t begin, size_t end, enum label_style style, double size, double *width)
{
    struct label label;
    int ok = label_shape(ts, arena, (struct mst_span){text.ptr + begin, end - begin}, style, size,
                         &label);
    *width = label.width;
    return ok;
}

/* Words are measured one by one, then each line is shaped once, so time grows with the text and
 * not with its square. */
struct label *label_wrap(struct mst_typeset *ts, struct mst_arena *arena, struct mst_span text,
                         enum label_style style, double size, double width, int *count)
{
    size_t most = 1;
    for (size_t i = 0; i < text.len; i++)
        most += text.ptr[i] == ' ' || text.ptr[i] == '\n';
    struct label *lines = mst_arena_alloc(arena, most, sizeof *lines);
    double space;
    *count = 0;
    if (!lines || !part_width(ts, arena, MST_SPAN(" "), 0, 1, style, size, &space))
        return NULL;
    const FriBidiParType direction = direction_of(text);
    size_t begin = 0;
    while (begin < text.len) {
        size_t end = word_end(text, begin);
        double used;
        if (!part_width(ts, arena, text, begin, end, style, size, &used))
            return NULL;
        while (end < text.len && text.ptr[end] != '\n') {
            size_t next = word_end(text, end + 1);
            double word;
            if (!part_width(ts, arena, text, end + 1, next, style, size, &word))
                return NULL;
            /* a line shaped whole may be a hair wider than its words */
            if (used + space + word > width * 0.99)
                break;
            used += space + word;
            end = next;
        }
        if (end > begin && !shape(ts, arena, (struct mst_span){text.ptr + begin, end - begin},
                                  direction, style, size, &lines[(*count)++]))
            return NULL;
        begin = end + 1;
    }
    return lines;
}
