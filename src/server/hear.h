/*
 * hear.h – a kept take listened to as its teacher set it up: the way it is
 * read, the voice it names, the edges put by hand. What listens, films and
 * makes lessons goes through here, so that a take is heard alike everywhere.
 */
#ifndef SERVER_HEAR_H
#define SERVER_HEAR_H

#include "desk.h"

#include <mistara/report.h>

struct heard {
    struct mst_kept_take take;
    const char *path;
    struct mst_hearing *hearing; /* the caller closes it, however it ended */
    struct mst_measures *measures;
};
/* The job goes from `from` to `to`. listen 0: only read the sound. */
MST_MUST_CHECK enum mst_status take_hear(struct work *work, const char *id,
                                         const struct mst_voice *voice, double from, double to,
                                         int listen, struct heard *out, struct mst_error *err);
/* A voice by its name, to be freed; NULL for no name. NOT_FOUND when it is not kept. */
MST_MUST_CHECK enum mst_status voice_kept(struct desk *desk, const char *name,
                                          struct mst_voice **out, struct mst_error *err);
/* The part of "takes/k3v9x2m4q7w1t5za.flac" that names a take of the desk; its ending is of no
 * account. NULL: it names none. */
const char *take_named(const char *file, struct mst_arena *arena);
/* Takes the paths of kept recordings out of a sentence that a teacher will read. */
void path_hide(struct desk *desk, struct mst_error *err);
/* The one that the take names. */
MST_MUST_CHECK enum mst_status take_voice(struct desk *desk, const struct mst_kept_take *take,
                                          struct mst_voice **out, struct mst_error *err);
/* The edges set by hand, by the words of the script. */
MST_MUST_CHECK enum mst_status take_pins(const struct mst_kept_take *take,
                                         const struct mst_script *script, struct mst_arena *arena,
                                         struct mst_pin **out, size_t *count,
                                         struct mst_error *err);

/* What was measured in a model take, as long as neither its row nor its voice changed (lengths.c).
 */
int lengths_find(struct desk *desk, const struct mst_kept_take *take, const struct mst_voice *voice,
                 struct mst_length_model *out);
void lengths_keep(struct desk *desk, const struct mst_kept_take *take,
                  const struct mst_voice *voice, const struct mst_length_model *model);

/* What listening to a take came to, for who goes on with it. */
struct listened {
    const struct mst_hearing *hearing;
    const struct mst_measures *measures;
    const struct mst_finding *findings;
    size_t finding_count;
};
struct goes_on {
    enum mst_status (*run)(struct work *work, const struct listened *heard, void *with,
                           struct mst_error *err);
    void *with;
};
/* The whole listening of a job: heard, measured, its report written, its row kept up to date.
 * limits NULL: the usual. then NULL: nothing more; else the report's pages are left out. */
MST_MUST_CHECK enum mst_status take_listen(struct work *work, const char *id,
                                           const struct mst_measure_limits *limits,
                                           const struct goes_on *then, struct mst_error *err);

/* Plain errors and fine ones in what was heard; judge: a voice of somebody else, or NULL: words
 * only. The report lives in the job's arena. */
MST_MUST_CHECK enum mst_status take_faults(struct work *work, const struct mst_hearing *hearing,
                                           const struct mst_voice *judge,
                                           struct mst_fault_report **out, struct mst_error *err);

#endif
