"""A box checked in against its packing list: pair by pair, in one act or not at all."""

from __future__ import annotations

import re

import pytest

from evalkit.domain.reading import NotSeen, Unseen
from evalkit.domain.round import RoundState
from tests.web.conftest import picture
from tests.web.site import ROUND, Site, whole

HERE = {"pair.1": "here", "pair.2": "here", "pair.3": "here", "on": "2026-05-02"}


def test_the_packing_list_is_shown(on_its_way: Site):
    assert "Check in" in on_its_way.page("/")
    page = on_its_way.page(f"{ROUND}/check-in")
    for number in (1, 2, 3):
        assert f'name="pair.{number}" value="missing"' in page
        assert f"tag S-10{number}" in page


def test_a_box_in_order(on_its_way: Site):
    answer = on_its_way.post(f"{ROUND}/check-in", {**HERE, "condition": "dry", "ref": "HQ 1"})
    assert answer.status_code == 303
    leg = on_its_way.book.get_round("teo-1").legs[-1]
    assert (leg.kind, str(leg.happened_on), leg.condition, leg.carrier_ref) == (
        "received back", "2026-05-02", "dry", "HQ 1",
    )  # fmt: skip
    assert on_its_way.book.find_draft("teo-1", "oda") is None


def test_missing_damaged_and_too_much(on_its_way: Site):
    fields = {**HERE, "pair.2": "damaged", "damage.2": "tip bent", "pair.3": "missing", "extra": "a red pair"}
    files = {"photo.2": ("tip.jpg", picture(70), "image/jpeg")}
    acts = len(on_its_way.book.list_acts())
    assert on_its_way.post(f"{ROUND}/check-in", fields, files=files).status_code == 303
    assert len(on_its_way.book.list_acts()) == acts + 1, "it is one act"
    leg = on_its_way.book.get_round("teo-1").legs[-1]
    assert leg.condition == "Missing: pair 3. Damaged in transit: pair 2. Too much: a red pair"
    damaged, missing = on_its_way.kept(2), on_its_way.kept(3)
    assert (damaged.transit_note, len(damaged.photos), damaged.readings) == ("tip bent", 1, ())
    assert len(missing.readings) == 12
    assert all(one.seen == NotSeen(why=Unseen.COULD_NOT) for one in missing.readings)
    assert "tip bent" in on_its_way.page(f"{ROUND}/pairs/2")
    for number in (1, 2):
        on_its_way.save(number, whole(3))
    on_its_way.post(f"{ROUND}/finish", {"letter": ""})
    assert "not shown" in on_its_way.get(f"{ROUND}/report.md").text, "a pair that nobody saw is never passed"


def test_a_pair_of_which_nothing_is_said_is_not_taken_for_good(on_its_way: Site):
    answer = on_its_way.post(f"{ROUND}/check-in", {name: text for name, text in HERE.items() if name != "pair.2"})
    assert answer.status_code == 422
    assert "nothing is said of pair 2" in answer.text.lower()
    assert on_its_way.book.get_round("teo-1").state is RoundState.ON_ITS_WAY_BACK


def test_a_missing_pair_is_nowhere_called_tested(on_its_way: Site):
    on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.3": "missing"})
    page = on_its_way.page(ROUND)
    assert "could not be tested" in page
    assert "all tested" not in page
    bench = on_its_way.page(f"{ROUND}/pairs/3")
    assert "Everything is tested" not in bench
    assert "Could not be tested, so not passed: 5 criteria." in bench


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"on": "2027-01-01"}, "still to come"),
        ({"on": "2020-01-01"}, "lies before"),
        ({"on": "May"}, "not a day"),
        ({"condition": "x" * 2100}, "too long"),
    ],
)
def test_a_fault_keeps_nothing(on_its_way: Site, fields: dict[str, str], told: str):
    acts = len(on_its_way.book.list_acts())
    answer = on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.1": "missing", **fields})
    assert answer.status_code == 422
    assert told in answer.text
    assert len(on_its_way.book.list_acts()) == acts


def test_a_picture_that_is_none_keeps_nothing(on_its_way: Site):
    files = {"photo.2": ("tip.jpg", b"no picture", "image/jpeg")}
    answer = on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.2": "damaged", "damage.2": "tip bent"}, files=files)
    assert answer.status_code == 422
    assert "tip.jpg" in answer.text
    assert on_its_way.book.get_round("teo-1").state is RoundState.ON_ITS_WAY_BACK


