"""Results that go to a file: the whole of it or none of it."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from etsched.errors import OutputRefused


def write_result(target: str, text: str) -> None:
    """Write to a file by way of a neighbour that is renamed into place; `-` is standard output.

    Raises OutputRefused with the reason; a file that was there before stays as it was.
    """
    if target == "-":
        _to_standard_output(text)
        return
    path = Path(target)
    try:
        path = path.resolve()  # what a link names is written, the link stays
        if path.exists() and not path.is_file():
            path.write_text(text, encoding="utf-8")  # a device or a pipe takes what it is given
            return
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", newline="", dir=path.parent, delete=False) as draft:
            try:
                draft.write(text)
                draft.flush()
                os.fsync(draft.fileno())
                Path(draft.name).chmod(0o666 & ~_umask())
                Path(draft.name).replace(path)
            except BaseException:
                Path(draft.name).unlink(missing_ok=True)
                raise
    except (OSError, RuntimeError) as error:  # RuntimeError: a loop of links
        said = getattr(error, "strerror", None) or error
        raise OutputRefused(f"{target}: it cannot be written ({said}); name a place that can be.") from error


def _to_standard_output(text: str) -> None:
    """Write a document as UTF-8, whatever the terminal's own encoding is: it is for a program to read."""
    if sys.stdout is None:
        raise OutputRefused("standard output is closed, so the document has nowhere to go; name a file.")
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()


def write_new(target: Path, text: str) -> None:
    """Write a file that must not exist yet. Raises OutputRefused."""
    if target.exists():
        raise OutputRefused(f"{target}: it is there already and stays as it is; name a new file.")
    write_result(str(target), text)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
