"""What goes wrong while a command is at work: full disks, folders that refuse, readers who leave, Ctrl-C."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from tests.test_cli import posix, shell
from tests.test_cli_correct import READINGS

full_disk = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")


@pytest.fixture
def folder(job: str, tmp_path: Path) -> Path:
    """A folder with a job and its readings."""
    (tmp_path / "first.csv").write_text(READINGS, encoding="utf-8")
    return tmp_path


WORDY = [
    ("compare", "plate.toml", "--trials", "100", "--json"),
    ("limits", "plate.toml", "--trials", "100"),
    ("correct", "plate.toml", "first.csv", "--trials", "100"),
    ("sheet", "plate.toml"),
]


@full_disk
@pytest.mark.parametrize("arguments", WORDY, ids=" ".join)
def test_full_disk(folder: Path, arguments: tuple[str, ...]):
    """An answer that cannot be written is told in one line, whatever the command."""
    with Path("/dev/full").open("wb") as full:
        started = shell(*arguments, stdout=full, cwd=folder)
        _, err = started.communicate(timeout=60)
    assert (2, b"flipcheck: the result cannot be written to stdout: no space left on device\n") == (
        started.returncode,
        err,
    )


@posix
@pytest.mark.parametrize("arguments", WORDY, ids=" ".join)
def test_a_reader_who_leaves(folder: Path, arguments: tuple[str, ...]):
    """A closed pipe ends quietly with the verdict's code."""
    reading, writing = os.pipe()
    os.close(reading)
    started = shell(*arguments, stdout=writing, cwd=folder)
    os.close(writing)
    _, err = started.communicate(timeout=60)
    assert b"" == err
    assert started.returncode in (0, 1)


@posix
@pytest.mark.parametrize(
    "arguments",
    [
        ("report", "--trials", str(10**10), "-o", "out.html"),
        ("check", "--trials", str(10**10), "--plots", "drawn"),
        ("check", "--parts", "1000", "--trials", str(10**10)),
        ("limits", "--trials", "500000"),
    ],
    ids=" ".join,
)
def test_interrupt(tmp_path: Path, arguments: tuple[str, ...]):
    """Ctrl-C ends any command soon with 130 and a short note, and nothing is written."""
    started = shell(*arguments, cwd=tmp_path)
    assert started.stderr is not None
    assert b"No job given" in started.stderr.readline()
    time.sleep(0.3)
    sent = time.monotonic()
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=60)
    assert (130, b"", b"flipcheck: interrupted") == (started.returncode, out, err.strip())
    assert time.monotonic() < sent + 30.0
    assert [] == list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (KeyboardInterrupt(), 130, "flipcheck: interrupted"),
        (OSError(28, "No space left on device"), 2, "cannot be written: no space left on device"),
        (MemoryError(), 2, "not enough memory"),
    ],
    ids=["interrupt", "full", "memory"],
)
def test_stopped_while_drawing(
    run, folder: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int, said: str
):
    """Pictures drawn before are whole, of the one in work nothing is left, and no answer is given."""
    from flipcheck.show.figures import files

    whole, count = files._print, iter(range(100))

    def stops(figure, path, kind):
        whole(figure, path, kind)
        if next(count) == 2:
            path.write_bytes(path.read_bytes()[:100])
            raise error

    monkeypatch.setattr(files, "_print", stops)
    monkeypatch.chdir(folder)
    ended, out, err = run("check", "plate.toml", "--trials", "100", "--plots", "drawn")
    assert (code, "") == (ended, out)
    assert said in err
    drawn = list((folder / "drawn").iterdir())
    assert 2 == len(drawn)
    assert all(file.read_text(encoding="utf-8").rstrip().endswith("</svg>") for file in drawn)


