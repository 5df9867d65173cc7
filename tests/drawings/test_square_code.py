"""The code on a label is read back as the very text it was made of, by a reader that shares nothing with its writer."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp

from loomwright.drawings.square_code import square_code
from loomwright.refusals import OutOfReach

QUIET, SIDE = 4, 6
"""Squares of quiet edge; dots a square."""


@pytest.mark.parametrize("text", ["W1", "http://192.168.1.20:8140/j/van/w/W104", "Öl über 120 °C", "x" * 400])
def test_a_code_is_read_back_as_its_text(text: str) -> None:
    dark = np.pad(np.array(square_code(text)), QUIET)
    picture = np.kron(np.where(dark, 0, 255).astype(np.uint8), np.ones((SIDE, SIDE), np.uint8))
    (read,) = zxingcpp.read_barcodes(picture)
    assert read.text == text


def test_a_text_that_no_square_holds_is_told() -> None:
    with pytest.raises(OutOfReach, match="2332 bytes"):
        square_code("x" * 2332)
