/*
 * tajweed/passage.c – which words a range holds: verses, the basmala at the
 * head of every sura but the first and the ninth, the seeking of refuge on
 * request, and the words before and after, which the reader would join to.
 */
#include "passage.h"

#include <string.h>

static const char istiadha_text[] = "أَعُوذُ بِٱللَّهِ مِنَ ٱلشَّيۡطَٰنِ ٱلرَّجِيمِ";

static bool has_basmala(int32_t sura)
{
    return sura != 1 && sura != 9;
}

bool mst_stop_listed(const struct mst_reading_options *o, int32_t sura, int32_t verse, int32_t word,
                     bool last_of_verse)
{
    for (size_t i = 0; i < o->stop_count; i++) {
        const struct mst_addr *a = &o->stop_list[i];

        if (a->sura == sura && a->verse == verse &&
            (a->word == word || (a->word == 0 && last_of_verse)))
            return true;
    }
    return false;
}

/* A stop the reader never comes to would be passed over without a word. */
static enum mst_status check_stops(const struct mst_reading_options *o, struct mst_range g,
                                   struct mst_error *err)
{
    struct mst_addr first = g.first, last = g.last;

    if (first.verse == 1 && first.word <= 1)
        first.verse = first.word = 0; /* the basmala */
    for (size_t i = 0; o->stops == MST_STOPS_LIST && i < o->stop_count; i++) {
        struct mst_addr a = o->stop_list[i];
        char stop[48], passage[96];
        bool before, after;

        a.letter = 0;
        if (a.sura == 0 && o->istiadha)
            continue; /* inside the seeking of refuge */
        before =
            a.sura < first.sura || (a.sura == first.sura && a.verse < first.verse) ||
            (a.sura == first.sura && a.verse == first.verse && a.word > 0 && a.word < first.word);
        after =
            a.sura > last.sura || (a.sura == last.sura && a.verse > last.verse) ||
            (a.sura == last.sura && a.verse == last.verse && last.word > 0 && a.word > last.word);
        if (before || after)
            return mst_fail(err, MST_USAGE, "the stop %s lies outside the passage %s",
                            mst_addr_print(a, stop), mst_range_print(g, passage));
    }
    return MST_OK;
}

/* --- verses ------------------------------------------------------------------------ */

static struct mst_span verse_bytes(const struct mst_text *text, int32_t sura, int32_t verse)
{
    return sura == 0 ? mst_span_of(istiadha_text) : mst_text_verse(text, sura, verse);
}

struct mst_span mst_reading_verse(const struct mst_reading *r, int32_t sura, int32_t verse)
{
    return verse_bytes(r->text, sura, verse);
}

struct mst_span mst_reading_word(const struct mst_reading *r, int32_t word_idx)
{
    const struct mst_word *word = &r->words[word_idx];
    struct mst_span verse = mst_reading_verse(r, word->sura, word->verse);
    return (struct mst_span){verse.ptr + word->byte_off, (size_t)word->byte_len};
}

static void add_part(struct passage *p, int32_t sura, int32_t verse, int32_t first, int32_t last)
{
    p->parts[p->part_count++] = (struct verse_part){
        .sura = sura,
        .verse = verse,
        .bytes = verse_bytes(p->text, sura, verse),
        .first_word = first > 0 ? first : 1,
        .last_word = last,
    };
}

static bool stops_at_end_of_sura(const struct passage *p, int32_t sura)
{
    int32_t verse = mst_text_sura(p->text, sura)->verse_count;

    if (p->options->stops == MST_STOPS_LIST)
        return mst_stop_listed(p->options, sura, verse, mst_text_word_count(p->text, sura, verse),
                               true);
    return p->options->stops != MST_STOPS_NONE;
}

/* The basmala heads a sura; on request it is left out where a pause comes before it. */
static bool reads_basmala(const struct passage *p, int32_t sura, bool at_head)
{
    if (!has_basmala(sura))
        return false;
    if (!p->options->no_basmala)
        return true;
    return !at_head && !stops_at_end_of_sura(p, sura - 1);
}

