"""One pair on the bench: kept as it goes, blind until it is done, and never lost between two hands."""

from __future__ import annotations

import re

import pytest

from evalkit.domain.reading import NotSeen, SeenCut, SeenLevel, SeenMeasure
from tests.reports.values import RUBRIC, assessment_of, round_of
from tests.web.conftest import picture
from tests.web.site import JSON, ROUND, Site, whole

SECRETS = ("accepted", "How even", "sharpen it again")
ASSESSED = assessment_of(round_of()).pairs[0]


def seen(site: Site, number: int) -> dict[tuple[str, str], object]:
    pair = site.kept(number)
    return {(one.criterion, str(one.place)): one.seen for one in pair.readings} if pair else {}


def told_by_trainee(page: str) -> list[str]:
    """What of the trainee's words stands on a page."""
    words = [ASSESSED.notes, ASSESSED.lessons, *ASSESSED.questions, *(step.what for step in ASSESSED.work.steps)]
    return [word for text in words for word in text.splitlines() if len(word) > 8 and word in page]


def test_the_pair_is_shown_in_the_order_of_the_bench(back: Site):
    page = back.page(f"{ROUND}/pairs/1")
    steps = re.findall(r'<h2 id="step-\d">\d\. (\w+)</h2>', page)
    names = re.findall(r'class="line-name">([^<]+)<', page)
    assert steps == ["Clean", "Look", "Cut"]
    assert names == ["Cleanliness", "Ride line", "Tip condition", "Sound", "Hair swatch"]


def test_what_is_untested_stands_in_sight(back: Site):
    page = back.page(f"{ROUND}/pairs/1")
    told = re.search(r'id="untested"[^>]*>([^<]*)<', page)[1]
    assert told.startswith("Untested, so not passed: 12 readings.")
    for criterion in RUBRIC.criteria:
        assert criterion.name in told
    back.save(1, {"s.tips.tip": "2", "s.hair.heel": "clean"})
    told = re.search(r'id="untested"[^>]*>([^<]*)<', back.page(f"{ROUND}/pairs/1"))[1]
    assert "10 readings" in told
    assert "Tip condition" not in told
    assert "Hair swatch (middle, tip)" in told


def test_nothing_of_the_assessment_is_on_the_page_before_the_pair_is_done(back: Site):
    back.save(1, whole(2))
    for path in (ROUND, f"{ROUND}/pairs/1", f"{ROUND}/pairs/1/both", "/", "/trainees/teo", f"{ROUND}/report"):
        page = back.get(path).text
        assert told_by_trainee(page) == [], path
        assert "own verdict" not in page.lower(), path


def test_every_kind_of_value_is_kept(back: Site):
    answer = back.save(1, {
        "s.tips.tip": "2", "v.ride-line.thumb-heel": "0.4", "v.ride-line.thumb-tip": "1/64 in",
        "s.ride-line.finger-heel": "level 1", "s.hair.heel": "fold", "v.hair.tip": "push 2 mm (closed slowly)",
        "s.finish.pair": "could not", "s.sound.pair": "n/a", "c.tips": "the last 3 mm fold", "keep": "The ride line.",
        "change": "Close slowly.", "called_for": "sharpen", "transit": ["finish"], "transit_note": "wet box",
        "notes": "A *long* note.",
    })  # fmt: skip
    assert answer.status_code == 303
    found = seen(back, 1)
    assert found["tips", "tip"] == SeenLevel(level=2)
    assert isinstance(found["ride-line", "thumb heel"], SeenMeasure)
    assert found["ride-line", "finger heel"] == SeenLevel(level=1)
    assert isinstance(found["hair", "tip"], SeenCut)
    assert found["hair", "tip"].push_mm == 2
    assert isinstance(found["finish", "whole pair"], NotSeen)
    pair = back.kept(1)
    assert (pair.keep, pair.change, pair.called_for) == ("The ride line.", "Close slowly.", "sharpen")
    assert (pair.transit, pair.transit_note, pair.notes) == (("finish",), "wet box", "A *long* note.")
    assert [(one.criterion, one.text) for one in pair.comments] == [("tips", "the last 3 mm fold")]
    assert next(one.note for one in pair.readings if one.criterion == "hair" and one.note) == "closed slowly"


def test_words_win_over_a_choice_and_a_blank_is_untested(back: Site):
    back.save(1, {"s.tips.tip": "2", "v.tips.tip": "1 (folds)"})
    assert seen(back, 1)["tips", "tip"] == SeenLevel(level=1)
    back.save(1, {"s.tips.tip": "", "v.tips.tip": ""})
    assert seen(back, 1) == {}


