/*
 * build/parts.h – what making a lesson's folder shares: the build under way,
 * its files, what is missing, and how far it is.
 */
#ifndef MISTARA_LESSON_BUILD_PARTS_H
#define MISTARA_LESSON_BUILD_PARTS_H

#include <mistara/build.h>
#include <mistara/pages.h>

enum { BUILD_SUBFOLDERS_MOST = 16 };
/* How much work each part is, about in seconds. A take is heard once, for whatever is made of it.
 */
enum { LISTEN_WEIGHT = 15, CAPTIONS_WEIGHT = 1, PRACTICE_WEIGHT = 5, FILM_WEIGHT = 25 };

struct build {
    const struct mst_text *text;
    struct mst_typeset *typeset;
    const struct mst_lesson *l;
    const struct mst_build_options *options;
    uint32_t parts;
    struct mst_arena *arena; /* the caller's: what was made is told there */
    struct mst_built *out;
    struct mst_error *err;

    char *folder;       /* the one under way */
    const char *prefix; /* of the names of files that wander: "ikhfa" */
    const char *subfolders[BUILD_SUBFOLDERS_MOST];
    int subfolder_count;
    int32_t file_room, missing_room;

    enum mst_build_part part; /* the one under way */
    double done, to;          /* of the whole; where its present step ends */
    double weights;           /* of all steps */
};

int mst_build_wants(const struct build *b, enum mst_build_part part);
enum mst_status mst_build_no_memory(struct mst_error *err);

/* --- how far it is (progress.c) -------------------------------------------------- */
/* A step of so much weight begins. CANCELLED when the caller wants no more. */
MST_MUST_CHECK enum mst_status mst_build_step(struct build *b, enum mst_build_part part,
                                              double weight);
/* 0…1 of the step. */
MST_MUST_CHECK enum mst_status mst_build_tell(struct build *b, double done);
/* For what listens and films: reports 0…1 of a share of the step. */
struct build_share {
    struct build *b;
    double from, to;
};
struct mst_ear_progress mst_build_share(struct build_share *share);

/* --- the folder (folder.c) --------------------------------------------------------- */
MST_MUST_CHECK enum mst_status mst_build_folder_open(struct build *b, const char *wanted);
MST_MUST_CHECK enum mst_status mst_build_subfolder(struct build *b, const char *name);
/* Away again with the latest one, in which nothing was made. */
void mst_build_subfolder_drop(struct build *b);
/* Note a file of the folder, which the caller writes at the path returned; NULL when memory ran
 * out. en and ar must last (the arena, or literals). */
const char *mst_build_file(struct build *b, const char *name, const char *en, const char *ar);
/* The same, written at once; takes the string. */
MST_MUST_CHECK enum mst_status mst_build_file_write(struct build *b, const char *name,
                                                    const char *en, const char *ar,
                                                    struct mst_string *bytes);
MST_MUST_CHECK enum mst_status mst_build_missing(struct build *b, const char *en, const char *ar);
/* Sizes noted, everything on the disk. */
MST_MUST_CHECK enum mst_status mst_build_folder_settle(struct build *b);
void mst_build_folder_drop(struct build *b);
/* A zip of the folder's files at path, under the name `top` inside. */
MST_MUST_CHECK enum mst_status mst_build_zip(struct build *b, const char *path, const char *top);

/* --- what is in it ------------------------------------------------------------------ */
/* Handout and slides of each passage. */
MST_MUST_CHECK enum mst_status mst_build_handouts(struct build *b);
MST_MUST_CHECK enum mst_status mst_build_slides(struct build *b);
MST_MUST_CHECK enum mst_status mst_build_cards(struct build *b);
MST_MUST_CHECK enum mst_status mst_build_questions(struct build *b);
MST_MUST_CHECK enum mst_status mst_build_enrolment(struct build *b);
/* Captions, sound and film of every take. */
MST_MUST_CHECK enum mst_status mst_build_takes(struct build *b);
/* index.html, from what was made and what is missing. */
MST_MUST_CHECK enum mst_status mst_build_index(struct build *b);

#endif
