"""Every trainee on one page: who needs a box next, and whose box waits on the bench."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from evalkit.domain.pair import EdgeType
from evalkit.domain.signoff import SignOff
from evalkit.progress.history import history_of
from evalkit.progress.school import Box, school_of
from tests.progress.boxes import FIRST_DAY, Person, alike, box, days_later

TODAY = FIRST_DAY + timedelta(days=100)


def person(key: str) -> Person:
    return Person(key=key, name=key.capitalize())


def standing(*histories):
    return school_of(histories, on=TODAY)


def history(key: str, *rounds, **more):
    return history_of(person(key), rounds, is_brief=True, **more)


def signed(key: str, months: float) -> SignOff:
    return SignOff(
        trainee_key=key, mentor_key="oda", edge_types=(EdgeType.BEVEL,), signed_on=days_later(months),
        answers={EdgeType.BEVEL: "ready"}, evidence="{}",
    )  # fmt: skip


def test_nobody():
    found = standing()
    assert (found.trainees, found.next_boxes, found.to_mark) == ((), (), ())


def test_a_new_trainee_needs_the_first_box():
    (one,) = standing(history("ana")).next_boxes
    assert (one.box, one.waits_days) == (Box.NEEDED, None)


def test_what_is_under_way_is_told():
    done = box("ana-1", alike(6), trainee=person("ana"))
    back = box("ana-2", alike(6), trainee=person("ana"), months=1, is_marked=False)
    out = replace(back, round=back.round.model_copy(update={"legs": back.round.legs[:2]}))
    found = standing(history("ana", done, back))
    assert [(one.box, one.round_key) for one in found.to_mark] == [(Box.TO_MARK, "ana-2")]
    assert standing(history("ana", done, out)).trainees[0].box is Box.WITH_TRAINEE
    assert standing(history("ana", done, out)).next_boxes == ()


def test_the_longest_wait_comes_first_and_a_fall_before_it():
    names = ("ana", "bo", "cy")
    rounds = {
        "ana": [box("ana-1", alike(8, 2), trainee=person("ana"), months=2)],
        "bo": [box("bo-1", alike(8, 2), trainee=person("bo"), months=0)],
        "cy": [
            box("cy-1", alike(10, 3), trainee=person("cy"), months=0),
            box("cy-2", alike(10, 0), trainee=person("cy"), months=3),
        ],
    }
    found = standing(*(history(name, *rounds[name]) for name in names))
    assert [one.history.trainee.key for one in found.next_boxes] == ["cy", "bo", "ana"]
    assert found.next_boxes[0].has_fallen


def test_signed_off_needs_no_box_until_the_alarm_rings():
    good = box("ana-1", alike(8, 3), trainee=person("ana"))
    calm = history("ana", good, sign_offs=[signed("ana", 0.5)])
    assert standing(calm).trainees[0].box is Box.SIGNED_OFF
    bad = box("ana-2", alike(10, 0), trainee=person("ana"), months=2)
    alarmed = history("ana", good, bad, sign_offs=[signed("ana", 0.5)])
    (one,) = standing(alarmed).next_boxes
    assert one.has_alarm
