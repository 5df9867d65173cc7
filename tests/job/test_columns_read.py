"""Columns: what no answer rests on says so, so that nobody fills it in for nothing."""

from __future__ import annotations

import re

from loomwright.job.columns import field_name
from loomwright.job.schema import SHEETS, column_of, headings
from tests.shape.source import modules

KEPT = "kept, no answer rests on it"


def test_a_column_that_no_code_reads_says_so_and_no_other():
    code = "".join(module.text for module in modules() if not module.name.startswith("loomwright.job.rows_"))
    read = set(re.findall(r"\.([a-z_0-9]+)\b", code)) | {"soak_hours"}  # tries to start are shown as they were typed
    says = {(sheet, name): KEPT in column_of(sheet, name).help for sheet in SHEETS for name in headings(sheet)}
    unread = {(sheet, name): field_name(SHEETS[sheet], name) not in read for sheet, name in says}
    assert {place for place, kept in says.items() if kept} == {
        place for place, is_unread in unread.items() if is_unread
    }
