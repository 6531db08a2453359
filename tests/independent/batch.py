"""A batch of parts from the naive simulation: what lasts is drawn once for all of them; corrections are typed in."""

import zlib

import numpy as np

from tests.independent.rigid import SIDES, Setup, World, misalignment, way

#: First words of the keys of draws that belong to the machine, and of strokes that made something in its bed.
LASTING = {"machine_squareness", "machine_scale_x", "machine_scale_y", "fence_angle", "fence_position"}
LASTING |= {"stop_position", "probe_radius", "bit_diameter", "pin", "play", "nest", "second nest"}
BED = {"stop", "fence", "bed pin", "pocket"}


class Batch(World):
    """Trials are parts of one batch.

    `fixed` sets lasting errors by the first word of their key; `shim` is (contact, thickness) of a hand-set fence.
    """

    def __init__(self, job, parts, seed, *, machine, fixed=None, shim=None):
        super().__init__(job, parts, seed)
        self.machine, self.fixed, self.shim = machine, fixed or {}, shim

    def once(self, key, make):
        lasts = key[0] in LASTING or (key[0] in ("positioning", "lost_motion") and key[1] in BED)
        if (lasts or key == ("phase", "both")) and key not in self.known:
            self.known[key] = np.full(self.n, self.one_draw(key, make))
        return super().once(key, make)

    def one_draw(self, key, make):
        """One draw for all parts, from a stream of its own, so that a second batch has the same machine."""
        if key[0] in self.fixed:
            return self.fixed[key[0]]
        kept, self.rng = self.rng, np.random.default_rng([self.machine, zlib.crc32(repr(key).encode())])
        first = make()[0]
        self.rng = kept
        return first

    def error(self, name, *key):
        value = super().error(name, *key)
        if self.shim and name in ("fence_position", "fence_angle"):
            return value + self.shimmed()[name]
        return value

    def shimmed(self):
        """What a shim at one contact makes of a hand-set fence: position and angle about the middle of its side."""
        method = self.job["methods"][0]
        side, (which, thickness) = method["fence"], self.shim
        setup = Setup(self, "A")
        axis = 0 if side in ("front", "back") else 1
        pivot = setup.on_side(side, setup.size[axis] / 2)
        rows, out = [], []
        for along in method["contacts"]:
            arm = 1j * (setup.on_side(side, float(along)) - pivot)
            rows.append([1.0, (np.conj(SIDES[side]) * arm).real])
            out.append(-thickness if along == which else 0.0)
        position, angle = np.linalg.solve(rows, out)
        return {"fence_position": position, "fence_angle": angle}


class Typed:
    """A cutter whose program was moved: shift, turn and shear about a point of the machine."""

    def __init__(self, cutter, shift=0j, turn=0.0, shear=0.0, about=0j):
        self.cutter, self.setup = cutter, cutter.setup
        self.shift, self.turn, self.shear, self.about = shift, turn, shear, about

    def cut(self, b, noise):
        off = self.setup.machine(b) - self.about
        moved = self.about + off * np.exp(1j * self.turn) + self.shear * off.imag + self.shift
        return self.cutter.cut(self.setup.blank(moved), noise)


def mismatch(world, places, *, a=None, b=None):
    """Mismatch of the parts that go on at some places, shape (places, parts), complex; `a`, `b` move the programs."""
    method = world.job["methods"][0]
    cutters, goes, _ = way(method["kind"])(world, method)
    cutters = [Typed(cutter, **(typed or {})) for cutter, typed in zip(cutters, (a, b), strict=True)]
    return np.array([misalignment(world, cutters, {"name": f"at {place}"}, place)[goes] for place in places])
