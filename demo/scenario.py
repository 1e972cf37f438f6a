"""The scenario as values: for each box its round, the trainee's assessment and the mentor's marking.

Pure: the same scenario and rubric give the same values. Each pair of each box has its own seed, so that a change to one
leaves the others as they are.
"""

from __future__ import annotations

from evalkit.domain.assessment import AssessedPair, Assessment, Photo, WorkLog
from evalkit.domain.criterion import CriterionOn, Kind, Use
from evalkit.domain.grading import PairGrade, grade_pair
from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.pair import Pair, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    NotSeen,
    Place,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    Stage,
    Unseen,
)
from evalkit.domain.round import Leg, LegKind, NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.verdict import Verdict

from . import bench
from .earning import Reach, Sights, earn, echo, in_unit, measure_angle, without_doubt
from .pairs import TruePair, true_pairs
from .script import DrawnPhoto, Scenario
from .words import Wording
from .worklog import work_log

RECEIVED_KEYS = ("dry-tissue", "wet-tissue", "hair", "tips", "ride-line", "burr", "tension", "play", "action", "face")


def round_of(scenario: Scenario, key: str, rubric: Rubric, *, version: int = 1) -> Round:
    """The box of that key, back with the mentor. `version` is that of the rubric in the book."""
    box = scenario.get_round(key)
    trainee = scenario.get_trainee(box.trainee)
    legs = (
        (LegKind.SENT, box.sent_on, box.out_ref, box.out_condition),
        (LegKind.RECEIVED, box.received_on, "", ""),
        (LegKind.RETURNED, box.returned_on, box.back_ref, ""),
        (LegKind.RECEIVED_BACK, box.back_on, "", box.back_condition),
    )
    return Round(
        key=box.key,
        trainee={"key": trainee.key, "name": trainee.name},
        mentor=scenario.mentor,
        rubric_key=rubric.key,
        rubric_version=version,
        rubric_digest=rubric.digest,
        planned_on=box.planned_on,
        pairs=tuple(
            NumberedPair(number=number, pair=scenario.get_pair(tag), called_for=box.called_for.get(number))
            for number, tag in enumerate(box.pairs, 1)
        ),
        legs=tuple(Leg(kind=kind, happened_on=on, carrier_ref=ref, condition=how) for kind, on, ref, how in legs),
    )


def assessment_of(scenario: Scenario, key: str, rubric: Rubric) -> Assessment:
    """The trainee's assessment of that box."""
    box = scenario.get_round(key)
    wording = Wording(scenario.phrases, bench.luck_of(scenario.seed, key, "notes"))
    return Assessment(
        round_key=key,
        trainee_key=box.trainee,
        rubric_digest=rubric.digest,
        written_on=box.assessed_on,
        disinfected_with=box.disinfected_with,
        pairs=tuple(_assessed(one, rubric, wording) for one in true_pairs(scenario, key)),
        letter=box.letter.strip(),
    )


def intake_of(scenario: Scenario, key: str, rubric: Rubric) -> Intake:
    """What the mentor read of that box before she posted it."""
    box = scenario.get_round(key)
    return Intake(
        round_key=key,
        mentor_key=scenario.mentor.key,
        rubric_digest=rubric.digest,
        read_on=box.planned_on,
        pairs=tuple(
            IntakePair(number=one.number, readings=_posted_readings(one, rubric)) for one in true_pairs(scenario, key)
        ),
    )


def marking_of(scenario: Scenario, key: str, rubric: Rubric) -> Marking:
    """The mentor's marking of that box."""
    box = scenario.get_round(key)
    wording = Wording(scenario.phrases, bench.luck_of(scenario.seed, key, "words"))
    return Marking(
        round_key=key,
        mentor_key=scenario.mentor.key,
        rubric_digest=rubric.digest,
        marked_on=box.marked_on,
        pairs=tuple(_marked(one, rubric, wording) for one in true_pairs(scenario, key)),
        letter=box.mentor_letter.strip(),
    )


