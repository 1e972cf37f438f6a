"""The bench book as a file: alone, whole, small, closed to everybody's words, and silent on what the mentor knows."""

from __future__ import annotations

import base64
import hashlib
import json
import math
import re
from collections import Counter
from datetime import date
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from evalkit.domain.assessment import AssessedPair, GritScale, WorkLog, WorkStep
from evalkit.domain.measures import Unit
from evalkit.domain.pair import EdgeType, Hand, KnownFault, Pair, Station
from evalkit.domain.reading import CutResult, Medium, SeenCut, SeenMeasure
from evalkit.domain.round import NumberedPair, Person, Round
from evalkit.domain.triage import Decision
from evalkit.domain.value import Line, Note, Prose
from evalkit.files.places import rubrics_dir, templates_dir
from evalkit.files.rubrics import load_rubric
from evalkit.reports.bench_rows import MAX_LINE, MOST, bench_row
from evalkit.reports.bench_shapes import PairRow
from evalkit.reports.to_bench_book import SCRIPTS, bench_book
from tests.reports.hostile import LINES
from tests.reports.pages import Element, elements
from tests.reports.spoiling import in_turn, spoil
from tests.reports.values import RUBRIC, round_of

MOST_BYTES = 400_000
"""The file may have so many without pictures, by its plan."""

PRACTISE = ("Keep the angle to the very end.", "Cut hair before you say yes.")


@pytest.fixture(scope="module")
def page() -> str:
    return bench_book(round_of(), RUBRIC, PRACTISE)


def full_round(n_pairs: int = 12) -> Round:
    """A box with every edge type, by the full rubric."""
    rubric = load_rubric(rubrics_dir() / "shears.toml")
    kinds = tuple(EdgeType)
    pairs = tuple(
        NumberedPair(
            number=at + 1, pair=Pair(tag=f"S-{at + 1}", edge_type=kinds[at % len(kinds)], size_in=Decimal("6.0"))
        )
        for at in range(n_pairs)
    )
    return Round(
        key="teo-1",
        trainee=Person(key="teo", name="Teo Marsk"),
        mentor=Person(key="oda", name="Oda Ferrin"),
        rubric_key=rubric.key,
        rubric_version=1,
        rubric_digest=rubric.digest,
        planned_on=date(2026, 4, 1),
        pairs=pairs,
    )


def parts(page: str, tag: str) -> list[str]:
    """The text between the tags, as a browser takes it."""
    return [element.text for element in elements(page) if element.tag == tag]


def told(page: str) -> Any:
    """What the page is told, read as its script reads it."""
    return json.loads(next(one for one in elements(page) if one.attributes.get("id") == "round-data").text)


def policy_of(page: str) -> str:
    metas = [one.attributes for one in elements(page) if one.tag == "meta"]
    return next(one["content"] for one in metas if one.get("http-equiv") == "Content-Security-Policy")


# --- alone and whole -------------------------------------------------------------------------------------------------


def test_it_is_one_well_formed_page_that_fetches_nothing(page: str):
    found = elements(page)
    assert page.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert Counter(one.tag for one in found)["main"] == 1
    for one in found:
        assert one.tag not in {"link", "iframe", "object", "embed", "base", "form"}
        assert not any(name.startswith("on") for name in one.attributes)
        assert "src" not in one.attributes
        assert one.attributes.get("href", "#").startswith("#")
    style = parts(page, "style")
    assert len(style) == 1
    assert not re.search(r"url\(|@import|https?:", style[0])


def test_its_policy_lets_in_its_own_scripts_and_style_only(page: str):
    """By W3C Content Security Policy Level 3, 'sha256-' and the base64 of the SHA-256 of the element's text."""
    policy = policy_of(page)
    scripts = [one.text for one in elements(page) if one.tag == "script" and "type" not in one.attributes]
    digests = [
        f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
        for text in (*scripts, *parts(page, "style"))
    ]
    assert len(scripts) == 2
    assert sorted(re.findall(r"'sha256-[^']+'", policy)) == sorted(digests)
    assert re.sub(r" 'sha256-[^']+'", "", policy) == (
        "default-src 'none'; script-src; style-src; img-src blob: data:; base-uri 'none'; form-action 'none'"
    )
    assert "unsafe" not in policy


