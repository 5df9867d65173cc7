"""What does a page say that cannot be shown?"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Refusal

__all__ = ["RefusalPage", "refusal_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusalPage:
    """Why there is nothing to show. says: one sentence each."""

    title: str
    says: tuple[str, ...]


def refusal_page(refusal: Refusal) -> RefusalPage:
    """A refusal in words."""
    if isinstance(refusal, OutOfReach):
        return RefusalPage(
            title=f"There is no such {refusal.name}",
            says=(f"Asked for: {refusal.found}.", f"There is: {refusal.allowed}."),
        )
    if isinstance(refusal, BadDocument):
        return RefusalPage(title="It was not taken", says=tuple(problem.says for problem in refusal.problems))
    if isinstance(refusal, NoAnswer):
        return RefusalPage(title="There is no answer", says=(refusal.question, *refusal.reasons))
    return RefusalPage(title="It cannot be shown", says=(str(refusal),))
