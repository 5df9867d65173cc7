"""Which readings can be weighed, as what, and which are asked about first?

Each row of `readings` that names an old wire is put into one form: which end, in which look, volts or a word. Units
are recognised; what cannot be (15 V with the engine stopped, volts in ohms, a state nobody knows) is kept in the
sheet, left out of the sums and asked about. Nothing is changed and nothing is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from loomwright.job.conditions import Condition, Term
from loomwright.job.job import Job
from loomwright.job.rows import OldWire, Reading
from loomwright.job.vehicle import metals_of, vehicle_of
from loomwright.quantities import parse_quantity, unit_word
from loomwright.refusals import OutOfReach
from loomwright.survey.records import Evidence, Query
from loomwright.tables.old_wires import SEEN, WireLook, survey_figure, wire_looks

__all__ = ["FIRST_ROW", "NOMINAL_V", "POSITIONS", "fed_loads", "live_posts", "look_of", "stub_of", "weighable"]

FIRST_ROW = 2
"""The first row of a sheet below its heading, as a spreadsheet counts. [-]"""
NOMINAL_V = 12.0
"""The volts that the table's figures are for. [V]"""
_UNITS: Mapping[str, str] = {"volts": "v", "ohms": "ohm", "amps": "a", "clamp": "a"}
POSITIONS = ("off", "accessory", "run", "start")
"""Where a key may stand; each is a look of its own."""
_KEY = ("key", "ignition")
_TURNING = ("idle", "running", "cranking")
_GEARS = ("P", "N", "D", "3", "2", "1")
_AT_REST = (*_GEARS, "off", "none", "stopped", "set", "closed", "no", "full", "settled", "yes", "dip")
_THOUSAND = 1000.0
_LEAST_LIVE_FRAC = 0.75
_OTHER_SIDE = (
    "were the two probes the other way round, or did the car come in with its other post on the body "
    "(earth_found in the sheet vehicle)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Car:
    """What every reading is read with. scale: the system's volts against 12 V. [-]

    is_turned: it came in with its other post on the body, so what is live may lie on either side of it.
    """

    scale: float
    sign: float
    is_turned: bool
    live_posts: frozenset[str]
    earths: frozenset[str]
    wires: Mapping[str, OldWire]


def weighable(job: Job) -> tuple[tuple[Evidence, ...], tuple[Query, ...]]:
    """The readings of old wires as they are weighed, and what is asked about them."""
    car = _car_of(job)
    found: list[Evidence] = []
    queries = [_which_end(wire.id, 0, wire.stub) for wire in job.old_wires if not _names_an_end(wire.stub)]
    for number, reading in enumerate(job.readings, start=FIRST_ROW):
        if reading.old_wire:
            for each in _one(car, number, reading):
                if isinstance(each, Evidence):
                    found.append(each)
                else:
                    queries.append(each)
    return tuple(found), tuple(queries)


def _names_an_end(stub: str) -> bool:
    return not stub or any(word in stub.lower() for word in ("source", "load"))


def _which_end(wire: str, row: int, stub: str) -> Query:
    where = f"row {row} of readings, {wire}" if row else wire
    says = f"{where}: {stub} names no cut end and counts as the source stub, the end that is fed; write source or load"
    return Query(wire=wire, row=row, asks="which cut end", says=says)


def fed_loads(job: Job) -> frozenset[str]:
    """The wires whose load stub was fed through the test lamp, and what hangs on it lit, moved or sounded."""
    car = _car_of(job)
    stubs = {wire.id: wire.stub for wire in job.old_wires}
    return frozenset(
        row.old_wire
        for row in job.readings
        if row.old_wire
        and row.to in car.live_posts
        and row.seen not in ("", "nothing")
        and stub_of(row.stub or stubs.get(row.old_wire, "")) == "load"
    )


def live_posts(job: Job) -> tuple[str, ...]:
    """The posts of the batteries that are not earthed: what a test lamp is fed from."""
    return tuple(sorted(_car_of(job).live_posts))


def stub_of(text: str) -> str:
    """Which cut end a text means: `load`, or `source`, which a wire that is not cut counts as.

    Example:
        >>> stub_of("load side"), stub_of("")
        ('load', 'source')
    """
    return "load" if "load" in text.lower() else "source"


@lru_cache(maxsize=512)
def look_of(when: Condition) -> tuple[WireLook | None, str]:
    """The look a condition means and where the key stands; None where it is none of the table's.

    Example:
        >>> from loomwright.job.conditions import parse_condition
        >>> found = look_of(parse_condition("key=run, brake=on"))
        >>> found[0].key, found[1]
        ('brake', 'run')
    """
    terms = [term for term in when.terms if not term.before]
    if any(term.op != "=" for term in terms):
        return None, ""
    position = next((term.values[0] for term in terms if term.variable in _KEY), "")
    if len([term for term in terms if term.variable in _KEY and len(term.values) > 1]):
        return None, ""
    worked = [look for look in wire_looks() if look.control and _is_worked(look, terms, position)]
    if len({look.key for look in worked}) > 1:
        return None, position
    if worked:
        return worked[0], position
    strange = [term for term in terms if term.variable not in (*_KEY, "engine", "battery") and not _rests(term)]
    if strange or not position:
        return None, position
    plain = {look.key: look for look in wire_looks()}
    return plain.get(position) if position in POSITIONS else None, position


def _is_worked(look: WireLook, terms: list[Term], position: str) -> bool:
    if look.position in ("start", "off") and position != look.position:
        return False
    if look.position == "run" and look.key == "reverse" and position == "start":
        return False
    return any(term.variable in look.control and all(value in look.at for value in term.values) for term in terms)


def _rests(term: Term) -> bool:
    return all(value in _AT_REST or _is_figure(value) for value in term.values)


def _is_figure(text: str) -> bool:
    return text.replace(".", "", 1).lstrip("+-").isdigit()


def _car_of(job: Job) -> _Car:
    vehicle = vehicle_of(job)
    live, earthed = ("+", "-") if vehicle.earth == "negative" else ("-", "+")
    batteries = [part.id for part in job.parts if part.kind == "battery"]
    return _Car(
        scale=vehicle.system_v / NOMINAL_V,
        sign=1.0 if vehicle.earth == "negative" else -1.0,
        is_turned=vehicle.earth_found not in ("", vehicle.earth),
        live_posts=frozenset(f"{part}.{live}" for part in batteries),
        earths=frozenset((*metals_of(job), *(f"{part}.{earthed}" for part in batteries))),
        wires={wire.id: wire for wire in job.old_wires},
    )


def _one(car: _Car, row: int, reading: Reading) -> Iterator[Evidence | Query]:
    wire = car.wires.get(reading.old_wire)
    if wire is None:
        says = f"{reading.old_wire} was read and has no row in old_wires: add one, with its colour and where it is"
        yield Query(wire=reading.old_wire, row=row, asks="no such wire", says=says)
    if not _names_an_end(reading.stub):
        yield _which_end(reading.old_wire, row, reading.stub)
    stub = stub_of(reading.stub or (wire.stub if wire else ""))
    measure = reading.measure or _measure_of(reading)
    if measure in ("amps", "clamp", ""):
        if not measure:
            yield _left_out(reading, row, "what was measured", "say volts, ohms or lamp")
        return
    if reading.value is None and not reading.seen:
        yield _left_out(reading, row, "no figure", "write what the meter showed")
        return
    if measure == "ohms":
        yield from _ohms(car, row, reading, stub)
        return
    look, position = look_of(reading.when)
    if look is None:
        if reading.when.terms:
            mend = "write the key, and one control that was worked, such as key=run, brake=on"
        else:
            mend = "write where the key stood, such as key=run"
        yield _left_out(reading, row, "in which state", mend)
        return
    turning = any(term.variable == "engine" and set(term.values) & set(_TURNING) for term in reading.when.terms)
    battery_v, query = _battery_v(car, row, reading, turning)
    if query:
        yield query
    whole = _Whole(car=car, row=row, reading=reading, stub=stub, look=look.key, position=position, battery_v=battery_v)
    if measure == "volts":
        yield from _volts(whole, turning)
    else:
        yield from _lamp(whole)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Whole:
    """A reading with its state known. battery_v: volts at the battery meanwhile. [V]"""

    car: _Car
    row: int
    reading: Reading
    stub: str
    look: str
    position: str
    battery_v: float

    def evidence(self, measure: str, value: float | str) -> Evidence:
        """It, as it is weighed."""
        return Evidence(
            row=self.row,
            wire=self.reading.old_wire,
            stub=self.stub,
            look=self.look,
            position=self.position,
            measure=measure,
            value=value,
            battery_v=self.battery_v,
            visit=self.reading.visit,
        )


def _measure_of(reading: Reading) -> str:
    """What was measured, where its column is blank and the unit says it."""
    for measure, ending in (("volts", "v"), ("ohms", "ohm"), ("amps", "a")):
        if reading.unit and _figure(1.0, reading.unit, ending) is not None:
            return measure
    return "lamp" if reading.lamp_w or isinstance(reading.value, str) or reading.seen else ""


def _figure(value: float, unit: str, ending: str) -> float | None:
    """The figure in our unit, or None where the unit is another quantity's."""
    try:
        return parse_quantity(f"{value!r} {unit}", ending)
    except OutOfReach:
        return None


def _ohms(car: _Car, row: int, reading: Reading, stub: str) -> Iterator[Evidence | Query]:
    value: float | str
    if reading.to and reading.to not in car.earths:
        mend = "ohms are weighed to the body"
        if reading.to in car.live_posts and isinstance(reading.value, float):
            mend = "near nought it hangs on a feed: is it the source stub; else a coil fed from the battery"
        yield _left_out(reading, row, f"{_shown(reading)} to {reading.to}", mend)
        return
    if isinstance(reading.value, str):
        if reading.value != "open":
            yield _left_out(reading, row, "ohms in words", "write the figure, or open")
            return
        value = "open"
    else:
        figure = _figure(reading.value or 0.0, reading.unit, "ohm")
        if figure is None or figure < 0.0:
            yield _left_out(reading, row, f"{_shown(reading)} for ohms", "is the unit right, and was it ohms")
            return
        value = figure
    if stub == "source":
        mend = "ohms name what hangs on the load stub; cut or unplug it and say which stub"
        yield _left_out(reading, row, "ohms of a source stub", mend)
        return
    yield Evidence(
        row=row, wire=reading.old_wire, stub=stub, look="ohms", position="", measure="ohms", value=value, battery_v=0.0
    )


def _volts(whole: _Whole, turning: bool) -> Iterator[Evidence | Query]:
    reading, car = whole.reading, whole.car
    from_live = reading.to in car.live_posts
    if reading.to and not from_live and reading.to not in car.earths:
        yield _left_out(reading, whole.row, f"against {reading.to}", "measure against the body")
        return
    if isinstance(reading.value, str):
        if reading.value not in ("open", "pulsing"):
            yield _left_out(reading, whole.row, "volts in words", "write the figure, open or pulsing")
        else:
            yield from _told(whole, "volts", "floating" if reading.value == "open" else reading.value)
        return
    figure = _figure(reading.value or 0.0, reading.unit, "v")
    if figure is None:
        yield _left_out(reading, whole.row, f"{_shown(reading)} for volts", "was it volts, and is the unit right")
        return
    volts = figure * car.sign + (whole.battery_v if from_live else 0.0)
    if car.is_turned and not from_live:
        # what was read before the battery was turned round lies on the other side of the body
        volts = abs(volts)
    most_v = survey_figure("most_charging_v" if turning else "most_rest_v") * car.scale
    meant = _meant_v(reading, most_v)
    if meant:
        yield _left_out(reading, whole.row, f"{_shown(reading)}", meant)
    elif volts > most_v:
        state = "with the engine running" if turning else "with the engine stopped"
        mend = "was the engine running, a charger on, the unit another"
        yield _left_out(reading, whole.row, f"{_shown(reading)} {state}, more than {most_v:g} V", mend)
    elif volts < -survey_figure("earthed_sigma_v") * 2:
        yield _left_out(reading, whole.row, f"{_shown(reading)}, below earth", _OTHER_SIDE)
    else:
        yield from _told(whole, "volts", max(0.0, volts))


def _meant_v(reading: Reading, most_v: float) -> str:
    """What the unit was most likely meant to be, as a question; empty where there is nothing to ask."""
    value = abs(reading.value) if isinstance(reading.value, float) else 0.0
    unit = reading.unit.strip() or "V"
    if unit == "mV" and _LEAST_LIVE_FRAC * most_v * _LEAST_LIVE_FRAC < value <= most_v:
        return f"is it {value:g} V"
    if unit == "V" and value > most_v * 2 and value / _THOUSAND <= most_v:
        return f"is it {value:g} mV"
    return ""


def _told(whole: _Whole, measure: str, value: float | str) -> Iterator[Evidence | Query]:
    """The reading, unless volts stand on a load stub, which has no feed."""
    if whole.stub == "load":
        if isinstance(value, float) and value > _LEAST_LIVE_FRAC * whole.battery_v:
            mend = "is it the source stub"
            yield _left_out(whole.reading, whole.row, f"{_shown(whole.reading)} on the load stub", mend)
        elif value in ("full", "dim"):
            yield _left_out(whole.reading, whole.row, "the lamp lit from the load stub", "is it the source stub")
        return
    yield whole.evidence(measure, value)


def _lamp(whole: _Whole) -> Iterator[Evidence | Query]:
    reading = whole.reading
    from_live = reading.to in whole.car.live_posts
    if isinstance(reading.value, float):
        yield _left_out(reading, whole.row, f"a lamp that shows {reading.value:g}", "write full, dim or dark")
    elif reading.value:
        shown = "dark" if reading.value == "open" else reading.value
        yield from _told(whole, "lamp_plus" if from_live else "lamp", shown)
    if reading.seen in SEEN and not from_live and whole.stub == "source":
        yield whole.evidence("seen", reading.seen)


def _battery_v(car: _Car, row: int, reading: Reading, turning: bool) -> tuple[float, Query | None]:
    usual = survey_figure("charging_v" if turning else "rest_v") * car.scale
    if reading.battery_v is None:
        return usual, None
    battery_v = abs(reading.battery_v)
    if not turning and battery_v < survey_figure("least_battery_v") * car.scale:
        says = f"{reading.old_wire} was read with {battery_v:g} V at the battery: charge it, readings are weak"
        return battery_v, Query(wire=reading.old_wire, row=row, asks="battery low", says=says)
    return battery_v, None


def _shown(reading: Reading) -> str:
    unit = reading.unit or (unit_word(_UNITS[reading.measure]) if reading.measure in _UNITS else "")
    value = f"{reading.value:g}" if isinstance(reading.value, float) else str(reading.value)
    return f"{value} {unit}".strip()


def _left_out(reading: Reading, row: int, what: str, mend: str) -> Query:
    says = f"row {row} of readings, {reading.old_wire}: {what}; {mend}? It is kept and not weighed until then"
    return Query(wire=reading.old_wire, row=row, asks="not weighed", says=says, is_used=False)
