// A tablet that was let go closes: its pages and lists go at once, what waits is handed in for the owner of the shop to
// look at, and then nothing is left on it. What cannot be handed in now is tried again; it is shown no more.

import { allActs, allPictures, dropActs, dropDays, forgetAll, held, hold, WAITING } from "./keep.js";
import { AT_ONCE, tell } from "./sending.js";

async function dropPages() {
  const names = "caches" in self ? await caches.keys() : [];
  await Promise.all(names.map((name) => caches.delete(name)));
  const workers = (await navigator.serviceWorker?.getRegistrations?.()) ?? [];
  await Promise.all(workers.map((worker) => worker.unregister()));
}

async function handIn(device, acts) {
  let handed = 0;
  for (const job of new Set(acts.map((act) => act.job))) {
    const own = acts.filter((act) => act.job === job);
    for (let from = 0; from < own.length; from += AT_ONCE) {
      const some = own.slice(from, from + AT_ONCE);
      const answer = await tell(`/api/let-go/${encodeURIComponent(job)}`, device, some);
      if (!answer.ok) break;
      await dropActs(some.map((act) => act.seq));
      handed += some.length;
    }
  }
  return handed;
}

export async function close() {
  const before = await held("closed", { handed: 0, pictures: 0 });
  await Promise.all([dropDays(), dropPages()]);
  const acts = (await allActs()).filter((act) => act.state === WAITING);
  const handed = before.handed + await handIn(await held("device", "a tablet"), acts).catch(() => 0);
  const left = (await allActs()).filter((act) => act.state === WAITING).length;
  const closed = { handed, left, pictures: (await allPictures()).length };
  if (left) await hold("closed", closed);
  else await forgetAll();
  return closed;
}

export function closedWords({ handed, left, pictures }) {
  return [
    "This tablet was let go from the shop. Nothing of its jobs is shown on it any more.",
    handed ? `Handed in, and put aside for the owner of the shop: ${handed}.` : "",
    left ? `Not handed in yet: ${left}. They stay closed on it until it reaches the desk.` : "",
    !left && pictures ? `Pictures that were not sent and are gone with it: ${pictures}.` : "",
  ].filter(Boolean);
}
