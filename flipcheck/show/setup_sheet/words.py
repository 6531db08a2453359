"""What is said of each step of a setup sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.setup.step import Action, Spot, Stage
from flipcheck.job.stated import Stated
from flipcheck.show.lengths import coordinate, length, limits_of
from flipcheck.show.words import listed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.decide.setup.step import Step

#: Steps that are said the same way whatever the job.
_FIXED = {
    Action.CLAMP: "Clamp it without pushing it sideways.",
    Action.ZERO_AT_FENCE: (
        "Zero X and Y so that the faces of fence and stop lie where they are given above (mind half the bit)."
    ),
    Action.DRY_RUN: (
        "Run the program of face B with Z raised above every clamp and pin: right way round, within the blank?"
    ),
    Action.MEASURE: "Measure the first part before the next: face B off face A, dx\u00a0______ dy\u00a0______.",
}

_TURNS = {
    "left-right": "Turn the blank over left to right, about a line along Y: its left edge comes to the right",
    "front-back": "Turn the blank over front to back, about a line along X: its front edge comes to the back",
    "diagonal": "Turn the blank over on its diagonal: its front edge comes to the left, its left edge to the front",
}


def sentence(step: Step, units: str) -> str:
    """What to do in a step; lengths in the units of the job."""
    return _FIXED.get(step.action) or _SAY[step.action](step, units)


def corner_name(corner: Sequence[str]) -> str:
    """A corner by its two sides, such as "front-left"."""
    x_side, y_side = corner
    return f"{y_side}-{x_side}"


def _mm(value: float | None, units: str) -> str:
    if isinstance(value, Stated) and value.half:
        return f"{value.name} ({limits_of(value, units)} {units})"
    return f"{coordinate(value or 0.0, units)} {units}"


def _at(spot: Spot, units: str) -> str:
    return f"X {coordinate(spot.at[0], units)} Y {coordinate(spot.at[1], units)}"


def _edge(step: Step) -> str:
    """A physical edge, and where it lies if it is not where it was with face A up."""
    return f"the {step.edge} edge" + (f" (now on the {step.side})" if step.side != step.edge else "")


def _each(step: Step, units: str) -> str:
    return listed([_at(spot, units) for spot in step.spots])


def _along(step: Step, units: str, spot: int = 0) -> str:
    """Where along an edge a spot lies, on the axis that the edge does not fix."""
    x, y = step.spots[spot].at
    return f"Y {coordinate(y, units)}" if step.side in ("left", "right") else f"X {coordinate(x, units)}"


def _thickness(step: Step, units: str) -> str:
    allowed = f" ±{coordinate(step.limit, units)}" if step.limit else ""
    size = f"{coordinate(step.size or 0.0, units)}{allowed} {units}"
    return f"Measure the thickness at four places or more: it should be {size}. Found ______"


def _mark(step: Step, _units: str) -> str:
    assert step.corner is not None
    corner = corner_name(step.corner)
    return f"Mark the {corner} corner on both its edges (black triangle on the plans), and write A on face A."


def _clean(step: Step, _units: str) -> str:
    if step.face == "A":
        return "Clean the bed and the blank; take burrs and chips off its edges."
    return "Clean the bed, the blank and its holes; take off burrs and chips."


def _bore_bed(step: Step, units: str) -> str:
    keep = " with the same zero" if step.stage is Stage.TURN else ""
    off = "With the blank off, bore" if step.stage is Stage.TURN else "Bore"
    holes = "the holes" if len(step.spots) > 1 else "the hole"
    return (
        f"{off} {holes} for pins of {_mm(step.size, units)} into the bed{keep}, at {_each(step, units)},"
        f" {_mm(step.limit, units)} deep or more."
    )


def _push_pins(step: Step, units: str) -> str:
    text = f"Push the pins in at {_each(step, units)}: {_mm(step.limit, units)} deep or more, "
    if not step.size:
        return f"{text}and mind: a cut reaches over a pin. Pull it once the clamps hold, before the cut."
    return f"{text}tops at most {_mm(step.size, units)} above the bed."


def _set_fence(step: Step, units: str) -> str:
    assert step.axis is not None
    face = f"its face at {step.axis.upper()} {coordinate(step.at or 0.0, units)}"
    bears = f"The blank bears on it at {_along(step, units, 0)} and {_along(step, units, 1)}."
    if step.detail == "hand":
        return f"Set the fence on the {step.side} side, {face}. {bears}"
    return f"Cut the fence on the {step.side} side with the machine, {face}. {bears}"


def _set_stop(step: Step, units: str) -> str:
    assert step.axis is not None
    where = f"its face at {step.axis.upper()} {coordinate(step.at or 0.0, units)}, {_along(step, units)}"
    if step.detail == "stays":
        return f"Leave the stop on the {step.side} side: it meets the {step.edge} edge."
    if step.detail == "moved":
        return f"Put the stop on the {step.side} side, {where}: it meets the {step.edge} edge."
    how = "Set" if step.detail == "hand" else "Cut or bore"
    return f"{how} the stop on the {step.side} side, {where}."


def _lay(step: Step, _units: str) -> str:
    assert step.corner is not None
    corner = f"the marked corner {corner_name(step.corner)}"
    ways = {
        "pins": f"Lay the blank onto the pins, face {step.face} up, {corner}. Never force it.",
        "nest": f"Lay it into the nest, face {step.face} up, {corner}: flat on the floor, never forced.",
        "locators": f"Lay the blank down, face {step.face} up, {corner}.",
        "by eye": f"Lay the blank down parallel to the axes by eye, face {step.face} up, {corner}.",
    }
    return ways.get(step.detail, f"Lay the blank down roughly in line, face {step.face} up, {corner}.")


def _against(step: Step, _units: str) -> str:
    if step.detail == "stop":
        return f"Then push it against the stop: {_edge(step)}."
    return f"Push it against the fence: {_edge(step)}."


def _push(step: Step, _units: str) -> str:
    if step.detail == "nest" and step.corner is not None:
        return f"Push it into the {corner_name(step.corner)} corner of the nest, and hold it there while clamping."
    if step.detail == "nest":
        return f"Push it to the {step.side} until its edge lies on that wall, and hold it there while clamping."
    return f"Push it to the {step.side} until it meets the pins, and hold it there while clamping."


def _keep_xy(step: Step, _units: str) -> str:
    if step.face == "A":
        made = {"pins": "the pin holes were bored", "nest": "the nest was cut"}.get(step.detail, "the fence was cut")
        return f"X and Y: keep the zero with which {made}."
    return "X and Y: keep the zero of face A, do not touch off anew."


def _touch(step: Step, units: str) -> str:
    assert step.axis is not None
    axis, sign = step.axis.upper(), "+" if step.sign > 0 else "-"
    half = (
        "half the bit (bit ______), and the touch plate where there is one"
        if step.detail == "bit"
        else "the stylus radius"
    )
    at = f"{coordinate(step.at or 0.0, units)} {sign} {half}"
    return f"Touch {_edge(step)} at {_along(step, units)}: {axis} there is {at}."


def _middle(step: Step, units: str) -> str:
    assert step.axis is not None
    pair = "left and right" if step.axis == "x" else "front and back"
    return (
        f"Touch both the {pair} side at {_along(step, units)}:"
        f" {step.axis.upper()} half-way between them is {coordinate(step.at or 0.0, units)}."
    )


def _angle(step: Step, units: str) -> str:
    first, second = (_along(step, units, spot) for spot in (0, 1))
    return (
        f"Touch {_edge(step)} again at {second}; turn the program until its edge passes through both"
        f" touches ({first} and {second})."
    )


def _zero_xy(step: Step, _units: str) -> str:
    return (
        f"Zero X and Y at the front-left corner of the blank: {step.detail} and features share this zero, on both"
        " faces."
    )


def _box(step: Step, units: str) -> str:
    """From one corner to the other, along both axes."""
    (x1, y1), (x2, y2) = (spot.at for spot in step.spots)
    ends = (coordinate(value, units) for value in (x1, x2, y1, y2))
    return "X {} to {}, Y {} to {}".format(*ends)


def _cut_nest(step: Step, units: str) -> str:
    keep = "With the blank off, cut" if step.stage is Stage.TURN else "Cut"
    zero = " with the same zero" if step.stage is Stage.TURN else ""
    return (
        f"{keep} the nest into the bed{zero}: {_box(step, units)}, and {length(step.size, units)} {units} wider all"
        " round. Relieve its corners beyond the walls; take dust and burrs out of it."
    )


def _cut_outline(step: Step, units: str) -> str:
    return (
        f"Cut the outline last, in the same clamping: {_box(step, units)}. Then mark the same corner of what is left:"
        " the first mark goes with the waste."
    )


def _bore_bores(step: Step, units: str) -> str:
    return (
        f"First bore the holes that are touched off later, {_mm(step.size, units)}, at {_each(step, units)}."
        " Take off their burrs."
    )


def _find_bores(step: Step, units: str) -> str:
    first, second = (_at(spot, units) for spot in step.spots)
    x, y = (0.5 * (a + b) for a, b in zip(*(spot.at for spot in step.spots), strict=True))
    zero = (
        f"bore 1 is {first}" if step.detail == "first" else f"half-way between them is {_at(Spot('', (x, y)), units)}"
    )
    return (
        f"Touch each bore on its right, left, back and front side and take its middle (bore 1 is meant at {first}, bore"
        f" 2 at {second}). Turn the program to the line through both middles; {zero}."
    )


def _zero_z(step: Step, _units: str) -> str:
    where = "the bed, beside the blank" if step.detail == "bed" else f"the top of the blank, face {step.face}"
    again = " again" if step.face == "B" else ""
    return f"Zero Z{again} on {where}."


def _bore_pin_holes(step: Step, units: str) -> str:
    into = f" and {_mm(step.limit, units)} or more into the bed" if step.detail == "same stroke" else ""
    return (
        f"First bore the pin holes, {_mm(step.size, units)}, through the blank{into}, at {_each(step, units)}."
        " Try a pin in them."
    )


def _skim(step: Step, units: str) -> str:
    return f"Skim all of face A, {_mm(step.size, units)} deep: the blank lies on this face after the turn."


def _cut(step: Step, _units: str) -> str:
    if step.face == "A":
        return "Run the program of face A."
    return "Run the program of face B; cut last what cuts the part free."


def _no_homing(step: Step, _units: str) -> str:
    what = {"pins": "the pins stand", "nest": "the nest lies"}.get(step.detail, "the fence stands")
    return f"Do not home again, switch off, or touch the zero of X and Y: {what} where this zero says."


def _turn_over(step: Step, _units: str) -> str:
    assert step.corner is not None
    return f"{_TURNS[step.detail]}. The marked corner is now {corner_name(step.corner)}."


def _point_at(step: Step, units: str) -> str:
    spot = step.spots[0]
    rulers = " and ".join(
        f"{_mm(ruler.distance, units)} from the {ruler.edge} edge"
        + (f" (now on the {ruler.side})" if ruler.side != ruler.edge else "")
        for ruler in step.rulers
    )
    return f'Go to "{spot.name}", {_at(spot, units)}. Measure with a ruler: {rulers}.'


def _scratch(step: Step, units: str) -> str:
    return f"Scratch the waste {_mm(step.size, units)} deep with the program's own zero; measure; only then go on."


_SAY: dict[Action, Callable[[Step, str], str]] = {
    Action.MEASURE_THICKNESS: _thickness,
    Action.MARK: _mark,
    Action.CLEAN: _clean,
    Action.BORE_BED: _bore_bed,
    Action.PUSH_PINS: _push_pins,
    Action.SET_FENCE: _set_fence,
    Action.SET_STOP: _set_stop,
    Action.LAY: _lay,
    Action.AGAINST: _against,
    Action.PUSH: _push,
    Action.KEEP_XY: _keep_xy,
    Action.TOUCH: _touch,
    Action.MIDDLE: _middle,
    Action.ANGLE: _angle,
    Action.ZERO_XY: _zero_xy,
    Action.CUT_NEST: _cut_nest,
    Action.CUT_OUTLINE: _cut_outline,
    Action.BORE_BORES: _bore_bores,
    Action.FIND_BORES: _find_bores,
    Action.ZERO_Z: _zero_z,
    Action.SKIM: _skim,
    Action.BORE_PIN_HOLES: _bore_pin_holes,
    Action.CUT: _cut,
    Action.NO_HOMING: _no_homing,
    Action.TURN_OVER: _turn_over,
    Action.POINT_AT: _point_at,
    Action.SCRATCH: _scratch,
}
