"""Commands on where pairs of the stock are, what they have been through, and which are sent no more."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, day, say, say_json, say_table
from evalkit.cli.pair_described import described_lines
from evalkit.domain.amounts import amount_words

if TYPE_CHECKING:
    from evalkit.files.photos import PhotoStore
    from evalkit.progress.pair_file import PairFile

Tag = Annotated[str, typer.Argument(help="Stock tag of the pair, like S-101.")]
On = Annotated[str | None, typer.Option("--on", metavar="YYYY-MM-DD", help="The day; else today.")]


def list_all(context: typer.Context, as_json: AsJson = False) -> None:
    """List the stock and where each pair is."""
    from evalkit.actions.shelf import held_pairs
    from evalkit.reports.shelf_words import place_fields, place_words

    with bench_of(context).book() as (book, _):
        held, pairs = held_pairs(book), book.list_pairs()
    if as_json:
        lines = [pair.model_dump(mode="json") | place_fields(held.get(pair.tag)) for pair in pairs]
        say_json({"format": 1, "pairs": lines})
        return
    say_table(
        ("tag", "pair", "difficulty", "known faults", "where"),
        [
            (
                pair.tag,
                pair.words,
                pair.difficulty,
                ", ".join(fault.tag for fault in pair.faults) or "-",
                place_words(held.get(pair.tag)),
            )
            for pair in pairs
        ],
    )


def show(context: typer.Context, tag: Tag, as_json: AsJson = False) -> None:
    """Show one pair: how it is described, where it is, what it has been through, and the latest levels seen."""
    from evalkit.actions.shelf import pair_file
    from evalkit.reports.shelf_words import file_document

    bench = bench_of(context)
    with bench.book() as (book, _):
        found = pair_file(book, tag)
    if as_json:
        say_json(file_document(found))
        return
    _show(found, bench.workbench.photos())


def _show(found: PairFile, store: PhotoStore) -> None:
    from evalkit.reports.shelf_words import life_lines, place_words, retired_lines, seen_line, seen_rows, size_rows

    pair = found.pair
    say(*described_lines(pair), "")
    say(f"{pair.tag}: {pair.words}; {place_words(found.held)}.", *retired_lines(found), "", *life_lines(found.life))
    if rows := size_rows(found.life):
        say_table(("mm", "first known", "last known", "used"), rows)
    say("", seen_line(found.last_seen))
    if levels := seen_rows(found.last_seen):
        say_table(("criterion", "level"), levels)
    for one in found.photos:
        say(f"Photo: {store.path_of(one.file)}" + (f" ({one.caption})" if one.caption else ""))


def photo(
    context: typer.Context,
    tag: Tag,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Pictures of the pair: JPEG, PNG, WebP.")],
    caption: Annotated[str, typer.Option("--caption", help="What they show.")] = "",
) -> None:
    """Keep pictures of a pair, whatever box it is in. Place and camera are taken out of them."""
    from evalkit.actions.shelf import add_stock_photos

    bench = bench_of(context)
    with bench.book() as (book, who):
        n_new = add_stock_photos(book, bench.workbench.photos(), tag, files, caption=caption, who=who)
    known = len(files) - n_new
    say(f"Kept {amount_words(n_new, 'photo')} of {tag}." + (f" {known} were there already." if known else ""))


def retire(
    context: typer.Context,
    tag: Tag,
    reason: Annotated[str, typer.Option("--reason", help="Why it is sent no more.")],
    on: On = None,
) -> None:
    """Send a pair no more: no box is planned or proposed with it. What it has been through stays."""
    from evalkit.actions.rounds import check_past

    bench = bench_of(context)
    retired_on = day(on, bench.today, of="retiring")
    check_past(retired_on, bench.today, where=f"pair {tag}")
    with bench.book() as (book, who):
        book.retire_pair(tag, retired_on, reason, who)
    say(f"Retired {tag} on {retired_on}: {reason.strip()}", f"Back again: evalkit pair bring-back {tag}")


def bring_back(
    context: typer.Context,
    tag: Tag,
    reason: Annotated[str, typer.Option("--reason", help="Why it may be sent again.")] = "",
    on: On = None,
) -> None:
    """Let a pair be sent again that was retired, or missing and found; what it was before stays written."""
    from evalkit.actions.rounds import check_past

    bench = bench_of(context)
    back_on = day(on, bench.today, of="bringing it back")
    check_past(back_on, bench.today, where=f"pair {tag}")
    with bench.book() as (book, who):
        kept = book.bring_back_pair(tag, back_on, reason, who)
    say(f"{tag} may be sent again; since {kept.retired_on} it was not: {kept.reason}")
