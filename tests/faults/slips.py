"""Slips, one at a time, in a small job and in a small file of readings: what stands there, and what instead of it.

``python -m tests.faults.slips`` writes the messages anew into tests/faults/golden. Read each of them: does it name the
line and the key, say what was needed, what came, and what to try?
"""

from __future__ import annotations

from pathlib import Path

from flipcheck.errors import JobError
from flipcheck.job.reader import parse_job
from flipcheck.job.readings.file import parse_readings
from flipcheck.show.to_mend import to_mend
from tests.job.sample import SAMPLE

GOLDEN = Path(__file__).parent / "golden"

JOB = (
    SAMPLE
    + """
[[methods]]
name = "pocket"
kind = "nest"
clearance = 0.4

[[methods]]
name = "two bores"
kind = "bores"
bores = [[20, 50], [180, 50]]
diameter = 10
"""
)

READINGS = """\
part,pair,x,y,dx,dy,left,right,pin,hole,u,seen
1,bore,,,0.1,-0.02,,,,,0.01,A
1,,30,40,0.1,0.02,,,,,0.01,B
2,bolt,,,,,,,4.2,4.5,0.02,
2,bolt,,,,,0.1,0.2,,,0.02,
"""

#: A key that may not be left out, by the line it stands on.
NEEDED = (
    *('flip = "left-right"', "size = [200, 100, 12]", 'name = "bore"', 'kind = "slot"', "at = [60, 55]"),
    *("allowed = 0.15", "hole_a = 4.5", "angle = 30", "allowed = 0.2", "allowed = 0.3", "depth_a = 5", "depth_b = 4"),
    *("min_web = 2", 'name = "dowels"', 'kind = "pins"', "pins = [[100, 10], [100, 90]]"),
    *("pin = { diameter = 6, limit = 0.005 }", "hole = { diameter = 6.05, limit = 0.02 }", 'fence = "front"'),
    *("contacts = [20, 180]", 'stop = "left"', "stop_at = 20", 'corner = "front-left"', "touch_in = [15, 15]"),
    *('angle = "two touches"', "spacing = 100", "clearance = 0.4", "bores = [[20, 50], [180, 50]]", "diameter = 10"),
    "points = [[10, 10], [190, 10], [190, 90], [10, 90]]",
)

