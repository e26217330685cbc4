/* class.c – a class, its people, what they were given, handed in and were answered. */
#include "some.h"

#include <ctype.h>
#include <pthread.h>
#include <unistd.h>

static struct mst_store *opened(const struct place *place)
{
    struct mst_store *store;
    assert_done(place_open(place, &store, &err));
    return store;
}

static void classes_and_people(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char id[MST_ID_SIZE], other[MST_ID_SIZE], one[MST_ID_SIZE], two[MST_ID_SIZE];
    struct mst_class class, stale, *classes;
    struct mst_person person, *people;
    size_t count;
    some_class(store, 90, id);
    some_class(store, 0, other);
    some_person(store, id, "Learner 2", one);
    some_person(store, id, "Learner 1", two);
    assert_done(mst_class_get(store, id, place->arena, &class, &err));
    assert_string_equal(class.name, "Thursday evening");
    assert_int_equal(class.retention_days, 90);
    assert_int_equal(class.learners, 2);
    stale = class;
    class.closed_ms = 5;
    assert_done(mst_class_put(store, &class, &err));
    assert_refused(MST_MISMATCH, mst_class_put(store, &stale, &err));
    stale.language = "xx";
    assert_refused(MST_USAGE, mst_class_put(store, &stale, &err));
    assert_done(mst_class_list(store, place->arena, &classes, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(classes[0].id, other);
    assert_done(mst_person_list(store, id, place->arena, &people, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(people[0].id, two); /* by label */
    assert_null(people[0].voice);
    person = people[1];
    person.voice = "learner 2";
    person.note = "sits by the window";
    assert_done(mst_person_put(store, &person, &err));
    assert_refused(MST_MISMATCH, mst_person_put(store, &person, &err));
    assert_done(mst_person_get(store, one, place->arena, &person, &err));
    assert_string_equal(person.voice, "learner 2");
    assert_string_equal(person.class_id, id);
    struct mst_person nowhere = {.class_id = "0000000000000000",
                                 .role = "learner",
                                 .label = "x",
                                 .note = "",
                                 .language = "en"};
    assert_refused(MST_NOT_FOUND, mst_person_add(store, &nowhere, one, &err));
    nowhere.class_id = id;
    nowhere.role = "teacher";
    assert_refused(MST_USAGE, mst_person_add(store, &nowhere, one, &err));
    mst_store_close(store);
}

static void consent_is_given_and_withdrawn(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE];
    struct mst_consent consent;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    assert_done(mst_consent_get(store, person, place->arena, &consent, &err));
    assert_int_equal(consent.said_ms, 0);
    assert_refused(MST_NOT_FOUND, mst_consent_withdraw(store, person, &err));
    assert_refused(MST_USAGE, mst_consent_add(store, person, "words", "rumour", &err));
    assert_refused(MST_NOT_FOUND,
                   mst_consent_add(store, "0000000000000000", "words", "self", &err));
    assert_done(mst_consent_add(store, person, "words", "guardian", &err));
    assert_done(mst_consent_get(store, person, place->arena, &consent, &err));
    assert_string_equal(consent.words, "words");
    assert_string_equal(consent.by, "guardian");
    assert_true(consent.said_ms > 0);
    assert_int_equal(consent.withdrawn_ms, 0);
    assert_done(mst_consent_withdraw(store, person, &err));
    assert_done(mst_consent_get(store, person, place->arena, &consent, &err));
    assert_true(consent.withdrawn_ms > 0);
    assert_done(mst_consent_add(store, person, "newer words", "self", &err));
    assert_done(mst_consent_get(store, person, place->arena, &consent, &err));
    assert_string_equal(consent.words, "newer words");
    assert_int_equal(consent.withdrawn_ms, 0);
    mst_store_close(store);
}

static void codes_open_once(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], who[MST_ID_SIZE] = "";
    char first[MST_JOIN_CODE_SIZE], second[MST_JOIN_CODE_SIZE], typed[64];
    struct mst_join_code known;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    assert_done(mst_join_get(store, person, &known, &err));
    assert_int_equal(known.made_ms, 0);
    assert_done(mst_join_make(store, person, 3600000, first, &err));
    assert_int_equal(strlen(first), 19);
    assert_int_equal(strspn(first, "0123456789abcdefghjkmnpqrstvwxyz-"), 19);
    assert_done(mst_join_make(store, person, 3600000, second, &err));
    assert_string_not_equal(first, second);
    assert_refused(MST_NOT_FOUND, mst_join_use(store, first, who, &err)); /* a newer one is there */
    /* As people type: capitals, other blanks, o for 0 and l for 1. */
    size_t len = 0;
    for (const char *at = second; *at; at++) {
        char letter = *at == '-' ? ' ' : (char)toupper((unsigned char)*at);
        typed[len++] = letter == '0' ? 'O' : letter == '1' ? 'l' : letter;
    }
    typed[len] = '\0';
    assert_done(mst_join_use(store, typed, who, &err));
    assert_string_equal(who, person);
    assert_refused(MST_NOT_FOUND, mst_join_use(store, second, who, &err)); /* used */
    assert_done(mst_join_get(store, person, &known, &err));
    assert_true(known.used_ms > 0);
    assert_done(mst_join_make(store, person, 3600000, first, &err));
    assert_done(mst_join_revoke(store, person, &err));
    assert_refused(MST_NOT_FOUND, mst_join_use(store, first, who, &err)); /* revoked */
    assert_done(mst_join_make(store, person, -1, first, &err));
    assert_refused(MST_NOT_FOUND, mst_join_use(store, first, who, &err)); /* ended */
    assert_done(mst_join_make(store, person, 3600000, first, &err));
    struct mst_person leaver;
    assert_done(mst_person_get(store, person, place->arena, &leaver, &err));
    leaver.left_ms = 7;
    assert_done(mst_person_put(store, &leaver, &err));
    assert_refused(MST_NOT_FOUND, mst_join_use(store, first, who, &err)); /* has left */
    const char *const nonsense[] = {"", "x", "7d3k-7d3k-7d3k-7d3k-7d3k", "uuuu-uuuu-uuuu-uuuu",
                                    "' OR 1=1 --xxxxx"};
    for (size_t n = 0; n < sizeof nonsense / sizeof nonsense[0]; n++)
        assert_refused(MST_NOT_FOUND, mst_join_use(store, nonsense[n], who, &err));
    mst_store_close(store);
}

struct racer {
    struct mst_store *store;
    const char *code;
    int won;
};
static void *race(void *argument)
{
    struct racer *racer = argument;
    char who[MST_ID_SIZE];
    racer->won = mst_join_use(racer->store, racer->code, who, NULL) == MST_OK;
    return NULL;
}

static void of_several_at_once_one_joins(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], code[MST_JOIN_CODE_SIZE];
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    for (int round = 0; round < 5; round++) {
        struct racer racers[8];
        pthread_t threads[8];
        int won = 0;
        assert_done(mst_join_make(store, person, 3600000, code, &err));
        for (int n = 0; n < 8; n++) {
            racers[n] = (struct racer){store, code, 0};
            assert_int_equal(pthread_create(&threads[n], NULL, race, &racers[n]), 0);
        }
        for (int n = 0; n < 8; n++) {
            pthread_join(threads[n], NULL);
            won += racers[n].won;
        }
        assert_int_equal(won, 1);
    }
    mst_store_close(store);
}

static void assignments_are_the_class_s_own(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], other[MST_ID_SIZE], person[MST_ID_SIZE], id[MST_ID_SIZE],
        foreign[MST_ID_SIZE], submission[MST_ID_SIZE];
    struct mst_assignment got, *list;
    size_t count;
    some_class(store, 0, class);
    some_class(store, 0, other);
    some_person(store, class, "Learner 1", person);
    some_assignment(store, class, id);
    some_assignment(store, other, foreign);
    assert_done(mst_assignment_get(store, id, place->arena, &got, &err));
    assert_string_equal(got.attend, "the dal at each stop");
    assert_int_equal(got.due_ms, 99);
    assert_int_equal(got.handed_in, 0);
    got.stage = 3;
    assert_done(mst_assignment_put(store, &got, &err));
    assert_refused(MST_MISMATCH, mst_assignment_put(store, &got, &err));
    got.stage = 4;
    assert_refused(MST_USAGE, mst_assignment_put(store, &got, &err));
    for (int n = 0; n < 2; n++)
        some_submission(store, class, person, id, n ? "second" : "first", submission);
    assert_done(mst_assignment_list(store, class, place->arena, &list, &count, &err));
    assert_int_equal(count, 1);
    assert_int_equal(list[0].handed_in, 1); /* people, not recordings */
    /* What a learner recorded is nothing to play to the others. */
    struct mst_submission handed;
    assert_done(mst_submission_get(store, submission, place->arena, &handed, &err));
    got = list[0];
    got.take = handed.take;
    assert_refused(MST_NOT_FOUND, mst_assignment_put(store, &got, &err));
    /* Another class's assignment is none here. */
    struct mst_submission mixed = some_handed_in(class, person, foreign);
    char hash[MST_HASH_HEX_SIZE], none[MST_ID_SIZE];
    some_sound(store, "mixed", hash);
    struct mst_kept_take take = some_take(hash);
    assert_refused(MST_NOT_FOUND, mst_submission_hand_in(store, &take, &mixed, none, &err));
    assert_done(mst_assignment_delete(store, id, &err));
    assert_done(mst_submission_get(store, handed.id, place->arena, &handed, &err));
    assert_null(handed.assignment);
    assert_string_equal(handed.title, "");
    mst_store_close(store);
}

