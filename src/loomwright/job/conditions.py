"""When does something hold? Conditions over the state of the car, as people write them in a cell.

    condition = always | never | term, term, ...              all terms must hold
    term      = [before.]variable op value|value|...          one of the values is enough
    op        = =  !=  >=  <=  >  <                           the last four compare figures

`key=start, selector=P|N, coolant_c>=95`. A variable that is not named may have any value. A term that begins with
`before.` looks at the state the car came from. `unplugged=X1` holds while X1 is among what is unplugged,
`unplugged=none` while nothing is. Reading a condition does not need the job; whether its variables and values exist
is asked in `checking`.

What must hold at a point (`must`) is read here too: `live`, `dead`, `floating`, or a comparison in volts or amps.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.job.figures import plain_figure, text_of_figure
from loomwright.refusals import OutOfReach

__all__ = ["ALWAYS", "Condition", "Must", "Op", "Term", "holds", "is_asked", "is_word", "parse_condition", "parse_must"]

Op = Literal["=", "!=", ">=", "<=", ">", "<"]
State = Mapping[str, str | float]

_TERM = re.compile(r"(before\s*\.)?\s*([^\s=!<>|,;]+)\s*(!=|>=|<=|=|>|<)\s*(.*)", re.DOTALL)
_VALUE = re.compile(r"[^\s=!<>|,;]+")
_MUST = re.compile(r"(>=|<=|>|<)\s*(.+?)\s*([mkuµ]?[VvAa])", re.DOTALL)
_CONDITION = "always, never, or variable=value pairs with commas between them (key=run, selector=P|N, coolant_c>=95)"
_A_MUST = "live, dead, floating, or a comparison with its unit (>= 9 V, <= 15 A)"
_MUST_WORDS: tuple[Literal["live", "dead", "floating"], ...] = ("live", "dead", "floating")
_NEAR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One comparison of a condition.

    variable: its name, without `before.`.   values: the words it may have, as written.
    number: the figure, where there is one value and it is one.   before: asked of the state the car came from.
    """

    variable: str
    op: Op
    values: tuple[str, ...]
    number: float | None = None
    before: bool = False

    @property
    def text(self) -> str:
        """The term as it is written in a cell."""
        return f"{'before.' if self.before else ''}{self.variable}{self.op}{'|'.join(self.values)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """Terms that must all hold; none and not fixed means that nothing is asked, which always holds.

    fixed: `always` or `never` where that is what stands in the cell.   text: the condition in its usual form.
    """

    terms: tuple[Term, ...] = ()
    fixed: Literal["always", "never"] | None = None
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Must:
    """What a requirement asks of a point.

    kind: live, dead, floating or compare.   op, value, unit: the comparison, in V or A.   text: in its usual form.
    """

    kind: Literal["live", "dead", "floating", "compare"]
    op: Literal[">=", "<=", ">", "<", ""] = ""
    value: float | None = None
    unit: Literal["V", "A", ""] = ""
    text: str


ALWAYS = Condition()
"""The condition of a blank cell: whatever the state is."""


def parse_condition(text: str) -> Condition:
    """The condition that a cell holds.

    Raises:
        OutOfReach: the text is no condition; it says what may stand there.
    Example:
        >>> parse_condition("key=start,selector = P|N").text
        'key=start, selector=P|N'
    """
    plain = text.strip()
    if not plain:
        return ALWAYS
    word = plain.lower()
    if word == "always":
        return Condition(fixed="always", text="always")
    if word == "never":
        return Condition(fixed="never", text="never")
    terms = tuple(_term(piece, text) for piece in plain.split(","))
    return Condition(terms=terms, text=", ".join(term.text for term in terms))


def is_word(text: str) -> bool:
    """Whether a text can be the name or the value of a state variable: nothing in it that a condition is parted by.

    Example:
        >>> is_word("stalk.turn"), is_word("half open"), is_word("a|b")
        (True, False, False)
    """
    return _VALUE.fullmatch(text) is not None


def parse_must(text: str) -> Must:
    """What a cell of the column `must` asks.

    Raises:
        OutOfReach: neither one of the words nor a comparison in volts or amps.
    Example:
        >>> must = parse_must(">=9V")
        >>> must.op, must.value, must.unit, must.text
        ('>=', 9.0, 'V', '>= 9 V')
    """
    plain = text.strip()
    word = plain.lower()
    for kind in _MUST_WORDS:
        if word == kind:
            return Must(kind=kind, text=kind)
    match = _MUST.fullmatch(plain)
    if match is None:
        raise OutOfReach("must", text, _A_MUST)
    op, figure, unit = match.groups()
    base: Literal["V", "A"] = "V" if unit[-1].upper() == "V" else "A"
    value = plain_figure(f"{figure} {unit}", base, name="must")
    compare: Literal[">=", "<=", ">", "<"] = op  # type: ignore[assignment]  # the pattern lets nothing else through
    return Must(kind="compare", op=compare, value=value, unit=base, text=f"{op} {text_of_figure(value)} {base}")


def holds(condition: Condition, state: State, before: State | None = None) -> bool:
    """Whether a condition holds in a state of the car.

    Args:
        state: a value for each variable; `unplugged` lists the connectors that are off, apart by spaces.
        before: the state the car came from; without one no term that asks about it holds.
    Raises:
        OutOfReach: the state has no value for a variable that the condition names.
    Example:
        >>> holds(parse_condition("key=run|start, coolant_c>=95"), {"key": "run", "coolant_c": 97.0})
        True
    """
    if condition.fixed is not None:
        return condition.fixed == "always"
    for term in condition.terms:
        where = before if term.before else state
        if where is None or not _term_holds(term, where):
            return False
    return True


def is_asked(condition: Condition, state: State, before: State | None = None) -> bool:
    """Whether a question with this condition is asked in a state: it holds, and only plugs it names are off.

    A drive works with a plug off; what is required of the car is asked with a plug off only where the plug is named.
    """
    names_plugs = any(term.variable == "unplugged" and not term.before for term in condition.terms)
    return holds(condition, state, before) and (names_plugs or not _plugs(state))


def _term(piece: str, text: str) -> Term:
    """One term from its text."""
    match = _TERM.fullmatch(piece.strip())
    if match is None:
        raise OutOfReach("condition", text, _CONDITION)
    before, variable, op, written = match.groups()
    values = tuple(value.strip() for value in written.split("|"))
    if any(_VALUE.fullmatch(value) is None for value in values):
        raise OutOfReach("condition", text, _CONDITION)
    if before is None and variable.startswith("before."):
        before, variable = "before.", variable.removeprefix("before.")
    number = _number(values[0]) if len(values) == 1 else None
    if op not in ("=", "!=") and number is None:
        raise OutOfReach("condition", text, f"one figure behind {op}, such as coolant_c{op}95")
    compare: Op = op  # type: ignore[assignment]  # the pattern lets nothing else through
    return Term(variable=variable, op=compare, values=values, number=number, before=before is not None)


def _number(word: str) -> float | None:
    """The figure a value is, or None where it is a word."""
    try:
        return plain_figure(word, "")
    except OutOfReach:
        return None


def _term_holds(term: Term, state: State) -> bool:
    """Whether one term holds where its values are looked up in `state`."""
    if term.variable == "unplugged":
        off = _plugs(state)
        meets = any(value in off or (value == "none" and not off) for value in term.values)
        return meets if term.op == "=" else not meets
    if term.variable not in state:
        raise OutOfReach(term.variable, "no value", "a value for each variable of the state")
    value = state[term.variable]
    if term.op == "=" or term.op == "!=":
        return _is_one_of(value, term.values) == (term.op == "=")
    number = value if not isinstance(value, str) else _number(value)
    if number is None or term.number is None:
        raise OutOfReach(term.variable, value, f"a figure, since it is compared in {term.text}")
    return _compares(number, term.op, term.number)


def _is_one_of(value: str | float, words: tuple[str, ...]) -> bool:
    """Whether a variable's value is among the words; figures are compared as figures."""
    if isinstance(value, str):
        if value in words:
            return True
        number = _number(value)
        if number is None:
            return False
        value = number
    numbers = (_number(word) for word in words)
    return any(number is not None and abs(number - value) <= _NEAR for number in numbers)


def _compares(number: float, op: str, limit: float) -> bool:
    """Whether a figure stands on the asked side of a limit."""
    if op == ">=":
        return number >= limit
    if op == "<=":
        return number <= limit
    return number > limit if op == ">" else number < limit


def _plugs(state: State) -> frozenset[str]:
    """The connectors that are off in a state."""
    return frozenset(str(state.get("unplugged", "")).replace(",", " ").split()) - {"none"}