static enum mst_status collect_parts(struct passage *p, struct mst_range g, struct mst_arena *arena,
                                     struct mst_error *err)
{
    bool from_basmala = g.first.verse == 0 && g.first.sura != 1;
    bool to_basmala = g.last.verse == 0;
    int32_t v0 = mst_text_verse_index(p->text, g.first.sura, g.first.verse ? g.first.verse : 1);
    int32_t v1 = mst_text_verse_index(p->text, g.last.sura, g.last.verse ? g.last.verse : 1);

    if (v0 < 0 || v1 < v0 || (from_basmala && !has_basmala(g.first.sura)) ||
        (to_basmala && !has_basmala(g.last.sura)))
        return mst_fail(err, MST_NOT_FOUND, "there is no such passage in the text");
    p->parts =
        mst_arena_alloc_raw(arena, (size_t)(v1 - v0 + 1) + MST_SURA_COUNT + 2, sizeof *p->parts);
    if (!p->parts)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the passage");
    if (p->options->istiadha)
        add_part(p, 0, 0, 1, 0);
    for (int32_t v = v0; v <= v1; v++) {
        struct mst_addr a = mst_text_verse_addr(p->text, v);
        bool first = v == v0, last = v == v1;

        if (a.verse == 1 && first && from_basmala)
            add_part(p, a.sura, 0, g.first.word, last && to_basmala ? g.last.word : 0);
        else if (a.verse == 1 && (!first || g.first.word <= 1) &&
                 (reads_basmala(p, a.sura, first) || (last && to_basmala)))
            add_part(p, a.sura, 0, 1, last && to_basmala ? g.last.word : 0);
        if (!(last && to_basmala))
            add_part(p, a.sura, a.verse, first && !from_basmala ? g.first.word : 1,
                     last ? g.last.word : 0);
    }
    return MST_OK;
}

/* --- words ------------------------------------------------------------------------------ */

/* The end of the word that begins at off; the print parts words by one space. */
static int32_t word_end(struct mst_span s, int32_t off)
{
    const char *space = memchr(s.ptr + off, ' ', s.len - (size_t)off);

    return space ? (int32_t)(space - s.ptr) : (int32_t)s.len;
}

static bool begins_with_wasla(const char *s, size_t len)
{
    return len >= 2 && memcmp(s, "\xD9\xB1", 2) == 0;
}

/* Find the n-th word of a verse (n < 1: the last). */
static bool find_word(const struct verse_part *part, int32_t n, struct word_bytes *out)
{
    struct mst_span s = part->bytes;
    int32_t off = 0;

    if (s.len == 0)
        return false;
    for (int32_t number = 1;; number++) {
        int32_t end = word_end(s, off);
        bool last = end >= (int32_t)s.len;

        if (number == n || (n < 1 && last)) {
            *out = (struct word_bytes){
                .part = part, .number = number, .off = off, .len = end - off, .verse_end = last};
            return true;
        }
        if (last)
            return false;
        off = end + 1;
    }
}

static bool look_outside(const struct passage *p, struct verse_part *part, struct word_bytes *w,
                         int32_t sura, int32_t verse, int32_t word)
{
    *part = (struct verse_part){
        .sura = sura, .verse = verse, .bytes = mst_text_verse(p->text, sura, verse)};
    return find_word(part, word, w);
}

static void find_before(struct passage *p)
{
    const struct verse_part *q = &p->parts[0];
    int32_t sura = q->sura, verse = q->verse;

    if (sura == 0)
        return;
    if (q->first_word > 1)
        look_outside(p, &p->before_part, &p->before, sura, verse, q->first_word - 1);
    else if (verse > 1 || (verse == 1 && has_basmala(sura)))
        look_outside(p, &p->before_part, &p->before, sura, verse - 1, 0);
    else if (sura > 1)
        look_outside(p, &p->before_part, &p->before, sura - 1,
                     mst_text_sura(p->text, sura - 1)->verse_count, 0);
}

