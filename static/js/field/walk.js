/* The walk as the phone sees it: the server's log with what is not sent yet laid over it, and the plan beside it.
   Pure functions; the page draws what they say. */

/* The same rule as the server's: the proposed number when it is free and keeps this phone's order, else the next. */
export const givenNumber = (proposed, taken, after) =>
  !taken.has(proposed) && (after === null || proposed > after) ? proposed : nextNumber(taken);

export const nextNumber = (taken) => Math.max(0, ...taken) + 1;

/* Stations in the order of their numbers. Those not sent yet carry `pending`; their numbers may still change. */
export const stationsOf = (log, queue) => {
  const stations = new Map(log.stations.map((station) => [station.uuid, { ...station, pending: false }]));
  for (const { op, why } of queue) {
    if (why) continue;
    if (op.kind === "log") lay(stations, op);
    else if (op.kind === "remove") stations.delete(op.uuid);
    else if (stations.has(op.uuid)) stations.set(op.uuid, { ...stations.get(op.uuid), note: op.note });
  }
  return [...stations.values()].sort((one, other) => one.number - other.number);
};

const lay = (stations, op) => {
  if (stations.has(op.uuid)) return;
  const number = (uuid) => stations.get(uuid)?.number ?? null;
  const taken = new Set([...stations.values()].map((station) => station.number));
  stations.set(op.uuid, {
    uuid: op.uuid, number: givenNumber(op.number, taken, number(op.after)), level: op.level, space: op.space, pass: op.pass,
    opening: op.opening, pair_of: number(op.pair_of), ties_to: number(op.ties_to), note: op.note, has_photo: false,
    pending: true,
  });
};

export const spaceOf = (shape, code) => shape.spaces.find((space) => space.code === code);

export const levelOf = (shape, number) => shape.levels.find((level) => level.number === number);

const byElevation = (shape) =>
  [...shape.levels].sort((one, other) => Number(one.elevation_m) - Number(other.elevation_m) || one.number - other.number);

/* A stair joins its own level and the one above. */
export const levelsOfSpace = (shape, space) => {
  if (space.kind !== "stair") return [space.level];
  const storeys = byElevation(shape);
  const above = storeys[storeys.findIndex((level) => level.number === space.level) + 1];
  return above ? [space.level, above.number] : [space.level];
};

export const storeysOf = byElevation;

/* The openings of a space that can close, each with the space beyond it. */
export const openingsOf = (shape, code) =>
  shape.openings
    .filter((opening) => opening.kind !== "open" && opening.between.includes(code))
    .map((opening) => ({ ...opening, beyond: opening.between[0] === code ? opening.between[1] : opening.between[0] }));

/* The open half that waits for its closed half. */
export const openHalf = (stations, opening) => {
  const closed = new Set(stations.map((station) => station.pair_of).filter((number) => number !== null));
  return stations.findLast((station) => station.opening === opening && station.pass !== "tour" && !closed.has(station.number));
};

export const passes = (shoot) => (shoot.package === "both" ? ["both", "plan", "tour"] : [shoot.package]);

/* Which planned steps the logged stations have done. Each station does one step: the first that fits it exactly, else
   the first of its space that a station for both passes serves as well. */
export const progress = (plan, stations) => {
  const doneBy = new Map();
  const stepOf = new Map();
  const match = (fits) => {
    for (const station of stations) {
      if (stepOf.has(station.uuid)) continue;
      const step = plan.find((planned) => !doneBy.has(planned.step) && fits(planned, station));
      if (!step) continue;
      doneBy.set(step.step, station);
      stepOf.set(station.uuid, step.step);
    }
  };
  const sameWork = (planned, station) =>
    planned.space === station.space && planned.opening === station.opening && (planned.ties_to === null) === (station.ties_to === null);
  match((planned, station) => sameWork(planned, station) && planned.pass === station.pass);
  match((planned, station) => sameWork(planned, station) && station.pass === "both");
  return { doneBy, stepOf };
};

/* The step to offer: the first not done after the last one done, else the first left behind. */
export const nextStep = (plan, stations, skipped) => {
  const { doneBy, stepOf } = progress(plan, stations);
  const last = stations.findLast((station) => stepOf.has(station.uuid));
  const reached = last ? stepOf.get(last.uuid) : 0;
  const open = plan.filter((planned) => !doneBy.has(planned.step) && !skipped.includes(planned.step));
  return { step: open.find((planned) => planned.step > reached) ?? open[0] ?? null, doneBy, left: open.length };
};

/* A step's sentence names stations by their planned numbers; say those they got. */
export const stepText = (step, doneBy) =>
  step.text.replace(/\bstation (\d+)\b/g, (said, number) => {
    const found = doneBy.get(Number(number));
    return found ? said.replace(number, found.number) : said;
  });
