"""Progress for other programs: numbers, not words. Its JSON Schema is published in templates/progress.schema.json."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date

from evalkit.domain.pair import EdgeType
from evalkit.domain.school_values import SchoolValues
from evalkit.progress.counting import RoundCounts, Spread
from evalkit.progress.faults import FaultView
from evalkit.progress.history import History
from evalkit.progress.learning import DriftWatch, Signal
from evalkit.reports.model_document import model_document
from evalkit.reports.progress_shapes import (
    FORMAT,
    AsideDocument,
    EdgeDocument,
    EdgesTogetherDocument,
    FaultsDocument,
    KnownFaultDocument,
    LearntDocument,
    LeftOutDocument,
    PlaceDocument,
    ProgressDocument,
    RoundDocument,
    SetAsideDocument,
    SignalDocument,
    SignOffDocument,
    SpreadDocument,
)
from evalkit.reports.readiness_document import latest_document, readiness_document, share_document


def progress_document(history: History, *, made_on: date) -> ProgressDocument:
    """The document of one history."""
    left = history.observed.left_out
    return ProgressDocument(
        trainee=history.trainee.key,
        made_on=made_on,
        edge_types=tuple(kind.value for kind in history.scope or history.observed.edge_types),
        readiness=readiness_document(history.readiness),
        counted=latest_document(history.latest),
        rounds=tuple(_round(one) for one in history.counts),
        by_edge_type=tuple(
            EdgeDocument(
                edge_type=one.edge_type.value,
                n_pairs=one.n_pairs,
                readiness=readiness_document(one.readiness),
                counted=latest_document(one.latest),
            )
            for one in history.by_edge_type
        ),
        edge_types_together=_together(history),
        model=model_document(history.modelled, history) if history.modelled else None,
        learning=_signal(history.learning),
        faults_then=_faults(history.then) if history.then else None,
        faults_now=_faults(history.now) if history.now else None,
        sign_offs=_sign_offs(history),
        set_aside=tuple(
            SetAsideDocument(round=one.result.round.key, why=one.why.value) for one in history.line.set_aside
        ),
        left_out=LeftOutDocument(
            not_seen=left.not_seen,
            in_transit=left.in_transit,
            unsettled=left.unsettled,
            surely_short=left.surely_short,
            n_outside=history.observed.n_outside,
        ),
        known_faults=tuple(
            KnownFaultDocument(tag=one.tag, n_pairs=one.n_pairs, criteria=one.criteria)
            for one in history.observed.faults
        ),
        learnt_from_school=learnt_document(history.values),
    )


def learnt_document(values: SchoolValues | None) -> LearntDocument | None:
    """What learnt values rest on; None where the defaults stand."""
    if values is None:
        return None
    return LearntDocument(**{name: getattr(values, name) for name in LearntDocument.model_fields})


def progress_json(history: History, *, made_on: date) -> str:
    """One JSON document, keys in a fixed order."""
    return progress_document(history, made_on=made_on).model_dump_json(indent=2) + "\n"


def progress_schema() -> str:
    """The JSON Schema (draft 2020-12) of `progress_json`."""
    schema = ProgressDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _spread(spread: Spread) -> SpreadDocument:
    return SpreadDocument(n=spread.n, median=spread.median, low=spread.low, high=spread.high)


def _round(one: RoundCounts) -> RoundDocument:
    return RoundDocument(
        round=one.key,
        on=one.on,
        months=one.months,
        n_pairs=one.n_pairs,
        n_in_box=one.n_in_box,
        aside=tuple(AsideDocument(why=each.why, numbers=each.numbers) for each in one.aside),
        n_ordinary=one.n_ordinary,
        n_easier=one.n_easier,
        n_harder=one.n_harder,
        accepted=share_document(one.accepted),
        n_rework=one.n_rework,
        n_not_shown=one.n_not_shown,
        every_must_pass=share_document(one.passed),
        would_have_gone_out=share_document(one.gone_out),
        n_accepted_unjudged=one.n_accepted_unjudged,
        catch=share_document(one.catch),
        false_alarm=share_document(one.false_alarm),
        n_not_looked=one.n_not_looked,
        harmed=share_document(one.harmed),
        worse_own_eyes=share_document(one.worse_own_eyes),
        worse_mentor_eyes=share_document(one.worse_mentor_eyes),
        found=share_document(one.found),
        imagined=share_document(one.imagined),
        n_found_not_looked=one.n_found_not_looked,
        minutes=_spread(one.minutes),
        removed_mm=_spread(one.removed_mm),
        is_blind=one.is_blind,
    )


def _together(history: History) -> EdgesTogetherDocument | None:
    found = history.edges_together
    if found is None:
        return None
    return EdgesTogetherDocument(joint=found.chance, n_pairs=found.n_pairs, is_apart=found.is_apart)


def _signal(signal: Signal) -> SignalDocument:
    by = signal.signalled_by
    return SignalDocument(
        n_pairs=len(signal.trials),
        n_not_shown=signal.n_not_shown,
        score=signal.score,
        limit=signal.limit,
        signalled_at=f"{by.round_key} {by.number}" if by else None,
    )


def _faults(view: FaultView) -> FaultsDocument:
    return FaultsDocument(
        rounds=view.round_keys,
        n_pairs=view.n_pairs,
        places=tuple(
            PlaceDocument(
                blade=one.place.blade.value if one.place.blade else None,
                station=one.place.station.value if one.place.station else None,
                n_below=one.n_below,
                n_seen=one.n_seen,
            )
            for one in view.places
        ),
    )


def _sign_offs(history: History) -> tuple[SignOffDocument, ...]:
    watches: list[DriftWatch] = list(history.watches)
    return tuple(
        SignOffDocument(
            edge_types=tuple(kind.value for kind in one.edge_types),
            mentor=one.mentor_key,
            signed_on=one.signed_on,
            answers={kind.value: words for kind, words in one.answers.items()},
            withdrawn_on=one.withdrawn_on,
            reason=one.reason,
            since=next((_signal(watch.signal) for watch in watches if watch.sign_off == one), None),
        )
        for one in history.sign_offs
    )


def evidence_json(histories: Mapping[EdgeType, History], *, made_on: date) -> str:
    """What a sign-off keeps: the whole document of each edge type as it stood, in one JSON object."""
    told = {
        kind.value: progress_document(history, made_on=made_on).model_dump(mode="json")
        for kind, history in histories.items()
    }
    return json.dumps({"format": FORMAT, "made_on": made_on.isoformat(), "edge_types": told}, ensure_ascii=False)
