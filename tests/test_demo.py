"""The demo: its values are valid, grade as the story says, and name nobody and nothing real."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median

import pytest
from PIL import Image

from demo import bench, photos, script, worst
from demo.earning import earn, earned, weak_place
from demo.run import events_of, main
from demo.scenario import assessment_of, intake_of, marking_of, photo_name, round_of
from evalkit.cli.app import run
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.comparing import Catches, PairComparison, compare_pair, count_catches
from evalkit.domain.criterion import CriterionOn, Use
from evalkit.domain.grading import PairGrade, grade_pair
from evalkit.domain.levels import fault_of, level_of
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType
from evalkit.domain.reading import (
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    SeenCut,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.rubric import Rubric
from evalkit.domain.standing import Finding, Standing, standing_of
from evalkit.domain.tally import mean_score
from evalkit.domain.triage import Decision, IntakeClass, possible_classes
from evalkit.domain.verdict import Verdict
from evalkit.files.photos import clean_photo
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import load_rubric
from evalkit.files.sheets import (
    read_assessment_sheet,
    read_intake_sheet,
    read_marking_sheet,
    write_assessment_sheet,
    write_intake_sheet,
    write_marking_sheet,
)

DEMO = Path(script.__file__).parent
KEYS = tuple(f"{trainee}-{n}" for trainee in ("teo", "lin") for n in range(1, 7))


@pytest.fixture(scope="module")
def scenario() -> script.Scenario:
    return load_scenario()


@lru_cache(maxsize=1)
def load_scenario() -> script.Scenario:
    return script.load_scenario(DEMO)


@lru_cache(maxsize=4)
def rubric_of(key: str) -> Rubric:
    return load_rubric(rubrics_dir() / f"{load_scenario().get_round(key).rubric}.toml")


@dataclass(frozen=True)
class Seen:
    """One pair of one box, both views graded."""

    number: int
    script: script.ScriptedPair | None
    theirs: AssessedPair
    hers: MarkedPair
    trainee: PairGrade
    mentor: PairGrade
    comparison: PairComparison
    standing: Standing
    finding: Finding | None


@lru_cache(maxsize=16)
def seen(key: str) -> tuple[Seen, ...]:
    scenario, rubric = load_scenario(), rubric_of(key)
    assessment, marking = assessment_of(scenario, key, rubric), marking_of(scenario, key, rubric)
    found = []
    for numbered in round_of(scenario, key, rubric).pairs:
        number, pair = numbered.number, numbered.pair
        theirs, hers = assessment.find_pair(number), marking.find_pair(number)
        assert theirs
        assert hers
        trainee = grade_pair(rubric, pair, theirs.readings, number=number, stage=Stage.AS_FINISHED)
        mentor = grade_pair(rubric, pair, hers.readings, number=number, stage=Stage.AS_RETURNED, transit=hers.transit)
        both = compare_pair(trainee, mentor, own_verdict=theirs.verdict, fit=rubric.fit)
        called_for = hers.called_for or numbered.called_for
        standing, finding = standing_of(theirs.decision, called_for)
        written = scenario.get_round(key).find_script(number)
        found.append(Seen(number, written, theirs, hers, trainee, mentor, both, standing, finding))
    return tuple(found)


def one(key: str, number: int) -> Seen:
    return seen(key)[number - 1]


def graded(key: str) -> list[Seen]:
    return [pair for pair in seen(key) if pair.standing is Standing.GRADED]


def n_accepted(key: str) -> int:
    return sum(pair.mentor.verdict is Verdict.ACCEPTED for pair in graded(key))


def score(key: str) -> float:
    mean = mean_score([pair.mentor for pair in graded(key)])
    assert mean
    assert mean.seen is not None
    return mean.seen


def catches(key: str) -> Catches:
    return count_catches(tuple(pair.comparison for pair in graded(key)))


def share_caught(key: str) -> float:
    found = catches(key)
    return found.caught / found.n_faults


def mean_minutes(key: str) -> float:
    minutes = [pair.theirs.work.minutes for pair in seen(key) if pair.theirs.work.minutes]
    return sum(minutes) / len(minutes)


def mean_removed_mm(key: str) -> float:
    lost = [most for pair in seen(key) if (most := pair.theirs.work.most_removed_mm) is not None]
    return sum(lost) / len(lost)


def median_removed_mm(key: str) -> float:
    return median(most for pair in seen(key) if (most := pair.theirs.work.most_removed_mm) is not None)


# --- what the demo must hold


def test_six_boxes_of_twelve_each_over_ten_months(scenario: script.Scenario) -> None:
    assert tuple(sorted(box.key for box in scenario.rounds)) == tuple(sorted(KEYS))
    assert all(len(box.pairs) == 12 for box in scenario.rounds)
    for trainee in scenario.trainees:
        boxes = [box for box in scenario.rounds if box.trainee == trainee.key]
        assert (boxes[-1].marked_on - boxes[0].planned_on).days > 290


def test_every_full_box_holds_all_six_edge_types() -> None:
    for key in KEYS:
        if not key.endswith("-1"):
            assert {pair.mentor.pair.edge_type for pair in seen(key)} == set(EdgeType)


def test_no_pair_is_in_two_places_at_once(scenario: script.Scenario) -> None:
    away: dict[str, list[tuple[object, object]]] = {}
    for box in scenario.rounds:
        for tag in box.pairs:
            assert all(box.sent_on > until or box.back_on < since for since, until in away.get(tag, []))
            away.setdefault(tag, []).append((box.sent_on, box.back_on))
    assert [tag for tag, times in away.items() if len(times) > 1] == ["S-201"]


def test_days_run_forward(scenario: script.Scenario) -> None:
    for box in scenario.rounds:
        days = [
            box.planned_on,
            box.sent_on,
            box.received_on,
            box.assessed_on,
            box.returned_on,
            box.back_on,
            box.marked_on,
        ]
        assert days == sorted(days)
    days = [event.day for event in events_of(scenario)]
    assert days == sorted(days)


@pytest.mark.parametrize("key", KEYS)
def test_every_reading_fits_its_rubric(key: str) -> None:
    rubric = rubric_of(key)
    for pair in seen(key):
        on = {criterion.key: criterion for criterion in rubric.on(pair.mentor.pair.edge_type)}
        for reading in (*pair.theirs.readings, *pair.hers.readings):
            assert fault_of(on[reading.criterion], reading, rubric) is None
            assert on[reading.criterion].use is not Use.NOT_APPLICABLE


@pytest.mark.parametrize("key", KEYS)
def test_what_was_written_by_hand_is_what_the_grades_say(key: str) -> None:
    for pair in seen(key):
        if pair.script and pair.script.decision is Decision.SHARPEN:
            for criterion, level in pair.script.levels.items():
                grade = pair.mentor.find(criterion)
                if grade and not grade.is_transit and criterion not in pair.script.mentor_untested:
                    assert (pair.number, criterion, grade.level) == (pair.number, criterion, level)


@pytest.mark.parametrize("key", KEYS)
def test_every_question_is_answered(key: str) -> None:
    for pair in seen(key):
        assert [answer.question for answer in pair.hers.answers] == list(range(1, len(pair.theirs.questions) + 1))


@pytest.mark.parametrize("key", KEYS)
def test_a_stated_class_is_one_that_the_cuts_allow(key: str) -> None:
    """Common practice, no source: a pair that cuts dry but not wet tissue classes as B."""
    rubric = rubric_of(key)
    media = {"dry-tissue": Medium.DRY_TISSUE, "wet-tissue": Medium.WET_TISSUE, "hair": Medium.HAIR}
    for pair in seen(key):
        if pair.theirs.stated_class in (None, IntakeClass.X):
            continue
        before = grade_pair(rubric, pair.mentor.pair, pair.theirs.readings, number=pair.number, stage=Stage.AS_RECEIVED)
        ranges = {
            media[grade.key]: (grade.lo, grade.hi)
            for grade in before.criteria
            if grade.key in media and grade.counts and grade.seen is not None
        }
        assert pair.theirs.stated_class in possible_classes(ranges, fit=rubric.fit, top=rubric.top)


def test_the_same_scenario_gives_the_same_values(scenario: script.Scenario) -> None:
    for key in ("teo-3", "lin-5"):
        rubric = rubric_of(key)
        again = script.load_scenario(DEMO)
        assert assessment_of(scenario, key, rubric) == assessment_of(again, key, rubric)
        assert marking_of(scenario, key, rubric) == marking_of(again, key, rubric)


@pytest.mark.parametrize("key", ["teo-1", "teo-3", "lin-2", "lin-5"])
def test_the_sheets_carry_everything(scenario: script.Scenario, key: str) -> None:
    rubric = rubric_of(key)
    round_, theirs, hers = (make(scenario, key, rubric) for make in (round_of, assessment_of, marking_of))
    said = read_assessment_sheet(write_assessment_sheet(round_, rubric, theirs), "sheet.md", round_, rubric)
    assert in_one_order(said) == in_one_order(theirs)
    marked = read_marking_sheet(write_marking_sheet(round_, rubric, hers), "sheet.md", round_, rubric)
    assert in_one_order(marked) == in_one_order(hers)


def in_one_order(record: Assessment | Marking) -> object:
    """Sheets list the readings in the rubric's order; what is read is the same in any."""
    plain = record.model_dump(mode="json")
    for pair in plain["pairs"]:
        pair["readings"].sort(key=str)
    return plain


