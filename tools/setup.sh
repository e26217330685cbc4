#!/bin/sh
# Install what Mistara needs to be built and tested on a bare Debian 12: Debian packages, and the
# npm packages that package-lock.json pins by integrity.  Quiet when all is there.
# Usage: tools/setup.sh   (as root, or with sudo at hand)
set -eu
cd "$(dirname "$0")/.."

# One package a line, sorted; say on the line what it is for where the name does not.
debian_packages=$(sed 's/#.*//' <<'END'
ca-certificates
chromium                  # the browser that pages are compared with
clang-format-14
ffmpeg                    # makes and measures sound in tests
fonts-sil-gentiumplus     # titles and names on the sheet
gcc
git
iproute2                  # machines of their own for the test of a school
libarchive-dev            # the tar file of a backup
libavcodec-dev
libavformat-dev
libavutil-dev
libc6-dev
libcairo2-dev
libcmocka-dev
libfftw3-dev
libfribidi-dev
libghmm-dev               # hidden Markov models, the yardstick of what is known
libglpk-dev               # the smallest set of verses
libgnutls28-dev
libgsl-dev                # minimisers, the yardstick of when to hear again
libharfbuzz-dev
libjansson-dev
libmicrohttpd-dev
libminizip-dev            # a lesson's folder as one file
libpcre2-dev              # the yardstick of bench/
libpq-dev                 # the book of a school
libqrencode-dev           # the code on a learner's card
librubberband-dev        # slower sound at the same pitch
libseccomp-dev
libsodium-dev
libsqlite3-dev
libswresample-dev
make
mandoc                    # the lint of the man page
meson
mupdf-tools               # reads in tests what a sheet says
ninja-build
nodejs
npm
openssl                   # a certificate for the test of the desk
pkg-config
poppler-utils             # reads the pages back in tests
postgresql                # its tests: a server of their own
qpdf
unzip                     # looks into a lesson's zip in tests
valgrind
woff2                     # the fonts come so, layout wants TrueType
zbar-tools                # reads the code on a card in tests
zlib1g-dev
END
)

missing=
for package in $debian_packages; do
    # What was installed by other means (node from elsewhere) counts when its command is there.
    case $package in
    nodejs) command -v node >/dev/null && continue ;;
    npm) command -v npm >/dev/null && continue ;;
    esac
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
        missing="$missing $package"
done

if [ -n "$missing" ]; then
    if [ "$(id -u)" -eq 0 ]; then
        as_root=
    elif command -v sudo >/dev/null; then
        as_root=sudo
    else
        echo "setup: these Debian packages are missing, and installing them needs root:$missing" >&2
        exit 1
    fi
    echo "setup: installing$missing"
    log=$(mktemp)
    if ! { $as_root apt-get update &&
        $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends \
            $missing; } >"$log" 2>&1 </dev/null; then
        cat "$log" >&2
        rm -f "$log"
        exit 1
    fi
    rm -f "$log"
fi

# node_modules is right when the copy of the lock file that npm ci was run with is still the same.
if ! cmp -s package-lock.json node_modules/.mistara-lock.json; then
    echo "setup: fetching the npm packages of package-lock.json"
    npm ci --silent </dev/null
    cp package-lock.json node_modules/.mistara-lock.json
fi
