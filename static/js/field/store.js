/* What the phone keeps, in IndexedDB: each walk's last known state, and the queue of what was done and is not sent yet.
   A write counts only once its transaction is complete and on the disk, so killing the browser loses nothing. */

const NAME = "stairhead-field";
const VERSION = 1;
let opening = null;

const request = (asked) =>
  new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });

const open = () => {
  opening ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      db.createObjectStore("states", { keyPath: "number" });
      db.createObjectStore("queue", { keyPath: "key", autoIncrement: true }).createIndex("number", "number");
      db.createObjectStore("photos", { keyPath: "uuid" }).createIndex("number", "number");
      db.createObjectStore("notes");
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => {
        asked.result.close();
        opening = null;
      };
      resolve(asked.result);
    };
    asked.onerror = () => {
      opening = null;
      reject(asked.error);
    };
  });
  return opening;
};

/* One transaction; resolves with what `work` returned once everything is on the disk. */
const within = async (stores, mode, work) => {
  const db = await open();
  const transaction = db.transaction(stores, mode, { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
    transaction.onerror = () => reject(transaction.error);
  });
  done.catch(() => {});
  const found = await work(transaction);
  await done;
  return found;
};

const ofWalk = (transaction, store, number) => request(transaction.objectStore(store).index("number").getAll(number));

export const readWalk = (number) =>
  within(["states", "queue", "photos", "notes"], "readonly", async (t) => {
    const [state, queue, photos, skipped] = await Promise.all([
      request(t.objectStore("states").get(number)),
      ofWalk(t, "queue", number),
      ofWalk(t, "photos", number),
      request(t.objectStore("notes").get(`skipped:${number}`)),
    ]);
    return { state, queue, photos, skipped: skipped ?? [] };
  });

export const keepState = (number, state) =>
  within(["states"], "readwrite", (t) => request(t.objectStore("states").put({ ...state, number })));

export const queueOp = (number, op) =>
  within(["queue"], "readwrite", (t) => request(t.objectStore("queue").add({ number, op, why: "" })));

export const keepPhoto = (photo) =>
  within(["photos"], "readwrite", (t) => request(t.objectStore("photos").put({ ...photo, why: "" })));

export const dropPhoto = (uuid) => within(["photos"], "readwrite", (t) => request(t.objectStore("photos").delete(uuid)));

export const refusePhoto = (photo, why) =>
  within(["photos"], "readwrite", (t) => request(t.objectStore("photos").put({ ...photo, why })));

export const retryOp = (item) =>
  within(["queue"], "readwrite", (t) => request(t.objectStore("queue").put({ ...item, why: "" })));

export const dropOp = (key) => within(["queue"], "readwrite", (t) => request(t.objectStore("queue").delete(key)));

/* The server's answer to `sent`: what was taken leaves the queue, what was refused stays in it with the reason, and
   the log becomes the server's, all in one transaction. */
export const settle = (number, sent, answer) =>
  within(["states", "queue"], "readwrite", async (t) => {
    const queue = t.objectStore("queue");
    sent.forEach((item, place) => {
      const result = answer.taken?.[place];
      if (result?.taken) queue.delete(item.key);
      else if (result) queue.put({ ...item, why: result.why });
    });
    const states = t.objectStore("states");
    const state = await request(states.get(number));
    if (state && answer.log) states.put({ ...state, log: answer.log });
  });

export const keepSkipped = (number, steps) =>
  within(["notes"], "readwrite", (t) => request(t.objectStore("notes").put(steps, `skipped:${number}`)));

export const readVisits = () => within(["notes"], "readonly", (t) => request(t.objectStore("notes").get("visits")));

export const keepVisits = (visits) =>
  within(["notes"], "readwrite", (t) => request(t.objectStore("notes").put(visits, "visits")));

/* How many things of each walk are not sent yet. */
export const waiting = () =>
  within(["queue", "photos"], "readonly", async (t) => {
    const counts = {};
    for (const store of ["queue", "photos"])
      for (const item of await request(t.objectStore(store).getAll())) counts[item.number] = (counts[item.number] ?? 0) + 1;
    return counts;
  });

/* Forget the houses that are no longer of this person's round; never one that still has something to send. */
export const forgetOtherWalks = (numbers) =>
  within(["states", "queue", "photos"], "readwrite", async (t) => {
    const states = t.objectStore("states");
    const known = await request(states.getAllKeys());
    for (const number of known) {
      const unsent = [...(await ofWalk(t, "queue", number)), ...(await ofWalk(t, "photos", number))];
      if (!numbers.includes(number) && !unsent.length) states.delete(number);
    }
  });

/* The visits whose houses this phone knows. */
export const knownVisits = () =>
  within(["states"], "readonly", async (t) => (await request(t.objectStore("states").getAll())).map((state) => state.visit));
