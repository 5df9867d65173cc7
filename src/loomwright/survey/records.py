"""What does the survey say of each old wire, as values that pages, papers and commands print?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.tables.old_wires import WireFunction

__all__ = ["Caution", "Evidence", "Fate", "Guess", "NextReading", "OldWireSaid", "Query", "Survey"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One reading as it is weighed.

    row: its row in the sheet `readings`, the first being 2. [-]   wire, stub: which end of which old wire.
    look: the state it was read in.   position: where the key stood; empty where nobody wrote it.
    measure: volts, lamp, lamp_plus (lamp from the battery's live post), seen, ohms.
    value: volts, positive whichever post is earthed; ohms; or the word that was seen.   battery_v: meanwhile. [V]
    visit: which visit to the car.
    """

    row: int
    wire: str
    stub: str
    look: str
    position: str
    measure: str
    value: float | str
    battery_v: float
    visit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Query:
    """Something to ask about. wire, row: about what; row 0 where it is about no reading. [-]

    asks: which question it is.   says: the sentence.   wrong_frac: odds that the reading is wrong; None: not weighed.
    is_used: whether the reading is weighed all the same.
    """

    wire: str
    row: int
    asks: str
    says: str
    wrong_frac: float | None = None
    is_used: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """One function a wire may have. odds_frac: how likely. [0..1]"""

    function: str
    words: str
    odds_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextReading:
    """A reading to take next.

    wire, look, words: which, and in which state.   measure, stub, when: as the sheet `readings` would have it.
    bits: what it is expected to tell, of this wire or of all together. [-]   minutes: what it takes. [min]
    warning: before it is taken.   places: where the wire is.
    """

    wire: str
    look: str
    words: str
    measure: str
    stub: str
    when: str
    bits: float
    minutes: float
    warning: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """What to know before a probe. key: which caution.   says: the sentence.   source: of the sentence."""

    key: str
    says: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fate:
    """What becomes of a wire. fate: keep, adapt, cut back, leave.   reason: why.   typed: what stands in the sheet."""

    fate: str
    reason: str
    typed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OldWireSaid:
    """What is said of one old wire.

    guesses: likeliest first.   how_sure: in words.   is_called: sure enough for the plan.
    is_live_proved: a control was worked and the wire followed, both ways.   readings: how many were weighed. [-]
    change_mind: the reading that would change the mind; None where none would.
    """

    id: str
    colour: str
    place: str
    stub: str
    guesses: tuple[Guess, ...]
    how_sure: str
    is_called: bool
    is_live_proved: bool
    readings: int
    cautions: tuple[Caution, ...]
    fate: Fate
    change_mind: NextReading | None

    @property
    def best(self) -> Guess:
        """The likeliest function."""
        return self.guesses[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """All old wires together.

    wires: in the sheet's order.   odds: wire -> function -> how likely, every function. [0..1]
    queries: what is asked about.   following: readings to take next, best first.
    is_exact: worked out by whole sums, not by messages.   conventions: habit of colours -> how likely. [0..1]
    """

    wires: tuple[OldWireSaid, ...]
    odds: Mapping[str, Mapping[str, float]]
    queries: tuple[Query, ...]
    following: tuple[NextReading, ...]
    is_exact: bool
    conventions: Mapping[str, float]
    functions: tuple[WireFunction, ...]
