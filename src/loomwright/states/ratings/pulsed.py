"""How warm does a current make a wire or a fuse that is on only part of the time?

The network shows a pulsed output in its on-state, and a coil with its own igniter at its average. Heat follows neither:
it follows the root of the mean square. For one element that carries a steady current and the shares f_d of pulsed
currents I_d that do not keep step with each other:

    I_heat^2 = (I - sum f_d (1 - m_d) I_d)^2 + sum f_d^2 (q_d - m_d^2) I_d^2

m_d is the mean and q_d the mean square of the pulse, as shares of what is shown: d and d for an output on a share d of
the time; half and a third of the dwell share for a coil whose current rises to its peak and is cut off; 1 and
(rms / average)^2 for a coil with its own igniter. The shares f_d come from solving the car with the pulsed element off.

Source: worked-out (mean and mean square of independent pulses); the dwell share is common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Element, Law
from loomwright.network.solve import values_of
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of
from loomwright.tables.constants import constant
from loomwright.tables.kinds import elements_of, resolve_settings

__all__ = ["Heating", "Pulse", "heating_of"]

_SMALL = 0.02
_MOST_SHARE = 1.05
_LEAST_A = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pulse:
    """A current that comes in pulses.

    mean_frac, square_frac: mean and mean square of the pulse, as shares of what is shown. [0..1]
    share: its share in every element of the network.   passes: the elements in which that is worth a word.
    """

    element: int
    mean_frac: float
    square_frac: float
    share: NDArray[np.float64]
    passes: type_i

    def shown(self, answers: Answers) -> tuple[type_float, type_float]:
        """Its own amps in each state, and their square. [A, A2]"""
        amps = np.ascontiguousarray(answers.amps(self.element))
        return amps, amps**2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heating:
    """The pulses of a car, and those that pass through each element."""

    pulses: tuple[Pulse, ...]
    through: Mapping[int, tuple[Pulse, ...]]

    def amps(self, answers: Answers, element: int) -> type_float:
        """The steady current that would warm an element as much. [A]"""
        return self._warming(
            answers.amps(element), element, lambda pulse: answers.once(("pulse", pulse.element), pulse.shown)
        )

    def of_rows(self, amps: type_float, element: int) -> type_float:
        """The same of states that were solved by themselves.

        Args:
            amps: by element, one row a state. [A]
        """
        return self._warming(
            amps[:, element], element, lambda pulse: (amps[:, pulse.element], amps[:, pulse.element] ** 2)
        )

    def _warming(
        self, shown: type_float, element: int, own: Callable[[Pulse], tuple[type_float, type_float]]
    ) -> type_float:
        """From what an element shows, and each pulse's own amps and their square. [A]"""
        pulses = self.through.get(element, ())
        if not pulses:
            return np.abs(shown)
        steady, spread = shown.copy(), np.zeros_like(shown)
        for pulse in pulses:
            size, square = own(pulse)
            share = float(pulse.share[element])
            steady -= (1.0 - pulse.mean_frac) * share * size
            spread += (pulse.square_frac - pulse.mean_frac**2) * share**2 * square
        return np.sqrt(steady**2 + spread)

    def most(self, answers: Answers) -> list[float]:
        """No more than this would warm each element as much, in any of the states. [A]"""
        return answers.once(("most warming", self), self._most)

    def _most(self, answers: Answers) -> list[float]:
        shown = answers.most_amps()
        steady, spread = shown.copy(), np.zeros_like(shown)
        for pulse in self.pulses:
            size, share = shown[pulse.element], pulse.share[pulse.passes]
            steady[pulse.passes] += np.abs((1.0 - pulse.mean_frac) * share) * size
            spread[pulse.passes] += abs(pulse.square_frac - pulse.mean_frac**2) * share**2 * size**2
        found: list[float] = np.sqrt(steady**2 + spread).tolist()
        return found


