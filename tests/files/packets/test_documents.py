"""The documents of a packet: their published schemas, and that a round packet tells nothing it must not."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from evalkit.errors import InputError
from evalkit.files.packets import PacketKind, open_packet, write_packet
from evalkit.files.packets.documents import DOCUMENTS, FORMAT, AssessmentDocument, document_bytes, read_document
from evalkit.files.packets.schemas import document_schema
from evalkit.files.packets.shown_round import shown_round
from evalkit.files.places import templates_dir
from tests.files.packets.samples import KEY, MADE_ON, assessment, assessment_bytes, files_of, round_

SECRETS = (
    "faults",
    "difficulty",
    "called_for",
    "origin",
    "declared_value",
    "currency",
    "nick",
    "41.5",
    "Harrow",
    "QX-77",
    "taped",
)


def published(kind: str) -> Path:
    return templates_dir() / "packets" / f"{kind}.schema.json"


def validator(kind: str) -> Draft202012Validator:
    schema = json.loads(published(kind).read_text(encoding="utf-8"))
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


@pytest.mark.parametrize("kind", DOCUMENTS)
def test_the_published_schema_is_fresh_and_a_schema(kind: str):
    if os.environ.get("EVALKIT_RENEW_GOLD"):
        published(kind).parent.mkdir(exist_ok=True)
        published(kind).write_text(document_schema(kind), encoding="utf-8")
    assert published(kind).read_text(encoding="utf-8") == document_schema(kind), "renew it: EVALKIT_RENEW_GOLD=1"
    Draft202012Validator.check_schema(json.loads(document_schema(kind)))


def test_no_schema_is_published_of_what_is_not_there():
    assert {path.name for path in published("x").parent.iterdir()} == {f"{kind}.schema.json" for kind in DOCUMENTS}


@pytest.mark.parametrize("kind", PacketKind)
def test_every_document_of_a_written_packet_keeps_to_its_schema(kind: PacketKind, tmp_path: Path):
    write_packet(tmp_path / "out.zip", kind, round_key=KEY, made_on=MADE_ON, files=files_of(kind))
    with open_packet(tmp_path / "out.zip") as packet:
        names = [name for name in packet.names if name.endswith(".json")]
        assert names
        for name in names:
            document = json.loads(packet.read(name))
            assert list(document)[:2] == ["format", "kind"]
            assert document["format"] == FORMAT
            validator(name.removesuffix(".json")).validate(document)


@pytest.mark.parametrize("kind", DOCUMENTS)
@pytest.mark.parametrize("wrong", [{"format": 2}, {"kind": "x"}, {"grade": 100}, {"format": None}])
def test_the_schema_refuses_what_the_reader_refuses(kind: str, wrong: dict[str, object]):
    files = files_of(PacketKind.REPORT) | files_of(PacketKind.ROUND)
    spoilt = json.loads(files[f"{kind}.json"]) | wrong
    assert not validator(kind).is_valid(spoilt)
    with pytest.raises(InputError):
        read_document(json.dumps(spoilt).encode(), kind, "here")


@pytest.mark.parametrize("kind", DOCUMENTS)
def test_a_document_read_and_written_again_is_the_same(kind: str):
    data = (files_of(PacketKind.REPORT) | files_of(PacketKind.ROUND))[f"{kind}.json"]
    assert document_bytes(read_document(data, kind, "here")) == data


def test_a_parsed_assessment_is_the_one_that_was_sealed(tmp_path: Path):
    files = {"assessment.json": assessment_bytes()}
    write_packet(tmp_path / "out.zip", PacketKind.ASSESSMENT, round_key=KEY, made_on=MADE_ON, files=files)
    with open_packet(tmp_path / "out.zip") as packet:
        assert packet.parsed("assessment.json", AssessmentDocument).assessment == assessment()


def test_what_stands_at_its_default_may_be_left_out():
    """As a bench book in the browser writes it, which knows nothing of our defaults."""
    plain = {
        "format": 1, "kind": "assessment", "version": 1, "reason": "", "sealed_at": "2026-11-25T10:00:00.000Z",
        "assessment": {"round_key": KEY, "trainee_key": "teo", "rubric_digest": "0" * 64, "pairs": [{"number": 1}]},
    }  # fmt: skip
    validator("assessment").validate(plain)
    document = read_document(json.dumps(plain).encode(), "assessment", "here")
    assert isinstance(document, AssessmentDocument)
    assert document.assessment.pairs[0].number == 1


# --- what a trainee must not learn -----------------------------------------------------------------------------------


def test_a_round_document_tells_none_of_the_mentors_secrets():
    text = files_of(PacketKind.ROUND)["round.json"].decode()
    assert [word for word in SECRETS if word in text] == []
    known = json.dumps([pair.model_dump(mode="json") for pair in round_().pairs]) + round_().legs[0].model_dump_json()
    assert [word for word in SECRETS if word not in known] == [], "the round has no such secret, so nothing was tested"


def test_its_schema_has_no_place_for_them():
    assert re.findall("|".join(SECRETS[:6]), document_schema("round")) == []


def test_the_shown_round_is_the_round_but_for_the_secrets():
    shown = shown_round(round_()).as_round()
    assert (shown.key, shown.trainee, shown.mentor, shown.rubric_digest) == (
        KEY, round_().trainee, round_().mentor, round_().rubric_digest,
    )  # fmt: skip
    for one, whole in zip(shown.pairs, round_().pairs, strict=True):
        assert one.number == whole.number
        assert one.pair.model_dump() == whole.pair.model_dump() | {
            "faults": (), "difficulty": 2, "declared_value": None, "currency": None, "origin": "",
        }  # fmt: skip
        assert one.called_for is None
    assert [(leg.kind, leg.happened_on) for leg in shown.legs] == [(leg.kind, leg.happened_on) for leg in round_().legs]
    assert shown_round(shown) == shown_round(round_())
