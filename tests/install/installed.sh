#!/bin/sh
# What `make install` puts down is enough to build and run a program of one's own: headers, the
# shared and the static library, the pkg-config file, the text, the program, its man page.
# Usage: installed.sh BUILD SOURCE
set -eu
build=$1 source=$2
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
passed=0 failed=0
unset MISTARA_TEXT

# expect WHAT COMMAND…: the command ends well.
expect() {
    what=$1
    shift
    if "$@" >"$dir/said" 2>&1; then
        passed=$((passed + 1))
        echo "ok: $what"
    else
        failed=$((failed + 1))
        echo "FAILED: $what"
        cat "$dir/said"
    fi
}

DESTDIR="$dir/root" meson install -C "$build" --no-rebuild --quiet >"$dir/said" 2>&1 ||
    { cat "$dir/said"; exit 1; }
prefix="$dir/root$(meson introspect "$build" --buildoptions |
    sed -n 's/.*"name": "prefix", "value": "\([^"]*\)".*/\1/p')"
libdir=$(dirname "$(find "$prefix" -name libmistara.so)")
export PKG_CONFIG_PATH="$libdir/pkgconfig" PKG_CONFIG_SYSROOT_DIR="$dir/root"

cat >"$dir/own.c" <<'END'
#include <mistara/tajweed.h>
#include <mistara/text.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    struct mst_text *text;
    struct mst_error err;
    if (mst_text_open(argc > 1 ? argv[1] : NULL, &text, &err) != MST_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    struct mst_span word = mst_text_word(text, 112, 1, 4);
    printf("%.*s\n", (int)word.len, word.ptr);
    mst_text_close(text);
    return 0;
}
END
expect "pkg-config knows mistara" pkg-config --exists mistara
expect "a program is built against the shared library" \
    sh -c "cc -std=c17 -Wall -Werror -o '$dir/own' '$dir/own.c' \$(pkg-config --cflags --libs mistara)"
pack="$prefix/share/mistara/mistara.text"
expect "and runs" env LD_LIBRARY_PATH="$libdir" "$dir/own" "$pack"
expect "and reads the text" sh -c "LD_LIBRARY_PATH='$libdir' '$dir/own' '$pack' | grep -q 'أَحَدٌ'"
expect "a program is built against the static library" \
    sh -c "cc -std=c17 -o '$dir/own-static' '$dir/own.c' -I'$prefix/include' '$libdir/libmistara.a' -lm"
# The desk's headers stay at home: the library that is installed ends below it.
expect "each public header can be read by itself" sh -c "
    for where in '$prefix/include' '$source/include'; do
        for header in \"\$where\"/mistara/*.h; do
            name=mistara/\$(basename \"\$header\")
            echo \"#include <\$name>\" | cc -std=c17 -Wall -Wextra -Werror -I\"\$where\" -fsyntax-only -xc - || exit 1
        done
    done"
expect "the shared library shows mst_ names and no others" sh -c "
    nm -D --defined-only '$libdir/libmistara.so' | awk '{ print \$3 }' | grep -v '^mst_' && exit 1
    nm -D --defined-only '$libdir/libmistara.so' | grep -q ' mst_text_open'"
expect "it has a version in its name" sh -c "objdump -p '$libdir/libmistara.so' | grep -q 'SONAME *libmistara.so.[0-9]'"
if [ -e "$prefix/bin/mistara" ]; then
    expect "the program finds its text where it was installed, even when moved" \
        sh -c "'$prefix/bin/mistara' text 112:1 | grep -q 'أَحَدٌ'"
    expect "and its fonts" "$prefix/bin/mistara" sheet 112 -o "$dir/sheet.pdf"
    expect "the man page is there" sh -c "ls '$prefix'/share/man/man1/mistara.1*"
fi
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
