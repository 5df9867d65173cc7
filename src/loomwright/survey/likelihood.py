"""How well does each function explain what was read?

For a wire and a function f, sound or dead (its fuse, bulb or earth gone):

    L(f) = (1 - dead) * product over readings p(r | f sound)  +  dead * product over readings p(r | f dead)
    p(r | f) = (1 - state) * d(r | what f shows in the look)  +  state * mean over looks it may have been taken in
    d(r | shows) = sum over bands b of C[shows, b] * g(r | b)

C says how often a reading falls into another band than it should (0.90 its own, 0.06 the next, 0.04 any other). g is
the spread of a meter within a band. `near_frac`, `loose_frac`, `state_frac`, `dead_frac` stand in
`old_wire_figures.csv`: judgement, typical. A function that says nothing about a look is met by any reading alike.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loomwright.survey.evidence import NOMINAL_V, POSITIONS
from loomwright.survey.records import Evidence
from loomwright.tables.old_wires import GLOWS, SEEN, SHOWS, WireFunction, survey_figure, wire_looks

__all__ = [
    "BANDS",
    "Shown",
    "band_chances",
    "bands_of",
    "evidence_likelihoods",
    "right_likelihoods",
    "shown_by",
    "variant_shares",
    "weigh",
]

Numbers = NDArray[np.float64]

BANDS = {
    "volts": ("live", "part", "pulsing", "nothing"),
    "lamp": GLOWS,
    "seen": SEEN,
    "ohms": ("short", "low", "middle", "high", "open"),
}
"""What may come out of a look, by what is measured; `nothing` is floating or earthed, which volts do not part."""

_NEXT = {"live": ("part",), "part": ("live", "floating"), "pulsing": ("live", "part")}
_NEXT |= {"floating": ("part", "earthed"), "earthed": ("floating",)}
_NEXT_GLOW = {"full": ("dim",), "dim": ("full", "dark"), "dark": ("dim", "earthed"), "earthed": ("dark",)}
_SEEN_TRUE, _SEEN_MISSED = 0.88, 0.08
_OHM_EDGES = (1.0, 10.0, 100.0)
_LEAD_OHM, _LEAST_OHM = 0.2, 0.05
_BROAD_MEAN_OHM, _BROAD_SIGMA = 10.0, 2.5
_OPEN_SOUND, _OPEN_UNKNOWN, _OPEN_DEAD, _OPEN_SPARE = 0.05, 0.3, 0.6, 0.9
_STRAY_PER_V = 1e-4
_STILL_FRAC = 0.8
"""How often a floating wire stands at nought like an earthed one: near enough that volts alone do not part them."""
_SHOWN_BY_LAMP = {
    ("lamp", "full"): (1.0, 0.0, 0.0, 0.0),
    ("lamp", "dim"): (0.0, 1.0, 0.0, 0.0),
    ("lamp", "dark"): (0.0, 0.0, 1.0, 1.0),
    ("lamp", "pulsing"): (0.5, 0.5, 0.0, 0.0),
    ("lamp_plus", "full"): (0.0, 0.0, 0.0, 0.9),
    ("lamp_plus", "dim"): (0.0, 0.0, 0.0, 0.1),
    ("lamp_plus", "dark"): (1.0, 1.0, 1.0, 0.0),
    ("lamp_plus", "pulsing"): (0.0, 0.0, 0.0, 0.05),
}
"""What each glow may be: to earth what is earthed stays dark; from the battery's live post only that lights."""
_SQRT_TWO_PI = math.sqrt(2.0 * math.pi)
_TINY = 1e-300


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What functions show in each look, sound and dead, as shares of the words.

    volts: look -> functions x 2 x SHOWS.   glow: the same x GLOWS.   seen: x SEEN.   The second index: sound, dead.
    ohms: functions x 2: mean of the logarithm, spread, share that reads open.
    shares: functions x 2: how likely a function is sound, and dead. [0..1]
    """

    functions: tuple[WireFunction, ...]
    volts: dict[str, Numbers]
    glow: dict[str, Numbers]
    seen: dict[str, Numbers]
    ohms: Numbers
    shares: Numbers


@lru_cache(maxsize=8)
def shown_by(functions: tuple[WireFunction, ...]) -> Shown:
    """What every function shows, look by look, with the key where the look has it."""
    looks = [look.key for look in wire_looks() if look.key not in ("lamp", "seen", "ohms")]
    volts = {look: np.array([_volts_of(function, look) for function in functions]) for look in looks}
    glow = {look: np.array([_glow_of(function, look) for function in functions]) for look in looks}
    seen = {look: np.array([_seen_of(function, look) for function in functions]) for look in looks}
    ohms = np.array([_ohms_of(function) for function in functions])
    return Shown(functions=functions, volts=volts, glow=glow, seen=seen, ohms=ohms, shares=variant_shares(functions))


def variant_shares(functions: Sequence[WireFunction]) -> Numbers:
    """How likely a function is sound, and dead; one that shows nothing anyway is never called dead. [0..1]"""
    dead = survey_figure("dead_frac")
    idle = np.array([not f.is_known or set(f.shows.values()) <= {"floating"} for f in functions])
    return np.stack([np.where(idle, 1.0, 1.0 - dead), np.where(idle, 0.0, dead)], axis=1)


def weigh(shown: Shown, evidence: Sequence[Sequence[Evidence]]) -> Numbers:
    """Wires x functions x (sound, dead): how well each explains all readings of its wire; the best is 1. [-]

    Args:
        shown: what functions show.
        evidence: wire by wire, its readings.
    """
    log = np.repeat(np.log(shown.shares + _TINY)[None], len(evidence), axis=0)
    alike: dict[tuple[str, str, str], list[tuple[int, Evidence]]] = {}
    for wire, readings in enumerate(evidence):
        for each in readings:
            alike.setdefault((each.measure, each.look, each.position), []).append((wire, each))
    for members in alike.values():
        likely = _likelihoods(shown, [each for _, each in members])
        np.add.at(log, [wire for wire, _ in members], np.log(likely + _TINY))
    return np.asarray(np.exp(log - log.max(axis=(1, 2), keepdims=True)))


def evidence_likelihoods(shown: Shown, evidence: Evidence) -> Numbers:
    """How likely one reading is under each function, sound and dead. [-]"""
    return np.asarray(_likelihoods(shown, [evidence])[0])


def _likelihoods(shown: Shown, evidence: Sequence[Evidence]) -> Numbers:
    """The same for readings of one measure in one look, all at once."""
    first = evidence[0]
    if first.measure == "ohms":
        return np.stack([_ohm_likelihoods(shown, each.value) for each in evidence])
    table, mixing = _table_of(shown, first.measure)
    stray = [_STRAY_PER_V if isinstance(each.value, float) else 0.0 for each in evidence]
    given = np.stack([bands_of(each) for each in evidence]) @ mixing.T + np.array(stray)[:, None]
    return np.asarray(np.einsum("fvb,nb->nfv", _in_state(table, first.look, first.position), given))


def right_likelihoods(shown: Shown, evidence: Evidence) -> Numbers:
    """The part of `evidence_likelihoods` that stands for a reading taken right, of what it should be. [-]"""
    if evidence.measure == "ohms":
        return _ohm_likelihoods(shown, evidence.value, is_right=True)
    table, mixing = _table_of(shown, evidence.measure)
    given = np.diag(mixing) * bands_of(evidence)
    share = 1.0 - survey_figure("state_frac")
    return np.asarray(share * (_meant(table, evidence.look, evidence.position) @ given))


def bands_of(evidence: Evidence) -> Numbers:
    """How well a reading sits in each band of its measure, ohms left out. [-]"""
    value = evidence.value
    if evidence.measure == "volts":
        if isinstance(value, str):
            return np.array([float(each == value) for each in SHOWS])
        return _density(value, evidence.battery_v, evidence.look)
    if evidence.measure == "seen":
        return np.array([float(each == value) for each in SEEN])
    return np.array(_SHOWN_BY_LAMP[evidence.measure, str(value)])


def _table_of(shown: Shown, measure: str) -> tuple[dict[str, Numbers], Numbers]:
    if measure == "volts":
        return shown.volts, _mixing()
    return (shown.seen, _mixing_seen()) if measure == "seen" else (shown.glow, _mixing_glow())


def band_chances(shown: Shown, look: str) -> tuple[str, Numbers]:
    """What comes out of a look, by what is measured in it: the measure, and functions x 2 x its bands. [0..1]"""
    measure = look if look in ("lamp", "seen", "ohms") else "volts"
    if measure == "ohms":
        return measure, _ohm_bands(shown)
    state = "run" if measure in ("lamp", "seen") else look
    table = {"volts": shown.volts, "lamp": shown.glow, "seen": shown.seen}[measure]
    chances = (
        _in_state(table, state, "") @ {"volts": _mixing(), "lamp": _mixing_glow(), "seen": _mixing_seen()}[measure]
    )
    if measure == "volts":
        chances = np.concatenate([chances[..., :3], chances[..., 3:].sum(axis=-1, keepdims=True)], axis=-1)
    return measure, np.asarray(chances)


def _in_state(table: dict[str, Numbers], look: str, position: str) -> Numbers:
    """What is shown in a look, counted in that the key or the control may have been elsewhere."""
    share = survey_figure("state_frac")
    meant = _meant(table, look, position)
    others = [name for name in POSITIONS if name != look] if look in POSITIONS else ["run", "off"]
    elsewhere = sum(table[name] for name in others) / len(others)
    return np.asarray((1.0 - share) * meant + share * elsewhere)


def _meant(table: dict[str, Numbers], look: str, position: str) -> Numbers:
    """With a control worked and the key elsewhere than the table has it: what it does not change goes by the key."""
    if look in POSITIONS or look == "start_in_gear" or position in ("", "run"):
        return table[look]
    by_key = table.get(position, table["run"])
    same = np.isclose(table[look], table["run"]).all(axis=(1, 2), keepdims=True)
    worked = table[look]
    needs_run = next(each.position for each in wire_looks() if each.key == look) == "run"
    return np.asarray(np.where(same, by_key, 0.5 * (worked + by_key) if needs_run else worked))


def _volts_of(function: WireFunction, look: str) -> list[list[float]]:
    if not function.is_known:
        return [[1.0 / len(SHOWS)] * len(SHOWS)] * 2
    word = function.shows.get(look, "")
    sound = [float(word == each) for each in SHOWS] if word else [1.0 / len(SHOWS)] * len(SHOWS)
    return [sound, [float(each == "floating") for each in SHOWS]]


def _glow_of(function: WireFunction, look: str) -> list[list[float]]:
    if not function.is_known:
        return [[1.0 / len(GLOWS)] * len(GLOWS)] * 2
    through = function.lamp if function.lamp in ("full", "dim") else "full"
    glow = {"live": through, "part": "dim", "pulsing": "full", "floating": "dark", "earthed": "earthed"}
    word = glow.get(function.shows.get(look, ""), "")
    if look == "run" and function.lamp:
        word = function.lamp
    sound = [float(word == each) for each in GLOWS] if word else [1.0 / len(GLOWS)] * len(GLOWS)
    return [sound, [float(each == "dark") for each in GLOWS]]


def _seen_of(function: WireFunction, look: str) -> list[list[float]]:
    if not function.is_known:
        return [[1.0 / len(SEEN)] * len(SEEN)] * 2
    fed = function.shows.get(look, "") in ("live", "part")
    word = function.seen if fed and function.seen else "nothing"
    return [[float(word == each) for each in SEEN], [float(each == "nothing") for each in SEEN]]


def _ohms_of(function: WireFunction) -> list[list[float]]:
    sigma = survey_figure("ohm_sigma")
    spare = function.is_known and set(function.shows.values()) <= {"floating"} and not function.load_kind
    if function.least_ohm is None or function.most_ohm is None:
        broad = [math.log(_BROAD_MEAN_OHM), _BROAD_SIGMA]
        return [[*broad, _OPEN_SPARE if spare else _OPEN_UNKNOWN], [*broad, _OPEN_DEAD]]
    least, most = math.log(function.least_ohm + _LEAD_OHM), math.log(function.most_ohm + _LEAD_OHM)
    wide = math.hypot(sigma, (most - least) / 4.0)
    return [[(least + most) / 2.0, wide, _OPEN_SOUND], [(least + most) / 2.0, wide, _OPEN_DEAD]]


def _ohm_likelihoods(shown: Shown, value: float | str, *, is_right: bool = False) -> Numbers:
    mean, sigma, opened = shown.ohms[..., 0], shown.ohms[..., 1], shown.ohms[..., 2]
    loose = survey_figure("loose_frac")
    astray = 0.0 if is_right else loose
    if isinstance(value, str):
        return np.asarray((1.0 - loose) * opened + astray * _OPEN_UNKNOWN)
    at = math.log(max(value, _LEAST_OHM))
    broad = math.exp(-0.5 * ((at - math.log(_BROAD_MEAN_OHM)) / _BROAD_SIGMA) ** 2) / (_BROAD_SIGMA * _SQRT_TWO_PI)
    own = np.exp(-0.5 * ((at - mean) / sigma) ** 2) / (sigma * _SQRT_TWO_PI)
    return np.asarray((1.0 - loose) * (1.0 - opened) * own + astray * broad)


def _ohm_bands(shown: Shown) -> Numbers:
    mean, sigma, opened = shown.ohms[..., 0], shown.ohms[..., 1], shown.ohms[..., 2]
    below = [np.zeros_like(mean)]
    for edge in _OHM_EDGES:
        z = (math.log(edge) - mean) / sigma
        below.append(0.5 * (1.0 + np.vectorize(math.erf)(z / math.sqrt(2.0))))
    below.append(np.ones_like(mean))
    loose = survey_figure("loose_frac")
    parts = [(1.0 - opened) * (high - low) for low, high in pairwise(below)]
    chances = np.stack([*parts, opened], axis=-1)
    return np.asarray((1.0 - loose) * chances + loose / chances.shape[-1])


@cache
def _mixing() -> Numbers:
    """SHOWS x SHOWS: how often what should be one band is read as another."""
    return _mixed(SHOWS, _NEXT)


@cache
def _mixing_glow() -> Numbers:
    return _mixed(GLOWS, _NEXT_GLOW)


@cache
def _mixing_seen() -> Numbers:
    """SEEN x SEEN: a dead bulb in the dash shows nothing."""
    rest = (1.0 - _SEEN_TRUE - _SEEN_MISSED) / (len(SEEN) - 2)
    table = np.full((len(SEEN), len(SEEN)), rest)
    np.fill_diagonal(table, _SEEN_TRUE)
    table[:, 0] = _SEEN_MISSED
    table[0, :] = (1.0 - _SEEN_TRUE - _SEEN_MISSED) / (len(SEEN) - 1)
    table[0, 0] = _SEEN_TRUE + _SEEN_MISSED
    return table


def _mixed(words: tuple[str, ...], beside: dict[str, tuple[str, ...]]) -> Numbers:
    near, loose = survey_figure("near_frac"), survey_figure("loose_frac")
    table = np.zeros((len(words), len(words)))
    for row, word in enumerate(words):
        far = [each for each in words if each != word and each not in beside[word]]
        for column, other in enumerate(words):
            if other == word:
                table[row, column] = 1.0 - near - loose
            elif other in beside[word]:
                table[row, column] = near / len(beside[word])
            else:
                table[row, column] = loose / len(far)
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def _density(volts: float, battery_v: float, look: str) -> Numbers:
    """How likely so many volts are in each band. [1/V]"""
    scale = max(battery_v, 1.0) / NOMINAL_V
    sigma_v = survey_figure("live_sigma_v") * scale
    drift_v = survey_figure("floating_v") * scale
    still_v = survey_figure("earthed_sigma_v") * scale
    starting = look in ("start", "start_in_gear")
    middle_v = battery_v - (survey_figure("start_sag_v") * scale / 2.0 if starting else 0.0)
    wide_v = math.hypot(sigma_v, survey_figure("start_sag_v") * scale / 2.0) if starting else sigma_v
    live = math.exp(-0.5 * ((volts - middle_v) / wide_v) ** 2) / (wide_v * _SQRT_TWO_PI)
    least_live_v = max(drift_v + 1.0, battery_v - 1.0)
    part = float(drift_v <= volts <= least_live_v) / (least_live_v - drift_v)
    pulsing = float(volts <= battery_v + sigma_v) / (battery_v + sigma_v)
    still = 2.0 * math.exp(-0.5 * (volts / still_v) ** 2) / (still_v * _SQRT_TWO_PI)
    floating = _STILL_FRAC * still + (1.0 - _STILL_FRAC) * float(volts <= drift_v) / drift_v
    return np.array([live, part, pulsing, floating, still])
