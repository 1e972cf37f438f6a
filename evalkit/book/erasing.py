"""A trainee taken out of the book for good: name, words, photos and keys go, the bare levels stay under another key."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, Engine, Table, bindparam, delete, insert, select, update

from evalkit.book.assessments import find_assessment, seal_of
from evalkit.book.canonical import Plain, canonical
from evalkit.book.checking import facts_found
from evalkit.book.connect import plain_errors
from evalkit.book.history import EMPTIED, ERASURE, Acting, facts_told
from evalkit.book.people import get_person
from evalkit.book.schema import (
    acts,
    assessed_pairs,
    assessments,
    intake_photos,
    intakes,
    legs,
    marked_pairs,
    markings,
    metadata,
    packets,
    pair_photos,
    people,
    photos,
    readings,
    rounds,
    second_drafts,
    second_markings,
    sign_offs,
    stock_photos,
)
from evalkit.book.shelf import unname_pairs
from evalkit.domain.arriving import arrival_words, losses_in
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.errors import BookError, InputError

PREFIX = "erased-"
NAME = "(erased)"


@dataclass(frozen=True, slots=True)
class Erased:
    """What was done: the key under which the levels stand now, and pictures whose files are to be removed."""

    key: str
    n_rounds: int
    photos: tuple[str, ...]


def erase_person(doing: Acting, key: str) -> Erased:
    """Take a trainee's name, words, photos and sign-offs out of every table and out of the history.

    Levels, measured values, cuts, decisions, minutes and dates stay, so that what the school has learnt stays. Raises
    NotFoundError for an unknown trainee, InputError for one who is erased already.
    """
    connection = doing.connection
    get_person(connection, "trainee", key)
    if key.startswith(PREFIX):
        raise InputError("nothing personal is kept of this trainee.", mend="Name another.", where=f"trainee {key}")
    before, _ = facts_found(connection)
    name = connection.execute(select(people.c.name).where(people.c.key == key)).scalar_one()
    new_key = _free_key(connection)
    keys = _renamed_rounds(connection, key, new_key)
    new_rounds = list(keys.values())
    gone = _drop_photos(connection, new_rounds)
    connection.execute(delete(sign_offs).where(sign_offs.c.trainee_key == key))
    # Whoever has a packet could tell by its seal whose round this was.
    connection.execute(delete(packets).where(packets.c.round_key.in_(new_rounds)))
    _rename_person(connection, key, new_key)
    _blank_words(connection, new_rounds)
    unname_pairs(connection, {**keys, name: NAME})
    _seal_anew(connection, new_rounds)
    after, _ = facts_found(connection)
    lost = {fact for fact, value in before.items() if after.get(fact) != value}
    emptied = _empty_acts(connection, {key, *keys, *gone}, lost, name)
    _tell(doing, after, emptied)
    return Erased(new_key, len(keys), gone)


def _free_key(connection: Connection) -> str:
    taken = set(connection.execute(select(people.c.key)).scalars())
    return next(one for n in range(1, len(taken) + 2) if (one := f"{PREFIX}{n}") not in taken)


# --- other keys -------------------------------------------------------------------------------------------------------


def _renamed_rounds(connection: Connection, key: str, new_key: str) -> dict[str, str]:
    """The new key of each of the trainee's rounds, by the old one; every table that names it says the new one."""
    own = select(rounds).where(rounds.c.trainee_key == key).order_by(rounds.c.planned_on, rounds.c.key)
    rows = connection.execute(own).mappings().all()
    keys = {row["key"]: f"{new_key}-{at}" for at, row in enumerate(rows, start=1)}
    for row in rows:
        connection.execute(insert(rounds).values({**row, "key": keys[row["key"]]}))
        for table in _children_of(rounds):
            named = table.c.round_key
            connection.execute(update(table).where(named == row["key"]).values(round_key=keys[row["key"]]))
        connection.execute(delete(rounds).where(rounds.c.key == row["key"]))
    return keys


def _rename_person(connection: Connection, key: str, new_key: str) -> None:
    row = connection.execute(select(people).where(people.c.key == key)).mappings().one()
    connection.execute(insert(people).values({**row, "key": new_key, "name": NAME}))
    for table in _children_of(people):
        if "trainee_key" in table.c:
            connection.execute(update(table).where(table.c.trainee_key == key).values(trainee_key=new_key))
    connection.execute(delete(people).where(people.c.key == key))


