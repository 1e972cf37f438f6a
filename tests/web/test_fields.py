"""A marked pair on a form and back: whatever can be kept comes back as it was."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.actions.marking import lines_on
from evalkit.domain.bench_order import BenchStep, in_bench_order, step_of
from evalkit.domain.marking import Answer, Comment, MarkedPair
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.triage import Decision
from evalkit.files.rubrics import find_rubric
from evalkit.web.fields import choices_of, fields_of, place_of, read_form, slug_of
from tests.reports.values import RUBRIC, round_of

ROUND = round_of()
NUMBERED = ROUND.get_pair(1)
LINES = lines_on(RUBRIC, NUMBERED.pair)
signs = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"))
notes = st.text(signs, max_size=60)
lines = st.text(signs, max_size=60).map(str.strip)
levels = st.integers(0, 3).map(lambda level: SeenLevel(level=level))
unseen = st.sampled_from([Unseen.NOT_TESTED, Unseen.COULD_NOT]).map(lambda why: NotSeen(why=why))
millimetres = st.builds(
    SeenMeasure,
    number=st.integers(0, 3000).map(lambda n: n / 1000),
    unit=st.sampled_from([Unit.MM, Unit.INCH]),
    doubt=st.none() | st.integers(1, 300).map(lambda n: n / 1000),
)
cuts = st.builds(SeenCut, medium=st.just(Medium.HAIR), result=st.sampled_from(CutResult)) | st.builds(
    SeenCut,
    medium=st.just(Medium.HAIR),
    result=st.just(CutResult.PUSH),
    push_mm=st.integers(0, 900).map(lambda n: n / 10),
)
SEEN = {"ride-line": levels | unseen | millimetres, "hair": levels | unseen | cuts}


@st.composite
def marked_pairs(draw: st.DrawFn) -> MarkedPair:
    readings = []
    for on in LINES:
        places = [*on.places, WHOLE_PAIR] if WHOLE_PAIR not in on.places else list(on.places)
        for place in places:
            seen = draw(st.none() | (unseen if place not in on.places else SEEN.get(on.key, levels | unseen)))
            if seen is not None:
                readings.append(
                    Reading(number=1, stage=Stage.AS_RETURNED, criterion=on.key, blade=place.blade,
                            station=place.station, seen=seen, note=draw(st.just("") | notes.map(str.strip)))
                )  # fmt: skip
    keys = [on.key for on in LINES]
    commented = draw(st.lists(st.sampled_from(keys), unique=True))
    return MarkedPair(
        number=1,
        readings=tuple(readings),
        comments=tuple(Comment(criterion=key, text=draw(notes.filter(str.strip))) for key in keys if key in commented),
        transit=tuple(draw(st.lists(st.sampled_from(keys), unique=True))),
        transit_note=draw(notes),
        called_for=draw(st.none() | st.sampled_from(Decision)),
        keep=draw(lines),
        change=draw(lines),
        notes=draw(st.text(signs | st.just("\n"), max_size=200)),
        answers=(Answer(question=1, text="so"),),
    )


def read_back(pair: MarkedPair, before: MarkedPair | None):
    fields = fields_of(pair, LINES) | {"has_transit": "yes"}
    transit = fields.pop("transit").split()
    return read_form(fields, transit, numbered=NUMBERED, rubric=RUBRIC, lines=LINES, before=before)


def by_place(pair: MarkedPair) -> dict[tuple[str, Place], Reading]:
    return {(one.criterion, one.place): one for one in pair.readings}


@settings(max_examples=150)
@given(marked_pairs())
def test_what_stands_on_the_form_is_what_was_kept(pair: MarkedPair):
    found = read_back(pair, pair)
    assert found.faults == ()
    assert by_place(found.pair) == by_place(pair)
    assert found.pair.model_copy(update={"readings": ()}) == pair.model_copy(update={"readings": ()})


@settings(max_examples=60)
@given(marked_pairs(), marked_pairs())
def test_a_form_says_all_that_it_shows_whatever_stood_before(pair: MarkedPair, before: MarkedPair):
    """Places of the criteria take what the form says; answers and photos stay those of before."""
    found = read_back(pair, before.model_copy(update={"readings": (), "answers": ()}))
    whole = {key for key in by_place(pair) if key[1] == WHOLE_PAIR and key[0] != "finish" and key[0] != "sound"}
    kept = {key: one for key, one in by_place(pair).items() if key not in whole}
    assert by_place(found.pair) == kept
    assert found.pair.answers == ()
    assert (found.pair.keep, found.pair.notes, found.pair.comments) == (pair.keep, pair.notes, pair.comments)


@given(st.dictionaries(st.sampled_from(sorted(fields_of(None, LINES))) | st.text(max_size=20), st.text(max_size=80)))
def test_no_form_can_make_it_fall(fields: dict[str, str]):
    found = read_form(fields, ["nonsense", "tips"], numbered=NUMBERED, rubric=RUBRIC, lines=LINES, before=None)
    for fault in found.faults:
        assert fault.what
        assert fault.name in fields


def test_every_place_has_a_slug_of_its_own():
    places = [Place(blade, station) for blade in (None, *Blade) for station in (None, *Station)]
    assert len({slug_of(place) for place in places}) == len(places)
    assert [place_of(slug_of(place)) for place in places] == places
    assert [place_of(word) for word in ("", "x", "thumb-x", "x-heel", "thumb-heel-x")] == [None] * 5


def test_every_button_says_what_the_grammar_takes():
    for on in LINES:
        for words in choices_of(on):
            field = f"s.{on.key}.{slug_of(on.places[0])}"
            found = read_form({field: words}, [], numbered=NUMBERED, rubric=RUBRIC, lines=LINES, before=None)
            assert (found.faults, len(found.pair.readings)) == ((), 1), (on.key, words)


def test_the_bench_order_of_the_shipped_rubric():
    """Common practice, no source: clean, set the tension, look, then cut; or every cut tests the screw."""
    order = [on.key for on in in_bench_order(find_rubric("shears").on(EdgeType.CONVEX))]
    assert order == [
        "finish", "tension", "play", "action", "set", "tips", "ride-line", "face", "edge-angle", "burr", "edge-line",
        "dry-tissue", "wet-tissue", "hair", "slide-cut",
    ]  # fmt: skip


def test_every_criterion_has_its_step():
    for name in ("shears", "first-rounds", "toothed"):
        rubric = find_rubric(name)
        for kind in rubric.edge_types:
            assert {step_of(on) for on in rubric.on(kind)} <= set(BenchStep)
            assert sorted(on.key for on in in_bench_order(rubric.on(kind))) == sorted(rubric.by_key)
