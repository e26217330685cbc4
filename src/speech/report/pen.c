#include "pen.h"

#include "mistara-config.h"
#include "src/speech/report/report-config.h"
#include <cairo-ft.h>
#include <fribidi.h>
#include <ft2build.h>
#include FT_FREETYPE_H
#include <hb.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum font_role { LATIN, LATIN_BOLD, LATIN_ITALIC, ARABIC, ARABIC_BOLD, SCRIPTURE, FONT_COUNT };
static const char *const font_files[FONT_COUNT] = {
    "gentium-plus.ttf",     "gentium-plus-bold.ttf",     "gentium-plus-italic.ttf",
    "scheherazade-new.ttf", "scheherazade-new-bold.ttf", "amiri-quran.ttf"};
/* Letters of the Arabic label font are small in their em. */
static const double arabic_scale = 1.25;

struct font {
    hb_blob_t *blob;
    hb_font_t *hb;
    cairo_font_face_t *cairo;
    double upem;
    int is_arabic;
};

/* Cairo keeps scaled fonts in a cache of its own that may outlive the pen: the library is counted
 * and goes with the last face. */
struct library {
    FT_Library ft;
    int users;
};

struct pen {
    struct font fonts[FONT_COUNT];
    struct library *library;
    hb_buffer_t *buffer;
};

static void library_release(struct library *library)
{
    if (library && --library->users == 0) {
        FT_Done_FreeType(library->ft);
        free(library);
    }
}

struct face_hold {
    FT_Face face;
    hb_blob_t *blob; /* the face reads from its bytes */
    struct library *library;
};
static const cairo_user_data_key_t face_key;

static void face_release(void *data)
{
    struct face_hold *hold = data;
    FT_Done_Face(hold->face);
    hb_blob_destroy(hold->blob);
    library_release(hold->library);
    free(hold);
}

static enum mst_status no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
}

static enum mst_status font_open(struct pen *pen, enum font_role role, const char *folder,
                                 struct mst_error *err)
{
    struct font *font = &pen->fonts[role];
    char path[PATH_MAX];
    int len = snprintf(path, sizeof path, "%s/%s", folder, font_files[role]);
    if (len < 0 || (size_t)len >= sizeof path)
        return mst_fail(err, MST_IO, "the path of the font folder is too long: %.100s…", folder);
    font->blob = hb_blob_create_from_file_or_fail(path);
    if (!font->blob)
        return mst_fail(err, MST_NOT_FOUND,
                        "the font %s is missing from %s; set MISTARA_FONTS to the folder that "
                        "holds the fonts",
                        font_files[role], folder);
    hb_face_t *face = hb_face_create(font->blob, 0);
    unsigned upem = hb_face_get_upem(face), glyphs = hb_face_get_glyph_count(face);
    font->hb = hb_font_create(face);
    hb_face_destroy(face);
    font->upem = upem;
    font->is_arabic = role >= ARABIC;
    hb_font_set_scale(font->hb, (int)upem, (int)upem);
    struct face_hold *hold = calloc(1, sizeof *hold);
    if (!hold)
        return no_memory(err);
    unsigned bytes;
    const char *data = hb_blob_get_data(font->blob, &bytes);
    if (glyphs == 0 || FT_New_Memory_Face(pen->library->ft, (const FT_Byte *)data, (FT_Long)bytes,
                                          0, &hold->face)) {
        free(hold);
        return mst_fail(err, MST_BAD_DATA, "the font %s is damaged; build it anew", path);
    }
    hold->blob = hb_blob_reference(font->blob);
    hold->library = pen->library;
    hold->library->users++;
    font->cairo = cairo_ft_font_face_create_for_ft_face(
        hold->face, FT_LOAD_NO_HINTING | FT_LOAD_NO_BITMAP | FT_LOAD_NO_AUTOHINT);
    if (cairo_font_face_set_user_data(font->cairo, &face_key, hold, face_release)) {
        face_release(hold);
        return no_memory(err);
    }
    return MST_OK;
}

