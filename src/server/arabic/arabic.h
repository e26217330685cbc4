/*
 * server/arabic/arabic.h – what a teacher is told, in Arabic. Every floor says what went wrong in
 * one English sentence (struct mst_error and its like); some of them are kept: why work failed,
 * what a recording was refused for. Here the sentence is looked up by its fixed words, and what
 * stands in its blanks is carried over. A test holds the tables against the sentences of all
 * floors.
 */
#ifndef MISTARA_SERVER_ARABIC_H
#define MISTARA_SERVER_ARABIC_H

#include <mistara/base.h>

/*
 * en: the sentence; %s stands for words, %d for a number. Blanks that follow one another are one.
 * ar: %1 … %9 are the blanks in their order in en. What stands between { and } is written from left
 *     to right, as in a file or a command, its blanks as they were; other blanks are told in Arabic
 *     where the tables have them, unless en puts them in “quotes”.
 */
struct said {
    const char *en, *ar;
};
/* Each ends with {NULL, NULL}. */
extern const struct said said_text[], said_lesson[], said_sound[], said_desk[], said_noun[];

/* Adds the sentence in Arabic; 0: the tables do not have it, and nothing was added. */
int arabic_find(struct mst_span sentence, struct mst_string *out);
/* The same, and for a sentence that the tables do not have one that says so and quotes it. */
void arabic_of(const char *sentence, struct mst_string *out);

#endif
