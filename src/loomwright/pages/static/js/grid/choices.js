// Words that are likely in a cell, in the line above the grid, while somebody types: pushed by Alt and an arrow, or touched.

const SHOWN = 14;
const IN_ONE_CELL = new Set(["words", "refs", "list", "settings"]); // columns that hold several
const NONE = new Set(["number", "count", "value", "id"]);

export class Choices {
  active = -1;
  #words = [];
  #shown = [];
  #kept = new Map();
  #asked = 0;
  #column = null;

  // of: list, the element; api; revision()
  constructor(of) {
    Object.assign(this, of);
    this.list.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the keyboard
    this.list.addEventListener("click", (event) => {
      const place = [...this.list.querySelectorAll("[role=option]")].indexOf(event.target.closest("[role=option]"));
      if (place >= 0) this.taken(this.#shown[place]);
    });
  }

  async open(column, row, text) {
    this.#column = column;
    this.#words = [];
    this.active = -1;
    const turn = ++this.#asked;
    if (NONE.has(column.kind) && !column.allowed.length && column.name !== "kind") return this.show(text);
    const words = await this.#had(column, row);
    if (turn !== this.#asked) return undefined;
    this.#words = words;
    return this.show(this.typed?.() ?? text);
  }

  close() {
    this.#asked += 1;
    this.#words = [];
    this.#put([], 0);
  }

  // those that fit what is typed so far: first those that begin so
  show(text) {
    const piece = this.#piece(text).toLowerCase();
    const begin = this.#words.filter((word) => word.toLowerCase().startsWith(piece));
    const inside = piece ? this.#words.filter((word) => !word.toLowerCase().startsWith(piece) && word.toLowerCase().includes(piece)) : [];
    const found = [...begin, ...inside];
    const only = found.length === 1 && found[0] === this.#piece(text);
    this.#put(only ? [] : found.slice(0, SHOWN), only ? 0 : Math.max(found.length - SHOWN, 0));
  }

  step(by) {
    if (!this.#shown.length) return;
    const next = this.active < 0 && by < 0 ? this.#shown.length - 1 : this.active + by;
    this.active = (next + this.#shown.length) % this.#shown.length;
    this.#mark();
  }

  get word() {
    return this.active < 0 ? null : this.#shown[this.active];
  }

  get id() {
    return this.active < 0 ? "" : `choice-${this.active}`;
  }

  // the text of a cell once a word is taken
  withWord(text, word) {
    const whole = text.slice(0, text.length - this.#piece(text).length);
    if (this.#column?.kind === "settings" && whole.trim() && !whole.trimEnd().endsWith(";")) return `${whole.trimEnd()}; ${word}`;
    return whole + word;
  }

  #piece(text) {
    if (!this.#column || !IN_ONE_CELL.has(this.#column.kind)) return text.trim();
    return text.split(this.#column.kind === "settings" ? /;\s*/ : /\s+/).at(-1);
  }

  async #had(column, row) {
    const of = column.kind === "settings" ? row : "";
    const name = `${column.name}|${of}|${this.revision()}`;
    if (!this.#kept.has(name)) {
      if (this.#kept.size > 40) this.#kept.clear();
      const asked = new URLSearchParams({ column: column.name, ...(row > 0 ? { row } : {}) });
      try {
        const answer = await fetch(`${this.api}/words?${asked}`, { headers: { Accept: "application/json" } });
        if (!answer.ok) return column.allowed;
        this.#kept.set(name, await answer.json());
      } catch {
        return column.allowed; // the desk is away: the words that came with the page
      }
    }
    return this.#kept.get(name);
  }

  #put(words, more) {
    this.#shown = words;
    if (this.active >= words.length) this.active = -1;
    const options = words.map((word, place) => {
      const one = document.createElement("li");
      one.setAttribute("role", "option");
      one.id = `choice-${place}`;
      one.textContent = word;
      return one;
    });
    this.list.replaceChildren(...options);
    this.more.textContent = more ? `and ${more} more: type on` : "";
    this.list.hidden = !words.length;
    this.#mark();
  }

  #mark() {
    [...this.list.children].forEach((one, place) => one.setAttribute("aria-selected", String(place === this.active)));
    this.list.children[this.active]?.scrollIntoView({ block: "nearest", inline: "nearest" });
    this.marked?.(this.id);
  }
}
