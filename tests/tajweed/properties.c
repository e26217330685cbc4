/*
 * properties – what must hold of every reading, whatever the rules are: its
 * shape, its lengths, that nothing is lost between letters and sounds, that it
 * comes out the same twice, and what happens when memory runs out or the
 * request is odd. Where a rule itself is in question the print check and the
 * cases speak.
 */
#include "random_readings.h"

#include <stdlib.h>

/* --- shape --------------------------------------------------------------------- */

static int expected_length(const struct mst_reading_options *o, const struct mst_site *s)
{
    switch (s->rule) {
    case MST_RULE_MADD_TABII:
    case MST_RULE_MADD_BADAL:
    case MST_RULE_MADD_IWAD:
    case MST_RULE_MADD_SILA_SUGHRA:
    case MST_RULE_MADD_TAMKIN:
        return s->counts == 2;
    case MST_RULE_MADD_MUTTASIL:
        return s->counts == o->muttasil || (s->counts == 6 && o->muttasil_stop_6) ||
               (s->counts == o->arid && s->counts > o->muttasil);
    case MST_RULE_MADD_MUNFASIL:
    case MST_RULE_MADD_SILA_KUBRA:
        return s->counts == o->munfasil;
    case MST_RULE_MADD_ARID:
        return s->counts == o->arid;
    case MST_RULE_MADD_LIN:
        return s->counts == o->lin || s->counts == o->ayn;
    case MST_RULE_MADD_LAZIM_WORD:
        return s->counts == 6;
    case MST_RULE_MADD_LAZIM_LETTER:
        return s->counts == 6 || s->counts == o->ayn || (o->alim_allah_2 && s->counts == 2);
    case MST_RULE_IKHFA:
    case MST_RULE_IQLAB:
    case MST_RULE_IDGHAM_GHUNNA:
    case MST_RULE_IKHFA_SHAFAWI:
    case MST_RULE_IDGHAM_SHAFAWI:
    case MST_RULE_GHUNNA:
        return s->counts == 2 && s->nasal == 1;
    default:
        return 1;
    }
}

static void check_sites(const struct world *w, const struct mst_reading *r)
{
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        assert_in_range(s->rule, 0, MST_RULE_COUNT - 1);
        must(w, r, s,
             s->first >= 0 && s->first <= s->trigger && s->trigger <= s->last &&
                 s->last < r->letter_count,
             "first ≤ trigger ≤ last does not hold");
        must(w, r, s, s->host >= -1 && s->host < r->letter_count, "the host is no letter");
        must(w, r, s, s->counts_min <= s->counts && s->counts <= s->counts_max,
             "counts outside their own range");
        must(w, r, s, expected_length(&r->options, s), "counts are not those of the options");
        must(w, r, s, s->when <= MST_STARTING, "when is none of the four");
        if (i > 0) {
            const struct mst_site *p = s - 1;
            must(w, r, s,
                 p->trigger < s->trigger || (p->trigger == s->trigger && p->rule < s->rule),
                 "not in order of trigger and rule, or there twice");
        }
    }
}

static void check_words(const struct mst_reading *r)
{
    int letter = 0, sound = 0;
    for (int i = 0; i < r->word_count; i++) {
        const struct mst_word *word = &r->words[i];
        assert_int_equal(word->first_letter, letter);
        assert_int_equal(word->first_sound, sound);
        assert_true(word->letter_count > 0);
        for (int l = letter; l < letter + word->letter_count; l++) {
            assert_int_equal(r->letters[l].word_idx, i);
            assert_int_equal(r->letters[l].number, l - letter + 1);
            assert_true(r->letters[l].byte_off >= word->byte_off);
            assert_true(r->letters[l].byte_off + r->letters[l].byte_len <=
                        word->byte_off + word->byte_len);
        }
        for (int s = sound; s < sound + word->sound_count; s++)
            assert_int_equal(r->sounds[s].word_idx, i);
        letter += word->letter_count;
        sound += word->sound_count;
    }
    assert_int_equal(letter, r->letter_count);
    assert_int_equal(sound, r->sound_count);
}

