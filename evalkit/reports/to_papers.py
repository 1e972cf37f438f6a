"""The papers of a box in every format: one job for its labels, one for everything else."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from datetime import date
from functools import cached_property

from evalkit.domain.round import Round
from evalkit.reports.label_sheets import PAPER_MM, LabelSheet, paged
from evalkit.reports.pages import environment
from evalkit.reports.papers_rows import PapersRow, Posting, label_rows, papers_row
from evalkit.settings import Paper

FORMAT = 1
"""Number of the JSON format of papers and labels. 1: first."""


@dataclass(frozen=True)
class PapersJob:
    """Packing list, checklist, likely declaration and return slip of one round."""

    round: Round
    posting: Posting
    made_on: date
    paper: Paper
    photo: str | None = None

    @cached_property
    def row(self) -> PapersRow:
        return papers_row(self.round, self.posting, made_on=self.made_on, photo=self.photo)

    @property
    def stem(self) -> str:
        return f"{self.round.key}-papers"

    @cached_property
    def page(self) -> str:
        return environment().get_template("papers.html").render(papers=self.row, paper=self.paper.value)

    @cached_property
    def text(self) -> str:
        return re.sub(r"\n{3,}", "\n\n", environment().get_template("papers.md").render(papers=self.row))

    @cached_property
    def data(self) -> str:
        """Without the picture."""
        return _json({**asdict(self.row), "photo": None})


@dataclass(frozen=True)
class LabelsJob:
    """The labels of one round on one kind of sheet; `first` is the first label that is still on it, from 1."""

    round: Round
    sheet: LabelSheet
    first: int = 1

    @property
    def stem(self) -> str:
        return f"{self.round.key}-{'tags' if self.sheet.is_card else 'labels'}-{self.sheet.key}"

    @cached_property
    def page(self) -> str:
        width_mm, height_mm = PAPER_MM[self.sheet.paper]
        pages = [
            [(*self.sheet.place_of(position), row) for position, row in page]
            for page in paged(label_rows(self.round), self.sheet, self.first)
        ]
        return (
            environment()
            .get_template("labels.html")
            .render(sheet=self.sheet, pages=pages, round_key=self.round.key, paper_mm=(width_mm, height_mm))
        )

    @cached_property
    def text(self) -> str:
        """One line for each label, for a label printer or a pen."""
        return "".join(f"{row.number}\t{row.tag}\t{row.pair}\t{row.code.words}\n" for row in label_rows(self.round))

    @cached_property
    def data(self) -> str:
        labels = [
            {"number": int(row.number), "tag": row.tag, "pair": row.pair, "code": row.code.words}
            for row in label_rows(self.round)
        ]
        return _json({"round": self.round.key, "sheet": self.sheet.key, "labels": labels})


def _json(answer: dict[str, object]) -> str:
    return json.dumps({"format": FORMAT, **answer}, ensure_ascii=False, indent=2) + "\n"
