/* One sheet over the page with large buttons to choose from: a space, an opening, a station to tie to. */

import { byId, counted, el, fill, setText, told, words } from "./dom.js";
import { levelOf, spaceOf, storeysOf } from "./walk.js";

const sheet = () => byId("chooser");

export const closeChooser = () => sheet().close();

const show = (title, ...content) => {
  setText("chooser-title", title);
  fill(byId("chooser-list"), ...content);
  if (!sheet().open) sheet().showModal();
  sheet().scrollTop = 0;
};

const option = (label, hint, isChosen, act) =>
  el("button", {
    type: "button", class: "choice", "aria-pressed": String(isChosen),
    onclick: () => {
      closeChooser();
      act();
    },
  }, el("span", { class: "choice-name" }, label), hint ? el("span", { class: "soft" }, hint) : null);

const space = (page) => {
  const counts = new Map();
  for (const station of page.stations) counts.set(station.space, (counts.get(station.space) ?? 0) + 1);
  const here = levelOf(page.shape, page.choice.level);
  const storeys = [...storeysOf(page.shape)].reverse();
  const ordered = here ? [here, ...storeys.filter((level) => level.number !== here.number)] : storeys;
  show(words.choose_space, ...ordered.flatMap((level) => {
    const spaces = page.shape.spaces.filter((known) => known.level === level.number);
    if (!spaces.length) return [];
    return [
      el("h3", {}, `${level.number} · ${level.name}`),
      ...spaces.map((known) =>
        option(known.name, counts.has(known.code) ? counted("stations", counts.get(known.code)) : words.not_yet,
          known.code === page.choice.space, () => {
            page.enter(known.code);
            page.draw();
          })),
    ];
  }));
};

const opening = (page) => {
  const pick = (code, isOpen) => () => {
    page.setOpening(code, isOpen);
    page.draw();
  };
  const isChosen = (code, isOpen) => page.choice.opening === code && page.choice.isOpen === isOpen;
  const ways = page.state.visit.package === "plan" ? [true] : page.state.visit.package === "tour" ? [false] : [true, false];
  show(words.choose_opening,
    option(words.none, "", page.choice.opening === null, pick(null, true)),
    ...page.closable().flatMap((known) => [
      el("h3", {}, nameOfOpening(page, known)),
      el("div", { class: "choice-pair" },
        ...ways.map((isOpen) => option(isOpen ? words.open : words.closed, "", isChosen(known.code, isOpen), pick(known.code, isOpen)))),
    ]));
};

export const nameOfOpening = (page, known) => {
  const kind = words[`kind_${known.kind}`];
  if (known.beyond === page.choice.space) return told(words.opening_within, { kind, code: known.code });
  return told(words.opening_to, { kind, space: spaceOf(page.shape, known.beyond).name, code: known.code });
};

const tie = (page) => {
  const pick = (uuid) => () => {
    page.choice.ties = uuid;
    page.draw();
  };
  const stations = [...page.stations].reverse();
  const near = stations.filter((station) => station.space === page.choice.space);
  const rest = stations.filter((station) => station.space !== page.choice.space);
  const row = (station) =>
    option(told(words.station_n, { number: station.number }), spaceOf(page.shape, station.space)?.name ?? station.space,
      station.uuid === page.choice.ties, pick(station.uuid));
  show(words.choose_tie, option(words.none, "", page.choice.ties === null, pick(null)), ...near.map(row), ...rest.map(row));
};

/* A few words to a station. */
const note = (page, station) => {
  const typed = el("input", { type: "text", class: "form-control", id: "note-text", maxLength: 200, value: station.note, autocomplete: "off" });
  show(told(words.note_to, { number: station.number }),
    el("form", {
      class: "note-form",
      onsubmit: (event) => {
        event.preventDefault();
        closeChooser();
        page.note(station.uuid, typed.value).catch(console.error);
      },
    }, el("label", { htmlFor: "note-text", class: "form-label" }, words.note), typed, el("button", { class: "btn btn-primary" }, words.keep)));
  typed.focus();
};

const photo = (page, station) => {
  const picture = el("input", { type: "file", id: "photo-file", accept: "image/*", class: "form-control" });
  picture.setAttribute("capture", "environment");
  const typed = el("input", { type: "text", class: "form-control", id: "photo-note", maxLength: 200, autocomplete: "off" });
  show(told(words.photo_at, { number: station.number }),
    el("form", {
      class: "note-form",
      onsubmit: (event) => {
        event.preventDefault();
        if (!picture.files.length) return;
        closeChooser();
        page.photo(station.uuid, picture.files[0], typed.value).catch(console.error);
      },
    }, el("label", { htmlFor: "photo-file", class: "form-label" }, words.photo), picture,
    el("label", { htmlFor: "photo-note", class: "form-label" }, words.note), typed, el("button", { class: "btn btn-primary" }, words.keep)));
};

export const choose = { space, opening, tie, note, photo };
