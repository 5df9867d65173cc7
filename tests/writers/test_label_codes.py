"""The codes on the printed labels, read off the page by a reader that shares nothing with their writer."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest
import zxingcpp

from loomwright.car import Car
from loomwright.handover.pack import Pack
from loomwright.job.reading import job_from_text
from loomwright.writers.paper import pack_pdf
from tests.handover.bench_van import bench_rows

ADDRESS = "http://192.168.1.20:8140/j/my%20van/wire/"
SCALE = 4.0


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The pack of the bench van."""
    return Car(job_from_text(bench_rows())).pack()


@pytest.mark.parametrize("address", [ADDRESS, ""])
def test_every_label_is_read_back_as_the_page_of_its_wire(pack, address):
    read = []
    with pypdfium2.PdfDocument(pack_pdf(pack, address=address)) as document:
        for page in document:
            if "Two flags a wire" in page.get_textpage().get_text_range() or read:
                picture = np.ascontiguousarray(page.render(scale=SCALE).to_numpy()[..., 0])
                codes = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
                found = [one.text for one in codes if one.format == zxingcpp.BarcodeFormat.QRCode]
                if not found:
                    break
                read += found
    assert sorted(read) == sorted(f"{address}{label.wire}" for label in pack.labels)
