"""The command `sweep`: what it writes where, and the code it ends with."""

from __future__ import annotations

import csv
import io
import json
import re
import signal
import time
from pathlib import Path

import pytest

from flipcheck.cli.arguments import SWEEP_TRIALS
from flipcheck.decide.sweep import sweep as decided
from flipcheck.decide.sweep.sweep import TRIALS, SweepInterruptedError, sweep
from flipcheck.job.reader import read_job
from flipcheck.show.sweep.plain import sweep_to_csv, sweep_to_json
from flipcheck.show.sweep.text import sweep_to_text
from tests.test_cli import Terminal, posix, shell

VARY = "errors.seating=0:0.1:3"
FEW = ("--vary", VARY, "--trials", "200")


def swept(job: str, vary: str | list[str] = VARY, *methods: str, **options):
    """What the library says."""
    return sweep(read_job(job), vary, methods or None, **{"trials": 200} | options)


def test_sweep(run, job: str):
    """Where the goal is reached anywhere sweep ends with 0, its text on stdout, nothing on stderr."""
    assert (0, sweep_to_text(swept(job)), "") == run("sweep", job, *FEW)


def test_sweep_that_never_reaches_the_goal(run, job: str):
    """Where no method shown reaches it at any point sweep ends with 1."""
    vary = "errors.seating=0.05:0.1:2"
    expected = sweep_to_text(swept(job, vary, "fence and stop"))
    assert (1, expected, "") == run("sweep", job, "--vary", vary, "--trials", "200", "--method", "fence and stop")


def test_sweep_csv_and_json(run, job: str):
    """The same as CSV, and as JSON; both at once are refused."""
    found = swept(job, rng=5, plain=True)
    more = ("--seed", "5", "--plain")
    assert (0, sweep_to_csv(found), "") == run("sweep", job, *FEW, *more, "--csv")
    assert (0, sweep_to_json(found), "") == run("sweep", job, *FEW, *more, "--json")
    assert 9 == len(list(csv.DictReader(io.StringIO(sweep_to_csv(found)))))
    code, out, err = run("sweep", job, *FEW, "--csv", "--json")
    assert (2, "") == (code, out)
    assert "give --csv or --json, not both" in err


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@SUM(A1)"])
def test_a_name_is_no_formula(run, job: str, name: str):
    """A spreadsheet that opens the CSV of somebody else's job has nothing to work out in it."""
    text = Path(job).read_text(encoding="utf-8")
    Path(job).write_text(text.replace('name = "fence and stop"', f'name = "{name}"'), encoding="utf-8")
    _, out, _ = run("sweep", job, *FEW, "--csv")
    named = {row["method"] for row in csv.DictReader(io.StringIO(out))}
    assert f"'{name}" in named
    assert name not in named


def test_two_quantities(run, job: str):
    """The option --vary may be given twice."""
    vary = ["errors.seating=0:0.1:2", "blank.size[2]=10:12:2"]
    code, out, _ = run("sweep", job, "--vary", vary[0], "--vary", vary[1], "--trials", "200", "--json")
    assert 0 == code
    assert sweep_to_json(swept(job, vary)) == out
    assert [[0.0, 10.0], [0.0, 12.0], [0.1, 10.0], [0.1, 12.0]] == [p["values"] for p in json.loads(out)["points"]]


def test_a_spread_by_itself_is_what_the_file_gives(run, tmp_path: Path, job: str):
    """The file tells a total from a limit."""
    path = tmp_path / "total.toml"
    text = Path(job).read_text(encoding="utf-8")
    path.write_text(text.replace("seating = { std = 0.05 }", "seating = { total = 0.1 }"), encoding="utf-8")
    _, out, _ = run("sweep", str(path), *FEW, "--json")
    assert "errors.seating.total" == json.loads(out)["vary"][0]["key"]


def test_the_built_in_example(run):
    """Without a job the built-in example runs, and a note on stderr says so unless told to be quiet."""
    arguments = (
        "sweep",
        "--vary",
        "errors.positioning=0.005:0.01:2",
        "--trials",
        "100",
        "--method",
        "probe the same corner",
    )
    code, out, err = run(*arguments)
    assert err.startswith("No job given: this is the built-in example")
    assert (code, out, "") == run(*arguments, "--quiet")


