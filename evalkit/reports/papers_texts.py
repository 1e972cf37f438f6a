"""What is printed on the papers of every box alike.

Packing and its cautions: common practice, no source, but where `domain/posting` names one.
"""

from __future__ import annotations

from evalkit.domain.posting import HS_CODE, LETTER_LIMIT_KG, SDR_LIMIT, Form

DESCRIPTION = "used hair scissors, training samples, for sharpening and return"


HEADING = f"HS {HS_CODE}, scissors and their blades; further digits are each country's own."


NO_FORM = (
    "Made for the people who pack and unpack this box. It is not an official form: what may be posted and how, and "
    "which papers it needs, is for the carrier and the customs of both countries to say."
)


PACKING = (
    "Every pair closed, its tips in a guard or a tube, its rings banded or tied.",
    "One pair in each pocket; nothing loose; no edge can cut through to the next pocket or the wall.",
    "A numbered tag wired to the finger ring of each pair, never glued to a blade; its number is that of the list.",
    "Pairs that were used on people: cleaned and disinfected by the product's label, dried and oiled.",
    "Cushioned on all sides in a strong box, with an inner packing around the sharp goods.",
    "No oil, disinfectant or spray can in the box.",
    "A second address label, the packing list and the return slip inside.",
    "All pairs laid out by number and photographed.",
    "Shaken: nothing moves, nothing rattles.",
    "True value declared, never nothing and never 'gift'. Insured both ways; the insurer's rules on sharp goods read.",
    "Proof of posting, reference and photograph kept until the box is back.",
)


RETURNING = (
    "Blades closed, tips guarded, rings banded; each pair in the pocket of its number.",
    "The tags stay on. Parts you took off or replaced are in the box, in a bag with the pair's number.",
    "Disinfected and dry; oil on the pair, no bottle in the box.",
    "Assessment sealed, and the first twelve signs of its seal written below.",
    "Declaration: goods that go back to their owner after sharpening; true value; the number of the way out if asked.",
    "Proof of posting kept until the box has arrived.",
)


HEADLINES = {
    Form.CN22: "Likely CN 22 as a letter, CN 23 as a parcel",
    Form.CN23: "Likely CN 23",
    Form.NOT_KNOWN: "CN 22 or CN 23: not to be told yet",
}


LIMITS = (
    f"In letter post CN 22 serves under {SDR_LIMIT} SDR and up to {LETTER_LIMIT_KG} kg; above that, and for parcels, "
    "it is CN 23."
)


CAUTIONS = (
    "Sharp goods: open the box with the edges away from you, and look before you reach in.",
    "A pair that looks knocked about on arrival: photograph it before anything else, and write it down.",
)
