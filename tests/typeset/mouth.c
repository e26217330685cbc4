/*
 * The mouth: is the sound made where the books say, and does the air go the
 * right way? What each letter must look like is taken from the IPA chart
 * (International Phonetic Association, Handbook, 1999: manner of the symbols
 * ʔ b t θ dʒ ħ x d ð r z s ʃ sˤ tˤ ðˤ ʕ ɣ f q k l m n h w j), where each is
 * made from Ibn al-Jazarī's seventeen places; distances are measured here on
 * the curves, not asked of the code that drew them.
 */
#include "fixture.h"

#include <math.h>
#include <mistara/mouth.h>
#include <string.h>

enum manner { STOP, FRICATIVE, NASAL, LATERAL, TAP, GLIDE };
/* where: x along the roof in mm from the lips' side, the height for throat and glottis. */
enum organ { TONGUE, LIPS, TEETH, GLOTTIS, ROOT };
static const struct expected {
    uint32_t letter;
    enum manner manner;
    enum organ organ;
    double from, to;
} chart[] = {
    {0x621, STOP, GLOTTIS, 0, 0},
    {0x647, FRICATIVE, GLOTTIS, 0, 0},
    {0x639, FRICATIVE, ROOT, 70, 92},
    {0x62D, FRICATIVE, ROOT, 70, 92},
    {0x63A, FRICATIVE, TONGUE, 58, 71},
    {0x62E, FRICATIVE, TONGUE, 58, 71},
    {0x642, STOP, TONGUE, 58, 71},
    {0x643, STOP, TONGUE, 50, 64},
    {0x62C, STOP, TONGUE, 29, 48},
    {0x634, FRICATIVE, TONGUE, 29, 48},
    {0x64A, GLIDE, TONGUE, 29, 50},
    {0x644, LATERAL, TONGUE, 21, 27},
    {0x646, NASAL, TONGUE, 21, 27},
    {0x631, TAP, TONGUE, 22, 30},
    {0x637, STOP, TONGUE, 20, 24},
    {0x62F, STOP, TONGUE, 20, 24},
    {0x62A, STOP, TONGUE, 20, 24},
    {0x635, FRICATIVE, TONGUE, 20, 28},
    {0x633, FRICATIVE, TONGUE, 20, 28},
    {0x632, FRICATIVE, TONGUE, 20, 28},
    {0x638, FRICATIVE, TONGUE, 18, 22.5},
    {0x630, FRICATIVE, TONGUE, 18, 22.5},
    {0x62B, FRICATIVE, TONGUE, 18, 22.5},
    {0x641, FRICATIVE, TEETH, 0, 0},
    {0x628, STOP, LIPS, 0, 0},
    {0x645, NASAL, LIPS, 0, 0},
    {0x648, GLIDE, LIPS, 0, 0},
};
enum { CHART = sizeof chart / sizeof *chart };

