"""The lines that `toml_lines` finds, against what `tomllib` reads from the same text."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from typing import Annotated, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, Field, ValidationError

from evalkit.files.toml_lines import Path, line_of, locate


def paths(value: object, here: Path = ()) -> Iterator[Path]:
    """Every key path of what `tomllib` read, by a walk over its result."""
    match value:
        case dict():
            parts = list(value.items())
        case list():
            parts = list(enumerate(value))
        case _:
            return
    for key, inner in parts:
        yield (*here, key)
        yield from paths(inner, (*here, key))


def value_at(document: object, path: Path) -> object:
    for part in path:
        document = document[part]  # type: ignore[index]
    return document


# --- written by hand: each trap with the line of each path -----------------------------------------------------------

BY_HAND: dict[str, tuple[str, dict[Path, int]]] = {
    "nothing": ("", {}),
    "only a comment": ("# key = 1", {}),
    "a table and its keys": (
        "title = 'x'\n\n[rod]  # [not] = 'this'\nline = 1\n",
        {("title",): 1, ("rod",): 3, ("rod", "line"): 4},
    ),
    "tables in a row": (
        (
            "[[criterion]]\nkey = 'a'\n[criterion.levels]\nx = 1\n\n"
            "[[criterion]]\nkey = 'b'\n[[criterion.on]]\n[[criterion.on]]\nk = 1\n"
        ),
        {
            ("criterion",): 1,
            ("criterion", 0): 1,
            ("criterion", 0, "key"): 2,
            ("criterion", 0, "levels"): 3,
            ("criterion", 0, "levels", "x"): 4,
            ("criterion", 1): 6,
            ("criterion", 1, "key"): 7,
            ("criterion", 1, "on"): 8,
            ("criterion", 1, "on", 0): 8,
            ("criterion", 1, "on", 1): 9,
            ("criterion", 1, "on", 1, "k"): 10,
        },
    ),
    "a table whose header comes after its child's": (
        "[a.b]\nx = 1\n[a]\ny = 2\n",
        {
            ("a",): 3,
            ("a", "b"): 1,
            ("a", "b", "x"): 2,
            ("a", "y"): 4,
        },
    ),
    "dotted and quoted keys": (
        'a . b = 1\na."c.d" = 2\n\'e=[f]#\'.g = 3\n"\\u00e9\\"" = 4\n"" = 5\n[ x . "]" ]\n3.14 = \'pi\'\n',
        {
            ("a",): 1,
            ("a", "b"): 1,
            ("a", "c.d"): 2,
            ("e=[f]#",): 3,
            ("e=[f]#", "g"): 3,
            ('é"',): 4,
            ("",): 5,
            ("x",): 6,
            ("x", "]"): 6,
            ("x", "]", "3"): 7,
            ("x", "]", "3", "14"): 7,
        },
    ),
    "long strings with traps inside": (
        'a = """\n[x]\nb = 1 # no\n\\""" \n"" """\nc = \'\'\'\n[[y]]\n\\\'\'\'\'\'\nd = """x\\\\"""\ne = 1\n',
        {("a",): 1, ("c",): 6, ("d",): 9, ("e",): 10},
    ),
    "short strings with traps inside": (
        'a = "\\"] # = [b]\\\\"\nb = \'c:\\\'\nc = \'\'\nd = ""\ne = [\'#\', "]"] # ]\n',
        {("a",): 1, ("b",): 2, ("c",): 3, ("d",): 4, ("e",): 5, ("e", 0): 5, ("e", 1): 5},
    ),
    "lists over many lines": (
        "a = [ # first\n  1, # ]\n  [2,\n   3], [],\n\n  # none\n  { b = 4, c.d = [5] },\n]\nz = [\n]\n",
        {
            ("a",): 1,
            ("a", 0): 2,
            ("a", 1): 3,
            ("a", 1, 0): 3,
            ("a", 1, 1): 4,
            ("a", 2): 4,
            ("a", 3): 7,
            ("a", 3, "b"): 7,
            ("a", 3, "c"): 7,
            ("a", 3, "c", "d"): 7,
            ("a", 3, "c", "d", 0): 7,
            ("z",): 9,
        },
    ),
    "a long string inside a list": ("a = ['''\n,\n''', 2]\nb = 1\n", {("a",): 1, ("a", 0): 1, ("a", 1): 3, ("b",): 4}),
    "dates, numbers and truth": (
        "a = 2026-11-25 07:30:00\nb = [2026-11-25, 07:30:00]\nc = { x = true, y = -inf }\nd=1_000#x\n",
        {("a",): 1, ("b",): 2, ("b", 0): 2, ("b", 1): 2, ("c",): 3, ("c", "x"): 3, ("c", "y"): 3, ("d",): 4},
    ),
    "lines that end as on Windows": (
        "a = 1\r\n\r\n[b] # x\r\nc = '''\r\n[d]\r\n'''\r\ne = [\r\n1,\r\n]\r\n",
        {("a",): 1, ("b",): 3, ("b", "c"): 4, ("b", "e"): 7, ("b", "e", 0): 8},
    ),
    "tabs, and no newline at the end": ("\ta\t=\t1\n\t[ b ]\t\n\tc\t=\t[\t]", {("a",): 1, ("b",): 2, ("b", "c"): 3}),
}


