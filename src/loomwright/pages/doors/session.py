"""What does the cookie of a session hold, and is it one of ours?

A device's id, a word of 128 random bits and a signature over both by the shelf's secret (HMAC with SHA-256, RFC 2104).
The shelf keeps the digest of the word: a session can be ended there, and a stolen file of devices opens nothing.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from base64 import urlsafe_b64encode
from dataclasses import dataclass

__all__ = ["Session", "cookie_name", "cookie_text", "new_word", "session_of", "word_digest"]

_WORD_BYTES = 16
_LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What a cookie of ours says. digest: of its word."""

    device: str
    digest: bytes


def new_word() -> str:
    """A word for a session that nobody can guess."""
    return _text(secrets.token_bytes(_WORD_BYTES))


def word_digest(word: str) -> bytes:
    """What is kept of it."""
    return hashlib.sha256(word.encode()).digest()


def cookie_text(device: str, word: str, key: bytes) -> str:
    """The cookie of a device's session."""
    return f"{device}.{word}.{_signature(device, word, key)}"


def session_of(cookie: str, key: bytes) -> Session | None:
    """What a cookie says; None where it was not signed with this key.

    Example:
        >>> session_of(cookie_text("ab12", "word", b"k" * 32), b"k" * 32).device
        'ab12'
        >>> session_of(cookie_text("ab12", "word", b"k" * 32), b"other" * 8) is None
        True
    """
    pieces = cookie.split(".") if len(cookie) <= _LONGEST and cookie.isascii() else []
    if len(pieces) != len(("device", "word", "signature")):
        return None
    device, word, signature = pieces
    if not hmac.compare_digest(signature, _signature(device, word, key)):
        return None
    return Session(device=device, digest=word_digest(word))


def cookie_name(key: bytes, *, is_secure: bool) -> str:
    """What the cookie is called: two shelves of one machine keep theirs apart, since ports do not.

    `__Host-` holds a browser to what it promises (RFC 6265bis): sent over TLS, to this host alone.
    """
    own = hashlib.sha256(b"name" + key).hexdigest()[:8]
    return f"{'__Host-' if is_secure else ''}shelf-{own}"


def _signature(device: str, word: str, key: bytes) -> str:
    return _text(hmac.new(key, f"session {device} {word}".encode(), hashlib.sha256).digest())


def _text(data: bytes) -> str:
    return urlsafe_b64encode(data).decode().rstrip("=")
