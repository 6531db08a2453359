"""`python -m tests.bench`: measure all goals and write their page; with numbers of goals only these, and no page."""

from __future__ import annotations

import os
import sys

from tests.bench.timing import ONE_THREAD

if __name__ == "__main__":
    os.environ.update(ONE_THREAD)  # before numpy is loaded

    from tests.bench.goal import FULL
    from tests.bench.goals import GOALS
    from tests.bench.page import PAGE, Row, page

    asked, load, rows = sys.argv[1:], os.getloadavg()[0], []
    for goal in GOALS:
        if not asked or goal.number in asked:
            rows.append(Row.measured(goal, FULL))
            print(rows[-1].line, flush=True)
    if not asked:
        PAGE.write_text(page(rows, load), encoding="utf-8")
