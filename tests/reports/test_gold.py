"""The report of the small round against what was looked at and found good.

Renew with EVALKIT_RENEW_GOLD=1 and read the difference before you commit it. Style and the outlines of drawings are
scrubbed: how it looks is judged by eye, and which mark stands where is told in `test_blades.py`.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from evalkit.reports.formats import MAKERS, Format, Job

GOLD = Path(__file__).parent.parent / "gold"


def scrubbed(text: str) -> str:
    text = re.sub(r"<style>.*?</style>", "<style></style>", text, flags=re.DOTALL)
    return re.sub(r"<(path|rect|circle) [^>]*/>", r"<\1/>", text)


@pytest.mark.parametrize("one", [Format.HTML, Format.MD, Format.JSON])
def test_the_report_is_as_it_was_found_good(one: Format, job: Job):
    path = GOLD / f"small-round.{one}"
    made = scrubbed(MAKERS[one](job).decode())
    if os.environ.get("EVALKIT_RENEW_GOLD"):
        path.write_text(made, encoding="utf-8", newline="\n")
    assert made == path.read_text(encoding="utf-8")


def test_the_report_does_not_hang_on_the_dice_of_one_run(job: Job):
    """Sets of words come out in another order in another run; nothing a reader sees may."""
    import subprocess
    import sys

    code = (
        "from tests.reports.conftest import job_of; from tests.reports.values import result_of; import hashlib;"
        "from evalkit.reports.formats import MAKERS, Format; j = job_of(result_of());"
        "print(hashlib.sha256(b''.join(MAKERS[one](j) for one in (Format.HTML, Format.MD, Format.JSON))).hexdigest())"
    )
    answers = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(GOLD.parent.parent)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(answers) == 1
