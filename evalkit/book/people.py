"""Mentors and trainees in the book."""

from __future__ import annotations

from typing import get_args

from sqlalchemy import Connection, select

from evalkit.book.facts import person_fact
from evalkit.book.history import Acting
from evalkit.book.kept import Role
from evalkit.book.missing import unknown
from evalkit.book.schema import acts, people
from evalkit.domain.round import Person
from evalkit.errors import AlreadyError, InputError


def add_person(doing: Acting, role: Role, person: Person) -> None:
    """Raises AlreadyError when the key is taken."""
    if role not in get_args(Role):
        raise InputError(f"a person is not a '{role}'.", mend=f"It is one of: {', '.join(get_args(Role))}.")
    taken = doing.connection.execute(select(people).where(people.c.key == person.key)).one_or_none()
    if taken is not None:
        raise AlreadyError(f"the key '{person.key}' is {taken.name}'s, a {taken.role}.", mend="Choose another key.")
    row = {"key": person.key, "role": role, "name": person.name, "added_at": doing.at}
    doing.connection.execute(people.insert(), row)
    doing.note(person_fact(person, role, doing.at))


def list_people(connection: Connection, role: Role | None = None) -> list[Person]:
    """In the order of their keys."""
    wanted = select(people.c.key, people.c.name).order_by(people.c.key)
    if role is not None:
        wanted = wanted.where(people.c.role == role)
    return [Person(key=row.key, name=row.name) for row in connection.execute(wanted)]


def find_own_trainee(connection: Connection) -> Person | None:
    """The trainee who made this book for oneself, which is its first act; None in a mentor's book."""
    first = connection.execute(select(acts.c.act, acts.c.subject).where(acts.c.seq == 1)).one_or_none()
    if first is None or first.act != "add trainee":
        return None
    key = first.subject.removeprefix("person ")
    return next((person for person in list_people(connection, "trainee") if person.key == key), None)


def get_person(connection: Connection, role: Role, key: str) -> Person:
    """Raises NotFoundError."""
    known = {person.key: person for person in list_people(connection, role)}
    if key not in known:
        raise unknown(role, key, known)
    return known[key]