static double apart(struct mst_point a, struct mst_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

/* Distance of a point from a segment. */
static double off(struct mst_point p, struct mst_point a, struct mst_point b)
{
    double dx = b.x - a.x, dy = b.y - a.y, l = dx * dx + dy * dy;
    double t = l > 0 ? fmax(0, fmin(1, ((p.x - a.x) * dx + (p.y - a.y) * dy) / l)) : 0;
    return apart(p, (struct mst_point){a.x + t * dx, a.y + t * dy});
}

/* Smallest distance between the tongue and the roof between x = from and x = to. */
static double tongue_gap(const struct mst_mouth *m, double from, double to)
{
    double best = 1e9;
    for (int i = 0; i < m->roof_uvula; i++) {
        if (m->roof[i].x < from || m->roof[i + 1].x > to)
            continue;
        for (int n = 0; n < MST_MOUTH_TONGUE; n++)
            best = fmin(best, off(m->tongue[n], m->roof[i], m->roof[i + 1]));
    }
    return best;
}

static double gap(const struct mst_mouth *m, const struct expected *e)
{
    double best = 1e9;
    switch (e->organ) {
    case TONGUE:
        return tongue_gap(m, e->from, e->to);
    case LIPS:
        return apart(m->upper_lip, m->lower_lip);
    case TEETH:
        return apart(m->lower_lip, m->roof[0]);
    case GLOTTIS:
        return m->glottis_gap;
    case ROOT:
        for (int i = m->roof_uvula + 1; i + 1 < m->roof_count; i++)
            if (m->roof[i].y > e->from && m->roof[i].y < e->to)
                best = fmin(best, off(m->epiglottis, m->roof[i], m->roof[i + 1]));
        return best;
    }
    return best;
}

static void made_where_the_chart_says(void **state)
{
    (void)state;
    for (int i = 0; i < CHART; i++) {
        const struct expected *e = &chart[i];
        struct mst_posture posture;
        struct mst_mouth m;
        assert_true(mst_posture_of_letter(e->letter, &posture));
        mst_mouth_shape(&posture, &m);
        double g = gap(&m, e);
        static const double least[] = {0, 0.5, 0, 0, 0.4, 1.5},
                            most[] = {0.25, 2, 0.25, 0.25, 1.5, 5};
        if (g < least[e->manner] - 1e-6 || g > most[e->manner])
            fail_msg("U+%04X: gap of %.2f mm, %.2f to %.2f expected", e->letter, g,
                     least[e->manner], most[e->manner]);
        /* the ring is drawn there */
        assert_true(fabs(m.gap - g) < 0.6);
        assert_int_equal(posture.manner == MST_MANNER_CLOSED,
                         e->manner == STOP || e->manner == NASAL);
    }
}

/* No stop anywhere else, and a tongue never outside the mouth. */
static void nothing_else_touches(void **state)
{
    (void)state;
    for (int i = 0; i < CHART; i++) {
        const struct expected *e = &chart[i];
        struct mst_posture posture;
        struct mst_mouth m;
        assert_true(mst_posture_of_letter(e->letter, &posture));
        mst_mouth_shape(&posture, &m);
        if (e->manner != STOP && e->manner != NASAL && e->manner != LATERAL)
            assert_true(tongue_gap(&m, 0, 100) > 0.3);
        if (e->organ != LIPS)
            assert_true(m.lip_gap > 0.3);
        if (e->organ != GLOTTIS)
            assert_true(m.glottis_gap > 0.5);
        for (int n = 0; n < MST_MOUTH_TONGUE; n++)
            for (int k = 0; k < m.roof_uvula; k++) {
                struct mst_point a = m.roof[k], b = m.roof[k + 1], p = m.tongue[n];
                if (b.x > a.x && p.x > a.x && p.x < b.x)
                    assert_true(p.y > a.y + (b.y - a.y) * (p.x - a.x) / (b.x - a.x) - 0.01);
            }
    }
}

static void nose_only_for_nasals(void **state)
{
    (void)state;
    const struct mst_articulation *a;
    for (int n = 0; (a = mst_articulation_at(n)) != NULL; n++) {
        struct mst_posture posture;
        struct mst_mouth m;
        int nasal = (int)(a->qualities >> MST_QUALITY_INDEX_GHUNNA & 1u);
        assert_true(mst_posture_of_letter(a->letter, &posture));
        mst_mouth_shape(&posture, &m);
        assert_int_equal(m.nose_air_count > 0, nasal);
        if (nasal)
            assert_true(m.veil_gap > 4); /* room behind the veil */
        else
            assert_true(m.veil_gap < 0.6 && m.mouth_air_count > 0);
        if (nasal) { /* out at the nostrils, above the upper lip */
            struct mst_point out = m.nose_air[m.nose_air_count - 1];
            assert_true(out.x < 10 && out.y < m.upper_lip.y);
        }
        /* the heavy letters of the table lift the back of the tongue, and only they of these pairs
         */
        if (a->qualities >> MST_QUALITY_INDEX_ITBAQ & 1u)
            assert_true(posture.back_up > 0);
    }
}

/* The air of a stop ends before the lips; of every other sound outside them. */
static void held_or_let_out(void **state)
{
    (void)state;
    for (int i = 0; i < CHART; i++) {
        struct mst_posture posture;
        struct mst_mouth m;
        assert_true(mst_posture_of_letter(chart[i].letter, &posture));
        mst_mouth_shape(&posture, &m);
        if (chart[i].manner == NASAL)
            continue;
        struct mst_point end = m.mouth_air[m.mouth_air_count - 1];
        assert_int_equal(end.x < m.upper_lip.x, chart[i].manner != STOP);
    }
}

static void states_of_rules(void **state)
{
    (void)state;
    struct mst_figure f[MST_FIGURES_MAX];
    struct mst_card card = {.kind = MST_CARD_RULE};
    struct mst_mouth m;
    /* hidden: nowhere closed in the mouth, air by the nose alone */
    card.rule = MST_RULE_IKHFA;
    int count = mst_card_figures(&card, f);
    assert_true(count > 1);
    for (int i = 0; i < count; i++) {
        mst_mouth_shape(&f[i].posture, &m);
        assert_true(m.nose_air_count > 0 && m.mouth_air_count == 0 && m.veil_gap > 4);
        assert_true(tongue_gap(&m, 0, 100) > 0.5 && m.lip_gap > 0.5 && m.gap > 1.5);
    }
    /* turned into a lip hold: lips together but not pressed */
    card.rule = MST_RULE_IQLAB;
    assert_true(mst_card_figures(&card, f) > 0);
    mst_mouth_shape(&f[0].posture, &m);
    assert_true(m.nose_air_count > 0 && m.lip_gap > 0 && m.lip_gap < 0.6);
    /* merging without the nose keeps the nose closed */
    card.rule = MST_RULE_IDGHAM_BILA_GHUNNA;
    count = mst_card_figures(&card, f);
    for (int i = 0; i < count; i++) {
        mst_mouth_shape(&f[i].posture, &m);
        assert_true(m.nose_air_count == 0 && m.veil_gap < 0.6);
    }
    /* an echo: held, then let go */
    card.rule = MST_RULE_QALQALA;
    assert_int_equal(mst_card_figures(&card, f), 2);
    mst_mouth_shape(&f[0].posture, &m);
    assert_true(m.gap < 0.25);
    mst_mouth_shape(&f[1].posture, &m);
    assert_true(m.gap > 1);
    /* heavy lies higher at the back than light */
    card.rule = MST_RULE_TAFKHIM_RA;
    assert_int_equal(mst_card_figures(&card, f), 2);
    struct mst_mouth light;
    mst_mouth_shape(&f[0].posture, &m);
    mst_mouth_shape(&f[1].posture, &light);
    assert_true(m.tongue[40].y < light.tongue[40].y - 2);
}

/* What the side of the tongue makes is shown a second time, from below; nothing else is. */
static void sides_have_a_second_view(void **state)
{
    (void)state;
    const struct mst_articulation *a;
    for (int n = 0; (a = mst_articulation_at(n)) != NULL; n++) {
        struct mst_card card = {.kind = MST_CARD_LETTER, .letter = a->letter};
        struct mst_figure f[MST_FIGURES_MAX];
        int count = mst_card_figures(&card, f), side = a->place == 8 || a->place == 9;
        assert_int_equal(count, side ? 2 : 1);
        assert_int_equal(f[count - 1].palate != 0, side);
        assert_int_equal(f[0].posture.manner == MST_MANNER_SIDES, side);
    }
}

static void every_card_is_drawn(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    for (int place = 1; place <= 17; place++) {
        struct mst_card card = {.kind = MST_CARD_PLACE, .place = place};
        struct mst_sheet *sheet;
        struct mst_string svg = {0};
        if (mst_card_new(f->typeset, &card, MST_LABELS_BOTH, f->arena, &sheet, &err) != MST_OK)
            fail_msg("place %d: %s", place, err.message);
        assert_int_equal(mst_sheet_page_count(sheet), 1);
        assert_int_equal(mst_sheet_svg(sheet, 0, MST_THEME_LIGHT, &svg, &err), MST_OK);
        assert_non_null(strstr(svg.ptr, "<path"));
        assert_null(strstr(svg.ptr, "nan"));
        assert_null(strstr(svg.ptr, "href=\"#g0-0\"")); /* the glyph of what a font has not */
        mst_string_free(&svg);
    }
}

static void asked_for_by_name(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        enum mst_card_kind kind;
        unsigned value;
    } rows[] = {{"ق", MST_CARD_LETTER, 0x642},
                {"qāf", MST_CARD_LETTER, 0x642},
                {"qaf", MST_CARD_LETTER, 0x642},
                {"ḥāʾ", MST_CARD_LETTER, 0x62D},
                {"hāʾ", MST_CARD_LETTER, 0x647},
                {"الضاد", MST_CARD_LETTER, 0x636},
                {"8", MST_CARD_PLACE, 8},
                {"17", MST_CARD_PLACE, 17},
                {"ikhfa", MST_CARD_RULE, MST_RULE_IKHFA}};
    struct mst_error err = {0};
    struct mst_card card;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(mst_card_parse(mst_span_of(rows[i].typed), &card, &err), MST_OK);
        assert_int_equal(card.kind, rows[i].kind);
        assert_int_equal(card.kind == MST_CARD_LETTER  ? card.letter
                         : card.kind == MST_CARD_PLACE ? (unsigned)card.place
                                                       : (unsigned)card.rule,
                         rows[i].value);
    }
    assert_int_equal(mst_card_parse(MST_SPAN("18"), &card, &err), MST_USAGE);
    assert_int_equal(mst_card_parse(MST_SPAN(""), &card, &err), MST_NOT_FOUND);
    assert_int_equal(mst_card_parse(MST_SPAN("tree"), &card, &err), MST_NOT_FOUND);
}

