#include "case_parts.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

enum { STOP_LIST_MAX = 16, LINE_MAX_BYTES = 2048 };

void case_fail(struct run *run, const char *fmt, ...)
{
    run->tally.failures++;
    if (!run->report)
        return;
    fprintf(run->report, "%s:%d: ", run->name, run->line);
    va_list args;
    va_start(args, fmt);
    vfprintf(run->report, fmt, args);
    va_end(args);
    fputc('\n', run->report);
}

/* --- words and numbers of a line ------------------------------------------ */

char *case_next_word(char **rest)
{
    char *s = *rest + strspn(*rest, " \t");
    if (!*s)
        return NULL;
    char *end = s + strcspn(s, " \t");
    *rest = *end ? end + 1 : end;
    *end = '\0';
    return s;
}

int case_parse_int(const char *s, int *out)
{
    char *end;
    long value = strtol(s, &end, 10);
    if (end == s || *end || value < -1000 || value > 1000)
        return 0;
    *out = (int)value;
    return 1;
}

int case_parse_addr(const char *s, struct mst_addr *out)
{
    int32_t *part[] = {&out->sura, &out->verse, &out->word, &out->letter};
    *out = (struct mst_addr){0};
    for (size_t i = 0; i < 4; i++) {
        char *end;
        long value = strtol(s, &end, 10);
        if (end == s || value < 0 || value > 1000)
            return 0;
        *part[i] = (int32_t)value;
        if (!*end)
            return 1;
        if (*end != ':')
            return 0;
        s = end + 1;
    }
    return 0;
}

static int rule_of(struct run *run, const char *id, enum mst_rule *out)
{
    for (int rule = 0; id && rule < MST_RULE_COUNT; rule++) {
        if (strcmp(mst_rule_id((enum mst_rule)rule), id) == 0) {
            *out = (enum mst_rule)rule;
            return 1;
        }
    }
    case_fail(run, "no rule is called '%s'", id ? id : "");
    return 0;
}

int case_word_index(struct run *run, struct mst_addr a)
{
    const struct mst_reading *r = run->reading;
    for (int32_t w = 0; w < r->word_count; w++) {
        const struct mst_word *word = &r->words[w];
        if (word->sura == a.sura && word->verse == a.verse && word->word == a.word)
            return w;
    }
    char name[48];
    case_fail(run, "the passage has no word %s", mst_addr_print(a, name));
    return -1;
}

/* The letters an address names: one, or all of the word when it gives none. 0 = not there. */
static int letters_at(struct run *run, const char *s, int32_t *first, int32_t *end)
{
    struct mst_addr a;
    if (!s || !case_parse_addr(s, &a) || a.word == 0) {
        case_fail(run, "'%s' is not the address of a letter", s ? s : "");
        return 0;
    }
    int w = case_word_index(run, a);
    if (w < 0)
        return 0;
    const struct mst_word *word = &run->reading->words[w];
    if (a.letter > word->letter_count) {
        case_fail(run, "word %d:%d:%d has %d letters; %s asks for more", a.sura, a.verse, a.word,
                  word->letter_count, s);
        return 0;
    }
    *first = word->first_letter + (a.letter ? a.letter - 1 : 0);
    *end = a.letter ? *first + 1 : word->first_letter + word->letter_count;
    return 1;
}

static const char *letter_name(struct run *run, int32_t letter, char out[48])
{
    if (letter < 0)
        return "-";
    return mst_addr_print(mst_letter_addr(run->reading, letter), out);
}

static const struct mst_site *site_at(struct run *run, enum mst_rule rule, int32_t first,
                                      int32_t end)
{
    for (int32_t letter = first; letter < end; letter++) {
        int32_t from, to;
        mst_sites_at(run->reading, letter, &from, &to);
        for (int32_t i = from; i < to; i++) {
            if (run->reading->sites[i].rule == rule)
                return &run->reading->sites[i];
        }
    }
    return NULL;
}

