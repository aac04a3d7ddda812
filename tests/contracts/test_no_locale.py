"""Names of days and months are written out, since the format codes for them give the words of the machine's locale."""

import re


def test_no_format_code_asks_the_locale(root):
    code = re.compile(r"%-?[aAbBpcxX]\b|%E|%O")
    formats = re.compile(r"strftime\(([^)]*)\)|\{[^{}]*:(%[^{}]*)\}")
    found = [
        f"{path.relative_to(root)}: {match.group(0)}"
        for path in sorted((root / "etsched").rglob("*.py"))
        for match in formats.finditer(path.read_text("utf-8"))
        if code.search(match.group(1) or match.group(2) or "")
    ]
    assert found == []