def test_no_id_stands_twice(page: str):
    ids = [one.attributes["id"] for one in elements(page) if "id" in one.attributes]
    assert len(set(ids)) == len(ids)


def test_without_scripts_it_says_what_to_do(page: str):
    said = next(one.text for one in elements(page) if one.tag == "noscript")
    assert "browser" in said


@pytest.mark.parametrize("n_pairs", [12, 30])
def test_a_full_box_is_small_enough(n_pairs: int):
    rubric = load_rubric(rubrics_dir() / "shears.toml")
    assert len(bench_book(full_round(n_pairs), rubric, PRACTISE).encode()) <= MOST_BYTES


# --- its parts -------------------------------------------------------------------------------------------------------


def test_every_script_is_in_the_page_and_keeps_to_its_subject():
    files = {path.stem: path.read_text(encoding="utf-8") for path in Path(templates_dir(), "bench", "js").glob("*.js")}
    assert set(files) == set(SCRIPTS)
    assert len(set(SCRIPTS)) == len(SCRIPTS)
    for name, text in files.items():
        assert text.startswith("// "), f"{name} does not say what it is for"
        assert len(text.splitlines()) < 250, f"{name} has grown too long"
        assert "</script" not in text.lower()
        for risky in (
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "fetch(",
            "XMLHttp",
            "import(",
        ):
            assert risky not in text, f"{name} uses {risky}"


def test_the_library_keeps_its_licence_and_its_version():
    text = Path(templates_dir(), "bench", "vendor", "fflate.js").read_text(encoding="utf-8")
    assert re.match(r"/\*! fflate \d+\.\d+\.\d+ ", text)
    assert "MIT License" in text[:200]
    assert "without restriction" in text


# --- what it is told -------------------------------------------------------------------------------------------------


def test_it_is_told_the_round_its_ladder_and_what_to_practise(page: str):
    row = told(page)
    round_ = round_of()
    assert (row["format"], row["key"], row["trainee_key"], row["mentor"]) == (1, "teo-1", "teo", "Oda Ferrin")
    assert row["rubric"]["digest"] == round_.rubric_digest
    assert (row["rubric"]["levels"], row["rubric"]["fit"], row["rubric"]["top"]) == (list(RUBRIC.levels), 2, 3)
    assert tuple(row["practise"]) == PRACTISE
    assert [pair["number"] for pair in row["pairs"]] == [1, 2, 3]
    assert set(row["types"]) == {"convex", "bevel", "semi-convex"}


def test_each_criterion_stands_as_it_is_for_the_edge_type():
    rubric = load_rubric(rubrics_dir() / "shears.toml")
    row = bench_row(full_round(), rubric, ())
    asked = {kind: {one.key: one for one in rows} for kind, rows in row.types.items()}
    assert set(asked) == set(EdgeType)
    assert "wet-tissue" not in asked["micro-serrated"]
    assert asked["convex"]["wet-tissue"].counts
    assert not asked["bevel"]["wet-tissue"].counts
    assert asked["bevel"]["hair"].push_mm == ((3, 1.0), (2, 5.0))
    assert len(asked["convex"]["ride-line"].places) == 6
    assert [place.words for place in asked["toothed"]["ride-line"].places] == ["heel", "middle", "tip"]
    assert [unit.value for unit in asked["convex"]["edge-angle"].units] == ["deg included", "deg dial"]
    assert [unit.value for unit in asked["convex"]["tension"].units] == ["deg open", "mm tip gap"]
    assert asked["bevel"]["edge-angle"].bands[0].words == "50 to 60° included"
    for rows in asked.values():
        for one in rows.values():
            assert len(one.levels) == rubric.top + 1
            assert one.places


def test_spots_of_one_criterion_never_lie_on_each_other():
    """48 px for a finger on a drawing 358 px wide (a phone of 390) are 43 of its 320 units."""
    for name in ("shears.toml", "first-rounds.toml", "toothed.toml"):
        rubric = load_rubric(rubrics_dir() / name)
        for kind in rubric.edge_types:
            pair = Pair(tag="S-1", edge_type=kind, size_in=Decimal("6.0"))
            for one in bench_row(round_of((pair,), rubric), rubric, ()).types[kind]:
                spots = [(place.x, place.y) for place in one.places]
                assert all(math.dist(a, b) >= 43 for a, b in combinations(spots, 2)), (name, kind, one.key, spots)
                assert all(0 < x < 320 and 0 < y < 152 for x, y in spots)


