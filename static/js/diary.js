/* Moving a visit on the board, by drag or by arrow keys. Nothing is saved here: letting go, or Enter, opens the page
   that shows what the move would mean. Without this script the visit's own page does the same. */
(() => {
  const STEP = 15, HOUR = 60, DAY = 1440, SLACK_PX = 5;
  const board = document.querySelector("[data-board]");
  if (!board) return;
  const live = board.querySelector("[data-board-live]");
  const first = Number(board.dataset.first), last = Number(board.dataset.last);

  const rows = [...board.querySelectorAll("tbody tr")].map((row) => [...row.querySelectorAll("[data-cell]")]);
  const clock = (minute) => `${String(Math.floor(minute / HOUR)).padStart(2, "0")}:${String(minute % HOUR).padStart(2, "0")}`;
  const within = (value, low, high) => Math.min(high, Math.max(low, value));
  const placeOf = (cell) => {
    const row = rows.findIndex((cells) => cells.includes(cell));
    return { row, column: rows[row].indexOf(cell) };
  };

  let plan = null; // {visit, from, row, column, minute}

  const leave = () => {
    if (!plan) return;
    plan.visit.classList.remove("moving");
    plan.visit.removeAttribute("transform");
    board.querySelectorAll(".target").forEach((cell) => cell.classList.remove("target"));
    live.textContent = "";
    plan = null;
  };

  const begin = (visit) => {
    leave();
    const from = visit.closest("[data-cell]");
    plan = { visit, from, ...placeOf(from), minute: Number(visit.dataset.begins) };
    visit.classList.add("moving");
  };

  const target = () => rows[plan.row][plan.column];

  const show = () => {
    const cell = target();
    board.querySelectorAll(".target").forEach((other) => other.classList.remove("target"));
    cell.classList.add("target");
    const svg = plan.visit.closest("svg");
    const shift = ((plan.minute - Number(plan.visit.dataset.begins)) * svg.viewBox.baseVal.width) / (last - first);
    plan.visit.setAttribute("transform", `translate(${cell === plan.from ? shift : 0} 0)`);
    live.textContent = board.dataset.hint
      .replace("{person}", cell.dataset.name).replace("{day}", cell.dataset.day).replace("{time}", clock(plan.minute));
  };

  const moved = () => target() !== plan.from || plan.minute !== Number(plan.visit.dataset.begins);

  const address = () => {
    const { visit, from, minute } = plan, cell = target();
    const crew = visit.dataset.crew.split(",").map((key) => (key === from.dataset.person ? cell.dataset.person : key));
    const query = new URLSearchParams({
      starts_at: `${cell.dataset.day}T${clock(minute)}`, window_minutes: visit.dataset.window, minutes: visit.dataset.minutes,
    });
    new Set(crew).forEach((key) => query.append("crew", key));
    return `${visit.dataset.move}?${query}`;
  };

  const go = () => {
    const there = moved() ? address() : "";
    leave();
    if (there) window.location.assign(there);
  };

  const steps = {
    ArrowLeft: (far) => { plan.minute = within(plan.minute - (far ? HOUR : STEP), 0, DAY - STEP); },
    ArrowRight: (far) => { plan.minute = within(plan.minute + (far ? HOUR : STEP), 0, DAY - STEP); },
    ArrowUp: (far) => { far ? day(-1) : person(-1); },
    ArrowDown: (far) => { far ? day(1) : person(1); },
  };
  const person = (by) => { plan.row = within(plan.row + by, 0, rows.length - 1); };
  const day = (by) => { plan.column = within(plan.column + by, 0, rows[plan.row].length - 1); };

  board.addEventListener("keydown", (event) => {
    const visit = event.target.closest("[data-move]");
    if (!visit || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key in steps) {
      if (!plan || plan.visit !== visit) begin(visit);
      steps[event.key](event.shiftKey);
      show();
    } else if (event.key === "Enter" && plan && moved()) {
      go();
    } else if (event.key === "Escape" && plan) {
      leave();
    } else {
      return;
    }
    event.preventDefault();
  });

  board.addEventListener("focusout", (event) => {
    if (plan && !plan.pointer && event.target === plan.visit) leave();
  });

  const minuteAt = (cell, x) => {
    const box = cell.querySelector("[data-strip]").getBoundingClientRect();
    const minute = first + ((x - plan.grab - box.left) / box.width) * (last - first);
    return within(Math.round(minute / STEP) * STEP, 0, DAY - STEP);
  };

  board.addEventListener("pointerdown", (event) => {
    const visit = event.target.closest("[data-move]");
    if (!visit || event.button !== 0) return;
    begin(visit);
    const box = visit.querySelector(".strip-body").getBoundingClientRect();
    Object.assign(plan, { pointer: event.pointerId, grab: event.clientX - box.left, x: event.clientX, y: event.clientY, dragged: false });
  });

  document.addEventListener("pointermove", (event) => {
    if (!plan || plan.pointer !== event.pointerId) return;
    if (!plan.dragged && Math.hypot(event.clientX - plan.x, event.clientY - plan.y) < SLACK_PX) return;
    plan.dragged = true;
    const cell = document.elementFromPoint(event.clientX, event.clientY)?.closest("[data-cell]");
    if (!cell || !board.contains(cell)) return;
    Object.assign(plan, placeOf(cell), { minute: minuteAt(cell, event.clientX) });
    show();
  });

  document.addEventListener("pointerup", (event) => {
    if (!plan || plan.pointer !== event.pointerId) return;
    if (!plan.dragged) return leave();
    const dropped = plan.visit;
    const stay = (click) => { if (dropped.contains(click.target)) click.preventDefault(); };
    board.addEventListener("click", stay, { once: true, capture: true });
    setTimeout(() => board.removeEventListener("click", stay, { capture: true }), 0);
    go();
  });

  document.addEventListener("pointercancel", leave);
  board.addEventListener("dragstart", (event) => { if (event.target.closest("[data-move]")) event.preventDefault(); });
})();
