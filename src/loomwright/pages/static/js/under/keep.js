// What is kept on the tablet itself: each act in a record of its own, the day's work, pictures, how it is held.
// An act is on the tablet's disk before anybody is told (`durability: "strict"`), so a browser that is ended loses none.

const NAME = "loomwright under the dash";
const VERSION = 1;
let opening = null;

export const WAITING = "waiting";

function open() {
  opening ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      const acts = asked.result.createObjectStore("acts", { keyPath: "seq", autoIncrement: true });
      acts.createIndex("id", "id", { unique: true });
      acts.createIndex("state", ["job", "state"]);
      acts.createIndex("job", "job");
      asked.result.createObjectStore("days", { keyPath: "job" });
      asked.result.createObjectStore("pictures", { keyPath: "seq", autoIncrement: true }).createIndex("job", "job");
      asked.result.createObjectStore("held", { keyPath: "name" });
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opening;
}

function answered(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function write(store, work) {
  const written = (await open()).transaction(store, "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    written.oncomplete = () => resolve();
    written.onabort = () => reject(written.error);
    written.onerror = () => reject(written.error);
  });
  const found = work(written.objectStore(store));
  await done;
  return found;
}

async function read(store, ask) {
  return answered(ask((await open()).transaction(store).objectStore(store)));
}

// random bits, where the browser has no word of its own for it (it has none without https)
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export const addAct = async (act) => {
  const request = await write("acts", (store) => store.add(act));
  return { ...act, seq: request.result };
};

export const addActs = (acts) => write("acts", (store) => acts.forEach((act) => store.add(act)));

export const putActs = (acts) => write("acts", (store) => acts.forEach((act) => store.put(act)));

const everything = (store) => read(store, (all) => all.getAll());

export const allActs = () => everything("acts");

export const allPictures = () => everything("pictures");

export const dropDays = () => write("days", (store) => store.clear());

// nothing of it is left on this tablet
export async function forgetAll() {
  (await open()).close();
  opening = null;
  return answered(indexedDB.deleteDatabase(NAME));
}

export const actsOf = (job) => read("acts", (store) => store.index("job").getAll(job));

export const waitingActs = (job, most) =>
  read("acts", (store) => store.index("state").getAll(IDBKeyRange.only([job, WAITING]), most));

export const dropActs = (seqs) => write("acts", (store) => seqs.forEach((seq) => store.delete(seq)));

export const dayOf = (job) => read("days", (store) => store.get(job));

export const putDay = (day) => write("days", (store) => store.put(day));

export const addPicture = (picture) => write("pictures", (store) => store.add(picture));

export const picturesOf = (job) => read("pictures", (store) => store.index("job").getAll(job));

export const putPicture = (picture) => write("pictures", (store) => store.put(picture));

export const dropPicture = (seq) => write("pictures", (store) => store.delete(seq));

export async function held(name, otherwise) {
  const found = await read("held", (store) => store.get(name));
  return found === undefined ? otherwise : found.value;
}

export const hold = (name, value) => write("held", (store) => store.put({ name, value }));
