"""Packets whose zip is sound and whose lists agree, but whose files are not what they should be."""

from __future__ import annotations

import hashlib
import io
import json
import struct
import zlib
from collections.abc import Callable, Iterator

from PIL import Image

from evalkit.files.packets import PacketKind
from tests.files.packets.craft import TOP, Item, bag_of, items_of, packet_of, with_more, zipped
from tests.files.packets.hostile_zips import Case
from tests.files.packets.samples import PAGE, assessment_bytes, files_of, photo_name, picture


def document(change: Callable[[dict[str, object]], object], kind: str = "assessment") -> Callable[[], bytes]:
    """A packet whose document `kind` was changed in place, with sums that agree."""

    def made() -> bytes:
        files = files_of(PacketKind.ASSESSMENT if kind == "assessment" else PacketKind.REPORT)
        plain = json.loads(files[f"{kind}.json"])
        change(plain)
        return packet_of({**files, f"{kind}.json": json.dumps(plain).encode()})

    return made


def raw(data: bytes) -> Callable[[], bytes]:
    """A packet whose assessment is these bytes, with sums that agree."""
    return lambda: packet_of({"assessment.json": data})


def within(text: str) -> Callable[[], bytes]:
    """A right assessment with more put before its last brace."""
    return raw(assessment_bytes().rstrip()[:-1] + f",{text}}}".encode())


def shows(data: bytes, ending: str = "jpg", name: str = "") -> Callable[[], bytes]:
    """A packet with one picture, named as its content wants it or otherwise."""
    known = name or photo_name(data, ending)
    return lambda: packet_of({"assessment.json": assessment_bytes(known), known: data})


def without(name: str) -> Callable[[], bytes]:
    """A right packet without one file, its lists as they were."""
    return lambda: zipped([item for item in items_of(bag_of()) if item.name != f"{TOP}/{name}"])


