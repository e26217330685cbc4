/* The notation itself: inks that can be told from the paper, a sign for every family, fading. */
#include "fixture.h"

#include <math.h>
#include <string.h>

/* Relative luminance and contrast ratio: W3C, Web Content Accessibility Guidelines 2.1, "Relative
 * luminance", "Contrast ratio"; 4.5 : 1 is its level AA (success criterion 1.4.3). */
static double luminance(uint32_t rgb)
{
    double sum = 0;
    static const double weight[3] = {0.2126, 0.7152, 0.0722};
    for (int i = 0; i < 3; i++) {
        double v = (rgb >> (16 - 8 * i) & 255) / 255.0;
        sum += weight[i] * (v <= 0.03928 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4));
    }
    return sum;
}

static double contrast(uint32_t a, uint32_t b)
{
    double x = luminance(a), y = luminance(b);
    return x > y ? (x + 0.05) / (y + 0.05) : (y + 0.05) / (x + 0.05);
}

static void contrast_is_known(void **state)
{
    (void)state; /* the guideline's own ends of the scale, and its example of a failing grey */
    assert_float_equal(contrast(0x000000, 0xFFFFFF), 21, 1e-6);
    assert_float_equal(contrast(0x777777, 0xFFFFFF), 4.48, 0.01);
}

static void inks_can_be_read(void **state)
{
    (void)state;
    for (int theme = MST_THEME_LIGHT; theme <= MST_THEME_DARK; theme++)
        for (int family = 0; family < MST_FAMILY_COUNT; family++) {
            uint32_t ink = mst_ink_of_family((enum mst_family)family, (enum mst_theme)theme);
            double c = contrast(ink, mst_paper_colour((enum mst_theme)theme));
            if (c < 4.5)
                fail_msg("%s in theme %d: contrast %.2f",
                         mst_family_name((enum mst_family)family, MST_LANG_EN), theme, c);
            for (int other = 0; other < family; other++) /* one hue per family */
                assert_int_not_equal(
                    ink, mst_ink_of_family((enum mst_family)other, (enum mst_theme)theme));
        }
    assert_int_equal(mst_paper_colour(MST_THEME_LIGHT), 0xFFFFFF);
}

/* With every rule asked for, every site of a reading has a mark, heavy letters aside. */
static void every_site_is_marked(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.rules = all_rules()};
    const struct mst_reading *r;
    static const char *const passages[] = {"67",   "11:41", "12:11", "41:44",
                                           "18:1", "52:37", "30:54", "2:245"};
    for (size_t p = 0; p < sizeof passages / sizeof *passages; p++) {
        struct mst_sheet *sheet = lay_out(f, passages[p], MST_STOPS_SIGNS, &options, &r);
        size_t count;
        const struct mst_mark_box *marks = mst_sheet_marks(sheet, &count);
        unsigned char *seen = mst_arena_alloc(f->arena, (size_t)r->site_count + 1, 1);
        for (size_t i = 0; i < count; i++)
            if (marks[i].site >= 0)
                seen[marks[i].site] = 1;
        for (int32_t s = 0; s < r->site_count; s++) {
            int expected = r->sites[s].rule != MST_RULE_TAFKHIM;
            char at[48];
            if (seen[s] != expected)
                fail_msg("%s at %s: %s", mst_rule_id(r->sites[s].rule),
                         mst_addr_print(mst_letter_addr(r, r->sites[s].trigger), at),
                         seen[s] ? "marked" : "not marked");
        }
        mst_arena_reset(f->arena);
    }
}

static void only_asked_rules_are_marked(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.no_stops = 1};
    const struct mst_reading *r;
    options.rules.bits = (uint64_t)1 << MST_RULE_IKHFA | (uint64_t)1 << MST_RULE_QALQALA;
    struct mst_sheet *sheet = lay_out(f, "78", MST_STOPS_VERSES, &options, &r);
    size_t count;
    const struct mst_mark_box *marks = mst_sheet_marks(sheet, &count);
    assert_true(count > 10);
    for (size_t i = 0; i < count; i++) {
        assert_true(marks[i].site >= 0);
        assert_true(mst_rule_set_has(options.rules, r->sites[marks[i].site].rule));
    }
    mst_arena_reset(f->arena);
}

/* Heavy letters are plain from themselves, yet a teacher may ask for them. */
static void heavy_letters_on_request(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.no_stops = 1};
    size_t count;
    options.rules.bits = (uint64_t)1 << MST_RULE_TAFKHIM;
    mst_sheet_marks(lay_out(f, "112", MST_STOPS_VERSES, &options, NULL), &count);
    assert_true(count > 0);
    mst_arena_reset(f->arena);
}

static size_t occurrences(const struct mst_string *s, const char *needle)
{
    size_t count = 0;
    for (const char *p = s->ptr; p && (p = strstr(p, needle)); p += strlen(needle))
        count++;
    return count;
}