static void find_after(struct passage *p)
{
    const struct verse_part *q = &p->parts[p->part_count - 1];
    int32_t sura = q->sura, verse = q->verse;

    if (sura == 0)
        return;
    if (q->last_word > 0 &&
        look_outside(p, &p->after_part, &p->after, sura, verse, q->last_word + 1))
        return;
    if (verse < mst_text_sura(p->text, sura)->verse_count)
        look_outside(p, &p->after_part, &p->after, sura, verse + 1, 1);
    else if (sura < MST_SURA_COUNT)
        look_outside(p, &p->after_part, &p->after, sura + 1, has_basmala(sura + 1) ? 0 : 1, 1);
}

/* The words of a part alone count, not its verse: a phrase of a long verse is soon read. */
static void measure_part(struct passage *p, const struct verse_part *part)
{
    struct mst_span s = part->bytes;
    int32_t off = 0, number = 1;

    while (off < (int32_t)s.len && (part->last_word < 1 || number <= part->last_word)) {
        int32_t end = word_end(s, off);
        size_t len = (size_t)(end - off);

        if (number >= part->first_word) {
            p->word_count++;
            p->bytes += len;
            p->longest_word = len > p->longest_word ? len : p->longest_word;
        }
        off = end + 1;
        number++;
    }
}

/* How much room the words need at most. */
static void measure(struct passage *p)
{
    const struct verse_part *first = &p->parts[0];
    struct word_bytes w;

    for (int32_t i = 0; i < p->part_count; i++)
        measure_part(p, &p->parts[i]);
    if ((size_t)p->before.len > p->longest_word)
        p->longest_word = (size_t)p->before.len;
    if ((size_t)p->after.len > p->longest_word)
        p->longest_word = (size_t)p->after.len;
    p->before.before_wasl = find_word(first, first->first_word, &w) &&
                            begins_with_wasla(first->bytes.ptr + w.off, (size_t)w.len);
}

enum mst_status mst_passage_open(const struct mst_text *text, struct mst_range range,
                                 const struct mst_reading_options *options, struct mst_arena *arena,
                                 struct passage *out, struct mst_error *err)
{
    enum mst_status st;

    *out = (struct passage){.text = text, .options = options, .number = 1};
    st = check_stops(options, range, err);
    if (st == MST_OK)
        st = collect_parts(out, range, arena, err);
    if (st != MST_OK)
        return st;
    find_before(out);
    find_after(out);
    measure(out);
    return MST_OK;
}

/* Does the first word after this verse begin with a joining hamza? */
static bool next_verse_has_wasla(const struct passage *p)
{
    if (p->part + 1 < p->part_count) {
        struct mst_span s = p->parts[p->part + 1].bytes;

        return begins_with_wasla(s.ptr, s.len);
    }
    return p->after.number > 0 &&
           begins_with_wasla(p->after.part->bytes.ptr + p->after.off, (size_t)p->after.len);
}

bool mst_passage_next(struct passage *p, struct word_bytes *out)
{
    while (p->part < p->part_count) {
        const struct verse_part *part = &p->parts[p->part];
        struct mst_span s = part->bytes;
        int32_t off = p->off, number = p->number, end;
        bool verse_end;

        if (off >= (int32_t)s.len || (part->last_word > 0 && number > part->last_word)) {
            p->part++;
            p->off = 0;
            p->number = 1;
            continue;
        }
        end = word_end(s, off);
        verse_end = end >= (int32_t)s.len;
        p->off = end + 1;
        p->number = number + 1;
        if (number < part->first_word)
            continue;
        *out = (struct word_bytes){
            .part = part,
            .number = number,
            .off = off,
            .len = end - off,
            .verse_end = verse_end,
            .before_wasl = verse_end ? next_verse_has_wasla(p)
                                     : begins_with_wasla(s.ptr + end + 1, s.len - (size_t)end - 1),
        };
        return true;
    }
    return false;
}