#: A value of a key, and what a hand may write there instead.
VALUES: dict[str, tuple[str, ...]] = {
    'title = "Lamp foot"': ("5", '"a\\nb"', '"\\u202eabc"', '"' + "x" * 81 + '"', "[]", "1979-05-27"),
    'units = "mm"': ('"MM"', '"cm"', '"inches"', "1", "[]", '""'),
    "goal = 0.9": (
        "0",
        "1",
        "1.0",
        "90",
        "-0.9",
        '"90 %"',
        '"0.9"',
        "nan",
        "inf",
        "true",
        "[0.9]",
        "{}",
        "0x" + "9" * 300,
    ),
    'flip = "left-right"': ('"Left-Right"', '"right-left"', '"x"', '"front-rear"', "true", '["left-right"]'),
    "size = [200, 100, 12]": (
        *("[200, 100]", "[200, 100, 12, 1]", "[0, 100, 12]", "[200, -100, 12]", '"200 x 100 x 12"', "[]", "200"),
        *('["200", 100, 12]', '["2 m 3", 100, 12]', "[1e300, 100, 12]", "[nan, 100, 12]", '["8 ells", 100, 12]'),
        *("[[200, 100, 12]]", "[true, 100, 12]", '["1/0 in", 100, 12]', '["0,2 m", 100, 12]', '["3 kg", 100, 12]'),
        *('["1e400 mm", 100, 12]', '["3 mm; rm", 100, 12]', '["2**9 mm", 100, 12]', "[07:32:00, 100, 12]"),
        *("[200, 100, 12]\nskim_a = 6", "[200, 100, 12]\nskim_a = 13", "[200, 100, 12]\nskim = 1"),
        *('["90 deg", 100, 12]', '["200 MM", 100, 12]', '["1 ' + "m/" * 60 + 'm", 100, 12]'),
    ),
    "positioning = { std = 0.01 }": (
        *("0.01", '"0.01 mm"', "{}", "{ std = -0.01 }", "{ std = 0.01, limit = 0.02 }", "{ sdt = 0.01 }", "[0.01]"),
        *('{ std = "0.01" }', "{ bias = 0.1 }", "{ limit = 0.1, sigmas = 3 }", '{ limit = 0.1, shape = "normal" }'),
        *('{ limit = 0.1, shape = "gauss" }', '{ limit = 0.1, shape = "trapezoid", top = 2 }', '"+- 0.05 deg"'),
        *("{ limit = 0.1, top = 0.5 }", "{ std = { std = 0.01 } }", "{ std = inf }", '"+-"', '"±0,05 mm"', '"+-0.05"'),
        *(
            '{ limit = 0.1, shape = "normal", sigmas = 0 }',
            "{ limt = 0.1 }",
            '{ std = "0.01 mm", unit = "mm" }',
            "true",
        ),
        '{ limit = 0.1, shape = "normal", sigmas = 1e9 }',
    ),
    'machine_squareness = { limit = "0.5 mm/m" }': (
        *('"0.5 mm/m"', '{ limit = "0.5 mm" }', "{ limit = 0.5 }", '{ limit = "0.5 kg" }', '{ limit = "50 deg" }'),
        '{ limit = "0.5 mm/s" }',
    ),
    "bit_runout = 0.02": (
        *(
            "-0.02",
            "{ limit = 0.02 }",
            '"0.02"',
            '"ISO 15488"',
            '"ISO 15488 class 9, 6 mm"',
            '"ISO 15488 class 2, 600 mm"',
        ),
        '"DIN 6499 6 mm"',
    ),
    "at = [60, 55]": (
        "[60]",
        "[60, 55, 0]",
        "60",
        "[-1, 55]",
        "[60, 101]",
        '"60, 55"',
        "{ x = 60, y = 55 }",
        "[1e9, 0]",
    ),
    "allowed = 0.15": ("0", "-0.15", '"0.15"', "{ limit = 0.15 }", '"+-0.15 mm"', "false", '"0.15 in²"', '"µm"'),
    "bolt = 4": ("5", "0", '"M4.7"', '"M99"', '"4"', '"#8"', '"M4 x"'),
    "hole_a = 4.5": ("4", "-4.5", '"medium"', '"5 H7"', "[4.5]"),
    "angle = 30": ("400", '"30"', '"30 mm"', "nan", "[30]"),
    "points = [[10, 10], [190, 10], [190, 90], [10, 90]]": (
        *(
            "[[10, 10], [190, 10]]",
            "[]",
            "[[10, 10], [190, 90], [190, 10], [10, 90]]",
            "[[10, 10], [50, 10], [90, 10]]",
        ),
        *("[[10, 10], [10, 10], [190, 90]]", "[[10, 10], [201, 10], [190, 90]]", "[10, 10, 190, 10]", '"10,10 190,10"'),
        "[[10, 10], [190], [190, 90]]",
    ),
    "depth_a = 5": ("-5", "12.5", '"5"', "[5, 4]"),
    "min_web = 2": ('"two"', "[2]", "2\nmax_web = 1"),
    "pins = [[100, 10], [100, 90]]": (
        *(
            "[[100, 10]]",
            "[[100, 10], [100, 12]]",
            "[[100, 10], [100, 99]]",
            "[[100, 10], [300, 90]]",
            "[100, 10]",
            '"two"',
        ),
        "[[9, 9], [9, 90], [190, 9], [190, 90], [100, 50]]",
    ),
    "pin = { diameter = 6, limit = 0.005 }": (
        *(
            "6",
            '"6 H7"',
            '"6 mm"',
            "{ limit = 0.005 }",
            "{ diameter = 0 }",
            "{ diameter = 6, limit = -1 }",
            '"ISO 8734 6.7"',
        ),
        *('"ISO 9999 6"', '"6 m99"', '"6"', '"6 H7/m6"', '"ASME B18.8.2 9/7"', '"999 m6"', "{ diameter = 6, tol = 1 }"),
        '"ISO 2338 6"',
    ),
    "hole = { diameter = 6.05, limit = 0.02 }": (
        "6.05",
        '"6 h7"',
        '"ISO 8734 6"',
        "{ diameter = 6.05, 0.02 }",
        '"6 H"',
    ),
    'fence = "front"': ('"Front"', '"top"', "1", '"front-left"'),
    "contacts = [20, 180]": ("[20]", "[20, 20]", "[20, 250]", "20", "[20, 180, 200]"),
    'stop = "left"': ('"front"', '"back"', '"lft"'),
    "stop_at = 20": (
        "120",
        "-1",
        '"20"',
        '20\nrail = "yes"',
        '20\nset_by = "me"',
        "20\nminutes = -5",
        "20\nspacing = 3",
    ),
    'corner = "front-left"': ('"left-front"', '"front"', "3"),
    "touch_in = [15, 15]": ("[15]", "15", "[15, 150]"),
    'angle = "two touches"': ('"three touches"', '"fence"', '"eye"', "90"),
    "spacing = 100": ("0", "0.5", "300", '100\nmiddle = "x"', '100\nmiddle = ["z"]', '100\nmiddle = ["x", "x"]'),
    "clearance = 0.4": (
        *("0", "-0.4", "{ limit = 0.4 }", '0.4\npush = "up"', "0.4\nrectangle = [[10, 10], [90, 90]]"),
        *(
            '0.4\noutline = "with face A"\nrectangle = [[90, 90], [10, 10]]',
            '0.4\nafter_flip = "second pocket"\noutline = "with face A"',
        ),
        "0.4\npocket_size = 0.1",
    ),
    "bores = [[20, 50], [180, 50]]": ("[[20, 50]]", "[[20, 50], [25, 50]]", "[[2, 50], [180, 50]]", "[20, 180]"),
    "diameter = 10": (
        "0",
        '"ten"',
        '10\nzero_at = "last"',
        '10\nsame_phase = "no"',
        "10\nhole_position = { std = 0.1 }",
    ),
}

