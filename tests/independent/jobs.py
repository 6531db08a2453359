"""Jobs to compare with: FIXED ones that hit every option, and random ones without end."""

import math
import random

from .rigid import simulate

# ---------------------------------------------------------------- hand-picked jobs

# Every error at once, of a size that a small shop knows (mm, rad).
ERRORS = {
    "machine_squareness": {"std": 0.0003},
    "machine_scale_x": {"std": 0.00015},
    "machine_scale_y": {"limit": 0.0003},
    "positioning": {"std": 0.012},
    "lost_motion": {"total": 0.03},
    "rehoming": {"std": 0.02},
    "clamping_shift": {"limit": 0.02},
    "seating": {"limit": 0.025},
    "stock_squareness": {"limit": 0.0006},
    "stock_parallelism": {"std": 0.0003},
    "stock_size": {"limit": 0.15},
    "stock_straightness": {"std": 0.03},
    "stock_thickness": {"std": 0.08},
    "fence_angle": {"std": 0.0003},
    "fence_position": {"std": 0.04},
    "stop_position": {"std": 0.05},
    "probe_repeatability": {"std": 0.012},
    "probe_radius": {"std": 0.02},
    "bit_diameter": {"std": 0.01},
    "bit_runout": 0.03,
    "eye_angle": {"std": 0.0008},
    "z_touch": {"std": 0.02},
    "bed_flatness": {"std": 0.05},
}

SHAPES = {
    "positioning": {"limit": 0.03, "shape": "triangular", "bias": 0.004},
    "lost_motion": {"total": 0.05, "bias": 0.006},
    "machine_squareness": {"limit": 0.0006, "shape": "arcsine"},
    "machine_scale_x": {"total": 0.0006, "shape": "trapezoid", "top": 0.2},
    "machine_scale_y": {"limit": 0.0004, "shape": "trapezoid"},
    "stock_squareness": {"std": 0.0004, "bias": 0.0003},
    "stock_parallelism": {"limit": 0.0006, "bias": -0.0004},
    "stock_size": {"limit": 0.2, "shape": "normal", "sigmas": 3, "bias": 0.05},
    "stock_straightness": {"total": 0.1, "shape": "triangular"},
    "stock_thickness": {"limit": 0.2, "shape": "triangular", "bias": 0.05},
    "seating": {"limit": 0.03, "bias": 0.02},
    "clamping_shift": {"std": 0.02, "bias": 0.01},
    "rehoming": {"total": 0.08, "shape": "arcsine", "bias": -0.01},
    "fence_angle": {"limit": 0.0006, "shape": "triangular", "bias": 0.0002},
    "fence_position": {"limit": 0.1, "shape": "trapezoid", "bias": 0.02},
    "stop_position": {"std": 0.03, "bias": -0.03},
    "probe_repeatability": {"limit": 0.03, "bias": 0.005},
    "probe_radius": {"limit": 0.04, "shape": "arcsine", "bias": 0.02},
    "bit_diameter": {"limit": 0.02, "bias": -0.01},
    "bit_runout": 0.05,
    "eye_angle": {"limit": 0.002, "shape": "trapezoid", "top": 0.8},
    "z_touch": {"limit": 0.03, "shape": "normal", "sigmas": 2, "bias": 0.01},
    "bed_flatness": {"total": 0.1, "bias": 0.02},
}

BLANK = [260, 180, 16]
SQUARE = [200, 200, 16]


def pairs(allowed):
    """One pair of each kind; `allowed` is the limit of the hole, the others follow it."""
    return [
        {"name": "seat", "kind": "hole", "at": [60, 50], "allowed": allowed},
        {
            "name": "screw",
            "kind": "hole",
            "at": [170, 140],
            "bolt": 6.0,
            "hole_a": 6.0 + 0.7 * allowed,
            "hole_b": 6.0 + 1.1 * allowed,
        },
        {"name": "keyway", "kind": "slot", "at": [130, 120], "angle": 35, "allowed": 0.6 * allowed},
        {
            "name": "rim",
            "kind": "outline",
            "points": [[40, 40], [176, 30], [180, 150], [90, 166], [36, 120]],
            "allowed": 1.5 * allowed,
        },
        {
            "name": "floor",
            "kind": "web",
            "at": [120, 90],
            "depth_a": 7,
            "depth_b": 7.5,
            "min_web": 1.4,
            "max_web": 1.65,
        },
    ]


def fixed(flip, allowed, *methods, errors=ERRORS, size=BLANK, without=(), between=None):
    kept = {k: v for k, v in errors.items() if k not in without}
    named = [{"name": f"way {i + 1}", **m} for i, m in enumerate(methods)]
    job = {"title": "agreement", "units": "mm", "goal": 0.9, "flip": flip, "blank": {"size": size}}
    waits = {"between": between} if between else {}
    return {**job, "errors": kept, **waits, "pairs": pairs(allowed), "methods": named}


ACROSS_LR = [[130, 20], [130, 160]]
ANYWHERE = [[30, 40], [170, 150]]
DOWEL = {"diameter": 6.0, "limit": 0.005}
REAMED = {"diameter": 6.06, "limit": 0.01}
WIDE = {"diameter": 6.16, "limit": 0.02}

