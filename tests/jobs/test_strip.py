"""A person's day drawn as a strip of hours."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.strip import Scale, Span, drawn, scale_of

MINUTES = st.integers(0, 1440)


def test_an_ordinary_day_runs_from_seven_to_seven():
    scale = scale_of([], [(540, 1020)], 1000)
    assert (scale.first, scale.last) == (420, 1140)
    assert scale.hours()[0] == (0.0, 7)
    assert scale.hours()[-1] == (1000.0, 19)


def test_a_visit_outside_it_widens_it_to_full_hours():
    scale = scale_of([Span(350, 380, 410, 470, 1190)], [], 1000)
    assert (scale.first, scale.last) == (300, 1200)


def test_a_label_is_the_fullest_that_fits():
    scale = Scale(0, 1000, 1000)
    words = ["10:00 AM 3 The Old Brewery Yard", "3 The Old Brewery Yard", "10:00 AM"]
    assert drawn(scale, Span(0, 0, 30, 300, 300), words).label == words[0]
    assert drawn(scale, Span(0, 0, 30, 170, 170), words).label == words[1]
    assert drawn(scale, Span(0, 0, 30, 70, 70), words).label == words[2]
    assert drawn(scale, Span(0, 0, 30, 20, 20), words).label == ""


@given(st.lists(MINUTES, min_size=5, max_size=5), st.lists(st.tuples(MINUTES, MINUTES), max_size=3))
def test_everything_lies_on_the_strip_in_the_order_of_the_clock(minutes, hours):
    span = Span(*sorted(minutes))
    scale = scale_of([span], hours, 168)
    drawing = drawn(scale, span)
    bars = [drawing.there, drawing.visit, drawing.back]
    assert all(bar.x >= 0 and bar.width >= 0 and bar.x + bar.width <= 168.01 for bar in bars)
    for one, other in pairwise(bars):
        assert abs(one.x + one.width - other.x) < 0.02
    assert drawing.window.x == drawing.visit.x
    assert drawing.window.width <= drawing.visit.width + 0.01