/* --- the head of a case ----------------------------------------------------- */

static const struct {
    const char *key;
    size_t offset;
} number_option[] = {
#define OPTION(name)                                                                               \
    {                                                                                              \
#name, offsetof(struct mst_reading_options, name)                                          \
    }
    OPTION(no_basmala),
    OPTION(istiadha),
    OPTION(muttasil),
    OPTION(munfasil),
    OPTION(arid),
    OPTION(lin),
    OPTION(ayn),
    OPTION(muttasil_stop_6),
    OPTION(question_easing),
    OPTION(tamanna_rawm),
    OPTION(atani_without_ya),
    OPTION(duf_damm),
    OPTION(musaytirun_sin),
    OPTION(maliyah_merge),
    OPTION(salasila_alif),
    OPTION(nakhluqkum_partial),
    OPTION(alim_allah_2),
    OPTION(firq_light),
    OPTION(anfal_sakt),
#undef OPTION
};

static void head_option(struct run *run, char *value)
{
    char *eq = strchr(value, '=');
    if (!eq) {
        case_fail(run, "an option is written key=value, not '%s'", value);
        return;
    }
    *eq++ = '\0';
    if (strcmp(value, "stop_manner") == 0) {
        if (strcmp(eq, "rawm") == 0)
            run->options.stop_manner = MST_STOP_RAWM;
        else if (strcmp(eq, "ishmam") == 0)
            run->options.stop_manner = MST_STOP_ISHMAM;
        else
            case_fail(run, "no manner of stopping is called '%s'", eq);
        return;
    }
    int number;
    for (size_t i = 0; i < sizeof number_option / sizeof *number_option; i++) {
        if (strcmp(value, number_option[i].key) == 0 && case_parse_int(eq, &number)) {
            *(int *)(void *)((char *)&run->options + number_option[i].offset) = number;
            return;
        }
    }
    case_fail(run, "no option %s=%s", value, eq);
}

/* The fourth way between suras is told by mst_reading_new itself, so the list is made here and
 * not by mst_stops_parse: a basmala's word may be named too. */
static void head_stops(struct run *run, char *value)
{
    if (strcmp(value, "none") == 0) {
        run->options.stops = MST_STOPS_NONE;
    } else if (strcmp(value, "verses") == 0) {
        run->options.stops = MST_STOPS_VERSES;
    } else if (strcmp(value, "signs") == 0) {
        run->options.stops = MST_STOPS_SIGNS;
    } else {
        struct mst_addr *list = mst_arena_alloc(run->arena, STOP_LIST_MAX, sizeof *list);
        size_t count = 0;
        for (char *s = strtok(value, ","); s; s = strtok(NULL, ",")) {
            if (!list || count == STOP_LIST_MAX || !case_parse_addr(s, &list[count])) {
                case_fail(run, "'%s' is not a word to stop at", s);
                return;
            }
            count++;
        }
        run->options.stops = MST_STOPS_LIST;
        run->options.stop_list = list;
        run->options.stop_count = count;
    }
}

static void head_passage(struct run *run, char *value)
{
    struct mst_error err;
    if (mst_range_parse(run->text, mst_span_of(value), &run->range, &err) != MST_OK)
        case_fail(run, "passage '%s': %s", value, err.message);
    else
        run->has_passage = 1;
}

static void head_error(struct run *run, const char *value)
{
    struct mst_error err = {0};
    enum mst_status status =
        mst_reading_new(run->text, run->range, &run->options, run->arena, &run->reading, &err);
    run->claims++;
    run->refused = 1;
    if (strcmp(mst_status_name(status), value) != 0)
        case_fail(run, "expected the reading to end in %s, got %s", value, mst_status_name(status));
    else if (!err.message[0])
        case_fail(run, "the refusal says nothing");
}

