"""The mentor's sign-offs, with the evidence as it stood; a withdrawal is added, nothing is taken out."""

from __future__ import annotations

import json
from datetime import date

from sqlalchemy import Connection, RowMapping, func, select

from evalkit.book.canonical import canonical, plain
from evalkit.book.facts import sign_off_fact
from evalkit.book.history import Acting
from evalkit.book.kept import KeptSignOff
from evalkit.book.missing import unknown
from evalkit.book.people import get_person
from evalkit.book.schema import sign_offs
from evalkit.domain.signoff import SignOff
from evalkit.errors import AlreadyError


def record_sign_off(doing: Acting, sign_off: SignOff) -> int:
    """Its number. Raises AlreadyError while another of the same mentor stands for one of its edge types."""
    get_person(doing.connection, "trainee", sign_off.trainee_key)
    get_person(doing.connection, "mentor", sign_off.mentor_key)
    for kept in list_sign_offs(doing.connection, sign_off.trainee_key):
        both = set(kept.sign_off.edge_types) & set(sign_off.edge_types)
        if kept.sign_off.stands and both:
            raise AlreadyError(
                f"a sign-off for {', '.join(sorted(both))} of {kept.sign_off.signed_on} stands.",
                mend="Withdraw it first, if it is to be given anew.",
                where=f"trainee {sign_off.trainee_key}",
            )
    number = (doing.connection.execute(select(func.max(sign_offs.c.id))).scalar_one() or 0) + 1
    kept = KeptSignOff(number, sign_off, doing.at, None)
    doing.connection.execute(sign_offs.insert(), _row(kept))
    doing.note(sign_off_fact(kept))
    return number


def withdraw_sign_off(doing: Acting, number: int, on: date, reason: str) -> SignOff:
    """The sign-off, taken back. Raises NotFoundError, or as `SignOff.withdrawn` does."""
    row = doing.connection.execute(select(sign_offs).where(sign_offs.c.id == number)).mappings().one_or_none()
    if row is None:
        raise unknown("sign-off", str(number), map(str, doing.connection.execute(select(sign_offs.c.id)).scalars()))
    before = kept_of(row)
    kept = KeptSignOff(number, before.sign_off.withdrawn(on, reason), before.signed_at, doing.at)
    doing.connection.execute(sign_offs.update().where(sign_offs.c.id == number).values(_row(kept)))
    doing.note(sign_off_fact(kept), plain(before.sign_off.model_copy(update={"evidence": "{}"})))
    return kept.sign_off


def list_sign_offs(connection: Connection, trainee_key: str | None) -> list[KeptSignOff]:
    """In the order in which they were given, the withdrawn ones too."""
    wanted = select(sign_offs).order_by(sign_offs.c.id)
    if trainee_key is not None:
        wanted = wanted.where(sign_offs.c.trainee_key == trainee_key)
    return [kept_of(row) for row in connection.execute(wanted).mappings()]


def _row(kept: KeptSignOff) -> dict[str, object]:
    sign_off = kept.sign_off
    return {
        **sign_off.model_dump(exclude={"edge_types", "answers"}),
        "id": kept.number,
        "edge_types": canonical([kind.value for kind in sign_off.edge_types]),
        "answers": canonical({kind.value: words for kind, words in sign_off.answers.items()}),
        "signed_at": kept.signed_at,
        "withdrawn_at": kept.withdrawn_at,
    }


def kept_of(row: RowMapping) -> KeptSignOff:
    """From a row of `sign_offs`."""
    fields = {name: row[name] for name in SignOff.model_fields}
    fields["edge_types"], fields["answers"] = json.loads(row["edge_types"]), json.loads(row["answers"])
    return KeptSignOff(row["id"], SignOff.model_validate(fields), row["signed_at"], row["withdrawn_at"])
