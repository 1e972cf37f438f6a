"""What the commands on pairs say: slips in faults, used tags, corrections and changes."""

from __future__ import annotations

import pytest

from tests.cli.desk import Desk, fill

ADD = ("pair", "add", "S-9", "--edge", "convex", "--size", "6")


def test_a_slip_in_a_fault_is_hinted_at_and_the_pair_is_kept(stocked: Desk):
    answer = stocked.run(*ADD, "--fault", "nik:3")
    assert (answer.code, answer.out) == (0, "Added S-9: convex, 6 in.\nKnown faults: nik (grave).\n")
    assert answer.err.splitlines()[0] == (
        "evalkit: 'nik' is not a fault the rubrics or the cause map know; did you mean 'nick'?"
    )
    assert "Known: bent-tip, bent-tooth, lost-set, missing-bumper, nick," in answer.err
    assert "of the cause map." in answer.err
    assert [one["tag"] for one in stocked.do("pair", "list", "--json").json["pairs"]].count("S-9") == 1


def test_a_known_fault_needs_no_word(stocked: Desk):
    stocked.do(*ADD, "--fault", "nick:3", "--fault", "haze")  # by [harder_with], and by the cause map


def test_a_fault_of_an_own_rubric_is_known(stocked: Desk, monkeypatch: pytest.MonkeyPatch):
    from tests.cli.desk import MINI

    own = stocked.folder / "own"
    own.mkdir()
    (own / "mini.toml").write_text(MINI.read_text("utf-8") + '\n[harder_with]\nbanana = ["tips"]\n', encoding="utf-8")
    monkeypatch.setenv("EVALKIT_RUBRICS", str(own))
    stocked.do(*ADD, "--fault", "banana")


def test_a_tag_that_looks_like_none_is_told_without_a_guess(stocked: Desk):
    said = stocked.run(*ADD, "--fault", "banana").err
    assert "'banana' is not a fault the rubrics or the cause map know.\n" in said
    assert "did you mean" not in said


def test_of_a_file_each_slip_and_in_one_line_all_other_unknown_tags_are_told(stocked: Desk):
    rows = "".join(f"S-{n},convex,6,{fault}\n" for n, fault in ((301, "nik"), (302, "dull-as-mud"), (303, "nik; rust")))
    stocked.write("stock.csv", f"tag,edge_type,size_in,faults\n{rows}")
    answer = stocked.run("pair", "import", "stock.csv")
    assert (answer.code, answer.out) == (0, "Added 3 pairs.\n")
    assert answer.err == (
        "evalkit: 'nik' (lines 2, 4) is not a fault the rubrics or the cause map know; did you mean 'nick'? "
        "It is kept as it stands.\n"
        "evalkit: not known to the rubrics or the cause map: 'dull-as-mud' (line 3). "
        "Kept as your own words; no rubric weighs them.\n"
    )


def test_many_unknown_tags_are_one_line(stocked: Desk):
    rows = [f"S-{n},convex,6,banana" for n in range(300, 310)] + [f"T-{c},convex,6,{c * 9}" for c in "qwxyz"]
    stocked.write("stock.csv", "\n".join(["tag,edge_type,size_in,faults", *rows]))
    assert stocked.run("pair", "import", "stock.csv").err == (
        "evalkit: not known to the rubrics or the cause map: 'banana' (lines 2 to 11); 'qqqqqqqqq' (line 12); "
        "'wwwwwwwww' (line 13); 'xxxxxxxxx' (line 14); 'yyyyyyyyy' (line 15) and 1 more. "
        "Kept as your own words; no rubric weighs them.\n"
    )
    rows = [f"U-{n},convex,6,{'nick' if n % 2 else 'banana'}" for n in range(14)]
    stocked.write("more.csv", "\n".join(["tag,edge_type,size_in,faults", *rows]))
    assert "'banana' (lines 2, 4, 6, 8, 10 and 2 more)." in stocked.run("pair", "import", "more.csv").err


def test_known_tags_of_a_file_need_no_word(stocked: Desk):
    stocked.write("stock.csv", "tag,edge_type,size_in,faults\nS-301,convex,6,nick:3; haze\n")
    assert stocked.run("pair", "import", "stock.csv").err == ""


