/* Drawing the page of one walk from what is known; nothing here changes anything but the page. */

import { choose, nameOfOpening } from "./chooser.js";
import { byId, counted, el, fill, setText, told, words } from "./dom.js";
import { levelOf, nextStep, openHalf, passes, spaceOf, stepText } from "./walk.js";

const SHOWN_AT_FIRST = 12;

const mark = (shape) => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 16 16");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", `#mark-${shape}`);
  svg.append(use);
  return svg;
};

const state = (look, shape, text) => el("span", { class: `state ${look}` }, mark(shape), text);

const LOOKS = { must: ["bad", "peak"], should: ["waiting", "square"] };

export const drawSent = (page) => {
  const { name, data } = page.status;
  const n = page.unsent;
  const why = { offline: words.no_signal, "sign-in": words.must_sign_in, broken: words.office_away, refused: data.why ?? "", sending: words.sending }[name];
  const line = n === 0 ? state("good", "tick", words.all_sent) : state("waiting", "ring", counted("unsent", n));
  fill(byId("sent"), line, (n || name !== "sending") && why ? el("span", { class: "soft" }, why) : null);
  byId("sent").dataset.unsent = n;
  const notice = byId("notice");
  notice.hidden = name !== "sign-in" && name !== "refused";
  if (name === "sign-in") {
    const address = `${data.sign_in}?next=${encodeURIComponent(page.addresses.here)}`;
    fill(notice, el("span", {}, n ? words.sign_in_queue : words.sign_in_first), " ", el("a", { class: "btn", href: address }, words.sign_in));
  } else if (name === "refused") fill(notice, el("span", {}, told(words.office_refuses, { why: data.why ?? "" })));
};

export const drawStep = (page) => {
  const { plan } = page.state;
  const { step, doneBy, left } = nextStep(plan, page.stations, page.kept.skipped);
  byId("step").hidden = plan.length === 0;
  setText("step-count", step ? told(words.step_of, { step: plan.length - left - page.kept.skipped.length + 1, all: plan.length }) : words.plan_done);
  setText("step-text", step ? stepText(step, doneBy) : "");
  byId("skip-step").hidden = !step;
  byId("skipped-again").hidden = page.kept.skipped.length === 0;
};

export const drawNext = (page) => {
  const { choice, shape } = page;
  const number = page.nextNumber();
  const space = spaceOf(shape, choice.space);
  const level = levelOf(shape, choice.level);
  setText("where", page.state.visit.title);
  document.title = page.state.visit.title;
  setText("next-number", String(number));
  setText("space-name", space ? space.name : words.choose_space);
  setText("space-level", level ? level.name : "");
  fill(byId("passes"), ...passes(page.state.visit).map((pass) =>
    el("button", { type: "button", class: "pass", "data-pass": pass, "aria-pressed": String(pass === choice.pass) }, words[`pass_${pass}`])));
  const known = page.closable().find((opening) => opening.code === choice.opening);
  byId("choose-opening").disabled = page.closable().length === 0;
  setText("opening-name", known ? nameOfOpening(page, known) : page.closable().length ? words.none : words.no_opening_here);
  setText("opening-state", known ? (choice.isOpen ? words.open : words.closed) : "");
  const half = known && !choice.isOpen ? openHalf(page.stations, known.code) : null;
  setText("pair-line", known && !choice.isOpen ? (half ? told(words.pair_of, { number: half.number }) : words.no_open_half) : "");
  const met = page.stations.find((station) => station.uuid === choice.ties);
  byId("choose-tie").disabled = page.stations.length === 0;
  setText("tie-name", met ? told(words.station_n, { number: met.number }) : words.none);
  setText("log-station", told(words.log_station, { number }));
  byId("log-station").disabled = !space || !page.state.log.is_open;
  const last = page.stations.find((station) => station.uuid === page.own.at(-1));
  byId("undo").disabled = !last;
  setText("undo", last ? told(words.undo_n, { number: last.number }) : words.undo);
};

