/* The walk check without coordinates, so that the crew is told while it can still go back, signal or none. The office's
   own check also judges distances. A test holds both to the same findings. */

import { levelsOfSpace, spaceOf, storeysOf } from "./walk.js";

const forPlan = (station) => station.pass !== "tour";
const forTour = (station) => station.pass !== "plan";

export const check = (shape, stations, ordered) => {
  const log = { shape, stations, hasPlan: ordered !== "tour", hasTour: ordered !== "plan", isBoth: ordered === "both" };
  log.byNumber = new Map(stations.map((station) => [station.number, station]));
  log.pairs = pairsOf(log);
  const found = [gaps, spaces, closets, missingPairs, tieIns, stairChains, shownPrivate, pieces].flatMap((find) => [...find(log)]);
  return found.sort((one, other) => (one.severity !== "must") - (other.severity !== "must"));
};

const finding = (code, severity, station, space, facts = {}) => ({
  code, severity, space: space ?? station?.space ?? null, station: station?.number ?? null, facts,
});

function* gaps({ stations }) {
  let before = 0;
  for (const station of stations) {
    if (station.number > before + 1)
      yield finding("station-gap", "should", station, null, { first: before + 1, last: station.number - 1 });
    before = station.number;
  }
}

function* spaces({ shape, stations, hasPlan, hasTour }) {
  for (const space of shape.spaces) {
    const here = stations.filter((station) => station.space === space.code);
    const noPlan = hasPlan && space.kind !== "exterior" && !here.some(forPlan);
    const noTour = hasTour && !space.private && space.kind !== "closet" && !here.some(forTour);
    if (noPlan || noTour) yield finding("space-not-captured", "must", null, space.code, { noPlan, noTour });
  }
}

function* closets({ shape, stations, hasPlan }) {
  for (const space of shape.spaces) {
    const here = stations.filter((station) => station.space === space.code && forPlan(station));
    if (hasPlan && space.kind === "walk_in_closet" && here.length < 2) yield finding("closet-thin", "should", null, space.code);
  }
}

/* Stations named as pairs; the plan station is the open half, of two of one kind the earlier. */
const pairsOf = ({ stations, byNumber }) => {
  const named = new Map();
  for (const station of stations) {
    const partner = station.pair_of === null ? undefined : byNumber.get(station.pair_of);
    if (!partner || partner.number === station.number) continue;
    const [open, closed] = [partner, station].sort(
      (one, other) => (one.pass !== "plan") - (other.pass !== "plan") || one.number - other.number,
    );
    named.set([open.number, closed.number].sort((one, other) => one - other).join(), { open, closed });
  }
  return [...named.values()];
};

const closes = (pair) => pair.closed.opening ?? pair.open.opening;

function* missingPairs({ stations, byNumber, pairs, isBoth }) {
  if (!isBoth) return;
  const closedHalves = new Set(pairs.map((pair) => pair.closed.number));
  const answers = pairs.filter((pair) => forTour(pair.closed) && closes(pair) === (pair.open.opening ?? closes(pair)));
  const answered = new Set(answers.map((pair) => pair.open.number));
  for (const station of stations) {
    const partner = station.pair_of === null ? null : byNumber.get(station.pair_of);
    const isLost = station.pair_of !== null && (!partner || partner.number === station.number);
    const isOpen = station.opening && forPlan(station) && !answered.has(station.number) && !closedHalves.has(station.number);
    if (isLost || isOpen) yield finding("pair-missing", "must", station, null, { opening: station.opening });
  }
}

const tied = ({ byNumber }, station) => {
  const found = station.ties_to === null ? undefined : byNumber.get(station.ties_to);
  return found && found.number < station.number ? found : undefined;
};

function* tieIns(log) {
  for (const station of log.stations)
    if (station.ties_to !== null && !tied(log, station)) yield finding("tie-in-off", "should", station);
}

function* stairChains(log) {
  const { shape, stations } = log;
  const begun = new Map();
  stations.forEach((station, place) => {
    const space = spaceOf(shape, station.space);
    const level = space ? space.level : station.level;
    if (space?.kind !== "stair" && !begun.has(level)) begun.set(level, place);
  });
  const storeys = storeysOf(shape);
  for (let place = 1; place < storeys.length; place += 1) {
    const [lower, upper] = [storeys[place - 1].number, storeys[place].number];
    if (!begun.has(lower) || !begun.has(upper)) continue;
    const first = Math.max(begun.get(lower), begun.get(upper));
    const stairs = shape.spaces.filter(
      (space) => space.kind === "stair" && levelsOfSpace(shape, space).includes(lower) && levelsOfSpace(shape, space).includes(upper),
    );
    const codes = new Set(stairs.map((stair) => stair.code));
    const isOnStairs = (station) => station !== undefined && codes.has(station.space);
    const isCaptured = stations.some(isOnStairs);
    if (!isCaptured || !(isOnStairs(tied(log, stations[first])) || isOnStairs(stations[first - 1]))) {
      const stair = stairs.length === 1 ? stairs[0].code : null;
      const level = begun.get(lower) === first ? lower : upper;
      yield { ...finding("stair-chain", "must", stations[first], null, { isCaptured, level }), space: stair };
    }
  }
}