/* Takes of what was handed in to a class that are a learner's. */
static int takes_of(struct mst_store *store, const char *class_id, const char *person,
                    struct mst_arena *arena)
{
    struct mst_submission_filter all = {.class_id = class_id};
    struct mst_submission *list;
    struct mst_kept_take take;
    size_t count;
    int theirs = 0;
    assert_done(mst_submission_list(store, &all, arena, &list, &count, &err));
    for (size_t n = 0; n < count; n++) {
        assert_done(mst_store_take_get(store, list[n].take, arena, &take, &err));
        theirs += take.person && strcmp(take.person, person) == 0;
    }
    return theirs;
}

static void the_desk_is_in_order_of_need(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], given[MST_ID_SIZE], ids[4][MST_ID_SIZE];
    static const double needs[] = {0.25, 0.75, 0.5, 0};
    struct mst_submission s, *list;
    struct mst_class counted;
    size_t count;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    some_assignment(store, class, given);
    for (int n = 0; n < 4; n++) {
        char bytes[2] = {(char)('a' + n), '\0'};
        some_submission(store, class, n == 3 ? NULL : person, n == 3 ? NULL : given, bytes, ids[n]);
        assert_done(mst_submission_get(store, ids[n], place->arena, &s, &err));
        assert_int_equal(s.revision, 1);
        s.need = needs[n];
        s.state = "heard";
        s.heard_ms = 9;
        assert_done(mst_submission_put(store, &s, &err));
        assert_refused(MST_MISMATCH, mst_submission_put(store, &s, &err));
    }
    assert_done(mst_class_get(store, class, place->arena, &counted, &err));
    assert_int_equal(counted.unsent, 3);
    struct mst_submission_filter desk = {.class_id = class, .unsent = 1, .named = 1};
    assert_done(mst_submission_list(store, &desk, place->arena, &list, &count, &err));
    assert_int_equal(count, 3);
    assert_string_equal(list[0].id, ids[1]);
    assert_string_equal(list[1].id, ids[2]);
    assert_string_equal(list[0].label, "Learner 1");
    assert_string_equal(list[0].title, "The echo letters");
    assert_done(mst_submission_send(store, ids[1], &err));
    assert_done(mst_submission_get(store, ids[1], place->arena, &s, &err));
    int64_t sent = s.sent_ms;
    assert_true(sent > 0);
    assert_done(mst_submission_send(store, ids[1], &err));
    assert_done(mst_submission_get(store, ids[1], place->arena, &s, &err));
    assert_true(s.sent_ms >= sent);
    assert_done(mst_submission_list(store, &desk, place->arena, &list, &count, &err));
    assert_int_equal(count, 2);
    /* The voice note nobody has claimed: no learner's, and not among the teacher's takes either. */
    struct mst_submission_filter imports = {.class_id = class, .unnamed = 1};
    struct mst_kept_take *takes;
    assert_done(mst_submission_list(store, &imports, place->arena, &list, &count, &err));
    assert_int_equal(count, 1);
    assert_string_equal(list[0].id, ids[3]);
    assert_done(mst_store_take_list(store, NULL, place->arena, &takes, &count, &err));
    assert_int_equal(count, 0);
    assert_int_equal(takes_of(store, class, person, place->arena), 3);
    /* Confirmed, it is theirs, with its sound. */
    s = list[0];
    s.person = person;
    assert_done(mst_submission_put(store, &s, &err));
    assert_int_equal(takes_of(store, class, person, place->arena), 4);
    struct mst_submission_filter none = {.state = "refused"};
    assert_done(mst_submission_list(store, &none, place->arena, &list, &count, &err));
    assert_int_equal(count, 0);
    mst_store_close(store);
}

