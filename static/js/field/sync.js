/* Sending the queue: one sender at a time over all pages of this phone, everything in the order in which it was done.
   What the office has taken leaves the queue; what it has not, stays, whatever happens in between. */

import { ask, send } from "./net.js";
import { dropPhoto, keepState, readWalk, refusePhoto, settle } from "./store.js";

const MOST_AT_ONCE = 100;
const RETRY = 8000;
const LOOK_AGAIN = 15000;
const PHOTO_PATIENCE = 120000;

/* `tell(status, extra)` hears what is going on: idle, sending, offline, sign-in, refused or broken. */
export const createSync = (number, addresses, tell) => {
  let running = false;
  let again = false;
  let timer = null;
  let shapeKey = null;

  const readAll = async () => {
    const answer = await ask(addresses.state);
    if (answer.kind === "ok") {
      await keepState(number, { ...answer.data, kept_at: Date.now() });
      shapeKey = answer.data.shape_key;
    }
    return answer;
  };

  const sendOps = async () => {
    for (;;) {
      const { queue } = await readWalk(number);
      const unsent = queue.filter((item) => !item.why).slice(0, MOST_AT_ONCE);
      if (!unsent.length) return { kind: "ok", data: {} };
      tell("sending");
      const answer = await send(addresses.sync, JSON.stringify({ ops: unsent.map((item) => item.op) }), addresses.visits);
      if (answer.kind === "refused" && answer.data.log) await settle(number, [], answer.data);
      if (answer.kind !== "ok") return answer;
      await settle(number, unsent, answer.data);
      tell("sending", { taken: answer.data.taken, sent: unsent });
      if (shapeKey && answer.data.shape_key !== shapeKey) await readAll();
    }
  };

  const sendPhotos = async () => {
    const { photos } = await readWalk(number);
    for (const photo of photos.filter((kept) => !kept.why)) {
      tell("sending");
      const form = new FormData();
      form.append("uuid", photo.uuid);
      form.append("station", photo.station ?? "");
      form.append("note", photo.note);
      form.append("picture", photo.blob, "picture.jpg");
      const answer = await send(addresses.photo, form, addresses.visits, PHOTO_PATIENCE);
      if (answer.kind === "ok") await dropPhoto(photo.uuid);
      else if (answer.kind === "refused") await refusePhoto(photo, answer.data.why ?? "");
      else return answer;
    }
    return { kind: "ok", data: {} };
  };

  const round = async () => {
    for (const step of [sendOps, sendPhotos, readAll]) {
      const answer = await step();
      if (answer.kind !== "ok") return answer;
    }
    return { kind: "ok", data: {} };
  };

  const alone = (work) => (navigator.locks ? navigator.locks.request(`field:${number}`, work) : work());

  const push = async () => {
    if (running) {
      again = true;
      return;
    }
    running = true;
    clearTimeout(timer);
    let answer = { kind: "broken", data: {} };
    try {
      answer = await alone(round);
    } catch (error) {
      console.warn("sending failed", error);
    }
    running = false;
    tell(answer.kind === "ok" ? "idle" : answer.kind, answer.data);
    if (again) {
      again = false;
      push();
      return;
    }
    timer = setTimeout(push, answer.kind === "ok" ? LOOK_AGAIN : RETRY);
  };

  addEventListener("online", push);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") push();
  });
  return { push };
};
