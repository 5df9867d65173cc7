"""Which jobs come with the program, and where do their sheets lie?"""

from __future__ import annotations

from importlib import resources
from pathlib import Path

__all__ = ["example_folder", "example_names"]

_FOLDERS = {
    "van": ("van", "mended"),
    "van-as-drawn": ("van", "as_drawn"),
    "tourer": ("sound", "tourer"),
    "wagon": ("sound", "wagon"),
}


def example_names() -> tuple[str, ...]:
    """The names of the examples, the demonstration first."""
    return tuple(_FOLDERS)


def example_folder(name: str) -> Path:
    """The folder of an example's sheets. Raises KeyError where there is no such example."""
    return Path(str(resources.files("loomwright.examples").joinpath(*_FOLDERS[name])))
