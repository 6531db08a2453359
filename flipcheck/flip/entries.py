"""Which entry of a job each source of its model is drawn from."""

from __future__ import annotations

#: What goes before the name of a scatter where it is that of the place of a locator.
OF_A_LOCATOR = "locator_"
_SIZES = {"pin_size": "pin", "hole_size": "hole"}


def entry_of(source: str) -> str:
    """The key of the job that sets a source: `pin` for "pin_size", `positioning` for "locator_positioning"."""
    return _SIZES.get(source, source.removeprefix(OF_A_LOCATOR))
