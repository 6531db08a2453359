"""The commands `limits` and `validate`: what they write where, and the code they end with."""

from __future__ import annotations

import json
import re
import signal
import time
from dataclasses import replace
from pathlib import Path

import pytest

from flipcheck.cli.arguments import LIMITS_TRIALS, MOST_KEPT
from flipcheck.decide.limits import limits as decided
from flipcheck.decide.limits.limits import TRIALS, limits
from flipcheck.decide.validation import validation
from flipcheck.job.reader import read_job
from flipcheck.show.limits.plain import limits_to_json
from flipcheck.show.limits.text import limits_to_text
from flipcheck.show.validation_text import validation_to_json, validation_to_text
from flipcheck.stack.monte_carlo.streams import BLOCK
from tests.test_cli import Terminal, posix, shell


@pytest.fixture
def few_checks(monkeypatch: pytest.MonkeyPatch) -> list[validation.Outcome]:
    """Let `validate` run three quick checks; returned are their outcomes."""
    outcomes = [validation.outcome(check) for check in validation.CHECKS[:3]]
    monkeypatch.setattr(validation, "run_checks", lambda: tuple(outcomes))
    return outcomes


def test_limits_of_a_goal_that_is_met(run, job: str):
    """Where any method meets the goal limits end with 0, the text of all methods on stdout, nothing on stderr."""
    expected = limits_to_text(limits(read_job(job), trials=BLOCK, rng=1))
    assert (0, expected, "") == run("limits", job, "--trials", "1000")
    assert '"fence and stop" misses the goal' in expected
    assert '"two dowels" meets the goal' in expected


def test_limits_of_a_goal_that_is_missed(run, job: str):
    """Where none of the methods shown meets the goal limits end with 1."""
    code, out, err = run("limits", job, "--trials", "1000", "--method", "fence and stop")
    assert (1, "") == (code, err)
    assert "reaches it: seating at" in " ".join(out.split())
    assert "two dowels" not in out


def test_limits_of_some(run, job: str):
    """The option --method may be given several times; the methods come in its order."""
    names = ["touched corner", "fence and stop"]
    code, out, _ = run("limits", job, "--json", "--trials", "1000", "--method", names[0], "--method", names[1])
    assert code == 0
    assert names == [method["name"] for method in json.loads(out)["methods"]]


def test_limits_json(run, job: str):
    """With --json the same answer is written as JSON, for the trials (in whole blocks) and the seed given."""
    arguments = ("--json", "--trials", str(BLOCK + 1), "--seed", "5", "--method", "fence and stop")
    expected = limits_to_json(limits(read_job(job), ["fence and stop"], trials=BLOCK + 1, rng=5))
    assert (1, expected, "") == run("limits", job, *arguments)
    assert (2 * BLOCK, 5) == (json.loads(expected)["trials"], json.loads(expected)["seed"])


def test_limits_of_the_built_in_example(run):
    """Without a job the built-in example runs, and a note on stderr says so unless told to be quiet."""
    arguments = ("limits", "--json", "--trials", "1", "--method", "fence and stop, same edge")
    code, out, err = run(*arguments)
    title = json.loads(out)["title"]
    assert f'No job given: this is the built-in example "{title}". To start your own: flipcheck new FILE\n\n' == err
    assert (code, out, "") == run(*arguments, "--quiet")


def test_trials_unless_given_are_those_of_the_library(run, job: str):
    """Without --trials and --seed the answer is that of the library."""
    _, out, _ = run("limits", job, "--json", "--method", "touched corner")
    assert limits_to_json(limits(read_job(job), ["touched corner"])) == out
    assert TRIALS == json.loads(out)["trials"] == LIMITS_TRIALS


@pytest.mark.parametrize(
    ("option", "value", "message"),
    [
        ("--trials", "0", "0 is not in the range 1 to 500000"),
        ("--trials", "500001", "500001 is not in the range 1 to 500000"),
        ("--trials", "auto", "a whole number is needed, not 'auto'"),
        ("--seed", "-1", "greater than or equal to 0|not in the range x>=0"),
    ],
)
def test_bad_options(run, job: str, option: str, value: str, message: str):
    """Trials and seeds out of their range are refused with 2, naming the option and the range."""
    code, out, err = run("limits", job, option, value)
    assert (2, "") == (code, out)
    assert re.search(f"Invalid value for '{option}'.*({message})", " ".join(err.split()))


