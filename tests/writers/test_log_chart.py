"""The drawing of a drive: words over marks that lie close together are read, not laid over one another."""

from __future__ import annotations

import re
from itertools import pairwise

from loomwright.logs.traces import Traces
from loomwright.writers.log_chart import Band, Mark, drive_chart

AT = tuple(float(second) for second in range(0, 1000, 10))
FLAT = Traces(
    from_s=0.0,
    to_s=1000.0,
    whole_s=(0.0, 1000.0),
    at_s=AT,
    least={"engine_speed": tuple(800.0 for _ in AT)},
    most={"engine_speed": tuple(900.0 for _ in AT)},
)
BANDS = (Band(names=("engine_speed",), units={"engine_speed": "1/min"}),)


def over(marks):
    """Words over the marks and where they stand, and how many lines are drawn through the bands."""
    drawn = drive_chart(FLAT, BANDS, marks, title="a drive")
    words = re.findall(r'<text x="([\d.]+)" y="[\d.]+" text-anchor="middle"[^>]*>([\d, …]+)</text>', drawn)
    return [(float(x), word) for x, word in words], drawn.count('stroke-width="0.8"')


def test_marks_of_one_moment_share_their_words():
    marks = [Mark(at_s=at_s, word=word) for at_s, word in ((3.0, "10"), (500.0, "2"), (6.5, "6"), (3.0, "7"))]
    words, lines = over(marks)
    assert [word for _, word in words] == ["10, 7, 6", "2"]
    assert lines == 4


def test_words_over_marks_never_touch():
    marks = [Mark(at_s=20.0 * n, word=str(n)) for n in range(1, 50)]
    words, lines = over(marks)
    assert lines == 49
    assert words[0][1].startswith("1, ") or words[0][1] == "1"
    assert all(len(group) <= len("10, 11, 12, 13 …") for _, group in words)
    for (x, left), (y, right) in pairwise(words):
        assert y - x > 6.0 * (len(left) + len(right)) / 2.0
