"""Recordings for the tests: a made-up drive as it would come from a file."""

from __future__ import annotations

import numpy as np
import polars as pl

from loomwright.logs.channels import Column
from loomwright.logs.drive import Recording


def recorded(frame: pl.DataFrame) -> Recording:
    """A table of figures as a recording."""
    columns = tuple(Column(name=name, sample=frame[name].to_numpy().astype(np.float64)) for name in frame.columns)
    return Recording(frame=frame.lazy(), columns=columns)
