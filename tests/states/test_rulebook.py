"""Every rule module is asked for all that it has to say."""

from __future__ import annotations

from importlib import import_module

import pytest

from loomwright.states.rulebook import FAMILIES


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_a_family_asks_all_that_its_module_gives(family):
    module = import_module(f"loomwright.states.rules.{family.name}")
    asked = {name for name in ("watches", "sheet_findings") if getattr(family, name) is not None}
    assert asked == {name for name in ("watches", "sheet_findings") if hasattr(module, name)}
