"""The cause map: rows a mentor would recognise come first, and the ranking is the one that the file explains."""

from decimal import Decimal

import pytest
from pydantic import ValidationError

from evalkit.domain.causes import Cause, CauseMap, Pattern, likely_causes
from evalkit.domain.grading import PairGrade, grade_pair
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Pair, Station
from evalkit.domain.reading import CutResult, Medium, Reading, SeenCut, SeenLevel, SeenMeasure, Stage
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import find_rubric, load_causes

SHEARS = find_rubric("shears")
CAUSES = load_causes(rubrics_dir() / "causes.toml")
MEDIA = {"dry-tissue": Medium.DRY_TISSUE, "wet-tissue": Medium.WET_TISSUE, "hair": Medium.HAIR}
STATIONS = {"heel": Station.HEEL, "middle": Station.MIDDLE, "tip": Station.TIP}


def reading(key: str, seen, place: str = "") -> Reading:
    """`seen`: a level, a cut result, a push in mm ('push 4'), or a measured value ('1.2 mm')."""
    words = place.split()
    where = {
        "blade": next((Blade(word) for word in words if word in ("thumb", "finger")), None),
        "station": next((STATIONS[word] for word in words if word in STATIONS), None),
    }
    if isinstance(seen, int):
        what = SeenLevel(level=seen)
    elif seen[0].isdigit():
        number, unit = seen.split(" ", 1)
        what = SeenMeasure(number=float(number), unit=Unit(unit))
    elif seen.startswith("push "):
        what = SeenCut(medium=MEDIA[key], result=CutResult.PUSH, push_mm=float(seen.split()[1]))
    else:
        what = SeenCut(medium=MEDIA[key], result=CutResult(seen))
    return Reading(number=1, stage=Stage.AS_RETURNED, criterion=key, seen=what, **where)


def cuts(key: str, heel: str, middle: str, tip: str) -> list[Reading]:
    return [reading(key, seen, place) for seen, place in zip((heel, middle, tip), STATIONS, strict=True)]


def clean(*keys: str) -> list[Reading]:
    return [one for key in keys for one in cuts(key, "clean", "clean", "clean")]


def widths(*mm: float) -> list[Reading]:
    """Ride-line widths: thumb heel, middle, tip, then finger."""
    places = [f"{blade} {station}" for blade in ("thumb", "finger") for station in STATIONS]
    return [reading("ride-line", f"{one} mm", place) for one, place in zip(mm, places, strict=True)]


def angles(*deg: float, unit: str = "deg included") -> list[Reading]:
    places = [f"{blade} {station}" for blade in ("thumb", "finger") for station in STATIONS]
    return [reading("edge-angle", f"{one} {unit}", place) for one, place in zip(deg, places, strict=True)]


def graded(readings, edge_type=EdgeType.CONVEX, length_mm=80.0, rubric=SHEARS) -> PairGrade:
    pair = Pair(tag="T1", edge_type=edge_type, size_in=Decimal("5.5"), blade_length_mm=length_mm)
    return grade_pair(rubric, pair, readings, number=1, stage=Stage.AS_RETURNED)


def rows(readings, edge_type=EdgeType.CONVEX, **more) -> list[str]:
    return [one.cause.key for one in likely_causes(CAUSES, graded(readings, edge_type, **more), fit=SHEARS.fit)]


TISSUE = ("dry-tissue", "wet-tissue")
ALL_THREE = ("dry-tissue", "wet-tissue", "hair")
FOLDS = ("fold", "fold", "fold")

