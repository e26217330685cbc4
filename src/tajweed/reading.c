/*
 * tajweed/reading.c – leads a passage through the engine, word by word. Only
 * three words are held in their spelled form at a time: the one being read and
 * its two neighbours.
 */
#include "passage.h"

#include <stdio.h>

enum {
    RING = 4,
    SEGS_EXTRA = 8,
    SOUNDS_PER_SEG = 2,
    /* How far back from its end the way a word is left can change a site (a lengthening, the
     * letter after it, a seat), and how much further back such a site may have to look. */
    TAIL_SEGS = 5,
    LOOK_BACK_SEGS = 3
};

/* A word in its spelled form. */
struct spelled {
    struct form form;
    struct seg *segs;
};

struct reader {
    struct mst_reading *r;
    struct mst_arena *arena;
    struct passage passage;
    struct glyph *glyphs;
    struct mst_letter *spare_letters;         /* for words outside the passage */
    struct spelled ring[RING], before, after; /* three are in use; four cost no division */
    size_t next_place;
    int64_t next_place_order; /* where in the text that is; before it nothing is of its own */
    struct chain main, other;
    int32_t *order;      /* chain site → reading site, for the word at hand; -1 → -1 */
    uint64_t *sort_keys; /* of the chain's sites */
    size_t site_room, sound_room;
    struct carry carry;
};

static enum mst_status no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
}

/* --- spelling ----------------------------------------------------------------------- */

/* An address as a number, so that one comparison tells what comes first. */
static inline int64_t order_of(int32_t sura, int32_t verse, int32_t word)
{
    return ((int64_t)sura << 20 | verse) << 20 | word;
}

static int64_t order_of_place(size_t i)
{
    const struct place *p = &mst_places[i];

    return i < mst_place_count ? order_of(p->sura, p->verse, p->word) : INT64_MAX;
}

/* What is of its own in this word. Words come in order, so the table is walked once. */
static int32_t places_of(struct reader *u, const struct word_bytes *w, const struct place **out)
{
    int64_t here = order_of(w->part->sura, w->part->verse, w->number);
    size_t i = u->next_place, first;

    *out = NULL;
    if (here < u->next_place_order || w->part->verse == 0)
        return 0;
    while (order_of_place(i) < here)
        i++;
    first = i;
    while (order_of_place(i) == here)
        i++;
    u->next_place = first;
    u->next_place_order = order_of_place(first);
    *out = &mst_places[first];
    return (int32_t)(i - first);
}

static void spell(struct reader *u, const struct word_bytes *w, struct mst_word *word,
                  struct mst_letter *letters, struct spelled *out)
{
    const struct place *places;
    int32_t place_count = places_of(u, w, &places);

    word->letter_count = mst_letters_parse(w->part->bytes.ptr, w->off, w->len, u->r->word_count,
                                           letters, u->glyphs, word);
    mst_spell(u->glyphs, letters, word->letter_count, word->first_letter, places, place_count,
              w->before_wasl, out->segs, &out->form);
}

/* A word outside the passage: its letters are numbered past the reading's own and never shown. */
static void spell_outside(struct reader *u, const struct word_bytes *w, struct spelled *out)
{
    struct mst_word word = {.first_letter = INT32_MAX / 2};

    if (w->number > 0)
        spell(u, w, &word, u->spare_letters, out);
}

/* --- seams ---------------------------------------------------------------------------- */

static enum mst_seam seam_by_sign(const struct mst_word *w, bool verse_end, int32_t *embraced)
{
    switch (w->pause_sign) {
    case MST_PAUSE_EMBRACING: /* at the first of the two, not at both */
        *embraced ^= 1;
        return *embraced || verse_end ? MST_SEAM_STOP : MST_SEAM_JOIN;
    case MST_PAUSE_MUST:
    case MST_PAUSE_BETTER:
    case MST_PAUSE_EITHER:
    case MST_PAUSE_GO_ON:
        return MST_SEAM_STOP;
    default:
        return verse_end ? MST_SEAM_STOP : MST_SEAM_JOIN;
    }
}

