from __future__ import annotations

import math
import re

import pytest

from flipcheck.decide.compare import compare
from flipcheck.errors import JobError
from flipcheck.flip.model import flip_model
from flipcheck.job.reader import built_in, parse_job
from flipcheck.job.records import Errors, Job
from flipcheck.job.starter import LIKES, starter


@pytest.mark.parametrize("like", LIKES)
def test_a_starter_is_right_as_it_stands(like: str) -> None:
    """A starter parses, shows several pairs and methods, and every method of it can be turned into a model."""
    job = parse_job(starter(like))
    assert {"hole", "slot", "web"} <= {pair.kind for pair in job.pairs}
    assert {"pins", "fence", "probe"} == {method.kind for method in job.methods}
    assert all(method.minutes is not None for method in job.methods)
    assert all(flip_model(job, method) is not None for method in job.methods)


@pytest.mark.parametrize("like", LIKES)
def test_a_starter_names_every_error_and_where_its_value_comes_from(like: str) -> None:
    """Each error of the table stands in the starter, given or as a comment, and each given one says its source."""
    lines = starter(like).splitlines()
    block = lines[lines.index("[errors]") + 1 :]
    block = block[: block.index("")]
    keys = [re.match(r"#? ?(\w+)", line) for line in block]
    assert set(Errors.model_fields) == {key[1] for key in keys if key}
    sources = ("common practice, no source", "published", "data sheet", "ISO ", "tolerance e8", "pages about")
    given = [line for line in block if not line.startswith("#")]
    assert [] == [line for line in given if not any(source in line for source in sources)]


@pytest.mark.parametrize("like", LIKES)
def test_the_commented_errors_can_be_switched_on(like: str) -> None:
    """Taking away the comment sign of every error line gives a job that leaves nothing out."""
    assert () == parse_job(re.sub(r"(?m)^# (\w+ +=)", r"\1", starter(like))).left_out


def test_an_unknown_starter() -> None:
    """A starter that does not exist is answered with those that do."""
    with pytest.raises(JobError, match=r'needed "wood" or "metal"; came "woods"\. Try: wood \[no-such-example\]'):
        starter("woods")


@pytest.mark.parametrize("job", [built_in("carrier"), built_in("panel"), *(parse_job(starter(like)) for like in LIKES)])
def test_a_shipped_job_is_worth_comparing(job: Job) -> None:
    """In every job that ships some methods reach the goal and some miss it, by more than the noise of the trials."""
    trials = 20_000
    noise = 4.0 * math.sqrt(job.goal * (1.0 - job.goal) / trials)
    chances = [method.chance.estimate for method in compare(job, trials=trials).methods]
    assert max(chances) > job.goal + noise
    assert min(chances) < job.goal - noise
