"""What a box needs on its way as far as a rule can say it: the heading of the goods, and which declaration is likely.

Sources: HS heading 8213, 'scissors, tailors' shears and similar shears, and blades therefor' (Harmonized System); CN 22
for letter post under 300 SDR and up to 2 kg, CN 23 above that and for parcels (Universal Postal Union). Both from
memory. The carrier and the customs of both countries have the last word; nothing here is advice on law.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

HS_CODE = "8213.00"
SDR_LIMIT = Decimal(300)
LETTER_LIMIT_KG = Decimal(2)


class Form(StrEnum):
    """Which declaration of the Universal Postal Union is likely asked for in letter post; a parcel takes CN 23."""

    CN22 = "CN 22"
    CN23 = "CN 23"
    NOT_KNOWN = "not known"


class Unknown(StrEnum):
    """What is missing to tell."""

    WEIGHT = "the weight of the box"
    VALUE = "the declared value of every pair"
    RATE = "the value in SDR"


@dataclass(frozen=True, slots=True)
class Declaration:
    """The likely form. `missing` names what is not known; it may be settled all the same."""

    form: Form
    value_sdr: Decimal | None
    weight_kg: Decimal | None
    missing: tuple[Unknown, ...]


def declaration_for(
    values: Mapping[str, Decimal],
    n_unvalued: int,
    *,
    weight_kg: Decimal | None = None,
    pairs_kg: Decimal | None = None,
    rate: Decimal | None = None,
    value_sdr: Decimal | None = None,
) -> Declaration:
    """From declared values by currency. `rate` is what one SDR is worth in the one currency of the box.

    Unknown is not nothing: with a pair of unknown value the sum is only a least value, which may still be too much for
    CN 22; so may the pairs alone be too heavy (`pairs_kg`) while the packed box was not weighed. A `value_sdr` that is
    given stands for the whole box.
    """
    least, missing = value_sdr, []
    if value_sdr is None:
        if n_unvalued or not values:
            missing.append(Unknown.VALUE)
        if rate is None or len(values) != 1:
            missing.append(Unknown.RATE)
        else:
            least = next(iter(values.values())) / rate
    if weight_kg is None:
        missing.append(Unknown.WEIGHT)
    heaviest = pairs_kg if weight_kg is None else weight_kg
    is_over = (least is not None and least >= SDR_LIMIT) or (heaviest is not None and heaviest > LETTER_LIMIT_KG)
    within = Form.NOT_KNOWN if missing else Form.CN22
    return Declaration(Form.CN23 if is_over else within, least, weight_kg, tuple(missing))