# --- the story, pair by pair


@pytest.mark.parametrize(("key", "number"), [("teo-2", 7), ("lin-6", 9)])
def test_a_correct_refusal_stands_outside_the_average(key: str, number: int) -> None:
    pair = one(key, number)
    assert (pair.standing, pair.finding) == (Standing.RIGHTLY_LEFT, None)
    assert pair.theirs.stated_class is IntakeClass.X
    assert pair.theirs.reason
    assert pair.theirs.at_stage(Stage.AS_FINISHED) == ()


@pytest.mark.parametrize(("key", "number"), [("teo-1", 4), ("lin-5", 4)])
def test_needless_work_is_found(key: str, number: int) -> None:
    assert one(key, number).finding is Finding.NEEDLESS_WORK


def test_in_september_the_same_kind_of_pair_is_only_adjusted() -> None:
    """Common practice, no source: a pair that is right after tightening is adjusted only."""
    pair = one("teo-5", 6)
    assert (pair.standing, pair.finding) == (Standing.RIGHTLY_ADJUSTED, None)
    assert pair.theirs.work.most_removed_mm is None


def test_one_pair_is_wrongly_refused() -> None:
    found = [(key, pair.number) for key in KEYS for pair in seen(key) if pair.finding is Finding.WRONGLY_REFUSED]
    assert found == [("lin-2", 6)]


