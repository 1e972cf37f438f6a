"""Every format is written whole or not at all, and an older report is kept until the new one is ready."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from evalkit.errors import AlreadyError, InputError, MissingPartError
from evalkit.reports import formats
from evalkit.reports.formats import MAKERS, Format, Job, Written, data_address, parse_formats, write_reports

QUICK = [Format.HTML, Format.MD, Format.JSON]


def test_every_format_has_a_maker():
    assert set(MAKERS) == set(Format)


@pytest.mark.parametrize("one", list(Format))
def test_each_format_is_written_under_the_name_of_its_round(one: Format, job: Job, tmp_path: Path):
    assert write_reports(job, [one], tmp_path / "reports" / "deep") == [
        Written(tmp_path / "reports" / "deep" / f"{job.stem}.{one}", is_replaced=False)
    ]
    data = (tmp_path / "reports" / "deep" / f"{job.stem}.{one}").read_bytes()
    match one:
        case Format.HTML:
            assert data.startswith(b"<!DOCTYPE html>")
            assert data.rstrip().endswith(b"</html>")
        case Format.PDF:
            assert data.startswith(b"%PDF-")
            assert data.rstrip().endswith(b"%%EOF")
        case Format.MD:
            assert data.startswith(b"# Round teo-1")
        case Format.JSON:
            assert json.loads(data)["round"] == "teo-1"


def test_all_at_once_and_nothing_else_in_the_folder(job: Job, tmp_path: Path):
    written = write_reports(job, QUICK, tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted(file.path for file in written)
    assert all(file.path.stat().st_mode & 0o777 == 0o644 for file in written)


def _fails(job: Job) -> bytes:
    raise MissingPartError("no.", mend="Install it.")


def test_a_maker_that_fails_leaves_no_file_and_no_folder(job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(MAKERS, Format.PDF, _fails)
    with pytest.raises(MissingPartError):
        write_reports(job, [Format.HTML, Format.PDF], tmp_path / "reports")
    assert not (tmp_path / "reports").exists()


def test_a_maker_that_fails_keeps_the_older_report(job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / f"{job.stem}.html").write_text("older")
    monkeypatch.setitem(MAKERS, Format.JSON, _fails)
    with pytest.raises(MissingPartError):
        write_reports(job, QUICK, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [f"{job.stem}.html"]
    assert (tmp_path / f"{job.stem}.html").read_text() == "older"


def test_a_disk_that_fails_half_way_keeps_the_older_report(job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / f"{job.stem}.md").write_text("older")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(formats.Path, "replace", full)
    with pytest.raises(InputError, match="No space left on device"):
        write_reports(job, [Format.MD], tmp_path, is_over=True)
    assert [path.name for path in tmp_path.iterdir()] == [f"{job.stem}.md"]
    assert (tmp_path / f"{job.stem}.md").read_text() == "older"


@pytest.mark.parametrize("one", list(Format))
def test_an_earlier_edition_of_the_same_report_is_replaced(one: Format, job: Job, tmp_path: Path):
    earlier = replace(job, made_on=job.made_on - timedelta(days=1))
    write_reports(earlier, [one], tmp_path)
    (file,) = write_reports(job, [one], tmp_path)
    assert file.is_replaced
    assert file.words == f"{file.path} (replaced)"
    if one is not Format.PDF:  # a PDF says when it was made, to the second
        assert file.path.read_bytes() == MAKERS[one](job)


@pytest.mark.parametrize("one", QUICK)
def test_the_same_report_again_is_no_replacement(one: Format, job: Job, tmp_path: Path):
    write_reports(job, [one], tmp_path)
    (file,) = write_reports(job, [one], tmp_path)
    assert not file.is_replaced
    assert file.words == str(file.path)


@pytest.mark.parametrize("one", QUICK)
@pytest.mark.parametrize(
    "there",
    [
        b"", b"older", b"---\nround: teo-1\n---\n# Round teo-1\n", b"# My own notes\n", b"{}",
        b'{"format": 1, "mine": 2}', b"<!DOCTYPE html>\n<title>Bench book teo-1: Teo Marsk</title>",
    ],
)  # fmt: skip
def test_something_else_of_that_name_stays_unless_it_is_asked_for(one: Format, there: bytes, job: Job, tmp_path: Path):
    path = tmp_path / f"{job.stem}.{one}"
    path.write_bytes(there)
    with pytest.raises(AlreadyError, match=r"not an earlier edition of this report.*--over"):
        write_reports(job, QUICK, tmp_path)
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [(path.name, there)]
    (file,) = write_reports(job, [one], tmp_path, is_over=True)
    assert file.is_replaced
    assert path.read_bytes() != there


def test_a_scanned_letter_stays(job: Job, tmp_path: Path):
    (tmp_path / f"{job.stem}.pdf").write_bytes(b"%PDF-1.7 a scanned letter")
    with pytest.raises(AlreadyError, match="there is a file of that name"):
        write_reports(job, [Format.PDF], tmp_path)


@pytest.mark.parametrize("one", QUICK)
def test_the_report_of_another_round_stays(one: Format, job: Job, tmp_path: Path):
    other = job.result.round.model_copy(update={"key": "teo-9"})
    other_job = replace(job, result=replace(job.result, round=other))
    (tmp_path / f"{job.stem}.{one}").write_bytes(MAKERS[one](other_job))
    with pytest.raises(AlreadyError, match="there is a file of that name"):
        write_reports(job, [one], tmp_path)


def test_a_folder_that_is_a_file_is_told_with_its_place(job: Job, tmp_path: Path):
    (tmp_path / "reports").write_text("a file")
    with pytest.raises(InputError, match=r"reports: the report cannot be written\. .* Name another folder with --out"):
        write_reports(job, [Format.MD], tmp_path / "reports")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("html", (Format.HTML,)),
        ("html,pdf", (Format.HTML, Format.PDF)),
        (" PDF , html,pdf,", (Format.PDF, Format.HTML)),
        ("md,json", (Format.MD, Format.JSON)),
    ],
)
def test_formats_are_named_with_commas(text: str, found: tuple[Format, ...]):
    assert parse_formats(text) == found


@pytest.mark.parametrize("text", ["docx", "html,docx", "", " , "])
def test_another_word_is_no_format(text: str):
    with pytest.raises(InputError, match="html, pdf, md, json"):
        parse_formats(text)


def test_a_picture_becomes_an_address_of_its_own():
    assert data_address(b"\xff\xd8") == "data:image/jpeg;base64,/9g="
