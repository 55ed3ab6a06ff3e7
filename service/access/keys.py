"""Keys of callers: how one is made, and the digest that stands for it wherever it is stored or compared."""

from __future__ import annotations

import hashlib
import secrets

PREFIX = "tlk_"  # by which scanners of files and logs know a key
_RANDOM_BYTES = 32


def new_key() -> str:
    """A new key of 256 random bits, in letters that stand in a header or an address as they are."""
    return PREFIX + secrets.token_urlsafe(_RANDOM_BYTES)


def is_blank(key: str) -> bool:
    """Whether there is no key: nothing, or what cannot be seen."""
    return not any(sign.isprintable() and not sign.isspace() for sign in key)


def digest_of(key: str) -> str:
    """SHA-256 of a key as 64 hexadecimal digits, which tell nothing of a random key.

    >>> digest_of("abc")[:16]  # FIPS 180-4, example of one block
    'ba7816bf8f01cfea'
    """
    return hashlib.sha256(key.encode()).hexdigest()