static void a_choice_is_among_ones_own(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], hash[MST_HASH_HEX_SIZE], mine[MST_ID_SIZE],
        theirs[MST_ID_SIZE];
    struct mst_kept_take take, got;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    some_sound(store, "teacher", hash);
    take = some_take(hash);
    assert_done(mst_store_take_add(store, &take, mine, &err));
    take.person = person;
    assert_done(mst_store_take_add(store, &take, theirs, &err));
    assert_done(mst_store_take_get(store, mine, place->arena, &got, &err));
    got.chosen = 1;
    assert_done(mst_store_take_put(store, &got, &err));
    assert_done(mst_store_take_get(store, theirs, place->arena, &got, &err));
    got.chosen = 1;
    assert_done(mst_store_take_put(store, &got, &err));
    assert_done(mst_store_take_get(store, mine, place->arena, &got, &err));
    assert_int_equal(got.chosen, 1);
    assert_null(got.person);
    mst_store_close(store);
}

static void rulings_outlive_another_listening(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE], id[MST_ID_SIZE], hearing[MST_ID_SIZE];
    struct mst_site_measure rows[3] = {some_measure("112:1:4:2", 0.5), some_measure("112:2:2:5", 1),
                                       some_measure("112:3:4:3", 0.25)},
                            *got;
    struct mst_submission s;
    size_t count;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    some_submission(store, class, person, NULL, "abc", id);
    rows[1].told = "short";
    rows[1].rule = "madd_arid";
    rows[1].deviation = -3.5;
    rows[2].told = "fault";
    rows[2].fault = "no echo";
    rows[2].fault_ar = "بلا قلقلة";
    assert_done(mst_measures_put(store, id, rows, 3, &err));
    assert_done(mst_measures_get(store, id, place->arena, &got, &count, &err));
    assert_int_equal(count, 3);
    assert_int_equal(got[0].site, 1); /* the worst first */
    assert_string_equal(got[0].told, "short");
    assert_true(got[0].deviation == -3.5);
    assert_null(got[0].fault);
    assert_string_equal(got[2].fault_ar, "بلا قلقلة");
    assert_string_equal(got[1].letter, "د");
    assert_int_equal(got[1].skill, 7);
    assert_done(mst_ruling_put(store, id, 1, "overrule", "", &err));
    assert_done(mst_ruling_put(store, id, 2, "agree", person, &err));
    assert_refused(MST_NOT_FOUND, mst_ruling_put(store, id, 3, "agree", "", &err));
    assert_refused(MST_USAGE, mst_ruling_put(store, id, 0, "perhaps", "", &err));
    /* What the learner was sent stays as it was, whatever is ruled afterwards. */
    assert_done(mst_submission_send(store, id, &err));
    assert_done(mst_ruling_put(store, id, 1, "agree", "", &err));
    assert_done(mst_measures_get(store, id, place->arena, &got, &count, &err));
    assert_string_equal(got[0].ruling, "agree");
    assert_string_equal(got[0].sent_ruling, "overrule");
    assert_done(mst_ruling_put(store, id, 1, "overrule", "", &err));
    struct mst_ruled *ruled;
    assert_done(mst_ruled_list(store, class, place->arena, &ruled, &count, &err));
    assert_int_equal(count, 1); /* lengths alone */
    assert_string_equal(ruled[0].ruling, "overrule");
    assert_true(ruled[0].deviation == -3.5);
    /* Heard again: one place fell away, another came, the order is new. */
    struct mst_site_measure again[3] = {rows[2], some_measure("112:4:4:3", 0.75), rows[1]};
    again[2].told = "right";
    assert_done(mst_measures_put(store, id, again, 3, &err));
    assert_done(mst_measures_get(store, id, place->arena, &got, &count, &err));
    assert_int_equal(count, 3);
    assert_string_equal(got[0].rule, "madd_arid");
    assert_string_equal(got[0].ruling, "overrule");
    assert_string_equal(got[0].sent_ruling, "overrule");
    assert_true(got[0].ruled_ms > 0);
    assert_string_equal(got[1].ruling, "");
    assert_string_equal(got[2].ruling, "agree");
    assert_string_equal(got[2].ruled_by, person);
    /* A row that does not hold leaves all as it was. */
    again[1].told = "dunno";
    assert_refused(MST_USAGE, mst_measures_put(store, id, again, 3, &err));
    assert_done(mst_measures_get(store, id, place->arena, &got, &count, &err));
    assert_int_equal(count, 3);
    assert_done(mst_ruling_put(store, id, got[0].site, "", "", &err));
    assert_done(mst_submission_get(store, id, place->arena, &s, &err));
    assert_int_equal(s.sites, 3);
    assert_int_equal(s.ruled, 1);
    /* Evidence: what was heard in recordings, and what was noted live. */
    struct mst_heard_place *places;
    struct mst_live_hearing live = {.at = "78:6:3",
                                    .what = "short",
                                    .note = "",
                                    .who = "",
                                    .rule = "ikhfa",
                                    .person = person,
                                    .sura = 78,
                                    .verse = 6,
                                    .word = 3};
    assert_done(mst_store_hearing_add(store, &live, hearing, &err));
    live.person = NULL;
    assert_done(mst_store_hearing_add(store, &live, hearing, &err));
    assert_done(mst_evidence_list(store, class, NULL, place->arena, &places, &count, &err));
    assert_int_equal(count, 1); /* the submission was not heard yet */
    s.state = "heard";
    assert_done(mst_submission_put(store, &s, &err));
    for (int whole = 0; whole < 2; whole++) {
        assert_done(mst_evidence_list(store, class, whole ? NULL : person, place->arena, &places,
                                      &count, &err));
        assert_int_equal(count, 4);
        assert_string_equal(places[3].what, "short"); /* the latest */
        assert_null(places[3].submission);
        assert_string_equal(places[3].rule, "ikhfa");
        assert_string_equal(places[0].submission, id);
        assert_string_equal(places[0].person, person);
        assert_int_equal(places[0].skill, 7);
    }
    struct mst_hearing_filter theirs = {.person = person};
    struct mst_live_hearing *hearings;
    assert_done(mst_store_hearing_list(store, &theirs, place->arena, &hearings, &count, &err));
    assert_int_equal(count, 1);
    mst_store_close(store);
}

