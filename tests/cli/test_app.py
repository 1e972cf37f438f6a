"""The root: its list, its help, its errors, and what it does not load."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
import typer

import evalkit
from evalkit.cli import app as root
from evalkit.cli.app import COMMANDS, run
from evalkit.errors import BookError, EvalkitError, InputError, MissingPartError
from tests.cli.desk import Desk

HEAVY = ("numpy", "scipy", "sqlalchemy", "alembic", "jinja2", "PIL", "weasyprint", "markdown_it", "pydantic", "nh3")


def commands() -> list[tuple[str, ...]]:
    """Every command, as it is called."""
    found: list[tuple[str, ...]] = []
    for name, line in COMMANDS.items():
        module, _, attribute = line.where.partition(":")
        held = getattr(import_module(module), attribute)
        if isinstance(held, typer.Typer):
            found += [(name, one.name or "") for one in held.registered_commands]
        else:
            found.append((name,))
    return found


def about(name: str) -> str:
    module, _, attribute = COMMANDS[name].where.partition(":")
    held = getattr(import_module(module), attribute)
    return str(held.info.help) if isinstance(held, typer.Typer) else str(held.__doc__)


def call(*words: str, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {name: text for name, text in os.environ.items() if not name.startswith("EVALKIT_")}
    return subprocess.run(
        [sys.executable, "-m", "evalkit", *words],
        capture_output=True,
        text=True,
        env={**environment, **more},
        check=False,
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_says_of_each_noun_what_the_noun_says_of_itself(name: str):
    assert about(name).startswith(COMMANDS[name].about.removesuffix("."))


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_has_help_that_is_a_sentence(words: tuple[str, ...], empty_desk: Desk):
    for flag in ("--help", "-h"):
        answer = empty_desk.do(*words, flag)
        usage, _, rest = answer.out.partition("\n\n")
        assert usage.startswith(f"Usage: evalkit {' '.join(words)}")
        sentence = " ".join(rest.split("\n\n")[0].split())
        assert sentence[0].isupper()
        assert sentence.endswith(".")


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_option_and_argument_has_help(words: tuple[str, ...], empty_desk: Desk):
    lines = empty_desk.do(*words, "--help").out.splitlines()
    for at, line in enumerate(lines):
        if line.startswith("  -") and len(line.split("  ")) < 3:  # its help stands below it, further in
            assert lines[at + 1].startswith(" " * 10), line


@pytest.mark.parametrize("name", [name for name, line in COMMANDS.items() if line.where.endswith(":app")])
def test_a_noun_alone_shows_its_commands(name: str, empty_desk: Desk):
    answer = empty_desk.run(name)
    assert answer.code == 2
    assert "Commands:" in answer.out + answer.err


def test_the_root_help_reads_like_a_page(empty_desk: Desk):
    out = empty_desk.do("--help").out
    assert all(f"\n  {name} " in out for name in COMMANDS)
    assert "..." not in out.partition("Commands:")[2]
    assert empty_desk.do("-h").out == out


def test_it_says_its_version(empty_desk: Desk):
    assert empty_desk.do("--version").out == f"evalkit {evalkit.__version__}\n"


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("ronud",), "Did you mean 'round'?"),
        (("round", "plam"), "Did you mean 'plan'"),
        (("round", "list", "--nonsense"), "--nonsense"),
        (("round", "show"), "key"),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--difficulty", "easy"), "'--difficulty'"),
    ],
)
def test_a_wrong_call_is_told_on_stderr(words: tuple[str, ...], hint: str, stocked: Desk):
    answer = stocked.run(*words)
    assert answer.code == 2
    assert answer.out == ""
    assert hint in answer.err
    stocked.refuse(*words)


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (InputError("what.", mend="Mend it."), 2),
        (BookError("what.", mend="Mend it."), 3),
        (MissingPartError("what.", mend="Mend it."), 4),
        (EvalkitError("what.", mend="Mend it."), 1),
    ],
)
def test_an_error_is_one_line_with_its_exit_code(
    error: EvalkitError, code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def fail(**_: object) -> None:
        raise error

    monkeypatch.setattr(root, "app", fail)
    assert run(["x"]) == code
    assert capsys.readouterr() == ("", "evalkit: what. Mend it.\n")


def test_the_faults_of_a_file_stand_one_a_line(empty_desk: Desk):
    empty_desk.write("a.toml", "format = 1\nkey = 'UPPER'\nmark = 200\n")
    err = empty_desk.refuse("rubric", "check", "a.toml")
    head, *lines = err.splitlines()
    assert head == f"evalkit: a.toml: {len(lines)} faults; nothing was kept. Mend the lines below and try again."
    assert all(line.startswith("a.toml") for line in lines)
    assert len(lines) >= 3


def test_stopping_it_by_hand_is_no_fault_of_the_program(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def stop(**_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(root, "app", stop)
    assert run(["x"]) == 130
    assert "stopped" in capsys.readouterr().err


# --- as a process of its own -----------------------------------------------------------------------------------------


def test_it_runs_as_a_module(tmp_path: Path):
    answer = call("--version")
    assert (answer.returncode, answer.stdout) == (0, f"evalkit {evalkit.__version__}\n")
    missing = call("round", "list", EVALKIT_BOOK=str(tmp_path / "none"))
    assert missing.returncode == 3
    assert missing.stdout == ""
    assert missing.stderr.startswith(f"evalkit: {tmp_path / 'none'}: there is no book here.")
    assert len(missing.stderr.splitlines()) == 1


def test_a_pipe_that_closes_early_is_no_traceback(tmp_path: Path):
    code = "import subprocess, sys; p = subprocess.Popen([sys.executable, '-m', 'evalkit', 'rubric', 'show', 'shears'],"
    code += "stdout=subprocess.PIPE, stderr=subprocess.PIPE); p.stdout.readline(); p.stdout.close();"
    code += "print(p.stderr.read().decode())"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "Traceback" not in said


@pytest.mark.parametrize("words", [("--help",), ("--version",)])
def test_the_list_and_the_version_load_nothing_heavy(words: tuple[str, ...]):
    """`tests/test_layers.py` reads the imports; this asks Python what was loaded in the end."""
    code = f"import sys; from evalkit.cli.app import run; run({list(words)!r}); print(sorted(sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert [name for name in HEAVY if f"'{name}'" in loaded] == []
    assert "'evalkit.cli.round'" not in loaded
