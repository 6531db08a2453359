"""An exact, deliberately naive simulation of a part that is turned over: nothing here comes from flipcheck.

Points are complex numbers (x + iy, mm), turns are factors exp(i angle), a turn-over is a reflection c + k conj(b).
Poses solve the exact constraints, pins are placed by rejection, pushed pins by a numerical search for the greatest
travel; nothing is made linear. A locator, a touch and a cut are physical objects: a point on the bed, a line on the
blank, a commanded point that the machine turns into another one.
"""

import numpy as np

SIDES = {"left": -1 + 0j, "right": 1 + 0j, "front": -1j, "back": 1j}
SPREAD_KEYS = {"std", "limit", "total", "shape", "sigmas", "top", "bias"}
QUANTILES = {"p50": 0.5, "p95": 0.95, "p99": 0.99}
WEB_QUANTILES = {"p01": 0.01, "p05": 0.05, "p95": 0.95, "p99": 0.99}
SECOND_ORDER = 0.0002  # mm: half the band in which a trial counts as "near" its limit, plus 1e-4 of the limit
NEWTON_STEPS = 6
GOLDEN_STEPS = 50
GOLDEN = (5**0.5 - 1) / 2


def dot(a, b):
    """Scalar product of two plane vectors held as complex numbers."""
    return (np.conj(a) * b).real


# ---------------------------------------------------------------- spreads and draws


def sample(table, rng, n):
    """Draw `n` values of a spread table of the job file."""
    width = table.get("limit", table["total"] / 2 if "total" in table else None)
    shape = table.get("shape", "normal" if "std" in table else "uniform")
    top = table.get("top", 0.5)
    if shape == "normal":
        unit, unit_std = rng.standard_normal(n), 1.0
        width = width / table["sigmas"] if width is not None else None
    elif shape == "uniform":
        unit, unit_std = rng.uniform(-1, 1, n), 3**-0.5
    elif shape == "triangular":
        unit, unit_std = rng.triangular(-1, 0, 1, n), 6**-0.5
    elif shape == "arcsine":
        unit, unit_std = np.cos(rng.uniform(0, np.pi, n)), 2**-0.5
    elif shape == "trapezoid":
        unit = (1 + top) / 2 * rng.uniform(-1, 1, n) + (1 - top) / 2 * rng.uniform(-1, 1, n)
        unit_std = ((1 + top**2) / 6) ** 0.5
    else:
        raise ValueError(shape)
    scale = width if width is not None else table["std"] / unit_std
    return scale * unit + table.get("bias", 0.0)


