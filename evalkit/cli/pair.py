"""Commands on the stock of practice pairs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import bench_of, made, plain_app, say
from evalkit.cli.round import write_out
from evalkit.cli.shelf import bring_back, list_all, photo, retire, show
from evalkit.domain.amounts import amount_words
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.domain.pair import Pair

app = plain_app("Keep the stock of practice pairs. A tag is never used again for another pair.")


@app.command("add")
def add(
    context: typer.Context,
    tag: Annotated[str, typer.Argument(help="Stock tag, like S-101.")],
    edge: Annotated[str, typer.Option("--edge", help="convex, semi-convex, bevel, micro-serrated, sword or toothed.")],
    size: Annotated[str, typer.Option("--size", help="Nominal size in inches, like 6.0.")],
    size_method: Annotated[
        str, typer.Option(help="How it was measured: 'without rest' or 'with rest'.")
    ] = "without rest",
    blade_length: Annotated[str | None, typer.Option(help="Tip to pivot centre, mm.")] = None,
    hand: Annotated[str, typer.Option(help="right or left (a true left pair).")] = "right",
    handle: Annotated[str, typer.Option(help="level, semi-offset, offset, crane, 'swivel thumb'.")] = "unknown",
    make: Annotated[str, typer.Option(help="forged, cast or unknown.")] = "unknown",
    edge_line: Annotated[str, typer.Option(help="straight, bamboo-leaf, willow-leaf or unknown.")] = "unknown",
    teeth: Annotated[int | None, typer.Option(help="Number of teeth; toothed pairs only.")] = None,
    pivot: Annotated[str, typer.Option(help="Kind of pivot, in your words.")] = "",
    fault: Annotated[
        list[str] | None,
        typer.Option("--fault", help="Known fault: TAG, or TAG:SEVERITY:BLADE:STATION (severity 1 to 3). Repeatable."),
    ] = None,
    difficulty: Annotated[int, typer.Option(help="1 easy to 5 hard.")] = 2,
    value: Annotated[str | None, typer.Option(help="Declared value, with --currency.")] = None,
    currency: Annotated[str | None, typer.Option(help="ISO 4217, like EUR.")] = None,
    origin: Annotated[str, typer.Option(help="Where it came from.")] = "",
    weight: Annotated[str | None, typer.Option(metavar="G", help="Weight of the pair alone, grams.")] = None,
) -> None:
    """Add one pair to the stock."""
    from evalkit.domain.pair import Pair
    from evalkit.files.stock import fault_from_text, with_points

    fields = {
        "tag": tag, "edge_type": edge, "edge_line": edge_line, "size_in": size, "size_method": size_method,
        "blade_length_mm": blade_length, "hand": hand, "handle": handle, "make": make, "teeth": teeth, "pivot": pivot,
        "faults": [fault_from_text(text) for text in fault or ()], "difficulty": difficulty, "declared_value": value,
        "currency": currency, "origin": origin, "weight_g": weight,
    }  # fmt: skip
    pair = made(Pair, with_points(fields), where=f"pair {tag}")
    with bench_of(context).book() as (book, who):
        book.add_pair(pair, who)
    say(f"Added {pair.tag}: {pair.words}.", *_fault_lines(pair))


@app.command("change")
def change(
    context: typer.Context,
    tag: Annotated[str, typer.Argument(help="Stock tag of the pair, like S-101.")],
    blade_length: Annotated[str | None, typer.Option(metavar="MM", help="Tip to pivot centre, mm.")] = None,
    difficulty: Annotated[int | None, typer.Option(help="1 easy to 5 hard.")] = None,
    handle: Annotated[str | None, typer.Option(help="level, semi-offset, offset, crane, 'swivel thumb'.")] = None,
    make: Annotated[str | None, typer.Option(help="forged, cast or unknown.")] = None,
    pivot: Annotated[str | None, typer.Option(help="Kind of pivot, in your words.")] = None,
    fault: Annotated[
        list[str] | None, typer.Option("--fault", help="Known fault, as in 'pair add'; those given replace all before.")
    ] = None,
    value: Annotated[str | None, typer.Option(help="Declared value, with --currency.")] = None,
    currency: Annotated[str | None, typer.Option(help="ISO 4217, like EUR.")] = None,
    origin: Annotated[str | None, typer.Option(help="Where it came from.")] = None,
    weight: Annotated[str | None, typer.Option(metavar="G", help="Weight of the pair alone, grams.")] = None,
) -> None:
    """Correct what was written of a pair. It reaches every round that names the pair, also those that are back.

    The history keeps the description of before.
    """
    from evalkit.domain.pair import Pair
    from evalkit.files.field_words import NAMES
    from evalkit.files.stock import fault_from_text, with_points

    given = {
        "blade_length_mm": blade_length, "difficulty": difficulty, "handle": handle, "make": make, "pivot": pivot,
        "faults": [fault_from_text(text) for text in fault] if fault else None, "declared_value": value,
        "currency": currency, "origin": origin, "weight_g": weight,
    }  # fmt: skip
    changed = with_points({name: text for name, text in given.items() if text is not None})
    if not changed:
        raise InputError(
            "nothing was given to change.", mend="Say what, like --blade-length 66.5.", where=f"pair {tag}"
        )
    with bench_of(context).book() as (book, who):
        before = book.get_pair(tag)
        pair = made(Pair, {**before.model_dump(), **changed}, where=f"pair {tag}")
        book.change_pair(pair, who, is_correction=True)
    if pair == before:
        say(f"{tag}: it is described like that already; nothing changed.")
        return
    say(f"Corrected {tag}: {', '.join(NAMES.get(name, name) for name in changed)}.", *_fault_lines(pair))


def _fault_lines(pair: Pair) -> list[str]:
    """What was understood of the faults; a tag is free text, so a slip is seen here or nowhere."""
    words = []
    for fault in pair.faults:
        where = " ".join(part for part in (fault.blade, fault.station) if part)
        words.append(f"{fault.tag} ({SEVERITIES[fault.severity]}{', ' + where if where else ''})")
    return [f"Known faults: {', '.join(words)}."] if words else []


SEVERITIES = {1: "slight", 2: "plain", 3: "grave"}


@app.command("import")
def import_all(context: typer.Context, file: Annotated[Path, typer.Argument(help="CSV, one pair a row.")]) -> None:
    """Add many pairs from a CSV file; all of them or none."""
    from evalkit.files.stock import read_stock

    pairs = read_stock(file)
    with bench_of(context).book() as (book, who):
        book.add_pairs(pairs, who)
    say(f"Added {amount_words(len(pairs), 'pair')}.")


@app.command("export")
def export(
    context: typer.Context, file: Annotated[Path, typer.Argument(help="CSV file to write; one that is not there.")]
) -> None:
    """Write the stock to a CSV file that 'pair import' reads. No cell of it is a formula to a spreadsheet."""
    from evalkit.files.stock import write_stock

    with bench_of(context).book() as (book, _):
        pairs = book.list_pairs()
    write_out(write_stock(pairs), file)
    if noted := [pair.tag for pair in pairs if any(fault.note for fault in pair.faults)]:
        say(f"Remarks on known faults have no column and stay in the book: {', '.join(noted)}.")


app.command("list")(list_all)
app.command("show")(show)
app.command("photo")(photo)
app.command("retire")(retire)
app.command("bring-back")(bring_back)
