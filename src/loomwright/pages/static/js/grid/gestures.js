// What was typed and is not on the disk yet, one gesture after another, in the order of the hand.
//
//   waits     goes out next             sent       is under way
//   draft     a row for a sheet that only grows, until it is recorded
//   refused   could not stand there: kept as typed, with the reasons; goes out again once every refused cell is retyped
//   conflict  somebody else was quicker: kept until one of both values is chosen
//   stuck     the desk did not take it and did not say which cell: kept, can be sent again
//
// What is typed into a cell of a gesture that is held becomes part of it; all else goes out beside it.

export const HELD = new Set(["refused", "conflict", "stuck", "draft"]);
const SHOWN_LETTERS = 80; // of a text in a refusal

export const cellOf = (row, column) => `${row}|${column}`;

export function makeToken() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// a number for a row that the desk has not numbered yet
export function makeRow() {
  return -(crypto.getRandomValues(new Uint32Array(1))[0] * 1000 + Math.floor(Math.random() * 1000) + 1);
}

export class Gestures {
  list = [];
  turn = 0; // counts gestures, to know which was last
  #changed;
  #kept;

  constructor(kept, changed) {
    this.#kept = kept;
    this.#changed = changed;
    this.list = kept.all().map((one) => ({ ...one, state: one.state === "sent" ? "waits" : one.state, turn: ++this.turn }));
  }

  get isEmpty() {
    return this.list.length === 0;
  }

  count(...states) {
    return this.list.filter((one) => states.includes(one.state)).length;
  }

  next() {
    const one = this.list.find((each) => each.state === "waits" || each.state === "sent");
    return one?.state === "waits" ? one : null;
  }

  put(edits, says, state = "waits") {
    const held = this.list.filter((one) => HELD.has(one.state) && one.edits).map((one) => [one, indexOf(one)]);
    const rest = edits.filter((edit) => !held.some(([one, index]) => joined(edit, one, index)));
    for (const [one, index] of held) if (index.joined) this.#tidied(one);
    for (const edit of rest) if (edit.before < 0) edit.before = this.#real(edit.before);
    if (rest.length) this.#add({ token: makeToken(), says, edits: rest, state, open: [], told: [], conflicts: [] });
    this.#told();
    return rest.length > 0;
  }

  // taking back and doing again stand in the same line
  turnBack(kind) {
    this.#add({ token: makeToken(), says: kind, kind, state: "waits", open: [], told: [], conflicts: [] });
    this.#told();
  }

  stateOf(gesture, state) {
    gesture.state = state;
    this.#keep(gesture);
    this.#told();
  }

  // on the disk: rows have their own numbers now
  done(gesture, numbers) {
    this.#remove(gesture);
    if (numbers.size) {
      for (const other of this.list) {
        for (const edit of other.edits ?? []) {
          if (numbers.has(edit.row)) edit.row = numbers.get(edit.row);
          if (numbers.has(edit.before)) edit.before = numbers.get(edit.before);
        }
        this.#keep(other);
      }
    }
    this.#told();
  }

  refused(gesture, problems) {
    const wrong = new Map(problems.map((one) => [cellOf(one.column, one.found), one]));
    gesture.open = [];
    gesture.told = [];
    for (const [row, column, text] of cellsIn(gesture)) {
      const problem = wrong.get(cellOf(column, text.slice(0, SHOWN_LETTERS))) ?? wrong.get(cellOf(column, text.trim().slice(0, SHOWN_LETTERS)));
      if (!problem) continue;
      gesture.open.push(cellOf(row, column));
      gesture.told.push({ row, column, found: problem.found, allowed: problem.allowed, mend: problem.mend });
    }
    gesture.state = gesture.open.length ? "refused" : "stuck";
    if (!gesture.open.length) gesture.why = problems.map((one) => [one.allowed, one.mend].filter(Boolean).join(". ")).slice(0, 3).join(" ");
    this.#fold(gesture);
  }

  crossed(gesture, conflicts) {
    gesture.state = "conflict";
    gesture.conflicts = conflicts;
    this.#fold(gesture);
  }

  stuck(gesture, why) {
    gesture.state = "stuck";
    gesture.why = why;
    this.#fold(gesture);
  }

  // send what was held, as a new gesture
  release(gesture) {
    if (gesture.state === "sent") return;
    gesture.token = this.#renamed(gesture);
    gesture.state = "waits";
    gesture.open = [];
    gesture.told = [];
    gesture.conflicts = [];
    if (!gesture.edits?.length && !gesture.kind) this.#remove(gesture);
    else this.#keep(gesture);
    this.#told();
  }

  discard(gesture) {
    this.#remove(gesture);
    this.#told();
  }

