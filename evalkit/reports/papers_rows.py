"""What stands on the papers of a box: labels, packing list, return slip, checklist, the likely declaration.

They go in the box, so nothing on them says how hard a pair is, what is known to be wrong with it, or who thinks what.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from evalkit.domain.amounts import amount_words
from evalkit.domain.codes import COUNTRIES, CURRENCIES
from evalkit.domain.posting import HS_CODE, Declaration, Unknown, declaration_for
from evalkit.domain.round import LegKind, NumberedPair, Round
from evalkit.reports.codes import CodeRow, code_of
from evalkit.reports.figures import day_words, list_words, pairs_words, score_words
from evalkit.reports.papers_texts import (
    CAUTIONS,
    DESCRIPTION,
    HEADING,
    HEADLINES,
    LIMITS,
    NO_FORM,
    PACKING,
    RETURNING,
)

BLANK = ""
"""A line to write on by hand: what is not known is left open, never guessed."""
CODE_WORD = "evalkit"


@dataclass(frozen=True, slots=True)
class LabelRow:
    """One label: a person reads it first, a telephone second."""

    number: str
    tag: str
    round_key: str
    pair: str
    code: CodeRow


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One line of the packing list. `value` says so when none is declared."""

    number: str
    tag: str
    pair: str
    hs: str
    value: str


@dataclass(frozen=True, slots=True)
class DeclarationRow:
    """Which declaration is likely asked for, and why."""

    headline: str
    why: tuple[str, ...]
    description: str
    heading: str


@dataclass(frozen=True, slots=True)
class PapersRow:
    """All pages but the labels."""

    round_key: str
    made_on: str
    mentor: str
    trainee: str
    from_country: str
    to_country: str
    made_in: str
    n_pairs: str
    weight: str
    reference: str
    items: tuple[ItemRow, ...]
    totals: tuple[str, ...]
    declaration: DeclarationRow
    photo: str | None
    """Address of the picture of all pairs laid out."""
    packing: tuple[str, ...]
    returning: tuple[str, ...]
    cautions: tuple[str, ...]
    no_form: str


@dataclass(frozen=True, slots=True)
class Posting:
    """What the mentor says of the journey; None where she does not."""

    from_country: str | None = None
    to_country: str | None = None
    made_in: str | None = None
    weight_kg: Decimal | None = None
    rate: Decimal | None = None
    """What one SDR is worth in the currency of the box."""
    value_sdr: Decimal | None = None


def label_rows(round_: Round) -> tuple[LabelRow, ...]:
    """Labels in the order of the numbers."""
    return tuple(
        LabelRow(str(n.number), n.pair.tag, round_.key, n.pair.words, code_of(code_words(round_, n)))
        for n in _in_order(round_)
    )


def code_words(round_: Round, numbered: NumberedPair) -> str:
    """What the code of a label says: evalkit:teo-3:7:S-104."""
    return f"{CODE_WORD}:{round_.key}:{numbered.number}:{numbered.pair.tag}"


def papers_row(round_: Round, posting: Posting, *, made_on: date, photo: str | None = None) -> PapersRow:
    """Everything the papers say; blanks stay blank."""
    values, unvalued = values_of(round_)
    declaration = declaration_for(
        values,
        len(unvalued),
        weight_kg=posting.weight_kg,
        pairs_kg=pairs_kg(round_),
        rate=posting.rate,
        value_sdr=posting.value_sdr,
    )
    sent = next((leg for leg in round_.legs if leg.kind is LegKind.SENT), None)
    return PapersRow(
        round_key=round_.key,
        made_on=day_words(made_on),
        mentor=round_.mentor.name,
        trainee=round_.trainee.name,
        from_country=_country(posting.from_country),
        to_country=_country(posting.to_country),
        made_in=_country(posting.made_in),
        n_pairs=amount_words(len(round_.pairs), "pair"),
        weight=BLANK if posting.weight_kg is None else f"{posting.weight_kg} kg",
        reference=sent.carrier_ref if sent else BLANK,
        items=tuple(_item(numbered) for numbered in _in_order(round_)),
        totals=_totals(values, unvalued),
        declaration=_declaration(declaration, pairs_kg(round_)),
        photo=photo,
        packing=PACKING,
        returning=RETURNING,
        cautions=CAUTIONS,
        no_form=NO_FORM,
    )


def values_of(round_: Round) -> tuple[dict[str, Decimal], tuple[int, ...]]:
    """Declared value of the box by currency, and the numbers of pairs without one."""
    values: dict[str, Decimal] = {}
    unvalued = []
    for numbered in _in_order(round_):
        pair = numbered.pair
        if pair.currency is None or pair.declared_value is None:
            unvalued.append(numbered.number)
        else:
            values[pair.currency] = values.get(pair.currency, Decimal(0)) + pair.declared_value
    return values, tuple(unvalued)


def pairs_kg(round_: Round) -> Decimal | None:
    """What the pairs weigh together, without any packing; None while the weight of one is not known."""
    grams = [numbered.pair.weight_g for numbered in round_.pairs]
    known = [Decimal(str(one)) for one in grams if one is not None]
    return sum(known, Decimal(0)) / 1000 if len(known) == len(grams) else None


def doubts_of(round_: Round) -> tuple[str, ...]:
    """What a mentor should mend before she prints; empty when there is nothing."""
    values, unvalued = values_of(round_)
    doubts = []
    if unvalued:
        doubts.append(
            f"No declared value: {pairs_words(unvalued)}. Unknown is not nothing: declare it with "
            "'evalkit pair change TAG --value 25 --currency EUR', then print again."
        )
    strange = sorted(set(values) - CURRENCIES)
    if strange:
        doubts.append(f"Not a currency of ISO 4217 that is known here: {list_words(strange)}.")
    return tuple(doubts)


def _in_order(round_: Round) -> list[NumberedPair]:
    return sorted(round_.pairs, key=lambda numbered: numbered.number)


def _country(code: str | None) -> str:
    return BLANK if code is None else f"{COUNTRIES[code]} ({code})"


def _item(numbered: NumberedPair) -> ItemRow:
    pair = numbered.pair
    value = "not declared" if pair.declared_value is None else f"{pair.declared_value:.2f} {pair.currency}"
    return ItemRow(str(numbered.number), pair.tag, pair.words, HS_CODE, value)


def _totals(values: Mapping[str, Decimal], unvalued: Sequence[int]) -> tuple[str, ...]:
    sums = [f"{amount:.2f} {currency}" for currency, amount in sorted(values.items())]
    if unvalued:
        sums.append(f"not declared: {pairs_words(unvalued)}")
    return tuple(sums)


def _declaration(found: Declaration, alone_kg: Decimal | None) -> DeclarationRow:
    known = []
    if found.value_sdr is not None:
        least = "at least " if Unknown.VALUE in found.missing else ""
        known.append(f"Declared value: {least}{score_words(float(found.value_sdr))} SDR.")
    if found.weight_kg is not None:
        known.append(f"Weight: {found.weight_kg} kg.")
    elif alone_kg is not None:
        known.append(f"The pairs alone weigh {alone_kg.normalize():f} kg; the packing comes on top.")
    if found.missing:
        known.append(f"Not known: {list_words([one.value for one in found.missing])}.")
    return DeclarationRow(
        HEADLINES[found.form], (*known, LIMITS, "The carrier and customs decide."), DESCRIPTION, HEADING
    )
