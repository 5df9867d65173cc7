"""A browser without scripts on an application that checks nothing, for pages that do not ask what a check found."""

from __future__ import annotations

from dataclasses import replace

from fastapi.testclient import TestClient

from loomwright.pages.checking import CheckBench, Standing
from loomwright.store.shelf import Shelf
from loomwright.store.snapshot import Snapshot
from tests.pages.shelves import client_on

__all__ = ["Quiet", "quiet_client"]


class Quiet(CheckBench):
    """A bench at which a person has stopped every check."""

    def look(self, snapshot: Snapshot) -> Standing:
        return Standing(revision=snapshot.revision, problems=snapshot.problems, stopped=True)


def quiet_client(shelf: Shelf) -> TestClient:
    """A browser on that shelf."""
    client = client_on(shelf)
    client.app.state.desk = replace(client.app.state.desk, bench=Quiet())
    return client
