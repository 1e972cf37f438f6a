"""The papers of a box: what stands on them and what must not, in every format, with hostile words in every field."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest

from evalkit.domain.pair import EdgeType, KnownFault, Pair
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.triage import Decision
from evalkit.reports.label_sheets import SHEETS, get_sheet
from evalkit.reports.papers_rows import Posting, code_words, doubts_of, label_rows, papers_row
from evalkit.reports.to_papers import LabelsJob, PapersJob
from evalkit.reports.to_pdf import to_pdf
from evalkit.settings import Paper
from tests.reports.hostile import LINES
from tests.reports.pages import elements
from tests.reports.spoiling import in_turn, spoil

MADE_ON = date(2026, 5, 4)
POSTING = Posting("DE", "CH", weight_kg=Decimal("1.4"), rate=Decimal("1.22"))


def pair(number: int, value: str | None = "35.00", currency: str = "EUR") -> Pair:
    return Pair(
        tag=f"S-{100 + number}",
        edge_type=EdgeType.SWORD,
        size_in=Decimal("6.0"),
        faults=(KnownFault(tag="throat-dip", note="never shown"),),
        difficulty=5,
        origin="estate lot",
        declared_value=None if value is None else Decimal(value),
        currency=None if value is None else currency,
    )


def round_of(*pairs: Pair, n: int = 12) -> Round:
    given = pairs or tuple(pair(number) for number in range(1, n + 1))
    numbered = [NumberedPair(number=at, pair=one, called_for=Decision.LEAVE) for at, one in enumerate(given, 1)]
    return Round(
        key="teo-3",
        trainee=Person(key="teo", name="Teo Marsk"),
        mentor=Person(key="oda", name="Oda Ferrin"),
        rubric_key="shears",
        rubric_version=1,
        rubric_digest="0" * 64,
        planned_on=date(2026, 4, 1),
        pairs=tuple(reversed(numbered)),  # papers go by number, however the box was planned
        legs=(Leg(kind=LegKind.SENT, happened_on=date(2026, 4, 3), carrier_ref="HQ 1088"),),
    )


def papers(round_: Round | None = None, posting: Posting = POSTING, paper: Paper = Paper.A4, photo=None) -> PapersJob:
    return PapersJob(round_ or round_of(), posting, MADE_ON, paper, photo)


# --- what stands there ------------------------------------------------------------------------------------------------


def test_the_packing_list_says_what_customs_ask():
    row = papers_row(round_of(), POSTING, made_on=MADE_ON)
    assert [one.number for one in row.items] == [str(number) for number in range(1, 13)]
    assert row.items[0].tag == "S-101"
    assert {one.hs for one in row.items} == {"8213.00"}
    assert row.items[0].value == "35.00 EUR"
    assert row.totals == ("420.00 EUR",)
    assert (row.from_country, row.to_country) == ("Germany (DE)", "Switzerland (CH)")
    assert (row.weight, row.reference) == ("1.4 kg", "HQ 1088")
    assert row.declaration.headline == "Likely CN 23"  # 420 / 1.22 = 344 SDR
    assert row.declaration.why[0] == "Declared value: 344.2 SDR."
    assert "The carrier and customs decide." in row.declaration.why


def test_what_is_not_known_is_left_blank_and_never_nought():
    round_ = round_of(pair(1), pair(2, None), pair(3, "1200", "JPY"), pair(4, None))
    row = papers_row(round_, Posting(), made_on=MADE_ON)
    assert [one.value for one in row.items] == ["35.00 EUR", "not declared", "1200.00 JPY", "not declared"]
    assert row.totals == ("35.00 EUR", "1200.00 JPY", "not declared: pairs 2, 4")
    assert (row.from_country, row.to_country, row.weight, row.made_in) == ("", "", "", "")
    assert row.declaration.headline == "CN 22 or CN 23: not to be told yet"
    (unknown,) = [words for words in row.declaration.why if words.startswith("Not known")]
    assert unknown == "Not known: the declared value of every pair, the value in SDR and the weight of the box."
    assert doubts_of(round_)[0].startswith("No declared value: pairs 2, 4.")
    assert doubts_of(round_of(pair(1, "5.00", "EUT"))) == (
        "Not a currency of ISO 4217 that is known here: EUT.",
    )  # fmt: skip
    assert doubts_of(round_of()) == ()


@pytest.mark.parametrize("job", [papers(), *(LabelsJob(round_of(), sheet) for sheet in SHEETS.values())], ids=str)
def test_nothing_in_the_box_says_how_hard_a_pair_is_or_what_is_wrong_with_it(job: PapersJob | LabelsJob):
    for text in (job.page, job.text, job.data):
        for secret in ("throat", "difficult", "never shown", "estate", "leave", "harder", "Decision"):
            assert secret not in text, secret


def test_a_label_does_not_name_the_trainee():
    job = LabelsJob(round_of(), get_sheet("a4-3x8"))
    assert "Teo" not in job.page + job.text + job.data
    assert label_rows(round_of())[6].code.words == "evalkit:teo-3:7:S-107"


def test_no_page_claims_to_be_a_form():
    page = papers().page
    assert page.count("It is not an official form") == 2  # on the list and on the slip
    assert "CN 22" in page
    assert not re.search(r"customs declaration form|pro forma|invoice|certificate", page, re.IGNORECASE)


# --- as pages ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", [papers(), *(LabelsJob(round_of(n=30), sheet) for sheet in SHEETS.values())], ids=str)
def test_every_page_is_well_formed_and_fetches_nothing(job: PapersJob | LabelsJob):
    found = elements(job.page)
    assert Counter(one.tag for one in found)["h1"] == 1
    levels = [int(one.tag[1]) for one in found if re.fullmatch(r"h[1-6]", one.tag)]
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
    for one in found:
        assert one.tag not in {"script", "link", "iframe", "object", "embed", "base", "form"}
        for name in ("src", "href"):
            assert one.attributes.get(name, "#").startswith(("#", "data:image/"))
        if one.tag == "th":
            assert one.attributes["scope"] in {"col", "row"}
        if one.tag == "svg":
            assert one.attributes["aria-label"].startswith("Code evalkit:")
    assert "default-src 'none'" in job.page
    style = re.search(r"<style>(.*?)</style>", job.page, re.DOTALL)
    assert style is not None
    assert not re.search(r"url\(|@import|https?:", style[1])


def test_hostile_names_stay_words():
    """The page has the same elements and attributes as with plain words."""

    def shape(job: PapersJob | LabelsJob) -> Counter[tuple[str, tuple[str, ...]]]:
        return Counter((one.tag, tuple(sorted(one.attributes))) for one in elements(job.page))

    for at in range(0, len(LINES), 8):
        spoiled = spoil(round_of(), in_turn(LINES[at : at + 8]))
        assert shape(papers(spoiled)) == shape(papers())
        assert shape(LabelsJob(spoiled, get_sheet("a4-cards"))) == shape(LabelsJob(round_of(), get_sheet("a4-cards")))
        for line in papers(spoiled).text.splitlines():
            assert not re.search(r"(?<!\\)<", line)


def test_the_picture_stands_on_the_list_with_words():
    page = papers(photo="data:image/jpeg;base64,AAAA").page
    (picture,) = [one for one in elements(page) if one.tag == "img"]
    assert picture.attributes["alt"]
    assert "AAAA" not in papers(photo="data:image/jpeg;base64,AAAA").data


def test_labels_lie_where_the_sheet_has_them():
    sheet = get_sheet("a4-2x7")
    page = LabelsJob(round_of(n=16), sheet, first=2).page
    places = re.findall(r'class="label" style="left:([\d.]+)mm;top:([\d.]+)mm"', page)
    assert [tuple(map(float, place)) for place in places] == [
        pytest.approx(sheet.place_of(at), abs=0.001) for at in [*range(1, 14), 0, 1, 2]
    ]
    assert page.count('<div class="sheet">') == 2


def test_for_other_programs():
    told = json.loads(papers().data)
    assert told["format"] == 1
    assert told["items"][0] == {
        "number": "1",
        "tag": "S-101",
        "pair": "sword, 6.0 in",
        "hs": "8213.00",
        "value": "35.00 EUR",
    }
    labels = json.loads(LabelsJob(round_of(), get_sheet("a4-3x8")).data)
    assert labels["labels"][6] == {
        "number": 7, "tag": "S-107", "pair": "sword, 6.0 in", "code": "evalkit:teo-3:7:S-107",
    }  # fmt: skip


# --- on paper ---------------------------------------------------------------------------------------------------------

pypdf = pytest.importorskip("pypdf")
POINTS_PER_MM = 72 / 25.4


@pytest.mark.parametrize("paper", list(Paper))
def test_a_box_of_twelve_takes_three_pages(paper: Paper):
    pdf = pypdf.PdfReader(io.BytesIO(to_pdf(papers(paper=paper).page)))
    texts = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert len(texts) == 3
    for text, head in zip(texts, ("Packing list", "Before the box is closed", "Return slip"), strict=True):
        assert head in text
        assert "teo-3" in text
    assert "420.00 EUR" in texts[0]
    assert "Oda Ferrin" in texts[2]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_a_full_sheet_is_one_page_of_its_size(sheet):
    pdf = pypdf.PdfReader(io.BytesIO(to_pdf(LabelsJob(round_of(n=sheet.n_labels), sheet).page)))
    assert len(pdf.pages) == 1
    size = float(pdf.pages[0].mediabox.width), float(pdf.pages[0].mediabox.height)
    wanted = (210, 297) if sheet.paper is Paper.A4 else (215.9, 279.4)
    assert size == pytest.approx([mm * POINTS_PER_MM for mm in wanted], abs=0.1)
    text = pdf.pages[0].extract_text()
    assert all(f"S-{100 + number}" in text for number in range(1, sheet.n_labels + 1))


def test_code_words_name_round_number_and_tag():
    assert code_words(round_of(), NumberedPair(number=3, pair=pair(3))) == "evalkit:teo-3:3:S-103"
