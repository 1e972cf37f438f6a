"""A user's words made safe to show: CommonMark with raw HTML off, then only what is allowed by name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import nh3
from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup, escape

ALLOWED_TAGS = {"p", "br", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "hr", "a"} | {
    f"h{level}" for level in range(1, 7)
}
ALLOWED_ATTRIBUTES = {"a": {"href", "title"}, "ol": {"start"}}
ALLOWED_SCHEMES = {"http", "https", "mailto"}
HEADING_SHIFT = 3
"""Headings in notes stand below those of the report."""

MAX_NESTING = 40
"""Lists and quotes nested deeper than this are shown as they were typed, because the parser would drop their words."""


class _Parser(MarkdownIt):
    def validateLink(self, url: str) -> bool:  # noqa: N802 - the library's own name
        """What has no scheme by name is no link: beside a file on disk even '//host' and '/path' lead somewhere."""
        scheme, colon, _ = url.partition(":")
        return bool(colon) and scheme.lower() in ALLOWED_SCHEMES


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    parser = _Parser("commonmark", {"html": False, "maxNesting": MAX_NESTING})
    parser.add_render_rule("image", lambda _self, tokens, at, _options, _env: f"[{escape(tokens[at].content)}]")
    return parser


def to_safe_html(text: str) -> Markup:
    """Notes as HTML that can do nothing: no raw HTML, no images, no scripts, links to http, https and mailto only."""
    parser = _parser()
    tokens = parser.parse(text)
    if _is_too_deep(tokens):
        return Markup("<pre>{}</pre>").format(text)
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(int(token.tag[1]) + HEADING_SHIFT, 6)}"
    rendered = parser.renderer.render(tokens, parser.options, {})
    clean = nh3.clean(
        rendered,
        tags=ALLOWED_TAGS,
        attributes=ALLOWED_ATTRIBUTES,
        url_schemes=ALLOWED_SCHEMES,
        attribute_filter=lambda _tag, name, text: None if name == "href" and not text else text,
        link_rel="noopener noreferrer",
    )
    return Markup(clean)  # noqa: S704 - cleaned just above


def _is_too_deep(tokens: Sequence[Token]) -> bool:
    return any(token.level >= MAX_NESTING - 1 for token in tokens)


MARKDOWN_MARKS = str.maketrans({sign: f"\\{sign}" for sign in "\\`*_{}[]<>|#~&"})
STARTS_A_BLOCK = re.compile(r"^(\d*)([-+=.)])(?!\d)")


def to_inert_line(text: str) -> str:
    """One line of a user's words for Markdown: every sign that could mean something is escaped."""
    line = " ".join(text.split()).translate(MARKDOWN_MARKS)
    return STARTS_A_BLOCK.sub(r"\1\\\2", line)


PROSE_MARKS = str.maketrans({"&": "&amp;", "<": "&lt;", "[": "&#91;"})


def to_quoted(text: str) -> str:
    """A user's prose for Markdown, quoted line by line. Raw HTML, links and pictures stay words: nothing is fetched."""
    lines = text.strip().translate(PROSE_MARKS).splitlines()
    return "\n".join(f"> {line}".rstrip() for line in lines)


def to_plain_text(text: str) -> tuple[str, ...]:
    """CommonMark as a terminal can show it: a line for each paragraph or item, without its marks."""
    lines: list[str] = []
    lists: list[int | None] = []
    mark = ""
    for token in _parser().parse(text):
        match token.type:
            case "bullet_list_open":
                lists.append(None)
            case "ordered_list_open":
                lists.append(int(token.attrGet("start") or 1))
            case "bullet_list_close" | "ordered_list_close":
                lists.pop()
            case "list_item_open":
                mark = "  " * (len(lists) - 1) + ("- " if lists[-1] is None else f"{lists[-1]}. ")
                lists[-1] = None if lists[-1] is None else lists[-1] + 1
            case "inline":
                lines.append(mark + _words_of(token.children or ()))
                mark = ""
            case "fence" | "code_block" | "html_block":
                lines += token.content.splitlines()
            case _:
                pass
    return tuple(lines)


def _words_of(tokens: Sequence[Token]) -> str:
    breaks = {"softbreak": " ", "hardbreak": " "}
    return "".join(breaks.get(token.type, token.content) for token in tokens)