class World:
    """All draws of one run; the same key always gives the same array, so a key says what shares a draw."""

    def __init__(self, job, trials, seed):
        self.job, self.n = job, trials
        self.errors = job.get("errors", {})
        self.rng = np.random.default_rng(seed)
        self.length, self.width, self.thickness = (float(v) for v in job["blank"]["size"])
        self.hung = 0  # how many parts have been on these pins before
        self.known = {}
        self.places = {}
        self.spots = {}
        self.tir = float(self.errors.get("bit_runout", 0.0))

    def once(self, key, make):
        if key not in self.known:
            self.known[key] = make()
        return self.known[key]

    def of(self, table, *key):
        table = {k: v for k, v in table.items() if k in SPREAD_KEYS}
        return self.once(key, lambda: sample(table, self.rng, self.n) if table else np.zeros(self.n))

    def error(self, name, *key):
        return self.of(self.errors.get(name, {}), name, *key)

    def growth(self, method, i):
        """How much wider a hole becomes each time it is used."""
        given = method.get("wear", 0.0)
        if isinstance(given, dict):
            return self.of(given, "wear", method.get("wear_of", "bed"), i)
        return np.full(self.n, float(given))

    def vector(self, name, *key):
        return self.error(name, *key, "x") + 1j * self.error(name, *key, "y")

    def stroke(self, *key):
        """Positioning noise and lost motion of one stroke of the machine."""
        return self.vector("positioning", *key) + self.vector("lost_motion", *key)

    def phase(self, key):
        return self.once(("phase", key), lambda: self.rng.uniform(0, 2 * np.pi, self.n))

    def actual(self, commanded):
        """Where the machine really goes when sent to a point: scaled axes, Y leaning by the out-of-square."""
        lean = 1j * np.exp(1j * self.error("machine_squareness"))
        along_x = (1 + self.error("machine_scale_x")) * np.real(commanded)
        return along_x + (1 + self.error("machine_scale_y")) * np.imag(commanded) * lean

    def place(self, point):
        return (round(point.real, 6), round(point.imag, 6))

    # what happens between the faces

    def change(self, name):
        """How much drier or damper (per cent) or warmer (K) the blank is when face B is cut."""
        told = self.job.get("between", {}).get(name, 0.0)
        if not isinstance(told, dict):
            return np.full(self.n, float(told))
        step = told.get("after", 0.0) - told.get("before", 0.0)
        return step + self.of(told, "between", name)

    def strains(self):
        """Relative growth along the grain, across it and through the thickness, of each trial."""
        between = self.job.get("between", {})
        total = np.zeros((3, self.n))
        for name, key in (("moisture", "per_percent"), ("temperature", "per_kelvin")):
            if name in between:
                rates = between[key] if key in between else HANDBOOK[key](between)
                rates = rates if isinstance(rates, list) else [rates] * 3
                total = total + np.array(rates)[:, None] * self.change(name)
        return total

    def grown(self, b):
        """Where a point of the wood has gone when face B is cut; stretched along and across the grain."""
        along, across, _ = self.strains()
        grain = np.exp(1j * np.radians(self.job.get("between", {}).get("grain", 0.0)))
        seen = b * np.conj(grain)
        return (np.real(seen) * (1 + along) + 1j * np.imag(seen) * (1 + across)) * grain

    def shrunk(self, b):
        """The point of the wood that has come to b: `grown` undone."""
        along, across, _ = self.strains()
        grain = np.exp(1j * np.radians(self.job.get("between", {}).get("grain", 0.0)))
        seen = b * np.conj(grain)
        return (np.real(seen) / (1 + along) + 1j * np.imag(seen) / (1 + across)) * grain

    # the real edges of the blank, in the blank frame

    def straightness(self, edge, along):
        """Local deviation of the edge; places within 1 mm are one place."""
        for known, draw in self.places.setdefault(edge, []):
            if abs(known - along) <= 1.0:
                return draw
        draw = self.error("stock_straightness", edge, len(self.places[edge]))
        self.places[edge].append((along, draw))
        return draw

    def edge_line(self, edge, b):
        """Outward deviation of the physical edge at blank point b, without its local waviness."""
        if edge == "front":
            return np.zeros(self.n)
        if edge == "left":
            return -np.tan(self.error("stock_squareness", "left")) * np.imag(b)
        if edge == "right":
            return self.error("stock_size", "x") + np.tan(self.error("stock_squareness", "right")) * np.imag(b)
        return self.error("stock_size", "y") + np.tan(self.error("stock_parallelism")) * (np.real(b) - self.length / 2)

    def beyond_edge(self, edge, b, wave):
        """How far the blank point b lies outside the physical edge."""
        far = {"left": 0.0, "right": self.length, "front": 0.0, "back": self.width}[edge]
        return dot(SIDES[edge], b) - far - self.edge_line(edge, b) - wave


class Setup:
    """One of the two setups: how the nominal blank lies on the machine."""

    def __init__(self, world, name):
        self.world, self.name = world, name
        length, width = world.length, world.width
        flip = world.job["flip"] if name == "B" else "none"
        self.turn_shift, self.turn_factor = {
            "none": (0, 1),
            "left-right": (length, -1),
            "front-back": (1j * width, 1),
            "diagonal": (0, 1j),
        }[flip]
        self.mirrored = name == "B"
        self.size = (width, length) if flip == "diagonal" else (length, width)

    def machine(self, b):
        """Blank point to machine point; a turn is its own inverse."""
        return self.turn_shift + self.turn_factor * np.conj(b) if self.mirrored else b

    blank = machine

    def wood(self, m):
        """The point of the wood, as it was while face A was cut, that is now at a machine point."""
        return self.world.shrunk(self.blank(m)) if self.mirrored else self.blank(m)

    def now(self, b):
        """Machine point to which a point of the wood has come."""
        return self.machine(self.world.grown(b)) if self.mirrored else self.machine(b)

    def edge_at(self, side):
        """Physical edge that lies on a side of the machine, or the side on which a physical edge lies."""
        normal = self.turn_factor * np.conj(SIDES[side]) if self.mirrored else SIDES[side]
        return min(SIDES, key=lambda s: abs(SIDES[s] - normal))

    def on_side(self, side, along):
        x, y = self.size
        return {"left": 1j * along, "right": x + 1j * along, "front": along + 0j, "back": along + 1j * y}[side]

    def along_edge(self, edge, machine_point):
        b = self.blank(machine_point)
        return b.real if edge in ("front", "back") else b.imag


# ---------------------------------------------------------------- locators