@pytest.mark.parametrize(
    "error", [KeyboardInterrupt(), OSError(28, "No space left on device")], ids=["interrupt", "full"]
)
@pytest.mark.parametrize(
    "arguments", [("report", "plate.toml", "--trials", "100"), ("sheet", "plate.toml")], ids=" ".join
)
def test_stopped_while_writing_a_page(
    run, folder: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], error: BaseException
):
    """A page that was there before stays whole with --force, and no part of the new one is left."""
    monkeypatch.chdir(folder)
    (folder / "out.html").write_text("mine", encoding="utf-8")
    before = sorted(folder.iterdir())

    def stops(self, target):
        raise error

    monkeypatch.setattr(Path, "replace", stops)
    code, _, err = run(*arguments, "-o", "out.html", "--force")
    assert (130 if isinstance(error, KeyboardInterrupt) else 2) == code
    assert "interrupted" in err or "out.html cannot be written: no space left on device" in err
    assert "mine" == (folder / "out.html").read_text(encoding="utf-8")
    assert before == sorted(folder.iterdir())


@posix
@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs a folder that nobody may write into")
@pytest.mark.parametrize(
    "arguments",
    [
        ("new", "/proc/part.toml"),
        ("report", "plate.toml", "--trials", "100", "-o", "/proc/out.html"),
        ("report", "plate.toml", "--trials", "100", "-o", "/proc/out.pdf"),
        ("sheet", "plate.toml", "-o", "/proc/out.html"),
        ("check", "plate.toml", "--trials", "100", "--plots", "/proc"),
        ("check", "plate.toml", "--trials", "100", "--plots", "/proc/drawn"),
    ],
    ids=" ".join,
)
def test_a_folder_that_cannot_be_written(
    run, folder: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
):
    """It is said which, in one line."""
    monkeypatch.chdir(folder)
    code, out, err = run(*arguments)
    assert (2, "") == (code, out)
    assert err.startswith("flipcheck: ")
    assert "/proc" in err
    assert 1 == len(err.splitlines())


@posix
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is read-only for the superuser")
def test_a_read_only_folder(run, folder: Path):
    """A folder of somebody else's is named, with the system's reason."""
    folder.chmod(0o555)
    code, out, err = run("report", str(folder / "plate.toml"), "--trials", "100", "-o", str(folder / "out.html"))
    folder.chmod(0o755)
    assert (2, "") == (code, out)
    assert "out.html cannot be written: permission denied" in err


def test_without_a_home(folder: Path):
    """Without a home, and with a font in the settings that is not there, all pictures are drawn and units read."""
    settings = folder / "settings"
    settings.mkdir()
    (settings / "matplotlibrc").write_text("font.family: No Such Font\n", encoding="utf-8")
    text = (folder / "plate.toml").read_text(encoding="utf-8").replace("std = 0.01", 'std = "10 um"')
    (folder / "plate.toml").write_text(text, encoding="utf-8")
    bare = {key: value for key, value in os.environ.items() if not key.startswith(("XDG", "MPL", "HOME"))}
    arguments = ("check", "plate.toml", "--trials", "100", "--plots")
    for where, env in (("one", os.environ), ("two", bare | {"HOME": "/proc/none", "MPLCONFIGDIR": str(settings)})):
        started = shell(*arguments, where, cwd=folder, env=env)
        _, err = started.communicate(timeout=120)
        assert started.returncode in (0, 1), err
        assert b"Traceback" not in err
    assert sorted(file.name for file in (folder / "one").iterdir()) == sorted(
        file.name for file in (folder / "two").iterdir()
    )


def test_a_worker_that_fails(run, folder: Path, monkeypatch: pytest.MonkeyPatch):
    """What stops one of several threads stops the command, and is told once."""

    def full(*_, **__):
        raise MemoryError

    monkeypatch.setattr("flipcheck.stack.monte_carlo.draws.stream", full)
    code, out, err = run("check", str(folder / "plate.toml"), "--plain", "--trials", "100000")
    assert (2, "") == (code, out)
    assert 1 == err.count("not enough memory")
