"""The bench book's own rules, loaded from its files into a browser, to be asked question by question."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

from evalkit.files.places import templates_dir

RULES = ("numbers", "texts", "places", "readings", "levels", "triage", "work")
"""The scripts that touch neither the page nor the device."""

ASKED = (
    "numberOf", "convert", "openDegFromGap", "lengthMm", "lengthText", "levelOf", "seenOf", "possibleClasses",
    "combined", "levelOfPlaces", "workFaults", "lineOf", "proseOf",
)  # fmt: skip


def load_rules(page: Page) -> None:
    """Makes `rules.numberOf` and the others known to what the page evaluates."""
    texts = [(templates_dir() / "bench" / "js" / f"{name}.js").read_text(encoding="utf-8") for name in RULES]
    page.evaluate(f"() => {{ 'use strict'; {' '.join(texts)} window.rules = {{ {', '.join(ASKED)} }}; }}")


def ask(page: Page, expression: str, cases: list[Any], **more: Any) -> list[Any]:
    """The answer of a JavaScript expression for each case, named `it`; NaN comes back as the text 'NaN'."""
    asked = f"""({{ cases, more }}) => cases.map((it) => {{
        const answer = {expression};
        return typeof answer === "number" && Number.isNaN(answer) ? "NaN" : answer;
    }})"""
    answers = page.evaluate(asked, {"cases": cases, "more": more})
    assert isinstance(answers, list)
    return answers
