#include "faults_stage.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

struct mst_voice *model_voice(const struct stage *s, char reciter)
{
    static const int suras_a[] = {67, 68, 69, 70, 0};
    static const int suras_b[] = {78, 79, 80, 81, 82, 83, 84, 85,  86,  87,  88, 89,
                                  90, 91, 92, 93, 96, 98, 99, 100, 101, 104, 0};
    const char *folder = getenv("BENCH_VOICES");
    char path[400];
    struct mst_error err;
    struct mst_voice *v;
    if (folder) {
        snprintf(path, sizeof path, "%s/%c.voice", folder, reciter);
        if (access(path, R_OK) == 0) {
            if (mst_voice_load(path, &v, &err))
                stage_fail(path, &err);
            return v;
        }
    }
    v = voice_of(s, reciter, reciter == 'a' ? suras_a : suras_b);
    if (folder && mst_voice_save(v, path, &err))
        stage_fail(path, &err);
    return v;
}
