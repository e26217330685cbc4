#!/bin/sh
# pack-text: other verses, both shapes of file, and sources it must refuse.
# Usage: packer.sh PACK-TEXT QURAN-JSON-FOLDER DIVISIONS SECOND-EDITION
set -eu
packer=$1 quran_json=$2 divisions=$3 second=$4
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
passed=0 failed=0

pack() {
    "$packer" --quran-json "$quran_json" --divisions "$divisions" --output "$dir/out" "$@" \
        >"$dir/said" 2>&1
}

# expect STATUS WORDS WHAT ARGUMENTS…: the exit code, and words that must be said.
expect() {
    wanted=$1 words=$2 what=$3
    shift 3
    rm -f "$dir/out"
    status=0
    pack "$@" || status=$?
    if [ "$status" -eq "$wanted" ] && { [ -z "$words" ] || grep -qF -- "$words" "$dir/said"; } &&
        { [ "$wanted" -eq 0 ] || [ ! -e "$dir/out" ]; }; then
        passed=$((passed + 1))
        echo "ok: $what"
    else
        failed=$((failed + 1))
        echo "FAILED: $what (exit $status)"
        cat "$dir/said"
    fi
}

# Change the verses by an expression on v (a verse of quran.json), sura and verse.
change() {
    node -e '
        const suras = JSON.parse(require("fs").readFileSync(process.argv[1] + "/dist/quran.json"));
        for (const sura of suras) for (const v of sura.verses) eval(process.argv[3]);
        require("fs").writeFileSync(process.argv[2], JSON.stringify(suras));
    ' "$quran_json" "$dir/verses.json" "$1"
}

: >"$dir/said"
change 'v.text = v.text.replace(/[\u064B-\u0652]/g, "")'
expect 0 "" "a stripped text" --verses "$dir/verses.json"
grep -qF "other verses" "$dir/out" && passed=$((passed + 1)) ||
    { failed=$((failed + 1)); echo "FAILED: the version does not say that the verses are others"; }
expect 0 "" "a second edition in its flat shape" --verses "$second"
change 'if (sura.id === 67 && v.id === 3) v.text = v.text.replace(" ", "  ")'
expect 4 "stray space" "two spaces" --verses "$dir/verses.json"
change 'if (sura.id === 67 && v.id === 3) v.text += " "'
expect 4 "stray space" "a space at the end" --verses "$dir/verses.json"
change 'if (sura.id === 67 && v.id === 3) v.text += "\n"'
expect 4 "control" "a line feed" --verses "$dir/verses.json"
change 'if (sura.id === 67 && v.id === 3) v.text = ""'
expect 4 "out of order or empty" "an empty verse" --verses "$dir/verses.json"
change 'if (sura.id === 67 && v.id === 3) v.id = 4'
expect 4 "out of order" "verses out of order" --verses "$dir/verses.json"
change 'if (sura.id === 114) sura.verses.length = 5'
expect 4 "6235 verses instead of 6236" "a verse too few" --verses "$dir/verses.json"
echo '[{"id":1,' >"$dir/verses.json"
expect 4 "verses.json:" "a file that is cut off" --verses "$dir/verses.json"
expect 4 "nowhere.json" "a file that is not there" --verses "$dir/nowhere.json"
expect 2 "not understood" "an unknown option" --colour red
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