def test_a_transit_knock_is_never_rework() -> None:
    pair, rubric = one("teo-3", 5), rubric_of("teo-3")
    assert pair.mentor.verdict is Verdict.NOT_SHOWN
    assert not pair.comparison.would_have_gone_out
    counted = grade_pair(rubric, pair.mentor.pair, pair.hers.readings, number=5, stage=Stage.AS_RETURNED)
    assert counted.verdict is Verdict.REWORK


def pushing() -> Iterator[tuple[str, int]]:
    for box in load_scenario().rounds:
        yield from ((box.key, pair.number) for pair in box.scripted if pair.is_pushing)


@pytest.mark.parametrize(("key", "number"), list(pushing()))
def test_tissue_passing_with_hair_pushing_is_never_accepted(key: str, number: int) -> None:
    """Common practice, no source."""
    pair = one(key, number)
    cuts = [reading.seen for reading in pair.hers.readings if isinstance(reading.seen, SeenCut)]
    assert {cut.result for cut in cuts if cut.medium is not Medium.HAIR} == {CutResult.CLEAN}
    assert {cut.result for cut in cuts if cut.medium is Medium.HAIR} == {CutResult.PUSH}
    assert pair.mentor.verdict is Verdict.REWORK
    assert pair.theirs.verdict is Verdict.ACCEPTED


@pytest.mark.parametrize("key", KEYS)
def test_pairs_said_to_go_out_would_have_gone_out(key: str) -> None:
    out = {pair.number for pair in graded(key) if pair.comparison.would_have_gone_out}
    assert {pair.number for pair in load_scenario().get_round(key).scripted if pair.is_going_out} <= out


def test_a_drop_test_with_the_other_ring_earns_no_level() -> None:
    pair, rubric = one("teo-3", 10), rubric_of("teo-3")
    tension = pair.trainee.find("tension")
    assert tension
    assert tension.seen is None
    reading = tension.places[0].reading
    assert reading
    assert isinstance(reading.seen, SeenMeasure)
    assert rubric.drop_test
    assert reading.seen.ring is not rubric.drop_test.ring


