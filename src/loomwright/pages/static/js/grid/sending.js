// Gestures go out one after another, each as one request, and come back as taken, refused or crossed.
// Without a connection they wait and are sent again with the same token, which the desk takes once only.

import { plainEdit } from "./gestures.js";

const WAIT_MS = 20000;
const AGAIN_MS = [1000, 2000, 4000, 8000];
const TAKEN = 200;
const CROSSED = 409;
const REFUSED = 422;
const AWAY = new Set([502, 503, 504]);

export class Sending {
  isAway = false; // the desk did not answer
  #busy = null; // the promise of what is under way
  #tries = 0;
  #timer = 0;

  // of: api of the job, sheet, gestures, bring(revision, withNumbers) that fetches what the desk has, tell(words),
  //     numbered(gesture, numbers) once it is on the disk, turned(kind, revision) once something was taken back
  constructor(of) {
    Object.assign(this, of);
    addEventListener("online", () => this.go());
  }

  get isBusy() {
    return this.#busy !== null;
  }

  idle() {
    return this.#busy ?? Promise.resolve();
  }

  go() {
    if (this.#busy) return;
    clearTimeout(this.#timer);
    this.#busy = this.#all().finally(() => {
      this.#busy = null;
      if (!this.isAway && this.gestures.next()) this.go();
    });
  }

  async #all() {
    for (let one = this.gestures.next(); one; one = this.gestures.next()) {
      if (!(await this.#send(one))) return;
    }
  }

  async #send(gesture) {
    this.gestures.stateOf(gesture, "sent");
    let answer;
    let told;
    try {
      answer = await this.#post(gesture);
      if (AWAY.has(answer.status)) throw new Error(String(answer.status));
      told = await answer.json();
    } catch {
      return this.#away(gesture);
    }
    this.#tries = 0;
    this.isAway = false;
    if (answer.status === TAKEN) await this.#taken(gesture, told);
    else if (gesture.kind) this.#notTurned(gesture, told);
    else if (answer.status === CROSSED && told.conflicts?.length) {
      await this.#brought();
      this.gestures.crossed(gesture, told.conflicts);
    } else if (answer.status === REFUSED && told.refused?.length) this.gestures.refused(gesture, told.refused);
    else this.gestures.stuck(gesture, wordsOf(answer.status, told));
    return true;
  }

  #post(gesture) {
    const signal = AbortSignal.timeout(WAIT_MS);
    const headers = { "Content-Type": "application/json", Accept: "application/json" };
    if (gesture.kind) return fetch(`${this.api}/${gesture.kind}`, { method: "POST", headers, signal });
    const edits = gesture.edits.map((one) => plainEdit(one, this.sheet.name));
    const body = JSON.stringify({ token: gesture.token, why: gesture.says, edits });
    return fetch(`${this.api}/edits`, { method: "POST", headers, body, signal });
  }

  #away(gesture) {
    this.isAway = true;
    if (gesture.kind) {
      // taking back has no token: sent twice it would take back twice
      this.gestures.discard(gesture);
      this.tell(`Whether the desk ${gesture.kind === "undo" ? "took the last edit back" : "did it again"} is not known: the connection broke. Look at the cell before you ask again.`);
    } else this.gestures.stateOf(gesture, "waits");
    const wait = AGAIN_MS[Math.min(this.#tries++, AGAIN_MS.length - 1)];
    this.#timer = setTimeout(() => this.go(), wait);
    return false;
  }

  async #taken(gesture, told) {
    const added = gesture.edits?.filter((one) => one.do === "add") ?? [];
    try {
      const numbers = await this.bring(told.revision, added.length > 0);
      const given = new Map(added.map((one, place) => [one.row, numbers[place]]));
      this.gestures.done(gesture, given);
      this.numbered(gesture, given);
      if (gesture.kind) this.turned(gesture.kind, told.revision);
    } catch {
      // it is on the disk, but what the desk has now could not be read: the token makes sending it again harmless
      if (gesture.kind) this.gestures.discard(gesture);
      else this.#away(gesture);
    }
  }

  #notTurned(gesture, told) {
    this.gestures.discard(gesture);
    const crossed = told.conflicts ?? [];
    if (!crossed.length) this.tell(gesture.kind === "undo" ? "There is nothing of yours to take back." : "There is nothing to do again: something was typed since.");
    else {
      const first = crossed[0];
      this.tell(`It stays as it is: somebody typed over it since. ${first.column || "The row"} would be “${first.yours}”, and “${first.theirs ?? "no row"}” stands there${crossed.length > 1 ? `; the same in ${crossed.length - 1} more` : ""}.`);
    }
  }

  async #brought() {
    try {
      await this.bring(0, false);
    } catch {
      // the answer names both values; the other cells follow with the next news
    }
  }
}

function wordsOf(status, told) {
  const said = (told?.refused ?? []).map((one) => [one.found, one.mend].filter(Boolean).join(": ")).filter(Boolean);
  if (said.length) return said.slice(0, 3).join(" ");
  if (status === REFUSED) return "A cell holds more than 20 000 letters, or more than 200 000 cells were meant at once. Do it in smaller pieces.";
  return `The desk answered ${status} and took nothing of it.`;
}
