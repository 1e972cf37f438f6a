"""The papers of a box from the command line: what is written, what is asked, what is refused."""

from __future__ import annotations

import json
from base64 import b64decode
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from tests.cli.desk import Desk


def test_the_usual_papers_of_a_box(out: Desk):
    answer = out.do("round", "papers", "teo-1", "--from", "de", "--to", "CH", "--weight", "1,4")
    names = sorted(path.name for path in (out.folder / "papers").iterdir())
    assert names == ["teo-1-labels-a4-3x8.html", "teo-1-papers.html"]
    assert "No declared value: pairs 1, 2. Unknown is not nothing" in answer.out
    assert answer.out.strip().endswith("is for the carrier and customs to say.")
    page = (out.folder / "papers" / "teo-1-papers.html").read_text(encoding="utf-8")
    for said in ("Germany (DE)", "Switzerland (CH)", "1.4 kg", "8213.00", "not declared", "Teo Marsk", "Oda Ferrin"):
        assert said in page


def test_labels_go_with_the_paper_or_as_asked(out: Desk):
    out.do("round", "papers", "teo-1", "--paper", "Letter", "--out", "us")
    assert (out.folder / "us" / "teo-1-labels-letter-3x10.html").is_file()
    out.do("round", "papers", "teo-1", "--labels", "a4-2x7,a4-cards", "--first-label", "3", "--out", "two")
    assert {path.name for path in (out.folder / "two").iterdir()} == {
        "teo-1-papers.html", "teo-1-labels-a4-2x7.html", "teo-1-tags-a4-cards.html",
    }  # fmt: skip
    out.do("round", "papers", "teo-1", "--labels", "none", "--out", "no")
    assert [path.name for path in (out.folder / "no").iterdir()] == ["teo-1-papers.html"]


def test_the_likely_declaration_rests_on_what_is_given(out: Desk):
    def told(*words: str) -> list[str]:
        out.do("round", "papers", "teo-1", "--labels", "none", "--format", "json", *words)
        row = json.loads((out.folder / "papers" / "teo-1-papers.json").read_text(encoding="utf-8"))["declaration"]
        return [row["headline"], *row["why"]]

    assert told()[0] == "CN 22 or CN 23: not to be told yet"
    assert told("--weight", "2.5")[0] == "Likely CN 23"
    assert told("--weight", "1.2", "--value-sdr", "120")[0] == "Likely CN 22 as a letter, CN 23 as a parcel"
    out.do("pair", "change", "S-101", "--value", "40", "--currency", "EUR")
    out.do("pair", "change", "S-102", "--value", "21", "--currency", "EUR")
    assert told("--weight", "1.2")[0] == "CN 22 or CN 23: not to be told yet"
    assert "Declared value: 50.0 SDR." in told("--weight", "1.2", "--sdr-rate", "1.22")


def test_the_country_may_be_a_setting(out: Desk, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("EVALKIT_COUNTRY", "SE")
    out.do("round", "papers", "teo-1", "--labels", "none")
    assert "Sweden (SE)" in (out.folder / "papers" / "teo-1-papers.html").read_text(encoding="utf-8")
    monkeypatch.setenv("EVALKIT_COUNTRY", "XX")
    assert "'XX' is no country of ISO 3166." in out.refuse("round", "papers", "teo-1")


def test_a_picture_of_the_pairs_loses_its_place_and_device(out: Desk, make_picture: Callable[[Path], None]):
    picture = out.folder / "laid-out.jpg"
    make_picture(picture)
    exif = Image.Exif()
    exif[0x010F] = "Telephone maker"
    with Image.open(picture) as image:
        image.save(picture, exif=exif)
    assert b"Telephone maker" in picture.read_bytes()
    out.do("round", "papers", "teo-1", "--labels", "none", "--photo", picture)
    page = (out.folder / "papers" / "teo-1-papers.html").read_text(encoding="utf-8")
    assert "data:image/jpeg;base64," in page
    assert "laid out before packing" in page
    assert "Telephone maker" not in page
    assert b"Telephone maker" not in b64decode(page.partition("base64,")[2].partition('"')[0])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--labels", "a5-9x9"], "'a5-9x9' is no label sheet. There are: a4-3x8"),
        (["--first-label", "25"], "there is no label 25 on a4-3x8. Its labels are 1 to 24"),
        (["--to", "UK"], "'UK' is no country of ISO 3166."),
        (["--made-in", "Nippon"], "'Nippon' is no country of ISO 3166."),
        (["--weight", "heavy"], "'heavy' is no number for --weight."),
        (["--sdr-rate", "0"], "'0' is no number for --sdr-rate."),
        (["--format", "doc"], "'doc' is no format."),
        (["--photo", "nothing.jpg"], "nothing.jpg: the picture cannot be read."),
        (["--photo", "blank.md"], "blank.md: this is no picture that evalkit can read."),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(out: Desk, words: list[str], said: str):
    told = out.refuse("round", "papers", "teo-1", *words)
    assert said in told
    assert len(told.strip().splitlines()) == 1
    assert not (out.folder / "papers").exists()


def test_an_unknown_round_is_named(out: Desk):
    assert "teo-9" in out.refuse("round", "papers", "teo-9")
