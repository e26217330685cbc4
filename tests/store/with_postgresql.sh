#!/bin/sh
# Run programs one after another beside a PostgreSQL of their own, which ends with them: made in a
# temporary folder that nobody else may enter, by an ordinary user (PostgreSQL refuses to run as root),
# heard on a Unix socket alone.  MISTARA_TEST_DATABASE tells them where it is.
# Usage: with_postgresql.sh PROGRAM…   or   with_postgresql.sh [--listen ADDRESS] --run PROGRAM ARGUMENT…
#   --listen ADDRESS   at this address too (port 5432), for whoever has one that begins alike (/24)
set -eu
address=
if [ "${1:-}" = --listen ]; then
    address=$2
    shift 2
fi

programs=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
if [ -z "$programs" ]; then
    echo "skipped: PostgreSQL's server is not installed (tools/setup.sh installs it)"
    exit 77
fi

folder=$(mktemp -d "${TMPDIR:-/tmp}/mistara-pg-XXXXXX")
if [ "$(id -u)" -eq 0 ]; then
    chown postgres "$folder"
    as_user() { (cd / && runuser -u postgres -- "$@"); }
else
    as_user() { "$@"; }
fi
end() {
    as_user "$programs/pg_ctl" -D "$folder/data" -m immediate -s stop >/dev/null 2>&1 || :
    rm -rf "$folder"
}
trap end EXIT
trap 'exit 1' INT TERM

as_user "$programs/initdb" -D "$folder/data" -U mistara -A trust -E UTF8 --locale=C --no-sync \
    --no-instructions >"$folder.log" 2>&1 || { cat "$folder.log"; exit 1; }
rm -f "$folder.log"
[ -z "$address" ] || echo "host all all $address/24 trust" >>"$folder/data/pg_hba.conf"
# Tests of what is kept when the power goes are not run here, and a kill of the program loses nothing;
# measurements want MISTARA_TEST_FSYNC=on.
as_user "$programs/pg_ctl" -D "$folder/data" -l "$folder/data/log" -s -w -o "-c fsync=${MISTARA_TEST_FSYNC:-off} \
-c listen_addresses='$address' -c unix_socket_directories=$folder -c max_connections=100" start ||
    { cat "$folder/data/log"; exit 1; }
MISTARA_TEST_DATABASE="postgresql:///postgres?host=$folder&user=mistara"
MISTARA_TEST_CLUSTER=$folder/data
# The database killed and started again.
cat >"$folder/restart" <<END
#!/bin/sh
as=; [ "\$(id -u)" -ne 0 ] || as='runuser -u postgres --'
cd / && exec \$as "$programs/pg_ctl" -D "$folder/data" -l "$folder/data/log" -m immediate -s -w restart
END
chmod 755 "$folder/restart"
MISTARA_TEST_RESTART=$folder/restart
export MISTARA_TEST_DATABASE MISTARA_TEST_CLUSTER MISTARA_TEST_RESTART

if [ "${1:-}" = --run ]; then
    shift
    "$@"
    exit
fi
failed=0
for program in "$@"; do
    "$program" || failed=1
done
exit $failed
