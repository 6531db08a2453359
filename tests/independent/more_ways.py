"""Nests, patterns of pins and bores for the naive simulation: exact polygons and circles, poses thrown until one fits.

Nothing here comes from flipcheck, and nothing is made linear. See rigid.py for how points, turns and draws are held.
"""

from itertools import combinations

import numpy as np

from . import rigid
from .rigid import SECOND_ORDER, SIDES, Cutter, Setup, dot, golden

ROUNDS = 4000
HALVINGS = 30


# ---------------------------------------------------------------- nests


def by_nest(world, method):
    cut_with_a = method.get("outline", "beforehand") == "with face A"
    low, high = method.get("rectangle", ((0.0, 0.0), (world.length, world.width)))
    low, high = complex(*map(float, low)), complex(*map(float, high))
    corners = [low, complex(high.real, low.imag), high, complex(low.real, high.imag)]
    grown = world.tir + world.error("bit_diameter")
    real = [nested_corner(world, corners, i, grown if cut_with_a else None) for i in range(4)]
    cutters, goes, near = [], np.ones(world.n, bool), np.zeros(world.n, bool)
    for name in "AB":
        setup = Setup(world, name)
        if name == "A" and cut_with_a:
            cutters.append(Cutter(setup))
            continue
        pocket = Pocket(world, setup, method, [setup.machine(c) for c in corners], grown)
        there = [setup.now(c) for c in real]
        tau, theta, fits, almost = pocket.rest(there, method.get("push", "none"))
        goes &= fits
        near |= almost
        tau = tau + world.vector("clamping_shift", name)
        cutters.append(Cutter(setup, tau, theta, zero=world.vector("rehoming") if name == "B" else 0.0))
    return cutters, goes, near


def nested_corner(world, corners, i, grown):
    """A real corner of what is nested, blank frame: of the blank's own edges, or of an outline that the bit cut."""
    middle = sum(corners) / 4
    at = corners[i]
    sides = ("right" if at.real > middle.real else "left", "back" if at.imag > middle.imag else "front")
    if grown is not None:
        return world.actual(at) + world.stroke("nest outline") - sum(SIDES[s] for s in sides) * grown / 2
    out = 0.0
    for edge in sides:
        wave = world.straightness(edge, at.real if edge in ("front", "back") else at.imag)
        out = out + SIDES[edge] * (world.edge_line(edge, at) + wave)
    return at + out


