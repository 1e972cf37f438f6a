"""A hidden skill moving through time, seen only through ordered levels.

`fit` takes two JSON objects and answers a third, so that any case can be checked from outside. `prior` says how skill
may move, `blocks` and `posterior` find it, `second_order` corrects one trainee's, `gaps` learns the ladder, `chance`
looks at the next pair, `judgement` at the trainee's own eyes, `school` at many trainees and several mentors.
"""

from __future__ import annotations

from evalkit.maths.skill.fitting import (
    SkillPath,
    evidence,
    fit,
    path_of,
    prior_check,
    skill_mixture,
    skill_mixtures,
    skill_path,
)

__all__ = ["SkillPath", "evidence", "fit", "path_of", "prior_check", "skill_mixture", "skill_mixtures", "skill_path"]
