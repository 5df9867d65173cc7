"""What does the page of shorts say: every wire shorted to the body at each end, what no fuse ends, what has no fuse?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import id_order
from loomwright.pages.addresses import JobLinks, job_path
from loomwright.pages.records.loom_words import bar_of, degrees, seconds
from loomwright.pages.records.state_words import amps_text
from loomwright.quantities.printing import for_print, with_unit
from loomwright.refusals import OutOfReach
from loomwright.sizing.faults import VERDICTS, Faults, LeftOver, ShortAt, WireFaults

__all__ = ["LeftLine", "QuietWires", "ShortLine", "ShortWire", "ShortsPage", "VerdictChoice", "shorts_page"]

_KILO = 1000.0
_MELTS = "melts"


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictChoice:
    """Wires of one verdict. means: it in a sentence."""

    word: str
    href: str
    is_here: bool
    count: int
    means: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortLine:
    """A dead short at one end, printed. bar: the copper's peak, of what its insulation stands.

    why: no figure is told; empty where there is one.
    bar: its length, of the longest. [-]
    """

    end: str
    point: str
    href: str
    amps: str
    fuse: str
    fuse_href: str
    opens: str
    peak: str
    stands: str
    bar: float
    is_over: bool
    verdict: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortWire:
    """One wire and its two ends."""

    wire: str
    href: str
    size: str
    verdict: str
    shorts: tuple[ShortLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuietWires:
    """Wires at neither end of which a short has a figure. means: their verdict in a sentence."""

    verdict: str
    means: str
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftLine:
    """A short that no fuse ends. amps: that never blow it.   warm: of the wire then; heat: of the short itself."""

    wire: str
    href: str
    fuse: str
    fuse_href: str
    amps: str
    warm: str
    stands: str
    heat: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortsPage:
    """The page. quiet: wires left out of the table, since nothing flows or only what a load lets through.

    unfused: wires before any fuse and their lengths; unfused_m: together, printed; empty: none.
    """

    wires: tuple[ShortWire, ...]
    quiet: tuple[QuietWires, ...]
    verdicts: tuple[VerdictChoice, ...]
    means: str
    unfused: tuple[tuple[str, str, str], ...]
    unfused_m: str
    left_over: tuple[LeftLine, ...]
    sheet: str
    links: JobLinks


def shorts_page(car: Car, links: JobLinks, *, verdict: str = "") -> ShortsPage:
    """The page.

    Args:
        verdict: only wires of it; empty: all.
    Raises:
        OutOfReach: a verdict there is none of.
    """
    if verdict and verdict not in VERDICTS:
        raise OutOfReach("verdict", verdict, ", ".join(VERDICTS))
    found = car.faults()
    shown = [found.wires[name] for name in sorted(found.wires, key=id_order)]
    asked = [one for one in shown if not verdict or one.verdict == verdict]
    quiet = [one for one in asked if _is_quiet(one)]
    unfused = [one for one in shown if one.unfused_mm is not None]
    hot = [(one.wire, one.left_over) for one in shown if one.left_over is not None and one.left_over.is_too_hot]
    hot.sort(key=lambda one: -one[1].steady_c)
    return ShortsPage(
        wires=tuple(_wire(one, links) for one in asked if not _is_quiet(one)),
        quiet=tuple(
            QuietWires(verdict=word, means=means, wires=tuple(one.wire for one in quiet if one.verdict == word))
            for word, means in VERDICTS.items()
            if any(one.verdict == word for one in quiet)
        ),
        verdicts=tuple(_choices(found, links.job, verdict)),
        means=next((text for word, text in VERDICTS.items() if word == verdict), ""),
        unfused=tuple((one.wire, links.thing(one.wire), _metres(one.unfused_mm or 0.0)) for one in unfused),
        unfused_m=_metres(found.unfused_mm) if unfused else "",
        left_over=tuple(_left(name, left, links) for name, left in hot),
        sheet=links.sheet("wires"),
        links=links,
    )


def _is_quiet(one: WireFaults) -> bool:
    """Whether a short at neither end has a figure."""
    return all(each.amps is None for each in one.shorts)


def _choices(found: Faults, job: str, verdict: str) -> list[VerdictChoice]:
    whole = VerdictChoice(
        word="all", href=job_path(job, "shorts"), is_here=not verdict, count=len(found.wires), means=""
    )
    return [
        whole,
        *(
            VerdictChoice(
                word=word,
                href=job_path(job, "shorts", query={"verdict": word}),
                is_here=word == verdict,
                count=count,
                means=VERDICTS[word],
            )
            for word, count in found.counted().items()
        ),
    ]


def _wire(one: WireFaults, links: JobLinks) -> ShortWire:
    return ShortWire(
        wire=one.wire,
        href=links.thing(one.wire),
        size="" if one.size_mm2 is None else with_unit(one.size_mm2, "mm2"),
        verdict=one.verdict,
        shorts=tuple(_short(each, links) for each in one.shorts),
    )


def _short(each: ShortAt, links: JobLinks) -> ShortLine:
    is_told = each.peak_c is not None and each.stands_c is not None
    return ShortLine(
        end=each.end,
        point=each.point or "free end",
        href=links.thing(each.point) if each.point else "",
        amps="" if each.amps is None else f"{for_print(each.amps, digits=3)} A",
        fuse=each.fuse,
        fuse_href=links.thing(each.fuse) if each.fuse else "",
        opens=seconds(each.opens_s),
        peak="" if each.peak_c is None else _MELTS if each.is_molten else degrees(each.peak_c),
        stands="" if each.stands_c is None else f"{each.stands_c:g} °C",
        bar=bar_of(each.peak_c or 0.0, each.stands_c or 0.0) if is_told else 0.0,
        is_over=is_told and (each.peak_c or 0.0) > (each.stands_c or 0.0) * (1.0 + 1e-9),
        verdict=each.verdict,
        why="" if each.amps is not None else VERDICTS[each.verdict],
    )


def _left(wire: str, left: LeftOver, links: JobLinks) -> LeftLine:
    return LeftLine(
        wire=wire,
        href=links.thing(wire),
        fuse=left.fuse,
        fuse_href=links.thing(left.fuse),
        amps=amps_text(left.amps),
        warm=_MELTS if left.is_molten else degrees(left.steady_c),
        stands=f"{left.class_c:g} °C",
        heat=f"{for_print(left.heat_w, side='up', digits=2)} W",
    )


def _metres(length_mm: float) -> str:
    return with_unit(length_mm / _KILO, "m", side="up")
