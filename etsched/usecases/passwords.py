"""Passwords: what may be one, and the slow hash that is kept of it with its own parameters."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import unicodedata

from etsched.errors import InputRefused, Problem

# Shortest: common practice, no source. Longest: only so that nobody makes the hash of a book be computed.
SHORTEST, LONGEST = 12, 1024
# N, r, p of scrypt (RFC 7914). 32 MiB a try; from memory of the OWASP password storage list, to be verified.
_COST, _BLOCK, _LANES = 2**15, 8, 3
_MOST_BYTES = 64 * 1024 * 1024
_LENGTH = 32


def hash_password(password: str) -> str:
    """Give what is kept of a password: `scrypt$N$r$p$salt$hash`. Raises InputRefused."""
    if not SHORTEST <= len(password) <= LONGEST:
        wrong = f"the password has {len(password)} characters"
        remedy = f"choose one of {SHORTEST} to {LONGEST}; a few words in a row are easy to keep in mind"
        raise InputRefused([Problem("standard input", None, "", wrong, remedy)])
    salt = secrets.token_bytes(16)
    digest = _digest(password, salt, _COST, _BLOCK, _LANES)
    texts = (base64.b64encode(part).decode() for part in (salt, digest))
    return "$".join(["scrypt", str(_COST), str(_BLOCK), str(_LANES), *texts])


def matches(password: str, kept: str) -> bool:
    """Say whether a password is the one a hash was made of; by the parameters that the hash names."""
    _, cost, block, lanes, salt, digest = kept.split("$")
    made = _digest(password[:LONGEST], base64.b64decode(salt), int(cost), int(block), int(lanes))
    return hmac.compare_digest(made, base64.b64decode(digest))


def _digest(password: str, salt: bytes, cost: int, block: int, lanes: int) -> bytes:
    # One form of letters with marks, whichever way a keyboard composes them.
    text = unicodedata.normalize("NFKC", password).encode("utf-8", "surrogatepass")
    return hashlib.scrypt(text, salt=salt, n=cost, r=block, p=lanes, maxmem=_MOST_BYTES, dklen=_LENGTH)


# Tried where nobody has the name, so that the time of an answer does not tell who exists.
NOBODYS = "$".join(["scrypt", str(_COST), str(_BLOCK), str(_LANES), "AAAAAAAAAAAAAAAAAAAAAA==", "A" * 43 + "="])
