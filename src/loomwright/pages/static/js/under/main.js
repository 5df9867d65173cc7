// The page under the dash: one thing, one button. What is done is on the tablet before the next thing is shown; it is
// sent when there is a way. What this page knows of the job is the day's work it took along.

import { alongNext, isDone, isOpen, lastDone, leftOf, next, settledBy, withKept } from "./choosing.js";
import { close, closedWords } from "./closing.js";
import { Hand } from "./hand.js";
import { actsOf, addAct, dayOf, dropActs, dropPicture, held, hold, newId, picturesOf, putActs, putDay, WAITING } from "./keep.js";
import { make, part, plural } from "./making.js";
import { keptPicture } from "./pictures.js";
import { fetchDay, LetGo, Refused, refusedWords, sendActs, sendPictures } from "./sending.js";
import { moreShown, refusedShown, toChoose } from "./sheets_shown.js";
import { cardShown, openCautions, showWire, thingShown } from "./thing_shown.js";
import { afterTouch } from "../touch.js";

const EVERY_MS = 5000;
const DAY_EVERY_MS = 30000;
const KEPT_ACTS = 200;
const WORDS = { survey: "read", build: "build", fit: "fit", prove: "prove", start: "start" };

const [, , jobWord, page = "next", ...pieces] = location.pathname.split("/").map(decodeURIComponent);
const job = jobWord ?? "";
const asked = new URLSearchParams(location.search);

const state = {
  day: null, tag: "", acts: [], pictures: [], later: new Set(), chosen: "", view: "", note: null,
  held: { hand: "right", look: "dark", work: "", along: "" }, device: "", closed: null, signal: navigator.onLine ? "" : "no signal", keptWhole: false,
  card: ["wire", "part", "connector"].includes(page) ? pieces.join("/") : "",
};
const hand = new Hand(part("hand"), answered);
let things = new Map();

const works = () => state.day?.works ?? [];
const workNow = () => works().find((one) => one.work === state.held.work) ?? works().find((one) => one.left) ?? works()[0];
const waits = () => state.acts.filter((act) => act.state === WAITING).length + state.pictures.filter((one) => !one.refused).length;
const toSettle = () => state.acts.filter((act) => act.state === "choose" || act.state === "refused");

function took(day, tag) {
  state.day = day;
  state.tag = tag;
  things = new Map(day.works.flatMap((one) => one.things.map((thing) => [thing.id, thing])));
}

const listOf = (thing) => works().find((one) => one.work === thing.work)?.things ?? [];

function thingNow(settled) {
  const chosen = things.get(state.chosen);
  if (chosen && isOpen(chosen, listOf(chosen), settled)) return chosen;
  const work = workNow();
  return work ? (alongNext(state.held.along, work.things, settled, state.later) ?? next(work.things, settled, state.later)) : null;
}

function alongOf(thing) {
  if (!thing?.wire || state.held.work !== thing.work) return null;
  if (state.held.along === thing.wire) return { words: "All wires", go: () => along("") };
  return thing.work === "build" ? { words: `Only ${thing.wire}`, go: () => along(thing.wire) } : null;
}

function along(wire) {
  state.chosen = "";
  state.note = null;
  return set("along", wire);
}

const nameOf = (id) => state.day.cards.find((one) => one.sheet === "parts" && one.id === id)?.title.slice(id.length + 1) ?? "";

function draw() {
  document.documentElement.dataset.look = state.held.look;
  document.body.dataset.hand = state.held.hand;
  if (state.closed) {
    drawClosed();
    return;
  }
  const settled = settledBy(state.acts);
  const settle = toSettle();
  drawWorks(settled);
  drawFoot(settle);
  const work = part("work");
  if (state.view === "more") {
    showWire("", "");
    hand.show(null, {});
    work.replaceChildren(...moreShown({ acts: state.acts, held: state.held, set, close: () => look(""), job, keptWhole: state.keptWhole, pictures: state.pictures }));
  } else if (state.view === "settle" && settle.length) {
    showWire("", "");
    hand.show(null, {});
    work.replaceChildren(settle[0].state === "choose" ? toChoose(settle[0], choose) : refusedShown(settle[0], putAside));
  } else if (!state.day) {
    showWire("", "");
    hand.show(null, {});
    work.replaceChildren(make("p", { class: "u-says" }, state.signal ? "The day’s work of this job is not on this tablet yet, and there is no way to the desk. Open this page once where there is signal." : "Fetching the day’s work."));
  } else if (state.card) drawCard(settled);
  else drawThing(settled);
}

