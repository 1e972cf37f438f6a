"""Faults of pairs in words, and a word on stderr about tags nobody knows: they are kept, a mentor may have her own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import typer

from evalkit.domain.amounts import amount_words
from evalkit.domain.round import span_words

if TYPE_CHECKING:
    from evalkit.domain.fault_tags import StrangeTag
    from evalkit.domain.pair import KnownFault, Pair
    from evalkit.files.stock import StockRow
    from evalkit.workbench import Workbench


SEVERITIES = {1: "slight", 2: "plain", 3: "grave"}


def fault_lines(pair: Pair) -> list[str]:
    """What was understood of the faults, in one line; none where there is no fault."""
    return [f"Known faults: {', '.join(map(fault_words, pair.faults))}."] if pair.faults else []


def fault_words(fault: KnownFault) -> str:
    """'nick (grave, thumb tip)'."""
    where = " ".join(part for part in (fault.blade, fault.station) if part)
    return f"{fault.tag} ({SEVERITIES[fault.severity]}{', ' + where if where else ''})"


def hint_at_faults(workbench: Workbench, pairs: Iterable[Pair]) -> None:
    """One line for each tag that neither a rubric nor the cause map knows, and one that names those known."""
    from evalkit.domain.fault_tags import strange_tags

    pairs = [pair for pair in pairs if pair.faults]
    if not pairs:
        return
    weighed, others = _known(workbench)
    strange = strange_tags(pairs, (*weighed, *others))
    if not strange:
        return
    for one in strange:
        hint = f"; did you mean '{one.near}'?" if one.near else "."
        typer.echo(f"evalkit: '{one.tag}' is not a fault the rubrics or the cause map know{hint}", err=True)
    typer.echo(
        f"It is kept as your own word, and no rubric weighs it. Known: {', '.join(weighed)}; "
        f"and the {amount_words(len(others), 'row')} of the cause map.",
        err=True,
    )


def hint_at_imported(workbench: Workbench, rows: Sequence[StockRow]) -> None:
    """Of a whole file: a line for each tag that looks like a known one, and one line for all the others.

    One for all, because a stock may be full of words of the mentor's own.
    """
    from evalkit.domain.fault_tags import strange_tags

    rows = [row for row in rows if row.pair.faults]
    if not rows:
        return
    weighed, others = _known(workbench)
    lines = {row.pair.tag: row.line for row in rows}
    strange = strange_tags((row.pair for row in rows), (*weighed, *others))
    for one in strange:
        if one.near:
            typer.echo(
                f"evalkit: {_placed(one, lines)} is not a fault the rubrics or the cause map know; "
                f"did you mean '{one.near}'? It is kept as it stands.",
                err=True,
            )
    if own := [_placed(one, lines) for one in strange if not one.near]:
        typer.echo(
            f"evalkit: not known to the rubrics or the cause map: {_some(own, '; ')}. "
            "Kept as your own words; no rubric weighs them.",
            err=True,
        )


def _placed(one: StrangeTag, lines: Mapping[str, int]) -> str:
    """'nik' (line 2), 'nik' (lines 2 to 5), 'nik' (lines 2, 4, 6, 7, 9 and 3 more)."""
    at = tuple(lines[tag] for tag in one.pairs)
    span = span_words(at)
    words = span if " to " in span else _some([str(line) for line in at])
    return f"'{one.tag}' ({'line' if len(at) == 1 else 'lines'} {words})"


def _some(words: Sequence[str], sign: str = ", ", most: int = 5) -> str:
    more = len(words) - most
    return sign.join(words[:most]) + (f" and {more} more" if more > 0 else "")


def _known(workbench: Workbench) -> tuple[Sequence[str], Sequence[str]]:
    """The tags that some rubric weighs, and the further ones of the cause map."""
    from evalkit.domain.fault_tags import known_tags
    from evalkit.files.rubrics import sound_rubrics

    rubrics = sound_rubrics(workbench.settings.rubrics)
    known = known_tags(rubrics, workbench.find_causes())
    weighed = {tag for rubric in rubrics for tag in rubric.harder_with}
    return sorted(weighed), [tag for tag in known if tag not in weighed]
