"""The greediest packets that the limits let through, and bombs: opening them stays under 400 MiB of memory."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from evalkit.files.packets import PacketKind
from tests.files.packets.craft import DEFLATED, Item, bag_of, items_of, packet_of, zipped
from tests.files.packets.hostile_zips import MIB, quoted_overlap
from tests.files.packets.samples import PAGE, assessment_bytes, files_of, photo_name, picture

MOST_MIB = 400

CHILD = """
import re, sys
from pathlib import Path
from evalkit.errors import EvalkitError
from evalkit.files.packets import open_packet
try:
    with open_packet(Path(sys.argv[1])) as packet:
        for name in packet.names:
            packet.read(name)
        print("opened")
except EvalkitError as error:
    print(error)
print(int(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]) // 1024)
"""
# Not `resource.getrusage`: Linux hands the peak of whoever started a program on to it.


def of_assessment(inner: bytes) -> bytes:
    head = assessment_bytes().decode().replace("\n", "").partition('"pairs":')[0].encode()
    return packet_of({"assessment.json": head + b'"pairs":[{"number":1,"readings":[' + inner + b"]}]}}"})


def with_faults() -> bytes:
    """As many faults as the parts of a document allow: five of each reading."""
    return of_assessment(b",".join(b'{"x%d":0}' % n for n in range(39_900)))


def with_words() -> bytes:
    return of_assessment(b",".join([b'""'] * 119_000))


def with_letters() -> bytes:
    """One letter beyond the first 65,536 makes Python keep all of a text in four bytes each."""
    page = PAGE + b"x" * (30 * MIB - len(PAGE) - 4) + "\N{SPOOL OF THREAD}".encode()
    return packet_of({**files_of(PacketKind.ROUND), "bench-book.html": page})


def with_pictures() -> bytes:
    filler = hashlib.sha256(b"hair").digest() * ((25 * MIB - 2_000) // 32)
    shots = [picture() + filler + b"%d" % n for n in range(3)]
    photos = {photo_name(shot): shot for shot in shots}
    return packet_of({"assessment.json": assessment_bytes(*photos), **photos})


def bomb() -> bytes:
    """The tightest that passes for its size: 200 to 1, of the length that a picture may have."""
    items = [one for one in items_of(bag_of()) if "photos" not in one.name]
    body = b"\0" * (24 * MIB)
    return zipped(
        [*items, Item(items[0].name.replace("bagit.txt", "data/photos/" + "0" * 64 + ".jpg"), body, DEFLATED)]
    )


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is told there")
@pytest.mark.parametrize(
    ("make", "words"),
    [
        (with_faults, "faults"),
        (with_words, "faults"),
        (with_letters, "opened"),
        (with_pictures, "opened"),
        (bomb, "unpack to very many"),
        (quoted_overlap, "share the same bytes"),
    ],
    ids=lambda one: getattr(one, "__name__", None),
)
def test_peak_memory(make: Callable[[], bytes], words: str, tmp_path: Path):
    path = tmp_path / "packet.zip"
    path.write_bytes(make())
    child = subprocess.run([sys.executable, "-c", CHILD, str(path)], capture_output=True, text=True, check=True)
    told, peak = child.stdout.strip().rsplit("\n", 1)
    assert words in told
    assert 10 < int(peak) < MOST_MIB
