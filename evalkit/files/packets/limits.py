"""How much a packet may ask for. A round of 30 pairs with 24 pictures fits many times over."""

from __future__ import annotations

MIB = 2**20

MAX_PACKET_BYTES = 600 * MIB
MAX_UNPACKED_BYTES = 600 * MIB
MAX_ENTRIES = 1_000
MAX_NAME = 100
"""Letters of one name between two strokes."""

MAX_STEPS = 4
"""Names in a path: top/data/photos/NAME."""

MAX_RATIO = 200
SMALL_BYTES = 256 * 1024
"""A file up to this size may be packed as tightly as it likes."""

MAX_DIRECTORY_BYTES = 512 * 1024
MAX_INFO_BYTES = 16 * 1024
MAX_MANIFEST_BYTES = 256 * 1024
MAX_JSON_BYTES = 4 * MIB
MAX_PAGE_BYTES = 30 * MIB

MAX_JSON_DEPTH = 24
MAX_JSON_PARTS = 120_000
"""Commas, braces and brackets of one document. A hundred pairs with every place read twice have 90,000; each could be a
fault that takes a kilobyte to tell."""

MAX_DIGITS = 15
"""Digits of a whole number; beyond, other programs no longer tell neighbours apart (2 to the 53rd)."""
