"""Where faults sit, in the first rounds and the latest."""

from __future__ import annotations

from evalkit.domain.pair import Station
from evalkit.domain.reading import WHOLE_PAIR, Place
from evalkit.progress.faults import faults_then_and_now
from evalkit.progress.lining_up import line_up
from tests.progress.boxes import alike, box, criterion, rubric

EDGE = rubric(criterion("edge", stations=tuple(Station)), criterion("grind", must_pass=None, weight=0))


def views(*rounds):
    return faults_then_and_now(line_up(rounds, "nia"))


def test_under_five_pairs_no_picture():
    assert views() == (None, None)
    assert views(box("nia-1", alike(4))) == (None, None)


def test_one_round_is_now_and_not_then():
    then, now = views(box("nia-1", alike(5, 1)))
    assert then is None
    (place,) = now.places
    assert (place.place, place.n_below, place.n_seen) == (WHOLE_PAIR, 15, 15)
    assert place.names == ("Burr", "Finish", "Tips")


def test_rounds_are_joined_until_there_are_five_pairs_and_none_is_in_both():
    rounds = [box(f"nia-{at}", alike(3, at % 4), months=at) for at in range(5)]
    then, now = views(*rounds)
    assert then.round_keys == ("nia-0", "nia-1")
    assert now.round_keys == ("nia-3", "nia-4")
    assert (then.n_pairs, now.n_pairs) == (6, 6)
    assert views(*rounds[:3])[0] is None


def test_places_by_hand():
    rows = [{"edge": level, "grind": 0} for level in (0, 1, 2, 3, 3)]
    _, now = views(box("nia-1", rows, by=EDGE, station=Station.TIP))
    tip = Place(None, Station.TIP)
    assert {one.place: (one.n_below, one.n_seen) for one in now.places} == {tip: (2, 5)}  # advisory stays out


def test_faults_bear_the_newest_name_of_their_criterion():
    old = rubric(criterion("burr").model_copy(update={"name": "Wire edge"}), criterion("tips"), key="old")
    then, now = views(box("nia-1", alike(5, 1), by=old), box("nia-2", alike(5, 1), months=1))
    assert then.places[0].names == ("Burr", "Tips")
    assert now.places[0].names == ("Burr", "Finish", "Tips")
