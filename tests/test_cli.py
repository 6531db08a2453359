"""The command line: what it writes where, and the code it ends with."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from flipcheck import __version__
from flipcheck.cli import main as command_line
from flipcheck.cli import shell as streams
from flipcheck.decide.check import check
from flipcheck.decide.compare import compare
from flipcheck.decide.settle import MOST
from flipcheck.job.reader import read_job
from flipcheck.job.starter import LIKES, starter
from flipcheck.show.plain import to_json
from flipcheck.show.text import to_text

JOB = """
title = "Plate"
goal = 0.9
flip = "left-right"
[blank]
size = [180, 110, 12]
[errors]
positioning = { std = 0.01 }
seating = { std = 0.05 }
[[pairs]]
name = "seat"
kind = "hole"
at = [60, 55]
allowed = 0.1
[[methods]]
name = "fence and stop"
kind = "fence"
fence = "front"
contacts = [20, 160]
stop = "left"
stop_at = 20
[[methods]]
name = "two dowels"
kind = "pins"
pins = [[90, 8], [90, 102]]
pin = { diameter = 6.0, limit = 0.005 }
hole = { diameter = 6.06, limit = 0.01 }
[[methods]]
name = "touched corner"
kind = "probe"
corner = "front-left"
touch_in = [15, 15]
angle = "two touches"
spacing = 140
"""

posix = pytest.mark.skipif(os.name != "posix", reason="streams and signals of a POSIX system")

Ended = tuple[int, str, str]


#: Processes that were started by the test that runs.
STARTED: list[subprocess.Popen[bytes]] = []


def shell(*arguments: str, **options) -> subprocess.Popen[bytes]:
    """Start a command in a process of its own; it ends with the test at the latest."""
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    STARTED.append(subprocess.Popen([sys.executable, "-m", "flipcheck", *arguments], **streams | options))
    return STARTED[-1]


def test_help_names_the_commands(run):
    """The help names every command that exists, and the exit codes."""
    code, out, err = run("--help")
    assert (0, "") == (code, err)
    commands = re.findall(r"^  (\w+)  +[A-Z]", out[out.index("Commands:") :], re.MULTILINE)
    assert ["new", "check", "compare", "limits", "correct", "sweep", "report", "sheet", "fits", "validate"] == commands
    assert "0: goal met, 1: goal not met, 2: something must be mended, 130: interrupted" in " ".join(out.split())


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("new", ["--like", "--quiet", "--help"]),
        (
            "check",
            [
                "--method",
                "--parts",
                "--coupons",
                "--trials",
                "--seed",
                "--plain",
                "--json",
                "--plots",
                "--png",
                "--force",
                "--quiet",
                "--help",
            ],
        ),
        (
            "compare",
            ["--method", "--trials", "--seed", "--plain", "--json", "--plots", "--png", "--force", "--quiet", "--help"],
        ),
        ("report", ["--output", "--trials", "--seed", "--force", "--quiet", "--help"]),
        ("sheet", ["--method", "--output", "--force", "--quiet", "--help"]),
    ],
)
def test_help_of_a_command(run, command: str, options: list[str]):
    """The help of a command names its options, and no others."""
    code, out, err = run(command, "--help")
    assert (0, "") == (code, err)
    assert options == re.findall(r"^  (?:-\w, )?(--\w+)", out, re.MULTILINE)


def test_help_is_light():
    """Help comes without loading what only the work needs."""
    heavy = ["numpy", "scipy", "pydantic", "pint", "matplotlib", "uncertainties"]
    code = f"""
import sys
from flipcheck.cli.main import main
try:
    main(["--help"])
finally:
    print([name for name in {heavy} if name in sys.modules], file=sys.stderr)