// drawn because of something that came, not of a touch: never under a thumb, nor over a reason half typed; the thing
// that is looked at stays while it is open
function drawByItself() {
  const { thing } = hand;
  if (hand.isTypedIn()) {
    drawFoot(toSettle());
    return;
  }
  if (thing) state.chosen = thing.id;
  draw();
  if (thing && hand.thing?.id !== thing.id) hand.changed();
}

function drawClosed() {
  showWire("", "");
  hand.show(null, {});
  part("works").replaceChildren();
  part("foot").replaceChildren();
  const again = make("a", { class: "u-beside", href: `/pair?to=${encodeURIComponent(location.pathname)}` }, "Pair it again");
  part("work").replaceChildren(make("h2", { class: "u-does", id: "thing", tabindex: "-1" }, "Let go"), ...closedWords(state.closed).map((words) => make("p", { class: "u-says" }, words)), again);
}

function drawThing(settled) {
  const thing = thingNow(settled);
  const last = lastDone(state.acts, state.pictures);
  const work = part("work");
  const note = state.note ? make("p", { class: `u-note${state.note.isTrouble ? " is-trouble" : ""}`, role: "status" }, state.note.says) : null;
  showWire(thing?.wire, thing?.colour);
  if (thing) {
    const failed = state.acts.findLast((act) => act.thing === thing.id && act.holds === false && act.holds_up);
    work.replaceChildren(...[note, ...thingShown(thing, { texts: state.day.cautions, said: failed ? thing.again : "", nameOf })].filter(Boolean));
  } else work.replaceChildren(...[note, nothingLeft()].filter(Boolean));
  hand.show(thing, {
    undo: last ? undo : null,
    undoWord: last ? `takes back: ${last.does}` : "",
    later: () => putOff(thing),
    along: alongOf(thing),
    again: state.note?.again ? () => pick(state.note.again) : null, hasSignal: !state.signal,
    picture: thing?.photo?.length ? { many: state.pictures.filter((one) => one.thing === thing.id).length + Number(state.sent?.get(thing.id) ?? 0), take: (file) => takePicture(thing, file) } : null,
  });
  openCautions();
}

function nothingLeft() {
  const work = workNow();
  const words = work?.waits ? `This list is ${work.waits}: it comes when there is signal and the desk has it.` : "Nothing is left here.";
  return make("div", {}, make("h2", { class: "u-does", id: "thing", tabindex: "-1" }, work?.title ?? ""), make("p", { class: "u-says" }, words));
}

function drawCard(settled) {
  const card = state.day.cards.find((one) => one.id === state.card);
  hand.show(null, {});
  if (!card) {
    showWire("", "");
    part("work").replaceChildren(make("h2", { class: "u-does", id: "thing", tabindex: "-1" }, state.card), make("p", { class: "u-says" }, "There is no such wire or part in the day’s work on this tablet. Fetch it anew where there is signal."), toWork());
    return;
  }
  const of = [...things.values()].filter((thing) => thing.wire === card.id || thing.here === card.id || thing.here?.startsWith(`${card.id}.`));
  showWire(card.sheet === "wires" ? card.id : "", card.colour);
  part("work").replaceChildren(...cardShown(card, of.map((thing) => ({ thing, done: isDone(thing, settled), open: isOpen(thing, listOf(thing), settled) })), (thing) => pick(thing, card), toWork()));
}

const toWork = () => make("button", { type: "button", class: "u-beside", onclick: () => { state.card = ""; draw(); } }, "To the next thing");

function drawWorks(settled) {
  const now = workNow();
  const buttons = works().map((one) => {
    const left = one.waits ? "…" : leftOf(one.things, settled);
    return make("button", { type: "button", "aria-pressed": String(one === now && !state.card), onclick: () => { state.chosen = ""; state.card = ""; state.note = null; state.view = ""; set("work", one.work, { along: "" }); } }, make("span", {}, WORDS[one.work] ?? one.work), make("span", { class: "u-left" }, left === 0 ? "✓" : String(left)));
  });
  part("works").replaceChildren(...buttons);
}