PINS = {"kind": "pins", "pins": ACROSS_LR, "pin": DOWEL, "hole": REAMED}
OWN_HOLES = {**PINS, "holes": "beforehand", "hole_position": {"std": 0.015}}
FENCE = {"kind": "fence", "fence": "front", "contacts": [30, 150], "stop": "left", "stop_at": 40}
CORNER = {"kind": "probe", "corner": "front-left", "touch_in": [24, 36]}
PROBE = {**CORNER, "angle": "two touches", "spacing": 120}
BY_FENCE = {**CORNER, "angle": "fence", "fence": "front", "contacts": [30, 150]}
BY_EYE = {**CORNER, "angle": "by eye"}
NEST = {"kind": "nest", "clearance": 0.6, "pocket_size": {"limit": 0.03}}
CUT_NEST = {"kind": "nest", "clearance": 0.3, "outline": "with face A", "rectangle": [[20, 15], [240, 150]]}
CROWD = {
    "kind": "pins",
    "pins": [[20, 20], [240, 20], [240, 160], [20, 160]],
    "pin": {"diameter": 6.0, "limit": 0.01},
    "hole": {"diameter": 6.2, "limit": 0.03},
}
BORES = {"kind": "bores", "bores": [[30, 40], [230, 150]], "diameter": 10}

