/*
 * answers.h – answers that hang on the question alone, kept while they fit. A
 * held answer stays as it is, whoever asks meanwhile, until it is let go; any
 * thread may hold and let go. All of them are let go before the desk closes.
 */
#ifndef SERVER_ANSWERS_H
#define SERVER_ANSWERS_H

#include "desk.h"

struct answer;

MST_MUST_CHECK enum mst_status answers_open(struct desk *desk, struct mst_error *err);
void answers_close(struct answers *all);
/* The kept answer to the request's route and parameters, held; NULL: it has to be made. */
struct answer *answer_find(const struct request *rq);
/* A body as made by the route's handler becomes an answer, held. Takes the body; NULL, and the body
 * is left where it is, when memory ran out. */
struct answer *answer_keep(const struct request *rq, struct mst_string *body);
void answer_let_go(void *answer);
const char *answer_etag(const struct answer *a);
struct mst_span answer_body(const struct answer *a);
struct mst_span answer_packed(const struct answer *a); /* gzip; empty: as it is */

#endif
