#!/bin/sh
# The sample pages of docs/gallery, drawn anew.
# Usage: tools/gallery.sh      (the program is taken from $MISTARA, or $BUILD/mistara)
set -eu
cd "$(dirname "$0")/.."

mistara=${MISTARA:-${BUILD:-build}/mistara}
[ -x "$mistara" ] || {
    echo "gallery: $mistara is not built yet; “make build” builds it" >&2
    exit 1
}
folder=docs/gallery
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$folder"

# draw NAME PAGE-OF-THE-SHEET ARGUMENTS… (page "last": the key's own)
draw() {
    name=$1
    page=$2
    shift 2
    "$mistara" sheet "$@" --dpi 108 -o "$work/$name.png" >/dev/null
    if [ "$page" = last ]; then
        page=$(ls "$work" | sed -n "s/^$name-\([0-9]*\)\.png$/\1/p" | sort -n | tail -n 1)
    fi
    if [ -e "$work/$name-$page.png" ]; then
        cp "$work/$name-$page.png" "$folder/$name.png"
    else
        cp "$work/$name.png" "$folder/$name.png"
    fi
}

# Some rules of one page, with their names.
draw marked 1 67:1-5 --rule hide,echo,nasal,madd_muttasil,madd_munfasil,madd_arid,idgham_bila_ghunna \
    --title 'Sura al-Mulk, first verses' --class 'Evening class, town library'

# A lesson's two rules, fading from the first line to the last, in the plainer type.
draw fading 1 67:1-8 --rule ikhfa,qalqala --fade --font scheherazade \
    --title 'The hidden nūn and the echo letters' --class 'Evening class, town library'

# The key: what the signs of a sura mean, in both languages.
draw key last 78 --key page \
    --rule hide,echo,madd,turn,nasal,clear,weight,silent,seam,own,lam,idgham_bila_ghunna

# The desk's pages, where a browser is at hand: both languages and themes among them.
browser=${CHROMIUM:-/usr/bin/chromium}
if [ -x "$browser" ] && [ -d node_modules/playwright-core ]; then
    build=$(cd "$(dirname "$mistara")" && pwd)
    MISTARA_BUILD_ROOT=$build MISTARA_SOURCE_ROOT=$(pwd) MISTARA_TEXT=$build/data/mistara.text \
        node tools/gallery-desk.mjs "$work" >/dev/null
    cp "$work"/desk-*.png "$folder"
else
    echo "gallery: no browser at $browser; the pictures of the desk stay as they are" >&2
fi

# A progress page of a made-up learner.
progress=${BUILD:-build}/tests/lesson/know/test-know-progress
if [ -x "$progress" ]; then
    "$progress" "$work"
    cp "$work/learner-en.png" "$folder/progress.png"
fi

echo "gallery: $(ls "$folder" | wc -l) pages in $folder"
