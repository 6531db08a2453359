"""A batch as text: whether all of it lines up, how many will not, and what independent parts would have done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from flipcheck.decide.batch.wear import SEARCHED
from flipcheck.decide.wording import chance_text, goal_text, percent
from flipcheck.show.look import add_row, gap, laid_out, table_of, title
from flipcheck.show.text import check_text
from flipcheck.show.words import WIDTH, interval_text, whole

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.table import Table

    from flipcheck.decide.batch.batch import Batch, Rejects
    from flipcheck.decide.batch.wear import Wear
    from flipcheck.decide.results import Result

#: Numbers of rejects from here on stand in groups that grow, the last of each doubling.
_SINGLE = 5


def batch_to_text(batch: Batch, result: Result, *, width: int = WIDTH, colour: bool = False) -> str:
    """A batch, and below it one part as `check` tells it; `width` and `colour` as for `look.laid_out`."""
    parts = Group(*batch_text(batch).renderables, *gap(*check_text(result).renderables))
    return laid_out(parts, width=width, colour=colour)


def batch_text(batch: Batch) -> Group:
    """First what becomes of all parts, then the rejects."""
    return Group(
        title(headline(batch)),
        *(Text(line) for line in _lines(batch)),
        *gap(_table(batch)),
        *gap(Text(batches_run(batch))),
    )


def headline(batch: Batch) -> str:
    """The chance that all parts of a batch are good, in a sentence."""
    after = f"After a correction from {_coupons(batch)} " if batch.coupons else ""
    chance = chance_text(batch.told.all_pass)
    if batch.parts == 1:
        return f"{after or 'The '}{'the ' if after else ''}one part lines up in {chance} of the batches."
    return f"{after}{'all' if after else 'All'} {batch.parts} parts line up in {chance} of the batches."


def _coupons(batch: Batch) -> str:
    return "1 coupon" if batch.coupons == 1 else f"{batch.coupons} coupons"


def _lines(batch: Batch) -> Iterator[str]:
    told = batch.told
    if interval := interval_text(told.all_pass):
        yield f"95 % interval of the simulation: {interval} %."
    if batch.corrected:
        yield _correction(batch)
    if batch.corrected or batch.wear:
        yield _against_goal(batch)
    if told.part.estimate == 1.0:
        yield "Not a part missed in these batches."
    elif batch.parts > 1:
        yield _independent(batch)
        yield (
            f"Rejects in a batch: {_mean(told.rejects.mean)} on average; in 95 of 100 batches at most"
            f" {told.rejects.p95} (of independent parts: {told.naive_rejects.p95})."
        )
    if batch.wear:
        yield _wear(batch.wear, batch)


def _against_goal(batch: Batch) -> str:
    """What check says of one part without coupons and wear is not what the batch will see."""
    answer, goal = "Goal met" if batch.meets_goal else "Goal not met", goal_text(batch.goal)
    if batch.wear:
        number, chance = batch.wear.by_part[-1]
        return f"{answer}: part {whole(number)}, the last, lines up in {chance_text(chance)}, {goal} are wanted."
    return f"{answer}: {chance_text(batch.told.part)} of the parts line up, {goal} are wanted."


def _independent(batch: Batch) -> str:
    """What parts would come to that do not share a machine."""
    told = batch.told
    naive, one = percent(told.naive_all_pass, 1), chance_text(told.part)
    text = f"Independent parts would come to {naive} %: one part's chance, {one}, to the power of {batch.parts}."
    if told.all_pass.low <= told.naive_all_pass <= told.all_pass.high:
        return f"{text} These batches cannot be told from that."
    return f"{text} But they share the machine, so misses come together."


def _correction(batch: Batch) -> str:
    """What the coupons are good for."""
    before, after = batch.plain.all_pass, batch.told.all_pass
    text = f"Without the correction: {chance_text(before)}."
    if after.low > before.high:
        text += " It pays."
    elif after.high < before.low:
        text += (
            f" It does harm: what {_coupons(batch)} scatter{'s' if batch.coupons == 1 else ''} outweighs the constant"
            " part taken out. Measure more coupons, or leave the program alone."
        )
    else:
        text += " It makes no difference that these batches can tell."
    if batch.coupons_kept:
        kept = chance_text(batch.coupons_kept)
        text += f" With the coupons as the first of the {batch.parts}, uncorrected: {kept}."
    return text


def _wear(wear: Wear, batch: Batch) -> str:
    goal = goal_text(batch.goal)
    if wear.lost_at is None:
        return f"Wear: the chance of a part stays above the goal of {goal} up to part {whole(SEARCHED)}."
    if wear.lost_at == 1:
        return f"Wear: the chance of a part is below the goal of {goal} from the first part on."
    low, high = (whole(n) if n else f"beyond {whole(SEARCHED)}" for n in (wear.lost_from, wear.lost_to))
    return (
        f"Wear: the chance of a part falls below the goal of {goal} at part {whole(wear.lost_at)} (95 % interval {low}"
        f" to {high})."
    )


def _mean(rejects: float) -> str:
    return f"{rejects:.{2 if rejects < 10.0 else 1}f}"


def _table(batch: Batch) -> Table:
    heads = ["rejects", "of 100 batches", "if parts were\nindependent"]
    columns = [batch.told.rejects, batch.told.naive_rejects]
    if batch.corrected:
        heads.insert(2, "without the\ncorrection")
        columns.insert(1, batch.plain.rejects)
    table = table_of(*heads)
    for first, last in groups(batch.parts, columns):
        name = str(first) if first == last else f"{first} to {last}"
        add_row(table, name, *(_share(rejects, first, last) for rejects in columns))
    return table


def groups(parts: int, columns: Sequence[Rejects]) -> list[tuple[int, int]]:
    """First and last of the numbers of rejects that stand in a row together, as far as any are seen."""
    most = min(parts, max(len(rejects.chance) for rejects in columns) - 1)
    found = [(k, k) for k in range(min(_SINGLE, most) + 1)]
    while found[-1][1] < most:
        first = found[-1][1] + 1
        found.append((first, min(2 * (first - 1), most)))
    return found


def _share(rejects: Rejects, first: int, last: int) -> str:
    share = sum(rejects.chance[first : last + 1])
    return percent(min(share, 1.0), 2) if share else "<0.01"  # none seen, or too few to be told


def batches_run(batch: Batch) -> str:
    """How many batches were run, and the seed."""
    text = f"{whole(batch.batches)} batches of {whole(batch.parts)}, seed {batch.seed}."
    if batch.settled is False:
        text += " The most that are run unasked: the last digits may still move (--trials)."
    return text
