#!/bin/sh
# One font file as the layout wants it: woff2 unpacked to TrueType, TrueType as it is.
# Usage: unpack.sh IN OUT
set -eu
case $1 in
*.woff2)
    # woff2_decompress writes beside its input, under the input's name
    folder=$(mktemp -d)
    trap 'rm -rf "$folder"' EXIT
    cp "$1" "$folder/font.woff2"
    woff2_decompress "$folder/font.woff2" >/dev/null
    cp "$folder/font.ttf" "$2"
    ;;
*)
    cp "$1" "$2"
    ;;
esac