function drawFoot(settle) {
  const many = waits();
  const says = many ? `${many} ${many === 1 ? "waits" : "wait"} to be sent` : state.acts.length ? "all is sent" : "nothing to send";
  part("foot").replaceChildren(
    make("p", { class: `u-waits${many ? " has" : ""}`, role: "status" }, make("strong", {}, says), state.signal ? ` · ${state.signal}` : ""),
    settle.length ? make("button", { type: "button", class: "u-beside is-settle", onclick: () => look("settle") }, settle.some((act) => act.state === "choose") ? `${settle.length} to choose` : `${settle.length} not taken`) : "",
    make("button", { type: "button", class: "u-beside", "aria-pressed": String(state.view === "more"), onclick: () => look(state.view === "more" ? "" : "more") }, state.view === "more" ? "Back" : "More"),
  );
}

function look(view) {
  state.view = view;
  draw();
}

// what is begun from the label of a wire goes on along that wire
function pick(thing, card = null) {
  state.chosen = thing.id;
  state.card = "";
  state.note = null;
  set("work", thing.work, card?.sheet === "wires" ? { along: card.id } : {});
}

async function set(name, value, more = {}) {
  state.held = { ...state.held, [name]: value, ...more };
  draw();
  await hold("held", state.held);
}

async function putOff(thing) {
  state.later.delete(thing.id);
  state.later.add(thing.id);
  state.chosen = "";
  state.note = null;
  draw();
  await hold(`later ${job}`, [...state.later]);
}

// the act is on the disk of the tablet before the next thing is shown
async function answered(thing, said, { holds, shown, band }) {
  const act = await addAct({
    id: newId(), job, thing: thing.id, work: thing.work, does: thing.does, shown, made: new Date().toISOString(), base: state.day.revision,
    sheet: thing.sheet, cells: thing.cells, asks: thing.asks, said, back: "", choose: "", state: WAITING, holds, holds_up: Boolean(thing.holds_up), settled: false,
  }).catch(notKept);
  if (!act) return;
  state.acts.push(act);
  state.chosen = "";
  state.later.delete(thing.id);
  const isTrouble = holds === false;
  const verdict = holds === null ? "kept" : holds ? "as expected" : `not as expected: ${band}`;
  state.note = shown || isTrouble ? { says: `${thing.wire || thing.here || ""} ${shown}: ${verdict}`.trim(), isTrouble, again: isTrouble && !thing.holds_up ? thing : null } : null;
  if (state.held.along) await endOfWire();
  draw();
  toTop();
  soon();
}

async function endOfWire() {
  const wire = state.held.along;
  if (alongNext(wire, workNow()?.things ?? [], settledBy(state.acts), state.later)) return;
  state.note ??= { says: `${wire}: nothing is left to do with it now`, isTrouble: false };
  await set("along", "");
}

function notKept(fault) {
  state.note = { says: `The tablet did not keep that: ${fault?.message ?? fault}. Make room on it and do it again.`, isTrouble: true };
  draw();
  return null;
}

function toTop() {
  part("work").scrollTop = 0;
  document.getElementById("thing")?.focus({ preventScroll: true });
}

async function undoPicture(picture) {
  await sending;
  const isHere = (await picturesOf(job)).some((one) => one.seq === picture.seq);
  if (isHere) await dropPicture(picture.seq);
  state.pictures = await picturesOf(job);
  state.note = isHere ? { says: `Taken back: ${picture.does}`, isTrouble: false } : { says: "The picture is at the desk already, and stays there.", isTrouble: true };
  draw();
  toTop();
}

async function undo() {
  const last = lastDone(state.acts, state.pictures);
  if (!last) return;
  if (last.isPicture) return undoPicture(last);
  const back = await addAct({ id: newId(), job, thing: last.thing, work: last.work, does: `took back: ${last.does}`, made: new Date().toISOString(), base: state.day.revision, back: last.id, state: WAITING, settled: false }).catch(notKept);
  if (!back) return;
  state.acts.push(back);
  state.chosen = things.has(last.thing) ? last.thing : "";
  state.note = { says: `Taken back: ${last.does}`, isTrouble: false };
  draw();
  toTop();
  soon();
}

async function choose(act, which) {
  await putActs([{ ...act, choose: which, state: WAITING }]);
  await reload();
  if (!toSettle().length) state.view = "";
  draw();
  soon();
}

async function putAside(act) {
  await putActs([{ ...act, state: "aside" }]);
  await reload();
  if (!toSettle().length) state.view = "";
  draw();
}

