#!/bin/sh
# Run a test with a network of its own: a bridge, to which the test ties namespaces that stand for
# machines, and a PostgreSQL listening on it.  Ends with 77 (skipped) where that is not allowed; with
# --plain it is the other way round: there the test is run without a network of its own, and skipped
# where it is run with one.  So it is always one of the two.
# Usage: school_net.sh [--plain] WITH_POSTGRESQL PROGRAM ARGUMENT…
set -eu
plain=
if [ "$1" = --plain ]; then
    plain=yes
    shift
fi
with_postgresql=$1
shift
name=mst$$
allowed=
if [ "$(id -u)" -eq 0 ] && command -v ip >/dev/null &&
    { ip netns add "$name" && ip link add "$name" type bridge; } 2>/dev/null; then
    allowed=yes
fi
end() {
    ip netns del "$name" 2>/dev/null || :
    for space in $(ip netns list 2>/dev/null | sed -n "s/^\($name-[a-z0-9]*\).*/\1/p"); do ip netns del "$space"; done
    ip link del "$name" 2>/dev/null || :
}
trap end EXIT
trap 'exit 1' INT TERM
if [ -n "$plain" ]; then
    if [ -n "$allowed" ]; then
        echo "skipped: on this machine it is run with a network of its own (server-school-net)"
        exit 77
    fi
    sh "$with_postgresql" --run "$@"
    exit
fi
if [ -z "$allowed" ]; then
    echo "skipped: this machine allows no network namespaces (server-school is run instead)"
    exit 77
fi
subnet=10.$((64 + $$ / 250 % 128)).$(($$ % 250))
ip addr add "$subnet.1/24" dev "$name"
ip link set "$name" up
MISTARA_TEST_BRIDGE=$name MISTARA_TEST_SUBNET=$subnet sh "$with_postgresql" --listen "$subnet.1" --run "$@"
