// Which cell is picked, and the block from there to an anchor. Rows are known by their numbers, so that a row which
// another person puts in above moves nothing; HEAD is the row of headings, NEW the blank row at the end.

export const HEAD = "head";
export const NEW = "new";

export class Picked {
  row = NEW;
  column = "";
  anchor = { row: NEW, column: "" };
  tabbedFrom = ""; // column in which walking with Tab began: Enter comes back to it
  #last = 0; // place of the picked row, for when it is taken out

  // of: place(row) among the rows looked at, rowAt(place), last() place, columns() as headings in order
  constructor(of) {
    Object.assign(this, of);
  }

  set(row, column, extend = false) {
    this.tabbedFrom = "";
    this.row = row;
    this.column = column;
    if (!extend) this.anchor = { row, column };
    this.#last = this.place(row);
  }

  // the row or column that was picked may be gone
  hold() {
    const names = this.columns();
    if (!names.includes(this.column)) this.column = names[0] ?? "";
    if (!names.includes(this.anchor.column)) this.anchor.column = this.column;
    if (this.row !== HEAD && this.place(this.row) < 0) this.row = this.rowAt(Math.min(Math.max(this.#last, 0), this.last()));
    if (this.anchor.row !== HEAD && this.place(this.anchor.row) < 0) this.anchor = { row: this.row, column: this.column };
    this.#last = this.place(this.row);
  }

  // the numbers of rows that were given one
  renumber(numbers) {
    if (numbers.has(this.row)) this.row = numbers.get(this.row);
    if (numbers.has(this.anchor.row)) this.anchor = { ...this.anchor, row: numbers.get(this.anchor.row) };
  }

  move(rows, columns, extend = false) {
    const names = this.columns();
    const place = Math.min(Math.max(this.place(this.row) + rows, extend ? 0 : -1), this.last());
    const at = Math.min(Math.max(names.indexOf(this.column) + columns, 0), names.length - 1);
    this.set(this.rowAt(place), names[at], extend);
  }

  // with Enter to the next row, in the column in which walking with Tab began; with Tab to the next cell, at the end of
  // a row to the next one. False where there is none.
  onward(key, back) {
    const names = this.columns();
    const by = back ? -1 : 1;
    if (key === "Enter") {
      this.set(this.rowAt(Math.min(Math.max(this.place(this.row) + by, 0), this.last())), this.tabbedFrom || this.column);
      return true;
    }
    const from = this.tabbedFrom || this.column;
    const at = names.indexOf(this.column) + by;
    const place = this.place(this.row) + (at < 0 ? -1 : at >= names.length ? 1 : 0);
    if (place < -1 || place > this.last()) return false;
    this.set(this.rowAt(place), names.at(at % names.length));
    this.tabbedFrom = from;
    return true;
  }

  // to the edge of what is written, as with Ctrl and an arrow; blank(place, at) tells blank cells
  jump(rows, columns, extend, blank) {
    const names = this.columns();
    let place = this.place(this.row);
    let at = names.indexOf(this.column);
    const inside = (p, a) => p >= 0 && p <= this.last() && a >= 0 && a < names.length;
    if (!inside(place + rows, at + columns)) return;
    const from = place < 0 || blank(place, at);
    const along = !from && !blank(place + rows, at + columns);
    do {
      place += rows;
      at += columns;
    } while (inside(place + rows, at + columns) && (along ? !blank(place + rows, at + columns) : blank(place, at)));
    this.set(this.rowAt(place), names[at], extend);
  }

  // the block as places: top, bottom, left, right, all inside; rows of headings are none
  block() {
    const names = this.columns();
    const rows = [Math.max(this.place(this.row), 0), Math.max(this.place(this.anchor.row), 0)];
    const at = [names.indexOf(this.column), names.indexOf(this.anchor.column)];
    return { top: Math.min(...rows), bottom: Math.max(...rows), left: Math.min(...at), right: Math.max(...at) };
  }

  get isOne() {
    return this.row === this.anchor.row && this.column === this.anchor.column;
  }
}