def promised(width: int, height: int) -> bytes:
    """A few bytes of PNG that promise so many pixels."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def gif() -> bytes:
    file = io.BytesIO()
    Image.new("P", (4, 4)).save(file, "GIF")
    return file.getvalue()


def changed_sum() -> bytes:
    """Sealed, then one word of the assessment changed."""
    items = items_of(bag_of())
    spoilt = [Item(one.name, one.data.replace(b"evenly", b"oddly.")) for one in items]
    assert spoilt != items
    return zipped(spoilt)


def files() -> Iterator[Case]:
    """Files too many, too few, or changed."""
    photo = photo_name(picture())
    for name in ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"):
        yield f"without {name}", without(name), "is missing"
    yield "without the assessment", without("data/assessment.json"), "no assessment, round or report"
    yield "without a picture", without(f"data/{photo}"), "is not in the packet"
    yield "a word changed", changed_sum, "not the one that was sealed"
    yield "fetch", lambda: with_more(Item(f"{TOP}/fetch.txt", b"http://127.0.0.1/x - data/x\n")), "fetch files"
    yield "another list", lambda: with_more(Item(f"{TOP}/manifest-md5.txt", b"0  data/x\n")), "no place in a packet"
    yield "a note beside", lambda: with_more(Item(f"{TOP}/readme.txt", b"hello")), "no place in a packet"
    yield "a program", lambda: packet_of({**files_of(PacketKind.ASSESSMENT), "run.exe": b"MZ"}), "no place"
    yield "a zip within", lambda: packet_of({**files_of(PacketKind.ASSESSMENT), "more.zip": packet_of()}), "no place"
    yield "a page within", lambda: packet_of({**files_of(PacketKind.ASSESSMENT), "page.html": PAGE}), "no place"
    yield "pictures elsewhere", lambda: packet_of({**files_of(PacketKind.ASSESSMENT), "tip.jpg": picture()}), "no place"
    yield "unlisted picture", lambda: with_more(Item(f"{TOP}/data/photos/{'0' * 64}.jpg", picture())), "not listed"
    yield "round without its page", lambda: packet_of({
        name: data for name, data in files_of(PacketKind.ROUND).items() if name != "bench-book.html"
    }), "lacks bench-book.html"  # fmt: skip
    yield (
        "page that is a zip",
        lambda: packet_of({**files_of(PacketKind.ROUND), "bench-book.html": packet_of()}),
        "page",
    )
    yield (
        "page that is none",
        lambda: packet_of({**files_of(PacketKind.ROUND), "bench-book.html": b"hi"}),
        "no web page",
    )
    yield "page in utf-16", lambda: packet_of(
        {**files_of(PacketKind.ROUND), "bench-book.html": "<!doctype html>".encode("utf-16")}), "UTF-8"  # fmt: skip


def json_texts() -> Iterator[Case]:
    """JSON that another reader could take otherwise, or that would choke one."""
    yield "json: empty", raw(b""), "no proper JSON"
    yield "json: cut short", raw(assessment_bytes()[:-9]), "no proper JSON"
    yield "json: two documents", raw(assessment_bytes() * 2), "no proper JSON"
    yield "json: comma at the end", within(""), "no proper JSON"
    yield "json: remark", raw(b"// hi\n" + assessment_bytes()), "no proper JSON"
    yield "json: a list", raw(b"[1, 2]"), "not an object"
    yield "json: a word", raw(b'"assessment"'), "not an object"
    yield "json: NaN", within('"x": NaN'), "NaN is no number"
    yield "json: Infinity", within('"x": -Infinity'), "-Infinity is no number"
    yield "json: 1e999", within('"x": 1e999'), "too large a number"
    yield "json: 17 digits", within('"x": 12345678901234567'), "too large a number"
    yield "json: a million digits", within('"x": ' + "9" * 1_000_000), "too large a number"
    yield "json: key twice", within('"version": 2'), "'version' stands twice"
    yield "json: key twice by escape", within('"versio\\u006e": 2'), "'version' stands twice"
    yield "json: key twice within", within('"x": {"a": 1, "a": 1}'), "'a' stands twice"
    yield "json: utf-16", raw(assessment_bytes().decode().encode("utf-16")), "not written in UTF-8"
    yield "json: latin-1", raw(b'{"x": "caf\xe9"}'), "not written in UTF-8"
    yield "json: byte-order mark", raw(b"\xef\xbb\xbf" + assessment_bytes()), "byte-order mark"
    yield "json: overlong letters", raw(b'{"x": "\xc0\xaf"}'), "not written in UTF-8"
    yield "json: half a letter", document(lambda one: one.update(reason="\ud800")), "half a letter"
    yield "json: control sign", raw(b'{"x": "a\nb"}'), "no proper JSON"
    yield "json: zero byte", raw(b'{"x": "a\0b"}'), "no proper JSON"
    yield "json: 25 deep", within('"x": ' + "[" * 24 + "]" * 24), "nested more than 24 deep"
    yield "json: 100000 deep", raw(b"[" * 100_000), "nested more than 24 deep"
    yield "json: deep objects", raw(b'{"a":' * 100_000), "nested more than 24 deep"
    yield "json: a million parts", raw(b"[" + b"0," * 1_000_000 + b"0]"), "more than 120000 parts"
    yield "json: a text without end", raw(b'{"' + b'\\"' * 1_000_000), "no proper JSON"
    yield "json: backslashes without end", raw(b'"' + b'\\"' * 1_000_000 + b"\\"), "no proper JSON"


def documents() -> Iterator[Case]:
    """JSON that is sound and says the wrong things."""
    yield "newer format", document(lambda one: one.update(format=2)), "made by a newer evalkit"
    yield "newer format of a report", document(lambda one: one.update(format=7), "marking"), "made by a newer evalkit"
    yield "format nought", document(lambda one: one.update(format=0)), "does not say that it is format 1"
    yield "format true", document(lambda one: one.update(format=True)), "does not say that it is format 1"
    yield "format as text", document(lambda one: one.update(format="1")), "does not say that it is format 1"
    yield "no format", document(lambda one: one.pop("format")), "does not say that it is format 1"
    yield "other kind", document(lambda one: one.update(kind="marking")), "of kind assessment"
    yield "no kind", document(lambda one: one.pop("kind")), "of kind assessment"
    yield "unknown field", document(lambda one: one.update(grade=100)), "grade: '100' cannot stand here"
    yield "unknown field within", document(lambda one: one["assessment"].update(grade=100)), "assessment, grade"
    yield "version as text", document(lambda one: one.update(version="1")), "version"
    yield "version nought", document(lambda one: one.update(version=0)), "version"
    yield "version 1.0", document(lambda one: one.update(version=1.5)), "version"
    yield "later version without reason", document(lambda one: one.update(version=2)), "needs its reason"
    yield "moment without zone", document(lambda one: one.update(sealed_at="2026-11-25T10:00:00")), "sealed_at"
    yield "no moment", document(lambda one: one.pop("sealed_at")), "sealed_at"
    yield "no assessment", document(lambda one: one.pop("assessment")), "assessment"
    yield (
        "assessment of another round",
        document(lambda one: one["assessment"].update(round_key="lin-1")),
        "another round",
    )
    yield (
        "report of another round",
        document(lambda one: one["report"].update(round="lin-1"), "report"),
        "another round",
    )
    yield (
        "other rubric",
        document(lambda one: one["marking"].update(rubric_digest="0" * 64), "marking"),
        "different rubrics",
    )
    yield "hundreds of faults", document(lambda one: one["assessment"].update(pairs=[{}] * 300)), "has 300 faults"
    yield "report without its round", document(lambda one: one["report"].pop("round"), "report"), "nor its round"
    yield "report of another format", document(lambda one: one["report"].update(format=2), "report"), "nor its round"
    yield (
        "number twice",
        document(lambda one: one["assessment"]["pairs"].append(one["assessment"]["pairs"][0])),
        "twice",
    )
    yield "a key that is a path", document(lambda one: one["assessment"].update(trainee_key="../teo")), "trainee_key"
    yield "a note without end", document(lambda one: one["assessment"].update(letter="x" * 20_001)), "letter"
    yield "a secret told", document(
        lambda one: one["round"]["pairs"][0].update(difficulty=5), "round"), "difficulty: '5' cannot"  # fmt: skip
    yield (
        "a pair that cannot be",
        document(lambda one: one["round"]["pairs"][0].update(size_in="5.3"), "round"),
        "quarter",
    )
    yield "a round without pairs", document(lambda one: one["round"].update(pairs=[]), "round"), "round, pairs"


def pictures() -> Iterator[Case]:
    """Pictures that are something else, or too much."""
    jpg, png = picture(), picture("blue", "PNG")
    inner = zipped([Item("x.txt", b"hello")])
    yield "picture and archive", shows(jpg + inner), "an archive at the same time"
    yield "picture and page", shows(jpg + b"<script>alert(1)</script>"), "a web page at the same time"
    yield "picture and paper", shows(jpg[:20] + b"%PDF-1.7" + jpg[20:]), "a PDF at the same time"
    yield "archive named a picture", shows(inner), "no picture that evalkit can read"
    yield "page named a picture", shows(PAGE), "no picture that evalkit can read"
    yield "drawing named a picture", shows(b"<svg xmlns='http://www.w3.org/2000/svg'/>"), "no picture"
    yield "a film strip", shows(gif()), "no picture that evalkit can read"
    yield "empty picture", shows(b""), "the picture is empty"
    yield "head of a picture", shows(jpg[:30]), "cut short or damaged"
    yield "png named jpg", shows(png), "another kind than its name says"
    yield "jpg named png", shows(jpg, "png"), "another kind than its name says"
    yield "gigantic picture", shows(promised(60_000, 60_000), "png"), "too many pixels"
    yield "broad picture", shows(promised(2_000_000_000, 1), "png"), "too many pixels"
    yield "other name", shows(jpg, name=f"photos/{hashlib.sha256(png).hexdigest()}.jpg"), "not the one its name says"
    yield (
        "named and absent",
        lambda: packet_of({"assessment.json": assessment_bytes(photo_name(jpg))}),
        "not in the packet",
    )
    yield (
        "present and unnamed",
        lambda: packet_of({"assessment.json": assessment_bytes(), photo_name(jpg): jpg}),
        "no document names",
    )
    yield (
        "named by a path",
        lambda: packet_of({"assessment.json": assessment_bytes("../../tip.jpg")}),
        "not in the packet",
    )
    yield (
        "named by an address",
        lambda: packet_of({"assessment.json": assessment_bytes("http://127.0.0.1/x.jpg")}),
        "not in",
    )


DOCUMENTS = (*files(), *json_texts(), *documents(), *pictures())