static bool rests_without_breath(const struct form *f, const struct mst_reading_options *o)
{
    return f->places && (HAS_PLACE(f, SAKT) || (HAS_PLACE(f, MALIYAH) && !o->maliyah_merge) ||
                         (HAS_PLACE(f, LAST_OF_ANFAL) && o->anfal_sakt));
}

static enum mst_seam seam_of(const struct reader *u, const struct mst_word *w, const struct form *f,
                             bool verse_end, int32_t *embraced)
{
    const struct mst_reading_options *o = &u->r->options;
    enum mst_seam seam = MST_SEAM_JOIN;

    switch (o->stops) {
    case MST_STOPS_NONE:
        break;
    case MST_STOPS_VERSES:
        seam = verse_end ? MST_SEAM_STOP : MST_SEAM_JOIN;
        break;
    case MST_STOPS_SIGNS:
        seam = seam_by_sign(w, verse_end, embraced);
        break;
    case MST_STOPS_LIST:
        if (mst_stop_listed(o, w->sura, w->verse, w->word, verse_end))
            seam = MST_SEAM_STOP;
        break;
    }
    return seam == MST_SEAM_JOIN && rests_without_breath(f, o) ? MST_SEAM_SAKT : seam;
}

/*
 * Of the four ways to join two suras one is not allowed: the end joined to the
 * basmala, and a stop after it, as if the basmala belonged to the end.
 */
static enum mst_status check_suras_joined(const struct mst_reading *r, struct mst_error *err)
{
    bool joined = false;

    for (int32_t i = 1; i + 1 < r->word_count; i++) {
        const struct mst_word *w = &r->words[i];

        if (w->verse != 0 || w->sura == 0)
            continue;
        if (w->word == 1)
            joined = r->words[i - 1].sura == w->sura - 1 && r->words[i - 1].seam == MST_SEAM_JOIN;
        if (joined && w->seam == MST_SEAM_STOP && r->words[i + 1].verse == 1)
            return mst_fail(err, MST_USAGE,
                            "the end of sura %d is joined to the basmala of sura %d, and the "
                            "reader stops there: that way of joining two suras is not allowed; "
                            "stop at the end of sura %d too, or go on from the basmala",
                            (int)w->sura - 1, (int)w->sura, (int)w->sura - 1);
    }
    return MST_OK;
}

/* --- one word ------------------------------------------------------------------------------ */

static void run_families(struct chain *c)
{
    mst_rules_merge(c);
    mst_rules_nun(c);
    mst_rules_mim(c);
    mst_rules_own(c);
    mst_rules_qalqala(c);
    mst_rules_madd(c);
    mst_rules_weight(c);
}

/* Read the word at hand in another way, for its sites alone. */
static void read_other(struct reader *u, const struct form *prev, const struct form *next,
                       bool sakt, int32_t from_slot)
{
    struct chain *o = &u->other;

    o->form = u->main.form;
    o->prev = prev;
    o->next = next;
    o->sakt = sakt;
    o->site_count = 0;
    mst_chain_build(o, from_slot);
    run_families(o);
}

static bool has_key(const struct chain *c, const struct mst_site *s)
{
    bool found = false;

    for (int32_t i = 0; i < c->site_count; i++) /* without a branch: they are few */
        found |= (c->sites[i].trigger == s->trigger) & (c->sites[i].rule == s->rule);
    return found;
}

/*
 * The first letter whose sites can depend on how the reader leaves the word:
 * that of the last sound, or of the lengthening before it.
 */
