"""The report as Markdown."""

from __future__ import annotations

import re

from evalkit.reports.pages import environment
from evalkit.reports.rows import ReportRow


def to_markdown(report: ReportRow) -> str:
    """CommonMark with pipe tables; blank lines are never doubled."""
    text = environment().get_template("report.md").render(report=report)
    return re.sub(r"\n{3,}", "\n\n", text)
