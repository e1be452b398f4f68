"""Seal and open short texts: AES-256-GCM under keys derived from the server's own.

AES-GCM is authenticated encryption (NIST SP 800-38D); a key for each purpose is derived by HKDF
with SHA-256 (RFC 5869). What is sealed is bound to its purpose and its row: moved to another
row it no longer opens. The first key of ``SEALING_KEYS`` seals, and every key opens, so that a
key can be replaced.
"""

import os
from functools import cache

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

_FORM = b"\x01"
_NONCE_BYTES = 12


class CannotOpen(Exception):
    """None of the server's keys opens it here: the key was lost, or the row was tampered with."""


def seal(text: str, *, purpose: str, owner: object) -> bytes:
    """The text as bytes that tell nothing without a key; ``owner`` is the public id of its row."""
    nonce = os.urandom(_NONCE_BYTES)
    cipher = AESGCM(_key(settings.SEALING_KEYS[0], purpose))
    return _FORM + nonce + cipher.encrypt(nonce, text.encode(), _bound_to(purpose, owner))


def unseal(sealed: bytes | memoryview, *, purpose: str, owner: object) -> str:
    """The text; raises :class:`CannotOpen`."""
    # PostgreSQL hands out a memoryview.
    content = bytes(sealed)
    nonce, rest = content[1 : 1 + _NONCE_BYTES], content[1 + _NONCE_BYTES :]
    if content[:1] == _FORM and len(nonce) == _NONCE_BYTES:
        for secret in settings.SEALING_KEYS:
            try:
                cipher = AESGCM(_key(secret, purpose))
                return cipher.decrypt(nonce, rest, _bound_to(purpose, owner)).decode()
            except InvalidTag:
                continue
    raise CannotOpen(f"{purpose} of {owner}")


def _bound_to(purpose: str, owner: object) -> bytes:
    return f"{purpose}:{owner}".encode()


@cache
def _key(secret: str, purpose: str) -> bytes:
    derive = HKDF(algorithm=SHA256(), length=32, salt=None, info=f"coop seal {purpose}".encode())
    return derive.derive(secret.encode())
