"""The posteriors that one history asks for, fitted together, which takes half the time of one after another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evalkit.maths.skill import SkillPath, path_of, skill_mixture, skill_mixtures
from evalkit.maths.skill.gaps import LogGaps, Mixture
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.rounds import ends_looked_at, moves_of, rule_of

_Key = tuple[int, float, float]


@dataclass(frozen=True, slots=True)
class Fits:
    """One trainee's posteriors, by the rounds they know of and the assumptions that were moved."""

    seen: Seen
    hyper: Hyper
    known: Mapping[_Key, Mixture]

    @property
    def path(self) -> SkillPath:
        """Skill over all rounds."""
        return path_of(self.seen, self.hyper, self.mixture_of(self.seen, self.hyper))

    def mixture_of(self, seen: Seen, hyper: Hyper, start: LogGaps | None = None) -> Mixture:
        """As asked for; fitted now where nobody foresaw it."""
        found = self.known.get(_key(seen, hyper))
        return skill_mixture(seen, hyper, start) if found is None else found

    def through(self, rounds: list[int]) -> dict[int, SkillPath]:
        """What was known at the end of each of these rounds, counted from 1."""
        ends = [self.seen.through(n) for n in rounds]
        fresh = [end for end in ends if _key(end, self.hyper) not in self.known]
        fitted = dict(
            zip((end.n_rounds for end in fresh), skill_mixtures(fresh, [self.hyper] * len(fresh)), strict=True)
        )
        return {
            end.n_rounds: path_of(end, self.hyper, fitted.get(end.n_rounds) or self.mixture_of(end, self.hyper))
            for end in ends
        }


def fits_of(seen: Seen, hyper: Hyper) -> Fits:
    """All that the readiness rule will look at: the last round ends, and the last one with assumptions moved."""
    rule = rule_of(hyper)
    asked = [(seen, hyper)]
    if seen.must_pass:
        asked += [(end, hyper) for end in ends_looked_at(seen, rule) if end.n_rounds < seen.n_rounds]
        asked += [
            (seen, hyper.moved(**{name: sign * move}))
            for name, move in moves_of(seen, hyper, rule).items()
            for sign in (-1.0, 1.0)
        ]
    fitted = skill_mixtures([one for one, _ in asked], [assumed for _, assumed in asked])
    return Fits(seen, hyper, {_key(*one): mixture for one, mixture in zip(asked, fitted, strict=True)})


def _key(seen: Seen, hyper: Hyper) -> _Key:
    return seen.n_rounds, hyper.initial_mean, hyper.difficulty_effect
