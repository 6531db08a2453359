"""What can hurt somebody, in words: below every text, in a report, and at the steps of a setup sheet."""

from __future__ import annotations

from flipcheck.decide.setup.step import Caution

#: Below every text that answers with a chance.
CAUTION = (
    "Caution: these numbers are estimates and no promise of a safe setup. Pull dowels and touch plate before the"
    " spindle starts; keep guards on; protect eyes and ears; take the dust away; follow the machine's manual and your"
    " local rules."
)

#: In a report.
CAUTIONS = (
    "The numbers are estimates and no promise of a safe setup: they say whether faces line up, not whether the work is"
    " held.",
    "Pull dowels, or know their height, and take the touch plate and its clip off, before the spindle starts. Never"
    " reach for a pin while it turns.",
    "The second face often holds on less material. Check the hold-down again after the turn, and clamps and stops"
    " against the mirrored program.",
    "Guards on. Protect eyes and ears. Take the dust away; wood dust harms the lungs.",
    "Run the turned program once above the work. Follow the machine's manual, your local rules, and people who are"
    " qualified.",
)

#: At the steps of a setup sheet.
AT_STEPS = {
    Caution.BODY: "Eyes and ears protected, guards on, dust taken away, nothing loose near the spindle.",
    Caution.RULES: "Follow the machine's manual and your local rules.",
    Caution.CLAMPS: "Clamps and screws clear of the cuts of both faces.",
    Caution.CLAMPS_MIRRORED: "Check clamps and stops against the mirrored program.",
    Caution.LOOSE: "No piece may come loose: leave tabs or a skin.",
    Caution.PINS_OUT: (
        "Dowels out, or their height known and below every cut, before the spindle starts."
        " Never reach for a pin while it turns."
    ),
    Caution.PLATE_OFF: "Touch plate and its clip off before the spindle starts.",
    Caution.SPINDLE_OFF: "The spindle must not be able to start.",
    Caution.LESS_MATERIAL: "It holds on less material now: pull at it before the spindle starts.",
}
