"""What the `bagit` library says of an unpacked bag, beside our own rules."""

from __future__ import annotations

import logging
from pathlib import Path

from evalkit.files.packets.refusing import not_as_made, shown


def check_by_library(bag: Path) -> None:
    """Raises InputError when the library does not call the bag in this folder valid, sums included."""
    import bagit

    # It tells its faults to standard error too; ours is the one line.
    logging.getLogger("bagit").addHandler(logging.NullHandler())
    try:
        bagit.Bag(str(bag)).validate()
    except (bagit.BagError, ValueError, LookupError, OSError) as error:
        told = " ".join(str(error).replace(str(bag), "the packet").split()) or type(error).__name__
        raise not_as_made(f"it is no valid bag ({shown(told)}).") from error
