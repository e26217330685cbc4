/* What a fuzz target offers. */
#ifndef FUZZ_TARGET_H
#define FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>

/* libFuzzer's entry point: must come back from any input. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len);
/* Give back what the target keeps between inputs. */
void fuzz_target_end(void);

#endif