static int32_t letter_near_end(const struct chain *c, int32_t *last_letter)
{
    int32_t i = seg_prev(c, c->count);

    *last_letter = INT32_MAX;
    if (i >= 0 && c->segs[i].iwad) /* with the letter that bore the tanwīn */
        i = seg_prev(c, i);
    if (i < 0)
        return INT32_MAX;
    *last_letter = c->segs[i].letter;
    while (i > 0 && c->segs[i - 1].letter == *last_letter)
        i--;
    i = seg_prev(c, i);
    return i < 0 ? *last_letter : c->segs[i].letter;
}

static bool is_length(const struct mst_site *s)
{
    return (s->counts > 0) | (s->rule == MST_RULE_TAFKHIM_ALIF);
}

/*
 * Sites that would not be there, did the reader leave the word the other way.
 * What looks at the next word exists only when the reader goes on; what does not
 * look there stays if a stop leaves the word as it is. For the rest the end of
 * the word is read the other way and compared.
 */
static void set_when_at_end(struct reader *u, bool stops, const struct form *next)
{
    struct chain *c = &u->main;
    const struct form *f = c->form;
    bool sakt = rests_without_breath(f, c->opt), doubt = false;
    int32_t from = f->seg_count - TAIL_SEGS - LOOK_BACK_SEGS;
    int32_t past = f->first_letter + f->letter_count;
    int32_t last, near = letter_near_end(c, &last);

    for (int32_t k = 0; k < c->site_count; k++) {
        struct mst_site *s = &c->sites[k];
        bool within = s->host < past;

        s->when = within ? s->when : (uint8_t)MST_JOINING;
        doubt |= within & ((s->trigger >= last) | ((s->trigger >= near) & is_length(s)));
    }
    if (!doubt || (!stops && mst_chain_ends_alike(c)))
        return;
    if (from < 0)
        from = 0;
    read_other(u, c->prev || from == 0 ? c->prev : f, stops && !sakt ? next : NULL, stops && sakt,
               from);
    for (int32_t k = 0; k < c->site_count; k++) {
        struct mst_site *s = &c->sites[k];

        if (s->trigger >= near && s->when == MST_ALWAYS && s->rule != MST_RULE_HAMZAT_WASL &&
            s->rule != MST_RULE_SAKT && !has_key(&u->other, s))
            s->when = stops ? MST_STOPPING : MST_JOINING;
    }
}

/* Only what stands right behind a joining hamza can hear it: the Name, and a bare hamza. */
static bool hears_its_head(const struct form *f)
{
    const struct seg *s = f->segs;

    if (f->places)
        return true;
    if (!f->wasl_vowel || f->seg_count < 4) /* a joining hamza at its head always has one */
        return false;
    return s[1].phone == MST_PHONE_HAMZA || s[2].flags & SLOT_NAME;
}

/* The same for the way the reader comes to the word. */
static void set_when_at_head(struct reader *u, const struct form *prev)
{
    struct chain *c = &u->main;

    if (!hears_its_head(c->form))
        return;
    read_other(u, c->prev ? NULL : prev, c->next, c->sakt, 0);
    for (int32_t k = 0; k < c->site_count; k++) {
        struct mst_site *s = &c->sites[k];

        if (s->when == MST_ALWAYS && !has_key(&u->other, s))
            s->when = c->prev ? MST_JOINING : MST_STARTING;
    }
}

/* Trigger, then rule. */
static inline uint64_t sort_key(const struct mst_site *s)
{
    return (uint64_t)(uint32_t)s->trigger << 8 | s->rule;
}

/* Put the word's sites into the reading, in order of trigger, then rule. */
static enum mst_status keep_sites(struct reader *u, struct mst_error *err)
{
    struct mst_reading *r = u->r;
    const struct chain *c = &u->main;
    int32_t count = c->site_count, first = r->site_count;
    uint64_t *keys = u->sort_keys;

