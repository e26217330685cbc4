/*
 * peers.h – general-purpose libraries at a like task, for scale beside the
 * ear's own figures. Each returns processor time in ms, or -1 when the library
 * was not there when this was built; *what says what was done.
 */
#ifndef BENCH_EAR_PEERS_H
#define BENCH_EAR_PEERS_H

#include <stddef.h>

double peer_features_ms(const float *samples, size_t count, const char **what);
double peer_decoding_ms(const float *samples, size_t count, const char **what);

#endif
