"""One pair of the stock by the pages: where it is, and retired or brought back with its reason."""

from __future__ import annotations

import pytest

from tests.reports.values import PAIRS
from tests.web.site import ROUND, Counter, Site

TAG = PAIRS[0].tag
HERE = f"/stock/{TAG}"


def test_it_is_found_from_the_stock_and_says_where_it_was(back: Site):
    assert f'href="{HERE}"' in back.page("/stock")
    page = back.page(HERE)
    assert "Back with the mentor since" in page
    assert "number 1, Teo Marsk" in page
    assert back.get("/stock/S-999").status_code == 404


def test_what_the_way_did_to_it_stands_with_the_box(on_its_way: Site):
    fields = {"pair.1": "damaged", "damage.1": "tip bent", "pair.2": "here", "pair.3": "here", "on": "2026-05-02"}
    on_its_way.post(f"{ROUND}/check-in", fields)
    assert "damaged on the way back</span>" in on_its_way.page(HERE)
    assert "damaged" not in on_its_way.page(f"/stock/{PAIRS[1].tag}")


def test_it_is_retired_and_brought_back_with_the_reasons(back: Site):
    answer = back.post(f"{HERE}/retire", {"reason": "too narrow", "on": "2026-05-03"})
    assert answer.headers["location"] == f"{HERE}?retired=yes"
    assert str(back.book.retired_pairs()[TAG].retired_on) == "2026-05-03"
    page = back.page(HERE)
    assert "Retired on 3 May 2026: too narrow." in page
    assert "Retire the pair" not in page
    back.post(f"{HERE}/bring-back", {"reason": "ground anew", "on": "2026-05-04"})
    assert back.book.retired_pairs() == {}
    assert "Brought back on 4 May 2026: ground anew." in back.page(HERE)
    assert "Retire the pair" in back.page(HERE)


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("retire", {"reason": " "}),
        ("retire", {"reason": "x" * 2001}),
        ("retire", {"reason": "worn", "on": "2026-05-05"}),
        ("retire", {"reason": "worn", "on": "soon"}),
        ("bring-back", {"reason": "found"}),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_changed(back: Site, path: str, fields: dict[str, str]):
    acts = back.book.latest_act()
    answer = back.post(f"{HERE}/{path}", fields)
    assert answer.status_code == 422
    assert "--" not in answer.text
    assert back.book.latest_act() == acts


def test_a_pair_in_a_box_is_not_retired(on_its_way: Site):
    page = on_its_way.page(HERE)
    assert "On its way back since" in page
    assert "once that is back" in page
    assert on_its_way.post(f"{HERE}/retire", {"reason": "worn"}).status_code == 422
    assert on_its_way.book.retired_pairs() == {}


def test_a_missing_pair_that_was_found_is_brought_back(on_its_way: Site):
    how = {f"pair.{number}": "missing" if number == 1 else "here" for number in (1, 2, 3)}
    on_its_way.post(f"{ROUND}/check-in", how)
    assert "Missing since 4 May 2026" in on_its_way.page(HERE)
    on_its_way.post(f"{HERE}/bring-back", {"reason": "lay under the cloth"})
    assert "Missing since" not in on_its_way.page(HERE)
    assert on_its_way.book.find_missing(TAG) is None


@pytest.mark.parametrize("path", ["retire", "bring-back"])
def test_without_its_token_nothing_is_retired(back: Site, path: str):
    assert back.client.post(f"{HERE}/{path}", data={"reason": "worn"}).status_code == 403
    assert back.book.retired_pairs() == {}


def test_the_page_asks_few_queries(back: Site):
    back.get("/who")
    with Counter(back.book) as counted:
        back.page(HERE)
    assert counted.n <= 15


def test_a_pair_with_a_trainee_says_with_whom(open_site, on_its_way_folder):
    from datetime import date

    from evalkit.domain.round import Leg, LegKind

    site = open_site(on_its_way_folder)
    round_ = site.book.get_round("teo-1").model_copy(
        update={"key": "teo-2", "legs": (), "planned_on": date(2026, 5, 1)}
    )
    site.book.add_round(round_, "oda")
    for kind in (LegKind.SENT, LegKind.RECEIVED):
        site.book.add_leg("teo-2", Leg(kind=kind, happened_on=date(2026, 5, 2)), "oda")
    assert "With Teo Marsk since 2 May 2026" in site.page(HERE)
