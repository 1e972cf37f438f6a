"""What a report page costs: 12 pairs, 24 photos, beside Jinja2 and Pillow doing their part of it alone.

Whole: the round is answered, its rows made, the photos read from the store and scaled, the page rendered. Alone: Jinja2
renders the same template from the rows made beforehand, Pillow scales the same pictures. Runs are interleaved and
medians of processor time are taken. Not a test: it prints figures and judges none.

    python -m tests.bench.bench_report
"""

from __future__ import annotations

import io
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from PIL import Image, ImageDraw

from evalkit.cli.report import PHOTO_PX
from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.round import Round
from evalkit.files.photos import PhotoStore, clean_photo
from evalkit.progress.results import RoundResult, answer_round
from evalkit.reports.formats import Job, data_address
from evalkit.reports.pages import environment
from evalkit.settings import Paper
from tests.reports.values import CAUSES, MADE_ON, PAIRS, RUBRIC, assessment_of, marking_of, round_of

N_PAIRS = 12
N_PHOTOS = 24
REPEATS = 9
ALLOWED = 3.0
"""A page may take this many times what the template and the pictures take alone."""


def camera_picture(number: int) -> bytes:
    """A picture of steel, more or less, of the size a telephone delivers after cleaning."""
    image = Image.effect_noise((2400, 1800), 24 + number).convert("RGB")
    draw = ImageDraw.Draw(image)
    for line in range(0, 1800, 90):
        draw.line((0, line + number, 2400, line - 300), fill=(170, 175, 180), width=9)
    written = io.BytesIO()
    image.save(written, "JPEG", quality=85)
    return written.getvalue()


def bench_round(names: list[str]) -> tuple[Round, Assessment, Marking]:
    """Twelve pairs, each told as fully as those of the small round, with two photos each."""
    three = round_of()
    pairs = tuple(Pair(**{**PAIRS[at % 3].model_dump(), "tag": f"B-{at}"}) for at in range(N_PAIRS))
    round_ = round_of(pairs)
    assessed, marked = assessment_of(three).pairs, marking_of(three).pairs
    per_pair = N_PHOTOS // N_PAIRS
    return (
        round_,
        assessment_of(three).model_copy(
            update={
                "pairs": tuple(
                    _assessed(assessed[at % 3], at + 1, names[at * per_pair : (at + 1) * per_pair])
                    for at in range(N_PAIRS)
                )
            }
        ),
        marking_of(three).model_copy(update={"pairs": tuple(_marked(marked[at % 3], at + 1) for at in range(N_PAIRS))}),
    )


def _assessed(pair: AssessedPair, number: int, names: list[str]) -> AssessedPair:
    readings = tuple(reading.model_copy(update={"number": number}) for reading in pair.readings)
    photos = tuple(Photo(file=name, caption="a blade") for name in names)
    return pair.model_copy(update={"number": number, "readings": readings, "photos": photos})


def _marked(pair: MarkedPair, number: int) -> MarkedPair:
    readings = tuple(reading.model_copy(update={"number": number}) for reading in pair.readings)
    return pair.model_copy(update={"number": number, "readings": readings})


def page_whole(store: PhotoStore, views: tuple[Round, Assessment, Marking]) -> str:
    """As `evalkit report` makes it."""
    return job_of(store, answer_round(views[0], RUBRIC, views[1], views[2], CAUSES)).page


def job_of(store: PhotoStore, result: RoundResult) -> Job:
    def picture_of(name: str) -> str:
        return data_address(store.thumbnail(name, PHOTO_PX))

    return Job(result=result, made_on=MADE_ON, paper=Paper.A4, picture_of=picture_of)


def scaled_alone(data: bytes) -> bytes:
    """Pillow's part, written as its manual would."""
    with Image.open(io.BytesIO(data)) as image:
        image.draft("RGB", (PHOTO_PX, PHOTO_PX))
        image.thumbnail((PHOTO_PX, PHOTO_PX), Image.Resampling.LANCZOS)
        written = io.BytesIO()
        image.save(written, "JPEG", quality=85, optimize=True)
        return written.getvalue()


def seconds(work: Callable[[], object]) -> float:
    """Processor time of one call."""
    started = time.process_time()
    work()
    return time.process_time() - started


def main() -> None:
    """Print what a page costs, what its parts cost alone, and the ratio."""
    with tempfile.TemporaryDirectory() as folder:
        store = PhotoStore(Path(folder))
        names = [store.put(clean_photo(camera_picture(number))) for number in range(N_PHOTOS)]
        pictures = [store.read(name) for name in names]
        views = bench_round(names)
        row = job_of(store, answer_round(views[0], RUBRIC, views[1], views[2], CAUSES)).row
        template = environment().get_template("report.html")
        whole, rendered, scaled = [], [], []
        for _ in range(REPEATS):
            whole.append(seconds(lambda: page_whole(store, views)))
            rendered.append(seconds(lambda: template.render(report=row, paper="A4")))
            scaled.append(seconds(lambda: [scaled_alone(data) for data in pictures]))
        alone_s = median(rendered) + median(scaled)
        n_bytes = len(page_whole(store, views).encode())
    print(f"page of {N_PAIRS} pairs and {N_PHOTOS} photos, {n_bytes / 2**20:.1f} MB: {median(whole) * 1000:.0f} ms")
    print(
        f"alone: Jinja2 {median(rendered) * 1000:.0f} ms and Pillow {median(scaled) * 1000:.0f} ms; "
        f"ratio {median(whole) / alone_s:.2f} (at most {ALLOWED})"
    )


if __name__ == "__main__":
    main()