static void notes_are_written_or_spoken(void **state)
{
    struct place *place = *state;
    char class[MST_ID_SIZE], person[MST_ID_SIZE], id[MST_ID_SIZE], note[MST_ID_SIZE],
        spoken[MST_ID_SIZE], hash[MST_HASH_HEX_SIZE];
    struct mst_store *store = opened(place);
    struct mst_note got, *list;
    size_t count;
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    some_submission(store, class, person, NULL, "abc", id);
    struct mst_note words = {
        .submission = id, .at = "112:1:4:2", .text = "hold it", .type = "", .by = ""};
    assert_done(mst_note_add(store, &words, note, &err));
    some_sound(store, "a voice note", hash);
    struct mst_note voice = {.submission = id,
                             .text = "",
                             .hash = hash,
                             .type = "audio/webm",
                             .by = person,
                             .bytes = 12};
    assert_done(mst_note_add(store, &voice, spoken, &err));
    mst_store_close(store);
    store = opened(place); /* what no row names would be swept away here */
    const char *path = mst_store_sound_path(store, hash, place->arena);
    assert_int_equal(access(path, F_OK), 0);
    assert_done(mst_note_list(store, id, place->arena, &list, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(list[0].text, "hold it");
    assert_null(list[0].hash);
    assert_null(list[1].at);
    assert_done(mst_note_get(store, spoken, place->arena, &got, &err));
    assert_int_equal(got.bytes, 12);
    assert_done(mst_note_delete(store, spoken, &err));
    assert_int_equal(access(path, F_OK), -1);
    assert_refused(MST_NOT_FOUND, mst_note_delete(store, spoken, &err));
    words.submission = "0000000000000000";
    assert_refused(MST_NOT_FOUND, mst_note_add(store, &words, note, &err));
    mst_store_close(store);
}

static void who_signs_in_is_known(void **state)
{
    struct place *place = *state;
    struct mst_store *store = opened(place);
    char class[MST_ID_SIZE], person[MST_ID_SIZE];
    struct mst_session learner = {.key = {1}, .token = "t", .role = "learner"}, got;
    struct mst_session teacher = {.key = {2}, .token = "u", .role = "teacher"};
    some_class(store, 0, class);
    some_person(store, class, "Learner 1", person);
    memcpy(learner.person, person, MST_ID_SIZE);
    assert_done(mst_store_session_add(store, &learner, &err));
    assert_done(mst_store_session_add(store, &teacher, &err));
    assert_done(mst_store_session_get(store, learner.key, &got, &err));
    assert_string_equal(got.person, person);
    assert_done(mst_store_session_get(store, teacher.key, &got, &err));
    assert_string_equal(got.person, "");
    struct mst_person leaver;
    assert_done(mst_person_get(store, person, place->arena, &leaver, &err));
    leaver.left_ms = 7;
    assert_done(mst_person_put(store, &leaver, &err));
    assert_refused(MST_NOT_FOUND, mst_store_session_get(store, learner.key, &got, &err));
    assert_done(mst_store_session_get(store, teacher.key, &got, &err));
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(classes_and_people),
        TEST(consent_is_given_and_withdrawn),
        TEST(codes_open_once),
        TEST(of_several_at_once_one_joins),
        TEST(assignments_are_the_class_s_own),
        TEST(the_desk_is_in_order_of_need),
        TEST(a_choice_is_among_ones_own),
        TEST(rulings_outlive_another_listening),
        TEST(notes_are_written_or_spoken),
        TEST(who_signs_in_is_known),
    };
    return cmocka_run_group_tests_name("the class", tests, NULL, NULL);
}