@pytest.mark.parametrize(
    ("name", "words", "told"),
    [
        ("v.ride-line.thumb-heel", "abc", "not understood"),
        ("v.ride-line.thumb-heel", "45 included", "does not measure"),
        ("v.ride-line.thumb-heel", "x" * 3000, "too long"),
        ("v.tips.tip", "9", "off the ladder"),
        ("v.hair.heel", "push -3 mm", "push"),
        ("keep", "x" * 300, "too long"),
        ("c.tips", "x" * 2500, "too long"),
        ("notes", "a\x00b", "line break or a sign"),
    ],
)
def test_what_cannot_be_read_is_told_beside_its_field_and_the_rest_is_kept(back: Site, name: str, words: str, told):
    back.save(1, {"s.tips.tip": "3", "v.ride-line.thumb-heel": "0.3", "keep": "before"})
    answer = back.save(1, {"s.tips.tip": "3", "v.ride-line.thumb-heel": "0.3", "keep": "before", "s.finish.pair": "2",
                           name: words})  # fmt: skip
    assert answer.status_code == 422
    assert told in answer.text
    found = seen(back, 1)
    assert found["finish", "whole pair"] == SeenLevel(level=2), "the rest was not kept"
    assert (("tips", "tip") in found) == (name != "v.tips.tip"), "what was written over stands as if it were confirmed"
    assert (("ride-line", "thumb heel") in found) == (name != "v.ride-line.thumb-heel")
    assert back.kept(1).keep == "before", "words that stood before are gone"
    if len(words) < 200 and "\x00" not in words:
        assert words in answer.text, "what was typed is gone from the page"


def test_a_mark_written_over_by_what_cannot_be_read_is_untested_and_said_so(back: Site):
    for number in (1, 2, 3):
        back.save(number, whole(3))
    assert "Not looked at" not in back.page(ROUND)
    told = back.save(1, whole(3, **{"v.tips.tip": "abc"}), headers=JSON).json()
    assert told["faults"].keys() == {"v.tips.tip"}
    assert told["n_untested"] == 1
    assert "Tip condition" in told["untested"]
    assert told["lines"]["tips"]["places"]["tip"]["said"] == ""
    page = back.page(ROUND)
    assert re.search(r'Not looked at, so not passed: <a href="[^"]*/pairs/1">pair 1</a> \(1 reading\)', page)
    back.post(f"{ROUND}/finish", {"letter": ""})
    marking = back.book.get_marking("teo-1").marking
    assert not [one for one in marking.find_pair(1).readings if one.criterion == "tips"]
    back.post(f"{ROUND}/amend", {"reason": "a slip of the pen"})
    back.save(1, whole(3))
    assert "Not looked at" not in back.page(ROUND), "mended, and still called untested"


def test_all_tested_does_not_look_like_a_level_or_a_verdict(back: Site):
    back.save(1, whole(0))
    for path in (ROUND, f"{ROUND}/pairs/2"):
        (sign,) = re.findall(r'<a href="[^"]*/pairs/1"[^>]*>(<svg.*?</svg>)<b>1</b>', back.page(path), re.DOTALL)
        assert "mark-line" in sign
        assert "m-new" not in sign
    assert back.save(1, whole(0), headers=JSON).json()["tab"] == "tested"


def test_a_field_that_is_not_on_the_form_changes_nothing(back: Site):
    back.save(1, whole(2, keep="Steady hand.", **{"c.tips": "good"}))
    before = back.kept(1)
    back.save(1, {"change": "Slower."})
    after = back.kept(1)
    assert after == before.model_copy(update={"change": "Slower."})


def test_nothing_at_all_begins_no_marking(back: Site):
    assert back.save(1, {"s.tips.tip": "", "keep": ""}).status_code == 303
    assert back.book.find_draft("teo-1", "oda") is None


def test_the_script_is_told_levels_causes_and_what_is_untested(back: Site):
    answer = back.save(2, {"v.hair.tip": "push 4 mm", "s.tips.tip": "1"}, headers=JSON)
    told = answer.json()
    assert told["state"] == back.state(2)
    assert told["n_untested"] == 10
    assert told["lines"]["hair"]["places"]["tip"] == {"sign": "1", "shape": "part", "said": "push 4 mm"}
    assert told["lines"]["hair"]["n_untested"] == 2
    assert told["fields"]["v.hair.tip"] == "push 4 mm"
    assert told["faults"] == {}
    assert {"observed", "causes", "say", "weight"} <= told["causes"][0].keys()


