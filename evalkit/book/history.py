"""Every change is an act: one transaction, one row that says who, when, what stood before; chained by digests."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, Engine, func, or_, select

from evalkit.book.canonical import Plain, canonical, digest_of
from evalkit.book.connect import writing
from evalkit.book.kept import Act
from evalkit.book.missing import unknown
from evalkit.book.schema import acts, moment_text
from evalkit.errors import InputError

FIRST = "0" * 64
"""What the first act of a chain takes as the digest before it."""

MAX_WHO = 40

ERASURE = "erasure "
"""Begins the name of the fact that lists which acts an erasure emptied; no table holds it."""

UNPLANS = "take back plan"
"""The act of removing the plan of a box that has not left."""

ERASE = "erase person"
"""The act of an erasure."""

WIDER = "take in packet"
"""Named after its round like every act on one, but may bring people and pairs along."""

EMPTIED = {"who": "", "act": "erased", "subject": "", "before": "{}", "after": "{}", "salt": ""}
"""What is left of an act's words after an erasure. Its digests stay, so the chain stays whole."""

Fact = tuple[str, Plain]
"""A name that is unique in the book, and what stands under it."""


@dataclass(slots=True)
class Acting:
    """One act while it happens: its connection, its moment, and the facts it changes."""

    connection: Connection
    at: datetime
    before: Plain = field(default_factory=dict)
    after: Plain = field(default_factory=dict)

    def note(self, fact: Fact, before: Plain | None = None) -> None:
        """This stands now; `before` is what stood under the same name, in full."""
        name, value = fact
        self.after[name] = value
        if before is not None:
            self.before[name] = before

    def note_gone(self, name: str, before: Plain) -> None:
        """Nothing stands under this name any longer."""
        self.after[name] = None
        self.before[name] = before


@contextmanager
def acting(engine: Engine, at: datetime, *, who: str, act: str, subject: str) -> Iterator[Acting]:
    """One act. When the block notes nothing, nothing happened and nothing is written."""
    if not 0 < len(who.strip()) <= MAX_WHO:
        raise InputError("an act needs to know who acts.", mend="Give the key of the mentor or trainee.")
    with writing(engine) as connection:
        doing = Acting(connection, at)
        yield doing
        if doing.after:
            _write(doing, who, act, subject)


def _write(doing: Acting, who: str, act: str, subject: str) -> None:
    last = doing.connection.execute(
        select(acts.c.seq, acts.c.digest).order_by(acts.c.seq.desc()).limit(1)
    ).one_or_none()
    seq, digest_before = (last.seq + 1, last.digest) if last else (1, FIRST)
    row = {
        "who": who,
        "act": act,
        "subject": subject,
        "before": canonical(doing.before),
        "after": canonical(doing.after),
        "salt": secrets.token_hex(16),  # without it, an emptied act could be guessed back from its digest
    }
    content_digest = digest_of(row)
    digest = chained(digest_before, seq, doing.at, content_digest)
    doing.connection.execute(
        acts.insert(), {"seq": seq, "at": doing.at, **row, "content_digest": content_digest, "digest": digest}
    )


def chained(digest_before: str, seq: int, at: datetime, content_digest: str) -> str:
    """The digest of an act: it holds every act before it."""
    return digest_of([digest_before, seq, moment_text(at), content_digest])


def chain_faults(connection: Connection) -> Iterator[str]:
    """Every act whose words or place in the chain are not what was written."""
    expected, digest_before = 1, FIRST
    emptied, told_of = set(), set()
    for row in connection.execute(select(acts).order_by(acts.c.seq)).yield_per(200):
        if row.seq != expected:
            yield f"act {expected} is missing from the history"
        told = {name: getattr(row, name) for name in ("who", "act", "subject", "before", "after", "salt")}
        is_empty = told == EMPTIED
        is_whole = is_empty or digest_of(told) == row.content_digest
        if is_empty:
            emptied.add(row.seq)
        elif row.act == ERASE:
            told_of |= _emptied_by(row.after)
        if not is_whole or chained(digest_before, row.seq, row.at, row.content_digest) != row.digest:
            yield f"act {row.seq} ('{row.act}' on {row.subject}) is not what was written"
        expected, digest_before = row.seq + 1, row.digest
    for seq in sorted(emptied ^ told_of):
        yield f"act {seq} is emptied, but no erasure tells of it" if seq in emptied else f"act {seq} was to be emptied"


def _emptied_by(after: str) -> set[int]:
    """The acts that an erasure says it emptied."""
    told = json.loads(after)
    return {seq for name, value in told.items() if name.startswith(ERASURE) for seq in value["acts"]}


def facts_told(connection: Connection) -> Plain:
    """What stands now by the history alone: the last word of each fact."""
    told: Plain = {}
    for after in connection.execute(select(acts.c.after).order_by(acts.c.seq)).yield_per(200).scalars():
        told.update(json.loads(after))
    return {name: value for name, value in told.items() if value is not None}


LINE = (acts.c.seq, acts.c.at, acts.c.who, acts.c.act, acts.c.subject, acts.c.digest)


def list_acts(connection: Connection, subject: str | None) -> list[Act]:
    """Acts in order, without what stood before; only those on a subject ('round nia-1', or its key alone) if given."""
    wanted = select(*LINE).order_by(acts.c.seq)
    if subject is not None:
        wanted = wanted.where(or_(acts.c.subject == subject, acts.c.subject.endswith(f" {subject}", autoescape=True)))
    return [Act(*row) for row in connection.execute(wanted)]


def latest_act(connection: Connection) -> int:
    """The number of the last act; 0 where there is none."""
    return connection.execute(select(func.max(acts.c.seq))).scalar_one() or 0


@dataclass(frozen=True, slots=True)
class Changed:
    """What some acts changed: these rounds and nothing else; `is_marks_only`: nothing but pairs of begun markings."""

    rounds: frozenset[str] = frozenset()
    is_marks_only: bool = True


def changed_since(connection: Connection, seq: int) -> Changed | None:
    """What the acts after this one changed; None where something beside rounds may have changed as well."""
    keys: set[str] = set()
    is_marks_only = True
    for act, subject, after in connection.execute(
        select(acts.c.act, acts.c.subject, acts.c.after).where(acts.c.seq > seq)
    ):
        kind, _, key = subject.partition(" ")
        if kind != "round" or act == WIDER:
            return None
        keys.add(key)
        is_marks_only = is_marks_only and all(map(_is_marked_pair, json.loads(after)))
    return Changed(frozenset(keys), is_marks_only)


def _is_marked_pair(fact: str) -> bool:
    return fact.startswith(("marking ", "second draft ")) and " number " in fact


def unplanned_keys(connection: Connection) -> frozenset[str]:
    """Keys of rounds whose plan was taken back: a bench book or sheet that was made of one may still come in."""
    found = connection.execute(select(acts.c.subject).where(acts.c.act == UNPLANS)).scalars()
    return frozenset(subject.removeprefix("round ") for subject in found)


def get_act(connection: Connection, seq: int) -> Act:
    """One act with what stood before and after. Raises NotFoundError."""
    row = connection.execute(select(*LINE, acts.c.before, acts.c.after).where(acts.c.seq == seq)).one_or_none()
    if row is None:
        raise unknown("act", str(seq), (str(one) for one in connection.execute(select(acts.c.seq)).scalars()))
    return Act(*row[:-2], before=json.loads(row.before), after=json.loads(row.after))
