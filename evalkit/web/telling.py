"""How a pair on the bench stands, told to the page's own script; and both versions of it where two hands met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.book.drafts import state_of
from evalkit.web.fields import LABELS, FieldFault, ReadForm, fields_of, read_form

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.criterion import CriterionOn
    from evalkit.domain.marking import MarkedPair
    from evalkit.web.benches import Bench
    from evalkit.web.marking_shapes import MarkRow
    from evalkit.web.visit import Visit


def read_pair(visit: Visit, bench: Bench, before: MarkedPair | None) -> ReadForm:
    """The pair as the form of its page says it stands; `before` is what it stood as."""
    return read_form(
        visit.fields(),
        visit.all_said("transit"),
        numbered=bench.numbered(visit.number),
        rubric=bench.rubric,
        lines=bench.lines(visit.number),
        before=before,
    )


def tell_pair(
    visit: Visit,
    row: MarkRow,
    kept: MarkedPair | None,
    lines: Sequence[CriterionOn],
    *,
    tab: str,
    faults: Sequence[FieldFault] = (),
) -> Response:
    """State, levels, causes, what is untested and what could not be read. `tab` is the shape of the pair's tab."""
    return visit.tell(
        {
            "state": state_of(kept),
            "untested": row.untested_words,
            "n_untested": row.n_untested,
            "tab": tab,
            "lines": {
                line.key: {
                    "level": line.level,
                    "shape": line.shape,
                    "n_untested": line.n_untested,
                    "places": {
                        place.slug: {"sign": place.sign, "shape": place.shape, "said": place.said}
                        for place in line.places
                    },
                }
                for line in row.lines
            },
            "causes": [
                {"observed": one.observed, "causes": one.causes, "say": one.say, "weight": one.weight}
                for one in row.causes
            ],
            "fields": fields_of(kept, lines),
            "faults": {fault.name: f"{fault.what} {fault.mend}".strip() for fault in faults},
            "labels": {fault.name: fault.label for fault in faults},
        }
    )


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that two versions say differently."""

    name: str
    label: str
    kept: str
    yours: str
    is_long: bool


def show_both_versions(
    visit: Visit, bench: Bench, number: int, kept: MarkedPair | None, mine: ReadForm, *, path: str
) -> Response:
    """Both versions side by side; nothing is lost until the mentor has chosen and sent the form to `path`."""
    lines = bench.lines(number)
    theirs, yours = fields_of(kept, lines), fields_of(mine.pair, lines)
    names = {on.key: on.name for on in lines}
    differing = [name for name in {**theirs, **yours} if theirs.get(name, "") != yours.get(name, "")]
    return visit.show(
        "both_versions.html",
        409,
        bench=bench,
        numbered=bench.numbered(number),
        path=path,
        state=state_of(kept),
        differences=[_difference(name, theirs.get(name, ""), yours.get(name, ""), names) for name in differing],
        alike={name: text for name, text in theirs.items() if name not in differing},
        faults=mine.faults,
    )


def _difference(name: str, kept: str, yours: str, names: dict[str, str]) -> Difference:
    kind, _, rest = name.partition(".")
    key, _, place = rest.partition(".")
    if not rest:
        label = LABELS.get(name, name)
    elif kind == "c":
        label = f"{names.get(key, key)}: comment"
    else:
        label = names.get(key, key) + ("" if place == "pair" else f", {place.replace('-', ' ')}")
    return Difference(name, label, kept, yours, is_long=kind in ("c", "notes", "transit_note"))