def photo_name(key: str, number: int, photo: DrawnPhoto) -> str:
    """The file in which a drawn picture lies beside its sheet."""
    return f"{key}-{number:02d}-{photo.by}-{photo.draw}.jpg"


def _mentor_sights(one: TruePair, rubric: Rubric) -> dict[str, Sights]:
    """What is there to be seen as returned, by criterion; a pair left alone is as it came."""
    levels = bench.received_levels(one.pair, one.intake, one.rng("as received")) if one.is_left else one.truth
    sights = {}
    for on in _asked(rubric, one.pair):
        level = levels.get(on.key)
        if level is None:
            if one.is_left:
                continue
            level = one.rng(f"extra {on.key}").choice((2, 2, 3))
        rng = one.rng(f"mentor {on.key}")
        sights[on.key] = earn(on, rubric, level, one.spot, rng, reach=_reach(one), side=one.side)
    if one.script.every_angle and "edge-angle" in sights:
        sights["edge-angle"] = dict.fromkeys(sights["edge-angle"], measure_angle(one.script.every_angle.mentor))
    return _beyond_repair(one, rubric, sights) if one.is_left else sights


def _beyond_repair(one: TruePair, rubric: Rubric, sights: dict[str, Sights]) -> dict[str, Sights]:
    """As it came: a cracked pair is not closed, and a point that is not there cuts nothing."""
    tags = {fault.tag for fault in one.pair.faults}
    if "cracked-pivot" in tags:
        could_not: Seen = NotSeen(why=Unseen.COULD_NOT)
        sights = {
            key: {next(iter(places)) if len(places) == 1 else WHOLE_PAIR: could_not} if key in bench.CLOSING else places
            for key, places in sights.items()
        }
    if "broken-tip" in tags:
        for on in _asked(rubric, one.pair):
            if on.kind is Kind.CUT and on.key in sights:
                no_cut = SeenCut(medium=on.criterion.media[0], result=CutResult.NOT_CUT)
                at_tip: Sights = {at: no_cut for at in on.places if at.station is Station.TIP}
                sights = sights | {on.key: sights[on.key] | at_tip}
    return sights


def _reach(one: TruePair) -> Reach:
    """A spot named by hand is where it fails, and nowhere else."""
    return Reach.SPOT if one.script.spot else Reach.SOME


def _asked(rubric: Rubric, pair: Pair) -> tuple[CriterionOn, ...]:
    return tuple(on for on in rubric.on(pair.edge_type) if on.use is not Use.NOT_APPLICABLE)


def _marked(one: TruePair, rubric: Rubric, wording: Wording) -> MarkedPair:
    sights = _mentor_sights(one, rubric)
    for key in one.script.mentor_untested:
        sights[key] = {WHOLE_PAIR: NotSeen(why=Unseen.COULD_NOT)}
    readings = _readings(one, sights, Stage.AS_RETURNED, why=_mentor_reasons(one, sights))
    grade = grade_pair(
        rubric, one.pair, readings, number=one.number, stage=Stage.AS_RETURNED, transit=one.script.transit
    )
    return MarkedPair(
        number=one.number,
        readings=readings,
        transit=one.script.transit,
        transit_note=one.script.transit_note,
        called_for=one.script.found_to_call_for or one.script.called_for,
        comments=_comments(one, grade, wording, rubric.fit),
        keep=one.script.keep if one.is_scripted else wording.keep(grade),
        change=one.script.change if one.is_scripted else wording.change(grade, rubric.fit),
        answers=tuple(Answer(question=n, text=text) for n, text in enumerate(one.script.answers, 1)),
        notes=one.script.mentor_notes,
        photos=_photos(one, "mentor"),
    )


def _mentor_reasons(one: TruePair, sights: dict[str, Sights]) -> dict[str, str]:
    """Why she could not test, by criterion; what holds for the whole pair is said once, at the first."""
    if one.is_left:
        return _reason_not_closed(one, sights)
    return dict.fromkeys(one.script.mentor_untested, one.script.mentor_untested_note)