  // of a conflict: leave what the other typed, or put one's own over it. before: the row as it was, where it is gone now
  settle(gesture, conflict, mine, before = null) {
    const rest = gesture.conflicts.filter((one) => one !== conflict);
    const edit = gesture.edits.find((one) => one.row === conflict.row_key && (one.do !== "set" || one.column === conflict.column));
    if (!mine || !edit) gesture.edits = gesture.edits.filter((one) => one !== edit);
    else if (conflict.theirs !== null) edit.old = conflict.theirs;
    else if (before) {
      // the row was taken out: it comes back as a new one, with all that was typed in it
      const sets = gesture.edits.filter((one) => one.do === "set" && one.row === conflict.row_key);
      const cells = { ...before, ...Object.fromEntries(sets.map((one) => [one.column, one.new])) };
      gesture.edits = gesture.edits.filter((one) => one.row !== conflict.row_key);
      gesture.edits.push({ do: "add", row: makeRow(), cells, before: null });
      rest.splice(0, rest.length, ...rest.filter((one) => one.row_key !== conflict.row_key));
    }
    gesture.conflicts = rest;
    if (rest.length) {
      this.#keep(gesture);
      this.#told();
    } else this.release(gesture);
  }

  #add(gesture) {
    gesture.turn = ++this.turn;
    this.list.push(gesture);
    this.#keep(gesture);
  }

  #remove(gesture) {
    this.list = this.list.filter((one) => one !== gesture);
    this.#kept.drop(gesture.token);
  }

  #renamed(gesture) {
    this.#kept.drop(gesture.token);
    return makeToken();
  }

  #keep(gesture) {
    this.#kept.put(gesture);
  }

  #told() {
    this.#changed();
  }

  // a gesture that is held after something became part of it: gone where nothing is left, sent where nothing is wrong
  #tidied(held) {
    const fresh = new Set(held.edits.filter((one) => one.do === "add").map((one) => one.row));
    held.edits = held.edits.filter((one) => one.do !== "set" || (one.new !== one.old && (one.row >= 0 || fresh.has(one.row))));
    if (!held.edits.length) this.#remove(held);
    else if (held.state === "refused" && !held.open.length) this.release(held);
    else this.#keep(held);
  }

  // what was typed meanwhile into the cells and rows of a gesture that was not taken becomes part of it
  #fold(gesture) {
    if (!gesture.kind) {
      const index = indexOf(gesture);
      for (const later of this.list.filter((one) => one !== gesture && one.state === "waits" && one.edits)) {
        const rest = later.edits.filter((edit) => !joined(edit, gesture, index));
        if (rest.length === later.edits.length) continue;
        later.edits = rest;
        if (rest.length) this.#keep(later);
        else this.#remove(later);
      }
    }
    if (gesture.edits) this.#tidied(gesture);
    else this.#keep(gesture);
    this.#told();
  }

  // the row behind, seen from the desk: rows of gestures that are held are not there yet
  #real(before) {
    for (const held of this.list) {
      const added = HELD.has(held.state) ? held.edits?.find((one) => one.do === "add" && one.row === before) : null;
      if (added) return added.before < 0 ? this.#real(added.before) : added.before;
    }
    return before;
  }
}

// whether an edit became part of a gesture that is held
function joined(edit, held, index) {
  if (edit.sheet && edit.do !== "set") return false;
  const added = index.rows.get(edit.row);
  if (edit.do === "set") {
    const typed = index.sets.get(cellOf(edit.row, edit.column));
    if (added) added.cells = { ...added.cells, [edit.column]: edit.new };
    else if (typed) typed.new = edit.new;
    else return false;
    retyped(edit, held);
  } else if (!added) return false;
  else if (edit.do === "drop") {
    held.edits = held.edits.filter((one) => one.row !== edit.row);
    held.open = held.open.filter((cell) => !cell.startsWith(`${edit.row}|`));
    held.told = held.told.filter((one) => one.row !== edit.row);
  } else added.before = edit.before;
  index.joined = true;
  return true;
}

function retyped(edit, held) {
  const cell = cellOf(edit.row, edit.column);
  if (held.open.includes(cell)) {
    held.open = held.open.filter((one) => one !== cell);
    held.told = held.told.filter((one) => cellOf(one.row, one.column) !== cell);
  }
  for (const one of held.conflicts) if (cellOf(one.row_key, one.column) === cell) one.yours = edit.new;
}

function indexOf(gesture) {
  const sets = new Map();
  const rows = new Map();
  for (const edit of gesture.edits ?? []) {
    if (edit.do === "set") sets.set(cellOf(edit.row, edit.column), edit);
    if (edit.do === "add") rows.set(edit.row, edit);
  }
  return { sets, rows, joined: false };
}

function* cellsIn(gesture) {
  for (const edit of gesture.edits ?? []) {
    if (edit.do === "set") yield [edit.row, edit.column, edit.new];
    if (edit.do === "add") for (const [column, text] of Object.entries(edit.cells)) yield [edit.row, column, text];
  }
}

// an edit as the desk reads it
export function plainEdit(edit, sheet) {
  const of = { do: edit.do, sheet: edit.sheet ?? sheet };
  if (edit.do === "set") return { ...of, row: edit.row, column: edit.column, old: edit.old, new: edit.new };
  if (edit.do === "add") return { ...of, cells: edit.cells, before: edit.before ?? null };
  if (edit.do === "drop") return { ...of, row: edit.row };
  return { ...of, row: edit.row, before: edit.before ?? null };
}
