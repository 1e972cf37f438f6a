"""What the pages work with: the book, and what never changes while they are open."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar, cast

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.causes import CauseMap
    from evalkit.domain.rubric import Rubric
    from evalkit.files.photos import PhotoStore
    from evalkit.workbench import Workbench

Made = TypeVar("Made")
MAX_KEPT = 24
MAX_MADE = 60
NO_ROUND = ""
"""What rests on no round at all."""
NO_MARK = "no mark"
"""What rests on anything but the pairs of begun markings. No round has such a key."""


class Desk:
    """One open book and its neighbours. Rubrics are kept by content, so they cannot grow stale."""

    def __init__(self, workbench: Workbench, book: Book) -> None:
        self.workbench = workbench
        self.book = book
        self._rubrics: dict[str, Rubric] = {}
        self._kept: dict[Hashable, object] = {}
        self._made: dict[Hashable, tuple[str | None, object]] = {}
        self._act = -1
        self._lock = threading.Lock()

    @cached_property
    def causes(self) -> CauseMap | None:
        """The cause map; None when your own file has faults, which the command line tells."""
        return self.workbench.find_causes()

    @cached_property
    def rubric_names(self) -> tuple[tuple[str, str], ...]:
        """(key, name) of every sound rubric that a box may be planned by: your own first, then the shipped ones."""
        from evalkit.files.rubrics import sound_rubrics

        return tuple((one.key, one.name) for one in sound_rubrics(self.workbench.settings.rubrics))

    @property
    def photos(self) -> PhotoStore:
        return self.workbench.photos()

    def rubric(self, digest: str) -> Rubric:
        """A frozen rubric. Raises NotFoundError."""
        found = self._rubrics.get(digest)
        if found is None:
            found = self._rubrics[digest] = self.book.get_rubric_by_digest(digest)
        return found

    def find_kept(self, name: Hashable) -> object | None:
        """What was worked out before under this name; None when it was not, or was put away since."""
        return self._kept.get(name)

    def keep(self, name: Hashable, made: Made) -> Made:
        """Keep what cost time to work out; the oldest goes when there is too much."""
        with self._lock:
            while len(self._kept) >= MAX_KEPT:
                del self._kept[next(iter(self._kept))]
            self._kept[name] = made
        return made

    def made_at(self, act: int, name: Hashable, make: Callable[[], Made], *, of: str | None = None) -> Made:
        """What was made from the book as it stood after this act, made now if need be.

        Every change of the book is an act with a number of its own, so what was made under the same number is still
        true. Once the number changes all of it is put away, except what rests on less than the whole book and was not
        touched by the acts between: `of` is the key of the one round it rests on, or NO_ROUND, or NO_MARK.
        """
        with self._lock:
            if act != self._act:
                self._put_away(act)
            found = self._made.get(name)
        if found is not None:
            return cast("Made", found[1])
        made = make()
        with self._lock:
            if act == self._act:
                while len(self._made) >= MAX_MADE:
                    del self._made[next(iter(self._made))]
                self._made[name] = (of, made)
        return made

    def _put_away(self, act: int) -> None:
        changed = self.book.changed_since(self._act) if self._made and act > self._act else None
        if changed is None:
            self._made.clear()
        else:
            gone = {None, *changed.rounds} if changed.is_marks_only else {None, NO_MARK, *changed.rounds}
            self._made = {name: (of, made) for name, (of, made) in self._made.items() if of not in gone}
        self._act = act

    def forget(self) -> None:
        """Put away all that was made from the book."""
        with self._lock:
            self._made.clear()