def heating_of(scene: Scene) -> Heating:
    """The pulsed currents of the car and where each of them flows."""
    through: dict[int, list[Pulse]] = {}
    driven: set[int] = set()
    pulses: list[Pulse] = []
    for index, mean, square in _pulsed(scene):
        if index in driven:
            continue
        share = _share(scene, index)
        if share is None:
            continue
        passes = np.flatnonzero(np.abs(share) > _SMALL)
        pulse = Pulse(element=index, mean_frac=mean, square_frac=square, share=share, passes=passes)
        pulses.append(pulse)
        driven |= {int(k) for k in passes if abs(share[k]) > 0.5}
        for element in passes:
            through.setdefault(int(element), []).append(pulse)
    return Heating(pulses=tuple(pulses), through={element: tuple(found) for element, found in through.items()})


def _pulsed(scene: Scene) -> Iterator[tuple[int, float, float]]:
    """Elements whose current comes in pulses: drivers first, then coils nobody gave a duty."""
    elements = scene.compiled.network.elements
    for index, element in enumerate(elements):
        if element.type == "pin" and element.duty_frac < 1.0:
            yield index, element.duty_frac, element.duty_frac
    named: dict[str, list[int]] = {}
    for index, element in enumerate(elements):
        named.setdefault(element.name, []).append(index)
    for name, mean, square in _coils(scene):
        for index in named.get(name, ()):
            yield index, mean, square


def _coils(scene: Scene) -> Iterator[tuple[str, float, float]]:
    dwell_frac = constant("ignition_dwell_frac")
    for part in scene.parts.values():
        kind = scene.kinds[part.kind]
        if not any(element.type == "constant_current" for element in kind.elements):
            continue
        settings = resolve_settings(kind, part.settings, part.rated_v or scene.vehicle.system_v)
        for element in elements_of(kind, settings):
            amps, rms_a, peak_a = (element.params.get(word) for word in ("amps", "rms_a", "peak_a"))
            if element.type != "constant_current" or not isinstance(amps, float) or amps <= 0.0:
                continue
            if isinstance(rms_a, float):
                yield f"{part.id}.{element.name}", 1.0, max(1.0, (rms_a / amps) ** 2)
            elif isinstance(peak_a, float) and element.params.get("inductive"):
                yield f"{part.id}.{element.name}", dwell_frac / 2.0, dwell_frac / 3.0


def _share(scene: Scene, index: int) -> NDArray[np.float64] | None:
    """Which share of one element's current every element carries; None where it is never on, or steers another."""
    compiled = scene.compiled
    states = _states_on(compiled, index)
    answers = scene.answers(states)
    amps = np.where(answers.possible & ~answers.collapsed(), np.abs(answers.amps(index)), 0.0)
    row = int(amps.argmax())
    if amps[row] < _LEAST_A:
        return None
    element = compiled.network.elements[index]
    figures = compiled.arrays.figures.copy()
    first = int(compiled.arrays.row[index])
    for k in range(first, first + len(element.figures)):
        figures[k] = _off(element)
    without = replace(compiled, arrays=compiled.arrays._replace(figures=figures))
    off = answers_of(without, states[row][None, :])
    change = answers.batch.amps[row] - off.batch.amps[0]
    if abs(change[index]) < _LEAST_A:
        return None
    share: NDArray[np.float64] = change / change[index]
    return None if np.abs(share).max() > _MOST_SHARE else share


def _states_on(compiled: Compiled, index: int) -> type_i:
    """States in which an element should be on: the engine running, and each of its own conditions."""
    base = values_of(compiled, {})
    for name, value in (("key", "run"), ("engine", "running")):
        where = compiled.variable_of.get(name)
        if where is not None and value in compiled.network.variables[where].values:
            base[where] = compiled.network.variables[where].values.index(value)
    states = [base]
    for guard in compiled.network.elements[index].guards:
        state = base.copy()
        for variable, values in guard.holds:
            if values and int(state[variable]) not in values:
                state[variable] = max(values)
        states.append(state)
    return np.array(states, np.int64)


def _off(element: Element) -> tuple[float, ...]:
    """Figures with which an element carries nothing."""
    if element.law == Law.CURRENT:
        return (0.0, 6.0, 0.0, 0.0, 0.0, 0.0)
    if element.law == Law.CLAMP:
        return (0.0, 0.0, -1.0, 1.0, 0.0, 0.0)
    return (0.0,) * 6
