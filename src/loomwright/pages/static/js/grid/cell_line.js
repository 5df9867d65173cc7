// The line above the grid: where the pick is, what the column holds and what may stand there, and what the cell says in
// full. It stays in its place while somebody types, so nothing jumps and nothing lies over the work.

const SHOWN_LETTERS = 400;

export class CellLine {
  // of: place, help, text as elements; name(row), sheet, picked
  constructor(of) {
    Object.assign(this, of);
  }

  put(says) {
    const { row, column: name } = this.picked;
    const column = this.sheet.column(name);
    if (!column) return;
    const where = typeof row === "number" ? `${this.name(row)} · ${name}` : row === "head" ? `heading · ${name}` : `new row · ${name}`;
    const allowed = column.allowed.length && !column.help.includes(column.allowed.join(" ")) ? ` (${column.allowed.join(" ")})` : "";
    const of = column.refers.length ? ` An id of ${column.refers.join(" or ")}.` : "";
    this.#write(this.place, where);
    this.#write(this.help, row === "head" ? "Enter sorts by this column, once more the other way round, then not at all." : `${column.help}${allowed}.${of}${column.required ? " Must be there." : ""}`);
    this.#write(this.text, says.slice(0, SHOWN_LETTERS));
  }

  #write(place, words) {
    if (place.textContent !== words) place.textContent = words;
  }
}
