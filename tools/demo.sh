#!/bin/sh
# A lesson, from passage to paper.  A weekly evening class in a town library meets the hidden nūn
# (ikhfāʾ) and the echo letters (qalqala) in the first verses of sura 67.  Leaves what the teacher
# prints and looks things up in, in a folder, and says what each is for.
#
# Usage: tools/demo.sh [FOLDER]      (default: demo; the program is taken from $BUILD or build)
set -eu
cd "$(dirname "$0")/.."

mistara=${MISTARA:-${BUILD:-build}/mistara}
folder=${1:-demo}
passage=67:1-5
rules=ikhfa,qalqala
title='The hidden nūn and the echo letters'
class='Evening class, town library · Tuesday, 7 o’clock'

[ -x "$mistara" ] || {
    echo "demo: $mistara is not built yet; “make build” builds it" >&2
    exit 1
}
mkdir -p "$folder"

# The sheet to hand out: marks, and the rules' names in the margin.
"$mistara" sheet $passage --rule $rules --title "$title" --class "$class" --key none \
    -o "$folder/1-marked.pdf" >/dev/null

# The same passage for practice at home: full marks in the first line, none in the last.
"$mistara" sheet $passage --rule $rules --title "$title" --class "$class" --key none --fade \
    -o "$folder/2-faded.pdf" >/dev/null

# The key to the marks: the last page of a sheet that brings it on a page of its own.
"$mistara" sheet $passage --rule $rules --title "$title" --class "$class" --key page \
    -o "$folder/with-key.pdf" >/dev/null
qpdf --warning-exit-0 "$folder/with-key.pdf" --pages . z -- "$folder/3-key.pdf"
rm "$folder/with-key.pdf"

# For the teacher: every place with its reason, to read and for a spreadsheet.
"$mistara" sites $passage --rule $rules >"$folder/4-sites.txt"
"$mistara" sites $passage --rule $rules --csv >"$folder/4-sites.csv"

# For a learner who hears the screen read or cannot see the marks: the sheet in words.
"$mistara" sheet $passage --rule $rules --title "$title" --class "$class" \
    -o "$folder/5-in-words.txt" >/dev/null

places=$("$mistara" sites $passage --rule $rules --json | wc -l)
cat <<END

An evening in a town library: $title, sura 67, verses 1 to 5.
$places places are marked. In $(cd "$folder" && pwd):

  1-marked.pdf    to print and hand out: the verses, marked, rule names in the margin
  2-faded.pdf     for practice at home: the marks fade from line to line
  3-key.pdf       what each mark means, in English and Arabic
  4-sites.txt     for the teacher: every place with its reason (4-sites.csv for a spreadsheet)
  5-in-words.txt  the sheet in plain text, for a screen reader

END
