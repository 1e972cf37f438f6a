"""What was made from the book is shown again only while the book has not changed, by whomever."""

from __future__ import annotations

from evalkit.book.book import Book
from evalkit.domain.round import Person
from evalkit.web.desk import MAX_KEPT, MAX_MADE, NO_MARK, NO_ROUND, Desk
from tests.web.site import NOW, ROUND, Counter, Site, whole


def test_the_same_page_twice_asks_the_book_once(back: Site):
    back.page(f"{ROUND}/pairs/1")
    with Counter(back.book) as counted:
        back.page(f"{ROUND}/pairs/1")
    assert counted.n == 1, "only whether anything has changed"


def test_a_change_by_another_program_is_seen_at_once(back: Site):
    assert "Berit" not in back.page("/who")
    assert "not marked" in back.page("/")
    with Book.open(back.workbench.settings.book, lambda: NOW) as other:
        other.add_person("mentor", Person(key="berit", name="Berit Holm"), "oda")
        pair = back.book.get_round("teo-1").get_pair(1)
        from evalkit.domain.marking import MarkedPair

        other.save_marked_pair(
            "teo-1",
            "oda",
            MarkedPair(number=pair.number, keep="from elsewhere"),
            other.get_round("teo-1").rubric_digest,
            "oda",
        )
    assert "Berit Holm" in back.page("/who")
    back.post("/who", {"who": "oda"})
    assert "marking begun" in back.page("/")
    assert "from elsewhere" in back.page(f"{ROUND}/pairs/1")


def test_what_was_just_saved_is_on_the_next_page(back: Site):
    back.page(f"{ROUND}/pairs/1")
    back.save(1, whole(3, keep="just now"))
    assert "just now" in back.page(f"{ROUND}/pairs/1")
    assert "all tested" in back.page(ROUND)


RESTS = {"all": None, "mine": "teo-1", "other": "lin-1", "no round": NO_ROUND, "no mark": NO_MARK}
"""What is made, and on which round each rests."""


class Making:
    """Makes each of them when it is not there, and tells which were made anew."""

    def __init__(self, back: Site) -> None:
        self.book, self.desk = back.book, Desk(back.workbench, back.book)

    def made(self) -> set[str]:
        found: set[str] = set()

        def make(name: str) -> str:
            found.add(name)
            return name

        for name, of in RESTS.items():
            assert self.desk.made_at(self.book.latest_act(), name, lambda name=name: make(name), of=of) == name
        return found


def test_a_mark_puts_away_what_rests_on_its_round_and_no_other(back: Site):
    making = Making(back)
    assert making.made() == set(RESTS)
    assert making.made() == set()
    back.save(1, whole(3))
    assert making.made() == {"all", "mine", "no mark"}, "the marking was begun"
    back.save(1, whole(2))
    assert making.made() == {"all", "mine"}
    back.save(2, whole(3))
    back.save(3, whole(3))
    assert making.made() == {"all", "mine"}
    back.book.add_person("mentor", Person(key="berit", name="Berit Holm"), "oda")
    assert making.made() == set(RESTS), "a name may stand on any page"


def test_a_book_with_fewer_acts_is_another_book(back: Site):
    making = Making(back)
    making.made()
    act = back.book.latest_act()
    assert making.desk.made_at(act - 1, "no round", lambda: "anew", of=NO_ROUND) == "anew"


def test_what_was_made_has_an_end(back: Site):
    desk = Desk(back.workbench, back.book)
    for n in range(MAX_MADE + 5):
        desk.made_at(1, n, lambda n=n: f"first {n}")
    assert desk.made_at(1, MAX_MADE + 4, lambda: "anew") == f"first {MAX_MADE + 4}"
    assert desk.made_at(1, 0, lambda: "anew") == "anew"


def test_a_new_act_puts_all_away(back: Site):
    desk = Desk(back.workbench, back.book)
    made: list[int] = []

    def make() -> str:
        made.append(1)
        return "x"

    for act in (1, 1, 2, 2, 2, 3):
        assert desk.made_at(act, "name", make) == "x"
    assert len(made) == 3
    desk.forget()
    desk.made_at(3, "name", make)
    assert len(made) == 4


def test_what_is_kept_has_an_end(back: Site):
    desk = Desk(back.workbench, back.book)
    for n in range(MAX_KEPT + 5):
        desk.keep(n, n)
    assert desk.find_kept(0) is None
    assert desk.find_kept(MAX_KEPT + 4) == MAX_KEPT + 4
