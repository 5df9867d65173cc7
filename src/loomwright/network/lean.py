"""How are kernels compiled that make no array of their own?

The compiler counts who holds each array wherever one is taken out of a record or handed on, and that cost a tenth of a
state. A kernel that only works in arrays its caller holds needs no such count, and is compiled without.

In: a function that makes no array and keeps none. Out: the same, compiled when first called.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from numba import njit

__all__ = ["lean"]

_Function = TypeVar("_Function", bound=Callable[..., Any])


def lean(function: _Function) -> _Function:
    """The function compiled without counting who holds its arrays; one that makes an array is refused when compiled."""
    made: _Function = njit(cache=True, nogil=True, error_model="numpy", _nrt=False)(function)  # type: ignore[call-overload]
    return made