#: What stands in the job, and anything else that may stand there instead; nothing: what is put in front of all.
OTHER = (
    ("[blank]", "[blanc]"),
    ("[blank]", "[[blank]]"),
    ("[blank]", "[blank"),
    ("[blank]\n", ""),
    ("[errors]", "[[errors]]"),
    ("[errors]", "[error]"),
    ("[errors]", "[tolerances]"),
    ("[errors]\n", "[errors]\n[errors.deep.er]\n"),
    ('[[pairs]]\nname = "bore"', '[pairs]\nname = "bore"'),
    ('[[pairs]]\nname = "bore"', '[[pair]]\nname = "bore"'),
    ('[[methods]]\nname = "dowels"', '[[pairs.methods]]\nname = "dowels"'),
    ('name = "bolt"', 'name = "bore"'),
    ('name = "bolt"', 'name = " bore "'),
    ('name = "bolt"', "name = bolt"),
    ('name = "bolt"', 'name = ""'),
    ('name = "bolt"', 'name = "bolt'),
    ('name = "bolt"', "name = 'it's'"),
    ('name = "bolt"', 'Name = "bolt"'),
    ('name = "rail"', 'name = "dowels"'),
    ('kind = "slot"', 'kind = "Slot"'),
    ('kind = "slot"', 'kind = "oval"'),
    ('kind = "fence"', 'kind = "rail"'),
    ('kind = "nest"', 'kind = ["nest"]'),
    ("bolt = 4", "bolt = 4\nallowed = 0.1"),
    ("bolt = 4", 'bolt = 4\nuse = "ring"'),
    ("bolt = 4", 'bolt = 4\nuse = "tongue"'),
    ("bolt = 4", "bolt = 4\npad = 6"),
    ("allowed = 0.15", "allowed = 0.15\nhole_a = 5"),
    ("allowed = 0.15", "allowed = 0.15\nallowed = 0.16"),
    ("allowed = 0.15", "allowed = 0,15"),
    ("allowed = 0.15", "allowed: 0.15"),
    ("allowed = 0.15", "allowed = .15"),
    ("allowed = 0.15", "allowed = 0.15 mm"),
    ("allowed = 0.15", "alowed = 0.15"),
    ("allowed = 0.15", "Allowed = 0.15"),
    ("allowed = 0.2", 'use = "bolt"'),
    ("allowed = 0.2", 'use = "tongue"'),
    ("allowed = 0.2", 'use = "tongue"\nslot_width = 8\ntongue = 9'),
    ("allowed = 0.3", 'use = "seam"'),
    ("stop_at = 20", "stop_at = 20\nafter_flip = same"),
    ("diameter = 10", "diameter = 10\nholes = True"),
    ("limit = 0.005 }", "limit = 0.005"),
    ("limit = 0.005 }", "limit = 0.005 },"),
    ("goal = 0.9", "goal = 09"),
    ("goal = 0.9", "goal"),
    ("goal = 0.9", "= 0.9"),
    ("goal = 0.9", "gaol = 0.9"),
    ("goal = 0.9", "goal.a = 0.9"),
    ("goal = 0.9", "goal = 0.9\n\x00"),
    ("goal = 0.9", 'goal = "C:\\jobs"'),
    ("goal = 0.9", 'goal = "\\ud800"'),
    ("goal = 0.9", "goal = 0.9\nmethods = 3"),
    ("goal = 0.9", "goal = " + "[" * 3000),
    ("goal = 0.9", "goal = 0.9\n" + "a." * 3000 + "a = 1"),
    ('flip = "left-right"', 'flip = "diagonal"'),
    ("", "<html>\n"),
    ("", "{}\n"),
    ("", "# a comment\r"),
    ("", "﻿﻿"),
)