def test_causes_are_offered_on_the_page_with_the_correction(back: Site):
    back.save(2, {f"s.hair.{at}": "fold" for at in ("heel", "middle", "tip")})
    page = back.page(f"{ROUND}/pairs/2")
    assert "Likely causes" in page
    assert re.search(r"explains \d of \d", page)


def test_done_shows_both_views_and_is_still_blind(back: Site):
    answer = back.save(1, whole(1, then="done"))
    assert answer.headers["location"] == f"{ROUND}/pairs/1/both"
    page = back.page(f"{ROUND}/pairs/1/both")
    assert told_by_trainee(page)
    assert "You marked it blind" in page
    assert "would have gone out" in page
    assert back.book.was_opened("teo-1", 1, "oda")
    assert not back.kept(1).was_opened


def test_done_needs_something_read(back: Site):
    answer = back.save(1, {"keep": "x", "then": "done"})
    assert answer.status_code == 409
    assert "nothing of this pair is read yet" in answer.text.lower()
    assert not back.book.was_opened("teo-1", 1, "oda")


def test_a_reading_changed_after_both_views_is_not_blind_but_words_are_no_reading(back: Site):
    back.save(1, whole(1, then="done"))
    back.save(1, whole(1, keep="Words come after.", **{"c.tips": "see the photo"}))
    assert not back.kept(1).was_opened
    back.save(1, whole(2))
    assert back.kept(1).was_opened
    assert "counts as not marked blind" in back.page(f"{ROUND}/pairs/1")


def test_opening_early_is_asked_and_recorded(back: Site):
    page = back.page(f"{ROUND}/pairs/1/both")
    assert "not marked blind, and the report says so" in page
    assert told_by_trainee(page) == []
    assert back.post(f"{ROUND}/pairs/1/open").status_code == 303, "without the tick it only asks again"
    assert not back.book.was_opened("teo-1", 1, "oda")
    back.post(f"{ROUND}/pairs/1/open", {"sure": "yes"})
    assert told_by_trainee(back.page(f"{ROUND}/pairs/1/both"))
    assert not back.book.was_opened("teo-1", 2, "oda")
    back.save(1, whole(2))
    back.save(2, whole(2))
    assert (back.kept(1).was_opened, back.kept(2).was_opened) == (True, False)


# --- two hands -------------------------------------------------------------------------------------------------------


def test_the_second_is_told_and_shown_both(back: Site):
    base = back.state(1)
    back.save(1, {"s.tips.tip": "3", "s.finish.pair": "2", "keep": "ours"}, based_on=base)
    answer = back.save(1, {"s.tips.tip": "1", "s.hair.heel": "fold", "keep": "ours"}, based_on=base)
    assert answer.status_code == 409
    assert seen(back, 1)["tips", "tip"] == SeenLevel(level=3), "the first mark was overwritten"
    page = answer.text
    assert "changed meanwhile" in page
    assert re.search(r'<legend>Tip condition, tip</legend>.*?value="3".*?value="1"', page, re.DOTALL)
    assert re.search(r'name="v.hair.heel" value="fold" checked', page), "a mark that only one side has is taken"
    chosen = {"v.tips.tip": "1", "v.finish.pair": "2", "v.hair.heel": "fold", "keep": "ours"}
    state = re.search(r'name="based_on" value="([^"]*)"', page)[1]
    assert back.save(1, chosen, based_on=state).status_code == 303
    assert seen(back, 1)["tips", "tip"] == SeenLevel(level=1)
    assert seen(back, 1)["hair", "heel"].result == "fold"  # type: ignore[attr-defined]
    assert seen(back, 1)["finish", "whole pair"] == SeenLevel(level=2)


def test_the_script_of_the_second_is_told(back: Site):
    base = back.state(1)
    back.save(1, {"s.tips.tip": "3"}, based_on=base)
    answer = back.save(1, {"s.tips.tip": "1"}, based_on=base, headers=JSON)
    assert (answer.status_code, answer.json()["kind"]) == (409, "changed")


def test_the_same_words_from_two_hands_are_no_conflict(back: Site):
    base = back.state(1)
    back.save(1, {"s.tips.tip": "3"}, based_on=base)
    assert back.save(1, {"s.tips.tip": "3"}, based_on=base, headers=JSON).status_code == 200


def test_two_hands_on_two_pairs_do_not_meet(back: Site):
    first, second = back.state(1), back.state(2)
    assert back.save(1, whole(2), based_on=first).status_code == 303
    assert back.save(2, whole(2), based_on=second).status_code == 303