def _children_of(parent: Table) -> list[Table]:
    return [table for table in metadata.sorted_tables if any(key.column.table is parent for key in table.foreign_keys)]


# --- no words --------------------------------------------------------------------------------------------------------


def _blank_words(connection: Connection, keys: list[str]) -> None:
    assessed = select(assessments.c.id).where(assessments.c.round_key.in_(keys))
    marked = select(markings.c.id).where(markings.c.round_key.in_(keys))
    of_trainee = select(assessed_pairs.c.id).where(assessed_pairs.c.assessment_id.in_(assessed))
    of_mentor = select(marked_pairs.c.id).where(marked_pairs.c.marking_id.in_(marked))
    for change in (
        update(legs).where(legs.c.round_key.in_(keys)).values(carrier_ref=""),
        update(assessments).where(assessments.c.round_key.in_(keys)).values(disinfected_with="", letter="", reason=""),
        update(markings).where(markings.c.round_key.in_(keys)).values(letter="", reason=""),
        update(assessed_pairs)
        .where(assessed_pairs.c.id.in_(of_trainee))
        .values(notes="", lessons="", questions=canonical([])),
        update(assessed_pairs)
        .where(assessed_pairs.c.id.in_(of_trainee), assessed_pairs.c.reason != "")
        .values(reason="erased"),
        update(marked_pairs)
        .where(marked_pairs.c.id.in_(of_mentor))
        .values(transit_note="", comments=canonical([]), keep="", change="", answers=canonical([]), notes=""),
        update(readings)
        .where(readings.c.assessed_pair_id.in_(of_trainee) | readings.c.marked_pair_id.in_(of_mentor))
        .values(note=""),
    ):
        connection.execute(change)
    _blank_journeys(connection, keys)
    _blank_work(connection, connection.execute(of_trainee).scalars().all())
    _blank_second_markings(connection, keys)
    _blank_second_drafts(connection, keys)
    _blank_intakes(connection, keys)


def _blank_journeys(connection: Connection, keys: list[str]) -> None:
    """Which pairs were missing or damaged is told of the stock, not of the person: the numbers stay, no other word."""
    this = legs.c.round_key == bindparam("of_round"), legs.c.position == bindparam("at")
    rows = connection.execute(select(legs).where(legs.c.round_key.in_(keys), legs.c.condition != "")).all()
    bare = [
        {"of_round": row.round_key, "at": row.position, "bare": arrival_words(losses_in(row.condition))} for row in rows
    ]
    if bare:
        connection.execute(update(legs).where(*this).values(condition=bindparam("bare")), bare)


def _blank_work(connection: Connection, ids: Iterable[int]) -> None:
    """Steps and parts are told in the trainee's words; minutes, angle, widths and lengths are figures."""
    for row in connection.execute(select(assessed_pairs.c.id, assessed_pairs.c.work)).all():
        if row.id in set(ids):
            work = {name: value for name, value in json.loads(row.work).items() if name not in ("steps", "parts")}
            connection.execute(update(assessed_pairs).where(assessed_pairs.c.id == row.id).values(work=canonical(work)))


def _blank_second_markings(connection: Connection, keys: list[str]) -> None:
    wanted = select(second_markings).where(second_markings.c.round_key.in_(keys))
    for row in connection.execute(wanted).all():
        marking = Marking.model_validate(json.loads(row.content))
        pairs = tuple(map(_bare, marking.pairs))
        bare = marking.model_copy(update={"round_key": row.round_key, "letter": "", "pairs": pairs})
        content = canonical(bare.model_dump(mode="json"))
        connection.execute(update(second_markings).where(second_markings.c.id == row.id).values(content=content))


def _blank_second_drafts(connection: Connection, keys: list[str]) -> None:
    for row in connection.execute(select(second_drafts).where(second_drafts.c.round_key.in_(keys))).all():
        bare = _bare(MarkedPair.model_validate(json.loads(row.content)))
        this = (second_drafts.c.round_key == row.round_key) & (second_drafts.c.mentor_key == row.mentor_key)
        blank = update(second_drafts).where(this & (second_drafts.c.number == row.number))
        connection.execute(blank.values(content=canonical(bare.model_dump(mode="json"))))


