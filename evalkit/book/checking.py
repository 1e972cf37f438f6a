"""Is the book still what was written? Structure, references, the chain of acts, and every stored value against it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sqlalchemy import Connection, Engine, select, text

from evalkit.book.assessments import find_assessment, seal_of
from evalkit.book.canonical import Plain, canonical, text_digest
from evalkit.book.connect import reading
from evalkit.book.facts import (
    assessment_fact,
    leg_fact,
    marked_pair_fact,
    marking_fact,
    numbered_fact,
    opening_fact,
    packet_fact,
    pair_fact,
    person_fact,
    photo_fact,
    round_fact,
    rubric_fact,
    second_marking_fact,
    sign_off_fact,
)
from evalkit.book.history import ERASURE, Fact, chain_faults, facts_told
from evalkit.book.intakes import intake_facts
from evalkit.book.kept import PhotoRow
from evalkit.book.markings import load_marking
from evalkit.book.packets import taken_of
from evalkit.book.rounds import list_rounds, round_moments
from evalkit.book.rows import pair_of
from evalkit.book.schema import (
    assessments,
    markings,
    numbered_pairs,
    openings,
    packets,
    pairs,
    people,
    photos,
    rounds,
    rubrics,
    school_values,
    second_markings,
    sign_offs,
)
from evalkit.book.school_values import fact_of
from evalkit.book.second_drafts import second_draft_facts
from evalkit.book.shelf import retirement_facts, stock_photo_facts
from evalkit.book.sign_offs import kept_of
from evalkit.domain.round import Person
from evalkit.errors import BookError


def check(engine: Engine) -> list[str]:
    """Every fault found, as sentences; empty when the book is sound. Changes nothing."""
    faults: list[str] = []
    for look in (_structure_faults, _reference_faults, chain_faults, _fact_faults):
        try:
            with reading(engine) as connection:
                faults += look(connection)
        except BookError as error:
            faults.append(error.what)
    return list(dict.fromkeys(faults))


def _structure_faults(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        for said in connection.execute(text("PRAGMA integrity_check")).scalars():
            if said != "ok":
                yield f"the database says: {said}"


def _reference_faults(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        for row in connection.execute(text("PRAGMA foreign_key_check")):
            yield f"a row of {row[0]} points to nothing in {row[2]}"


def _fact_faults(connection: Connection) -> Iterator[str]:
    told = facts_told(connection)
    found, faults = facts_found(connection)
    yield from faults
    told = {name: value for name, value in told.items() if not name.startswith(ERASURE)}
    for name in sorted(told.keys() | found.keys()):
        if name not in found:
            yield f"{name} is missing, though the history tells of it"
        elif name not in told:
            yield f"{name} stands in the book, but no act of the history wrote it"
        elif canonical(told[name]) != canonical(found[name]):
            yield f"{name} is not what was written"


def facts_found(connection: Connection) -> tuple[Plain, list[str]]:
    """What stands now by the tables alone, and what could not be read."""
    found: Plain = {}
    faults: list[str] = []
    looks: tuple[Callable[[Connection], Iterator[Fact]], ...] = (
        _people, _pairs, _rubrics, _rounds, _assessments, _markings, _photos, _openings, _sign_offs, _second_markings,
        _packets, _school_values, intake_facts, retirement_facts, stock_photo_facts, second_draft_facts,
    )  # fmt: skip
    for look in looks:
        try:
            for name, value in look(connection):
                if name in found:
                    faults.append(f"{name} stands twice")
                found[name] = value
        except (ValueError, KeyError, TypeError) as error:
            noun = look.__name__.strip("_").removesuffix("_facts")
            faults.append(f"a row of {noun} cannot be read ({str(error).splitlines()[0]})")
    return found, faults


def _people(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(people)):
        yield person_fact(Person(key=row.key, name=row.name), row.role, row.added_at)


def _pairs(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(pairs)).mappings():
        yield pair_fact(pair_of(row), row["version"], row["written_at"])


def _rubrics(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(rubrics)):
        computed = text_digest(row.content)
        digest = row.digest if computed == row.digest else f"{row.digest}, but its content has {computed}"
        yield rubric_fact(row.key, row.version, digest, row.frozen_at)


def _rounds(connection: Connection) -> Iterator[Fact]:
    moments = round_moments(connection)
    for round_ in list_rounds(connection, None):
        yield round_fact(round_, moments[round_.key])
        for position, leg in enumerate(round_.legs):
            yield leg_fact(round_.key, position, leg)
    for row in connection.execute(select(numbered_pairs)):
        yield numbered_fact(row.round_key, row.number, row.tag, row.version, row.called_for)


def _assessments(connection: Connection) -> Iterator[Fact]:
    for key, version in connection.execute(select(assessments.c.round_key, assessments.c.version)).all():
        sealed = find_assessment(connection, key, version)
        if sealed is not None:
            name, value = assessment_fact(sealed)
            computed = seal_of(sealed.assessment)
            yield name, value if computed == sealed.seal else {**value, "computed": computed}


def _markings(connection: Connection) -> Iterator[Fact]:
    wanted = select(markings, rounds.c.rubric_digest).join(rounds, rounds.c.key == markings.c.round_key)
    for row in connection.execute(wanted).mappings().all():
        marking = load_marking(connection, row)
        yield marking_fact(
            marking,
            row["version"],
            started_at=row["started_at"],
            finished_at=row["finished_at"],
            reason=row["reason"],
        )
        for pair in marking.pairs:
            yield marked_pair_fact(marking.round_key, marking.mentor_key, row["version"], pair)


def _photos(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(photos)).mappings():
        fields = {name: row[name] for name in PhotoRow.__dataclass_fields__}
        yield photo_fact(PhotoRow(**fields), row["added_at"])


def _openings(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(openings)):
        yield opening_fact(row.round_key, row.number, row.who, row.opened_at)


def _sign_offs(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(sign_offs)).mappings():
        yield sign_off_fact(kept_of(row))


def _second_markings(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(second_markings)):
        yield second_marking_fact(row.id, row.round_key, row.mentor_key, row.content, row.taken_at)


def _packets(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(packets)).mappings():
        yield packet_fact(taken_of(row))


def _school_values(connection: Connection) -> Iterator[Fact]:
    for row in connection.execute(select(school_values)):
        yield fact_of(row)
