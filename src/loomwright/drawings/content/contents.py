"""What belongs on a circuit's drawing?

Its own wires, each once; the parts at their ends; and what is needed to see the whole way from supply to earth. Where
the way comes from another circuit there is a supply line on top, named by what feeds it, or a part with a stub; where
it goes on into another circuit there is an arrow with circuit and track. A part of this circuit tells all wires that
leave it.

    own wire -> the parts at its ends -> pieces (pieces) -> symbol | supply line | terminal on the earth line
    a port that no own wire feeds    -> a stub to a supply line
    a port that no own wire drains   -> an arrow
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from loomwright.drawings.content.draft import Draft
from loomwright.drawings.content.part_words import arrow_words, earth_words, line_words, part_words
from loomwright.drawings.content.pieces import CASE, Piece, is_contact, pieces_of
from loomwright.drawings.content.sides import with_sides
from loomwright.drawings.content.sketch import SIDES, Band, Port, Ref, Side, Sketch, Words
from loomwright.drawings.content.wiring import FAR, Wiring, case_metal
from loomwright.job.points import split_point
from loomwright.job.vehicle import BUILT_IN_METALS

__all__ = ["sketch_of"]

_DRIVERS = ("low_side", "injector", "pwm", "main_relay", "half_bridge")
_EARLY_DUTIES = ("protection", "supply")


def sketch_of(wiring: Wiring, circuit: str) -> Sketch:
    """The units and links of one circuit's drawing; `circuit` empty: of all wires that have none."""
    draft = Draft(circuit)
    own = list(wiring.of_circuit.get(circuit, ()))
    touched: dict[str, dict[str, None]] = {}
    for wire in own:
        for point in wiring.ends[wire]:
            part, terminal = split_point(point)
            if part in wiring.parts and terminal:
                touched.setdefault(part, {})[terminal] = None
    for part, terminals in touched.items():
        _add_part(wiring, draft, part, tuple(terminals), own)
    for wire in own:
        _add_wire(wiring, draft, wire)
    _add_stubs(wiring, draft, set(own))
    return with_sides(wiring, draft.sketch())


def _add_part(wiring: Wiring, draft: Draft, part: str, touched: tuple[str, ...], own: Sequence[str]) -> None:
    """Every piece of a part, as a symbol, or as supply lines where it only feeds."""
    at_home = wiring.home.get(part, "") == draft.circuit
    for piece in pieces_of(wiring, part, touched, draft.circuit):
        here = [name for name in piece.terminals if name in touched]
        if piece.form == "earth":
            number = draft.add_unit("earth", "earth", part, earth_words(wiring, part, ""), "earth")
            draft.add_port(number, Port(terminal=here[0], point=f"{part}.{here[0]}", side="upper"))
        elif piece.form == "feed" or (not at_home and _only_feeds(wiring, piece, here, own)):
            for name in _together(wiring, piece, here):
                _add_line(wiring, draft, [f"{part}.{one}" for one in name])
        elif (not at_home and piece.form == "battery") or (not at_home and _only_passes_on(wiring, piece, here, own)):
            _add_post(wiring, draft, f"{part}.{here[0]}")
        else:
            _add_symbol(wiring, draft, piece, foreign=not at_home)


def _together(wiring: Wiring, piece: Piece, here: Sequence[str]) -> Iterable[Sequence[str]]:
    """All terminals of a joint on one line, each terminal of anything else on a line of its own."""
    return [here] if piece.form == "bar" else [[name] for name in here]


def _only_feeds(wiring: Wiring, piece: Piece, here: Sequence[str], own: Sequence[str]) -> bool:
    """Whether the drawing's own wires only lead away from a part of another circuit, so that it is a supply to them."""
    if wiring.kind(piece.part).duty == "protection" or piece.form in ("controller", "ways"):
        return False
    circuit = wiring.wires[own[0]].circuit
    points = [f"{piece.part}.{name}" for name in here]
    if piece.form == "battery":
        return here == [wiring.live_post]
    if piece.name and piece.symbol == "plug":
        return False
    if not all(wiring.leads_away(point, circuit) for point in points):
        return False
    if is_contact(piece) and all(name in piece.lower for name in here):
        return True
    if piece.form != "bar" and len(here) > 1:
        return False
    return any(_fed_by(wiring, point, own) for point in _all_points(wiring, piece, here))