static void end_case(struct run *run)
{
    if (run->open && run->claims == 0)
        case_fail(run, "the case before this line claims nothing");
    if (run->open && !run->has_source)
        case_fail(run, "the case before this line names no source");
    run->tally.claims += run->claims;
    run->open = 0;
}

static void begin_case(struct run *run)
{
    end_case(run);
    mst_arena_reset(run->arena);
    run->tally.cases++;
    run->open = 1;
    run->has_source = run->has_passage = run->refused = 0;
    run->claims = 0;
    run->reading = NULL;
    run->options = (struct mst_reading_options){.stops = MST_STOPS_NONE};
}

/* 1 when the reading stands. */
static int need_reading(struct run *run)
{
    if (run->reading)
        return 1;
    struct mst_error err = {0};
    if (!run->open || !run->has_passage || run->refused) {
        case_fail(run, "a claim without a case and its passage");
        return 0;
    }
    if (mst_reading_new(run->text, run->range, &run->options, run->arena, &run->reading, &err) !=
        MST_OK) {
        case_fail(run, "the reading was refused: %s", err.message);
        run->reading = NULL;
        return 0;
    }
    return 1;
}

/* --- claims about sites ------------------------------------------------------ */

static const struct {
    const char *key;
    size_t offset;
} site_number[] = {
    {"counts", offsetof(struct mst_site, counts)},
    {"min", offsetof(struct mst_site, counts_min)},
    {"max", offsetof(struct mst_site, counts_max)},
    {"nasal", offsetof(struct mst_site, nasal)},
    {"complete", offsetof(struct mst_site, complete)},
    {"grade", offsetof(struct mst_site, grade)},
    {"heavy", offsetof(struct mst_site, heavy)},
    {"both", offsetof(struct mst_site, both_ways)},
    {"rawm", offsetof(struct mst_site, rawm)},
    {"ishmam", offsetof(struct mst_site, ishmam)},
    {"tanwin", offsetof(struct mst_site, tanwin)},
};

static void check_letter(struct run *run, const char *what, const char *expected, int32_t got)
{
    char name[48];
    const char *got_name = letter_name(run, got, name);
    if (strcmp(expected, got_name) != 0)
        case_fail(run, "%s: expected %s, got %s", what, expected, got_name);
}

static void check_field(struct run *run, const struct mst_site *site, char *field)
{
    char *value = strchr(field, '=');
    if (!value) {
        case_fail(run, "'%s' is no key=value", field);
        return;
    }
    *value++ = '\0';
    if (strcmp(field, "at") == 0) {
        check_letter(run, "at", value, site->first);
        return;
    }
    if (strcmp(field, "to") == 0) {
        check_letter(run, "to", value, site->last);
        return;
    }
    if (strcmp(field, "when") == 0) {
        if (strcmp(value, mst_when_id(site->when)) != 0)
            case_fail(run, "%s when: expected %s, got %s", mst_rule_id(site->rule), value,
                      mst_when_id(site->when));
        return;
    }
    for (size_t i = 0; i < sizeof site_number / sizeof *site_number; i++) {
        if (strcmp(field, site_number[i].key) != 0)
            continue;
        /* All of these are one byte wide, and none goes beyond 6. */
        int got = *((const int8_t *)(const void *)site + site_number[i].offset);
        int expected;
        if (strcmp(value, "-") == 0)
            expected = -1;
        else if (!case_parse_int(value, &expected))
            break;
        if (got != expected)
            case_fail(run, "%s %s: expected %d, got %d", mst_rule_id(site->rule), field, expected,
                      got);
        return;
    }
    case_fail(run, "'%s=%s' is no field of a site", field, value);
}

