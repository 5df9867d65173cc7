// The worker of the page under the dash. Its files are kept whole and are one version; a new version is taken in whole
// or not at all. It answers the page itself, always from what is kept; the pages that labels lead to where nobody
// answers; nothing else. SHELL stands above: the version and the addresses of the files.

const NAME = `under the dash ${SHELL.version}`;
const PAGE = "/next/shell";
const PATIENCE_MS = 2500;
const OF_A_JOB = /^\/j\/[^/]+\//;
const OWN = /^\/j\/[^/]+\/next$/;

async function keepWhole() {
  const kept = await caches.open(NAME);
  await Promise.all(
    [PAGE, ...SHELL.files].map(async (address) => {
      const answer = await fetch(new Request(address, { cache: "reload", credentials: "same-origin" }));
      if (!answer.ok || answer.redirected) throw new Error(`${address}: ${answer.status}`);
      await kept.put(address, answer);
    }),
  );
}

async function dropOlder() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("under the dash ") && name !== NAME).map((name) => caches.delete(name)));
  await self.clients.claim();
}

const keptPage = async () => (await (await caches.open(NAME)).match(PAGE)) ?? Response.error();

function fromThereElseHere(request) {
  const there = fetch(request);
  const tooLong = new Promise((_, reject) => setTimeout(reject, PATIENCE_MS));
  return Promise.race([there, tooLong]).catch(keptPage);
}

async function fromHere(request, address) {
  return (await (await caches.open(NAME)).match(address)) ?? fetch(request);
}

self.addEventListener("install", (event) => {
  event.waitUntil(keepWhole().then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => event.waitUntil(dropOlder()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname, search } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (OWN.test(pathname)) event.respondWith(keptPage());
    else if (OF_A_JOB.test(pathname)) event.respondWith(fromThereElseHere(request));
  } else if (SHELL.files.includes(pathname + search)) {
    event.respondWith(fromHere(request, pathname + search));
  }
});
