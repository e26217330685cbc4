#include "word.h"

#include <hb-ot.h>
#include <string.h>

enum { TATWEEL = 0x640, MADDAH = 0x653 };

static int has_maddah(struct mst_span s)
{
    size_t off = 0;
    while (off < s.len)
        if (mst_utf8_next(s.ptr, s.len, &off) == MADDAH)
            return 1;
    return 0;
}

/* No letter joins to what follows these. */
static int joins_forward(uint32_t base)
{
    static const uint32_t right_joining[] = {0x621, 0x622, 0x623, 0x624, 0x625, 0x627, 0x629,
                                             0x62F, 0x630, 0x631, 0x632, 0x648, 0x649, 0x671};
    for (size_t i = 0; i < sizeof right_joining / sizeof *right_joining; i++)
        if (base == right_joining[i])
            return 0;
    return 1;
}

/* Add the display form of the printed bytes from `begin` to `end` of the verse; `of` tells, for
 * each byte added, where in the word what it shows begins. */
static void show(struct mst_span verse, size_t word, size_t begin, size_t end,
                 struct mst_string *out, struct mst_string *of)
{
    for (size_t at = begin, next = begin; at < end && !out->failed && !of->failed; at = next) {
        char printed = (char)(at - word); /* no word is as long as 255 bytes */
        mst_utf8_next(verse.ptr, end, &next);
        mst_text_for_display((struct mst_span){verse.ptr + at, next - at}, out);
        while (of->len < out->len && !of->failed)
            mst_string_add(of, &printed, 1);
    }
}

/*
 * The display text of a word, and for each of its letters where that letter's
 * display bytes begin (ends[i] = starts[i + 1]). What stands before the first
 * letter (the quarter sign) is kept before starts[0].
 */
static void display_text(const struct mst_reading *r, const struct mst_word *w,
                         struct mst_span verse, struct mst_string *out, struct mst_string *of,
                         size_t *starts)
{
    const struct mst_letter *letters = r->letters + w->first_letter;
    size_t word = (size_t)w->byte_off, at = word, word_end = word + (size_t)w->byte_len;
    for (int i = 0; i < w->letter_count; i++) {
        size_t begin = (size_t)letters[i].byte_off;
        size_t end = begin + (size_t)letters[i].byte_len;
        show(verse, word, at, begin, out, of);
        starts[i] = out->len;
        show(verse, word, begin, end, out, of);
        struct mst_span span = {verse.ptr + begin, end - begin};
        if (i + 1 < w->letter_count && joins_forward(letters[i].base) && has_maddah(span)) {
            struct mst_span next = {verse.ptr + letters[i + 1].byte_off,
                                    (size_t)letters[i + 1].byte_len};
            if (has_maddah(next)) {
                mst_string_add_cp(out, TATWEEL);
                for (size_t last = of->len - 1; of->len < out->len && !of->failed;)
                    mst_string_add(of, of->ptr + last, 1);
            }
        }
        at = end;
    }
    starts[w->letter_count] = out->len;
    show(verse, word, at, word_end, out, of);
}

static int letter_at(const size_t *starts, int count, size_t byte)
{
    int found = 0;
    while (found + 1 < count && starts[found + 1] <= byte)
        found++;
    return found;
}

/* Split a cluster that holds letters a…b (a ligature) at the font's carets, else evenly. cuts[i] is
 * the left edge of part i from the left; the rightmost part is letter a. */
static void ligature_cuts(const struct mst_font *font, unsigned glyph, double x, double width,
                          int parts, double *cuts)
{
    for (int i = 0; i <= parts; i++)
        cuts[i] = x + width * i / parts;
    hb_position_t carets[8];
    unsigned count = 8;
    unsigned total =
        hb_ot_layout_get_ligature_carets(font->hb, HB_DIRECTION_RTL, glyph, 0, &count, carets);
    if (total + 1 == (unsigned)parts && count == total)
        for (unsigned i = 0; i < count; i++)
            cuts[i + 1] = x + (double)carets[i] / font->upem;
}

enum { LIGATURE_MAX = 8 };

/* U+06D6 to U+06DB, the signs for stopping and going on. */
static int is_pause_sign(const struct word *word, size_t byte)
{
    size_t at = byte;
    uint32_t cp = mst_utf8_next(word->display, word->display_len, &at);
    return cp >= 0x6D6 && cp <= 0x6DB;
}

