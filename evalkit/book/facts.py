"""What the history says of each thing: a name that is unique in the book, and what stands under it.

An act writes these when it changes something; `check` makes them again from the tables and compares.
"""

from __future__ import annotations

from datetime import datetime

from evalkit.book.canonical import Plain, digest_of, plain, text_digest
from evalkit.book.history import Fact
from evalkit.book.kept import KeptIntake, KeptSignOff, PhotoRow, SealedAssessment, TakenPacket
from evalkit.book.schema import moment_text
from evalkit.domain.assessment import Photo
from evalkit.domain.life import Retirement
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.round import Leg, Person, Round


def person_fact(person: Person, role: str, added_at: datetime) -> Fact:
    """A mentor or trainee."""
    return f"person {person.key}", {"role": role, "name": person.name, "at": moment_text(added_at)}


def pair_fact(pair: Pair, version: int, written_at: datetime) -> Fact:
    """One description of a pair."""
    return f"pair {pair.tag} v{version}", {"pair": plain(pair), "at": moment_text(written_at)}


def rubric_fact(key: str, version: int, digest: str, frozen_at: datetime) -> Fact:
    """A frozen rubric, by its content."""
    return f"rubric {key} v{version}", {"digest": digest, "at": moment_text(frozen_at)}


def round_fact(round_: Round, added_at: datetime) -> Fact:
    """Without pairs and legs, which are facts of their own."""
    return f"round {round_.key}", {
        "trainee": round_.trainee.key,
        "mentor": round_.mentor.key,
        "rubric": round_.rubric_digest,
        "planned_on": round_.planned_on.isoformat(),
        "numbers": [numbered.number for numbered in round_.pairs],
        "at": moment_text(added_at),
    }


def numbered_fact(round_key: str, number: int, tag: str, version: int, called_for: str | None) -> Fact:
    """Which description of which pair wears a number."""
    return f"round {round_key} number {number}", {"tag": tag, "version": version, "called_for": called_for}


def leg_fact(round_key: str, position: int, leg: Leg) -> Fact:
    """One step of a box's journey."""
    return f"round {round_key} leg {position}", plain(leg)


def assessment_fact(sealed: SealedAssessment) -> Fact:
    """A sealed assessment, by its seal."""
    return f"assessment {sealed.assessment.round_key} v{sealed.version}", {
        "seal": sealed.seal,
        "reason": sealed.reason,
        "at": moment_text(sealed.sealed_at),
    }


def marking_fact(
    marking: Marking, version: int, *, started_at: datetime, finished_at: datetime | None, reason: str
) -> Fact:
    """Without its pairs, which are facts of their own; only their order stands here once the marking is finished."""
    value: Plain = {
        "head": plain(marking.model_copy(update={"pairs": ()})),
        "reason": reason,
        "started_at": moment_text(started_at),
        "finished_at": None if finished_at is None else moment_text(finished_at),
        "numbers": None if finished_at is None else [pair.number for pair in marking.pairs],
    }
    return f"marking {marking.round_key} {marking.mentor_key} v{version}", value


def marked_pair_fact(round_key: str, mentor_key: str, version: int, pair: MarkedPair) -> Fact:
    """One pair of a marking, by its digest."""
    name = f"marking {round_key} {mentor_key} v{version} number {pair.number}"
    return name, {"digest": digest_of(plain(pair))}


def photo_fact(photo: PhotoRow, added_at: datetime) -> Fact:
    """A picture that the book knows."""
    return f"photo {photo.sha256}", {
        "media_type": photo.media_type,
        "n_bytes": photo.n_bytes,
        "width_px": photo.width_px,
        "height_px": photo.height_px,
        "at": moment_text(added_at),
    }


def opening_fact(round_key: str, number: int | None, who: str, opened_at: datetime) -> Fact:
    """That somebody read an assessment, of one pair or of all."""
    name = f"opening {round_key} {'all' if number is None else number} {who}"
    return name, {"at": moment_text(opened_at)}


def sign_off_fact(kept: KeptSignOff) -> Fact:
    """Its digest, which changes when it is withdrawn."""
    return f"sign-off {kept.number}", {
        "trainee": kept.sign_off.trainee_key,
        "digest": digest_of(plain(kept.sign_off)),
        "at": moment_text(kept.signed_at),
        "withdrawn_at": None if kept.withdrawn_at is None else moment_text(kept.withdrawn_at),
    }


def packet_fact(taken: TakenPacket) -> Fact:
    """A packet that was taken in, by its seal."""
    return f"packet {taken.head.seal}", {
        "kind": taken.head.kind,
        "round": taken.head.round_key,
        "version": taken.head.version,
        "became": taken.became,
        "at": moment_text(taken.taken_at),
    }


def school_values_fact(number: int, content: str, learnt_at: datetime, forgotten_at: datetime | None) -> Fact:
    """The digest of what was learnt, and whether it was forgotten."""
    return f"school values {number}", {
        "digest": text_digest(content),
        "at": moment_text(learnt_at),
        "forgotten_at": None if forgotten_at is None else moment_text(forgotten_at),
    }


def intake_fact(kept: KeptIntake) -> Fact:
    """Readings made before a box was posted, by their digest."""
    return f"intake {kept.intake.round_key} v{kept.version}", {
        "mentor": kept.intake.mentor_key,
        "digest": digest_of(plain(kept.intake)),
        "reason": kept.reason,
        "at": moment_text(kept.taken_at),
    }


def stock_photo_fact(tag: str, position: int, photo: Photo, added_at: datetime) -> Fact:
    """A picture of a pair of the stock."""
    value: Plain = {"photo": photo.file, "caption": photo.caption, "at": moment_text(added_at)}
    return f"stock photo {tag} {position}", value


def retirement_fact(number: int, kept: Retirement) -> Fact:
    """That a pair is sent no more, and whether it was brought back."""
    return f"retirement {number}", {
        "tag": kept.tag,
        "on": kept.retired_on.isoformat(),
        "reason": kept.reason,
        "at": moment_text(kept.retired_at),
        "back_on": None if kept.back_on is None else kept.back_on.isoformat(),
        "back_reason": kept.back_reason,
        "back_at": None if kept.back_at is None else moment_text(kept.back_at),
    }


def second_draft_fact(round_key: str, mentor_key: str, pair: MarkedPair, saved_at: datetime) -> Fact:
    """One pair of a second marking that is being worked on, by its digest."""
    name = f"second draft {round_key} {mentor_key} number {pair.number}"
    return name, {"digest": digest_of(plain(pair)), "at": moment_text(saved_at)}


def second_marking_fact(number: int, round_key: str, mentor_key: str, content: str, taken_at: datetime) -> Fact:
    """Whose, of which round, and the digest of what was written."""
    return f"second marking {number}", {
        "round": round_key,
        "mentor": mentor_key,
        "digest": text_digest(content),
        "at": moment_text(taken_at),
    }
