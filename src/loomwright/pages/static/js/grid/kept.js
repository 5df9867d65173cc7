// What was typed and is not on the disk of the desk is kept in the browser, so that no closed page loses it.
// Each gesture under its own token: two pages never write over each other, and the desk takes a token once only.

const LEFT_ALONE_MS = 180000; // a page that has not said so for this long is gone: another may take its gestures over
const SAID_EVERY_MS = 5000;

function tabName() {
  try {
    let name = sessionStorage.getItem("loomwright-tab");
    if (!name) {
      name = [...crypto.getRandomValues(new Uint8Array(6))].join("");
      sessionStorage.setItem("loomwright-tab", name);
    }
    return name;
  } catch {
    return "";
  }
}

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

export class Kept {
  #begins;
  #job;
  #mine = new Map();
  #tab = tabName();

  constructor(job, sheet) {
    this.#job = `unsent:${encodeURIComponent(job)}:`;
    this.#begins = `${this.#job}${encodeURIComponent(sheet)}:`;
    setInterval(() => this.#stillHere(), SAID_EVERY_MS);
  }

  // those of this page, and those whose page is gone, in the order they were typed
  all() {
    const found = this.#keys(this.#begins).map(read).filter((one) => one && (one.tab === this.#tab || Date.now() - one.seen > LEFT_ALONE_MS));
    found.sort((one, other) => one.typed - other.typed);
    return found.map(({ gesture }) => {
      this.put(gesture);
      return gesture;
    });
  }

  // sheets of the job, this one left out, with gestures whose page is gone -> how many
  elsewhere() {
    const count = new Map();
    for (const key of this.#keys(this.#job)) {
      if (key.startsWith(this.#begins)) continue;
      const one = read(key);
      const sheet = decodeURIComponent(key.slice(this.#job.length).split(":")[0]);
      if (one && (one.tab === this.#tab || Date.now() - one.seen > LEFT_ALONE_MS)) count.set(sheet, (count.get(sheet) ?? 0) + 1);
    }
    return count;
  }

  put(gesture) {
    const typed = this.#mine.get(gesture.token)?.typed ?? Date.now() + this.#mine.size / 1000;
    this.#write(gesture, typed);
  }

  drop(token) {
    this.#mine.delete(token);
    try {
      localStorage.removeItem(this.#begins + token);
    } catch {
      // a browser that keeps nothing: the page itself still has it
    }
  }

  #write(gesture, typed) {
    this.#mine.set(gesture.token, { gesture, typed });
    try {
      localStorage.setItem(this.#begins + gesture.token, JSON.stringify({ gesture, typed, tab: this.#tab, seen: Date.now() }));
    } catch {
      // no room, or a browser that keeps nothing: the page itself still has it, and warns before it is left
    }
  }

  #stillHere() {
    for (const { gesture, typed } of this.#mine.values()) this.#write(gesture, typed);
  }

  #keys(begins) {
    try {
      return Object.keys(localStorage).filter((key) => key.startsWith(begins));
    } catch {
      return [];
    }
  }
}
