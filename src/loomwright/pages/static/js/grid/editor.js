// The field in which a cell is typed. `over`: what is typed replaces the cell, and arrows go on to the next one.
// `within`: the text is kept and arrows walk inside it. It lies in the cell, grows with its text, and keeps what is typed
// until it is put down or away, whatever else happens on the page.

const MOST_LETTERS = 60;

export class Editor {
  row = null;
  column = null;
  mode = "over";
  was = "";

  // of: field, the text area; rows; choices; put(text, step, all) when put down; away() when put away
  constructor(of) {
    Object.assign(this, of);
    this.choices.taken = (word) => this.#take(word);
    this.choices.typed = () => this.field.value;
    this.choices.marked = (id) => {
      if (id) this.field.setAttribute("aria-activedescendant", id);
      else this.field.removeAttribute("aria-activedescendant");
    };
    this.field.addEventListener("keydown", (event) => this.#key(event));
    this.field.addEventListener("input", () => {
      this.#grow();
      this.choices.active = -1;
      this.choices.show(this.field.value);
    });
    this.field.addEventListener("pointerdown", () => {
      this.mode = "within";
    });
  }

  get isOpen() {
    return this.row !== null;
  }

  get isChanged() {
    return this.isOpen && this.field.value !== this.was;
  }

  open(row, column, text, mode) {
    this.row = row;
    this.column = column;
    this.mode = mode;
    this.was = text;
    this.field.value = mode === "over" ? "" : text;
    this.field.className = `grid-field set-${column.set_as}`;
    this.field.setAttribute("aria-label", `${column.name}, ${this.nameOf(row)}`);
    this.field.hidden = false;
    this.place();
    this.field.focus({ preventScroll: true });
    this.field.setSelectionRange(this.field.value.length, this.field.value.length);
    this.choices.open(column, row, this.field.value);
  }

  // over its cell, wherever that is now
  place() {
    if (!this.isOpen) return;
    const { left, top, width, height } = this.rows.spot(this.row, this.column.name);
    const style = this.field.style;
    style.left = `${left}px`;
    style.top = `${top}px`;
    style.minWidth = `${width}px`;
    style.minHeight = `${height}px`;
    this.#grow();
  }

  // put down what is typed; step: the key or the way by which the pick goes on
  down(step = null, all = false) {
    if (!this.isOpen) return;
    const text = this.field.value;
    const [row, column] = [this.row, this.column];
    this.#close();
    this.put(row, column, text, step, all);
  }

  dropped() {
    if (!this.isOpen) return;
    this.#close();
    this.away();
  }

  #close() {
    this.row = null;
    this.field.hidden = true;
    this.choices.close();
  }

  #key(event) {
    if (event.isComposing) return;
    const { key, shiftKey: back, altKey: alt } = event;
    const ctrl = event.ctrlKey || event.metaKey;
    const done = this.#choose(key, alt) || this.#leave(key, back, ctrl, alt);
    if (!done) return;
    event.preventDefault();
    event.stopPropagation();
  }

  #choose(key, alt) {
    const arrow = { ArrowDown: 1, ArrowUp: -1 }[key];
    if (arrow && (alt || this.choices.active >= 0)) {
      this.choices.step(arrow);
      return true;
    }
    if (this.choices.active < 0) return false;
    if (key === "Escape") {
      this.choices.active = -1;
      this.choices.show(this.field.value);
      return true;
    }
    if (key !== "Enter" && key !== "Tab") return false;
    this.field.value = this.choices.withWord(this.field.value, this.choices.word);
    this.choices.active = -1;
    return false; // and put down by the same key
  }

  #leave(key, back, ctrl, alt) {
    if (key === "Enter" && alt) {
      this.field.setRangeText("\n", this.field.selectionStart, this.field.selectionEnd, "end");
      this.#grow();
    } else if (key === "Enter") this.down(ctrl ? null : { key: "Enter", back }, ctrl);
    else if (key === "Tab") this.down({ key: "Tab", back });
    else if (key === "Escape") this.dropped();
    else if (key === "F2") this.mode = this.mode === "over" ? "within" : "over";
    else {
      const way = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[key];
      if (!way || this.mode === "within" || ctrl || alt || back) return false;
      this.down({ way });
    }
    return true;
  }

  #take(word) {
    this.field.value = this.choices.withWord(this.field.value, word);
    this.#grow();
    this.field.focus({ preventScroll: true });
    this.choices.active = -1;
    this.choices.show(this.field.value);
  }

  #grow() {
    const lines = this.field.value.split("\n");
    const longest = Math.min(Math.max(...lines.map((line) => line.length)) + 2, MOST_LETTERS);
    this.field.style.width = `calc(${longest}ch + 1rem)`;
    this.field.rows = Math.max(lines.length, ...lines.map((line) => Math.ceil(line.length / MOST_LETTERS)));
  }
}