/* Lines and dots must be seen: WCAG 2.2, 1.4.11 asks 3:1 of graphics, 1.4.3 4.5:1 of words. The
 * darkest pixels of a picture against its paper. */
static double luminance(uint32_t rgb)
{
    double sum = 0;
    static const double weight[] = {0.2126, 0.7152, 0.0722};
    for (int c = 0; c < 3; c++) {
        double v = (double)(rgb >> (16 - 8 * c) & 255) / 255;
        sum += weight[c] * (v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4));
    }
    return sum;
}

static double contrast(uint32_t a, uint32_t b)
{
    double x = luminance(a), y = luminance(b);
    return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

static void seen_on_paper_and_dark(void **state)
{
    struct fixture *f = *state;
    struct mst_error err = {0};
    struct mst_card card = {.kind = MST_CARD_LETTER, .letter = 0x646};
    struct mst_sheet *sheet;
    enum { W = 1190, H = 839 };
    uint32_t *pixels = mst_arena_alloc(f->arena, (size_t)W * H, sizeof *pixels);
    assert_int_equal(mst_card_new(f->typeset, &card, MST_LABELS_BOTH, f->arena, &sheet, &err),
                     MST_OK);
    for (int theme = 0; theme < 2; theme++) {
        long strong = 0, line = 0;
        assert_int_equal(mst_sheet_draw(sheet, 0, MST_LAYER_ALL, (enum mst_theme)theme, -1, -1,
                                        pixels, W, H, W * 4, &err),
                         MST_OK);
        uint32_t paper = mst_paper_colour((enum mst_theme)theme);
        for (int i = 0; i < W * H; i++) {
            double c = contrast(pixels[i] & 0xFFFFFF, paper);
            strong += c >= 7;
            line += c >= 4.5;
        }
        assert_true(strong > 4000 && line > strong);
        /* the three inks that carry meaning in a picture */
        static const enum mst_family families[] = {MST_FAMILY_ECHO, MST_FAMILY_LENGTH,
                                                   MST_FAMILY_NASAL};
        for (int k = 0; k < 3; k++)
            assert_true(contrast(mst_ink_of_family(families[k], (enum mst_theme)theme), paper) >=
                        4.5);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(made_where_the_chart_says), cmocka_unit_test(nothing_else_touches),
        cmocka_unit_test(nose_only_for_nasals),      cmocka_unit_test(held_or_let_out),
        cmocka_unit_test(states_of_rules),           cmocka_unit_test(sides_have_a_second_view),
        cmocka_unit_test(every_card_is_drawn),       cmocka_unit_test(asked_for_by_name),
        cmocka_unit_test(seen_on_paper_and_dark),
    };
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
