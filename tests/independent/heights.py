"""Where to touch off Z, by the naive simulation: every web by each of the three ways, whatever the methods do."""

import numpy as np

from .rigid import WEB_QUANTILES, ZEROS, World, cut_web, distribution, judge_web, moments


def simulate_heights(job, trials, seed):
    """By each way: how many of so many blanks have every web within its limits; and of each web the same, and more.

    The thickness, the two depths (None for a face that is not cut), and how often nothing is left between them.
    """
    webs = [pair for pair in job["pairs"] if pair["kind"] == "web"]
    return {zero_z: _by_one_way(job, webs, zero_z, trials, seed) for zero_z in ZEROS}


def _by_one_way(job, webs, zero_z, trials, seed):
    world = World(job, trials, seed)
    every, found = np.ones(trials, bool), {}
    for pair in webs:
        web, deep = cut_web(world, zero_z, pair)
        _, good, margin = judge_web(world, zero_z, pair)
        every &= good
        found[pair["name"]] = {
            "chance": _share(good, margin),
            "through": _share(web <= 0, abs(web)),
            "web": moments(web),
            "depth_a": distribution(deep["A"], WEB_QUANTILES) if pair["depth_a"] else None,
            "depth_b": distribution(deep["B"], WEB_QUANTILES) if pair["depth_b"] else None,
        }
    return {"chance": _share(every, np.full(trials, np.inf)), "webs": found}


def _share(good, margin):
    return {"count": int(good.sum()), "n": len(good), "near": int((margin < 0.0002).sum())}