def test_what_a_second_hand_finds_finished_is_not_lost_from_its_page(back: Site):
    for number in (1, 2, 3):
        back.save(number, whole(2))
    state = back.state(1)
    back.post(f"{ROUND}/finish", {"letter": "Well."})
    answer = back.save(1, whole(1), based_on=state, headers=JSON)
    assert answer.status_code == 409
    assert "finished" in answer.json()["what"]


# --- undo ------------------------------------------------------------------------------------------------------------


def test_undo_takes_back_the_last_change_and_the_history_keeps_all(back: Site):
    back.save(1, whole(2))
    back.save(1, whole(0))
    acts = len(back.book.list_acts())
    answer = back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)})
    assert answer.status_code == 303
    assert seen(back, 1)["tips", "tip"] == SeenLevel(level=2)
    assert len(back.book.list_acts()) == acts + 1
    told = back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)}, headers=JSON).json()
    assert told["fields"]["v.tips.tip"] == "", "the next step goes further back, and undoes no undoing"
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)}).status_code == 422


def test_what_the_page_took_back_itself_is_not_brought_forward_by_undo(back: Site):
    back.save(1, whole(2))
    back.save(1, {"s.tips.tip": "", "v.tips.tip": "", **dict.fromkeys(whole(2), ""), "how": "undo"}, headers=JSON)
    assert seen(back, 1) == {}
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)}).status_code == 422
    assert seen(back, 1) == {}


def test_there_is_not_always_something_to_undo(back: Site):
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": ""}).status_code == 422
    back.save(1, whole(2))
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)}).status_code == 303
    assert seen(back, 1) == {}
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": back.state(1)}).status_code == 422


def test_undo_does_not_overwrite_another_hand(back: Site):
    back.save(1, whole(2))
    stale = back.state(1)
    back.save(1, whole(1))
    assert back.post(f"{ROUND}/pairs/1/undo", {"based_on": stale}).status_code == 409
    assert seen(back, 1)["tips", "tip"] == SeenLevel(level=1)


# --- questions, photos, finish ---------------------------------------------------------------------------------------


def test_questions_are_answered_after_both_views_and_judge_nothing(back: Site):
    fields = {"based_on": "", "a.1": "As even as a hair is wide."}
    assert back.post(f"{ROUND}/pairs/1/answers", fields).status_code == 404, "the questions are closed still"
    back.save(1, whole(2, then="done"))
    page = back.page(f"{ROUND}/pairs/1/both")
    assert f">{ASSESSED.questions[0]} <textarea" in page
    answer = back.post(f"{ROUND}/pairs/1/answers", {**fields, "based_on": back.state(1)})
    assert answer.status_code == 303
    pair = back.kept(1)
    assert [(one.question, one.text) for one in pair.answers] == [(1, "As even as a hair is wide.")]
    assert not pair.was_opened
    back.save(1, whole(2, keep="x"))
    assert back.kept(1).answers == pair.answers, "saving the pair put the answers away"


WAITS = re.compile(r"(\d+ questions? waits? for an answer): <a href=\"[^\"]*/pairs/(\d+)/both#questions\">")
UNANSWERED = "Questions without an answer"


def test_questions_that_wait_are_told_once_their_pair_is_marked_and_no_earlier(back: Site):
    n = len(ASSESSED.questions)
    back.save(1, {"s.tips.tip": "2"})
    assert "question" not in back.page(ROUND), "that there are questions is told while the pair is half marked"
    back.save(1, whole(2))
    words = f"{n} question waits for an answer" if n == 1 else f"{n} questions wait for an answer"
    assert WAITS.findall(back.page(ROUND)) == [(words, "1")]
    back.save(1, whole(2, then="done"))
    answers = {f"a.{number}": "So." for number in range(1, n + 1)}
    back.post(f"{ROUND}/pairs/1/answers", {"based_on": back.state(1), **answers})
    assert "for an answer" not in back.page(ROUND)


def test_at_the_end_pairs_with_open_questions_are_named_by_number_alone(back: Site):
    for number in (1, 2):
        back.save(number, {"s.tips.tip": "2"})
    assert UNANSWERED not in back.page(ROUND), "a pair is not marked yet"
    back.save(3, {"s.tips.tip": "2"})
    page = back.page(ROUND)
    assert not WAITS.search(page)
    asking = [one.number for one in assessment_of(round_of()).pairs if one.questions]
    told = re.search(UNANSWERED + r": (.*?)\. You may finish all the same", page)[1]
    assert [int(number) for number in re.findall(r">pair (\d+)<", told)] == asking
    assert told_by_trainee(page) == []
    assert back.post(f"{ROUND}/finish", {"letter": ""}).status_code == 303


