"""`python -m tests.bench`: measure all goals and write their page; with numbers of goals only these and their rows."""

from __future__ import annotations

import os
import sys

from tests.bench.timing import ONE_THREAD

if __name__ == "__main__":
    os.environ.update(ONE_THREAD)  # before numpy is loaded
    from tests.bench.goal import FULL
    from tests.bench.goals import GOALS
    from tests.bench.page import PAGE, Row, page, renewed

    asked, rows = sys.argv[1:], []
    for goal in GOALS:
        if not asked or goal.number in asked:
            rows.append(Row.measured(goal, FULL))
            print(rows[-1].line, flush=True)
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8"), rows) if asked else page(rows), encoding="utf-8")