def test_the_angle_mixed_up_is_55_believed_and_35_made() -> None:
    """The two conventions add up to 90: 55 on the dial is 35 included."""
    pair = one("lin-2", 2)
    said, made = (
        {reading.seen.number for reading in readings if reading.criterion == "edge-angle"}  # type: ignore[union-attr]
        for readings in (pair.theirs.at_stage(Stage.AS_FINISHED), pair.hers.readings)
    )
    assert (said, made) == ({55.0}, {35.0})
    grade = pair.mentor.find("edge-angle")
    assert grade
    assert grade.level == 0


def test_cells_that_nobody_tested_keep_a_verdict_open() -> None:
    for number in (3, 12):
        assert one("lin-4", number).mentor.verdict is Verdict.NOT_SHOWN
    hair = one("lin-4", 12).trainee.find("hair")
    assert hair
    assert hair.seen is None


def tension_of(readings: Iterable[Reading], stage: Stage) -> float:
    """Degrees still open on the drop test."""
    found = next(r.seen for r in readings if r.criterion == "tension" and r.stage is stage)
    assert isinstance(found, SeenMeasure)
    return found.number


def band_of(key: str, edge_type: EdgeType) -> tuple[float, float]:
    """The tension band that is fit for a customer."""
    on = next(on for on in rubric_of(key).on(edge_type) if on.key == "tension")
    return next((low, high) for level, low, high in on.bands if level == rubric_of(key).fit)


@pytest.mark.parametrize(("key", "number"), [("teo-1", 4), ("lin-5", 4), ("teo-5", 6)])
def test_a_loose_screw_lets_the_blade_fall_and_tightening_holds_it_up(key: str, number: int) -> None:
    """Common practice, no source: a loose pair shuts, or all but shuts, on the drop test."""
    pair = one(key, number)
    assert "loose-screw" in {fault.tag for fault in pair.mentor.pair.faults}
    before = tension_of(pair.theirs.readings, Stage.AS_RECEIVED)
    assert before <= 15
    assert tension_of(pair.theirs.readings, Stage.AS_FINISHED) >= before + 10
    assert tension_of(pair.hers.readings, Stage.AS_RETURNED) >= before + 10


def test_what_is_wrong_with_the_pivot_says_on_which_side_the_drop_test_falls() -> None:
    """Common practice, no source: a worn washer does not hold tension; dirt imitates tightness."""
    n_loose = n_tight = 0
    for key in KEYS:
        for pair in seen(key):
            tags = {fault.tag for fault in pair.mentor.pair.faults}
            low, high = band_of(key, pair.mentor.pair.edge_type)
            if tags & {"loose-screw", "worn-washer"}:
                assert tension_of(pair.theirs.readings, Stage.AS_RECEIVED) < low
                n_loose += 1
            elif "dry-pivot" in tags and high < 90:
                assert tension_of(pair.theirs.readings, Stage.AS_RECEIVED) > high
                n_tight += 1
    assert n_loose >= 5
    assert n_tight >= 5


def test_a_cracked_pair_is_closed_by_nobody() -> None:
    """From memory: a crack at the pivot is beyond repair, and closing the pair is unsafe."""
    pair = one("teo-2", 7)
    for readings in (pair.theirs.at_stage(Stage.AS_RECEIVED), pair.hers.readings):
        closing = [r for r in readings if r.criterion in bench.CLOSING]
        assert {r.criterion for r in closing} >= {"dry-tissue", "wet-tissue", "hair", "tips", "tension"}
        assert all(isinstance(r.seen, NotSeen) and r.seen.why is Unseen.COULD_NOT for r in closing)
        assert [bool(r.note) for r in readings].count(True) == 1


def test_a_point_that_is_not_there_cuts_nothing() -> None:
    pair = one("lin-6", 9)
    for readings in (pair.theirs.at_stage(Stage.AS_RECEIVED), pair.hers.readings):
        tip_cuts = {r.criterion: r.seen.result for r in readings if isinstance(r.seen, SeenCut) and r.station == "tip"}
        assert tip_cuts == dict.fromkeys(("dry-tissue", "wet-tissue", "hair"), CutResult.NOT_CUT)


