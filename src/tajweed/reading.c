/*
 * tajweed/reading.c – leads a passage through the engine: words and letters,
 * stops, then word by word sites and sounds.
 */
#include "internal.h"

#include <stdio.h>
#include <string.h>

static const char istiadha_text[] = "أَعُوذُ بِٱللَّهِ مِنَ ٱلشَّيۡطَٰنِ ٱلرَّجِيمِ";

enum {
    SEGS_EXTRA = 8,
    TAIL_SLOTS = 6, /* how far back from its end the way a word is left can matter: the
                       vowel before two vowelless letters, and a mute letter or two */
};

/* A verse to be read: its bytes, and the words of it that are. */
struct verse_part {
    int32_t sura, verse;
    struct mst_span bytes;
    int32_t first_word, last_word; /* 1-based; last 0: to the end */
};

/* The word of the text before or after the passage: looked at, not read. */
struct context {
    bool exists;
    struct verse_part part;
    struct mst_word word;
    struct form form;
};

struct builder {
    const struct mst_text *text;
    struct mst_reading *r;
    struct mst_arena *arena;
    struct verse_part *parts;
    int32_t part_count;
    size_t bytes; /* of all parts: bounds letters and slots */
    int32_t words;
    struct glyph *glyphs;
    struct slot *slots;
    int32_t slot_count;
    struct form *forms; /* one a word; before forms[0] and after the last: context */
    struct context before, after;
    size_t place_next;
};

/* --- which verses ------------------------------------------------------------------ */

static bool add_part(struct builder *b, int32_t sura, int32_t verse, int32_t first, int32_t last)
{
    struct verse_part *p = &b->parts[b->part_count];

    *p = (struct verse_part){.sura = sura, .verse = verse, .first_word = first, .last_word = last};
    p->bytes = sura == 0 ? mst_span_of(istiadha_text) : mst_text_verse(b->text, sura, verse);
    b->bytes += p->bytes.len + 1;
    b->part_count++;
    return p->bytes.len > 0;
}

static bool has_basmala(int32_t sura)
{
    return sura != 1 && sura != 9;
}

static bool listed(const struct mst_reading_options *o, int32_t sura, int32_t verse, int32_t word,
                   bool last_word)
{
    for (size_t i = 0; i < o->stop_count; i++) {
        const struct mst_addr *a = &o->stop_list[i];

        if (a->sura == sura && a->verse == verse && (a->word == word || (a->word == 0 && last_word)))
            return true;
    }
    return false;
}

/* Does the reader stop at the end of this verse? */
static bool stops_at_end_of(const struct builder *b, int32_t sura, int32_t verse)
{
    const struct mst_reading_options *o = &b->r->options;

    if (o->stops == MST_STOPS_NONE)
        return false;
    if (o->stops == MST_STOPS_LIST)
        return listed(o, sura, verse, mst_text_word_count(b->text, sura, verse), true);
    return true;
}

/* The basmala is read at the head of a sura; left out on request where a pause precedes it. */
static bool reads_basmala(const struct builder *b, int32_t sura, bool at_head)
{
    if (!has_basmala(sura))
        return false;
    if (!b->r->options.no_basmala)
        return true;
    return !at_head &&
           !stops_at_end_of(b, sura - 1, mst_text_sura(b->text, sura - 1)->verse_count);
}

static enum mst_status collect_parts(struct builder *b, struct mst_error *err)
{
    struct mst_range g = b->r->range;
    int32_t v0 = mst_text_verse_index(b->text, g.first.sura, g.first.verse > 0 ? g.first.verse : 1);
    int32_t v1 = mst_text_verse_index(b->text, g.last.sura, g.last.verse > 0 ? g.last.verse : 1);
    size_t room;