    if ((size_t)(first + count) > u->site_room) {
        size_t room = u->site_room * 2 + (size_t)count;

        r->sites = mst_arena_grow(u->arena, r->sites, u->site_room, room, sizeof *r->sites);
        if (!r->sites)
            return no_memory(err);
        u->site_room = room;
    }
    for (int32_t i = 0; i < count; i++) { /* each pair gives one of the two a later place */
        int32_t place = first;

        keys[i] = sort_key(&c->sites[i]);
        for (int32_t k = 0; k < i; k++) {
            bool later = keys[i] >= keys[k];

            place += later;
            u->order[k] += !later;
        }
        u->order[i] = place;
    }
    for (int32_t i = 0; i < count; i++)
        r->sites[u->order[i]] = c->sites[i];
    r->site_count = first + count;
    return MST_OK;
}

static enum mst_status keep_sounds(struct reader *u, int32_t i, struct mst_error *err)
{
    struct mst_reading *r = u->r;
    struct mst_word *w = &r->words[i];
    size_t most = (size_t)u->main.count * SOUNDS_PER_SEG;

    if ((size_t)r->sound_count + most > u->sound_room) {
        size_t room = u->sound_room * 2 + most;

        r->sounds = mst_arena_grow(u->arena, r->sounds, u->sound_room, room, sizeof *r->sounds);
        if (!r->sounds)
            return no_memory(err);
        u->sound_room = room;
    }
    w->first_sound = r->sound_count;
    w->sound_count = mst_sounds_emit(&u->main, u->order, &u->carry, i, r->sounds + r->sound_count);
    r->sound_count += w->sound_count;
    return MST_OK;
}

/* The form of a word outside the passage; an empty one past the ends of the text. */
static const struct form *outside(const struct spelled *s, const struct word_bytes *w)
{
    static const struct form nothing;

    return w->number > 0 ? &s->form : &nothing;
}

static enum mst_status read_word(struct reader *u, int32_t i, struct mst_error *err)
{
    const struct mst_reading *r = u->r;
    enum mst_seam seam = r->words[i].seam;
    bool starts = i == 0 || r->words[i - 1].seam == MST_SEAM_STOP;
    const struct form *prev =
        i > 0 ? &u->ring[(i - 1) & (RING - 1)].form : outside(&u->before, &u->passage.before);
    const struct form *next = i + 1 < r->word_count ? &u->ring[(i + 1) & (RING - 1)].form
                                                    : outside(&u->after, &u->passage.after);
    struct chain *c = &u->main;
    enum mst_status st;

    c->form = &u->ring[i & (RING - 1)].form;
    c->prev = starts ? NULL : prev; /* after a pause without breath nothing starts anew */
    c->next = seam == MST_SEAM_JOIN ? next : NULL;
    c->sakt = seam == MST_SEAM_SAKT;
    c->site_count = 0;
    mst_chain_build(c, 0);
    run_families(c);
    set_when_at_end(u, seam == MST_SEAM_STOP, next);
    set_when_at_head(u, prev);
    st = keep_sites(u, err);
    return st == MST_OK ? keep_sounds(u, i, err) : st;
}

/* --- the passage ----------------------------------------------------------------------------- */

static enum mst_status make_room(struct reader *u, struct mst_error *err)
{
    struct mst_reading *r = u->r;
    struct mst_arena *a = u->arena;
    size_t letters = u->passage.bytes / 2 + 1;
    size_t longest = u->passage.longest_word / 2 + 2;
    size_t segs = longest * SEGS_PER_LETTER + SEGS_EXTRA;
    size_t sites = segs * CHAIN_SITES_PER_SEG;
    struct glyph *glyphs;
    int32_t *order;
    struct spelled *all[] = {&u->ring[0], &u->ring[1], &u->ring[2],
                             &u->ring[3], &u->before,  &u->after};

