/* The `sounds` lines of the cases: phones, with the flags that are stated, one after another. */
#include "case_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int phone_of(const char *id)
{
    for (int phone = 0; phone < MST_PHONE_COUNT; phone++) {
        if (strcmp(mst_phone_id((enum mst_phone)phone), id) == 0)
            return phone;
    }
    return -1;
}

static void add_sound(struct mst_string *out, const struct mst_sound *s)
{
    static const char *const pause[] = {"", " |", " ~"};
    mst_string_adds(out, mst_phone_id(s->phone));
    mst_string_addf(out, "(%d", s->counts);
    if (s->geminate)
        mst_string_adds(out, ",gem");
    if (s->nasal)
        mst_string_adds(out, ",nasal");
    if (s->heavy)
        mst_string_adds(out, ",heavy");
    if (s->rank)
        mst_string_addf(out, ",rank=%d", s->rank);
    if (s->echo)
        mst_string_addf(out, ",echo=%d", s->echo);
    if (s->rawm)
        mst_string_adds(out, ",rawm");
    mst_string_addf(out, ")%s ", pause[s->pause]);
}

/* One token against one sound; what does not fit is named in why. */
static int token_fits(struct run *run, char *token, const struct mst_sound *s, const char **why)
{
    int geminate = 0, geminate_open = 0, echo = 0, rawm = 0, number;
    char *flags = strchr(token, '(');
    *why = "phone";
    if (flags) {
        size_t len = strlen(flags);
        if (flags[len - 1] != ')') {
            case_fail(run, "'%s' is not closed", token);
            return 0;
        }
        flags[len - 1] = '\0';
        *flags++ = '\0';
    }
    int phone = phone_of(token);
    if (phone < 0) {
        case_fail(run, "no phone is called '%s'", token);
        return 0;
    }
    if (phone != (int)s->phone)
        return 0;
    char *save = NULL;
    for (char *f = flags ? strtok_r(flags, ",", &save) : NULL; f; f = strtok_r(NULL, ",", &save)) {
        int fits = 1;
        if (strcmp(f, "gem") == 0)
            geminate = 1;
        else if (strcmp(f, "gem?") == 0)
            geminate_open = 1;
        else if (strcmp(f, "rawm") == 0)
            rawm = 1;
        else if (strncmp(f, "echo=", 5) == 0 && case_parse_int(f + 5, &number))
            echo = number;
        else if (strncmp(f, "rank=", 5) == 0 && case_parse_int(f + 5, &number))
            fits = s->rank == number;
        else if (strcmp(f, "nasal") == 0)
            fits = s->nasal != 0;
        else if (strcmp(f, "plain") == 0)
            fits = s->nasal == 0;
        else if (strcmp(f, "heavy") == 0)
            fits = s->heavy == 1;
        else if (strcmp(f, "light") == 0)
            fits = s->heavy == 0;
        else if (case_parse_int(f, &number))
            fits = s->counts == number;
        else
            case_fail(run, "'%s' says nothing about a sound", f);
        if (!fits) {
            *why = f;
            return 0;
        }
    }
    *why = "doubling";
    if (!geminate_open && geminate != (s->geminate != 0))
        return 0;
    *why = "echo";
    if (echo != s->echo)
        return 0;
    *why = "rawm";
    return rawm == (s->rawm != 0);
}

/* sounds WORD[..WORD] = … */
void case_claim_sounds(struct run *run, char *rest)
{
    char *where = case_next_word(&rest), *eq = case_next_word(&rest);
    struct mst_addr from, to;
    char *dots = where ? strstr(where, "..") : NULL;
    if (dots)
        *dots = '\0';
    if (!where || !eq || strcmp(eq, "=") != 0 || !case_parse_addr(where, &from) ||
        !case_parse_addr(dots ? dots + 2 : where, &to)) {
        case_fail(run, "sounds are: sounds WORD[..WORD] = PHONE …");
        return;
    }
    int w0 = case_word_index(run, from), w1 = case_word_index(run, to);
    if (w0 < 0 || w1 < w0)
        return;
    const struct mst_reading *r = run->reading;
    int32_t i = r->words[w0].first_sound, end = r->words[w1].first_sound + r->words[w1].sound_count;
    int32_t first = i;
    const char *why = NULL;
    char shown[64] = "";
    int pause = 0; /* what the sound before must be followed by */
    for (char *token = case_next_word(&rest); !why && token; token = case_next_word(&rest)) {
        snprintf(shown, sizeof shown, "%s", token);
        if (strcmp(token, "|") == 0 || strcmp(token, "~") == 0) {
            if (i == first || r->sounds[i - 1].pause != (*token == '|' ? 1 : 2))
                why = "pause";
            pause = 1;
            continue;
        }
        if (i > first && !pause && r->sounds[i - 1].pause)
            why = "a pause before it";
        else if (i == end)
            why = "no sound left for it";
        else if (token_fits(run, token, &r->sounds[i], &why))
            why = NULL;
        pause = 0;
        if (!why)
            i++;
    }
    if (!why && i < end) {
        snprintf(shown, sizeof shown, "end");
        why = "further sounds";
    } else if (!why && i > first && !pause && r->sounds[i - 1].pause) {
        why = "a pause at the end";
    }
    if (!why)
        return;
    struct mst_string got = {0};
    for (int32_t k = first; k < end; k++)
        add_sound(&got, &r->sounds[k]);
    case_fail(run, "sounds of %s: at '%s' (sound %d): %s\n    got %s", where, shown, i - first + 1,
              why, got.ptr ? got.ptr : "nothing");
    mst_string_free(&got);
}