    if (v0 < 0 || v1 < v0 || (g.first.verse == 0 && !has_basmala(g.first.sura)) ||
        (g.last.verse == 0 && !has_basmala(g.last.sura)))
        return mst_fail(err, MST_NOT_FOUND, "there is no such passage in the text");
    room = (size_t)(v1 - v0 + 1) + MST_SURA_COUNT + 2;
    b->parts = mst_arena_alloc(b->arena, room, sizeof *b->parts);
    if (!b->parts)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    if (b->r->options.istiadha)
        add_part(b, 0, 0, 1, 0);
    for (int32_t v = v0; v <= v1; v++) {
        struct mst_addr a = mst_text_verse_addr(b->text, v);
        bool first = v == v0, last = v == v1;
        bool from_basmala = first && g.first.verse == 0;

        if (a.verse == 1 && (from_basmala || (!first && reads_basmala(b, a.sura, false)) ||
                             (first && g.first.word <= 1 && reads_basmala(b, a.sura, true))))
            add_part(b, a.sura, 0, from_basmala && g.first.word > 0 ? g.first.word : 1,
                     last && g.last.verse == 0 ? g.last.word : 0);
        if (last && g.last.verse == 0)
            break;
        add_part(b, a.sura, a.verse, first && !from_basmala && g.first.word > 0 ? g.first.word : 1,
                 last ? g.last.word : 0);
    }
    return MST_OK;
}

/* --- words and letters ---------------------------------------------------------------- */

/* The places of one word; words come in order of the text, so that the table is walked once. */
static int32_t places_of(struct builder *b, int32_t sura, int32_t verse, int32_t word,
                         const struct place **out)
{
    size_t i = b->place_next, first;

    if (verse == 0 || sura == 0)
        return 0;
    while (i < mst_place_count &&
           (mst_places[i].sura < sura ||
            (mst_places[i].sura == sura &&
             (mst_places[i].verse < verse ||
              (mst_places[i].verse == verse && mst_places[i].word < word)))))
        i++;
    b->place_next = first = i;
    while (i < mst_place_count && mst_places[i].sura == sura && mst_places[i].verse == verse &&
           mst_places[i].word == word)
        i++;
    *out = &mst_places[first];
    return (int32_t)(i - first);
}

static bool starts_with_wasla(const char *s, size_t len)
{
    return len >= 2 && (unsigned char)s[0] == 0xD9 && (unsigned char)s[1] == 0xB1;
}

/* Spell one word of a verse. next: the bytes that follow it in the reading or the text. */
static void spell_word(struct builder *b, const struct verse_part *p, struct mst_word *w,
                       struct mst_letter *letters, bool before_wasl, struct form *form)
{
    const struct place *places = NULL;
    int32_t place_count = places_of(b, w->sura, w->verse, w->word, &places);
    int32_t n = mst_letters_parse(p->bytes.ptr, w->byte_off, w->byte_len, letters, b->glyphs, w);

    w->letter_count = n;
    mst_spell(b->glyphs, letters, n, w->first_letter, places, place_count, before_wasl,
              b->slots + b->slot_count, form);
    b->slot_count += form->slot_count;
}

/* The end of the word that begins at off, and the start of the next; the print parts words
 * by one space. */
static int32_t word_end(struct mst_span s, int32_t off)
{
    const char *sp = memchr(s.ptr + off, ' ', s.len - (size_t)off);

    return sp ? (int32_t)(sp - s.ptr) : (int32_t)s.len;
}

static enum mst_seam seam_of(const struct builder *b, const struct mst_word *w, bool verse_end,
                             bool *embraced)
{
    const struct mst_reading_options *o = &b->r->options;

    switch (o->stops) {
    case MST_STOPS_NONE:
        return MST_SEAM_JOIN;
    case MST_STOPS_LIST:
        return listed(o, w->sura, w->verse, w->word, verse_end) ? MST_SEAM_STOP : MST_SEAM_JOIN;
    case MST_STOPS_SIGNS:
        if (w->pause_sign == MST_PAUSE_EMBRACING) {
            *embraced = !*embraced;
            return *embraced ? MST_SEAM_STOP : verse_end ? MST_SEAM_STOP : MST_SEAM_JOIN;
        }
        if (w->pause_sign == MST_PAUSE_GO_ON || w->pause_sign == MST_PAUSE_BETTER ||
            w->pause_sign == MST_PAUSE_MUST || w->pause_sign == MST_PAUSE_EITHER)
            return MST_SEAM_STOP;
        break;
    case MST_STOPS_VERSES:
        break;
    }
    return verse_end ? MST_SEAM_STOP : MST_SEAM_JOIN;
}

