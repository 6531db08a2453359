"""A job and one of its methods become a linear model: D = e_B - e_A at every pair, in the axes of the blank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.blank import Edges
from flipcheck.flip.bores import Bores
from flipcheck.flip.fence import Fence
from flipcheck.flip.frames import FACES, placing
from flipcheck.flip.ledger import Ledger
from flipcheck.flip.locators import Bench
from flipcheck.flip.machine import Machine
from flipcheck.flip.movement import Movement
from flipcheck.flip.nest import Nest
from flipcheck.flip.pins import Pins
from flipcheck.flip.probe import Probe
from flipcheck.flip.targets import Targets
from flipcheck.job.records import BoresMethod, FenceMethod, NestMethod, PinsMethod
from flipcheck.stack.linear import LinearModel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.registration import Registrar
    from flipcheck.flip.targets import Target
    from flipcheck.job.records import Blank, Job, Method

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FlipModel:
    """What a job does by one method.

    Attributes
    ----------
    method: The method's record.
    linear: Sources, contacts, coefficients and limits, ready to be added up.
    targets: What each pair of the job looks at among the outputs, in the order of the job.
    by_face: What each row does to each output by way of face A (negative, since D = e_B - e_A) and of face B, shape (2,
        M, R).
    """

    method: Method
    linear: LinearModel
    targets: tuple[Target, ...]
    by_face: Array

    def __repr__(self) -> str:
        return f"FlipModel({self.method.name!r})"


def flip_model(job: Job, method: Method) -> FlipModel:
    """The model of `job` registered by `method`."""
    first = Ledger()
    physics(job, method, first)
    ledger = first.second_reading()
    field, targets = physics(job, method, ledger)
    shared = field.reshape(6, -1)
    mix, own = targets.mix(), targets.own()
    linear = LinearModel(
        name=method.name,
        sources=tuple(ledger.sources.values()),
        contacts=tuple(contact for contact in ledger.contacts.values() if contact is not None),
        shared=ledger.total(shared),
        mix=mix,
        own=ledger.total(own),
        centre=targets.centre(),
        measures=tuple(target.measure for target in targets.targets),
    )
    return FlipModel(method, linear, tuple(targets.targets), ledger.by_face(np.tensordot(mix, shared, 1) + own))


def physics(job: Job, method: Method, ledger: Ledger) -> tuple[Array, Targets]:
    """Go through the physics once, with the errors that a ledger hands out.

    Returns
    -------
    The field of misalignment over the blank, shape (2, 3, X), the scatter of the features left out; and what each pair
    looks at.
    """
    machine = Machine(ledger, job.errors)
    movement = Movement(ledger, job.between)
    bench = Bench(ledger, job.errors, machine, Edges(ledger, job.errors, job.blank, movement), movement)
    registrar = _registrar(bench, method, job.blank)
    placings = [placing(job.flip, job.blank, face) for face in FACES]
    fields = [p.field_to_blank(registrar.register(p).field(machine.geometry(p.face))) for p in placings]
    # when face B is cut, what was cut from face A has moved with the blank
    misalignment = fields[1] - fields[0] - movement.field("B")
    targets = Targets(job, method, ledger, machine, movement, placings[1].matrix, misalignment)
    for pair in job.pairs:
        targets.add(pair)
    return misalignment, targets


def _registrar(bench: Bench, method: Method, blank: Blank) -> Registrar:
    if isinstance(method, PinsMethod):
        return Pins(bench, method)
    if isinstance(method, FenceMethod):
        return Fence(bench, method)
    if isinstance(method, NestMethod):
        return Nest(bench, method, blank)
    if isinstance(method, BoresMethod):
        return Bores(bench, method)
    return Probe(bench, method)
