"""Nobody but the mentor's own browser is answered: not another site, not another name, not an endless body."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from tests.web.site import BASE, PORT, ROUND, Site, Tags

PAGES = ("/", ROUND, f"{ROUND}/pairs/1", f"{ROUND}/pairs/1/both", "/trainees", "/trainees/teo", "/rubrics",
         "/rubrics/bench/1", "/stock", "/steadiness", "/who", "/nothing-here", "/static/pages.css",
         "/look/report.css")  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_every_answer_is_strict(back: Site, path: str):
    headers = back.get(path).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'", "nothing inline, nothing evaluated"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert policy["form-action"] == "'self'"
    assert headers["x-frame-options"] == "DENY"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "server" not in headers


@pytest.mark.parametrize("path", [path for path in PAGES if not path.endswith(".css")])
def test_no_page_needs_what_its_policy_forbids(back: Site, path: str):
    tags = Tags(back.get(path).text)
    for attributes in (attributes for _, attributes in tags.found):
        assert not [name for name in attributes if name.startswith("on") or name == "style"]
    assert all(attributes.get("src") for attributes in tags.named("script")), "a script stands in the page itself"
    assert not tags.named("style", "iframe", "object", "embed", "base", "meta[http-equiv]")
    addresses = [attributes.get(name) or "" for _, attributes in tags.found for name in ("src", "href", "action")]
    assert all(address.startswith(("/", "#", "?")) and not address.startswith("//") for address in addresses if address)


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:80", f"127.0.0.1.evil.example:{PORT}",
     f"localhost.:{PORT}", f"[::1]:{PORT}", "", "0"],
)  # fmt: skip
def test_another_name_is_not_answered(back: Site, host: str):
    """DNS rebinding: the browser asks this machine under the name of another site."""
    answer = back.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "teo" not in answer.text.lower()


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LOCALHOST:{PORT}"])
def test_its_own_names_are_answered(back: Site, host: str):
    assert back.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site", "nonsense"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_site_is_not_answered(back: Site, site: str, method: str):
    answer = back.client.request(
        method, f"{ROUND}/pairs/1", headers={"sec-fetch-site": site}, data={"token": back.token()}
    )
    assert answer.status_code == 403
    assert "Ride line" not in answer.text


@pytest.mark.parametrize(
    "origin", ["http://evil.example", f"https://127.0.0.1:{PORT}", "http://127.0.0.1:1", "http://localhost:8537", "x"]
)
def test_a_form_of_another_origin_is_not_taken(back: Site, origin: str):
    answer = back.post(f"{ROUND}/pairs/1", {"keep": "x"}, headers={"origin": origin})
    assert answer.status_code == 403
    assert back.kept(1) is None


@pytest.mark.parametrize("origin", [BASE, "null"])
def test_our_own_form_is_taken(back: Site, origin: str):
    """A page that names itself to nobody sends the origin 'null'; its token vouches for it."""
    answer = back.save(1, {"keep": "x"}, headers={"origin": origin, "sec-fetch-site": "same-origin"})
    assert answer.status_code == 303
    assert back.kept(1).keep == "x"


@pytest.mark.parametrize("token", ["", "x", "0" * 64, "ü", None])
def test_a_form_without_its_token_changes_nothing(back: Site, token: str | None):
    back.token()
    fields = {"keep": "x"} if token is None else {"keep": "x", "token": token}
    answer = back.client.post(f"{ROUND}/pairs/1", data=fields)
    assert answer.status_code == 403
    assert "before evalkit serve was started" in answer.text
    assert back.kept(1) is None


def test_the_token_of_one_browser_is_worth_nothing_in_another(back: Site):
    other = back.browser()
    other.get("/")
    answer = other.post(f"{ROUND}/pairs/1", data={"keep": "x", "token": back.token()})
    assert answer.status_code == 403


def test_every_way_to_write_asks_for_the_token(back: Site):
    from evalkit.web.routes import WRITE

    for path in WRITE:
        where = path.replace("{key}", "teo-1").replace("{number:int}", "1")
        acts = len(back.book.list_acts())
        assert back.client.post(where, data={"token": "wrong"}).status_code == 403, path
        assert len(back.book.list_acts()) == acts


def test_nothing_is_written_by_reading(marked: Site):
    from evalkit.web.routes import READ

    acts = len(marked.book.list_acts())
    for path in READ:
        where = path.replace("{key}", "teo-1").replace("{number:int}", "1").replace("{ending}", "json")
        marked.get(where.replace("{version:int}", "1").replace("{name}", "ab" * 32).replace("{side_px:int}", "320"))
    assert len(marked.book.list_acts()) == acts


def test_the_cookie_is_kept_from_scripts_and_other_sites(back: Site):
    cookie = back.browser().get("/").headers["set-cookie"]
    assert cookie.startswith(f"evalkit-{PORT}=")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}


@pytest.mark.parametrize("cookie", ["", "x", "a" * 5000, "evalkit-8537=x; evalkit-8537=y", "\x7f;;;="])
def test_a_cookie_that_is_none_makes_a_new_session(back: Site, cookie: str):
    answer = back.browser().get("/", headers={"cookie": f"evalkit-{PORT}={cookie}"})
    assert answer.status_code == 200
    assert "set-cookie" in answer.headers


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"])
def test_other_methods_are_refused(back: Site, method: str):
    assert back.client.request(method, ROUND).status_code == 405


def test_a_form_that_is_too_large_is_refused_before_it_is_read(back: Site):
    answer = back.post(f"{ROUND}/pairs/1", {"notes": "x" * 2_100_000})
    assert answer.status_code == 413


def test_a_body_that_lies_about_its_length_is_cut_off(back: Site):
    def endless():
        for _ in range(40):
            yield b"x" * 100_000

    answer = back.client.post(
        f"{ROUND}/pairs/1", content=endless(), headers={"content-type": "application/x-www-form-urlencoded"}
    )
    assert answer.status_code in {403, 413}, "it was read to its end"


@pytest.mark.parametrize("length", ["-1", "1e9", "99999999999999999999", "x", " "])
def test_a_length_that_is_none_is_refused(back: Site, length: str):
    answer = back.client.post(ROUND, content=b"", headers={"content-length": length})
    assert answer.status_code == 413


def test_no_file_but_our_own_is_served(back: Site):
    for path in ("/static/../base.html", "/static/%2e%2e/base.html", "/static//etc/passwd", "/static/..%2fpair.html"):
        assert back.get(path).status_code == 404


# --- what nobody foresaw ---------------------------------------------------------------------------------------------


def break_down(*_: object, **__: object) -> None:
    raise ZeroDivisionError("secret innards")


@pytest.mark.parametrize("is_page_broken_too", [False, True])
@pytest.mark.parametrize("accept", ["text/html", "application/json"])
def test_an_unforeseen_error_is_one_clear_line_behind_the_same_guard(
    back: Site, monkeypatch: pytest.MonkeyPatch, accept: str, is_page_broken_too: bool
):
    from evalkit.web.visit import Visit

    expected = dict(back.get("/").headers)
    monkeypatch.setattr(back.book, "list_people", break_down)
    monkeypatch.setattr(back.book, "get_round", break_down)
    if is_page_broken_too:
        monkeypatch.setattr(Visit, "show", break_down)
    client = TestClient(back.app, base_url=BASE, follow_redirects=False, raise_server_exceptions=False)
    answer = client.get(ROUND, headers={"accept": accept})
    assert answer.status_code == 500
    for name in ("content-security-policy", "x-frame-options", "x-content-type-options", "referrer-policy"):
        assert answer.headers[name] == expected[name]
    assert "what was kept before is kept" in answer.text
    for innards in ("Traceback", "ZeroDivisionError", "secret innards", ".py"):
        assert innards not in answer.text
    if accept == "application/json":
        assert answer.json()["kind"] == "failed"


def test_an_unforeseen_error_is_told_to_the_terminal(back: Site, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(back.book, "get_round", break_down)
    with pytest.raises(ZeroDivisionError):
        back.get(ROUND)