class PointContact:
    """A point on the bed bears on whatever part of the edge comes there."""

    def __init__(self, setup, side, nominal, point):
        self.setup, self.point = setup, point
        self.edge = setup.edge_at(side)
        self.wave = setup.world.straightness(self.edge, setup.along_edge(self.edge, nominal))
        self.row = (SIDES[side].real, SIDES[side].imag, dot(SIDES[side], 1j * nominal))

    def residual(self, tau, factor):
        b = self.setup.wood((self.point - tau) * np.conj(factor))
        return -self.setup.world.beyond_edge(self.edge, b, self.wave)


class SpotOnRail:
    """A high spot of the edge bears on a straight line."""

    def __init__(self, setup, side, along, ends, seating):
        world, nu = setup.world, SIDES[side]
        self.edge = setup.edge_at(side)
        far = {"left": 0.0, "right": world.length, "front": 0.0, "back": world.width}[self.edge]
        nominal = far * SIDES[self.edge] + (along if self.edge in ("front", "back") else 1j * along)
        out = world.edge_line(self.edge, nominal) + world.straightness(self.edge, along)
        self.spot = setup.now(nominal + out * SIDES[self.edge])
        self.end, self.seating = ends[0], seating
        normal = 1j * (ends[1] - ends[0]) / abs(ends[1] - ends[0])
        self.normal = np.where(dot(nu, normal) > 0, normal, -normal)
        self.row = (nu.real, nu.imag, dot(nu, 1j * setup.machine(nominal)))

    def residual(self, tau, factor):
        return dot(self.normal, self.spot * factor + tau - self.end) - self.seating


class Untouched:
    """Nothing locates the blank along this direction; it lies at its nominal place."""

    def __init__(self, direction):
        self.direction = direction
        self.row = (direction.real, direction.imag, 0.0)

    def residual(self, tau, _):
        return dot(self.direction, tau)


def seat(world, constraints):
    """Solve three constraints for the exact rigid pose (tau, theta) by Newton steps."""
    tau, theta = np.zeros(world.n, complex), np.zeros(world.n)
    inverse = np.linalg.inv(np.array([c.row for c in constraints]))
    for _ in range(NEWTON_STEPS):
        factor = np.exp(1j * theta)
        step = inverse @ np.array([c.residual(tau, factor) for c in constraints])
        tau, theta = tau - (step[0] + 1j * step[1]), theta - step[2]
    left = max(np.max(np.abs(c.residual(tau, np.exp(1j * theta)))) for c in constraints)
    if left > 1e-9:
        raise ArithmeticError(f"pose not found: {left} mm left")
    return tau, theta


def fence_contacts(setup, method):
    """The two constraints of a fence: contacts or a rail, set by the machine or by hand."""
    world, side = setup.world, method["fence"]
    nu, by_machine = SIDES[side], method.get("set_by", "machine") == "machine"
    nominal = [setup.on_side(side, float(a)) for a in method["contacts"]]
    if by_machine:
        points = [world.actual(m) + world.stroke("fence", world.place(m)) for m in nominal]
    else:
        # set once, about the middle of its side in setup A; a fence that has to move is set again, about its new side
        axis = 0 if side in ("front", "back") else 1
        here, first = [s.on_side(side, s.size[axis] / 2) for s in (setup, Setup(world, "A"))]
        pivot = first if dot(nu, first) == dot(nu, here) else here
        line = round(dot(nu, pivot), 6)
        moved = pivot + nu * world.error("fence_position", line)
        points = [moved + (m - pivot) * np.exp(1j * world.error("fence_angle", line)) for m in nominal]
    seating = [world.error("seating", setup.name, "fence", i) for i in range(2)]
    if not method.get("rail", False):
        return [PointContact(setup, side, m, c + s * nu) for m, c, s in zip(nominal, points, seating, strict=True)]
    edge = setup.edge_at(side)
    if edge not in world.spots:
        world.spots[edge] = [setup.along_edge(edge, m) for m in nominal]
    return [SpotOnRail(setup, side, t, points, s) for t, s in zip(world.spots[edge], seating, strict=True)]


# ---------------------------------------------------------------- cutting


class Cutter:
    """What a setup does to a commanded blank point: program, machine, pose of the blank."""

    def __init__(self, setup, tau=0.0, theta=0.0, *, zero=0.0, program=(0.0, 0.0)):
        self.setup, self.tau, self.theta, self.zero = setup, tau, theta, zero
        self.offset, self.phi = program

    def cut(self, b, noise):
        """Blank point really cut when the program asks for b."""
        commanded = (self.setup.machine(b) + self.offset) * np.exp(1j * self.phi)
        tool = self.setup.world.actual(commanded) + self.zero + noise
        return self.setup.blank((tool - self.tau) * np.exp(-1j * self.theta))


