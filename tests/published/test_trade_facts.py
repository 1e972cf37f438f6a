"""Facts of the trade as checks. 'Common practice, no source' unless a source stands beside the check."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from evalkit.domain.criterion import CriterionOn, Kind, Use
from evalkit.domain.grading import grade_pair
from evalkit.domain.measures import MM_PER_INCH, Unit, convert, included_from_dial, open_deg_from_gap, tip_gap_mm
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.reading import CutResult, Medium, Place, Reading, SeenCut, SeenLevel, SeenMeasure, Stage
from evalkit.domain.rubric import Rubric
from evalkit.domain.standing import Finding, Standing, standing_of
from evalkit.domain.triage import CALLED_FOR, Decision, IntakeClass, possible_classes
from evalkit.domain.verdict import Verdict
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import find_rubric, list_rubrics

RUBRICS = list_rubrics(rubrics_dir())
SERVED = [(rubric, edge_type) for rubric in RUBRICS for edge_type in rubric.edge_types]
IDS = [f"{rubric.key}-{edge_type}" for rubric, edge_type in SERVED]
UNITS = json.loads((Path(__file__).parent / "data" / "units.json").read_text())


def a_pair(edge_type: EdgeType) -> Pair:
    return Pair(tag="T1", edge_type=edge_type, size_in=Decimal("5.5"), blade_length_mm=80)


def grade(rubric: Rubric, edge_type: EdgeType, readings: list[Reading]):
    return grade_pair(rubric, a_pair(edge_type), readings, number=1, stage=Stage.AS_RETURNED)


def put(on: CriterionOn, place: Place, seen) -> Reading:
    where = {"blade": place.blade, "station": place.station}
    return Reading(number=1, stage=Stage.AS_RETURNED, criterion=on.key, seen=seen, **where)


def perfect(rubric: Rubric, edge_type: EdgeType, *, but: str = "") -> list[Reading]:
    """The top level at every place of every criterion that applies, save of one."""
    return [
        put(on, place, SeenLevel(level=rubric.top))
        for on in rubric.on(edge_type)
        for place in on.places
        if on.use is not Use.NOT_APPLICABLE and on.key != but
    ]


def on_of(rubric: Rubric, key: str, edge_type: EdgeType) -> CriterionOn:
    return next(on for on in rubric.on(edge_type) if on.key == key)


# --- intake: common practice, no source; the class letters are a proposal ------------------------------------------


def classes(rubric: Rubric, edge_type: EdgeType, **results: CutResult) -> tuple[IntakeClass, ...]:
    """Classes of a pair whose every station gives one result per medium (dry, wet, hair)."""
    media = {"dry": Medium.DRY_TISSUE, "wet": Medium.WET_TISSUE, "hair": Medium.HAIR}
    readings = [
        put(on, place, SeenCut(medium=media[word], result=result))
        for word, result in results.items()
        for on in rubric.on(edge_type)
        if on.kind is Kind.CUT and on.criterion.media[0] is media[word]
        for place in on.places
    ]
    graded = grade(rubric, edge_type, readings)
    levels = {
        one.on.criterion.media[0]: (one.lo, one.hi)
        for one in graded.criteria
        if one.on.kind is Kind.CUT and one.counts
    }  # fmt: skip
    return possible_classes(levels, fit=rubric.fit, top=rubric.top)


@pytest.mark.parametrize("key", ["shears", "first-rounds"])
def test_dry_but_not_wet_tissue_is_class_b(key):
    rubric = find_rubric(key)
    found = classes(rubric, EdgeType.CONVEX, dry=CutResult.CLEAN, wet=CutResult.TEAR, hair=CutResult.FOLD)
    assert found == (IntakeClass.B,)
    assert CALLED_FOR[IntakeClass.B] is Decision.SHARPEN
    # Hair need not be cut for that: whatever it would do, the class is B.
    assert classes(rubric, EdgeType.CONVEX, dry=CutResult.CLEAN, wet=CutResult.TEAR) == (IntakeClass.B,)


@pytest.mark.parametrize(
    ("dry", "wet", "hair", "letter"),
    [
        (CutResult.NOT_CUT, CutResult.NOT_CUT, CutResult.NOT_CUT, IntakeClass.A),
        (CutResult.CATCH, CutResult.CATCH, CutResult.CATCH, IntakeClass.A),
        (CutResult.CLEAN, CutResult.CLEAN, CutResult.FOLD, IntakeClass.C),
        (CutResult.CLEAN, CutResult.CLEAN, CutResult.PUSH, IntakeClass.C),
        (CutResult.CLEAN, CutResult.CLEAN, CutResult.CLEAN, IntakeClass.E),
    ],
)
def test_the_other_classes(dry, wet, hair, letter):
    assert classes(find_rubric("shears"), EdgeType.CONVEX, dry=dry, wet=wet, hair=hair) == (letter,)


def test_hair_with_a_light_push_is_class_d():
    levels = {Medium.DRY_TISSUE: (3, 3), Medium.WET_TISSUE: (2, 2), Medium.HAIR: (2, 2)}
    assert possible_classes(levels, fit=2, top=3) == (IntakeClass.D,)


def test_right_after_tightening_is_adjusted_only():
    found = classes(
        find_rubric("shears"), EdgeType.CONVEX, dry=CutResult.CLEAN, wet=CutResult.CLEAN, hair=CutResult.CLEAN
    )
    assert found == (IntakeClass.E,)
    called_for = CALLED_FOR[IntakeClass.E]
    assert called_for is Decision.ADJUST_ONLY
    assert standing_of(Decision.ADJUST_ONLY, called_for) == (Standing.RIGHTLY_ADJUSTED, None)
    assert standing_of(Decision.SHARPEN, called_for) == (Standing.GRADED, Finding.NEEDLESS_WORK)


@pytest.mark.parametrize("edge_type", [EdgeType.MICRO_SERRATED, EdgeType.BEVEL])
def test_wet_tissue_does_not_class_a_pair_that_it_does_not_judge(edge_type):
    found = classes(find_rubric("shears"), edge_type, dry=CutResult.CLEAN, hair=CutResult.CLEAN)
    assert found == (IntakeClass.E,)


# --- angles: two conventions, common practice, no source -----------------------------------------------------------


def test_at_45_both_conventions_agree_and_at_55_they_do_not():
    assert included_from_dial(45) == 45
    assert convert(55, Unit.DEG_INCLUDED, Unit.DEG_DIAL) == 35
    assert convert(35, Unit.DEG_DIAL, Unit.DEG_INCLUDED) == 55
    assert convert(0, Unit.DEG_DIAL, Unit.DEG_INCLUDED) == 90  # 0 on the dial is 90 included: larger is finer there


def test_a_mixed_up_convention_is_seen_at_55_and_hidden_at_45():
    rubric = find_rubric("shears")

    def level(number: float, unit: Unit) -> int | None:
        on = on_of(rubric, "edge-angle", EdgeType.BEVEL)
        readings = [put(on, place, SeenMeasure(number=number, unit=unit)) for place in on.places]
        return grade(rubric, EdgeType.BEVEL, readings).find("edge-angle").level

    assert level(55, Unit.DEG_INCLUDED) == level(35, Unit.DEG_DIAL) == 3
    assert level(55, Unit.DEG_DIAL) == 0  # written down as included, 35 is far too fine for a bevel
    assert level(45, Unit.DEG_INCLUDED) == level(45, Unit.DEG_DIAL)


# --- lengths: the international inch of 1959, exact ----------------------------------------------------------------


def test_the_inch():
    assert MM_PER_INCH == UNITS["inch_mm"] == 25.4
    assert convert(0.25, Unit.INCH, Unit.MM) == pytest.approx(6.35, abs=1e-12)
    assert convert(0.5, Unit.INCH, Unit.MM) == pytest.approx(UNITS["half_inch_mm"], abs=1e-12)
    assert convert(0.001, Unit.INCH, Unit.MM) == pytest.approx(UNITS["thousandth_inch_mm"], abs=1e-15)
    assert convert(6.35, Unit.MM, Unit.INCH) == pytest.approx(0.25, abs=1e-12)


# --- the drop test: what people ask for, as an angle and as a gap between the tips of 80 mm blades ------------------
# The targets are common practice, no source, and disagree. The other column is geometry: the chord of the angle.

GAPS = [  # (degrees still open, blade length mm, gap mm, decimals to which the gap was given)
    (45, 80, 61, 0),
    (35, 80, 48, 0),
    (30, 80, 41, 0),
    (18, 80, 25, 0),
    (27, 80, 37, 0),
]
ANGLES = [  # (gap mm, blade length mm, degrees, decimals to which the angle was given)
    (13, 80, 9, 0),
    (19, 80, 14, 0),
    (10, 80, 7, 0),
    (6.35, 80, 4.5, 1),
    (10, 60, 9.6, 1),
    (10, 95, 6.0, 1),
]


@pytest.mark.parametrize(("deg", "length", "gap", "digits"), GAPS)
def test_gap_between_the_tips(deg, length, gap, digits):
    assert round(tip_gap_mm(deg, length), digits) == gap
    assert open_deg_from_gap(tip_gap_mm(deg, length), length) == pytest.approx(deg, abs=1e-9)


@pytest.mark.parametrize(("gap", "length", "deg", "digits"), ANGLES)
def test_angle_of_a_gap(gap, length, deg, digits):
    assert open_deg_from_gap(gap, length) == pytest.approx(deg, abs=0.5 * 10**-digits + 1e-9)


def test_blades_that_stay_in_the_l():
    assert tip_gap_mm(90, 80) == pytest.approx(80 * 2**0.5)


@pytest.mark.parametrize(
    ("deg", "plain", "toothed"),
    [(0, 0, 0), (4.5, 1, 0), (10, 1, 0), (20, 2, 0), (30, 3, 1), (45, 2, 2), (50, 1, 3), (64, 1, 3), (90, 0, 3)],
)
def test_the_bands_of_the_drop_test(deg, plain, toothed):
    """Plain pairs 20 to 45 open, toothed 45 to 90: from memory, starting values."""
    for edge_type, level in ((EdgeType.CONVEX, plain), (EdgeType.TOOTHED, toothed)):
        on = on_of(find_rubric("shears"), "tension", edge_type)
        graded = grade(
            find_rubric("shears"), edge_type, [put(on, on.places[0], SeenMeasure(number=deg, unit=Unit.DEG_OPEN))]
        )
        assert graded.find("tension").level == level


# --- hair decides: common practice, no source ----------------------------------------------------------------------


def pushes(on: CriterionOn, *, over_mm: float | None) -> list[SeenCut]:
    """Pushes just over, and far over, the band; or one whose millimetres nobody wrote down."""
    if over_mm is None:
        return [SeenCut(medium=Medium.HAIR, result=CutResult.PUSH)]
    band = dict(on.push_mm)[2]
    return [SeenCut(medium=Medium.HAIR, result=CutResult.PUSH, push_mm=band + over_mm)]


@pytest.mark.parametrize(("rubric", "edge_type"), SERVED, ids=IDS)
def test_a_perfect_pair_is_accepted(rubric, edge_type):
    assert grade(rubric, edge_type, perfect(rubric, edge_type)).verdict is Verdict.ACCEPTED


@pytest.mark.parametrize("over_mm", [0.1, 1, 20, None])
@pytest.mark.parametrize(("rubric", "edge_type"), SERVED, ids=IDS)
def test_tissue_passing_with_hair_pushed_is_never_accepted(rubric, edge_type, over_mm):
    on = on_of(rubric, "hair", edge_type)
    for n_stations in (1, 2, 3):
        hair = [
            put(on, place, seen)
            for n, place in enumerate(on.places)
            for seen in (pushes(on, over_mm=over_mm) if n < n_stations else [SeenLevel(level=rubric.top)])
        ]
        everything_else = perfect(rubric, edge_type, but="hair")
        assert grade(rubric, edge_type, [*everything_else, *hair]).verdict is Verdict.REWORK
        tissue_alone = [one for one in everything_else if one.criterion in ("dry-tissue", "wet-tissue")]
        assert grade(rubric, edge_type, [*tissue_alone, *hair]).verdict is Verdict.REWORK


@pytest.mark.parametrize(("rubric", "edge_type"), SERVED, ids=IDS)
def test_tissue_passing_with_hair_untested_is_not_shown(rubric, edge_type):
    graded = grade(rubric, edge_type, perfect(rubric, edge_type, but="hair"))
    assert graded.verdict is Verdict.NOT_SHOWN
    assert {test.on.key for test in graded.needed} == {"hair"}


@pytest.mark.parametrize(("rubric", "edge_type"), SERVED, ids=IDS)
def test_a_push_within_the_band_is_accepted(rubric, edge_type):
    on = on_of(rubric, "hair", edge_type)
    hair = [put(on, place, pushes(on, over_mm=0)[0]) for place in on.places]
    assert grade(rubric, edge_type, [*perfect(rubric, edge_type, but="hair"), *hair]).verdict is Verdict.ACCEPTED


@pytest.mark.parametrize(
    ("edge_type", "band"),
    [
        (EdgeType.CONVEX, 2), (EdgeType.SEMI_CONVEX, 2), (EdgeType.BEVEL, 5),
        (EdgeType.MICRO_SERRATED, 5), (EdgeType.SWORD, 2), (EdgeType.TOOTHED, 2),
    ],
)  # fmt: skip
def test_the_band_of_a_push(edge_type, band):
    """From memory, starting values."""
    assert dict(on_of(find_rubric("shears"), "hair", edge_type).push_mm)[2] == band


# --- a pair is judged as what it is: common practice, no source ----------------------------------------------------


def test_a_semi_convex_pair_is_judged_as_semi_convex():
    rubric = find_rubric("shears")
    as_kind = {}
    for edge_type in (EdgeType.CONVEX, EdgeType.SEMI_CONVEX, EdgeType.BEVEL):
        on = on_of(rubric, "edge-angle", edge_type)
        readings = [put(on, place, SeenMeasure(number=42, unit=Unit.DEG_INCLUDED)) for place in on.places]
        as_kind[edge_type] = grade(rubric, edge_type, readings).find("edge-angle").level
    assert as_kind == {EdgeType.CONVEX: 3, EdgeType.SEMI_CONVEX: 1, EdgeType.BEVEL: 0}


@pytest.mark.parametrize("key", ["shears", "first-rounds"])
def test_the_small_flat_of_a_semi_convex_is_no_fault(key):
    rubric = find_rubric(key)
    face = {edge_type: on_of(rubric, "face", edge_type).levels for edge_type in rubric.edge_types}
    assert len(set(face.values())) == len(face)  # each edge type has words of its own
    assert "narrow" in face[EdgeType.SEMI_CONVEX][3]
    assert "flat" in face[EdgeType.SEMI_CONVEX][3]
    assert "stripe" in face[EdgeType.CONVEX][1]
    assert not any("stripe" in words for words in face[EdgeType.SEMI_CONVEX])


def test_wet_tissue_is_a_must_for_a_semi_convex_and_only_advice_for_a_bevel():
    rubric = find_rubric("shears")
    for edge_type, verdict in ((EdgeType.SEMI_CONVEX, Verdict.REWORK), (EdgeType.BEVEL, Verdict.ACCEPTED)):
        on = on_of(rubric, "wet-tissue", edge_type)
        wet = [put(on, place, SeenCut(medium=Medium.WET_TISSUE, result=CutResult.TEAR)) for place in on.places]
        graded = grade(rubric, edge_type, [*perfect(rubric, edge_type, but="wet-tissue"), *wet])
        assert graded.verdict is verdict
        assert graded.pair.edge_type is edge_type


@pytest.mark.parametrize("edge_type", [kind for kind in EdgeType if kind is not EdgeType.TOOTHED])
def test_another_edge_type_made_of_it_is_a_fault_not_a_style(edge_type):
    rubric = find_rubric("shears")
    on = on_of(rubric, "face", edge_type)
    face = [put(on, place, SeenLevel(level=0 if n == 0 else 3)) for n, place in enumerate(on.places)]
    assert grade(rubric, edge_type, [*perfect(rubric, edge_type, but="face"), *face]).verdict is Verdict.REWORK
