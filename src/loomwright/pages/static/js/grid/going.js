// Going about in the grid: to a cell, along, to an end, into a cell to type; and what is looked at: sorted, left out.

import { HEAD, NEW } from "./picked.js";

export class Going {
  // of: seen, rows, editor, hands, changed() when all is to be put anew, moved() when the pick alone is another
  constructor(of) {
    Object.assign(this, of);
    this.picked = of.seen.picked;
    this.view = of.seen.view;
  }

  get names() {
    return this.picked.columns();
  }

  pick(row, column, extend = false, follow = true) {
    this.picked.set(row, column, extend);
    if (follow) this.rows.reveal(this.picked.row, this.picked.column);
    this.moved();
  }

  // after the pick went on by itself
  after(done) {
    this.rows.reveal(this.picked.row, this.picked.column);
    this.moved();
    return done;
  }

  // to a row that may be left out of the view
  toRow(row, column) {
    if (this.view.place(row) < 0) this.showAll();
    if (this.view.place(row) < 0) return false;
    this.rows.box.scrollTop = Math.max(this.view.place(row) * this.rows.rowHigh - this.rows.box.clientHeight / 3, 0);
    this.pick(row, this.names.includes(column) ? column : this.picked.column || this.names[0]);
    return true;
  }

  toEnd(end, column, extend) {
    const [first, last] = [this.view.keys[0] ?? NEW, this.view.keys.at(-1) ?? NEW];
    const [left, right] = [this.names[0], this.names.at(-1)];
    const single = {
      first: [this.picked.rowAt(0), left],
      last: [last, right],
      left: [this.picked.row, left],
      right: [this.picked.row, right],
    }[end];
    if (single) return this.pick(...single, extend);
    const [top, bottom] = end === "row" ? [this.picked.anchor.row, this.picked.row] : [first, last];
    this.picked.set(top, end === "column" ? column : left);
    this.picked.set(bottom, end === "column" ? column : right, true);
    return this.moved();
  }

  jump(down, along, extend) {
    const { keys } = this.view;
    this.picked.jump(down, along, extend, (place, at) => !keys[place] || !this.seen.read(keys[place], this.names[at]));
    this.after();
  }

  edit(mode) {
    const { row, column: name } = this.picked;
    const column = this.seen.sheet.column(name);
    if (row === HEAD || !column || !this.hands.mayType(row)) return;
    this.rows.reveal(row, name);
    this.editor.open(row, column, row === NEW ? "" : this.seen.shown.text(row, name), mode);
  }

  backToGrid() {
    this.rows.grid.focus({ preventScroll: true });
    this.after();
  }

  sortBy(column) {
    const now = this.view.sort;
    this.view.sort = now?.column !== column ? { column, down: false } : now.down ? null : { column, down: true };
    this.changed();
    this.rows.reveal(this.picked.row, this.picked.column);
  }

  only(words) {
    this.view.only = words;
    this.changed();
  }

  likeThis() {
    const text = this.seen.read(this.picked.row, this.picked.column);
    const piece = `${this.picked.column}=${/\s/.test(text) || text === "" ? `"${text}"` : text}`;
    this.only([this.view.only.trim(), piece].filter(Boolean).join(" "));
  }

  showAll() {
    this.view.only = "";
    this.view.sort = null;
    this.changed();
  }

  addRow(where) {
    const place = this.picked.place(this.picked.row) + (where === "behind" ? 1 : 0);
    const row = this.hands.addRow(this.view.keys[Math.max(place, 0)] ?? null);
    if (row !== null) this.pick(row, this.picked.column || this.names[0]);
  }
}
