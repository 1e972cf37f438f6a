"""Whether the documents of one packet belong together: one round, one rubric, and the pictures that they name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from evalkit.domain.assessment import AssessedPair
from evalkit.domain.marking import MarkedPair
from evalkit.files.packets.documents import (
    AssessmentDocument,
    Document,
    MarkingDocument,
    PractiseDocument,
    ReportDocument,
    RoundDocument,
    RubricDocument,
)
from evalkit.files.packets.layout import DATA, find_photo_name
from evalkit.files.packets.refusing import not_as_made, shown


def check_together(documents: Mapping[str, Document], names: Iterable[str], round_key: str) -> None:
    """`documents` by kind, `names` of the whole payload. Raises InputError where two of them tell different things."""
    for kind, document in documents.items():
        if _round_of(document) not in {None, round_key}:
            what = f"the document is of another round than the packet, which is of {round_key}."
            raise not_as_made(what, f"{DATA}{kind}.json")
    digests = {digest for document in documents.values() if (digest := _rubric_of(document))}
    if len(digests) > 1:
        raise not_as_made("its documents go by different rubrics.")
    _check_photos(documents.values(), {name for name in names if find_photo_name(name)})


def _round_of(document: Document) -> str | None:
    match document:
        case AssessmentDocument():
            return document.assessment.round_key
        case MarkingDocument():
            return document.marking.round_key
        case RoundDocument():
            return document.round.key
        case ReportDocument():
            return document.round_key
        case RubricDocument() | PractiseDocument():
            return None


def _rubric_of(document: Document) -> str | None:
    match document:
        case AssessmentDocument():
            return document.assessment.rubric_digest
        case MarkingDocument():
            return document.marking.rubric_digest
        case RoundDocument():
            return document.round.rubric_digest
        case RubricDocument():
            return document.rubric.digest
        case ReportDocument() | PractiseDocument():
            return None


def _check_photos(documents: Iterable[Document], there: set[str]) -> None:
    named = {photo.file for pair in _pairs(documents) for photo in pair.photos}
    if missing := sorted(named - there):
        raise not_as_made(f"a picture is named that is not in the packet: {shown(missing[0])}.")
    if extra := sorted(there - named):
        raise not_as_made("no document names this picture.", DATA + extra[0])


def _pairs(documents: Iterable[Document]) -> Iterator[AssessedPair | MarkedPair]:
    for document in documents:
        if isinstance(document, AssessmentDocument):
            yield from document.assessment.pairs
        elif isinstance(document, MarkingDocument):
            yield from document.marking.pairs