def test_a_box_is_checked_in_once(back: Site):
    assert back.post(f"{ROUND}/check-in", HERE).status_code == 422


def test_damage_without_a_word_is_asked_about(on_its_way: Site):
    answer = on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.2": "damaged", "damage.2": " "})
    assert answer.status_code == 422
    assert "what is damaged on pair 2" in answer.text
    assert on_its_way.book.get_round("teo-1").state is RoundState.ON_ITS_WAY_BACK


def test_what_was_filled_in_comes_back_with_what_is_wrong(on_its_way: Site):
    fields = {**HERE, "pair.2": "damaged", "pair.3": "missing", "extra": "a comb", "condition": "wet", "ref": "AB 1"}
    files = {"photo.2": ("tip.jpg", picture(70), "image/jpeg")}
    page = on_its_way.post(f"{ROUND}/check-in", fields, files=files).text
    assert 'role="alert">It is not said what is damaged on pair 2.' in page
    assert "Choose the pictures again." in page
    for number, how in ((1, "here"), (2, "damaged"), (3, "missing")):
        assert re.findall(rf'name="pair.{number}" value="(\w+)"[^>]* checked', page) == [how]
    assert 'value="a comb"' in page
    assert ">wet</textarea>" in page
    assert 'value="AB 1"' in page
    assert 'value="2026-05-02"' in page


def test_a_correction_made_over_another_is_told(on_its_way: Site):
    on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.3": "missing"})
    page = on_its_way.page(f"{ROUND}/check-in")
    based_on = re.search(r'name="based_on" value="(\d+)"', page)[1]  # type: ignore[index]
    on_its_way.post(f"{ROUND}/check-in", {**CORRECT, "pair.2": "missing", "based_on": based_on})
    acts = on_its_way.book.list_acts()
    answer = on_its_way.post(f"{ROUND}/check-in", {**CORRECT, "based_on": based_on})
    assert answer.status_code == 409
    assert "changed meanwhile" in answer.text
    assert on_its_way.book.list_acts() == acts


CORRECT = {**HERE, "correct": "yes"}


def test_a_check_in_is_corrected_as_it_was_filled_in(on_its_way: Site):
    fields = {
        **HERE,
        "pair.2": "damaged",
        "damage.2": "tip bent",
        "pair.3": "missing",
        "extra": "a comb",
        "ref": "AB 1",
    }
    files = {"photo.2": ("tip.jpg", picture(70), "image/jpeg")}
    on_its_way.post(f"{ROUND}/check-in", {**fields, "condition": "box wet"}, files=files)
    assert f'href="{ROUND}/check-in">Correct the check-in' in on_its_way.page(ROUND)
    page = on_its_way.page(f"{ROUND}/check-in")
    for number, how in ((1, "here"), (2, "damaged"), (3, "missing")):
        assert re.findall(rf'name="pair.{number}" value="(\w+)"[^>]* checked', page) == [how]
    assert 'name="damage.2" maxlength="2000" value="tip bent"' in page
    assert ">Too much: a comb box wet</textarea>" in page
    assert 'name="ref" maxlength="200" value="AB 1"' in page
    before = on_its_way.book.list_acts()
    told = {**CORRECT, "ref": "AB 1", "condition": "Too much: a comb box wet"}
    again = {**told, "pair.2": "damaged", "damage.2": "tip bent", "pair.3": "missing"}
    assert on_its_way.post(f"{ROUND}/check-in", again).status_code == 303
    assert on_its_way.book.list_acts() == before, "the same again is no act"

    on_its_way.save(1, whole(3))
    swapped = {**told, "pair.3": "damaged", "damage.3": "ring bent"}
    assert on_its_way.post(f"{ROUND}/check-in", swapped).status_code == 303
    acts = on_its_way.book.list_acts()
    assert [act.act for act in acts[-2:]] == ["mark pair", "correct 'received back'"], (
        "one act, and the old words in it"
    )
    leg = on_its_way.book.get_round("teo-1").legs[-1]
    assert leg.condition == "Damaged in transit: pair 3. Too much: a comb box wet"
    assert len(on_its_way.kept(1).readings) == 12, "what was seen since stays"
    second, third = on_its_way.kept(2), on_its_way.kept(3)
    assert (second.transit_note, len(second.photos)) == ("", 1), "a picture is no claim"
    assert (third.transit_note, third.readings) == ("ring bent", ())
    assert on_its_way.book.check() == []


