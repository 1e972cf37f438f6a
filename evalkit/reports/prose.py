"""A user's words made safe to show: CommonMark with raw HTML off, then only what is allowed by name."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup

if TYPE_CHECKING:
    from markdown_it import MarkdownIt

ALLOWED_TAGS = {"p", "br", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "hr", "a"} | {
    f"h{level}" for level in range(1, 7)
}
ALLOWED_ATTRIBUTES = {"a": {"href", "title"}, "ol": {"start"}}
ALLOWED_SCHEMES = {"http", "https", "mailto"}
HEADING_SHIFT = 3
"""Headings in notes stand below those of the report."""


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False, "maxNesting": 12})
    parser.add_render_rule("image", lambda _self, tokens, at, _options, _env: f"[{_escaped(tokens[at].content)}]")
    return parser


def _escaped(text: str) -> str:
    from markupsafe import escape

    return str(escape(text))


def to_safe_html(text: str) -> Markup:
    """Notes as HTML that can do nothing: no raw HTML, no images, no scripts, links to http, https and mailto only."""
    import nh3

    parser = _parser()
    tokens = parser.parse(text)
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(int(token.tag[1]) + HEADING_SHIFT, 6)}"
    rendered = parser.renderer.render(tokens, parser.options, {})
    clean = nh3.clean(
        rendered,
        tags=ALLOWED_TAGS,
        attributes=ALLOWED_ATTRIBUTES,
        url_schemes=ALLOWED_SCHEMES,
        link_rel="noopener noreferrer",
    )
    return Markup(clean)  # noqa: S704 - cleaned just above


MARKDOWN_MARKS = str.maketrans({sign: f"\\{sign}" for sign in "\\`*_{}[]<>|#"})


def to_inert_line(text: str) -> str:
    """One line of a user's words for Markdown: every sign that could mean something is escaped."""
    return " ".join(text.split()).translate(MARKDOWN_MARKS)


def to_quoted(text: str) -> str:
    """A user's prose for Markdown: quoted line by line, raw HTML escaped, so that it stays the user's."""
    lines = text.strip().replace("&", "&amp;").replace("<", "&lt;").splitlines()
    return "\n".join(f"> {line}".rstrip() for line in lines)
