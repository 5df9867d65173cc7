// The line above the grid: where the pick is and where it leads, what the column holds and what may stand there, and what the cell says in
// full. It stays in its place while somebody types, so nothing jumps and nothing lies over the work.

const SHOWN_LETTERS = 400;

export class CellLine {
  #led = "";

  // of: place, leads, help, text as elements; name(row), idOf(row), sheet, picked; pages, photos: addresses to go on
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
    this.#lead(row);
    this.#write(this.help, row === "head" ? "Enter sorts by this column, once more the other way round, then not at all." : `${column.help}${allowed}.${of}${column.required ? " Must be there." : ""}`);
    this.#write(this.text, says.slice(0, SHOWN_LETTERS));
  }

  // to the page of what the row describes, and to its photos
  #lead(row) {
    const id = typeof row === "number" ? this.idOf(row) : "";
    const found = [];
    if (id && this.pages) found.push(["its page", this.pages + encodeURIComponent(id)]);
    if (typeof row === "number" && this.photos) found.push(["its photos", this.photos + row]);
    const key = JSON.stringify(found);
    if (key === this.#led) return;
    this.#led = key;
    this.leads.replaceChildren(...found.flatMap(([words, href]) => {
      const link = document.createElement("a");
      link.href = href;
      link.textContent = words;
      return [link, " "];
    }));
  }

  #write(place, words) {
    if (place.textContent !== words) place.textContent = words;
  }
}
