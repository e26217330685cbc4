/*
 * first.h – a page that comes with what it will ask first (first.c), and the
 * text screen with its words written in it (first_page.c).
 */
#ifndef SERVER_FIRST_H
#define SERVER_FIRST_H

#include "answers.h"

/* What the browser remembers of the last time, as the pages wrote it down; NULL: nothing. */
const char *first_cookie(struct request *page, const char *name);
const char *first_language(struct request *page);
/* The passage that the page will show; NULL: it shows none. */
const char *first_passage(struct request *page);
/* A question of the page's own; it lives as long as the page's request. */
struct request *first_question(struct request *page, const struct route *route);
void first_param(struct request *rq, const char *name, const char *value);
/* How it is read, from the address of the page. */
void first_how(struct request *page, struct request *rq);
/* As JavaScript's encodeURIComponent writes it. */
void first_encoded(struct mst_string *s, const char *text);

/* The answers as a JSON object, for an element of the page. */
void first_answers(struct request *page, struct mst_string *html);
/* Attributes of the html element; the inks of the notation as CSS; the text screen, or nothing. */
void first_attributes(struct request *page, struct mst_string *html);
void first_inks(struct mst_string *css);
void first_screen(struct request *page, struct mst_string *html);

#endif
