"""Quantities: unit endings, figures typed with a unit, wire gauges, and rounding for print.

Inside the core each quantity has one unit, named by the ending of its field (`length_mm`, `size_mm2`). Other units
exist only here and at the edges. Nothing here knows of a job.
"""

from loomwright.quantities.endings import ENDINGS, ending_of, unit_word
from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.quantities.parsing import QuantityFault, parse_quantity
from loomwright.quantities.printing import for_print, with_unit

__all__ = [
    "ENDINGS",
    "QuantityFault",
    "ending_of",
    "for_print",
    "gauge_size_mm2",
    "parse_quantity",
    "unit_word",
    "with_unit",
]
