/* line.c – titles, names, credits, what a report says: one line, Latin and Arabic mixed. */
#include "fonts.h"

#include <fribidi.h>
#include <string.h>

/*
 * Scheherazade New draws larger than Gentium Plus at the same size the other
 * way round: its letters are small in their em. Arabic words are set this much
 * larger to look alike.
 */
static const double arabic_scale = 1.25;

static int is_arabic(const struct mst_font *font)
{
    return font->role == MST_FONT_QURAN || font->role == MST_FONT_ARABIC ||
           font->role == MST_FONT_ARABIC_BOLD;
}

/* The font that has cp: Latin first, then Arabic; marks stay with their letter. */
static const struct mst_font *font_for(const struct mst_fonts *fonts, uint32_t cp,
                                       enum mst_print print, const struct mst_font *before)
{
    int bold = print == MST_PRINT_BOLD || print == MST_PRINT_CODE;
    const struct mst_font *quran = mst_font_of(fonts, MST_FONT_QURAN);
    const struct mst_font *latin =
        mst_font_of(fonts, bold                        ? MST_FONT_LATIN_BOLD
                           : print == MST_PRINT_ITALIC ? MST_FONT_LATIN_ITALIC
                                                       : MST_FONT_LATIN);
    const struct mst_font *arabic =
        mst_font_of(fonts, bold ? MST_FONT_ARABIC_BOLD : MST_FONT_ARABIC);
    if (print == MST_PRINT_QURAN)
        return quran;
    FriBidiCharType type = fribidi_get_bidi_type(cp);
    int neutral = !FRIBIDI_IS_STRONG(type) && type != FRIBIDI_TYPE_AN;
    if (before && neutral && mst_font_has(before, cp))
        return before;
    if (mst_font_has(latin, cp))
        return latin;
    if (mst_font_has(arabic, cp))
        return arabic;
    if (mst_font_has(quran, cp))
        return quran;
    return before ? before : latin;
}

struct piece {
    size_t byte, byte_end; /* of the text */
    FriBidiLevel level;
    const struct mst_font *font;
};

static int shape_piece(struct mst_fonts *fonts, struct mst_arena *arena, struct mst_span text,
                       const struct piece *piece, enum mst_print print, double size, double *pen,
                       struct mst_line_run *run)
{
    hb_buffer_t *buffer = fonts->buffer;
    hb_buffer_reset(buffer);
    hb_buffer_set_cluster_level(buffer, HB_BUFFER_CLUSTER_LEVEL_CHARACTERS);
    hb_buffer_add_utf8(buffer, text.ptr, (int)text.len, (unsigned)piece->byte,
                       (int)(piece->byte_end - piece->byte));
    hb_buffer_guess_segment_properties(buffer);
    hb_buffer_set_direction(buffer, piece->level & 1 ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
    hb_buffer_set_language(buffer,
                           hb_language_from_string(is_arabic(piece->font) ? "ar" : "en", -1));
    const hb_feature_t apart = {HB_TAG('l', 'i', 'g', 'a'), 0, HB_FEATURE_GLOBAL_START,
                                HB_FEATURE_GLOBAL_END};
    hb_shape(piece->font->hb, buffer, &apart, print == MST_PRINT_CODE);
    unsigned count;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(buffer, &count);
    const hb_glyph_position_t *pos = hb_buffer_get_glyph_positions(buffer, NULL);
    run->font = piece->font;
    run->size = size * (is_arabic(piece->font) && print != MST_PRINT_QURAN ? arabic_scale : 1);
    run->x = *pen;
    struct mst_glyph *glyphs = mst_arena_alloc(arena, count + 1, sizeof *glyphs);
    size_t len = piece->byte_end - piece->byte;
    const char *said = mst_arena_strndup(arena, text.ptr + piece->byte, len);
    if (!glyphs || !said)
        return 0;
    run->glyphs = glyphs;
    run->glyph_count = (int)count;
    run->text = (struct mst_span){said, len};
    double x = 0, upem = piece->font->upem;
    for (unsigned g = 0; g < count; g++) {
        glyphs[g] = (struct mst_glyph){
            info[g].codepoint, (float)(x + (double)pos[g].x_offset / upem),
            (float)(-(double)pos[g].y_offset / upem), info[g].cluster - (uint32_t)piece->byte};
        x += (double)pos[g].x_advance / upem;
    }
    *pen += x * run->size;
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

int mst_line_set(struct mst_fonts *fonts, struct mst_arena *arena, struct mst_span text,
                 enum mst_print print, enum mst_line_way way, double size, struct mst_line *out)
{
    memset(out, 0, sizeof *out);
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
    FriBidiParType direction = way == MST_LINE_RIGHT_TO_LEFT ? FRIBIDI_PAR_RTL
                               : way == MST_LINE_LEFT_TO_RIGHT
                                   ? FRIBIDI_PAR_LTR
                                   : fribidi_get_par_direction(types, n);
    if (!fribidi_get_par_embedding_levels_ex(types, brackets, n, &direction, levels))
        return 0;

    int count = 0;
    const struct mst_font *font = NULL;
    for (FriBidiStrIndex i = 0; i < n; i++) {
        font = font_for(fonts, chars[i], print, font);
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
        if (!shape_piece(fonts, arena, text, &pieces[i], print, size, &out->width, &out->runs[i]))
            return 0;
    out->run_count = count;
    return 1;
}
