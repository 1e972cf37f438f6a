"""The report as one self-contained HTML page."""

from __future__ import annotations

from evalkit.reports.pages import environment
from evalkit.reports.rows import ReportRow
from evalkit.settings import Paper


def to_html(report: ReportRow, paper: Paper) -> str:
    """A page that fetches nothing; prints well on `paper`."""
    return environment().get_template("report.html").render(report=report, paper=paper.value)
