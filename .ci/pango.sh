# Sourced by tests/run.sh after venv.sh. `find_pango` looks for the libraries that WeasyPrint sets PDFs with; as root
# with apt-get it installs Debian's where they are missing. Without them the tests of PDFs are skipped and say so; where
# everything must run (CI=true), that is a failure.

find_pango() {
    has_pango || install_pango || {
        say "Pango is missing: apt-get install -y libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0."
        if [ "${CI:-}" = true ]; then
            say "CI=true wants every test to run."
            return 1
        fi
    }
}

has_pango() { python -c 'import weasyprint' 2>/dev/null; }

install_pango() {
    [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null || return 1
    say "Pango is missing; as root, installing it with apt-get."
    apt-get update -qq >&2 || say "apt-get update failed; trying with the lists that are there."
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-liberation >&2 || return 1
    has_pango
}
