/* What every test of this folder starts with: cmocka wants these headers before its own. */
#ifndef TEST_BASE_TEST_H
#define TEST_BASE_TEST_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/base.h>

#endif
