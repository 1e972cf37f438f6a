"""The words that stand in every report: how it was reckoned, and the cautions."""

from __future__ import annotations

from evalkit.domain.rubric import Rubric

CAUTIONS = tuple(
    " ".join(text.split())
    for text in """
    Blades: work with the blades apart and the edge away from you; never close a pair on a burr; carry it closed.

    Powered abrasives: eye and face protection; guard and rests as the maker and local rules say; no gloves or loose
    sleeves near a wheel; wet or extract the dust and wear a fitted respirator where dust is raised.

    Salon pairs have been used on people: clean, then disinfect by the product's label before anything else.

    Test on tissue, swatches or mannequin hair. Nobody unlicensed cuts a living person's hair as a test.

    Post blades closed, guarded, cushioned and truly declared; the carrier and customs have the last word.

    Local codes and licensed practice come before anything in this report.
    """.strip().split("\n\n")
)

METHOD = """
Levels run from 0 to {top}; {fit} is fit for a customer. A criterion with several places takes them combined as the
rubric says (worst, median or mean, rounded down).

Score = 100 × the sum of weight × level, divided by {top} × the sum of weights, over the criteria that count for the
pair's edge type. Scores are rounded down, the upper end of a range up.

What was not tested is never a nought and never a pass: it is taken at 0 and at {top}, which gives the range.

Accepted: every must-pass reached, nothing that counts at 0, score at least {mark}, however the unknowns turn out.
Rework: not so, however they turn out. Otherwise the verdict is not shown.

A fault is a mentor's level below fit for a customer. It was caught if the trainee's level was below fit as well.

Shares carry 95 % intervals (Wilson); from few pairs they are wide, and that is the truth of it. Under 5 pairs no
coefficient is given.

Agreement beyond chance is the weighted kappa (quadratic weights on the full scale), 'likely' its 95 % interval.

Practise next: weight × the levels short of fit, summed over the pairs, / the pairs on which it was seen; doubled for a
must-pass.

In a drawing each place shows the worst level seen there; a small ? says that something there was not tested.
"""


INTAKE = """
Found as received: the mentor read the pairs before posting; a fault there is a level of hers below fit. It was found if
the trainee's level as received was below fit as well; imagined is a fault seen where hers was fit. Pairs that the way
out spoiled are left out. What the work did is judged by the mentor's own eyes both times on the pairs she read.
"""


def method_words(rubric: Rubric, *, has_intake: bool = False) -> tuple[str, ...]:
    """How the figures of a report were reckoned, one paragraph each."""
    text = METHOD.format(top=rubric.top, fit=rubric.fit, mark=rubric.mark) + (INTAKE if has_intake else "")
    return tuple(" ".join(paragraph.split()) for paragraph in text.strip().split("\n\n"))