/* Fading: what each stage still says, in the SVG and in plain text. */
static void stages_say_less_and_less(void **state)
{
    struct fixture *f = *state;
    struct mst_error err;
    size_t marks[MST_FADE_STAGES], sites[MST_FADE_STAGES];
    for (int stage = 0; stage < MST_FADE_STAGES; stage++) {
        struct mst_sheet_options options = {.stage = (enum mst_fade)stage, .key = MST_KEY_NONE};
        options.rules.bits = (uint64_t)1 << MST_RULE_IKHFA | (uint64_t)1 << MST_RULE_QALQALA;
        struct mst_sheet *sheet = lay_out(f, "67:1-5", MST_STOPS_VERSES, &options, NULL);
        struct mst_string svg = {0}, text = {0};
        assert_int_equal(mst_sheet_svg(sheet, 0, MST_THEME_LIGHT, &svg, &err), MST_OK);
        assert_int_equal(mst_sheet_text(sheet, MST_LANG_EN, &text, &err), MST_OK);
        const struct mst_mark_box *boxes = mst_sheet_marks(sheet, &marks[stage]);
        assert_int_equal(occurrences(&svg, "class=\"mark\""), marks[stage]);
        /* lines differ with the room for names, so count sites, not pieces of ties */
        sites[stage] = 0;
        for (size_t i = 0; i < marks[stage]; i++) {
            size_t k = 0;
            while (k < i && (boxes[k].site != boxes[i].site || boxes[i].site < 0))
                k++;
            sites[stage] += k == i;
        }
        int tells = occurrences(&svg, "data-rule=\"ikhfa\"") > 0;
        assert_int_equal(tells, stage <= MST_FADE_MARKS);
        /* neither the ear nor the eye is told what a dot stands for */
        assert_int_equal(strstr(text.ptr, "hiding") != NULL, stage <= MST_FADE_MARKS);
        assert_int_equal(strstr(text.ptr, " places") != NULL, stage == MST_FADE_COUNT);
        mst_string_free(&svg);
        mst_string_free(&text);
        mst_arena_reset(f->arena);
    }
    assert_int_equal(sites[MST_FADE_NAMES], sites[MST_FADE_MARKS]);
    assert_true(marks[MST_FADE_WHERE] > 0);
    assert_int_equal(marks[MST_FADE_COUNT], 0);
    assert_int_equal(marks[MST_FADE_NOTHING], 0);
}

static void fading_runs_from_first_line_to_last(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.fade_evenly = 1, .rules = all_rules(), .no_stops = 1};
    struct mst_sheet *sheet = lay_out(f, "78:1-16", MST_STOPS_VERSES, &options, NULL);
    size_t count;
    const struct mst_mark_box *marks = mst_sheet_marks(sheet, &count);
    int lines = mst_sheet_line_count(sheet), last = 0;
    for (size_t i = 0; i < count; i++)
        last = marks[i].line > last ? marks[i].line : last;
    assert_int_equal(marks[0].line, 0);
    /* stages 3 and 4, the last two fifths, have no marks */
    assert_true(last < lines * 3 / 5 + 1 && last >= lines * 2 / 5);
    mst_arena_reset(f->arena);

    static const uint8_t stages[] = {4, 4, 1};
    options.fade_evenly = 0;
    options.line_stages = stages;
    options.line_stage_count = 3;
    sheet = lay_out(f, "78:1-16", MST_STOPS_VERSES, &options, NULL);
    marks = mst_sheet_marks(sheet, &count);
    assert_int_equal(marks[0].line, 2);
    assert_int_equal(marks[count - 1].line, mst_sheet_line_count(sheet) - 1);
    mst_arena_reset(f->arena);
}

/* A tie whose letters stand on two lines is drawn on both. */
static void ties_are_resumed(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {.rules = all_rules()};
    const struct mst_reading *r;
    struct mst_sheet *sheet = lay_out(f, "67", MST_STOPS_NONE, &options, &r);
    size_t mark_count, letter_count;
    const struct mst_mark_box *marks = mst_sheet_marks(sheet, &mark_count);
    const struct mst_letter_box *letters = mst_sheet_boxes(sheet, &letter_count);
    int broken = 0;
    for (size_t i = 0; i < mark_count; i++) {
        if (marks[i].site < 0)
            continue;
        const struct mst_site *site = &r->sites[marks[i].site];
        enum mst_family family = mst_rule_family(site->rule);
        if (site->host < 0 ||
            (family != MST_FAMILY_MERGE && family != MST_FAMILY_TURN && family != MST_FAMILY_HIDE))
            continue;
        int here = letters[site->trigger].line, there = letters[site->host].line, halves = 0;
        for (size_t k = 0; k < mark_count; k++)
            if (marks[k].site == marks[i].site) {
                assert_true(marks[k].line == here || marks[k].line == there);
                halves++;
            }
        assert_int_equal(halves, here == there ? 1 : 2);
        broken += here != there;
    }
    assert_true(broken > 0);
    mst_arena_reset(f->arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrast_is_known),
        cmocka_unit_test(inks_can_be_read),
        cmocka_unit_test(every_site_is_marked),
        cmocka_unit_test(only_asked_rules_are_marked),
        cmocka_unit_test(heavy_letters_on_request),
        cmocka_unit_test(stages_say_less_and_less),
        cmocka_unit_test(fading_runs_from_first_line_to_last),
        cmocka_unit_test(ties_are_resumed),
    };
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
