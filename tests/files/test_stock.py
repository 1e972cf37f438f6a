"""The stock as CSV: every column read, every fault with its row, all of it or nothing."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.domain.pair import Blade, EdgeType, Hand, KnownFault, Make, Pair, Station
from evalkit.errors import FileFaultsError, InputError
from evalkit.files.stock import COLUMNS, MAX_BYTES, NEEDED, check_new, read_rows, read_stock, write_stock
from evalkit.files.stock_faults import fault_from_text
from tests.book import values

HEAD = ",".join(COLUMNS)


def stock(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "stock.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def faults_of(path: Path) -> list[tuple[int, str]]:
    with pytest.raises(FileFaultsError) as told:
        read_stock(path)
    assert {fault.path for fault in told.value.faults} == {str(path)}
    assert all(fault.mend for fault in told.value.faults)
    return [(fault.line, fault.what) for fault in told.value.faults]


def test_every_column_is_read(tmp_path: Path):
    row = (
        "S-1,toothed,straight,6.25,with rest,66.5,left,offset,cast,30,flat screw,"
        "nick:3:thumb:tip; burr,4,40.50,EUR,a drawer,62.5"
    )
    (pair,) = read_stock(stock(tmp_path, f"{HEAD}\n{row}\n"))
    assert (pair.tag, pair.edge_type, pair.size_in, pair.blade_length_mm) == (
        "S-1", EdgeType.TOOTHED, Decimal("6.25"), 66.5,
    )  # fmt: skip
    assert (pair.hand, pair.make, pair.teeth, pair.pivot, pair.difficulty) == (
        Hand.LEFT,
        Make.CAST,
        30,
        "flat screw",
        4,
    )
    assert (pair.declared_value, pair.currency, pair.origin) == (Decimal("40.50"), "EUR", "a drawer")
    assert pair.weight_g == 62.5
    assert [(fault.tag, fault.severity, fault.blade, fault.station) for fault in pair.faults] == [
        ("nick", 3, Blade.THUMB, Station.TIP),
        ("burr", 2, None, None),
    ]


def test_a_blank_cell_is_as_if_its_column_were_not_there(tmp_path: Path):
    full = read_stock(stock(tmp_path, f"{HEAD}\nS-1,convex,,6,,,,,,,,,,,,,\n"))
    short = read_stock(stock(tmp_path, "tag,edge_type,size_in\nS-1,convex,6\n"))
    assert full == short


def test_columns_come_in_any_order_with_blanks_around(tmp_path: Path):
    (pair,) = read_stock(stock(tmp_path, " size_in , tag,edge_type\n 6.0 , S-1 , bevel \n"))
    assert (pair.tag, pair.edge_type) == ("S-1", EdgeType.BEVEL)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_spreadsheets_save_it_in_their_own_ways(encoding: str, end: str, tmp_path: Path):
    text = end.join(["tag,edge_type,size_in,origin", 'S-1,convex,6,"Ærø, the ""old"" drawer"', "", ",,,", ""])
    (pair,) = read_stock(stock(tmp_path, text.encode(encoding)))
    assert pair.origin == 'Ærø, the "old" drawer'


def test_every_fault_is_told_with_its_row_and_nothing_is_half_taken(tmp_path: Path):
    rows = [
        "tag,edge_type,size_in,difficulty,faults",
        "S-1,convex,6,2,",
        "S 2,konvex,60,9,",
        "S-3,convex,6.1,2,",
        "S-1,bevel,6,2,",
        "S-5,convex,6,2,nick:1:2:3:4",
        "S-6,convex,6,2,nick:1:side",
        ",convex,6,2,",
    ]
    found = faults_of(stock(tmp_path, "\n".join(rows)))
    lines = [line for line, _ in found]
    assert lines == sorted(lines)
    assert [line for line in lines if line == 3] == [3, 3, 3, 3]
    assert {what.partition(":")[0] for line, what in found if line == 3} == {
        "tag",
        "edge_type",
        "size_in",
        "difficulty",
    }
    assert (5, "tag S-1 stands twice.") in found
    assert (6, "'nick:1:2:3:4' has too many parts.") in found
    assert any(line == 7 and what.startswith("faults 1, blade: 'side' is not known here.") for line, what in found)
    assert any(line == 8 and what.startswith("tag:") for line, what in found)
    assert not any(line == 2 for line in lines)


@pytest.mark.parametrize(
    ("head", "faults"),
    [
        ("tag,edge_type,size", ["there is no column 'size'.", "the column 'size_in' is missing."]),
        ("tag,edge_type,size_in,tag", ["the column 'tag' stands twice."]),
        ("", [f"the column '{name}' is missing." for name in NEEDED]),
        ("tag;edge_type", ["the column 'size_in' is missing."]),
        ("tag,edge_type,size_in,", ["there is no column ''."]),
    ],
)  # fmt: skip
def test_a_wrong_header_is_told_on_line_1(head: str, faults: list[str], tmp_path: Path):
    found = faults_of(stock(tmp_path, f"{head}\nS-1,convex,6\n"))
    assert {line for line, _ in found} == {1}
    assert sorted(what for _, what in found) == sorted(faults)


def test_a_row_with_too_many_cells_is_told(tmp_path: Path):
    assert faults_of(stock(tmp_path, "tag,edge_type,size_in\nS-1,convex,6,7\n")) == [
        (2, "this row has more cells than the header.")
    ]


@pytest.mark.parametrize(
    "row",
    ['S-1,"convex,6', 'S-1,"con"vex,6', "S-1,\x00convex,6", f"S-1,{'x' * 200_000},6"],
    ids=["open", "in", "nul", "long"],
)
def test_a_row_that_is_no_csv_is_told(row: str, tmp_path: Path):
    (fault,) = faults_of(stock(tmp_path, f"tag,edge_type,size_in\n{row}\n"))
    assert fault[0] >= 2


def test_another_encoding_is_told_with_its_line(tmp_path: Path):
    data = "tag,edge_type,size_in,origin\nS-1,convex,6,plain\nS-2,convex,6,Ærø\n".encode("latin-1")
    assert faults_of(stock(tmp_path, data)) == [(3, "this is not UTF-8 text.")]


def test_a_file_without_pairs_is_no_stock(tmp_path: Path):
    with pytest.raises(InputError, match="the file holds no pair"):
        read_stock(stock(tmp_path, "tag,edge_type,size_in\n,,\n"))


def test_a_huge_file_is_refused_unread(tmp_path: Path):
    with pytest.raises(InputError, match="larger than 4 MB"):
        read_stock(stock(tmp_path, b"x" * (MAX_BYTES + 1)))


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_a_file_that_cannot_be_read_is_told_with_its_name(name: str, tmp_path: Path):
    with pytest.raises(InputError, match="the file cannot be read") as told:
        read_stock(tmp_path / name)
    assert told.value.where == str(tmp_path / name)


def test_needed_columns_are_columns():
    assert set(NEEDED) <= set(COLUMNS)


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("nick", {"tag": "nick"}),
        ("nick:2", {"tag": "nick", "severity": "2"}),
        (" nick : 2 : finger : tip ", {"tag": "nick", "severity": "2", "blade": "finger", "station": "tip"}),
        ("nick::finger", {"tag": "nick", "blade": "finger"}),
    ],
)
def test_a_fault_is_written_in_parts_and_later_ones_may_be_left_out(text: str, fields: dict[str, str]):
    assert fault_from_text(text) == fields


def test_a_file_parted_by_semicolons_is_read_with_decimal_commas(tmp_path: Path):
    head = "tag;edge_type;size_in;blade_length_mm;faults;declared_value;currency"
    (pair,) = read_stock(stock(tmp_path, f'{head}\nS-1;convex;5,5;66,5;"nick:3; burr";40,50;EUR\n'))
    assert (pair.size_in, pair.blade_length_mm, pair.declared_value) == (Decimal("5.5"), 66.5, Decimal("40.50"))
    assert [fault.tag for fault in pair.faults] == ["nick", "burr"]


@pytest.mark.parametrize(
    ("row", "what", "mend"),
    [
        ("S 1,convex,6,,", "tag: 'S 1' cannot stand here.", "Letters, digits and hyphens, at most 20, like S-101."),
        ("S-1,convex,six,,", "size_in: 'six' is no number.", "Inches in steps of a quarter, like 6.0 or 5.25."),
        ("S-1,convex,6.1,,", "size 6.1 in is not a step of a quarter inch.", "Give another value."),
        ("S-1,convex,6,,nick:4", "faults 1, severity: '4' is not possible; it must be at most 3.",
         "1 slight, 2 plain or 3 grave, like nick:2."),
        ("S-1,convex,6,2.5,", "difficulty: '2.5' is no whole number.", "A whole number from 1 (easy) to 5 (hard)."),
        ("S-1,convx,6,,", "edge_type: 'convx' is not known here.",
         "Did you mean 'convex'? It takes: convex, semi-convex, bevel, micro-serrated, sword, toothed."),
    ],
)  # fmt: skip
def test_faults_are_told_in_plain_words_with_an_example(row: str, what: str, mend: str, tmp_path: Path):
    with pytest.raises(FileFaultsError) as told:
        read_stock(stock(tmp_path, f"tag,edge_type,size_in,difficulty,faults\n{row}\n"))
    (fault,) = told.value.faults
    assert (fault.what, fault.mend) == (what, mend)


@pytest.mark.parametrize(
    ("cells", "what", "mend"),
    [
        ('"nick:2, rust",,', "faults: 'nick:2, rust' holds a comma; several faults in one cell are parted by ';'.",
         "Write them like nick:2; rust, in quotes where the file itself is parted by ';'."),
        (",40.50,", "a declared value needs its currency.", "Fill in currency, like EUR."),
        (",,EUR", "a currency needs its declared value.", "Fill in declared_value, like 40.50."),
        (",forty,", "declared_value: 'forty' is no number.", "A sum with at most two decimals, like 40.50."),
    ],
)  # fmt: skip
def test_what_goes_together_in_a_row_is_told_by_its_cells(cells: str, what: str, mend: str, tmp_path: Path):
    with pytest.raises(FileFaultsError) as told:
        read_stock(stock(tmp_path, f"tag,edge_type,size_in,faults,declared_value,currency\nS-1,convex,6,{cells}\n"))
    (fault,) = told.value.faults
    assert (fault.line, fault.what, fault.mend) == (2, what, mend)


# --- written ---------------------------------------------------------------------------------------------------------

DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
"""Signs with which a cell begins that a spreadsheet takes for a formula: OWASP, 'CSV Injection' (from memory)."""
remarks = st.sampled_from(["a | b", "|", "\\", "\\|", "a\\", "; x", "=1", "", " - two\nlines ", "||"])
formulas = st.sampled_from(["=1+1", "+1", "-1", "@SUM(A1)", "'=1", "''@x", "'plain", '=HYPERLINK("http://x")', "\t=1"])


def as_kept(pair: Pair) -> Pair:
    """What a CSV file carries: no blanks around a text."""
    faults = tuple(fault.model_copy(update={"note": fault.note.strip()}) for fault in pair.faults)
    return pair.model_copy(update={"pivot": pair.pivot.strip(), "origin": pair.origin.strip(), "faults": faults})


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_what_is_written_is_read_back_and_no_cell_of_it_is_a_formula(tmp_path_factory: pytest.TempPathFactory, data):
    pairs = [data.draw(values.pairs(f"S-{number}")) for number in range(3)]
    pairs[0] = pairs[0].model_copy(update={"origin": data.draw(formulas), "pivot": data.draw(formulas).strip()})
    notes = data.draw(st.lists(remarks, min_size=1, max_size=4))
    faults = tuple(KnownFault(tag=f"fault-{at}", note=note) for at, note in enumerate(notes))
    pairs[1] = pairs[1].model_copy(update={"faults": faults})
    path = tmp_path_factory.mktemp("stock") / "stock.csv"
    text = write_stock(pairs)
    path.write_bytes(text.encode())
    rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert [cell for row in rows for cell in row if cell.startswith(DANGEROUS)] == []
    assert read_stock(path) == tuple(as_kept(pair) for pair in pairs)


def test_the_file_is_the_csv_of_its_standard():
    # RFC 4180: lines end with CRLF; a cell with comma, quote or line break stands in quotes, a quote in it doubled.
    pair = Pair(tag="S-1", edge_type=EdgeType.CONVEX, size_in=Decimal("6.0"), origin='a "fine" one, old\nand worn')
    text = write_stock([pair])
    assert text.removeprefix("\ufeff").split("\r\n")[1].endswith('"a ""fine"" one, old\nand worn",,')
    assert text.endswith("\r\n")
    assert text.count("\r\n") == 2


def test_an_apostrophe_of_ones_own_stays(tmp_path: Path):
    rows = "tag,edge_type,size_in,origin\nS-1,convex,6,'tis mine\nS-2,convex,6,'=1\nS-3,convex,6,''=1\n"
    assert [pair.origin for pair in read_stock(stock(tmp_path, rows))] == ["'tis mine", "=1", "'=1"]


def test_remarks_stand_in_a_column_of_their_own(tmp_path: Path):
    head = "tag,edge_type,size_in,faults,fault_remarks"
    (pair,) = read_stock(stock(tmp_path, f"{head}\nS-1,convex,6,nick:3; rust; burr,from a comb | | one\\|two\n"))
    assert [(fault.tag, fault.note) for fault in pair.faults] == [
        ("nick", "from a comb"),
        ("rust", ""),
        ("burr", "one|two"),
    ]
    assert write_stock([pair]).endswith("nick:3; rust:2; burr:2,2,,,,,from a comb |  | one\\|two\r\n")


def test_a_remark_without_its_fault_is_told(tmp_path: Path):
    head = "tag,edge_type,size_in,faults,fault_remarks"
    for row in ("S-1,convex,6,nick,one | two", "S-1,convex,6,,lonely"):
        ((line, what),) = faults_of(stock(tmp_path, f"{head}\n{row}\n"))
        assert line == 2
        assert what.startswith("fault_remarks has more remarks (")


def test_tags_that_are_used_are_told_in_one_line(tmp_path: Path):
    path = stock(tmp_path, "tag,edge_type,size_in\n" + "".join(f"S-{n},convex,6\n" for n in range(1, 9)))
    rows = read_rows(path)
    check_new(path, rows, ["S-99"])
    with pytest.raises(FileFaultsError) as told:
        check_new(path, rows, ["s-2", "S-4", "S-99"])
    (fault,) = told.value.faults
    assert (fault.path, fault.line) == (str(path), 3)
    assert fault.what.startswith("2 tags of 8 are used already (lines 3, 5: S-2, S-4); a tag is never used again")
    with pytest.raises(FileFaultsError, match=r"8 tags of 8 are used already .lines 2 to 9: S-1, .*S-5 and 3 more."):
        check_new(path, rows, [f"S-{n}" for n in range(1, 9)])