#: The same of the readings.
READ = (
    (READINGS, ""),
    (READINGS, "part,pair,dx\n"),
    (READINGS, "\n\n# nothing\n"),
    (READINGS, "1,bore,0.1\n"),
    (READINGS, "part\n1\n"),
    (READINGS, "part,pair,dx\n1,bore,0,1\n"),
    (READINGS, "part;pair;dx\n1;bore;0,1\n"),
    (READINGS, "part,pair,dx,rising\n1,bore,0.1,5\n"),
    (READINGS, "part,along_x,along_y,rising,falling\n1,100,50,90,111.8\n"),
    (READINGS, "part,along_x,along_y,rising\n1,100,50,111.8\n"),
    ("part,", ""),
    ("part,", "parts,"),
    ("dx,dy", "dx,dx"),
    ("dx,dy", "dx,delta"),
    ("1,bore,", ",bore,"),
    ("1,bore,", "1,boer,"),
    ("1,bore,", "1,,"),
    ("1,bore,", "1,rim,"),
    ("1,bore,", "1,floor,"),
    ("1,bore,", '1,"bore,'),
    ("1,bore,", '1,bo"re,'),
    ("1,bore,", "x" * 81 + ",bore,"),
    ("0.1,-0.02", "0.1 mm,-0.02 mn"),
    ("0.1,-0.02", "nan,-0.02"),
    ("0.1,-0.02", "1e300,-0.02"),
    ("0.1,-0.02", "=1+1,-0.02"),
    ("0.1,-0.02", "a,b"),
    ("0.1,-0.02", ","),
    ("0.01,A", "0,A"),
    ("0.01,A", "-0.01,A"),
    ("0.01,A", "0.01,C"),
    ("0.01,A", "0.01,A,B,C"),
    (",30,40,", ",30,,"),
    (",30,40,", ",300,40,"),
    (",30,40,", ",30 deg,40,"),
    ("4.2,4.5", "4.6,4.5"),
    ("4.2,4.5", ",4.5"),
    ("4.2,4.5", "0,4.5"),
    ("0.1,0.2", "0.1,"),
)


def slips() -> list[tuple[str, str]]:
    """Every slip in the job: what stands there, and what stands there instead."""
    values = [(line, f"{line.split(' = ')[0]} = {value}") for line, some in VALUES.items() for value in some]
    return [*((f"{line}\n", "") for line in NEEDED), *values, *OTHER]


def told(number: int) -> str:
    """What is said of a slip in the job."""
    old, new = slips()[number]
    return _mend(lambda: parse_job(_with(JOB, old, new), "lamp.toml"))


def told_of_readings(number: int) -> str:
    """What is said of a slip in the readings."""
    old, new = READ[number]
    return _mend(lambda: parse_readings(_with(READINGS, old, new), parse_job(JOB), "first.csv"))


def heading(old: str, new: str) -> str:
    """A slip on one line."""
    return f"## {_short(old)} -> {_short(new)}"


def _short(text: str) -> str:
    quoted = ascii(text)[1:-1]
    return quoted if len(quoted) <= 100 else f"{quoted[:90]}... ({len(text)})"


def _with(text: str, old: str, new: str) -> str:
    assert old in text, f"{old!r} does not stand in the text"
    return text.replace(old, new, 1)


def _mend(read) -> str:
    try:
        read()
    except JobError as error:
        return to_mend(error)
    return "nothing to mend"


def written() -> dict[str, str]:
    """The text of every golden file."""
    job = [f"{heading(*slip)}\n{told(number)}\n" for number, slip in enumerate(slips())]
    readings = [f"{heading(*slip)}\n{told_of_readings(number)}\n" for number, slip in enumerate(READ)]
    return {"job.txt": "\n".join(job), "readings.txt": "\n".join(readings)}


if __name__ == "__main__":
    for name, text in written().items():
        (GOLDEN / name).write_text(text, encoding="utf-8")
