// The page's address carries the picked cell, the sorting and what is left out, so that it can be sent on and come back to.

const AFTER_MS = 300;
let timer = 0;

// `?row=..&column=..`, or the same after `#`
export function asked() {
  const query = new URLSearchParams(location.search);
  const hash = new URLSearchParams(location.hash.slice(1));
  const of = (name) => hash.get(name) ?? query.get(name) ?? "";
  const sort = of("sort");
  return {
    row: Number(of("row")) || null,
    column: of("column"),
    only: of("only"),
    sort: sort ? { column: sort.replace(/^-/, ""), down: sort.startsWith("-") } : null,
  };
}

export function addressOf({ row, column, only, sort }) {
  const query = new URLSearchParams();
  if (row > 0) query.set("row", row);
  if (column) query.set("column", column);
  if (sort) query.set("sort", (sort.down ? "-" : "") + sort.column);
  if (only) query.set("only", only);
  const text = query.toString();
  return location.pathname + (text ? `?${text}` : "");
}

export function noted(of) {
  clearTimeout(timer);
  timer = setTimeout(() => history.replaceState(history.state, "", addressOf(of)), AFTER_MS);
}
