"""The command that writes the papers of a box: labels, packing list, checklist, return slip."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import bench_of, say
from evalkit.cli.reporting import Over
from evalkit.cli.waiting import patience
from evalkit.errors import EvalkitError, InputError

if TYPE_CHECKING:
    from evalkit.reports.label_sheets import LabelSheet
    from evalkit.settings import Paper

CountryCode = Annotated[str | None, typer.Option("--from", help="Country you post from, ISO 3166, like DE.")]


def papers(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round, like teo-3.")],
    out: Annotated[Path, typer.Option("--out", help="Folder to write to.")] = Path("papers"),
    formats: Annotated[str, typer.Option("--format", help="html, pdf, md, json; several with commas.")] = "html",
    labels: Annotated[
        str | None,
        typer.Option(
            "--labels", help="a4-3x8, a4-2x7, letter-3x10, a4-cards, letter-cards; several with commas; or none."
        ),
    ] = None,
    first_label: Annotated[int, typer.Option("--first-label", help="The first label still on the sheet.")] = 1,
    paper: Annotated[str | None, typer.Option("--paper", help="A4 or Letter; else EVALKIT_PAPER, else A4.")] = None,
    from_country: CountryCode = None,
    to_country: Annotated[str | None, typer.Option("--to", help="Country it goes to, ISO 3166, like CH.")] = None,
    made_in: Annotated[
        str | None, typer.Option("--made-in", help="Country in which all pairs were made, if you know it.")
    ] = None,
    weight: Annotated[str | None, typer.Option("--weight", metavar="KG", help="Weight of the packed box.")] = None,
    sdr_rate: Annotated[
        str | None, typer.Option("--sdr-rate", help="What one SDR is worth today in the currency of the box.")
    ] = None,
    value_sdr: Annotated[str | None, typer.Option("--value-sdr", help="Declared value of the box in SDR.")] = None,
    photo: Annotated[Path | None, typer.Option("--photo", help="Picture of all pairs laid out.")] = None,
    over: Over = False,
) -> None:
    """Write the papers of a box: numbered labels, packing list, checklist, return slip, the likely declaration.

    None of them is an official form: the carrier and customs have the last word.
    """
    with patience("Starting"):
        from evalkit.reports.formats import parse_formats, write_reports
        from evalkit.reports.papers_rows import Posting, doubts_of
        from evalkit.reports.to_papers import LabelsJob, PapersJob

    workbench = bench_of(context).workbench.at(paper=paper, country=from_country)
    wanted = parse_formats(formats)
    posting = Posting(
        from_country=_country(workbench.settings.country or None),
        to_country=_country(to_country),
        made_in=_country(made_in),
        weight_kg=_number(weight, "--weight"),
        rate=_number(sdr_rate, "--sdr-rate"),
        value_sdr=_number(value_sdr, "--value-sdr"),
    )
    sheets = _sheets(labels, workbench.settings.paper, first_label)
    picture = _picture(photo)
    with workbench.open_book() as book:
        round_ = book.get_round(key)
    with patience("Writing the papers"):
        job = PapersJob(round_, posting, workbench.today, workbench.settings.paper, picture)
        labels_jobs = [LabelsJob(round_, sheet, first_label) for sheet in sheets]
        files = write_reports(job, wanted, out, *labels_jobs, is_over=over)
    say(*(file.words for file in files), *doubts_of(round_))
    say("No official form: what may be posted and how is for the carrier and customs to say.")


def _country(code: str | None) -> str | None:
    if code is None:
        return None
    from evalkit.domain.codes import COUNTRIES

    if code.upper() not in COUNTRIES:
        raise InputError(
            f"'{code}' is no country of ISO 3166.", mend="Write its two letters, like DE, CH, US; GB for Britain."
        )
    return code.upper()


def _number(text: str | None, option: str) -> Decimal | None:
    if text is None:
        return None
    try:
        number = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        number = Decimal(-1)
    if not number.is_finite() or number <= 0:
        raise InputError(f"'{text}' is no number for {option}.", mend=f"Write it like {option} 1.4.")
    return number


def _sheets(labels: str | None, paper: Paper, first: int) -> list[LabelSheet]:
    """The sheets asked for, checked before anything is written."""
    from evalkit.reports.label_sheets import USUAL, get_sheet, paged

    words = [word.strip() for word in (USUAL[paper] if labels is None else labels).split(",") if word.strip()]
    sheets = [] if words == ["none"] else [get_sheet(word) for word in dict.fromkeys(words)]
    for sheet in sheets:
        paged((), sheet, first)
    return sheets


def _picture(path: Path | None) -> str | None:
    """The picture without its place and device, small enough for a page."""
    if path is None:
        return None
    from evalkit.files.photos import clean_photo
    from evalkit.reports.formats import data_address

    try:
        return data_address(clean_photo(path.read_bytes()).data)
    except OSError as error:
        raise InputError("the picture cannot be read.", mend=f"({error.strerror})", where=str(path)) from None
    except EvalkitError as error:
        raise InputError(error.what, mend=error.mend, where=str(path)) from None