def _reason_not_closed(one: TruePair, sights: dict[str, Sights]) -> dict[str, str]:
    first = next((key for key in bench.CLOSING if key in sights), None)
    return {first: one.script.not_closed_note} if first and one.script.not_closed_note else {}


def _comments(one: TruePair, grade: PairGrade, wording: Wording, fit: int) -> tuple[Comment, ...]:
    """Those written by hand; else one on the second thing that fell short, the first being the one to change."""
    if one.is_scripted:
        asked = {criterion.key for criterion in grade.criteria}
        return tuple(Comment(criterion=key, text=text) for key, text in one.script.comments.items() if key in asked)
    return tuple(
        Comment(criterion=criterion.key, text=wording.comment(criterion, grade))
        for criterion in wording.short(grade, fit)[1:2]
    )


def _assessed(one: TruePair, rubric: Rubric, wording: Wording) -> AssessedPair:
    received = _received_readings(one, rubric)
    finished = () if one.is_left else _finished_readings(one, rubric)
    decision = one.script.decision
    return AssessedPair(
        number=one.number,
        readings=(*received, *finished),
        stated_class=one.script.stated_class or (None if "hair" in one.script.untested else one.intake),
        decision=decision,
        reason=one.script.reason,
        work=WorkLog() if one.is_left else work_log(one, _lost_levels(one, rubric)),
        verdict=None if one.is_left else _own_verdict(one, rubric, finished),
        notes=one.script.notes if one.is_scripted else _filler_note(one, wording),
        questions=one.script.questions,
        lessons=one.script.lessons,
        photos=_photos(one, "trainee"),
    )


def _lost_levels(one: TruePair, rubric: Rubric) -> dict[Station, int]:
    """The true level of 'edge line and metal used' at each station, as far as this rubric asks for it."""
    return {
        place.station: seen.level
        for place, seen in _mentor_sights(one, rubric).get("edge-line", {}).items()
        if place.station and isinstance(seen, SeenLevel)
    }


def _filler_note(one: TruePair, wording: Wording) -> str:
    return wording.note(one.pair) if one.rng("note").random() < 0.7 else ""


def _received_readings(one: TruePair, rubric: Rubric) -> tuple[Reading, ...]:
    """The trainee tests what the box asks for before any work; who stops at tissue stops there too."""
    stated = one.script.stated_class or one.intake
    levels = bench.received_levels(one.pair, stated, one.rng("as received"))
    sights = {
        on.key: earn(
            on,
            rubric,
            levels[on.key],
            _fault_spot(one),
            one.rng(f"received {on.key}"),
            reach=Reach.ALL,
            side=one.side,
        )
        for on in _asked(rubric, one.pair)
        if on.key in levels and on.key in RECEIVED_KEYS
    }
    if "hair" in one.script.untested:
        sights.pop("hair", None)
    written = {key: _as_written(one, seen) for key, seen in _beyond_repair(one, rubric, sights).items()}
    return _readings(one, written, Stage.AS_RECEIVED, why=_reason_not_closed(one, written))


def _posted_readings(one: TruePair, rubric: Rubric) -> tuple[Reading, ...]:
    """By the mentor's eyes, of what the trainee reads as received; known faults look alike to both."""
    received = bench.received_levels(one.pair, one.script.stated_class or one.intake, one.rng("as received"))
    told = {key for fault in one.pair.faults for key in bench.BY_FAULT.get(fault.tag, {})}
    seen = bench.seen_before_posting(received, one.box.bias, one.trainee.habits, one.rng("before posting"))
    levels = seen | {key: level for key, level in received.items() if key in told}
    sights = {
        on.key: earn(
            on, rubric, levels[on.key], _fault_spot(one), one.rng(f"posted {on.key}"), reach=Reach.ALL, side=one.side
        )
        for on in _asked(rubric, one.pair)
        if on.key in levels and on.key in RECEIVED_KEYS
    }
    sights = _beyond_repair(one, rubric, sights)
    found = [(key, at, seen) for key, places in sights.items() for at, seen in places.items()]
    return tuple(
        Reading(
            number=one.number, stage=Stage.AS_RECEIVED, criterion=key, blade=at.blade, station=at.station, seen=seen
        )
        for key, at, seen in found
    )  # fmt: skip


