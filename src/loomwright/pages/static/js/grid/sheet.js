// The sheet as the desk has it: rows by their own numbers, their order, columns, and what was decided for blank cells.

export class Sheet {
  name = "";
  revision = 0;
  columns = [];
  order = [];
  cells = new Map(); // row -> heading -> text
  gone = new Map(); // rows that were taken out while the page was open, as they were
  growsOnly = false;
  takesRows = true;
  #decided = new Map(); // name of a row -> heading -> decision

  // an answer of the desk: the whole sheet, or what is different since the revision that is here
  take(answer) {
    this.name = answer.sheet;
    this.revision = answer.revision;
    this.columns = answer.columns;
    this.growsOnly = answer.grows_only;
    this.takesRows = answer.takes_rows;
    for (const row of answer.rows) this.cells.set(row.row, row.cells);
    if (answer.order) {
      this.order = answer.order;
      const there = new Set(answer.order);
      for (const [key, cells] of this.cells) {
        if (there.has(key)) continue;
        this.gone.set(key, cells);
        this.cells.delete(key);
      }
    }
    this.#decided = new Map();
    for (const one of answer.decided) {
      if (!this.#decided.has(one.row)) this.#decided.set(one.row, new Map());
      this.#decided.get(one.row).set(one.column, one);
    }
  }

  text(key, column) {
    return this.cells.get(key)?.[column] ?? "";
  }

  column(name) {
    return this.columns.find((one) => one.name === name);
  }

  // the decisions that stand in a cell: one of a blank cell, or those settings of a part that are not typed
  decisions(rowName, column, text) {
    const of = this.#decided.get(rowName);
    if (!of) return [];
    if (column.kind !== "settings") return text === "" && of.has(column.name) ? [of.get(column.name)] : [];
    const typed = new Set(text.split(";").map((piece) => piece.split("=")[0].trim()));
    const begins = `${column.name}.`;
    return [...of.values()].filter((one) => one.column.startsWith(begins) && !typed.has(one.column.slice(begins.length)));
  }
}

// how decisions read in a cell, as they would be typed there
export function typedOf(decisions, column) {
  if (column.kind !== "settings") return decisions[0]?.value ?? "";
  return decisions.map((one) => `${one.column.slice(column.name.length + 1)}=${one.value}`).join("; ");
}

// what the desk has of a sheet; of: revision, since
export async function askSheet(api, of = {}) {
  const asked = new URLSearchParams(Object.entries(of).filter(([, value]) => value));
  const answer = await fetch(`${api}?${asked}`, { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(30000) });
  if (!answer.ok) throw new Error(`${api}: ${answer.status}`);
  return answer.json();
}
