"""A batch as plain data, for the block `batch` of what `check` writes as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flipcheck.show.plain import chance_to_plain, json_text, to_plain

if TYPE_CHECKING:
    from flipcheck.decide.batch.batch import Batch, Fares, Rejects
    from flipcheck.decide.batch.wear import Wear
    from flipcheck.decide.results import Result


def batch_to_json(batch: Batch, result: Result) -> str:
    """One part, as `check` tells it, and a block `batch`."""
    return json_text(to_plain(result) | {"batch": batch_to_plain(batch)})


def batch_to_plain(batch: Batch) -> dict[str, Any]:
    """A batch as dicts, lists, text and numbers; None where there is nothing to tell."""
    corrected = batch.corrected and _fares(batch.corrected)
    if corrected:
        kept = batch.coupons_kept
        corrected["all_pass_coupons_first"] = kept and chance_to_plain(kept)
    return {
        "parts": batch.parts,
        "coupons": batch.coupons,
        "batches": batch.batches,
        "seed": batch.seed,
        "meets_goal": batch.meets_goal,
        **_fares(batch.plain),
        "corrected": corrected,
        "wear": batch.wear and _wear(batch.wear),
    }


def _fares(fares: Fares) -> dict[str, Any]:
    return {
        "all_pass": chance_to_plain(fares.all_pass),
        "part": chance_to_plain(fares.part),
        "rejects": _rejects(fares.rejects),
        "independent": {"all_pass": fares.naive_all_pass, "rejects": _rejects(fares.naive_rejects)},
    }


def _rejects(rejects: Rejects) -> dict[str, Any]:
    return {"mean": rejects.mean, "p95": rejects.p95, "chance": list(rejects.chance)}


def _wear(wear: Wear) -> dict[str, Any]:
    return {
        "lost_at": {"estimate": wear.lost_at, "low": wear.lost_from, "high": wear.lost_to},
        "by_part": [{"part": number, "chance": chance_to_plain(chance)} for number, chance in wear.by_part],
    }