static void measure(struct mst_typeset *ts, const struct mst_font *font, struct word *word,
                    const hb_glyph_info_t *info, const hb_glyph_position_t *pos, unsigned count,
                    const size_t *starts, int letter_count)
{
    double pen = 0;
    for (int i = 0; i < letter_count; i++) {
        word->letters[i].ink = word->letters[i].base = box_empty();
        word->letters[i].left = 1e9;
        word->letters[i].right = -1e9;
    }
    for (unsigned g = 0; g < count;) {
        /* one cluster: glyphs that stand for the same bytes; right-to-left, so the bytes end
         * where the cluster before (to the left) begins */
        unsigned end = g;
        double advance = 0;
        while (end < count && info[end].cluster == info[g].cluster)
            advance += (double)pos[end++].x_advance / font->upem;
        size_t byte = info[g].cluster;
        size_t byte_end = g > 0 ? info[g - 1].cluster : word->display_len;
        int first = letter_at(starts, letter_count, byte);
        int last = letter_at(starts, letter_count, byte_end > byte ? byte_end - 1 : byte);
        /* what precedes the first letter or follows the last letter belongs to them */
        int parts = last - first + 1;
        double cuts[LIGATURE_MAX + 1];
        if (parts > LIGATURE_MAX)
            parts = LIGATURE_MAX;
        unsigned widest = g;
        for (unsigned k = g; k < end; k++)
            if (pos[k].x_advance > pos[widest].x_advance)
                widest = k;
        ligature_cuts(font, info[widest].codepoint, pen, advance, parts, cuts);
        double x = pen;
        for (unsigned k = g; k < end; k++) {
            double ox = x + (double)pos[k].x_offset / font->upem;
            double oy = -(double)pos[k].y_offset / font->upem;
            x += (double)pos[k].x_advance / font->upem;
            word->glyphs[k].id = info[k].codepoint;
            word->glyphs[k].x = (float)ox;
            word->glyphs[k].y = (float)oy;
            const struct glyph_profile *p = font_profile(ts, font, info[k].codepoint);
            if (is_pause_sign(word, byte)) {
                word->pause_glyph = (int)k;
                continue;
            }
            if (!p || p->count == 0)
                continue;
            struct box b = {ox + (double)p->x_min, oy + (double)p->y_min, ox + (double)p->x_max,
                            oy + (double)p->y_max};
            int is_mark = font_is_mark(font, info[k].codepoint);
            for (int part = 0; part < parts; part++) {
                struct word_letter *letter = &word->letters[last - part];
                struct box piece = b;
                if (parts > 1 && is_mark) {
                    double middle = (b.x0 + b.x1) / 2;
                    if ((part > 0 && middle < cuts[part]) ||
                        (part + 1 < parts && middle >= cuts[part + 1]))
                        continue;
                } else if (parts > 1) {
                    piece.x0 = piece.x0 > cuts[part] || part == 0 ? piece.x0 : cuts[part];
                    piece.x1 =
                        piece.x1 < cuts[part + 1] || part == parts - 1 ? piece.x1 : cuts[part + 1];
                }
                if (piece.x1 <= piece.x0)
                    continue;
                box_add(&letter->ink, piece.x0, piece.y0, piece.x1, piece.y1);
                if (!is_mark)
                    box_add(&letter->base, piece.x0, piece.y0, piece.x1, piece.y1);
            }
        }
        for (int part = 0; part < parts && advance > 0; part++) {
            struct word_letter *letter = &word->letters[last - part];
            letter->left = cuts[part] < letter->left ? cuts[part] : letter->left;
            letter->right = cuts[part + 1] > letter->right ? cuts[part + 1] : letter->right;
        }
        pen += advance;
        g = end;
    }
    word->width = pen;
}

static int shape(struct mst_typeset *ts, const struct mst_font *font, const struct word *word,
                 hb_buffer_cluster_level_t level)
{
    hb_buffer_reset(ts->buffer);
    hb_buffer_set_cluster_level(ts->buffer, level);
    hb_buffer_add_utf8(ts->buffer, word->display, (int)word->display_len, 0,
                       (int)word->display_len);
    hb_buffer_set_direction(ts->buffer, HB_DIRECTION_RTL);
    hb_buffer_set_script(ts->buffer, HB_SCRIPT_ARABIC);
    hb_buffer_set_language(ts->buffer, hb_language_from_string("ar", -1));
    hb_shape(font->hb, ts->buffer, NULL, 0);
    return hb_buffer_allocation_successful(ts->buffer);
}

/*
 * Which byte each glyph is shown for. measure() wants clusters that fall from left to right, for
 * which HarfBuzz merges whatever it moved; kept apart by character, each mark still tells what it
 * is.
 */
static int find_bytes(struct mst_typeset *ts, const struct mst_font *font, struct word *word)
{
    if (!shape(ts, font, word, HB_BUFFER_CLUSTER_LEVEL_CHARACTERS))
        return 0;
    unsigned count;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(ts->buffer, &count);
    for (unsigned g = 0; g < count && g < (unsigned)word->glyph_count; g++)
        word->glyphs[g].byte = info[g].cluster;
    return 1;
}

