// The rows that are in sight, and no others: five thousand scroll as lightly as fifty. Rows that leave at one end come in
// again at the other; a row is written only when it is new in sight or something in it has changed.

import { swatch } from "./insulation.js";
import { HEAD, NEW } from "./picked.js";

const BEYOND = 6; // rows kept ready above and below
const LEAST_LETTERS = 5;
const MOST_LETTERS = { figure: 14, code: 26, words: 38 };
const RESTS_MS = 80; // after the last scrolling
const HEAD_ROOM = 2; // letters' room for the mark of sorting
const MEASURED = 1000; // rows looked at for the width of a column

const make = (kind, role) => {
  const one = document.createElement("div");
  one.className = kind;
  if (role) one.setAttribute("role", role);
  return one;
};

export class Rows {
  #columns = [];
  #stamp = 0; // counts changes; a row that was written at this count is up to date
  #inSight = new Map(); // key -> row element
  #spare = [];
  #asked = 0;
  #named = null; // the cell that is named to who cannot see it
  #high = 0;
  #rights = []; // where each column ends
  #fixed = 0; // width of what stays at the left
  #isWhole = false; // the next picture is of all columns
  #rest = 0;

  // of: box that scrolls, label, keys(), cell(key, column) -> { text, decided, mark, state }, row(key) -> { number,
  //     flag, more, severity, name }, picked, sort(), canAdd()
  constructor(of) {
    Object.assign(this, of);
    this.grid = make("grid", "grid");
    this.grid.tabIndex = 0;
    this.grid.setAttribute("aria-label", this.label);
    this.grid.setAttribute("aria-multiselectable", "true");
    this.head = make("grid-head", "rowgroup");
    this.body = make("grid-body", "rowgroup");
    this.grid.append(this.head, this.body);
    this.box.append(this.grid);
    this.box.addEventListener("scroll", () => this.#scrolled(), { passive: true });
    new ResizeObserver(() => {
      this.#high = 0;
      this.#rights = [];
      this.#fixed = 0;
      this.changed();
    }).observe(this.box);
  }

  columns(columns) {
    this.#columns = columns;
    for (const row of [...this.#inSight.values(), ...this.#spare]) row.remove();
    this.#inSight.clear();
    this.#spare = [];
    const row = make("grid-row", "row");
    row.setAttribute("aria-rowindex", "1");
    const corner = make("grid-number", "columnheader");
    corner.setAttribute("aria-colindex", "1");
    const says = document.createElement("span");
    says.className = "unseen";
    says.textContent = "row";
    corner.append(says);
    row.append(corner, ...columns.map((column, place) => this.#heading(column, place)));
    this.head.replaceChildren(row);
    this.grid.setAttribute("aria-colcount", String(columns.length + 1));
    this.#widths();
    this.#high = 0;
    this.#rights = [];
    this.#fixed = 0;
    this.changed();
  }

  // something is different: write what is in sight anew with the next picture
  changed() {
    this.#stamp += 1;
    this.#soon();
  }

  get rowHigh() {
    this.#high ||= this.head.firstElementChild?.offsetHeight ?? 0;
    return this.#high || 28;
  }

  // rows that fit into the box at once
  get inBox() {
    return Math.max(Math.floor((this.box.clientHeight - this.head.offsetHeight) / this.rowHigh) - 1, 1);
  }

  place(column) {
    return this.#columns.findIndex((one) => one.name === column);
  }

  // where a cell lies in the box's own measure
  spot(key, column) {
    const head = this.head.firstElementChild.children[this.place(column) + 1];
    const isFixed = getComputedStyle(head).position === "sticky" && this.place(column) === 0;
    const left = isFixed ? this.box.scrollLeft + this.head.firstElementChild.firstElementChild.offsetWidth : head.offsetLeft;
    const place = this.#placeOf(key);
    return { left, top: this.head.offsetHeight + place * this.rowHigh, width: head.offsetWidth, height: this.rowHigh };
  }

  reveal(key, column) {
    const { top, left, width, height } = this.spot(key, column);
    const headHigh = this.head.offsetHeight;
    if (key !== HEAD) {
      this.#lengthen(); // a row that is new since it was drawn last lies beyond what could be scrolled to
      if (top < this.box.scrollTop + headHigh) this.box.scrollTop = top - headHigh;
      else if (top + height > this.box.scrollTop + this.box.clientHeight) this.box.scrollTop = top + height - this.box.clientHeight;
    }
    if (this.place(column) > 0) {
      const fixed = this.#fixedWidth();
      if (left < this.box.scrollLeft + fixed) this.box.scrollLeft = left - fixed;
      else if (left + width > this.box.scrollLeft + this.box.clientWidth) this.box.scrollLeft = Math.min(left - fixed, left + width - this.box.clientWidth);
    }
    this.paint();
  }

  // what was touched: { row, column }, column empty for the number of the row; null outside cells
  touched(target) {
    const cell = target.closest?.(".grid-cell, .grid-number, .grid-heading");
    if (!cell || !this.grid.contains(cell)) return null;
    const row = cell.parentElement.rowKey ?? HEAD;
    return { row, column: cell.classList.contains("grid-number") ? "" : this.#columns[[...cell.parentElement.children].indexOf(cell) - 1].name };
  }

  // the nearest cell to a point on the screen, for drawing a block beyond the edge
  near(x, y) {
    const box = this.box.getBoundingClientRect();
    const keys = this.keys();
    const place = Math.floor((y - box.top - this.head.offsetHeight + this.box.scrollTop) / this.rowHigh);
    const heads = [...this.head.firstElementChild.children].slice(1);
    const at = heads.findIndex((head) => x < head.getBoundingClientRect().right);
    const key = keys[Math.min(Math.max(place, 0), keys.length - 1)];
    return { row: key ?? NEW, column: this.#columns[at < 0 ? heads.length - 1 : at].name };
  }

  // while it scrolls, only the columns in sight are written; the others follow when it rests
  #scrolled() {
    this.#soon(false);
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => this.paint(), RESTS_MS);
  }

  paint(isWhole = true) {
    cancelAnimationFrame(this.#asked);
    this.#asked = 0;
    this.#isWhole = false;
    if (!this.#columns.length) return;
    const keys = this.keys();
    const count = this.#lengthen();
    const high = this.rowHigh;
    this.grid.setAttribute("aria-rowcount", String(count + 1));
    const first = Math.max(Math.floor(this.box.scrollTop / high) - BEYOND, 0);
    const last = Math.min(Math.ceil((this.box.scrollTop + this.box.clientHeight) / high) + BEYOND, count);
    const wanted = new Map();
    for (let place = first; place < last; place += 1) wanted.set(keys[place] ?? NEW, place);
    for (const [key, row] of this.#inSight) {
      if (wanted.has(key)) continue;
      this.#inSight.delete(key);
      this.#spare.push(row);
    }
    const [from, to] = isWhole ? [0, this.#columns.length] : this.#columnsInSight();
    for (const [key, place] of wanted) this.#write(key, place, high, from, to);
    for (const row of this.#spare) if (row.isConnected) row.hidden = true;
    this.#headings();
    this.#active();
  }

  // as high as all rows are; how many they are, the blank one counted
  #lengthen() {
    const count = this.keys().length + (this.canAdd() ? 1 : 0);
    const bodyHigh = `${count * this.rowHigh}px`;
    if (this.body.style.height !== bodyHigh) this.body.style.height = bodyHigh;
    return count;
  }

  #write(key, place, high, from, to) {
    let row = this.#inSight.get(key);
    if (!row) {
      row = this.#spare.pop() ?? this.#blankRow();
      this.#inSight.set(key, row);
      row.rowKey = key;
      row.stamp = -1;
      row.hidden = false;
    }
    if (row.place !== place || row.high !== high) {
      row.place = place;
      row.high = high;
      row.style.transform = `translateY(${place * high}px)`;
      row.setAttribute("aria-rowindex", String(place + 2));
      row.stamp = -1;
    }
    if (row.stamp !== this.#stamp) {
      row.stamp = this.#stamp;
      row.from = row.to = 0;
      this.#writeNumber(row.firstElementChild, key);
    }
    const block = this.picked.block();
    const inRows = place >= block.top && place <= block.bottom && this.picked.row !== HEAD;
    for (let at = 0; at < to; at += 1) {
      // the first column is always in sight; what was written since the last change is not written again
      if ((at > 0 && at < from) || (at >= row.from && at < row.to)) continue;
      const column = this.#columns[at];
      this.#writeCell(row.children[at + 1], key, column, {
        isPicked: key === this.picked.row && column.name === this.picked.column,
        isInBlock: inRows && at >= block.left && at <= block.right,
      });
    }
    if (from > row.to || to < row.from) [row.from, row.to] = [from, to];
    else [row.from, row.to] = [Math.min(row.from, from), Math.max(row.to, to)];
  }

  #writeNumber(cell, key) {
    const { number, flag, more, severity } = this.row(key);
    const written = `${number}|${flag}|${more}|${severity}`;
    if (cell.written === written) return;
    cell.written = written;
    cell.replaceChildren();
    if (flag) {
      const mark = document.createElement("span");
      mark.className = `flag ${severity}`;
      mark.dataset.note = flag;
      const says = document.createElement("span");
      says.className = "unseen";
      says.textContent = `${severity || "note"} `;
      mark.append(says, flag, more ? "+" : "");
      cell.append(mark);
    }
    cell.append(String(number));
  }

  #writeCell(cell, key, column, { isPicked, isInBlock }) {
    const { text, decided, mark } = this.cell(key, column);
    const kind = `grid-cell set-${column.set_as}${mark ? ` is-${mark}` : ""}${isInBlock && !this.picked.isOne ? " in-block" : ""}${isPicked ? " is-picked" : ""}`;
    if (cell.className !== kind) {
      cell.className = kind;
      cell.setAttribute("aria-selected", String(isInBlock || isPicked));
      if (mark === "wrong") cell.setAttribute("aria-invalid", "true");
      else cell.removeAttribute("aria-invalid");
    }
    if (cell.text === text && cell.decided === decided) return;
    cell.text = text;
    cell.decided = decided;
    if (!decided && column.kind !== "colour") {
      cell.textContent = text;
      return;
    }
    cell.replaceChildren();
    if (text && column.kind === "colour") cell.append(swatch(text));
    if (text) cell.append(text);
    if (decided) {
      const soft = document.createElement("span");
      soft.className = "decided";
      const says = document.createElement("span");
      says.className = "unseen";
      says.textContent = " decided";
      soft.append(text ? `; ${decided}` : decided, says);
      cell.append(soft);
    }
  }

  #blankRow() {
    const row = make("grid-row", "row");
    const number = make("grid-number", "rowheader");
    number.setAttribute("aria-colindex", "1");
    row.append(number);
    this.#columns.forEach((column, place) => {
      const cell = make("grid-cell", "gridcell");
      cell.setAttribute("aria-colindex", String(place + 2));
      cell.text = "";
      cell.decided = "";
      row.append(cell);
    });
    this.body.append(row);
    return row;
  }

