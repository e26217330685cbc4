/*
 * mistara/build.h – a lesson made into everything the teacher carries into the
 * room and puts online: one folder and one zip of it, with a page that leads
 * to every file and needs no network. It decides nothing: what is printed,
 * asked, listened to and filmed is made by the parts of this floor.
 *
 * Ownership: what was made is told in the caller's arena.
 * Threads: one call belongs to one thread; several may run beside one another
 * with a typeset of their own.
 * Nothing half-written: folder and zip are made beside their places under
 * other names, brought to the disk and renamed at the end; both are there
 * whole or neither is.
 */
#ifndef MISTARA_BUILD_H
#define MISTARA_BUILD_H

#include <mistara/ask.h>
#include <mistara/ear.h>
#include <mistara/lesson.h>
#include <mistara/pages.h>
#include <mistara/typeset.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_hearing; /* mistara/report.h */

/* --- what both share -------------------------------------------------------------- */

/* The languages that its pages have words in. */
enum mst_sheet_labels mst_lesson_labels(const struct mst_lesson *lesson);
/* The handout, or the slides, of its passage n; A4, nothing in the class line. */
MST_MUST_CHECK enum mst_status mst_lesson_handout(const struct mst_lesson *lesson, int32_t passage,
                                                  struct mst_arena *arena, struct mst_handout *out,
                                                  struct mst_error *err);
/* The questions of one line of the lesson; versions 'A' to 'Z' ask of the same kind. Fewer than
 * wanted, or none, where its range yields no more. */
MST_MUST_CHECK enum mst_status mst_lesson_ask(const struct mst_text *text,
                                              const struct mst_lesson *lesson,
                                              const struct mst_lesson_question *line, char version,
                                              struct mst_arena *arena, struct mst_question **out,
                                              size_t *count, struct mst_error *err);

/* --- the film of the lesson ----------------------------------------------------- */

#define MST_FILM_SCENE_LIST(X)                                                                     \
    X(RECAP, "recap", "What we know", "مراجعة")                                                    \
    X(EXPLANATION, "explanation", "The rule", "القاعدة")                                           \
    X(EXAMPLES, "examples", "Examples", "أمثلة")                                                   \
    X(PASSAGE, "passage", "The passage", "المقطع")                                                 \
    X(QUESTIONS, "questions", "Questions", "أسئلة")
enum mst_film_scene {
#define X(name, id, en, ar) MST_FILM_##name,
    MST_FILM_SCENE_LIST(X)
#undef X
        MST_FILM_SCENE_COUNT
};
/* "recap,passage" or "all" → bits, 1 << scene. */
MST_MUST_CHECK enum mst_status mst_film_scenes_parse(struct mst_span s, uint32_t *scenes,
                                                     struct mst_error *err);
struct mst_lesson_film_options {
    uint32_t scenes; /* bits, 1 << scene; 0: all, in the order of the list */
    enum mst_theme theme;
    const struct mst_ear_progress *progress;
};
/*
 * takes: one for each of the lesson's, listened to, or NULL where one cannot be used. An example
 * that a take holds is heard slowly and then at its pace, else it stands still; a passage that no
 * take holds stands still too. The explanation lasts as long as the lesson's narration, or as its
 * reading takes. path as of mst_film_write.
 */
MST_MUST_CHECK enum mst_status mst_lesson_film_write(const struct mst_text *text,
                                                     struct mst_typeset *typeset,
                                                     const struct mst_lesson *lesson,
                                                     const struct mst_hearing *const *takes,
                                                     const struct mst_lesson_film_options *options,
                                                     const char *path, struct mst_error *err);

/* --- everything in one folder ---------------------------------------------------------- */

