// Which notes belong in the margin of a sheet, and which rows each is about: what was not taken, what does not fit,
// what the rules find. A note has a number, and so has its mark in the row.

import { cellOf } from "./gestures.js";

const FIRST_ROW = 2; // the heading is row 1, as in a spreadsheet
const GRAVITY = { fault: 0, warning: 1, note: 2, "": 3 };

// name of a row, as findings name it -> its number
export function rowNames(sheet, shown) {
  const names = new Map();
  for (const key of shown.order) {
    const part = shown.text(key, "part");
    const terminal = shown.text(key, "terminal");
    if (part && terminal && sheet.name === "controller_pins") names.set(`${part}.${terminal}`, key);
    const own = shown.text(key, "id") || (["vehicle", "variables"].includes(sheet.name) ? shown.text(key, "name") : "");
    if (own && !names.has(own)) names.set(own, key);
  }
  return names;
}

function rowOf(place, names, sheet) {
  const plain = place.replace(/^~/, "");
  return names.get(plain) ?? (sheet.name === "parts" ? names.get(plain.split(".")[0]) : undefined);
}

export function notesOf({ sheet, shown, gestures, checks }) {
  const notes = [];
  const add = (note) => notes.push({ number: notes.length + 1, severity: "", ...note });
  for (const gesture of gestures.list) {
    if (gesture.state === "refused") add({ kind: "refused", gesture, severity: "fault", rows: unique(gesture.told.map((one) => one.row)) });
    else if (gesture.state === "stuck") add({ kind: "stuck", gesture, severity: "fault", rows: unique((gesture.edits ?? []).map((one) => one.row)) });
    else if (gesture.state === "conflict") add({ kind: "conflict", gesture, severity: "warning", rows: unique(gesture.conflicts.map((one) => one.row_key)) });
    else if (gesture.state === "draft") add({ kind: "draft", gesture, rows: unique(gesture.edits.map((one) => one.row)) });
  }
  if (checks.standing?.revision === sheet.revision) {
    for (const problem of checks.problems.filter((one) => one.sheet === sheet.name)) {
      const row = problem.row === null ? undefined : sheet.order[problem.row - FIRST_ROW];
      add({ kind: "problem", problem, severity: "fault", rows: row === undefined ? [] : [row], column: problem.column });
    }
  }
  const names = rowNames(sheet, shown);
  for (const finding of checks.findings) {
    const at = unique(finding.at.map((place) => rowOf(place, names, sheet)));
    const touches = unique(finding.touches.map((place) => rowOf(place, names, sheet)));
    if (at.length || touches.length) add({ kind: "finding", finding, severity: finding.severity, rows: unique([...at, ...touches]) });
  }
  return notes;
}

// row -> the mark beside its number: the gravest note, and whether there are more
export function flagsOf(notes) {
  const flags = new Map();
  for (const note of notes) {
    for (const row of note.rows) {
      const there = flags.get(row);
      if (!there) flags.set(row, { flag: String(note.number), more: false, severity: note.severity });
      else {
        there.more = true;
        if (GRAVITY[note.severity] < GRAVITY[there.severity]) Object.assign(there, { flag: String(note.number), severity: note.severity });
      }
    }
  }
  return flags;
}

// how a cell stands that is not on the disk yet: sent, held, wrong, crossed; empty where it is
export function markOf(gesture, row, column) {
  if (!gesture) return "";
  if (gesture.state === "waits" || gesture.state === "sent") return "sent";
  if (gesture.state === "refused" && gesture.open.includes(cellOf(row, column))) return "wrong";
  if (gesture.state === "conflict" && gesture.conflicts.some((one) => one.row_key === row && one.column === column)) return "crossed";
  return "held";
}

// problems of a refused gesture that say the same of several cells, told once with all that was found and all rows
export function grouped(told) {
  const groups = new Map();
  for (const one of told) {
    const name = JSON.stringify([one.column, one.allowed, one.mend]);
    if (!groups.has(name)) groups.set(name, { ...one, found: new Set(), rows: [] });
    groups.get(name).found.add(one.found);
    groups.get(name).rows.push(one.row);
  }
  return [...groups.values()].map((one) => ({ ...one, found: [...one.found] }));
}

function unique(rows) {
  return [...new Set(rows)].filter((row) => row !== undefined);
}