FIXED = {
    "pins: two round holes on the flip line": fixed("left-right", 0.079, PINS),
    "pins: slot as second hole, diagonal turn": fixed(
        "diagonal", 0.082, {**PINS, "pins": ANYWHERE, "second_hole": "slot"}, {**PINS, "pins": ANYWHERE, "hole": WIDE}
    ),
    "pins: holes beforehand, front-back": fixed(
        "front-back", 0.12, {**OWN_HOLES, "pins": ANYWHERE, "hole": {"diameter": 6.1, "limit": 0.02}}
    ),
    "pins: beforehand, pins that change places": fixed(
        "left-right", 0.12, {**OWN_HOLES, "pins": [[50, 90], [210, 90]], "hole": WIDE, "pin_play": {"limit": 0.01}}
    ),
    "pins: pushed, holes with face A": fixed("left-right", 0.085, {**PINS, "push": "left"}, {**PINS, "push": "right"}),
    "pins: pushed in both setups, doubles and cancels": fixed(
        "front-back",
        0.11,
        {**OWN_HOLES, "pins": [[40, 90], [220, 90]], "push": "back", "hole": WIDE},
        {**OWN_HOLES, "pins": [[130, 30], [130, 150]], "push": "left", "hole": WIDE},
    ),
    "pins: pushed onto a slot, slanted line, diagonal turn": fixed(
        "diagonal", 0.083, {**OWN_HOLES, "pins": [[40, 150], [220, 60]], "second_hole": "slot", "push": "front"}
    ),
    "pins: same stroke": fixed(
        "left-right",
        0.083,
        {**PINS, "bed_holes": "same stroke"},
        {**PINS, "bed_holes": "same stroke", "second_hole": "slot", "push": "left"},
    ),
    "pins: same stroke, front-back, holes by the bit": fixed(
        "front-back",
        0.085,
        {**PINS, "pins": [[30, 90], [230, 90]], "bed_holes": "same stroke", "holes_by_bit": True},
        without=["bit_diameter"],
    ),
    "pins: holes by the bit, play, unequal clearances": fixed(
        "left-right",
        0.094,
        {
            **PINS,
            "pin": {"diameter": 6.0, "std": 0.02},
            "hole": {"diameter": 6.06, "std": 0.03},
            "holes_by_bit": True,
            "pin_play": {"limit": 0.01, "bias": 0.02},
        },
        {**PINS, "pin": {"diameter": 6.0, "std": 0.03}, "holes_by_bit": True, "push": "right"},
    ),
    "fence: machine, stop follows its edge": fixed("left-right", 0.11, FENCE, {**FENCE, "rail": True}),
    "fence: machine, stop stays": fixed(
        "left-right", 0.17, {**FENCE, "after_flip": "same side"}, {**FENCE, "after_flip": "same side", "rail": True}
    ),
    "fence: front-back, another edge at the fence": fixed(
        "front-back", 0.21, FENCE, {**FENCE, "rail": True, "set_by": "hand", "stop": "right", "after_flip": "same side"}
    ),
    "fence: set by hand": fixed(
        "left-right",
        0.2,
        {**FENCE, "set_by": "hand"},
        {**FENCE, "set_by": "hand", "after_flip": "same side", "rail": True, "contacts": [50, 190]},
    ),
    "fence: at the left side, front-back": fixed(
        "front-back",
        0.14,
        {**FENCE, "fence": "left", "stop": "back", "rail": True},
        {**FENCE, "fence": "right", "stop": "front", "set_by": "hand", "contacts": [40, 160]},
    ),
    "fence: diagonal turn": fixed(
        "diagonal",
        0.18,
        {**FENCE, "after_flip": "same side"},
        {**FENCE, "after_flip": "same side", "rail": True, "fence": "left", "stop": "front"},
        {**FENCE, "after_flip": "same side", "set_by": "hand"},
    ),
    "fence: diagonal turn, locators at other places": fixed(
        "diagonal",
        0.18,
        {**FENCE, "after_flip": "same side", "fence": "back", "stop": "right"},
        {**FENCE, "after_flip": "same side", "fence": "right", "stop": "back", "set_by": "hand", "rail": True},
    ),
    "fence: diagonal turn of a square blank": fixed(
        "diagonal", 0.17, {**FENCE, "after_flip": "same side", "fence": "back", "stop": "right"}, size=SQUARE
    ),
    "probe: same corner, fence, bit": fixed(
        "left-right", 0.13, BY_FENCE, {**BY_FENCE, "rail": True, "same_phase": True}
    ),
    "probe: same side, middle": fixed(
        "left-right",
        0.17,
        {**BY_FENCE, "after_flip": "same side", "stylus": "probe"},
        {**BY_FENCE, "after_flip": "same side", "middle": ["x"]},
        {**BY_FENCE, "after_flip": "same side", "middle": ["x", "y"], "set_by": "hand", "same_phase": True},
    ),
    "probe: two touches": fixed(
        "left-right",
        0.1,
        PROBE,
        {**PROBE, "middle": ["y"], "stylus": "probe"},
        {**PROBE, "after_flip": "same side", "corner": "back-right"},
    ),
    "probe: two touches, front-back": fixed(
        "front-back",
        0.1,
        {**PROBE, "corner": "back-left", "same_phase": True},
        {**PROBE, "corner": "front-right", "after_flip": "same side", "middle": ["x", "y"]},
    ),
    "probe: diagonal turn": fixed(
        "diagonal",
        0.15,
        {**PROBE, "corner": "front-right", "stylus": "probe"},
        {**PROBE, "corner": "back-right", "after_flip": "same side", "middle": ["y"]},
        {**BY_FENCE, "fence": "left", "rail": True, "corner": "back-left"},
    ),
    "probe: by eye": fixed(
        "left-right",
        0.18,
        BY_EYE,
        {**BY_EYE, "corner": "back-left", "middle": ["x"], "stylus": "probe"},
    ),
    "probe: fence set by hand, back edge, front-back": fixed(
        "front-back",
        0.13,
        {**BY_FENCE, "fence": "back", "set_by": "hand"},
        {**BY_FENCE, "fence": "right", "rail": True, "contacts": [30, 160], "corner": "front-right"},
    ),
    "straightness: touches at the contacts share their place": fixed(
        "left-right",
        0.21,
        {**BY_FENCE, "touch_in": [30, 40]},
        {**BY_FENCE, "touch_in": [110, 40], "contacts": [60, 150], "stylus": "probe"},
        {**FENCE, "contacts": [60, 200.6], "stop_at": 90.4},
        errors={**ERRORS, "stock_straightness": {"limit": 0.12}},
        without=["fence_angle"],
    ),
    "zero_z: bed, top, mixed": fixed(
        "left-right", 0.079, PINS, {**PINS, "zero_z": "top"}, {**PINS, "zero_z": "top then bed"}
    ),
    "spreads: every shape, with biases, pins": fixed(
        "left-right",
        0.14,
        {**OWN_HOLES, "hole": {"diameter": 6.16, "limit": 0.03, "shape": "triangular", "bias": 0.01}, "push": "left"},
        {
            **PINS,
            "pin": {"diameter": 6.0, "limit": 0.02, "shape": "normal", "sigmas": 2.5},
            "hole": {"diameter": 6.1, "total": 0.04, "shape": "trapezoid", "top": 0.6},
            "holes_by_bit": True,
        },
        errors=SHAPES,
    ),
    "spreads: every shape, with biases, fence and probe": fixed(
        "front-back",
        0.22,
        {**FENCE, "set_by": "hand", "after_flip": "same side"},
        {**FENCE, "fence": "left", "stop": "front", "rail": True},
        {**PROBE, "after_flip": "same side", "corner": "front-right"},
        errors=SHAPES,
    ),
    "spreads: every shape, with biases, diagonal": fixed(
        "diagonal",
        0.32,
        {**FENCE, "set_by": "hand", "after_flip": "same side", "fence": "back", "stop": "left", "rail": True},
        {**BY_EYE, "after_flip": "same side", "corner": "back-left"},
        errors=SHAPES,
    ),
    "pairs: bolts as wide as their holes, webs with one limit": {
        **fixed(
            "left-right",
            0.1,
            PINS,
            {**PROBE, "zero_z": "top"},
            errors={**ERRORS, "bit_diameter": {"std": 0.01, "bias": -0.04}},
        ),
        "pairs": [
            {"name": "one size", "kind": "hole", "at": [100, 60], "bolt": 6.0, "hole_a": 6.06},
            {"name": "tight below", "kind": "hole", "at": [70, 120], "bolt": 6.0, "hole_a": 6.02, "hole_b": 6.3},
            {"name": "tight above", "kind": "hole", "at": [180, 90], "bolt": 6.0, "hole_a": 6.3, "hole_b": 6.005},
            {"name": "at least", "kind": "web", "at": [60, 60], "depth_a": 6, "depth_b": 8, "min_web": 1.95},
            {"name": "at most", "kind": "web", "at": [90, 60], "depth_a": 6, "depth_b": 8, "max_web": 2.05},
        ],
    },
    "webs: what two of them share": {
        **fixed(
            "front-back",
            0.1,
            BY_EYE,
            {**BY_EYE, "zero_z": "top"},
            {**BY_EYE, "zero_z": "top then bed"},
            errors={"bed_flatness": {"std": 0.08}, "z_touch": {"std": 0.05}, "stock_thickness": {"std": 0.04}},
        ),
        "pairs": [
            {"name": "web 1", "kind": "web", "at": [60, 60], "depth_a": 6, "depth_b": 8, "min_web": 1.95},
            {"name": "web 2", "kind": "web", "at": [90, 60], "depth_a": 7, "depth_b": 7, "min_web": 1.93},
        ],
    },
    "nest: loose, the blank in one pocket": fixed("left-right", 0.45, NEST),
    "nest: pushed, the blank in one pocket": fixed(
        "left-right",
        0.55,
        {**NEST, "push": "left"},
        {**NEST, "push": "back"},
        {**NEST, "push": "front-right"},
        {**NEST, "push": "back-left"},
    ),
    "nest: second pocket, front-back": fixed(
        "front-back",
        0.5,
        {**NEST, "after_flip": "second pocket"},
        {**NEST, "after_flip": "second pocket", "push": "right"},
        {**NEST, "push": "front"},
    ),
    "nest: second pocket, diagonal": fixed(
        "diagonal",
        0.5,
        {**NEST, "after_flip": "second pocket", "push": "front-left"},
        {**NEST, "after_flip": "second pocket", "push": "back-right"},
    ),
    "nest: outline cut with face A": fixed(
        "left-right", 0.2, CUT_NEST, {**CUT_NEST, "push": "left"}, {**CUT_NEST, "push": "back-right"}
    ),
    "nest: so tight that some do not go in": fixed(
        "front-back", 0.3, {**NEST, "clearance": 0.32}, without=["stock_straightness"]
    ),
    "nest: every shape, with biases": fixed("front-back", 0.6, NEST, {**CUT_NEST, "push": "left"}, errors=SHAPES),
    "pins: four": fixed("left-right", 0.15, CROWD),
    "pins: three, holes beforehand, front-back": fixed(
        "front-back",
        0.25,
        {
            **CROWD,
            "pins": [[20, 20], [240, 50], [90, 160]],
            "holes": "beforehand",
            "hole_position": {"std": 0.03},
            "pin_play": {"limit": 0.01},
            "holes_by_bit": True,
        },
    ),
    "pins: four on a skewed machine, where some bind": fixed(
        "left-right",
        0.16,
        {**CROWD, "hole": {"diameter": 6.12, "std": 0.01}},
        errors={**ERRORS, "machine_squareness": {"std": 0.0006}},
    ),
    "bores": fixed(
        "left-right",
        0.11,
        BORES,
        {**BORES, "stylus": "probe", "zero_at": "first"},
        {**BORES, "same_phase": True},
    ),
    "bores: beforehand, front-back": fixed(
        "front-back",
        0.12,
        {**BORES, "holes": "beforehand", "hole_position": {"std": 0.05}},
        {**BORES, "holes": "beforehand", "zero_at": "first", "same_phase": True},
    ),
    "bores: diagonal, every shape": fixed("diagonal", 0.14, BORES, errors=SHAPES),
    "between: oak, grain along X, pins and fence": fixed(
        "left-right",
        0.2,
        {**PINS, "hole": WIDE},
        {**OWN_HOLES, "hole": {"diameter": 6.3, "limit": 0.05}, "push": "right"},
        {**FENCE, "after_flip": "same side"},
        {**FENCE, "rail": True},
        between={
            "material": "red oak",
            "grain": 0,
            "moisture": {"before": 8, "after": 8.2, "std": 0.1},
            "temperature": {"limit": 4},
        },
    ),
    "between: oak, quarter-sawn, grain askew": fixed(
        "front-back",
        0.25,
        {**PINS, "pins": ANYWHERE, "hole": WIDE, "zero_z": "top"},
        {**PINS, "pins": ANYWHERE, "second_hole": "slot", "zero_z": "top then bed"},
        {**FENCE, "set_by": "hand", "rail": True},
        {**PROBE, "corner": "back-right", "middle": ["x"]},
        between={"material": "red oak", "cut": "quarter-sawn", "grain": 35, "moisture": {"limit": 0.4, "bias": -0.2}},
    ),
    "between: warm aluminium, probed": fixed(
        "left-right",
        0.2,
        PROBE,
        {**PROBE, "after_flip": "same side", "corner": "back-right", "middle": ["x", "y"]},
        {**BY_FENCE, "rail": True},
        BY_EYE,
        between={"material": "aluminium", "temperature": {"before": 18, "after": 33, "limit": 5}},
    ),
    "between: a known change, own figures, diagonal": fixed(
        "diagonal",
        0.25,
        {**OWN_HOLES, "pins": ANYWHERE, "hole": WIDE},
        {**PINS, "pins": ANYWHERE, "hole": WIDE, "push": "left"},
        {**FENCE, "after_flip": "same side"},
        {**PROBE, "corner": "front-right", "after_flip": "same side", "zero_z": "top"},
        between={
            "per_percent": [0.0001, 0.002, 0.004],
            "per_kelvin": 0.0001,
            "grain": 90,
            "moisture": 0.3,
            "temperature": {"std": 3},
        },
    ),
    "between: nests and bores": fixed(
        "left-right",
        0.6,
        NEST,
        {**CUT_NEST, "push": "left"},
        BORES,
        {**BORES, "zero_at": "first"},
        between={"per_kelvin": 0.00002, "temperature": {"std": 10}},
    ),
    "webs: overlaps, faces left as they are, swelling": {
        **fixed(
            "left-right",
            0.1,
            PINS,
            {**PINS, "zero_z": "top"},
            {**PINS, "zero_z": "top then bed"},
            without=[k for k in ERRORS if k not in ("positioning", "z_touch", "stock_thickness", "bed_flatness")],
            between={"per_percent": [0.0, 0.0, 0.004], "grain": 0, "moisture": {"before": 9, "after": 11, "std": 0.5}},
        ),
        "pairs": [
            {"name": "through", "kind": "web", "at": [60, 60], "depth_a": 8, "depth_b": 8.1, "min_overlap": 0.05},
            {"name": "floor of B", "kind": "web", "at": [90, 60], "depth_a": 0, "depth_b": 7, "min_web": 8.98},
            {"name": "floor of A", "kind": "web", "at": [90, 90], "depth_a": 7, "depth_b": 0, "max_web": 9.05},
            {"name": "faced", "kind": "web", "at": [50, 90], "depth_a": 1, "depth_b": 0.5, "min_web": 14.45},
        ],
    },
    "webs: all of face A skimmed, swelling": {
        **fixed(
            "front-back",
            0.1,
            {**PINS, "pins": [[20, 90], [240, 90]]},
            {**PINS, "pins": [[20, 90], [240, 90]], "zero_z": "top"},
            {**PINS, "pins": [[20, 90], [240, 90]], "zero_z": "top then bed"},
            without=[k for k in ERRORS if k not in ("positioning", "z_touch", "stock_thickness", "bed_flatness")],
            between={"per_percent": [0.0, 0.0, 0.004], "grain": 0, "moisture": {"before": 9, "after": 11, "std": 0.5}},
        ),
        "blank": {"size": BLANK, "skim_a": 0.6},
        "pairs": [
            {"name": "finished", "kind": "web", "at": [60, 60], "depth_a": 0.6, "depth_b": 0.5, "min_web": 14.88},
            {"name": "pocket", "kind": "web", "at": [90, 60], "depth_a": 7, "depth_b": 0, "max_web": 9.05},
            {"name": "floor", "kind": "web", "at": [90, 90], "depth_a": 7, "depth_b": 7.5, "min_web": 1.45},
            {"name": "through", "kind": "web", "at": [50, 90], "depth_a": 8, "depth_b": 8.2, "min_overlap": 0.15},
        ],
    },
    "errors: nothing but the cut": fixed(
        "left-right",
        0.051,
        PINS,
        FENCE,
        PROBE,
        without=[k for k in ERRORS if k not in ("positioning", "lost_motion", "z_touch", "stock_thickness")],
    ),
}


