"""Every page: what it shows, how few queries it costs, and hostile words that stay words."""

from __future__ import annotations

import re
from datetime import date

import pytest

from evalkit.domain.pair import Pair
from tests.reports.hostile import LINES, MARKDOWN, RAW
from tests.reports.values import PAIRS
from tests.web.site import ROUND, Counter, Site, Tags, whole

MOST_QUERIES = 15
PAGES = ("/", "/?page=2", ROUND, f"{ROUND}/pairs/1", f"{ROUND}/pairs/1/both", f"{ROUND}/report", f"{ROUND}/second",
         f"{ROUND}/check-in", f"{ROUND}/second/pairs/1", "/trainees", "/trainees/teo", "/rubrics", "/rubrics/bench/1",
         "/rubrics/bench/1?edge=bevel", "/stock", "/steadiness", "/who", "/trainees/teo/sign-off",
         "/trainees/teo/next-box")  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("step", ["back", "marked", "amended", "on_its_way"])
def test_no_page_asks_more_than_fifteen_queries(request, path: str, step: str):
    site: Site = request.getfixturevalue({"amended": "marked"}.get(step, step))
    if step == "amended":
        site.post(f"{ROUND}/amend", {"reason": "light"})
        site.save(1, whole(3))
        site.post(f"{ROUND}/finish", {"letter": ""})
        site.post(f"{ROUND}/amend", {"reason": "again"})
    site.get("/rubrics")  # another page was looked at before; the rubric of the round was not yet
    with Counter(site.book) as counted:
        answer = site.get(path)
    assert answer.status_code < 500
    assert counted.n <= MOST_QUERIES, counted.statements


def test_saving_costs_few_queries(back: Site):
    back.save(1, whole(2))
    fields = {"based_on": back.state(1), "has_transit": "yes", **whole(1)}
    token = back.token()
    with Counter(back.book) as counted:
        back.client.post(f"{ROUND}/pairs/1", data={"token": token, **fields}, headers={"accept": "application/json"})
    assert counted.n <= 45, counted.n


def test_the_list_says_where_each_box_is(back: Site, on_its_way: Site, marked: Site):
    for site, box, act in ((back, "back with the mentor", "Mark"), (on_its_way, "on its way back", "Check in"),
                           (marked, "back with the mentor", "Report")):  # fmt: skip
        page = site.page("/")
        assert box in page
        assert f">{act}<span" in page
    marked.post(f"{ROUND}/amend", {"reason": "x"})


def test_the_stock_says_where_each_pair_is(back: Site):
    page = back.page("/stock")
    rows = re.findall(r'<th scope="row">([^<]+)</th>', page)
    assert rows == [pair.tag for pair in PAIRS]
    assert page.count("back with the mentor") == 3
    assert "nick" in page


def test_the_stock_says_which_pair_is_retired(back: Site):
    assert "retired" not in back.page("/stock")
    back.book.retire_pair(PAIRS[0].tag, date(2026, 5, 4), "worn out", "oda")
    page = back.page("/stock")
    assert page.count("back with the mentor") == 2
    assert 'retired since <span class="day">4 May 2026</span><span class="places">worn out</span>' in page


def test_the_stock_goes_on_over_pages(back: Site):
    pairs = [Pair.model_validate({**PAIRS[1].model_dump(), "tag": f"T-{n:03}"}) for n in range(120)]
    back.book.add_pairs(pairs, "oda")
    found = []
    for number in (1, 2, 3):
        found += re.findall(r'<th scope="row">([^<]+)</th>', back.page(f"/stock?page={number}"))
    assert found == sorted([pair.tag for pair in PAIRS] + [pair.tag for pair in pairs])
    assert back.get("/stock?page=4").status_code == 404
    assert "never sent" in back.page("/stock?page=2")


def stock_of(site: Site, n: int) -> list[Pair]:
    pairs = [Pair.model_validate({**PAIRS[1].model_dump(), "tag": f"T-{n:03}"}) for n in range(n)]
    site.book.add_pairs(pairs, "oda")
    return pairs


def tags_on(page: str) -> list[str]:
    return re.findall(r'<th scope="row">([^<]+)</th>', page)


