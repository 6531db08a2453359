"""A result as pictures: each function draws one on the axes it is given and returns the axes; `write_all` makes files.

Nothing here changes matplotlib's settings for anyone else, and nothing opens a window.
"""

from flipcheck.show.figures.cloud import cloud_figure
from flipcheck.show.figures.distance import distance_figure
from flipcheck.show.figures.files import save, write_all, write_sweep
from flipcheck.show.figures.methods import methods_figure
from flipcheck.show.figures.over_blank import map_figure
from flipcheck.show.figures.stack import stack_figure
from flipcheck.show.figures.sweep import sweep_chance_figure, sweep_map_figure, sweep_p95_figure

__all__ = [
    "cloud_figure",
    "distance_figure",
    "map_figure",
    "methods_figure",
    "save",
    "stack_figure",
    "sweep_chance_figure",
    "sweep_map_figure",
    "sweep_p95_figure",
    "write_all",
    "write_sweep",
]
