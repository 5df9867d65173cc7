"""The circuit simulator kept warm: its shared library in this process, one netlist loaded, altered and solved again.

In: the text of a netlist. Out: how long `alter` and `op` take, and the volts it finds. Nothing of ours calls it.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import re
import time
from collections.abc import Sequence

__all__ = ["WarmNgspice", "library"]

_CONTROL = re.compile(r"^\.control$.*?^\.endc$\n?", re.MULTILINE | re.DOTALL)
_SAYS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
_STATUS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
_EXITS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)


class _Complex(ctypes.Structure):
    _fields_ = (("real", ctypes.c_double), ("imaginary", ctypes.c_double))


class _Vector(ctypes.Structure):
    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.POINTER(_Complex)),
        ("length", ctypes.c_int),
    )


def library() -> str:
    """The shared library's name; empty where it is not on this machine."""
    return ctypes.util.find_library("ngspice") or ""


class WarmNgspice:
    """The simulator in this process. It can be begun once only.

    said: what it printed since the last command.
    """

    def __init__(self) -> None:
        self._lib = ctypes.CDLL(library())
        self._lib.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)
        self._lib.ngGet_Vec_Info.argtypes = (ctypes.c_char_p,)
        self._lib.ngSpice_Circ.argtypes = (ctypes.POINTER(ctypes.c_char_p),)
        self._lib.ngSpice_Command.argtypes = (ctypes.c_char_p,)
        self.said: list[str] = []
        # kept, since the library calls them for as long as it lives
        self._calls = (_SAYS(self._say), _STATUS(lambda *_: 0), _EXITS(lambda *_: 0))
        self._lib.ngSpice_Init(*self._calls, None, None, None, None)

    def _say(self, text: bytes, _number: int, _user: int) -> int:
        self.said.append(text.decode("utf-8", "replace"))
        return 0

    def command(self, words: str) -> None:
        """One command. Raises RuntimeError where the simulator does not take it."""
        self.said = []
        if self._lib.ngSpice_Command(words.encode()) != 0:
            raise RuntimeError(f"ngspice: {words}: {self.said[-3:]}")

    def load(self, netlist: str) -> None:
        """Put a netlist in, without what it asks for; the one before is left."""
        lines: Sequence[str] = [line for line in _CONTROL.sub("", netlist).splitlines() if line]
        array = (ctypes.c_char_p * (len(lines) + 1))(*(line.encode() for line in lines), None)
        if self._lib.ngSpice_Circ(array) != 0:
            raise RuntimeError(f"ngspice: does not take the netlist: {self.said[-3:]}")

    def drop(self) -> None:
        """Leave the netlist and its answers."""
        self.command("destroy all")
        self.command("remcirc")

    def altered_and_solved_s(self, source: str, volts: Sequence[float]) -> list[float]:
        """How long each `alter` of a source and the `op` after it take, the answers before it thrown away. [s]"""
        taken = []
        for figure in volts:
            begun = time.process_time()
            self.command(f"alter {source} dc = {figure:.9g}")
            self.command("op")
            taken.append(time.process_time() - begun)
            self.command("destroy all")
        return taken

    def volts(self, node: str) -> float:
        """Volts of a node in the answer there is. [V]"""
        found = self._lib.ngGet_Vec_Info(node.encode())
        if not found or found.contents.length < 1:
            raise RuntimeError(f"ngspice: no node {node}")
        return float(found.contents.real[0])