/* What a build makes. X(enum, id, English, Arabic) */
#define MST_BUILD_PART_LIST(X)                                                                     \
    X(HANDOUT, "handout", "Handout to print", "ورقة للطباعة")                                      \
    X(CARDS, "cards", "Articulation cards", "بطاقات المخارج")                                      \
    X(SLIDES, "slides", "Slides for the wall", "شرائح للعرض")                                      \
    X(QUESTIONS, "questions", "Questions with their keys", "أسئلة مع إجاباتها")                    \
    X(CAPTIONS, "captions", "Captions of the recordings", "تعليقات التسجيلات")                     \
    X(PRACTICE, "practice", "Sound to practise with", "صوت للتدريب")                               \
    X(FILM, "film", "The lesson as a film", "الدرس مصورًا")                                         \
    X(ENROLMENT, "enrolment", "Passage that teaches the ear a voice", "مقطع لتعريف الأذن بالصوت")
enum mst_build_part {
#define X(name, id, en, ar) MST_BUILD_##name,
    MST_BUILD_PART_LIST(X)
#undef X
        MST_BUILD_PARTS
};
const char *mst_build_part_id(enum mst_build_part part);
const char *mst_build_part_name(enum mst_build_part part, enum mst_lang lang);
/* "handout,film" or "all" → bits, 1 << part. */
MST_MUST_CHECK enum mst_status mst_build_parts_parse(struct mst_span s, uint32_t *parts,
                                                     struct mst_error *err);

/* Called now and then from the calling thread. done: 0…1 of the whole build, never less than
 * before. Non-zero return = stop (CANCELLED, nothing is left). */
struct mst_build_progress {
    int (*report)(void *user, enum mst_build_part part, double done);
    void *user;
};

/* Asked once for each take, when it is opened: how this one is listened to. *io begins as the
 * build's `listen`; what it comes to point to lasts until the build has ended. A failure is told of
 * the take, like one of listening. */
struct mst_build_ear {
    enum mst_status (*prepare)(void *user, int32_t take, const struct mst_hearing *hearing,
                               struct mst_listen_options *io, struct mst_error *err);
    void *user;
};

/* All zero = everything, A4, versions A, B and C, no zip. */
struct mst_build_options {
    uint32_t parts;                /* bits, 1 << part; 0: all */
    struct mst_page_geometry page; /* of what is printed; width 0: A4 */
    const char *versions;          /* of the questions: "ABC"; NULL: these three */
    struct mst_span class_line;    /* "Tuesday, the town library"; may be empty */
    const char *zip;               /* the zip's path; NULL: none */
    int webm;                      /* the film as WebM rather than MP4 */
    uint32_t scenes;               /* of the film, bits, 1 << scene; 0: all */
    /* How takes are listened to (its progress is not looked at); NULL: each learns its voice from
     * itself. */
    const struct mst_listen_options *listen;
    const struct mst_build_ear *ear;           /* NULL: all alike */
    const struct mst_build_progress *progress; /* NULL: none */
};

struct mst_built_file {
    const char *path;         /* inside the folder: "slides/slide-01.png" */
    const char *en, *ar;      /* what it is */
    enum mst_build_part part; /* MST_BUILD_PARTS: index.html and the lesson's own file */
    int64_t bytes;
};
/* Something of the lesson that could not be made, and why: no take, a take that does not hold its
 * passage, a question that the range does not yield. */
struct mst_build_missing {
    enum mst_build_part part;
    const char *en, *ar; /* one sentence; ar may be the English one where another floor said it */
};
struct mst_built {
    struct mst_built_file *files;
    struct mst_build_missing *missing;
    int32_t file_count, missing_count;
};

/*
 * Make the lesson into a new folder. BAD_DATA when it has no passage; USAGE
 * when something of the folder's or the zip's name is there. A lesson without
 * takes builds all that needs none and says what is missing, here and on the
 * folder's page. Takes are read from where mst_lesson_open found them (a
 * lesson parsed without its folder has no sound). The time is that of
 * listening and filming; without takes some seconds.
 */
MST_MUST_CHECK enum mst_status mst_lesson_build(const struct mst_text *text,
                                                struct mst_typeset *typeset,
                                                const struct mst_lesson *lesson, const char *folder,
                                                const struct mst_build_options *options,
                                                struct mst_arena *arena, struct mst_built *out,
                                                struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
