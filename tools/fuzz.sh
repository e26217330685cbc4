#!/bin/sh
# Run the fuzz targets for longer than the tests do, with a seed of the day unless SEED is given.
# Usage: BUILD=build tools/fuzz.sh ITERATIONS
set -eu
build=${BUILD:-build}
iterations=${1:-20000}
seed=${SEED:-$(date +%Y%m%d)}
cases=tests/fuzz
export MISTARA_TEXT="$build/data/mistara.text"
ninja -C "$build" --quiet
echo "seed $seed"
"$build/tests/fuzz/fuzz-passage" --seed "$seed" --iterations "$((iterations * 10))" \
    --lines $cases/passages.txt
"$build/tests/fuzz/fuzz-pack" --seed "$seed" --iterations "$((iterations / 10))" \
    "$build/tests/text/small.text" $cases/cases/pack
"$build/tests/fuzz/fuzz-search" --seed "$seed" --iterations "$((iterations / 20))" \
    --lines $cases/queries.txt