/* Does the word that follows the given part begin with a joining hamza? */
static bool wasla_follows(const struct builder *b, int32_t part)
{
    if (part + 1 < b->part_count)
        return starts_with_wasla(b->parts[part + 1].bytes.ptr, b->parts[part + 1].bytes.len);
    return b->after.exists && starts_with_wasla(b->after.part.bytes.ptr + b->after.word.byte_off,
                                                (size_t)b->after.word.byte_len);
}

/* The byte range of the n-th word of a verse (n < 1: the last). */
static bool find_word(struct mst_span s, int32_t n, struct mst_word *w)
{
    int32_t off = 0, number = 1;

    if (s.len == 0)
        return false;
    for (;;) {
        int32_t end = word_end(s, off);

        if (number == n || (n < 1 && end >= (int32_t)s.len)) {
            w->word = number;
            w->byte_off = off;
            w->byte_len = end - off;
            return true;
        }
        if (end >= (int32_t)s.len)
            return false;
        off = end + 1;
        number++;
    }
}

static bool context_at(const struct builder *b, struct context *x, int32_t sura, int32_t verse,
                       int32_t word)
{
    x->part.sura = x->word.sura = sura;
    x->part.verse = x->word.verse = verse;
    x->part.bytes = mst_text_verse(b->text, sura, verse);
    x->exists = find_word(x->part.bytes, word, &x->word);
    return x->exists;
}

/* Where the passage's first and last words would be joined to, did the reader go on. */
static void find_context(struct builder *b)
{
    const struct verse_part *p = &b->parts[0], *q = &b->parts[b->part_count - 1];
    struct mst_span last = q->bytes;
    struct mst_word w;

    if (p->sura > 0) {
        if (p->first_word > 1)
            context_at(b, &b->before, p->sura, p->verse, p->first_word - 1);
        else if (p->verse > 1 || (p->verse == 1 && has_basmala(p->sura)))
            context_at(b, &b->before, p->sura, p->verse - 1, 0);
        else if (p->sura > 1)
            context_at(b, &b->before, p->sura - 1,
                       mst_text_sura(b->text, p->sura - 1)->verse_count, 0);
    }
    if (q->last_word > 0 && find_word(last, q->last_word + 1, &w))
        context_at(b, &b->after, q->sura, q->verse, q->last_word + 1);
    else if (q->sura > 0 && q->verse < mst_text_sura(b->text, q->sura)->verse_count)
        context_at(b, &b->after, q->sura, q->verse + 1, 1);
    else if (q->sura > 0 && q->sura < MST_SURA_COUNT)
        context_at(b, &b->after, q->sura + 1, has_basmala(q->sura + 1) ? 0 : 1, 1);
}

static void spell_context(struct builder *b, struct context *x, bool before_wasl)
{
    if (!x->exists)
        return;
    x->word.first_letter = b->r->letter_count; /* past the reading's own; never shown */
    spell_word(b, &x->part, &x->word, b->r->letters + b->r->letter_count, before_wasl, &x->form);
}

static bool range_starts_with_wasla(const struct builder *b)
{
    struct mst_word w;

    return find_word(b->parts[0].bytes, b->parts[0].first_word, &w) &&
           starts_with_wasla(b->parts[0].bytes.ptr + w.byte_off, (size_t)w.byte_len);
}

static enum mst_status collect_words(struct builder *b, struct mst_error *err)
{
    struct mst_reading *r = b->r;
    int32_t word_room = 0;
    size_t letter_room;

    find_context(b);
    letter_room = (b->bytes + (size_t)b->before.word.byte_len + (size_t)b->after.word.byte_len) / 2 +
                  64;

