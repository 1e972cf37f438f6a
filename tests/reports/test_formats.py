"""Every format is written whole or not at all, and an older report is kept until the new one is ready."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from evalkit.errors import InputError, MissingPartError
from evalkit.reports import formats
from evalkit.reports.formats import MAKERS, Format, Job, data_address, parse_formats, write_reports

QUICK = [Format.HTML, Format.MD, Format.JSON]


def test_every_format_has_a_maker():
    assert set(MAKERS) == set(Format)


@pytest.mark.parametrize("one", list(Format))
def test_each_format_is_written_under_the_name_of_its_round(one: Format, job: Job, tmp_path: Path):
    assert write_reports(job, [one], tmp_path / "reports" / "deep") == [
        tmp_path / "reports" / "deep" / f"{job.stem}.{one}"
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
    assert sorted(tmp_path.iterdir()) == sorted(written)
    assert all(path.stat().st_mode & 0o777 == 0o644 for path in written)


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
        write_reports(job, [Format.MD], tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [f"{job.stem}.md"]
    assert (tmp_path / f"{job.stem}.md").read_text() == "older"


def test_an_older_report_is_replaced(job: Job, tmp_path: Path):
    (tmp_path / f"{job.stem}.md").write_text("older")
    write_reports(job, [Format.MD], tmp_path)
    assert (tmp_path / f"{job.stem}.md").read_text().startswith("# Round")


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