def test_a_photo_is_taken_in_stripped_and_shown_and_taken_off(back: Site):
    back.save(1, whole(2))
    files = {"photo": ("heel.jpg", picture(90), "image/jpeg")}
    answer = back.post(f"{ROUND}/pairs/1/photos", {"caption": "the heel"}, files=files)
    assert answer.status_code == 303
    (photo,) = back.kept(1).photos
    assert photo.caption == "the heel"
    assert back.get(f"/photos/{photo.file}/320").headers["content-type"] == "image/jpeg"
    assert f'src="/photos/{photo.file}/320"' in back.page(f"{ROUND}/pairs/1")
    assert len(back.kept(1).readings) == 12
    back.post(f"{ROUND}/pairs/1/photos/drop", {"photo": photo.file})
    assert back.kept(1).photos == ()
    assert back.post(f"{ROUND}/pairs/1/photos/drop", {"photo": photo.file}).status_code == 404


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"<script>alert(1)</script>", picture()[:200]])
def test_what_is_no_picture_is_refused_and_nothing_is_kept(back: Site, data: bytes):
    files = {"photo": ("x.jpg", data, "image/jpeg")}
    answer = back.post(f"{ROUND}/pairs/1/photos", {"caption": "x"}, files=files)
    assert answer.status_code == 422
    assert back.kept(1) is None
    assert len(back.book.photo_names()) == 1


def test_a_round_is_marked_from_end_to_end(back: Site):
    assert back.get(f"{ROUND}/mark").headers["location"] == f"{ROUND}/pairs/1"
    back.save(1, whole(3, then="done"))
    assert back.post(f"{ROUND}/finish", {"letter": ""}).status_code == 422, "two pairs are not marked"
    assert back.get(f"{ROUND}/mark").headers["location"] == f"{ROUND}/pairs/2"
    back.save(2, whole(1, change="Tension first."))
    back.save(3, {"s.tips.tip": "could not"})
    page = back.page(ROUND)
    assert "Not looked at, so not passed" in page
    answer = back.post(f"{ROUND}/finish", {"letter": "Dear Teo,\nwell done."})
    assert answer.headers["location"] == f"{ROUND}/report"
    page = back.page(f"{ROUND}/report")
    assert "Marked blind" in page
    assert "Dear Teo," in page
    assert "Three things to practise" in page
    marking = back.book.get_marking("teo-1").marking
    assert str(marking.marked_on) == "2026-05-04"
    assert back.page(f"{ROUND}/report?causes=yes").count("not to be sent")


def test_an_amendment_asks_for_its_reason_and_the_report_says_what_changed(marked: Site):
    assert marked.get(f"{ROUND}/pairs/1").headers["location"] == ROUND, "a finished marking is not changed by the way"
    assert marked.post(f"{ROUND}/amend", {"reason": "  "}).status_code == 422
    assert marked.post(f"{ROUND}/amend", {"reason": "better light"}).status_code == 303
    assert "You are amending" in marked.page(ROUND)
    marked.save(1, whole(3))
    marked.post(f"{ROUND}/finish", {"letter": "Another word."})
    page = marked.page(f"{ROUND}/report")
    assert "The marking is version 2, amended: better light" in page
    assert re.search(r"Pair 1 was changed: [^<]*; now accepted, was rework", page)
    assert "Pair 2 was changed" not in page
    assert marked.book.get_marking("teo-1", version=1).marking.letter != "Another word."
    told = marked.get(f"{ROUND}/report.md").text
    assert "Pair 1 was changed" in told


def test_an_amendment_can_be_put_away(marked: Site):
    assert marked.post(f"{ROUND}/put-away").status_code == 422
    marked.post(f"{ROUND}/amend", {"reason": "a slip"})
    marked.save(1, whole(3))
    marked.post(f"{ROUND}/put-away")
    assert marked.book.find_draft("teo-1", "oda") is None
    assert marked.book.get_marking("teo-1").version == 1


def test_a_box_that_is_not_back_cannot_be_marked(on_its_way: Site):
    assert on_its_way.get(f"{ROUND}/pairs/1").headers["location"] == ROUND
    answer = on_its_way.post(f"{ROUND}/pairs/1", {"s.tips.tip": "2", "based_on": ""})
    assert answer.status_code == 422
    assert "cannot be marked yet" in answer.text


@pytest.mark.parametrize("path", ["/rounds/nia-9", "/rounds/nia-9/pairs/1", f"{ROUND}/pairs/99", "/rounds/x%00", "/x"])
def test_what_is_not_there_is_told(back: Site, path: str):
    answer = back.get(path)
    assert answer.status_code in {404, 422}
    assert "<h1>" in answer.text