def by_fence(world, method):
    cutters = []
    stop = method["stop"]
    for name in "AB":
        setup = Setup(world, name)
        side = stop
        if name == "B" and method.get("after_flip", "same edge") == "same edge":
            side = setup.edge_at(stop)
            if world.job["flip"] == "diagonal":
                raise ValueError("after a diagonal turn the stop can only keep its side")
        nominal, nu = setup.on_side(side, float(method["stop_at"])), SIDES[side]
        if method.get("set_by", "machine") == "machine":
            point = world.actual(nominal) + world.stroke("stop", world.place(nominal))
        else:
            point = nominal + nu * world.error("stop_position", world.place(nominal))
        point = point + nu * world.error("seating", name, "stop")
        tau, theta = seat(world, [*fence_contacts(setup, method), PointContact(setup, side, nominal, point)])
        tau = tau + world.vector("clamping_shift", name)
        cutters.append(Cutter(setup, tau, theta, zero=world.vector("rehoming") if name == "B" else 0.0))
    return cutters, np.ones(world.n, bool), np.zeros(world.n, bool)


def by_probe(world, method):
    return [probe_setup(Setup(world, name), method) for name in "AB"], np.ones(world.n, bool), np.zeros(world.n, bool)


def probe_setup(setup, method):
    world = setup.world
    y_side, x_side = method["corner"].split("-")
    if method.get("after_flip", "same corner") == "same corner":
        sides = {setup.edge_at(y_side), setup.edge_at(x_side)}
        y_side = next(s for s in sides if s in ("front", "back"))
        x_side = next(s for s in sides if s in ("left", "right"))
    angle = method["angle"]
    if angle == "fence":
        along = SIDES[method["fence"]] * 1j
        tau, theta = seat(world, [*fence_contacts(setup, method), Untouched(along)])
    else:
        tau, theta = np.zeros(world.n, complex), world.error("eye_angle", setup.name)

    ecc = np.zeros(world.n, complex)
    if method.get("stylus", "bit") == "bit":
        ecc = world.tir / 2 * np.exp(1j * world.phase("both" if method.get("same_phase", False) else setup.name))
    inwards = (1 if x_side == "left" else -1, 1 if y_side == "front" else -1)
    corner = (0.0 if x_side == "left" else setup.size[0], 0.0 if y_side == "front" else setup.size[1])
    at_x = corner[0] + inwards[0] * float(method["touch_in"][0])
    at_y = corner[1] + inwards[1] * float(method["touch_in"][1])

    def touch(side, along, number):
        """Commanded point at which the edge is found, and where the program thinks that point is."""
        nominal, nu, edge = setup.on_side(side, along), SIDES[side], setup.edge_at(side)
        wave = world.straightness(edge, setup.along_edge(edge, nominal))
        early = world.error("probe_radius") + dot(nu, ecc)
        early = early + world.error("probe_repeatability", setup.name, side, number)
        out = np.zeros(world.n)
        for _ in range(NEWTON_STEPS):
            met = world.actual(nominal + out * nu) - early * nu
            out = out - world.beyond_edge(edge, setup.wood((met - tau) * np.exp(-1j * theta)), wave)
        return nominal + out * nu, nominal

    y_touches, x_touches = [touch(y_side, at_x, 1)], [touch(x_side, at_y, 1)]
    phi = np.zeros(world.n)
    if angle == "two touches":
        found, nominal = y_touches[0]
        found_2, nominal_2 = touch(y_side, at_x + inwards[0] * float(method["spacing"]), 2)
        phi = np.angle((found_2 - found) / (nominal_2 - nominal))
    opposite = {"left": "right", "right": "left", "front": "back", "back": "front"}
    if "x" in method.get("middle", []):
        x_touches.append(touch(opposite[x_side], at_y, 1))
    if "y" in method.get("middle", []):
        y_touches.append(touch(opposite[y_side], at_x, 1))
    back = np.exp(-1j * phi)
    offset_x = sum((found * back - nominal).real for found, nominal in x_touches) / len(x_touches)
    offset_y = sum((found * back - nominal).imag for found, nominal in y_touches) / len(y_touches)
    return Cutter(setup, tau, theta, program=(offset_x + 1j * offset_y, phi))


# ---------------------------------------------------------------- pins


