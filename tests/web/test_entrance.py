"""The code at the door, who marks on which device, and a second mentor on the same round."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from evalkit.web.door import TRIES_PER_CODE, WRONG_PER_SPELL, Door, TooManyTriesError
from tests.web.site import JSON, PORT, ROUND, Site, whole


class Clock:
    def __init__(self) -> None:
        self.now = datetime(2026, 5, 4, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


def wrong(door: Door) -> str:
    return "000000" if door.code != "000000" else "111111"


@pytest.fixture
def walled(open_site, back_folder) -> Site:
    return open_site(back_folder, asks_code=True)


# --- the code --------------------------------------------------------------------------------------------------------


def test_a_code_is_six_digits_good_once():
    told: list[str] = []
    door = Door(Clock(), told.append)
    code = door.code
    assert len(code) == 6
    assert code.isdecimal()
    assert door.has_let_in(f" {code[:3]}-{code[3:]} ")
    assert told == [door.code]
    if door.code != code:
        assert not door.has_let_in(code), "a code is used once"


def test_after_some_wrong_tries_the_code_is_another():
    told: list[str] = []
    door = Door(Clock(), told.append)
    first = door.code
    for _ in range(TRIES_PER_CODE):
        assert not door.has_let_in(wrong(door))
    assert len(told) == 1
    assert not door.has_let_in(first) or told[0] == first


def test_wrong_tries_are_limited_in_time_and_even_the_right_code_waits():
    clock = Clock()
    door = Door(clock)
    for _ in range(WRONG_PER_SPELL):
        door.has_let_in(wrong(door))
    with pytest.raises(TooManyTriesError, match="too many wrong codes"):
        door.has_let_in(door.code)
    clock.now += timedelta(minutes=10)
    assert door.has_let_in(door.code)


@pytest.mark.parametrize("given", ["", "x", "１２３４５６", "12345", "1234567", "\x00" * 40, "9" * 10_000])
def test_what_is_no_code_lets_nobody_in(given: str):
    door = Door(Clock())
    door.code = "123456"
    assert not door.has_let_in(given)


def test_a_guess_succeeds_once_in_a_hundred_thousand_in_a_spell():
    """At most WRONG_PER_SPELL tries in a spell, each right once in a million."""
    assert WRONG_PER_SPELL / 10**6 <= 1 / 100_000


# --- the door --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/", ROUND, f"{ROUND}/pairs/1", "/stock", "/photos/" + "ab" * 32 + "/320", "/x"])
def test_without_the_code_every_page_leads_to_the_door(walled: Site, path: str):
    answer = walled.get(path)
    assert (answer.status_code, answer.headers["location"]) == (303, "/door")


def test_without_the_code_nothing_is_taken(walled: Site):
    assert walled.post(f"{ROUND}/pairs/1", {"keep": "x"}, headers=JSON).status_code == 401
    assert walled.kept(1) is None


def test_the_door_tells_nothing_of_the_book(walled: Site):
    page = walled.page("/door?code=123456")
    assert 'value="123456"' in page
    assert not [word for word in ("Teo", "Oda", "teo-1", "bench") if word in page]


def test_in_with_the_code_and_no_second_browser_with_it(walled: Site):
    code = walled.door.code
    before = walled.client.cookies.get(f"evalkit-{PORT}")
    assert walled.post("/door", {"code": code}).headers["location"] == "/"
    assert walled.client.cookies[f"evalkit-{PORT}"] != before, "the session of before is worth nothing more"
    assert "teo-1" in walled.page("/")
    assert walled.codes == [walled.door.code], "the next code is shown"
    other = walled.browser()
    answer = walled.post("/door", {"code": code}, client=other)
    assert answer.status_code == 403 or code == walled.door.code
    assert other.get("/").status_code == 303


def test_coming_in_asks_for_the_token_too(walled: Site):
    walled.get("/door")
    assert walled.client.post("/door", data={"code": walled.door.code, "token": ""}).status_code == 403


def test_the_door_closes_after_too_many_wrong_codes(walled: Site):
    for _ in range(WRONG_PER_SPELL):
        assert walled.post("/door", {"code": wrong(walled.door)}).status_code == 403
    answer = walled.post("/door", {"code": walled.door.code})
    assert answer.status_code == 429
    assert walled.get("/").status_code == 303


def test_the_pages_say_what_plain_http_exposes(walled: Site):
    walled.post("/door", {"code": walled.door.code})
    assert "without encryption" in walled.page("/")


def test_alone_on_this_machine_there_is_no_door(back: Site):
    assert back.get("/door").headers["location"] == "/"
    assert "without encryption" not in back.page("/")


# --- who -------------------------------------------------------------------------------------------------------------


def test_with_several_mentors_each_device_says_who(two_mentors: Site):
    assert two_mentors.get(f"{ROUND}/pairs/1").headers["location"] == "/who"
    assert "Berit Holm" in two_mentors.page("/who")
    assert two_mentors.post("/who", {"who": "nobody"}).status_code == 404
    assert two_mentors.post("/who", {"who": "berit"}).status_code == 303
    assert "Berit Holm" in two_mentors.page("/")


def test_as_said_on_the_command_line(open_site, back_folder):
    from evalkit.domain.round import Person

    site = open_site(back_folder, who="berit")
    site.book.add_person("mentor", Person(key="berit", name="Berit Holm"), "oda")
    site.save(1, whole(2))
    assert site.kept(1, "berit") is not None


def test_two_mentors_mark_one_round_each_for_herself(two_mentors: Site):
    oda, berit = two_mentors.client, two_mentors.browser()
    two_mentors.post("/who", {"who": "oda"})
    two_mentors.post("/who", {"who": "berit"}, client=berit)
    two_mentors.save(1, whole(3, then="done"))
    assert berit.get(f"{ROUND}/pairs/1").text.count('value="level 3" checked') == 0, "her page shows the other's marks"
    assert "is closed" in berit.get(f"{ROUND}/pairs/1/both").text, "what one has read is not open to the other"
    state = two_mentors.state(1, berit)
    two_mentors.post(f"{ROUND}/pairs/1", {"based_on": state, "has_transit": "yes", **whole(1)}, client=berit)
    assert two_mentors.kept(1, "berit").readings != two_mentors.kept(1).readings
    for number in (2, 3):
        two_mentors.save(number, whole(3))
    two_mentors.post(f"{ROUND}/finish", {"letter": ""})
    assert oda.get(f"{ROUND}/report").status_code == 200
    answer = berit.get(f"{ROUND}/report")
    assert answer.status_code == 422, "she has begun, and would not be blind any more"
    assert "begun, not finished" in answer.text


def test_reading_the_report_of_another_is_written_down_first(two_mentors: Site):
    two_mentors.post("/who", {"who": "oda"})
    for number in (1, 2, 3):
        two_mentors.save(number, whole(3))
    two_mentors.post(f"{ROUND}/finish", {"letter": "Only for Teo."})
    berit = two_mentors.browser()
    two_mentors.post("/who", {"who": "berit"}, client=berit)
    page = berit.get(f"{ROUND}/report").text
    assert "written down" in page
    assert "Only for Teo." not in page
    assert berit.get(f"{ROUND}/report.md").status_code == 422
    two_mentors.post(f"{ROUND}/report/open", client=berit)
    assert "Only for Teo." in berit.get(f"{ROUND}/report").text
    assert two_mentors.book.was_opened("teo-1", 2, "berit")