  #heading(column, place) {
    const cell = make(`grid-heading set-${column.set_as}`, "columnheader");
    cell.id = `heading-${place}`;
    cell.setAttribute("aria-colindex", String(place + 2));
    const name = document.createElement("span");
    name.textContent = column.name;
    const way = document.createElement("span");
    way.className = "sort-mark";
    way.setAttribute("aria-hidden", "true");
    cell.append(name, way);
    return cell;
  }

  #headings() {
    const sort = this.sort();
    this.#columns.forEach((column, place) => {
      const cell = this.head.firstElementChild.children[place + 1];
      const way = sort?.column === column.name ? (sort.down ? "descending" : "ascending") : "none";
      if (cell.getAttribute("aria-sort") !== way) {
        cell.setAttribute("aria-sort", way);
        cell.lastElementChild.textContent = { ascending: "↓", descending: "↑", none: "↕" }[way];
      }
      cell.classList.toggle("is-picked", this.picked.row === HEAD && this.picked.column === column.name);
    });
  }

  // the cell that has the keyboard: it is named to who cannot see it, as long as it is in sight
  #active() {
    const { row, column } = this.picked;
    const at = this.place(column);
    this.#named?.removeAttribute("id");
    this.#named = null;
    let id = "";
    if (row === HEAD && at >= 0) id = `heading-${at}`;
    else if (this.#inSight.has(row) && at >= 0) {
      id = "picked-cell";
      this.#named = this.#inSight.get(row).children[at + 1];
      this.#named.id = id;
    }
    if (id) this.grid.setAttribute("aria-activedescendant", id);
    else this.grid.removeAttribute("aria-activedescendant");
  }

  // places of the columns in sight, from the first to beyond the last
  #columnsInSight() {
    const { scrollLeft, clientWidth } = this.box;
    if (!this.#rights.length) this.#rights = [...this.head.firstElementChild.children].slice(1).map((head) => head.offsetLeft + head.offsetWidth);
    const fixed = this.#fixed ||= this.#fixedWidth();
    const first = this.#rights.findIndex((right, place) => place > 0 && right > scrollLeft + fixed);
    const last = this.#rights.findIndex((right) => right > scrollLeft + clientWidth);
    return [Math.max(first, 0) <= 1 ? 0 : first, last < 0 ? this.#columns.length : last + 1];
  }

  #soon(isWhole = true) {
    this.#isWhole ||= isWhole;
    if (!this.#asked) this.#asked = requestAnimationFrame(() => this.paint(this.#isWhole));
  }

  #placeOf(key) {
    const place = this.picked.place(key);
    return place < 0 ? this.keys().length : place;
  }

  #fixedWidth() {
    const row = this.head.firstElementChild;
    const second = row.children[1];
    const isFixed = second && getComputedStyle(second).position === "sticky";
    return row.firstElementChild.offsetWidth + (isFixed ? second.offsetWidth : 0);
  }

  #widths() {
    const keys = this.keys().slice(0, MEASURED);
    const tracks = this.#columns.map((column) => {
      let letters = Math.max(column.name.length + HEAD_ROOM, LEAST_LETTERS);
      for (const key of keys) {
        const { text, decided } = this.cell(key, column);
        letters = Math.max(letters, text.length + (decided ? decided.length + (text ? 2 : 0) : 0));
      }
      const most = Math.max(MOST_LETTERS[column.set_as], column.name.length + HEAD_ROOM);
      const paint = column.kind === "colour" ? 4 : 0;
      return `calc(${Math.min(letters, most) + paint + 0.5}ch + 1rem)`;
    });
    this.grid.style.setProperty("--tracks", `var(--number-wide) ${tracks.join(" ")}`);
  }
}
