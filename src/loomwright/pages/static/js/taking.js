// A meter of the shop is read by its name: asked how far it is until it stands still, let go of on a word. For any page that
// can use a figure; nothing is written here.

const EVERY_MS = 350;
const MOST_TROUBLE = 8;
const AWAY = "The server does not answer. The reading can be typed instead; nothing you typed is gone.";
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function asked(address, typed) {
  const given = typed ? { method: "POST", body: JSON.stringify(typed) } : {};
  const headers = { Accept: "application/json", ...(typed && { "Content-Type": "application/json" }) };
  const answer = await fetch(address, { ...given, headers });
  const told = await answer.json();
  if (!answer.ok && told.refused) return { over: true, value: "", reasons: told.refused.map((one) => `${one.found}.${one.mend ? ` ${one.mend}.` : ""}`) };
  return told;
}

async function followed(key, told, isOn) {
  for (let trouble = 0; isOn();) {
    await pause(EVERY_MS);
    try {
      const now = await asked(`/api/meters/take/${encodeURIComponent(key)}`);
      trouble = 0;
      if (now.over) return now;
      if (now.asked) told(`It shows ${now.shown}; not still yet.`);
    } catch {
      trouble += 1;
      if (trouble >= MOST_TROUBLE) return { over: true, value: "", reasons: [AWAY] };
    }
  }
  return null;
}

// what comes of a reading; null where nobody waits for it any more.
// begun: told the word by which it is let go of.   told: what it shows meanwhile.   isOn: whether somebody waits.
export async function takenFrom(meter, measure, { begun, told, isOn }) {
  try {
    const first = await asked("/api/meters/take", { meter, measure });
    begun(first.key ?? "");
    return first.over ? first : await followed(first.key ?? "", told, isOn);
  } catch {
    return { over: true, value: "", reasons: [AWAY] };
  }
}

// why nothing came of it, in words
export const whyNot = (told) => (told.stopped ? "Stopped. The reading can be typed instead." : told.reasons.join(" "));

export function letGo(key) {
  if (key) asked(`/api/meters/take/${encodeURIComponent(key)}/stop`, {}).catch(() => {});
}