def by_pins(world, method):
    holes_nominal = [complex(*map(float, p)) for p in method["pins"]]
    beforehand = method.get("holes", "with face A") == "beforehand"
    clearance, holes, drilled, wear = [], [], [], []
    for i, h in enumerate(holes_nominal):
        hole = method["hole"]["diameter"] + world.of(method["hole"], "hole", i)
        if method.get("holes_by_bit", False):
            hole = hole + world.tir + world.error("bit_diameter")
        pin = method["pin"]["diameter"] + world.of(method["pin"], "pin", i)
        play = world.of(method.get("pin_play", {}), "play", i)
        clearance.append((hole - pin + play) / 2)
        wear.append(world.growth(method, i))
        drilled.append(world.actual(h) + world.stroke("pin hole", i))
        place = [world.of(method.get("hole_position", {}), "hole place", i, axis) for axis in "xy"]
        holes.append(h + place[0] + 1j * place[1] if beforehand else drilled[-1])
    cutters = []
    goes = np.ones(world.n, bool)
    near = np.zeros(world.n, bool)
    hung = world.hung * (2 if beforehand else 1) if method.get("wear_of", "bed") == "bed" else 0
    for name in "AB":
        setup = Setup(world, name)
        if name == "A" and not beforehand:
            cutters.append(Cutter(setup))
            continue
        nominal = [setup.machine(h) for h in holes_nominal]
        if method.get("bed_holes", "separately") == "same stroke":
            assert all(abs(m - h) < 1e-6 for m, h in zip(nominal, holes_nominal, strict=True))
            pins = drilled
        else:
            pins = [world.actual(m) + world.stroke("bed pin", world.place(m)) for m in nominal]
        room = [c + hung * w / 2 for c, w in zip(clearance, wear, strict=True)]
        hung = hung + 1
        if len(holes) > 2:
            from .more_ways import Crowd

            tau, theta, fits, almost = Crowd([setup.now(h) for h in holes], pins, room).rest(world.rng)
            goes &= fits
            near |= almost
            tau = tau + world.vector("clamping_shift", name)
            cutters.append(Cutter(setup, tau, theta, zero=world.vector("rehoming") if name == "B" else 0.0))
            continue
        pair = Pegs([setup.now(h) for h in holes], pins, room, nominal)
        fits, almost = pair.fits(method.get("second_hole", "round"))
        tau, theta = np.zeros(world.n, complex), np.zeros(world.n)
        chosen = np.flatnonzero(fits)
        pair = pair.only(chosen)
        slot, push = method.get("second_hole", "round") == "slot", method.get("push", "none")
        if push == "none":
            tau[chosen], theta[chosen] = pair.loose(world.rng, slot=slot)
        else:
            tau[chosen], theta[chosen] = pair.pushed_slot(push) if slot else pair.pushed(push)
        goes &= fits
        near |= almost
        tau += world.vector("clamping_shift", name)
        cutters.append(Cutter(setup, tau, theta, zero=world.vector("rehoming") if name == "B" else 0.0))
    return cutters, goes, near