async function takePicture(thing, file) {
  await keptPicture(job, thing, file).catch(notKept);
  state.pictures = await picturesOf(job);
  draw();
  soon();
}

// what was done while this was being read is not lost sight of
async function reload() {
  const read = await actsOf(job);
  const newest = read.at(-1)?.seq ?? 0;
  state.acts = [...read, ...state.acts.filter((act) => act.seq > newest)];
  state.pictures = await picturesOf(job);
}

// what the desk has taken and the day's work shows is settled; the oldest of it goes
async function settleOlder() {
  const known = state.day?.revision ?? 0;
  const fresh = state.acts.filter((act) => !act.settled && act.state === "taken" && act.revision <= known).map((act) => ({ ...act, settled: true }));
  if (fresh.length) await putActs(fresh);
  const spare = state.acts.filter((act) => act.settled).slice(0, -KEPT_ACTS).map((act) => act.seq);
  if (spare.length) await dropActs(spare);
  if (fresh.length || spare.length) await reload();
}

let sending = null;
let fetchedAt = -DAY_EVERY_MS;

function soon() {
  sending ??= send().finally(() => { sending = null; });
  return sending;
}

async function closeDown() {
  state.day = null;
  things = new Map();
  state.closed = await close();
  draw();
}

// paired again before all was handed in: what is left goes the usual way
async function openAgain() {
  state.closed = null;
  await hold("closed", { handed: 0, pictures: 0 });
  fetchedAt = -DAY_EVERY_MS;
}

async function send() {
  if (state.closed && !state.closed.left) return;
  const before = state.signal;
  try {
    const had = waits();
    await sendActs(job, state.device, async () => { await reload(); drawFoot(toSettle()); });
    if (state.closed) await openAgain();
    const pictures = state.pictures.length;
    if (pictures) await sendPictures(job);
    state.signal = "";
    const isDue = performance.now() - fetchedAt > DAY_EVERY_MS || works().some((one) => one.waits || one.isOlder);
    const fresh = isDue ? await fetchDay(job, state.tag) : null;
    if (isDue) fetchedAt = performance.now();
    if (fresh) {
      const known = state.day;
      fresh.day = withKept(fresh.day, known);
      took(fresh.day, fresh.tag);
      if (!known) afterTouch(drawByItself); // seen first, written down then
      await putDay(fresh);
    }
    const isOffered = isDue && (await hand.offer());
    if (had || pictures || fresh) await reload();
    await settleOlder();
    if (had || pictures || fresh || before || isOffered) afterTouch(drawByItself);
  } catch (fault) {
    if (fault instanceof LetGo) return closeDown();
    if (state.closed) return;
    state.signal = fault instanceof Refused ? refusedWords(fault.status) : "no signal";
    await reload();
    if (state.signal !== before || !state.day) afterTouch(drawByItself);
    else drawFoot(toSettle());
  }
}

async function keepWhole() {
  if (!("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/next/worker.js", { scope: "/", updateViaCache: "none" });
    await navigator.serviceWorker.ready;
    state.keptWhole = true;
    await navigator.storage?.persist?.();
    if (state.view === "more") afterTouch(drawByItself);
  } catch {
    state.keptWhole = false;
  }
}

async function begin() {
  document.title = `${job} · under the dash`;
  const link = make("link", { rel: "manifest", href: `/j/${encodeURIComponent(job)}/next/tablet.webmanifest`, crossorigin: "use-credentials" });
  document.head.append(link);
  const [kept, later, device, known, closed] = await Promise.all([dayOf(job), held(`later ${job}`, []), held("device", ""), held("held", {}), held("closed", null)]);
  state.closed = closed?.left ? closed : null;
  await reload();
  state.later = new Set(later);
  state.held = { ...state.held, ...known };
  if (asked.get("work")) state.held.work = asked.get("work");
  state.chosen = asked.get("thing") ?? "";
  state.device = device || newId();
  if (!device) await hold("device", state.device);
  if (kept) took(kept.day, kept.tag);
  draw();
  document.body.dataset.ready = "yes";
  await soon(); // the day first: what is kept for later is fetched once it is seen
  if (!state.closed) await keepWhole();
  setInterval(soon, EVERY_MS);
}

addEventListener("online", () => { fetchedAt = -DAY_EVERY_MS; soon(); });
addEventListener("offline", () => { state.signal = "no signal"; drawFoot(toSettle()); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
begin();
