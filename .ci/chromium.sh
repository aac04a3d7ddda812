# Sourced by tests/run.sh after venv.sh. `find_chromium` looks for /usr/bin/chromium, which the tests in tests/browser/
# drive; as root with apt-get it installs Debian's where that is missing. Without it those tests are skipped and say so;
# where everything must run (CI=true), that is a failure.

find_chromium() {
    [ -x /usr/bin/chromium ] || install_chromium || {
        say "Chromium is missing: apt-get install -y chromium."
        if [ "${CI:-}" = true ]; then
            say "CI=true wants every test to run."
            return 1
        fi
    }
}

install_chromium() {
    [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null || return 1
    say "Chromium is missing; as root, installing it with apt-get."
    apt-get update -qq >&2 || say "apt-get update failed; trying with the lists that are there."
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium fonts-liberation >&2 || return 1
    [ -x /usr/bin/chromium ]
}
