"""Packets taken in: what fits its round is kept whole, what does not leaves book and pictures as they were."""

from __future__ import annotations

import hashlib
import io
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image

from evalkit.actions.packets import look_into
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.measures import Unit
from evalkit.domain.reading import Medium, Reading, SeenCut, SeenLevel, SeenMeasure, Stage
from evalkit.errors import AlreadyError, EvalkitError, FileFaultsError, InputError, NotFoundError
from evalkit.files.packets import PacketKind
from evalkit.files.photos import clean_photo
from tests.actions.conftest import LIN, TODAY, Shelf, box, seen
from tests.actions.packing import assessment_packet, photo_name, picture, with_photos
from tests.book.values import rubric_of


@pytest.fixture
def packet(tmp_path: Path) -> Path:
    """As the bench book sealed it: three pairs, three pictures, one of them on two pairs."""
    one, two, three = (picture(number) for number in (1, 2, 3))
    path = tmp_path / "teo-1-assessment-1.zip"
    assessment_packet(path, *with_photos(seen(box()), {1: [one, two], 3: [three, one]}))
    return path


def refuse(shelf: Shelf, path: Path, match: str, kind: type[EvalkitError] = InputError, **more: object) -> str:
    """The packet is refused in one line, and nothing is changed."""
    before = shelf.state()
    with pytest.raises(kind, match=match) as told:
        shelf.take_in(path, **more)
    assert shelf.state() == before
    assert "\n" not in str(told.value)
    assert "Traceback" not in str(told.value)
    return str(told.value)


# --- taken in ---------------------------------------------------------------------------------------------------------


def test_all_of_a_packet_is_kept(mentors: Shelf, packet: Path):
    done = mentors.take_in(packet)
    assert (done.kind, done.was_known) == (PacketKind.ASSESSMENT, False)
    assert (done.taken.version, done.taken.is_new) == (1, True)
    assert (done.taken.n_pairs, done.taken.n_readings, done.taken.n_photos) == (3, 3 * 2 * 6, 3)
    kept = mentors.book.get_assessment("teo-1").assessment
    cleaned = {number: clean_photo(picture(number)).sha256 for number in (1, 2, 3)}
    assert [[photo.file for photo in pair.photos] for pair in kept.pairs] == [
        [cleaned[1], cleaned[2]], [], [cleaned[3], cleaned[1]],
    ]  # fmt: skip
    bare = tuple(pair.model_copy(update={"photos": ()}) for pair in kept.pairs)
    assert kept.model_copy(update={"pairs": bare}) == seen(box())
    assert mentors.faults() == []
    (taken,) = mentors.book.list_packets("teo-1")
    assert (taken.head.seal, taken.head.version, taken.became) == (done.seal, 1, 1)


def test_the_seal_is_that_of_the_manifest(mentors: Shelf, packet: Path):
    """By the words of the contract alone: SHA-256 of the manifest's bytes, as `sha256sum` would say it."""
    import zipfile

    with zipfile.ZipFile(packet) as archive:
        manifest = archive.read("teo-1-assessment-1/manifest-sha256.txt")
    assert mentors.take_in(packet).seal == hashlib.sha256(manifest).hexdigest() == look_into(packet).seal


def test_pictures_lose_all_but_their_pixels(mentors: Shelf, tmp_path: Path):
    exif = Image.Exif()
    exif[0x010F] = "CAMERA-MAKER"
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    data = picture(5, exif=exif)
    assert b"CAMERA-MAKER" in data
    path = tmp_path / "p.zip"
    assessment_packet(path, *with_photos(seen(box()), {2: [data]}))
    mentors.take_in(path)
    (row,) = mentors.book.list_photos("teo-1")
    kept = mentors.store.read(row.sha256)
    assert b"CAMERA-MAKER" not in kept
    assert not Image.open(io.BytesIO(kept)).getexif()
    assert (row.width_px, row.height_px) == (48, 64), "turned as the camera was held"


def test_the_same_packet_again_is_the_same_once(mentors: Shelf, packet: Path, tmp_path: Path):
    first = mentors.take_in(packet)
    before = mentors.state()
    copy = tmp_path / "another name.zip"
    copy.write_bytes(packet.read_bytes())
    for path in (packet, copy):
        again = mentors.take_in(path, reason="once more")
        assert (again.was_known, again.seal, again.taken.is_new) == (True, first.seal, False)
        assert again.taken.version == 1
        assert mentors.state() == before


