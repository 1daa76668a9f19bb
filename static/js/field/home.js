/* The list of visits. Looking at it with a signal brings everything a phone needs to walk them without one. */

import { byId, counted, el, fill, setText, told, words } from "./dom.js";
import { ask } from "./net.js";
import { forgetOtherWalks, keepState, keepVisits, knownVisits, readVisits, waiting } from "./store.js";

const when = (visit) => {
  if (!visit.starts_at) return "";
  const day = { weekday: "short", month: "short", day: "numeric", timeZone: visit.zone };
  const clock = { hour: "numeric", minute: "2-digit", timeZone: visit.zone };
  const [start, end] = [new Date(visit.starts_at), new Date(visit.window_end)];
  return `${start.toLocaleDateString([], day)}, ${start.toLocaleTimeString([], clock)}–${end.toLocaleTimeString([], clock)}`;
};

const row = (visit, home, ready, unsent) =>
  el("li", {},
    el("a", { class: "visit-link", href: `${home}${visit.number}/` },
      el("strong", {}, visit.title), el("span", {}, when(visit)),
      el("span", { class: "soft" }, `${visit.number} · ${visit.package_name} · ${visit.state_word}`),
      el("span", { class: ready ? "ready" : "soft" }, ready ? words.ready_offline : words.not_ready_offline),
      unsent ? el("span", { class: "unsent" }, counted("unsent", unsent)) : null));

const draw = async (home) => {
  const [kept, known, unsent] = [await readVisits(), await knownVisits(), await waiting()];
  const listed = [...(kept?.visits ?? [])];
  for (const visit of known) if (!listed.some((one) => one.number === visit.number)) listed.push(visit);
  const nameless = Object.keys(unsent).filter((number) => !listed.some((one) => one.number === number));
  const isKnown = (visit) => known.some((one) => one.number === visit.number);
  fill(byId("visits"),
    ...listed.map((visit) => row(visit, home, isKnown(visit), unsent[visit.number])),
    ...nameless.map((number) =>
      el("li", {}, el("a", { class: "visit-link", href: `${home}${number}/` }, el("strong", {}, number),
        el("span", { class: "unsent" }, counted("unsent", unsent[number]))))));
  byId("no-visits").hidden = listed.length + nameless.length > 0;
  setText("home-who", kept ? told(words.visits_of, { name: kept.person.name }) : "");
};

const bring = async (home) => {
  const answer = await ask(`${home}visits.json`);
  const notice = byId("home-notice");
  notice.hidden = answer.kind === "ok";
  if (answer.kind === "sign-in") {
    fill(notice, words.sign_in_first, " ", el("a", { href: `${answer.data.sign_in}?next=${encodeURIComponent(home)}` }, words.sign_in));
  } else if (answer.kind !== "ok") fill(notice, words.list_as_last_seen);
  if (answer.kind !== "ok") return;
  await keepVisits(answer.data);
  await forgetOtherWalks(answer.data.visits.map((visit) => visit.number));
  await draw(home);
  for (const visit of answer.data.visits) {
    const state = await ask(`${home}${visit.number}/state.json`);
    if (state.kind === "ok") await keepState(visit.number, { ...state.data, kept_at: Date.now() });
  }
  await draw(home);
};

export const showHome = async (home) => {
  byId("home").hidden = false;
  await draw(home);
  await bring(home);
  addEventListener("online", () => bring(home));
};
