"""What the tests of the command line share: a job file, and a way to run a command in this process."""

from __future__ import annotations

from pathlib import Path

import pytest

from flipcheck.cli.main import main
from tests.test_cli import JOB, STARTED, Ended


@pytest.fixture
def job(tmp_path: Path) -> str:
    """A job file of three methods: a fence that fails its goal, dowels and a probe that reach it."""
    path = tmp_path / "plate.toml"
    path.write_text(JOB, encoding="utf-8")
    return str(path)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    """Run a command in this process: its code, stdout and stderr."""

    def run(*arguments: str) -> Ended:
        with pytest.raises(SystemExit) as ended:
            main(arguments)
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return run


@pytest.fixture(autouse=True)
def no_process_outlives_its_test():
    """A command that a failed test has left running would slow down all that follow."""
    yield
    while STARTED:
        process = STARTED.pop()
        if process.poll() is None:
            process.kill()
            process.communicate()