def test_the_help_of_import_says_how_faults_are_parted(stocked: Desk):
    said = " ".join(stocked.do("pair", "import", "--help").out.split())
    assert "Several faults in one cell are parted by ;" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--value", "40"), "a declared value needs its currency. Add it, like --currency EUR."),
        (("--currency", "EUR"), "a currency needs its declared value. Add it, like --value 40.50."),
    ],
)
def test_a_value_and_its_currency_come_together(words: tuple[str, ...], said: str, stocked: Desk):
    assert stocked.refuse(*ADD, *words).strip() == f"evalkit: pair S-9: {said}"
    assert stocked.refuse("pair", "change", "S-101", *words).strip() == f"evalkit: pair S-101: {said}"


# --- shown


def test_a_pair_is_described_before_all_else(stocked: Desk):
    stocked.write(
        "in.csv",
        "tag,edge_type,size_in,size_method,blade_length_mm,hand,handle,make,teeth,pivot,faults,difficulty,"
        "declared_value,currency,origin,weight_g,fault_remarks\n"
        "S-301,toothed,5.5,with rest,63.5,left,offset,cast,28,flat screw,nick:3:thumb:tip; rust,3,"
        '40.50,EUR,"a drawer,\nhalf full",62,from a comb\n',
    )
    stocked.do("pair", "import", "in.csv")
    assert stocked.do("pair", "show", "S-301").out == (
        "Declared value: 40.50 EUR\n"
        "Weight: 62 g\n"
        "Difficulty: 3 of 5, a step harder\n"
        "Known faults:\n"
        "  nick (grave, thumb tip): from a comb\n"
        "  rust (plain)\n"
        "Size: 5.5 in, measured with rest; blade length: 63.5 mm\n"
        "For the left hand; handle: offset; make: cast; edge line: unknown\n"
        "Pivot: flat screw\n"
        "Teeth: 28\n"
        "Origin: a drawer, half full\n"
        "\n"
        "S-301: toothed, 5.5 in, 28 teeth, left-handed; on the shelf.\n"
        "\n"
        "It was never in a box.\n"
        "\n"
        "No mentor has read it yet.\n"
    )


def test_what_nobody_wrote_down_is_said_to_be_unknown(stocked: Desk):
    stocked.do(*ADD, "--size-method", "unknown")
    assert stocked.do("pair", "show", "S-9").out.startswith(
        "Declared value: none declared\n"
        "Weight: unknown\n"
        "Difficulty: 2 of 5, ordinary\n"
        "Known faults: none written down\n"
        "Size: 6 in, method unknown; blade length: unknown\n"
        "For the right hand; handle: unknown; make: unknown; edge line: unknown\n"
        "Pivot: unknown\n"
        "Origin: unknown\n"
        "\n"
        "S-9: convex, 6 in; on the shelf.\n"
    )


def test_an_import_of_used_tags_is_refused_in_one_line(stocked: Desk):
    stocked.do("pair", "export", "stock.csv")
    said = stocked.refuse("pair", "import", "stock.csv")
    assert "stock.csv:2: 2 tags of 2 are used already (lines 2, 3: S-101, S-102)" in said


def test_remarks_go_to_another_book_by_csv(stocked: Desk):
    stocked.write(
        "in.csv",
        "tag,edge_type,size_in,faults,fault_remarks\n"
        "S-301,convex,6,nick:3:thumb:tip; rust,=HYPERLINK | from \\| a comb\n",
    )
    stocked.do("pair", "import", "in.csv")
    stocked.do("pair", "export", "out.csv")
    assert "'=HYPERLINK | from \\| a comb" in (stocked.folder / "out.csv").read_text("utf-8")
    stocked.do("--book", "other", "book", "new", "--mentor", "ida", "--name", "Ida Holm")
    stocked.do("--book", "other", "pair", "import", "out.csv")
    there, here = (stocked.do("--book", one, "pair", "list", "--json").json for one in ("other", "evalkit-book"))
    assert there == here
    assert [fault["note"] for pair in there["pairs"] for fault in pair["faults"]] == ["=HYPERLINK", "from | a comb"]


# --- described anew


def test_what_was_written_wrongly_is_corrected_in_rounds_that_are_back(back: Desk):
    out = back.do("pair", "change", "S-101", "--size", "5,5", "--hand", "left", "--edge-line", "willow-leaf").out
    assert out.startswith("Corrected S-101: edge line, size, hand.\nA correction: every round that names the pair")
    assert "--from-now-on" in out
    pair = back.do("round", "show", "teo-1", "--json").json["pairs"][0]["pair"]
    assert (pair["size_in"], pair["hand"], pair["edge_line"]) == ("5.5", "left", "willow-leaf")


