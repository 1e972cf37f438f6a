"""A word on stderr about tags of faults that look like slips. The pair is kept: a mentor may have tags of her own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import typer

from evalkit.domain.amounts import amount_words

if TYPE_CHECKING:
    from evalkit.domain.fault_tags import StrangeTag
    from evalkit.domain.pair import Pair
    from evalkit.workbench import Workbench


SEVERITIES = {1: "slight", 2: "plain", 3: "grave"}


def fault_lines(pair: Pair) -> list[str]:
    """What was understood of the faults, in one line; none where there is no fault."""
    words = []
    for fault in pair.faults:
        where = " ".join(part for part in (fault.blade, fault.station) if part)
        words.append(f"{fault.tag} ({SEVERITIES[fault.severity]}{', ' + where if where else ''})")
    return [f"Known faults: {', '.join(words)}."] if words else []


def hint_at_faults(workbench: Workbench, pairs: Iterable[Pair]) -> None:
    """One line for each tag that neither a rubric nor the cause map knows, and one that names those known."""
    from evalkit.domain.fault_tags import strange_tags

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


def hint_at_slips(workbench: Workbench, pairs: Iterable[Pair]) -> None:
    """Of many pairs only the tags that look like a known one: a stock may be full of words of the mentor's own."""
    from evalkit.domain.fault_tags import strange_tags

    weighed, others = _known(workbench)
    for one in strange_tags(pairs, (*weighed, *others)):
        if one.near:
            typer.echo(
                f"evalkit: '{one.tag}' ({_where(one)}) is not a fault the rubrics or the cause map know; "
                f"did you mean '{one.near}'? It is kept as it stands.",
                err=True,
            )


def _where(one: StrangeTag) -> str:
    most = 5
    more = len(one.pairs) - most
    return ", ".join(one.pairs[:most]) + (f" and {more} more" if more > 0 else "")


def _known(workbench: Workbench) -> tuple[Sequence[str], Sequence[str]]:
    """The tags that some rubric weighs, and the further ones of the cause map."""
    from evalkit.domain.fault_tags import known_tags
    from evalkit.files.places import rubrics_dir
    from evalkit.files.rubrics import list_rubrics

    own = workbench.settings.rubrics
    rubrics = [one for folder in (own, rubrics_dir()) if folder for one in list_rubrics(folder)]
    known = known_tags(rubrics, workbench.causes())
    weighed = {tag for rubric in rubrics for tag in rubric.harder_with}
    return sorted(weighed), [tag for tag in known if tag not in weighed]
