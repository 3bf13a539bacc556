"""Secrets that are handed out once and kept only as a hash.

A token is drawn with so many bits that guessing it, or searching for what gives its hash, is out of
reach; so one round of SHA-256 is enough, and the hash can be looked up by an index.
"""

import hashlib
import hmac
import secrets

_TOKEN_BYTES = 32
_LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789"
"""No letter that is taken for another or for a digit when it is read aloud or typed."""
_CODE_LETTERS = 12


def drawn() -> str:
    """Draw a token for a machine to keep. [256 bits]"""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def drawn_code() -> str:
    """Draw a code that a person can type. [58 bits, for a secret of a few minutes]"""
    return "".join(secrets.choice(_LETTERS) for _ in range(_CODE_LETTERS))


def typed(code: str) -> str:
    """Give a code as it was drawn, however it was typed.

    >>> typed("abcd efgh-jkmn")
    'ABCDEFGHJKMN'
    """
    return "".join(letter for letter in code.upper() if letter in _LETTERS)


def spaced(code: str) -> str:
    """Write a code in groups of four.

    >>> spaced("ABCDEFGHJKMN")
    'ABCD-EFGH-JKMN'
    """
    return "-".join(code[at : at + 4] for at in range(0, len(code), 4))


def hashed(token: str) -> str:
    """Give what is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def same(one: str, other: str) -> bool:
    """Compare two secrets, or two hashes, in a time that tells nothing of where they differ."""
    return hmac.compare_digest(one.encode(), other.encode())