"""
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "[]\n" == ended.stderr
    assert "Usage: flipcheck" in ended.stdout


def test_version(run):
    """The version stands on stdout."""
    assert (0, f"flipcheck {__version__}\n", "") == run("--version")


def test_no_command(run):
    """Without a command the help is shown, on stderr, as a call to be mended."""
    code, out, err = run()
    assert (2, "") == (code, out)
    assert "Commands:" in err


def test_most_trials_are_those_of_the_library():
    """The progress bar reaches its end with the most trials that are run unasked."""
    assert MOST == streams.AUTO_MOST


@pytest.mark.parametrize("like", LIKES)
def test_new_writes_the_starter(run, tmp_path: Path, like: str):
    """A new file is the starter, whole and alone in its folder; stdout stays empty."""
    path = tmp_path / "part.toml"
    code, out, err = run("new", str(path), "--like", like)
    assert (0, "") == (code, out)
    assert f"wrote {path}; fill in your part, then: flipcheck check {path}\n" == err
    assert starter(like) == path.read_text(encoding="utf-8")
    assert [path] == list(tmp_path.iterdir())


def test_new_is_quiet_if_told(run, tmp_path: Path):
    """With --quiet nothing is said."""
    assert (0, "", "") == run("new", str(tmp_path / "part.toml"), "--quiet")


def test_a_new_file_can_be_checked(run, tmp_path: Path):
    """A starter runs as it stands."""
    run("new", str(tmp_path / "part.toml"))
    code, out, err = run("check", str(tmp_path / "part.toml"), "--trials", "1000")
    assert code in (0, 1)
    assert "Left out, counted as zero" in out
    assert err == ""


def test_new_never_overwrites(run, job: str):
    """A file that is there stays as it is."""
    assert (2, "", f"flipcheck: {job} is there already and is left as it is. Try: another name\n") == run("new", job)
    assert Path(job).read_text(encoding="utf-8") == JOB


@posix
def test_new_does_not_write_through_a_link(run, tmp_path: Path):
    """A link counts as a file that is there, even if it leads nowhere."""
    link = tmp_path / "part.toml"
    link.symlink_to(tmp_path / "elsewhere.toml")
    code, _, err = run("new", str(link))
    assert code == 2
    assert "is there already" in err
    assert not (tmp_path / "elsewhere.toml").exists()


def test_new_taken_meanwhile(run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A file that appears while the starter is written is not overwritten either."""
    path = tmp_path / "part.toml"
    path.write_text("mine", encoding="utf-8")
    monkeypatch.setattr("os.path.lexists", lambda path: False)
    code, _, err = run("new", str(path))
    assert code == 2
    assert "is there already and is left as it is" in err
    assert ("mine", [path]) == (path.read_text(encoding="utf-8"), list(tmp_path.iterdir()))


@pytest.mark.parametrize("taken", [False, True])
def test_new_without_hard_links(run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, taken: bool):
    """On a file system without hard links a new file is still whole, and one that is there is left alone."""

    def refuse(*_):
        raise PermissionError(1, "Operation not permitted")

    path = tmp_path / "part.toml"
    if taken:
        path.write_text("mine", encoding="utf-8")
    monkeypatch.setattr(Path, "hardlink_to", refuse)
    monkeypatch.setattr("os.path.lexists", lambda path: False)
    code, _, _ = run("new", str(path), "--like", "metal")
    expected = (2, "mine") if taken else (0, starter("metal"))
    assert expected == (code, path.read_text(encoding="utf-8"))
    assert [path] == list(tmp_path.iterdir())


def test_new_without_its_folder(run, tmp_path: Path):
    """A folder that is not there is named."""
    path = tmp_path / "jobs" / "part.toml"
    message = f"flipcheck: there is no folder {path.parent} to write part.toml into. Try: make it first\n"
    assert (2, "", message) == run("new", str(path))


def test_new_that_cannot_be_written(run, tmp_path: Path):
    """A name that the file system refuses ends in words."""
    code, out, err = run("new", str(tmp_path / ("x" * 5000)))
    assert (2, "") == (code, out)
    assert "cannot be written: file name too long\n" in err


def test_new_like_nothing_known(run, tmp_path: Path):
    """An unknown kind of starter is refused with the kinds there are."""
    code, out, err = run("new", str(tmp_path / "part.toml"), "--like", "iron")
    assert (2, "") == (code, out)
    assert re.search(r"Invalid value for '--like'.*'wood', 'metal'", err)
    assert list(tmp_path.iterdir()) == []


def test_check_that_meets_its_goal(run, job: str):
    """A goal that is met ends with 0, the text on stdout, nothing on stderr; --method chooses the method."""
    expected = to_text(check(read_job(job), "two dowels", trials=2000, rng=1))
    assert (0, expected, "") == run("check", job, "--method", "two dowels", "--trials", "2000")
    assert "Goal met" in expected


def test_check_that_misses_its_goal(run, job: str):
    """A goal that is not met ends with 1; without --method the first method of the job is checked."""
    code, out, err = run("check", job, "--trials", "2000")
    assert (1, "") == (code, err)
    assert "Goal not met" in out
    assert 'by "fence and stop" (fence).' in out


def test_check_json(run, job: str):
    """With --json the same result is written as JSON, with the same exit code, for the trials and seed given."""
    expected = to_json(check(read_job(job), trials=3000, rng=5))
    assert (1, expected, "") == run("check", job, "--json", "--trials", "3000", "--seed", "5")
    assert (3000, 5) == (json.loads(expected)["trials"], json.loads(expected)["seed"])


