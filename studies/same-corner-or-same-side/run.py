"""Same corner, same side or the middle? See README.md.

Run it with `python run.py` for the tables, with `--write` to store the answers in expected.json as well.
"""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flipcheck

if TYPE_CHECKING:
    from collections.abc import Callable

    from flipcheck import Job

HERE = Path(__file__).parent
TRIALS, SEED = 16_384, 1

STOCK = (0.05, 0.1, 0.2, 0.5, 1.0)  # limits of the size of the stock, mm
RADIUS = (0.0, 0.025, 0.05, 0.075, 0.1)  # limits of the error of the stylus radius, mm
ALLOWED = (0.2, 0.3, 0.5)  # largest misalignment, mm
GOOD = ("probe, same corner", "probe, middle", "fence, same edge")
STEP, MOST = 0.01, 1.0  # boundaries are looked for in steps, up to a limit, mm


def answer(trials: int = TRIALS, seed: int = SEED) -> dict[str, Any]:
    """The numbers of the study; lengths in mm."""
    job = flipcheck.read_job(HERE / "job.toml")
    corner = flipcheck.check(job, "probe, same corner", trials=trials, rng=seed).methods[0]
    rest = max(pair.distance.quantiles["p95"] for pair in corner.pairs)
    return {
        "corner_95": rest,
        "chances": [_chances(job, stock, radius, trials, seed) for stock in STOCK for radius in RADIUS],
        "boundaries": [_boundary(job, allowed, radius, rest, trials, seed) for allowed in ALLOWED for radius in RADIUS],
        "touches": [_touches(job, allowed, trials, seed) for allowed in ALLOWED],
    }


def _chances(job: Job, stock: float, radius: float, trials: int, seed: int) -> dict[str, Any]:
    """The chance of every method for one size of the stock and one error of the radius."""
    varied = _varied(job, stock_size=flipcheck.Uniform(stock), probe_radius=flipcheck.Uniform(radius))
    result = flipcheck.compare(varied, trials=trials, rng=seed)
    return {"stock": stock, "radius": radius, "chance": {m.name: m.chance.estimate for m in result.methods}}


def _boundary(job: Job, allowed: float, radius: float, rest: float, trials: int, seed: int) -> dict[str, Any]:
    """The largest limit of the stock with which the same side still meets the goal, and what it comes to with the rest.

    `rule` is the root of the sum of the squares of three lengths, as a share of what is allowed: that limit, twice the
    limit of the radius, and `rest`, how far off 95 in 100 parts are by the same corner.
    """

    def sized(stock: float) -> Job:
        errors = {"stock_size": flipcheck.Uniform(stock), "probe_radius": flipcheck.Uniform(radius)}
        return _varied(job, allowed, **errors)

    stock = _largest(lambda stock: _meets(sized(stock), "probe, same side", trials, seed))
    rule = None if stock is None else math.hypot(stock, 2.0 * radius, rest) / allowed
    return {"allowed": allowed, "radius": radius, "stock": stock, "rule": rule}


def _touches(job: Job, allowed: float, trials: int, seed: int) -> dict[str, Any]:
    """The largest standard deviation of a touch with which the same corner, and the middle, still meet the goal."""

    def touched(std: float) -> Job:
        return _varied(job, allowed, probe_repeatability=flipcheck.Normal(std))

    found = {
        name: _largest(lambda std, name=name: _meets(touched(std), name, trials, seed))
        for name in ("probe, same corner", "probe, middle")
    }
    return {"allowed": allowed, "std": found}


def _varied(job: Job, allowed: float | None = None, **errors: Any) -> Job:
    """The job with some errors of another size, and another limit for all its pairs."""
    pairs = job.pairs if allowed is None else tuple(pair.model_copy(update={"allowed": allowed}) for pair in job.pairs)
    return job.model_copy(update={"errors": job.errors.model_copy(update=errors), "pairs": pairs})


def _meets(job: Job, method: str, trials: int, seed: int) -> bool:
    return flipcheck.check(job, method, trials=trials, rng=seed).meets_goal


def _largest(meets: Callable[[float], bool]) -> float | None:
    """The largest size, in whole steps, that meets the goal; None where not even nothing does."""
    if not meets(0.0):
        return None
    low, high = 0, round(MOST / STEP)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if meets(middle * STEP) else (low, middle)
    return round(low * STEP, 2)


def table(found: dict[str, Any]) -> str:
    """The answers as text."""
    chances = {(cell["stock"], cell["radius"]): cell["chance"] for cell in found["chances"]}
    least = {name: min(chance[name] for chance in chances.values()) for name in GOOD}
    lines = [
        "1. Will line up, in 100 parts, 0.3 mm allowed; all limits in mm",
        "           probe, same side, radius error of        fence,",
        "stock   " + "".join(f"{radius:>8g}" for radius in RADIUS) + "   same side",
    ]
    for stock in STOCK:
        cells = [f"{100 * chances[stock, radius]['probe, same side']:8.1f}" for radius in RADIUS]
        lines.append(f"{stock:<8g}{''.join(cells)}{100 * chances[stock, RADIUS[0]]['fence, same side']:12.1f}")
    lines += [f"{name}: at least {100 * share:.2f} of the trials, in every cell" for name, share in least.items()]
    lines += ["", "2. Largest limit of the stock with which the same side meets the goal (probe)"]
    lines += ["           radius error of", "allowed " + "".join(f"{radius:>8g}" for radius in RADIUS)]
    for allowed in ALLOWED:
        row = [cell for cell in found["boundaries"] if cell["allowed"] == allowed]
        cells = ["    none" if cell["stock"] is None else f"{cell['stock']:8.2f}" for cell in row]
        lines.append(f"{allowed:<8g}{''.join(cells)}")
    rules = [cell["rule"] for cell in found["boundaries"] if cell["rule"] is not None]
    lines.append(f"by the same corner 95 in 100 parts are within {found['corner_95']:.3f}")
    lines.append(f"root of the squares over allowed, at these boundaries: {min(rules):.2f} to {max(rules):.2f}")
    lines += [
        "",
        "3. Largest standard deviation of a touch with which the goal is met",
        "allowed   same corner   middle",
    ]
    for cell in found["touches"]:
        corner, middle = cell["std"]["probe, same corner"], cell["std"]["probe, middle"]
        lines.append(f"{cell['allowed']:<10g}{corner:<14.2f}{middle:.2f}")
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=TRIALS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="store the answers in expected.json")
    given = parser.parse_args()
    found = answer(given.trials, given.seed)
    print(table(found), end="")
    if given.write:
        stored = {"trials": given.trials, "seed": given.seed, "answer": found}
        (HERE / "expected.json").write_text(json.dumps(stored, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
