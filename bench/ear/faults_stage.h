/* faults_stage.h – what the benchmarks of the faults share besides stage.h. */
#ifndef BENCH_EAR_FAULTS_STAGE_H
#define BENCH_EAR_FAULTS_STAGE_H

#include "stage.h"

/* A reciter's voice to judge another by; kept in $BENCH_VOICES when that names a folder. */
struct mst_voice *model_voice(const struct stage *s, char reciter);

#endif
