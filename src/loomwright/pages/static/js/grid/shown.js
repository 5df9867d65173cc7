// The sheet as a person sees it: what the desk has, with what was typed and is not on the disk yet laid over it.

const NOTHING = new Map();

export function shownOf(sheet, gestures) {
  let order = sheet.order;
  let own = false; // the order is a copy that may be changed
  const over = new Map(); // row -> heading -> { text, gesture }
  const added = new Map(); // row -> gesture

  const change = () => {
    if (!own) order = [...order];
    own = true;
  };
  const put = (key, column, text, gesture) => {
    if (!over.has(key)) over.set(key, new Map());
    over.get(key).set(column, { text, gesture });
  };
  const place = (key, before) => {
    const at = before == null ? -1 : order.indexOf(before);
    order.splice(at < 0 ? order.length : at, 0, key);
  };

  for (const gesture of gestures) {
    const fresh = []; // rows at the end are put there together: a long block is not searched for each
    for (const edit of gesture.edits ?? []) {
      if (edit.sheet && edit.sheet !== sheet.name) continue;
      if (edit.do === "set") put(edit.row, edit.column, edit.new, gesture);
      else if (edit.do === "add") {
        for (const [column, text] of Object.entries(edit.cells)) put(edit.row, column, text, gesture);
        added.set(edit.row, gesture);
        if (edit.before == null) fresh.push(edit.row);
        else {
          change();
          place(edit.row, edit.before);
        }
      } else {
        change();
        const at = order.indexOf(edit.row);
        if (at >= 0) order.splice(at, 1);
        if (edit.do === "move" && at >= 0) place(edit.row, edit.before);
      }
    }
    if (fresh.length) {
      change();
      order = order.concat(fresh);
    }
  }

  const places = new Map(order.map((key, index) => [key, index]));
  return {
    order,
    added,
    place: (key) => places.get(key) ?? -1,
    text: (key, column) => over.get(key)?.get(column)?.text ?? sheet.text(key, column),
    // the gesture that a cell's text is of, where it is not on the disk yet
    typed: (key, column) => (over.get(key) ?? NOTHING).get(column)?.gesture ?? null,
    name: (key) => over.get(key)?.get("id")?.text ?? sheet.text(key, "id"),
  };
}
