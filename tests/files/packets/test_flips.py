"""Packets that the post spoilt: whatever happens to their bytes, they are refused, or hold what was sealed."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.errors import EvalkitError
from evalkit.files.packets import open_packet
from tests.files.packets.craft import DEFLATED, Item, bag_of, items_of, packet_of, zipped

WHOLE = packet_of()
PACKED = zipped(Item(one.name, one.data, DEFLATED) for one in items_of(bag_of()))
SEALED = {name.removeprefix("data/"): data for name, data in bag_of().items() if name.startswith("data/")}
MANY = settings(
    max_examples=200, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def packet_file() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder) / "packet.zip"


def opened(path: Path, data: bytes) -> dict[str, bytes] | None:
    """What the packet holds; None when it is refused. Anything but our own errors fails the test."""
    path.write_bytes(data)
    try:
        with open_packet(path) as packet:
            return {name: packet.read(name) for name in packet.names}
    except EvalkitError:
        return None


def test_unspoilt_they_hold_what_was_sealed(packet_file: Path):
    assert opened(packet_file, WHOLE) == opened(packet_file, PACKED) == SEALED


@MANY
@given(
    data=st.sampled_from([WHOLE, PACKED]),
    flips=st.lists(st.tuples(st.integers(0, 10**6), st.integers(1, 255)), min_size=1, max_size=4),
)
def test_flipped_bytes(packet_file: Path, data: bytes, flips: list[tuple[int, int]]):
    spoilt = bytearray(data)
    for at, mask in flips:
        spoilt[at % len(spoilt)] ^= mask
    assert opened(packet_file, bytes(spoilt)) in (None, SEALED)


@MANY
@given(at=st.integers(0, 10**6), mask=st.integers(1, 255))
def test_flipped_bytes_of_the_lists(packet_file: Path, at: int, mask: int):
    """The headers, the list and the end record are few bytes, and the ones that steer."""
    spoilt = bytearray(PACKED)
    steering = [n for n in range(len(spoilt)) if n > len(spoilt) - 600 or n < 60]
    spoilt[steering[at % len(steering)]] ^= mask
    assert opened(packet_file, bytes(spoilt)) in (None, SEALED)


@MANY
@given(n=st.integers(0, 10**6))
def test_cut_short(packet_file: Path, n: int):
    assert opened(packet_file, WHOLE[: n % len(WHOLE)]) is None


@MANY
@given(at=st.integers(0, 10**6), more=st.binary(min_size=1, max_size=60))
def test_bytes_put_in_anywhere(packet_file: Path, at: int, more: bytes):
    at %= len(WHOLE) + 1
    assert opened(packet_file, WHOLE[:at] + more + WHOLE[at:]) in (None, SEALED)


@MANY
@given(at=st.integers(0, 10**6), n=st.integers(1, 400))
def test_bytes_taken_out_anywhere(packet_file: Path, at: int, n: int):
    at %= len(WHOLE)
    assert opened(packet_file, WHOLE[:at] + WHOLE[at + n :]) in (None, SEALED)


@MANY
@given(data=st.binary(max_size=400))
def test_noise(packet_file: Path, data: bytes):
    assert opened(packet_file, data) is None
    assert opened(packet_file, b"PK\x03\x04" + data + WHOLE[-22:]) is None