def _only_passes_on(wiring: Wiring, piece: Piece, here: Sequence[str], own: Sequence[str]) -> bool:
    """Whether own wires only end at a lower terminal that another circuit's wire leads on from."""
    if len(here) != 1 or here[0] not in piece.lower or piece.form in ("bar", "controller") or piece.symbol == "plug":
        return False
    if wiring.kind(piece.part).duty == "protection":
        return False
    point = f"{piece.part}.{here[0]}"
    steps = wiring.earth_steps.get(point, FAR)
    here_from = wiring.supply_steps.get(point, FAR)
    arrives = all(
        wiring.earth_steps.get(other, FAR) > steps and wiring.supply_steps.get(other, FAR) < here_from
        for other in _others(wiring, point, own)
    )
    return arrives and any(
        wiring.earth_steps.get(wiring.other_end(wire, point), FAR) < steps
        for wire in wiring.at[point]
        if wiring.wires[wire].circuit != wiring.wires[own[0]].circuit
    )


def _others(wiring: Wiring, point: str, own: Sequence[str]) -> list[str]:
    circuit = wiring.wires[own[0]].circuit
    return [wiring.other_end(wire, point) for wire in wiring.at[point] if wiring.wires[wire].circuit == circuit]


def _all_points(wiring: Wiring, piece: Piece, here: Sequence[str]) -> list[str]:
    names = wiring.terminals[piece.part] if piece.form == "bar" else here
    return [f"{piece.part}.{name}" for name in names if f"{piece.part}.{name}" in wiring.at]


def _fed_by(wiring: Wiring, point: str, own: Sequence[str]) -> str:
    """A wire of another circuit that brings the supply to a point; empty if none does."""
    circuit = wiring.wires[own[0]].circuit if own else ""
    best, least = "", wiring.supply_steps.get(point, FAR)
    for wire in wiring.at.get(point, ()):
        steps = wiring.supply_steps.get(wiring.other_end(wire, point), FAR)
        if wiring.wires[wire].circuit != circuit and steps < least:
            best, least = wire, steps
    return best


def _add_symbol(wiring: Wiring, draft: Draft, piece: Piece, *, foreign: bool) -> int:
    kind = wiring.kind(piece.part)
    number = draft.add_unit(
        piece.form,
        piece.symbol,
        piece.part,
        part_words(wiring, piece, draft.circuit),
        _band(wiring, piece),
        foreign=foreign,
    )
    plugs, does = wiring.plugs.get(piece.part, {}), wiring.pins.get(piece.part, {})
    for side in SIDES:
        for name in piece.upper if side == "upper" else piece.lower:
            port = Port(
                terminal="" if name == CASE and f"{piece.part}.{CASE}" not in wiring.at else name,
                point=f"{piece.part}.{name}",
                # both posts of a battery lead down: the live one is the supply line itself
                side="lower" if piece.form == "battery" else side,
                plug=plugs.get(name, ""),
                does=does.get(name, ""),
            )
            at = draft.add_port(number, port)
            if name == CASE and case_metal(wiring.parts[piece.part], kind):
                _add_lead(wiring, draft, number, at, case_metal(wiring.parts[piece.part], kind))
    names = piece.terminals
    unit = draft.units[number]
    draft.put(
        number,
        replace(
            unit,
            common=names.index(piece.common) if piece.common else 0,
            closed=tuple(name in piece.closed for name in names),
            positions=piece.positions,
            turned=piece.turned,
        ),
    )
    return number


def _band(wiring: Wiring, piece: Piece) -> Band:
    duty = wiring.kind(piece.part).duty
    if piece.form == "battery":
        return "supply"
    if piece.form in ("box", "controller") or piece.name == "coil":
        return "late"
    near = [wiring.depth(f"{piece.part}.{name}") for name in piece.terminals]
    high = min(near, default=0) < 0
    if duty in _EARLY_DUTIES or is_contact(piece) or duty in ("join", "passive"):
        return "early" if high else "late"
    return "late"


def _add_lead(wiring: Wiring, draft: Draft, unit: int, port: int, metal: str) -> None:
    """A case on its metal: an earth of its own, or the one a wire of the drawing starts from."""
    number, at = _metal(wiring, draft, metal)
    draft.link("", draft.end(unit, port), draft.end(number, at))


def _metal(wiring: Wiring, draft: Draft, metal: str) -> tuple[int, int]:
    known = draft.port_at.get(metal)
    if known is not None:
        return known
    number = draft.add_unit("earth", "earth", metal, earth_words(wiring, "", metal), "earth")
    return number, draft.add_port(
        number, Port(terminal="", point=metal, side="upper"), known=metal not in BUILT_IN_METALS
    )


