"""Values as a school of invented trainees might have taught them."""

from __future__ import annotations

from datetime import date

from evalkit.domain.school_values import Contrast, SchoolValues

VALUES = SchoolValues(
    learnt_on=date(2026, 9, 1),
    n_trainees=7,
    n_rounds=21,
    n_pairs=210,
    n_levels=600,
    top=3,
    fit=2,
    first_skill=-0.2,
    first_skill_sd=1.1,
    walk_sd=0.4,
    shared=0.5,
    pair_sd=0.7,
    step=1.1,
    step_error=0.15,
    gaps=(1.4, 2.1),
    gap_doubts=(0.05, 0.06),
    faults={"nick": {"burr": 0.9}},
    strictness={"berit": 0.3, "oda": -0.3},
    parts=(("berit", "oda"), ("siv",)),
    contrasts=(Contrast(one="berit", other="oda", by=0.6, error=0.1),),
)
