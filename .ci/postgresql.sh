# Sourced by tests/run.sh after venv.sh. `find_postgresql` exports ETSCHED_TEST_POSTGRESQL, the address of a server on
# which the suite may make databases: the one that variable names already; else a private one, started here for this run
# and reached by a socket in its own folder; else, where PostgreSQL's programs are not here, one that answers on this
# machine. As root with apt-get it installs PostgreSQL first where neither is there. ETSCHED_TEST_POSTGRESQL=private
# passes over a server that answers. `stop_postgresql` ends what was started here and nothing else.
#
# The private one comes first because a database is made and dropped several times as fast without fsync, and because
# nobody else's server then holds what a test that was broken off leaves.

PRIVATE_POSTGRESQL='' POSTGRESQL_BIN=''

find_postgresql() {
    local wish=${ETSCHED_TEST_POSTGRESQL:-}
    case $wish in '' | private) unset ETSCHED_TEST_POSTGRESQL ;; *) return 0 ;; esac
    if ! find_pg_ctl; then
        if [ -z "$wish" ] && postgresql_takes postgresql:///postgres; then return 0; fi
        from_debian find_pg_ctl PostgreSQL postgresql || return
        find_pg_ctl || return 0
    fi
    start_postgresql || missing "A private PostgreSQL did not start"
}

# Set ETSCHED_TEST_POSTGRESQL to an address if its server answers and lets us make databases.
postgresql_takes() {
    python - "$1" 2>/dev/null <<'PYTHON' || return 1
import sys
import psycopg

with psycopg.connect(sys.argv[1], connect_timeout=3) as server:
    may = server.execute("SELECT rolcreatedb OR rolsuper FROM pg_roles WHERE rolname = current_user").fetchone()
sys.exit(not may[0])
PYTHON
    export ETSCHED_TEST_POSTGRESQL=$1
}

# The server's programs often lie outside PATH; the newest version is taken.
find_pg_ctl() {
    POSTGRESQL_BIN=$(dirname -- "$(command -v pg_ctl ||
        ls -d /usr/lib/postgresql/*/bin/pg_ctl 2>/dev/null | sort -V | tail -n 1)")
    [ -x "$POSTGRESQL_BIN/pg_ctl" ] && [ -x "$POSTGRESQL_BIN/initdb" ]
}

# The server refuses to run as root, so another user does it there.
as_server() {
    if [ "$(id -u)" != 0 ]; then
        "$@"
    elif id postgres >/dev/null 2>&1; then
        runuser -u postgres -- "$@"
    else
        runuser -u nobody -- "$@"
    fi
}

# Without fsync: no test ends the server's machine, and nothing of it outlives the run. Nobody but us sees its folder.
start_postgresql() {
    PRIVATE_POSTGRESQL=$(mktemp -d /tmp/pg.XXXXXX) || return 1
    [ "$(id -u)" != 0 ] || chown "$(as_server id -u)" "$PRIVATE_POSTGRESQL" || return 1
    (
        cd -- "$PRIVATE_POSTGRESQL"
        as_server "$POSTGRESQL_BIN/initdb" -D data -U etsched -A trust -E UTF8 --locale=C --no-sync >log 2>&1 &&
            as_server "$POSTGRESQL_BIN/pg_ctl" -D data -l server.log -w \
                -o "-c listen_addresses='' -c unix_socket_directories='$PRIVATE_POSTGRESQL' -c fsync=off" start >>log 2>&1
    ) && postgresql_takes "postgresql://etsched@/postgres?host=$PRIVATE_POSTGRESQL" || {
        tail -n 5 "$PRIVATE_POSTGRESQL/log" >&2
        return 1
    }
    say "Started a private PostgreSQL in $PRIVATE_POSTGRESQL for this run."
}

stop_postgresql() {
    [ -n "$PRIVATE_POSTGRESQL" ] || return 0
    (
        cd -- "$PRIVATE_POSTGRESQL"
        [ ! -f data/postmaster.pid ] || as_server "$POSTGRESQL_BIN/pg_ctl" -D data -m immediate -w stop >/dev/null
    ) || say "The private PostgreSQL in $PRIVATE_POSTGRESQL did not stop."
    rm -rf -- "$PRIVATE_POSTGRESQL"
    PRIVATE_POSTGRESQL=''
}
