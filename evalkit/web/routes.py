"""Every address of the pages, and which function answers it."""

from __future__ import annotations

from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp

from evalkit.web import (
    box_files,
    check_in,
    comparing,
    entrance,
    marking,
    next_box,
    photos,
    reporting,
    rounds,
    rubrics,
    scripts,
    second,
    second_pair,
    signing,
    stock,
    stock_pair,
    trainees,
)
from evalkit.web.visit import Handler, page

ROUND = "/rounds/{key}"
PAIR = ROUND + "/pairs/{number:int}"
SECOND = ROUND + "/second"
TRAINEE = "/trainees/{key}"
AGAIN = SECOND + "/pairs/{number:int}"

READ: dict[str, Handler] = {
    "/": rounds.show_rounds,
    "/door": entrance.show_door,
    "/who": entrance.show_who,
    ROUND: rounds.show_round,
    ROUND + "/mark": rounds.mark_round,
    ROUND + "/check-in": check_in.show_check_in,
    ROUND + "/box/{name}.{ending}": box_files.give_box_file,
    ROUND + "/report": reporting.show_report,
    ROUND + "/report.{ending}": reporting.give_file,
    PAIR: marking.show_pair,
    PAIR + "/both": comparing.show_both,
    SECOND: second.show_second,
    AGAIN: second_pair.show_second_pair,
    "/steadiness": second.show_steadiness,
    "/trainees": trainees.show_trainees,
    TRAINEE: trainees.show_trainee,
    TRAINEE + "/progress": trainees.show_progress,
    TRAINEE + "/sign-off": signing.show_sign_off,
    TRAINEE + "/next-box": next_box.show_next_box,
    TRAINEE + "/progress.{ending}": trainees.give_progress,
    "/rubrics": rubrics.show_rubrics,
    "/rubrics/{key}/{version:int}": rubrics.show_rubric,
    "/stock": stock.show_stock,
    "/stock/{tag}": stock_pair.show_stock_pair,
    "/photos/{name}/{side_px:int}": photos.show_photo,
    "/look/report.css": reporting.show_look,
}
"""What is only read. Nothing is written by any of them."""

WRITE: dict[str, Handler] = {
    "/door": entrance.come_in,
    "/who": entrance.choose_who,
    ROUND + "/move": rounds.move,
    ROUND + "/unplan": rounds.unplan,
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
    AGAIN: second_pair.save_second_pair,
    AGAIN + "/undo": second_pair.undo_second,
    AGAIN + "/put-away": second_pair.put_second_away,
    "/steadiness": second.work_out_steadiness,
    TRAINEE + "/progress": trainees.work_out,
    TRAINEE + "/sign-off": signing.give_sign_off,
    TRAINEE + "/sign-off/withdraw": signing.withdraw_sign_off,
    TRAINEE + "/next-box": next_box.propose,
    TRAINEE + "/next-box/plan": next_box.plan,
    "/stock/{tag}/retire": stock_pair.retire,
    "/stock/{tag}/bring-back": stock_pair.bring_back,
}
"""What changes something, or takes long. Each needs the token of a form."""


def routes(static: ASGIApp) -> list[BaseRoute]:
    """All of them; `static` serves our own style sheet and scripts."""
    return [
        Route("/static/bench.js", page(scripts.show_bench_script), methods=["GET"]),
        Mount("/static", app=static),
        *(Route(path, page(handler), methods=["GET"]) for path, handler in READ.items()),
        *(Route(path, page(handler), methods=["POST"]) for path, handler in WRITE.items()),
    ]
