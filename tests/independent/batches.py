"""Batches by the naive simulation: every part is cut and counted, and coupons are measured by least squares.

As in `rigid`, nothing here comes from flipcheck. Which draws last from part to part is said once more, in words of its
own: what stands on the bed, what the machine is like, what the bit is like.
"""

import numpy as np

from .rigid import JUDGES, METHODS, SPREAD_KEYS, World, judge_web, misalignment, sample

#: First words of the keys of draws that outlast a part, whatever comes after them.
LASTING_ERRORS = {
    *("machine_squareness", "machine_scale_x", "machine_scale_y", "probe_radius", "bit_diameter"),
    *("fence_angle", "fence_position", "stop_position", "pin", "play"),
}
ON_THE_BED = {"fence", "stop", "bed pin"}


class Parts(World):
    """Batches of parts in a row: part j of batch i is trial i * parts + j."""

    def __init__(self, job, batches, parts, seed):
        super().__init__(job, batches * parts, seed)
        self.batches, self.parts = batches, parts
        self.hung = np.tile(np.arange(parts), batches)

    def lasts(self, key):
        stroke = key[0] in ("positioning", "lost_motion")
        return key[0] in LASTING_ERRORS or key[:2] == ("wear", "bed") or (stroke and key[1] in ON_THE_BED)

    def of(self, table, *key):
        if not self.lasts(key):
            return super().of(table, *key)
        table = {k: v for k, v in table.items() if k in SPREAD_KEYS}
        one = self.once(key, lambda: sample(table, self.rng, self.batches) if table else np.zeros(self.batches))
        return np.repeat(one, self.parts)

    def phase(self, key):
        if key != "both":
            return super().phase(key)
        return np.repeat(self.once(key, lambda: self.rng.uniform(0, 2 * np.pi, self.batches)), self.parts)


class Typed:
    """Cutter of face B with a shift and a turn typed into its program."""

    def __init__(self, cutter, shift, turn):
        self.cutter, self.shift, self.turn, self.setup = cutter, shift, turn, cutter.setup

    def cut(self, b, noise):
        return self.cutter.cut((b - self.shift) * np.exp(-1j * self.turn), noise)


def judged(world, cutters, job, spec):
    """Which parts have every pair within its limit."""
    good = np.ones(world.n, bool)
    for pair in job["pairs"]:
        if pair["kind"] == "web":
            _, fine, _ = judge_web(world, spec.get("zero_z", "bed"), pair)
        else:
            _, _, fine, _ = JUDGES[pair["kind"]](world, cutters, pair)
        good &= fine
    return good


def measured(world, cutters, goes, job, coupons):
    """Shift and turn by least squares over the coupons of each batch, shape (batches,) both.

    The rows of the system are weighted so that every pair counts the same, however many corners it has.
    """
    points, weights, seen = [], [], []
    for pair in job["pairs"]:
        if pair["kind"] == "web":
            continue
        corners = [complex(*p) for p in pair.get("points", [pair.get("at")])]
        for b in corners:
            points.append(b)
            weights.append(len(corners) ** -0.5)
            seen.append(misalignment(world, cutters, pair, b))
    used = goes.reshape(world.batches, -1)[:, :coupons]
    d = np.array(seen).reshape(len(points), world.batches, -1)[:, :, :coupons]
    mean = (d * used).sum(axis=2) / np.maximum(used.sum(axis=1), 1)
    root = np.array(weights)[:, None]
    rows = np.vstack(
        [
            np.hstack([root, 0 * root, -np.imag(points)[:, None] * root]),
            np.hstack([0 * root, root, np.real(points)[:, None] * root]),
        ]
    )
    values = np.vstack([mean.real * root, mean.imag * root])
    found, *_ = np.linalg.lstsq(rows if len(set(points)) > 1 else rows[:, :2], values, rcond=None)
    return found[0] + 1j * found[1], found[2] if len(found) > 2 else np.zeros(world.batches)


def simulate(job, method, batches, parts, seed, coupons=0):
    """Cut `batches` batches of coupons and then parts; count what is good.

    Returns counts of batches: by number of rejects, without and with the correction; of those all good when the coupons
    are the first of the parts; and good parts by their place, corrected if so.
    """
    spec = next(m for m in job["methods"] if m["name"] == method)
    world = Parts(job, batches, coupons + parts, seed)
    cutters, goes, _ = METHODS[spec["kind"]](world, spec)
    table = (judged(world, cutters, job, spec) & goes).reshape(batches, -1)
    out = {"plain": counted(table[:, coupons:])}
    if coupons:
        shift, turn = (np.repeat(v, coupons + parts) for v in measured(world, cutters, goes, job, coupons))
        typed = [cutters[0], Typed(cutters[1], shift, turn)]
        better = (judged(world, typed, job, spec) & goes).reshape(batches, -1)
        out["corrected"] = counted(better[:, coupons:])
        kept = table[:, :coupons].all(axis=1) & better[:, coupons:parts].all(axis=1)
        out["kept"] = int(kept.sum())
        table = better
    out["by_part"] = table[:, coupons:].sum(axis=0)
    return out


def counted(good):
    """How many batches have 0, 1, ... rejects."""
    return np.bincount((~good).sum(axis=1), minlength=good.shape[1] + 1)