class Pocket:
    """Four straight walls, each through two points that the machine went to."""

    def __init__(self, world, setup, method, corners, grown):
        self.world = world
        second = setup.name == "B" and method.get("after_flip", "same pocket") == "second pocket"
        name = "second nest" if second else "nest"
        low = complex(min(c.real for c in corners), min(c.imag for c in corners))
        high = complex(max(c.real for c in corners), max(c.imag for c in corners))
        self.middle, self.size = (low + high) / 2, high - low
        gap = method["clearance"] / 2
        wide = {axis: world.of(method.get("pocket_size", {}), name, axis) for axis in "xy"}
        self.walls = {}
        for side, nu in SIDES.items():
            along = complex(abs(nu.imag), abs(nu.real))
            half = complex(self.size.real / 2, self.size.imag / 2)
            ends = []
            for sign in (-1, 1):
                way = nu + sign * along
                point = self.middle + complex(half.real * way.real, half.imag * way.imag)
                out = gap + (wide["x" if nu.real else "y"] + grown) / 2
                if side in method.get("push", "none").split("-"):
                    out = out + world.error("seating", setup.name, side, sign)
                ends.append(world.actual(point) + world.stroke("pocket", name) + out * nu)
            normal = 1j * (ends[1] - ends[0]) / abs(ends[1] - ends[0])
            self.walls[side] = (ends[0], np.where(dot(nu, normal) > 0, normal, -normal))

    def room(self, turned, side):
        """How far the blank, its corners turned, may still go towards a wall (across that wall)."""
        point, normal = self.walls[side]
        near = [c for c, nominal in turned if dot(SIDES[side], nominal - self.middle) > 0]
        return np.minimum(*(dot(normal, point - c) for c in near))

    def free(self, corners, theta):
        """Lowest and highest place of the middle along x and along y at a turn; walls lean too little to matter here.

        The walls' lean moves these ends by lean times gap, far below a micrometre.
        """
        factor = np.exp(1j * theta)
        turned = [(self.middle + (c - self.middle) * factor, np.mean(c)) for c in corners]
        return [
            (-self.room(turned, low), self.room(turned, high)) for low, high in (("left", "right"), ("front", "back"))
        ]

    def rest(self, corners, push):
        most = np.full(self.world.n, 0.05)

        def spare(theta):
            return np.min([high - low for low, high in self.free(corners, theta)], axis=0)

        best = golden(spare, -most, most)
        left = spare(best)
        fits, almost = left > 0, abs(left) < 4 * SECOND_ORDER
        ends = [edge_of(spare, best, best + sign * most) for sign in (-1, 1)]
        if push == "none":
            shift, theta = self.loose(corners, ends, fits, best)
        else:
            shift, theta = self.pushed(corners, ends, push)
        shift, theta = np.where(fits, shift, 0.0), np.where(fits, theta, 0.0)
        return self.middle + shift - self.middle * np.exp(1j * theta), theta, fits, almost

    def loose(self, corners, ends, fits, best):
        """Uniform among all poses that leave every corner inside every wall: thrown until one does."""
        boxes = [self.free(corners, theta) for theta in np.linspace(ends[0], ends[1], 25)]
        low = [np.min([box[axis][0] for box in boxes], axis=0) - 0.002 for axis in (0, 1)]
        high = [np.max([box[axis][1] for box in boxes], axis=0) + 0.002 for axis in (0, 1)]
        shift, theta = np.zeros(self.world.n, complex), best.copy()
        open_ = np.flatnonzero(fits)
        for _ in range(ROUNDS):
            u, v, w = self.world.rng.random((3, len(open_)))
            turn = ends[0][open_] + (ends[1] - ends[0])[open_] * w
            move = low[0][open_] + (high[0] - low[0])[open_] * u + 1j * (low[1][open_] + (high[1] - low[1])[open_] * v)
            good = np.ones(len(open_), bool)
            for point, normal in self.walls.values():
                for corner in corners:
                    c = corner[open_] if np.ndim(corner) else corner
                    placed = self.middle + (c - self.middle) * np.exp(1j * turn) + move
                    good &= dot(normal[open_], point[open_] - placed) >= 0
            shift[open_[good]], theta[open_[good]] = move[good], turn[good]
            open_ = open_[~good]
            if not len(open_):
                break
        else:
            if len(open_) > 1e-3 * self.world.n:
                raise ArithmeticError(f"{len(open_)} blanks found no pose by rejection")
        return shift, theta

    def pushed(self, corners, ends, push):
        """Greatest travel of the middle towards the walls; along a single wall anywhere that is free."""
        sides = [SIDES[s] for s in push.split("-")]
        way = (sum(s.real for s in sides), sum(s.imag for s in sides))

        def travel(theta):
            free = self.free(corners, theta)
            return sum(w * (high if w > 0 else low) for w, (low, high) in zip(way, free, strict=True) if w)

        theta = golden(travel, *ends)
        share = self.world.rng.random(self.world.n)
        place = [
            high if w > 0 else low if w < 0 else low + (high - low) * share
            for w, (low, high) in zip(way, self.free(corners, theta), strict=True)
        ]
        return place[0] + 1j * place[1], theta


def edge_of(spare, inside, outside):
    """Where a concave function falls to nothing between a place inside and one outside, by halving."""
    inside, outside = inside.copy(), outside.copy()
    for _ in range(HALVINGS):
        middle = (inside + outside) / 2
        good = spare(middle) >= 0
        inside, outside = np.where(good, middle, inside), np.where(good, outside, middle)
    return inside


# ---------------------------------------------------------------- three and more pins