def test_what_is_another_now_stays_as_it_was_in_rounds_that_are_back(back: Desk):
    out = back.do("pair", "change", "S-101", "--size", "5.5", "--from-now-on").out
    assert out.startswith("Changed S-101: size.\nA change: rounds that are back keep what was written;")
    assert back.do("round", "show", "teo-1", "--json").json["pairs"][0]["pair"]["size_in"] == "6.0"
    assert back.do("pair", "show", "S-101", "--json").json["pair"]["size_in"] == "5.5"
    assert "change pair" in back.do("book", "history", "S-101").out
    assert "nothing changed" in back.do("pair", "change", "S-101", "--size", "5.5", "--from-now-on").out


def test_a_change_reaches_a_box_that_is_not_back(out: Desk):
    out.do("pair", "change", "S-101", "--size", "5.5", "--from-now-on")
    assert out.do("round", "show", "teo-1", "--json").json["pairs"][0]["pair"]["size_in"] == "5.5"


def test_an_edge_type_that_the_readings_do_not_fit_is_refused(stocked: Desk):
    stocked.do("round", "plan", "teo", "--rubric", "shears", "--pairs", "S-101,S-102")
    sheet = stocked.do("intake", "sheet", "teo-1").out
    stocked.write("in.md", fill(sheet, ("- Wet tissue: heel ?, middle ?, tip ?", "- Wet tissue: all clean")))
    stocked.do("intake", "take-in", "in.md")
    said = stocked.refuse("pair", "change", "S-101", "--edge", "micro-serrated")
    assert said.startswith(
        "evalkit: pair S-101: it cannot be written down as micro-serrated in a round that reads it as convex: pair 1,"
    )
    assert "3 of the readings of round teo-1 would not fit" in said
    assert "--from-now-on" in said
    stocked.refuse("pair", "change", "S-101", "--edge", "micro-serrated", "--from-now-on")  # the box is not back
    for leg in ("send", "received", "returned", "check-in"):
        stocked.do("round", leg, "teo-1")
    stocked.refuse("pair", "change", "S-101", "--edge", "micro-serrated")
    stocked.do("pair", "change", "S-101", "--edge", "micro-serrated", "--from-now-on")
    assert stocked.do("round", "show", "teo-1", "--json").json["pairs"][0]["pair"]["edge_type"] == "convex"
    assert stocked.do("pair", "show", "S-101", "--json").json["pair"]["edge_type"] == "micro-serrated"


def test_an_edge_type_that_the_rubric_does_not_serve_is_refused(stocked: Desk):
    stocked.do("pair", "add", "S-7", "--edge", "toothed", "--size", "6", "--teeth", "30")
    stocked.do("round", "plan", "teo", "--rubric", "toothed", "--pairs", "S-7")
    said = stocked.refuse("pair", "change", "S-7", "--edge", "bevel")
    assert "the rubric of round teo-1 does not serve bevel pairs" in said


def test_a_pair_that_was_never_toothed_loses_its_teeth(stocked: Desk):
    stocked.do("pair", "add", "S-7", "--edge", "toothed", "--size", "6", "--teeth", "30")
    assert stocked.do("pair", "change", "S-7", "--edge", "bevel").out.startswith("Corrected S-7: edge type, teeth.")
    pair = stocked.do("pair", "show", "S-7", "--json").json["pair"]
    assert (pair["edge_type"], pair["teeth"]) == ("bevel", None)


def test_an_edge_type_is_corrected_where_nothing_speaks_against_it(stocked: Desk):
    assert stocked.do("pair", "change", "S-101", "--edge", "bevel").out.startswith("Corrected S-101: edge type.")
    assert stocked.do("pair", "show", "S-101", "--json").json["pair"]["edge_type"] == "bevel"


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("--size", "6.1"), "size 6.1 in is not a step of a quarter inch"),
        (("--hand", "lft"), "hand: 'lft' is not known here. Did you mean 'left'?"),
        (("--teeth", "30"), "a convex pair has no teeth"),
        (("--from-now-on",), "nothing was given to change"),
    ],
)
def test_what_cannot_be_is_refused(words: tuple[str, ...], what: str, stocked: Desk):
    assert what in stocked.refuse("pair", "change", "S-101", *words)