RECOGNISED = {
    # what is seen -> the row that must come first. Rows: common practice, no source.
    "pushes-hair-tissue-fine": [*clean(*TISSUE), *cuts("hair", "push 4", "push 5", "push 6")],
    "folds-everywhere": [*cuts("dry-tissue", *FOLDS), *cuts("wet-tissue", *FOLDS), *cuts("hair", *FOLDS)],
    "folds-at-tip": [one for key in ALL_THREE for one in cuts(key, "clean", "clean", "fold")],
    "folds-in-middle": [one for key in ALL_THREE for one in cuts(key, "clean", "fold", "clean")],
    "folds-at-heel": [one for key in ALL_THREE for one in cuts(key, "fold", "clean", "clean")],
    "shuts-on-drop": [*clean(*ALL_THREE), reading("tension", "0 deg open"), reading("play", 3)],
    "stays-up-on-drop": [*clean(*ALL_THREE), reading("tension", "85 deg open")],
    "even-dullness": [one for key in ALL_THREE for one in cuts(key, "not cut", "not cut", "not cut")],
    "dry-tissue-fails-in-a-span": [*cuts("dry-tissue", "clean", "tear", "clean"), *clean("wet-tissue", "hair")],
    "hair-passes-wet-tears": [*clean("dry-tissue", "hair"), *cuts("wet-tissue", "clean", "tear", "clean")],
    "wet-passes-hair-fails": [*clean(*TISSUE), *cuts("hair", "clean", "tear", "clean")],
    "catches-at-one-spot": [
        *(one for key in ALL_THREE for one in cuts(key, "clean", "catch", "clean")),
        reading("burr", 0, "finger"),
    ],
    "catches-at-tips": [
        *(one for key in ALL_THREE for one in cuts(key, "clean", "clean", "catch")),
        reading("tips", 0, "tip"),
    ],
    "ride-line-wide": [*clean(*ALL_THREE), *widths(1.2, 1.2, 1.3, 1.1, 1.2, 1.2)],
    "hollow-spent": [*clean(*ALL_THREE), *widths(1.8, 1.8, 1.9, 1.7, 1.8, 1.8)],
    "ride-line-broken": [*widths(0.4, 0.4, 0.5, 0.4, 0.4, 0.4)[:-1], reading("ride-line", 1, "finger tip")],
    "ride-line-missing-at-heel": [*widths(0.0, 0.4, 0.4, 0.0, 0.4, 0.4)],
    "line-on-spine-side": [reading("ride-line", 0, "thumb middle"), reading("ride-line", 0, "thumb tip")],
    "facets": [*clean(*ALL_THREE), reading("face", 1, "thumb middle")],
    "stripe-on-convex": [*clean(*ALL_THREE), reading("face", 0, "thumb middle")],
    "angle-differs": [*clean(*ALL_THREE), *angles(43, 43, 44, 49, 49, 50)],
    "dulls-soon": [*clean(*ALL_THREE), *angles(36, 36, 36, 36, 36, 36)],
    "narrower-than-sent": [*clean(*ALL_THREE), reading("edge-line", 1, "tip")],
    "play-at-pivot": [*clean(*ALL_THREE), reading("tension", "30 deg open"), reading("play", 1)],
    "noisy-and-loosens": [
        *clean(*ALL_THREE), reading("action", 1), reading("set", 1), reading("tension", "10 deg open"),
    ],
    "set-lost": [*clean(*ALL_THREE), reading("set", 0), reading("action", 2)],
    "haze": [*clean(*ALL_THREE), reading("action", 3), reading("finish", 1)],
    "tips-do-not-meet": [*clean(*ALL_THREE), reading("set", 2), reading("tips", 0, "tip")],
}  # fmt: skip


@pytest.mark.parametrize("key", RECOGNISED)
def test_the_row_that_a_mentor_would_think_of_comes_first(key):
    assert rows(RECOGNISED[key])[0] == key


def test_pushed_hair_with_clean_tissue_names_angle_and_polish():
    found = likely_causes(CAUSES, graded(RECOGNISED["pushes-hair-tissue-fine"]), fit=2)[0]
    assert found.cause.causes[:2] == ("angle too blunt", "edge rounded by polishing")
    assert (found.n_explained, found.n_failed, found.n_against) == (3, 3, 0)


def test_folding_at_the_tip_names_the_over_ground_tip():
    found = likely_causes(CAUSES, graded(RECOGNISED["folds-at-tip"]), fit=2)[0]
    assert found.cause.causes[0] == "tip over-ground"


@pytest.mark.parametrize("key", ["shuts-on-drop", "folds-everywhere"])
def test_the_screw_is_the_first_suspect(key):
    assert likely_causes(CAUSES, graded(RECOGNISED[key]), fit=2)[0].cause.causes[0] == "pivot too loose"


@pytest.mark.parametrize(
    ("edge_type", "first"),
    [
        (EdgeType.CONVEX, "stripe-on-convex"),
        (EdgeType.SEMI_CONVEX, "small-flat-lost"),
        (EdgeType.MICRO_SERRATED, "grooves-polished-away"),
    ],
)
def test_a_lost_shape_is_explained_by_its_edge_type(edge_type, first):
    assert rows([reading("face", 0, "thumb middle")], edge_type)[0] == first


def test_a_row_for_other_edge_types_is_never_offered():
    found = rows([reading("face", 0, "thumb middle"), *cuts("hair", "push 9", "push 9", "push 9")], EdgeType.BEVEL)
    assert not {"facets", "stripe-on-convex", "small-flat-lost", "slides-in-blunt-cut", "toothed-pulls"} & set(found)


def test_a_toothed_pair_that_pulls():
    found = rows(
        [*cuts("hair", "tear", "tear", "clean"), reading("tension", "30 deg open")], EdgeType.TOOTHED
    )  # fmt: skip
    assert found[0] == "toothed-pulls"


@pytest.mark.parametrize("name", ["toothed", "first-rounds"])
def test_one_map_serves_every_shipped_rubric(name):
    rubric = find_rubric(name)
    edge_type = rubric.edge_types[0]
    readings = cuts("hair", "fold", "fold", "fold")
    found = likely_causes(CAUSES, graded(readings, edge_type, rubric=rubric), fit=rubric.fit)
    assert found[0].cause.key in {"folds-everywhere", "toothed-pulls"}


