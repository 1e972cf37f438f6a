"""Unpacking by hand gives what went in, whatever its size; and the limits that no small packet reaches."""

from __future__ import annotations

import hashlib
import io
import random
import zlib
from pathlib import Path

import pytest

from evalkit.errors import InputError
from evalkit.files.packets import open_packet
from evalkit.files.packets.limits import MAX_JSON_BYTES, MAX_PACKET_BYTES
from evalkit.files.packets.names import find_name_fault, find_twice
from evalkit.files.packets.strict_json import read_json
from evalkit.files.packets.unpacking import BLOCK, unpack
from evalkit.files.packets.zip_directory import DEFLATED, STORED, Entry
from tests.files.packets.craft import deflated

SIZES = (0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK, 3 * BLOCK + 7)


def entry(data: bytes, packed: bytes, method: int, n_bytes: int | None = None) -> Entry:
    n = len(data) if n_bytes is None else n_bytes
    return Entry("top/x", 0, method, zlib.crc32(data), len(packed), n, 0, 0, 0)


@pytest.mark.parametrize("n_bytes", SIZES)
@pytest.mark.parametrize("is_noise", [True, False])
@pytest.mark.parametrize("method", [STORED, DEFLATED])
def test_what_went_in_comes_out(n_bytes: int, is_noise: bool, method: int, tmp_path: Path):
    data = random.Random(n_bytes).randbytes(n_bytes) if is_noise else b"x" * n_bytes
    packed = deflated(data) if method == DEFLATED else data
    around = io.BytesIO(b"before" + packed + b"behind")
    assert unpack(around, entry(data, packed, method), 6, tmp_path / "a" / "x") == hashlib.sha256(data).hexdigest()
    assert (tmp_path / "a" / "x").read_bytes() == data


@pytest.mark.parametrize("n_bytes", SIZES[1:])
def test_not_a_byte_beyond_what_was_declared_reaches_the_disk(n_bytes: int, tmp_path: Path):
    data = b"x" * n_bytes
    packed = deflated(data)
    with pytest.raises(InputError, match="lies about its size"):
        unpack(io.BytesIO(packed), entry(data, packed, DEFLATED, n_bytes - 1), 0, tmp_path / "x")
    assert (tmp_path / "x").stat().st_size < n_bytes


def test_an_existing_file_is_never_written_to(tmp_path: Path):
    (tmp_path / "x").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FileExistsError):
        unpack(io.BytesIO(b"evil"), entry(b"evil", b"evil", STORED), 0, tmp_path / "x")
    assert not (tmp_path / "elsewhere").exists()


def test_a_file_larger_than_any_packet_is_not_even_read(tmp_path: Path):
    with (tmp_path / "packet.zip").open("wb") as file:
        file.truncate(MAX_PACKET_BYTES + 1)
    with pytest.raises(InputError, match="more than 600 MB"), open_packet(tmp_path / "packet.zip"):
        pass


def test_a_document_larger_than_any_is_not_parsed():
    with pytest.raises(InputError, match="more than 4 MB"):
        read_json(b'{"x": "' + b"x" * MAX_JSON_BYTES + b'"}', "here")


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("a.txt", "a.txt"),
        ("a.txt", "A.TXT"),
        ("caf\u00e9", "cafe\u0301"),
        ("stra\u00dfe", "STRASSE"),
        ("\N{KELVIN SIGN}", "k"),
        ("\N{LATIN SMALL LIGATURE FI}n", "fin"),
        ("\uff41", "a"),
    ],
)
def test_names_that_some_disk_takes_for_the_same(first: str, second: str):
    """Unicode 15, section 3.13 (default caseless matching) and UAX 15 (normalisation form KC)."""
    assert find_twice(["other", first, second]) == second
    assert find_twice(["other", first]) is None


@pytest.mark.parametrize("name", ["a", "top/data/photos/0.jpg", "a-b_c.d/e", "console.txt", "com.txt", "nulls"])
def test_plain_names_are_fine(name: str):
    assert find_name_fault(name) is None