@pytest.mark.parametrize(("text", "expected"), BY_HAND.values(), ids=BY_HAND.keys())
def test_each_trap_has_its_lines(text: str, expected: dict[Path, int]) -> None:
    assert set(paths(tomllib.loads(text))) == set(expected), "the expectation itself is wrong"
    assert locate(text) == expected


def test_a_text_that_is_no_toml_is_refused_rather_than_followed() -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        locate('a = [1, "')


# --- generated documents ---------------------------------------------------------------------------------------------

NASTY = '[x]\n= "#\' ]}\\ """ é'
KEYS = st.text("ab1-_", min_size=1, max_size=3) | st.text(NASTY, max_size=3)
SCALARS = st.integers(-5, 5) | st.text(NASTY, max_size=8) | st.booleans()
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)
DOCUMENTS = st.dictionaries(KEYS, VALUES, max_size=4)


class Writer:
    """Writes a document as TOML, one of the many ways at each turn; every whole number becomes one of its own."""

    def __init__(self, data: st.DataObject) -> None:
        self.data = data
        self.number = 1000

    def one_of(self, *ways: str) -> str:
        return self.data.draw(st.sampled_from(ways))

    def document(self, table: dict[str, Any]) -> str:
        return self.table(table, [])

    def table(self, table: dict[str, Any], prefix: list[str]) -> str:
        """Plain keys first, since whatever follows a header belongs to it."""
        own, below = "", ""
        for key, value in table.items():
            name = [*prefix, self.key(key)]
            if is_table(value) and self.one_of("header", "inline") == "header":
                below += f"{self.gap()}[{self.dotted(name)}]{self.end()}{self.table(value, name)}"
            elif is_list_of_tables(value) and self.one_of("header", "inline") == "header":
                for element in value:
                    below += f"{self.gap()}[[{self.dotted(name)}]]{self.end()}{self.table(element, name)}"
            else:
                own += self.gap() + self.key_and_value(name[-1], value) + self.end()
        return own + below

    def key_and_value(self, name: str, value: object) -> str:
        if is_table(value) and len(value) == 1 and self.one_of("dotted", "braces") == "dotted":
            (inner,) = value
            return self.key_and_value(self.dotted([name, self.key(inner)]), value[inner])
        return f"{name}{self.one_of('=', ' = ')}{self.value(value)}"

    def key(self, key: str) -> str:
        is_bare = key != "" and all(sign in "ab1-_" for sign in key)
        ways = [json.dumps(key)]
        ways += [key] if is_bare else []
        ways += [f"'{key}'"] if "'" not in key and "\n" not in key else []
        return self.one_of(*ways)

    def dotted(self, names: list[str]) -> str:
        return self.one_of(".", " . ").join(names)

    def value(self, value: object) -> str:
        match value:
            case bool():
                return str(value).lower()
            case int():
                self.number += 1
                return str(self.number)
            case str():
                return self.string(value)
            case list():
                return (
                    "["
                    + "".join(f"{self.break_()}{self.value(v)}{self.break_()}," for v in value)
                    + self.break_()
                    + "]"
                )
            case dict():
                return "{" + ", ".join(self.key_and_value(self.key(k), v) for k, v in value.items()) + "}"
        raise AssertionError(value)

    def string(self, value: str) -> str:
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        ways = [json.dumps(value), f'"""\n{escaped}"""']
        ways += [f"'''\n{value}'''"] if "'" not in value else []
        return self.one_of(*ways)

    def break_(self) -> str:
        return self.one_of("", " ", "\n", "\n  # ] [x]\n\t")

    def end(self) -> str:
        return self.one_of("\n", " # [x] = '''\n", "\n\n")

    def gap(self) -> str:
        return self.one_of("", "  ", '# """\n')