def test_tension_is_read_before_any_cut():
    """Set tension first, or the test measures the screw. Common practice, no source."""
    rows = bench_row(full_round(), load_rubric(rubrics_dir() / "shears.toml"), ()).types
    for kind, criteria in rows.items():
        keys = [one.key for one in criteria]
        assert keys.index("tension") < min(keys.index(one.key) for one in criteria if one.kind == "cut"), kind


def test_pairs_stand_in_the_order_of_their_numbers():
    round_ = round_of()
    turned = round_.model_copy(update={"pairs": round_.pairs[::-1]})
    assert [pair.number for pair in bench_row(turned, RUBRIC, ()).pairs] == [1, 2, 3]


def test_what_can_be_seen_of_a_pair_is_told():
    pair = Pair(
        tag="S-9", edge_type=EdgeType.TOOTHED, size_in=Decimal("5.5"), blade_length_mm=66.5, hand=Hand.LEFT, teeth=30,
        pivot="plain screw",
    )  # fmt: skip
    round_ = round_of(pairs=(pair,))
    (row,) = bench_row(round_, RUBRIC, ()).pairs
    assert row.words == "toothed, 5.5 in, 30 teeth, left-handed"
    assert dict(row.facts) == {
        "Tag": "S-9", "Size": "5.5 in, measured without rest", "Blade": "66.5 mm, tip to pivot", "Hand": "left",
        "Teeth": "30", "Pivot": "plain screw",
    }  # fmt: skip


# --- what it must not tell -------------------------------------------------------------------------------------------

SECRETS = ("quince-fault", "quince note", "quince origin", "7654.32", "QZX", "quince condition", "quince-ref")


def test_the_mentors_secrets_stay_behind():
    pair = Pair(
        tag="S-9",
        edge_type=EdgeType.CONVEX,
        size_in=Decimal("6.0"),
        faults=(KnownFault(tag="quince-fault", severity=3, note="quince note"),),
        difficulty=5,
        declared_value=Decimal("7654.32"),
        currency="QZX",
        origin="quince origin",
    )
    plain = round_of(pairs=(pair,))
    leg = plain.legs[0].model_copy(update={"condition": "quince condition", "carrier_ref": "quince-ref"})
    numbered = plain.pairs[0].model_copy(update={"called_for": Decision.LEAVE})
    round_ = plain.model_copy(update={"pairs": (numbered,), "legs": (leg,)})
    page = bench_book(round_, RUBRIC, ())
    assert [secret for secret in SECRETS if secret in page] == []
    for name in ("difficulty", "called_for", "declared_value", "origin", "faults", "severity"):
        assert f'"{name}"' not in page
    bare = pair.model_copy(
        update={"faults": (), "difficulty": 2, "declared_value": None, "currency": None, "origin": ""}
    )
    assert page == bench_book(round_of(pairs=(bare,)), RUBRIC, ()), "the page differs by what the mentor alone knows"


def test_a_pair_has_no_field_for_a_secret():
    assert set(PairRow.__slots__) == {"number", "tag", "edge_type", "words", "facts", "blade_length_mm"}


# --- words that try to be more than words ----------------------------------------------------------------------------


def shape(element: Element) -> tuple[str, tuple[str, ...]]:
    return element.tag, tuple(sorted(element.attributes))


def outside_of_asks(page: str) -> list[tuple[str, tuple[str, ...]]]:
    return [
        shape(one)
        for one in elements(page)
        if not any(up.tag == "template" and up.attributes["id"].startswith("ask-") for up in one.parents)
    ]


@pytest.mark.parametrize("turn", range(0, len(LINES), 7))
def test_hostile_words_stay_words(turn: int):
    words = in_turn(LINES[turn:] + LINES[:turn])
    round_, rubric = spoil(round_of(), words), spoil(RUBRIC, words)
    page = bench_book(round_, rubric, LINES[:3])
    plain = bench_book(round_of(), spoil(RUBRIC, lambda _name, _most: "plain"), LINES[:3])
    assert outside_of_asks(page) == outside_of_asks(plain)
    assert told(page)["trainee"] == round_.trainee.name
    assert told(page)["practise"] == list(LINES[:3])