def _fault_spot(one: TruePair) -> Place:
    placed = next((fault for fault in one.pair.faults if fault.blade or fault.station), None)
    return Place(placed.blade, placed.station) if placed else one.spot


def _finished_readings(one: TruePair, rubric: Rubric) -> tuple[Reading, ...]:
    mentor = _mentor_sights(one, rubric)
    untested = {*one.script.untested, *one.box.never_tested}
    sights: dict[str, Sights] = {}
    for on in _asked(rubric, one.pair):
        if on.key in untested:
            sights[on.key] = {WHOLE_PAIR: NotSeen(why=Unseen.NOT_TESTED)}
            continue
        rng = one.rng(f"trainee {on.key}")
        if on.key in one.own and one.own[on.key] != one.truth.get(on.key):
            sights[on.key] = earn(
                on, rubric, one.own[on.key], one.spot, rng, reach=_reach(one), near=mentor[on.key], side=one.side
            )
        else:
            sights[on.key] = echo(on, rubric, mentor[on.key], one.own.get(on.key, rubric.fit), rng)
    if one.script.every_angle:
        sights["edge-angle"] = dict.fromkeys(sights["edge-angle"], measure_angle(one.script.every_angle.trainee))
    written = {key: _as_written(one, seen) for key, seen in sights.items()}
    why = dict.fromkeys(one.box.never_tested, one.box.never_tested_note)
    return _readings(one, written, Stage.AS_FINISHED, why=why)


def _as_written(one: TruePair, sights: Sights) -> Sights:
    """In the convention of the trainee's own bench, and in the first box without a word on doubt."""
    told = {place: in_unit(seen, one.trainee.angle_unit) for place, seen in sights.items()}
    is_first = one.box.key.endswith("-1")
    return {place: without_doubt(seen) for place, seen in told.items()} if is_first else told


def _own_verdict(one: TruePair, rubric: Rubric, finished: tuple[Reading, ...]) -> Verdict:
    """Nothing found that a must-pass forbids, whatever was not looked at: that is how a trainee accepts."""
    if one.script.verdict is not None:
        return one.script.verdict
    grade = grade_pair(rubric, one.pair, finished, number=one.number, stage=Stage.AS_FINISHED)
    return Verdict.REWORK if grade.missed else Verdict.ACCEPTED


def _readings(one: TruePair, sights: dict[str, Sights], stage: Stage, *, why: dict[str, str]) -> tuple[Reading, ...]:
    """The filled-in sights as readings, each giving way to one written by hand for the same place.

    `why` tells by criterion why nothing was seen; that is said of the whole pair, not place by place.
    """
    said = {(r.criterion, Place(r.blade, r.station)): r for r in one.script.readings if r.stage is stage}
    spoken = {criterion for criterion, _ in said}
    found: dict[tuple[str, Place], tuple[Seen, str]] = {}
    for criterion, places in sights.items():
        for place, seen in places.items():
            if place != WHOLE_PAIR or not isinstance(seen, NotSeen) or criterion not in spoken:
                found[criterion, place] = seen, why.get(criterion, "") if isinstance(seen, NotSeen) else ""
    found |= {at: (reading.seen, reading.note) for at, reading in said.items()}
    order = list(dict.fromkeys([*sights, *spoken]))
    return tuple(
        Reading(
            number=one.number, stage=stage, criterion=criterion, blade=place.blade, station=place.station,
            seen=seen, note=note,
        )
        for (criterion, place), (seen, note) in sorted(found.items(), key=lambda item: order.index(item[0][0]))
    )  # fmt: skip


def _photos(one: TruePair, by: str) -> tuple[Photo, ...]:
    return tuple(
        Photo(file=photo_name(one.box.key, one.number, photo), caption=photo.caption)
        for photo in one.script.photos
        if photo.by == by
    )