def test_seed_zero_counts(run, job: str):
    """Seed 0 is a seed like any other."""
    _, out, _ = run("check", job, "--json", "--trials", "100", "--seed", "0")
    assert json.loads(out)["seed"] == 0


@pytest.mark.parametrize("command", ["check", "compare"])
def test_the_built_in_example(run, command: str):
    """Without a job the built-in example runs, and a note on stderr says so."""
    code, out, err = run(command, "--trials", "1000", "--json")
    assert code in (0, 1)
    title = json.loads(out)["title"]
    assert f'No job given: this is the built-in example "{title}". To start your own: flipcheck new FILE\n\n' == err


def test_quiet_keeps_notes_away(run):
    """With --quiet stderr stays empty and stdout the same."""
    loud = run("check", "--trials", "1000")
    assert (*loud[:2], "") == run("check", "--trials", "1000", "--quiet")


def test_compare(run, job: str):
    """A comparison writes the recommendation and ends with 0 where the goal is met."""
    expected = to_text(compare(read_job(job), trials=2000, rng=1))
    assert (0, expected, "") == run("compare", job, "--trials", "2000")
    assert expected.startswith('Take "')


def test_compare_some(run, job: str):
    """With --method only the methods named are compared."""
    code, out, _ = run(
        "compare", job, "--json", "--trials", "2000", "--method", "two dowels", "--method", "fence and stop"
    )
    assert code == 0
    assert ["two dowels", "fence and stop"] == [method["name"] for method in json.loads(out)["methods"]]


def test_compare_where_none_meets_the_goal(run, job: str):
    """A comparison in which no method meets the goal ends with 1."""
    code, out, _ = run("compare", job, "--trials", "2000", "--method", "fence and stop")
    assert code == 1
    assert '"fence and stop" does not reach the goal.' == out.splitlines()[0]


@pytest.mark.parametrize("command", ["check", "compare"])
def test_unknown_method(run, job: str, command: str):
    """A method that is not in the job is told with the nearest that is."""
    code, out, err = run(command, job, "--method", "two dowls")
    assert (2, "") == (code, out)
    assert 'came   "two dowls"\n    try    "two dowels"\n' in err
    assert "[unknown-method]" in err


@pytest.mark.parametrize("command", ["check", "compare"])
def test_no_such_file(run, tmp_path: Path, command: str):
    """A job file that is not there ends with 2 and says which."""
    path = tmp_path / "nowhere.toml"
    code, out, err = run(command, str(path))
    assert (2, "") == (code, out)
    assert err.startswith(f"{path}: 1 thing to mend\n\n  the job file [file-missing]\n")


def test_everything_to_mend_at_once(run, job: str):
    """Every problem of a job is told, in a block of its own with its line."""
    Path(job).write_text(
        JOB.replace("allowed = 0.1", "alowed = 0.1").replace("goal = 0.9", "goal = 90"), encoding="utf-8"
    )
    code, out, err = run("check", job)
    assert (2, "") == (code, out)
    assert err.startswith(f"{job}: 2 things to mend\n\n  line 3, goal [")
    assert '\n\n  line 14, pairs "seat": alowed [unknown-key]\n' in err


@pytest.mark.parametrize(
    ("option", "value", "message"),
    [
        ("--trials", "0", "0 is not in the range 1 to 10000000000"),
        ("--trials", "10000000001", "10000000001 is not in the range 1 to 10000000000"),
        ("--trials", "many", "a whole number or auto is needed, not 'many'"),
        ("--seed", "-1", "greater than or equal to 0|not in the range x>=0"),
    ],
)
@pytest.mark.parametrize("command", ["check", "compare"])
def test_bad_options(run, job: str, command: str, option: str, value: str, message: str):
    """Trials and seeds out of their range are refused, naming the option and the range."""
    code, out, err = run(command, job, option, value)
    assert (2, "") == (code, out)
    assert re.search(f"Invalid value for '{option}'.*({message})", err)


def test_unknown_command(run):
    """A command that is not there ends with 2 and its name."""
    code, out, err = run("chek")
    assert (2, "") == (code, out)
    assert "No such command 'chek'" in err


def test_interrupt_outside_a_command(run, monkeypatch: pytest.MonkeyPatch):
    """An interrupt before a command has begun ends the same way."""

    def interrupted(**_):
        raise KeyboardInterrupt

    monkeypatch.setattr(command_line, "app", interrupted)
    assert (130, "", "flipcheck: interrupted\n") == run("check")


@posix
def test_interrupt():
    """Interrupted at work, flipcheck ends soon with 130 and a short note, nothing on stdout."""
    started = shell("check", "--trials", str(10**10))
    assert started.stderr is not None
    assert b"No job given" in started.stderr.readline()
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=30)
    assert (130, b"", b"flipcheck: interrupted") == (started.returncode, out, err.strip())