class Crowd:
    """Pins and holes: the blank's shift must lie in every circle of radius c_i about pin i minus turned hole i."""

    def __init__(self, holes, pins, clearance):
        self.holes, self.pins, self.clearance = holes, pins, clearance

    def only(self, index):
        return Crowd(*([a[index] for a in part] for part in (self.holes, self.pins, self.clearance)))

    def centres(self, theta):
        return [p - h * np.exp(1j * theta) for h, p in zip(self.holes, self.pins, strict=True)]

    def box(self, theta):
        """Middle and size of what the boxes around all circles have in common at a turn."""
        centres = self.centres(theta)
        circles = list(zip(centres, self.clearance, strict=True))
        low = [np.max([part(s) - c for s, c in circles], axis=0) for part in (np.real, np.imag)]
        high = [np.min([part(s) + c for s, c in circles], axis=0) for part in (np.real, np.imag)]
        return (low[0] + high[0] + 1j * (low[1] + high[1])) / 2, np.maximum(np.subtract(high, low), 0)

    def lacking(self, theta):
        """By how much all circles must grow to share a point, at a turn: the most that any three of them lack."""
        s = self.centres(theta)
        return np.max([three(*(s[i] for i in t), *(self.clearance[i] for i in t)) for t in
                       combinations(range(len(s)), 3)], axis=0)  # fmt: skip

    def rest(self, rng):
        n = len(self.clearance[0])
        start = np.angle((self.pins[1] - self.pins[0]) / (self.holes[1] - self.holes[0]))
        reach = sum(self.clearance) + 0.3
        most = reach / min(np.min(abs(a - b)) for a, b in combinations(self.holes, 2))
        best = golden(lambda a: -self.lacking(a), start - most, start + most)
        short = self.lacking(best)
        open_holes = np.min(self.clearance, axis=0) > 0
        fits, almost = (short < 0) & open_holes, abs(short) < 2 * SECOND_ORDER
        low, high = (edge_of(lambda a: -self.lacking(a), best, best + sign * most) for sign in (-1, 1))
        tau, theta = np.zeros(n, complex), np.zeros(n)
        # a box as large as that of the widest turn, about the middle of each turn's own: widths are concave in the turn
        wide = np.max([self.box(low + (high - low) * k / 24)[1] for k in range(25)], axis=0) * 1.1 + 1e-6
        todo = np.flatnonzero(fits)
        for _ in range(ROUNDS):
            some = self.only(todo)
            u, v, w = rng.random((3, len(todo)))
            turn = low[todo] + (high - low)[todo] * w
            centres = some.centres(turn)
            shift = some.box(turn)[0] + wide[0, todo] * (u - 0.5) + 1j * wide[1, todo] * (v - 0.5)
            good = np.all([abs(shift - s) <= c for s, c in zip(centres, some.clearance, strict=True)], axis=0)
            tau[todo[good]], theta[todo[good]] = shift[good], turn[good]
            todo = todo[~good]
            if not len(todo):
                break
        if len(todo) > 2e-3 * n:
            raise ArithmeticError(f"{len(todo)} blanks found no pose by rejection")
        theta[todo] = best[todo]
        tau[todo] = self.only(todo).middle(best[todo])
        return tau, theta, fits, almost

    def middle(self, theta):
        """A rough shift for blanks whose poses are so few that none was hit."""
        return sum(self.centres(theta)) / len(self.holes)


