/*
 * From the codes of the print to the codes fonts know for the same signs.
 * The targets do not occur in the print, so the way back is open.
 */
#include <mistara/text.h>

static const struct {
    uint32_t printed, shown; /* shown 0: left out */
} substitutions[] = {
    {0x0652, 0x06DF}, /* rounded zero: the letter is silent */
    {0x0657, 0x08F0}, /* open tanwīn: with fatḥa … */
    {0x065E, 0x08F1}, /* … ḍamma … */
    {0x0656, 0x08F2}, /* … kasra */
    {0x2009, 0},      /* the thin space inside a word of 2:72 */
};

void mst_text_for_display(struct mst_span printed, struct mst_string *out)
{
    size_t kept = 0;
    for (size_t off = 0; off < printed.len;) {
        size_t start = off;
        uint32_t cp = mst_utf8_next(printed.ptr, printed.len, &off);
        for (size_t i = 0; i < sizeof substitutions / sizeof substitutions[0]; i++) {
            if (substitutions[i].printed != cp)
                continue;
            mst_string_add(out, printed.ptr + kept, start - kept);
            if (substitutions[i].shown != 0)
                mst_string_add_cp(out, substitutions[i].shown);
            kept = off;
            break;
        }
    }
    mst_string_add(out, printed.ptr + kept, printed.len - kept);
}
