// Keeps a page that stays open true: when there is a new revision, or the check gets on, the pieces of the page that are
// marked data-live are fetched anew and put in place of the old ones. Nothing is changed under a hand that works there.

import { afterTouch } from "./touch.js";

const job = document.body.dataset.job;
const api = `/api/j/${encodeURIComponent(job)}`;
const WHILE_CHECKING_MS = 700;
const AFTER_TROUBLE_MS = 5000;
const NEWS_WAIT_S = 20;
let seen = Number(document.body.dataset.revision);

const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function plain(address) {
  const answer = await fetch(address, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  return answer.json();
}

export async function renew() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  afterTouch(() => put(fresh));
}

function put(fresh) {
  for (const old of document.querySelectorAll("[data-live]")) {
    const now = fresh.querySelector(`[data-live="${CSS.escape(old.dataset.live)}"]`);
    if (!now || old.contains(document.activeElement) || now.outerHTML === old.outerHTML) continue;
    const open = [...old.querySelectorAll("details[open]")].map((one) => one.closest("[id]")?.id);
    old.replaceWith(now);
    for (const id of open) {
      const again = id && document.getElementById(id)?.querySelector("details");
      if (again) again.open = true;
    }
  }
  document.querySelectorAll("form [data-plain]").forEach((button) => { button.hidden = true; });
}

// while the check runs: how far it is, in the count and the line; when it is known, the page
async function checking() {
  for (;;) {
    const standing = await plain(`${api}/findings`);
    if (standing.known || standing.stopped || standing.problems.length) return;
    const line = document.querySelector(".waiting progress");
    const count = document.querySelector(".waiting .value");
    if (line && standing.of) {
      line.max = standing.of;
      line.value = standing.done;
      if (count) count.textContent = `${standing.done.toLocaleString("en").replaceAll(",", "\u202f")} of ${standing.of.toLocaleString("en").replaceAll(",", "\u202f")}`;
      else await renew();
    }
    await pause(WHILE_CHECKING_MS);
  }
}

async function watch() {
  for (;;) {
    try {
      await checking();
      await renew();
      let now = seen;
      while (now === seen) now = (await plain(`${api}/news?after=${seen}&wait_s=${NEWS_WAIT_S}`)).revision;
      seen = now;
      document.body.dataset.revision = String(now);
    } catch {
      await pause(AFTER_TROUBLE_MS); // the server is away for a while; the page stays as it was
    }
  }
}

if (job) watch();