def _add_line(wiring: Wiring, draft: Draft, points: Sequence[str]) -> tuple[int, int]:
    """A supply line for points of other circuits; the number of its unit and of its first port."""
    part, _ = split_point(points[0])
    where = wiring.home.get(part, "")
    target = None if where == draft.circuit else Ref(target=points[0], circuit=where)
    symbol = "line"
    if part in wiring.parts and wiring.parts[part].kind in ("old_feed", "old_switch"):
        symbol = "old_feed"
    said = line_words(wiring, points[0], target, draft.circuit)
    if symbol == "old_feed":
        live = wiring.parts[part].settings.get("live_when", "") or wiring.parts[part].settings.get("closes_when", "")
        said = (*said, *((Words(style="note", pieces=(f"live at {live}",)),) if live else ()))
    number = draft.add_unit("line", symbol, part, said, "supply", foreign=where != draft.circuit)
    for point in points:
        draft.add_port(number, Port(terminal=split_point(point)[1], point=point, side="lower"))
    return number, 0


def _add_post(wiring: Wiring, draft: Draft, point: str) -> None:
    """A terminal of another circuit's part on the earth line, where the way goes on there."""
    part, terminal = split_point(point)
    where = wiring.home.get(part, "")
    said = [Words(style="id", pieces=(point,))]
    name = wiring.parts[part].name or wiring.kind(part).title
    said.append(Words(style="name", pieces=(name,)))
    if where != draft.circuit:
        said.append(Words(style="figure", pieces=("→ ", Ref(target=point, circuit=where))))
    number = draft.add_unit("post", "post", part, tuple(said), "earth", foreign=True)
    draft.add_port(number, Port(terminal=terminal, point=point, side="upper"))


def _add_wire(wiring: Wiring, draft: Draft, wire: str) -> None:
    ends = []
    for point in wiring.ends[wire]:
        if point in draft.port_at:
            ends.append(draft.end(*draft.port_at[point]))
        elif point in wiring.metals:
            ends.append(draft.end(*_metal(wiring, draft, point)))
        else:
            other = wiring.other_end(wire, point)
            side: Side = "lower" if not other or wiring.depth(other) > 0 else "upper"
            words = (Words(style="note", pieces=("open end",)),)
            number = draft.add_unit("free", "free", wire, words, "late")
            ends.append(draft.end(number, draft.add_port(number, Port(terminal="", point="", side=side))))
    draft.link(wire, ends[0], ends[1])


def _add_stubs(wiring: Wiring, draft: Draft, own: set[str]) -> None:
    """Where the way comes from and goes to, for every unit that is there."""
    lines: dict[str, tuple[int, int]] = {}
    for number in range(len(draft.units)):
        unit = draft.units[number]
        if unit.form in ("earth", "line", "post", "free", "arrow"):
            continue
        told = _stubs_of(wiring, draft, number, own)
        for point, wire, up in told:
            at = draft.port_at.get(point)
            if at is None or at[0] != number:
                port = Port(
                    terminal=split_point(point)[1],
                    point=point,
                    side="upper" if up else "lower",
                    plug=wiring.plugs.get(unit.about, {}).get(split_point(point)[1], ""),
                    does=wiring.pins.get(unit.about, {}).get(split_point(point)[1], ""),
                )
                at = (number, draft.add_port(number, port))
            _add_stub(wiring, draft, at, point, wire, lines, up=up)


def _add_stub(
    wiring: Wiring,
    draft: Draft,
    at: tuple[int, int],
    point: str,
    wire: str,
    lines: dict[str, tuple[int, int]],
    *,
    up: bool,
) -> None:
    far = wiring.other_end(wire, point)
    feeds = wiring.supply_steps.get(far, FAR) < wiring.supply_steps.get(point, FAR)
    if up and feeds and far and split_point(far)[0] in wiring.parts:
        if far not in lines:
            ref = Ref(target=far, circuit=wiring.wires[wire].circuit, otherwise=wire)
            words = line_words(wiring, far, ref, draft.circuit)
            unit = draft.add_unit("line", "line", split_point(far)[0], words, "supply", foreign=True)
            lines[far] = (
                unit,
                draft.add_port(unit, Port(terminal=split_point(far)[1], point=far, side="lower"), known=False),
            )
        draft.link("", draft.end(*lines[far]), draft.end(*at, side="upper"))
        return
    band: Band = "early" if up else "earth" if draft.units[at[0]].form == "controller" else "late"
    unit = draft.add_unit("arrow", "arrow", wire, arrow_words(wiring, wire, point), band, foreign=True)
    port = draft.add_port(unit, Port(terminal="", point="", side="lower" if up else "upper"), known=False)
    draft.link("", draft.end(*at, side="upper" if up else "lower"), draft.end(unit, port))


