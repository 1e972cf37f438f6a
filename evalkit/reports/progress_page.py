"""The progress report in every format: one job for one trainee's history."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from evalkit.progress.history import History
from evalkit.reports.pages import environment
from evalkit.reports.progress_rows import ProgressRow, progress_row
from evalkit.settings import Paper


@dataclass(frozen=True)
class ProgressJob:
    """One progress report; rows and page are made once and only when a format asks."""

    history: History
    made_on: date
    paper: Paper

    @property
    def stem(self) -> str:
        """The file's name without its ending: teo-progress, or teo-progress-convex."""
        kinds = [kind.value for kind in self.history.scope]
        return "-".join([self.history.trainee.key, "progress", *kinds])

    @cached_property
    def row(self) -> ProgressRow:
        return progress_row(self.history, made_on=self.made_on)

    @cached_property
    def page(self) -> str:
        return environment().get_template("progress.html").render(report=self.row, paper=self.paper.value)

    @cached_property
    def text(self) -> str:
        return re.sub(r"\n{3,}", "\n\n", environment().get_template("progress.md").render(report=self.row))

    @cached_property
    def data(self) -> str:
        from evalkit.reports.progress_document import progress_json  # its shapes cost a page nothing

        return progress_json(self.history, made_on=self.made_on)
