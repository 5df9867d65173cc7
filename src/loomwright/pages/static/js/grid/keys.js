// The keyboard in the grid, as the fingers of somebody who works in spreadsheets expect it.

const PAGES = new Set(["/", "?"]); // keys of every page: search, and the list of keys
const ARROWS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

export function listen({ rows, picked, hands, going, turning, record, toFilter, toSheet }) {
  let mayLeave = false; // after Escape, Tab leaves the grid

  const walk = (event, ctrl) => {
    const way = ARROWS[event.key];
    if (!way) return false;
    if (event.altKey && event.shiftKey && way[0]) going.after(hands.moveRows(way[0]));
    else if (event.altKey && event.key === "ArrowDown") going.edit("within");
    else if (event.altKey) return false;
    else if (ctrl) going.jump(...way, event.shiftKey);
    else going.after(picked.move(...way, event.shiftKey));
    return true;
  };

  const far = (event, ctrl) => {
    const { key, shiftKey: extend, altKey: alt } = event;
    if (key === "PageUp" || key === "PageDown") {
      const way = key === "PageUp" ? -1 : 1;
      if (alt) toSheet(way);
      else going.after(picked.move(way * rows.inBox, 0, extend));
    } else if (key === "Home" || key === "End") going.toEnd(key === "Home" ? (ctrl ? "first" : "left") : ctrl ? "last" : "right", null, extend);
    else return false;
    return true;
  };

  const withCtrl = (event) => {
    const { key, shiftKey: shift } = event;
    const done = {
      a: () => going.toEnd("all"),
      d: () => going.after(hands.fillDown()),
      z: () => turning.turn(shift ? "redo" : "undo"),
      y: () => turning.turn("redo"),
      f: () => toFilter(),
      " ": () => going.toEnd("column", picked.column),
      Enter: () => (record() ? null : going.after(hands.adopt())),
      Delete: () => going.after(hands.dropRows()),
    }[key.length === 1 ? key.toLowerCase() : key];
    if (!done) return false;
    done();
    return true;
  };

  const plain = (event) => {
    const { key, shiftKey: shift, altKey: alt } = event;
    if (key === "F2") going.edit("within");
    else if (key === "Enter" && picked.row === "head") going.sortBy(picked.column);
    else if (key === "Enter") going.after(picked.onward("Enter", shift));
    else if (key === "Tab") return !mayLeave && going.after(picked.onward("Tab", shift));
    else if (key === "Delete" || key === "Backspace") going.after(hands.clear());
    else if (key === "Insert") going.addRow(shift ? "behind" : "before");
    else if (key === " " && shift) going.toEnd("row");
    else if (key === " " && picked.row === "head") going.sortBy(picked.column);
    else if ((key.length === 1 || key === "Process") && !alt && !PAGES.has(key) && picked.row !== "head") {
      going.edit("over");
      return false; // the letter itself goes into the field that has the keyboard now
    } else return false;
    return true;
  };

  rows.grid.addEventListener("keydown", (event) => {
    if (event.isComposing || event.target !== rows.grid) return;
    const altGraph = event.getModifierState("AltGraph");
    const ctrl = (event.ctrlKey || event.metaKey) && !altGraph;
    const leaving = event.key === "Escape";
    const done = walk(event, ctrl) || far(event, ctrl) || (ctrl ? withCtrl(event) : plain(altGraph ? { key: event.key, shiftKey: event.shiftKey, altKey: false } : event));
    if (leaving) mayLeave = true;
    else if (event.key !== "Tab" && event.key !== "Shift") mayLeave = false;
    if (done) event.preventDefault();
  });
  rows.grid.addEventListener("focus", () => { mayLeave = false; });
}
