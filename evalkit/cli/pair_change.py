"""The command that describes a pair anew: a correction of what was written, or a change of the pair itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import typer

from evalkit.cli.fault_hints import fault_lines, hint_at_faults
from evalkit.cli.frame import bench_of, made, say
from evalkit.errors import InputError


def change(
    context: typer.Context,
    tag: Annotated[str, typer.Argument(help="Stock tag of the pair, like S-101.")],
    edge: Annotated[str | None, typer.Option("--edge", help="Edge type, as in 'pair add'.")] = None,
    edge_line: Annotated[str | None, typer.Option(help="straight, bamboo-leaf, willow-leaf or unknown.")] = None,
    size: Annotated[str | None, typer.Option("--size", help="Nominal size in inches, like 6.0.")] = None,
    size_method: Annotated[str | None, typer.Option(help="'without rest', 'with rest' or unknown.")] = None,
    blade_length: Annotated[str | None, typer.Option(metavar="MM", help="Tip to pivot centre, mm.")] = None,
    hand: Annotated[str | None, typer.Option(help="right or left (a true left pair).")] = None,
    difficulty: Annotated[int | None, typer.Option(help="1 easy to 5 hard.")] = None,
    handle: Annotated[str | None, typer.Option(help="level, semi-offset, offset, crane, 'swivel thumb'.")] = None,
    make: Annotated[str | None, typer.Option(help="forged, cast or unknown.")] = None,
    teeth: Annotated[int | None, typer.Option(help="Number of teeth; toothed pairs only.")] = None,
    pivot: Annotated[str | None, typer.Option(help="Kind of pivot, in your words.")] = None,
    fault: Annotated[
        list[str] | None, typer.Option("--fault", help="Known fault, as in 'pair add'; those given replace all before.")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="Declared value, with --currency.")] = None,
    currency: Annotated[str | None, typer.Option(help="ISO 4217, like EUR.")] = None,
    origin: Annotated[str | None, typer.Option(help="Where it came from.")] = None,
    weight: Annotated[str | None, typer.Option(metavar="G", help="Weight of the pair alone, grams.")] = None,
    from_now_on: Annotated[
        bool,
        typer.Option("--from-now-on", help="The pair itself is another now, as after a blade was cut shorter."),
    ] = False,
) -> None:
    """Correct what was written of a pair, or, with --from-now-on, write down that the pair itself was changed.

    A correction says that the old words were never right: it reaches every round that names the pair, also those that
    are back. A change says that they were right until now: rounds that are back keep them, boxes that are not back take
    the new ones. The history keeps the description of before either way.
    """
    from evalkit.actions.redescribing import check_still_fits
    from evalkit.domain.pair import Pair
    from evalkit.files.field_words import NAMES
    from evalkit.files.stock import with_points
    from evalkit.files.stock_faults import fault_from_text

    given = {
        "edge_type": edge, "edge_line": edge_line, "size_in": size, "size_method": size_method,
        "blade_length_mm": blade_length, "hand": hand, "difficulty": difficulty, "handle": handle, "make": make,
        "teeth": teeth, "pivot": pivot, "faults": [fault_from_text(text) for text in fault] if fault else None,
        "declared_value": value, "currency": currency, "origin": origin, "weight_g": weight,
    }  # fmt: skip
    changed = with_points({name: text for name, text in given.items() if text is not None})
    if not changed:
        raise InputError(
            "nothing was given to change.", mend="Say what, like --blade-length 66.5.", where=f"pair {tag}"
        )
    bench = bench_of(context)
    with bench.book() as (book, who):
        before = book.get_pair(tag)
        if before.teeth is not None and edge not in (None, "toothed"):
            changed.setdefault("teeth", None)  # a pair that was never toothed had no teeth to count
        fields = {**before.model_dump(), **changed}
        check_valued(fields, where=f"pair {tag}")
        pair = made(Pair, fields, where=f"pair {tag}")
        check_still_fits(book, before, pair, is_correction=not from_now_on)
        book.change_pair(pair, who, is_correction=not from_now_on)
    if pair == before:
        say(f"{tag}: it is described like that already; nothing changed.")
        return
    names = ", ".join(NAMES.get(name, name) for name in changed)
    say(f"{'Changed' if from_now_on else 'Corrected'} {tag}: {names}.", REACH[from_now_on], *fault_lines(pair))
    hint_at_faults(bench.workbench, [pair] if fault else [])


def check_valued(fields: Mapping[str, object], *, where: str) -> None:
    """Raises InputError for a declared value without its currency, or a currency without its value."""
    value, currency = fields["declared_value"], fields["currency"]
    if value is not None and currency is None:
        raise InputError("a declared value needs its currency.", mend="Add it, like --currency EUR.", where=where)
    if value is None and currency is not None:
        raise InputError("a currency needs its declared value.", mend="Add it, like --value 40.50.", where=where)


REACH = {
    False: "A correction: every round that names the pair has it, also those that are back. "
    "(If the pair itself was changed: --from-now-on.)",
    True: "A change: rounds that are back keep what was written; boxes that are not back, and all to come, have it.",
}
"""By `from_now_on`: how far it goes."""