@pytest.mark.parametrize("key", KEYS)
def test_why_something_was_not_seen_is_said_once_for_a_criterion(key: str) -> None:
    for pair in seen(key):
        for readings in (pair.theirs.readings, pair.hers.readings):
            said = [(r.stage, r.criterion) for r in readings if isinstance(r.seen, NotSeen) and r.note]
            assert len(said) == len(set(said))


# --- the two learners


def test_the_steady_learner_rises_box_by_box(scenario: script.Scenario) -> None:
    keys = [key for key in KEYS if key.startswith("teo")]
    assert all(a < b for a, b in pairwise([scenario.get_round(key).skill for key in keys]))
    assert all(a < b for a, b in pairwise([score(key) for key in keys]))
    assert all(a <= b for a, b in pairwise([n_accepted(key) for key in keys]))
    assert all(a > b for a, b in pairwise([mean_minutes(key) for key in keys]))
    assert mean_removed_mm(keys[-1]) < mean_removed_mm(keys[0]) / 2
    out = [sum(pair.comparison.would_have_gone_out for pair in graded(key)) for key in keys]
    assert out[0] == max(out)
    assert max(out[3:]) <= 1


def test_the_other_stands_still_and_relapses_in_the_fifth_box(scenario: script.Scenario) -> None:
    keys = [key for key in KEYS if key.startswith("lin")]
    assert abs(score("lin-4") - score("lin-3")) < 5
    assert min(keys, key=score) == "lin-5"
    assert min(keys, key=n_accepted) == "lin-5"
    assert min(keys, key=share_caught) == "lin-5"
    assert min(keys, key=mean_minutes) == "lin-5"
    assert max(keys, key=mean_removed_mm) == "lin-5"
    assert score("lin-5") < score("lin-6") < score("lin-4")
    out = {key: sum(pair.comparison.would_have_gone_out for pair in graded(key)) for key in keys}
    assert max(out, key=lambda key: out[key]) == "lin-5"


@pytest.mark.parametrize("key", KEYS)
def test_as_many_pairs_without_hair_as_the_letters_say(key: str) -> None:
    n_without = sum(
        (hair := pair.trainee.find("hair")) is not None and hair.seen is None
        for pair in seen(key)
        if pair.theirs.decision is not Decision.LEAVE
    )
    assert n_without == load_scenario().get_round(key).n_hair_untested


def test_beginners_overrate_tips_face_and_burr_more_than_they_underrate_them() -> None:
    """Common practice, no source."""
    for key in ("teo-1", "lin-1", "lin-5"):
        by = [
            one.levels[0] - one.levels[1]
            for pair in graded(key)
            for one in pair.comparison.criteria
            if one.on.key in ("tips", "face", "burr") and one.levels
        ]
        assert sum(by) / len(by) > 0.2


def test_what_the_letters_claim_of_the_figures() -> None:
    """Numbers in the mentor's letters, held against the readings."""
    assert share_caught("teo-1") < 1 / 3
    assert 0.4 < share_caught("teo-3") < 0.5
    assert mean_removed_mm("lin-5") > 1.9 * mean_removed_mm("lin-4")
    assert 2.6 < median_removed_mm("lin-5") / median_removed_mm("lin-4") < 3
    assert [pair.number for pair in graded("teo-6") if pair.comparison.would_have_gone_out] == [5]
    assert all((line := pair.trainee.find("ride-line")) and line.seen is None for pair in seen("lin-4"))


def read_before(key: str) -> Catches:
    """What became of the faults that the mentor saw before posting, in the trainee's eyes as received."""
    scenario, rubric = load_scenario(), rubric_of(key)
    intake, assessment = intake_of(scenario, key, rubric), assessment_of(scenario, key, rubric)
    found = []
    for numbered in round_of(scenario, key, rubric).pairs:
        posted, theirs = (one.find_pair(numbered.number) for one in (intake, assessment))
        assert posted
        assert theirs
        hers, own = (
            grade_pair(rubric, numbered.pair, one.readings, number=numbered.number, stage=Stage.AS_RECEIVED)
            for one in (posted, theirs)
        )
        found.append(compare_pair(own, hers, own_verdict=None, fit=rubric.fit))
    return count_catches(tuple(found))