def test_a_picture_that_the_book_has_is_taken_as_it_is(mentors: Shelf, tmp_path: Path):
    kept = clean_photo(picture(1))
    path = tmp_path / "p.zip"
    assessment_packet(path, *with_photos(seen(box()), {1: [picture(1)]}))
    mentors.take_in(path)
    again = tmp_path / "p2.zip"
    assessment, files = with_photos(seen(box(), level=1), {1: [kept.data]})
    assessment_packet(again, assessment, files, version=2, reason="looked again")
    mentors.take_in(again)
    assert mentors.book.photo_names() == (kept.sha256,)
    assert mentors.faults() == []


def test_a_later_version_is_the_next_and_keeps_the_first(mentors: Shelf, packet: Path, tmp_path: Path):
    mentors.take_in(packet)
    later = tmp_path / "teo-1-assessment-2.zip"
    assessment_packet(later, seen(box(), level=1), version=2, reason="I had mixed up 2 and 3")
    done = mentors.take_in(later)
    assert (done.taken.version, done.taken.is_new) == (2, True)
    assert mentors.book.get_assessment("teo-1").reason == "I had mixed up 2 and 3"
    assert mentors.book.get_assessment("teo-1", 1).assessment.pairs[0].photos
    assert mentors.faults() == []
    refuse(mentors, packet_like(tmp_path / "late.zip", level=3), "version 2 was taken in already", AlreadyError)


def packet_like(path: Path, **more: int) -> Path:
    assessment_packet(path, seen(box(), **more))
    return path


def test_it_is_already_tomorrow_where_the_trainee_is(mentors: Shelf, tmp_path: Path):
    tomorrow = seen(box()).model_copy(update={"written_on": TODAY + timedelta(days=1)})
    assessment_packet(tmp_path / "p.zip", tomorrow)
    assert mentors.take_in(tmp_path / "p.zip").taken.is_new


# --- refused ----------------------------------------------------------------------------------------------------------


def test_another_content_under_the_same_version(mentors: Shelf, packet: Path, tmp_path: Path):
    mentors.take_in(packet)
    for reason in ("", "I was asked to"):
        said = refuse(
            mentors, packet_like(tmp_path / f"o{reason[:1]}.zip"), "never changes", AlreadyError, reason=reason
        )
        assert "Compare the seal codes" in said


def test_after_a_sheet_a_first_packet_needs_the_mentors_reason(mentors: Shelf, packet: Path):
    mentors.book.seal_assessment(seen(box(), level=0), "oda")
    refuse(mentors, packet, "another assessment of this round is sealed", AlreadyError)
    assert mentors.take_in(packet, reason="the packet came after the letter").taken.version == 2


def test_a_packet_that_says_what_the_sheet_said_is_only_noted(mentors: Shelf, tmp_path: Path):
    mentors.book.seal_assessment(seen(box()), "oda")
    done = mentors.take_in(packet_like(tmp_path / "p.zip"))
    assert (done.taken.version, done.taken.is_new, done.was_known) == (1, False, False)
    assert len(mentors.book.list_packets("teo-1")) == 1


UNFIT = {
    "another trainee": (
        lambda: seen(box()).model_copy(update={"trainee_key": LIN.key}),
        r"is Teo Marsk's \('teo'\), and the packet is by 'lin'",
    ),
    "another rubric": (
        lambda: seen(box()).model_copy(update={"rubric_digest": rubric_of("rod-line").digest}),
        "goes by another rubric than round teo-1, which goes by bench version 1",
    ),
    "a missing number": (
        lambda: seen(box()).model_copy(update={"pairs": seen(box()).pairs[1:]}),
        "tells of the pairs 2, 3; the box of round teo-1 holds 1 to 3",
    ),
    "no number": (lambda: seen(box()).model_copy(update={"pairs": ()}), "tells of the pairs none"),
    "a number too many": (
        lambda: seen(box()).model_copy(update={"pairs": (*seen(box()).pairs, AssessedPair(number=4))}),
        "tells of the pairs 1 to 4; the box of round teo-1 holds 1 to 3",
    ),
    "nothing filled in": (
        lambda: seen(box()).model_copy(update={"pairs": tuple(AssessedPair(number=n) for n in (1, 2, 3))}),
        "nothing is filled in",
    ),
    "in the mentor's name": (
        lambda: seen(box()).model_copy(update={"is_transcribed": True}),
        "sealed by its trainee.*--transcribed",
    ),
    "written the day after tomorrow": (
        lambda: seen(box()).model_copy(update={"written_on": TODAY + timedelta(days=2)}),
        "Written on: the day 2026-05-03 is not possible",
    ),
    "written before the box was there": (
        lambda: seen(box()).model_copy(update={"written_on": TODAY - timedelta(days=300)}),
        "It has to lie between 2026-03-04 and 2026-05-01",
    ),
}


