"""Where does the compiled code of the kernels lie?

The compiler keeps what it has made beside the source and looks at one file's age only; a change in `laws` would
leave old
code standing in `settle`. So the folder is named by what those files say. Importing this module sets it; the
package does that before any kernel is imported. A named exception to the rule that these levels touch no files.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from numba import config

__all__ = ["KERNELS", "cache_folder"]

KERNELS = (
    "lean", "arrays", "laws", "elimination", "foreseen", "held", "senses", "lines", "kernel", "known", "alike",
    "settle",
)  # fmt: skip
"""Modules whose functions are compiled."""


def cache_folder() -> Path:
    """The folder for these kernels: beside them where that can be written, else in the user's own cache."""
    here = Path(__file__).parent
    digest = hashlib.sha256(b"".join((here / f"{name}.py").read_bytes() for name in KERNELS)).hexdigest()[:12]
    root = here / "__pycache__" if os.access(here, os.W_OK) else Path.home() / ".cache" / "loomwright"
    return root / f"kernels-{digest}"


if not os.environ.get("NUMBA_CACHE_DIR"):
    config.CACHE_DIR = str(cache_folder())  # type: ignore[attr-defined]
