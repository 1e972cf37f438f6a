"""Which raters can be compared: those tied together by the trainees they share.

Severity is estimable from data only inside a connected part of the graph rater - trainee; between parts nothing but
the assumption that trainees were allotted by chance carries a contrast, so none is given (Linacre 1989).
"""

from __future__ import annotations

from collections.abc import Iterable


def connected_parts(shared: Iterable[Iterable[str]]) -> tuple[frozenset[str], ...]:
    """Parts of the graph; each entry of `shared` names the raters of one trainee. Largest part first, then by name."""
    parent: dict[str, str] = {}

    def root(name: str) -> str:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for names in shared:
        first: str | None = None
        for name in names:
            parent.setdefault(name, name)
            if first is None:
                first = name
            else:
                parent[root(name)] = root(first)
    parts: dict[str, set[str]] = {}
    for name in parent:
        parts.setdefault(root(name), set()).add(name)
    return tuple(sorted((frozenset(part) for part in parts.values()), key=lambda part: (-len(part), sorted(part))))