def is_table(value: object) -> bool:
    return isinstance(value, dict)


def is_list_of_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(map(is_table, value))


@given(DOCUMENTS, st.data(), st.sampled_from(["\n", "\r\n"]))
def test_the_paths_are_those_that_tomllib_reads_and_each_number_stands_on_its_line(
    document: dict[str, Any], data: st.DataObject, newline: str
) -> None:
    text = Writer(data).document(document).replace("\n", newline)
    read = tomllib.loads(text)

    found = locate(text)

    assert set(found) == set(paths(read))
    lines = text.split("\n")
    for path, line in found.items():
        value = value_at(read, path)
        if isinstance(value, int) and not isinstance(value, bool):
            assert str(value) in lines[line - 1]


@given(DOCUMENTS, st.data(), st.integers(0, 3))
def test_a_text_that_moves_down_moves_every_line_by_as_much(
    document: dict[str, Any], data: st.DataObject, n_lines: int
) -> None:
    text = Writer(data).document(document)

    moved = locate("# moved\n" * n_lines + text)

    assert moved == {path: line + n_lines for path, line in locate(text).items()}


# --- from a fault of pydantic to a line ------------------------------------------------------------------------------


class Cut(BaseModel):
    medium: str
    passes: int


class Blade(BaseModel):
    angle_deg: float


class Part(BaseModel):
    name: str
    cuts: list[Cut] = []
    of: Annotated[Blade | Cut | None, Field(union_mode="smart")] = None


class Box(BaseModel):
    parts: list[Part]


def test_every_fault_of_pydantic_lands_on_its_line() -> None:
    text = """\
[[parts]]
name = "rod"
cuts = [
  { medium = "tissue", passes = 1 },
  { medium = "hair", passes = "many" },
]
[[parts]]
cuts = []
[parts.of]
angle_deg = "steep"
"""
    with pytest.raises(ValidationError) as caught:
        Box.model_validate(tomllib.loads(text))
    lines = locate(text)

    seen = {tuple(fault["loc"]): line_of(lines, fault["loc"]) for fault in caught.value.errors()}

    assert seen == {
        ("parts", 0, "cuts", 1, "passes"): 5,
        ("parts", 1, "name"): 7,  # not there: the line of its table
        ("parts", 1, "of", "Blade", "angle_deg"): 10,  # `Blade` is no key, but pydantic's word for the kind
        ("parts", 1, "of", "Cut", "medium"): 9,
        ("parts", 1, "of", "Cut", "passes"): 9,
    }


def test_what_stands_nowhere_belongs_to_the_whole_file() -> None:
    assert line_of(locate("a = 1"), ("b",)) == 0
    assert line_of(locate("a = 1"), ()) == 0
