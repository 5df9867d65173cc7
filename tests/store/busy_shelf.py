"""A process that edits a shelf as fast as it can and says what was acknowledged, until it is killed.

Run as `python -m tests.store.busy_shelf FOLDER`. Eight hands add wires of two rows each (one edit, two rows), change a
cell and take back; each line that is printed is an answer that somebody may rely on.
"""

from __future__ import annotations

import sys
import threading
from itertools import count
from pathlib import Path

from loomwright.job.job import Job
from loomwright.store.shelf import Shelf
from loomwright.store.text_rows import AddRow

HANDS = 8


def main(folder: str) -> None:
    """Edit until killed."""
    shelf = Shelf(Path(folder), lambda: "now")
    if not shelf.jobs():
        shelf.add("car", Job(), who="start")
    started = shelf.now("car").revision
    speaking = threading.Lock()

    def work(hand: int) -> None:
        for n in count():
            name = f"r{started}h{hand}n{n}"
            pair = [AddRow(sheet="wires", cells={"id": name + end}) for end in ("a", "b")]
            told = shelf.edit("car", pair, who=f"hand {hand}", token=name)
            with speaking:
                sys.stdout.write(f"{told.revision} {name}\n")
                sys.stdout.flush()

    for hand in range(HANDS):
        threading.Thread(target=work, args=(hand,), daemon=True).start()
    threading.Event().wait()


if __name__ == "__main__":
    main(sys.argv[1])
