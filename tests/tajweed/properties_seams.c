/*
 * properties_seams – what stopping, starting and cutting do to a reading:
 * a stop is felt at its seam and nowhere else, `when` tells the truth, and a
 * passage reads the same on its own and in the middle of a longer one.
 */
#include "random_readings.h"

enum { STOPS_MAX = 4096, REPORTED_MAX = 40, ALIF_WASLA = 0x0671 };

/* --- stops --------------------------------------------------------------------------- */

/* Every word of a stretch, with the basmalas the reader adds. */
static size_t every_word(const struct world *w, struct stretch s, struct mst_addr stops[STOPS_MAX])
{
    size_t count = 0;
    for (int i = s.first; i <= s.last && count + 5 < STOPS_MAX; i++) {
        struct mst_addr at = w->words[i];
        if (at.verse == 1 && at.word == 1 && at.sura != 1 && at.sura != 9)
            for (int word = 1; word <= 4; word++)
                stops[count++] = (struct mst_addr){at.sura, 0, word, 0};
        stops[count++] = at;
    }
    return count;
}

static void test_stopping_everywhere(void **state)
{
    struct world *w = *state;
    static struct mst_addr stops[STOPS_MAX];
    for (int n = 0; n < w->rounds; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        struct stretch s = random_stretch(w, 200);
        size_t count = every_word(w, s, stops);
        const struct mst_reading *r = read_stopping(w, s, &o, stops, count, arena);
        assert_non_null(r);
        for (int i = 0; i < r->word_count; i++)
            assert_int_equal(r->words[i].seam, MST_SEAM_STOP);
        for (int32_t i = 0; i < r->site_count; i++) {
            const struct mst_site *site = &r->sites[i];
            int word = r->letters[site->trigger].word_idx;
            int inside = r->letters[site->first].word_idx == word &&
                         r->letters[site->last].word_idx == word &&
                         (site->host < 0 || r->letters[site->host].word_idx == word);
            must(w, r, site, inside, "reaches into another word over a stop");
            must(w, r, site, site->when != MST_JOINING || r->letters[site->trigger].number > 0,
                 "joining where nothing is joined");
        }
        for (int32_t i = 0; i < r->sound_count; i++)
            assert_int_equal(r->letters[r->sounds[i].first_letter].word_idx,
                             r->letters[r->sounds[i].last_letter].word_idx);
        mst_arena_free(arena);
    }
}

/* How far into the word after a seam starting can be felt: the joining hamza, the letter it
 * gives its vowel to or the lām of the Name after it, and a rāʾ or a hamza there. */
enum { START_REACH = 4 };

static int at_seam(const struct mst_reading *r, int letter, int word)
{
    int at = r->letters[letter].word_idx;
    return at == word || (at == word + 1 && r->letters[letter].number <= START_REACH);
}

/* Sites away from the seam after `word` must be the same in both readings. */
static void same_away_from(const struct world *w, const struct mst_reading *a,
                           const struct mst_reading *b, int word)
{
    int32_t i = 0, j = 0;
    for (;;) {
        while (i < a->site_count && at_seam(a, a->sites[i].trigger, word))
            i++;
        while (j < b->site_count && at_seam(b, b->sites[j].trigger, word))
            j++;
        if (i == a->site_count || j == b->site_count)
            break;
        must(w, a, &a->sites[i], same_site(&a->sites[i], &b->sites[j], 0),
             "a stop elsewhere changes it");
        i++;
        j++;
    }
    if (i < a->site_count)
        tell_site(w, a, &a->sites[i], "a stop elsewhere takes it away");
    if (j < b->site_count)
        tell_site(w, b, &b->sites[j], "a stop elsewhere brings it");
    assert_true(i == a->site_count && j == b->site_count);
}

static void test_seam_only(void **state)
{
    struct world *w = *state;
    int compared = 0;
    for (int n = 0; n < w->rounds * 2; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        struct stretch s = random_stretch(w, 40);
        struct mst_addr stop = w->words[s.first + below(w, s.last - s.first + 1)];
        const struct mst_reading *joined = read_stopping(w, s, &o, NULL, 0, arena);
        const struct mst_reading *stopped = read_stopping(w, s, &o, &stop, 1, arena);
        if (joined != NULL && stopped != NULL) {
            assert_int_equal(joined->letter_count, stopped->letter_count);
            same_away_from(w, joined, stopped, word_index(joined, stop));
            compared++;
        }
        mst_arena_free(arena);
    }
    assert_true(compared > w->rounds);
}

/* --- `when` tells the truth ------------------------------------------------------------ */

/*
 * A word is read with and without a stop before it and after it: four
 * readings. A site that says always must stand in all of them; one that says
 * stopping, in none where the reader goes on after the word; starting, in none
 * where the word is joined to the one before; joining must be missing from one
 * of them. The joining hamza alone is there either way: joining says silent,
 * starting sounded.
 */
struct four {
    const struct mst_reading *r[2][2]; /* [stop before][stop after] */
};

