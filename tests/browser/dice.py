"""Readings drawn at random, as a page keeps them and as the record has them."""

from __future__ import annotations

import math
import random
from typing import Any

from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import Pair
from evalkit.domain.reading import CutResult, NotSeen, Reading, SeenCut, SeenLevel, SeenMeasure, Stage, Unseen
from evalkit.domain.round import NumberedPair
from evalkit.domain.rubric import Rubric


class DiceHand:
    """Reads a pair at random, as a page keeps it and as the record has it."""

    def __init__(self, seed: int, rubric: Rubric) -> None:
        self.dice = random.Random(seed)
        self.rubric = rubric

    def pair(self, numbered: NumberedPair) -> tuple[dict[str, Any], list[Reading]]:
        """({name in the draft: kept reading}, the same as readings)."""
        kept: dict[str, Any] = {}
        readings = []
        share_read = self.dice.choice((0.3, 0.8, 1.0, 1.0))
        for on in self.rubric.on(numbered.pair.edge_type):
            worst = self.dice.choice((0, 1, 2, 2, 3, 3))
            for place in on.places if on.use != "not applicable" else ():
                if self.dice.random() > share_read:
                    continue
                one, seen = self._seen(on, numbered.pair, worst)
                name = "|".join(("as received", on.key, place.blade or "", place.station or ""))
                kept[name] = one
                readings.append(
                    Reading(
                        number=numbered.number, stage=Stage.AS_RECEIVED, criterion=on.key,
                        blade=place.blade, station=place.station, seen=seen,
                    )
                )  # fmt: skip
        return kept, readings

    def _seen(self, on: CriterionOn, pair: Pair, worst: int) -> tuple[dict[str, Any], Any]:
        dice = self.dice
        if dice.random() < 0.06:
            fitting = [why for why in Unseen if why is not Unseen.NOT_APPLICABLE or on.must_pass is None]
            why = dice.choice(fitting)
            return {"way": "unseen", "why": why}, NotSeen(why=why)
        if on.kind is Kind.CUT and dice.random() < 0.9:
            return self._cut(on, worst)
        if on.kind is Kind.MEASURED and dice.random() < 0.8:
            return self._measure(on, pair)
        level = dice.randint(min(worst, self.rubric.top), self.rubric.top)
        return {"way": "level", "level": level}, SeenLevel(level=level)

    def _cut(self, on: CriterionOn, worst: int) -> tuple[dict[str, Any], Any]:
        good = [result for result in CutResult if on.cuts[result] >= worst] or [CutResult.CLEAN]
        medium, result = self.dice.choice(on.criterion.media), self.dice.choice(good)
        push = self.dice.choice(("", "0,5", "1", "2", "2.5", "5", "7")) if result is CutResult.PUSH else ""
        kept = {"way": "cut", "medium": medium, "result": result, "push": push}
        return kept, SeenCut(medium=medium, result=result, push_mm=float(push.replace(",", ".")) if push else None)

    def _measure(self, on: CriterionOn, pair: Pair) -> tuple[dict[str, Any], Any]:
        ends = [end for _, low, high in on.bands for end in (low, high) if math.isfinite(end)]
        number = max(0.0, round(self.dice.choice(ends) + self.dice.choice((0, 0, 0.1, -0.1, 3)), 3))
        unit = Unit(on.unit or "")
        others = {Unit.MM: Unit.INCH, Unit.DEG_INCLUDED: Unit.DEG_DIAL}
        if self.dice.random() < 0.3 and unit in others:
            number, unit = round(convert(number, unit, others[unit]), 4), others[unit]
        elif self.dice.random() < 0.3 and unit is Unit.DEG_OPEN and pair.blade_length_mm:
            number, unit = self.dice.choice((5.0, 20.0, 41.0, 61.5)), Unit.MM_TIP_GAP
        kept = {"way": "measure", "text": repr(number), "unit": unit}
        is_drop = on.unit is Unit.DEG_OPEN
        if is_drop and self.dice.random() < 0.5:
            ring, start = self.dice.choice(("thumb", "finger")), self.dice.choice(("90", "45", ""))
            kept |= {"ring": ring, "start": start}
            start_deg = float(start) if start else None
            return kept, SeenMeasure(number=number, unit=unit, ring=ring, start_deg=start_deg)
        return kept, SeenMeasure(number=number, unit=unit)
