// Brings what the desk has, one question after another, so that nothing is overtaken; and holds what is in sight where it
// is when others put rows in or take them out above it.

import { askSheet } from "./sheet.js";

export class Bringing {
  #asking = Promise.resolve();
  #anchor = null; // the first row in sight, before something new came

  // of: api of the sheet, seen, rows, brought(revision)
  constructor(of) {
    Object.assign(this, of);
  }

  // withNumbers: gives the numbers of the rows that came with that revision
  bring(revision = 0, withNumbers = false) {
    const one = this.#asking.then(() => this.#bring(revision, withNumbers));
    this.#asking = one.catch(() => {});
    return one;
  }

  async #bring(revision, withNumbers) {
    const { sheet } = this.seen;
    const numbers = withNumbers ? (await askSheet(this.api, { revision, since: revision - 1 })).added.sort((one, other) => one - other) : [];
    const answer = await askSheet(this.api, sheet.revision ? { since: sheet.revision } : {});
    const columns = JSON.stringify(sheet.columns);
    this.#anchor ??= this.#first();
    sheet.take(answer);
    if (JSON.stringify(sheet.columns) !== columns) {
      this.seen.lay();
      this.rows.columns(sheet.columns);
    }
    this.brought(sheet.revision);
    return numbers;
  }

  hold() {
    const { key, place } = this.#anchor ?? {};
    this.#anchor = null;
    const now = key === undefined ? -1 : this.seen.view.place(key);
    if (now < 0 || now === place || !this.rows.box.scrollTop) return;
    this.rows.paint();
    this.rows.box.scrollTop += (now - place) * this.rows.rowHigh;
  }

  #first() {
    const place = Math.floor(this.rows.box.scrollTop / this.rows.rowHigh);
    return { key: this.seen.view.keys[place], place };
  }
}
