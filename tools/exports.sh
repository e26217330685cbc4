#!/bin/sh
# Print a linker version script that exports the functions the public headers declare, and
# nothing else.  Usage: exports.sh HEADER…
set -eu
echo '{ global:'
cat "$@" | grep -oE '\bmst_[a-z0-9_]+\(' | tr -d '(' | sort -u | sed 's/.*/    &;/'
echo '  local: *; };'
