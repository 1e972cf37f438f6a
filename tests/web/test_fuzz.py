"""Whatever is asked of whatever address: an answer in plain words, never a fault of the program.

Every address of the route table is asked with made-up keys, numbers, queries and forms, those of the pages among them.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.web.routes import READ, WRITE
from tests.web.site import JSON, Site

texts = st.text(max_size=40) | st.sampled_from([
    "", "teo-1", "teo", "oda", "berit", "bench", "1", "0", "-1", "9" * 30, "../..", "%00", "\x00", "yes", "x" * 3000,
    "received back", "2026-05-03", "9999-99-99", "2", "level 9", "push 2 mm", "all clean", "'; DROP TABLE rounds; --",
    "<script>alert(1)</script>", "{{ 7 * 7 }}", "ab" * 32, "json", "pdf ",
])  # fmt: skip
keys = st.sampled_from(["teo-1", "teo", "bench", "nia-1"]) | st.text(
    st.characters(codec="utf-8", exclude_characters="/?#%\\", exclude_categories=("Cs", "Cc")), min_size=1, max_size=20
).filter(lambda text: text not in {".", ".."})
numbers = st.sampled_from(["1", "2", "3"]) | st.integers(0, 10**25).map(str)
names = st.sampled_from([
    "based_on", "has_transit", "transit", "then", "at", "keep", "change", "notes", "transit_note", "called_for",
    "s.tips.tip", "v.tips.tip", "v.ride-line.thumb-heel", "s.hair.heel", "v.hair.tip", "c.tips", "a.1", "a.99",
    "sure", "reason", "letter", "kind", "on", "ref", "condition", "extra", "pair.1", "pair.2", "pair.3", "damage.1",
    "who", "code", "n", "photo", "caption", "page", "of", "edge", "causes", "version",
]) | st.text(max_size=12)  # fmt: skip
forms = st.dictionaries(names, texts | st.lists(texts, max_size=3), max_size=12)


@pytest.fixture(scope="module")
def sites(tmp_path_factory, back_folder: Path, marked_folder: Path, on_its_way_folder: Path) -> Iterator[list[Site]]:
    folder = tmp_path_factory.mktemp("fuzz")
    opened = [
        Site(Path(shutil.copytree(one, folder / one.name))) for one in (back_folder, marked_folder, on_its_way_folder)
    ]
    yield opened
    for site in opened:
        site.close()


def filled(path: str, data: st.DataObject) -> str:
    for name, values in (("{key}", keys), ("{number:int}", numbers), ("{version:int}", numbers),
                         ("{side_px:int}", numbers | st.sampled_from(["320", "900"])),
                         ("{name}", keys | st.just("ab" * 32)),
                         ("{ending}", st.sampled_from(["html", "md", "json", "exe"]) | keys)):  # fmt: skip
        if name in path:
            path = path.replace(name, data.draw(values))
    return path


@settings(
    max_examples=250, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture], deadline=None
)
@given(data=st.data())
def test_reading_never_falls(sites: list[Site], data: st.DataObject):
    site = data.draw(st.sampled_from(sites))
    path = filled(data.draw(st.sampled_from(sorted(READ))), data)
    answer = site.get(path, params=data.draw(forms), headers=data.draw(st.sampled_from([{}, JSON])))
    assert answer.status_code < 500, (path, answer.text)


@settings(
    max_examples=350, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture], deadline=None
)
@given(data=st.data())
def test_writing_never_falls_and_never_breaks_the_book(sites: list[Site], data: st.DataObject):
    site = data.draw(st.sampled_from(sites))
    path = filled(data.draw(st.sampled_from(sorted(set(WRITE) - {"/steadiness", "/trainees/{key}/progress"}))), data)
    fields = data.draw(forms)
    fields.pop("token", None)
    answer = site.post(path, fields, headers=data.draw(st.sampled_from([{}, JSON])))
    assert answer.status_code < 500, (path, answer.text)
    assert site.get("/").status_code in {200, 303}


@settings(
    max_examples=120, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture], deadline=None
)
@given(data=st.data())
def test_bodies_that_are_no_forms_never_fall(sites: list[Site], data: st.DataObject):
    site = data.draw(st.sampled_from(sites))
    path = filled(data.draw(st.sampled_from(sorted(WRITE))), data)
    kind = data.draw(st.sampled_from([
        "application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=x",
        "multipart/form-data; boundary=", "application/json", "text/plain", "", "x" * 200,
    ]))  # fmt: skip
    body = data.draw(st.binary(max_size=300) | st.sampled_from([
        b'--x\r\nContent-Disposition: form-data; name="token"\r\n\r\n1\r\n--x--\r\n', b"--x\r\n\r\n--x", b"a=%zz&b",
        b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a"\r\n\r\n\x00\xff\r\n--x--\r\n', b"&" * 9000,
    ]))  # fmt: skip
    answer = site.client.post(path, content=body, headers={"content-type": kind})
    assert answer.status_code < 500, (path, kind, body, answer.text)


def test_the_books_are_still_sound(sites: list[Site]):
    for site in sites:
        assert site.book.check() == []
