"""Pictures: shown under the name of their content, and taken in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import Response

from evalkit.actions.picturing import add_photos, remove_photo
from evalkit.errors import InputError
from evalkit.web.benches import bench_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from starlette.datastructures import UploadFile

    from evalkit.files.photos import CleanPhoto
    from evalkit.web.visit import Visit

SIDES_PX = (320, 900)
KEEP_A_WHILE = "private, max-age=86400, immutable"


def photo_address(name: str, side_px: int = 900) -> str:
    """Where the page of a picture is."""
    return f"/photos/{name}/{side_px}"


def show_photo(visit: Visit) -> Response:
    """The picture, scaled. What lies under a name of its content never changes, so a browser may keep it.

    A picture of a trainee is part of the assessment, but its name alone is not to be guessed: who has not read the
    assessment does not know it.
    """
    side_px = visit.request.path_params["side_px"]
    if side_px not in SIDES_PX:
        raise InputError("pictures come 320 or 900 pixels wide.", mend="Load the page again.")
    name = visit.request.path_params["name"]
    data = visit.desk.photos.thumbnail(name, side_px)
    return Response(data, media_type="image/jpeg", headers={"cache-control": KEEP_A_WHILE})


def take_photos(visit: Visit) -> Response:
    """Take pictures of a marked pair in."""
    bench = bench_of(visit)
    bench.check_open()
    bench.numbered(visit.number)
    clean = clean_uploads(visit.uploads("photo"))
    if not clean:
        raise InputError("no picture was chosen.", mend="Choose one, or take one, then press the button again.")
    add_photos(
        visit.book,
        visit.desk.photos,
        bench.round,
        visit.number,
        clean,
        caption=visit.said("caption"),
        who=bench.who,
    )
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}", anchor="photos", saved="yes")


def drop_photo(visit: Visit) -> Response:
    """Take a picture off a marked pair."""
    bench = bench_of(visit)
    bench.check_open()
    remove_photo(visit.book, bench.round, visit.number, visit.said("photo"), who=bench.who)
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}", anchor="photos", saved="yes")


def clean_uploads(files: Iterable[UploadFile]) -> list[CleanPhoto]:
    """Every file as a cleaned picture. Raises InputError that names the one that is none; then none is kept."""
    from evalkit.files.photos import MAX_BYTES, clean_photo

    found = []
    for file in files:
        data = file.file.read(MAX_BYTES + 1)
        try:
            found.append(clean_photo(data))
        except InputError as error:
            name = (file.filename or "")[:80]
            raise InputError(error.what, mend=error.mend, where=f"picture '{name}'") from None
    return found
