"""The plan of a setup to scale: how the blank lies, what holds or finds it, and where everything is."""

from flipcheck.show.drawing.plan import drawing_size, setup_drawing

__all__ = ["drawing_size", "setup_drawing"]
