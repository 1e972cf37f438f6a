"""The stock as CSV: one pair a row, every fault of the file with its row.

A cell that a spreadsheet would take for a formula goes out behind an apostrophe, which coming in takes off again.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from evalkit.domain.amounts import amount_words
from evalkit.domain.pair import Pair
from evalkit.domain.round import span_words
from evalkit.errors import Fault, FileFaultsError, InputError
from evalkit.files.field_words import faults_in_words
from evalkit.files.stock_faults import REMARKS, faults_from_cells, faults_to_cell, remarks_to_cell

COLUMNS = (
    "tag", "edge_type", "edge_line", "size_in", "size_method", "blade_length_mm", "hand", "handle", "make", "teeth",
    "pivot", "faults", "difficulty", "declared_value", "currency", "origin", "weight_g", REMARKS,
)  # fmt: skip
NEEDED = ("tag", "edge_type", "size_in")
DECIMALS = ("size_in", "blade_length_mm", "declared_value", "weight_g")
DECIMAL_COMMA = re.compile(r"\d+,\d+")
MAX_BYTES = 4_000_000
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""How a cell begins that a spreadsheet would reckon with; apostrophes before it stand for themselves."""


def write_stock(pairs: Iterable[Pair]) -> str:
    """Pairs as `read_stock` reads them: comma, quotes where needed, CRLF (RFC 4180), a mark that says UTF-8.

    Blanks around a text are not kept.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for pair in pairs:
        writer.writerow(_safe(_cell(pair, name)) for name in COLUMNS)
    return "\ufeff" + out.getvalue()


def _cell(pair: Pair, name: str) -> str:
    if name == "faults":
        return faults_to_cell(pair.faults)
    if name == REMARKS:
        return remarks_to_cell(pair.faults)
    value = getattr(pair, name)
    return "" if value is None else str(value).strip()


def _safe(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _as_meant(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def with_points(fields: Mapping[str, object]) -> dict[str, object]:
    """The same fields, decimal commas in sizes and values written as points: 5,5 is 5.5."""
    return {
        name: text.replace(",", ".")
        if name in DECIMALS and isinstance(text, str) and DECIMAL_COMMA.fullmatch(text.strip())
        else text
        for name, text in fields.items()
    }


@dataclass(frozen=True, slots=True)
class StockRow:
    """A pair and the line of the file on which it stands."""

    line: int
    pair: Pair


def read_stock(path: Path) -> tuple[Pair, ...]:
    """All pairs of a CSV file with a header row. Raises FileFaultsError with every fault; nothing is half taken."""
    return tuple(row.pair for row in read_rows(path))


def read_rows(path: Path) -> tuple[StockRow, ...]:
    """As `read_stock`, each pair with its line."""
    faults: list[Fault] = []
    found: dict[str, StockRow] = {}
    for line, row in _rows(path):
        try:
            pair = _pair_of(row)
        except InputError as error:
            faults.append(Fault(str(path), line, error.what, error.mend))
            continue
        except ValidationError as error:
            faults += [Fault(str(path), line, what, mend) for what, mend in faults_in_words(error, names={})]
            continue
        if pair.tag in found:
            faults.append(Fault(str(path), line, f"tag {pair.tag} stands twice.", "Give each pair its own tag."))
        found[pair.tag] = StockRow(line, pair)
    if faults:
        raise FileFaultsError(faults)
    if not found:
        raise InputError("the file holds no pair.", mend="Write one pair a row below the header.", where=str(path))
    return tuple(found.values())


def check_new(path: Path, rows: Sequence[StockRow], used: Iterable[str]) -> None:
    """Raises FileFaultsError with one line that names every row whose tag is `used` already, large letters or small."""
    known = {tag.lower() for tag in used}
    again = [row for row in rows if row.pair.tag.lower() in known]
    if again:
        raise FileFaultsError([Fault(str(path), again[0].line, _used_words(again, len(rows)), TAKE_OUT)])


TAKE_OUT = "Take these rows out, or give the pairs other tags."


def _used_words(again: Sequence[StockRow], n_rows: int) -> str:
    tags = _some([row.pair.tag for row in again])
    lines = span_words(tuple(row.line for row in again))
    are, line = ("is", "line") if len(again) == 1 else ("are", "lines")
    return (
        f"{amount_words(len(again), 'tag')} of {n_rows} {are} used already ({line} {lines}: {tags}); a tag is never "
        "used again for another pair, and nothing was added."
    )


def _some(tags: Sequence[str], most: int = 5) -> str:
    return ", ".join(tags[:most]) + (f" and {len(tags) - most} more" if len(tags) > most else "")


def _rows(path: Path) -> list[tuple[int, dict[str, str]]]:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            "the file cannot be read.", mend=f"({error.strerror}) Check its name.", where=str(path)
        ) from None
    if len(data) > MAX_BYTES:
        raise InputError("the file is larger than 4 MB.", mend="Split it.", where=str(path))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        fault = Fault(str(path), line, "this is not UTF-8 text.", "Save the file as UTF-8 (CSV UTF-8) and try again.")
        raise FileFaultsError([fault]) from None
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True, delimiter=_separator(text))
    try:
        heads = [(head or "").strip() for head in reader.fieldnames or ()]
        _check_heads(path, heads)
        reader.fieldnames = heads
        return [(reader.line_num, _cells(path, reader.line_num, row)) for row in reader if any(row.values())]
    except csv.Error as error:
        fault = Fault(str(path), reader.reader.line_num, f"this row is not CSV ({error}).", "Check its quotes.")
        raise FileFaultsError([fault]) from None


def _separator(text: str) -> str:
    """The semicolon where the header is parted by it, as spreadsheets do in lands of the decimal comma."""
    head = text.partition("\n")[0]
    return ";" if head.count(";") > head.count(",") else ","


def _check_heads(path: Path, heads: list[str]) -> None:
    faults = [
        Fault(str(path), 1, f"there is no column '{head}'.", f"The columns are: {', '.join(COLUMNS)}.")
        for head in heads
        if head not in COLUMNS
    ]
    faults += [
        Fault(str(path), 1, f"the column '{head}' is missing.", "Add it.") for head in NEEDED if head not in heads
    ]
    faults += [
        Fault(str(path), 1, f"the column '{head}' stands twice.", "Leave one.")
        for head in COLUMNS
        if heads.count(head) > 1
    ]
    if faults:
        raise FileFaultsError(faults)


def _cells(path: Path, line: int, row: dict[str, str]) -> dict[str, str]:
    if None in row:
        raise FileFaultsError(
            [
                Fault(
                    str(path),
                    line,
                    "this row has more cells than the header.",
                    "Put quotes around a cell that holds the separator.",
                )
            ]
        )
    return {name: _as_meant(cell.strip()) for name, cell in row.items() if cell and cell.strip()}


def _pair_of(row: dict[str, str]) -> Pair:
    fields: dict[str, object] = dict(row)
    remarks = str(fields.pop(REMARKS, ""))
    if "faults" in row or remarks:
        fields["faults"] = faults_from_cells(row.get("faults", ""), remarks)
    try:
        return Pair.model_validate(with_points(fields))
    except ValidationError as error:
        if all(not one["loc"] for one in error.errors()):  # each cell by itself is right, so it is how they go together
            _check_valued(row)
        raise


def _check_valued(row: Mapping[str, str]) -> None:
    if "declared_value" in row and "currency" not in row:
        raise InputError("a declared value needs its currency.", mend="Fill in currency, like EUR.")
    if "currency" in row and "declared_value" not in row:
        raise InputError("a currency needs its declared value.", mend="Fill in declared_value, like 40.50.")