def test_a_pair_is_found_among_five_hundred_with_few_queries(back: Site):
    stock_of(back, 500)
    page = back.page("/stock")
    assert "1 to 50 of 503 pairs" in page
    assert len(tags_on(page)) == 50
    assert tags_on(back.page("/stock?q=t-123")) == ["T-123"]
    assert tags_on(back.page("/stock?q=teo-1+nick")) == [PAIRS[0].tag]
    back.get("/who")
    with Counter(back.book) as counted:
        back.page("/stock?q=t-4&page=2")
    assert counted.n <= MOST_QUERIES
    assert "No pair fits" in back.page("/stock?q=nothing+of+the+kind")


def test_the_stock_is_narrowed_down_by_where_pairs_are(on_its_way: Site):
    stock_of(on_its_way, 4)
    assert tags_on(on_its_way.page("/stock?where=in+a+box")) == [pair.tag for pair in PAIRS]
    assert tags_on(on_its_way.page("/stock?where=here")) == ["T-000", "T-001", "T-002", "T-003"]
    page = on_its_way.page("/stock?q=t-00")
    assert "here <b>4</b>" in page
    assert "in a box <b>" not in page, "a place that holds none of them is no choice"


def test_a_missing_pair_is_told_with_the_day_since_when(on_its_way: Site):
    how = {f"pair.{number}": "missing" if number == 2 else "here" for number in (1, 2, 3)}
    on_its_way.post(f"{ROUND}/check-in", how)
    page = on_its_way.page("/stock?where=missing")
    assert len(tags_on(page)) == 1
    assert 'missing since <span class="day">4 May 2026</span>' in page


def test_a_box_of_which_nothing_was_heard_is_overdue(on_its_way: Site, back: Site):
    since = on_its_way.book.get_round("teo-1").legs[-1].happened_on
    days = (on_its_way.workbench.today - since).days
    assert "Overdue" not in back.page("/stock")
    for limit, is_told in ((days, False), (days - 1, True)):
        on_its_way.app.state.desk.workbench = on_its_way.workbench.at(overdue_days=limit)
        on_its_way.app.state.desk.forget()
        page = on_its_way.page("/stock")
        assert (f"{days} days without a step" in page) == is_told
        assert (f"overdue: {days} days" in on_its_way.page("/")) == is_told


def test_a_pair_described_anew_stands_once_in_the_stock(back: Site):
    back.book.change_pair(PAIRS[0].model_copy(update={"difficulty": 5}), "oda")
    assert re.findall(r'<th scope="row">([^<]+)</th>', back.page("/stock")) == [pair.tag for pair in PAIRS]


def test_the_rubric_shows_every_rung_with_what_earns_it(back: Site):
    page = back.page("/rubrics/bench/1")
    for words in ("unbroken, even enough", "0.2 to 0.6 mm", "clean, push up to 0.5 mm", "weight 14, must reach 2",
                  "advice only, never in the sum"):  # fmt: skip
        assert words in page
    assert back.get("/rubrics/bench/9").status_code == 404
    assert back.get("/rubrics/bench/1?edge=spoon").status_code == 404


def test_progress_is_worked_out_when_asked_for(marked: Site):
    assert marked.get("/trainees/teo/progress").headers["location"] == "/trainees/teo"
    assert marked.get("/trainees/teo/progress.html").status_code == 404
    assert marked.post("/trainees/teo/progress").headers["location"] == "/trainees/teo/progress"
    page = marked.page("/trainees/teo/progress")
    assert "Teo Marsk" in page
    assert marked.get("/trainees/teo/progress.json").json()
    assert "changed since" not in page
    marked.post(f"{ROUND}/amend", {"reason": "x"})
    assert "has changed since" in marked.page("/trainees/teo/progress")
    assert marked.get("/trainees/nia").status_code == 404


@pytest.mark.parametrize("path", ["/report", "/report.pdf"])
def test_the_report_of_an_unfinished_marking_says_so_in_the_words_of_a_page(back: Site, path: str):
    for words in ("not marked yet", "begun, not finished"):
        answer = back.get(ROUND + path)
        assert answer.status_code == 422
        assert words in answer.text
        assert f'href="{ROUND}"' in answer.text
        assert "evalkit mark" not in answer.text
        assert "--" not in re.sub(r"<!--.*?-->", "", answer.text)
        back.save(1, whole(2))


