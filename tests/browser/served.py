"""The marking pages on a socket of this machine, as `evalkit serve` has them, and started anew when a test says so."""

from __future__ import annotations

import threading
from pathlib import Path

import uvicorn

from evalkit.book.book import Book
from evalkit.web.serving import listen
from tests.web.boxes import fill
from tests.web.site import NOW, Site

ROUND = "/rounds/r-0001"
DONE = "/rounds/r-0000"


class Served:
    """Two boxes of twelve pairs, one marked long ago, one back and not marked."""

    def __init__(self, folder: Path, *, notes: str = "", n_begun: int = 0, asks_code: bool = False) -> None:
        self.folder = folder
        self.asks_code = asks_code
        with Book.create(folder, lambda: NOW) as book:
            fill(book, 2, n_begun=n_begun, notes=notes)
        self.port = 0
        self._start()

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def book(self) -> Book:
        return self.site.book

    def _start(self) -> None:
        listening = listen(self.port, is_on_network=False)
        listening.socket.listen()  # whoever asks before the server is up waits here, and nobody has to be patient
        self.port = listening.port
        self.site = Site(self.folder, port=self.port, asks_code=self.asks_code)
        config = uvicorn.Config(self.site.app, log_level="error", access_log=False, lifespan="off")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [listening.socket]}, name="marking pages", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """The program dies; its book stays."""
        self._server.should_exit = self._server.force_exit = True
        self._thread.join(10)
        self.site.close()

    def anew(self) -> None:
        """It is started again, with a secret of its own."""
        self.stop()
        self._start()

    def kept(self, number: int) -> object:
        draft = self.book.find_draft("r-0001", "oda")
        return draft.find_pair(number) if draft else None
