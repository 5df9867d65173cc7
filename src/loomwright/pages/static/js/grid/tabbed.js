// A block of cells as spreadsheets put it on the clipboard: cells apart by tabs, rows by line ends, and a cell that holds
// one of these, or begins with a quotation mark, between quotation marks that are doubled inside.

export function textOf(block) {
  return block.map((row) => row.map((cell) => (/["\t\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell)).join("\t")).join("\r\n");
}

export function blockOf(text) {
  const rows = [[]];
  let at = 0;
  while (at <= text.length) {
    const quoted = text[at] === '"' ? quotedCell(text, at) : null;
    const [cell, next] = quoted ?? plainCell(text, at);
    rows.at(-1).push(cell);
    at = next + 1;
    if (text[next] === "\t") continue;
    if (text[next] === "\r" && text[next + 1] === "\n") at += 1;
    if (next >= text.length || at >= text.length) break; // a line end at the very end begins no row
    rows.push([]);
  }
  const wide = Math.max(...rows.map((row) => row.length));
  return rows.map((row) => [...row, ...Array(wide - row.length).fill("")]);
}

// a cell between quotation marks; null where the mark is only a letter of the text
function quotedCell(text, from) {
  let cell = "";
  for (let at = from + 1; at < text.length; at += 1) {
    if (text[at] !== '"') cell += text[at];
    else if (text[at + 1] === '"') {
      cell += '"';
      at += 1;
    } else return at + 1 >= text.length || "\t\r\n".includes(text[at + 1]) ? [cell.replaceAll("\r\n", "\n"), at + 1] : null;
  }
  return null;
}

function plainCell(text, from) {
  let at = from;
  while (at < text.length && !"\t\r\n".includes(text[at])) at += 1;
  return [text.slice(from, at), at];
}
