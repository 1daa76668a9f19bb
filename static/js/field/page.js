/* The page of one walk: what is chosen for the next station, and what each button does. */

import { check } from "./check.js";
import { choose, closeChooser } from "./chooser.js";
import { byId, setText, told, words } from "./dom.js";
import { drawLeave, drawLog, drawNext, drawRefused, drawSent, drawStep } from "./draw.js";
import { send } from "./net.js";
import { small } from "./photos.js";
import { dropOp, dropPhoto, keepPhoto, keepSkipped, queueOp, readWalk, retryOp } from "./store.js";
import { createSync } from "./sync.js";
import { levelsOfSpace, nextNumber, nextStep, openHalf, openingsOf, passes, spaceOf, stationsOf } from "./walk.js";

const newUuid = () => {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [8, 12, 16, 20].reduceRight((text, at) => `${text.slice(0, at)}-${text.slice(at)}`, hex);
};

export const showWalk = async (home, number) => {
  const here = `${home}${number}/`;
  const addresses = {
    here, number, home, state: `${here}state.json`, sync: `${here}sync/`, photo: `${here}photo/`,
    captured: `${here}captured/`, visits: `${home}visits.json`,
  };
  const page = new Page(addresses);
  byId("walk").hidden = false;
  page.listen();
  await page.reread();
  page.offer();
  page.sync.push();
};

class Page {
  constructor(addresses) {
    this.addresses = addresses;
    this.kept = { state: null, queue: [], photos: [], skipped: [] };
    this.status = { name: "sending", data: {} };
    this.choice = null;
    this.own = [];
    this.sure = false;
    this.sync = createSync(addresses.number, addresses, (name, data) => this.hear(name, data));
  }

  get state() {
    return this.kept.state;
  }

  get shape() {
    return this.state.shape;
  }

  get stations() {
    return stationsOf(this.state.log, this.kept.queue);
  }

  get unsent() {
    return this.kept.queue.filter((item) => !item.why).length + this.kept.photos.filter((photo) => !photo.why).length;
  }

  /* The office's verdict while it has seen everything, else this phone's own. */
  get verdict() {
    const isOwn = this.kept.queue.length > 0 || !this.state.log.verdict;
    const findings = isOwn
      ? check(this.shape, this.stations, this.state.visit.package)
      : this.state.log.verdict.findings;
    return { isOwn, findings };
  }

  async reread() {
    this.kept = await readWalk(this.addresses.number);
    const queued = this.kept.queue.filter(({ op, why }) => op.kind === "log" && !why).map(({ op }) => op.uuid);
    const standing = new Set(this.state ? this.stations.map((station) => station.uuid) : queued);
    this.own = [...new Set([...this.own, ...queued])].filter((uuid) => standing.has(uuid));
  }

  async hear(name, data = {}) {
    const hadState = Boolean(this.state);
    await this.reread();
    this.status = name === "sending" ? { name, data: {} } : { name, data };
    const renumbered = this.renumbered(data);
    if (renumbered.length) this.say(told(words.renumbered, { list: renumbered.join(", ") }));
    if (!hadState && this.state) this.offer();
    else this.draw();
  }

  /* What the office numbered otherwise, because another phone was there first. */
  renumbered(data) {
    return (data?.taken ?? []).flatMap((answer, place) => {
      const { op } = data.sent[place];
      const isOther = op.kind === "log" && answer.taken && answer.number !== null && answer.number !== op.number;
      return isOther ? [`${op.number} → ${answer.number}`] : [];
    });
  }

  /* What comes next by the plan, or where there is none, the space one stands in. */
  offer() {
    if (!this.state) {
      this.draw();
      return;
    }
    const stations = this.stations;
    const { step, doneBy } = nextStep(this.state.plan, stations, this.kept.skipped);
    const last = stations.at(-1);
    this.choice = { number: null, space: "", level: null, pass: passes(this.state.visit)[0], opening: null, isOpen: true, ties: null };
    if (step) this.follow(step, doneBy);
    else this.enter(last?.space ?? this.shape.entrance ?? this.shape.spaces[0]?.code ?? "");
    this.draw();
  }

  follow(step, doneBy) {
    this.enter(step.space);
    this.choice.level = step.level;
    this.choice.pass = step.pass;
    this.choice.opening = step.opening;
    this.choice.isOpen = step.pair_of === null;
    this.choice.ties = (step.ties_to !== null && doneBy.get(step.ties_to)?.uuid) || null;
  }

  enter(code) {
    const space = spaceOf(this.shape, code);
    if (!space) return;
    const levels = levelsOfSpace(this.shape, space);
    const before = this.stations.at(-1)?.level;
    Object.assign(this.choice, { space: code, level: levels.includes(before) ? before : space.level, opening: null, isOpen: true, ties: null });
    this.choice.pass = this.usualPass(space);
  }

  /* What the tour does not show is captured for the plan alone. */
  usualPass(space) {
    const [first] = passes(this.state.visit);
    if (first !== "both") return first;
    if (space.private || space.kind === "closet") return "plan";
    return space.kind === "exterior" ? "tour" : "both";
  }

