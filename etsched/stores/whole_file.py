"""Files that are there whole or not at all, for their owner alone."""

from __future__ import annotations

import os
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def whole_file(path: Path) -> Iterator[IO[bytes]]:
    """Open a neighbour for writing; it takes the file's place when all of it is on the disk. Raises OSError."""
    with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as draft:
        try:
            yield draft
            draft.flush()
            os.fsync(draft.fileno())
            Path(draft.name).replace(path)
        except BaseException:
            Path(draft.name).unlink(missing_ok=True)
            raise
    _settle(path.parent)


def write_whole(path: Path, data: bytes) -> None:
    """Write a whole file or none. Raises OSError."""
    with whole_file(path) as file:
        file.write(data)


def _settle(folder: Path) -> None:
    """Have the folder's entry on the disk too, where a folder can be opened for that."""
    if os.name == "nt":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