function* shownPrivate({ shape, stations, hasTour }) {
  for (const station of stations)
    if (hasTour && forTour(station) && spaceOf(shape, station.space)?.private) yield finding("shown-private", "must", station);
}

/* The stations of the public tour: not plan-only, not in a private space, not the open half of a pair. */
const shown = ({ shape, stations, pairs, hasTour }) => {
  if (!hasTour) return [];
  const openHalves = new Set(pairs.filter((pair) => forTour(pair.closed)).map((pair) => pair.open.number));
  return stations.filter(
    (station) => forTour(station) && !spaceOf(shape, station.space)?.private && !openHalves.has(station.number),
  );
};

function* pieces(log) {
  const visible = shown(log);
  const pieceOf = new Map(visible.map((station) => [station.number, station.number]));
  const root = (number) => {
    let at = number;
    while (pieceOf.get(at) !== at) at = pieceOf.get(at);
    return at;
  };
  const join = (one, other) => pieceOf.set(root(one), root(other));
  const inSpace = Map.groupBy ? Map.groupBy(visible, (station) => station.space) : grouped(visible);
  for (const group of inSpace.values()) for (const station of group) join(station.number, group[0].number);
  const closed = shownClosed(log, visible);
  for (const opening of log.shape.openings) {
    const [one, other] = opening.between.map((code) => inSpace.get(code)?.[0]);
    if (one && other && !closed.has(opening.code)) join(one.number, other.number);
  }
  for (const [before, station] of stairLinks(log, visible)) join(before.number, station.number);
  const found = new Map();
  for (const station of visible) {
    const piece = root(station.number);
    found.set(piece, [...(found.get(piece) ?? []), station]);
  }
  const bySize = [...found.values()].sort((one, other) => other.length - one.length || one[0].number - other[0].number);
  if (bySize.length > 1) yield finding("tour-in-pieces", "must", bySize[1][0], null, { n: bySize.length });
}

const grouped = (stations) => {
  const groups = new Map();
  for (const station of stations) groups.set(station.space, [...(groups.get(station.space) ?? []), station]);
  return groups;
};

const shownClosed = ({ pairs }, visible) => {
  const numbers = new Set(visible.map((station) => station.number));
  const byPairs = pairs.filter((pair) => numbers.has(pair.closed.number)).map(closes);
  const alone = visible.filter((station) => station.pass === "tour").map((station) => station.opening);
  return new Set([...byPairs, ...alone].filter(Boolean));
};

function* stairLinks(log, visible) {
  const isVisible = new Set(visible);
  for (const station of visible) {
    let before = capturedFrom(log, station);
    while (before && !isVisible.has(before)) before = capturedFrom(log, before);
    if (before && onOneChain(log, before, station)) yield [before, station];
  }
}

const capturedFrom = (log, station) => tied(log, station) ?? log.stations[log.stations.indexOf(station) - 1];

const onOneChain = (log, one, other) =>
  [[one, other], [other, one]].some(([stair, end]) => spaceOf(log.shape, stair.space)?.kind === "stair" && meets(log, stair, end));

const levelsOf = (log, station) => {
  const space = spaceOf(log.shape, station.space);
  return space ? levelsOfSpace(log.shape, space) : [station.level];
};

/* Whether the stair leads to where `end` stands; a level on which it has no opening is met anywhere. */
const meets = (log, stair, end) => {
  const levels = levelsOf(log, end);
  if (!levelsOf(log, stair).some((level) => levels.includes(level))) return false;
  const beside = log.shape.openings
    .filter((opening) => opening.between.includes(stair.space))
    .map((opening) => spaceOf(log.shape, opening.between[0] === stair.space ? opening.between[1] : opening.between[0]));
  const onThatLevel = beside.filter((space) => space && levels.includes(space.level));
  return !onThatLevel.length || onThatLevel.some((space) => space.code === end.space);
};