# ---------------------------------------------------------------- random jobs

RANGES = {  # standard deviations, mm or rad
    "machine_squareness": (0.0001, 0.0007),
    "machine_scale_x": (0.00005, 0.0003),
    "machine_scale_y": (0.00005, 0.0003),
    "positioning": (0.005, 0.03),
    "lost_motion": (0.005, 0.03),
    "rehoming": (0.005, 0.05),
    "clamping_shift": (0.005, 0.05),
    "seating": (0.005, 0.05),
    "stock_squareness": (0.0001, 0.0007),
    "stock_parallelism": (0.0001, 0.0007),
    "stock_size": (0.02, 0.2),
    "stock_straightness": (0.005, 0.06),
    "stock_thickness": (0.02, 0.2),
    "fence_angle": (0.0001, 0.0007),
    "fence_position": (0.01, 0.1),
    "stop_position": (0.01, 0.1),
    "probe_repeatability": (0.005, 0.03),
    "probe_radius": (0.005, 0.06),
    "bit_diameter": (0.005, 0.02),
    "eye_angle": (0.0002, 0.0009),
    "z_touch": (0.005, 0.05),
    "bed_flatness": (0.01, 0.1),
}


def random_spread(rng, std, *, bounded=False):
    """A spread of that standard deviation in one of the forms of the job file, now and then with a bias."""
    forms = [
        {"limit": std * math.sqrt(3)},
        {"total": 2 * std * math.sqrt(3)},
        {"limit": std * math.sqrt(6), "shape": "triangular"},
        {"limit": std * math.sqrt(2), "shape": "arcsine"},
        {"total": 2 * std * math.sqrt(6 / (1 + 0.3**2)), "shape": "trapezoid", "top": 0.3},
    ]
    if not bounded:
        forms += [{"std": std}, {"std": std}, {"limit": 3 * std, "shape": "normal", "sigmas": 3}]
    table = {k: round(v, 8) if isinstance(v, float) else v for k, v in rng.choice(forms).items()}
    if rng.random() < 0.2:
        table["bias"] = round(rng.uniform(-1, 1) * std, 8)
    return table