    for (int32_t i = 0; i < b->part_count; i++)
        for (size_t k = 0; k <= b->parts[i].bytes.len; k++)
            word_room += k == b->parts[i].bytes.len || b->parts[i].bytes.ptr[k] == ' ';
    r->words = mst_arena_alloc(b->arena, (size_t)word_room, sizeof *r->words);
    r->letters = mst_arena_alloc(b->arena, letter_room, sizeof *r->letters);
    b->forms = mst_arena_alloc(b->arena, (size_t)word_room, sizeof *b->forms);
    b->glyphs = mst_arena_alloc(b->arena, letter_room, sizeof *b->glyphs);
    b->slots = mst_arena_alloc(b->arena, letter_room * SLOTS_PER_LETTER, sizeof *b->slots);
    if (!r->words || !r->letters || !b->forms || !b->glyphs || !b->slots)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    spell_context(b, &b->before, range_starts_with_wasla(b));
    for (int32_t i = 0; i < b->part_count; i++) {
        const struct verse_part *p = &b->parts[i];
        int32_t off = 0, number = 1;
        bool embraced = false;

        while (off < (int32_t)p->bytes.len && (p->last_word == 0 || number <= p->last_word)) {
            int32_t end = word_end(p->bytes, off);
            bool verse_end = end >= (int32_t)p->bytes.len;

            if (number >= p->first_word) {
                struct mst_word *w = &r->words[r->word_count];
                bool before_wasl =
                    verse_end ? wasla_follows(b, i)
                              : starts_with_wasla(p->bytes.ptr + end + 1,
                                                  p->bytes.len - (size_t)end - 1);

                *w = (struct mst_word){.sura = p->sura,
                                       .verse = p->verse,
                                       .word = number,
                                       .first_letter = r->letter_count,
                                       .byte_off = off,
                                       .byte_len = end - off};
                spell_word(b, p, w, r->letters + r->letter_count, before_wasl,
                           &b->forms[r->word_count]);
                for (int32_t k = 0; k < w->letter_count; k++)
                    r->letters[r->letter_count + k].word_idx = r->word_count;
                w->seam = seam_of(b, w, verse_end, &embraced);
                r->letter_count += w->letter_count;
                r->word_count++;
            }
            off = end + 1;
            number++;
        }
    }
    if (r->word_count == 0)
        return mst_fail(err, MST_NOT_FOUND, "this passage holds no word");
    r->words[r->word_count - 1].seam = MST_SEAM_STOP;
    spell_context(b, &b->after, false);
    return MST_OK;
}

/* --- pauses without breath, and the one way that is not allowed ------------------------- */

static void place_sakts(struct builder *b)
{
    const struct mst_reading_options *o = &b->r->options;

    for (int32_t i = 0; i < b->r->word_count; i++) {
        struct mst_word *w = &b->r->words[i];
        const struct form *f = &b->forms[i];

        if (!f->places || w->seam != MST_SEAM_JOIN)
            continue;
        if (HAS_PLACE(f, SAKT) || (HAS_PLACE(f, MALIYAH) && !o->maliyah_merge) ||
            (HAS_PLACE(f, LAST_OF_ANFAL) && o->anfal_sakt))
            w->seam = MST_SEAM_SAKT;
    }
}

/* End joined to the basmala, and a stop after it: the basmala would seem to belong to the end. */
static enum mst_status check_suras_joined(const struct builder *b, struct mst_error *err)
{
    const struct mst_reading *r = b->r;

    for (int32_t i = 1; i + 1 < r->word_count; i++) {
        const struct mst_word *w = &r->words[i];

        if (w->verse != 0 || w->sura == 0 || w->seam != MST_SEAM_STOP ||
            r->words[i + 1].verse != 1)
            continue;
        for (int32_t k = i; k > 0 && r->words[k].verse == 0 && r->words[k].sura == w->sura; k--)
            if (r->words[k].word == 1 && r->words[k - 1].seam == MST_SEAM_JOIN &&
                r->words[k - 1].sura == w->sura - 1)
                return mst_fail(err, MST_USAGE,
                                "the end of sura %d is joined to the basmala of sura %d, and the "
                                "reader stops there: that way of joining two suras is not "
                                "allowed; stop at the end of sura %d too, or go on from the "
                                "basmala",
                                (int)w->sura - 1, (int)w->sura, (int)w->sura - 1);
    }
    return MST_OK;
}

