// Which rows are looked at, and in which order: sorting and leaving out change the view only, never the job's order.
//
//   words apart by blanks, each must be in the row;  heading=text: that cell is the text;  heading= : that cell is blank

const PIECES = /([\w.]+)=("[^"]*"|\S*)|"([^"]*)"|(\S+)/g;
const FIGURES = /(\d+(?:\.\d+)?)/;

export function wordsOf(text) {
  return [...text.matchAll(PIECES)].map(([, column, value, quoted, word]) =>
    column === undefined ? { text: (quoted ?? word).toLowerCase() } : { column, text: value.replaceAll('"', "").toLowerCase() });
}

// as people count: W2 before W10, and blank cells last
export function compare(one, other) {
  if (one === other) return 0;
  if (one === "" || other === "") return one === "" ? 1 : -1;
  const left = one.split(FIGURES);
  const right = other.split(FIGURES);
  for (let at = 0; at < Math.min(left.length, right.length); at += 1) {
    if (left[at] === right[at]) continue;
    if (at % 2) return Number(left[at]) - Number(right[at]) || left[at].length - right[at].length;
    return left[at].toLowerCase().localeCompare(right[at].toLowerCase()) || (left[at] < right[at] ? -1 : 1);
  }
  return left.length - right.length;
}

export class View {
  keys = [];
  sort = null; // { column, down }
  only = "";
  #places = new Map();
  #asked = "";
  #newest = 0; // number of the newest row when the view was made

  place(key) {
    return this.#places.get(key) ?? -1;
  }

  get isOwnOrder() {
    return !this.sort && !this.only.trim();
  }

  // shown: the sheet as a person sees it; read(row, heading): the text of a cell, decided ones included
  build(shown, columns, read) {
    const asked = JSON.stringify([this.sort, this.only]);
    if (this.isOwnOrder) this.keys = shown.order;
    else if (asked === this.#asked) this.keys = this.#kept(shown);
    else this.keys = this.#made(shown, columns, read);
    this.#asked = asked;
    this.#places = new Map(this.keys.map((key, index) => [key, index]));
  }

  #made(shown, columns, read) {
    const words = wordsOf(this.only);
    const fits = (key) => words.every((word) => {
      if (word.column !== undefined) return read(key, word.column).toLowerCase() === word.text;
      return columns.some((column) => read(key, column.name).toLowerCase().includes(word.text));
    });
    const keys = words.length ? shown.order.filter(fits) : [...shown.order];
    this.#newest = shown.order.reduce((most, key) => Math.max(most, key), 0);
    if (!this.sort) return keys;
    const { column, down } = this.sort;
    const texts = new Map(keys.map((key) => [key, read(key, column)]));
    return keys.sort((one, other) => {
      const [left, right] = [texts.get(one), texts.get(other)];
      const way = compare(left, right);
      return down && left !== "" && right !== "" ? -way : way;
    });
  }

  // nothing jumps under a hand that types: rows stay where they are, new ones follow the row they stand behind
  #kept(shown) {
    const there = new Set(this.keys);
    const keys = this.keys.filter((key) => shown.place(key) >= 0);
    const fresh = shown.order.filter((key) => !there.has(key) && (shown.added.has(key) || this.#isNew(key)));
    for (const key of fresh) {
      const behind = keys.indexOf(shown.order[shown.place(key) + 1]);
      if (behind >= 0) keys.splice(behind, 0, key);
      else keys.push(key);
    }
    return keys;
  }

  // a row that came since the view was made; one that was left out of it has a lower number
  #isNew(key) {
    return key > this.#newest;
  }
}
