/*
 * schema.h – the shape of the book's tables, step by step. A step that was
 * ever released is never edited: a change is a new step. tests/store brings
 * books of every earlier version forward.
 */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

#include <mistara/base.h>

enum { SCHEMA_VERSION = 7 };
/* schema_steps[n] leads from version n to n + 1. */
extern const char *const schema_steps[SCHEMA_VERSION];

/* A step as PostgreSQL says it: the same text with the words for types and tables replaced. */
void schema_for_postgresql(const char *step, struct mst_string *out);
/* The names of all tables, one after another: *step and *at begin as 0; 0: that was all. */
int schema_table_next(size_t *step, size_t *at, struct mst_span *name);

#endif
