"""Rubrics frozen by content when they are first used."""

from __future__ import annotations

import json
from functools import lru_cache

from sqlalchemy import Connection, select

from evalkit.book.facts import rubric_fact
from evalkit.book.history import Acting
from evalkit.book.kept import FrozenRubric
from evalkit.book.missing import unknown
from evalkit.book.rows import rubric_of
from evalkit.book.schema import rubrics
from evalkit.domain.rubric import Rubric


def freeze_rubric(doing: Acting, rubric: Rubric) -> int:
    """The version under which this content stands; the same content again changes nothing."""
    same = select(rubrics.c.version).where(rubrics.c.digest == rubric.digest)
    known: int | None = doing.connection.execute(same).scalar_one_or_none()
    if known is not None:
        return known
    versions = doing.connection.execute(select(rubrics.c.version).where(rubrics.c.key == rubric.key)).scalars()
    version: int = max(versions, default=0) + 1
    doing.connection.execute(
        rubrics.insert(),
        {
            "key": rubric.key,
            "version": version,
            "digest": rubric.digest,
            "content": rubric.content,
            "frozen_at": doing.at,
        },
    )
    doing.note(rubric_fact(rubric.key, version, rubric.digest, doing.at))
    return version


def get_rubric(connection: Connection, key: str, version: int | None) -> tuple[Rubric, int]:
    """A rubric and its version, the latest unless one is named. Raises NotFoundError."""
    wanted = select(rubrics).where(rubrics.c.key == key).order_by(rubrics.c.version.desc())
    found = {row.version: row.content for row in connection.execute(wanted)}
    if not found:
        raise unknown("frozen rubric", key, connection.execute(select(rubrics.c.key).distinct()).scalars())
    version = max(found) if version is None else version
    if version not in found:
        raise unknown(f"version of rubric '{key}'", str(version), map(str, found))
    return _frozen(found[version]), version


def get_rubric_by_digest(connection: Connection, digest: str) -> Rubric:
    """Raises NotFoundError."""
    content = connection.execute(select(rubrics.c.content).where(rubrics.c.digest == digest)).scalar_one_or_none()
    if content is None:
        raise unknown("frozen rubric", digest, connection.execute(select(rubrics.c.digest)).scalars())
    return _frozen(content)


@lru_cache(maxsize=32)
def _frozen(content: str) -> Rubric:
    """One value for one content: rounds by the same rubric share what grading has worked out from it."""
    return rubric_of(content)


def list_rubrics(connection: Connection) -> list[FrozenRubric]:
    """By key, then version."""
    wanted = select(rubrics).order_by(rubrics.c.key, rubrics.c.version)
    return [
        FrozenRubric(row.key, row.version, row.digest, json.loads(row.content)["name"], row.frozen_at)
        for row in connection.execute(wanted)
    ]