/* --- word by word ---------------------------------------------------------------------------- */

struct runner {
    struct builder *b;
    struct chain main, other;
    int32_t *order;  /* chain site → reading site, for the word at hand */
    int32_t *sorted; /* chain sites in order of (trigger, rule) */
    size_t site_room, sound_room;
    struct carry carry;
};

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

static bool has_key(const struct chain *c, const struct mst_site *s)
{
    for (int32_t i = 0; i < c->site_count; i++)
        if (c->sites[i].trigger == s->trigger && c->sites[i].rule == s->rule)
            return true;
    return false;
}

static void read_other(struct runner *u, const struct form *prev, const struct form *next,
                       bool sakt, int32_t from)
{
    struct chain *o = &u->other;

    o->form = u->main.form;
    o->prev = prev;
    o->next = next;
    o->sakt = sakt;
    o->site_count = 0;
    mst_chain_build(o, from);
    run_families(o);
}

/* The letter from which on the way of leaving the word can matter; and the slot to read from. */
static int32_t tail_of(const struct form *f, int32_t *from)
{
    if (f->slot_count <= 2 * TAIL_SLOTS) {
        *from = 0;
        return f->first_letter;
    }
    *from = f->slot_count - 2 * TAIL_SLOTS;
    return f->slots[f->slot_count - TAIL_SLOTS].letter;
}

/*
 * When a site exists: read the word the other way at its end, and at its head,
 * and see whether the site is still there.
 */
static void set_when(struct runner *u, int32_t i)
{
    struct builder *b = u->b;
    struct chain *c = &u->main;
    const struct form *f = c->form;
    bool stops = b->r->words[i].seam == MST_SEAM_STOP;
    static const struct form nothing;
    const struct form *next = i + 1 < b->r->word_count ? &b->forms[i + 1]
                              : b->after.exists        ? &b->after.form
                                                       : &nothing;
    bool sakt_here = HAS_PLACE(f, SAKT) || (HAS_PLACE(f, MALIYAH) && !c->opt->maliyah_merge) ||
                     (HAS_PLACE(f, LAST_OF_ANFAL) && c->opt->anfal_sakt);
    int32_t from, tail = tail_of(f, &from);

    /* the end */
    if (stops)
        read_other(u, c->prev ? c->prev : (from ? f : NULL), sakt_here ? NULL : next, sakt_here,
                   from);
    else
        read_other(u, c->prev ? c->prev : (from ? f : NULL), NULL, false, from);
    for (int32_t k = 0; k < c->site_count; k++) {
        struct mst_site *s = &c->sites[k];

        if (s->trigger >= tail && s->rule != MST_RULE_HAMZAT_WASL && s->rule != MST_RULE_SAKT &&
            !has_key(&u->other, s))
            s->when = stops ? MST_STOPPING : MST_JOINING;
    }
    /* the head */
    if (f->slot_count == 0 || (f->slots[0].kind != SLOT_WASLA && !f->places))
        return;
    read_other(u,
               c->prev            ? NULL
               : i > 0            ? &b->forms[i - 1]
               : b->before.exists ? &b->before.form
                                  : &nothing,
               c->next, c->sakt, 0);
    for (int32_t k = 0; k < c->site_count; k++) {
        struct mst_site *s = &c->sites[k];

        if (s->when == MST_ALWAYS && !has_key(&u->other, s))
            s->when = c->prev ? MST_JOINING : MST_STARTING;
    }
}

/* Put the word's sites into the reading, in order of trigger, then rule. */
static enum mst_status keep_sites(struct runner *u, struct mst_error *err)
{
    struct mst_reading *r = u->b->r;
    struct chain *c = &u->main;

