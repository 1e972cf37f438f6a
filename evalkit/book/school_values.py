"""What the school has taught: every learning is kept; the newest counts until it is forgotten."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Row, select

from evalkit.book.canonical import canonical
from evalkit.book.facts import school_values_fact
from evalkit.book.history import Acting, Fact
from evalkit.book.schema import school_values
from evalkit.errors import NotFoundError

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues


def record_school_values(doing: Acting, values: SchoolValues) -> int:
    """The number under which they stand; from now on they count, and none before them."""
    newest = _newest(doing.connection)
    number = 1 if newest is None else newest.id + 1
    content = canonical(values.model_dump(mode="json"))
    doing.connection.execute(school_values.insert(), {"id": number, "content": content, "learnt_at": doing.at})
    doing.note(school_values_fact(number, content, doing.at, None))
    return number


def forget_school_values(doing: Acting) -> SchoolValues:
    """Those that counted; defaults count from now on. Raises NotFoundError when they do already."""
    newest = _newest(doing.connection)
    if newest is None or newest.forgotten_at is not None:
        raise NotFoundError("nothing learnt from the school is in use.", mend="The defaults stand already.")
    forgotten = school_values.update().where(school_values.c.id == newest.id).values(forgotten_at=doing.at)
    doing.connection.execute(forgotten)
    _, before = fact_of(newest)
    doing.note(school_values_fact(newest.id, newest.content, newest.learnt_at, doing.at), before)
    return _values_of(newest)


def find_school_values(connection: Connection) -> SchoolValues | None:
    """Those that count; None where the defaults do."""
    newest = _newest(connection)
    return None if newest is None or newest.forgotten_at is not None else _values_of(newest)


def fact_of(row: Row) -> Fact:  # type: ignore[type-arg]  # a row of this table, whatever its columns
    """From a row of `school_values`."""
    return school_values_fact(row.id, row.content, row.learnt_at, row.forgotten_at)


def _newest(connection: Connection) -> Row | None:  # type: ignore[type-arg]
    return connection.execute(select(school_values).order_by(school_values.c.id.desc()).limit(1)).one_or_none()


def _values_of(row: Row) -> SchoolValues:  # type: ignore[type-arg]
    from evalkit.domain.school_values import SchoolValues  # most books have none to read

    return SchoolValues.model_validate(json.loads(row.content))
