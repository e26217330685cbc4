#!/bin/sh
# The folder of a built lesson, file by file, looked at by other programs: PDFs by qpdf and pdffonts,
# pictures and media by ffprobe, SVG by xmllint where it is, captions by webvtt-parser (npm), the zip
# by unzip, the page's links by hand.
# usage: build_files.sh TEST-PROGRAM CAPTIONS-CHECK.mjs
set -eu
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
folder=$dir/lesson
"$1" make "$folder"
test ! -e "$folder.zip.part"
test "$(ls "$dir" | wc -l)" = 2 # the folder and its zip, nothing beside

seen_pdf=0 seen_png=0 seen_sound=0 seen_film=0
for file in $(find "$folder" -type f | sort); do
    case $file in
    *.pdf)
        qpdf --check "$file" > "$dir/said" 2>&1 || { cat "$dir/said"; exit 1; }
        pdffonts "$file" | tail -n +3 | awk '$(NF-4) != "yes" { print; bad = 1 } END { exit bad }'
        seen_pdf=$((seen_pdf + 1)) ;;
    *.png)
        test "$(ffprobe -v error -show_entries stream=codec_name -of csv=p=0 "$file")" = png
        case $file in */slides/*)
            test "$(ffprobe -v error -show_entries stream=width,height -of csv=p=0 "$file")" = 1920,1080 ;;
        esac
        seen_png=$((seen_png + 1)) ;;
    *.flac)
        test "$(ffprobe -v error -show_entries stream=codec_name -of csv=p=0 "$file")" = flac
        seen_sound=$((seen_sound + 1)) ;;
    *.mp4)
        ffprobe -v error -show_entries stream=codec_name,r_frame_rate,width -of csv=p=0 "$file" > "$dir/said"
        grep -q '^h264,1920,30/1' "$dir/said" && grep -q '^aac' "$dir/said" || { cat "$dir/said"; exit 1; }
        seen_film=$((seen_film + 1)) ;;
    *.svg) head -c 400 "$file" | grep -q '<svg' ;;
    *.srt | *.ass) ffprobe -v error "$file" ;;
    *.vtt) node "$2" "$file" ;;
    */index.html | */lesson.txt) ;;
    *) echo "what is $file?"; exit 1 ;;
    esac
done
echo "$seen_pdf PDFs, $seen_png pictures, $seen_sound sounds, $seen_film films"
test "$seen_pdf" -ge 10 -a "$seen_png" -ge 8 -a "$seen_sound" -ge 5 -a "$seen_film" = 1

# slower sound lasts longer, by the share asked
lasts() { ffprobe -v error -show_entries format=duration -of csv=p=0 "$folder"/sound/*"$1".flac; }
echo "$(lasts slow-60) $(lasts slow-90)" | awk '{ r = $1 / $2; exit !(r > 1.45 && r < 1.55) }'

# the page leads to every file, and to nothing else; nothing is fetched
grep -oE '(href|src)="[^"]*"' "$folder/index.html" | sed 's/.*="//; s/"$//' | sort -u > "$dir/links"
(cd "$folder" && find . -type f ! -name index.html | sed 's|^\./||' | sort -u) > "$dir/files"
diff "$dir/links" "$dir/files"
! grep -qE 'https?://[^ ]*\.(css|js)|<script' "$folder/index.html"
grep -q 'lang="ar" dir="rtl"' "$folder/index.html"
grep -q '&amp; its &lt;echo&gt;' "$folder/index.html"

# the zip holds the same, with one date, and is the same again
unzip -tq "$folder.zip"
unzip -q "$folder.zip" -d "$dir/again"
diff -r "$folder" "$dir/again/lesson"
test "$(unzip -l "$folder.zip" | awk '/lesson\// { print $2 }' | sort -u)" = 1980-01-01

# the lesson's own file is read again
grep -q '^order: 67' "$folder/lesson.txt"
