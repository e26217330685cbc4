#include "random_readings.h"

#include <stdio.h>
#include <stdlib.h>

enum { DEFAULT_SEED = 67078, DEFAULT_ROUNDS = 300, WORDS_MAX = 80000 };

/* --- chance ------------------------------------------------------------------ */

/* splitmix64 (Steele, Lea, Flood 2014) */
static uint64_t chance(struct world *w)
{
    uint64_t z = (w->state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

int below(struct world *w, int n)
{
    return (int)(chance(w) % (uint64_t)n);
}

static int one_of(struct world *w, int a, int b, int c)
{
    int pick[3] = {a, b, c};
    return pick[below(w, 3)];
}

struct mst_reading_options random_options(struct world *w)
{
    struct mst_reading_options o = {0};
    o.muttasil = one_of(w, 0, 4, 5);
    o.arid = one_of(w, 2, 4, 6);
    o.lin = below(w, 2) ? 0 : 2;
    o.ayn = one_of(w, 0, 4, 6);
    o.muttasil_stop_6 = below(w, 2);
    o.question_easing = below(w, 2);
    o.tamanna_rawm = below(w, 2);
    o.atani_without_ya = below(w, 2);
    o.duf_damm = below(w, 2);
    o.musaytirun_sin = below(w, 2);
    o.maliyah_merge = below(w, 2);
    o.salasila_alif = below(w, 2);
    o.nakhluqkum_partial = below(w, 2);
    o.alim_allah_2 = below(w, 2);
    o.firq_light = below(w, 2);
    o.anfal_sakt = below(w, 2);
    o.stop_manner = (enum mst_stop_manner)below(w, 3);
    return o;
}

struct stretch random_stretch(struct world *w, int length_max)
{
    struct stretch s;
    s.first = below(w, w->word_count);
    s.last = s.first + below(w, length_max);
    if (s.last >= w->word_count)
        s.last = w->word_count - 1;
    return s;
}

struct mst_range range_of(const struct world *w, struct stretch s)
{
    return (struct mst_range){w->words[s.first], w->words[s.last]};
}

/* --- reading ------------------------------------------------------------------ */

/* NULL when the options or stops are refused (USAGE); any other failure fails the test. */
struct mst_reading *read_stretch(const struct world *w, struct stretch s,
                                 const struct mst_reading_options *o, struct mst_arena *arena)
{
    struct mst_reading *reading = NULL;
    struct mst_error err = {0};
    enum mst_status status = mst_reading_new(w->text, range_of(w, s), o, arena, &reading, &err);
    if (status != MST_OK && status != MST_USAGE)
        print_error("%s (%s)\n", err.message, err.where);
    assert_true(status == MST_OK || status == MST_USAGE);
    return status == MST_OK ? reading : NULL;
}

struct mst_reading *read_stopping(const struct world *w, struct stretch s,
                                  const struct mst_reading_options *base,
                                  const struct mst_addr *stops, size_t stop_count,
                                  struct mst_arena *arena)
{
    struct mst_reading_options o = *base;
    o.stops = stop_count > 0 ? MST_STOPS_LIST : MST_STOPS_NONE;
    o.stop_list = stops;
    o.stop_count = stop_count;
    return read_stretch(w, s, &o, arena);
}

struct mst_arena *new_arena(void)
{
    struct mst_arena *arena = mst_arena_new(0);
    assert_non_null(arena);
    return arena;
}

const struct mst_word *word_of(const struct mst_reading *r, int letter)
{
    return &r->words[r->letters[letter].word_idx];
}

int word_index(const struct mst_reading *r, struct mst_addr at)
{
    for (int i = 0; i < r->word_count; i++)
        if (r->words[i].sura == at.sura && r->words[i].verse == at.verse &&
            r->words[i].word == at.word)
            return i;
    return -1;
}

const struct mst_site *find_site(const struct mst_reading *r, enum mst_rule rule, int trigger)
{
    int32_t first, end;
    mst_sites_at(r, trigger, &first, &end);
    for (int32_t i = first; i < end; i++)
        if (r->sites[i].rule == rule)
            return &r->sites[i];
    return NULL;
}

/* Shown beside a failed assertion. */
void tell_site(const struct world *w, const struct mst_reading *r, const struct mst_site *s,
               const char *what)
{
    char trigger[48], first[48], last[48];
    print_error("seed %llu: %s at %s (%s) in %s … %s: %s\n", (unsigned long long)w->seed,
                mst_rule_id(s->rule), mst_addr_print(mst_letter_addr(r, s->trigger), trigger),
                mst_when_id(s->when), mst_addr_print(r->range.first, first),
                mst_addr_print(r->range.last, last), what);
}

void must(const struct world *w, const struct mst_reading *r, const struct mst_site *s, int holds,
          const char *what)
{
    if (!holds)
        tell_site(w, r, s, what);
    assert_true(holds);
}

/* --- the same? --- */

/* Field by field: the structs may hold padding. */
int same_site(const struct mst_site *a, const struct mst_site *b, int shift)
{
    return a->rule == b->rule && a->when == b->when && a->first + shift == b->first &&
           a->last + shift == b->last && a->trigger + shift == b->trigger &&
           (a->host < 0 ? b->host < 0 : a->host + shift == b->host) && a->counts == b->counts &&
           a->counts_min == b->counts_min && a->counts_max == b->counts_max &&
           a->nasal == b->nasal && a->complete == b->complete && a->grade == b->grade &&
           a->heavy == b->heavy && a->both_ways == b->both_ways && a->rawm == b->rawm &&
           a->ishmam == b->ishmam && a->tanwin == b->tanwin && a->reason == b->reason;
}

int same_sound(const struct mst_sound *a, const struct mst_sound *b, int shift)
{
    return a->phone == b->phone && a->first_letter + shift == b->first_letter &&
           a->last_letter + shift == b->last_letter && a->counts == b->counts &&
           a->nasal == b->nasal && a->heavy == b->heavy && a->rank == b->rank &&
           a->geminate == b->geminate && a->echo == b->echo && a->rawm == b->rawm &&
           a->pause == b->pause;
}

/* --- set up ---------------------------------------------------------------------------------- */

static uint64_t number_from(const char *name, uint64_t otherwise)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0' ? strtoull(value, NULL, 10) : otherwise;
}

int open_world(void **state)
{
    static struct world w;
    struct mst_error err = {0};
    if (mst_text_open(NULL, &w.text, &err) != MST_OK) {
        print_error("%s\n", err.message);
        return -1;
    }
    w.words = calloc(WORDS_MAX, sizeof *w.words);
    if (w.words == NULL)
        return -1;
    for (int32_t v = 0; v < MST_VERSE_COUNT; v++) {
        struct mst_addr at = mst_text_verse_addr(w.text, v);
        int32_t count = mst_text_word_count(w.text, at.sura, at.verse);
        for (at.word = 1; at.word <= count && w.word_count < WORDS_MAX; at.word++)
            w.words[w.word_count++] = at;
    }
    w.seed = number_from("MISTARA_SEED", DEFAULT_SEED);
    w.rounds = (int)number_from("MISTARA_ROUNDS", DEFAULT_ROUNDS);
    print_message("seed %llu, %d rounds, %d words\n", (unsigned long long)w.seed, w.rounds,
                  w.word_count);
    *state = &w;
    return 0;
}

int close_world(void **state)
{
    struct world *w = *state;
    mst_text_close(w->text);
    free(w->words);
    return 0;
}

int start_from_seed(void **state)
{
    struct world *w = *state;
    w->state = w->seed;
    return 0;
}
