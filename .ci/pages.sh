# Sourced by tests/run.sh after venv.sh. What the tests of pages and papers need beyond Python: `find_chromium` looks
# for /usr/bin/chromium and a font as wide as those of most desks, `find_pango` for the libraries that WeasyPrint sets
# PDFs with. As root with apt-get they install Debian's. Without them those tests are skipped and say so.

find_chromium() { has_chromium || from_debian has_chromium Chromium chromium fonts-liberation; }
has_chromium() { [ -x /usr/bin/chromium ] && [ -d /usr/share/fonts/truetype/liberation ]; }

find_pango() {
    has_pango || from_debian has_pango Pango libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core
}
has_pango() { python -c 'import weasyprint' 2>/dev/null; }
