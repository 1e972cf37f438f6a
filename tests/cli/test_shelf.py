"""The stock by command: where a pair is, what it has been through, retired and back, pictures, CSV there and back."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import AFTER
from tests.cli.desk import MINI, Desk, fill


def places(desk: Desk) -> dict[str, str]:
    return {one["tag"]: one["place"] for one in desk.do("pair", "list", "--json").json["pairs"]}


def test_where_each_pair_is(out: Desk):
    out.do("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5")
    assert places(out) == {
        "S-101": "teo-1, with the trainee", "S-102": "teo-1, with the trainee", "S-103": "on the shelf",
    }  # fmt: skip
    assert "S-103: bevel, 5.5 in; on the shelf." in out.do("pair", "show", "S-103").out
    assert "It was never in a box." in out.do("pair", "show", "S-103").out
    assert "No mentor has read it yet." in out.do("pair", "show", "S-103").out


def test_the_life_of_a_pair(out: Desk):
    text = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    work = (
        ("- Parts: ?", "- Parts: washer; bumper"),
        ("- Width before (mm): heel ?, middle ?, tip ?", "- Width before (mm): heel 8.2, middle ?, tip 4.1"),
        ("- Width after (mm): heel ?, middle ?, tip ?", "- Width after (mm): heel 8.0, middle ?, tip ?"),
        ("- Length before (mm): ?", "- Length before (mm): 64"),
        ("- Length after (mm): ?", "- Length after (mm): 63.5"),
    )
    out.write("teo-1.md", fill(text, *work))
    out.do("assessment", "take-in", "teo-1.md")
    shown = out.do("pair", "show", "S-101", "--json").json
    assert (shown["place"], shown["round"], shown["is_retired"]) == ("teo-1, with the trainee", "teo-1", False)
    assert shown["rounds"] == [{"round": "teo-1", "number": 1, "trainee": "teo", "box": "with the trainee"}]
    assert (shown["n_sharpened"], shown["minutes"], shown["n_rounds_timed"]) == (1, 70, 1)
    assert shown["parts"] == [{"round": "teo-1", "part": "washer"}, {"round": "teo-1", "part": "bumper"}]
    assert shown["width_mm"] == {
        "heel": {"first": 8.2, "last": 8.0, "used": pytest.approx(0.2), "n": 2},
        "tip": {"first": 4.1, "last": 4.1, "used": None, "n": 1},
    }
    assert shown["length_mm"]["used"] == 0.5
    assert shown["last_seen"] is None
    said = out.do("pair", "show", "S-101").out
    for words in ("It was in 1 box: teo-1 (number 1, Teo Marsk).", "Sharpened once.", "70 minutes", "washer (teo-1)"):
        assert words in said
    assert "width at the heel" in said
    other = out.do("pair", "show", "S-102", "--json").json
    assert (other["n_sharpened"], other["minutes"], other["width_mm"]) == (0, None, {})


def test_the_latest_levels_seen_are_the_mentors(back: Desk):
    back.do("marking", "sheet", "teo-1", "--out", "mark.md")
    first, second = (back.folder / "mark.md").read_text(encoding="utf-8").split("## Pair 2")
    back.write("marked.md", fill(first, *AFTER[:3]) + "## Pair 2" + second)
    back.do("marking", "take-in", "marked.md")
    seen = back.do("pair", "show", "S-101", "--json").json["last_seen"]
    assert (seen["round"], seen["stage"]) == ("teo-1", "as returned")
    assert seen["levels"]["tips"] == {"lo": 2, "hi": 2}
    assert "cleanliness" not in seen["levels"], "what was not tested was not seen"
    assert "Last seen as returned, in teo-1:" in back.do("pair", "show", "S-101").out
    assert places(back)["S-101"] == "on the shelf"


def test_a_retired_pair_is_in_no_new_box(stocked: Desk):
    out = stocked.do("pair", "retire", "S-101", "--reason", "spent hollow").out
    assert "Retired S-101 on 2026-05-01: spent hollow" in out
    assert places(stocked) == {"S-101": "retired", "S-102": "on the shelf"}
    refused = stocked.refuse("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102")
    assert "was retired on 2026-05-01: spent hollow" in refused
    assert "evalkit pair bring-back S-101" in refused
    proposed = stocked.do("round", "propose", "teo", "--rubric", MINI, "--pairs", "1", "--ordinary", "0", "--json").json
    assert [one["tag"] for one in proposed["pairs"]] == ["S-102"]
    assert proposed["left_out"] == {"retired": ["S-101"]}
    by_hand = ("round", "propose", "teo", "--rubric", MINI, "--pairs", "1", "--ordinary", "0", "--with", "S-101")
    assert "the pair is retired" in stocked.refuse(*by_hand)
    stocked.do("pair", "bring-back", "S-101", "--reason", "hollowed anew")
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101")
    said = stocked.do("pair", "show", "S-101").out
    assert "Retired on 1 May 2026: spent hollow; brought back on 1 May 2026: hollowed anew" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("retire", "S-101", "--reason", " "), "for a reason"),
        (("retire", "S-9", "--reason", "worn"), "no pair 'S-9'"),
        (("retire", "S-101", "--reason", "worn", "--on", "2026-06-01"), "still to come"),
        (("bring-back", "S-101"), "not retired"),
        (("show", "S-9"), "no pair 'S-9'"),
        (("photo", "S-9", "box.jpg"), "no pair 'S-9'"),
        (("photo", "S-101", "gone.jpg"), "cannot be read"),
        (("photo", "S-101", "box.jpg", "words.txt"), "words.txt"),
    ],
)
def test_what_cannot_be_is_refused(stocked: Desk, make_picture, words: tuple[str, ...], said: str):
    make_picture(stocked.folder / "box.jpg")
    stocked.write("words.txt", "no picture")
    assert said in stocked.refuse("pair", *words)


def test_a_pair_in_a_box_is_not_retired(out: Desk):
    assert "in round teo-1, which is with the trainee" in out.refuse("pair", "retire", "S-101", "--reason", "worn")


def test_pictures_of_a_pair_are_kept_once(stocked: Desk, make_picture):
    make_picture(stocked.folder / "tips.jpg")
    assert stocked.do("pair", "photo", "S-101", "tips.jpg", "--caption", "the tips").out == "Kept 1 photo of S-101.\n"
    assert "1 were there already" in stocked.do("pair", "photo", "S-101", "tips.jpg").out
    (photo,) = stocked.do("pair", "show", "S-101", "--json").json["photos"]
    assert photo["caption"] == "the tips"
    line = next(line for line in stocked.do("pair", "show", "S-101").out.splitlines() if line.startswith("Photo: "))
    assert Path(line.removeprefix("Photo: ").removesuffix(" (the tips)")).is_file()
    assert stocked.do("book", "check").out.startswith("The book is sound")
    stocked.do("book", "backup", "kept.zip")
    (stocked.folder / "elsewhere").mkdir()
    stocked.do("--book", "elsewhere/book", "book", "restore", "kept.zip")
    assert stocked.do("--book", "elsewhere/book", "pair", "show", "S-101", "--json").json["photos"] == [photo]


def test_the_stock_goes_to_another_book_by_csv(stocked: Desk):
    stocked.do("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5", "--origin", "=1+1", "--pivot", "@flat",
               "--weight", "58,5", "--fault", "nick:3:thumb:tip", "--value", "40", "--currency", "EUR")  # fmt: skip
    stocked.do("pair", "export", "stock.csv")
    text = (stocked.folder / "stock.csv").read_text(encoding="utf-8-sig")
    assert "'=1+1" in text
    assert ",'@flat," in text
    assert "a file of that name" in stocked.refuse("pair", "export", "stock.csv")
    stocked.do("--book", "other", "book", "new", "--mentor", "ida", "--name", "Ida Holm")
    assert stocked.do("--book", "other", "pair", "import", "stock.csv").out == "Added 3 pairs.\n"
    there, here = (stocked.do("--book", one, "pair", "list", "--json").json for one in ("other", "evalkit-book"))
    assert there == here


def test_a_box_is_proposed_within_a_weight(stocked: Desk):
    for number, weight in enumerate((40, 50, 60, 70), start=1):
        stocked.do("pair", "add", f"W-{number}", "--edge", "bevel", "--size", "5.5", "--weight", str(weight))
    ask = ("round", "propose", "teo", "--rubric", MINI, "--pairs", "2", "--ordinary", "0")
    found = stocked.do(*ask, "--weight", "95", "--json").json
    assert {one["tag"] for one in found["pairs"]} == {"W-1", "W-2"}
    assert found["left_out"] == {"without a known weight": ["S-101", "S-102"]}, "unknown is not nothing"
    refused = stocked.refuse(*ask, "--weight", "80")
    assert "a box of 2 and pairs of 80 g together at most cannot be kept together" in refused
    assert "--weight 90" in refused
    assert "no weight in grams" in stocked.refuse(*ask, "--weight", "heavy")
    assert "the pair is without a known weight" in stocked.refuse(*ask, "--weight", "200", "--with", "S-101")


def test_the_papers_say_what_the_pairs_weigh_once_all_are_known(stocked: Desk):
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102", "--on", "2026-04-01")
    stocked.do("pair", "change", "S-101", "--weight", "62")

    def papers(name: str) -> str:
        stocked.do("round", "papers", "teo-1", "--format", "md", "--labels", "none", "--out", name)
        return "".join(path.read_text(encoding="utf-8") for path in (stocked.folder / name).glob("*.md"))

    assert "The pairs alone weigh" not in papers("one")
    stocked.do("pair", "change", "S-102", "--weight", "58.5")
    told = papers("two")
    assert "The pairs alone weigh 0.1205 kg; the packing comes on top." in told
    assert "the weight of the box" in told, "the packed box is still to be weighed"
