"""Commands on the stock of practice pairs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.fault_hints import fault_lines, hint_at_faults, hint_at_imported
from evalkit.cli.frame import bench_of, made, plain_app, say
from evalkit.cli.pair_change import change, check_valued
from evalkit.cli.round import write_out
from evalkit.cli.shelf import bring_back, list_all, photo, retire, show
from evalkit.domain.amounts import amount_words

if TYPE_CHECKING:
    pass

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
    from evalkit.files.stock import with_points
    from evalkit.files.stock_faults import fault_from_text

    fields = {
        "tag": tag, "edge_type": edge, "edge_line": edge_line, "size_in": size, "size_method": size_method,
        "blade_length_mm": blade_length, "hand": hand, "handle": handle, "make": make, "teeth": teeth, "pivot": pivot,
        "faults": [fault_from_text(text) for text in fault or ()], "difficulty": difficulty, "declared_value": value,
        "currency": currency, "origin": origin, "weight_g": weight,
    }  # fmt: skip
    check_valued(fields, where=f"pair {tag}")
    pair = made(Pair, with_points(fields), where=f"pair {tag}")
    bench = bench_of(context)
    with bench.book() as (book, who):
        book.add_pair(pair, who)
    say(f"Added {pair.tag}: {pair.words}.", *fault_lines(pair))
    hint_at_faults(bench.workbench, [pair])


app.command("change")(change)


@app.command("import")
def import_all(context: typer.Context, file: Annotated[Path, typer.Argument(help="CSV, one pair a row.")]) -> None:
    """Add many pairs from a CSV file; all of them or none.

    Several faults in one cell are parted by ; as in: nick:2:finger:tip; rust. Where the file itself is parted by ;
    such a cell stands in quotes. A declared value needs its currency, like EUR, in the cell for it.
    """
    from evalkit.files.stock import check_new, read_rows

    rows = read_rows(file)
    pairs = [row.pair for row in rows]
    bench = bench_of(context)
    with bench.book() as (book, who):
        check_new(file, rows, [pair.tag for pair in book.list_pairs()])
        book.add_pairs(pairs, who)
    say(f"Added {amount_words(len(pairs), 'pair')}.")
    hint_at_imported(bench.workbench, rows)


@app.command("export")
def export(
    context: typer.Context, file: Annotated[Path, typer.Argument(help="CSV file to write; one that is not there.")]
) -> None:
    """Write the stock to a CSV file that 'pair import' reads. No cell of it is a formula to a spreadsheet."""
    from evalkit.files.stock import write_stock

    with bench_of(context).book() as (book, _):
        pairs = book.list_pairs()
    write_out(write_stock(pairs), file)


app.command("list")(list_all)
app.command("show")(show)
app.command("photo")(photo)
app.command("retire")(retire)
app.command("bring-back")(bring_back)
