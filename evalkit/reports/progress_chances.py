"""Modelled chances in words: near the ends a bound is said, never a point that looks surer than it is."""

from __future__ import annotations

import math

from evalkit.reports.figures import SLACK, chance_words

NEAR_TOP = 98
"""From here on, in per cent, a skill read from some dozens of pairs is told as 'over 98 %' and no finer."""
NEAR_BOTTOM = 100 - NEAR_TOP


def modelled_words(chance: float) -> str:
    """'87 %'; 'over 98 %' and 'under 2 %' where whole per cents would round to 99 or 1."""
    if is_near_top(chance):
        return f"over {NEAR_TOP} %"
    return f"under {NEAR_BOTTOM} %" if chance < (NEAR_BOTTOM - 0.5) / 100 else chance_words(chance)


def is_near_top(chance: float) -> bool:
    """Would it be told as 'over 98 %'?"""
    return chance > (NEAR_TOP + 0.5) / 100


def band_words(low: float, high: float) -> str:
    """'82 to 93 %': ends rounded outward; 'over 98 %' for a band that would round to a point, '94 to over 99 %'."""
    least, most = math.floor(low * 100 + SLACK), math.ceil(high * 100 - SLACK)
    if least >= NEAR_TOP:
        return f"over {NEAR_TOP} %"
    if most <= NEAR_BOTTOM:
        return f"under {NEAR_BOTTOM} %"
    return f"{least or 'under 1'} to {most if most < 100 else 'over 99'} %"
