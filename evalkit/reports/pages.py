"""The one Jinja environment: templates from the templates folder, escaping on, the few filters named here."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from evalkit.files.places import templates_dir
from evalkit.reports.prose import to_inert_line, to_quoted, to_safe_html


@lru_cache(maxsize=1)
def environment() -> Environment:
    """HTML templates are autoescaped; Markdown ones pass every user word through `line` or `quoted`."""
    made = Environment(
        loader=FileSystemLoader(templates_dir()),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters.update(prose=to_safe_html, line=to_inert_line, quoted=to_quoted)
    return made
