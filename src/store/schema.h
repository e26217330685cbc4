/*
 * schema.h – the shape of the book's tables, step by step. A step that was
 * ever released is never edited: a change is a new step. tests/store brings
 * books of every earlier version forward.
 */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

enum { SCHEMA_VERSION = 3 };
/* schema_steps[n] leads from version n to n + 1. */
extern const char *const schema_steps[SCHEMA_VERSION];

#endif
