"""The bench book: one self-contained HTML page for a round, which the trainee fills in without any network."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from markupsafe import Markup

from evalkit.domain.round import Round
from evalkit.domain.rubric import Rubric
from evalkit.files.places import templates_dir
from evalkit.reports.bench_rows import ask_rows, bench_row
from evalkit.reports.pages import environment

SCRIPTS = (
    "numbers", "texts", "places", "readings", "levels", "triage", "work", "draft", "assessment", "checks",
    "sha256", "zip", "bag",
    "dom", "fields", "dialogs", "store", "keeper", "trusting", "carrying", "pictures", "shell", "blades",
    "home", "beforehand", "device", "pair", "stage", "reading", "seeing", "remarks", "undoing", "measuring", "deciding",
    "working", "steps", "verdict", "photos", "sealing", "sealed", "paper", "routes",
)  # fmt: skip
"""The page's own JavaScript, in this order, as one script: rules first, then the world, then what is seen."""


def bench_book(round_: Round, rubric: Rubric, practise: Sequence[str]) -> str:
    """The page. `practise` are the last report's things to practise, one line each; none for a first round."""
    style, script, vendor = _style(), _script(), _read("vendor/fflate.js")
    policy = (
        f"default-src 'none'; script-src '{_sha256(script)}' '{_sha256(vendor)}'; style-src '{_sha256(style)}'; "
        "img-src blob: data:; base-uri 'none'; form-action 'none'"
    )
    return (
        environment()
        .get_template("bench/page.html")
        .render(
            round=round_,
            policy=Markup(policy),  # noqa: S704 - our own words and digests
            style=Markup(style),  # noqa: S704 - our own file
            script=Markup(script),  # noqa: S704 - our own files
            vendor=Markup(vendor),  # noqa: S704 - a library's file, kept with its licence
            data=_json(asdict(bench_row(round_, rubric, practise))),
            asks=ask_rows(round_, rubric),
        )
    )


def _script() -> str:
    """All scripts as one, in strict mode, inside one function, so that nothing leaks into the page."""
    joined = "\n".join(_read(f"js/{name}.js") for name in SCRIPTS)
    return f'(() => {{\n"use strict";\n{joined}}})();\n'


def _style() -> str:
    return _read("bench.css")


def _read(name: str) -> str:
    return Path(templates_dir(), "bench", name).read_text(encoding="utf-8")


def _sha256(text: str) -> str:
    """A source for the page's policy: the text between the tags, sign for sign."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _json(value: object) -> Markup:
    """JSON that cannot end the element it stands in: no sign that HTML knows is left in it."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # noqa: S704 - cleaned just above