@pytest.mark.parametrize("ending", ["html", "md", "json"])
def test_the_report_is_given_as_a_file(marked: Site, ending: str):
    answer = marked.get(f"{ROUND}/report.{ending}")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"] == f'attachment; filename="teo-1.{ending}"'
    assert answer.headers["content-security-policy"] == "sandbox"
    assert marked.get(f"{ROUND}/report.exe").status_code == 404


def test_a_picture_has_few_sizes(marked: Site):
    (name,) = marked.book.photo_names()
    assert marked.get(f"/photos/{name}/900").status_code == 200
    assert marked.get(f"/photos/{name}/5000").status_code == 422
    assert marked.get(f"/photos/{'cd' * 32}/900").status_code == 404
    assert marked.get("/photos/..%2f..%2fbook.sqlite/900").status_code in {404, 422}


# --- hostile words ---------------------------------------------------------------------------------------------------

HOSTILE = [*RAW, *MARKDOWN, *LINES][:150]
FORBIDDEN_TAGS = {"script", "iframe", "object", "embed", "style", "link", "meta", "base", "form", "input", "svg",
                  "math", "img", "video", "audio", "details"}  # fmt: skip


def shapes(page: str) -> list[tuple[str, tuple[str, ...]]]:
    """The tags of a page that words could have made, with the names of their attributes."""
    return sorted((tag, tuple(sorted(attributes))) for tag, attributes in Tags(page).found if tag in FORBIDDEN_TAGS)


def test_there_are_hundred_and_fifty():
    assert len(HOSTILE) == 150


def test_hostile_words_stay_words_on_every_page(back: Site):
    """Each page has exactly the tags that it has with a harmless word in the same places."""
    pages = (ROUND, f"{ROUND}/pairs/1", f"{ROUND}/pairs/1/both", f"{ROUND}/pairs/2", f"{ROUND}/report")

    def filled(words: list[str]) -> list[str]:
        for number in (1, 2, 3):
            texts = [word for at, word in enumerate(words) if at % 3 == number - 1]
            fields = {f"c.{key}": "\n\n".join(texts)[:2000] for key in ("tips", "hair", "finish")}
            line = " ".join(" ".join(texts).split())
            fields |= {"keep": line[:190], "change": line[190:380], "notes": "\n\n".join(texts)}
            back.save(number, {**whole(2), **fields})
            back.post(f"{ROUND}/pairs/{number}/answers", {"a.1": line[:2000], "based_on": back.state(number)})
        return [back.page(path) for path in pages]

    for number in (1, 2, 3):
        back.save(number, whole(2, then="done"))
    back.post(f"{ROUND}/pairs/3/open", {"sure": "yes"})
    for number in (1, 2, 3):
        back.save(number, whole(2))
    back.post(f"{ROUND}/finish", {"letter": "x"})
    back.post(f"{ROUND}/amend", {"reason": "x"})
    harmless = filled(["word"] * 150)
    hostile = filled(HOSTILE)
    for path, plain, attacked in zip(pages, harmless, hostile, strict=True):
        assert shapes(attacked) == shapes(plain), path
    assert "alert(1)" in hostile[1], "the words were not there at all"


@pytest.mark.parametrize("note", HOSTILE[:40])
def test_a_hostile_query_stays_words(back: Site, note: str):
    for path in ("/", f"{ROUND}/second", "/rubrics/bench/1", "/door"):
        answer = back.get(path, params={"page": note, "of": note, "edge": note, "code": note, "saved": note})
        assert answer.status_code < 500
        assert not [attributes for attributes in Tags(answer.text).named("script") if not attributes.get("src")]


def test_what_is_asked_of_a_lost_box_stands_with_it_and_not_under_the_check_in(on_its_way: Site):
    page = on_its_way.page(ROUND)
    apart = re.search(r'<details class="is-lost"><summary>It is lost</summary>(.*?)</details>', page, re.DOTALL)[1]
    rest = page.replace(apart, "")
    for name in ("on", "ref", "condition"):
        assert f'name="{name}"' in apart
        assert f'name="{name}"' not in rest
    assert 'name="kind" value="lost"' in apart
    assert "check it in" in rest
