"""Where flipcheck starts: its commands, and how it ends."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from flipcheck.cli.answers import check, compare, correct, limits, sweep
from flipcheck.cli.pages import new, report, sheet
from flipcheck.cli.published import fits, validate
from flipcheck.cli.shell import note, start_light, to_nowhere, told_plainly, write
from flipcheck.errors import ExitCode
from flipcheck.files import reason

if TYPE_CHECKING:
    from collections.abc import Sequence

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["--help", "-h"]},
)
for command in (new, check, compare, limits, correct, sweep, report, sheet, fits, validate):
    app.command()(command)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run flipcheck with the arguments of the shell, or with others; ends by SystemExit."""
    if hasattr(sys.stdout, "reconfigure"):
        # A terminal that does not know a sign of the trade shows "?" in its place.
        sys.stdout.reconfigure(errors="replace")
    start_light()
    try:
        if list(sys.argv[1:] if arguments is None else arguments) == ["--version"]:
            _show_version()  # typer would first load what it checks arguments with
        app(args=arguments, prog_name="flipcheck")
    except typer.Exit as ended:
        sys.exit(ended.exit_code)
    except KeyboardInterrupt:
        note("flipcheck: interrupted")
        sys.exit(ExitCode.INTERRUPTED)
    except OSError as error:  # help or usage that cannot be written
        to_nowhere()
        note(f"flipcheck: stdout cannot be written: {reason(error)}")
        sys.exit(ExitCode.MEND)
    sys.exit(0)


@app.callback(invoke_without_command=True)
def _flipcheck(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    """Will the two faces of a flat part line up after it is turned over? Ask before you cut.

    Ends with 0: goal met, 1: goal not met, 2: something must be mended, 130: interrupted.
    """
    if version:
        _show_version()
    if context.invoked_subcommand is None:
        note(context.get_help())
        raise typer.Exit(ExitCode.MEND)


def _show_version() -> NoReturn:
    from flipcheck import __version__

    with told_plainly():
        write(f"flipcheck {__version__}\n")
    raise typer.Exit
