"""How a pair is described, line by line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.cli.fault_hints import fault_words

if TYPE_CHECKING:
    from evalkit.domain.pair import KnownFault, Pair

UNKNOWN = "unknown"


def described_lines(pair: Pair) -> list[str]:
    """Everything that 'pair show --json' has of the description; what nobody wrote down is said to be unknown."""
    return [
        f"Declared value: {_value(pair)}",
        f"Weight: {_measure(pair.weight_g, 'g')}",
        f"Difficulty: {_difficulty(pair)}",
        *_faults(pair),
        f"Size: {pair.size_in} in, {_size_method(pair)}; blade length: {_measure(pair.blade_length_mm, 'mm')}",
        f"For the {pair.hand} hand; handle: {pair.handle}; make: {pair.make}; edge line: {pair.edge_line}",
        f"Pivot: {pair.pivot or UNKNOWN}",
        *([f"Teeth: {pair.teeth or UNKNOWN}"] if pair.edge_type == "toothed" else []),
        f"Origin: {_one_line(pair.origin) or UNKNOWN}",
    ]


def _value(pair: Pair) -> str:
    return "none declared" if pair.declared_value is None else f"{pair.declared_value} {pair.currency}"


def _measure(number: float | None, unit: str) -> str:
    from evalkit.reports.figures import number_words

    return UNKNOWN if number is None else f"{number_words(number)} {unit}"


def _difficulty(pair: Pair) -> str:
    from evalkit.reports.box_words import DIFFICULTIES

    return f"{pair.difficulty} of 5, {DIFFICULTIES[pair.difficulty]}"


def _size_method(pair: Pair) -> str:
    return "method unknown" if pair.size_method == UNKNOWN else f"measured {pair.size_method}"


def _faults(pair: Pair) -> list[str]:
    if not pair.faults:
        return ["Known faults: none written down"]
    return ["Known faults:", *(f"  {_fault(fault)}" for fault in pair.faults)]


def _fault(fault: KnownFault) -> str:
    remark = _one_line(fault.note)
    return fault_words(fault) + (f": {remark}" if remark else "")


def _one_line(text: str) -> str:
    return " ".join(text.split())