@pytest.mark.parametrize(
    "words",
    ["</script><script>alert(1)</script>", "<!--<script>", "]]>", "\u2028\u2029", "&lt;/script&gt;", "'\"`${1}\\"],
)
def test_nothing_ends_the_data_early(words: str):
    page = bench_book(round_of(), RUBRIC, (words,))
    inside = re.search(r'<script type="application/json" id="round-data">(.*?)</script>', page, re.DOTALL)
    assert inside is not None
    assert not set("<>&\u2028\u2029") & set(inside[1])
    assert json.loads(inside[1])["practise"] == [words]


# --- its limits are the domain's -------------------------------------------------------------------------------------


def test_a_line_a_note_and_prose_are_as_long_as_the_domain_takes():
    limits = bench_row(round_of(), RUBRIC, ()).limits
    assert limits["line"] == MAX_LINE
    for kind, most in ((Line, limits["line"]), (Note, limits["note"]), (Prose, limits["prose"])):
        TypeAdapter(kind).validate_python("x" * most)
        with pytest.raises(ValidationError):
            TypeAdapter(kind).validate_python("x" * (most + 1))


def test_lists_are_as_long_as_the_domain_takes():
    limits = bench_row(round_of(), RUBRIC, ()).limits
    step = WorkStep(what="hone")
    WorkLog(steps=(step,) * limits["steps"], parts=("bumper",) * limits["parts"])
    AssessedPair(number=1, questions=("why?",) * limits["questions"], photos=({"file": "a"},) * limits["photos"])
    for made in (
        lambda: WorkLog(steps=(step,) * (limits["steps"] + 1)),
        lambda: WorkLog(parts=("bumper",) * (limits["parts"] + 1)),
        lambda: AssessedPair(number=1, questions=("why?",) * (limits["questions"] + 1)),
        lambda: AssessedPair(number=1, photos=({"file": "a"},) * (limits["photos"] + 1)),
    ):
        with pytest.raises(ValidationError):
            made()


@pytest.mark.parametrize("unit", list(Unit))
def test_a_number_is_as_great_as_the_domain_takes(unit: Unit):
    most = MOST.get(unit, 1_000.0)
    SeenMeasure(number=most, unit=unit)
    with pytest.raises(ValidationError):
        SeenMeasure(number=most + 0.01, unit=unit)


def constant(script: str, name: str) -> float:
    """A number that a script of the page names."""
    text = Path(templates_dir(), "bench", "js", f"{script}.js").read_text(encoding="utf-8")
    found = re.search(rf"^const {name} = ([0-9.]+);", text, re.MULTILINE)
    assert found is not None
    return float(found[1])


@pytest.mark.parametrize(
    ("script", "name", "make", "past"),
    [
        ("work", "MOST_MINUTES", lambda most: WorkLog(minutes=int(most)), 1),
        ("work", "MOST_GRIT", lambda most: WorkStep(what="hone", grit=most, scale=GritScale.MESH), 1),
        ("work", "MOST_WIDTH_MM", lambda most: WorkLog(width_before_mm={Station.HEEL: most - 0.01}), 0.01),
        ("work", "MOST_LENGTH_MM", lambda most: WorkLog(length_before_mm=most - 0.01), 0.01),
        (
            "work",
            "WIDER_THAN_BEFORE_MM",
            lambda slack: WorkLog(width_before_mm={Station.TIP: 8}, width_after_mm={Station.TIP: 8 + slack - 0.001}),
            0.002,
        ),
        (
            "readings",
            "MOST_PUSH_MM",
            lambda most: SeenCut(medium=Medium.HAIR, result=CutResult.PUSH, push_mm=most),
            0.1,
        ),
        (
            "readings",
            "RANGE_DEG",
            lambda most: SeenMeasure(number=30, unit=Unit.DEG_OPEN, start_deg=most),
            0.1,
        ),
    ],
)  # fmt: skip
def test_the_scripts_limits_are_the_domains(script: str, name: str, make: Any, past: float):
    most = constant(script, name)
    make(most)
    with pytest.raises(ValidationError):
        make(most + past)
