"""The seal: one number that stands for everything in a packet or an assessment."""

from __future__ import annotations

import hashlib


def seal_of(manifest: bytes) -> str:
    """The seal of a packet: SHA-256 of the bytes of its `manifest-sha256.txt`, 64 hex digits."""
    return hashlib.sha256(manifest).hexdigest()


def seal_code(seal: str) -> str:
    """The first 12 signs of a seal in threes, to read out over the telephone."""
    return "-".join(seal[at : at + 3] for at in range(0, 12, 3))
