// What a hand does with cells and rows, each as one gesture: type, clear, fill, paste, add, take out, move, adopt.

import { makeRow } from "./gestures.js";
import { NEW } from "./picked.js";
import { typedOf } from "./sheet.js";

const STAYS = "Rows of this sheet stay as they were recorded. Add a row that puts it right.";
const WORKED_OUT = "Rows of this sheet are worked out; nobody types them.";

export class Hands {
  // of: sheet, gestures, picked, view, shown(), tell(words), go()
  constructor(of) {
    Object.assign(this, of);
  }

  // whether a cell can be typed in; says why where it cannot
  mayType(row) {
    if (!this.sheet.takesRows) this.tell(WORKED_OUT);
    else if (this.sheet.growsOnly && row !== NEW && row >= 0) this.tell(STAYS);
    else return true;
    return false;
  }

  // texts: [row, heading, text]; rows that are not there yet come as arrays of cells
  put(texts, says, fresh = []) {
    const shown = this.shown();
    const edits = [];
    for (const [row, column, text] of texts) {
      const old = shown.text(row, column);
      if (old !== text) edits.push({ do: "set", row, column, old, new: text });
    }
    const rows = fresh.map((cells) => ({ do: "add", row: makeRow(), cells, before: null }));
    if (!edits.length && !rows.length) return [];
    this.gestures.put([...edits, ...rows], says, this.sheet.growsOnly ? "draft" : "waits");
    this.go();
    return rows.map((one) => one.row);
  }

  type(row, column, text) {
    if (!this.mayType(row)) return row;
    if (row !== NEW) {
      this.put([[row, column.name, text]], `typed ${column.name}`);
      return row;
    }
    if (!text.trim()) return row;
    return this.put([], "typed a row", [{ [column.name]: text }])[0] ?? row;
  }

  // the cells of the block, rows that are there only
  cells() {
    const { top, bottom, left, right } = this.picked.block();
    const names = this.sheet.columns.slice(left, right + 1).map((one) => one.name);
    return this.view.keys.slice(top, bottom + 1).map((row) => [row, names]);
  }

  rows() {
    return this.cells().map(([row]) => row);
  }

  everywhere(text) {
    this.#over((row, column) => [row, column, text], "put in a block");
  }

  clear() {
    this.#over((row, column) => [row, column, ""], "cleared");
  }

  // the first row of the block into all others; of one row alone, the cell above
  fillDown() {
    const { top, bottom } = this.picked.block();
    const from = this.view.keys[top === bottom ? top - 1 : top];
    if (from === undefined) return;
    const shown = this.shown();
    this.#over((row, column) => [row, column, shown.text(from, column)], "filled down");
  }

  // block: rows of texts, put with its upper left corner at the picked cell; a single one, or a block that goes in
  // whole times, fills all that is picked
  paste(block) {
    const { top, bottom, left, right } = this.picked.block();
    if (!this.mayType(this.view.keys[top] ?? NEW)) return;
    const names = this.sheet.columns.map((one) => one.name);
    const [high, wide] = [block.length, block[0].length];
    const room = names.length - left;
    if (wide > room) {
      this.tell(`The block is ${wide} columns wide, and from ${names[left]} there are ${room}. Nothing was taken: pick a cell further left, or copy fewer columns.`);
      return;
    }
    const times = (of, size) => (of % size === 0 ? of / size : 1);
    const [rows, columns] = [high * times(bottom - top + 1, high), wide * times(right - left + 1, wide)];
    const texts = [];
    const fresh = [];
    for (let down = 0; down < rows; down += 1) {
      const row = this.view.keys[top + down];
      const cells = {};
      for (let along = 0; along < columns; along += 1) {
        const text = block[down % high][along % wide];
        if (row === undefined) cells[names[left + along]] = text;
        else texts.push([row, names[left + along], text]);
      }
      if (row === undefined && Object.values(cells).some(Boolean)) fresh.push(cells);
    }
    const added = this.put(texts, `pasted ${rows * columns} ${rows * columns === 1 ? "cell" : "cells"}`, fresh);
    this.picked.anchor = { row: this.view.keys[top] ?? added[0] ?? NEW, column: names[left] };
    this.picked.row = this.view.keys[top + rows - 1] ?? added.at(-1) ?? NEW;
    this.picked.column = names[left + columns - 1];
  }

  // the block as texts; decided ones where they are asked for
  copied(withDecided) {
    const shown = this.shown();
    return this.cells().map(([row, names]) => names.map((name) => {
      const text = shown.text(row, name);
      if (!withDecided) return text;
      const column = this.sheet.column(name);
      const decided = typedOf(this.sheet.decisions(shown.name(row), column, text), column);
      return [text, decided].filter(Boolean).join("; ");
    }));
  }

  addRow(before) {
    if (!this.mayType(NEW)) return null;
    const row = makeRow();
    this.gestures.put([{ do: "add", row, cells: {}, before }], "added a row", this.sheet.growsOnly ? "draft" : "waits");
    this.go();
    return row;
  }

  dropRows() {
    const rows = this.rows();
    if (!rows.length || !rows.every((row) => this.mayType(row))) return;
    this.gestures.put(rows.map((row) => ({ do: "drop", row })), rows.length === 1 ? "took a row out" : `took ${rows.length} rows out`);
    this.go();
  }

  // by: one place up or down in the job's order
  moveRows(by) {
    const rows = this.rows();
    if (!rows.length || !rows.every((row) => this.mayType(row))) return;
    if (!this.view.isOwnOrder) {
      this.tell("Rows are moved in the job's own order. Show all rows, unsorted, first.");
      return;
    }
    const order = this.shown().order;
    const first = order.indexOf(rows[0]);
    const last = first + rows.length - 1;
    if (by < 0 ? first === 0 : last === order.length - 1) return;
    const before = by < 0 ? order[first - 1] : (order[last + 2] ?? null);
    this.gestures.put(rows.map((row) => ({ do: "move", row, before })), "moved rows");
    this.go();
  }

  // decisions of the block become typed text
  adopt() {
    const shown = this.shown();
    const edits = [];
    for (const [row, names] of this.cells()) {
      for (const name of names) {
        const column = this.sheet.column(name);
        const old = shown.text(row, name);
        const decisions = this.sheet.decisions(shown.name(row), column, old);
        if (!decisions.length) continue;
        edits.push({ do: "set", row, column: name, old, new: [old, typedOf(decisions, column)].filter(Boolean).join("; ") });
        for (const one of decisions) {
          if (one.key) edits.push({ do: "drop", sheet: "decisions", row: one.key });
          edits.push(...one.reasons.map((key) => ({ do: "drop", sheet: "reasons", row: key })));
        }
      }
    }
    if (!edits.length) this.tell("Nothing is decided in what is picked: a decided figure stands in soft ink.");
    else {
      this.gestures.put(edits, "adopted");
      this.go();
    }
  }

  #over(made, says) {
    const texts = this.cells().flatMap(([row, names]) => names.map((name) => made(row, name)));
    if (texts.length && texts.every(([row]) => this.mayType(row))) this.put(texts, says);
  }
}