    if ((size_t)(r->site_count + c->site_count) > u->site_room) {
        size_t room = u->site_room * 2 + (size_t)c->site_count;
        struct mst_site *grown = mst_arena_grow(u->b->arena, r->sites, u->site_room, room,
                                                sizeof *r->sites);

        if (!grown)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while listing sites");
        r->sites = grown;
        u->site_room = room;
    }
    for (int32_t i = 0; i < c->site_count; i++) {
        const struct mst_site *s = &c->sites[i];
        int32_t k = i;

        while (k > 0) {
            const struct mst_site *t = &c->sites[u->sorted[k - 1]];

            if (t->trigger < s->trigger || (t->trigger == s->trigger && t->rule <= s->rule))
                break;
            u->sorted[k] = u->sorted[k - 1];
            k--;
        }
        u->sorted[k] = i;
    }
    for (int32_t i = 0; i < c->site_count; i++) {
        u->order[u->sorted[i]] = r->site_count;
        r->sites[r->site_count++] = c->sites[u->sorted[i]];
    }
    return MST_OK;
}

static enum mst_status keep_sounds(struct runner *u, int32_t i, struct mst_error *err)
{
    struct mst_reading *r = u->b->r;
    struct mst_word *w = &r->words[i];
    size_t most = (size_t)u->main.count * 2;

    if ((size_t)r->sound_count + most > u->sound_room) {
        size_t room = u->sound_room * 2 + most;
        struct mst_sound *grown = mst_arena_grow(u->b->arena, r->sounds, u->sound_room, room,
                                                 sizeof *r->sounds);

        if (!grown)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while listing sounds");
        r->sounds = grown;
        u->sound_room = room;
    }
    w->first_sound = r->sound_count;
    w->sound_count =
        mst_sounds_emit(&u->main, u->order, &u->carry, i, r->sounds + r->sound_count);
    r->sound_count += w->sound_count;
    return MST_OK;
}

static enum mst_status run_word(struct runner *u, int32_t i, struct mst_error *err)
{
    struct builder *b = u->b;
    struct chain *c = &u->main;
    const struct mst_word *w = &b->r->words[i];
    enum mst_status st;

    c->form = &b->forms[i];
    c->prev = i > 0 && b->r->words[i - 1].seam == MST_SEAM_JOIN ? &b->forms[i - 1] : NULL;
    /* after a pause without breath the reader does not start anew */
    if (i > 0 && b->r->words[i - 1].seam == MST_SEAM_SAKT)
        c->prev = &b->forms[i - 1];
    c->next = w->seam == MST_SEAM_JOIN ? &b->forms[i + 1] : NULL;
    c->sakt = w->seam == MST_SEAM_SAKT;
    c->site_count = 0;
    mst_chain_build(c, 0);
    run_families(c);
    set_when(u, i);
    st = keep_sites(u, err);
    return st == MST_OK ? keep_sounds(u, i, err) : st;
}

static enum mst_status run(struct builder *b, struct mst_error *err)
{
    struct mst_reading *r = b->r;
    struct runner u = {.b = b, .carry = {.first_letter = -1, .site = -1}};
    size_t longest = 0, segs, sites;