@posix
@pytest.mark.parametrize("form", [(), ("--json",)])
def test_a_reader_who_leaves(job: str, form: tuple[str, ...]):
    """A closed pipe ends quietly, with the code of the verdict."""
    reading, writing = os.pipe()
    os.close(reading)
    started = shell("check", job, "--trials", "1000", *form, stdout=writing)
    os.close(writing)
    _, err = started.communicate(timeout=60)
    assert (1, b"") == (started.returncode, err)


@posix
def test_stderr_that_nobody_reads(job: str):
    """Notes that cannot be written are no reason to fail."""
    reading, writing = os.pipe()
    os.close(reading)
    started = shell("check", "--trials", "1000", stderr=writing)
    os.close(writing)
    out, _ = started.communicate(timeout=60)
    assert started.returncode in (0, 1)
    assert b"Left out, counted as zero" in out


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (("check", "--quiet", "--trials", "1000"), b"the result cannot be written to stdout"),
        (("--version",), b"the result cannot be written to stdout"),
        (("--help",), b"stdout cannot be written"),
    ],
)
def test_full_disk(arguments: tuple[str, ...], what: bytes):
    """A result that cannot be written is something to mend, told in one line."""
    with Path("/dev/full").open("wb") as full:
        started = shell(*arguments, stdout=full)
        _, err = started.communicate(timeout=60)
    assert (2, b"flipcheck: " + what + b": no space left on device\n") == (started.returncode, err)


def test_closed_stdout(run, job: str, monkeypatch: pytest.MonkeyPatch):
    """Without any stdout the result has nowhere to go, and that is said."""
    monkeypatch.setattr(sys, "stdout", None)
    code, _, err = run("check", job, "--trials", "100")
    assert (2, "flipcheck: stdout is closed: the result has nowhere to go\n") == (code, err)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_terminals_that_know_few_signs(job: str, encoding: str):
    """What a terminal cannot show becomes a question mark; it never stops the answer."""
    Path(job).write_text(JOB.replace('"Plate"', '"Träger, 1/4″"'), encoding="utf-8")
    started = shell(
        "check", job, "--trials", "1000", env=os.environ | {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    )
    out, err = started.communicate(timeout=60)
    assert (1, b"") == (started.returncode, err)
    assert "Träger, 1/4″, turned".encode(encoding, "replace") in out


class Terminal(io.StringIO):
    """A stream that claims to be a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("columns", "widest"), [("40", 80), ("100", 100), ("500", streams.WIDEST)])
def test_on_a_terminal(run, job: str, monkeypatch: pytest.MonkeyPatch, columns: str, widest: int):
    """On a terminal the text fills its width, within reason, and the verdict has a colour."""
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    run("compare", job, "--trials", "1000")
    assert terminal.getvalue().startswith("\x1b[1;32mTake")
    lines = re.sub(r"\x1b\[[0-9;]*m", "", terminal.getvalue()).splitlines()
    caution = next(line for line in lines if line.startswith("Caution"))
    assert widest - 15 < len(caution) <= widest
    assert max(len(line) for line in lines) <= widest


def progress(monkeypatch: pytest.MonkeyPatch, seconds: float, quiet: bool, stderr: io.StringIO) -> str:
    """What stderr gets to see while three blocks are done, the last so many seconds after the start."""
    clock = iter([0.0, 0.0, seconds / 2, seconds])
    monkeypatch.setattr(streams, "time", SimpleNamespace(monotonic=lambda: next(clock)))
    monkeypatch.setattr(sys, "stderr", stderr)
    monkeypatch.setenv("TERM", "xterm-256color")
    with streams.Bar(300, quiet) as bar:
        for _ in range(3):
            bar(100)
    return stderr.getvalue()


def test_progress_of_long_work(monkeypatch: pytest.MonkeyPatch):
    """Where somebody watches, work of more than a second shows how far it is."""
    shown = progress(monkeypatch, 2.2, False, Terminal())
    assert "simulating" in shown
    assert "100%" in shown


@pytest.mark.parametrize(
    ("seconds", "quiet", "watched"),
    [(0.9, False, True), (60.0, True, True), (60.0, False, False)],
    ids=["soon done", "quiet", "no terminal"],
)
def test_no_progress(monkeypatch: pytest.MonkeyPatch, seconds: float, quiet: bool, watched: bool):
    """Nothing is shown of short work, if told to be quiet, or off a terminal."""
    assert progress(monkeypatch, seconds, quiet, Terminal() if watched else io.StringIO()) == ""
