/* fonts.c – the fonts, opened from one folder. */
#include "fonts.h"

#include "mistara-config.h"
#include "src/press/press-config.h"
#include <cairo-ft.h>
#include <ft2build.h>
#include FT_FREETYPE_H
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const char *const font_files[MST_FONT_ROLES] = {
    [MST_FONT_QURAN] = "amiri-quran.ttf",
    [MST_FONT_ARABIC] = "scheherazade-new.ttf",
    [MST_FONT_ARABIC_BOLD] = "scheherazade-new-bold.ttf",
    [MST_FONT_LATIN] = "gentium-plus.ttf",
    [MST_FONT_LATIN_BOLD] = "gentium-plus-bold.ttf",
    [MST_FONT_LATIN_ITALIC] = "gentium-plus-italic.ttf",
};

/*
 * Cairo keeps scaled fonts in a cache of its own that may outlive mst_fonts, so
 * the FreeType library is counted and goes with the last face.
 */
struct freetype {
    FT_Library library;
    int users;
};

static void freetype_release(struct freetype *ft)
{
    if (ft && --ft->users == 0) {
        FT_Done_FreeType(ft->library);
        free(ft);
    }
}

struct face_hold {
    FT_Face face;
    hb_blob_t *blob; /* the face reads from its bytes */
    struct freetype *freetype;
};

static const cairo_user_data_key_t face_key;

static void face_release(void *data)
{
    struct face_hold *hold = data;
    FT_Done_Face(hold->face);
    hb_blob_destroy(hold->blob);
    freetype_release(hold->freetype);
    free(hold);
}

static enum mst_status no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the fonts");
}

static enum mst_status damaged(struct mst_error *err, const char *path)
{
    return mst_fail(err, MST_BAD_DATA, "the font %s is damaged; build it anew", path);
}

/* The same bytes for HarfBuzz, which shapes, and for FreeType, by which Cairo draws. */
static enum mst_status face_open(struct mst_fonts *fonts, struct mst_font *font, hb_blob_t *blob,
                                 const char *path, struct mst_error *err)
{
    hb_face_t *face = hb_face_create(blob, 0);
    font->glyph_count = hb_face_get_glyph_count(face);
    font->upem = hb_face_get_upem(face);
    font->hb = hb_font_create(face);
    hb_face_destroy(face);
    hb_font_set_scale(font->hb, (int)font->upem, (int)font->upem);
    if (font->glyph_count == 0)
        return damaged(err, path);
    unsigned len;
    font->bytes.ptr = hb_blob_get_data(blob, &len);
    font->bytes.len = len;
    struct face_hold *hold = calloc(1, sizeof *hold);
    if (!hold)
        return no_memory(err);
    if (FT_New_Memory_Face(fonts->freetype->library, (const FT_Byte *)font->bytes.ptr, (FT_Long)len,
                           0, &hold->face)) {
        free(hold);
        return damaged(err, path);
    }
    hold->blob = hb_blob_reference(blob);
    hold->freetype = fonts->freetype;
    hold->freetype->users++;
    font->cairo = cairo_ft_font_face_create_for_ft_face(
        hold->face, FT_LOAD_NO_HINTING | FT_LOAD_NO_BITMAP | FT_LOAD_NO_AUTOHINT);
    if (cairo_font_face_set_user_data(font->cairo, &face_key, hold, face_release)) {
        face_release(hold);
        return no_memory(err);
    }
    return MST_OK;
}

static enum mst_status font_open(struct mst_fonts *fonts, enum mst_font_role role,
                                 const char *folder, struct mst_error *err)
{
    char path[PATH_MAX];
    int n = snprintf(path, sizeof path, "%s/%s", folder, font_files[role]);
    if (n < 0 || (size_t)n >= sizeof path)
        return mst_fail(err, MST_IO, "the path of the font folder is too long: %.100s…", folder);
    hb_blob_t *blob = hb_blob_create_from_file_or_fail(path);
    if (!blob)
        return mst_fail(err, MST_NOT_FOUND,
                        "the font %s is missing from %s; set MISTARA_FONTS to the folder that "
                        "holds the fonts",
                        font_files[role], folder);
    fonts->fonts[role].role = role;
    enum mst_status status = face_open(fonts, &fonts->fonts[role], blob, path, err);
    hb_blob_destroy(blob); /* HarfBuzz's face holds it */
    return status;
}

/* The first folder that holds the scripture's font. */
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

enum mst_status mst_fonts_open(const char *folder, struct mst_fonts **out, struct mst_error *err)
{
    *out = NULL;
    struct mst_fonts *fonts = calloc(1, sizeof *fonts);
    if (!fonts)
        return no_memory(err);
    fonts->buffer = hb_buffer_create();
    fonts->freetype = calloc(1, sizeof *fonts->freetype);
    enum mst_status status = MST_OK;
    if (!fonts->freetype || FT_Init_FreeType(&fonts->freetype->library)) {
        free(fonts->freetype);
        fonts->freetype = NULL;
        status = no_memory(err);
    } else {
        fonts->freetype->users = 1;
    }
    folder = font_folder(folder);
    for (int role = 0; role < MST_FONT_ROLES && status == MST_OK; role++)
        status = font_open(fonts, (enum mst_font_role)role, folder, err);
    if (status != MST_OK) {
        mst_fonts_close(fonts);
        return status;
    }
    *out = fonts;
    return MST_OK;
}

void mst_fonts_close(struct mst_fonts *fonts)
{
    if (!fonts)
        return;
    for (int role = 0; role < MST_FONT_ROLES; role++) {
        if (fonts->fonts[role].cairo)
            cairo_font_face_destroy(fonts->fonts[role].cairo);
        hb_font_destroy(fonts->fonts[role].hb);
    }
    freetype_release(fonts->freetype);
    hb_buffer_destroy(fonts->buffer);
    free(fonts);
}

const struct mst_font *mst_font_of(const struct mst_fonts *fonts, enum mst_font_role role)
{
    return &fonts->fonts[role];
}

int mst_font_has(const struct mst_font *font, uint32_t cp)
{
    hb_codepoint_t glyph;
    return hb_font_get_nominal_glyph(font->hb, cp, &glyph);
}
