"""A result as pictures: each function draws one on the axes it is given and returns the axes; `write_all` makes files.

Nothing here changes matplotlib's settings for anyone else, and nothing opens a window.
"""

from flipcheck.show.figures.cloud import cloud_figure, distance_figure
from flipcheck.show.figures.files import save, write_all
from flipcheck.show.figures.methods import methods_figure
from flipcheck.show.figures.over_blank import map_figure
from flipcheck.show.figures.stack import stack_figure

__all__ = [
    "cloud_figure",
    "distance_figure",
    "map_figure",
    "methods_figure",
    "save",
    "stack_figure",
    "write_all",
]