def test_a_pair_seen_since_is_not_missing_and_what_was_seen_stays(on_its_way: Site):
    on_its_way.post(f"{ROUND}/check-in", {**HERE, "pair.3": "missing"})
    on_its_way.save(1, whole(3))
    on_its_way.save(3, {"s.tips.tip": "2", "s.finish.pair": "could not"})
    acts = on_its_way.book.list_acts()
    refused = on_its_way.post(f"{ROUND}/check-in", {**CORRECT, "pair.1": "missing"})
    assert refused.status_code == 422
    assert "Pair 1 was seen on the bench" in refused.text
    assert on_its_way.book.list_acts() == acts
    on_its_way.post(f"{ROUND}/check-in", CORRECT)
    kept = {one.criterion: one.seen for one in on_its_way.kept(3).readings}
    assert kept["tips"].level == 2
    assert kept["finish"] == NotSeen(why=Unseen.COULD_NOT), "her own words, not the check-in's"
    assert set(kept) == {"tips", "finish"}


def test_undo_does_not_go_behind_a_correction(on_its_way: Site):
    on_its_way.post(f"{ROUND}/check-in", HERE)
    on_its_way.save(2, whole(3))
    on_its_way.post(f"{ROUND}/check-in", {**CORRECT, "pair.2": "damaged", "damage.2": "tip bent"})
    before = on_its_way.kept(2)
    assert (before.transit_note, len(before.readings)) == ("tip bent", 12)
    on_its_way.save(2, whole(2, transit_note="tip bent"))
    undo = lambda: on_its_way.post(f"{ROUND}/pairs/2/undo", {"based_on": on_its_way.state(2)}).status_code  # noqa: E731
    assert undo() == 303
    assert on_its_way.kept(2) == before
    assert undo() == 422
    assert on_its_way.kept(2) == before


def test_once_marked_the_check_in_stands(on_its_way: Site):
    on_its_way.post(f"{ROUND}/check-in", HERE)
    for number in (1, 2, 3):
        on_its_way.save(number, whole(3))
    on_its_way.post(f"{ROUND}/finish", {"letter": ""})
    assert "Correct the check-in" not in on_its_way.page(ROUND)
    assert on_its_way.get(f"{ROUND}/check-in").headers["location"] == ROUND
    acts = on_its_way.book.list_acts()
    for fields in ({"pair.1": "missing"}, {"condition": "box wet"}):
        assert on_its_way.post(f"{ROUND}/check-in", {**CORRECT, **fields}).status_code == 409
    assert on_its_way.book.list_acts() == acts


def test_the_journey_is_written_down_step_by_step(on_its_way: Site):
    answer = on_its_way.post(f"{ROUND}/move", {"kind": "received back", "on": "2026-05-02"})
    assert answer.status_code == 422, "a box that is back is checked in"
    assert on_its_way.post(f"{ROUND}/move", {"kind": "sent"}).status_code == 422
    assert on_its_way.post(f"{ROUND}/move", {"kind": "swallowed"}).status_code == 422
    assert on_its_way.post(f"{ROUND}/move", {"kind": "lost", "on": "2026-05-03"}).status_code == 303
    assert on_its_way.book.get_round("teo-1").state is RoundState.LOST
    assert "lost" in on_its_way.page(ROUND)


def test_what_became_of_a_pair_is_told_on_the_round_and_at_the_top_of_its_page(on_its_way: Site):
    """In words and with a shape of its own: colour alone would tell it to some eyes only."""
    fields = {**HERE, "pair.2": "damaged", "damage.2": "tip bent", "pair.3": "missing"}
    on_its_way.post(f"{ROUND}/check-in", fields)
    page = on_its_way.page(ROUND)
    for words, shape in (("damaged on the way back", "M13 3 24 22H2Z"), ("not in the box when it came back", "9 9M17")):
        assert page.count(f"{words}</span>") == 1
        assert page.count(shape) == 1
    page = on_its_way.page(f"{ROUND}/pairs/2").split("<form")[0]
    assert "Damaged on the way back:</strong> tip bent." in page
    assert "Not in the box when it came back" in on_its_way.page(f"{ROUND}/pairs/3")
    assert "<strong>Damaged" not in on_its_way.page(f"{ROUND}/pairs/1")
    assert "damaged on the way back</span></a>" in on_its_way.page(f"{ROUND}/pairs/1"), "the row of numbers tells ears"
