"""Blind second markings: kept beside the first, read only to see how steady the marking is."""

from __future__ import annotations

import json

from sqlalchemy import Connection, func, select

from evalkit.book.canonical import canonical
from evalkit.book.documents import check_fits
from evalkit.book.facts import second_marking_fact
from evalkit.book.history import Acting
from evalkit.book.people import get_person
from evalkit.book.rounds import get_head
from evalkit.book.schema import second_markings
from evalkit.domain.marking import Marking


def record_second_marking(doing: Acting, marking: Marking) -> bool:
    """False when this very one is kept already. Raises InputError where it does not fit its round."""
    connection, key = doing.connection, marking.round_key
    get_person(connection, "mentor", marking.mentor_key)
    check_fits(connection, get_head(connection, key), marking.rubric_digest, marking.pairs)
    content = canonical(marking.model_dump(mode="json"))
    same = select(second_markings.c.id).where(second_markings.c.round_key == key, second_markings.c.content == content)
    if connection.execute(same).first():
        return False
    number = (connection.execute(select(func.max(second_markings.c.id))).scalar_one() or 0) + 1
    row = {"id": number, "round_key": key, "mentor_key": marking.mentor_key, "content": content}
    connection.execute(second_markings.insert(), {**row, "taken_at": doing.at})
    doing.note(second_marking_fact(number, key, marking.mentor_key, content, doing.at))
    return True


def list_second_markings(connection: Connection, round_key: str | None) -> list[Marking]:
    """In the order in which they were taken in; of one round if named."""
    wanted = select(second_markings.c.content).order_by(second_markings.c.id)
    if round_key is not None:
        wanted = wanted.where(second_markings.c.round_key == round_key)
    return [Marking.model_validate(json.loads(content)) for content in connection.execute(wanted).scalars()]