def even(rng, low, high):
    """An even whole number."""
    return 2 * rng.randint(math.ceil(low / 2), int(high / 2))


def near_even(rng, low, high):
    """An even place, now and then 0.3 mm beside it: places are then within 0.6 mm of each other or 1.4 mm apart."""
    return even(rng, low, high) + (0.3 if rng.random() < 0.25 else 0)


def random_fence(rng, size, flip):
    side = rng.choice(["front", "back", "left", "right"])
    span = size[0] if side in ("front", "back") else size[1]
    span = min(size[0], size[1]) if flip == "diagonal" else span
    first = near_even(rng, 10, 0.35 * span)
    second = rng.choice([span - first, near_even(rng, 0.6 * span, span - 10)])
    fence = {"fence": side, "contacts": [first, second]}
    if rng.random() < 0.7:
        fence["set_by"] = rng.choice(["machine", "hand", "hand"])
    if rng.random() < 0.7:
        fence["rail"] = rng.choice([True, False])
    return fence


def random_fence_method(rng, size, flip):
    method = {"kind": "fence", **random_fence(rng, size, flip)}
    across = ["left", "right"] if method["fence"] in ("front", "back") else ["front", "back"]
    method["stop"] = rng.choice(across)
    span = size[1] if method["fence"] in ("front", "back") else size[0]
    method["stop_at"] = near_even(rng, 10, (min(size[0], size[1]) if flip == "diagonal" else span) - 10)
    if flip == "diagonal":
        method["after_flip"] = "same side"
    elif rng.random() < 0.7:
        method["after_flip"] = rng.choice(["same edge", "same side"])
    return method


