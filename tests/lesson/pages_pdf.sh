#!/bin/sh
# The PDFs of cards, handouts and slides, held against qpdf and poppler's pdffonts: no damage,
# every font embedded, pages of the size asked for.
# usage: pages_pdf.sh MISTARA
set -eu
mistara=$1
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT

examine() { # file, page size as pdfinfo says it
    qpdf --check "$1" > "$dir/check" 2>&1 || { cat "$dir/check"; exit 1; }
    pdfinfo "$1" | grep -q "Page size: *$2" || { pdfinfo "$1"; exit 1; }
    # two lines of heading; the fifth column from the right is "emb"
    fonts=$(pdffonts "$1" | tail -n +3)
    test -n "$fonts"
    echo "$fonts" | awk '$(NF-4) != "yes" { print "not embedded: " $0; bad = 1 } END { exit bad }'
}

"$mistara" handout ikhfa,qalqala --range 78-80 --passage 67:1-5 -o "$dir/a4.pdf"
examine "$dir/a4.pdf" '595.* x 841'
# every page has its number at the foot, from the first to the last
pages=$(pdfinfo "$dir/a4.pdf" | awk '/^Pages:/ { print $2 }')
"$mistara" handout ikhfa,qalqala --range 78-80 --passage 67:1-5 --lang en -o "$dir/en.pdf"
for page in $(seq "$pages"); do
    pdftotext -f "$page" -l "$page" "$dir/en.pdf" - | sed 's/[^0-9]//g' | grep -qx "$page" || { echo "page $page has no number"; exit 1; }
done
"$mistara" handout ikhfa --range 78-80 --passage 78:1-16 --paper letter --lang ar -o "$dir/letter.pdf"
examine "$dir/letter.pdf" '612 x 792'
"$mistara" handout qalqala --range 112 --passage 112 --slides -o "$dir/slides.pdf"
examine "$dir/slides.pdf" '960 x 540'
"$mistara" handout qalqala --range 112 --passage 112 --slides --dpi 96 -o "$dir/slide.png"
test -s "$dir/slide-1.png"
for what in 1 8 17 qāf ikhfa qalqala tafkhim_ra; do
    "$mistara" card "$what" -o "$dir/card.pdf"
    examine "$dir/card.pdf" '595.* x 419'
done

# refused with words, nothing left behind
if "$mistara" card tree -o "$dir/none.pdf" 2> "$dir/says"; then exit 1; fi
grep -q 'no letter' "$dir/says"
if "$mistara" card sifr_mustadir -o "$dir/none.pdf" 2> "$dir/says"; then exit 1; fi
if "$mistara" handout ikhfa -o "$dir/none.pdf" 2> "$dir/says"; then exit 1; fi
grep -q -e '--passage' "$dir/says"
test ! -e "$dir/none.pdf"
