"""The browser reckons as Python does: units, levels and classes, asked of the page's own scripts in a real browser."""

from __future__ import annotations

import math
import random
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from evalkit.domain.grading import grade_pair
from evalkit.domain.levels import level_of
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.reading import Stage
from evalkit.domain.round import NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import load_rubric
from evalkit.progress.results import classes_of
from evalkit.reports.bench_rows import bench_row
from tests.browser.dice import DiceHand
from tests.browser.rules import ask, load_rules

N_CASES = 420
"""Pairs read at random, for each rubric."""


@pytest.fixture(scope="module")
def rules(browser):
    page = browser.new_page()
    load_rules(page)
    yield page
    page.close()


# --- numbers ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("0.4", 0.4), ("0,4", 0.4), (".4", 0.4), ("4.", 4.0), (" 12 ", 12.0), ("007", 7.0),
        ("1/64", 0.015625), ("2 13/16", 2.8125),
    ],
)  # fmt: skip
def test_a_number_is_read_as_it_is_written_at_the_bench(rules, typed: str, number: float):
    assert ask(rules, "rules.numberOf(it)", [typed]) == [number]


@pytest.mark.parametrize(
    "typed",
    [
        "",
        " ",
        "-1",
        "+1",
        "1e3",
        "0x10",
        "1.2.3",
        "1,2,3",
        "1/0",
        "1/2/3",
        "NaN",
        "Infinity",
        "４",
        "1 2",
        "½",
        "0.4mm",
    ],
)
def test_what_is_no_number_is_none(rules, typed: str):
    assert ask(rules, "rules.numberOf(it)", [typed]) == ["NaN"]


def test_fractions_of_an_inch_are_exact(rules):
    """Source: the international inch of 1959 is 25.4 mm exactly; worked with exact fractions here."""
    sixty_fourths = [(whole, top) for whole in range(4) for top in range(1, 64, 2)]
    typed = [{"text": f"{whole} {top}/64", "unit": "in"} for whole, top in sixty_fourths]
    exact = [float((whole + Fraction(top, 64)) * Fraction(254, 10)) for whole, top in sixty_fourths]
    assert ask(rules, "rules.lengthMm(it)", typed) == pytest.approx(exact, rel=1e-15)


def test_units_become_one_another_as_in_python(rules):
    dice = random.Random(4)
    numbers = (0.0, 45.0, dice.uniform(0, 180), dice.uniform(0, 5), dice.uniform(0, 5))
    blades = (None, 60.0, dice.uniform(20, 200))
    pairs = [(unit, to) for unit in Unit for to in Unit]
    cases = [(number, *units, blade) for units in pairs for number in numbers for blade in blades]
    found = ask(rules, "rules.convert(it[0], it[1], it[2], it[3])", [list(case) for case in cases])
    for case, answer in zip(cases, found, strict=True):
        expected = _converted(*case)
        assert (answer == "NaN") == (expected is None), case
        assert expected is None or math.isclose(answer, expected, rel_tol=1e-12, abs_tol=1e-12), case


def _converted(number: float, unit: Unit, to: Unit, blade_length_mm: float | None) -> float | None:
    try:
        return convert(number, unit, to, blade_length_mm=blade_length_mm)
    except InputError:
        return None


@pytest.mark.parametrize(
    ("typed", "most", "kept"),
    [
        ("'a' + String.fromCharCode(0xd83d) + 'b'", 9, "ab"),
        ("'a' + String.fromCharCode(0xde42) + 'b'", 9, "ab"),
        ("'ab🙂'", 3, "ab"),
        ("'ab🙂'", 4, "ab🙂"),
        ("'a\\u0000b\\u007fc\\u0085d'", 9, "abcd"),
        ("'a\\r\\nb\\rc'", 9, "a\nb\nc"),
    ],
)
def test_text_never_holds_half_a_sign_or_a_control_sign(rules, typed: str, most: int, kept: str):
    assert ask(rules, f"rules.proseOf({typed}, it)", [most]) == [kept]


# --- levels and classes ----------------------------------------------------------------------------------------------


def _round_of_all_types(rubric: Rubric) -> Round:
    pairs = tuple(
        NumberedPair(
            number=at,
            pair=Pair(
                tag=f"S-{at}",
                edge_type=edge,
                size_in=Decimal(6),
                blade_length_mm=None if at % 3 == 0 else 60.0 + 3 * at,
            ),
        )
        for at, edge in enumerate(rubric.edge_types, 1)
    )
    teo, oda = Person(key="teo", name="Teo Marsk"), Person(key="oda", name="Oda Ferrin")
    return Round(
        key="teo-1", trainee=teo, mentor=oda, rubric_key=rubric.key, rubric_version=1, rubric_digest=rubric.digest,
        planned_on=date(2026, 4, 1), pairs=pairs,
    )  # fmt: skip


@pytest.mark.parametrize("name", ["shears", "first-rounds", "toothed"])
def test_levels_and_classes_are_those_of_python(rules, name: str):
    rubric = load_rubric(rubrics_dir() / f"{name}.toml")
    round_ = _round_of_all_types(rubric)
    book = asdict(bench_row(round_, rubric, ()))
    hand = DiceHand(7, rubric)
    drawn = [(numbered, *hand.pair(numbered)) for numbered in round_.pairs for _ in range(N_CASES // len(round_.pairs))]
    cases = [{"number": numbered.number, "kept": {"readings": kept}} for numbered, kept, _ in drawn]

    classes = ask(rules, "rules.possibleClasses(more.book, more.book.pairs[it.number - 1], it.kept)", cases, book=book)
    expected = [
        [*classes_of(grade_pair(rubric, one.pair, seen, number=one.number, stage=Stage.AS_RECEIVED), rubric)]
        for one, _, seen in drawn
    ]
    assert classes == expected
    assert {tuple(letters) for letters in classes} >= {("A",), ("B",), ("C",), ("D",), ("E",)}, "every class was met"
    assert any(len(letters) > 1 for letters in classes), "and doubt between some"

    levels = ask(rules, ALL_LEVELS, cases, book=book)
    for (numbered, _, readings), found in zip(drawn, levels, strict=True):
        by_key = {on.key: on for on in rubric.on(numbered.pair.edge_type)}
        mm = numbered.pair.blade_length_mm
        assert found == [level_of(by_key[reading.criterion], reading, rubric, mm) for reading in readings]


ALL_LEVELS = """(() => {
    const pair = more.book.pairs[it.number - 1];
    return Object.entries(it.kept.readings).map(([name, kept]) => {
        const row = more.book.types[pair.edge_type].find((one) => one.key === name.split("|")[1]);
        const { seen, fault } = rules.seenOf(kept, row, pair);
        return fault || rules.levelOf(row, seen, pair, more.book.rubric.drop);
    });
})()"""
"""The level of each reading of a case, or what the page finds wrong with it."""


def test_every_edge_type_is_tried():
    assert set(load_rubric(rubrics_dir() / "shears.toml").edge_types) == set(EdgeType)
