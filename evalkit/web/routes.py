"""Every address of the pages, and which function answers it."""

from __future__ import annotations

from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp

from evalkit.web import (
    check_in,
    comparing,
    entrance,
    marking,
    photos,
    reporting,
    rounds,
    rubrics,
    second,
    stock,
    trainees,
)
from evalkit.web.visit import Handler, page

ROUND = "/rounds/{key}"
PAIR = ROUND + "/pairs/{number:int}"
SECOND = ROUND + "/second"

READ: dict[str, Handler] = {
    "/": rounds.show_rounds,
    "/door": entrance.show_door,
    "/who": entrance.show_who,
    ROUND: rounds.show_round,
    ROUND + "/mark": rounds.mark_round,
    ROUND + "/check-in": check_in.show_check_in,
    ROUND + "/report": reporting.show_report,
    ROUND + "/report.{ending}": reporting.give_file,
    PAIR: marking.show_pair,
    PAIR + "/both": comparing.show_both,
    SECOND: second.show_second,
    SECOND + "/pairs/{number:int}": second.show_second_pair,
    "/steadiness": second.show_steadiness,
    "/trainees": trainees.show_trainees,
    "/trainees/{key}": trainees.show_trainee,
    "/trainees/{key}/progress": trainees.show_progress,
    "/trainees/{key}/progress.{ending}": trainees.give_progress,
    "/rubrics": rubrics.show_rubrics,
    "/rubrics/{key}/{version:int}": rubrics.show_rubric,
    "/stock": stock.show_stock,
    "/photos/{name}/{side_px:int}": photos.show_photo,
    "/look/report.css": reporting.show_look,
}
"""What is only read. Nothing is written by any of them."""

WRITE: dict[str, Handler] = {
    "/door": entrance.come_in,
    "/who": entrance.choose_who,
    ROUND + "/move": rounds.move,
    ROUND + "/check-in": check_in.take_check_in,
    ROUND + "/finish": rounds.finish,
    ROUND + "/amend": rounds.amend,
    ROUND + "/put-away": rounds.put_away,
    ROUND + "/report/open": reporting.open_report,
    PAIR: marking.save_pair,
    PAIR + "/undo": marking.undo,
    PAIR + "/open": marking.open_early,
    PAIR + "/answers": comparing.save_answers,
    PAIR + "/photos": photos.take_photos,
    PAIR + "/photos/drop": photos.drop_photo,
    SECOND: second.pick,
    SECOND + "/pairs/{number:int}": second.keep_second_pair,
    "/steadiness": second.work_out_steadiness,
    "/trainees/{key}/progress": trainees.work_out,
}
"""What changes something, or takes long. Each needs the token of a form."""


def routes(static: ASGIApp) -> list[BaseRoute]:
    """All of them; `static` serves our own style sheet and scripts."""
    return [
        Mount("/static", app=static),
        *(Route(path, page(handler), methods=["GET"]) for path, handler in READ.items()),
        *(Route(path, page(handler), methods=["POST"]) for path, handler in WRITE.items()),
    ]