  setOpening(code, isOpen) {
    Object.assign(this.choice, { opening: code, isOpen });
    if (this.state.visit.package === "both" && code) this.choice.pass = isOpen ? "plan" : "tour";
    if (!code) this.choice.pass = this.usualPass(spaceOf(this.shape, this.choice.space));
  }

  nextNumber() {
    return this.choice?.number ?? nextNumber(new Set(this.stations.map((station) => station.number)));
  }

  async log() {
    if (!this.choice?.space) return;
    const { space, level, pass, opening, isOpen, ties } = this.choice;
    const number = this.nextNumber();
    const pair = opening && !isOpen ? openHalf(this.stations, opening)?.uuid ?? null : null;
    const after = this.choice.number === null ? this.own.at(-1) ?? null : null;
    const uuid = newUuid();
    await this.keep({
      kind: "log", uuid, number, space, level, pass, opening, pair_of: pair, ties_to: ties, after, note: "",
      at: new Date().toISOString(),
    });
    navigator.vibrate?.(30);
    this.say(told(words.logged, { number, space: spaceOf(this.shape, space).name }));
    this.offer();
  }

  async takeOut(uuid) {
    const station = this.stations.find((known) => known.uuid === uuid);
    if (!station) return;
    await this.keep({ kind: "remove", uuid });
    this.say(told(words.taken_out, { number: station.number }));
    this.offer();
  }

  async undo() {
    if (this.own.length) await this.takeOut(this.own.at(-1));
  }

  async note(uuid, note) {
    await this.keep({ kind: "note", uuid, note: note.trim().slice(0, 200) });
    this.draw();
  }

  /* Only what lies safely on the phone counts as done. */
  async keep(op) {
    try {
      await queueOp(this.addresses.number, op);
    } catch (error) {
      this.say(words.not_kept, true);
      throw error;
    }
    await this.reread();
    this.sync.push();
  }

  async photo(uuid, file, note) {
    const blob = await small(file);
    try {
      await keepPhoto({ uuid: newUuid(), number: this.addresses.number, station: uuid, note: note.trim().slice(0, 200), blob });
    } catch (error) {
      this.say(words.not_kept, true);
      throw error;
    }
    await this.reread();
    this.say(words.photo_kept);
    this.draw();
    this.sync.push();
  }

  async skip(step) {
    await keepSkipped(this.addresses.number, step ? [...this.kept.skipped, step] : []);
    await this.reread();
    this.offer();
  }

  async retry(item) {
    await retryOp(item);
    await this.reread();
    this.draw();
    this.sync.push();
  }

  async throwAway(item) {
    await (item.op ? dropOp(item.key) : dropPhoto(item.uuid));
    await this.reread();
    this.draw();
  }

  async leave() {
    const musts = this.verdict.findings.filter((finding) => finding.severity === "must");
    if (musts.length && !this.sure) {
      this.sure = true;
      this.draw();
      return;
    }
    const answer = await send(this.addresses.captured, "{}", this.addresses.visits);
    this.sure = false;
    this.say(answer.data.say ?? answer.data.why ?? words.needs_signal, answer.kind !== "ok");
    this.sync.push();
  }

  say(text, isBad = false) {
    const line = byId("said");
    line.className = isBad ? "said bad" : "said";
    setText("said", text);
  }

  listen() {
    const press = (id, action) => byId(id).addEventListener("click", () => Promise.resolve(action()).catch(console.error));
    press("log-station", () => this.log());
    press("undo", () => this.undo());
    press("less", () => this.count(-1));
    press("more", () => this.count(1));
    press("choose-space", () => choose.space(this));
    press("choose-opening", () => choose.opening(this));
    press("choose-tie", () => choose.tie(this));
    press("skip-step", () => this.skip(nextStep(this.state.plan, this.stations, this.kept.skipped).step?.step));
    press("skipped-again", () => this.skip(null));
    press("captured", () => this.leave());
    press("chooser-close", closeChooser);
    byId("passes").addEventListener("click", (event) => {
      const pass = event.target.closest("button")?.dataset.pass;
      if (!pass) return;
      this.choice.pass = pass;
      this.draw();
    });
  }

  count(by) {
    this.choice.number = Math.max(1, this.nextNumber() + by);
    const taken = new Set(this.stations.map((station) => station.number));
    while (taken.has(this.choice.number) && this.choice.number + by >= 1) this.choice.number += by;
    if (taken.has(this.choice.number)) this.choice.number = null;
    this.draw();
  }

  draw() {
    drawSent(this);
    const isKnown = Boolean(this.state && this.choice);
    byId("walk-known").hidden = !isKnown;
    byId("walk-unknown").hidden = isKnown;
    byId("foot").hidden = !isKnown;
    if (!isKnown) {
      setText("where", this.addresses.number);
      return;
    }
    drawStep(this);
    drawNext(this);
    drawLeave(this);
    drawRefused(this);
    drawLog(this);
  }

  closable() {
    return openingsOf(this.shape, this.choice.space);
  }
}
