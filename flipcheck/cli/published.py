"""Commands that tell what others published: fits, validate."""

from __future__ import annotations

from typing import Annotated

import typer

from flipcheck.cli.arguments import AsJson
from flipcheck.cli.jobs import end, write_page
from flipcheck.cli.shell import told_plainly, write


def fits(
    fit: Annotated[
        str, typer.Argument(metavar="FIT", help='A size and its classes, such as "25 H7/g6", "25 H7" or "1 in H7/g6".')
    ],
    json: AsJson = False,
) -> None:
    """How large may a hole and its shaft be by a fit of ISO 286, and how much play is between them?"""
    with told_plainly():
        from flipcheck.job.fits import parse_fit, said_in
        from flipcheck.show.fits_text import fit_to_json, fit_to_text

        found = parse_fit(fit)
        if json:
            write(fit_to_json(found, said_in(fit)))
        else:
            write_page(fit_to_text, found, said_in(fit))


def validate(json: AsJson = False) -> None:
    """Does flipcheck give the numbers that others published?"""
    with told_plainly():
        from flipcheck.decide.validation.validation import run_checks

        outcomes = run_checks()
        if json:
            from flipcheck.show.validation_text import validation_to_json

            write(validation_to_json(outcomes))
        else:
            from flipcheck.show.validation_text import validation_to_text

            write_page(validation_to_text, outcomes)
        within = all(outcome.within for outcome in outcomes)
        end(goal_met=within)