def test_unknown_method(run, job: str):
    """A method that is not in the job is told with the nearest that is."""
    code, out, err = run("limits", job, "--method", "two dowls")
    assert (2, "") == (code, out)
    assert 'came   "two dowls"\n    try    "two dowels"\n' in err


def test_no_such_file(run, tmp_path: Path):
    """A job file that is not there ends with 2 and says which."""
    path = tmp_path / "nowhere.toml"
    code, out, err = run("limits", str(path))
    assert (2, "") == (code, out)
    assert err.startswith(f"{path}: 1 thing to mend\n\n  the job file [file-missing]\n")


def test_interrupt(run, job: str, monkeypatch: pytest.MonkeyPatch):
    """Interrupted at work limits end with 130 and a short note, nothing on stdout."""

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(decided, "limits", interrupted)
    assert (130, "", "flipcheck: interrupted\n") == run("limits", job)


@posix
def test_interrupt_by_a_signal():
    """A signal ends long work at once."""
    started = shell("limits", "--trials", str(MOST_KEPT))
    assert started.stderr is not None
    assert b"No job given" in started.stderr.readline()
    time.sleep(0.5)
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=20)
    assert (130, b"", b"flipcheck: interrupted") == (started.returncode, out, err.strip())


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("limits", ["--method", "--trials", "--seed", "--json", "--quiet", "--help"]),
        ("validate", ["--json", "--help"]),
    ],
)
def test_help_of_a_command(run, command: str, options: list[str]):
    """The help of a command names its options, and no others."""
    code, out, err = run(command, "--help")
    assert (0, "") == (code, err)
    assert options == re.findall(r"^  (?:-h, )?(--\w+)", out, re.MULTILINE)


def test_validate(run, few_checks: list[validation.Outcome]):
    """Where all numbers are within what is allowed, validate ends with 0, the text on stdout, nothing on stderr."""
    expected = validation_to_text(few_checks)
    assert (0, expected, "") == run("validate")
    assert "All 3 numbers are as published" in expected


def test_validate_what_is_off(run, few_checks: list[validation.Outcome]):
    """A number that is off ends validate with 1."""
    few_checks[1] = replace(few_checks[1], within=False)
    code, out, err = run("validate")
    assert (1, "") == (code, err)
    assert out.startswith("1 of 3 numbers are not as published: gap, tolerance (")


def test_validate_json(run, few_checks: list[validation.Outcome]):
    """With --json the same outcomes are written as JSON."""
    assert (0, validation_to_json(few_checks), "") == run("validate", "--json")
    few_checks[0] = replace(few_checks[0], within=False)
    assert (1, validation_to_json(few_checks), "") == run("validate", "--json")


def test_validate_interrupted(run, monkeypatch: pytest.MonkeyPatch):
    """Interrupted, validate ends with 130."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(validation, "run_checks", interrupted)
    assert (130, "", "flipcheck: interrupted\n") == run("validate")


def test_validate_takes_no_job(run, job: str):
    """What validate does not know is refused with 2."""
    code, out, err = run("validate", job)
    assert (2, "") == (code, out)
    assert "Got unexpected extra argument" in err


@pytest.mark.parametrize(("columns", "widest"), [("40", 80), ("100", 100)])
def test_on_a_terminal(run, job: str, monkeypatch: pytest.MonkeyPatch, columns: str, widest: int):
    """On a terminal the text fills its width and the verdicts have their colours."""
    terminal = Terminal()
    monkeypatch.setattr("sys.stdout", terminal)
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    run("limits", job, "--trials", "1000", "--method", "fence and stop")
    assert terminal.getvalue().startswith('\x1b[1;31m"fence and stop" misses')
    lines = re.sub(r"\x1b\[[0-9;]*m", "", terminal.getvalue()).splitlines()
    caution = next(line for line in lines if line.startswith("Caution"))
    assert widest - 15 < len(caution) <= widest
