// The grid of a sheet: puts the pieces together. The plain table that came with the page stands until the rows are here.

import { addressOf, asked, noted } from "./address.js";
import { Bringing } from "./bringing.js";
import { CellLine } from "./cell_line.js";
import { Checks } from "./checks.js";
import { Choices } from "./choices.js";
import { listen as listenToClipboard } from "./clipboard.js";
import { Editor } from "./editor.js";
import { Gestures } from "./gestures.js";
import { Going } from "./going.js";
import { Hands } from "./hands.js";
import { Kept } from "./kept.js";
import { listen as listenToKeys } from "./keys.js";
import { MarginNotes } from "./margin_notes.js";
import { listen as listenToPointer } from "./pointing.js";
import { Rows } from "./rows.js";
import { Seen } from "./seen.js";
import { Sending } from "./sending.js";
import { Sheet } from "./sheet.js";
import { listen as listenToTies } from "./ties.js";
import { listen as listenToTools } from "./tools.js";
import { Turning } from "./turning.js";
import { View } from "./view.js";
import { Watching } from "./watching.js";

const find = (name) => document.querySelector(`[data-grid="${name}"]`);
const mount = find("sheet");
const { api, before, behind, findings, pages, photos, sheet: sheetName, why } = mount.dataset;
const jobApi = api.slice(0, api.lastIndexOf("/sheet/"));
const box = find("box");
const ROOM = 24; // beneath the foot of the grid, in px
const ROOM_FOR_NOTES = 112; // where the margin lies below: its head is seen
let isAway = false;
let isAsked = false;

// ---- the pieces; each is told what it needs and no more ----

const sheet = new Sheet();
const view = new View();
const kept = new Kept(document.body.dataset.job, sheetName);
const gestures = new Gestures(kept, () => changed());
const checks = new Checks({ api: jobApi, changed: () => changed(), known: () => renewStages() });
const seen = new Seen({ sheet, view, gestures, checks });
const { picked } = seen;
const nameOf = (row) => seen.nameOf(row);
const tell = (words) => notes.tell(words);

const rows = new Rows({
  box, picked,
  label: sheetName,
  keys: () => view.keys,
  cell: (row, column) => seen.cell(row, column),
  row: (key) => seen.row(key),
  sort: () => view.sort,
  canAdd: () => sheet.takesRows,
});
rows.grid.setAttribute("aria-describedby", "leave-help");

const bringing = new Bringing({ api, seen, rows, brought: (revision) => {
  const told = document.querySelector('[data-live="revision"] .value');
  if (told) told.textContent = revision;
  document.body.dataset.revision = String(revision);
} });

const hands = new Hands({ sheet, gestures, picked, view, tell, shown: () => seen.shown, go: () => {
  notes.hush();
  put();
  sending.go();
} });

const choices = new Choices({ list: find("choices"), more: find("more-choices"), api, revision: () => sheet.revision });
const editor = new Editor({ field: find("field"), rows, choices, nameOf, away: () => going.backToGrid(), put: (row, column, text, step, all) => {
  if (all && !picked.isOne) hands.everywhere(text);
  else {
    const there = hands.type(row, column, text);
    if (there !== row) picked.renumber(new Map([[row, there]]));
  }
  if (step?.key) picked.onward(step.key, step.back);
  else if (step?.way) picked.move(...step.way);
  going.backToGrid();
} });

const going = new Going({ seen, rows, editor, hands, changed: () => put(), moved: () => putPick() });
const line = new CellLine({ place: find("place"), help: find("help"), text: find("text"), leads: find("leads"), name: nameOf, idOf: (row) => sheet.cells.get(row)?.id ?? "", pages, photos, sheet, picked });

const notes = new MarginNotes({
  places: { typed: find("notes-typed"), elsewhere: find("notes-elsewhere"), cell: find("notes-cell"), rows: find("notes-rows"), check: find("notes-check") },
  sheet, gestures, checks, picked, kept, api, why, findings,
  grid: rows.grid,
  name: nameOf,
  weight: (severity) => document.getElementById(`weight-${severity}`).content.firstElementChild.cloneNode(true),
  addressOf: (row, column) => addressOf({ row, column, only: "", sort: null }),
  before: (row) => sheet.gone.get(row) ?? sheet.cells.get(row) ?? {},
  pick: (row, column) => {
    going.toRow(row, column);
    rows.grid.focus({ preventScroll: true });
  },
  release: (gesture) => {
    gestures.release(gesture);
    sending.go();
  },
  go: () => sending.go(),
  adopt: () => hands.adopt(),
  changed: () => changed(),
});