/* A hamza that stands on nothing (2:72) is only marks, and was merged with the letter before; its
 * own cluster still tells which letter it is. */
static void find_seatless(struct mst_typeset *ts, const struct mst_font *font, struct word *word,
                          const size_t *starts, int letter_count)
{
    for (int g = 0; g < word->glyph_count; g++) {
        const struct mst_glyph *glyph = &word->glyphs[g];
        struct word_letter *letter = &word->letters[letter_at(starts, letter_count, glyph->byte)];
        const struct glyph_profile *p = font_profile(ts, font, glyph->id);
        if (!box_is_empty(letter->base) || !p || p->count == 0)
            continue;
        double x = (double)glyph->x, y = (double)glyph->y;
        box_add(&letter->ink, x + (double)p->x_min, y + (double)p->y_min, x + (double)p->x_max,
                y + (double)p->y_max);
    }
}

/* Whoever copies a line has its words apart. */
static int add_blank(const struct mst_typeset *ts, struct mst_arena *arena, struct mst_span printed,
                     struct word *word)
{
    char *said = mst_arena_alloc(arena, printed.len + 1, 1);
    if (!said)
        return 0;
    memcpy(said, printed.ptr, printed.len);
    said[printed.len] = ' ';
    word->said = (struct mst_span){said, printed.len + 1};
    *word->blank = ts->blank;
    word->blank->byte = (uint32_t)printed.len;
    return 1;
}

/* Letters that are only marks to the font have no base and no advance of their own. */
static void fill_gaps(struct word *word, int letter_count)
{
    for (int i = 0; i < letter_count; i++) {
        struct word_letter *letter = &word->letters[i];
        if (box_is_empty(letter->base))
            letter->base = letter->ink;
        if (letter->right < letter->left) {
            letter->left = box_is_empty(letter->ink) ? 0 : letter->ink.x0;
            letter->right = box_is_empty(letter->ink) ? 0 : letter->ink.x1;
        }
    }
}

enum mst_status word_shape(struct mst_typeset *ts, const struct mst_font *font,
                           const struct mst_reading *reading, int32_t word_idx,
                           struct mst_arena *arena, struct word *out, int *missing,
                           struct mst_error *err)
{
    const struct mst_word *w = &reading->words[word_idx];
    struct mst_span verse = mst_reading_verse(reading, w->sura, w->verse);
    struct mst_string text = {0}, of = {0};
    enum mst_status status = MST_NO_MEMORY;
    memset(out, 0, sizeof *out);
    out->pause_glyph = -1;

    size_t *starts = mst_arena_alloc(arena, (size_t)w->letter_count + 1, sizeof *starts);
    if (!starts)
        goto done;
    out->starts = starts;
    if ((size_t)(w->byte_off + w->byte_len) > verse.len) {
        status = mst_fail(err, MST_INTERNAL, "word %d of verse %d:%d lies outside its verse",
                          (int)w->word, (int)w->sura, (int)w->verse);
        goto done;
    }
    display_text(reading, w, verse, &text, &of, starts);
    if (text.failed || of.failed)
        goto done;
    out->display = mst_arena_strndup(arena, text.ptr ? text.ptr : "", text.len);
    out->display_len = text.len;
    if (!out->display)
        goto done;

    if (!shape(ts, font, out, HB_BUFFER_CLUSTER_LEVEL_MONOTONE_CHARACTERS))
        goto done;
    unsigned count;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(ts->buffer, &count);
    const hb_glyph_position_t *pos = hb_buffer_get_glyph_positions(ts->buffer, NULL);
    out->blank = mst_arena_alloc(arena, count + 1, sizeof *out->blank);
    out->letters = mst_arena_alloc(arena, (size_t)w->letter_count + 1, sizeof *out->letters);
    if (!out->blank || !out->letters)
        goto done;
    out->glyphs = out->blank + 1;
    out->glyph_count = (int)count;
    for (unsigned g = 0; g < count; g++)
        *missing += info[g].codepoint == 0;
    measure(ts, font, out, info, pos, count, starts, w->letter_count);
    if (!find_bytes(ts, font, out))
        goto done;
    find_seatless(ts, font, out, starts, w->letter_count);
    for (unsigned g = 0; g < count; g++)
        out->glyphs[g].byte = (unsigned char)of.ptr[out->glyphs[g].byte];
    if (!add_blank(ts, arena, mst_reading_word(reading, word_idx), out))
        goto done;
    fill_gaps(out, w->letter_count);
    status = MST_OK;
done:
    mst_string_free(&text);
    mst_string_free(&of);
    if (status == MST_NO_MEMORY)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the text");
    return status;
}