@pytest.mark.parametrize("what", UNFIT)
def test_what_does_not_fit_its_round(what: str, mentors: Shelf, tmp_path: Path):
    make, match = UNFIT[what]
    path = tmp_path / "p.zip"
    assessment_packet(path, *with_photos(make(), {}))
    said = refuse(mentors, path, match)
    assert str(path) in said, "it says which file"


def test_a_round_that_the_book_does_not_have_and_a_box_not_there_yet(mentors: Shelf, tmp_path: Path):
    other = box("teo-9")
    assessment_packet(tmp_path / "p9.zip", seen(other))
    refuse(mentors, tmp_path / "p9.zip", "no round 'teo-9'", NotFoundError)
    assessment_packet(tmp_path / "p2.zip", seen(box("teo-2")))
    refuse(mentors, tmp_path / "p2.zip", "the box is planned.*evalkit round received teo-2")


def test_lins_packet_does_not_pass_for_teos(mentors: Shelf, tmp_path: Path):
    """The outside says teo-1, the inside lin-1: no packet of ours says two things."""
    with pytest.raises(InputError, match="another round than the packet"):
        assessment_packet(tmp_path / "p.zip", seen(box("lin-1", LIN)), round_key="teo-1")


def reading(**more: object) -> Reading:
    fields = {"number": 1, "stage": Stage.AS_RECEIVED, "criterion": "rod-line", "blade": "thumb", "station": "heel"}
    return Reading.model_validate({**fields, "seen": SeenLevel(level=1), **more})


UNREADABLE = {
    "a criterion that the rubric does not have": (reading(criterion="shine"), "'shine' is not asked"),
    "a level off the ladder": (reading(seen=SeenLevel(level=4)), "level 4 is off the ladder"),
    "a place that is not read": (reading(blade=None, station=None), "is not read at whole pair"),
    "a measure of what is judged": (reading(seen=SeenMeasure(number=1, unit=Unit.MM)), "is not measured"),
    "a cut of what is judged": (reading(seen=SeenCut(medium=Medium.HAIR, result="clean")), "is not a test cut"),
}


@pytest.mark.parametrize("what", UNREADABLE)
def test_readings_that_the_rubric_does_not_ask_for(what: str, mentors: Shelf, tmp_path: Path):
    strange, match = UNREADABLE[what]
    assessment = seen(box())
    first = assessment.pairs[0]
    first = first.model_copy(update={"readings": (*first.readings, strange)})
    assessment = Assessment.model_validate({**assessment.model_dump(), "pairs": (first, *assessment.pairs[1:])})
    path = tmp_path / "p.zip"
    assessment_packet(path, *with_photos(assessment, {2: [picture(1)]}))
    said = refuse(mentors, path, match, FileFaultsError)
    assert "pair 1, " in said


def test_a_picture_cut_short_is_told_with_its_name(mentors: Shelf, tmp_path: Path):
    data = picture(1, 300, 200)
    data = data[: len(data) // 2]
    path = tmp_path / "p.zip"
    assessment_packet(path, *with_photos(seen(box()), {1: [picture(2)], 2: [data]}))
    said = refuse(mentors, path, "cut short or damaged")
    assert f"data/{photo_name(data)}" in said


def test_what_fails_after_the_pictures_were_written_leaves_none(
    mentors: Shelf, packet: Path, monkeypatch: pytest.MonkeyPatch
):
    from evalkit.book import packets

    def broken(*told: object) -> None:
        assert any(path.is_file() for path in mentors.store.folder.rglob("*.jpg")), "the pictures lie there by now"
        raise KeyboardInterrupt

    monkeypatch.setattr(packets, "record_packet", broken)
    before = mentors.state()
    with pytest.raises(KeyboardInterrupt):
        mentors.take_in(packet)
    assert mentors.state() == before
    monkeypatch.undo()
    assert mentors.take_in(packet).taken.is_new


@pytest.mark.parametrize("where", ["photo_tray.PhotoTray.lay", "half_kept.list_ahead", "photos.PhotoStore.put"])
def test_a_full_disk_leaves_nothing_and_is_told_in_one_line(
    where: str, mentors: Shelf, packet: Path, monkeypatch: pytest.MonkeyPatch
):
    def full(*told: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"evalkit.files.{where}", full)
    refuse(mentors, packet, "no space left on device", EvalkitError)
    monkeypatch.undo()
    assert mentors.take_in(packet).taken.is_new


# --- looked into ------------------------------------------------------------------------------------------------------


def test_looking_says_what_it_is_and_nothing_of_what_was_seen(packet: Path):
    found = look_into(packet)
    assert (found.kind, found.round_key, found.trainee_key, found.version) == ("assessment", "teo-1", "teo", 1)
    assert (found.n_pairs, found.n_readings, found.n_photos) == (3, 36, 3)