/* site RULE TRIGGER [> HOST] [key=value …] */
static void claim_site(struct run *run, char *rest)
{
    enum mst_rule rule;
    int32_t first, end;
    if (!rule_of(run, case_next_word(&rest), &rule))
        return;
    char *trigger = case_next_word(&rest);
    if (!letters_at(run, trigger, &first, &end))
        return;
    const struct mst_site *site = site_at(run, rule, first, end);
    if (!site) {
        case_fail(run, "expected %s at %s, got none", mst_rule_id(rule), trigger);
        return;
    }
    for (char *word = case_next_word(&rest); word; word = case_next_word(&rest)) {
        if (strcmp(word, ">") != 0) {
            check_field(run, site, word);
            continue;
        }
        char *host = case_next_word(&rest);
        if (host)
            check_letter(run, mst_rule_id(rule), host, site->host);
        else
            case_fail(run, "nothing stands after '>'");
    }
}

/* no RULE TRIGGER */
static void claim_no(struct run *run, char *rest)
{
    enum mst_rule rule;
    int32_t first, end;
    if (!rule_of(run, case_next_word(&rest), &rule))
        return;
    char *trigger = case_next_word(&rest);
    if (letters_at(run, trigger, &first, &end) && site_at(run, rule, first, end))
        case_fail(run, "expected no %s at %s, got one", mst_rule_id(rule), trigger);
}

/* none-at TRIGGER RULE … */
static void claim_none_at(struct run *run, char *rest)
{
    int32_t first, end;
    char *trigger = case_next_word(&rest);
    if (!letters_at(run, trigger, &first, &end))
        return;
    int count = 0;
    for (char *word = case_next_word(&rest); word; word = case_next_word(&rest), count++) {
        enum mst_rule rule;
        if (rule_of(run, word, &rule) && site_at(run, rule, first, end))
            case_fail(run, "expected no %s at %s, got one", word, trigger);
    }
    if (count == 0)
        case_fail(run, "none-at names no rule");
}

/* all RULE [TRIGGER …] */
static void claim_all(struct run *run, char *rest)
{
    enum mst_rule rule;
    if (!rule_of(run, case_next_word(&rest), &rule))
        return;
    const struct mst_reading *r = run->reading;
    unsigned char *claimed = mst_arena_alloc(run->arena, (size_t)r->letter_count + 1, 1);
    if (!claimed) {
        case_fail(run, "memory ran out");
        return;
    }
    for (char *word = case_next_word(&rest); word; word = case_next_word(&rest)) {
        int32_t first, end;
        if (!letters_at(run, word, &first, &end))
            continue;
        claimed[first] = 1;
        if (!site_at(run, rule, first, first + 1))
            case_fail(run, "expected %s at %s, got none", mst_rule_id(rule), word);
    }
    for (int32_t i = 0; i < r->site_count; i++) {
        char name[48];
        if (r->sites[i].rule == rule && !claimed[r->sites[i].trigger])
            case_fail(run, "expected no further %s, got one at %s", mst_rule_id(rule),
                      letter_name(run, r->sites[i].trigger, name));
    }
}

/* seam WORD stop|sakt|join */
static void claim_seam(struct run *run, char *rest)
{
    static const char *const seam_name[] = {
        [MST_SEAM_JOIN] = "join", [MST_SEAM_STOP] = "stop", [MST_SEAM_SAKT] = "sakt"};
    struct mst_addr a;
    char *where = case_next_word(&rest), *what = case_next_word(&rest);
    if (!where || !what || !case_parse_addr(where, &a)) {
        case_fail(run, "a seam is: seam WORD stop|sakt|join");
        return;
    }
    int w = case_word_index(run, a);
    if (w >= 0 && strcmp(seam_name[run->reading->words[w].seam], what) != 0)
        case_fail(run, "seam %s: expected %s, got %s", where, what,
                  seam_name[run->reading->words[w].seam]);
}

