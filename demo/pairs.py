"""Each pair of a box as it truly is: what was written by hand of it, and the rest from skill, habit and luck."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from evalkit.domain.pair import Blade, Pair, Station
from evalkit.domain.reading import Place
from evalkit.domain.triage import Decision, IntakeClass

from . import bench
from .earning import spot_of
from .script import Scenario, ScriptedPair, ScriptedRound, ScriptedTrainee


@dataclass(frozen=True, slots=True)
class TruePair:
    """One pair of one box with everything known of it."""

    number: int
    pair: Pair
    box: ScriptedRound
    trainee: ScriptedTrainee
    script: ScriptedPair
    is_scripted: bool
    intake: IntakeClass
    spot: Place
    truth: dict[str, int]
    own: dict[str, int]
    seed: str

    def rng(self, what: str) -> Random:
        """Luck for one purpose, the same on every run."""
        return bench.luck_of(self.seed, what)

    @property
    def side(self) -> bench.Side:
        """On which side of its band the tension falls short, when it does: one and the same for every eye."""
        return bench.side_of(self.pair, self.rng("side"))

    @property
    def is_left(self) -> bool:
        return self.script.decision is Decision.LEAVE


def true_pairs(scenario: Scenario, key: str) -> tuple[TruePair, ...]:
    """Every pair of a box as it truly is, in the order of the numbers."""
    box = scenario.get_round(key)
    trainee = scenario.get_trainee(box.trainee)
    untested = _numbers_without_hair(scenario, box)
    return tuple(
        _bench(scenario, box, trainee, number, is_without_hair=number in untested)
        for number in range(1, len(box.pairs) + 1)
    )


def _numbers_without_hair(scenario: Scenario, box: ScriptedRound) -> frozenset[int]:
    """On which numbers the trainee stopped at tissue: those written by hand, filled up to the box's count."""
    said = {one.number for one in box.scripted}
    without = {one.number for one in box.scripted if "hair" in one.untested}
    free = [number for number in range(1, len(box.pairs) + 1) if number not in said]
    n_more = min(len(free), max(0, box.n_hair_untested - len(without)))
    return frozenset(bench.luck_of(scenario.seed, box.key, "hair").sample(free, n_more))


def _bench(
    scenario: Scenario, box: ScriptedRound, trainee: ScriptedTrainee, number: int, *, is_without_hair: bool
) -> TruePair:
    pair = scenario.get_pair(box.pairs[number - 1])
    seed = f"{scenario.seed}/{box.key}/{number}"
    found = box.find_script(number)
    script = found or ScriptedPair(number=number, untested=("hair",) if is_without_hair else ())
    rng = bench.luck_of(seed)
    truth = bench.true_levels(box.skill, trainee.skills, pair.difficulty, rng) | script.levels
    own = bench.own_levels(truth, box.bias, trainee.habits, rng) | script.own_levels
    return TruePair(
        number=number,
        pair=pair,
        box=box,
        trainee=trainee,
        script=script,
        is_scripted=found is not None,
        intake=script.intake or bench.intake_of(pair, rng),
        spot=spot_of(script.spot) if script.spot else _weak_spot(rng),
        truth=truth,
        own=own,
        seed=seed,
    )


def _weak_spot(rng: Random) -> Place:
    """Tips fail more often than heels, and heels more often than the middle."""
    return Place(rng.choice(list(Blade)), rng.choices(list(Station), (3, 2, 5))[0])
