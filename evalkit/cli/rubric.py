"""Commands on rubrics: list, check, show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, choice, plain_app, say, say_json, say_table
from evalkit.domain.amounts import amount_words

app = plain_app("List, check and show rubrics.")


@app.command("list")
def list_all(context: typer.Context, as_json: AsJson = False) -> None:
    """List the rubrics at hand: your own folder first, then the shipped ones."""
    from evalkit.files.places import rubrics_dir
    from evalkit.files.rubrics import list_rubrics

    own = bench_of(context).workbench.settings.rubrics
    rubrics = [one for folder in (own, rubrics_dir()) if folder for one in list_rubrics(folder)]
    if as_json:
        say_json({"format": 1, "rubrics": [{"key": r.key, "name": r.name, "digest": r.digest} for r in rubrics]})
    else:
        say_table(
            ("key", "name", "criteria", "for"),
            [(r.key, r.name, len(r.criteria), ", ".join(kind.value for kind in r.edge_types)) for r in rubrics],
        )


@app.command("check")
def check(
    files: Annotated[list[Path], typer.Argument(help="Rubric files (TOML), or a cause map named causes.toml.")],
    as_json: AsJson = False,
) -> None:
    """Check files and tell every fault with its line."""
    from dataclasses import asdict

    from evalkit.errors import Fault, FileFaultsError

    faults: list[Fault] = []
    sound: list[tuple[str, str]] = []
    for file in files:
        try:
            sound.append((str(file), _sound_words(file)))
        except FileFaultsError as error:
            faults.extend(error.faults)
    if as_json:
        lines = [asdict(fault) for fault in faults]
        say_json({"format": 1, "is_sound": not faults, "sound": [name for name, _ in sound], "faults": lines})
    else:
        say(*(f"{name}: sound; {words}." for name, words in sound))
    if faults:
        raise FileFaultsError(faults)


def _sound_words(file: Path) -> str:
    from evalkit.files.rubrics import load_causes, load_rubric

    if file.name == "causes.toml":
        return amount_words(len(load_causes(file).causes), "row")
    rubric = load_rubric(file)
    return f"'{rubric.name}', {amount_words(len(rubric.criteria), 'criterion', 'criteria')}"


@app.command("show")
def show(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Key of a rubric, or a file.")],
    edge: Annotated[str | None, typer.Option("--edge", help="As it stands for one edge type.")] = None,
    as_json: AsJson = False,
) -> None:
    """Show a rubric in the bench's words."""
    from evalkit.domain.criterion import Use
    from evalkit.domain.pair import EdgeType
    from evalkit.reports.prose import to_plain_text

    rubric = bench_of(context).workbench.find_rubric(name)
    if as_json:
        say_json({**rubric.model_dump(mode="json", by_alias=True), "digest": rubric.digest})
        return
    kinds = [choice(EdgeType, edge, of="edge type")] if edge else list(rubric.edge_types)
    say(f"{rubric.name} ({rubric.key})", *to_plain_text(rubric.about), "")
    say(f"Accepted: every must-pass reached, nothing at 0, score {rubric.mark} or more.")
    say(f"Fit for a customer: level {rubric.fit}.")
    for criterion in rubric.criteria:
        must = f", must-pass {criterion.must_pass}" if criterion.must_pass else ""
        say("", f"{criterion.name} [{criterion.key}]  weight {criterion.weight}{must}")
        if criterion.ask:
            say(*(f"  {line}" for line in to_plain_text(criterion.ask)))
        words = criterion.on(kinds[0]).levels if edge else criterion.levels
        for level, text in enumerate(words):
            say(f"  {level}  {text}")
        uses = {kind: criterion.on(kind).use for kind in kinds}
        for use in (Use.ADVISORY, Use.NOT_APPLICABLE):
            named = [kind.value for kind, one in uses.items() if one is use]
            if named:
                say(f"  {use}: {', '.join(named)}")
    if rubric.harder_with:
        say("", "A known fault of the pair makes harder (it moves no level and no score, only the progress):")
    for tag, keys in rubric.harder_with.items():
        say(f"  {tag}: {', '.join(rubric.by_key[key].name for key in keys)}")


@app.command("schema")
def schema(folder: Annotated[Path, typer.Argument(help="Folder to write to.")]) -> None:
    """Write the JSON Schemas of rubrics and of the cause map."""
    from evalkit.files.rubric_schemas import write_schemas

    for path in write_schemas(folder):
        say(str(path))