/* sign WORD must|better|either|go-on|embracing|none */
static void claim_sign(struct run *run, char *rest)
{
    static const char *const sign_name[] = {
        [MST_PAUSE_NONE] = "none",           [MST_PAUSE_MUST] = "must",
        [MST_PAUSE_BETTER] = "better",       [MST_PAUSE_EITHER] = "either",
        [MST_PAUSE_GO_ON] = "go-on",         [MST_PAUSE_MUST_NOT] = "must-not",
        [MST_PAUSE_EMBRACING] = "embracing",
    };
    struct mst_addr a;
    char *where = case_next_word(&rest), *what = case_next_word(&rest);
    if (!where || !what || !case_parse_addr(where, &a)) {
        case_fail(run, "a sign is: sign WORD NAME");
        return;
    }
    int w = case_word_index(run, a);
    if (w >= 0 && strcmp(sign_name[run->reading->words[w].pause_sign], what) != 0)
        case_fail(run, "sign of %s: expected %s, got %s", where, what,
                  sign_name[run->reading->words[w].pause_sign]);
}

/* --- lines --------------------------------------------------------------------- */

static const struct {
    const char *key;
    void (*claim)(struct run *run, char *rest);
} claim_table[] = {
    {"site", claim_site},          {"no", claim_no},
    {"none-at", claim_none_at},    {"all", claim_all},
    {"sounds", case_claim_sounds}, {"seam", claim_seam},
    {"sign", claim_sign},
};

static int head_line(struct run *run, char *line)
{
    static const char *const key[] = {"case", "source", "passage", "stops", "option", "error"};
    size_t k = 0, count = sizeof key / sizeof *key;
    char *value = NULL;
    for (; k < count; k++) {
        size_t len = strlen(key[k]);
        if (strncmp(line, key[k], len) == 0 && line[len] == ':') {
            value = line + len + 1;
            break;
        }
    }
    if (k == count)
        return 0;
    value += strspn(value, " ");
    if (!*value)
        case_fail(run, "%s: says nothing", key[k]);
    if (k == 0) {
        begin_case(run);
        return 1;
    }
    if (!run->open || run->reading) {
        case_fail(run, "%s: stands outside the head of a case", key[k]);
        return 1;
    }
    switch (k) {
    case 1:
        run->has_source = 1;
        break;
    case 2:
        head_passage(run, value);
        break;
    case 3:
        head_stops(run, value);
        break;
    case 4:
        head_option(run, value);
        break;
    default:
        head_error(run, value);
        break;
    }
    return 1;
}

static void run_line(struct run *run, char *line)
{
    line[strcspn(line, "#")] = '\0';
    size_t len = strlen(line);
    while (len > 0 && (line[len - 1] == ' ' || line[len - 1] == '\t' || line[len - 1] == '\r'))
        line[--len] = '\0';
    if (!*line || head_line(run, line))
        return;
    char *rest = line;
    char *key = case_next_word(&rest);
    for (size_t i = 0; i < sizeof claim_table / sizeof *claim_table; i++) {
        if (strcmp(key, claim_table[i].key) == 0) {
            run->claims++;
            if (need_reading(run))
                claim_table[i].claim(run, rest);
            return;
        }
    }
    case_fail(run, "'%s' is no key of a case", key);
}

struct case_tally case_run(const struct mst_text *text, const char *name, struct mst_span content,
                           FILE *report)
{
    struct run run = {.text = text, .name = name, .report = report, .arena = mst_arena_new(0)};
    char line[LINE_MAX_BYTES];
    if (!run.arena) {
        case_fail(&run, "memory ran out");
        return run.tally;
    }
    for (size_t off = 0; off < content.len;) {
        const char *start = content.ptr + off;
        const char *end = memchr(start, '\n', content.len - off);
        size_t len = end ? (size_t)(end - start) : content.len - off;
        off += len + 1;
        run.line++;
        if (len >= sizeof line) {
            case_fail(&run, "the line is too long");
            continue;
        }
        memcpy(line, start, len);
        line[len] = '\0';
        run_line(&run, line);
    }
    end_case(&run);
    mst_arena_free(run.arena);
    return run.tally;
}