def _stubs_of(wiring: Wiring, draft: Draft, number: int, own: set[str]) -> list[tuple[str, str, bool]]:
    """The stubs a unit needs: (its point, the wire of another circuit, upwards)."""
    unit = draft.units[number]
    if unit.form == "controller":
        return _return_of(wiring, draft, number, own)
    points = list(dict.fromkeys(port.point for port in unit.ports))
    if unit.form == "bar":
        points = [
            f"{unit.about}.{name}" for name in wiring.terminals[unit.about] if f"{unit.about}.{name}" in wiring.at
        ]
        return _stubs_of_bar(wiring, unit.about, points, own, at_home=not unit.foreign)
    found: list[tuple[str, str, bool]] = []
    for port in unit.ports:
        wires = [wire for wire in wiring.at.get(port.point, ()) if wire not in own]
        mine = [wire for wire in wiring.at.get(port.point, ()) if wire in own]
        up = port.side == "upper"
        if unit.foreign:
            wires = _needed(wiring, port.point, mine, wires, up=up)
        found.extend((port.point, wire, up) for wire in wires)
    return found


def _needed(wiring: Wiring, point: str, mine: Sequence[str], others: Sequence[str], *, up: bool) -> list[str]:
    """Of the other circuits' wires at a port, the one that brings the way here or leads it on, if no own wire does."""
    steps = wiring.supply_steps if up else wiring.earth_steps
    here = steps.get(point, FAR)

    def nearer(wire: str) -> bool:
        return steps.get(wiring.other_end(wire, point), FAR) < here

    if any(nearer(wire) or (not up and _leads_on(wiring, point, wire)) for wire in mine):
        return []
    near = [wire for wire in others if nearer(wire)]
    if not near and not mine:
        near = list(others)
    home = wiring.home.get(split_point(point)[0], "")
    return sorted(
        near, key=lambda wire: (wiring.wires[wire].circuit != home, steps.get(wiring.other_end(wire, point), FAR))
    )[:1]


def _leads_on(wiring: Wiring, point: str, wire: str) -> bool:
    return wiring.supply_steps.get(wiring.other_end(wire, point), FAR) > wiring.supply_steps.get(point, FAR)


def _stubs_of_bar(
    wiring: Wiring, part: str, points: Sequence[str], own: set[str], *, at_home: bool
) -> list[tuple[str, str, bool]]:
    """A bar tells every other wire at home; elsewhere where it is fed from and drained to, if no own wire does that."""
    found: list[tuple[str, str, bool]] = []
    all_wires = [(point, wire) for point in points for wire in wiring.at[point]]
    here = min((wiring.supply_steps.get(point, FAR) for point in points), default=FAR)
    ground = min((wiring.earth_steps.get(point, FAR) for point in points), default=FAR)

    def feeds(point: str, wire: str) -> bool:
        return wiring.supply_steps.get(wiring.other_end(wire, point), FAR) < here

    def drains(point: str, wire: str) -> bool:
        return wiring.earth_steps.get(wiring.other_end(wire, point), FAR) < ground

    mine = [(point, wire) for point, wire in all_wires if wire in own]
    others = [(point, wire) for point, wire in all_wires if wire not in own]
    fed = any(feeds(*one) for one in mine)
    drained = any(drains(*one) for one in mine)
    for point, wire in others:
        if feeds(point, wire):
            if at_home or not fed:
                found.append((point, wire, True))
                fed = True
        elif at_home or (drains(point, wire) and not drained):
            found.append((point, wire, False))
            drained = True
    return found


def _return_of(wiring: Wiring, draft: Draft, number: int, own: set[str]) -> list[tuple[str, str, bool]]:
    """The way back of a controller whose drivers are on the drawing, where its earth is drawn elsewhere."""
    unit = draft.units[number]
    does = wiring.pins.get(unit.about, {})
    if not any(port.does in _DRIVERS for port in unit.ports) or any(port.does == "power_earth" for port in unit.ports):
        return []
    for name, ability in does.items():
        point = f"{unit.about}.{name}"
        if ability == "power_earth" and point in wiring.at:
            return [(point, wire, False) for wire in wiring.at[point] if wire not in own][:1]
    return []
