"""Answers of weather feeds as they came, compressed, one file a distinct answer: the record behind every value.

What was known at any time can be read again from here, so a forecast that is revised keeps its history. An answer is
distinct when its weather is; the same weather asked again only moves the time at which it was last confirmed.
"""

from __future__ import annotations

import gzip
import json
import re
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from etsched.errors import OutputRefused
from etsched.http_client import RawBody
from etsched.stores.whole_file import write_whole

_STAMP = "%Y%m%dT%H%M%S%fZ"


@dataclass(frozen=True, slots=True)
class KeptBody:
    """One distinct answer: when it first came, which revision it is, what it said (and when that was confirmed)."""

    raw: RawBody
    first_fetched: datetime
    revision: int


class WeatherBodies:
    """Kept answers under one directory: `FEED/PLACE/STAMP-DIGEST.json.gz`, and `last.json` beside them."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def keep(self, feed: str, place: str, raw: RawBody, digest: str) -> KeptBody:
        """Keep an answer whose weather has this digest; nothing is written twice. Raises OutputRefused."""
        folder = self._folder(feed, place)
        known = _revisions(folder)
        same = known[-1] if known and known[-1].name.split("-")[1].startswith(digest[:16]) else None
        path = same or folder / f"{raw.fetched.strftime(_STAMP)}-{digest[:16]}.json.gz"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            if same is None:
                write_whole(path, gzip.compress(_packed(raw), mtime=0))
            write_whole(folder / "last.json", json.dumps({"fetched": raw.fetched.isoformat()}).encode())
        except OSError as error:
            raise OutputRefused(f"{folder}: weather cannot be kept here ({error.strerror}).") from error
        return KeptBody(raw, _stamp_of(path), len(known) + (same is None))

    def latest(self, feed: str, place: str) -> KeptBody | None:
        """Give the newest distinct answer, its time moved to when it was last confirmed; None where there is none."""
        kept = self.history(feed, place)
        if not kept:
            return None
        try:
            confirmed = datetime.fromisoformat(
                json.loads((self._folder(feed, place) / "last.json").read_bytes())["fetched"]
            )
        except (OSError, ValueError, KeyError, TypeError):
            return kept[-1]
        return replace(kept[-1], raw=replace(kept[-1].raw, fetched=max(confirmed, kept[-1].raw.fetched)))

    def history(self, feed: str, place: str) -> list[KeptBody]:
        """Give every distinct answer in the order in which it came; files that cannot be read are passed over."""
        found = []
        for revision, path in enumerate(_revisions(self._folder(feed, place)), start=1):
            try:
                found.append(KeptBody(_unpacked(gzip.decompress(path.read_bytes())), _stamp_of(path), revision))
            except (OSError, EOFError, ValueError, KeyError, TypeError):
                continue
        return found

    def forget(self, before: datetime) -> int:
        """Remove answers that a newer one took the place of before an instant; gives how many. Raises OutputRefused."""
        forgotten_count = 0
        for folder in sorted(self._root.glob("*/*")):
            kept = _revisions(folder)
            for path, next_one in pairwise(kept):
                if _stamp_of(next_one) >= before:
                    break
                try:
                    path.unlink(missing_ok=True)  # another instance may have been here
                except OSError as error:
                    raise OutputRefused(f"{path}: it cannot be removed ({error.strerror}).") from error
                forgotten_count += 1
        return forgotten_count

    def _folder(self, feed: str, place: str) -> Path:
        return self._root / _slug(feed) / _slug(place)


def _revisions(folder: Path) -> list[Path]:
    return sorted(folder.glob("*-*.json.gz")) if folder.is_dir() else []


def _slug(text: str) -> str:
    """Make a name safe for a folder: letters, digits, dots, dashes."""
    return re.sub(r"[^A-Za-z0-9.+-]+", "_", text).strip(".") or "_"


def _stamp_of(path: Path) -> datetime:
    return datetime.strptime(path.name.split("-")[0], _STAMP).replace(tzinfo=UTC)


def _packed(raw: RawBody) -> bytes:
    head = asdict(raw) | {"fetched": raw.fetched.isoformat(), "body": None}
    return json.dumps(head, sort_keys=True).encode() + b"\n" + raw.body


def _unpacked(data: bytes) -> RawBody:
    head, _, body = data.partition(b"\n")
    fields = json.loads(head)
    return RawBody(**fields | {"fetched": datetime.fromisoformat(fields["fetched"]), "body": body})