class Pegs:
    """Two pins in two holes: which poses exist, and which one the blank takes."""

    def __init__(self, holes, pins, clearance, nominal):
        self.holes, self.pins, self.clearance = holes, pins, clearance
        self.nominal = nominal
        self.line = (nominal[1] - nominal[0]) / abs(nominal[1] - nominal[0])
        self.hole_span, self.pin_span = holes[1] - holes[0], pins[1] - pins[0]
        self.e = self.pin_span / abs(self.pin_span)

    def only(self, index):
        return Pegs(*([a[index] for a in part] for part in (self.holes, self.pins, self.clearance)), self.nominal)

    def fits(self, second_hole):
        """Whether any pose exists, and whether that hangs on second-order terms."""
        c1, c2 = self.clearance
        fits = (c1 > 0) & (c2 > 0)
        if second_hole == "slot":
            return fits, np.zeros(len(c1), bool)
        room = c1 + c2 - abs(abs(self.hole_span) - abs(self.pin_span))
        return fits & (room >= 0), (abs(room) < 2 * SECOND_ORDER) & (c1 > 0) & (c2 > 0)

    def pose(self, d1, theta):
        """Pose that brings hole 1 to d1 from pin 1 with the blank turned by theta."""
        return self.pins[0] + d1 - self.holes[0] * np.exp(1j * theta), theta

    def inside(self, tau, theta, *, slot):
        """The contact inequalities, as they stand."""
        factor = np.exp(1j * theta)
        away = [self.holes[i] * factor + tau - self.pins[i] for i in range(2)]
        if slot:
            across = dot(1j * self.line * factor, away[1])
            return (abs(away[0]) <= self.clearance[0]) & (abs(across) <= self.clearance[1])
        return (abs(away[0]) <= self.clearance[0]) & (abs(away[1]) <= self.clearance[1])

    def smaller_hole_first(self):
        """The same two holes, the one with less clearance first: its play bounds the box, whatever the other's is."""
        c1, c2 = self.clearance
        swap = c2 < c1
        parts = [[np.where(swap, b, a), np.where(swap, a, b)] for a, b in (self.holes, self.pins, self.clearance)]
        return Pegs(*parts, self.nominal)

    def box(self):
        """Bounds of (d1 along the pins, d1 across, theta) that contain every pose of two round holes."""
        c1, c2 = self.clearance
        lh, lp = abs(self.hole_span), abs(self.pin_span)
        turn = np.arcsin(np.minimum((c1 + c2) / lh, 1.0))
        for _ in range(3):  # each round narrows the box; every one of them contains the set
            low = np.maximum(-c1, lp - lh - c2)
            high = np.minimum(c1, lp - lh * np.cos(turn) + c2)
            n1 = np.sqrt(np.maximum(c1**2 - closest_to_zero(low, high) ** 2, 0))
            d2_low, d2_high = low + lh * np.cos(turn) - lp, high + lh - lp
            n2 = np.sqrt(np.maximum(c2**2 - closest_to_zero(d2_low, d2_high) ** 2, 0))
            turn = np.minimum(turn, np.arcsin((n1 + n2) / lh))
        return low, high, n1, turn

    def throw(self, rng):
        """One pose from the box of two round holes."""
        low, high, across, turn = self.box()
        u, v, w = rng.random((3, len(low)))
        d1 = low + (high - low) * u + 1j * across * (2 * v - 1)
        return self.pose(d1 * self.e, np.angle(self.pin_span / self.hole_span) + turn * (2 * w - 1))

    def throw_slot(self, rng):
        """One pose from a skewed box: theta about the turn that puts pin 2 amid the slot for this d1.

        Across the slot stands y + d1.n(theta) - L sin(alpha - theta), within +-c2; d1.n(theta) differs from its value
        at theta = 0 by c1 |theta| at most, which the half-width, the same for every d1, allows for.
        """
        c1, c2 = self.clearance
        span = abs(self.pin_span)
        y, alpha = dot(1j * self.line, self.hole_span), np.angle(self.pin_span / self.line)
        reach = (abs(y) + c1 + c2) / span
        most = abs(alpha) + np.arcsin(reach)
        half = (c2 + c1 * most) / (span * np.sqrt(1 - reach**2)) * 1.01
        u, v, w = rng.random((3, len(c1)))
        d1 = c1 * ((2 * u - 1) + 1j * (2 * v - 1))
        centre = alpha - np.arcsin((y + d1.imag) / span)
        return self.pose(d1 * self.line, centre + half * (2 * w - 1))

    def loose(self, rng, *, slot):
        """Uniform in the play: throw a pose into the box until it satisfies the inequalities."""
        pegs = self if slot else self.smaller_hole_first()
        n = len(self.clearance[0])
        tau, theta = np.zeros(n, complex), np.zeros(n)
        open_ = np.arange(n)
        for _ in range(20_000):
            some = pegs.only(open_)
            t, a = some.throw_slot(rng) if slot else some.throw(rng)
            good = some.inside(t, a, slot=slot)
            tau[open_[good]], theta[open_[good]] = t[good], a[good]
            open_ = open_[~good]
            if not len(open_):
                return tau, theta
        raise ArithmeticError("no pose found by rejection")

    def towards(self, push):
        across = 1j * self.line
        lean = dot(SIDES[push], across)
        if abs(lean) < 1e-6:
            raise ValueError("push along the pin line")
        return across if lean > 0 else -across

    def pushed(self, push):
        """Greatest travel of the middle of the two holes, over all poses with both holes round."""
        c1, c2 = self.clearance
        lh, lp = abs(self.hole_span), abs(self.pin_span)
        way = self.towards(push) / self.e
        cosine = (lh**2 + lp**2 - (c1 + c2) ** 2) / (2 * lh * lp)
        turn = np.arccos(np.clip(cosine, -1, 1))

        def best(angle):
            """Best place of hole 1 for a given turn: the point of a lens furthest towards `way`."""
            gap = lh * np.exp(1j * angle) - lp  # d2 = d1 + gap
            size = np.maximum(abs(gap), 1e-15)
            first, second = c1 * way, c2 * way - gap
            in_first = abs(first + gap) <= c2
            in_second = abs(second) <= c1
            foot = (c1**2 - c2**2 + size**2) / (2 * size)
            half = np.sqrt(np.maximum(c1**2 - foot**2, 0))
            unit = -gap / size
            corner = foot * unit + 1j * unit * half * np.where(dot(way, 1j * unit) > 0, 1, -1)
            d1 = np.where(in_first, first, np.where(in_second, second, corner))
            return dot(way, d1 + gap / 2), d1

        angle = golden(lambda a: best(a)[0], -turn, turn)
        return self.pose(best(angle)[1] * self.e, angle + np.angle(self.pin_span / self.hole_span))

    def pushed_slot(self, push):
        """Greatest travel of the middle, the second hole a slot whose wall comes to bear on its pin."""
        c1, c2 = self.clearance
        way = self.towards(push)
        sign = 1.0 if dot(way, 1j * self.line) > 0 else -1.0
        y = dot(1j * self.line, self.hole_span)

        def turn(direction):
            # across the slot, the pin as seen from the slot: |w| sin(arg w - theta) - y = -sign c2
            w = (self.pin_span - c1 * way * np.exp(1j * direction)) / self.line
            return np.angle(w) - np.arcsin((y - sign * c2) / abs(w))

        def travel(direction):
            middle = self.hole_span * np.exp(1j * turn(direction)) / 2
            return dot(way, c1 * way * np.exp(1j * direction) + middle)

        direction = golden(travel, np.full(len(c1), -0.3), np.full(len(c1), 0.3))
        return self.pose(c1 * way * np.exp(1j * direction), turn(direction))