def _bare(pair: MarkedPair) -> MarkedPair:
    """The pair without a word or picture."""
    return pair.model_copy(
        update={
            "readings": tuple(one.model_copy(update={"note": ""}) for one in pair.readings),
            "transit_note": "", "comments": (), "keep": "", "change": "", "answers": (), "notes": "", "photos": (),
        }
    )  # fmt: skip


def _blank_intakes(connection: Connection, keys: list[str]) -> None:
    for row in connection.execute(select(intakes).where(intakes.c.round_key.in_(keys))).all():
        content = json.loads(row.content)
        for pair in content["pairs"]:
            pair.update(notes="", photos=[])
            for reading in pair["readings"]:
                reading["note"] = ""
        blank = update(intakes).where(intakes.c.id == row.id).values(content=canonical(content), reason="")
        connection.execute(blank)


def _drop_photos(connection: Connection, keys: list[str]) -> tuple[str, ...]:
    """Pictures of these rounds that no other round shows, sorted; their rows are gone."""
    assessed = select(assessed_pairs.c.id).join(assessments).where(assessments.c.round_key.in_(keys))
    marked = select(marked_pairs.c.id).join(markings).where(markings.c.round_key.in_(keys))
    own = pair_photos.c.assessed_pair_id.in_(assessed) | pair_photos.c.marked_pair_id.in_(marked)
    shown = set(connection.execute(select(pair_photos.c.sha256).where(own)).scalars())
    connection.execute(delete(pair_photos).where(own))
    of_intakes = intake_photos.c.intake_id.in_(select(intakes.c.id).where(intakes.c.round_key.in_(keys)))
    shown |= set(connection.execute(select(intake_photos.c.sha256).where(of_intakes)).scalars())
    connection.execute(delete(intake_photos).where(of_intakes))
    for elsewhere in (pair_photos, intake_photos, stock_photos):
        shown -= set(connection.execute(select(elsewhere.c.sha256)).scalars())
    gone = sorted(shown)
    if gone:
        connection.execute(
            delete(photos).where(photos.c.sha256 == bindparam("name")), [{"name": name} for name in gone]
        )
    return tuple(gone)


def _seal_anew(connection: Connection, keys: list[str]) -> None:
    """What is left is another content, so it has another seal."""
    wanted = select(assessments.c.id, assessments.c.round_key, assessments.c.version)
    for row in connection.execute(wanted.where(assessments.c.round_key.in_(keys))).all():
        sealed = find_assessment(connection, row.round_key, row.version)
        if sealed is not None:
            seal = seal_of(sealed.assessment)
            connection.execute(update(assessments).where(assessments.c.id == row.id).values(seal=seal))


# --- the history -----------------------------------------------------------------------------------------------------


def _empty_acts(connection: Connection, keys: set[str], lost: set[str], name: str) -> list[int]:
    """Empty every act that names the trainee, their rounds or photos, or that told a fact which no longer stands."""
    emptied = []
    for row in connection.execute(select(acts).order_by(acts.c.seq)).all():
        facts = {**json.loads(row.before), **json.loads(row.after)}
        words = {row.who, *row.subject.split(), *(word for fact in facts for word in fact.split())}
        if words & keys or facts.keys() & lost or name in f"{row.before}{row.after}":
            emptied.append(row.seq)
            connection.execute(update(acts).where(acts.c.seq == row.seq).values(EMPTIED))
    return emptied


def _tell(doing: Acting, after: Plain, emptied: list[int]) -> None:
    """The new act tells every fact that the emptied acts no longer tell, and which acts were emptied."""
    told = facts_told(doing.connection)
    n_before = sum(1 for fact in told if fact.startswith(ERASURE))
    for fact, value in after.items():
        if told.get(fact) != value and isinstance(value, dict):
            doing.note((fact, value))
    for fact in told.keys() - after.keys():
        if not fact.startswith(ERASURE):
            doing.after[fact] = None
    doing.note((f"{ERASURE}{n_before + 1}", {"acts": emptied}))


def leave_no_trace(engine: Engine) -> bool:
    """Rewrite the file so that nothing deleted is left on its free pages or in its log.

    False while another program has the book open, or the disk has no room for it: then the rest goes when the last
    program closes the book. The erasure itself is kept by then, so this raises nothing.
    """
    if engine.dialect.name != "sqlite":
        return True
    try:
        with plain_errors(engine), engine.connect() as connection:
            raw = connection.connection.cursor()
            raw.execute("VACUUM")
            busy, *_ = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            raw.close()
            return not busy
    except BookError:
        return False
