// What the rules find, and what has to fit first, asked for again until it is known for the newest revision.

const SOON_MS = 250;
const LATER_MS = 1000;
const AWAY_MS = 4000;

export class Checks {
  findings = []; // in the order in which they are told, with their number on the page of findings
  problems = [];
  standing = null; // how far the check is: known, stopped, done, of, revision
  #turn = 0;

  // of: api of the job, changed(), known() once it is
  constructor(of) {
    Object.assign(this, of);
  }

  // ask until what is found for the newest revision is known
  async look() {
    const turn = ++this.#turn;
    for (let wait = SOON_MS; turn === this.#turn; wait = Math.min(wait * 1.5, LATER_MS)) {
      try {
        const answer = await fetch(`${this.api}/findings`, { headers: { Accept: "application/json" } });
        if (!answer.ok) throw new Error(String(answer.status));
        const told = await answer.json();
        if (turn !== this.#turn) return;
        this.#take(told);
        if (told.known || told.stopped || told.problems.length) {
          this.known();
          return;
        }
      } catch {
        wait = AWAY_MS;
      }
      await new Promise((done) => { setTimeout(done, wait); });
    }
  }

  async stop() {
    await fetch(`${this.api}/stop`, { method: "POST" });
    this.look();
  }

  #take(told) {
    const before = JSON.stringify([this.findings, this.problems, this.standing]);
    const { findings, problems, ...standing } = told;
    this.standing = standing;
    this.problems = problems;
    // until it is known anew, what was found before stays: most of it is still so
    if (told.known) this.findings = findings.map((one, place) => ({ ...one, number: place + 1 }));
    if (JSON.stringify([this.findings, this.problems, this.standing]) !== before) this.changed();
  }
}