static const char *font_folder(const char *asked)
{
    const char *environment = getenv("MISTARA_FONTS");
    if (asked)
        return asked;
    if (environment && *environment)
        return environment;
    if (access(MISTARA_BUILD_FONTS "/amiri-quran.ttf", R_OK) == 0)
        return MISTARA_BUILD_FONTS;
    return MISTARA_DATADIR "/fonts";
}

enum mst_status pen_open(const char *folder, struct pen **out, struct mst_error *err)
{
    *out = NULL;
    struct pen *pen = calloc(1, sizeof *pen);
    if (!pen)
        return no_memory(err);
    pen->buffer = hb_buffer_create();
    pen->library = calloc(1, sizeof *pen->library);
    enum mst_status status = MST_OK;
    if (!pen->library || FT_Init_FreeType(&pen->library->ft)) {
        free(pen->library);
        pen->library = NULL;
        status = no_memory(err);
    } else {
        pen->library->users = 1;
    }
    folder = font_folder(folder);
    for (int role = 0; role < FONT_COUNT && status == MST_OK; role++)
        status = font_open(pen, (enum font_role)role, folder, err);
    if (status != MST_OK) {
        pen_close(pen);
        return status;
    }
    *out = pen;
    return MST_OK;
}

void pen_close(struct pen *pen)
{
    if (!pen)
        return;
    for (int role = 0; role < FONT_COUNT; role++) {
        if (pen->fonts[role].cairo)
            cairo_font_face_destroy(pen->fonts[role].cairo);
        hb_font_destroy(pen->fonts[role].hb);
        hb_blob_destroy(pen->fonts[role].blob);
    }
    library_release(pen->library);
    hb_buffer_destroy(pen->buffer);
    free(pen);
}

struct mst_span pen_scripture_font(const struct pen *pen)
{
    unsigned len;
    const char *data = hb_blob_get_data(pen->fonts[SCRIPTURE].blob, &len);
    return (struct mst_span){data, len};
}

/* --- one line ------------------------------------------------------------------ */
enum { PIECES_MAX = 96, CHARS_MAX = 1024 };

struct piece {
    size_t byte, end;
    FriBidiLevel level;
    const struct font *font;
};

struct line {
    struct piece pieces[PIECES_MAX];
    int count;
};

static int has(const struct font *font, uint32_t cp)
{
    hb_codepoint_t glyph;
    return hb_font_get_nominal_glyph(font->hb, cp, &glyph);
}

/* Latin first, then Arabic; what belongs to no script stays with what came before. */
static const struct font *font_for(const struct pen *pen, uint32_t cp, enum pen_style style,
                                   const struct font *before)
{
    const struct font *latin = &pen->fonts[style == PEN_BOLD     ? LATIN_BOLD
                                           : style == PEN_ITALIC ? LATIN_ITALIC
                                                                 : LATIN];
    const struct font *arabic = &pen->fonts[style == PEN_BOLD ? ARABIC_BOLD : ARABIC];
    if (style == PEN_SCRIPTURE)
        return &pen->fonts[SCRIPTURE];
    FriBidiCharType type = fribidi_get_bidi_type(cp);
    if (before && !FRIBIDI_IS_STRONG(type) && type != FRIBIDI_TYPE_AN && has(before, cp))
        return before;
    return has(latin, cp) ? latin : has(arabic, cp) ? arabic : before ? before : latin;
}