def test_from_the_fourth_box_on_the_mentor_reads_before_she_posts() -> None:
    read = [box.key for box in load_scenario().rounds if box.has_intake]
    assert sorted(read) == [f"{trainee}-{n}" for trainee in ("lin", "teo") for n in (4, 5, 6)]
    acts = [(event.box.key, event.act.__name__) for event in events_of(load_scenario())]
    for key in read:
        assert acts.index((key, "_plan")) < acts.index((key, "_take_in_intake")) < acts.index((key, "_send"))
    counts = {key: read_before(key) for key in read}
    for found in counts.values():
        assert found.caught > 5
        assert found.missed > 5
    assert sum(found.false_alarm for found in counts.values()) > 2
    assert sum(found.not_looked for found in counts.values()) > 2
    assert min(read, key=lambda key: counts[key].caught / counts[key].n_faults) == "lin-5"


@pytest.mark.parametrize("key", [f"{trainee}-{n}" for trainee in ("teo", "lin") for n in (4, 5, 6)])
def test_every_reading_before_posting_fits_its_rubric_and_comes_back_from_its_sheet(key: str) -> None:
    rubric, scenario = rubric_of(key), load_scenario()
    intake, round_ = intake_of(scenario, key, rubric), round_of(scenario, key, rubric)
    for pair in intake.pairs:
        on = {one.key: one for one in rubric.on(round_.get_pair(pair.number).pair.edge_type)}
        for reading in pair.readings:
            assert fault_of(on[reading.criterion], reading, rubric) is None
    assert read_intake_sheet(write_intake_sheet(round_, rubric, intake), "intake.md", round_, rubric) == intake


# --- grading run backward


@pytest.mark.parametrize("name", ["shears", "first-rounds"])
def test_readings_earn_the_level_they_were_made_for(name: str) -> None:
    rubric = load_rubric(rubrics_dir() / f"{name}.toml")
    rng = Random(7)
    for edge_type in rubric.edge_types:
        for on in rubric.on(edge_type):
            if on.use is Use.NOT_APPLICABLE:
                continue
            for level in range(rubric.top + 1):
                spot = weak_place(on, Place(), rng)
                sights = earn(on, rubric, level, spot, rng)
                assert set(sights) == set(on.places)
                assert earned(on, rubric, sights) == level


def test_more_skill_gives_higher_levels_and_more_difficulty_lower_ones() -> None:
    def mean_level(skill: float, difficulty: int) -> float:
        levels = [
            level
            for n in range(400)
            for level in bench.true_levels(skill, {"hair": 0.0, "wet-tissue": 0.0}, difficulty, Random(n)).values()
        ]
        return sum(levels) / len(levels)

    assert mean_level(0, 2) < mean_level(1, 2) < mean_level(3, 2)
    assert mean_level(1, 4) < mean_level(1, 2)


def test_a_skill_of_nought_is_an_even_chance_of_fit() -> None:
    """The scale's anchor: P(level >= fit) is a half, but for the spread of luck from pair to pair."""
    n = 4000
    fit = sum(bench.true_levels(0, {"hair": 0.0}, 2, Random(seed))["hair"] >= 2 for seed in range(n))
    assert abs(fit / n - 0.5) < 4 * (0.25 / n) ** 0.5


# --- pictures


def test_every_picture_named_can_be_drawn_and_is_taken() -> None:
    named = {photo.draw for box in load_scenario().rounds for pair in box.scripted for photo in pair.photos}
    assert named <= set(photos.DRAWINGS)
    for what in ("crack", "push"):
        data = photos.draw_photo(what, "test")
        assert data == photos.draw_photo(what, "test")
        assert len(data) < 200_000
        clean = clean_photo(data)
        assert (clean.width, clean.height) == (photos.WIDTH, photos.HEIGHT)
        assert Image.open(io.BytesIO(data)).convert("L").getextrema()[1] > 200


def test_every_picture_has_its_own_name(scenario: script.Scenario) -> None:
    names = [
        photo_name(box.key, pair.number, photo)
        for box in scenario.rounds
        for pair in box.scripted
        for photo in pair.photos
    ]
    assert len(set(names)) == len(names) > 20


# --- words

