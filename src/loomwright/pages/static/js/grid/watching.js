// Waits for what others do: one question stays open at the desk until there is a new revision. A page out of sight asks
// nothing, and catches up when it is looked at again.

const WAIT_S = 20;
const AWAY_MS = 3000;

export class Watching {
  #stop = null;

  // of: api of the job, revision(), news(revision), away(is)
  constructor(of) {
    Object.assign(this, of);
    document.addEventListener("visibilitychange", () => (document.hidden ? this.#stop?.abort() : this.go()));
    addEventListener("pageshow", (event) => event.persisted && this.go());
    addEventListener("online", () => this.go());
  }

  async go() {
    this.#stop?.abort();
    const stop = new AbortController();
    this.#stop = stop;
    while (!stop.signal.aborted) {
      try {
        const answer = await fetch(`${this.api}/news?after=${this.revision()}&wait_s=${WAIT_S}`, { headers: { Accept: "application/json" }, signal: stop.signal });
        if (!answer.ok) throw new Error(String(answer.status));
        const { revision } = await answer.json();
        this.away(false);
        if (revision !== this.revision()) await this.news(revision);
      } catch {
        if (stop.signal.aborted) return;
        this.away(true);
        await new Promise((done) => { setTimeout(done, AWAY_MS); });
      }
    }
  }
}