static void line_cut(const struct pen *pen, enum pen_style style, int right_to_left,
                     struct mst_span text, struct line *line)
{
    FriBidiChar chars[CHARS_MAX];
    FriBidiCharType types[CHARS_MAX];
    FriBidiBracketType brackets[CHARS_MAX];
    FriBidiLevel levels[CHARS_MAX];
    size_t ends[CHARS_MAX], at = 0;
    int count = 0;
    line->count = 0;
    while (at < text.len && count < CHARS_MAX) {
        chars[count] = mst_utf8_next(text.ptr, text.len, &at);
        ends[count++] = at;
    }
    if (count == 0)
        return;
    fribidi_get_bidi_types(chars, count, types);
    fribidi_get_bracket_types(chars, count, types, brackets);
    FriBidiParType direction = right_to_left ? FRIBIDI_PAR_RTL : FRIBIDI_PAR_LTR;
    if (!fribidi_get_par_embedding_levels_ex(types, brackets, count, &direction, levels))
        return;
    const struct font *before = NULL;
    for (int n = 0; n < count; n++) {
        const struct font *font = font_for(pen, chars[n], style, before);
        int goes_on = n > 0 && font == before && levels[n] == levels[n - 1];
        if (!goes_on && line->count == PIECES_MAX)
            return;
        if (!goes_on)
            line->pieces[line->count++] =
                (struct piece){n > 0 ? ends[n - 1] : 0, 0, levels[n], font};
        line->pieces[line->count - 1].end = ends[n];
        before = font;
    }
}

/* Rule L2 of the bidirectional algorithm (UAX #9): from the highest level down, reverse every run
 * of pieces at or above it. */
static void line_reorder(struct line *line)
{
    int highest = 0;
    for (int n = 0; n < line->count; n++)
        highest = line->pieces[n].level > highest ? line->pieces[n].level : highest;
    for (int level = highest; level > 0; level--) {
        for (int n = 0; n < line->count; n++) {
            int end = n;
            while (end < line->count && line->pieces[end].level >= level)
                end++;
            for (int a = n, b = end - 1; a < b; a++, b--) {
                struct piece swapped = line->pieces[a];
                line->pieces[a] = line->pieces[b];
                line->pieces[b] = swapped;
            }
            n = end > n ? end : n;
        }
    }
}

/* Width of the piece; draws it where cr is not NULL. */
static double piece_set(struct pen *pen, cairo_t *cr, const struct piece *piece, double size,
                        double x, double y, struct mst_span text)
{
    const struct font *font = piece->font;
    if (font == &pen->fonts[ARABIC] || font == &pen->fonts[ARABIC_BOLD])
        size *= arabic_scale;
    hb_buffer_reset(pen->buffer);
    hb_buffer_add_utf8(pen->buffer, text.ptr, (int)text.len, (unsigned)piece->byte,
                       (int)(piece->end - piece->byte));
    hb_buffer_guess_segment_properties(pen->buffer);
    hb_buffer_set_direction(pen->buffer, piece->level & 1 ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
    hb_buffer_set_language(pen->buffer, hb_language_from_string(font->is_arabic ? "ar" : "en", -1));
    hb_shape(font->hb, pen->buffer, NULL, 0);
    unsigned count;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(pen->buffer, &count);
    const hb_glyph_position_t *pos = hb_buffer_get_glyph_positions(pen->buffer, NULL);
    cairo_glyph_t *glyphs = cr ? cairo_glyph_allocate((int)count) : NULL;
    double at = 0, scale = size / font->upem;
    for (unsigned g = 0; g < count; g++) {
        if (glyphs)
            glyphs[g] = (cairo_glyph_t){info[g].codepoint, x + at + pos[g].x_offset * scale,
                                        y - pos[g].y_offset * scale};
        at += pos[g].x_advance * scale;
    }
    if (glyphs && count > 0) {
        cairo_set_font_face(cr, font->cairo);
        cairo_set_font_size(cr, size);
        cairo_show_glyphs(cr, glyphs, (int)count);
    }
    cairo_glyph_free(glyphs);
    return at;
}

double pen_draw(struct pen *pen, cairo_t *cr, enum pen_style style, double size, double x, double y,
                int right_to_left, struct mst_span text)
{
    struct line line;
    double width = 0;
    line_cut(pen, style, right_to_left || style == PEN_SCRIPTURE, text, &line);
    line_reorder(&line);
    for (int n = 0; n < line.count; n++)
        width += piece_set(pen, cr, &line.pieces[n], size, x + width, y, text);
    return width;
}

double pen_width(struct pen *pen, enum pen_style style, double size, struct mst_span text)
{
    return pen_draw(pen, NULL, style, size, 0, 0, 0, text);
}
