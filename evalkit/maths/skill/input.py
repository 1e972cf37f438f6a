"""Observations as they stand in JSON, read into arrays; everything that carries no answer is refused here.

Shapes: R rounds, N the largest number of pairs in a round, C criteria. Level -1 means: not seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill.hyper import Hyper

Floats = NDArray[np.float64]
Levels = NDArray[np.int8]


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What was seen of one trainee."""

    n_levels: int
    required_level: int
    criteria: tuple[str, ...]
    must_pass: tuple[int, ...]
    """Positions of the must-pass criteria."""
    round_names: tuple[int | str, ...]
    months: Floats
    """(R,), not falling."""
    level: Levels
    """The mentor's levels, (R, N, C)."""
    self_level: Levels
    """The trainee's own levels, (R, N, C)."""
    difficulty: Floats
    """(R, N); 0 is ordinary, 1 is a step harder."""
    present: NDArray[np.bool_]
    """Where there is a pair at all, (R, N)."""
    mentors: tuple[str, ...]
    mentor: NDArray[np.int64]
    """Position of each pair's mentor, (R, N); -1 where none is named."""
    tags: Mapping[str, NDArray[np.bool_]]
    """Which pairs wear a tag, (R, N) each."""

    @property
    def n_rounds(self) -> int:
        return len(self.round_names)

    def through(self, n_rounds: int) -> Seen:
        """What had been seen at the end of round number `n_rounds`, counted from 1."""
        return Seen(
            self.n_levels, self.required_level, self.criteria, self.must_pass, self.round_names[:n_rounds],
            self.months[:n_rounds], self.level[:n_rounds], self.self_level[:n_rounds], self.difficulty[:n_rounds],
            self.present[:n_rounds], self.mentors, self.mentor[:n_rounds],
            {name: worn[:n_rounds] for name, worn in self.tags.items()},
        )  # fmt: skip

    def offset(self, hyper: Hyper) -> Floats:
        """The known part that is taken from the predictor: difficulty, tags and severity, (R, N, C)."""
        offset = np.repeat((hyper.difficulty_effect * self.difficulty)[..., None], len(self.criteria), axis=2)
        for name, worn in self.tags.items():
            effects = hyper.tag_effect.get(name, {})
            offset += worn[..., None] * np.array([effects.get(key, 0.0) for key in self.criteria])
        severity = np.array([*(hyper.severity.get(name, 0.0) for name in self.mentors), 0.0])
        return np.asarray(offset + severity[self.mentor][..., None])


def read_observations(given: Mapping[str, Any]) -> Seen:
    """Read the JSON object. Raises UnusableInputError, naming the round, pair and criterion at fault."""
    n_levels, required = _scale(given)
    criteria = _names(given.get("criteria"), "criteria")
    must_pass = _names(given.get("must_pass", []), "must_pass", may_be_empty=True)
    strange = [name for name in must_pass if name not in criteria]
    if strange:
        raise UnusableInputError(f"must_pass names {', '.join(strange)}, which the criteria do not hold.")
    names, months = _rounds(given.get("rounds"))
    by_round = _pairs_by_round(given.get("pairs"), names)
    shape = (len(names), max((len(pairs) for pairs in by_round), default=0))
    level = np.full((*shape, len(criteria)), NOT_SEEN, dtype=np.int8)
    self_level = level.copy()
    difficulty, present = np.zeros(shape), np.zeros(shape, dtype=bool)
    mentor = np.full(shape, -1)
    mentors = sorted({str(pair["mentor"]) for pairs in by_round for pair in pairs if pair.get("mentor") is not None})
    seats = {name: i for i, name in enumerate(mentors)}
    tags: dict[str, NDArray[np.bool_]] = {}
    column = {name: c for c, name in enumerate(criteria)}
    for r, pairs in enumerate(by_round):
        for i, pair in enumerate(pairs):
            where = f"round {names[r]}, pair {pair.get('pair')}"
            present[r, i] = True
            difficulty[r, i] = _finite(pair.get("difficulty", 0.0), f"{where}: difficulty")
            if pair.get("mentor") is not None:
                mentor[r, i] = seats[str(pair["mentor"])]
            for tag in pair.get("tags", ()):
                tags.setdefault(str(tag), np.zeros(shape, dtype=bool))[r, i] = True
            _fill(level[r, i], pair.get("scores", {}), column, n_levels, where)
            _fill(self_level[r, i], pair.get("self") or {}, column, n_levels, f"{where}, self")
    if not np.any(level != NOT_SEEN):
        raise UnusableInputError("No criterion of any pair was scored; there is nothing to estimate skill from.")
    return Seen(
        n_levels, required, tuple(criteria), tuple(column[name] for name in must_pass), tuple(names), months, level,
        self_level, difficulty, present, tuple(mentors), mentor, tags,
    )  # fmt: skip