const sentence = (page, finding) => {
  if (finding.text) return finding.text;
  const { facts } = finding;
  const opening = page.shape.openings.find((known) => known.code === facts.opening);
  const name = {
    "space-not-captured": facts.noPlan && facts.noTour ? "no_station" : facts.noTour ? "no_tour_station" : "no_plan_station",
    "closet-thin": "closet_thin", "pair-missing": opening ? "pair_missing" : "pair_lost", "stair-chain": facts.isCaptured ? "stair_out_of_sight" : "stair_missing",
    "shown-private": "shown_private", "tour-in-pieces": "tour_in_pieces", "tie-in-off": "tie_in_off", "station-gap": "station_gap",
  }[finding.code];
  return told(words[name], {
    ...facts, number: finding.station, space: spaceOf(page.shape, finding.space)?.name ?? finding.space,
    opening: opening ? words[`kind_${opening.kind}`].toLowerCase() : "",
    level: levelOf(page.shape, facts.level)?.name ?? "",
  });
};

export const drawLeave = (page) => {
  const { findings, isOwn } = page.verdict;
  setText("leave-title", findings.length ? counted("leave", findings.length) : words.leave_nothing);
  byId("leave").dataset.things = findings.length;
  fill(byId("findings"), ...findings.map((finding) =>
    el("li", {}, state(...LOOKS[finding.severity], words[finding.severity]), el("span", {}, sentence(page, finding)))));
  setText("judged-by", isOwn ? words.judged_here : words.judged_by_office);
  const isOver = page.state.log.state !== "confirmed";
  byId("captured").hidden = isOver;
  byId("captured").disabled = page.unsent > 0 || page.stations.length === 0 || page.status.name === "offline";
  setText("captured", page.sure ? words.leave_all_the_same : words.house_captured);
  setText("captured-line", isOver ? words.already_captured : page.unsent ? words.send_first : "");
};

export const drawRefused = (page) => {
  const refused = [...page.kept.queue, ...page.kept.photos].filter((item) => item.why);
  byId("refused").hidden = refused.length === 0;
  fill(byId("refused-list"), ...refused.map((item) =>
    el("li", {}, el("span", {}, told(words.not_taken, { what: nameOfRefused(item), why: item.why })),
      el("div", { class: "row-buttons" },
        item.op ? el("button", { type: "button", class: "btn", onclick: () => page.retry(item) }, words.try_again) : null,
        el("button", { type: "button", class: "btn btn-danger", onclick: () => page.throwAway(item) }, words.throw_away)))));
};

const nameOfRefused = (item) => {
  if (!item.op) return words.photo;
  return item.op.kind === "log" ? told(words.station_in, { number: item.op.number, space: item.op.space }) : words.change;
};

export const drawLog = (page) => {
  const stations = [...page.stations].reverse();
  setText("log-title", counted("stations", stations.length));
  const list = byId("stations");
  const open = list.querySelector("details[open]")?.dataset.uuid;
  fill(list, ...stations.slice(0, SHOWN_AT_FIRST).map((station) => row(page, station, open)));
  const rest = byId("more-stations");
  rest.hidden = stations.length <= SHOWN_AT_FIRST;
  fill(byId("stations-rest"), ...stations.slice(SHOWN_AT_FIRST).map((station) => row(page, station, open)));
};

const row = (page, station, open) => {
  const space = spaceOf(page.shape, station.space);
  const hasPhoto = station.has_photo || page.kept.photos.some((photo) => photo.station === station.uuid);
  const facts = [
    words[`pass_${station.pass}`], station.opening && (station.pair_of === null ? words.open_n : words.closed_n).replace("{code}", station.opening),
    station.pair_of !== null && told(words.pair_of, { number: station.pair_of }), station.ties_to !== null && told(words.ties_to_n, { number: station.ties_to }),
    hasPhoto && words.has_photo, station.note,
  ].filter(Boolean);
  return el("li", {},
    el("details", { "data-uuid": station.uuid, open: station.uuid === open },
      el("summary", {}, el("strong", {}, String(station.number)), el("span", {}, space?.name ?? station.space),
        station.pending ? state("waiting", "ring", words.not_sent) : null, el("span", { class: "soft" }, facts.join(" · "))),
      el("div", { class: "row-buttons" },
        el("button", { type: "button", class: "btn", onclick: () => choose.note(page, station) }, words.note),
        el("button", { type: "button", class: "btn", onclick: () => choose.photo(page, station) }, words.photo),
        el("button", { type: "button", class: "btn btn-danger", onclick: () => page.takeOut(station.uuid).catch(console.error) }, words.take_out))));
};