static void check_sounds(const struct mst_reading *r)
{
    for (int32_t i = 0; i < r->sound_count; i++) {
        const struct mst_sound *s = &r->sounds[i];
        assert_in_range(s->phone, 0, MST_PHONE_COUNT - 1);
        assert_true(s->first_letter >= 0 && s->first_letter <= s->last_letter);
        assert_true(s->last_letter < r->letter_count);
        assert_true(s->counts_min <= s->counts && s->counts <= s->counts_max);
        assert_true(s->site >= -1 && s->site < r->site_count);
        assert_true(s->rank >= 0 && s->rank <= 5 && s->echo >= 0 && s->echo <= 3);
        if (i > 0)
            assert_true(s->last_letter >= s[-1].first_letter);
        const struct mst_word *word = &r->words[s->word_idx];
        int ends_word = i + 1 == word->first_sound + word->sound_count;
        int pause = !ends_word                    ? 0
                    : word->seam == MST_SEAM_STOP ? 1
                    : word->seam == MST_SEAM_SAKT ? 2
                                                  : 0;
        assert_int_equal(s->pause, pause);
    }
    assert_int_equal(r->words[r->word_count - 1].seam, MST_SEAM_STOP);
}

/* --- silence --------------------------------------------------------------------- */

/* The letters the site list itself declares silent in this reading. */
static void mark_silent(const struct mst_reading *r, char *silent)
{
    for (int32_t i = 0; i < r->site_count; i++) {
        const struct mst_site *s = &r->sites[i];
        switch (s->rule) {
        case MST_RULE_SIFR_MUSTADIR:
        case MST_RULE_SIFR_MUSTATIL:
        case MST_RULE_HAMZAT_WASL:
        case MST_RULE_HADHF_MADD:
            silent[s->trigger] = 1;
            break;
        default:
            /* merged away into another letter */
            if (s->complete == 1 && s->host != s->trigger && !s->tanwin)
                silent[s->trigger] = 1;
            break;
        }
    }
}

/* The alif or yāʾ that seats a tanwīn of fatḥa: the rest of a word after its tanwīn. */
static int is_tanwin_seat(const struct mst_reading *r, int letter)
{
    const struct mst_word *word = word_of(r, letter);
    int ends_word = letter + 1 == word->first_letter + word->letter_count;
    return ends_word && r->letters[letter].number > 1 &&
           (r->letters[letter].base == 0x0627 || r->letters[letter].base == 0x0649);
}

static void check_silence(const struct world *w, const struct mst_reading *r)
{
    char *silent = calloc((size_t)r->letter_count, 1);
    char *sounded = calloc((size_t)r->letter_count, 1);
    assert_true(silent != NULL && sounded != NULL);
    mark_silent(r, silent);
    for (int32_t i = 0; i < r->sound_count; i++)
        for (int32_t l = r->sounds[i].first_letter; l <= r->sounds[i].last_letter; l++)
            sounded[l] = 1;
    for (int32_t l = 0; l < r->letter_count; l++) {
        if (!silent[l] && !sounded[l] && !is_tanwin_seat(r, l)) {
            char at[48];
            print_error("seed %llu: %s is neither sounded nor silent\n",
                        (unsigned long long)w->seed, mst_addr_print(mst_letter_addr(r, l), at));
            fail();
        }
    }
    free(silent);
    free(sounded);
}

static void test_shape(void **state)
{
    struct world *w = *state;
    int read = 0;
    for (int n = 0; n < w->rounds; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        o.stops = (enum mst_stops)below(w, 3);
        o.istiadha = below(w, 4) == 0;
        o.no_basmala = below(w, 4) == 0;
        struct stretch s = random_stretch(w, 300);
        const struct mst_reading *r = read_stretch(w, s, &o, arena);
        if (r != NULL) {
            check_sites(w, r);
            check_words(r);
            check_sounds(r);
            check_silence(w, r);
            read++;
        }
        mst_arena_free(arena);
    }
    print_message("%d of %d readings allowed\n", read, w->rounds);
    assert_true(read > w->rounds / 2);
}

static void test_sentences(void **state)
{
    struct world *w = *state;
    for (int n = 0; n < w->rounds / 10 + 1; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading_options o = random_options(w);
        const struct mst_reading *r = read_stretch(w, random_stretch(w, 60), &o, arena);
        for (int32_t i = 0; r != NULL && i < r->site_count; i++)
            for (int lang = MST_LANG_EN; lang <= MST_LANG_AR; lang++) {
                struct mst_string reason = {0}, label = {0};
                mst_site_reason(r, &r->sites[i], (enum mst_lang)lang, &reason);
                mst_site_label(r, &r->sites[i], (enum mst_lang)lang, &label);
                must(w, r, &r->sites[i], reason.len > 10 && !reason.failed, "no reason given");
                must(w, r, &r->sites[i], label.len > 3 && !label.failed, "no label given");
                mst_string_free(&reason);
                mst_string_free(&label);
            }
        mst_arena_free(arena);
    }
}