    u->site_room = letters / 3 + 64;
    u->sound_room = letters + 64;
    glyphs = mst_arena_alloc_raw(a, longest + 1, sizeof *glyphs);
    u->spare_letters = mst_arena_alloc_raw(a, longest, sizeof *u->spare_letters);
    u->main.segs = mst_arena_alloc_raw(a, segs, sizeof *u->main.segs);
    u->other.segs = mst_arena_alloc_raw(a, segs, sizeof *u->other.segs);
    u->main.sites = mst_arena_alloc_raw(a, sites, sizeof *u->main.sites);
    u->other.sites = mst_arena_alloc_raw(a, sites, sizeof *u->other.sites);
    order = mst_arena_alloc_raw(a, sites + 1, sizeof *order);
    u->sort_keys = mst_arena_alloc_raw(a, sites, sizeof *u->sort_keys);
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (!(all[i]->segs = mst_arena_alloc_raw(a, segs, sizeof *all[i]->segs)))
            return no_memory(err);
    r->words = mst_arena_alloc_raw(a, (size_t)u->passage.word_count, sizeof *r->words);
    r->letters = mst_arena_alloc_raw(a, letters, sizeof *r->letters);
    r->sites = mst_arena_alloc_raw(a, u->site_room, sizeof *r->sites);
    r->sounds = mst_arena_alloc_raw(a, u->sound_room, sizeof *r->sounds);
    if (!glyphs || !u->spare_letters || !u->main.segs || !u->other.segs || !u->main.sites ||
        !u->other.sites || !order || !u->sort_keys || !r->words || !r->letters || !r->sites ||
        !r->sounds)
        return no_memory(err);
    u->glyphs = glyphs + 1;
    order[0] = -1;
    u->order = order + 1;
    return MST_OK;
}

/* Take the next word in: its letters, its spelling, what follows it. */
static void take_in(struct reader *u, const struct word_bytes *w, int32_t *embraced)
{
    struct mst_reading *r = u->r;
    struct spelled *s = &u->ring[r->word_count & (RING - 1)];
    struct mst_word *word = &r->words[r->word_count];

    *word = (struct mst_word){.sura = w->part->sura,
                              .verse = w->part->verse,
                              .word = w->number,
                              .first_letter = r->letter_count,
                              .byte_off = w->off,
                              .byte_len = w->len};
    spell(u, w, word, r->letters + r->letter_count, s);
    word->seam = seam_of(u, word, &s->form, w->verse_end, embraced);
    r->letter_count += word->letter_count;
    r->word_count++;
}

static enum mst_status read_all(struct reader *u, struct mst_error *err)
{
    struct mst_reading *r = u->r;
    struct word_bytes w;
    int32_t embraced = 0;
    enum mst_status st = MST_OK;

    spell_outside(u, &u->passage.before, &u->before);
    while (st == MST_OK && mst_passage_next(&u->passage, &w)) {
        take_in(u, &w, &embraced);
        if (r->word_count > 1)
            st = read_word(u, r->word_count - 2, err);
    }
    if (st != MST_OK)
        return st;
    if (r->word_count == 0)
        return mst_fail(err, MST_NOT_FOUND, "this passage holds no word");
    r->words[r->word_count - 1].seam = MST_SEAM_STOP;
    spell_outside(u, &u->passage.after, &u->after);
    st = read_word(u, r->word_count - 1, err);
    return st == MST_OK ? check_suras_joined(r, err) : st;
}

/* --- options ------------------------------------------------------------------------------- */

enum { MUTTASIL, MUNFASIL, ARID, LIN, AYN, CHOICES };
static const struct mst_count_choice choices[CHOICES] = {
    [MUTTASIL] = {"muttasil", "muttaṣil", {4, 5}, 2},
    [MUNFASIL] = {"munfasil", "munfaṣil", {2, 4, 5}, 3},
    [ARID] = {"arid", "ʿāriḍ", {2, 4, 6}, 3},
    [LIN] = {"lin", "līn", {2, 4, 6}, 3},
    [AYN] = {"ayn", "ʿayn of the openings", {4, 6}, 2},
};

const struct mst_count_choice *mst_count_choice_at(int n)
{
    return n >= 0 && n < CHOICES ? &choices[n] : NULL;
}

