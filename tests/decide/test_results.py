"""A result in a notebook."""

from __future__ import annotations

from flipcheck.stack.intervals import Chance
from tests.show.results import comparison, method, probe, result


def test_a_row_for_each_method():
    """Chance, interval and whether the goal is met; the recommended method has a star."""
    text = comparison()._repr_html_()
    assert 2 == text.count("<tr><td>")
    assert "<td>probe the same corner *</td><td>probe</td><td>96.12 %</td><td>96.08 to 96.16</td><td>yes</td>" in text
    assert "<td>two dowels on the flip line</td><td>pins</td>" in text
    assert "<caption>Bearing carrier: 1,000,000 trial parts, goal 95 %</caption>" in text


def test_one_method_without_a_star():
    """What check gives recommends nothing."""
    assert "*" not in result()._repr_html_()


def test_names_are_text():
    """What looks like a tag in a name is text."""
    text = comparison(probe(name="<b>&"), method(), title="<script>")._repr_html_()
    assert "&lt;b&gt;&amp; *" in text
    assert "<script>" not in text


def test_a_bound_has_no_interval():
    """Where a chance is told as a bound there is no interval beside it."""
    assert "<td>&gt;99.99 %</td><td>-</td>" in result(method(chance=Chance(0.99999, 0.99995, 1.0)))._repr_html_()
