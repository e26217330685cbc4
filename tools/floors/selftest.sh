#!/bin/sh
# Plant violations in a small tree of floors and see that each one is caught, and that what is
# allowed passes.  Usage: selftest.sh FLOORS
set -eu
floors=$1
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT
passed=0 failed=0

fresh() {
    rm -rf "$tree/src" "$tree/include"
    mkdir -p "$tree/src/text" "$tree/src/speech/ear" "$tree/src/typeset" "$tree/include/mistara"
    echo '#include <stdio.h>' >"$tree/include/mistara/base.h"
    echo '#include <mistara/base.h>' >"$tree/include/mistara/text.h"
    echo '#include <mistara/text.h>' >"$tree/include/mistara/take.h"
    : >"$tree/src/text/private.h"
    : >"$tree/src/speech/inner.h"
    echo '#include "private.h"' >"$tree/src/text/a.c"
    echo '#include "../inner.h"' >"$tree/src/speech/ear/b.c"
}

# expect STATUS WHAT: run and compare the exit code.
expect() {
    status=0
    "$floors" "$tree" >"$tree/said" || status=$?
    if [ "$status" -eq "$1" ]; then
        passed=$((passed + 1))
        echo "ok: $2"
    else
        failed=$((failed + 1))
        echo "FAILED: $2 (exit $status instead of $1)"
        cat "$tree/said"
    fi
}

plant() {
    fresh
    mkdir -p "$(dirname "$tree/$1")"
    echo "$2" >>"$tree/$1"
}

fresh
expect 0 "a clean tree passes"
plant src/text/a.c '#include <mistara/take.h>'
expect 1 "a floor that includes one above"
plant src/typeset/c.c '#include <mistara/take.h>'
expect 1 "a floor that includes one beside it"
plant src/speech/ear/b.c '#include "../../text/private.h"'
expect 1 "a private header by a relative path"
plant src/speech/ear/b.c '#include <text/private.h>'
expect 1 "a private header by way of an include folder"
plant src/speech/ear/b.c '#  include "private.h"'
expect 1 "a private header by its bare name"
plant src/text/a.c '#include "../../include/mistara/base.h"'
expect 1 "a public header by way of its file"
plant src/text/a.c '#include <mistara/unheard.h>'
expect 1 "a public header of no known floor"
plant include/mistara/base.h '#include <mistara/text.h>'
expect 1 "a public header that looks up"
plant src/attic/a.c '#include <stdio.h>'
expect 1 "a folder that is no floor"
plant src/speech/ear/b.c '#include <mistara/text.h>'
expect 0 "looking down is allowed"
plant src/speech/private.h ''
echo '#include <private.h>' >>"$tree/src/speech/ear/b.c"
expect 0 "of two headers with one name the own one is meant"
rm -rf "$tree/src" "$tree/include"
expect 2 "an empty tree is no success"

echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
