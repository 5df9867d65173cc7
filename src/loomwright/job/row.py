"""What every row of every sheet carries beside its own columns.

`extra` holds the columns that the contract does not know, `written` the text of cells whose form changed in reading
(`16 AWG`, `1,5`, `wh/bu`). Both are given back on writing, so nothing a person typed is lost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loomwright.job.fixed_map import NOTHING, FixedMap

__all__ = ["Row"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The part that all rows share.

    extra: heading -> text of columns that are not in the contract.
    written: heading -> text as typed, of cells that read differently from what is written back.
    """

    extra: Mapping[str, str] = field(default=NOTHING, repr=False)
    written: Mapping[str, str] = field(default=NOTHING, repr=False)

    def __post_init__(self) -> None:
        """Makes mappings unchangeable and lists tuples, so that a row can be hashed and sent anywhere."""
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if type(value) is dict:
                object.__setattr__(self, name, FixedMap(value))
            elif type(value) is list:
                object.__setattr__(self, name, tuple(value))
