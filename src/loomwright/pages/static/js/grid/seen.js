// What is seen of the sheet: what the desk has, with what was typed laid over it, in the order that is looked at, and the
// mark that each row has in the margin.

import { flagsOf, markOf, notesOf } from "./notes.js";
import { HEAD, NEW, Picked } from "./picked.js";
import { typedOf } from "./sheet.js";
import { shownOf } from "./shown.js";

const FIRST_ROW = 2; // the heading is row 1, as in a spreadsheet
const NO_FLAG = { flag: "", more: false, severity: "" };
const BLANK = { text: "", decided: "", mark: "" };

export class Seen {
  notes = [];
  #flags = new Map();

  // of: sheet, view, gestures, checks
  constructor(of) {
    Object.assign(this, of);
    this.lay();
    this.picked = new Picked({
      place: (row) => (row === HEAD ? -1 : row === NEW ? this.view.keys.length : this.view.place(row)),
      rowAt: (place) => this.#rowAt(place),
      last: () => this.view.keys.length - (this.sheet.takesRows ? 0 : 1),
      columns: () => this.sheet.columns.map((one) => one.name),
    });
  }

  // lay what was typed over what the desk has
  lay() {
    this.shown = shownOf(this.sheet, this.gestures.list);
    this.view.build(this.shown, this.sheet.columns, (row, name) => this.read(row, name));
  }

  rebuild() {
    this.lay();
    this.picked.hold();
    this.note();
    this.#flags = flagsOf(this.notes);
  }

  note() {
    this.notes = notesOf(this);
  }

  cell(row, column) {
    if (row === NEW) return BLANK;
    const text = this.shown.text(row, column.name);
    return { text, decided: this.#decided(row, column, text), mark: markOf(this.shown.typed(row, column.name), row, column.name) };
  }

  // the text of a cell, what was decided for it included
  read(row, name) {
    const column = this.sheet.column(name);
    const text = this.shown.text(row, name);
    return column ? [text, this.#decided(row, column, text)].filter(Boolean).join("; ") : text;
  }

  row(key) {
    return key === NEW ? { number: "+", ...NO_FLAG } : { number: this.numberOf(key), ...(this.#flags.get(key) ?? NO_FLAG) };
  }

  numberOf(row) {
    const place = this.shown.place(row);
    return place < 0 ? "" : place + FIRST_ROW;
  }

  nameOf(row) {
    if (row === NEW) return "new row";
    if (row === HEAD) return "heading";
    return this.shown.name(row) || `row ${this.numberOf(row) || "taken out"}`;
  }

  #decided(row, column, text) {
    return row > 0 ? typedOf(this.sheet.decisions(this.shown.name(row), column, text), column) : "";
  }

  #rowAt(place) {
    if (place < 0) return HEAD;
    return this.view.keys[place] ?? (this.sheet.takesRows ? NEW : (this.view.keys.at(-1) ?? HEAD));
  }
}