def closest_to_zero(low, high):
    return np.where((low <= 0) & (high >= 0), 0.0, np.minimum(abs(low), abs(high)))


def golden(f, low, high):
    """Golden-section search for the maximum of each trial's own function."""
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    fa, fb = f(a), f(b)
    for _ in range(GOLDEN_STEPS):
        left = fa > fb
        low, high = np.where(left, low, a), np.where(left, b, high)
        new = np.where(left, high - GOLDEN * (high - low), low + GOLDEN * (high - low))
        f_new = f(new)
        a, b = np.where(left, new, b), np.where(left, a, new)
        fa, fb = np.where(left, f_new, fb), np.where(left, fa, f_new)
    return (low + high) / 2


# ---------------------------------------------------------------- what a pair may do


def misalignment(world, cutters, pair, b):
    """Cut with face B minus cut with face A, in the blank frame."""
    cut = [c.cut(b, world.stroke("feature", pair["name"], c.setup.name)) for c in cutters]
    return cut[1] - world.grown(cut[0])


def judge_hole(world, cutters, pair):
    d = misalignment(world, cutters, pair, complex(*map(float, pair["at"])))
    if "allowed" in pair:
        return d, abs(d), abs(d) <= pair["allowed"], abs(abs(d) - pair["allowed"])
    grown = world.tir + world.error("bit_diameter")
    a, b = pair["hole_a"] + grown, pair.get("hole_b", pair["hole_a"]) + grown
    room = np.minimum(np.minimum(a, b), (a + b) / 2 - abs(d)) - pair["bolt"]
    return d, abs(d), room >= 0, abs(room)


def judge_slot(world, cutters, pair):
    d = misalignment(world, cutters, pair, complex(*map(float, pair["at"])))
    across = abs(dot(1j * np.exp(1j * np.radians(pair["angle"])), d))
    return d, across, across <= pair["allowed"], abs(across - pair["allowed"])


def judge_outline(world, cutters, pair):
    points = [complex(*map(float, p)) for p in pair["points"]]
    step, first = np.zeros(world.n), None
    for i, b in enumerate(points):
        d = misalignment(world, cutters, pair, b)
        first = d if first is None else first
        for other in (points[i - 1], points[(i + 1) % len(points)]):
            normal = 1j * (other - b) / abs(other - b)
            step = np.maximum(step, abs(dot(normal, d)))
    return first, step, step <= pair["allowed"], abs(step - pair["allowed"])


def cut_web(world, zero_z, pair):
    """Thickness left between a pocket floor cut from each face, and the depths of the two, when face B is cut.

    With the real blank on the real bed. Where all of face A is skimmed in setup A the blank lies on the new face.
    """
    nominal, skim = world.thickness, world.job["blank"].get("skim_a", 0.0)
    first = nominal + world.error("stock_thickness")  # while face A is cut
    swelling = 1 + world.strains()[2]
    zeros = ZEROS[zero_z]

    def above(name, real, planned, depth):
        """Height of a cut above what lies on the bed, where the blank is `real` thick and `planned` to be."""
        touch = world.error("z_touch", name)
        if zeros["AB".index(name)] == "top":  # the tool goes `depth` below the face it touched
            return real - depth + touch
        # the program counts from the bed; a high spot of the bed lifts the blank
        return planned - depth + touch - world.error("bed_flatness", name, pair["name"])

    left = (above("A", first, nominal, skim) if skim else first) * swelling  # as thick it is when face B is cut
    floor_a = (above("A", first, nominal, pair["depth_a"]) if pair["depth_a"] else first) * swelling
    floor_b = above("B", left, nominal - skim, pair["depth_b"]) if pair["depth_b"] else left
    pocket = left - floor_a  # of face A, below the face that now lies on the bed
    return floor_b - pocket, {"A": first * swelling - floor_a, "B": left - floor_b}


