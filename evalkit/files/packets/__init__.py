"""The sealed packet: a BagIt bag (RFC 8493) in a zip, written whole and opened as if it were hostile."""

from __future__ import annotations

from evalkit.files.packets.layout import PacketKind
from evalkit.files.packets.opening import OpenPacket, is_packet, open_packet
from evalkit.files.packets.seal import seal_code, seal_of
from evalkit.files.packets.writing import write_packet

__all__ = ["OpenPacket", "PacketKind", "is_packet", "open_packet", "seal_code", "seal_of", "write_packet"]
