"""How is the car's network told to a circuit simulator that speaks SPICE?

In: a `Network` (elements and laws from sheets and kinds), a state, and either which devices are on or nothing. With
them the netlist asks for the operating point. Without them each relay, controller and motor is a memory with hysteresis
that looks at what its senses look at, fuses stay whole, and the simulator waits from rest until all have come to lie;
how long that takes says nothing, only what is there at the end. No solved figure goes in. The reference is node 0.
Points, laws and every element's own figures stand in the comments, so that the file can be read without the program.
How each law is put into lines: `netlist_laws`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.network.records import Device, Element, Guard, Law, Network, Selector
from loomwright.writers.netlist_laws import IDEAL_DIODE, LAW_WORDS, Gate, law_lines, law_words

__all__ = ["Netlist", "netlist"]

_LEAST_WIDTH = 1e-6
_MOVED = 0.9
_HELD = "1m"
_STEP, _WAIT = "0.1m", "20m"
# `chgtol`: the steps in time are given, since the only capacitors are the memories' own
_OPTIONS = ".options reltol=1e-8 abstol=1e-9 vntol=1e-8 rshunt=1e13 itl1=300 itl4=100 chgtol=1"


@dataclass(frozen=True, slots=True)
class Netlist:
    """The text, and where the simulator's answers to it are found.

    node_of: SPICE node of each point that something touches in this state.
    ammeter_of: the vectors whose sum is the current through each element that acts, positive from its first node to
    its second.
    gate_of: node that stands at 1 V while a device is on, where the simulator decides.
    """

    text: str
    node_of: Mapping[str, str]
    ammeter_of: Mapping[str, tuple[str, ...]]
    gate_of: Mapping[str, str]


def netlist(
    network: Network,
    values: Mapping[str, str],
    *,
    devices: Mapping[str, bool] | None = None,
    start: Mapping[str, bool] | None = None,
    title: str = "the car",
) -> Netlist:
    """The network in one state as a SPICE netlist.

    Args:
        values: the value of every state variable.
        devices: which are on; None leaves them to the simulator as memories with hysteresis.
        start: where the simulator decides: which begin on; others as at rest.
    Returns:
        The netlist, with a print of every node and every current.
    """
    sheet = _Sheet(network, values, devices, start or {})
    ammeters: dict[str, tuple[str, ...]] = {}
    body: list[str] = []
    touched = {network.reference}
    for index, element in enumerate(network.elements):
        lines, ammeter = sheet.element(index, element)
        body += lines
        if ammeter:
            ammeters[element.name] = (*ammeters.get(element.name, ()), ammeter)
            touched |= {element.a, element.b}
    gates: dict[str, str] = {}
    if devices is None:
        for index, device in enumerate(network.devices):
            body += sheet.device(index, device)
            gates[device.name] = f"g{index}"
    nodes = {name: sheet.node(index) for index, name in enumerate(network.nodes) if index in touched}
    used = {element.law for element in network.elements}
    lines = [
        f"* {title}",
        "* state: " + ", ".join(f"{name}={value}" for name, value in values.items() if value),
        "* laws, volts and amps from an element's first node to its second:",
        *(f"*   {words}" for law, words in LAW_WORDS.items() if law in used),
        "* points:",
        *(f"*   {node} = {name}" for name, node in nodes.items()),
        *body,
        IDEAL_DIODE,
        _OPTIONS,
        *_asked(nodes, ammeters, gates),
        ".end",
        "",
    ]
    return Netlist("\n".join(lines), nodes, ammeters, gates)


def _asked(
    nodes: Mapping[str, str], ammeters: Mapping[str, tuple[str, ...]], gates: Mapping[str, str]
) -> list[str]:  # fmt: skip
    """What the simulator is told to do and to print."""
    own = [ammeter for found in ammeters.values() for ammeter in found if ammeter.startswith("@")]
    if not gates:
        return [".control", "set numdgt=12", "op", "print all", *(f"print {vector}" for vector in own), ".endc"]
    sources = [ammeter for found in ammeters.values() for ammeter in found if not ammeter.startswith("@")]
    vectors = [node for node in nodes.values() if node != "0"] + sources + list(gates.values()) + own
    return [
        ".save all " + " ".join(own),
        ".control",
        "set numdgt=12",
        f"tran {_STEP} {_WAIT} 0 {_STEP}",
        "let k = length(time)-1",
        "print time[k]",
        *(f"print {vector}[k]" for vector in vectors),
        ".endc",
    ]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One netlist while it is written."""

    network: Network
    values: Mapping[str, str]
    devices: Mapping[str, bool] | None
    start: Mapping[str, bool]

    def node(self, index: int) -> str:
        return "0" if index == self.network.reference else f"n{index}"

    def figures(self, element: Element) -> tuple[float, ...]:
        if element.selector < 0:
            return element.figures[0]
        return element.figures[self._row(self.network.selectors[element.selector])]

    def _row(self, selector: Selector) -> int:
        first = self._value_index(selector.first)
        second = self._value_index(selector.second) if selector.second >= 0 else 0
        return selector.rows[first][second]

    def _value_index(self, variable: int) -> int:
        found = self.network.variables[variable]
        return found.values.index(self.values[found.name])

    def holds(self, guards: tuple[Guard, ...]) -> bool:
        if not guards:
            return True
        return any(all(self._value_index(v) in allowed for v, allowed in guard.holds) for guard in guards)

    def element(self, index: int, element: Element) -> tuple[list[str], str]:
        """The lines of one element and the vector of its current; none where it does not act in this state."""
        if element.a == element.b or not self.holds(element.guards) or not self._allowed(element):
            return [], ""
        gates = tuple(Gate(node=f"g{k}", on=on) for k, on in element.needs) if self.devices is None else ()
        figures = self.figures(element)
        mark, a, b = str(index), self.node(element.a), self.node(element.b)
        # what is built from several parts draws its current through a source of no volts
        metered = element.law in (Law.CLAMP, Law.BATTERY)
        own = law_lines(mark, element.law, figures, f"a{mark}" if metered else a, b, gates)
        if not own:
            return [], ""
        words = f"* {element.name}: {law_words(element.law, figures)}"
        if metered:
            return [words, f"VA{mark} {a} a{mark} DC 0", *own], f"va{mark}#branch"
        return [words, *own], f"@{'r' if element.law == Law.LINEAR and not gates else 'b'}{mark}[i]"

    def _allowed(self, element: Element) -> bool:
        """Whether the devices it needs lie as it needs them, where that is given."""
        on = self.devices
        return on is None or all(on[self.network.devices[k].name] == needed for k, needed in element.needs)

    def device(self, index: int, device: Device) -> list[str]:
        """A device that remembers: its gate node stands at 1 V when it is on.

        q: how far its senses are between their off (0) and their on (1).  t: where that sends it.
        m: what it remembers.  g: its contact, which moves once the memory has made up its mind, so that it can't take
        back what moved it.
        """
        if device.stuck is not None or not self.holds(device.guards) or device.what == "fuse":
            return [f"* device {device.name}, held", f"Vg{index} g{index} 0 DC {int(bool(device.stuck))}"]
        begins = int(self.start.get(device.name, device.at_rest))
        kept = f"V(q{index})>=1 ? 1 : (V(q{index})<0 ? 0 : (V(m{index})>0.5 ? 1 : 0))"
        return [
            f"* device {device.name}",
            f"Bq{index} q{index} 0 V = max(-5,min(5,{self._sensed(index, device)}))",
            f"Bt{index} t{index} 0 V = time<{_HELD} ? {begins} : ({kept})",
            f"Rm{index} t{index} m{index} 1k",
            f"Cm{index} m{index} 0 0.2u",
            f"Bg{index} k{index} 0 V = V(m{index})",
            f"Rg{index} k{index} g{index} 1k",
            f"Cg{index} g{index} 0 1u",
        ]

    def _sensed(self, index: int, device: Device) -> str:
        """The least of a device's senses as a formula: 0 at its off limit, 1 at its on limit.

        What needs more to stay than to come on (a field that feeds itself) is asked the one until its contact has
        moved, and the other from then on.
        """
        least = ""
        for sense in device.senses:
            width = max(sense.on - sense.off, _LEAST_WIDTH)
            if sense.element >= 0:
                sensed = self.network.elements[sense.element]
                siemens, emf_v = self.figures(sensed)[:2]
                volts = f"V({self.node(sensed.a)},{self.node(sensed.b)})"
                figure = f"abs(({volts}-({emf_v:.12g}))*{siemens:.12g})"
            else:
                figure = f"V({self.node(sense.a)},{self.node(sense.b)})"
                figure = f"abs({figure})" if device.what == "motor" else figure
            term = f"({figure}-({sense.off:.12g}))/{width:.12g}"
            if sense.off > sense.on:
                limit = f"(V(g{index})>{_MOVED} ? {sense.off:.12g} : {sense.on:.12g})"
                term = f"({figure}>={limit} ? 1 : -1)"
            least = f"min({least},{term})" if least else term
        return least or "5"
