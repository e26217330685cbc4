/*
 * print_sounds.h – the engine's sounds against the print: a printed shadda is
 * a doubled sound, a printed vowel is heard with its own quality, a letter
 * with vowel, shadda or sukūn sounds as itself; and the other way about.
 */
#ifndef TEST_ORACLE_PRINT_SOUNDS_H
#define TEST_ORACLE_PRINT_SOUNDS_H

#include "print_marks.h"

/* Both must hold the same letters. Tells each disagreement on stdout; returns how many. checked:
 * how many printed signs were compared. */
int sounds_disagree(const struct print_reading *p, const struct mst_reading *r, int *checked);

#endif