INVENTED = {"Oda", "Ferrin", "Teo", "Marsk", "Lin", "Aubrel", "Harrow", "Quay", "Ropewalk"}
CALENDAR = {"January", "March", "May", "September", "October", "Wednesday", "Tuesday", "Sunday"}


def test_only_invented_names_are_named(scenario: script.Scenario) -> None:
    """Every capital letter inside a sentence is a name of this story, a day or a month."""
    prose = (DEMO / script.SCENARIO_FILE).read_text(encoding="utf-8") + "\n".join(
        pair.origin for pair in scenario.stock
    )
    inside = set(re.findall(r"(?<=[a-z,;] )[A-Z][a-z]+", prose))
    assert inside <= INVENTED | CALENDAR


@pytest.mark.parametrize("key", KEYS)
def test_no_page_is_left_without_a_word_of_the_mentor(key: str) -> None:
    for pair in seen(key):
        assert pair.hers.keep
        assert pair.hers.change or pair.standing is Standing.RIGHTLY_LEFT
        assert "{" not in pair.hers.keep + pair.hers.change + pair.theirs.notes


def test_no_sentence_is_said_four_times_in_one_box() -> None:
    for key in KEYS:
        said = [pair.hers.change for pair in seen(key) if not pair.script]
        lines = [line for line in said if line not in load_scenario().phrases.nothing["change"]]
        assert all(lines.count(line) <= 3 for line in lines)


def test_words_find_the_worst_place() -> None:
    pair = one("lin-4", 8)
    ride_line = pair.mentor.find("ride-line")
    assert ride_line
    assert worst.worst_place(ride_line) == "thumb tip"


# --- remarks against readings


@dataclass(frozen=True)
class Remark:
    """One sentence filled in for a page: the kind of fault under which it stands, its criterion, the place it names."""

    pair: Seen
    text: str
    kind: str
    on: CriterionOn
    where: str


def remarks(key: str) -> Iterator[Remark]:
    """Every filled-in remark of the mentor that asks for a change."""
    for pair in seen(key):
        texts = () if pair.script else (pair.hers.change, *(comment.text for comment in pair.hers.comments))
        for text in texts:
            for kind, where in kinds_of(text):
                criterion = max((g for g in pair.mentor.criteria if kind.startswith(g.key)), key=lambda g: len(g.key))
                others = tuple(f"-{edge}" for edge in EdgeType if edge is not criterion.on.edge_type)
                if not kind.removesuffix("-all").endswith(others):
                    yield Remark(pair, text, kind, criterion.on, where)


def kinds_of(text: str) -> Iterator[tuple[str, str]]:
    for kind, templates in load_scenario().phrases.change.items():
        for template in templates:
            if found := re.fullmatch(re.escape(template).replace(re.escape("{where}"), "(?P<where>.+)"), text):
                yield kind, found.groupdict().get("where", "")


def worst_places(remark: Remark, rubric: Rubric) -> set[str]:
    """Where the mentor's readings are worst, worked out apart from the demo's own way."""
    readings = [r for r in remark.pair.hers.readings if r.criterion == remark.on.key]
    numbers = {r.place: r.seen.number for r in readings if isinstance(r.seen, SeenMeasure)}
    if remark.kind.endswith("-uneven"):
        blades = [[at for at in numbers if at.blade is blade] for blade in {at.blade for at in numbers}]
        if remark.on.key == "ride-line":
            run = max(blades, key=lambda run: max(numbers[at] for at in run) / min(numbers[at] for at in run))
            return {str(at) for at in run if numbers[at] == max(numbers[at] for at in run)}
        spread = max(max(numbers[at] for at in run) - min(numbers[at] for at in run) for run in blades)
        runs = [run for run in blades if max(numbers[at] for at in run) - min(numbers[at] for at in run) == spread]
        return {
            str(at)
            for run in runs
            for at in run
            if numbers[at] in (max(numbers[at] for at in run), min(numbers[at] for at in run))
        }
    levels = {r.place: level for r in readings if (level := level_of(remark.on, r, rubric, None)) is not None}
    worst = {at for at, level in levels.items() if level == min(levels.values())}
    pushes = {r.place: r.seen.push_mm for r in readings if isinstance(r.seen, SeenCut) and r.seen.push_mm}
    if worst & set(pushes):
        worst = {at for at in worst if pushes.get(at, 0) == max(pushes.get(at, 0) for at in worst)}
    if numbers and remark.on.unit and remark.on.unit != "count" and worst <= set(numbers):
        aim = remark.on.target or 0
        worst = {at for at in worst if abs(numbers[at] - aim) == max(abs(numbers[at] - aim) for at in worst)}
    return {str(at) for at in worst}


