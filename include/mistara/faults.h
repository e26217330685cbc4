/*
 * mistara/faults.h – what learners do wrong, and whether a take holds it. The
 * list of faults is data: per letter and per rule the sounds that are said
 * instead of the right ones (data/faults/default.faults; a teacher adds a file
 * of their own). Nothing here knows a rule: rules and sounds are named by the
 * engine's ids and found where the engine put them.
 *
 *   list of faults ─┐
 *   reading ────────┴→ which faults are possible at a sound
 *
 * It never calls a recitation right or wrong: it says what it heard, how sure
 * it is, and that it cannot tell where it cannot.
 * Units: ms from the take's first sample. Ownership: everything lives in the
 * caller's arena. Threads: finished objects are read-only.
 */
#ifndef MISTARA_FAULTS_H
#define MISTARA_FAULTS_H

#include <mistara/ear.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- the list ----------------------------------------------------------------- */
/* Plain errors (laḥn jalī) change a word; fine ones (laḥn khafī) only its beauty. The two terms
 * are those of Ibn al-Jazarī, al-Tamhīd fī ʿilm al-tajwīd (named from memory). */
enum mst_fault_grade { MST_FAULT_PLAIN, MST_FAULT_FINE };

/* How a sound said instead differs from the one it is written as. X(name, word in the file) */
#define MST_FAULT_CHANGE_LIST(X)                                                                   \
    X(SINGLE, "single")                                                                            \
    X(DOUBLE, "double")                                                                            \
    X(HEAVY, "heavy")                                                                              \
    X(LIGHT, "light")                                                                              \
    X(ORAL, "oral") /* held, but not through the nose */
enum mst_fault_change {
#define X(name, id) MST_FAULT_CHANGE_##name,
    MST_FAULT_CHANGE_LIST(X)
#undef X
        MST_FAULT_CHANGE_COUNT
};
/* Which of the sounds named are meant. X(name, word in the file) */
#define MST_FAULT_ONLY_LIST(X)                                                                     \
    X(SINGLE, "single")                                                                            \
    X(DOUBLE, "double")                                                                            \
    X(ECHO, "echo")                                                                                \
    X(NASAL, "nasal")                                                                              \
    X(HEAVY, "heavy")                                                                              \
    X(LIGHT, "light")                                                                              \
    X(GOING, "going") /* the reader goes on after it */                                            \
    X(STOPPED, "stopped")
enum mst_fault_only {
#define X(name, id) MST_FAULT_ONLY_##name,
    MST_FAULT_ONLY_LIST(X)
#undef X
        MST_FAULT_ONLY_COUNT
};

struct mst_fault_sound {
    int8_t phone;    /* enum mst_phone; -1: the sound that should be there */
    uint8_t changes; /* bits of enum mst_fault_change */
};
enum { MST_FAULT_SOUNDS_MAX = 4, MST_FAULT_WAYS_MAX = 4 };
/* What is said instead: one to four sounds. */
struct mst_fault_way {
    struct mst_fault_sound sounds[MST_FAULT_SOUNDS_MAX];
    int32_t count;
};
struct mst_fault {
    const char *id, *name_en, *name_ar;
    enum mst_fault_grade grade;
    double weight;             /* 0…1: which comes first among findings equally sure */
    uint64_t phones;           /* bits of enum mst_phone: the sounds it befalls */
    struct mst_rule_set rules; /* only where one of these acts on the sound; empty: anywhere */
    uint32_t only;             /* bits of enum mst_fault_only: all of them must hold */
    struct mst_fault_way ways[MST_FAULT_WAYS_MAX];
    int32_t way_count;
    const char *file; /* where it stands */
    int32_t line;
};
struct mst_fault_list {
    struct mst_fault *faults; /* in the order of the files */
    int32_t count;
};

/*
 * Read one or more files; a fault whose id was there already takes the
 * earlier one's place, and `off: yes` takes it away. BAD_DATA with
 * "FILE:LINE: what is wrong"; docs/faults.md describes the form.
 */
MST_MUST_CHECK enum mst_status mst_faults_read(const char *const *paths, size_t count,
                                               struct mst_arena *arena, struct mst_fault_list **out,
                                               struct mst_error *err);
/* The list that comes with Mistara: $MISTARA_FAULTS, beside the program, the installed one; NULL
 * when there is none. In the arena. */
const char *mst_faults_default_path(struct mst_arena *arena);
/* NULL when there is none. */
const struct mst_fault *mst_fault_called(const struct mst_fault_list *list, struct mst_span id);

/* Can this fault befall this sound of the reading? Not where the transmission allows the other
 * way too. */
int mst_fault_befalls(const struct mst_fault *fault, const struct mst_reading *reading,
                      int32_t sound_idx);
/*
 * The sounds said instead of sound_idx under a way, as the engine would
 * write them; at most MST_FAULT_SOUNDS_MAX, their number is returned.
 */
int32_t mst_fault_said(const struct mst_fault_way *way, const struct mst_reading *reading,
                       int32_t sound_idx, struct mst_sound out[MST_FAULT_SOUNDS_MAX]);
/* "s", "n y": what a way says, in IPA. */
void mst_fault_said_ipa(const struct mst_fault_way *way, const struct mst_reading *reading,
                        int32_t sound_idx, struct mst_string *out);

#ifdef __cplusplus
}
#endif
#endif