def judge_web(world, zero_z, pair):
    """The thickness of a web, whether it is within its limits, and by how much."""
    web, _ = cut_web(world, zero_z, pair)
    good = np.ones(world.n, bool)
    margin = np.full(world.n, np.inf)
    if "min_web" in pair:
        good &= web >= pair["min_web"]
        margin = np.minimum(margin, abs(web - pair["min_web"]))
    if "max_web" in pair:
        good &= web <= pair["max_web"]
        margin = np.minimum(margin, abs(web - pair["max_web"]))
    if "min_overlap" in pair:
        overlap = -web
        good &= overlap >= pair["min_overlap"]
        margin = np.minimum(margin, abs(overlap - pair["min_overlap"]))
    return web, good, margin


OAK = (0.00158, 0.00369)  # radial and tangential, per per cent: Wood Handbook, Table 13-5
SAWN = {"flat-sawn": (OAK[1], OAK[0]), "quarter-sawn": OAK}  # across the board, through its thickness
HANDBOOK = {  # what the jobs name: red oak, aluminium
    "per_percent": lambda between: [0.00005, *SAWN[between.get("cut", "flat-sawn")]],
    "per_kelvin": lambda between: [3e-6, 30e-6, 30e-6] if between["material"] == "red oak" else 23.6e-6,
}
ZEROS = {"bed": ("bed", "bed"), "top": ("top", "top"), "top then bed": ("top", "bed")}
JUDGES = {"hole": judge_hole, "slot": judge_slot, "outline": judge_outline}
METHODS = {"pins": by_pins, "fence": by_fence, "probe": by_probe}


def way(kind):
    """How a method of a kind registers; more_ways holds those that need more room."""
    from . import more_ways

    return {**METHODS, "nest": more_ways.by_nest, "bores": more_ways.by_bores}[kind]


# ---------------------------------------------------------------- statistics of the sample


def moments(values):
    """Mean and standard deviation with the standard error of each, the latter from the sample's own kurtosis."""
    n = len(values)
    mean, std = float(np.mean(values)), float(np.std(values, ddof=1))
    fourth = float(np.mean((values - mean) ** 4))
    se_std = (max(fourth - std**4, 0.0) / n) ** 0.5 / (2 * std) if std > 0 else 0.0
    return {"mean": mean, "std": std, "se_mean": std / n**0.5, "se_std": se_std}


def distribution(values, quantiles):
    out = moments(values)
    ordered = np.sort(values)
    n = len(values)
    for name, p in quantiles.items():
        out[name] = float(np.quantile(ordered, p))
        spread = (p * (1 - p) / n) ** 0.5
        low, high = max(p - 2 * spread, 0.0), min(p + 2 * spread, 1.0)
        per_p = float(np.quantile(ordered, high) - np.quantile(ordered, low)) / (high - low)
        out["se_" + name] = per_p * spread
    return out


def simulate(job, method, trials, seed):
    """Simulate `trials` parts made by the method of that name; counts, means, spreads, quantiles and their errors.

    `near` counts the trials whose verdict hangs on less than SECOND_ORDER + 1e-4 of the limit.
    """
    spec = next(m for m in job["methods"] if m["name"] == method)
    world = World(job, trials, seed)
    cutters, goes, goes_near = way(spec["kind"])(world, spec)
    every, all_near = goes.copy(), goes_near.copy()
    pairs = []
    count = int(goes.sum())
    for pair in job["pairs"]:
        out = {"name": pair["name"], "kind": pair["kind"]}
        if pair["kind"] == "web":
            web, good, margin = judge_web(world, spec.get("zero_z", "bed"), pair)
            out["web"] = distribution(web[goes], WEB_QUANTILES) if count > 1 else None
            near = margin < SECOND_ORDER
        else:
            d, distance, good, margin = JUDGES[pair["kind"]](world, cutters, pair)
            near = margin < SECOND_ORDER + 1e-4 * pair.get("allowed", 0.0)
            if count > 1:
                out["x"], out["y"] = moments(d[goes].real), moments(d[goes].imag)
                out["distance"] = distribution(distance[goes], QUANTILES)
        out["chance"] = {"count": int((good & goes).sum()), "n": count, "near": int((near & goes).sum())}
        every &= good
        all_near |= near & goes
        pairs.append(out)
    return {
        "goes_on": {"count": count, "n": trials, "near": int(goes_near.sum())},
        "chance": {"count": int(every.sum()), "n": trials, "near": int(all_near.sum())},
        "pairs": pairs,
    }
