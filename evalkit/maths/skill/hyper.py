"""The numbers a skill fit takes as given: priors, effects and the rule's settings, with their defaults."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from enum import StrEnum
from typing import Any

from evalkit.maths.errors import UnusableInputError

DEFAULT_GAP = 1.8
DEFAULT_GAP_LOG_SD = 0.7
DEFAULT_DIFFICULTY_SD = 0.2
DEFAULT_TAG_EFFECT = 0.6
"""What a fault tag takes from the criteria it names, where nothing else is known; no tag names any by itself."""


class Method(StrEnum):
    """How the posterior is found when the thresholds are given; learnt gaps always use GVB."""

    LAPLACE2 = "laplace2"
    GVB = "gvb"


@dataclass(frozen=True, slots=True)
class Hyper:
    """Hyper-parameters in logits and months. Every default was chosen on simulated trainees, none on real ones."""

    method: Method = Method.LAPLACE2
    thresholds: tuple[float, ...] | None = None
    """Given thresholds; None: the gaps between them are learnt with a log-normal prior."""
    gap_median: float | tuple[float, ...] = DEFAULT_GAP
    """Prior median of the gaps: one for all of them, or one for each."""
    gap_log_sd: float | tuple[float, ...] = DEFAULT_GAP_LOG_SD
    initial_mean: float = -0.5
    initial_sd: float = 1.5
    rw_sd: float = 0.6
    """SD of the walk per square root of a month."""
    general_share: float = 0.6
    pair_sd: float = 0.6
    difficulty_effect: float = 0.8
    difficulty_effect_sd: float = DEFAULT_DIFFICULTY_SD
    """The doubt about the worth of one step of difficulty; 0 takes it as known."""
    tag_effect: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    severity: Mapping[str, float] = field(default_factory=dict)
    """A mentor who is not named counts as average (0)."""
    slope_mean: float = 0.0
    slope_sd: float = 0.0
    self_slope: float = 1.6
    bias_sd: float = 1.2
    bias_rw_sd: float = 0.3
    bias_share: float = 0.6
    bias_pair_sd: float = 0.4
    horizon_months: float = 0.0
    target: float = 0.8
    confidence: float = 0.9
    min_pairs: int = 20
    min_cells: int = 10
    draws: int = 4096

    def __post_init__(self) -> None:
        _check(self)

    def moved(self, *, initial_mean: float = 0.0, difficulty_effect: float = 0.0) -> Hyper:
        """The same with the initial mean or the difficulty effect moved by so much."""
        return replace(
            self,
            initial_mean=self.initial_mean + initial_mean,
            difficulty_effect=self.difficulty_effect + difficulty_effect,
        )


_POSITIVE = ("gap_median", "gap_log_sd", "initial_sd", "pair_sd", "self_slope", "bias_sd", "bias_pair_sd")
_NOT_NEGATIVE = ("rw_sd", "bias_rw_sd", "difficulty_effect_sd", "slope_sd", "horizon_months", "min_pairs", "min_cells")
_SHARES = ("general_share", "bias_share")
_CHANCES = ("target", "confidence")


def _check(hyper: Hyper) -> None:
    for part in fields(hyper):
        value = getattr(hyper, part.name)
        if isinstance(value, float | int) and not math.isfinite(value):
            raise UnusableInputError(f"hyper {part.name} must be a finite number, not {value}.")
    rules: tuple[tuple[tuple[str, ...], Callable[[float], bool], str], ...] = (
        (_POSITIVE, lambda x: x > 0, "above 0"),
        (_NOT_NEGATIVE, lambda x: x >= 0, "0 or more"),
        (_SHARES, lambda x: 0 <= x < 1, "at least 0 and below 1"),
        (_CHANCES, lambda x: 0 < x < 1, "between 0 and 1"),
    )
    for names, holds, wanted in rules:
        for name in names:
            value = getattr(hyper, name)
            if not all(holds(x) for x in (value if isinstance(value, tuple) else (value,))):
                raise UnusableInputError(f"hyper {name} must be {wanted}, not {getattr(hyper, name)}.")
    if hyper.draws < 64:
        raise UnusableInputError(f"hyper draws must be at least 64, not {hyper.draws}.")
    if hyper.thresholds is not None:
        steps = [b - a for a, b in zip(hyper.thresholds, hyper.thresholds[1:], strict=False)]
        if not hyper.thresholds or not all(math.isfinite(x) for x in hyper.thresholds) or any(s <= 0 for s in steps):
            raise UnusableInputError(f"hyper thresholds must rise, not {list(hyper.thresholds)}.")


def read_hyper(given: Mapping[str, Any]) -> Hyper:
    """Hyper-parameters from a JSON object; what is left out takes its default.

    A `difficulty_effect` given without its `difficulty_effect_sd` is taken as known, and so are given `thresholds`.
    Raises UnusableInputError for unknown names and impossible values.
    """
    names = {part.name for part in fields(Hyper)}
    unknown = sorted(set(given) - names)
    if unknown:
        raise UnusableInputError(f"hyper does not know {', '.join(unknown)}; it knows {', '.join(sorted(names))}.")
    values: dict[str, Any] = {name: _read_value(name, value) for name, value in given.items()}
    if "difficulty_effect" in values:
        values.setdefault("difficulty_effect_sd", 0.0)
    return Hyper(**values)


def _read_value(name: str, value: object) -> object:
    match name:
        case "method":
            return _method(value)
        case "thresholds" | "gap_median" | "gap_log_sd" if isinstance(value, list | tuple):
            return tuple(_number(x, name) for x in value)
        case "thresholds":
            if value is not None:
                raise UnusableInputError(f"hyper thresholds must be a list, not {value!r}.")
            return None
        case "severity":
            return {key: _number(x, name) for key, x in _mapping(value, name).items()}
        case "tag_effect":
            tags = _mapping(value, name)
            return {tag: {c: _number(x, name) for c, x in _mapping(tags[tag], name).items()} for tag in tags}
        case "draws" | "min_pairs" | "min_cells":
            return int(_number(value, name))
        case _:
            return _number(value, name)


def _method(value: object) -> Method:
    try:
        return Method(str(value))
    except ValueError:
        raise UnusableInputError(f"hyper method must be laplace2 or gvb, not {value!r}.") from None


def _mapping(value: object, name: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise UnusableInputError(f"hyper {name} must be an object, not {value!r}.")
    return value


def _number(value: object, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise UnusableInputError(f"hyper {name} must be a finite number, not {value!r}.")
    return float(value)