def _scale(given: Mapping[str, Any]) -> tuple[int, int]:
    n_levels, required = given.get("levels"), given.get("required_level")
    if not isinstance(n_levels, int) or isinstance(n_levels, bool) or not 2 <= n_levels <= 100:
        raise UnusableInputError(f"levels must be a whole number from 2 to 100, not {n_levels!r}.")
    if not isinstance(required, int) or isinstance(required, bool) or not 1 <= required < n_levels:
        raise UnusableInputError(f"required_level must be a whole number from 1 to {n_levels - 1}, not {required!r}.")
    return n_levels, required


def _names(given: object, what: str, *, may_be_empty: bool = False) -> list[str]:
    if not isinstance(given, Sequence) or isinstance(given, str) or not (given or may_be_empty):
        raise UnusableInputError(f"{what} must be a list of names.")
    names = [str(name) for name in given]
    if len(set(names)) != len(names):
        raise UnusableInputError(f"{what} holds a name twice.")
    return names


def _finite(value: object, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise UnusableInputError(f"{what} must be a finite number, not {value!r}.")
    return float(value)


def _rounds(given: object) -> tuple[list[int | str], Floats]:
    if not isinstance(given, Sequence) or not given:
        raise UnusableInputError("There is no round yet; skill can only be estimated from rounds that were marked.")
    names: list[int | str] = []
    months: list[float] = []
    for entry in given:
        name = entry.get("round")
        month = _finite(entry.get("months"), f"round {name}: months")
        if name in names:
            raise UnusableInputError(f"Round {name} is there twice; keep the marking that counts.")
        if months and month < months[-1]:
            raise UnusableInputError(
                f"Round {name} (month {month:g}) comes after round {names[-1]} (month {months[-1]:g}); "
                "put the rounds in the order of their dates or mend the date."
            )
        names.append(name)
        months.append(month)
    return names, np.array(months)


def _pairs_by_round(given: object, names: list[int | str]) -> list[list[Mapping[str, Any]]]:
    if not isinstance(given, Iterable):
        raise UnusableInputError("pairs must be a list.")
    by_round: dict[int | str, list[Mapping[str, Any]]] = {name: [] for name in names}
    known: set[tuple[Any, Any]] = set()
    for pair in given:
        key = (pair.get("round"), pair.get("pair"))
        if key[0] not in by_round:
            raise UnusableInputError(f"Pair {key[1]} belongs to round {key[0]}, which is not among the rounds.")
        if key in known:
            raise UnusableInputError(f"Round {key[0]}, pair {key[1]} is there twice; keep the marking that counts.")
        known.add(key)
        by_round[key[0]].append(pair)
    return list(by_round.values())


def _fill(row: Levels, scores: Mapping[str, Any], column: Mapping[str, int], n_levels: int, where: str) -> None:
    for name, value in scores.items():
        if name not in column:
            raise UnusableInputError(f"{where}: {name!r} is not among the criteria.")
        if value is None:
            continue
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < n_levels:
            raise UnusableInputError(f"{where}: the level of {name!r} must be 0 to {n_levels - 1}, not {value!r}.")
        row[column[name]] = value