static enum mst_status one_of(const struct mst_count_choice *choice, int value,
                              struct mst_error *err)
{
    char list[64] = "";
    size_t used = 0;

    for (int i = 0; i < choice->count; i++)
        if (choice->counts[i] == value)
            return MST_OK;
    for (int i = 0; i < choice->count; i++)
        used += (size_t)snprintf(list + used, sizeof list - used, "%s%d",
                                 i == 0                   ? ""
                                 : i + 1 == choice->count ? " or "
                                                          : ", ",
                                 choice->counts[i]);
    return mst_fail(err, MST_USAGE, "%s takes %s counts, not %d", choice->name, list, value);
}

static enum mst_status fill_options(const struct mst_reading_options *in,
                                    struct mst_reading_options *o, struct mst_error *err)
{
    enum mst_status st;

    *o = in ? *in : (struct mst_reading_options){0};
    o->muttasil = o->muttasil ? o->muttasil : 4;
    o->munfasil = o->munfasil ? o->munfasil : o->muttasil;
    o->arid = o->arid ? o->arid : 4;
    o->lin = o->lin ? o->lin : o->arid;
    o->ayn = o->ayn ? o->ayn : 6;
    if ((st = one_of(&choices[MUTTASIL], o->muttasil, err)) != MST_OK ||
        (st = one_of(&choices[MUNFASIL], o->munfasil, err)) != MST_OK ||
        (st = one_of(&choices[ARID], o->arid, err)) != MST_OK ||
        (st = one_of(&choices[LIN], o->lin, err)) != MST_OK ||
        (st = one_of(&choices[AYN], o->ayn, err)) != MST_OK)
        return st;
    if (o->munfasil != 2 && o->munfasil != o->muttasil)
        return mst_fail(err, MST_USAGE,
                        "munfaṣil takes as many counts as muttaṣil (%d) in one reading, not %d",
                        o->muttasil, o->munfasil);
    if (o->lin > o->arid)
        return mst_fail(err, MST_USAGE, "līn (%d counts) is not made longer than ʿāriḍ (%d counts)",
                        o->lin, o->arid);
    return MST_OK;
}

enum mst_status mst_reading_new(const struct mst_text *text, struct mst_range range,
                                const struct mst_reading_options *options, struct mst_arena *arena,
                                struct mst_reading **out, struct mst_error *err)
{
    struct reader u = {.arena = arena, .carry = {.first_letter = -1, .site = -1}};
    enum mst_status st;

    *out = NULL;
    u.r = mst_arena_alloc(arena, 1, sizeof *u.r);
    if (!u.r)
        return no_memory(err);
    u.r->range = range;
    u.r->text = text;
    if ((st = fill_options(options, &u.r->options, err)) != MST_OK ||
        (st = mst_passage_open(text, range, &u.r->options, arena, &u.passage, err)) != MST_OK ||
        (st = make_room(&u, err)) != MST_OK)
        return st;
    u.main.opt = u.other.opt = &u.r->options;
    if ((st = read_all(&u, err)) == MST_OK)
        *out = u.r;
    return st;
}

struct mst_addr mst_letter_addr(const struct mst_reading *r, int32_t letter)
{
    const struct mst_letter *l;
    const struct mst_word *w;

    if (letter < 0 || letter >= r->letter_count)
        return (struct mst_addr){0};
    l = &r->letters[letter];
    w = &r->words[l->word_idx];
    return (struct mst_addr){w->sura, w->verse, w->word, l->number};
}

void mst_sites_at(const struct mst_reading *r, int32_t letter, int32_t *first, int32_t *end)
{
    int32_t lo = 0, hi = r->site_count;

    while (lo < hi) {
        int32_t mid = lo + (hi - lo) / 2;

        if (r->sites[mid].trigger < letter)
            lo = mid + 1;
        else
            hi = mid;
    }
    *first = lo;
    while (lo < r->site_count && r->sites[lo].trigger == letter)
        lo++;
    *end = lo;
}
