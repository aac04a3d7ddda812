"""The door: `etsched` and `python -m etsched`."""

from __future__ import annotations

from etsched.cli.entry import main

if __name__ == "__main__":
    main()
