"""What the package imports from outside is what pyproject.toml says it needs, and the other way round."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path

# Distributions whose import name differs, and data that is used without being imported.
IMPORT_NAMES = {"prometheus-client": "prometheus_client", "jinja2": "jinja2", "pydantic": "pydantic", "tzdata": None}
BROUGHT_ALONG = {"pydantic_core": "pydantic"}


def outside_imports(package: Path) -> set[str]:
    found = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                found.add(node.module.split(".")[0])
    return {BROUGHT_ALONG.get(name, name) for name in found - set(sys.stdlib_module_names) - {"etsched"}}


def test_every_import_is_declared_and_every_declaration_used(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    needed = (*project["dependencies"], *project["optional-dependencies"]["pdf"])
    declared = {re.split(r"[<>=!~\[; ]", line)[0].lower() for line in needed}
    imported = {IMPORT_NAMES.get(name, name) for name in declared} - {None}
    assert outside_imports(root / "etsched") == imported


def test_an_undeclared_import_is_found(tmp_path: Path) -> None:
    (tmp_path / "stray.py").write_text("import requests.sessions\nfrom os import path\n", encoding="utf-8")
    assert outside_imports(tmp_path) == {"requests"}
