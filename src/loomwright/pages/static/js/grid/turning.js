// Taking back and doing again: what was typed last may not be on the disk at all, and then it is put away here; all else
// is taken back at the desk, as a new revision, and the pick follows to where it was.

export class Turning {
  #done = 0; // the last gesture that is on the disk

  // of: api of the job, sheet, view, gestures, tell(words), go(), pick(row, column)
  constructor(of) {
    Object.assign(this, of);
  }

  done(gesture) {
    this.#done = Math.max(this.#done, gesture.turn);
  }

  turn(kind) {
    const last = this.gestures.list.at(-1);
    if (kind === "undo" && last && last.state !== "sent" && last.turn > this.#done) this.gestures.discard(last);
    else this.gestures.turnBack(kind);
    this.go();
  }

  async follow(kind, revision) {
    const done = kind === "undo" ? "Taken back" : "Done again";
    const answer = await fetch(`${this.api}/differences?${new URLSearchParams({ older: revision - 1, newer: revision })}`).catch(() => null);
    const different = answer?.ok ? await answer.json() : [];
    const here = different.find((one) => one.sheet === this.sheet.name);
    const elsewhere = [...new Set(different.map((one) => one.sheet))].filter((name) => name !== this.sheet.name);
    if (here && this.view.place(here.row_key) >= 0) this.pick(here.row_key, here.column);
    else if (!here && elsewhere.length) this.tell(`${done} in the sheet ${elsewhere.join(", ")}.`);
  }
}