@pytest.mark.parametrize("key", KEYS)
def test_a_remark_that_names_a_place_names_the_worst_one(key: str) -> None:
    found = [remark for remark in remarks(key) if remark.where]
    assert found
    for remark in found:
        assert remark.where in worst_places(remark, rubric_of(key)), (remark.pair.number, remark.text)


def test_a_tension_remark_stands_on_the_side_of_the_drop_test() -> None:
    found = [remark for key in KEYS for remark in remarks(key) if remark.on.key == "tension"]
    assert {word for remark in found for word in ("loose", "tight") if word in remark.kind} == {"loose", "tight"}
    for remark in found:
        low, high = next((low, high) for level, low, high in remark.on.bands if level == 2)
        open_deg = tension_of(remark.pair.hers.readings, Stage.AS_RETURNED)
        assert open_deg < low if "loose" in remark.kind else open_deg > high
        is_far = open_deg <= low - 19.9 or open_deg >= high + 20
        assert ("far" in remark.kind or "hangs" in remark.kind) == is_far
        assert not (
            is_far and re.search(r"\b(one|a) click\b", remark.text) and "more than one click" not in remark.text
        )


def test_grooves_and_combs_get_no_advice_for_a_smooth_blade() -> None:
    """Common practice, no source: only the smooth blade of a micro-serrated pair is worked, never the grooves."""
    found = [remark for key in KEYS for remark in remarks(key)]
    faces = [remark for remark in found if remark.on.key == "face" and remark.on.edge_type is EdgeType.MICRO_SERRATED]
    assert faces
    for remark in faces:
        assert "groove" in remark.text.lower()
        assert not re.search("blend|facet|rock|reflection|polish|finer", remark.text)
    for remark in found:
        if remark.on.edge_type in (EdgeType.MICRO_SERRATED, EdgeType.TOOTHED) and remark.on.key != "wet-tissue":
            assert "wet" not in remark.text
        if remark.on.key == "face" and remark.on.edge_type in (EdgeType.BEVEL, EdgeType.SWORD):
            assert "rock" not in remark.text


def test_tissue_is_blamed_only_where_it_came_out_clean() -> None:
    found = [remark for key in KEYS for remark in remarks(key) if "tissue did not tell" in remark.text]
    assert found
    for remark in found:
        cuts = [r.seen for r in remark.pair.hers.readings if r.criterion in ("dry-tissue", "wet-tissue")]
        assert all(isinstance(cut, SeenCut) and cut.result is CutResult.CLEAN for cut in cuts)


def test_what_is_said_by_hand_of_a_place_is_said_of_one_that_falls_short() -> None:
    n = 0
    for key in KEYS:
        for pair in seen(key):
            for comment in pair.hers.comments if pair.script else ():
                grade = pair.mentor.find(comment.criterion)
                named = re.search(r"\b(thumb|finger) (heel|middle|tip)\b", comment.text)
                if grade and named and not grade.is_transit:
                    levels = {str(place.place): place.level for place in grade.places if place.level is not None}
                    assert levels.get(named[0], min(levels.values())) == min(levels.values())
                    n += 1
    assert n


# --- the whole run


@pytest.mark.slow
def test_the_whole_run_through_the_real_commands(tmp_path: Path) -> None:
    sheets = pytest.importorskip("evalkit.files.sheets")
    assert sheets

    lines: list[str] = []
    report: Path = main(tmp_path / "demo", lambda *said: lines.extend(said), run)
    assert report.is_file()
    assert "lin-5" in report.name
    page = report.read_text(encoding="utf-8").lower()
    assert "would have gone out" in page
    assert all(f"({what})" in page for what in ("found", "missed", "not looked for"))
    assert "thought faulty though clean" in page
    assert sum(line.startswith("  ") for line in lines) == 12
    log = (tmp_path / "demo" / "commands.log").read_text(encoding="utf-8")
    assert log.count("$ evalkit report") == 12
    assert log.count("$ evalkit intake take-in") == 6
    assert "Traceback" not in log