    for (int32_t i = 0; i < r->word_count; i++)
        if ((size_t)b->forms[i].slot_count > longest)
            longest = (size_t)b->forms[i].slot_count;
    segs = longest * 2 + SEGS_EXTRA;
    sites = segs * CHAIN_SITES_PER_SEG;
    u.site_room = (size_t)r->letter_count + 64;
    u.sound_room = (size_t)r->letter_count * 2 + 64;
    u.main.opt = u.other.opt = &r->options;
    u.main.segs = mst_arena_alloc(b->arena, segs, sizeof *u.main.segs);
    u.other.segs = mst_arena_alloc(b->arena, segs, sizeof *u.other.segs);
    u.main.sites = mst_arena_alloc(b->arena, sites, sizeof *u.main.sites);
    u.other.sites = mst_arena_alloc(b->arena, sites, sizeof *u.other.sites);
    u.order = mst_arena_alloc(b->arena, sites, sizeof *u.order);
    u.sorted = mst_arena_alloc(b->arena, sites, sizeof *u.sorted);
    r->sites = mst_arena_alloc(b->arena, u.site_room, sizeof *r->sites);
    r->sounds = mst_arena_alloc(b->arena, u.sound_room, sizeof *r->sounds);
    if (!u.main.segs || !u.other.segs || !u.main.sites || !u.other.sites || !u.order ||
        !u.sorted || !r->sites || !r->sounds)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    for (int32_t i = 0; i < r->word_count; i++) {
        enum mst_status st = run_word(&u, i, err);

        if (st != MST_OK)
            return st;
    }
    return MST_OK;
}

/* --- options ------------------------------------------------------------------------------- */

static enum mst_status one_of(const char *what, int value, const int *allowed, size_t n,
                              struct mst_error *err)
{
    char list[64] = "";
    size_t used = 0;

    for (size_t i = 0; i < n; i++) {
        if (allowed[i] == value)
            return MST_OK;
        used += (size_t)snprintf(list + used, sizeof list - used, "%s%d",
                                 i == 0 ? "" : i + 1 == n ? " or " : ", ", allowed[i]);
    }
    return mst_fail(err, MST_USAGE, "%s takes %s counts, not %d", what, list, value);
}

static enum mst_status fill_options(const struct mst_reading_options *in,
                                    struct mst_reading_options *o, struct mst_error *err)
{
    static const int four_five[] = {4, 5}, two_four_five[] = {2, 4, 5}, even[] = {2, 4, 6},
                     four_six[] = {4, 6};
    enum mst_status st;

    *o = in ? *in : (struct mst_reading_options){0};
    o->muttasil = o->muttasil ? o->muttasil : 4;
    o->munfasil = o->munfasil ? o->munfasil : o->muttasil;
    o->arid = o->arid ? o->arid : 4;
    o->lin = o->lin ? o->lin : o->arid;
    o->ayn = o->ayn ? o->ayn : 6;
    if ((st = one_of("muttaṣil", o->muttasil, four_five, 2, err)) != MST_OK ||
        (st = one_of("munfaṣil", o->munfasil, two_four_five, 3, err)) != MST_OK ||
        (st = one_of("ʿāriḍ", o->arid, even, 3, err)) != MST_OK ||
        (st = one_of("līn", o->lin, even, 3, err)) != MST_OK ||
        (st = one_of("ʿayn of the openings", o->ayn, four_six, 2, err)) != MST_OK)
        return st;
    if (o->munfasil != 2 && o->munfasil != o->muttasil)
        return mst_fail(err, MST_USAGE,
                        "munfaṣil takes as many counts as muttaṣil (%d) in one reading, not %d",
                        o->muttasil, o->munfasil);
    if (o->lin > o->arid)
        return mst_fail(err, MST_USAGE,
                        "līn (%d counts) is not made longer than ʿāriḍ (%d counts)", o->lin,
                        o->arid);
    return MST_OK;
}

enum mst_status mst_reading_new(const struct mst_text *text, struct mst_range range,
                                const struct mst_reading_options *options,
                                struct mst_arena *arena, struct mst_reading **out,
                                struct mst_error *err)
{
    struct builder b = {.text = text, .arena = arena};
    enum mst_status st;

    *out = NULL;
    b.r = mst_arena_alloc(arena, 1, sizeof *b.r);
    if (!b.r)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    b.r->range = range;
    b.r->text = text;
    if ((st = fill_options(options, &b.r->options, err)) != MST_OK ||
        (st = collect_parts(&b, err)) != MST_OK || (st = collect_words(&b, err)) != MST_OK)
        return st;
    place_sakts(&b);
    if ((st = check_suras_joined(&b, err)) != MST_OK || (st = run(&b, err)) != MST_OK)
        return st;
    *out = b.r;
    return MST_OK;
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