def test_trials_unless_given_are_those_of_the_library(run, job: str):
    """Without --trials and --seed the answer is that of the library."""
    arguments = ("--vary", "errors.seating=0:0.1:2", "--method", "fence and stop", "--json")
    _, out, _ = run("sweep", job, *arguments)
    assert sweep_to_json(sweep(read_job(job), "errors.seating=0:0.1:2", ["fence and stop"])) == out
    assert TRIALS == json.loads(out)["trials"] == SWEEP_TRIALS


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "[sweep-range] needed one quantity or two to vary came 0 of them"),
        (("--vary", VARY, "--vary", VARY), "[sweep-twice] needed two different quantities"),
        (
            ("--vary", "errors.saeting=0:1:3"),
            '[sweep-key] needed a key that leads to a number came "saeting" try errors.seating',
        ),
        (("--vary", "errors.seating=0:1:1"), "[sweep-range] needed a whole number of values, 2 to 100,000 came 1"),
        (("--vary", "errors.seating=0:1 deg:3"), "errors.seating.std [wrong-dimension]"),
        ((*FEW, "--method", "two dowls"), "[unknown-method] needed the name of a method"),
        ((*FEW, "--trials", "auto"), "Invalid value for '--trials': a whole number is needed, not 'auto'"),
        ((*FEW, "--trials", "0"), "Invalid value for '--trials': 0 is not in the range 1 to 10000000000"),
    ],
)
def test_what_must_be_mended(run, job: str, arguments: tuple[str, ...], message: str):
    """A call that is wrong ends with 2 and says what was needed."""
    code, out, err = run("sweep", job, *arguments)
    assert (2, "") == (code, out)
    assert message in " ".join(err.split())


def test_nothing_but_holes(run, job: str):
    """Where no point has a result the reasons are told, and sweep ends with 2; no picture is drawn of it."""
    arguments = ("--vary", "errors.seating=-0.2:-0.1:2", "--trials", "200", "--plots", str(Path(job).parent / "none"))
    code, out, err = run("sweep", job, *arguments)
    assert (2, "") == (code, err)
    assert "No result at -0.2 mm: errors.seating.std: needed a spread of 0 or more; came -0.2" in " ".join(out.split())
    assert not (Path(job).parent / "none").exists()


def test_pictures(run, job: str, tmp_path: Path):
    """With --plots pictures are drawn, and their number is told; they are not written over unasked."""
    folder = tmp_path / "pictures"
    arguments = ("sweep", job, *FEW, "--method", "fence and stop", "--plots", str(folder))
    code, out, err = run(*arguments)
    assert (0, f"drew 2 pictures in {folder}\n") == (code, err)
    assert ["sweep-chance.svg", "sweep-p95.svg"] == sorted(path.name for path in folder.iterdir())
    code, again, err = run(*arguments, "--quiet")
    assert (2, out) == (code, again)  # the answer is not lost with the pictures
    assert "sweep-chance.svg is there already" in err
    assert (0, out, "") == run(*arguments, "--quiet", "--force")
    run(*arguments, "--png")
    assert (folder / "sweep-p95.png").exists()


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_interrupt(run, job: str, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...]):
    """Interrupted, sweep shows the points that are done and ends with 130."""
    counted = []

    def stop(count: int) -> None:
        counted.append(count)
        if len(counted) == 2:
            raise KeyboardInterrupt

    with pytest.raises(SweepInterruptedError) as stopped:
        swept(job, progress=stop)
    done = stopped.value.sweep

    def interrupted(*_: object, **__: object) -> None:
        raise SweepInterruptedError(done)

    monkeypatch.setattr(decided, "sweep", interrupted)
    code, out, err = run("sweep", job, *FEW, *more)
    assert (130, "flipcheck: interrupted\n") == (code, err)
    assert (sweep_to_json(done) if more else sweep_to_text(done)) == out
    assert more or "Interrupted: 2 of 3 points are done." in out


@posix
def test_interrupt_by_a_signal():
    """A signal in the middle of a long sweep lets it tell what it has and end."""
    vary = ("--vary", "errors.seating=0.001:0.1:2000", "--method", "fence and stop, same edge", "--json")
    started = shell("sweep", *vary)
    assert started.stderr is not None
    assert b"No job given" in started.stderr.readline()
    time.sleep(4.0)
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=60)
    assert (130, b"flipcheck: interrupted") == (started.returncode, err.strip())
    if out:  # nothing, if it came before the first point was begun
        plain = json.loads(out)
        assert not plain["complete"]
        assert len(plain["points"]) < 2000


def test_help(run):
    """The help names the options, and no others."""
    code, out, err = run("sweep", "--help")
    assert (0, "") == (code, err)
    options = ["--vary", "--method", "--trials", "--seed", "--plain", "--csv", "--json", "--plots", "--png", "--force"]
    assert [*options, "--quiet", "--help"] == re.findall(r"^  (?:-h, )?(--\w+)", out, re.MULTILINE)


def test_on_a_terminal(run, job: str, monkeypatch: pytest.MonkeyPatch):
    """On a terminal the headlines stand out."""
    terminal = Terminal()
    monkeypatch.setattr("sys.stdout", terminal)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    run("sweep", job, *FEW)
    assert terminal.getvalue().startswith('\x1b[1m"fence and stop" meets')
    assert sweep_to_text(swept(job), width=100) == re.sub(r"\x1b\[[0-9;]*m", "", terminal.getvalue())