/* --- the same twice --------------------------------------------------------------- */

static void test_deterministic(void **state)
{
    struct world *w = *state;
    for (int n = 0; n < w->rounds / 4 + 1; n++) {
        struct mst_arena *one = new_arena(), *two = mst_arena_new(512);
        assert_non_null(two);
        struct mst_reading_options o = random_options(w);
        o.stops = (enum mst_stops)below(w, 3);
        struct stretch s = random_stretch(w, 300);
        const struct mst_reading *a = read_stretch(w, s, &o, one);
        const struct mst_reading *b = read_stretch(w, s, &o, two);
        assert_int_equal(a == NULL, b == NULL);
        if (a != NULL) {
            assert_int_equal(a->site_count, b->site_count);
            assert_int_equal(a->sound_count, b->sound_count);
            for (int32_t i = 0; i < a->site_count; i++)
                must(w, a, &a->sites[i], same_site(&a->sites[i], &b->sites[i], 0),
                     "another site the second time");
            for (int32_t i = 0; i < a->sound_count; i++)
                assert_true(same_sound(&a->sounds[i], &b->sounds[i], 0));
        }
        mst_arena_free(one);
        mst_arena_free(two);
    }
}

/* --- what may go wrong -------------------------------------------------------------------- */

static void test_memory_runs_out(void **state)
{
    struct world *w = *state;
    for (int n = 0; n < w->rounds / 20 + 1; n++) {
        struct stretch s = random_stretch(w, 40);
        struct mst_reading_options o = random_options(w);
        enum mst_status status = MST_NO_MEMORY;
        long blocks = 0;
        for (; status == MST_NO_MEMORY; blocks++) {
            struct mst_arena *arena = mst_arena_new(256);
            struct mst_reading *r = NULL;
            struct mst_error err = {0};
            assert_non_null(arena);
            mst_arena_fail_after(arena, blocks);
            status = mst_reading_new(w->text, range_of(w, s), &o, arena, &r, &err);
            if (status == MST_NO_MEMORY) {
                assert_int_equal(err.status, MST_NO_MEMORY);
                assert_true(err.message[0] != '\0');
            }
            mst_arena_free(arena);
            assert_true(blocks < 100000);
        }
        assert_true(status == MST_OK || status == MST_USAGE);
        if (status == MST_OK)
            assert_true(blocks > 1); /* it did fail on the way */
    }
}

static void test_odd_requests(void **state)
{
    struct world *w = *state;
    for (int n = 0; n < w->rounds * 4; n++) {
        struct mst_arena *arena = new_arena();
        struct mst_reading *r = NULL;
        struct mst_error err = {0};
        struct mst_reading_options o = random_options(w);
        struct mst_addr stop = {below(w, 130) - 5, below(w, 300) - 5, below(w, 140) - 5, 0};
        o.stops = MST_STOPS_LIST;
        o.stop_list = &stop;
        o.stop_count = 1;
        o.muttasil = below(w, 10) - 2;
        o.munfasil = below(w, 10) - 2;
        o.arid = below(w, 10) - 2;
        o.lin = below(w, 10) - 2;
        o.ayn = below(w, 10) - 2;
        struct mst_range range = {{below(w, 120) - 2, below(w, 300) - 2, below(w, 130) - 2, 0},
                                  {below(w, 120) - 2, below(w, 300) - 2, below(w, 130) - 2, 0}};
        if (below(w, 2))
            range = range_of(w, random_stretch(w, 30));
        enum mst_status status = mst_reading_new(w->text, range, &o, arena, &r, &err);
        if (status == MST_OK)
            check_sites(w, r);
        else
            assert_true((status == MST_USAGE || status == MST_NOT_FOUND) && err.message[0] != '\0');
        mst_arena_free(arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_shape, start_from_seed),
        cmocka_unit_test_setup(test_sentences, start_from_seed),
        cmocka_unit_test_setup(test_deterministic, start_from_seed),
        cmocka_unit_test_setup(test_memory_runs_out, start_from_seed),
        cmocka_unit_test_setup(test_odd_requests, start_from_seed),
    };
    return cmocka_run_group_tests(tests, open_world, close_world);
}