def three(s1, s2, s3, c1, c2, c3):
    """By how much three circles must grow to share a point: as two of them need, if the third then holds it as well."""
    s, c = (s1, s2, s3), (c1, c2, c3)
    answer, done = np.full(len(s1), -np.inf), np.zeros(len(s1), bool)
    for i, j, k in ((0, 1, 2), (0, 2, 1), (1, 2, 0)):
        gap = abs(s[j] - s[i])
        need = (gap - c[i] - c[j]) / 2
        inside = np.minimum(c[i], c[j]) + need < 0  # one circle inside the other: the smaller one alone decides
        need = np.where(inside, -np.minimum(c[i], c[j]), need)
        point = s[i] + (s[j] - s[i]) / np.maximum(gap, 1e-30) * (c[i] + need)
        point = np.where(inside, np.where(c[i] < c[j], s[i], s[j]), point)
        holds = abs(point - s[k]) <= c[k] + need + 1e-12
        answer, done = np.where(holds & (need > answer), need, answer), done | holds
    # |x - s_i| = c_i + w for all three: x is linear in w by differences, then a quadratic in w
    a, b = 2 * (s2 - s1), 2 * (s3 - s1)
    cross = a.real * b.imag - a.imag * b.real
    cross = np.where(abs(cross) < 1e-30, 1e-30, cross)
    d2, d3 = c1 - c2, c1 - c3  # a . (x - s1) = |s2 - s1|^2 + (c1 + w)^2 - (c2 + w)^2
    r2, r3 = abs(s2 - s1) ** 2 + c1**2 - c2**2, abs(s3 - s1) ** 2 + c1**2 - c3**2
    base = (r2 * b.imag - r3 * a.imag) / cross + 1j * (a.real * r3 - b.real * r2) / cross
    slope = 2 * ((d2 * b.imag - d3 * a.imag) / cross + 1j * (a.real * d3 - b.real * d2) / cross)
    qa, qb, qc = abs(slope) ** 2 - 1, dot(base, slope) - c1, abs(base) ** 2 - c1**2
    root = np.sqrt(np.maximum(qb * qb - qa * qc, 0))
    # with clearances all but equal qa is near -1: the root with c_1 + w > 0
    w = (-qb - root) / qa
    return np.where(done, answer, w)


# ---------------------------------------------------------------- bores


def by_bores(world, method):
    nominal = [complex(*map(float, b)) for b in method["bores"]]
    beforehand = method.get("holes", "with face A") == "beforehand"
    bores = []
    for i, b in enumerate(nominal):
        if beforehand:
            place = [world.of(method.get("hole_position", {}), "bore place", i, axis) for axis in "xy"]
            bores.append(b + place[0] + 1j * place[1])
        else:
            bores.append(world.actual(b) + world.stroke("bore", i))
    cutters = []
    for name in "AB":
        setup = Setup(world, name)
        if name == "A" and not beforehand:
            cutters.append(Cutter(setup))
            continue
        ecc = np.zeros(world.n, complex)
        if method.get("stylus", "bit") == "bit":
            ecc = world.tir / 2 * np.exp(1j * world.phase("both" if method.get("same_phase", False) else name))
        # the blank lies somewhere, a little turned: it must not matter
        tau, theta = world.error("eye_angle", name) * 300, world.error("eye_angle", name)
        found = []
        for i, bore in enumerate(bores):
            centre = setup.now(bore) * np.exp(1j * theta) + tau
            touches = {}
            for side, nu in SIDES.items():
                # the stylus, early by its radius, repeatability and eccentricity, meets the wall at radius 5
                early = 5.0 - world.error("probe_radius") - world.error("probe_repeatability", name, "bore", i, side)
                touches[side] = centre + nu * early - dot(nu, ecc) * nu
            x = (dot(1, touches["left"]) + dot(1, touches["right"])) / 2
            y = (dot(1j, touches["front"]) + dot(1j, touches["back"])) / 2
            found.append(commanded(world, x + 1j * y))
        there = [setup.machine(b) for b in nominal]
        phi = np.angle((found[1] - found[0]) / (there[1] - there[0]))
        share = 0.0 if method.get("zero_at", "middle") == "first" else 0.5
        at, meant = (p[0] * (1 - share) + p[1] * share for p in (found, there))
        cutters.append(Cutter(setup, tau, theta, program=(at * np.exp(-1j * phi) - meant, phi)))
    return cutters, np.ones(world.n, bool), np.zeros(world.n, bool)


def commanded(world, actual):
    """Where the machine must be sent to go to a point."""
    point = actual
    for _ in range(rigid.NEWTON_STEPS):
        point = point + actual - world.actual(point)
    return point
