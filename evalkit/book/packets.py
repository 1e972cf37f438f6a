"""Which packets were taken in and what each became: the same packet twice is the same once."""

from __future__ import annotations

from sqlalchemy import Connection, RowMapping, func, select

from evalkit.book.facts import packet_fact
from evalkit.book.history import Acting
from evalkit.book.kept import PacketHead, TakenPacket
from evalkit.book.schema import packets
from evalkit.errors import AlreadyError


def check_version(connection: Connection, head: PacketHead) -> None:
    """Raises AlreadyError when the packet holds an older version than one taken in, or another under the same number.

    A sealed assessment never changes: two packets under one number contradict each other, and nobody here can say which
    of them was meant. A report is made anew as often as wanted, so what is in it decides (`receive_report`).
    """
    latest = _latest_version(connection, head)
    if head.version is None or latest is None or head.version > latest:
        return
    where = f"round {head.round_key}"
    if head.version < latest:
        raise AlreadyError(
            f"the packet holds version {head.version} of the {head.kind}; version {latest} was taken in already.",
            mend="There is nothing to do: the later version stands.",
            where=where,
        )
    if head.kind == "assessment":
        raise AlreadyError(
            f"another packet with version {head.version} of the assessment was taken in; a sealed one never changes.",
            mend="Compare the seal codes with the sender, who can seal what was changed as the next version.",
            where=where,
        )


def is_version_known(connection: Connection, head: PacketHead) -> bool:
    """Whether a packet of that kind and round with the same version of the sender's was taken in."""
    return head.version is not None and head.version == _latest_version(connection, head)


def _latest_version(connection: Connection, head: PacketHead) -> int | None:
    wanted = select(func.max(packets.c.version))
    same = wanted.where(packets.c.kind == head.kind, packets.c.round_key == head.round_key)
    latest: int | None = connection.execute(same).scalar_one()
    return latest


def record_packet(doing: Acting, head: PacketHead, became: int | None) -> TakenPacket:
    """Write down that a packet was taken in."""
    taken = TakenPacket(head, became, doing.at)
    row = {"seal": head.seal, "kind": head.kind, "round_key": head.round_key, "version": head.version}
    doing.connection.execute(packets.insert(), {**row, "became": became, "taken_at": doing.at})
    doing.note(packet_fact(taken))
    return taken


def find_packet(connection: Connection, seal: str) -> TakenPacket | None:
    """None when no packet of that seal was taken in."""
    row = connection.execute(select(packets).where(packets.c.seal == seal)).mappings().one_or_none()
    return None if row is None else taken_of(row)


def list_packets(connection: Connection, round_key: str | None) -> list[TakenPacket]:
    """In the order in which they were taken in; of one round if named."""
    wanted = select(packets).order_by(packets.c.taken_at, packets.c.kind, packets.c.version, packets.c.seal)
    if round_key is not None:
        wanted = wanted.where(packets.c.round_key == round_key)
    return [taken_of(row) for row in connection.execute(wanted).mappings()]


def taken_of(row: RowMapping) -> TakenPacket:
    """From a row of `packets`."""
    head = PacketHead(row["seal"], row["kind"], row["round_key"], row["version"])
    return TakenPacket(head, row["became"], row["taken_at"])