static const char *when_is_false(const struct four *four, int before, int after,
                                 const struct mst_site *site)
{
    int present[2][2], all = 1;
    for (int b = 0; b < 2; b++)
        for (int a = 0; a < 2; a++) {
            present[b][a] = find_site(four->r[b][a], site->rule, site->trigger) != NULL;
            all &= present[b][a];
        }
    const struct mst_letter *letter = &four->r[before][after]->letters[site->trigger];
    int joining_alif = letter->base == ALIF_WASLA && letter->number == 1;
    if (site->rule == MST_RULE_HAMZAT_WASL && joining_alif)
        return all && site->when == (before ? MST_STARTING : MST_JOINING)
                   ? NULL
                   : "does not say whether it is sounded";
    switch (site->when) {
    case MST_ALWAYS:
        return all ? NULL : "says always and is missing elsewhere";
    case MST_JOINING:
        return all               ? "says joining and is there at a stop and a start too"
               : before && after ? "says joining and nothing is joined"
                                 : NULL;
    case MST_STOPPING:
        return after && !present[before][0] ? NULL : "says stopping and is there going on";
    case MST_STARTING:
        return before && !present[0][after] ? NULL : "says starting and is there going on";
    }
    return "says none of the four";
}

static void test_when(void **state)
{
    struct world *w = *state;
    int compared = 0, untrue = 0;
    for (int n = 0; n < w->rounds * 4; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        int at = 2 + below(w, w->word_count - 4);
        struct stretch s = {at - 2, at + 2};
        struct mst_addr stops[2];
        struct four four;
        int allowed = 1;
        for (int before = 0; before < 2; before++)
            for (int after = 0; after < 2; after++) {
                size_t count = 0;
                if (before)
                    stops[count++] = w->words[at - 1];
                if (after)
                    stops[count++] = w->words[at];
                four.r[before][after] = read_stopping(w, s, &o, stops, count, arena);
                allowed &= four.r[before][after] != NULL;
            }
        /* At the head of a sura the basmala stands between the two words. */
        if (allowed && !(w->words[at].verse == 1 && w->words[at].word == 1)) {
            int word = word_index(four.r[0][0], w->words[at]);
            for (int before = 0; before < 2; before++)
                for (int after = 0; after < 2; after++) {
                    const struct mst_reading *r = four.r[before][after];
                    for (int32_t i = 0; i < r->site_count; i++)
                        if (r->letters[r->sites[i].trigger].word_idx == word) {
                            const char *wrong = when_is_false(&four, before, after, &r->sites[i]);
                            if (wrong != NULL && untrue++ < REPORTED_MAX)
                                tell_site(w, r, &r->sites[i], wrong);
                        }
                }
            compared++;
        }
        mst_arena_free(arena);
    }
    assert_int_equal(untrue, 0);
    assert_true(compared > w->rounds);
}

/* --- cut from anywhere ------------------------------------------------------------------ */

/* Letters, sites and sounds of `part` as they stand in `whole`, stops before and after it. */
static void part_of(const struct world *w, const struct mst_reading *part,
                    const struct mst_reading *whole)
{
    struct mst_addr head = mst_letter_addr(part, 0);
    int shift = 0;
    while (shift < whole->letter_count &&
           mst_addr_compare(mst_letter_addr(whole, shift), head) != 0)
        shift++;
    assert_true(shift + part->letter_count <= whole->letter_count);
    int32_t j = 0;
    while (j < whole->site_count && whole->sites[j].trigger < shift)
        j++;
    for (int32_t i = 0; i < part->site_count; i++, j++) {
        must(w, part, &part->sites[i],
             j < whole->site_count && same_site(&part->sites[i], &whole->sites[j], shift),
             "not the same in the middle of a longer passage");
    }
    if (j < whole->site_count)
        must(w, whole, &whole->sites[j], whole->sites[j].trigger >= shift + part->letter_count,
             "only in the middle of a longer passage");
    int32_t k = 0;
    while (k < whole->sound_count && whole->sounds[k].first_letter < shift)
        k++;
    assert_true(k + part->sound_count <= whole->sound_count);
    for (int32_t i = 0; i < part->sound_count; i++)
        assert_true(same_sound(&part->sounds[i], &whole->sounds[k + i], shift));
}

static void test_cut_from_anywhere(void **state)
{
    struct world *w = *state;
    int compared = 0;
    for (int n = 0; n < w->rounds; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        struct stretch part = random_stretch(w, 60), whole = part;
        whole.first -= below(w, 30) + 1;
        whole.last += below(w, 30) + 1;
        if (whole.first >= 0 && whole.last < w->word_count) {
            struct mst_addr stops[2] = {w->words[part.first - 1], w->words[part.last]};
            const struct mst_reading *a = read_stopping(w, part, &o, NULL, 0, arena);
            const struct mst_reading *b = read_stopping(w, whole, &o, stops, 2, arena);
            if (a != NULL && b != NULL) {
                part_of(w, a, b);
                compared++;
            }
        }
        mst_arena_free(arena);
    }
    assert_true(compared > w->rounds / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_stopping_everywhere, start_from_seed),
        cmocka_unit_test_setup(test_seam_only, start_from_seed),
        cmocka_unit_test_setup(test_when, start_from_seed),
        cmocka_unit_test_setup(test_cut_from_anywhere, start_from_seed),
    };
    return cmocka_run_group_tests(tests, open_world, close_world);
}
