"""A site file to start from, with a comment on how to learn each number."""

from __future__ import annotations

from importlib import resources


def starter_site() -> str:
    """Give the text of a commented site file of an invented place, which can be read as it stands."""
    return resources.files("etsched.documents").joinpath("starter.toml").read_text("utf-8")