const sending = new Sending({
  api: jobApi, sheet, gestures, tell,
  bring: (revision, withNumbers) => bringing.bring(revision, withNumbers),
  numbered: (gesture, numbers) => {
    turning.done(gesture);
    picked.renumber(numbers);
    if (numbers.has(editor.row)) editor.row = numbers.get(editor.row);
    checks.look();
  },
  turned: (kind, revision) => turning.follow(kind, revision),
});

const turning = new Turning({ api: jobApi, sheet, view, gestures, tell, go: () => sending.go(), pick: (row, column) => going.pick(row, column || picked.column) });

const tools = listenToTools({
  root: mount, sheet, picked, view, gestures, going, hands, turning, sending,
  isAway: () => isAway || sending.isAway,
  grid: rows.grid,
});

const watching = new Watching({
  api: jobApi,
  revision: () => sheet.revision,
  news: async () => {
    await sending.idle();
    await bringing.bring();
    changed();
    checks.look();
  },
  away: (is) => {
    if (is === isAway) return;
    isAway = is;
    tools.put();
    if (!is) sending.go();
  },
});

// ---- what is seen follows from the sheet, the gestures, the view and the pick ----

function changed() {
  if (isAsked) return;
  isAsked = true;
  queueMicrotask(() => {
    isAsked = false;
    put();
  });
}

function put() {
  seen.rebuild();
  rows.changed();
  bringing.hold();
  editor.place();
  putBeside();
}

function putPick() {
  rows.changed();
  putBeside();
}

function putBeside() {
  const { row, column } = picked;
  notes.put(seen.notes, seen.shown);
  line.put(typeof row === "number" ? seen.read(row, column) : "");
  tools.put();
  noted({ row, column, only: view.only, sort: view.sort });
}

// the stages in the strip, once it is known what is left in each
async function renewStages() {
  const old = document.querySelector('[data-live="stages"]');
  const answer = await fetch(document.querySelector(".job-name").href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (!old || !answer?.ok || old.contains(document.activeElement)) return;
  const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector('[data-live="stages"]');
  if (now && now.textContent !== old.textContent) old.replaceWith(now);
}

// ---- begin ----

async function begin() {
  await bringing.bring();
  const of = asked();
  view.sort = of.sort && sheet.column(of.sort.column) ? of.sort : null;
  view.only = of.only;
  find("plain")?.remove();
  for (const one of mount.querySelectorAll("[data-with-scripts]")) one.hidden = false;
  const above = new ResizeObserver(fit);
  for (const one of document.querySelectorAll("header.strip, .sheet-head, .tools, .cell-line")) above.observe(one);
  fit();
  seen.lay();
  rows.columns(sheet.columns);
  picked.set(view.keys[0] ?? picked.rowAt(0), sheet.column(of.column)?.name ?? sheet.columns[0]?.name ?? "");
  put();
  if (!of.row || !going.toRow(of.row, of.column)) going.after();
  rows.grid.focus({ preventScroll: true });
  mount.dataset.ready = "yes";
  listenToKeys({ rows, picked, hands, going, turning, record: () => tools.record(), toFilter: () => tools.toFilter(), toSheet: (way) => {
    const address = way < 0 ? before : behind;
    if (address) location.assign(address);
  } });
  listenToPointer({ rows, picked, editor, going });
  listenToTies(box, document.querySelector(".margin"));
  listenToClipboard(rows.grid, hands, () => going.after());
  checks.look();
  sending.go();
  watching.go();
}

addEventListener("hashchange", () => {
  const of = asked();
  if (of.row) going.toRow(of.row, of.column);
});

// the grid ends where the window does, with room for what stands beneath; on a small window the page scrolls
function fit() {
  const below = find("foot").offsetHeight + (matchMedia("(max-width: 68rem)").matches ? ROOM_FOR_NOTES : ROOM);
  box.style.height = `${innerHeight - (box.getBoundingClientRect().top + scrollY) - below}px`;
}

addEventListener("resize", fit);

// nothing that was typed is left behind without a word
addEventListener("beforeunload", (event) => {
  if (editor.isChanged) editor.down();
  if (!gestures.isEmpty) event.preventDefault();
});

box.addEventListener("scroll", () => editor.place(), { passive: true });
begin();