def random_probe_method(rng, size, flip):
    short = min(size[0], size[1])
    method = {
        "kind": "probe",
        "corner": f"{rng.choice(['front', 'back'])}-{rng.choice(['left', 'right'])}",
        "touch_in": [near_even(rng, 10, 0.3 * short), near_even(rng, 10, 0.7 * short)],
        "angle": rng.choice(["fence", "two touches", "by eye"]),
    }
    if method["angle"] == "fence":
        method.update(random_fence(rng, size, flip))
    if method["angle"] == "two touches":
        method["spacing"] = even(rng, 0.4 * short, 0.65 * short)
    optional = {
        "after_flip": ["same corner", "same side"],
        "middle": [[], ["x"], ["y"], ["x", "y"]],
        "stylus": ["bit", "probe"],
        "same_phase": [True, False],
    }
    method.update({key: rng.choice(values) for key, values in optional.items() if rng.random() < 0.7})
    if method.get("stylus") == "probe":
        method.pop("same_phase", None)
    return method


def random_pins_method(rng, size, flip):
    x, y = size[0], size[1]
    same_stroke = flip != "diagonal" and rng.random() < 0.3
    lines = {
        "left-right": [[x // 2, even(rng, 10, 0.3 * y)], [x // 2, even(rng, 0.7 * y, y - 10)]],
        "front-back": [[even(rng, 10, 0.3 * x), y // 2], [even(rng, 0.7 * x, x - 10), y // 2]],
    }
    anywhere = [
        [even(rng, 10, 0.3 * x), even(rng, 10, y - 10)],
        [even(rng, 0.7 * x, x - 10), even(rng, 10, y - 10)],
    ]
    mirrored = [[30, y // 2], [x - 30, y // 2]] if flip == "left-right" else [[x // 2, 30], [x // 2, y - 30]]
    pins = lines[flip] if same_stroke else rng.choice([*lines.values(), anywhere, anywhere, mirrored])
    play = rng.choice([0.03, 0.06, 0.1, 0.2])
    method = {
        "kind": "pins",
        "pins": pins,
        "pin": {"diameter": 6.0, **random_spread(rng, play / 12)},
        "hole": {"diameter": round(6.0 + play, 4), **random_spread(rng, play / 8)},
    }
    if same_stroke:
        method["bed_holes"] = "same stroke"
    elif rng.random() < 0.5:
        method["holes"] = "beforehand"
        if rng.random() < 0.8:
            method["hole_position"] = random_spread(rng, rng.uniform(0.005, 0.04))
    if rng.random() < 0.4:
        method["holes_by_bit"] = rng.choice([True, True, False])
    if rng.random() < 0.4:
        method["second_hole"] = rng.choice(["slot", "slot", "round"])
    if rng.random() < 0.3:
        std = rng.uniform(0.002, 0.01)
        method["pin_play"] = {"limit": round(std, 5), "bias": round(1.5 * std, 5)}
    if rng.random() < 0.5:
        (x1, y1), (x2, y2) = pins
        along_x, along_y = abs(x2 - x1), abs(y2 - y1)
        if flip == "diagonal" and "holes" not in method:
            along_x, along_y = along_y, along_x
        if flip != "diagonal" or "holes" not in method or min(along_x, along_y) > 0.3 * max(along_x, along_y):
            method["push"] = rng.choice(["front", "back"] if along_x > along_y else ["left", "right"])
    return method


def random_nest_method(rng, size, flip):
    x, y, _ = size
    method = {"kind": "nest", "clearance": rng.choice([0.3, 0.6, 1.2])}
    pushes = ["none", "front", "back", "left", "right"]
    if rng.random() < 0.5:
        method["outline"] = "with face A"
        if rng.random() < 0.7:
            low = [even(rng, 4, 0.3 * x), even(rng, 4, 0.3 * y)]
            method["rectangle"] = [low, [even(rng, 0.6 * x, x - 4), even(rng, 0.6 * y, y - 4)]]
    elif flip == "diagonal" or rng.random() < 0.3:
        method["after_flip"] = "second pocket"
    (x1, y1), (x2, y2) = method.get("rectangle", ((0, 0), (x, y)))
    if x2 - x1 != y2 - y1:  # of a square no edge is the longer one
        pushes += ["front-left", "front-right", "back-left", "back-right"]
    if rng.random() < 0.6:
        method["push"] = rng.choice(pushes)
    if rng.random() < 0.5:
        method["pocket_size"] = random_spread(rng, rng.uniform(0.01, 0.05))
    return method


def random_crowd_method(rng, size, flip):
    x, y, _ = size
    play = rng.choice([0.15, 0.3, 0.6])
    corners = [[even(rng, 10, 0.2 * x), even(rng, 10, 0.2 * y)], [even(rng, 0.8 * x, x - 10), even(rng, 10, 0.2 * y)]]
    corners += [[x - even(rng, 10, 0.2 * x), even(rng, 0.8 * y, y - 10)], [even(rng, 10, 0.2 * x), y - 10]]
    method = {
        "kind": "pins",
        "pins": corners[: rng.choice([3, 4])],
        "pin": {"diameter": 6.0, **random_spread(rng, play / 20)},
        "hole": {"diameter": round(6.0 + play, 4), **random_spread(rng, play / 12)},
    }
    if rng.random() < 0.4:
        method |= {"holes": "beforehand", "hole_position": random_spread(rng, rng.uniform(0.005, 0.03))}
    return method


def random_bores_method(rng, size, flip):
    x, y, _ = size
    bores = [[even(rng, 10, 0.3 * x), even(rng, 10, y - 10)], [even(rng, 0.7 * x, x - 10), even(rng, 10, y - 10)]]
    method = {"kind": "bores", "bores": bores, "diameter": 8}
    if rng.random() < 0.5:
        method["holes"] = "beforehand"
        method["hole_position"] = random_spread(rng, rng.uniform(0.01, 0.2))
    if rng.random() < 0.5:
        method["zero_at"] = "first"
    if rng.random() < 0.4:
        method["stylus"] = "probe"
    elif rng.random() < 0.4:
        method["same_phase"] = True
    return method


def random_pair(rng, size, kind, name):
    x, y, t = size

    def at():
        return [even(rng, 20, x - 20), even(rng, 20, y - 20)]

    if kind == "hole" and rng.random() < 0.4:
        pair = {"name": name, "kind": "hole", "at": at(), "bolt": 6.0, "hole_a": 6.2}
        return {**pair, "hole_b": 6.4} if rng.random() < 0.5 else pair
    if kind == "slot":
        return {"name": name, "kind": "slot", "at": at(), "angle": rng.randint(-90, 180), "allowed": 0.1}
    if kind == "outline":
        centre = [x * rng.uniform(0.4, 0.6), y * rng.uniform(0.4, 0.6)]
        corners = rng.randint(3, 7)
        points = []
        for i in range(corners):
            turn, reach = 2 * math.pi * (i + rng.uniform(0, 0.7)) / corners, rng.uniform(0.4, 0.7)
            step = [x / 2 * reach * math.cos(turn), y / 2 * reach * math.sin(turn)]
            points.append([round(c + s, 1) for c, s in zip(centre, step, strict=True)])
        return {"name": name, "kind": "outline", "points": points, "allowed": 0.2}
    if kind == "web":
        pair = {"name": name, "kind": "web", "at": at(), "depth_a": round(0.4 * t, 2), "depth_b": round(0.45 * t, 2)}
        return {**pair, "min_web": 0.0, **({"max_web": 0.0} if rng.random() < 0.5 else {})}
    return {"name": name, "kind": "hole", "at": at(), "allowed": 0.1}


def random_between(rng):
    """A change of moisture or temperature or both, small enough for blanks to go onto pins now and then."""
    between = {"grain": rng.choice([0, 90, rng.randint(-90, 180)])}
    if rng.random() < 0.7:
        between["moisture"] = random_spread(rng, rng.uniform(0.02, 0.2))
        between["per_percent"] = [round(rng.uniform(0, top), 6) for top in (0.0003, 0.004, 0.004)]
    if "moisture" not in between or rng.random() < 0.4:
        before = rng.randint(10, 25)
        between["temperature"] = rng.choice([4.5, {"before": before, "after": rng.randint(10, 25), "std": 2}])
        between["per_kelvin"] = round(rng.uniform(0, 0.0001), 7)
    return between


def set_limits(rng, job):
    """Give each pair a limit near a quantile of what one of the methods does, so that chances lie between 0 and 1."""
    method = rng.choice(job["methods"])["name"]
    found = simulate(job, method, 1500, 1)["pairs"]
    for pair, got in zip(job["pairs"], found, strict=True):
        if pair["kind"] == "web":
            web = got.get("web") or {"mean": 0.15 * job["blank"]["size"][2], "std": 0.1}
            pair["min_web"] = round(web["mean"] - web["std"] * rng.uniform(0.3, 2), 4)
            if "max_web" in pair:
                pair["max_web"] = round(web["mean"] + web["std"] * rng.uniform(0.3, 2), 4)
            continue
        distance = got.get("distance") or {"p50": 0.1, "p95": 0.2}
        allowed = round(distance["p50"] + rng.random() * (distance["p95"] - distance["p50"]) + 0.001, 4)
        if "bolt" in pair:
            pair["hole_a"] = round(pair["bolt"] + allowed, 4)
        else:
            pair["allowed"] = allowed


MAKERS = {
    "pins": random_pins_method,
    "fence": random_fence_method,
    "probe": random_probe_method,
    "nest": random_nest_method,
    "crowd": random_crowd_method,
    "bores": random_bores_method,
}


def random_job(seed):
    """A job with two to six pairs of mixed kinds and two or three methods; the same seed gives the same job."""
    rng = random.Random(seed)
    job = draw_job(rng, title=f"random job {seed}")
    if rng.random() < 0.4:
        job["between"] = random_between(rng)
    skim = round(rng.uniform(0.05, 0.3) * job["blank"]["size"][2], 2)
    if rng.random() < 0.3:
        job["blank"]["skim_a"] = skim
    set_limits(rng, job)
    return job


def draw_job(rng, *, title, ways=(), flips=("left-right", "front-back", "diagonal"), bounded=False):
    """A job with limits not yet set, drawn from `rng`.

    `ways`: keys of `MAKERS`, one a method; three at random unless given. `bounded`: no error of `[errors]` is normal.
    """
    size = [4 * rng.randint(30, 105), 4 * rng.randint(25, 80), rng.choice([8, 12, 18])]
    if rng.random() < 0.15:
        size[1] = size[0]
    flip = rng.choice(flips)
    errors = {
        name: random_spread(
            rng, math.exp(rng.uniform(math.log(low), math.log(high))), bounded=bounded or name == "lost_motion"
        )
        for name, (low, high) in RANGES.items()
        if rng.random() < 0.7
    }
    if rng.random() < 0.7:
        errors["bit_runout"] = round(rng.uniform(0.005, 0.1), 4)
    errors.setdefault("positioning", {"limit": 0.02} if bounded else {"std": 0.01})
    kinds = rng.choices(["hole", "slot", "outline", "web"], [4, 2, 2, 2], k=rng.randint(2, 6))
    if "web" in kinds:
        errors.setdefault("z_touch", {"limit": 0.03} if bounded else {"std": 0.02})
    methods = []
    for i, kind in enumerate(ways or rng.sample(["pins", "pins", "fence", "probe", "nest", "crowd", "bores"], 3)):
        method = {"name": f"way {i + 1}", **MAKERS[kind](rng, size, flip)}
        if rng.random() < 0.5:
            method["zero_z"] = rng.choice(["bed", "top", "top then bed"])
        methods.append(method)
    return {
        "title": title,
        "units": "mm",
        "goal": 0.9,
        "flip": flip,
        "blank": {"size": size},
        "errors": errors,
        "pairs": [random_pair(rng, size, kind, f"{kind} {i + 1}") for i, kind in enumerate(kinds)],
        "methods": methods,
    }


# ---------------------------------------------------------------- writing a job file


def to_toml(job):
    """The job as the text of a TOML file."""
    plain = {k: v for k, v in job.items() if k not in ("blank", "errors", "between", "pairs", "methods")}
    lines = [f"{k} = {value(v)}" for k, v in plain.items()]
    for name in ("blank", "errors", "between"):
        if name not in job:
            continue
        lines += ["", f"[{name}]", *(f"{k} = {value(v)}" for k, v in job.get(name, {}).items())]
    for name in ("pairs", "methods"):
        for item in job[name]:
            lines += ["", f"[[{name}]]", *(f"{k} = {value(v)}" for k, v in item.items())]
    return "\n".join(lines) + "\n"


def value(v):
    """One TOML value."""
    if isinstance(v, bool):
        return "true" if v else "false"
    if isinstance(v, str):
        return '"' + v.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(v, list):
        return "[" + ", ".join(map(value, v)) + "]"
    if isinstance(v, dict):
        return "{ " + ", ".join(f"{k} = {value(w)}" for k, w in v.items()) + " }"
    return repr(v)