def test_nothing_failed_means_nothing_to_explain():
    assert rows([*clean(*ALL_THREE), reading("tension", "30 deg open")]) == []
    assert rows([]) == []


def test_tissue_that_fails_too_speaks_against_a_blunt_angle():
    fine = likely_causes(CAUSES, graded(RECOGNISED["pushes-hair-tissue-fine"]), fit=2)
    poor = likely_causes(
        CAUSES, graded([*cuts("dry-tissue", *FOLDS), *cuts("hair", "push 4", "push 5", "push 6")]), fit=2
    )
    assert fine[0].cause.key == "pushes-hair-tissue-fine"
    assert poor[0].cause.key != "pushes-hair-tissue-fine"
    against = {one.cause.key: one.n_against for one in poor}
    assert against["pushes-hair-tissue-fine"] == 3


def test_a_tip_gap_is_taken_as_the_angle_it_stands_for():
    # 5 mm between the tips of 80 mm blades is 3.6 degrees open: all but shut. Chord: 2 * 80 * sin(3.6 / 2).
    assert rows([reading("tension", "5 mm tip gap"), reading("play", 3)])[0] == "shuts-on-drop"
    # 120 mm between them is 97 degrees.
    assert rows([reading("tension", "120 mm tip gap")])[0] == "stays-up-on-drop"


def test_a_dial_reading_is_taken_as_the_angle_it_stands_for():
    # 33 on the dial is 57 included: too blunt for a convex, and the number 33 alone would say too fine.
    found = rows(angles(*[33.0] * 6, unit="deg dial"))
    assert found[0] == "pushes-hair-tissue-fine"
    assert "dulls-soon" not in found


def test_an_uneven_angle_explains_readings_that_are_each_in_range():
    found = likely_causes(CAUSES, graded(angles(41, 41, 48, 41, 41, 41)), fit=2)
    assert [one.cause.key for one in found] == ["angle-differs"]
    assert found[0].n_explained == found[0].n_failed == 6


# --- the ranking, on a map made for it -----------------------------------------------------------------------------


def a_cause(key: str, *when: Pattern, unless: tuple[Pattern, ...] = ()) -> Cause:
    return Cause(key=key, observed=key, causes=("x",), say="x", when=when, unless=unless, source="from memory")


def test_explained_less_contradicted_comes_first_then_explained_then_the_order_of_the_file():
    push = Pattern(criteria=("hair",), cuts=(CutResult.PUSH,))
    push_at_tip = Pattern(criteria=("hair",), cuts=(CutResult.PUSH,), stations=(Station.TIP,))
    tissue_is_clean = Pattern(criteria=("dry-tissue",), at_least=2)
    causes = CauseMap(
        causes=(
            a_cause("one-of-three", push_at_tip),
            a_cause("three-but-contradicted", push, unless=(tissue_is_clean,)),
            a_cause("three-later", push),
            a_cause("three-last", push),
            a_cause("none", Pattern(criteria=("tips",), at_most=1)),
        )
    )
    grade = graded([*clean("dry-tissue"), *cuts("hair", "push 4", "push 5", "push 6")])
    found = likely_causes(causes, grade, fit=2)
    assert [(one.cause.key, one.n_explained, one.n_against) for one in found] == [
        ("three-later", 3, 0),
        ("three-last", 3, 0),
        ("one-of-three", 1, 0),
        ("three-but-contradicted", 3, 3),
    ]


def test_every_part_of_a_pattern_must_hold():
    grade = graded([reading("ride-line", "1.2 mm", "thumb heel"), reading("ride-line", "0.4 mm", "finger heel")])
    for pattern, holds in [
        (Pattern(criteria=("ride-line",), above=1.0), True),
        (Pattern(criteria=("ride-line",), above=1.0, blades=(Blade.THUMB,)), True),
        (Pattern(criteria=("ride-line",), above=1.0, blades=(Blade.FINGER,)), False),
        (Pattern(criteria=("ride-line",), above=1.0, stations=(Station.TIP,)), False),
        (Pattern(criteria=("ride-line",), above=1.0, below=1.1), False),
        (Pattern(criteria=("ride-line",), at_most=0), False),
        (Pattern(criteria=("tips",), at_most=1), False),
    ]:
        found = likely_causes(CauseMap(causes=(a_cause("c", pattern),)), grade, fit=2)
        assert bool(found) is holds, pattern


def test_a_level_given_by_eye_has_no_number_to_compare():
    causes = CauseMap(causes=(a_cause("c", Pattern(criteria=("ride-line",), above=0.0)),))
    assert likely_causes(causes, graded([reading("ride-line", 0, "thumb heel")]), fit=2) == ()


def test_a_pattern_must_say_something():
    with pytest.raises(ValidationError, match="a pattern needs cuts"):
        Pattern(criteria=("hair",))
    with pytest.raises(ValidationError, match="stands twice"):
        CauseMap(causes=(a_cause("c", Pattern(criteria=("hair",), at_most=1)),) * 2)
