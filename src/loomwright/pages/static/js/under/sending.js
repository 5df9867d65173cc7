// What waits is sent in order, so many at a time, again and again until it is answered. A record that was answered is
// marked with what became of it in one write; one that was sent and not answered is sent again and counts once.

import { dropPicture, picturesOf, putActs, putPicture, waitingActs } from "./keep.js";

export const AT_ONCE = 100;
const PATIENCE_MS = 15000;
const STATES = { taken: "taken", same: "taken", theirs: "taken", back: "taken", waits: "choose", refused: "refused" };

export class Refused extends Error {
  constructor(status) {
    super(String(status));
    this.status = status;
  }
}

// the shop has let this tablet go: what it keeps is handed in and cleared
export class LetGo extends Refused {}

export function refusedWords(status) {
  if (status === 401 || status === 403) return "the desk does not let this tablet in: pair it again";
  if (status === 404) return "the desk has no such job";
  return "the desk does not answer as it should";
}

export function refusedBy(answer) {
  const isLetGo = answer.status === 401 && (answer.headers.get("WWW-Authenticate") ?? "").includes("let go");
  return isLetGo ? new LetGo(answer.status) : new Refused(answer.status);
}

function told(act) {
  const { id, made, base, back = "", choose = "", sheet, cells, asks, said } = act;
  return back ? { id, made, base, back } : { id, made, base, sheet, cells, asks, said, choose };
}

async function post(job, device, acts) {
  const answer = await tell(`/api/j/${encodeURIComponent(job)}/acts`, device, acts);
  if (!answer.ok) throw refusedBy(answer);
  return answer.json();
}

export function tell(address, device, acts) {
  return fetch(address, {
    method: "POST",
    headers: { "Content-Type": "application/json", Accept: "application/json" },
    body: JSON.stringify({ device, sent: new Date().toISOString(), acts: acts.map(told) }),
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
}

async function settle(acts, answer) {
  const by = new Map(answer.acts.map((one) => [one.id, one]));
  const now = acts.filter((act) => by.has(act.id)).map((act) => {
    const { outcome, revision, theirs, refused } = by.get(act.id);
    return { ...act, state: STATES[outcome] ?? "taken", outcome, revision, theirs, refused };
  });
  await putActs(now);
  return now;
}

// one record that is not even read must not hold up the others: they are sent one by one, and it is set aside to be looked at
async function oneByOne(job, device, acts) {
  for (const act of acts) {
    try {
      await settle([act], await post(job, device, [act]));
    } catch (fault) {
      if (!(fault instanceof Refused) || fault.status !== 422) throw fault;
      await putActs([{ ...act, state: "refused", refused: [{ found: "", allowed: "what this version of the desk knows", mend: "" }] }]);
    }
  }
}

export async function sendActs(job, device, onBatch) {
  let sent = 0;
  for (;;) {
    const acts = await waitingActs(job, AT_ONCE);
    if (!acts.length) return sent;
    try {
      await settle(acts, await post(job, device, acts));
    } catch (fault) {
      if (!(fault instanceof Refused) || fault.status !== 422) throw fault;
      await oneByOne(job, device, acts);
    }
    sent += acts.length;
    await onBatch?.();
  }
}

export async function sendPictures(job) {
  for (const picture of await picturesOf(job)) {
    if (picture.refused) continue;
    const form = new FormData();
    form.set("sheet", picture.sheet);
    form.set("row", picture.row);
    form.set("note", picture.note);
    form.set("file", picture.file, "picture.jpg");
    const answer = await fetch(`/api/j/${encodeURIComponent(job)}/photos`, { method: "POST", body: form, signal: AbortSignal.timeout(4 * PATIENCE_MS) });
    if (answer.ok) await dropPicture(picture.seq);
    else if (answer.status === 422 || answer.status === 413) await putPicture({ ...picture, refused: answer.status });
    else throw refusedBy(answer);
  }
}

// the day's work, where it is another one than that which is here
export async function fetchDay(job, tag) {
  const answer = await fetch(`/api/j/${encodeURIComponent(job)}/day`, {
    headers: tag ? { "If-None-Match": tag, Accept: "application/json" } : { Accept: "application/json" },
    cache: "no-store",
    signal: AbortSignal.timeout(4 * PATIENCE_MS),
  });
  if (answer.status === 304) return null;
  if (!answer.ok) throw refusedBy(answer);
  return { job, tag: answer.headers.get("ETag") ?? "", day: await answer.json() };
}
