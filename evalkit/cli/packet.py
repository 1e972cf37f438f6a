"""Commands on packets: the one file that passes between mentor and trainee."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, Bench, bench_of, plain_app, say, say_json
from evalkit.cli.waiting import patience
from evalkit.domain.amounts import amount_words

if TYPE_CHECKING:
    from evalkit.actions.packets import PacketTakenIn
    from evalkit.domain.round import Round
    from evalkit.files.packets import PacketKind

app = plain_app("Make, check and take in packets: the one file between mentor and trainee.")

Key = Annotated[str, typer.Argument(help="Key of the round, like teo-3.")]
File = Annotated[Path, typer.Argument(metavar="FILE", help="A packet (.zip).")]
Out = Annotated[Path | None, typer.Option("--out", help="File to write; else KEY-round.zip or KEY-report.zip here.")]


@app.command("round")
def round_(context: typer.Context, key: Key, out: Out = None) -> None:
    """Write the packet that goes with a box: the round, its rubric, the bench book, what to practise."""
    from evalkit.actions.sending import make_round_packet
    from evalkit.files.packets import seal_code
    from evalkit.workbench import bench_page

    bench = bench_of(context)
    with bench.book() as (book, _), patience("Making the packet"):
        page = bench_page(book, key)
        made = make_round_packet(
            book,
            key,
            out or Path(f"{key}-round.zip"),
            bench_book=page.html,
            practise=page.practise,
            made_on=bench.today,
        )
    say(
        f"Wrote {made.path}: {amount_words(len(page.round.pairs), 'pair')}, the rubric and the bench book "
        f"for {page.round.trainee.name}. Nothing in it tells what you know or expect of the pairs.",
        f"Seal code: {seal_code(made.seal)}",
    )


@app.command("report")
def report(context: typer.Context, key: Key, out: Out = None) -> None:
    """Write the packet that goes back: the graded report with both views and all photos.

    It shows the assessment, so that is recorded, as with 'evalkit report'.
    """
    from evalkit.actions.sending import make_report_packet
    from evalkit.cli.report import open_report
    from evalkit.files.packets import seal_code

    bench = bench_of(context)
    with bench.book() as (book, who), patience("Making the packet"):
        book.get_marking(key)
        job = open_report(bench.workbench, book, key, who)
        made = make_report_packet(
            book,
            bench.workbench.photos(),
            key,
            out or Path(f"{key}-report.zip"),
            page=job.page,
            data=job.data,
            made_on=bench.today,
        )
    say(
        f"Wrote {made.path}: the report, both views, {amount_words(made.n_photos, 'photo')}.",
        f"Seal code: {seal_code(made.seal)}",
    )


@app.command("check")
def check(file: File, as_json: AsJson = False) -> None:
    """Say what a packet is, whose, and whether it is whole. Nothing of an assessment is shown; nothing is kept."""
    from evalkit.actions.packets import look_into
    from evalkit.files.packets import seal_code

    seen = look_into(file)
    if as_json:
        say_json({
            "format": 1, "is_whole": True, "kind": seen.kind, "round": seen.round_key, "trainee": seen.trainee_key,
            "version": seen.version, "seal": seen.seal, "seal_code": seal_code(seen.seal), "pairs": seen.n_pairs,
            "readings": seen.n_readings, "photos": seen.n_photos,
        })  # fmt: skip
        return
    holds = seen.kind if seen.kind == "round" else f"the {seen.kind} of round"
    version = f", version {seen.version}" if seen.version else ""
    say(
        f"{file}: whole. It holds {holds} {seen.round_key}{version}, of trainee '{seen.trainee_key}':",
        f"{amount_words(seen.n_pairs, 'pair')}, {amount_words(seen.n_readings, 'reading')}, "
        f"{amount_words(seen.n_photos, 'photo')}.",
        f"Seal code: {seal_code(seen.seal)}",
    )


@app.command("take-in")
def take_in(
    context: typer.Context,
    file: File,
    reason: Annotated[
        str, typer.Option("--reason", help="Why something sealed is amended, where the packet does not say.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Check a packet against its round and keep it, all of it or nothing. Nothing of an assessment is shown.

    A mentor's book takes in assessments; a trainee's own book takes in rounds and reports too.
    """
    done, is_marked = _taken_in(bench_of(context), file, reason)
    if as_json:
        say_json({
            "format": 1, "kind": done.kind, "round": done.taken.round.key, "seal": done.seal,
            "version": done.taken.version or None, "is_new": done.taken.is_new, "was_known": done.was_known,
        })  # fmt: skip
    else:
        say_taken_in(done, is_marked=is_marked)


def take_in_assessment_packet(bench: Bench, file: Path, reason: str) -> None:
    """As `packet take-in`, for `assessment take-in`: packets of other kinds are refused."""
    from evalkit.files.packets import PacketKind

    done, is_marked = _taken_in(bench, file, reason, only=PacketKind.ASSESSMENT)
    say_taken_in(done, is_marked=is_marked)


def _taken_in(bench: Bench, file: Path, reason: str, only: PacketKind | None = None) -> tuple[PacketTakenIn, bool]:
    """What came of it, and whether its round is marked."""
    from evalkit.actions.packets import take_in_packet

    with bench.book() as (book, who), patience("Taking in the packet"):
        store = bench.workbench.photos()
        done = take_in_packet(book, store, file, who=who, today=bench.today, reason=reason, only=only)
        return done, book.find_marking(done.taken.round.key) is not None


def say_taken_in(done: PacketTakenIn, *, is_marked: bool) -> None:
    """What came of a packet, and the code to compare with the sender's."""
    from evalkit.files.packets import PacketKind, seal_code

    key, version = done.taken.round.key, done.taken.version
    if done.was_known:
        say(f"{key}: this very packet was taken in already; nothing changed.")
        return
    match done.kind:
        case PacketKind.ASSESSMENT if not done.taken.is_new:
            say(f"{key}: this very assessment is sealed already (version {version}); only the packet was noted.")
        case PacketKind.ASSESSMENT:
            say(
                f"Sealed {key}, version {version}: {counted(done)}.",
                *(() if is_marked else ("Mark the box before you read it.",)),
            )
        case PacketKind.ROUND if not done.taken.is_new:
            say(f"{key}: the round stands in this book just so already; only the packet was noted.")
        case PacketKind.ROUND:
            say(
                f"Took in round {key} by {done.taken.round.mentor.name}: {amount_words(done.taken.n_pairs, 'pair')}.",
                f"When the box is there: {_arrival(done.taken.round)}.",
            )
        case PacketKind.REPORT if not done.taken.is_new:
            say(f"{key}: this marking stands in the book already (version {version}).")
        case PacketKind.REPORT:
            say(
                f"Took in the report of {key}, marking version {version}: {counted(done)}.",
                f"Next: evalkit report {key}, and evalkit progress {done.taken.round.trainee.key}.",
            )
    say(f"Seal code: {seal_code(done.seal)}  (compare it with the sender's over the telephone)")


def counted(done: PacketTakenIn) -> str:
    """'12 pairs, 300 readings, 24 photos'."""
    taken = done.taken
    return (
        f"{amount_words(taken.n_pairs, 'pair')}, {amount_words(taken.n_readings, 'reading')}, "
        f"{amount_words(taken.n_photos, 'photo')}"
    )


def _arrival(round_: Round) -> str:
    """The commands that write down the arrival of a box; the mentor may not have told that it was sent."""
    received = f"evalkit round received {round_.key} --on DAY"
    return received if round_.legs else f"evalkit round send {round_.key} --on DAY, then {received}"
